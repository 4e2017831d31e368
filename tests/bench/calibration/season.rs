//! A season's diary as a grower keeps it unasked: what is written, and on which day.
//!
//! Comes in: a farm and a kind of grower. Goes out: the grower with the diary so far, or nothing if the
//! trouble was never written down. What haulm says plays no part here.

use std::collections::BTreeMap;

use super::{
    figures::Ill,
    grower::Grower,
    habits::Habits,
    looks::reading_days,
    words::Words,
    world::{Day, Family, Farm, Spreading},
};

/// The last day of the season.
const END: Day = 165;

/// The diary of a season.
pub fn season<'f>(farm: &'f Farm, kind: &Habits, words: &'f Words, stream: u64) -> Option<Grower<'f>> {
    let mut grower = Grower::new(farm, kind, words, stream);
    grower.place();
    grower.loads();
    grower.plantings();
    grower.weather();
    grower.sprayings();
    grower.looks();
    let first = grower.first_sign?;
    grower.finds_out(first);
    for day in grower.diary.days_from(0) {
        grower.head(day);
    }
    Some(grower)
}

impl Grower<'_> {
    fn loads(&mut self) {
        for lot in 0..self.farm.lots.len() {
            if !self.dice.yes(self.habits.lot) {
                continue;
            }
            self.receive(lot);
            let mut rounds: BTreeMap<Day, Vec<Spreading>> = BTreeMap::new();
            for s in &self.farm.lots[lot].spreadings {
                rounds.entry(s.day).or_default().push(s.clone());
            }
            for round in rounds.into_values() {
                if self.dice.yes(self.habits.spreading) {
                    self.spread(lot, &round);
                }
            }
            if self.farm.lots[lot].smells && self.dice.yes(self.habits.smell) {
                self.smell(lot, self.farm.lots[lot].came);
            }
        }
    }

    fn plantings(&mut self) {
        for p in 0..self.farm.plantings.len() {
            if self.dice.yes(self.habits.planting) {
                self.plant(p);
            }
        }
    }

    fn weather(&mut self) {
        let farm = self.farm;
        for (day, celsius) in &farm.cold {
            if self.dice.yes(self.habits.weather) {
                let line = if *celsius <= 0.0 {
                    format!("frost {celsius:.0} C").replace("-0 C", "0 C")
                } else {
                    format!("measured {celsius:.0} C at 6:00")
                };
                self.write(*day, line);
            }
        }
        for (day, mm) in &farm.rain {
            if self.dice.yes(self.habits.weather) {
                self.write(*day, format!("rained {mm:.0} mm"));
            }
        }
        for day in &farm.hot {
            if self.dice.yes(self.habits.weather) {
                let celsius = self.dice.whole(31, 38);
                self.write(*day, format!("measured {celsius} C at 14:00"));
            }
        }
    }

    fn sprayings(&mut self) {
        let farm = self.farm;
        for s in 0..farm.sprayings.len() {
            if self.dice.yes(self.habits.spraying) {
                let wind = self.dice.yes(self.habits.wind);
                self.saw(s, wind);
            }
        }
        for s in 0..farm.own.len() {
            if self.dice.yes(self.habits.own) {
                self.sprayed(s);
            }
        }
        for (day, p, feed) in &farm.fed {
            if self.dice.yes(self.habits.own) {
                let line = format!("fed {} with {feed}", self.stand(*p));
                self.write(*day, line);
            }
        }
        for (p, sign) in &farm.besides {
            if self.dice.yes(self.habits.sound + 0.2) {
                let day = farm.plantings[*p].day + self.dice.whole(14, 60);
                let line = format!("noticed {sign} on {}", self.stand(*p));
                self.write(day, line);
            }
        }
    }

    /// Round after round of the beds.
    fn looks(&mut self) {
        let mut day = 20;
        let mut left = self.dice.whole(self.habits.looks_written.0, self.habits.looks_written.1);
        while day < END && left > 0 {
            day += 1 + self.dice.about(self.habits.days_between_looks, 0.5).round() as i64;
            // After the first signs a diary is opened less often than the beds are walked.
            if self.first_sign.is_some() {
                day += self.dice.whole(1, 6);
            }
            if self.look(day) {
                left -= 1;
            }
        }
    }

    /// One round. Whether signs were written.
    fn look(&mut self, day: Day) -> bool {
        let mut hurt = Vec::new();
        let mut sound = Vec::new();
        for p in
            (0..self.farm.plantings.len()).filter(|p| self.stands(*p, day) || self.told_hurt.contains_key(p))
        {
            match self.visible(p, day) {
                Some(h) if h.badly * Self::course(h, day) > 0.12 => hurt.push(p),
                _ => sound.push(p),
            }
        }
        let before = self.first_sign.is_none();
        let closely = self.dice.yes(self.habits.part);
        let mut wrote = false;
        for p in hurt {
            let told = self.told_hurt.contains_key(&p);
            if self.mended(p, day) {
                if told && self.dice.yes(self.habits.sound) {
                    let line = format!("noticed nothing wrong on {}, new growth", self.stand(p));
                    self.write(day, line);
                }
            } else if self.dice.yes(if told { 0.45 } else { 0.9 }) {
                self.sighting(p, day, closely, false);
                wrote = true;
            }
        }
        if before && !wrote {
            // Nothing to tell: now and then that is told.
            if let Some(p) = sound.first().filter(|_| self.dice.yes(self.habits.sound * 0.15)) {
                self.sound(*p, day);
            }
            return false;
        }
        for p in sound {
            let grass = self.farm.plantings[p].crop.family == Family::Grass;
            let chance = if grass { self.habits.grasses } else { self.habits.sound };
            if self.dice.yes(chance * 0.7) {
                self.sound(p, day);
            }
        }
        wrote
    }

    /// What a grower finds out unasked in the weeks after the first signs.
    fn finds_out(&mut self, first: Day) {
        let told: Vec<usize> = self.told_hurt.keys().copied().collect();
        let Some(one) = told.first().copied() else { return };
        let ills: Vec<Ill> =
            told.iter().filter_map(|p| self.farm.plantings[*p].hurt.as_ref()).map(|h| h.ill).collect();
        let odd = ills
            .iter()
            .any(|i| matches!(i, Ill::AuxinFromSoil | Ill::AuxinFromAir | Ill::Virus | Ill::BroadMite));
        let poor = ills.iter().any(|i| {
            matches!(
                i,
                Ill::Raw
                    | Ill::Salt
                    | Ill::Starved
                    | Ill::Wet
                    | Ill::Galls
                    | Ill::Gnawed
                    | Ill::Wilt
                    | Ill::Overfed
                    | Ill::Heat
                    | Ill::Bleacher
            )
        });
        let worth = |yes: bool, no: f64| if yes { 1.0 } else { no };
        if let Some(lot) = self.suspected_lot() {
            if self.dice.yes(self.habits.beans * worth(odd, 0.35)) {
                let day = first + self.dice.whole(1, 8);
                let (control, pots) = (self.dice.yes(self.habits.control), self.dice.one(&[3, 4, 4, 5, 6]));
                let days = reading_days(&mut self.dice);
                self.pots(lot, "bean", day, days, control, pots);
                if self.dice.yes(self.habits.corn) {
                    self.pots(lot, "sweet corn", day, days, control, pots);
                }
            }
            if self.dice.yes(self.habits.laboratory * worth(odd, 0.3)) {
                let day = first + self.dice.whole(3, 15);
                let (days, limit) = (self.dice.whole(12, 24), self.dice.one(&[1.0, 1.0, 5.0, 10.0, 50.0]));
                self.laboratory(lot, day, days, limit);
            }
            if self.dice.yes(self.habits.smell * 0.6) {
                self.smell(lot, first + 1);
            }
            if self.dice.yes(self.habits.meter * worth(poor, 0.4)) {
                let day = first + self.dice.whole(0, 7);
                let method = self.dice.yes(self.habits.method);
                let of = self.dice.yes(0.5).then_some(lot);
                self.meter(of, self.farm.plantings[one].bed, day, method);
            }
        } else if self.dice.yes(self.habits.meter * 0.5) {
            let method = self.dice.yes(self.habits.method);
            self.meter(None, self.farm.plantings[one].bed, first + 3, method);
        }
        let mut some = self.dice.some(&told, 2);
        for p in some.drain(..) {
            if self.dice.yes(self.habits.roots * worth(poor, 0.5)) {
                let day = first + self.dice.whole(0, 9);
                self.dig(p, day.max(self.told_hurt[&p]));
            }
        }
        if self.dice.yes(self.habits.lens * worth(odd || ills.contains(&Ill::RussetMite), 0.3)) {
            let day = first + self.dice.whole(0, 9);
            self.lens(one, day.max(self.told_hurt[&one]));
        }
    }
}
