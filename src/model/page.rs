//! A rule page after parsing: its headings, fences, tables and examples, still as text.
//!
//! Comes in: Markdown that `parse` cut up. Goes out: what `understand` compiles and `rehearse` runs.

use std::sync::Arc;

use crate::base::{
    diagnostic::Severity,
    span::{FileId, Loc},
};

/// A stretch of a page with where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Passage {
    /// Where.
    pub loc: Loc,
    /// The text, continuation kept.
    pub text: Arc<str>,
}

/// What kind of page it is, by its folder or its front.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PageKind {
    /// A page with a code: title `code: severity`, the fixed headings, examples.
    Rule,
    /// A page whose code is said by the reading of the journal or of pages, not by a rule.
    Reading,
    /// Tables and sentences without a code: vocabulary, thresholds, settings.
    Tables,
    /// A rival cause.
    Cause,
    /// Sums for the day, told when they are asked for.
    Recipe,
}

/// One page.
#[derive(Debug, Clone)]
pub struct Page {
    /// The file.
    pub file: FileId,
    /// The path it is read under (`rules/vocabulary/crops.md`).
    pub path: Arc<str>,
    /// Whether it came with the program; a farm's own page takes the place of a built-in one of the
    /// same code, and a farm's own page of tables that of one with the same path. Parsing leaves it false; whoever knows the source says so.
    pub built_in: bool,
    /// What kind.
    pub kind: PageKind,
    /// The code (`untested-lot`), or the file's stem for a page of tables.
    pub code: Arc<str>,
    /// The severity in the title, for rule and reading pages.
    pub severity: Option<Severity>,
    /// The title as written.
    pub title: Passage,
    /// Headed sections, in order, with the prose under them (fences left out).
    pub sections: Vec<Section>,
    /// `sentences` fences: the lines, and the reckoner's name for `sentences reckon NAME`.
    pub declarations: Vec<Declaration>,
    /// `ask` fences: the ways a recipe is asked for, and what may be said beside (lines with `with`).
    pub asks: Vec<Passage>,
    /// `rule` fences, one item for each rule in them.
    pub rules: Vec<RuleText>,
    /// Tables that follow an `Each row says:` line.
    pub tables: Vec<TableText>,
    /// Examples under *Must fire* and *Must stay silent*.
    pub examples: Vec<Example>,
    /// `Folds: untested-lot about the same lot`: codes folded under this page's findings.
    pub folds: Vec<Passage>,
}

/// A headed section.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The heading (`Why it matters`).
    pub heading: Passage,
    /// The prose, as Markdown.
    pub prose: Passage,
}

/// One declared sentence, as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Declaration {
    /// The line.
    pub line: Passage,
    /// The reckoner that answers it, if any.
    pub reckoned_by: Option<Arc<str>>,
}

/// One rule, as text: its lines from the first `if` to `then`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleText {
    /// The whole rule.
    pub loc: Loc,
    /// Its lines, indented continuation joined.
    pub lines: Vec<Passage>,
}

/// A table of facts, as text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TableText {
    /// The sentences of the `Each row says:` line, with `{column}` blanks.
    pub says: Vec<Passage>,
    /// Column names.
    pub columns: Vec<Passage>,
    /// Rows of cells.
    pub rows: Vec<Vec<Passage>>,
}

/// A page that an example brings along.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnPage {
    /// The path it is read under (`rules/tables/own.md`).
    pub path: Arc<str>,
    /// Its text.
    pub text: Passage,
}

/// One example: a journal and what must be found in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Example {
    /// Its name, from the line above it, for the test's name.
    pub name: Passage,
    /// Under which heading: true for *Must fire*, and for *Must work* of a recipe.
    pub must_fire: bool,
    /// What a recipe is asked in it (`ask: straw 4 buckets`), without the recipe's page named.
    pub ask: Option<Passage>,
    /// The journal text; empty for an example of pages alone.
    pub journal: Passage,
    /// Pages of the farm's own that it is read with.
    pub pages: Vec<OwnPage>,
    /// The day it is read on (`today: 2026-04-04`); the last day of the journal where unsaid.
    pub today: Option<Passage>,
    /// What is expected under a *Must fire* journal, line by line.
    pub expected: Vec<Passage>,
}
