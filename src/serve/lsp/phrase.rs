//! A verb's frame in words: what it means, what it needs and may have, one right line.
//!
//! Comes in: a frame of the table. Goes out: Markdown, and the pieces that completion puts together. It
//! knows no verb by name.

use std::fmt::Write as _;

use crate::{
    measure::dimension::Dimension,
    model::frame::{Frame, Lead, Need, Slot, Takes},
};

/// A frame, for whoever points at its verb.
pub fn frame(frame: &Frame) -> String {
    format!("**{}**\n\n{}\n\n{}", frame.verb, frame.meaning, parts(frame))
}

/// What an entry with a verb may say: one right line, then what stands for what.
pub fn parts(frame: &Frame) -> String {
    let mut out = format!("```markdown\n- {}\n```\n", frame.example);
    let also = frame.spellings();
    if !also.is_empty() {
        let _ = writeln!(out, "\nalso: {}\n", also.join(", "));
    }
    for slot in &frame.slots {
        let need = match &slot.need {
            Need::Must => ", needed".to_owned(),
            Need::OneOf(_) => ", one of these is needed".to_owned(),
            Need::With(other) => format!(", needed with {}", other.replace('_', " ")),
            Need::May => String::new(),
        };
        let _ = writeln!(out, "- {}{need}", words(slot));
    }
    out
}

/// A slot in words: `on`: bed, path or field.
pub fn words(slot: &Slot) -> String {
    let takes: Vec<String> = slot.takes.iter().map(takes).collect();
    let takes = takes.join(" or ");
    let leads: Vec<String> = slot
        .leads
        .iter()
        .filter_map(|lead| match lead {
            Lead::Word(lead) => Some(format!("`{lead}`")),
            Lead::Before(after) => Some(format!("`… {after}`")),
            Lead::AfterColon | Lead::First | Lead::Bare | Lead::Rest => None,
        })
        .collect();
    let after = if slot.leads.contains(&Lead::AfterColon) { " after `:`" } else { "" };
    if leads.is_empty() { format!("{takes}{after}") } else { format!("{}: {takes}{after}", leads.join(" ")) }
}

/// The words that lead a slot, if it needs any.
pub fn lead(slot: &Slot) -> Option<&str> {
    slot.leads.iter().find_map(|lead| match lead {
        Lead::Word(word) => Some(&**word),
        _ => None,
    })
}

/// Whether a slot may stand without a word before it.
pub fn is_bare(slot: &Slot) -> bool {
    slot.leads.iter().any(|lead| matches!(lead, Lead::First | Lead::Bare))
}

/// What fills a slot, in a word or two.
fn takes(takes: &Takes) -> String {
    match takes {
        Takes::Thing(kind) => kind_words(kind),
        Takes::Control => "control of a test".to_owned(),
        Takes::Portion(kind) => format!("a part of a {}", kind_words(kind)),
        Takes::New(Some(kind)) => format!("a new {kind}"),
        Takes::New(None) => "a new name".to_owned(),
        Takes::Word(kind) => kind.to_string(),
        Takes::Measure(dimension) => self::dimension(*dimension),
        Takes::Amount => "an amount".to_owned(),
        Takes::Count => "a number".to_owned(),
        Takes::Pots => "so many pots".to_owned(),
        Takes::CountOf => "so many of so many".to_owned(),
        Takes::WholeCount => "all, none or so many".to_owned(),
        Takes::Grades => "how many of each grade".to_owned(),
        Takes::Heights => "heights".to_owned(),
        Takes::Ratio => "a ratio".to_owned(),
        Takes::Size => "length x width".to_owned(),
        Takes::Level => "a level".to_owned(),
        Takes::Reading => "a reading".to_owned(),
        Takes::NamedReading => "a reading with its name".to_owned(),
        Takes::Rate => "a rate".to_owned(),
        Takes::Wind => "wind".to_owned(),
        Takes::Compass => "a compass point".to_owned(),
        Takes::Clock => "a clock time".to_owned(),
        Takes::Date => "a day".to_owned(),
        Takes::Money => "money".to_owned(),
        Takes::Flush => "a flush".to_owned(),
        Takes::Basis => "dry or fresh weight".to_owned(),
        Takes::Quoted => "words in quotes".to_owned(),
        Takes::Words => "words".to_owned(),
        Takes::Flag => "said or not".to_owned(),
        Takes::Code => "a code".to_owned(),
        Takes::Verb => "a verb".to_owned(),
        Takes::Replacement => "what it should say".to_owned(),
    }
}

/// The kinds that capitals of the frame table stand for.
fn kind_words(kind: &str) -> String {
    match kind {
        "LOT" => "lot or heap",
        "PLACE" => "bed, path, field or room",
        "HOLD" => "batch or tray",
        "WHO" => "person",
        other => other,
    }
    .to_owned()
}

fn dimension(dimension: Dimension) -> String {
    format!("{dimension:?}").to_lowercase()
}
