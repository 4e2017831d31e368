//! Takes the words of an entry that nothing knows: new names, unknown crops and signs, leftovers.
//!
//! Comes in: a place where no clause fits. Goes out: the words as the written name of what the slot
//! wants, with a hint and a near miss; or a stretch left unread. It loses no entry by itself.

use super::{
    finish::missing,
    reader::{Reader, Take},
    say,
};
use crate::{
    base::name::{fold, slip},
    measure::{
        unit::Dimension,
        value::{Thing, Value},
    },
    model::{
        entry::Filler,
        frame::{FrameKind, Lead, Need, Several, Slot, Takes},
        journal::PieceKind,
    },
    understand::lexicon::{
        kinds::{suits, usual_kind},
        number_forms,
    },
};

impl<'a> Reader<'a> {
    /// A clause whose word is known and whose thing is not.
    pub(super) fn led_unknown(&mut self, at: usize, until: usize) -> Option<usize> {
        let leading = self.leading(at);
        let (_, after) = *leading.first()?;
        let slots: Vec<&'a Slot> = leading.iter().filter(|(_, a)| *a == after).map(|(s, _)| *s).collect();
        let from = self.line.past_determiners(after, until);
        if let Some(slot) =
            slots.iter().find(|s| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"substance")))
            && (from >= until
                || self.line.leads_clause(from)
                || self.line.kind(from) != Some(&PieceKind::Word))
        {
            // `sprayed north-1 with`: a line that breaks off, for what was sprayed could have stood first.
            if slot.leads.contains(&Lead::First) {
                self.unread.push((at, after));
                return Some(after);
            }
            // `saw a tractor spraying on Hallow Top`
            let filler = Filler::Value(Value::word("something"));
            return Some(self.push(slot.name.clone(), Take::one(filler, self.line.loc(at, after), after)));
        }
        // `sprayed b-1 with zorbanil`: what was sprayed is still due, and no `the` says that it is a tool.
        if from == after
            && let Some(slot) = self.due(&slots)
            && let Some(end) = self.line.name_end(from, until, true)
            && !slots.iter().any(|s| (from..end).any(|n| self.line.is(n, &s.name)))
            && let Some(next) = self.open(&[slot], from, until)
        {
            return Some(next);
        }
        if let Some(slot) = slots.iter().find(|s| s.takes.contains(&Takes::Words))
            && let Some(end) = self.line.name_end(from, until, false)
        {
            let words = Filler::Words(self.line.slice(from, end).into());
            return Some(self.push(
                slot.name.clone(),
                Take { sure: false, ..Take::one(words, self.line.loc(from, end), end) },
            ));
        }
        // `on 5 tomatoes`: five of how many is not said, the crop is.
        if let Some((_, next)) = self.number(from, until)
            && let Some((slot, take)) = slots.iter().find_map(|s| {
                let crop = s.takes.iter().find(|t| matches!(t, Takes::Word(k) if **k == *"crop"))?;
                Some((*s, self.take(crop, next, until)?))
            })
        {
            self.unread.push((from, next));
            return Some(self.fill(slot, take, until));
        }
        if self.frame.kind == FrameKind::Bookkeeping && slots.iter().any(|s| s.takes.contains(&Takes::Date)) {
            let end = self.line.name_end(from, until, true).unwrap_or(from);
            let diagnostic = say::no_day(self, from, end);
            self.refuse(diagnostic);
            return Some(end.max(from + 1));
        }
        if let Some((quantity, next)) = self.measured(from, until)
            && !slots.iter().any(|s| s.takes.contains(&Takes::Words))
        {
            let diagnostic = say::wrong_measure(self, from, next, until, quantity);
            self.misfits.push(diagnostic);
            return Some(next);
        }
        let next = self.open(&slots, from, until)?;
        if let Some(draft) = self.drafts.last_mut() {
            draft.led = true;
        }
        Some(next)
    }

    /// The slot for a word of a table that the entry still needs, beside one that takes any words.
    fn due(&self, slots: &[&'a Slot]) -> Option<&'a Slot> {
        let lacking = missing(self.frame, self.draft()?);
        let word = |s: &&&'a Slot| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if is_open(k)));
        let tools = slots.iter().any(|s| s.takes.contains(&Takes::Words));
        slots.iter().filter(word).find(|s| tools && lacking.iter().any(|l| l.name == s.name)).copied()
    }

    /// Fills the open slot that suits unknown words best, and goes on with its list.
    fn open(&mut self, slots: &[&'a Slot], from: usize, until: usize) -> Option<usize> {
        // How often says of nothing what it is called.
        if matches!(self.line.word(from), "once" | "twice" | "thrice") {
            return None;
        }
        let graded = self.frame.slots.iter().any(|s| s.takes.iter().any(is_grade));
        let other: &[&str] = if graded { &["crop", "severity"] } else { &["crop"] };
        // A number begins no bare name, and a name known as something else is no new one.
        if matches!(self.line.kind(from), Some(PieceKind::Number(_)))
            || self.lex.bare_name_at(self.line, from, until, |_| true).is_some()
            || self.lex.word_at(self.line, from, until, other).is_some()
        {
            return None;
        }
        let end = self.line.name_end(from, until, true)?;
        if matches!(self.line.word(from), "deep" | "wide" | "long" | "high" | "apart" | "each")
            && end == from + 1
        {
            return None;
        }
        let (slot, takes) = self.best_open(slots, from, end)?;
        let whole = matches!(takes, Takes::Thing(k) if **k == *"WHO") && slot.several != Several::List;
        let take =
            self.kept(takes, from, if whole { self.line.name_end(from, until, false)? } else { end })?;
        let mut next = self.push(slot.name.clone(), take);
        if slot.several != Several::List {
            return Some(next);
        }
        loop {
            let mut at = next;
            while at < until && self.line.joins(at) {
                at += 1;
            }
            if at == next || at >= until || self.number(at, until).is_some() {
                break;
            }
            let known = slot.takes.iter().find_map(|t| self.take(t, at, until));
            let take = match known {
                Some(take) => take,
                // A comma may begin another clause; after `and` the list goes on.
                None if matches!(self.line.kind(at - 1), Some(PieceKind::Comma)) => break,
                None => {
                    let Some(end) = self.line.name_end(at, until, true) else { break };
                    let Some(take) = self.kept(takes, at, end) else { break };
                    take
                }
            };
            next = self.push(slot.name.clone(), take);
        }
        Some(next)
    }

    /// Which slot unknown words fill: the one they are nearly a word or name of, else the first needed.
    fn best_open(&self, slots: &[&'a Slot], from: usize, end: usize) -> Option<(&'a Slot, &'a Takes)> {
        let written = self.line.slice(from, end);
        let open: Vec<(&'a Slot, &'a Takes)> = slots
            .iter()
            .flat_map(|s| s.takes.iter().map(move |t| (*s, t)))
            .filter(|(_, t)| matches!(t, Takes::Thing(_)) || matches!(t, Takes::Word(k) if is_open(k)))
            .collect();
        // `gave the school 3 barrows of lot x`: whom comes before how much.
        let who = open.iter().find(|(s, t)| {
            matches!(t, Takes::Thing(k) if **k == *"WHO")
                && !self.has(&s.name)
                && self.number(end, self.line.len()).is_some()
        });
        if let Some(who) = who {
            return Some(*who);
        }
        let near = open.iter().find(|(_, t)| self.near.of(self.lex, t, &written).is_some());
        let digits = written.chars().any(|c| c.is_ascii_digit());
        let counted = self
            .draft()
            .is_some_and(|d| d.fills.iter().any(|f| matches!(f.filler, Filler::Value(Value::Number(_)))));
        let likely = |t: &Takes| match t {
            Takes::Thing(k) => **k != *"HOLD" && (digits || !counted),
            Takes::Word(_) => !digits,
            _ => false,
        };
        near.or_else(|| open.iter().find(|(s, t)| likely(t) && !self.has(&s.name)))
            .or_else(|| open.iter().find(|(s, _)| !self.has(&s.name)))
            .or_else(|| open.first())
            .copied()
    }

    /// Unknown words kept under the written name.
    fn kept(&mut self, takes: &Takes, from: usize, end: usize) -> Option<Take> {
        match takes {
            Takes::Thing(group) => self.captured(group, from, end, false),
            Takes::Word(kind) => {
                let loc = self.line.loc(from, end);
                let written = self.line.slice(from, end);
                let near = self.near.word(self.lex, kind, &written).filter(|(s, _)| self.offers(&written, s));
                let like = match &near {
                    None if **kind == *"sign" => self.signs_like(from, end),
                    _ => Vec::new(),
                };
                let hint = say::unknown_word(kind, &written, near, &like, loc);
                self.said.push(hint);
                let sure = false;
                Some(Take { sure, ..Take::one(Filler::Value(Value::word(written.to_lowercase())), loc, end) })
            }
            _ => None,
        }
    }

    /// The signs that unknown words may be; where they are denied, each with a `no` before it.
    fn signs_like(&self, from: usize, end: usize) -> Vec<String> {
        let words = || (from..end).filter(|n| !self.line.denies(*n));
        let begun = || words().map(|n| self.lex.words.beginning("sign", self.line.word(n)));
        if !(from.saturating_sub(1)..end).any(|n| self.line.denies(n)) {
            return begun().find(|like| !like.is_empty()).unwrap_or_default();
        }
        let known = words().find_map(|n| self.lex.word_at(self.line, n, end, &["sign"]));
        let like = match known {
            Some((sign, _)) => vec![sign.to_string()],
            None => begun().find(|like| !like.is_empty()).unwrap_or_default(),
        };
        like.into_iter().map(|sign| format!("no {sign}")).collect()
    }

    /// Whether a spelling may be offered for an unknown word. What may be a crop or a mushroom is eaten as what it is
    /// taken for, so there one letter is all that may be wrong.
    fn offers(&self, written: &str, spelling: &str) -> bool {
        let takes =
            |s: &Slot, kind: &str| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *kind));
        let either = self.frame.slots.iter().any(|s| takes(s, "crop") && takes(s, "strain"));
        let one_letter = || number_forms(&fold(spelling)).iter().any(|form| slip(written, form) == Some(1));
        !either || written.chars().count() > 4 && one_letter()
    }

    /// A name nobody has used before, of the kind a slot usually takes.
    pub(super) fn captured(&self, group: &str, from: usize, until: usize, splits: bool) -> Option<Take> {
        let end = self.line.name_end(from, until, splits)?;
        if self.line.marks(from).kind.is_some_and(|(k, _)| !suits(group, k)) && end > from + 1 {
            return None;
        }
        let first = self.line.word(from);
        if group == "PLACE" && matches!(first, "all" | "every" | "everything" | "everywhere" | "anywhere") {
            return None;
        }
        let last = self.line.word(end - 1);
        // `… and put it on heap main`: another deed of the same, and no name.
        if matches!(last, "control" | "rest" | "remainder" | "it" | "them") && group != "WHO" {
            return None;
        }
        let mut kind = usual_kind(group).to_owned();
        let mut name = self.line.slice(from, end);
        // `goat heap`: the kind word may stand last.
        if let Some((k, _)) = self.line.marks(end - 1).kind.filter(|(k, _)| suits(group, k) && end - 1 > from)
        {
            kind = k.to_owned();
            name = self.line.slice(from, end - 1);
        } else if group == "PLACE" && self.housed() {
            kind = "room".to_owned();
        }
        let thing = Thing { kind: kind.into(), name: name.into() };
        let sure = group == "WHO" && self.line.slice(from, end).starts_with(char::is_uppercase);
        Some(Take { sure, ..Take::one(Filler::Value(Value::Thing(thing)), self.line.loc(from, end), end) })
    }

    /// Whether what moves is a batch or its containers, which go to rooms.
    fn housed(&self) -> bool {
        self.draft().is_some_and(|d| {
            d.fills
                .iter()
                .any(|f| matches!(&f.filler, Filler::Value(Value::Thing(t)) if suits("HOLD", &t.kind)))
        }) && *self.frame.verb == *"moved"
    }

    /// Words that fit nowhere: the first open slot while nothing led a clause, else left unread.
    pub(super) fn unknown(&mut self, at: usize, until: usize) -> usize {
        match self.line.kind(at) {
            Some(PieceKind::Unclosed) => {
                self.refuse(say::unclosed_quote(self, at));
                return at + 1;
            }
            Some(PieceKind::BadDay(fault)) => {
                let diagnostic = say::bad_day(self, at, fault);
                self.refuse(diagnostic);
                return at + 1;
            }
            _ => {}
        }
        if matches!(self.line.word(at), "not" | "none" | "never" | "nor") {
            // Read without it, the entry would say the opposite.
            let diagnostic = say::not_read(self, at);
            self.refuse(diagnostic);
            return at + 1;
        }
        if self.line.kind(at) == Some(&PieceKind::BadNumber) {
            let diagnostic = say::bad_number(self, at);
            self.refuse(diagnostic);
            return at + 1;
        }
        // `3 glops of lot x`
        if let Some((_, unit)) = self.number(at, until)
            && self.line.kind(unit) == Some(&PieceKind::Word)
            && self.line.is(unit + 1, "of")
            && unit + 1 < until
            && self.measured(at, until).is_none()
            && !self.line.leads_clause(unit)
            && self.frame.slots.iter().any(|s| s.takes.contains(&Takes::Amount))
        {
            let diagnostic = say::unknown_unit(self, at, unit);
            self.misfits.push(diagnostic);
            return unit + 2;
        }
        if let Some(next) = self.unitless_level(at, until) {
            let diagnostic = say::no_unit(self, at, next);
            self.refuse(diagnostic);
            return next;
        }
        if let Some((_, next)) = self.measured(at, until)
            && self.takes_words()
        {
            return self.leftover(at, next, until);
        }
        if let Some((quantity, next)) = self.measured(at, until) {
            // A price says nothing wrong; it is only not kept.
            if quantity.dimension == Dimension::Money {
                return self.leftover(at, next, until);
            }
            let diagnostic = say::wrong_measure(self, at, next, until, quantity);
            self.misfits.push(diagnostic);
            return if self.line.is(next, "deep") { next + 1 } else { next };
        }
        let first: Vec<&'a Slot> = self
            .frame
            .slots
            .iter()
            .filter(|s| s.leads.contains(&Lead::First))
            .filter(|s| {
                !self.has(&s.name) || s.several == Several::List && !self.draft().is_some_and(|d| d.led)
            })
            .collect();
        let from = self.line.past_determiners(at, until);
        let wanted = first.iter().any(|s| s.need != Need::May) || !self.draft().is_some_and(|d| d.led);
        let number = matches!(self.line.kind(from), Some(PieceKind::Number(_)));
        if wanted
            && !number
            && let Some(end) = self.line.name_end(from, until, true)
        {
            if let Some(next) = self.variety(from, end) {
                return next;
            }
            if let Some(next) = self.open(&first, from, until) {
                return next;
            }
        }
        self.leftover(at, at + 1, until)
    }

    /// `under 1`, `12` where a laboratory's level is due, without its unit.
    fn unitless_level(&self, at: usize, until: usize) -> Option<usize> {
        let slot = self.frame.slots.iter().find(|s| s.takes.contains(&Takes::Level))?;
        let from = match self.line.word(at) {
            "under" | "below" | "<" => at + 1,
            "less" => self.line.are(at, "less than")?,
            _ => at,
        };
        let (_, next) = self.number(from, until)?;
        (!self.has(&slot.name) && self.unit(next, until).is_none()).then_some(next)
    }

    /// `24 Black Krim tomato`: unknown words before a known crop are its variety.
    fn variety(&mut self, from: usize, end: usize) -> Option<usize> {
        let slot = self.frame.slots.iter().find(|s| s.takes.contains(&Takes::Quoted))?;
        let crop = self
            .frame
            .slots
            .iter()
            .find(|s| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"crop")))?;
        let (split, take) = (from + 1..end).find_map(|n| {
            let take = self.take(&Takes::Word("crop".into()), n, end)?;
            (take.next == end).then_some((n, take))
        })?;
        let loc = self.line.loc(from, split);
        let written = self.line.slice(from, split);
        let hint = say::quote_the_variety(&written, loc);
        self.said.push(hint);
        self.push(slot.name.clone(), Take::one(Filler::Value(Value::word(written)), loc, split));
        Some(self.push(crop.name.clone(), take))
    }

    fn takes_words(&self) -> bool {
        self.frame.slots.iter().any(|s| s.takes.contains(&Takes::Words) && s.leads.contains(&Lead::Bare))
    }

    /// A stretch up to punctuation: free words where the frame has room for some, else unread.
    fn leftover(&mut self, at: usize, least: usize, until: usize) -> usize {
        let mut end = least;
        while end < until
            && !matches!(
                self.line.kind(end),
                Some(PieceKind::Comma | PieceKind::BadDay(_) | PieceKind::BadNumber | PieceKind::Unclosed)
            )
            && !matches!(self.line.word(end), "and" | "&" | "but" | "not")
            && (self.leading(end).is_empty() || self.line.is(end - 1, "to"))
            && !matches!(self.line.word(end), "by" | "if" | "photo" | "except")
        {
            end += 1;
        }
        let slot =
            self.frame.slots.iter().find(|s| {
                s.takes.contains(&Takes::Words) && s.leads.contains(&Lead::Bare) && !self.has(&s.name)
            });
        match slot {
            Some(slot) => {
                let words = Filler::Words(self.line.slice(at, end).into());
                let name = slot.name.clone();
                self.push(name, Take { sure: false, ..Take::one(words, self.line.loc(at, end), end) });
            }
            None => match self.unread.last_mut() {
                Some((_, last)) if *last == at => *last = end,
                _ => self.unread.push((at, end)),
            },
        }
        end
    }
}

/// Whether grades of hurt are taken.
fn is_grade(takes: &Takes) -> bool {
    matches!(takes, Takes::Grades) || matches!(takes, Takes::Word(k) if **k == *"severity")
}

/// Kinds of words a table can always grow by.
fn is_open(kind: &str) -> bool {
    matches!(kind, "crop" | "sign" | "material" | "substance" | "strain")
}
