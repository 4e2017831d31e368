//! What can be run from a page: its examples, one by one or all of them.
//!
//! Comes in: a check and a page. Goes out: lenses, each with its command. Nothing is run here.

use serde_json::{Value, json};

use super::{commands::EXAMPLES, round::Round};
use crate::base::span::{FileId, Loc};

/// The lenses of a file; a journal has none.
pub fn lenses(round: &Round, file: FileId) -> Value {
    let Some(page) = round.checked.pages.iter().find(|p| p.file == file && !p.examples.is_empty()) else {
        return json!([]);
    };
    let lens = |at: Loc, title: String, number: Option<usize>| {
        json!({
            "range": round.range(at),
            "command": { "title": title, "command": EXAMPLES, "arguments": [round.uri(file), page.code, number] },
        })
    };
    let all = lens(page.title.loc, format!("run its {} examples", page.examples.len()), None);
    let each = page.examples.iter().enumerate();
    let each = each.map(|(n, e)| lens(e.name.loc, "run this example".to_owned(), Some(n)));
    json!(std::iter::once(all).chain(each).collect::<Vec<_>>())
}
