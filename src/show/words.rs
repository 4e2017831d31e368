//! The phrase book as text: verbs with one example each, then words by kind.
//!
//! Comes in: a [`PhraseBook`]. Goes out: text. Long lists of words run on, other names in brackets.

use super::{layout::Style, lines, paint::Ink};
use crate::model::explanation::{PhraseBook, WordKind};

/// The phrase book.
pub fn words(book: &PhraseBook, style: &Style) -> String {
    let mut out = String::new();
    if !book.verbs.is_empty() {
        out.push_str(&lines::heading("An entry begins with one of these", style));
        for verb in &book.verbs {
            let mut names = verb.verb.clone();
            for also in &verb.also {
                names.push_str(", ");
                names.push_str(also);
            }
            out.push_str(&lines::lead(&format!("  {names}: "), Ink::Strong, &verb.meaning, style));
            out.push_str(&lines::lead("      - ", Ink::Quiet, &verb.example, style));
        }
    }
    for kind in &book.kinds {
        if !out.is_empty() {
            out.push('\n');
        }
        out.push_str(&one(kind, style));
    }
    if out.is_empty() {
        out.push_str("No verb and no word of the tables has that in it.\n");
    }
    out
}

fn one(kind: &WordKind, style: &Style) -> String {
    let list: Vec<String> = kind
        .words
        .iter()
        .map(|(word, also)| match also.as_slice() {
            [] => word.clone(),
            also => format!("{word} ({})", also.join(", ")),
        })
        .collect();
    let title = format!("Of the kind {}: {}", kind.kind, kind.words.len());
    let mut out = lines::heading(&title, style);
    out.push_str(&lines::paragraph(2, &list.join(" · "), style));
    out
}
