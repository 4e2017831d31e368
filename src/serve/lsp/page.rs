//! Rule pages: which sentence stands at a place, what it is, where it is declared and who else says it.
//!
//! Comes in: a check and a place on a page. Goes out: places and Markdown. It compiles nothing.

use std::{collections::BTreeSet, fmt::Write as _};

use lsp_types::Location;
use serde_json::{Value, json};

use super::{at::holds, hover::plain, round::Round};
use crate::{
    base::span::{FileId, Loc, Span},
    measure::display,
    model::{
        page::{Page, Passage},
        program::{Demand, FactSource, Meaning, Rule},
        sentence::{Origin, Sentence, SentenceId},
    },
};

/// How many pages, and tuples, are listed.
const LISTED: usize = 6;

/// A sentence at a place, and the words that say it there.
struct Said<'a> {
    id: SentenceId,
    sentence: &'a Sentence,
    loc: Loc,
}

/// What the sentence at a place is: where it is declared, who says it, who reads it, what holds now.
pub fn hover(round: &Round, file: FileId, offset: u32) -> Option<Value> {
    let said = at(round, file, offset)?;
    let text = about(round, &said);
    Some(json!({ "contents": { "kind": "markdown", "value": text }, "range": round.range(said.loc) }))
}

/// Where the sentence at a place is declared.
pub fn definition(round: &Round, file: FileId, offset: u32) -> Option<Location> {
    round.location(at(round, file, offset)?.sentence.loc)
}

/// Every line of a page that says or reads the sentence at a place, and its declaration.
pub fn references(round: &Round, file: FileId, offset: u32) -> Vec<Location> {
    let Some(said) = at(round, file, offset) else { return Vec::new() };
    let mut places: BTreeSet<Loc> = BTreeSet::from([said.sentence.loc]);
    for rule in &round.checked.program.rules {
        places.extend(rule.body.iter().filter(|l| read(&l.demand) == Some(said.id)).map(|l| l.loc));
        if says(rule) == Some(said.id) {
            places.insert(rule.loc);
        }
    }
    places.into_iter().filter_map(|loc| round.location(loc)).collect()
}

fn at(round: &Round, file: FileId, offset: u32) -> Option<Said<'_>> {
    let program = &round.checked.program;
    let found =
        |id: SentenceId, loc: Loc| Some(Said { id, sentence: program.sentences.get(id.0 as usize)?, loc });
    let rule = program.rules.iter().find(|r| holds(r.loc, file, offset));
    if let Some(line) = rule.and_then(|r| r.body.iter().find(|l| holds(l.loc, file, offset))) {
        return found(read(&line.demand)?, line.loc);
    }
    let page = round.checked.pages.iter().find(|p| p.file == file)?;
    let (loc, text) = said_at(round, page, offset)?;
    let id = round.checked.sentences_said(loc, &text).into_iter().next()?;
    found(id, loc)
}

/// The words at a place of a page that say a sentence, what a rule says before and after them left out.
fn said_at(round: &Round, page: &Page, offset: u32) -> Option<(Loc, String)> {
    let here = |p: &&Passage| holds(p.loc, page.file, offset);
    let declared = page.declarations.iter().map(|d| &d.line).find(here);
    let told = page.tables.iter().flat_map(|t| &t.says).find(here);
    if let Some(whole) = declared.or(told) {
        let untyped = without_types(&cut(&whole.text, "(only one"));
        return Some((whole.loc, untyped));
    }
    let lines = page.rules.iter().flat_map(|r| &r.lines);
    let line = lines.chain(page.examples.iter().flat_map(|e| &e.expected)).find(here)?;
    let text = round.checked.sources.slice(line.loc);
    // `until` is followed by a sentence; before it stands what is to be done.
    let from = text.find(", until ").map(|n| n + ", until ".len());
    let until = from.filter(|from| line.loc.span.start as usize + from <= offset as usize);
    let words = match until {
        Some(from) => text.get(from..)?,
        None => bare(text),
    };
    let start = line.loc.span.start as usize + text.find(words)?;
    Some((Loc::new(page.file, Span::new(start, start + words.len())), words.to_owned()))
}

/// The sentence of a line of a rule or of an expectation.
fn bare(line: &str) -> &str {
    let mut rest = line.trim();
    for word in ["if", "and", "then", "not", "says", "no"] {
        let after = rest.strip_prefix(word).filter(|after| after.starts_with(char::is_whitespace));
        rest = after.map_or(rest, str::trim_start);
    }
    if let Some(at) = rest.find(" such that ") {
        rest = rest.get(at + " such that ".len()..).unwrap_or(rest);
    }
    for end in [", with ", "(here)", "(planned)", "(done or planned)", "(entry "] {
        rest = rest.find(end).and_then(|at| rest.get(..at)).unwrap_or(rest);
    }
    rest.trim()
}

fn cut(text: &str, end: &str) -> String {
    text.find(end).and_then(|at| text.get(..at)).unwrap_or(text).trim().to_owned()
}

/// `{day:date}` as `{day}`.
fn without_types(text: &str) -> String {
    let mut out = String::new();
    let mut typed = false;
    let mut within = false;
    for c in text.chars() {
        match c {
            '{' => within = true,
            '}' => (within, typed) = (false, false),
            ':' if within => typed = true,
            _ => {}
        }
        if !typed {
            out.push(c);
        }
    }
    out
}

fn read(demand: &Demand) -> Option<SentenceId> {
    match demand {
        Demand::Holds(atom) | Demand::No { atom, .. } | Demand::Gather { atom, .. } => Some(atom.sentence),
        Demand::Compute { .. } | Demand::Compare(_) => None,
    }
}

fn says(rule: &Rule) -> Option<SentenceId> {
    (rule.meaning == Meaning::Sentence).then_some(rule.head.sentence)
}

fn about(round: &Round, said: &Said<'_>) -> String {
    let checked = &round.checked;
    let mut out = format!("**{}**\n", plain(&typed(said.sentence)));
    let place = |loc: Loc| {
        let line = plain(&checked.sources.place(loc));
        let page = checked.pages.iter().find(|p| p.file == loc.file);
        page.map_or_else(|| line.clone(), |page| format!("{} ({line})", plain(&page.code)))
    };
    let _ = writeln!(out, "\ndeclared at {}", place(said.sentence.loc));
    match &said.sentence.origin {
        Origin::Journal => {
            let _ = writeln!(out, "\nsaid by entries of the journal");
        }
        Origin::Reckoned(name) => {
            let _ = writeln!(out, "\nreckoned by `{name}`");
        }
        Origin::Page | Origin::Head => {}
    }
    let rules = &checked.program.rules;
    let named = |rules: Vec<&Rule>| -> String {
        let names: BTreeSet<String> =
            rules.iter().map(|r| format!("rule {} of {}", r.number, plain(&r.page))).collect();
        listed(names)
    };
    let concludes: Vec<&Rule> = rules.iter().map(|r| &**r).filter(|r| says(r) == Some(said.id)).collect();
    let reads: Vec<&Rule> = rules
        .iter()
        .map(|r| &**r)
        .filter(|r| r.body.iter().any(|l| read(&l.demand) == Some(said.id)))
        .collect();
    let rows = checked.program.facts.iter().filter(|f| f.sentence == said.id);
    let pages: BTreeSet<String> = rows
        .filter_map(|f| match f.source {
            FactSource::Page(loc) => Some(plain(&checked.sources.file(loc.file).path)),
            FactSource::Entry(_) | FactSource::Given => None,
        })
        .collect();
    for (title, names) in
        [("concluded by", named(concludes)), ("listed in", listed(pages)), ("read by", named(reads))]
    {
        if !names.is_empty() {
            let _ = writeln!(out, "\n{title} {names}");
        }
    }
    let now: Vec<String> = checked
        .model
        .every(said.id)
        .take(LISTED)
        .map(|row| {
            let values: Vec<String> =
                checked.model.values(row).map(|v| display::value(v, &checked.diary.units)).collect();
            said.sentence.filled(|n| values.get(n).cloned().unwrap_or_default())
        })
        .collect();
    let count = checked.model.every(said.id).count();
    let _ = writeln!(out, "\nholds {count} {} in this journal\n", if count == 1 { "time" } else { "times" });
    for one in now {
        let _ = writeln!(out, "- {}", plain(&one));
    }
    out
}

fn listed(names: BTreeSet<String>) -> String {
    let more = names.len().saturating_sub(LISTED);
    let mut out: Vec<String> = names.into_iter().take(LISTED).collect();
    if more > 0 {
        out.push(format!("{more} more"));
    }
    out.join(", ")
}

/// A sentence with what its blanks take.
fn typed(sentence: &Sentence) -> String {
    sentence.filled(|n| sentence.blanks.get(n).map_or_else(String::new, |b| format!("{{{}}}", b.name)))
}
