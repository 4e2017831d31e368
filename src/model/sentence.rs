//! Declared sentences: words with blanks. A relation is one of these.
//!
//! Comes in: a declaration's parts. Goes out: the pattern, its blanks, and the sentence filled in.
//! Matching text to patterns is `understand`'s work.

use std::sync::Arc;

use crate::{base::span::Loc, measure::value::BlankType};

/// Which declared sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SentenceId(pub u32);

/// A word or a blank of a declared sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// A fixed word, in lower case, or a lone punctuation mark such as `,`.
    Word(Arc<str>),
    /// The blank with this number (0 is the first).
    Blank(usize),
}

/// A blank of a declared sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// Its name (`bed`).
    pub name: Arc<str>,
    /// What it takes.
    pub takes: BlankType,
}

/// Where the tuples of a sentence come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// The journal says it: each tuple carries an entry and whether it is done or planned.
    Journal,
    /// Rule pages: rules conclude it or tables list it.
    Page,
    /// A member of the `reckon` registry answers it.
    Reckoned(Arc<str>),
    /// The head of one rule that is a finding, an action, an answer or a caution; no page can say it.
    Head,
}

/// A declared sentence.
#[derive(Debug, Clone, PartialEq)]
pub struct Sentence {
    /// Words and blanks in order.
    pub parts: Vec<Part>,
    /// The blanks.
    pub blanks: Vec<Blank>,
    /// Where its tuples come from.
    pub origin: Origin,
    /// `only one {verdict}`: the blank that may have one value for given others.
    pub only_one: Option<usize>,
    /// Where it is declared.
    pub loc: Loc,
}

impl Sentence {
    /// The sentence with each blank filled by `fill(blank number)`.
    pub fn filled(&self, mut fill: impl FnMut(usize) -> String) -> String {
        let mut out = String::new();
        for part in &self.parts {
            match part {
                Part::Word(w) => {
                    if !out.is_empty() && !matches!(&**w, "," | "." | ";" | ":") {
                        out.push(' ');
                    }
                    out.push_str(w);
                }
                Part::Blank(n) => {
                    if !out.is_empty() {
                        out.push(' ');
                    }
                    out.push_str(&fill(*n));
                }
            }
        }
        out
    }

    /// The sentence as declared: `{lot} was spread on {bed}`.
    pub fn pattern(&self) -> String {
        self.filled(|n| self.blanks.get(n).map_or_else(String::new, |b| format!("{{{}}}", b.name)))
    }
}
