//! An entry of the journal after reading: its verb, its day, and what fills each slot of its frame.
//!
//! Comes in: slots filled by the reading of clauses. Goes out: what facts, plans, corrections,
//! findings and the editor ask about one line. It holds no sentences; those are made from it.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::{
    base::span::Loc,
    measure::{
        date::Days,
        number::Range,
        value::{EntryId, Quantity, Thing, Value},
    },
};

/// Whether an entry tells of something done or something meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It happened.
    Done,
    /// It is a plan: marked `[ ]`, worded `plan to`, or dated after today.
    Planned {
        /// `if test t2 is clean`: the test the plan waits for.
        only_if_clean: Option<Thing>,
        /// True when only its date makes it a plan, so it counts as done from that day.
        by_date_only: bool,
    },
    /// Superseded by a correction, or said never to have happened: shown, but says nothing.
    Withdrawn {
        /// The correcting entry.
        by: EntryId,
    },
}

/// One entry, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its place in the order of files and lines.
    pub id: EntryId,
    /// The whole item, continuation lines included, list marker left out.
    pub loc: Loc,
    /// Its verb, as in the frame table (`dug in`).
    pub verb: Arc<str>,
    /// Where the verb stands.
    pub verb_loc: Loc,
    /// The day of its heading; `None` for an undated place or unit, which always holds.
    pub days: Option<Days>,
    /// Clock time written before the verb, in minutes after midnight.
    pub clock: Option<u16>,
    /// Done, planned or withdrawn.
    pub standing: Standing,
    /// The groups that `;` separates, the carried-over slots already repeated.
    pub groups: Arc<Vec<Group>>,
    /// Free words after the colon.
    pub words: Option<Arc<str>>,
    /// Whether the checkbox is there, and ticked.
    pub ticked: Option<bool>,
}

/// One group of an entry: the slots it fills.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Group {
    /// Slots in the order they are written.
    pub slots: Vec<Filled>,
}

impl Group {
    /// What fills a slot by name; empty if it was not said.
    pub fn get(&self, slot: &str) -> impl Iterator<Item = &Filled> {
        let slot = slot.to_owned();
        self.slots.iter().filter(move |f| *f.slot == *slot)
    }

    /// Whether a slot was said.
    pub fn said(&self, slot: &str) -> bool {
        self.slots.iter().any(|f| &*f.slot == slot)
    }
}

/// One filler of one slot. A list in a slot is several of these.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    /// The slot's name in the frame table.
    pub slot: Arc<str>,
    /// What fills it.
    pub filler: Filler,
    /// Where it is written.
    pub loc: Loc,
}

/// What can fill a slot.
#[derive(Debug, Clone, PartialEq)]
pub enum Filler {
    /// A named thing, word, number, amount, day or clock time, as it stands in sentences.
    Value(Value),
    /// A part of a named place or lot: `half of`, `1/3 of`, `west end of`, `the rest of`.
    Part(Part),
    /// So many containers, perhaps of a known size: `10 barrows`, `8 5-gal buckets`.
    Containers {
        /// How many.
        count: Range,
        /// The container word (`barrow`).
        container: Arc<str>,
        /// Size of one, where it is said with the amount; else the farm's `unit` entry decides.
        each: Option<Quantity>,
    },
    /// `N of M plants|pots|seeds|containers`.
    CountOf {
        /// How many are so.
        hurt: Range,
        /// Out of how many.
        among: Range,
        /// What is counted, singular: `plant`, `pot`, `seed`, `bucket`.
        of: Arc<str>,
    },
    /// `none hurt`, `all hurt`, `3 hurt`: out of however many stand, which another entry says.
    OfAll {
        /// How many are so; `None` for all of them.
        hurt: Option<Range>,
    },
    /// `18 severe, 4 slight, 2 fine`: each counted once.
    Grades(Vec<(Range, Arc<str>)>),
    /// `heights 8, 9, none cm`: one for each pot, `None` for not up.
    Heights(Vec<Option<Quantity>>),
    /// `mixed 2:1 with`: first named to second named, by volume.
    Ratio(Range, Range),
    /// Two or three lengths: `30 ft x 4 ft`.
    Size(Vec<Quantity>),
    /// Wind, with what of speed, word (`calm`, `light`, `strong`) and compass point was said.
    Wind {
        /// Speed.
        speed: Option<Quantity>,
        /// Strength word.
        word: Option<Arc<str>>,
        /// Where it blows from: `north`, `north-east`, … `north-west`.
        from: Option<Arc<str>>,
    },
    /// A laboratory level: an amount, `under` an amount, or `no`.
    Level {
        /// The level, or the limit when `under`.
        level: Option<Quantity>,
        /// True for `under 1 ppb`, `<1`, `trace`.
        under: bool,
    },
    /// A reading with what was read, its clock time and position where said.
    Reading {
        /// `temperature`, `EC`, `pH`, `humidity`, `moisture`, or another word.
        quantity: Arc<str>,
        /// What was read.
        value: Value,
        /// Clock time of this reading, minutes after midnight.
        clock: Option<u16>,
        /// `middle`, `edge`, …
        position: Option<Arc<str>>,
    },
    /// `nothing wrong`, `so far`: present or not.
    Flag,
    /// Free words.
    Words(Arc<str>),
    /// The corrected entry, or `never happened`, or a date or amount, as a correction says it.
    Replacement(Box<Replacement>),
}

/// What a correction puts in place of an entry.
#[derive(Debug, Clone, PartialEq)]
pub enum Replacement {
    /// `: never happened`
    Never,
    /// `: is 2026-05-26`
    Date(NaiveDate),
    /// `: 5 yd3`
    Amount(Filler),
    /// `: spread lot tern-26 on north-1`
    Entry(Box<Entry>),
}

/// A portion of a named place or lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is a part of.
    pub of: Thing,
    /// How much of it, 0 to 1; `None` when the words leave it open (`the rest of`).
    pub share: Option<Range>,
    /// A length along it (`first 10 ft`).
    pub along: Option<Quantity>,
    /// The side, for a sided portion (`west`, `door`, `near`, …), which is ground of its own.
    pub side: Option<Arc<str>>,
    /// `all of`, `the rest of`: whatever the lineage leaves that day.
    pub remainder: bool,
}
