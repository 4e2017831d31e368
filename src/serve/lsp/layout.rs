//! Entries written evenly.
//!
//! Comes in: a check, and perhaps a range. Goes out: the edits `haulm tidy` would make, for the editor to
//! apply. How an editor indents has no part in it.

use lsp_types::{Range, TextEdit};
use serde_json::{Value, json};

use super::round::Round;
use crate::base::span::{FileId, Loc};

/// The edits that tidy a file, or the lines of a range of it.
pub fn tidied(round: &Round, file: FileId, within: Option<Range>) -> Value {
    if !round.is_journal(file) {
        return json!([]);
    }
    let edits = round
        .checked
        .tidied(file)
        .into_iter()
        .map(|change| TextEdit::new(round.range(Loc::new(file, change.span)), change.text));
    let is_within = |edit: &TextEdit| {
        within.is_none_or(|w| {
            // A selection of whole lines ends at the start of the line after them.
            let ends_before = w.end.character == 0 && w.start.line < w.end.line;
            let last = if ends_before { w.end.line - 1 } else { w.end.line };
            w.start.line <= edit.range.start.line && edit.range.end.line <= last
        })
    };
    json!(edits.filter(is_within).collect::<Vec<_>>())
}
