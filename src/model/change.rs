//! A change to a text: other bytes in place of a span.
//!
//! Comes in: nothing; a plain type. Goes out: what tidying asks for, and the text with it done. Nothing is
//! written to a disk here.

use std::sync::Arc;

use crate::base::span::Span;

/// Other text in place of a span.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Change {
    /// What it replaces.
    pub span: Span,
    /// What stands there instead.
    pub text: String,
}

/// The text with the changes made. They are in order and do not overlap; one that does is passed over.
pub fn applied(text: &str, changes: &[Change]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for change in changes {
        let span = change.span.range();
        let Some(kept) = text.get(at..span.start) else { continue };
        out.push_str(kept);
        out.push_str(&change.text);
        at = span.end;
    }
    out.push_str(text.get(at..).unwrap_or(""));
    out
}

/// A line that is, or would be, written otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rewritten {
    /// The file, as it is shown.
    pub file: Arc<str>,
    /// The line, from 1.
    pub line: usize,
    /// The line as it was, without its line break.
    pub before: String,
    /// The line as it is then.
    pub after: String,
}

/// The lines that differ between two texts of equally many lines.
pub fn rewritten(file: &Arc<str>, before: &str, after: &str) -> Vec<Rewritten> {
    let lines = before.split('\n').zip(after.split('\n')).enumerate().filter(|(_, (a, b))| a != b);
    let plain = |line: &str| line.trim_end_matches('\r').to_owned();
    lines
        .map(|(n, (a, b))| Rewritten {
            file: Arc::clone(file),
            line: n + 1,
            before: plain(a),
            after: plain(b),
        })
        .collect()
}
