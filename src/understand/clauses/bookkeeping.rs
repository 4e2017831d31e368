//! Reads entries about other entries and findings: `note`, `done`, `skipped`, `allow`, `correct`.
//!
//! Comes in: a line whose frame keeps books. Goes out: its group, words and reason. Which entry or
//! action is meant is settled by the diary.

use std::sync::Arc;

use super::{
    numbers::Amount,
    possible::below_nothing,
    reader::{Reader, Take},
    say,
};
use crate::{
    base::span::{Loc, Span},
    measure::{date::Days, value::Value},
    model::{
        entry::{Entry, Filled, Filler, Group, Replacement},
        frame::{Frame, Lead, Takes},
        journal::{Item, PieceKind},
    },
    understand::lexicon::Line,
};

/// Whether the frame takes the rest of its line as words.
pub fn takes_rest(frame: &Frame) -> bool {
    frame.slots.iter().any(|s| s.leads.contains(&Lead::Rest))
}

/// Whether the frame says what an earlier entry should have been.
pub fn corrects(frame: &Frame) -> bool {
    frame.slots.iter().any(|s| s.takes.contains(&Takes::Replacement))
}

impl Reader<'_> {
    /// Free words from a piece on to the end of the entry, and where they stand.
    pub(super) fn words_from(&self, from: usize) -> Option<(Arc<str>, Loc)> {
        let first = self.line.pieces.get(from)?;
        let span = Span { start: first.span.start, end: self.item.loc.span.end };
        let text = self.line.text.get(span.range())?.trim_end();
        let loc = Loc::new(self.line.file, Span::new(span.start as usize, span.start as usize + text.len()));
        let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
        (!words.is_empty()).then(|| (words.into(), loc))
    }

    fn colon(&self) -> Option<usize> {
        self.line.pieces.iter().position(|p| p.kind == PieceKind::Colon)
    }

    /// `note: …`, `done …`, `skipped …: reason`. The group, and the words after the colon.
    pub(super) fn rest(&mut self) -> Option<(Group, Option<Arc<str>>)> {
        let colon = self.colon();
        let after = colon.and_then(|c| self.words_from(c + 1));
        let end = colon.unwrap_or(self.line.len());
        let mut group = Group::default();
        let mut push = |slot: &Arc<str>, words: Arc<str>, loc: Loc| {
            group.slots.push(Filled { slot: slot.clone(), filler: Filler::Words(words), loc });
        };
        let mut needs_words = false;
        for slot in &self.frame.slots {
            let needed = slot.need == crate::model::frame::Need::Must;
            if slot.leads.contains(&Lead::Rest) {
                if end > 0 {
                    push(&slot.name, self.line.slice(0, end).into(), self.line.loc(0, end));
                } else if let (Some((words, loc)), false) = (&after, needed) {
                    push(&slot.name, words.clone(), *loc);
                } else {
                    needs_words = needed;
                }
            } else if slot.leads.contains(&Lead::AfterColon) {
                match &after {
                    Some((words, loc)) => push(&slot.name, words.clone(), *loc),
                    None if needed => {
                        self.said.push(say::no_reason(self));
                        return None;
                    }
                    None => {}
                }
            }
        }
        if needs_words {
            self.said.push(say::incomplete(self, "which action"));
            return None;
        }
        Some((group, after.map(|(words, _)| words)))
    }

    /// `correct DATE VERB [NAME…]: replacement`
    pub(super) fn correction(
        &mut self,
        read: &mut dyn FnMut(&Item, &Frame, &Line<'_>, usize) -> Option<Entry>,
    ) -> Option<Group> {
        let colon = self.colon();
        let end = colon.unwrap_or(self.line.len());
        let whole = self.item.loc;
        if let Some(PieceKind::BadDay(fault)) = self.line.kind(0) {
            self.said.push(say::bad_day(self, 0, fault));
            return None;
        }
        let Some((days, at)) = self.days(0, end) else {
            self.said.push(say::unclear_correction(self, "which day and verb it corrects", whole));
            return None;
        };
        self.push("date", Take::one(Filler::Value(Value::Days(days)), self.line.loc(0, at), at));
        let Some((frame, after)) = self.verb_at(at, end) else {
            self.said.push(say::unclear_correction(
                self,
                "which verb the entry began with",
                self.line.loc(at, at + 1),
            ));
            return None;
        };
        let verb = Filler::Value(Value::Word(frame.verb.clone()));
        self.push("verb", Take::one(verb, self.line.loc(at, after), after));
        let mut at = after;
        while at < end {
            at = match self.named(at, end) {
                Some(take) => self.push("name", take),
                None => at + 1,
            };
        }
        let Some(from) = colon.map(|c| c + 1).filter(|n| *n < self.line.len()) else {
            self.said.push(say::unclear_correction(self, "what was so instead", whole));
            return None;
        };
        let Some(replacement) = self.replacement(from, days, read) else {
            if !self.fatal {
                self.said.push(say::unclear_correction(
                    self,
                    "what was so instead",
                    self.line.loc(from, self.line.len()),
                ));
            }
            return None;
        };
        let loc = self.line.loc(from, self.line.len());
        if let Replacement::Amount(filler) = &replacement
            && below_nothing(filler)
        {
            self.said.push(say::below_nothing(self, loc));
            return None;
        }
        self.push("to", Take::one(Filler::Replacement(Box::new(replacement)), loc, self.line.len()));
        let fills = self.drafts.iter().flat_map(|d| d.fills.clone());
        Some(Group { slots: fills.map(|f| Filled { slot: f.slot, filler: f.filler, loc: f.loc }).collect() })
    }

    /// A thing or word by which an earlier entry is told from others.
    fn named(&self, at: usize, until: usize) -> Option<Take> {
        if self.line.joins(at) || self.line.leads_clause(at) {
            return None;
        }
        self.thing("thing", at, until)
            .or_else(|| {
                let kinds = ["crop", "sign", "material", "substance", "strain"];
                let (word, next) = self.lex.word_at(self.line, at, until, &kinds)?;
                Some(Take::one(Filler::Value(Value::Word(word)), self.line.loc(at, next), next))
            })
            // `20 pepper`: a number names nothing.
            .or_else(|| match self.line.kind(at) {
                Some(PieceKind::Number(_)) => None,
                _ => self.captured("WHO", at, until, true),
            })
    }

    /// The verb that begins at a piece, and the piece after it.
    fn verb_at(&self, at: usize, until: usize) -> Option<(&Frame, usize)> {
        let most = (until - at.min(until)).min(self.frames.longest_verb());
        (1..=most).rev().find_map(|n| {
            let words: Vec<&str> = (at..at + n).map(|i| self.line.word(i)).collect();
            let (frame, _) = self.frames.begins(&words.join(" "), true)?;
            Some((frame, at + n))
        })
    }

    fn replacement(
        &mut self,
        from: usize,
        days: Days,
        read: &mut dyn FnMut(&Item, &Frame, &Line<'_>, usize) -> Option<Entry>,
    ) -> Option<Replacement> {
        let end = self.line.len();
        let never = ["never happened", "it never happened", "did not happen", "never was", "nothing"];
        if never.iter().any(|w| self.line.are(from, w) == Some(end)) {
            return Some(Replacement::Never);
        }
        let is = ["is", "was", "it was", "it is"].iter().filter_map(|w| self.line.are(from, w)).max();
        if let Some(at) = is
            && let Some((day, _)) = self.days(at, end)
        {
            return Some(Replacement::Date(day.first));
        }
        if let Some((frame, after)) = self.verb_at(from, end) {
            let entry = read(self.item, frame, self.line, after);
            self.fatal |= entry.is_none();
            return entry.map(|mut e| {
                e.days = Some(days);
                Replacement::Entry(Box::new(e))
            });
        }
        let at = is.unwrap_or(from);
        if let Some((amount, _)) = self.amount(at, end).filter(|(_, next)| *next == end) {
            return Some(Replacement::Amount(match amount {
                Amount::Measured(q) => Filler::Value(Value::Quantity(q)),
                Amount::Bare(n) => Filler::Value(Value::Number(n)),
                Amount::Containers(count, container, each) => Filler::Containers { count, container, each },
            }));
        }
        self.days(at, end).map(|(day, _)| Replacement::Date(day.first))
    }
}
