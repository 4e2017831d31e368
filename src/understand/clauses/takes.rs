//! What a slot can take, tried at a place of a line.
//!
//! Comes in: what the frame table says a slot takes. Goes out: fillers and the piece after them, or
//! nothing. Only what is known fits here; unknown names are taken by the caller when all else fails.

use super::{
    numbers::Amount,
    reader::{Reader, Take},
};
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Thing, Value},
    },
    model::{
        entry::Filler,
        frame::{FrameKind, Takes},
        journal::PieceKind,
    },
    understand::lexicon::{declared::declared, kinds::kind_word},
};

impl Reader<'_> {
    /// Tries what a slot takes at a place.
    pub fn take(&self, takes: &Takes, at: usize, until: usize) -> Option<Take> {
        if at >= until && *takes != Takes::Flag {
            return None;
        }
        let one = |found: Option<(Filler, usize)>| {
            found.map(|(filler, next)| Take::one(filler, self.line.loc(at, next), next))
        };
        let value = |found: Option<(Value, usize)>| one(found.map(|(v, next)| (Filler::Value(v), next)));
        match takes {
            Takes::Thing(group) => {
                let take = self.thing(group, at, until).or_else(|| self.stuff(group, at, until))?;
                let open = self.line.marks(at).determiner && self.line.is(at, "some")
                    || self.past_open(at, until).is_some();
                Some(if open { Take { share: Some(Range::new(0.0, 1.0)), ..take } } else { take })
            }
            Takes::Control => self.control(at, until),
            Takes::Portion(group) => {
                let (portion, _) = self.portion(at, until)?;
                portion.of.then(|| self.thing(group, at, until)).flatten()
            }
            Takes::New(kind) => self.new_name(kind.as_deref(), at, until),
            Takes::Word(kind) => self.word(kind, at, until),
            Takes::Measure(dimension) => value(
                self.measured(at, until)
                    .filter(|(q, _)| q.dimension == *dimension)
                    .map(|(q, next)| (Value::Quantity(q), next)),
            ),
            Takes::Amount => one(match self.amount(at, until)? {
                (Amount::Measured(q), next) if matches!(q.dimension, Dimension::Volume | Dimension::Mass) => {
                    Some((Filler::Value(Value::Quantity(q)), next))
                }
                (Amount::Containers(count, container, each), next) => {
                    Some((Filler::Containers { count, container, each }, next))
                }
                // `3 barrows on north-1, 2 on north-2`
                (Amount::Bare(count), next) => match self.counted_by() {
                    Some(Filler::Containers { container, each, .. }) => {
                        Some((Filler::Containers { count, container, each }, next))
                    }
                    _ => None,
                },
                _ => None,
            }),
            Takes::Count => one(match self.amount(at, until)? {
                (Amount::Bare(n), next) => Some((Filler::Value(Value::Number(n)), next)),
                (Amount::Containers(count, container, each), next) => {
                    Some((Filler::Containers { count, container, each }, next))
                }
                (Amount::Measured(_), _) => None,
            }),
            Takes::Pots => one(self.pots(at, until)),
            Takes::CountOf => one(self.count_of(at, until)),
            Takes::WholeCount => one(self.whole_count(at, until)),
            Takes::Grades => one(self.grades(at, until)),
            Takes::Heights => one(self.heights(at, until)),
            Takes::Ratio => one(match self.line.kind(at)? {
                PieceKind::Pair(a, b) => Some((Filler::Ratio(*a, *b), at + 1)),
                _ => None,
            }),
            Takes::Size => one(self.size(at, until)),
            Takes::Level => one(self.level(at, until)),
            Takes::Reading => self.readings(at, until),
            Takes::NamedReading => self.named_readings(at, until),
            Takes::Rate => one(self.rate(at, until)),
            Takes::Wind => one(self.wind(at, until)),
            Takes::Compass => {
                value(super::results::compass(self.line.word(at)).map(|point| (Value::word(point), at + 1)))
            }
            Takes::Clock => value(self.clock(at, until).map(|(m, next)| (Value::Clock(m), next))),
            Takes::Date => value(self.days(at, until).map(|(d, next)| (Value::Days(d), next))),
            Takes::Money => value(
                self.measured(at, until)
                    .filter(|(q, _)| q.dimension == Dimension::Money)
                    .map(|(q, next)| (Value::Quantity(q), next)),
            ),
            Takes::Flush => one(self.flush(at, until)),
            Takes::Basis => self.word("weight basis", at, until),
            Takes::Quoted => one(match self.line.kind(at)? {
                PieceKind::Quoted(_) => {
                    Some((Filler::Value(Value::word(self.line.slice(at, at + 1))), at + 1))
                }
                _ => None,
            }),
            Takes::Words => None,
            Takes::Flag => Some(Take::one(Filler::Flag, self.line.loc(at.saturating_sub(1), at), at)),
            Takes::Code => (self.line.kind(at) == Some(&PieceKind::Word) && !self.line.leads_clause(at))
                .then(|| {
                    let code = Value::word(self.line.slice(at, at + 1).to_lowercase());
                    Take::one(Filler::Value(code), self.line.loc(at, at + 1), at + 1)
                }),
            Takes::Verb | Takes::Replacement => None,
        }
    }

    /// A word of a table; `something` stands for a substance nobody knows.
    fn word(&self, kind: &str, at: usize, until: usize) -> Option<Take> {
        let start = at;
        let mut at = self.line.past_determiners(at, until);
        if matches!(self.line.word(at), "all" | "every" | "most" | "both" | "more") && at + 1 < until {
            at = self.line.past_determiners(at + 1, until);
        }
        if kind == "container"
            && let Some((Amount::Containers(count, container, each), next)) = self.amount(at, until)
        {
            let loc = self.line.loc(at, next);
            return Some(Take::one(Filler::Containers { count, container, each }, loc, next));
        }
        if matches!(kind, "substance" | "material")
            && matches!(self.line.word(at), "something" | "stuff" | "anything")
        {
            let filler = Filler::Value(Value::word("something"));
            return Some(Take::one(filler, self.line.loc(at, at + 1), at + 1));
        }
        let (word, next) = self.lex.word_at(self.line, at, until, &[kind])?;
        Some(Take::one(Filler::Value(Value::Word(word)), self.line.loc(start, next), next))
    }

    /// Material by its name, where a lot is wanted.
    fn stuff(&self, group: &str, at: usize, until: usize) -> Option<Take> {
        if group == "WHO" && matches!(self.line.word(at), "someone" | "somebody") {
            let filler = Filler::Value(Value::word("someone"));
            return Some(Take::one(filler, self.line.loc(at, at + 1), at + 1));
        }
        if group == "tray"
            && self.line.marks(at).kind.is_none()
            && let Some((container, next)) = self.lex.container_at(self.line, at, until)
        {
            return Some(Take::one(Filler::Value(Value::Word(container)), self.line.loc(at, next), next));
        }
        if group == "tray"
            && let Some(("tray", true)) = self.line.marks(at).kind
        {
            return Some(Take::one(Filler::Value(Value::word("tray")), self.line.loc(at, at + 1), at + 1));
        }
        // `the soil of north-1` is the bed, where one is taken.
        if group != "LOT" || self.past_ground(at, until, true).is_some() {
            return None;
        }
        if let Some(take) = self.word("material", self.past_open(at, until).unwrap_or(at), until) {
            return Some(take);
        }
        // `half of the leafmould`
        let (portion, next) = self.portion(at, until).filter(|(portion, _)| portion.of)?;
        let take = self.word("material", next, until)?;
        Some(Take { share: portion.share, ..take })
    }

    /// A name that begins here; the kind word may be left out.
    fn new_name(&self, kind: Option<&str>, at: usize, until: usize) -> Option<Take> {
        let start = at;
        let Some(kind) = kind else { return self.declared(at, until) };
        let at = match self.line.marks(at).kind {
            Some((k, _)) if k == kind && self.line.name_end(at + 1, until, true).is_some() => at + 1,
            Some((k, _)) if k != kind => return None,
            _ => self.line.past_determiners(at, until),
        };
        if self.line.is(at, "control") {
            return None;
        }
        let (thing, next) = match self.lex.name_at(self.line, at, until, |k| k == kind) {
            Some((known, next)) => (known.thing.clone(), next),
            None => {
                let next = self.line.name_end(at, until, true)?;
                (Thing { kind: kind.into(), name: self.line.slice(at, next).into() }, next)
            }
        };
        Some(Take::one(Filler::Value(Value::Thing(thing)), self.line.loc(start, next), next))
    }

    /// The name a declaration begins with; what follows it is its size or where it lies.
    fn declared(&self, at: usize, until: usize) -> Option<Take> {
        if at != 0 || self.frame.kind != FrameKind::Place {
            return None;
        }
        let found = declared(self.line, &self.item.written).filter(|d| d.next <= until)?;
        let written = kind_word(&self.item.written).map_or(&*self.item.written, |(k, _)| k);
        let fillers = found.names.into_iter().map(|(name, from, to)| {
            let known = self.lex.names.whole(&name, |k| k == written);
            let thing =
                known.map_or_else(|| Thing { kind: written.into(), name: name.into() }, |k| k.thing.clone());
            (Filler::Value(Value::Thing(thing)), self.line.loc(from, to))
        });
        Some(Take {
            fillers: fillers.collect(),
            next: found.next,
            sure: true,
            missing: Vec::new(),
            share: None,
        })
    }
}
