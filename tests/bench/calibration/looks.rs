//! What a grower finds out on purpose: pots, a meter, a spade, a lens, a laboratory.
//!
//! Comes in: the farm as it truly is. Goes out: entries of what was done and what came of it, with the
//! misreadings such looks have. The figures are our judgement unless said.

use super::{
    dice::Dice,
    figures::Ill,
    grower::{Grower, severity},
    harm::tolerance,
    world::{Day, Family, Flaw},
};

/// Days from potting to reading: two to three weeks (NC State AG-727 as reprinted).
pub fn reading_days(dice: &mut Dice) -> i64 {
    dice.whole(15, 21)
}

impl Grower<'_> {
    /// The load of these that most of the plantings told hurt stand in, if any.
    pub fn suspected_lot(&mut self) -> Option<usize> {
        let mut likely: Vec<(usize, f64)> = Vec::new();
        for lot in self.known_lots.clone() {
            let hurt = self.told_hurt.keys().filter(|p| {
                let bed = self.farm.plantings[**p].bed;
                self.known_spreads.contains(&(lot, bed))
            });
            let n = hurt.count();
            if n > 0 {
                likely.push((lot, (n * n) as f64));
            }
        }
        (!likely.is_empty()).then(|| self.dice.weighed(&likely))
    }

    /// The load of a name.
    pub fn lot_named(&self, name: &str) -> Option<usize> {
        let bare = name.strip_prefix("lot ").unwrap_or(name);
        (0..self.farm.lots.len()).find(|n| self.farm.lots[*n].name == bare)
    }

    fn potting_mix(&mut self, day: Day) {
        if !self.has_mix {
            self.write(
                day,
                "received 3 bags potting mix as lot bag-1 from Hobb & Daughter, 40 l each".to_owned(),
            );
            self.has_mix = true;
        }
    }

    /// Pots of a crop in a load, with a control or without, read after so many days.
    pub fn pots(&mut self, lot: usize, crop: &str, day: Day, days: i64, control: bool, pots: u32) {
        self.potting_mix(day);
        self.tests += 1;
        let test = format!("t{}", self.tests);
        let l = self.farm.lots[lot].clone();
        let (ratio, part) = self.wording.weighed(&[(("2:1", 0.67), 0.7), (("1:1", 0.5), 0.3)]);
        let seeds = if self.wording.yes(0.8) { ", 3 seeds each" } else { "" };
        self.write(
            day,
            format!(
                "potted {pots} pots of {crop} in lot {} mixed {ratio} with lot bag-1 as test {test}{seeds}",
                l.name
            ),
        );
        if control {
            self.write(
                day,
                format!("potted {pots} pots of {crop} in lot bag-1 as control of test {test}{seeds}"),
            );
        }
        let grass = crop == "sweet corn";
        // One dry or cold week hurts all pots of a run alike.
        let bad_run = self.dice.yes(0.04);
        let hurt = match l.flaw {
            Some(Flaw::Herbicide(substance, strength)) => {
                let family = if grass { Family::Grass } else { Family::Pea };
                // Two inches dug into six is a third by volume.
                let dose = strength * part * 3.0 * if l.mulch { 0.4 } else { 1.0 };
                let times = dose / tolerance(substance, family) * self.dice.about(1.0, 0.3);
                1.0 / (1.0 + (-3.0 * times.ln()).exp())
            }
            Some(Flaw::Salty) => 0.45,
            Some(Flaw::Raw) => 0.4,
            Some(Flaw::Woody) => 0.15,
            None => 0.0,
        };
        let hurt = if bad_run { 0.7 } else { hurt.clamp(0.03, 0.99) };
        let n = self.dice.out_of(pots, hurt);
        let mut line = format!("read test {test}: {n} of {pots} pots hurt");
        if n > 0 {
            line += &format!(", {}", severity(self.dice.between(0.2, 0.9)));
        }
        if control {
            let n = self.dice.out_of(pots, if bad_run { 0.6 } else { 0.02 });
            line += &format!("; control {n} of {pots} pots hurt");
        }
        self.write(day + days, line);
    }

    /// Salts in a load or in the ground of a bed, by a method or none.
    pub fn meter(&mut self, lot: Option<usize>, bed: usize, day: Day, method: bool) {
        let farm = self.farm;
        let salty = |n: &usize| farm.lots[*n].flaw == Some(Flaw::Salty);
        let overfed = farm
            .plantings
            .iter()
            .any(|p| p.bed == bed && p.hurt.as_ref().is_some_and(|h| h.ill == Ill::Overfed));
        let in_bed =
            farm.by_lots.iter().any(|n| salty(n) && farm.lots[*n].spreadings.iter().any(|s| s.bed == bed));
        // By 1:2 extract, mS/cm. Compost under 1.5 is desired (University of Missouri); the rest: J.
        let (middle, place) = match lot {
            Some(n) => (if salty(&n) { 4.0 } else { 1.1 }, format!("lot {}", farm.lots[n].name)),
            None => (if in_bed || overfed { 2.2 } else { 0.5 }, farm.beds[bed].name.clone()),
        };
        let reading = self.dice.about(middle, 0.3);
        let line = match (method, self.wording.yes(0.25)) {
            (true, false) => format!("measured EC {reading:.1} mS/cm in {place}, 1:2"),
            (true, true) => format!("measured EC {:.1} mS/cm in {place}, 1:5", reading * 0.5),
            (false, _) => format!("measured EC {reading:.1} mS/cm in {place}"),
        };
        self.write(day, line);
    }

    /// Roots of a planting, dug up.
    pub fn dig(&mut self, planting: usize, day: Day) {
        use super::figures::Seen;
        let stand = self.stand(planting);
        let dug: Vec<&str> = self
            .visible(planting, day)
            .map(|h| h.signs.iter().filter(|s| s.2 == Seen::Dug).map(|s| s.0).collect())
            .unwrap_or_default();
        let wet = self.visible(planting, day).is_some_and(|h| h.ill == Ill::Wet);
        if wet && self.dice.yes(0.6) && !dug.contains(&"sour wet soil") {
            self.write(day, format!("noticed sour wet soil on {stand}"));
        }
        // Galls are sometimes taken for nodules, and nodules for galls.
        let legume = self.farm.plantings[planting].crop.family == Family::Pea;
        if dug.is_empty() {
            let line = match (legume && self.dice.yes(0.2), self.wording.whole(0, 2)) {
                (true, _) => format!("noticed lumps on roots on {stand}"),
                (false, 0) => format!("noticed no root galls and no brown roots on {stand}"),
                (false, _) => format!("noticed nothing wrong on {stand}, roots"),
            };
            self.write(day, line);
        }
        for sign in dug {
            self.write(day, format!("noticed {sign} on {stand}"));
        }
    }

    /// A planting under a lens, or looked over for insects.
    pub fn lens(&mut self, planting: usize, day: Day) {
        use super::figures::Seen;
        let stand = self.stand(planting);
        let found: Vec<&str> = self
            .visible(planting, day)
            .map(|h| {
                let seen =
                    |s: &&(&'static str, _, Seen)| s.2 == Seen::Lens || matches!(s.0, "whitefly" | "aphids");
                h.signs.iter().filter(seen).map(|s| s.0).collect()
            })
            .unwrap_or_default();
        // A mite of a fifth of a millimetre is missed now and then.
        let found: Vec<&str> = found.into_iter().filter(|_| self.dice.yes(0.85)).collect();
        if found.is_empty() {
            let stray = self.dice.yes(0.12);
            self.write(day, format!("noticed no broad mites and no russet mites on {stand}"));
            let line = if stray { "noticed aphids on" } else { "noticed no aphids and no whitefly on" };
            self.write(day, format!("{line} {stand}"));
        }
        for sign in found {
            self.write(day, format!("noticed {sign} on {stand}"));
        }
    }

    /// How a load smells and whether it is hot.
    pub fn smell(&mut self, lot: usize, day: Day) {
        let l = &self.farm.lots[lot];
        let (name, smells) = (l.name.clone(), l.smells);
        let line = match (smells, self.wording.whole(0, 2)) {
            (true, 0) => format!("noticed ammonia smell in lot {name}"),
            (true, 1) => format!("noticed sour smell in lot {name}"),
            (true, _) => format!("measured {} C in lot {name}", self.dice.whole(42, 60)),
            (false, 0) => format!("measured {} C in lot {name}", self.dice.whole(11, 24)),
            (false, _) => format!("noticed no ammonia smell and no sour smell in lot {name}"),
        };
        self.write(day, line);
    }

    /// A load goes to a laboratory.
    pub fn laboratory(&mut self, lot: usize, day: Day, days: i64, limit: f64) {
        self.samples += 1;
        let sample = format!("s{}", self.samples);
        let l = self.farm.lots[lot].clone();
        self.write(day, format!("sampled lot {} as sample {sample}", l.name));
        self.write(day, format!("sent sample {sample} to County Laboratory"));
        let result = match l.flaw {
            Some(Flaw::Herbicide(substance, strength)) => {
                // A strength of 1 hurts at about 1 ppb in the bed (0.2 to 1 aminopyralid: Fast 2011; Oregon State
                // 2011; clopyralid about ten times that: BioCycle 2013), and the load is three times as strong.
                let hurts = if substance == "clopyralid" { 5.0 } else { 0.7 };
                let level = strength * hurts * 3.0 * self.dice.about(1.0, 0.3);
                if level >= limit {
                    format!("lab found {level:.0} ppb {substance} in sample {sample}, limit {limit} ppb")
                } else {
                    format!("lab found no {substance} in sample {sample}, limit {limit} ppb")
                }
            }
            _ => format!("lab found no aminopyralid and clopyralid in sample {sample}, limit {limit} ppb"),
        };
        self.write(day + days, result);
    }
}
