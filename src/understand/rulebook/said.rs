//! A filled sentence as people see it, matched back to the sentence and values it shows.
//!
//! Comes in: a line such as `lot tern-26 was spread on bed north-1 on 2026-03-20`. Goes out: every
//! declared sentence it may be, with a test for the values of each blank. It asks no model.

use super::{Lines, atoms, fault, figure, lines, shapes::Item};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        name::fold,
    },
    measure::{
        compute::{Sure, same},
        display,
        value::{BlankType, Value},
    },
    model::{page::Passage, sentence::SentenceId},
    understand::sentences::{Book, Reach},
};

/// A sentence with what its blanks are asked to hold.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    /// The sentence.
    pub sentence: SentenceId,
    /// For each blank the words asked for, and what the blank takes; `None` for `{}`.
    asked: Vec<Option<(String, BlankType)>>,
}

impl Pattern {
    /// Whether a tuple's values are those asked for. Names compare with or without their kind word;
    /// days and amounts by what they are, not how they are spelt.
    pub fn fits(&self, values: &[Value]) -> bool {
        self.asked.len() == values.len()
            && self.asked.iter().zip(values).all(|(asked, value)| match asked {
                None => true,
                Some((text, takes)) => means(text, *takes, value),
            })
    }
}

fn means(text: &str, takes: BlankType, value: &Value) -> bool {
    match value {
        Value::Thing(t) => {
            let asked = fold(text);
            asked == fold(&t.name) || asked == fold(&format!("{} {}", t.kind, t.name))
        }
        Value::Word(w) => fold(text) == fold(w),
        other => {
            let shown = fold(&display::value(other, &display::Units::new())) == fold(text);
            shown
                || figure::constant(text, takes)
                    .or_else(|_| figure::figure(text))
                    .is_ok_and(|v| v == *other || same(&v, other) == Some(Sure::Always))
        }
    }
}

/// Every sentence a filled line may be.
///
/// # Errors
/// A line that no declared sentence fits, with the nearest.
pub fn patterns(book: &Book, line: &Passage, lines: &Lines) -> Result<Vec<Pattern>, Diagnostic> {
    let read = lines.declaration(line)?;
    let said = lines::untagged(&read)?;
    let mut all = Vec::new();
    for reading in book.readings(&said.it, Reach::Words) {
        let Some(sentence) = book.get(reading.sentence) else { continue };
        let asked = sentence.blanks.iter().zip(&reading.fills).map(|(blank, range)| {
            let items = said.it.get(range.clone()).unwrap_or(&[]);
            let words: Vec<&str> = items
                .iter()
                .map(|i| match &i.it {
                    Item::Word(w) | Item::Mark(w) | Item::Quoted(w) => w.as_str(),
                    Item::Hole(_) => "",
                })
                .collect();
            let text = words.join(" ");
            (!text.is_empty()).then_some((text, blank.takes))
        });
        let pattern = Pattern { sentence: reading.sentence, asked: asked.collect() };
        if !all.contains(&pattern) {
            all.push(pattern);
        }
    }
    if all.is_empty() {
        let said_fault =
            fault(super::UNKNOWN, said.loc, format!("No page declares a sentence `{}`.", atoms::shown(said)));
        return Err(match book.nearest(&said.it) {
            Some(near) => said_fault.remark(RemarkKind::Write, near.pattern()),
            None => said_fault,
        });
    }
    Ok(all)
}
