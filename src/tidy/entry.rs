//! One entry: its marker, its checkbox, the spaces within it, and the indent of the lines it goes on in.
//!
//! Comes in: the text of an item that was understood. Goes out: changes. Quotes, remarks in brackets and
//! free words keep every byte.

use super::lists::{self, Place};
use crate::{
    base::span::Span,
    model::{
        change::Change,
        frame::{Frames, Lead},
        journal::{Item, PieceKind},
    },
};

/// The changes of an entry.
pub fn changes(
    source: &str,
    block: Span,
    body: Span,
    ticked: Option<bool>,
    item: &Item,
    frames: &Frames,
    place: Place,
) -> Vec<Change> {
    let mut out = Vec::new();
    let indent = opening(source, block, body, ticked, place, &mut out);
    spaces(source, item, frames, &mut out);
    lines(source, block, indent.as_deref(), &mut out);
    out.sort();
    out
}

/// The marker and the checkbox. Gives the indent of the lines the entry goes on in, if it may be evened.
fn opening(
    source: &str,
    block: Span,
    body: Span,
    ticked: Option<bool>,
    place: Place,
    out: &mut Vec<Change>,
) -> Option<String> {
    let whole = source.get(block.start as usize..body.start as usize)?;
    let plain = whole.trim_start_matches('\u{feff}');
    let start = block.start as usize + (whole.len() - plain.len());
    let rest = plain.trim_start();
    let indent = plain.get(..plain.len() - rest.len())?;
    let mark = rest.get(..rest.find(|c: char| c.is_whitespace() || c == '[').unwrap_or(rest.len()))?;
    let after = rest.get(mark.len()..)?;
    let gap = after.get(..after.len() - after.trim_start().len())?;
    let is_numbered = mark.starts_with(|c: char| c.is_ascii_digit());
    let new_mark = if mark.is_empty() || place.among_entries && !is_numbered { "-" } else { mark };
    // A wide gap may set the column that nested lines keep to, and a very wide one makes code of the text.
    let is_wide = !matches!(gap, "" | " " | "  " | "   " | "    " | "\t");
    let evened = !is_wide && place.alone;
    let new_gap = if evened || gap.is_empty() { " " } else { gap };
    let boxed = match ticked {
        Some(true) => "[x] ",
        Some(false) => "[ ] ",
        None => "",
    };
    let text = format!("{indent}{new_mark}{new_gap}{boxed}");
    out.push(Change { span: Span::new(start, body.start as usize), text });
    let column = new_mark.chars().count() + new_gap.len();
    // Only spaces and tabs indent a line: a wider blank before the marker is met by a plain one.
    let margin = indent.replace(|c| c != ' ' && c != '\t', " ");
    (new_gap == " ").then(|| format!("{margin}{}", " ".repeat(column)))
}

/// Spaces between the parts of the entry, up to its free words.
fn spaces(source: &str, item: &Item, frames: &Frames, out: &mut Vec<Change>) {
    let body = item.loc.span;
    let is_free = frames
        .get(&item.verb)
        .is_none_or(|frame| frame.slots.iter().any(|slot| slot.leads.contains(&Lead::Rest)));
    let words_begin = item.pieces.iter().find(|p| matches!(p.kind, PieceKind::Colon | PieceKind::Unclosed));
    let stop = match words_begin {
        _ if is_free => item.verb_loc.span.end,
        Some(piece) => piece.span.start,
        None => body.end,
    };
    let mut kept: Vec<Span> = vec![item.verb_loc.span];
    kept.extend(item.pieces.iter().map(|p| p.span));
    kept.extend(item.remarks.iter().map(|r| r.loc.span));
    kept.push(Span { start: stop, end: body.end.max(stop) });
    kept.sort();
    let mut at = body.start;
    for span in kept {
        if span.start > at {
            between(source, Span { start: at, end: span.start.min(stop) }, out);
        }
        at = at.max(span.end);
        if at >= stop {
            break;
        }
    }
}

/// Runs of spaces and tabs between two parts, those at the ends of lines left out.
fn between(source: &str, gap: Span, out: &mut Vec<Change>) {
    let is_blank = |c: char| c == ' ' || c == '\t';
    let text = source.get(gap.range()).unwrap_or("");
    let mut at = 0;
    while let Some(from) = text.get(at..).and_then(|rest| rest.find(is_blank)).map(|n| at + n) {
        let rest = text.get(from..).unwrap_or("");
        let length = rest.find(|c| !is_blank(c)).unwrap_or(rest.len());
        at = from + length;
        let (start, end) = (gap.start as usize + from, gap.start as usize + at);
        let before = source.get(..start).unwrap_or("").chars().next_back();
        let mut after = source.get(end..).unwrap_or("").chars();
        let (next, one_on) = (after.next(), after.next());
        let at_an_end = |c: Option<char>| c.is_none_or(|c| c == '\n' || c == '\r');
        if at_an_end(before) || at_an_end(next) {
            continue;
        }
        // A comma stands close to what is before it, and away from what is after it.
        let is_stop = |c: Option<char>| matches!(c, Some(',' | ';'));
        if is_stop(next) && !is_stop(before) && !is_stop(one_on) {
            out.push(Change { span: Span::new(start, end), text: String::new() });
            if one_on.is_some_and(|c| !c.is_whitespace()) {
                out.push(Change { span: Span::new(end + 1, end + 1), text: " ".to_owned() });
            }
        } else {
            out.push(Change { span: Span::new(start, end), text: " ".to_owned() });
        }
    }
}

/// The ends of the lines, and the indents of those after the first.
fn lines(source: &str, block: Span, indent: Option<&str>, out: &mut Vec<Change>) {
    let text = source.get(block.range()).unwrap_or("");
    let count = text.split_inclusive('\n').count();
    let mut at = block.start as usize;
    for (n, raw) in text.split_inclusive('\n').enumerate() {
        let start = at;
        at += raw.len();
        let line = raw.trim_end_matches('\n').trim_end_matches('\r');
        if let Some(indent) = indent.filter(|_| n > 0) {
            let shown = line.trim_start();
            let begins = start + (line.len() - shown.len());
            if lists::indent(line) > 0 && !shown.is_empty() {
                out.push(Change { span: Span::new(start, begins), text: indent.to_owned() });
            }
        }
        let kept = line.trim_end_matches([' ', '\t']);
        let blank = line.get(kept.len()..).unwrap_or("");
        // Two spaces before another line are Markdown's own way to break it.
        let breaks = blank.ends_with("  ") && n + 1 < count;
        if !blank.is_empty() && !breaks {
            out.push(Change { span: Span::new(start + kept.len(), start + line.len()), text: String::new() });
        }
    }
}
