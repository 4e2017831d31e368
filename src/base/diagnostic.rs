//! What is said to the grower: one diagnostic is one matter, with its places and what to do.
//!
//! Comes in: what a stage found. Goes out: a value that terminal, JSON, editor and page all render.
//! It holds no layout and no colour.

use std::sync::Arc;

use serde::Serialize;

use super::span::Loc;

/// How pressing a diagnostic is, most pressing first in the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Something is doing harm, or will if nothing is done.
    Alarm,
    /// A line, file or page could not be read; nothing is concluded from it.
    Error,
    /// Something wants attention soon.
    Warn,
    /// Worth knowing.
    Hint,
}

impl Severity {
    /// The word shown before a diagnostic and written in rule pages.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Alarm => "alarm",
            Severity::Error => "error",
            Severity::Warn => "warn",
            Severity::Hint => "hint",
        }
    }
}

/// A place a diagnostic points at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Label {
    /// Where.
    pub loc: Loc,
    /// What is said of that place; empty where the place speaks for itself.
    pub text: String,
}

/// A piece of text to put in place of another, which the grower may accept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fix {
    /// What accepting it does, as a label for a menu.
    pub title: String,
    /// What is replaced (an empty span inserts).
    pub loc: Loc,
    /// The new text.
    pub text: String,
}

/// A remark under a diagnostic, with the word it stands under.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Remark {
    /// What kind of remark.
    pub kind: RemarkKind,
    /// The words.
    pub text: String,
}

/// The kinds of remark, in the order they are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum RemarkKind {
    /// One right line, to copy.
    Write,
    /// What to do next.
    Next,
    /// What can hurt, and whose word goes before ours.
    Caution,
    /// Why it is said.
    Why,
    /// Anything else worth knowing.
    Note,
}

/// One matter said to the grower.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// The code, which is also the name of its page: `untested-lot`.
    pub code: Arc<str>,
    /// How pressing.
    pub severity: Severity,
    /// One sentence, in a grower's words.
    pub message: String,
    /// The line to act on.
    pub primary: Option<Label>,
    /// The other lines it rests on, the most telling first.
    pub secondary: Vec<Label>,
    /// What it is about (`lot tern-26`), the subject `allow` and `why` know it by.
    pub about: Vec<String>,
    /// What the line it stands at would begin, were it read (`lot tern-26`).
    pub begins: Vec<String>,
    /// Remarks, by kind in order.
    pub remarks: Vec<Remark>,
    /// Corrections that can be applied as they stand.
    pub fixes: Vec<Fix>,
    /// Other findings that this one explains and that are shown only on request.
    pub folded: Vec<Diagnostic>,
}

impl Diagnostic {
    /// A diagnostic with a code, a severity and a sentence; the rest is added by the `with_` functions.
    pub fn new(code: &str, severity: Severity, message: impl Into<String>) -> Self {
        Self {
            code: code.into(),
            severity,
            message: message.into(),
            primary: None,
            secondary: Vec::new(),
            about: Vec::new(),
            begins: Vec::new(),
            remarks: Vec::new(),
            fixes: Vec::new(),
            folded: Vec::new(),
        }
    }

    /// Points it at a place.
    pub fn at(mut self, loc: Loc, text: impl Into<String>) -> Self {
        self.primary = Some(Label { loc, text: text.into() });
        self
    }

    /// Adds another place it rests on.
    pub fn also(mut self, loc: Loc, text: impl Into<String>) -> Self {
        self.secondary.push(Label { loc, text: text.into() });
        self
    }

    /// Adds a remark.
    pub fn remark(mut self, kind: RemarkKind, text: impl Into<String>) -> Self {
        self.remarks.push(Remark { kind, text: text.into() });
        self
    }

    /// Adds a correction.
    pub fn fix(mut self, title: impl Into<String>, loc: Loc, text: impl Into<String>) -> Self {
        self.fixes.push(Fix { title: title.into(), loc, text: text.into() });
        self
    }

    /// Says what it is about.
    pub fn about(mut self, thing: impl Into<String>) -> Self {
        self.about.push(thing.into());
        self
    }
}
