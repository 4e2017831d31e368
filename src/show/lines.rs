//! Lines that several texts share: headings, quoted journal lines, a note at the right edge.
//!
//! Comes in: words and a [`Style`]. Goes out: lines that fit it. It knows no commands.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, cut, hang, wrap},
    paint::{Ink, paint},
};
use crate::{base::source::Sources, model::explanation::Quote};

/// Text for people: typographic signs of ours in plain characters where that is asked.
pub fn words(text: &str, style: &Style) -> String {
    if style.unicode {
        text.to_owned()
    } else {
        text.replace(" · ", "; ").replace('→', "->").replace('…', "...").replace(['“', '”'], "\"")
    }
}

/// A heading on a line of its own.
pub fn heading(text: &str, style: &Style) -> String {
    wrap(&words(text, style), style.columns(), style.columns())
        .iter()
        .map(|l| format!("{}\n", paint(l, Ink::Strong, style.colour)))
        .collect()
}

/// A paragraph behind a lead of so many spaces.
pub fn paragraph(indent: usize, text: &str, style: &Style) -> String {
    lead(&" ".repeat(indent), Ink::Quiet, text, style)
}

/// A paragraph behind a lead, the lead in an ink.
pub fn lead(lead: &str, ink: Ink, text: &str, style: &Style) -> String {
    let mut out = String::new();
    for (i, line) in hang(lead, &words(text, style), style.columns()).iter().enumerate() {
        match line.split_at_checked(lead.len()) {
            Some((head, rest)) if i == 0 => {
                let _ = writeln!(out, "{}{}", paint(head, ink, style.colour), rest.trim_end());
            }
            _ => {
                let _ = writeln!(out, "{}", line.trim_end());
            }
        }
    }
    out
}

/// Text behind a lead, with a quiet note at the right edge of its last line, or on a line of its own
/// where the text leaves no room.
pub fn noted(lead: &str, text: &str, note: &str, style: &Style) -> String {
    let width = style.columns();
    let note = cut(&words(note, style), width / 2, style.unicode);
    let mut lines = hang(lead, &words(text, style), width);
    if note.is_empty() {
        return lines.iter().map(|l| format!("{}\n", l.trim_end())).collect();
    }
    let last = lines.pop().unwrap_or_default();
    let mut out: String = lines.iter().map(|l| format!("{l}\n")).collect();
    let room = width.saturating_sub(columns(&note));
    let quiet = paint(&note, Ink::Quiet, style.colour);
    if columns(&last) + 2 <= room {
        let _ = writeln!(out, "{last}{}{quiet}", " ".repeat(room - columns(&last)));
    } else {
        let _ = writeln!(out, "{last}\n{}{quiet}", " ".repeat(room));
    }
    out
}

/// Journal lines in columns: place, day, and the text cut to one line each.
pub fn quotes(indent: usize, quotes: &[Quote], sources: &Sources, style: &Style) -> String {
    let places: Vec<String> = quotes.iter().map(|q| sources.place(q.loc)).collect();
    let widest = |texts: &mut dyn Iterator<Item = usize>| texts.max().unwrap_or(0);
    let place_columns = widest(&mut places.iter().map(|p| columns(p))).min(style.columns() / 3);
    let day_columns = widest(&mut quotes.iter().map(|q| columns(&q.day))).min(28);
    let mut out = String::new();
    for (quote, place) in quotes.iter().zip(&places) {
        let place = fit(place, place_columns, style);
        let day = fit(&quote.day, day_columns, style);
        let used = indent + place_columns + 2 + if day_columns > 0 { day_columns + 2 } else { 0 };
        let text = cut(&quote.text, style.columns().saturating_sub(used).max(8), style.unicode);
        let gap = if day_columns > 0 { "  " } else { "" };
        let line = format!(
            "{}{}  {}{gap}{text}",
            " ".repeat(indent),
            paint(&place, Ink::Quiet, style.colour),
            paint(&day, Ink::Quiet, style.colour),
        );
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out
}

/// A text cut and filled to exactly `width` columns.
fn fit(text: &str, width: usize, style: &Style) -> String {
    super::layout::pad(&cut(text, width, style.unicode), width)
}

/// How the line begins that tells the program what a table's rows mean; a reader sees that for himself.
const MEANING: &str = "Each row says:";

/// Markdown prose as plain paragraphs: soft breaks joined, list items hung under their marker, indented
/// blocks line by line, tables in columns or row by row; emphasis marks and backticks stay as they are written.
pub fn prose(indent: usize, markdown: &str, style: &Style) -> String {
    let mut out = String::new();
    let mut open = String::new();
    let flush = |open: &mut String, out: &mut String| {
        let text = std::mem::take(open);
        let marker = ["- ", "* "].into_iter().find(|m| text.starts_with(m)).unwrap_or("");
        if !text.is_empty() && !text.starts_with(MEANING) {
            let words = text.get(marker.len()..).unwrap_or_default();
            out.push_str(&lead(&format!("{}{marker}", " ".repeat(indent)), Ink::Quiet, words, style));
        }
    };
    let mut table: Vec<&str> = Vec::new();
    for line in markdown.lines().chain([""]) {
        let bare = line.trim();
        if bare.starts_with('|') {
            flush(&mut open, &mut out);
            table.push(bare);
            continue;
        }
        if !table.is_empty() {
            out.push_str(&super::table::rows(indent, &std::mem::take(&mut table), style));
        }
        let block = line.starts_with("    ") && open.is_empty();
        if bare.is_empty() {
            flush(&mut open, &mut out);
            if !out.is_empty() && !out.ends_with("\n\n") {
                out.push('\n');
            }
            continue;
        }
        if block {
            out.push_str(&paragraph(indent + 2, bare, style));
            continue;
        }
        if bare.starts_with("- ") || bare.starts_with("* ") {
            flush(&mut open, &mut out);
        }
        if !open.is_empty() {
            open.push(' ');
        }
        open.push_str(bare);
    }
    flush(&mut open, &mut out);
    out.truncate(out.trim_end().len());
    if !out.is_empty() {
        out.push('\n');
    }
    out
}
