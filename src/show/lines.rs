//! Lines that several texts share: headings, quoted journal lines, a note at the right edge.
//!
//! Comes in: words and a [`Style`]. Goes out: lines that fit it. It knows no commands.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, cut, hang, wrap},
    markup::Marked,
    paint::{Ink, paint},
};
use crate::{base::source::Sources, model::explanation::Quote};

/// Text for people: commands in it name the journal, and typographic signs of ours are plain characters where that
/// is asked.
pub fn words(text: &str, style: &Style) -> String {
    let text = style.commands(text);
    if style.unicode {
        text
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

/// Where the reasons and the sources of a code are.
pub fn keys(style: &Style) -> String {
    let (why, page) = (style.command("why CODE"), style.command("rules show CODE"));
    paragraph(0, &format!("→ {why}: the reasons; {page}: where its figures come from"), style)
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

/// Markdown behind a lead, what it stresses in italics and bold where colours are on.
pub fn marked(lead: &str, markdown: &str, style: &Style) -> String {
    let marked = Marked::read(&words(markdown, style));
    let width = style.columns();
    let mut inks = marked.inks.iter();
    let mut out = String::new();
    for line in hang(lead, &marked.text, width) {
        let (head, rest) = line.split_at_checked(lead.len()).unwrap_or(("", &line));
        let _ = writeln!(out, "{head}{}", inked(rest, &mut inks, style));
    }
    out
}

/// Runs of letters in their inks: there is one for each letter that is no white space.
fn inked<'i>(line: &str, inks: &mut impl Iterator<Item = &'i Option<Ink>>, style: &Style) -> String {
    let mut out = String::new();
    let (mut run, mut ink) = (String::new(), None);
    for c in line.trim_end().chars() {
        if !c.is_whitespace() {
            let next = inks.next().copied().flatten();
            if next != ink {
                out.push_str(&in_ink(&std::mem::take(&mut run), ink, style));
                ink = next;
            }
        }
        run.push(c);
    }
    out + &in_ink(&run, ink, style)
}

/// A run in its ink, the white space after it left as it is.
fn in_ink(run: &str, ink: Option<Ink>, style: &Style) -> String {
    let Some(ink) = ink else { return run.to_owned() };
    let words = run.trim_end();
    format!("{}{}", paint(words, ink, style.colour), run.get(words.len()..).unwrap_or(""))
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

/// The bytes of a list marker (`- `, `2. `) and the space after it.
fn marker(text: &str) -> usize {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let after = text.get(digits..).unwrap_or("");
    match digits {
        0 if ["- ", "* ", "+ "].iter().any(|m| text.starts_with(m)) => 2,
        1..=3 if after.starts_with(". ") || after.starts_with(") ") => digits + 2,
        _ => 0,
    }
}

/// A text cut and filled to exactly `width` columns.
fn fit(text: &str, width: usize, style: &Style) -> String {
    super::layout::pad(&cut(text, width, style.unicode), width)
}

/// How the line begins that tells the program what a table's rows mean; a reader sees that for himself.
const MEANING: &str = "Each row says:";

/// Markdown prose as plain paragraphs: soft breaks joined, list items hung under their marker, indented
/// blocks line by line, tables in columns or row by row. Stress is drawn, not spelt; backticks stay, as they
/// tell what to write.
pub fn prose(indent: usize, markdown: &str, style: &Style) -> String {
    let mut out = String::new();
    let mut open = String::new();
    let flush = |open: &mut String, out: &mut String| {
        let text = std::mem::take(open);
        let (marker, words) = text.split_at_checked(marker(&text)).unwrap_or(("", &text));
        if !text.is_empty() && !text.starts_with(MEANING) {
            out.push_str(&marked(&format!("{}{marker}", " ".repeat(indent)), words, style));
        }
    };
    let mut table: Vec<&str> = Vec::new();
    for line in markdown.lines().chain([""]) {
        let bare = line.trim().trim_start_matches("> ");
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
        if let Some(title) = bare.strip_prefix('#') {
            flush(&mut open, &mut out);
            out.push_str(&marked(&" ".repeat(indent), title.trim_start_matches('#').trim(), style));
            continue;
        }
        if marker(bare) > 0 {
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
