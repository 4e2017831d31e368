//! The diary understood: entries settled (done, planned, corrected), things known, facts said.
//!
//! Comes in: entries as the reading of clauses left them, the frames, what they say, today. Goes out: a
//! [`Diary`] with the facts of every entry, and what a grower should mend in the lines. It draws no
//! conclusion about the farm; rules do.
//!
//! The passes, in order: what is later than `as_of` goes; entries under no day are put aside; plans
//! are told from deeds; corrections and closings are settled; places get their portions and rooms
//! their beds; amounts get their sizes and are shared out; things are looked up; facts are said.

mod amounts;
mod bookkeeping;
mod checks;
mod correct;
mod facts;
mod fills;
mod ground;
mod phrases;
mod plans;
mod pots;
mod things;
mod written;

use std::collections::BTreeMap;

use chrono::NaiveDate;

pub use phrases::Phrases;

use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    measure::{unit::System, value::EntryId},
    model::{
        diary::Diary,
        entry::{Entry, Standing},
        frame::{FrameKind, Frames},
    },
};

/// What settling needs beside the entries.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The frame table.
    pub frames: &'a Frames,
    /// The frames' sentences, found in the compiled rulebook.
    pub phrases: &'a Phrases,
    /// The texts, for what is quoted and for the units written.
    pub sources: &'a Sources,
    /// The day the diary is read on.
    pub today: NaiveDate,
    /// Entries after this day are left out altogether.
    pub as_of: Option<NaiveDate>,
    /// Which gallon and ton the farm means, where it says so.
    pub system: Option<System>,
}

impl Context<'_> {
    /// The text at a place; empty if the place is not there.
    fn text(&self, loc: crate::base::span::Loc) -> &str {
        self.sources.file(loc.file).text.get(loc.span.range()).unwrap_or("")
    }
}

/// An entry as it counts after corrections: its facts carry `entry.id`.
type Counting = Vec<Entry>;

/// Settles entries into a diary. `entries` may come in any order.
pub fn settle(mut entries: Vec<Entry>, cx: &Context<'_>) -> (Diary, Vec<Diagnostic>) {
    entries.sort_by_key(|e| e.loc);
    if let Some(last) = cx.as_of {
        entries.retain(|e| e.days.is_none_or(|d| d.first <= last));
    }
    for (n, e) in entries.iter_mut().enumerate() {
        e.id = EntryId(u32::try_from(n).unwrap_or(u32::MAX));
    }
    let mut said = Vec::new();
    let kept: Vec<bool> = entries.iter().map(|e| checks::dated(e, cx, &mut said)).collect();
    for e in &mut entries {
        plans::stand(e, cx, &mut said);
    }
    let mut counting: Counting = correct::settle(&mut entries, &kept, cx, &mut said);
    let allows = bookkeeping::allows(&entries);
    let mut closings = bookkeeping::closings(&entries);
    let used = plans::close(&mut entries, &mut counting, &closings, cx, &mut said);
    closings.retain(|c| !used.contains(&c.entry));

    let mut ground = ground::survey(&counting, cx);
    for e in &mut counting {
        ground::place(e, &mut ground, cx, &mut said);
    }
    let containers = amounts::containers(&counting);
    let mut unsized_ones = BTreeMap::new();
    for e in &mut counting {
        amounts::measure(e, &containers, cx, &mut unsized_ones);
    }
    amounts::tell_unsized(unsized_ones, &mut said);
    things::name_lots(&mut counting);
    pots::settle(&mut counting, cx, &mut said);
    let things = things::known(&counting, &ground, cx);
    checks::things(&things, &counting, cx, &mut said);
    checks::order(&entries, &kept, &mut said);
    checks::counts(&mut counting, cx, &mut said);
    let facts = facts::say(&counting, &things, &ground, &containers, cx);
    checks::circles(&facts, cx, &entries, &mut said);
    let units = written::units(&entries, cx, &mut said);
    let things = things.into_iter().map(|t| t.known).collect();
    let diary = Diary { entries, facts, things, allows, closings, units, containers };
    (diary, said)
}

/// Whether an entry tells of the farm at all, rather than of other lines.
fn is_bookkeeping(e: &Entry, cx: &Context<'_>) -> bool {
    cx.frames.get(&e.verb).is_some_and(|f| f.kind == FrameKind::Bookkeeping)
}

/// Whether an entry is a plan.
fn is_plan(e: &Entry) -> bool {
    matches!(e.standing, Standing::Planned { .. })
}

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
