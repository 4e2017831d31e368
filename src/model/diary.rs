//! The journal understood: entries, the things they name, their facts, and the grower's bookkeeping.
//!
//! Comes in: what `understand` read from the parsed journal. Goes out: what inference, findings,
//! `trace`, `words` and the editor ask of it. It concludes nothing itself.

use std::{collections::BTreeMap, sync::Arc};

use chrono::NaiveDate;

use super::{entry::Entry, program::Fact};
use crate::{
    base::span::Loc,
    measure::{
        display::Units,
        value::{EntryId, Quantity, Thing},
    },
};

/// A journal, understood.
#[derive(Debug, Clone, Default)]
pub struct Diary {
    /// Every entry that could be read, by [`EntryId`].
    pub entries: Vec<Entry>,
    /// The facts the entries say, in a fixed order.
    pub facts: Arc<Vec<Arc<Fact>>>,
    /// Every thing named, ordered.
    pub things: Vec<KnownThing>,
    /// `allow` lines.
    pub allows: Vec<Allow>,
    /// `done` and `skipped` lines, but for those that closed a plan.
    pub closings: Vec<Closing>,
    /// The units the farm writes for each dimension, for display.
    pub units: Units,
    /// Sizes of the farm's own containers (`unit barrow, 80 l`), by container word.
    pub containers: BTreeMap<Arc<str>, Quantity>,
}

/// A thing the journal names.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownThing {
    /// Kind and name.
    pub thing: Thing,
    /// Where it began: its declaration, or the entry that made it (`as lot …`).
    pub began: Option<(Loc, EntryId)>,
    /// Every mention, in order, the beginning included.
    pub mentions: Vec<(Loc, EntryId)>,
}

/// An `allow` line.
#[derive(Debug, Clone, PartialEq)]
pub struct Allow {
    /// Its entry.
    pub entry: EntryId,
    /// The code it keeps quiet.
    pub code: Arc<str>,
    /// The thing it is about, as findings name it (`lot bag-mix`); `None` for every thing.
    pub about: Option<String>,
    /// The last day it holds.
    pub until: Option<NaiveDate>,
    /// The reason given.
    pub reason: Option<Arc<str>>,
}

/// A `done` or `skipped` line.
#[derive(Debug, Clone, PartialEq)]
pub struct Closing {
    /// Its entry.
    pub entry: EntryId,
    /// Its day.
    pub day: NaiveDate,
    /// True for `skipped`.
    pub skipped: bool,
    /// The action's words as written after the verb, up to the colon.
    pub words: Arc<str>,
    /// Where those words stand.
    pub words_loc: Loc,
    /// The reason, for `skipped`.
    pub reason: Option<Arc<str>>,
}
