//! Reads numbers, amounts, clock times and days inside an entry.
//!
//! Comes in: a place in a line. Goes out: what stands there and the piece after it, or nothing. It
//! decides the old question whether `in` is inches; it fills no slot.

use std::sync::Arc;

use chrono::{Datelike, NaiveDate};

use super::reader::Reader;
use crate::{
    measure::{
        date::{Days, read_day, weekday_number},
        number::Range,
        unit::{Dimension, Meant},
        value::Quantity,
    },
    model::{
        frame::{Lead, Slot, Takes},
        journal::PieceKind,
    },
    understand::lexicon::kinds::{PLACES, suits},
};

/// An amount as it is written.
#[derive(Debug, Clone, PartialEq)]
pub enum Amount {
    /// With a unit.
    Measured(Quantity),
    /// So many containers, perhaps of a size.
    Containers(Range, Arc<str>, Option<Quantity>),
    /// A number alone.
    Bare(Range),
}

/// What stands at a place, and the piece after it.
pub type At<T> = Option<(T, usize)>;

impl Reader<'_> {
    /// A number, with `about` before it or in words up to twelve.
    pub fn number(&self, at: usize, until: usize) -> At<Range> {
        if at >= until || !self.line.may_count(at) {
            return None;
        }
        if matches!(
            self.line.word(at),
            "about" | "around" | "roughly" | "nearly" | "almost" | "some" | "~" | "\u{2248}" | "approx"
        ) {
            let (range, next) = self.plain_number(at + 1, until)?;
            return Some((range.about(self.lex.words.about), next));
        }
        self.plain_number(at, until)
    }

    fn plain_number(&self, at: usize, until: usize) -> At<Range> {
        if at >= until {
            return None;
        }
        match self.line.kind(at)? {
            PieceKind::Number(range) => {
                // `10 to 12 barrows`: a range in words.
                if self.line.is(at + 1, "to")
                    && at + 2 < until
                    && let Some(PieceKind::Number(high)) = self.line.kind(at + 2)
                    && range.is_exact()
                    && high.is_exact()
                    && high.low() > range.low()
                {
                    return Some((Range::new(range.low(), high.low()), at + 3));
                }
                Some((*range, at + 1))
            }
            PieceKind::Word => {
                const WORDS: [&str; 12] = [
                    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
                    "twelve",
                ];
                let word = self.line.word(at);
                if word == "dozen" {
                    return Some((Range::exact(12.0), at + 1));
                }
                if word == "a" && self.line.is(at + 1, "dozen") {
                    return Some((Range::exact(12.0), at + 2));
                }
                let n = WORDS.iter().position(|w| *w == word)?;
                Some((Range::exact((n + 1) as f64), at + 1))
            }
            _ => None,
        }
    }

    /// A unit, where a number stands before it.
    pub fn unit(&self, at: usize, until: usize) -> At<Meant> {
        let (meant, next) = self.line.unit_at(at).filter(|(_, next)| *next <= until)?;
        if self.line.is(at, "in") && next == at + 1 && !self.line.glued(at) && !self.is_inches(at, until) {
            return None;
        }
        Some((meant, next))
    }

    /// Whether `in` after a number is inches: before `deep` and its like, a material, punctuation or
    /// the end; a known place after it makes it a preposition.
    fn is_inches(&self, at: usize, until: usize) -> bool {
        let next = at + 1;
        if next >= until
            || !matches!(
                self.line.kind(next),
                Some(PieceKind::Word | PieceKind::Quoted(_) | PieceKind::Number(_))
            )
        {
            return true;
        }
        if matches!(
            self.line.word(next),
            "deep"
                | "thick"
                | "wide"
                | "long"
                | "high"
                | "tall"
                | "apart"
                | "holes"
                | "of"
                | "from"
                | "off"
                | "out"
                | "each"
                | "x"
                | "by"
                | "\u{d7}"
        ) {
            return true;
        }
        // `laid 4 in lot straw-1`: what is laid goes into no lot.
        let stuff = self.line.marks(next).kind.filter(|(kind, _)| matches!(*kind, "lot" | "heap"));
        if stuff.is_some_and(|(kind, _)| !self.goes_into(kind)) {
            return true;
        }
        if self.is_place(next, until) {
            return false;
        }
        self.lex.word_at(self.line, next, until, &["material"]).is_some()
    }

    /// Whether the verb has a slot that `in` leads and a thing of this kind can fill.
    fn goes_into(&self, kind: &str) -> bool {
        let takes = |t: &Takes| matches!(t, Takes::Thing(k) | Takes::Portion(k) if suits(k, kind));
        let led = |s: &&Slot| s.leads.iter().any(|l| matches!(l, Lead::Word(w) if **w == *"in"));
        self.frame.slots.iter().filter(led).any(|s| s.takes.iter().any(takes))
    }

    /// Whether a known place, or the kind word of a place or holder, stands here.
    pub fn is_place(&self, at: usize, until: usize) -> bool {
        let at = self.line.past_determiners(at, until);
        let holds = |kind: &str| {
            PLACES.contains(&kind) || suits("HOLD", kind) || suits("LOT", kind) || kind == "test"
        };
        self.line.marks(at).kind.is_some_and(|(k, _)| holds(k))
            || self.lex.bare_name_at(self.line, at, until, holds).is_some()
            || self.portion(at, until).is_some()
    }

    /// A number with a unit.
    pub fn measured(&self, at: usize, until: usize) -> At<Quantity> {
        if !self.line.may_count(at) {
            return None;
        }
        if let Some((money, next)) = self.money(at, until) {
            return Some((money, next));
        }
        let Some((range, next)) = self.number(at, until) else { return self.one_of_a_unit(at, until) };
        let (meant, next) = self.unit(next, until)?;
        Some((self.settled(range, meant)?, next))
    }

    /// `an hour`, `a foot`: one, of a time or a length written out.
    fn one_of_a_unit(&self, at: usize, until: usize) -> At<Quantity> {
        if !matches!(self.line.word(at), "a" | "an") || self.line.word(at + 1).len() < 3 {
            return None;
        }
        let (meant, next) = self.unit(at + 1, until)?;
        let one = self.settled(Range::exact(1.0), meant)?;
        matches!(one.dimension, Dimension::Duration | Dimension::Length).then_some((one, next))
    }

    /// A quantity in the farm's own measure; a range over both while that is open.
    fn settled(&self, range: Range, meant: Meant) -> Option<Quantity> {
        if let Some(unit) = meant.settle(self.system) {
            return unit.quantity(range);
        }
        let Meant::Either { us, imperial } = meant else { return None };
        let (a, b) = (us.quantity(range)?, imperial.quantity(range)?);
        let size = Range::new(a.size.low().min(b.size.low()), a.size.high().max(b.size.high()));
        Some(Quantity { size, dimension: a.dimension })
    }

    /// `£40`
    fn money(&self, at: usize, until: usize) -> At<Quantity> {
        if !matches!(self.line.slice(at, at + 1).as_str(), "\u{a3}" | "$" | "\u{20ac}") {
            return None;
        }
        let (size, next) = self.number(at + 1, until)?;
        Some((Quantity { size, dimension: Dimension::Money }, next))
    }

    /// An amount: with a unit, in containers, or a number alone.
    pub fn amount(&self, at: usize, until: usize) -> At<Amount> {
        if !self.line.may_count(at) {
            return None;
        }
        if self.line.is(at, "half") {
            let after = if matches!(self.line.word(at + 1), "a" | "an") { at + 2 } else { at + 1 };
            let (container, next) = self.lex.container_at(self.line, after, until)?;
            return Some((Amount::Containers(Range::exact(0.5), container, None), next));
        }
        if matches!(self.line.word(at), "a" | "an") && !self.line.is(at + 1, "dozen") {
            let (container, next) = self.lex.container_at(self.line, at + 1, until)?;
            return Some((Amount::Containers(Range::exact(1.0), container, None), next));
        }
        if let Some((money, next)) = self.money(at, until) {
            return Some((Amount::Measured(money), next));
        }
        let (range, next) = self.number(at, until)?;
        // `8 5-gal buckets`, `3 40 l bags`
        if let Some(PieceKind::Number(_)) = self.line.kind(next)
            && let Some((size, after)) = self.measured(next, until)
            && let Some((container, end)) = self.lex.container_at(self.line, after, until)
        {
            return Some((Amount::Containers(range, container, Some(size)), end));
        }
        if let Some((meant, after)) = self.unit(next, until) {
            let q = self.settled(range, meant)?;
            return Some((Amount::Measured(q), after));
        }
        // `12 x 50 l bags`
        if matches!(self.line.word(next), "x" | "\u{d7}")
            && let Some((size, after)) = self.measured(next + 1, until)
            && let Some((container, end)) = self.lex.container_at(self.line, after, until)
        {
            return Some((Amount::Containers(range, container, Some(size)), end));
        }
        if let Some((container, end)) = self.lex.container_at(self.line, next, until) {
            return Some(match self.size_of_one(end, until) {
                Some((size, after)) => (Amount::Containers(range, container, Some(size)), after),
                None => (Amount::Containers(range, container, None), end),
            });
        }
        Some((Amount::Bare(range), next))
    }

    /// `12 bags of 50 l`: after a container, the size of one.
    fn size_of_one(&self, at: usize, until: usize) -> At<Quantity> {
        let from = self.line.are(at, "of").filter(|n| *n < until)?;
        let (size, next) = self.measured(from, until)?;
        let stuff = matches!(size.dimension, Dimension::Volume | Dimension::Mass);
        let next = if self.line.is(next, "each") && next < until { next + 1 } else { next };
        stuff.then_some((size, next))
    }

    /// A clock time: `10:20`, `7:30 pm`, `about 19:00`, `7 am`, `noon`.
    pub fn clock(&self, at: usize, until: usize) -> At<u16> {
        if at >= until {
            return None;
        }
        if matches!(self.line.word(at), "about" | "around" | "roughly" | "~") {
            return self.clock(at + 1, until);
        }
        if self.line.is(at, "noon") {
            return Some((720, at + 1));
        }
        let (hours, minutes, next) = match self.line.kind(at)? {
            PieceKind::Pair(h, m) => (h.low(), m.low(), at + 1),
            PieceKind::Number(n)
                if n.is_exact() && matches!(self.line.word(at + 1), "am" | "pm" | "o'clock") =>
            {
                (n.low(), 0.0, at + 1)
            }
            _ => return None,
        };
        let whole = |n: f64| n.fract() == 0.0 && n >= 0.0;
        if !whole(hours) || !whole(minutes) || hours > 23.0 || minutes > 59.0 {
            return None;
        }
        let mut minutes = (hours * 60.0 + minutes) as u16;
        let next = match self.line.word(next) {
            "pm" if next < until => {
                if minutes < 720 {
                    minutes += 720;
                }
                next + 1
            }
            "am" | "o'clock" if next < until => next + 1,
            _ => next,
        };
        Some((minutes, next))
    }

    /// A day or span: `2026-05-30`, `about 2026-05-30`, `30 May 2026`, `Saturday` (the last before the
    /// entry's own day).
    pub fn days(&self, at: usize, until: usize) -> At<Days> {
        if at >= until {
            return None;
        }
        if matches!(self.line.word(at), "about" | "around" | "roughly") {
            let (days, next) = self.days(at + 1, until)?;
            return Some((Days::span(days.shifted(-3).first, days.shifted(3).last), next));
        }
        if let Some(from) = self.line.are(at, "week of") {
            let (days, next) = self.days(from, until)?;
            return Some((Days::week_of(days.first), next));
        }
        if self.line.is(at, "last") {
            return self.days(at + 1, until).filter(|_| weekday_number(self.line.word(at + 1)).is_some());
        }
        if let PieceKind::Day(days) = self.line.kind(at)? {
            return Some((*days, at + 1));
        }
        if let Some(wanted) = weekday_number(self.line.word(at)) {
            let before = self.day?.first;
            let back = (i64::from(before.weekday().num_days_from_monday()) - i64::from(wanted) + 6)
                .rem_euclid(7)
                + 1;
            return Some((Days::on(crate::measure::date::shift(before, -back)), at + 1));
        }
        (at + 3..=(at + 4).min(until)).find_map(|end| {
            let day: NaiveDate = read_day(&self.line.slice(at, end)).ok()?;
            Some((Days::on(day), end))
        })
    }
}
