//! What is known of the thing, verb or word under the pointer.
//!
//! Comes in: a check and a place. Goes out: Markdown that says what it is, where it began, what reached
//! it and where it went, what is said of it and what is to be done. It concludes nothing.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::{
    at::{self, Stands},
    phrase,
    round::Round,
    said,
};
use crate::{
    base::{
        diagnostic::Diagnostic,
        span::{FileId, Loc},
    },
    measure::{date, display},
    model::{
        diary::KnownThing,
        explanation::{Quote, Reach},
    },
    show::layout::count,
};

/// How many ends of a trace, and sentences about a word, are listed.
const LISTED: usize = 8;

/// The hover at a place.
pub fn hover(round: &Round, file: FileId, offset: u32) -> Option<Value> {
    let (text, loc) = match at::at(round, file, offset) {
        Some(Stands::Thing(known, loc)) => (thing(round, known, loc), loc),
        Some(Stands::Verb(frame, loc)) => (phrase::frame(frame), loc),
        Some(Stands::Word(word, loc)) => (self::word(round, &word)?, loc),
        Some(Stands::Code(code, loc)) => (page(round, &code)?, loc),
        None => finding(round, file, offset)?,
    };
    Some(json!({ "contents": { "kind": "markdown", "value": text }, "range": round.range(loc) }))
}

/// What a thing is, its share and lineage, what is said of it. What is said at this very place the editor
/// shows beside it.
fn thing(round: &Round, known: &KnownThing, at: Loc) -> String {
    let name = display::thing(&known.thing);
    let mut out = format!("**{}**\n", plain(&name));
    if let Ok(trace) = round.checked.trace(&name) {
        if let Some(began) = &trace.began {
            let _ = writeln!(out, "\n{}", quote(round, began));
        }
        for (title, list) in [("What reached it", &trace.backwards), ("Where it went", &trace.forwards)] {
            if !list.is_empty() {
                let _ = writeln!(out, "\n{title}\n");
                for reach in list.iter().take(LISTED) {
                    let _ = writeln!(out, "- {}", self::reach(reach));
                }
                if list.len() > LISTED {
                    let _ = writeln!(out, "- and {} more", list.len() - LISTED);
                }
            }
        }
        for says in &trace.balance {
            let _ = writeln!(out, "\n{}", plain(says));
        }
        if !trace.figures.is_empty() {
            let figures = count(trace.figures.len(), "figure", "figures");
            let text = format!("\n{figures} of tables went in, each with its source: `haulm trace --all`");
            let _ = writeln!(out, "{text}");
        }
    }
    let is_about = |about: &[String]| about.contains(&name);
    let stands_here = |f: &&Diagnostic| {
        let loc = f.primary.as_ref().map(|l| l.loc);
        loc.is_some_and(|l| l.file == at.file && l.span.start < at.span.end && at.span.start < l.span.end)
    };
    let findings = round.checked.report.findings.iter().filter(|f| is_about(&f.about));
    for finding in findings.filter(|f| !stands_here(f)) {
        let _ = writeln!(out, "\n---\n{}", of_finding(finding));
    }
    let open = round.checked.report.open_actions().filter(|a| is_about(&a.about));
    for action in open.take(LISTED) {
        let by = date::long(action.by);
        let _ = writeln!(out, "\nTo do by {by}: {} `{}`", plain(&action.words), action.code);
        for caution in &action.cautions {
            let _ = writeln!(out, "\nCaution: {}", plain(caution));
        }
    }
    out
}

fn reach(reach: &Reach) -> String {
    let amount = reach.amount.as_ref().map_or_else(String::new, |a| format!(", {a}"));
    let when = if reach.planned { "planned for" } else { "since" };
    plain(&format!("{}, {when} {}{amount}", reach.thing, reach.since))
}

fn quote(round: &Round, quote: &Quote) -> String {
    let place = round.checked.sources.place(quote.loc);
    let day = if quote.day.is_empty() { String::new() } else { format!("{}: ", quote.day) };
    format!("{day}`{}` ({})", quote.text.replace('`', "'"), plain(&place))
}

/// A word of the tables: its kind, its other spellings, and what the tables say of it.
fn word(round: &Round, word: &str) -> Option<String> {
    let book = round.checked.words(Some(word));
    let mut out = format!("**{}**\n", plain(word));
    for kind in &book.kinds {
        for (_, also) in kind.words.iter().filter(|(w, _)| w == word) {
            let also = if also.is_empty() { String::new() } else { format!(", also {}", also.join(", ")) };
            let _ = writeln!(out, "\n{}{}", plain(&kind.kind), plain(&also));
        }
    }
    let told = round.checked.told_of(word);
    if told.is_empty() && book.kinds.is_empty() {
        return None;
    }
    for row in told.iter().take(LISTED) {
        let source = row.source.as_ref().map_or_else(String::new, |s| format!(" ({s})"));
        let _ = writeln!(out, "\n- {}", plain(&format!("{}{source}", row.says)));
    }
    if told.len() > LISTED {
        let _ = writeln!(out, "\n- and {} more", told.len() - LISTED);
    }
    Some(out)
}

/// A page: what it notices and why it matters.
fn page(round: &Round, code: &str) -> Option<String> {
    let note = round.checked.page_note(code)?;
    let mut out = format!("**{code}**\n");
    for heading in ["What it notices", "Why it matters", "What to do"] {
        if let Some(prose) = note.section(heading) {
            let _ = writeln!(out, "\n*{heading}*\n\n{prose}");
        }
    }
    Some(out)
}

/// What is said at a place where nothing is named.
fn finding(round: &Round, file: FileId, offset: u32) -> Option<(String, Loc)> {
    let findings = round.checked.report.findings.iter();
    let here = findings.filter_map(|f| Some((f, f.primary.as_ref()?.loc)));
    let (finding, loc) =
        here.filter(|(_, loc)| at::holds(*loc, file, offset)).min_by_key(|(_, l)| l.span.len())?;
    let page = page(round, &finding.code).unwrap_or_default();
    Some((format!("{}\n\n---\n{page}", of_finding(finding)), loc))
}

fn of_finding(finding: &Diagnostic) -> String {
    let lines: Vec<String> = said::message(finding).lines().map(plain).collect();
    format!("`{}` {}", finding.code, lines.join("\n\n"))
}

/// Text whose marks Markdown would take for its own, shown as they are.
pub fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if "\\*_<>[]#|~".contains(c) {
            out.push('\\');
        }
        out.push(c);
    }
    out
}
