//! What the reckoning of residue reads beside the lineage: findings, rates, depths, tables, and what is asked.
//!
//! Comes in: given sentences. Goes out: a [`Book`] of them, sorted, each with its number as a witness. It
//! weighs nothing.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::super::inputs;
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{EntryId, Quantity, Value},
    },
    model::program::Given,
};

inputs! {
    Asked = "{place} is to be reckoned on {day:date}",
    Minded = "{place} is to be held against {level:concentration} {substance}",
    Material = "{lot} came in as {material}",
    Dug = "{place} was dug over {depth:length} deep on {day:date}",
    Found = "a laboratory found {level:concentration} {substance} in {thing} on {day:date}",
    FoundNone = "a laboratory found no {substance} in {thing} on {day:date}",
    Sees = "a laboratory could see {limit:concentration} {substance} in {thing} on {day:date}",
    Basis = "the {substance} in {thing} was given by {basis} weight on {day:date}",
    Sampled = "{lot} was sampled as {sample} on {day:date}",
    Sprayed = "{what} was sprayed on {place} at {rate:mass per area} on {day:date}",
    Weighs = "a measure of {material} weighs {density:density}",
    GroundWeighs = "ground weighs {density:density}",
    OtherWeighs = "stuff of unknown weight weighs {density:density}",
    Dry = "dry stuff is {share:share} of what a measure weighs",
    Undug = "ground is reckoned {depth:length} deep where nobody dug",
    Halves = "{substance} is taken to halve in soil in {time:duration}",
    Slowed = "{substance} is taken to halve up to {times:number} times as slowly where {stuff} came into the soil",
    Bound = "the soil clock does not run in {stuff}, because {why:text}",
    Hurt = "{place} is past reckoning on {day:date}, because {why:text}",
    Chance = "a date is reckoned for a chance of {p:share}",
    OnTop = "{stuff} was put on top of {place} on {day:date}",
    DugIn = "{stuff} put on top of {place} on {came:date} was dug in on {day:date}",
    Off = "all {stuff} on top of {place} was taken off on {day:date}",
}

/// A figure with the sentence that says it.
pub type Told = (Range, usize);

/// A laboratory's level in a thing, as bounds: from 0 up to its limit where none was found.
#[derive(Debug, Clone, Copy)]
pub struct Finding {
    /// Mass fraction.
    pub level: Range,
    /// The day it stands for: of the sample, else of the result.
    pub day: Days,
    /// Whether anything was found.
    pub found: bool,
    /// `dry`, `fresh`, or unsaid.
    pub dry: Option<bool>,
    /// The sentence that says it.
    pub said: usize,
}

/// Stuff that was put on top of a place on a day: the stuff, the place, the day.
type Layer<'a> = (&'a Value, &'a Value, Days);

/// Everything read.
#[derive(Debug, Default)]
pub struct Book<'a> {
    /// Which places are asked about, for which days.
    pub asked: BTreeMap<(&'a Value, NaiveDate), usize>,
    /// Levels that a place is held against, by place and substance.
    pub minded: BTreeMap<(&'a Value, &'a Value), BTreeMap<Quantity, usize>>,
    /// What a lot came in as.
    pub material: BTreeMap<&'a Value, (&'a Value, usize)>,
    /// Diggings with a depth in m.
    pub dug: BTreeMap<&'a Value, Vec<(Days, Told)>>,
    /// Findings, by thing (what a sample was taken of) and substance, in order of day.
    pub found: BTreeMap<(&'a Value, &'a Value), Vec<Finding>>,
    /// Sprayings at a rate in kg/m², by place and substance.
    pub sprayed: BTreeMap<(&'a Value, &'a Value), Vec<(Days, Told)>>,
    /// Weight of a measure by material, kg/m³.
    pub weighs: BTreeMap<&'a Value, Told>,
    /// Weight of ground, kg/m³.
    pub ground: Option<Told>,
    /// Weight of stuff of which nothing is known, kg/m³.
    pub other: Option<Told>,
    /// How much of stuff's weight is dry, 0 to 1.
    pub dry: Option<Told>,
    /// How deep ground is reckoned where nobody wrote a depth, m.
    pub undug: Option<Told>,
    /// Half-lives in days.
    pub halves: BTreeMap<&'a Value, Told>,
    /// How many times as slowly, at most, by substance and stuff that came into the ground.
    pub slowed: BTreeMap<(&'a Value, &'a Value), Told>,
    /// Stuff in which no clock runs, and why.
    pub bound: BTreeMap<&'a Value, (&'a Value, usize)>,
    /// Ground that what grew in it speaks against any reckoning of, by day, and why.
    pub hurt: BTreeMap<(&'a Value, NaiveDate), (&'a Value, usize)>,
    /// The chances for which days are wanted.
    pub chances: Vec<Told>,
    /// What was put on top of a place, and when.
    pub on_top: BTreeMap<Layer<'a>, usize>,
    /// When that was dug in, by when it was put there.
    pub dug_in: BTreeMap<Layer<'a>, Vec<(Days, usize)>>,
    /// When all of it was taken off.
    pub off: BTreeMap<(&'a Value, &'a Value), Vec<(Days, usize)>>,
}

impl<'a> Book<'a> {
    /// Sorts the given sentences; those numbered below `first` are lineage's.
    pub fn of(given: &'a [Given<'a>], first: usize) -> Self {
        let mut book = Book::default();
        let mut samples: BTreeMap<&Value, Vec<(&Value, Days)>> = BTreeMap::new();
        let mut limits: BTreeMap<(&Value, &Value, Days), Range> = BTreeMap::new();
        let mut basis: BTreeMap<(Option<EntryId>, &Value, &Value), BTreeSet<bool>> = BTreeMap::new();
        let mut results = Vec::new();
        let own = given.iter().enumerate().filter(|(_, g)| !g.planned && g.input >= first);
        for (n, g) in own {
            let Some(input) = INPUTS.get(g.input - first) else { continue };
            match (input, g.values) {
                (Input::Asked, [place, Value::Days(day)]) => {
                    book.asked.entry((place, day.last)).or_insert(n);
                }
                (Input::Minded, [place, Value::Quantity(level), substance]) => {
                    book.minded.entry((place, substance)).or_default().entry(*level).or_insert(n);
                }
                (Input::Material, [lot, material]) => {
                    book.material.entry(lot).or_insert((material, n));
                }
                (Input::Dug, [place, depth, Value::Days(day)]) => {
                    let depth = sized(depth, Dimension::Length);
                    book.dug.entry(place).or_default().extend(depth.map(|d| (*day, (d, n))));
                }
                (Input::Found, [level, substance, thing, Value::Days(day)]) => {
                    results.extend(
                        sized(level, Dimension::MassFraction)
                            .map(|level| (thing, substance, *day, Some(level), g.entry, n)),
                    );
                }
                (Input::FoundNone, [substance, thing, Value::Days(day)]) => {
                    results.push((thing, substance, *day, None, g.entry, n));
                }
                (Input::Sees, [limit, substance, thing, Value::Days(day)]) => {
                    if let Some(limit) = sized(limit, Dimension::MassFraction) {
                        limits.insert((thing, substance, *day), limit);
                    }
                }
                (Input::Basis, [substance, thing, Value::Word(word), _]) => {
                    basis.entry((g.entry, substance, thing)).or_default().insert(&**word == "dry");
                }
                (Input::Sampled, [lot, sample, Value::Days(day)]) => {
                    samples.entry(sample).or_default().push((lot, *day));
                }
                (Input::Sprayed, [what, place, rate, Value::Days(day)]) => {
                    let rate = sized(rate, Dimension::MassPerArea);
                    book.sprayed.entry((place, what)).or_default().extend(rate.map(|r| (*day, (r, n))));
                }
                (Input::Weighs, [material, density]) => {
                    if let Some(d) = sized(density, Dimension::Density) {
                        book.weighs.entry(material).or_insert((d, n));
                    }
                }
                (Input::Halves, [substance, Value::Quantity(time)]) => {
                    book.halves.entry(substance).or_insert((time.size, n));
                }
                (Input::Slowed, [substance, Value::Number(times), stuff]) => {
                    book.slowed.entry((substance, stuff)).or_insert((*times, n));
                }
                (Input::Bound, [stuff, why]) => {
                    book.bound.entry(stuff).or_insert((why, n));
                }
                (Input::Hurt, [place, Value::Days(day), why]) => {
                    book.hurt.entry((place, day.last)).or_insert((why, n));
                }
                (Input::Chance, [Value::Quantity(p)]) => book.chances.push((p.size, n)),
                (Input::OnTop, [stuff, place, Value::Days(day)]) => {
                    book.on_top.entry((stuff, place, *day)).or_insert(n);
                }
                (Input::DugIn, [stuff, place, Value::Days(came), Value::Days(day)]) => {
                    book.dug_in.entry((stuff, place, *came)).or_default().push((*day, n));
                }
                (Input::Off, [stuff, place, Value::Days(day)]) => {
                    book.off.entry((stuff, place)).or_default().push((*day, n));
                }
                (Input::GroundWeighs, [v]) => one(&mut book.ground, v, n),
                (Input::OtherWeighs, [v]) => one(&mut book.other, v, n),
                (Input::Dry, [v]) => one(&mut book.dry, v, n),
                (Input::Undug, [v]) => one(&mut book.undug, v, n),
                _ => {}
            }
        }
        for (thing, substance, day, level, entry, said) in results {
            let limit = limits.get(&(thing, substance, day));
            let Some(bounds) = level.or_else(|| limit.map(|l| Range::new(0.0, l.high()))) else { continue };
            let told = basis.get(&(entry, substance, thing));
            let dry = told.filter(|all| all.len() == 1).and_then(|all| all.first().copied());
            let finding = Finding { level: bounds, day, found: level.is_some(), dry, said };
            match samples.get(thing) {
                Some(of) => {
                    for (whole, taken) in of {
                        let finding = Finding { day: *taken, ..finding };
                        book.found.entry((whole, substance)).or_default().push(finding);
                    }
                }
                None => book.found.entry((thing, substance)).or_default().push(finding),
            }
        }
        for list in book.found.values_mut() {
            list.sort_by_key(|f| (f.day, f.said));
        }
        book
    }

    /// All substances that anything is known of in the things given, and in places sprayed.
    pub fn substances(&self) -> BTreeSet<&'a Value> {
        self.found.keys().chain(self.sprayed.keys()).map(|(_, substance)| *substance).collect()
    }
}

fn one(slot: &mut Option<Told>, v: &Value, n: usize) {
    if let Value::Quantity(q) = v {
        slot.get_or_insert((q.size, n));
    }
}

fn sized(v: &Value, dimension: Dimension) -> Option<Range> {
    match v {
        Value::Quantity(q) if q.dimension == dimension => Some(q.size),
        _ => None,
    }
}
