//! A journal file after cutting: its days, and its entries as pieces still to be understood.
//!
//! Comes in: nothing; plain types. Goes out: what the reading of clauses works on, and the blocks that
//! tile a file for the editor. No name is looked up here.

use std::sync::Arc;

use super::page::Passage;
use crate::{
    base::{
        diagnostic::Diagnostic,
        span::{FileId, Loc, Span},
    },
    measure::{
        date::{DayFault, Days},
        number::Range,
        unit::System,
    },
};

/// One journal file, cut up.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalFile {
    /// The file.
    pub file: FileId,
    /// Its text, which all spans point into.
    pub text: Arc<str>,
    /// The blocks of the text, in order; together they cover every byte once.
    pub blocks: Vec<Block>,
    /// The entries, in order.
    pub items: Vec<Item>,
    /// List items that begin with no verb, in order: prose, unless their first word is a slip for one.
    pub asides: Vec<Aside>,
    /// `farm: imperial` or `farm: US`, where it is said.
    pub system: Option<(System, Loc)>,
    /// What could not be read: days, settings.
    pub diagnostics: Vec<Diagnostic>,
}

/// A stretch of whole lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// The bytes, line breaks included.
    pub span: Span,
    /// What it is.
    pub kind: BlockKind,
}

/// What a block is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlockKind {
    /// A heading.
    Heading {
        /// 1 to 6.
        level: u8,
        /// Its text, marks left out.
        text: Span,
    },
    /// A list item, continuation lines included.
    Item {
        /// Its text, list marker and checkbox left out.
        body: Span,
        /// Whether a checkbox is there, and ticked.
        ticked: Option<bool>,
    },
    /// Anything else, blank lines included.
    Prose,
}

/// When the entries of a section hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// Under a heading with a day or a span of days.
    On(Days),
    /// Under no day.
    Undated,
    /// Under a heading that looks like a day and is none: they wait until it is mended.
    Waiting,
}

/// An entry: a list item that begins with a verb.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// The whole item, list marker and checkbox left out.
    pub loc: Loc,
    /// When it holds.
    pub when: When,
    /// The heading it stands under, the nearest one.
    pub heading: Option<Loc>,
    /// Whether a checkbox is there, and ticked.
    pub ticked: Option<bool>,
    /// Whether `plan to` stands before the verb.
    pub plan_to: bool,
    /// Clock time before the verb, in minutes after midnight.
    pub clock: Option<u16>,
    /// The frame's verb (`sowed`).
    pub verb: Arc<str>,
    /// The verb as it is written, folded (`sown`, `field`).
    pub written: Arc<str>,
    /// Whether the verb stands in the form that only a plan or a checkbox allows (`sow`).
    pub base_form: bool,
    /// Whether a word of talk stands before the verb (`I spread`, `today planted`).
    pub spoken: bool,
    /// Where the verb stands.
    pub verb_loc: Loc,
    /// The pieces after the verb, in order.
    pub pieces: Vec<Piece>,
    /// What stands in brackets, which no clause reads.
    pub remarks: Vec<Passage>,
}

/// A list item that begins with no verb.
#[derive(Debug, Clone, PartialEq)]
pub struct Aside {
    /// The whole item, list marker left out.
    pub loc: Loc,
    /// Its first word.
    pub first: Loc,
    /// When it would hold.
    pub when: When,
    /// The verbs its first word is nearly, nearest first, each with whether it is the form of a plan.
    pub verbs: Vec<(Arc<str>, bool)>,
    /// The pieces after its first word if there are such verbs, else of all of it.
    pub pieces: Vec<Piece>,
}

/// The smallest part of an entry that is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Where it stands in the file.
    pub span: Span,
    /// What it is.
    pub kind: PieceKind,
    /// Whether white space (or the verb) stands before it.
    pub gap: bool,
}

/// What a piece is.
#[derive(Debug, Clone, PartialEq)]
pub enum PieceKind {
    /// A word, a unit, a sign such as `%`, `"` or `&`.
    Word,
    /// Words in quotes; the span includes the quotes, this does not.
    Quoted(Span),
    /// A quote that is never closed: the rest of the entry.
    Unclosed,
    /// A number or a range.
    Number(Range),
    /// Digits that make no number (`3 1/0`).
    BadNumber,
    /// Two numbers joined by a colon: a clock time or a ratio.
    Pair(Range, Range),
    /// A day or a month.
    Day(Days),
    /// Written like a day, but none.
    BadDay(DayFault),
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// `:` before white space or the end.
    Colon,
}
