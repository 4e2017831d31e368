//! Finishes the groups of an entry: what carries over from one to the next, and what is missing.
//!
//! Comes in: drafts as they were read. Goes out: groups of slots, or what the entry fails to say. It
//! reads no text, and leaves rooms, exceptions and sharing to the diary.

use std::collections::BTreeSet;

use super::{
    reader::{Draft, Fill, Reader},
    say,
};
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Thing, Value},
    },
    model::{
        entry::{Filled, Filler, Group},
        frame::{Frame, FrameKind, Lead, Need, Slot, Takes},
    },
};

/// The slots a frame needs and a draft does not fill; of those that stand for each other, the first.
pub fn missing<'a>(frame: &'a Frame, draft: &Draft) -> Vec<&'a Slot> {
    let mut classes = BTreeSet::new();
    frame
        .slots
        .iter()
        .filter(|slot| match &slot.need {
            Need::May => false,
            Need::Must => !draft.has(&slot.name),
            Need::With(other) => draft.has(other) && !draft.has(&slot.name),
            Need::OneOf(class) => {
                let met = frame.slots.iter().any(|s| s.need == slot.need && draft.has(&s.name));
                !met && classes.insert(class.clone())
            }
        })
        .filter(|slot| !slot.leads.iter().any(|l| matches!(l, Lead::Rest | Lead::AfterColon)))
        .collect()
}

impl Reader<'_> {
    /// The groups, everything carried over; `None` if a fault costs the entry.
    pub fn finish(&mut self) -> Option<Vec<Group>> {
        self.drafts.retain(|d| !d.fills.is_empty());
        if self.drafts.is_empty() {
            self.drafts.push(Draft::default());
        }
        self.place_readings();
        self.contain();
        self.backfill();
        self.lend_place();
        self.arms();
        self.carry();
        self.look_well();
        self.all_of_a_grade();
        self.found_none();
        let lacking = (0..self.drafts.len()).filter(|n| self.check(*n)).count() > 0;
        let misfits = std::mem::take(&mut self.misfits);
        self.fatal |= lacking;
        let kept = !self.fatal;
        self.said.extend(misfits.into_iter().map(|d| if kept { say::rest_is_read(d) } else { d }));
        if self.fatal {
            return None;
        }
        self.each_declared();
        let groups = std::mem::take(&mut self.drafts).into_iter().map(|d| Group {
            slots: d
                .fills
                .into_iter()
                .map(|f| Filled { slot: f.slot, filler: f.filler, loc: f.loc })
                .collect(),
        });
        Some(groups.collect())
    }

    /// `beds n-1 and n-2, 30 ft x 4 ft`: what is said holds of each, so each has a group of its own.
    fn each_declared(&mut self) {
        let named = |f: &Fill| *f.slot == *"name";
        let several = self.drafts.iter().any(|d| d.fills.iter().filter(|f| named(f)).count() > 1);
        if self.frame.kind != FrameKind::Place || !several {
            return;
        }
        let drafts = std::mem::take(&mut self.drafts);
        for draft in drafts {
            let (names, rest): (Vec<Fill>, Vec<Fill>) = draft.fills.into_iter().partition(|f| named(f));
            self.drafts.extend(names.into_iter().map(|name| Draft {
                fills: std::iter::once(name).chain(rest.iter().cloned()).collect(),
                ..Draft::default()
            }));
        }
    }

    /// `2 trays of leek`: what the crop is counted by is where it stands, if nothing else is said.
    fn contain(&mut self) {
        let tray = |s: &&Slot| s.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *"tray"));
        let Some(slot) = self.frame.slots.iter().find(|s| s.need == Need::Must && tray(s)) else { return };
        for draft in &mut self.drafts {
            if draft.has(&slot.name) {
                continue;
            }
            let held = draft.fills.iter().find_map(|f| match &f.filler {
                Filler::Containers { container, .. } => Some(Fill {
                    slot: slot.name.clone(),
                    filler: Filler::Value(Value::Word(container.clone())),
                    loc: f.loc,
                    sure: true,
                }),
                _ => None,
            });
            draft.fills.extend(held);
        }
    }

    /// `58 C in heap main, middle`: where in the thing a reading was taken.
    fn place_readings(&mut self) {
        for draft in &mut self.drafts {
            let said = draft.fills.iter().find_map(|f| match &f.filler {
                Filler::Words(words) if *f.slot == *"position" => Some(words.clone()),
                _ => None,
            });
            let Some(words) = said else { continue };
            let mut placed = false;
            for fill in &mut draft.fills {
                if let Filler::Reading { position: position @ None, .. } = &mut fill.filler {
                    *position = Some(words.clone());
                    placed = true;
                }
            }
            if placed {
                draft.fills.retain(|f| *f.slot != *"position");
            }
        }
    }

    /// `24 tomato, 12 pepper in north-1`: what only the last of several says holds for those before.
    fn backfill(&mut self) {
        for n in (0..self.drafts.len().saturating_sub(1)).rev() {
            let (Some(this), Some(next)) = (self.drafts.get(n), self.drafts.get(n + 1)) else { continue };
            if !next.implicit || this.led {
                continue;
            }
            let lent: Vec<Fill> = next
                .fills
                .iter()
                .filter(|f| !this.has(&f.slot) && self.frame.slot(&f.slot).is_none_or(carries))
                .cloned()
                .collect();
            if let Some(this) = self.drafts.get_mut(n) {
                this.fills.extend(lent);
            }
        }
    }

    /// `on tomato but not on pepper in north-1`: what is told of one crop and denied of another is told of the place
    /// of both, which the denial says last.
    fn lend_place(&mut self) {
        let Some(place) = self.place_list().map(|s| s.name.clone()) else { return };
        for n in 1..self.drafts.len() {
            let (Some(seen), Some(denied)) = (self.drafts.get(n - 1), self.drafts.get(n)) else { continue };
            let crops =
                denied.denies && denied.fills.iter().any(|f| f.slot != place && f.sure && seen.has(&f.slot));
            if !crops || seen.has(&place) {
                continue;
            }
            let lent: Vec<Fill> = denied.fills.iter().filter(|f| f.slot == place).cloned().collect();
            if let Some(seen) = self.drafts.get_mut(n - 1) {
                seen.fills.extend(lent);
            }
        }
    }

    /// A result that names no arm after the control's is the test's own, as long as the test has none; and a test
    /// that is only named, with every result said of its control, is not read itself.
    fn arms(&mut self) {
        let Some(slot) = self.frame.slots.iter().find(|s| s.takes.contains(&Takes::Control)) else { return };
        let arm = |d: &Draft| d.fills.iter().find(|f| f.slot == slot.name).cloned();
        let control = |f: &Fill| matches!(&f.filler, Filler::Value(Value::Thing(t)) if *t.kind == *"control");
        let mut last: Option<Fill> = None;
        let mut read = false;
        for n in 0..self.drafts.len() {
            let Some(draft) = self.drafts.get(n) else { continue };
            if let Some(named) = arm(draft) {
                read |= !control(&named) && missing(self.frame, draft).is_empty();
                last = Some(named);
                continue;
            }
            let Some(before) = last.clone().filter(control) else { continue };
            if read {
                let at = draft.fills.first().map_or(self.item.loc, |f| f.loc);
                let said = say::which_arm(self, at);
                self.refuse(said);
                return;
            }
            read = true;
            let Filler::Value(Value::Thing(of)) = &before.filler else { continue };
            let test = Thing { kind: "test".into(), name: of.name.clone() };
            let fill = Fill { filler: Filler::Value(Value::Thing(test)), ..before.clone() };
            last = Some(fill.clone());
            if let Some(draft) = self.drafts.get_mut(n) {
                draft.fills.insert(0, fill);
            }
        }
        let named_only = |d: &Draft| d.fills.iter().all(|f| f.slot == slot.name && !control(f));
        if self.drafts.iter().any(|d| !named_only(d)) {
            // What was seen of the tested pots is no less a part of the reading than the control.
            let only_control = self.drafts.iter().any(named_only)
                && self.drafts.iter().filter(|d| !named_only(d)).all(|d| arm(d).is_some_and(|f| control(&f)));
            if only_control
                && !self.unread.is_empty()
                && let Some(said) = say::half_read(self)
            {
                self.refuse(said);
                return;
            }
            self.drafts.retain(|d| !named_only(d));
        }
    }

    /// `tomato in north-1 fine`: a grade that is no hurt, where no sign is named, says that all looks well.
    fn look_well(&mut self) {
        let flag = |s: &&Slot| matches!(s.need, Need::OneOf(_)) && s.takes.contains(&Takes::Flag);
        let Some(slot) = self.frame.slots.iter().find(flag) else { return };
        let words = &self.lex.words;
        for draft in &mut self.drafts {
            let seen = self.frame.slots.iter().filter(|s| s.need == slot.need).any(|s| draft.has(&s.name));
            let grade = draft.fills.iter().find_map(|f| match &f.filler {
                Filler::Value(Value::Word(w)) if *f.slot == *"severity" && words.unhurt(w) => Some(f.loc),
                _ => None,
            });
            if let (false, Some(loc)) = (seen, grade) {
                draft.fills.retain(|f| *f.slot != *"severity");
                draft.fills.push(Fill { slot: slot.name.clone(), filler: Filler::Flag, loc, sure: true });
            }
        }
        let placeless =
            |d: &&Draft| d.has(&slot.name) && !d.has("place") && self.frame.slot("place").is_some();
        if let Some(flag) = self.drafts.iter().find(placeless).and_then(|d| d.fills.first()) {
            let hint = say::well_nowhere(self, flag.loc);
            self.said.push(hint);
        }
    }

    /// `all severe`: every pot is hurt, and how badly is said.
    fn all_of_a_grade(&mut self) {
        let Some(slot) = self.frame.slots.iter().find(|s| s.takes.contains(&Takes::WholeCount)) else {
            return;
        };
        for n in 0..self.drafts.len() {
            let Some(draft) = self.drafts.get(n) else { continue };
            let read = self.frame.slots.iter().filter(|s| s.need == slot.need).any(|s| draft.has(&s.name));
            let all = draft
                .fills
                .iter()
                .find(|f| *f.slot == *"severity" && self.written(f.loc).starts_with("all "));
            let Some(loc) = all.filter(|_| !read).map(|f| f.loc) else { continue };
            let none = draft.fills.iter().any(|f| {
                matches!(&f.filler, Filler::Value(Value::Word(w)) if f.loc == loc && self.lex.words.unhurt(w))
            });
            let hurt = none.then_some(Range::exact(0.0));
            if let Some(draft) = self.drafts.get_mut(n) {
                draft.fills.push(Fill {
                    slot: slot.name.clone(),
                    filler: Filler::OfAll { hurt },
                    loc,
                    sure: true,
                });
            }
        }
    }

    /// A laboratory finds nothing only down to its limit, and none of its figures is 0.
    fn found_none(&mut self) {
        let Some(slot) = self.frame.slots.iter().find(|s| s.takes.contains(&Takes::Level)) else { return };
        let level = |f: &&Fill| {
            f.slot == slot.name && matches!(f.filler, Filler::Level { level: None, under: false })
        };
        let none = self.drafts.iter().filter(|d| !d.has("limit")).flat_map(|d| &d.fills).find(level);
        if let Some(fill) = none.filter(|f| self.written(f.loc).starts_with(|c: char| c.is_ascii_digit())) {
            let hint = say::no_limit(self, fill.loc);
            self.said.push(hint);
        }
    }

    /// Thing, signs, crop and place go on into the next group unless it says others.
    fn carry(&mut self) {
        for n in 1..self.drafts.len() {
            let (Some(before), Some(this)) = (self.drafts.get(n - 1), self.drafts.get(n)) else { continue };
            let signs = |slot: &str| {
                self.frame.slot(slot).is_some_and(|s| {
                    s.takes
                        .iter()
                        .any(|t| matches!(t, Takes::Flag) || matches!(t, Takes::Word(k) if **k == *"sign"))
                })
            };
            let restated = this.fills.iter().any(|f| signs(&f.slot));
            let lent: Vec<Fill> = before
                .fills
                .iter()
                .filter(|f| !(this.has(&f.slot) || restated && signs(&f.slot)))
                .filter(|f| self.frame.slot(&f.slot).is_some_and(carries))
                .cloned()
                .collect();
            if let Some(this) = self.drafts.get_mut(n) {
                // Carried first, as they were written first.
                this.fills.splice(0..0, lent);
            }
        }
    }

    /// Holds a group to what its frame needs, and leaves out what cannot be. True if something needed is missing.
    fn check(&mut self, n: usize) -> bool {
        let frame = self.frame;
        let Some(draft) = self.drafts.get(n) else { return false };
        let share = draft.fills.iter().find(|f| {
            matches!(&f.filler, Filler::Reading { quantity, .. } if **quantity == *Dimension::Share.word())
        });
        if let Some(fill) = share {
            let said = say::which_quantity(self, fill.loc);
            self.refuse(said);
        }
        let Some(draft) = self.drafts.get(n) else { return false };
        let slips: Vec<(usize, _)> =
            draft.fills.iter().enumerate().filter_map(|(i, f)| Some((i, self.impossible(f)?))).collect();
        if let Some(draft) = self.drafts.get_mut(n) {
            for (i, _) in slips.iter().rev() {
                draft.fills.remove(*i);
            }
        }
        // One filler may stand in two slots (`into 8 buckets`).
        self.misfits.extend(slips.into_iter().map(|(_, d)| d).take(1));
        let Some(draft) = self.drafts.get(n) else { return false };
        let lacking = missing(frame, draft);
        if !lacking.is_empty() && !self.fatal && self.misfits.is_empty() {
            let said = say::missing(self, draft, &lacking);
            self.said.push(said);
        }
        !lacking.is_empty()
    }
}

/// Whether a slot carries over into the next group.
fn carries(slot: &Slot) -> bool {
    let with = slot.leads.iter().all(
        |l| matches!(l, Lead::Word(w) if matches!(&**w, "with" | "using" | "as" | "made from" | "since")),
    );
    slot.takes.iter().any(|t| match t {
        Takes::Thing(_) => !with,
        Takes::Control => true,
        Takes::Word(kind) => matches!(&**kind, "crop" | "sign" | "material" | "substance" | "strain"),
        Takes::Flag => matches!(slot.need, Need::OneOf(_)),
        _ => false,
    })
}
