//! A file's outline, what can be folded, and names across all farms.
//!
//! Comes in: a check. Goes out: days with their entries, headings of pages, and things by name.

use serde_json::{Value, json};

use super::{at, round::Round};
use crate::{
    base::{
        name::fold,
        span::{FileId, Loc, Span},
    },
    measure::display,
    model::{entry::Entry, journal::BlockKind},
};

/// Symbol kinds of the protocol.
const MODULE: u8 = 2;
const OBJECT: u8 = 19;
const EVENT: u8 = 24;
/// The most names given for one question.
const MOST: usize = 400;

/// A heading, with the bytes from it to the next of its level or a higher one.
struct Section {
    level: usize,
    title: Span,
    span: Span,
}

/// The outline, nested where the client nests.
pub fn symbols(round: &Round, file: FileId, nested: bool) -> Value {
    let entries: Vec<&Entry> = round.checked.diary.entries.iter().filter(|e| e.loc.file == file).collect();
    let sections = sections(round, file);
    let within = |section: &Section, next: Option<&Section>, entry: &Entry| {
        let until = next.map_or(section.span.end, |n| n.title.start);
        section.title.start <= entry.loc.span.start && entry.loc.span.start < until
    };
    let mut out = Vec::new();
    for (n, section) in sections.iter().enumerate() {
        let here = entries.iter().filter(|e| within(section, sections.get(n + 1), e));
        let children: Vec<Value> = here.map(|e| entry(round, e, nested)).collect();
        let title = Loc::new(file, section.title);
        let name = named(round.checked.sources.slice(title), "heading");
        let whole = Loc::new(file, section.span);
        if nested {
            out.push(json!({ "name": name, "kind": MODULE, "range": round.range(whole),
                             "selectionRange": round.range(title), "children": children }));
        } else {
            out.push(json!({ "name": name, "kind": MODULE, "location": round.location(whole) }));
            out.extend(children);
        }
    }
    json!(out)
}

fn entry(round: &Round, entry: &Entry, nested: bool) -> Value {
    let text = round.checked.sources.slice(entry.loc);
    let name = named(text.lines().next().unwrap_or_default(), &entry.verb);
    if nested {
        json!({ "name": name, "detail": entry.verb, "kind": EVENT, "range": round.range(entry.loc),
                "selectionRange": round.range(entry.verb_loc) })
    } else {
        json!({ "name": name, "kind": EVENT, "location": round.location(entry.loc) })
    }
}

/// A symbol's name may not be empty.
fn named(text: &str, otherwise: &str) -> String {
    let text = text.trim();
    if text.is_empty() { otherwise.to_owned() } else { text.to_owned() }
}

/// Things of all farms whose name has what was typed in it.
pub fn things(rounds: &[&Round], typed: &str) -> Value {
    let typed = fold(typed);
    let mut out = Vec::new();
    for round in rounds {
        for known in &round.checked.diary.things {
            let name = display::thing(&known.thing);
            let Some((mention, _)) = known.began.or_else(|| known.mentions.first().copied()) else {
                continue;
            };
            if !fold(&name).contains(&typed) || out.len() >= MOST {
                continue;
            }
            let loc = at::name_in(round, mention, &known.thing).unwrap_or(mention);
            if let Some(location) = round.location(loc) {
                out.push(json!({ "name": name, "kind": OBJECT, "location": location,
                                 "containerName": known.thing.kind }));
            }
        }
    }
    json!(out)
}

/// What can be folded: each section of more than one line.
pub fn folds(round: &Round, file: FileId) -> Value {
    let lines = round.lines(file);
    let text = round.text(file);
    let folds = sections(round, file).into_iter().filter_map(|section| {
        let start = lines.position(text, section.span.start as usize, round.encoding).line;
        let whole = text.get(section.span.range())?;
        // Blank lines before the next heading stay in sight.
        let end = section.span.start as usize + whole.trim_end().len();
        let end = lines.position(text, end, round.encoding).line;
        (end > start).then(|| json!({ "startLine": start, "endLine": end, "kind": "region" }))
    });
    json!(folds.collect::<Vec<_>>())
}

/// The sections of a file, in order.
fn sections(round: &Round, file: FileId) -> Vec<Section> {
    let text = round.text(file);
    let headings: Vec<(usize, Span, Span)> = if round.is_journal(file) {
        let blocks = round.checked.cut(file).blocks;
        let headings = blocks.iter().filter_map(|block| match block.kind {
            BlockKind::Heading { level, text } => Some((usize::from(level), text, block.span)),
            _ => None,
        });
        headings.collect()
    } else {
        page_headings(text)
    };
    let end_of = |n: usize, level: usize| {
        let next = headings.iter().skip(n + 1).find(|(l, ..)| *l <= level);
        next.map_or(text.len(), |(_, _, span)| span.start as usize)
    };
    let sections = headings.iter().enumerate().map(|(n, (level, title, span))| Section {
        level: *level,
        title: *title,
        span: Span::new(span.start as usize, end_of(n, *level)),
    });
    sections.filter(|s| s.level > 0).collect()
}

/// The headings of a page, those within fences left out.
fn page_headings(text: &str) -> Vec<(usize, Span, Span)> {
    let mut at = 0;
    let mut fenced = false;
    let mut found = Vec::new();
    for line in text.split_inclusive('\n') {
        let start = at;
        at += line.len();
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
        }
        let level = line.bytes().take_while(|b| *b == b'#').count();
        let title = line.get(level..).unwrap_or("").trim();
        if !fenced && (1..=6).contains(&level) && line.as_bytes().get(level) == Some(&b' ') {
            let from = start + line.find(title).unwrap_or(0);
            found.push((level, Span::new(from, from + title.len()), Span::new(start, at)));
        }
    }
    found
}
