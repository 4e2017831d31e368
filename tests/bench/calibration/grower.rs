//! A grower with a pencil: what is written of what is there, in a grower's words.
//!
//! Comes in: a farm, the habits of a kind of grower, dice. Goes out: entries in a [`Diary`]. Here stands how
//! a single thing is written; when it is written stands in [`super::season`], and what is answered when it is
//! asked for in [`super::settle`].

use std::collections::{BTreeMap, BTreeSet};

use super::{
    diary::{Diary, Heading},
    dice::{Dice, moved},
    figures::Seen,
    habits::{CONFUSED, Habits, TENDENCY},
    words::{Words, listed, plural},
    world::{Day, Farm, Hurt, Spreading},
};

/// A grower at work on one diary.
#[derive(Debug, Clone)]
pub struct Grower<'f> {
    pub farm: &'f Farm,
    pub habits: Habits,
    /// What is done: draws that decide what is looked at and what comes of it.
    pub dice: Dice,
    /// How it is put.
    pub wording: Dice,
    pub words: &'f Words,
    pub diary: Diary,
    /// Loads the diary names.
    pub known_lots: BTreeSet<usize>,
    /// Of those, the beds the diary says they went to.
    pub known_spreads: BTreeSet<(usize, usize)>,
    /// Neighbours' sprayings the diary tells of.
    pub known_sprayings: BTreeSet<usize>,
    /// Hurt plantings the diary tells of, with the day it first did.
    pub told_hurt: BTreeMap<usize, Day>,
    /// The first day any sign of the trouble was written.
    pub first_sign: Option<Day>,
    crops: BTreeMap<&'static str, String>,
    pub(super) tests: usize,
    pub(super) samples: usize,
    pub(super) has_mix: bool,
}

impl<'f> Grower<'f> {
    /// A grower of a kind, with leanings of their own.
    pub fn new(farm: &'f Farm, kind: &Habits, words: &'f Words, stream: u64) -> Self {
        let mut dice = Dice::new(farm.seed, stream);
        let mut wording = Dice::new(farm.seed, stream + 1);
        let lean = dice.normal(0.0, TENDENCY);
        let mut habits = *kind;
        for h in [
            &mut habits.lot,
            &mut habits.spreading,
            &mut habits.depth,
            &mut habits.planting,
            &mut habits.sound,
            &mut habits.grasses,
            &mut habits.part,
            &mut habits.count,
            &mut habits.severity,
            &mut habits.right_word,
            &mut habits.crop,
            &mut habits.spraying,
            &mut habits.wind,
            &mut habits.own,
            &mut habits.beans,
            &mut habits.control,
            &mut habits.corn,
            &mut habits.meter,
            &mut habits.method,
            &mut habits.roots,
            &mut habits.lens,
            &mut habits.smell,
            &mut habits.weather,
            &mut habits.laboratory,
        ] {
            *h = moved(*h, lean);
        }
        let mut crops = BTreeMap::new();
        for p in &farm.plantings {
            let word = words.of(p.crop.name, habits.other_words, &mut wording);
            let word = if word == p.crop.name && wording.yes(0.3) { plural(&word) } else { word };
            crops.entry(p.crop.name).or_insert(word);
        }
        Self {
            farm,
            habits,
            dice,
            wording,
            words,
            diary: Diary::default(),
            known_lots: BTreeSet::new(),
            known_spreads: BTreeSet::new(),
            known_sprayings: BTreeSet::new(),
            told_hurt: BTreeMap::new(),
            first_sign: None,
            crops,
            tests: 0,
            samples: 0,
            has_mix: false,
        }
    }

    /// What this grower calls a crop.
    pub fn crop(&self, planting: usize) -> String {
        let name = self.farm.plantings[planting].crop.name;
        self.crops.get(name).cloned().unwrap_or_else(|| name.to_owned())
    }

    pub fn bed(&self, bed: usize) -> &'f str {
        &self.farm.beds[bed].name
    }

    /// `CROP in BED`.
    pub fn stand(&self, planting: usize) -> String {
        format!("{} in {}", self.crop(planting), self.bed(self.farm.plantings[planting].bed))
    }

    /// Writes an entry on a day.
    pub fn write(&mut self, day: Day, entry: String) {
        self.diary.on(day, entry);
    }

    /// Heads a day in one of the ways days are headed.
    pub fn head(&mut self, day: Day) {
        let vague = self.wording.yes(self.habits.vague_day);
        let heading = match (vague, self.wording.whole(0, 5)) {
            (true, 0..=3) => Heading::About,
            (true, _) => Heading::Week,
            (false, 0) => Heading::Long,
            (false, 1 | 2) => Heading::Weekday,
            (false, _) => Heading::Plain,
        };
        self.diary.headed(day, heading);
    }

    /// The place and what is declared of it.
    pub fn place(&mut self) {
        let farm = self.farm;
        self.diary.place("farm: imperial".to_owned());
        if farm.beds.iter().any(|b| b.covered) {
            self.diary.place("room tunnel, 60 ft x 20 ft".to_owned());
        }
        for (n, bed) in farm.beds.iter().enumerate() {
            let size = match (farm.metric, bed.square_feet > 100.0) {
                (true, true) => "9 m x 1.2 m",
                (true, false) => "6 m x 1.2 m",
                (false, true) => "30 ft x 4 ft",
                (false, false) => "20 ft x 4 ft",
            };
            let mut line = format!("bed {}", bed.name);
            if bed.covered {
                line += " in tunnel";
            }
            line += &format!(", {size}");
            let anchor = farm.beds.iter().position(|b| !b.covered);
            if let (false, Some(anchor)) = (bed.covered, anchor)
                && n > anchor
                && self.wording.yes(0.6)
            {
                line += &format!(
                    ", {} north of {}",
                    self.length(bed.north - farm.beds[anchor].north),
                    farm.beds[anchor].name
                );
            }
            self.diary.place(line);
        }
        let anchor = farm
            .beds
            .iter()
            .find(|b| b.covered)
            .map_or_else(|| farm.beds[0].name.clone(), |_| "tunnel".to_owned());
        for f in 0..farm.fields.len() {
            self.declare_field(f, &anchor);
        }
    }

    fn declare_field(&mut self, field: usize, anchor: &str) {
        let f = &self.farm.fields[field];
        let side = if f.north { "north" } else { "south" };
        let far = if self.dice.yes(self.habits.wind) {
            format!(", {} {side} of {anchor}", self.length(f.feet))
        } else {
            String::new()
        };
        self.diary.place(format!("field {}{far}", f.name));
    }

    /// A length in feet, as this farm would write it.
    pub fn length(&self, feet: f64) -> String {
        if self.farm.metric { format!("{:.0} m", (feet * 0.3048).max(1.0)) } else { format!("{feet:.0} ft") }
    }

    fn deep(&self, inches: f64) -> String {
        if self.farm.metric { format!("{:.0} cm deep", inches * 2.54) } else { format!("{inches} in deep") }
    }

    /// A load comes in, if this grower writes that down.
    pub fn receive(&mut self, lot: usize) {
        let l = &self.farm.lots[lot];
        let cubic_feet: f64 =
            l.spreadings.iter().map(|s| s.inches / 12.0 * self.farm.beds[s.bed].square_feet).sum();
        let yards = (cubic_feet / 27.0 + 0.8).ceil();
        let amount = if self.farm.metric {
            format!("{yards:.0} m3")
        } else {
            format!("{:.0} yd3", (yards * 1.3).ceil())
        };
        let made = if l.made_from.is_empty() || !self.dice.yes(self.habits.depth) {
            String::new()
        } else {
            let made: Vec<String> = l.made_from.iter().map(|m| (*m).to_owned()).collect();
            format!(", made from {}", listed(&made))
        };
        let line = format!("received {amount} {} as lot {} from {}{made}", l.material, l.name, l.from);
        self.write(l.came, line);
        self.known_lots.insert(lot);
    }

    /// Spreadings of one load on one day, all as deep.
    pub fn spread(&mut self, lot: usize, of: &[Spreading]) {
        let Some(s) = of.first() else { return };
        let beds: Vec<String> = of.iter().map(|s| self.bed(s.bed).to_owned()).collect();
        let name = &self.farm.lots[lot].name;
        let depth = if self.dice.yes(self.habits.depth) {
            format!(", {}", self.deep(s.inches))
        } else {
            String::new()
        };
        let beds = listed(&beds);
        let dug_later = s.verb == "dug in" && !depth.is_empty();
        let (day, entry) = match s.verb {
            "dug in" if !dug_later => (s.day, format!("dug in lot {name} in {beds}")),
            "laid" => (s.day, format!("laid lot {name} on {beds}{depth}")),
            _ => (s.day, format!("spread lot {name} on {beds}{depth}")),
        };
        self.write(day, entry);
        if dug_later {
            let entry = format!("dug in {beds}, {}", self.deep(6.0));
            self.write(day, entry);
        }
        self.known_spreads.extend(of.iter().map(|s| (lot, s.bed)));
    }

    /// A planting goes in.
    pub fn plant(&mut self, planting: usize) {
        let p = &self.farm.plantings[planting];
        let count = if self.wording.yes(0.7) { format!("{} ", p.plants) } else { String::new() };
        let verb = if p.crop.sown { "sowed" } else { "planted" };
        let line = format!("{verb} {count}{}", self.stand(planting));
        self.write(p.day, line);
    }

    /// A neighbour's spraying is seen.
    pub fn saw(&mut self, spraying: usize, with_wind: bool) {
        let s = &self.farm.sprayings[spraying];
        let field = &self.farm.fields[s.field];
        let what = if self.dice.yes(0.5) { s.what } else { "something" };
        let wind = if with_wind { self.wind(spraying) } else { String::new() };
        let line = format!("saw {} spray {what} on {}{wind}", s.who, field.name);
        self.write(s.day, line);
        self.known_sprayings.insert(spraying);
    }

    /// The wind of a spraying, as a clause.
    pub fn wind(&mut self, spraying: usize) -> String {
        let s = &self.farm.sprayings[spraying];
        let north = self.farm.fields[s.field].north;
        let (here, away) = if north { ("north", "south") } else { ("south", "north") };
        let from = match (s.toward, self.dice.yes(0.8)) {
            (true, true) => here.to_owned(),
            (true, false) => format!("{here}-west"),
            (false, true) => away.to_owned(),
            (false, false) => self.dice.one(&["east", "west"]).to_owned(),
        };
        match s.miles_per_hour {
            m if m < 1.0 => ", wind calm".to_owned(),
            m if m < 4.0 => format!(", wind light from the {from}"),
            m => format!(", wind {m:.0} mph from the {from}"),
        }
    }

    /// One's own spraying, and, where the sprayer had held a weedkiller, that too.
    pub fn sprayed(&mut self, own: usize) {
        let s = self.farm.own[own].clone();
        let with = if self.wording.yes(0.6) { ", using blue sprayer" } else { "" };
        for p in s.plants {
            let line = format!("sprayed {} on {}{with}", s.what, self.stand(p));
            self.write(s.day, line);
        }
        if let Some((held, day)) = s.held {
            self.write(day, format!("sprayed {held} on path-1{with}"));
            self.diary.place("path path-1, 20 ft x 3 ft".to_owned());
        }
    }

    /// How much of its course an ill has run by a day, 0 to 1.
    pub fn course(hurt: &Hurt, day: Day) -> f64 {
        let ran = (day - hurt.from) as f64;
        if hurt.spreads { (0.2 + ran / 40.0).min(1.0) } else { (0.5 + ran / 20.0).min(1.0) }
    }

    /// The hurt of a planting that can be seen on a day.
    pub fn visible(&self, planting: usize, day: Day) -> Option<&'f Hurt> {
        self.farm.plantings[planting].hurt.as_ref().filter(|h| h.from <= day)
    }

    /// Whether what grows on a hurt planting by a day is sound again.
    pub fn mended(&self, planting: usize, day: Day) -> bool {
        self.visible(planting, day).and_then(|h| Some(day > h.from + h.mends_after?)).unwrap_or(false)
    }

    /// Whether a planting is up, or planted, by a day.
    pub fn stands(&self, planting: usize, day: Day) -> bool {
        let p = &self.farm.plantings[planting];
        p.day + if p.crop.sown { 12 } else { 1 } <= day && day < p.day + 100
    }

    /// The word this grower writes for a sign.
    fn word(&mut self, sign: &'static str) -> &'static str {
        if self.dice.yes(self.habits.right_word) {
            return sign;
        }
        match CONFUSED.iter().find(|(of, _)| *of == sign) {
            Some((_, others)) => self.dice.one(others),
            None => sign,
        }
    }

    /// A hurt planting is written down, as it looks on a day to somebody who looks so closely.
    pub fn sighting(&mut self, planting: usize, day: Day, closely: bool, parts: bool) {
        let Some(hurt) = self.visible(planting, day) else { return };
        let ran = Self::course(hurt, day);
        let near: Vec<_> = hurt
            .signs
            .iter()
            .filter(|s| matches!(s.2, Seen::Passing | Seen::Emerging) || closely && s.2 == Seen::Close)
            .copied()
            .collect();
        let most = self.dice.whole(self.habits.signs.0, self.habits.signs.1) as usize;
        let chosen = self.dice.some(&near, most);
        let with_part = parts || self.dice.yes(self.habits.part);
        let named = self.dice.yes(self.habits.crop);
        let mut by_part: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for (sign, part, _) in chosen {
            let word = self.word(sign);
            let put = self.words.of(word, self.habits.other_words, &mut self.wording);
            let at = by_part.entry(if with_part { part } else { "" }).or_default();
            if !at.contains(&put) {
                at.push(put);
            }
        }
        let p = &self.farm.plantings[planting];
        for (n, (part, signs)) in by_part.into_iter().enumerate() {
            let mut clauses = Vec::new();
            if !part.is_empty() {
                clauses.push(part.to_owned());
            }
            if n == 0 && named && self.dice.yes(self.habits.count) {
                let hurt = (p.plants as f64 * hurt.share * ran).round().clamp(1.0, p.plants as f64);
                clauses.push(format!("{hurt:.0} of {} plants", p.plants));
            }
            if n == 0 && self.dice.yes(self.habits.severity) {
                clauses.push(severity(hurt.badly * ran).to_owned());
            }
            let place = if named {
                format!("on {}", self.stand(planting))
            } else {
                format!("in {}", self.bed(p.bed))
            };
            let clauses = clauses.into_iter().map(|c| format!(", {c}")).collect::<String>();
            let line = format!("noticed {} {place}{clauses}", listed(&signs));
            self.write(day, line);
            self.first_sign = Some(self.first_sign.map_or(day, |first| first.min(day)));
            if named {
                self.told_hurt.entry(planting).or_insert(day);
            }
        }
    }

    /// A planting is written down as sound.
    pub fn sound(&mut self, planting: usize, day: Day) {
        let line = format!("noticed nothing wrong on {}", self.stand(planting));
        self.write(day, line);
    }
}

/// The grade of a hurt.
pub fn severity(badly: f64) -> &'static str {
    match badly {
        b if b < 0.3 => "slight",
        b if b < 0.6 => "moderate",
        _ => "severe",
    }
}
