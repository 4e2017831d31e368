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

use std::{collections::BTreeMap, sync::Arc};

use chrono::NaiveDate;

use checks::Circles;
pub use checks::begun_unread;
use facts::Said;
pub use phrases::Phrases;
use written::Counted;

use crate::{
    base::{diagnostic::Diagnostic, source::Sources, span::FileId},
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

/// A file with its entries.
type FileEntries = (FileId, Arc<[Entry]>);

/// Settles entries into a diary. `entries` may come in any order.
pub fn settle(entries: Vec<Entry>, cx: &Context<'_>) -> (Diary, Vec<Diagnostic>) {
    let entries = upto(entries, cx);
    let units = [Arc::new(written::counted(&entries, cx))];
    anew(entries, &units, cx, &mut Told::default())
}

/// What was settled last time, for when most or all of it is the same again. Holds for one frame table and
/// its phrases.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    last: Option<Last>,
    told: Told,
    /// The units that each file's entries write.
    units: BTreeMap<FileId, (Arc<[Entry]>, Arc<Counted>)>,
}

/// What entries said last time, and what was found in it.
#[derive(Debug, Clone, Default)]
struct Told {
    said: Said,
    circles: Circles,
}

/// A diary, and all it was settled from.
#[derive(Debug, Clone)]
struct Last {
    today: NaiveDate,
    as_of: Option<NaiveDate>,
    system: Option<System>,
    files: Vec<FileEntries>,
    texts: Vec<Arc<str>>,
    diary: Arc<Diary>,
    diagnostics: Vec<Diagnostic>,
}

impl Kept {
    /// As [`settle`], of the entries of these files.
    pub fn settle(&mut self, files: &[FileEntries], cx: &Context<'_>) -> (Arc<Diary>, Vec<Diagnostic>) {
        if let Some(last) = self.last.as_ref().filter(|last| last.stands(files, cx)) {
            return (Arc::clone(&last.diary), last.diagnostics.clone());
        }
        let entries = upto(files.iter().flat_map(|(_, entries)| entries.iter().cloned()).collect(), cx);
        let system = self.last.as_ref().is_some_and(|last| last.system == cx.system);
        let mut before = std::mem::take(&mut self.units);
        let mut units = Vec::with_capacity(files.len());
        for (file, entries) in files {
            let known = before.remove(file).filter(|(was, _)| system && Arc::ptr_eq(was, entries));
            let counted = known.map_or_else(|| Arc::new(written::counted(entries, cx)), |(_, c)| c);
            units.push(Arc::clone(&counted));
            self.units.insert(*file, (Arc::clone(entries), counted));
        }
        let (diary, diagnostics) = anew(entries, &units, cx, &mut self.told);
        let diary = Arc::new(diary);
        self.last = Some(Last {
            today: cx.today,
            as_of: cx.as_of,
            system: cx.system,
            files: files.to_vec(),
            texts: files.iter().map(|(id, _)| Arc::clone(&cx.sources.file(*id).text)).collect(),
            diary: Arc::clone(&diary),
            diagnostics: diagnostics.clone(),
        });
        (diary, diagnostics)
    }
}

impl Last {
    /// Whether these files settle as those did: their entries are the same, and so is the text up to the last
    /// of them, which settling quotes and counts lines in.
    fn stands(&self, files: &[FileEntries], cx: &Context<'_>) -> bool {
        let same = |((was, now), text): ((&FileEntries, &FileEntries), &Arc<str>)| {
            let here = &cx.sources.file(now.0).text;
            let end = now.1.iter().map(|e| e.loc.span.end as usize).max().unwrap_or(0);
            was.0 == now.0
                && (Arc::ptr_eq(&was.1, &now.1) || was.1 == now.1)
                && (text == here || text.get(..end).is_some_and(|t| here.starts_with(t)))
        };
        (self.today, self.as_of, self.system) == (cx.today, cx.as_of, cx.system)
            && self.files.len() == files.len()
            && self.files.iter().zip(files).zip(&self.texts).all(same)
    }
}

/// The entries in order, those that are too late left out, each with its number.
fn upto(mut entries: Vec<Entry>, cx: &Context<'_>) -> Vec<Entry> {
    entries.sort_by_key(|e| e.loc);
    if let Some(last) = cx.as_of {
        entries.retain(|e| e.days.is_none_or(|d| d.first <= last));
    }
    for (n, e) in entries.iter_mut().enumerate() {
        e.id = EntryId(u32::try_from(n).unwrap_or(u32::MAX));
    }
    entries
}

fn anew(
    mut entries: Vec<Entry>,
    units: &[Arc<Counted>],
    cx: &Context<'_>,
    told: &mut Told,
) -> (Diary, Vec<Diagnostic>) {
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
    let facts = told.said.say(counting, &things, &ground, &containers, cx);
    told.said.cut_off(&mut said);
    checks::circles(&facts, cx, &entries, &mut told.circles, &mut said);
    let units = written::units(units, &mut said);
    let things = things.into_iter().map(|t| t.known).collect();
    let diary = Diary { entries, facts: Arc::new(facts), things, allows, closings, units, containers };
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
