//! The phrase book as text: verbs with one example each, then words by kind.
//!
//! Comes in: a [`PhraseBook`]. Goes out: text. Long lists of words run on, other names in brackets.

use super::{
    layout::{Style, pad},
    lines,
    paint::Ink,
};
use crate::model::explanation::{PhraseBook, WordKind};

/// Columns a verb is filled to.
const VERB: usize = 11;

/// The verbs, and how many words there are of each kind.
pub fn verbs(book: &PhraseBook, style: &Style) -> String {
    let mut out = words(&PhraseBook { kinds: Vec::new(), ..book.clone() }, style);
    let kinds: Vec<String> = book.kinds.iter().map(|k| format!("{} ({})", k.kind, k.words.len())).collect();
    if !kinds.is_empty() {
        out.push('\n');
        out.push_str(&lines::heading("Words of these kinds \u{2192} haulm words KIND", style));
        out.push_str(&lines::paragraph(2, &kinds.join(" \u{b7} "), style));
    }
    out
}

/// The phrase book.
pub fn words(book: &PhraseBook, style: &Style) -> String {
    let mut out = String::new();
    if !book.verbs.is_empty() {
        out.push_str(&lines::heading("An entry begins with one of these", style));
        for verb in &book.verbs {
            let also = if verb.also.is_empty() {
                String::new()
            } else {
                format!(" Also: {}.", verb.also.join(", "))
            };
            let lead = format!("  {}  ", pad(&verb.verb, VERB));
            out.push_str(&lines::lead(&lead, Ink::Strong, &format!("{}{also}", verb.meaning), style));
            let lead = format!("{}- ", " ".repeat(VERB + 4));
            out.push_str(&lines::lead(&lead, Ink::Quiet, &verb.example, style));
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
