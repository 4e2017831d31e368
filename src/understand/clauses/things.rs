//! Reads named things and portions of them: `lot tern-26`, `beds 1-6`, `the rest of lot barry-2`,
//! `west half of north-1`, `buckets 1-4 of batch b3`, `control of test t1`.
//!
//! Comes in: a place in a line and what kinds are wanted. Goes out: fillers and the piece after them.
//! It takes only what is known or named with its kind word; guessing at unknown names is the caller's.

use std::sync::Arc;

use super::{
    numbers::At,
    reader::{Reader, Take},
};
use crate::{
    base::name::fold,
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Thing, Value},
    },
    model::{
        entry::{Filler, Part},
        frame::{Lead, Takes},
        journal::PieceKind,
    },
    understand::lexicon::kinds::{PLACES, suits},
};

/// The most numbered things one range may name.
const MOST_IN_A_RANGE: i64 = 200;

/// A portion before it is known of what.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    pub share: Option<Range>,
    pub along: Option<Quantity>,
    pub side: Option<Arc<str>>,
    pub remainder: bool,
    /// Whether `of` stood after it.
    pub of: bool,
}

impl Reader<'_> {
    /// A thing of the kinds `group` stands for, or a portion of one.
    pub fn thing(&self, group: &str, at: usize, until: usize) -> Option<Take> {
        let start = at;
        let at = self.past_some_of(at, until);
        if let Some(take) = self.every(group, at, until) {
            return Some(take);
        }
        if let Some((portion, next)) = self.portion(at, until) {
            let member = self.members(group, next, until).and_then(|take| match &take.fillers[..] {
                [(Filler::Value(Value::Thing(one)), _)] => Some((one.clone(), take.next)),
                _ => None,
            });
            let named = member.or_else(|| self.one(group, next, until));
            if portion.of || named.is_some() {
                let (thing, end) = named?;
                let part = self.part(&portion, thing);
                return Some(Take::one(part, self.line.loc(start, end), end));
            }
            // A bare `east end` is of the place named before it.
            let (of, sided) = (self.carried_place()?, portion.side.is_some());
            if sided && suits(group, &of.kind) {
                let part = self.part(&portion, of);
                return Some(Take::one(part, self.line.loc(start, next), next));
            }
            return None;
        }
        if let Some(take) = self.members(group, at, until) {
            return Some(take);
        }
        if let Some(take) = self.numbered(group, at, until) {
            return Some(take);
        }
        let (thing, next) = self.one(group, at, until)?;
        if let Some(take) = self.up_to(&thing, start, next, until) {
            return Some(take);
        }
        Some(Take::one(Filler::Value(Value::Thing(thing)), self.line.loc(start, next), next))
    }

    /// Past words before a thing that leave open how much of it is meant, `some of`, or that only say what it is
    /// made of, `the soil of`.
    fn past_some_of(&self, at: usize, until: usize) -> usize {
        let from = self.past_open(at, until).unwrap_or(at);
        let from = self.line.past_determiners(from, until);
        self.past_ground(from, until, self.takes_soil()).unwrap_or(from)
    }

    /// Past words that leave open how much of a thing is meant.
    pub(super) fn past_open(&self, at: usize, until: usize) -> Option<usize> {
        let open = ["some of", "most of", "a bit of", "a little of", "part of"];
        open.iter().find_map(|w| self.line.are(at, w)).filter(|n| *n < until)
    }

    /// Past words that say only that the ground of a place is meant: `the soil of north-1`, `the top 4 in of north-1`;
    /// where soil from a place is `of_place`, `soil from north-1` too, unless `from` leads a clause of the verb.
    pub(super) fn past_ground(&self, from: usize, until: usize, of_place: bool) -> Option<usize> {
        let takes_from = self.frame.slots.iter().flat_map(|s| &s.leads);
        let takes_from = takes_from.into_iter().any(|l| matches!(l, Lead::Word(w) if **w == *"from"));
        let takes_from = takes_from || !of_place;
        let mut at = self.line.past_determiners(from, until);
        if let Some(depth) = self.past_top(at).filter(|_| !takes_from)
            && let Some((_, next)) = self.measured(depth, until)
        {
            at = self.line.are(next, "of").unwrap_or(next);
            if self.one("PLACE", at, until).is_some() {
                return Some(self.line.past_determiners(at, until));
            }
        }
        let soil = self.ground_word(at, until)?;
        let leads = ["of", "from", "out of", "taken from"];
        let of = leads.iter().filter(|lead| **lead == "of" || !takes_from);
        let of = of.into_iter().find_map(|lead| self.line.are(soil, lead))?;
        self.one("PLACE", of, until).map(|_| self.line.past_determiners(of, until))
    }

    /// Whether the verb puts soil into pots or a sample: then `soil from north-1` is of the bed.
    fn takes_soil(&self) -> bool {
        let sample = |t: &Takes| matches!(t, Takes::New(Some(kind)) if **kind == *"sample");
        self.frame.slots.iter().flat_map(|s| &s.takes).any(|t| *t == Takes::Pots || sample(t))
    }

    /// Past a word for the ground of a place, as a table lists them.
    fn ground_word(&self, at: usize, until: usize) -> Option<usize> {
        if at < until && self.line.is(at, "ground") {
            return Some(at + 1);
        }
        self.lex.word_at(self.line, at, until, &["ground"]).map(|(_, next)| next)
    }

    /// `north-1's soil`: a place of the farm by the words for its ground.
    fn grounds_owner(&self, group: &str, at: usize, until: usize) -> At<Thing> {
        let owner = |n: usize| self.line.word(n).ends_with("'s");
        let from = match self.line.marks(at).kind {
            Some((kind, false)) if PLACES.contains(&kind) => at + 1,
            _ => at,
        };
        let n = (from..until.min(from + 4)).find(|n| owner(*n))?;
        let next = self.ground_word(n + 1, until)?;
        let name = self.line.slice(from, n + 1);
        let name = name.get(..name.len().checked_sub(2)?)?.trim_end_matches(['\'', '\u{2019}']);
        let known = self.lex.names.whole(name, |k| PLACES.contains(&k) && suits(group, k))?;
        Some((known.thing.clone(), next))
    }

    /// `all beds`, `all of the paths`, `every bed in east tunnel`: every declared one.
    fn every(&self, group: &str, at: usize, until: usize) -> Option<Take> {
        let from = match self.line.word(at) {
            "every" => at + 1,
            "all" => self.line.are(at + 1, "of").unwrap_or(at + 1),
            _ => return None,
        };
        let from = self.line.past_determiners(from, until);
        let (kind, many) =
            self.line.marks(from).kind.filter(|(k, _)| PLACES.contains(k) && suits(group, k))?;
        let mut next = from + 1;
        let named = self.lex.name_at(self.line, next, until, |k| k == kind).is_some();
        if from >= until || named || self.number(next, until).is_some() || !many && self.line.is(at, "all") {
            return None;
        }
        let room = self.line.are(next, "in").and_then(|n| self.one("room", n, until));
        let things: Vec<Thing> = match &room {
            Some((room, after)) => {
                next = *after;
                self.lex.names.beds_in(room).iter().filter(|t| *t.kind == *kind).cloned().collect()
            }
            None => {
                let all = self.lex.names.all().iter().filter(|k| k.began.is_some());
                all.filter(|k| *k.thing.kind == *kind).map(|k| k.thing.clone()).collect()
            }
        };
        let loc = self.line.loc(at, next);
        let fillers: Vec<_> = things.into_iter().map(|t| (Filler::Value(Value::Thing(t)), loc)).collect();
        (!fillers.is_empty()).then_some(Take { fillers, next, sure: true, missing: Vec::new(), share: None })
    }

    fn part(&self, portion: &Portion, of: Thing) -> Filler {
        let lot = suits("LOT", &of.kind);
        Filler::Part(Part {
            of,
            share: portion.share,
            along: portion.along,
            side: portion.side.clone(),
            remainder: portion.remainder || (lot && portion.share.is_some()),
        })
    }

    /// One named thing: kind word and name, or a known name.
    pub fn one(&self, group: &str, at: usize, until: usize) -> At<Thing> {
        let at = self.line.past_determiners(at, until);
        if at >= until {
            return None;
        }
        if let Some(found) = self.grounds_owner(group, at, until) {
            return Some(found);
        }
        if let Some((kind, _)) = self.line.marks(at).kind
            && suits(group, kind)
            // `control 0 of 4, test 4 of 4`: no test is called 4.
            && !(kind == "test" && self.line.is(at + 2, "of") && self.number(at + 1, until).is_some())
        {
            if let Some((known, next)) = self.lex.name_at(self.line, at + 1, until, |k| k == kind) {
                return Some((known.thing.clone(), next));
            }
            // `cutting bed`, `bed bed`: the kind word may be part of a known name.
            if let Some((known, next)) = self.lex.name_at(self.line, at, until, |k| suits(group, k)) {
                return Some((known.thing.clone(), next));
            }
            if let Some(next) = self.line.name_end(at + 1, until, true) {
                let name = self.line.slice(at + 1, next);
                return Some((Thing { kind: kind.into(), name: name.into() }, next));
            }
        }
        if let Some((known, next)) = self.lex.bare_name_at(self.line, at, until, |k| suits(group, k)) {
            return Some((known.thing.clone(), self.past_kind_word(&known.thing.kind, next, until)));
        }
        // `April tray`: the kind word may stand last.
        let end = self.line.name_end(at, until, true)?;
        let (kind, _) = self.line.marks(end - 1).kind.filter(|(k, many)| suits(group, k) && !many)?;
        let name = self.line.slice(at, end - 1);
        let known = self.lex.names.whole(&name, |k| k == kind).filter(|_| end - 1 > at)?;
        Some((known.thing.clone(), end))
    }

    fn past_kind_word(&self, kind: &str, at: usize, until: usize) -> usize {
        let stands = at < until && self.line.marks(at).kind.is_some_and(|(k, _)| k == kind);
        let names_next = stands && self.line.name_end(at + 1, until, true).is_some();
        if stands && !names_next { at + 1 } else { at }
    }

    /// `buckets 1-4 of batch b3`: members of a batch, each a thing of its own.
    fn members(&self, group: &str, at: usize, until: usize) -> Option<Take> {
        if !matches!(group, "HOLD" | "thing" | "bucket") {
            return None;
        }
        let (container, mut next) = self.lex.container_at(self.line, at, until)?;
        let mut numbers = Vec::new();
        while let Some(PieceKind::Number(range)) = self.line.kind(next).filter(|_| next < until) {
            numbers.extend(whole_numbers(*range)?);
            next += 1;
            if self.line.joins(next) && matches!(self.line.kind(next + 1), Some(PieceKind::Number(_))) {
                next += 1;
            }
        }
        if numbers.is_empty() {
            return None;
        }
        let said = self.line.are(next, "of").and_then(|n| self.whole_of_members(n, until));
        // `read trial straw-1: plots 1, 4, 6 hurt`: of the trial named already.
        let carried = || self.last_thing(|kind| kind == "trial").map(|trial| (trial, next));
        let (batch, next) = said.or_else(carried)?;
        let loc = self.line.loc(at, next);
        let fillers = numbers
            .into_iter()
            .map(|n| {
                let name = format!("{n} of {} {}", batch.kind, batch.name);
                (Filler::Value(Value::Thing(Thing { kind: container.clone(), name: name.into() })), loc)
            })
            .collect();
        Some(Take { fillers, next, sure: true, missing: Vec::new(), share: None })
    }

    /// What numbered members are of: a batch has its buckets, a trial its plots.
    fn whole_of_members(&self, at: usize, until: usize) -> At<Thing> {
        self.one("batch", at, until).or_else(|| self.one("trial", at, until))
    }

    /// `beds 1-6`, `beds 1 to 6`: every known one between. A name `1-6` wins.
    fn numbered(&self, group: &str, at: usize, until: usize) -> Option<Take> {
        let (kind, many) = self.line.marks(at).kind?;
        if !suits(group, kind)
            || self.lex.name_at(self.line, at + 1, until, |k| k == kind).is_some_and(|(_, n)| n > at + 2)
        {
            return None;
        }
        let (range, next) = self.number(at + 1, until)?;
        if range.is_exact() || !many && self.lex.name_at(self.line, at + 1, until, |k| k == kind).is_some() {
            return None;
        }
        if self.lex.names.whole(&self.line.slice(at + 1, next), |k| k == kind).is_some() {
            return None;
        }
        let numbers = whole_numbers(range)?;
        let loc = self.line.loc(at, next);
        let mut take = Take { fillers: Vec::new(), next, sure: true, missing: Vec::new(), share: None };
        for n in numbers {
            let known = [format!("{n}"), format!("{kind} {n}")]
                .iter()
                .find_map(|name| self.lex.names.whole(name, |k| k == kind));
            match known {
                Some(known) => take.fillers.push((Filler::Value(Value::Thing(known.thing.clone())), loc)),
                None => take.missing.push(format!("{kind} {n}")),
            }
        }
        (!take.fillers.is_empty()).then_some(take)
    }

    /// `north-1 to north-6`, unless `from` stands before it.
    fn up_to(&self, first: &Thing, start: usize, at: usize, until: usize) -> Option<Take> {
        if !self.line.is(at, "to")
            || at >= until
            || !PLACES.contains(&&*first.kind)
            || (self.group_start..start).any(|n| self.line.is(n, "from"))
        {
            return None;
        }
        let (last, next) = match self.one(&first.kind, at + 1, until) {
            Some(found) => found,
            // `strip-1 to 6`
            None => match self.line.kind(at + 1).filter(|_| at + 1 < until) {
                Some(PieceKind::Number(n)) if n.is_exact() && !self.line.is_unit(at + 2) => {
                    let (stem, _) = split_number(&first.name)?;
                    (Thing { kind: first.kind.clone(), name: format!("{stem}{}", n.low()).into() }, at + 2)
                }
                // `north-1 to north-6`, where no north-6 is known
                Some(PieceKind::Word) => {
                    let (stem, _) = split_number(&first.name)?;
                    let name = self.line.slice(at + 1, at + 2);
                    let (other, _) = split_number(&name)?;
                    if fold(stem) != fold(other) {
                        return None;
                    }
                    (Thing { kind: first.kind.clone(), name: name.into() }, at + 2)
                }
                _ => return None,
            },
        };
        let ((stem, from), (other, to)) = (split_number(&first.name)?, split_number(&last.name)?);
        let alike = fold(stem) == fold(other);
        if !alike || from >= to || to - from > MOST_IN_A_RANGE {
            return None;
        }
        let loc = self.line.loc(start, next);
        let mut take = Take { fillers: Vec::new(), next, sure: true, missing: Vec::new(), share: None };
        for n in from..=to {
            let name = format!("{stem}{n}");
            match self.lex.names.whole(&name, |k| *k == *first.kind) {
                Some(known) => take.fillers.push((Filler::Value(Value::Thing(known.thing.clone())), loc)),
                None => take.missing.push(format!("{} {name}", first.kind)),
            }
        }
        Some(take)
    }

    /// `control of test t1`, or `control` of the test named before.
    pub fn control(&self, at: usize, until: usize) -> Option<Take> {
        let start = at;
        let at = self.line.past_determiners(at, until);
        if at < until && self.line.is(at, "test") && self.count_of(at + 1, until).is_some() {
            let test = Thing { kind: "test".into(), name: self.carried_test()?.name };
            return Some(Take::one(Filler::Value(Value::Thing(test)), self.line.loc(at, at + 1), at + 1));
        }
        if at >= until || !matches!(self.line.word(at), "control" | "controls") {
            return None;
        }
        let named = self.line.are(at + 1, "of").and_then(|n| self.one("test", n, until));
        let (test, next) = match named {
            Some((test, next)) => (test.name, next),
            None => (self.carried_test()?.name, at + 1),
        };
        let mut next = next;
        while next < until
            && matches!(self.line.word(next), "pots" | "pot" | "plants" | "is" | "was" | "are" | "were")
        {
            next += 1;
        }
        let thing = Thing { kind: "control".into(), name: test };
        Some(Take::one(Filler::Value(Value::Thing(thing)), self.line.loc(start, next), next))
    }

    /// `half of`, `1/3 of`, `30 % of`, `the rest of`, `first 10 ft of`, `west end of`, `door half`.
    pub fn portion(&self, at: usize, until: usize) -> At<Portion> {
        let at = self.line.past_determiners(at, until);
        if at >= until || !(self.line.marks(at).portion || self.line.may_count(at)) {
            return None;
        }
        let portion = |share: Option<f64>, remainder| Portion {
            share: share.map(Range::exact),
            along: None,
            side: None,
            remainder,
            of: true,
        };
        let of = |n: usize| self.line.are(n, "of").filter(|n| *n < until);
        let word = self.line.word(at);
        if let Some(next) =
            self.line.are(at, "what is left of").or_else(|| self.line.are(at, "what's left of"))
        {
            return Some((portion(None, true), next));
        }
        if matches!(word, "rest" | "remainder" | "remains" | "last")
            && let Some(next) = of(at + 1)
        {
            return Some((portion(None, true), next));
        }
        if word == "all" {
            let next = of(at + 1).unwrap_or(at + 1);
            return Some((portion(None, true), next));
        }
        let fraction = |w: &str| match w {
            "half" => Some(0.5),
            "third" => Some(1.0 / 3.0),
            "quarter" => Some(0.25),
            _ => None,
        };
        if let Some(side) = side(word) {
            let share = match self.line.word(at + 1) {
                "end" | "side" => 1.0 / 3.0,
                w => fraction(w)?,
            };
            let next = of(at + 2);
            let mut found = portion(Some(share), false);
            found.side = Some(side.into());
            found.of = next.is_some();
            return Some((found, next.unwrap_or(at + 2)));
        }
        if let Some(share) = fraction(word) {
            // `half the straw`
            let half = || (word == "half" && self.line.marks(at + 1).determiner).then_some(at + 1);
            let next = of(at + 1).or_else(half)?;
            return Some((portion(Some(share), false), next));
        }
        if matches!(word, "first" | "last") {
            let (length, next) = self.measured(at + 1, until)?;
            if length.dimension != Dimension::Length {
                return None;
            }
            let mut found = portion(None, false);
            found.along = Some(length);
            // The first stretch needs no name for its side; the last one is other ground.
            found.side = (word == "last").then(|| word.into());
            return Some((found, of(next)?));
        }
        let (range, next) = self.number(at, until)?;
        if let Some(next) = of(next).filter(|_| range.high() < 1.0 && range.low() > 0.0) {
            return Some((Portion { share: Some(range), ..portion(None, false) }, next));
        }
        let (q, next) = self.measured(at, until)?;
        let next = of(next).filter(|_| q.dimension == Dimension::Share)?;
        Some((Portion { share: Some(q.size), ..portion(None, false) }, next))
    }
}

/// A side of a place, spelt one way.
fn side(word: &str) -> Option<&str> {
    match word {
        "near" | "far" | "left" | "right" | "door" => Some(word),
        _ => super::results::compass(word),
    }
}

/// The whole numbers of a range, if it is one and not too long.
fn whole_numbers(range: Range) -> Option<Vec<i64>> {
    let (low, high) = (range.low(), range.high());
    let fits =
        low.fract() == 0.0 && high.fract() == 0.0 && low >= 0.0 && high - low <= MOST_IN_A_RANGE as f64;
    (fits && high < 1e9).then(|| (low as i64..=high as i64).collect())
}

/// `north-6` as its stem and its number.
fn split_number(name: &str) -> Option<(&str, i64)> {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    let number = name.get(stem.len()..)?.parse().ok()?;
    Some((stem, number))
}
