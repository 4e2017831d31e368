//! The values a sentence's blanks hold.
//!
//! Comes in: names, words, amounts, days. Goes out: one ordered, hashable type that journal facts,
//! rules, proofs and findings share. It does not know which sentences exist.

use std::sync::Arc;

use serde::Serialize;

use super::{date::Days, dimension::Dimension, number::Range};

/// A thing with a name: `lot tern-26`, `bed north-1`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Thing {
    /// The kind word: `lot`, `bed`, `field`, `heap`, `person`, `test`, …
    pub kind: Arc<str>,
    /// The name, spelt as it was first written in the journal.
    pub name: Arc<str>,
}

/// An amount in the canonical unit of its dimension (see [`Dimension`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Quantity {
    /// The size, in the dimension's canonical unit.
    pub size: Range,
    /// What is measured.
    pub dimension: Dimension,
}

/// Which entry of the journal: its place in the order of files and lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct EntryId(pub u32);

/// What fills a blank.
///
/// Two values are the same only if they are equal here; there are no hidden spellings or units.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum Value {
    /// A named thing.
    Thing(Thing),
    /// A word or words of the vocabulary, or free words.
    Word(Arc<str>),
    /// A bare number or count.
    Number(Range),
    /// An amount with a unit.
    Quantity(Quantity),
    /// A day, or a span of days known no better.
    Days(Days),
    /// A clock time, in minutes after midnight.
    Clock(u16),
    /// An entry of the journal.
    Entry(EntryId),
}

impl Value {
    /// A vocabulary word or free words.
    pub fn word(word: impl Into<Arc<str>>) -> Self {
        Value::Word(word.into())
    }

    /// A named thing.
    pub fn thing(kind: impl Into<Arc<str>>, name: impl Into<Arc<str>>) -> Self {
        Value::Thing(Thing { kind: kind.into(), name: name.into() })
    }

    /// A sure number.
    pub fn number(n: f64) -> Self {
        Value::Number(Range::exact(n))
    }
}

/// What a declared blank takes. A blank with no type written takes names and words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub enum BlankType {
    /// A thing or a word (`{lot}`, `{crop}`, `{sign}`).
    Name,
    /// Free words (`{reason:text}`).
    Text,
    /// A day or span of days (`{day:date}`).
    Date,
    /// A clock time (`{at:clock}`).
    Clock,
    /// A bare number (`{n:number}`).
    Number,
    /// An amount of one dimension (`{depth:length}`).
    Amount(Dimension),
    /// An amount of any dimension, or a count of containers (`{amount:amount}`).
    AnyAmount,
    /// An entry of the journal (`{e:entry}`).
    Entry,
}
