//! A farm as it is before anything ails it: beds, crops, loads, sprayings, weather.
//!
//! Comes in: dice and the cause that is to strike, of which only what must exist for it is heeded (a load
//! for carryover, a neighbour's spraying for drift). Goes out: a [`Farm`] whose plants are all well. Loads,
//! sprayings, frosts and rain come to every farm, whatever ails it, so that each cause has rivals. The
//! figures here are our judgement.

use super::{
    dice::Dice,
    figures::{Cause, Ill, Part, Seen},
};

/// A day, counted from 1 March.
pub type Day = i64;

/// A crop, as far as the simulator knows it.
#[derive(Debug, PartialEq)]
pub struct Crop {
    /// Its word.
    pub name: &'static str,
    /// Its family in a letter or two.
    pub family: Family,
    /// Killed by frost and checked by cold.
    pub tender: bool,
    /// Sown where it grows.
    pub sown: bool,
    /// Often grown under cover.
    pub covered: bool,
    /// What salts it bears, dS/m at which its yield begins to fall (Maas and Hoffman as listed by UC IPM); J where it is not listed.
    pub bears_salt: f64,
}

/// Plant families.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Family {
    Nightshade,
    Pea,
    Daisy,
    Carrot,
    Beet,
    Gourd,
    Cabbage,
    Onion,
    Grass,
    Rose,
}
use Family::{Beet, Cabbage, Carrot, Daisy, Gourd, Grass, Nightshade, Onion, Pea, Rose};

const fn crop(
    name: &'static str,
    family: Family,
    tender: bool,
    sown: bool,
    covered: bool,
    bears_salt: f64,
) -> Crop {
    Crop { name, family, tender, sown, covered, bears_salt }
}

/// The crops grown, each with how often.
pub static CROPS: &[(Crop, f64)] = &[
    (crop("tomato", Nightshade, true, false, true, 2.5), 12.0),
    (crop("pepper", Nightshade, true, false, true, 1.5), 5.0),
    (crop("aubergine", Nightshade, true, false, true, 1.5), 2.0),
    (crop("potato", Nightshade, true, true, false, 1.7), 5.0),
    (crop("bean", Pea, true, true, false, 1.0), 6.0),
    (crop("runner bean", Pea, true, true, false, 1.0), 3.0),
    (crop("broad bean", Pea, false, true, false, 1.8), 4.0),
    (crop("pea", Pea, false, true, false, 1.5), 5.0),
    (crop("lettuce", Daisy, false, false, true, 1.3), 7.0),
    (crop("sunflower", Daisy, true, true, false, 2.0), 1.0),
    (crop("carrot", Carrot, false, true, false, 1.0), 4.0),
    (crop("parsnip", Carrot, false, true, false, 1.0), 2.0),
    (crop("beetroot", Beet, false, true, false, 4.0), 4.0),
    (crop("chard", Beet, false, true, false, 4.0), 3.0),
    (crop("spinach", Beet, false, true, true, 2.0), 2.0),
    (crop("cucumber", Gourd, true, false, true, 2.5), 4.0),
    (crop("courgette", Gourd, true, false, false, 4.7), 4.0),
    (crop("squash", Gourd, true, false, false, 3.2), 3.0),
    (crop("cabbage", Cabbage, false, false, false, 1.8), 4.0),
    (crop("kale", Cabbage, false, false, false, 2.0), 4.0),
    (crop("broccoli", Cabbage, false, false, false, 2.8), 2.0),
    (crop("radish", Cabbage, false, true, true, 1.2), 3.0),
    (crop("onion", Onion, false, false, false, 1.2), 5.0),
    (crop("leek", Onion, false, false, false, 1.4), 3.0),
    (crop("garlic", Onion, false, false, false, 1.4), 2.0),
    (crop("sweet corn", Grass, true, false, false, 1.7), 5.0),
    (crop("strawberry", Rose, false, false, true, 1.0), 2.0),
];

/// A bed.
#[derive(Debug, Clone)]
pub struct Bed {
    pub name: String,
    /// Under cover, in the farm's one tunnel.
    pub covered: bool,
    /// How far north of the tunnel's middle, in feet.
    pub north: f64,
    /// Water stands in it.
    pub low: bool,
    pub square_feet: f64,
}

/// What is wrong with a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// A herbicide: which, and how many times the level that hurts the most tender crops, were two inches of it dug into six.
    Herbicide(&'static str, f64),
    Raw,
    Salty,
    /// Ties nitrogen up.
    Woody,
}

/// How a load is put on a bed.
#[derive(Debug, Clone)]
pub struct Spreading {
    pub bed: usize,
    pub day: Day,
    pub inches: f64,
    pub verb: &'static str,
}

/// A load that came in.
#[derive(Debug, Clone)]
pub struct Lot {
    pub name: String,
    pub material: &'static str,
    pub made_from: Vec<&'static str>,
    pub from: &'static str,
    pub came: Day,
    pub spreadings: Vec<Spreading>,
    pub flaw: Option<Flaw>,
    /// Smells of ammonia or sour, or is hot.
    pub smells: bool,
    pub mulch: bool,
}

/// A neighbour's field and whether it was sprayed.
#[derive(Debug, Clone)]
pub struct Field {
    pub name: &'static str,
    pub feet: f64,
    /// North of the tunnel, else south.
    pub north: bool,
}

/// A spraying by somebody else.
#[derive(Debug, Clone)]
pub struct Spraying {
    pub field: usize,
    pub day: Day,
    pub who: &'static str,
    pub what: &'static str,
    pub miles_per_hour: f64,
    /// The wind blows from the field to the beds.
    pub toward: bool,
}

/// A spraying of one's own.
#[derive(Debug, Clone)]
pub struct OwnSpraying {
    pub day: Day,
    pub what: &'static str,
    pub plants: Vec<usize>,
    /// The sprayer had held a weedkiller, which the grower had used on a path: what and when.
    pub held: Option<(&'static str, Day)>,
}

/// What ails one planting.
#[derive(Debug, Clone)]
pub struct Hurt {
    pub from: Day,
    /// 0 to 1.
    pub badly: f64,
    /// Of its plants, when all that will be hurt is.
    pub share: f64,
    /// Whether more plants are hurt week by week.
    pub spreads: bool,
    /// Days after which new growth is sound again, if it is.
    pub mends_after: Option<Day>,
    pub signs: Vec<(&'static str, Part, Seen)>,
    pub ill: Ill,
}

/// A crop in a bed.
#[derive(Debug, Clone)]
pub struct Planting {
    pub crop: &'static Crop,
    pub bed: usize,
    pub day: Day,
    pub plants: i64,
    pub hurt: Option<Hurt>,
}

/// A farm with all that happens on it.
#[derive(Debug, Clone)]
pub struct Farm {
    pub seed: u64,
    pub cause: Cause,
    pub metric: bool,
    pub beds: Vec<Bed>,
    pub lots: Vec<Lot>,
    pub fields: Vec<Field>,
    pub sprayings: Vec<Spraying>,
    pub own: Vec<OwnSpraying>,
    pub plantings: Vec<Planting>,
    /// Nights below 4 C: the day and the temperature.
    pub cold: Vec<(Day, f64)>,
    /// Rain of more than 15 mm: the day and how many mm.
    pub rain: Vec<(Day, f64)>,
    /// Days above 30 C.
    pub hot: Vec<Day>,
    /// Feeds given: the day, the planting and with what.
    pub fed: Vec<(Day, usize, &'static str)>,
    /// The loads that truly did it.
    pub by_lots: Vec<usize>,
    /// The neighbour's spraying that truly did it.
    pub by_spraying: Option<usize>,
    /// Another, slight trouble that has nothing to do with it: planting, sign.
    pub besides: Vec<(usize, &'static str)>,
}

/// A farm on which the cause may strike, nothing hurt yet.
pub fn farm(seed: u64, cause: Cause, dice: &mut Dice) -> Farm {
    let beds = beds(dice);
    let plantings = plantings(&beds, dice);
    let fields = fields(dice);
    let sprayings = sprayings(fields.len(), dice);
    let mut farm = Farm {
        seed,
        cause,
        metric: dice.yes(0.4),
        lots: lots(&beds, dice),
        beds,
        fields,
        sprayings,
        own: Vec::new(),
        plantings,
        cold: weather(dice, 1.6, 10, 85).into_iter().map(|d| (d, 0.0)).collect(),
        rain: weather(dice, 3.0, 10, 130).into_iter().map(|d| (d, 0.0)).collect(),
        hot: weather(dice, 2.0, 85, 140),
        fed: Vec::new(),
        by_lots: Vec::new(),
        by_spraying: None,
        besides: Vec::new(),
    };
    for (_, c) in &mut farm.cold {
        *c = dice.between(-2.0, 4.0).round();
    }
    for (_, mm) in &mut farm.rain {
        *mm = dice.between(15.0, 45.0).round();
    }
    farm.own = own_sprayings(&farm.plantings, dice);
    for planting in 0..farm.plantings.len() {
        if dice.yes(0.15) {
            let day = farm.plantings[planting].day + dice.whole(10, 60);
            farm.fed.push((day, planting, dice.one(&["seaweed feed", "tomato feed", "comfrey feed"])));
        }
        if dice.yes(0.05) {
            farm.besides.push((planting, dice.one(&["slugs", "aphids", "holes in leaves", "yellow leaves"])));
        }
    }
    farm
}

fn beds(dice: &mut Dice) -> Vec<Bed> {
    let (covered, open) = (dice.one(&[0, 0, 1, 2, 2, 3, 3, 4]), dice.whole(1, 6));
    let open = if covered + open < 3 { 3 } else { open };
    let mut names = dice.some(&["north", "strip", "plot", "b", "long", "wall"], 2).into_iter();
    let (first, second) = (names.next().unwrap_or("a"), names.next().unwrap_or("c"));
    let mut all = Vec::new();
    for n in 1..=covered {
        all.push(Bed {
            name: format!("{first}-{n}"),
            covered: true,
            north: 0.0,
            low: dice.yes(0.08),
            square_feet: 120.0,
        });
    }
    for n in 1..=open {
        let north = 30.0 + 40.0 * (n - 1) as f64;
        all.push(Bed {
            name: format!("{second}-{n}"),
            covered: false,
            north,
            low: dice.yes(0.15),
            square_feet: 80.0,
        });
    }
    all
}

fn plantings(beds: &[Bed], dice: &mut Dice) -> Vec<Planting> {
    let mut all = Vec::new();
    for (bed, ground) in beds.iter().enumerate() {
        let kinds = dice.weighed(&[(1, 0.4), (2, 0.4), (3, 0.2)]);
        let mut here: Vec<&'static Crop> = Vec::new();
        for _ in 0..kinds {
            let likely: Vec<(&'static Crop, f64)> = CROPS
                .iter()
                .filter(|(c, _)| !here.iter().any(|h| h.name == c.name))
                .map(|(c, often)| (c, if c.covered == ground.covered { *often } else { often * 0.25 }))
                .collect();
            here.push(dice.weighed(&likely));
        }
        for crop in here {
            let day = match (crop.tender, ground.covered) {
                (true, true) => dice.whole(40, 75),
                (true, false) => dice.whole(60, 95),
                (false, _) => dice.whole(5, 75),
            };
            let plants = if crop.sown { dice.whole(20, 80) } else { dice.whole(6, 30) };
            all.push(Planting { crop, bed, day, plants, hurt: None });
        }
    }
    all
}

fn fields(dice: &mut Dice) -> Vec<Field> {
    let most = dice.whole(0, 2);
    dice.some(&["Hallow Top", "Long Acre", "Dunmere", "Mill Field"], most as usize)
        .into_iter()
        .map(|name| Field {
            name,
            feet: (dice.about(220.0, 0.6) / 10.0).round() * 10.0,
            north: dice.yes(0.5),
        })
        .collect()
}

fn sprayings(fields: usize, dice: &mut Dice) -> Vec<Spraying> {
    let mut all = Vec::new();
    for field in 0..fields {
        for _ in 0..dice.times(0.45) {
            all.push(Spraying {
                field,
                day: dice.whole(25, 110),
                who: dice.one(&["Mr Orrin", "the Pascoes", "a contractor"]),
                what: dice.weighed(&WEEDKILLERS),
                miles_per_hour: dice.between(1.0, 12.0).round(),
                toward: dice.yes(0.4),
            });
        }
    }
    all
}

/// What neighbours spray. J.
pub const WEEDKILLERS: [(&str, f64); 6] = [
    ("triclopyr", 2.0),
    ("2,4-D", 3.0),
    ("MCPA", 2.0),
    ("dicamba", 2.0),
    ("clopyralid", 1.0),
    ("glyphosate", 3.0),
];

fn own_sprayings(plantings: &[Planting], dice: &mut Dice) -> Vec<OwnSpraying> {
    let mut all = Vec::new();
    for _ in 0..dice.times(0.5) {
        let of = dice.whole(0, plantings.len() as i64 - 1) as usize;
        let what = dice.one(&["soap", "neem oil", "garlic spray", "seaweed feed"]);
        let day = plantings[of].day + dice.whole(8, 50);
        let held = dice.yes(0.1).then(|| ("glyphosate", day - dice.whole(3, 30)));
        all.push(OwnSpraying { day, what, plants: vec![of], held });
    }
    all
}

/// Loads: what, made from, from whom, as a mulch, how often.
type Load = (&'static str, &'static [&'static str], &'static str, bool);
const LOADS: [(Load, f64); 9] = [
    (("compost", &["horse manure"], "Tern Quay Soils", false), 5.0),
    (("compost", &[], "Weir Bank Compost", false), 4.0),
    (("green waste compost", &["grass clippings", "prunings"], "Borough Yard", false), 4.0),
    (("horse manure", &[], "Low Marsh Stables", false), 4.0),
    (("cow manure", &[], "Pell", false), 2.0),
    (("mushroom compost", &[], "Capstan Mushrooms", false), 1.0),
    (("hay", &[], "Old Furlong Farm", true), 2.0),
    (("straw", &[], "Old Furlong Farm", true), 2.0),
    (("wood chips", &[], "Ash & Bole", true), 2.0),
];

fn lots(beds: &[Bed], dice: &mut Dice) -> Vec<Lot> {
    let many = dice.weighed(&[(1, 0.45), (2, 0.38), (3, 0.17)]);
    let mut all: Vec<Lot> = Vec::new();
    for _ in 0..many {
        let (material, from_what, from, mulch) = dice.weighed(&LOADS);
        let came = if mulch { dice.whole(40, 90) } else { dice.whole(2, 50) };
        let word = from.split(' ').next().unwrap_or("lot").to_lowercase();
        let mut lot = Lot {
            name: format!("{word}-{}", all.len() + 1),
            material,
            made_from: from_what.to_vec(),
            from,
            came,
            spreadings: Vec::new(),
            flaw: None,
            smells: dice.yes(0.08),
            mulch,
        };
        // Many growers put it everywhere, which leaves nothing to compare with.
        let part = dice.weighed(&[(1.0, 0.25), (0.6, 0.4), (0.35, 0.25), (0.0, 0.1)]);
        let day = came + dice.whole(0, 12);
        let inches = dice.one(&[1.0, 1.0, 1.5, 2.0, 2.0, 3.0]);
        for bed in 0..beds.len() {
            if dice.yes(part) || (part == 0.0 && bed == 0) {
                let later = if dice.yes(0.2) { dice.whole(1, 20) } else { 0 };
                let verb = if mulch {
                    "laid"
                } else if dice.yes(0.2) {
                    "dug in"
                } else {
                    "spread"
                };
                lot.spreadings.push(Spreading { bed, day: day + later, inches, verb });
            }
        }
        all.push(lot);
    }
    all
}

fn weather(dice: &mut Dice, mean: f64, from: Day, to: Day) -> Vec<Day> {
    let mut days: Vec<Day> = (0..dice.times(mean)).map(|_| dice.whole(from, to)).collect();
    days.sort_unstable();
    days.dedup();
    days
}
