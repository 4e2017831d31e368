//! Reads the clauses of one entry into the slots of its frame.
//!
//! Comes in: a line, its frame and the lexicon. Goes out: groups of fills, stretches that no clause
//! takes, and what is to be said about them. It checks no need; `finish` does.

use std::sync::Arc;

use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::{
        date::Days,
        number::Range,
        unit::{Dimension, System},
        value::{Quantity, Thing, Value},
    },
    model::{
        entry::Filler,
        frame::{Frame, Frames, Lead, Need, Several, Slot, Takes},
        journal::{Item, PieceKind},
    },
    understand::lexicon::{Lexicon, Line, kinds::PLACES},
};

use super::{near::Near, say};

/// What was found at a place of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Take {
    /// Fillers, each with its place.
    pub fillers: Vec<(Filler, Loc)>,
    /// The piece after them.
    pub next: usize,
    /// Whether something known was found, not merely words.
    pub sure: bool,
    /// Members of a range that nothing in the journal names.
    pub missing: Vec<String>,
    /// How much of stuff is meant that goes by its word, or how much may be: `half of the straw`, `some straw`.
    pub share: Option<Range>,
}

impl Take {
    /// One filler.
    pub fn one(filler: Filler, loc: Loc, next: usize) -> Self {
        Self { fillers: vec![(filler, loc)], next, sure: true, missing: Vec::new(), share: None }
    }
}

/// One filler in a slot.
#[derive(Debug, Clone, PartialEq)]
pub struct Fill {
    /// The slot.
    pub slot: Arc<str>,
    /// What fills it.
    pub filler: Filler,
    /// Where it stands.
    pub loc: Loc,
    /// Whether it is known.
    pub sure: bool,
}

/// One group while it is read.
#[derive(Debug, Clone, Default)]
pub struct Draft {
    /// The fills in written order.
    pub fills: Vec<Fill>,
    /// Begun by a second amount or thing, not by `;`.
    pub implicit: bool,
    /// A clause with a word before it was read.
    pub led: bool,
    /// Begun by `but not`: signs of the group before are denied in it.
    pub denies: bool,
}

impl Draft {
    /// Whether a slot is filled.
    pub fn has(&self, slot: &str) -> bool {
        self.fills.iter().any(|f| *f.slot == *slot)
    }
}

/// What all entries of a farm are read with.
#[derive(Clone, Copy)]
pub struct Farm<'a> {
    pub lex: &'a Lexicon,
    pub near: &'a Near,
    pub frames: &'a Frames,
    pub system: Option<System>,
}

/// The reading of one entry.
pub struct Reader<'a> {
    pub lex: &'a Lexicon,
    pub near: &'a Near,
    pub frames: &'a Frames,
    pub frame: &'a Frame,
    pub item: &'a Item,
    pub line: &'a Line<'a>,
    pub system: Option<System>,
    pub day: Option<Days>,
    /// The first piece of the group being read.
    pub group_start: usize,
    pub drafts: Vec<Draft>,
    /// Pieces that no clause takes.
    pub unread: Vec<(usize, usize)>,
    /// Hints, and faults that cost the entry.
    pub said: Vec<Diagnostic>,
    /// Whether one of them costs the entry.
    pub fatal: bool,
    /// Measures that fit no clause: they cost the entry only if what else it says is not enough.
    pub misfits: Vec<Diagnostic>,
    /// `if test t2 is clean`
    pub condition: Option<Thing>,
}

impl<'a> Reader<'a> {
    /// A reading about to begin.
    pub fn new(
        farm: Farm<'a>,
        frame: &'a Frame,
        item: &'a Item,
        line: &'a Line<'a>,
        day: Option<Days>,
    ) -> Self {
        let Farm { lex, near, frames, system } = farm;
        Self {
            lex,
            near,
            frames,
            frame,
            item,
            line,
            system,
            day,
            group_start: 0,
            drafts: vec![Draft::default()],
            unread: Vec::new(),
            said: Vec::new(),
            fatal: false,
            misfits: Vec::new(),
            condition: None,
        }
    }

    /// Reads the pieces `from..until`, groups at `;`, into the drafts.
    pub fn read(&mut self, from: usize, until: usize) {
        let mut start = from;
        for at in from..=until {
            if at < until && self.line.kind(at) != Some(&PieceKind::Semicolon) {
                continue;
            }
            self.group_start = start;
            self.segment(start, at);
            start = at + 1;
            if at < until {
                self.drafts.push(Draft::default());
            }
        }
    }

    fn segment(&mut self, from: usize, until: usize) {
        let mut at = from;
        while at < until {
            if self.line.joins(at) || self.is_noise(at) {
                at = self.past_top(at).or_else(|| self.past_all(at)).unwrap_or(at + 1);
            } else {
                at = self.step(at, until).max(at + 1);
            }
        }
    }

    /// `the top 4 in`: past the words before a depth that is counted from above.
    pub(super) fn past_top(&self, at: usize) -> Option<usize> {
        let from = self.line.past_determiners(at, self.line.len());
        let top = matches!(self.line.word(from), "top" | "upper" | "topmost");
        let (depth, _) = self.measured(from + 1, self.line.len()).filter(|_| top)?;
        (depth.dimension == Dimension::Length).then_some(from + 1)
    }

    /// `…, all of it`: past words that say of what was just read that it was the whole.
    fn past_all(&self, at: usize) -> Option<usize> {
        ["all of it", "all of them"].iter().find_map(|words| self.line.are(at, words))
    }

    /// Words that say nothing beside what was just read: `24 tomato plants`, `6 yd3 of compost`.
    fn is_noise(&self, at: usize) -> bool {
        let begun = self.draft().is_some_and(|d| !d.fills.is_empty());
        self.line.is_lone_dash(at)
            || matches!(self.line.kind(at), Some(PieceKind::Colon))
            || matches!(self.line.word(at), "then" | "also" | "again" | "today" | "overnight" | "away" | "through" | "down")
            // `dug north-1 out`, `dug the straw in on north-1`: the second half of the verb.
            || (self.line.is(at, "out") && !self.line.is(at + 1, "of") && !self.frame.apart.is_empty())
            || (self.line.is(at, "in") && matches!(self.line.word(at + 1), "on" | "to" | "at" | "onto"))
            || (self.line.is(at, "up")
                && self.draft().is_some_and(|d| d.fills.last().is_some_and(|f| *f.slot == *"sign")))
            || (self.has("hurt") && matches!(self.line.word(at), "hurt" | "affected" | "damaged"))
            || (self.line.is(at, "but") && !self.leading(at + 1).is_empty())
            || self.past_top(at).is_some()
            || self.past_all(at).is_some()
            || (self.line.is(at, "up") && self.line.is(at + 1, "with"))
            || self.ends_verb(at)
            // `dug in another 4 barrows of lot x`: how much of it there was before says nothing of this.
            || (matches!(self.line.word(at), "another" | "further") && self.number(at + 1, self.line.len()).is_some())
            || (begun && matches!(self.line.word(at), "plants" | "plant" | "seedlings" | "seeds" | "seed"))
    }

    /// `raked the hay off`, `set the straw alight`: the second half of the verb, at the end of the line.
    fn ends_verb(&self, at: usize) -> bool {
        let later = |half: &str| self.line.are(at, half) == Some(self.line.len());
        // Several words lead to a slot of their own: `took lot a to the tip`.
        later("off") || self.frame.apart.iter().any(|(_, half)| !half.contains(' ') && later(half))
    }

    fn step(&mut self, at: usize, until: usize) -> usize {
        self.denial(at, until)
            .or_else(|| self.bare_end(at, until))
            .or_else(|| self.aside(at, until))
            .or_else(|| self.led(at, until))
            .or_else(|| self.common(at, until))
            .or_else(|| self.bare(at, until))
            .or_else(|| self.of(at))
            .or_else(|| self.led_unknown(at, until))
            .unwrap_or_else(|| self.unknown(at, until))
    }

    /// `of` between an amount and its stuff says nothing more.
    fn of(&self, at: usize) -> Option<usize> {
        let begun = self.draft().is_some_and(|d| !d.fills.is_empty());
        (begun && self.line.is(at, "of")).then_some(at + 1)
    }

    pub(super) fn draft(&self) -> Option<&Draft> {
        self.drafts.last()
    }

    pub(super) fn has(&self, slot: &str) -> bool {
        self.draft().is_some_and(|d| d.has(slot))
    }

    /// The slots a word or words here lead to, longest lead first, then unfilled first.
    pub(super) fn leading(&self, at: usize) -> Vec<(&'a Slot, usize)> {
        let mut found: Vec<(&'a Slot, usize)> = Vec::new();
        for slot in &self.frame.slots {
            let lead = slot.leads.iter().filter_map(|l| match l {
                Lead::Word(w) => self.line.are(at, w),
                _ => None,
            });
            found.extend(lead.max().map(|after| (slot, after)));
        }
        found.sort_by_key(|(slot, after)| (std::cmp::Reverse(*after), self.has(&slot.name)));
        found
    }

    fn led(&mut self, at: usize, until: usize) -> Option<usize> {
        let leading = self.leading(at);
        let (_, first) = leading.first()?;
        // `noticed mould on 2 of 8 buckets`: the count says how many, the clause after it where.
        let counts = self.frame.slots.iter().any(|s| s.takes.contains(&Takes::CountOf));
        if counts && self.count_of(*first, until).is_some() {
            return Some(*first);
        }
        let (slot, take) = leading.iter().find_map(|(slot, after)| {
            let sound = slot.takes.contains(&Takes::Flag) && matches!(slot.need, Need::OneOf(_));
            // `leaves curled up`: one word says that all is well only where nothing else was seen.
            if sound && *after == at + 1 && self.said_beside(slot) {
                return None;
            }
            let past = self.line.past_determiners(*after, until);
            let take = |at: usize| slot.takes.iter().find_map(|t| self.take(t, at, until));
            // In `for an hour` the `an` counts.
            take(past).or_else(|| take(*after)).map(|take| (*slot, take))
        })?;
        // `…, nothing wrong in north-2`, after something that was seen: that is another matter.
        if slot.takes.contains(&Takes::Flag) && self.said_beside(slot) {
            self.drafts.push(Draft { implicit: true, ..Draft::default() });
        }
        // `on tomato, slight, and on bean, severe`: said again after a value of its own.
        if slot.several == Several::List && self.has(&slot.name) && self.valued_last() && self.complete() {
            self.drafts.push(Draft { implicit: true, ..Draft::default() });
        }
        let mut next = self.fill(slot, take, until);
        // `with 4 barrows of lot leaf-25`: slots that share the lead follow each other.
        for (other, after) in &leading {
            if after == first && other.name != slot.name && !self.has(&other.name) {
                let from = if self.line.is(next, "of") { next + 1 } else { next };
                if let Some(take) = other.takes.iter().find_map(|t| self.take(t, from, until)) {
                    next = self.fill(other, take, until);
                }
            }
        }
        if let Some(draft) = self.drafts.last_mut() {
            draft.led = true;
        }
        Some(next)
    }

    /// Whether the group says already what stands in place of this slot: a sign beside `nothing wrong`.
    fn said_beside(&self, slot: &Slot) -> bool {
        let Need::OneOf(_) = slot.need else { return false };
        let beside = |s: &&Slot| s.need == slot.need && s.name != slot.name;
        self.frame.slots.iter().filter(beside).any(|s| self.has(&s.name))
    }

    /// What stands here without a word before it: the longest fit, an unfilled slot before a filled one.
    fn bare(&mut self, at: usize, until: usize) -> Option<usize> {
        let mut best: Option<(&'a Slot, Take)> = None;
        for slot in &self.frame.slots {
            let open = slot.leads.iter().any(|l| matches!(l, Lead::First | Lead::Bare));
            let before = slot.leads.iter().find_map(|l| match l {
                Lead::Before(w) => Some(w),
                _ => None,
            });
            for takes in &slot.takes {
                if !open && before.is_none() || *takes == Takes::Flag {
                    continue;
                }
                let Some(mut take) = self.take(takes, at, until) else { continue };
                if self.sound_beside_seen(&take).is_some() && !self.leads_to_place(take.next, until) {
                    continue;
                }
                match before.and_then(|w| self.past_word(take.next, until, w)) {
                    Some(after) => take.next = after,
                    None if open => {}
                    None => continue,
                }
                let better = best.as_ref().is_none_or(|(other, b)| {
                    (take.next, !self.has(&slot.name)) > (b.next, !self.has(&other.name))
                });
                if better {
                    best = Some((slot, take));
                }
            }
        }
        let (slot, take) = best?;
        // `twisted leaves in north-1, healthy in north-2`
        if let (Some(slot), Some((_, loc))) = (self.sound_beside_seen(&take), take.fillers.first()) {
            let take = Take::one(Filler::Flag, *loc, take.next);
            self.drafts.push(Draft { implicit: true, ..Draft::default() });
            return Some(self.fill(slot, take, until));
        }
        let depth = self.line.is(take.next, "deep") && take.next < until;
        if depth
            && let Some((quantity, next)) = self.measured(at, until).filter(|(_, next)| *next == take.next)
        {
            let diagnostic = say::wrong_measure(self, at, next, until, quantity);
            self.misfits.push(diagnostic);
            return Some(next + 1);
        }
        self.hint_inches(slot, &take, at, until);
        // A thing or an amount said again begins the next group: `18 tomato in north-1 and 6 in north-2`.
        let again = self.has(&slot.name) && (slot.several != Several::List || self.complete());
        let arm = slot.takes.contains(&Takes::Control);
        let flagged = !slot.takes.contains(&Takes::Flag) && self.flagged(slot);
        if again && (arm || self.draft().is_some_and(|d| d.led) || self.repeats(slot)) || flagged {
            self.drafts.push(Draft { implicit: true, ..Draft::default() });
        }
        Some(self.fill(slot, take, until))
    }

    /// Whether a word here leads to a place.
    fn leads_to_place(&self, at: usize, until: usize) -> bool {
        let place = |s: &Slot| s.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *"PLACE"));
        self.leading(at).iter().any(|(s, after)| place(s) && self.is_place(*after, until))
    }

    /// The slot that says that all looks well, where this is a grade that is no hurt beside something seen:
    /// `twisted leaves, well above the ground`. No grade makes that sound.
    fn sound_beside_seen(&self, take: &Take) -> Option<&'a Slot> {
        let flag = |s: &&Slot| matches!(s.need, Need::OneOf(_)) && s.takes.contains(&Takes::Flag);
        let [(Filler::Value(Value::Word(word)), _)] = &take.fillers[..] else { return None };
        let slot = self.frame.slots.iter().find(flag).filter(|_| self.lex.words.unhurt(word))?;
        self.said_beside(slot).then_some(slot)
    }

    /// Whether `nothing wrong` was said in the group, of which this slot would say otherwise.
    fn flagged(&self, slot: &Slot) -> bool {
        let Need::OneOf(_) = slot.need else { return false };
        let flag = |s: &&Slot| s.need == slot.need && s.takes.contains(&Takes::Flag);
        self.frame.slots.iter().filter(flag).any(|s| self.has(&s.name))
    }

    /// Whether an amount is said a second time before any clause: `4 tomato, 6 pepper in north-1`.
    fn repeats(&self, slot: &Slot) -> bool {
        slot.takes.iter().any(|t| {
            matches!(
                t,
                Takes::Amount
                    | Takes::Count
                    | Takes::CountOf
                    | Takes::WholeCount
                    | Takes::Reading
                    | Takes::NamedReading
                    | Takes::Level
            )
        })
    }

    /// Whether the group so far has all its frame needs, so that a thing said again begins another.
    fn complete(&self) -> bool {
        self.draft().is_some_and(|d| d.led && super::finish::missing(self.frame, d).is_empty())
    }

    /// Whether what was read last is a value of the group: an amount, a count, a severity.
    fn valued_last(&self) -> bool {
        self.draft().and_then(|d| d.fills.last()).is_some_and(|f| match &f.filler {
            Filler::CountOf { .. } | Filler::Grades(_) | Filler::Containers { .. } => true,
            Filler::Value(Value::Quantity(_) | Value::Number(_)) => true,
            _ => *f.slot == *"severity",
        })
    }

    /// Past a word a slot stands before; a noun may stand between a number and `each`.
    fn past_word(&self, at: usize, until: usize, word: &str) -> Option<usize> {
        if at >= until {
            return None;
        }
        if self.line.is(at, word) {
            return Some(at + 1);
        }
        let noun =
            word == "each" && self.line.kind(at) == Some(&PieceKind::Word) && !self.line.leads_clause(at);
        if noun && self.line.is(at + 1, "each") && at + 1 < until {
            return Some(at + 2);
        }
        // `8 in depth`, `9 of 12 came up`
        (self.line.is(at, "came") && self.line.is(at + 1, word) && at + 1 < until).then_some(at + 2)
    }

    fn hint_inches(&mut self, slot: &Slot, take: &Take, at: usize, until: usize) {
        let counted = slot.takes.iter().any(|t| matches!(t, Takes::Count));
        if counted
            && self.line.is(take.next, "in")
            && take.next == at + 1
            && self.is_place(take.next + 1, until)
        {
            let hint = say::read_as_place(self, at, take.next, until);
            self.said.push(hint);
        }
    }

    /// Whether the verb tells of stuff that is taken off a place.
    pub(super) fn takes_off(&self) -> bool {
        self.frame.has_lead("off")
    }

    /// Fills a slot, and goes on with its list.
    pub(super) fn fill(&mut self, slot: &'a Slot, take: Take, until: usize) -> usize {
        let mut next = self.push_to(slot, take);
        if let Some(after) = slot.leads.iter().find_map(|l| match l {
            Lead::Before(w) if slot.leads.len() > 1 => self.past_word(next, until, w),
            _ => None,
        }) {
            next = after;
        }
        if slot.several != Several::List {
            return next;
        }
        loop {
            let mut at = next;
            while at < until && self.line.joins(at) {
                at += 1;
            }
            if at == next || at >= until {
                return next;
            }
            if self.number(at, until).is_some() && self.portion(at, until).is_none() {
                return next;
            }
            let taken = std::iter::once(slot).chain(self.led_alike(slot)).find_map(|slot| {
                let take = slot.takes.iter().find_map(|t| self.take(t, at, until))?;
                Some((slot, take))
            });
            let taken = taken.or_else(|| Some((slot, self.another_place(slot, at, until)?)));
            let Some((slot, take)) = taken else { return next };
            next = self.push_to(slot, take);
        }
    }

    /// `in north-1 and north-9`: after a place, one word with a figure in it that nothing knows is a place too.
    fn another_place(&self, slot: &Slot, at: usize, until: usize) -> Option<Take> {
        let place = |t: &Thing| PLACES.contains(&&*t.kind);
        let last = self.draft()?.fills.last().filter(|f| f.slot == slot.name)?;
        matches!(&last.filler, Filler::Value(Value::Thing(t)) if place(t)).then_some(())?;
        slot.takes.iter().find(|t| matches!(t, Takes::Thing(k) if **k == *"PLACE"))?;
        let word = self.line.word(at);
        let named = word.starts_with(char::is_alphabetic) && word.chars().any(|c| c.is_ascii_digit());
        if !named
            || self.lex.bare_name_at(self.line, at, until, |_| true).is_some()
            || self.lex.words.any_at(&self.line.atoms, at, until)
        {
            return None;
        }
        self.captured("PLACE", at, until, true).filter(|take| take.next == at + 1)
    }

    /// The other lists that the same words lead to: `tipped batch b3 on north-1 and heap main`.
    fn led_alike(&self, slot: &'a Slot) -> impl Iterator<Item = &'a Slot> + use<'a> {
        let alike = move |s: &&'a Slot| {
            s.name != slot.name
                && s.several == Several::List
                && s.leads == slot.leads
                && !s.leads.contains(&Lead::First)
        };
        self.frame.slots.iter().filter(alike)
    }

    fn push_to(&mut self, slot: &'a Slot, take: Take) -> usize {
        // `into 8 5-gal buckets` fills the count and the container.
        // `from 9:00 to 10:30`
        if let [(Filler::Value(Value::Clock(start)), loc)] = take.fillers[..]
            && self.line.is(take.next, "to")
            && let Some((end, next)) = self.clock(take.next + 1, self.line.len())
        {
            let minutes = f64::from((end + 1440 - start) % 1440);
            let duration =
                self.frame.slots.iter().find(|s| s.takes.contains(&Takes::Measure(Dimension::Duration)));
            if let Some(slot) = duration.filter(|s| !self.has(&s.name)) {
                let size = Range::exact(minutes / 1440.0);
                let lasted =
                    Filler::Value(Value::Quantity(Quantity { size, dimension: Dimension::Duration }));
                self.push(slot.name.clone(), Take::one(lasted, loc, next));
            }
            return self.push(slot.name.clone(), Take { next, ..take });
        }
        let container = self
            .frame
            .slots
            .iter()
            .find(|s| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"container")));
        if let (Some(other), [(Filler::Containers { count, .. }, loc)]) = (container, &take.fillers[..])
            && slot.takes.contains(&Takes::Count)
        {
            let number = Take::one(Filler::Value(Value::Number(*count)), *loc, take.next);
            self.push(other.name.clone(), take);
            return self.push(slot.name.clone(), number);
        }
        // Where stuff is taken off, some of it is not all of it.
        if let Some(size) = take.share.filter(|_| self.takes_off() && !self.has("amount")) {
            let loc = take.fillers.first().map_or(self.item.loc, |(_, loc)| *loc);
            let share = Filler::Value(Value::Quantity(Quantity { size, dimension: Dimension::Share }));
            self.push("amount", Take::one(share, loc, take.next));
        }
        if !take.missing.is_empty() {
            let gap = say::gap_in_range(&take);
            self.said.push(gap);
        }
        self.push(slot.name.clone(), take)
    }

    pub(super) fn push(&mut self, slot: impl Into<Arc<str>>, take: Take) -> usize {
        let slot: Arc<str> = slot.into();
        if let Some(draft) = self.drafts.last_mut() {
            draft.fills.extend(take.fillers.into_iter().map(|(filler, loc)| Fill {
                slot: slot.clone(),
                filler,
                loc,
                sure: take.sure,
            }));
        }
        take.next
    }

    /// Keeps a fault that costs the entry.
    pub(super) fn refuse(&mut self, diagnostic: Diagnostic) {
        self.said.push(diagnostic);
        self.fatal = true;
    }

    /// The place named last, in this group or before it.
    pub(super) fn carried_place(&self) -> Option<Thing> {
        self.last_thing(|kind| crate::understand::lexicon::kinds::PLACES.contains(&kind))
    }

    /// The containers counted last.
    pub(super) fn counted_by(&self) -> Option<Filler> {
        let fills = self.drafts.iter().rev().flat_map(|d| d.fills.iter().rev());
        fills.map(|f| &f.filler).find(|f| matches!(f, Filler::Containers { .. })).cloned()
    }

    /// The test named last, its control included.
    pub(super) fn carried_test(&self) -> Option<Thing> {
        self.last_thing(|kind| matches!(kind, "test" | "control"))
    }

    pub(super) fn last_thing(&self, fits: impl Fn(&str) -> bool) -> Option<Thing> {
        self.drafts.iter().rev().flat_map(|d| d.fills.iter().rev()).find_map(|f| match &f.filler {
            Filler::Value(Value::Thing(t)) if fits(&t.kind) => Some(t.clone()),
            Filler::Part(p) if fits(&p.of.kind) => Some(p.of.clone()),
            _ => None,
        })
    }

    /// Whether the frame takes amounts of this dimension anywhere.
    pub(super) fn slot_for(&self, dimension: Dimension) -> Option<&'a Slot> {
        self.frame.slots.iter().find(|s| {
            s.takes.iter().any(|t| match t {
                Takes::Measure(d) => *d == dimension,
                Takes::Amount => matches!(dimension, Dimension::Volume | Dimension::Mass),
                _ => false,
            })
        })
    }
}
