//! Doing what haulm asks for, and writing down what comes of it.
//!
//! Comes in: what it says would settle the matter, in its own words, and the day it is begun. Goes out: the
//! day by which the diary answers, or nothing if this simulator knows no such thing to do. The answer is the
//! truth's, as far as the grower would have it; it never looks at what haulm believes.

use super::{grower::Grower, world::Day};

/// Does it. `about` is the load or field it is asked of, `days` how long haulm says it takes.
pub fn settle(grower: &mut Grower<'_>, doing: &str, about: Option<&str>, day: Day, days: i64) -> Option<Day> {
    let says = |words: &[&str]| words.iter().any(|w| doing.contains(w));
    let lot = about.and_then(|a| grower.lot_named(a)).or_else(|| grower.suspected_lot());
    let told: Vec<usize> = grower.told_hurt.keys().copied().collect();
    let one = *told.first()?;
    let done = day + days;
    if says(&["laborator", "send a sample"]) {
        grower.laboratory(lot?, day, days, 1.0);
    } else if says(&["smell"]) {
        grower.smell(lot?, done);
    } else if says(&["soil that hurt plants grow in"]) {
        // No figure here says how often soil of a hurt bed harms beans.
        return None;
    } else if says(&["pot", "pots"]) && says(&["corn", "grass", "oat"]) {
        let control = grower.dice.yes(grower.habits.control.max(0.6));
        grower.pots(lot?, "sweet corn", day, days, control, 4);
    } else if says(&["pot", "pots"]) {
        let control = grower.dice.yes(grower.habits.control.max(0.6));
        let pots = if grower.habits.beans > 0.4 { 5 } else { 4 };
        grower.pots(lot?, "bean", day, days, control, pots);
    } else if says(&["every crop"]) {
        let beds: Vec<usize> = told.iter().map(|p| grower.farm.plantings[*p].bed).collect();
        for p in 0..grower.farm.plantings.len() {
            if beds.contains(&grower.farm.plantings[p].bed) {
                grower.says_how(p, done, false);
            }
        }
    } else if says(&["newest and the oldest"]) {
        for p in grower.dice.some(&told, 3) {
            grower.sighting(p, done, true, true);
        }
    } else if says(&["count the hurt plants"]) {
        grower.says_how(one, done, true);
    } else if says(&["what has grown since"]) {
        for p in grower.dice.some(&told, 3) {
            if grower.mended(p, done) {
                let line = format!("noticed nothing wrong on {}, new growth", grower.stand(p));
                grower.write(done, line);
            } else {
                grower.sighting(p, done, true, true);
            }
        }
    } else if says(&["look again"]) {
        for p in 0..grower.farm.plantings.len() {
            if told.contains(&p) || grower.dice.yes(0.6) {
                grower.says_how(p, done, true);
            }
        }
    } else if says(&["other beds", "beds without", "beds that got none", "with and without"]) {
        for p in 0..grower.farm.plantings.len() {
            grower.says_how(p, done, false);
        }
    } else if says(&["salt", "EC", "meter"]) {
        let of = about.and(lot).filter(|_| about.is_some_and(|a| a.starts_with("lot")));
        grower.meter(of, grower.farm.plantings[one].bed, done, true);
    } else if says(&["root", "dig", "spade"]) {
        for p in grower.dice.some(&told, 2) {
            grower.dig(p, done);
        }
    } else if says(&["lens", "mite", "insect"]) {
        for p in grower.dice.some(&told, 2) {
            grower.lens(p, done);
        }
    } else if says(&["what was sprayed"]) {
        grower.owns_up(done);
    } else if says(&["lowest temperature"]) {
        grower.looks_up_cold(done);
    } else if says(&["hottest day"]) {
        grower.looks_up_heat(done);
    } else if says(&["rain of"]) {
        grower.looks_up_rain(done);
    } else if says(&["wind"]) {
        grower.looks_up_wind(about?, done)?;
    } else {
        return None;
    }
    Some(done)
}

impl Grower<'_> {
    /// What was sprayed on the hurt plants is written down after all; where nothing was, that.
    fn owns_up(&mut self, day: Day) {
        let told: Vec<usize> = self.told_hurt.keys().copied().collect();
        let mut any = false;
        for own in 0..self.farm.own.len() {
            let s = &self.farm.own[own];
            if s.day <= day && s.day > day - 45 && s.plants.iter().any(|p| told.contains(p)) {
                any = true;
                let line = format!("sprayed {} on", s.what);
                let written = self.diary.entries(s.day).iter().any(|e| e.starts_with(&line));
                if !written {
                    self.sprayed(own);
                }
            }
        }
        if !any {
            for p in told {
                let line = format!("sprayed nothing on {}", self.stand(p));
                self.write(day, line);
            }
        }
    }

    /// The coldest night of the two weeks before the first signs, from a thermometer that keeps it.
    fn looks_up_cold(&mut self, day: Day) {
        let first = self.first_sign.unwrap_or(day);
        let nights = self.farm.cold.iter().filter(|(d, _)| *d <= first && *d >= first - 14);
        let coldest = nights.min_by(|a, b| a.1.total_cmp(&b.1)).copied();
        let (night, celsius) = match coldest {
            Some(coldest) => coldest,
            None => (first - self.dice.whole(2, 9), self.dice.between(6.0, 12.0).round()),
        };
        self.write(night, format!("measured {celsius:.0} C at 6:00"));
    }

    /// The hottest day of the two weeks before the first signs.
    fn looks_up_heat(&mut self, day: Day) {
        let first = self.first_sign.unwrap_or(day);
        let hot = self.farm.hot.iter().filter(|d| **d <= first && **d >= first - 14).max().copied();
        let (day, celsius) = match hot {
            Some(day) => (day, self.dice.whole(33, 38)),
            None => (first - self.dice.whole(2, 9), self.dice.whole(21, 29)),
        };
        self.write(day, format!("measured {celsius} C at 14:00"));
    }

    /// The rain of the two weeks before the first signs.
    fn looks_up_rain(&mut self, day: Day) {
        let first = self.first_sign.unwrap_or(day);
        let fell = self.farm.rain.iter().filter(|(d, _)| *d <= first && *d >= first - 14);
        let most = fell.max_by(|a, b| a.1.total_cmp(&b.1)).copied();
        let (day, mm) = most.unwrap_or((first - self.dice.whole(2, 9), self.dice.between(2.0, 9.0)));
        self.write(day, format!("rained {mm:.0} mm"));
    }

    /// The wind of a spraying, from the nearest station.
    fn looks_up_wind(&mut self, field: &str, day: Day) -> Option<()> {
        let name = field.strip_prefix("field ").unwrap_or(field);
        let of = |s: &usize| self.farm.fields[self.farm.sprayings[*s].field].name == name;
        let spraying = self.known_sprayings.iter().copied().filter(of).max()?;
        let s = &self.farm.sprayings[spraying];
        let was =
            self.diary.entries(s.day).iter().find(|e| e.starts_with(&format!("saw {}", s.who)))?.clone();
        let date = super::diary::date(s.day);
        let without = was.split(", wind").next().unwrap_or(&was).to_owned();
        let wind = self.wind(spraying);
        self.write(day, format!("correct {date} saw {}: {without}{wind}", s.who));
        Some(())
    }

    /// A planting is looked at and written down, hurt or sound.
    fn says_how(&mut self, planting: usize, day: Day, count: bool) {
        if !self.stands(planting, day) && !self.told_hurt.contains_key(&planting) {
            return;
        }
        if self.visible(planting, day).is_some() {
            let kept = self.habits;
            self.habits.crop = 1.0;
            if count {
                self.habits.count = 0.9;
            }
            self.sighting(planting, day, false, false);
            self.habits = kept;
        } else {
            self.sound(planting, day);
        }
    }
}
