//! The heading of a day: one space after its marks, and a day in figures as `2026-03-14`.
//!
//! Comes in: the text of a heading block. Goes out: changes. A day in words stays as it is put, and so does
//! whatever stands after the day: other notes may link to it.

use crate::{
    base::span::Span,
    measure::date::{read_day, weekday_number},
    model::change::Change,
};

/// The changes of a heading, if it opens a day written in figures.
pub fn changes(source: &str, block: Span, text: Span) -> Vec<Change> {
    let title = source.get(text.range()).unwrap_or("");
    let days = days(title);
    if days.is_empty() {
        return Vec::new();
    }
    let mut out = Vec::new();
    let before = source.get(block.start as usize..text.start as usize).unwrap_or("");
    let marks = before.trim_end_matches([' ', '\t']);
    // An underlined heading has no marks before it.
    if marks.ends_with('#') {
        let at = block.start as usize + marks.len();
        out.push(Change { span: Span::new(at, text.start as usize), text: " ".to_owned() });
    }
    out.extend(
        days.into_iter().map(|(span, day)| Change { span: span.shifted(text.start as usize), text: day }),
    );
    out
}

/// The days in figures that a title begins with, as they are best written: a day, or a day `to` another.
fn days(title: &str) -> Vec<(Span, String)> {
    let mut out = Vec::new();
    let mut words = words(title).peekable();
    let lead = |word: &str| {
        let folded = word.to_lowercase();
        matches!(&*folded, "about" | "around" | "c." | "circa" | "week" | "of")
            || weekday_number(word).is_some()
    };
    while words.next_if(|(_, word)| lead(word)).is_some() {}
    while let Some((span, day)) = words.next().and_then(|(at, word)| Some((at, figures(word)?))) {
        out.push((span, day));
        if words.next_if(|(_, word)| word.eq_ignore_ascii_case("to")).is_none() {
            break;
        }
    }
    out
}

fn words(title: &str) -> impl Iterator<Item = (Span, &str)> {
    let mut at = 0;
    title.split_inclusive(|c: char| c.is_whitespace() || matches!(c, ',' | ':' | ';')).filter_map(
        move |part| {
            let start = at;
            at += part.len();
            let word = part.trim_end_matches(|c: char| c.is_whitespace() || matches!(c, ',' | ':' | ';'));
            (!word.is_empty()).then(|| (Span::new(start, start + word.len()), word))
        },
    )
}

/// `2026-3-4`, with whichever dash, as `2026-03-04`.
fn figures(word: &str) -> Option<String> {
    let is_dash = |c: char| matches!(c, '-' | '\u{2010}'..='\u{2013}');
    let mut parts = word.split(is_dash);
    let year = parts.next()?;
    let all_figures = word.chars().all(|c| c.is_ascii_digit() || is_dash(c));
    if year.len() != 4 || parts.count() != 2 || !all_figures {
        return None;
    }
    read_day(word).ok().map(|day| day.to_string())
}
