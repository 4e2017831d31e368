//! Clauses any entry may have: `by`, `at` a clock time, `photo`, `if`, `except`, `each`, `for`, and what
//! is said of a planting beside its count.
//!
//! Comes in: a place of a line. Goes out: fills of slots that no frame lists, or nothing. What a frame
//! lists itself comes before these.

use super::{
    reader::{Draft, Fill, Reader, Take},
    told,
};
use crate::{
    measure::{
        date::{month_number, weekday_number},
        unit::Dimension,
        value::Value,
    },
    model::{
        entry::Filler,
        frame::{FrameKind, Lead, Several, Slot, Takes},
        journal::PieceKind,
    },
    understand::lexicon::Line,
};

/// Past words that except what follows: `except`, `but not`, `not`.
fn past_not(line: &Line<'_>, at: usize) -> Option<usize> {
    let and = usize::from(line.is(at, "and"));
    line.are(at, "but not").or_else(|| line.are(at + and, "not")).or_else(|| line.are(at, "except"))
}

/// Past `none` where what has none follows: `none on pepper`, `and none in north-2`.
fn past_none(line: &Line<'_>, at: usize) -> Option<usize> {
    let joined = ["and", "but"].iter().any(|word| line.is(at, word));
    let next = line.are(at + usize::from(joined), "none")?;
    matches!(line.word(next), "on" | "in" | "of").then_some(next)
}

impl<'a> Reader<'a> {
    /// Clauses any entry may have.
    pub(super) fn common(&mut self, at: usize, until: usize) -> Option<usize> {
        match self.line.word(at) {
            // `bed by the pond` is called so.
            "by" if at + 1 < until && !(at == 0 && self.frame.kind == FrameKind::Place) => {
                let from = self.line.past_determiners(at + 1, until);
                let take =
                    self.thing("WHO", from, until).or_else(|| self.captured("WHO", from, until, false))?;
                Some(self.push("by", take))
            }
            "at" => {
                let (minutes, next) = self.clock(at + 1, until)?;
                let take = Take::one(Filler::Value(Value::Clock(minutes)), self.line.loc(at + 1, next), next);
                Some(self.push("clock", take))
            }
            "photo" => {
                let end = (at + 1..until)
                    .find(|n| self.line.joins(*n) || self.line.leads_clause(*n))
                    .unwrap_or(until);
                let words = Filler::Words(self.line.slice(at + 1, end).into());
                Some(self.push("photo", Take::one(words, self.line.loc(at + 1, end), end)))
            }
            "if" => {
                let (test, next) = self.one("test", at + 1, until)?;
                let clean = matches!(self.line.word(next + 1), "clean" | "clear" | "fine" | "ok" | "good");
                if !self.line.is(next, "is") || !clean {
                    return None;
                }
                self.condition = Some(test);
                Some(next + 2)
            }
            "except" | "but" | "not" => {
                // `all beds but north-2`
                let but = self.line.is(at, "but") && self.thing("PLACE", at + 1, until).is_some();
                let from = past_not(self.line, at).or(but.then_some(at + 1))?;
                let mut next = if matches!(self.line.word(from), "in" | "on" | "over" | "into" | "onto") {
                    from + 1
                } else {
                    from
                };
                let mut last = at;
                while let Some(take) = self.thing("PLACE", self.line.past_determiners(next, until), until) {
                    next = self.push("except", take);
                    last = next;
                    while next < until && self.line.joins(next) {
                        next += 1;
                    }
                }
                (last > at).then_some(last)
            }
            "numbered" => self.number(at + 1, until).map(|(_, next)| next),
            "each" => Some(self.push("each", Take::one(Filler::Flag, self.line.loc(at, at + 1), at + 1))),
            "on" if weekday_number(self.line.word(at + 1)).is_some() => {
                self.refuse(told::day_in_entry(self, at, at + 2));
                Some(at + 2)
            }
            "on" | "last" | "yesterday" | "earlier" if let Some(next) = self.past_day(at, until) => {
                self.refuse(told::day_in_entry(self, at, next));
                Some(next)
            }
            "for" => {
                let end = (at + 1..until)
                    .find(|n| self.line.joins(*n) || self.line.leads_clause(*n))
                    .unwrap_or(until);
                let words = Filler::Words(self.line.slice(at + 1, end).into());
                let number = self.number(at + 1, until).is_some();
                (end > at + 1 && !number)
                    .then(|| self.push("purpose", Take::one(words, self.line.loc(at + 1, end), end)))
            }
            _ => None,
        }
    }

    /// `on 3 March`, `yesterday`, `last week`: another day than the heading's.
    fn past_day(&self, at: usize, until: usize) -> Option<usize> {
        let word = |n: usize| if n < until { self.line.word(n) } else { "" };
        match word(at) {
            "yesterday" => Some(at + 1),
            "last" => matches!(word(at + 1), "week" | "night" | "month" | "weekend").then_some(at + 2),
            "earlier" => self
                .line
                .are(at, "earlier this")
                .filter(|n| matches!(word(*n), "week" | "month"))
                .map(|n| n + 1),
            _ => {
                let from = self.line.past_determiners(at + 1, until);
                if let Some((_, next)) = self.days(from, until) {
                    return Some(next);
                }
                let day = |n: usize| matches!(self.line.kind(n), Some(PieceKind::Number(_))) && n < until;
                let month = |n: usize| month_number(word(n)).is_some();
                let ordinal = |n: usize| matches!(word(n), "st" | "nd" | "rd" | "th" | "of");
                let past = |mut n: usize| {
                    while ordinal(n) {
                        n += 1;
                    }
                    n
                };
                if day(from) && month(past(from + 1)) {
                    return Some(past(from + 1) + 1);
                }
                (month(from) && day(from + 1)).then(|| past(from + 2))
            }
        }
    }

    /// `but not in north-2`, `none on pepper`: where signs are looked for, those seen are denied of what follows.
    pub(super) fn denial(&mut self, at: usize, until: usize) -> Option<usize> {
        let not = past_not(self.line, at).filter(|_| !self.line.is(at, "except"));
        let from = not.or_else(|| past_none(self.line, at))?;
        let signs = |slot: &&Slot| slot.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"sign"));
        let no = |slot: &&Slot| slot.leads.iter().any(|l| matches!(l, Lead::Word(w) if **w == *"no"));
        let denied = self.frame.slots.iter().find(|s| signs(s) && no(s))?.name.clone();
        let seen = self.frame.slots.iter().find(|s| signs(s) && !no(s))?.name.clone();
        let lent: Vec<Fill> = self.draft()?.fills.iter().filter(|f| *f.slot == *seen).cloned().collect();
        let place = self.thing("PLACE", from, until);
        let place = place.and_then(|take| Some((self.place_list()?, take)));
        let follows = place.is_some()
            || matches!(self.line.word(from), "in" | "on" | "of")
            || self.lex.word_at(self.line, from, until, &["crop"]).is_some();
        if lent.is_empty() || !follows {
            return None;
        }
        let fills = lent.into_iter().map(|f| Fill { slot: denied.clone(), ..f }).collect();
        self.drafts.push(Draft { fills, denies: true, ..Draft::default() });
        Some(match place {
            Some((slot, take)) => self.fill(slot, take, until),
            None => from,
        })
    }

    /// The slot that lists places.
    pub(super) fn place_list(&self) -> Option<&'a Slot> {
        self.frame.slots.iter().find(|s| {
            s.several == Several::List
                && s.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *"PLACE"))
        })
    }

    /// `; east end, slight`: a side of the place named before.
    pub(super) fn bare_end(&mut self, at: usize, until: usize) -> Option<usize> {
        let (portion, _) = self.portion(at, until)?;
        let slot = self.place_list()?;
        if portion.of || portion.side.is_none() {
            return None;
        }
        let take = self.thing("PLACE", at, until)?;
        Some(self.push(slot.name.clone(), take))
    }

    /// `6 in apart`, `3 rows of`: said of the planting, kept but never counted as plants or depth.
    pub(super) fn aside(&mut self, at: usize, until: usize) -> Option<usize> {
        // `into 9 cm pots`: how big the pots are.
        let from = if matches!(self.line.word(at), "in" | "into") { at + 1 } else { at };
        if let Some((size, next)) =
            self.measured(from, until).filter(|(q, _)| q.dimension == Dimension::Length)
            && let Some((_, end)) = self.lex.container_at(self.line, next, until)
        {
            let size = Filler::Value(Value::Quantity(size));
            return Some(self.push("pot_size", Take::one(size, self.line.loc(from, end), end)));
        }
        let (filler, next, slot) = match self.measured(at, until) {
            Some((q, next)) if matches!(self.line.word(next), "apart" | "between") && next < until => {
                (Filler::Value(Value::Quantity(q)), next + 1, "spacing")
            }
            Some(_) => return None,
            None => {
                let (n, next) = self.number(at, until)?;
                let rows = matches!(self.line.word(next), "rows" | "row" | "drills" | "drill" | "lines");
                if !rows || next >= until {
                    return None;
                }
                (Filler::Value(Value::Number(n)), next + 1, "rows")
            }
        };
        Some(self.push(slot, Take::one(filler, self.line.loc(at, next), next)))
    }
}
