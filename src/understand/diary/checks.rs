//! What a grower should mend in entries that can be read: days, names, counts.
//!
//! Comes in: entries and things. Goes out: diagnostics, each with one right line. Nothing is changed
//! here but counts that cannot be meant, which are left out.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    base::{
        diagnostic::{Diagnostic, Label, RemarkKind, Severity},
        name::{find_name, fold, nearest},
        source::Sources,
        span::Loc,
    },
    measure::{
        date::{Days, long, words},
        display,
        value::Value,
    },
    model::{
        entry::{Entry, Filler},
        frame::{FrameKind, Takes},
        program::{Fact, FactSource, Given},
    },
    understand::{lexicon::kinds::kind_word, registry},
};

use super::{Context, is_plan, things::Named};

/// Whether an entry stands under a day, or may do without one.
pub fn dated(e: &Entry, cx: &Context<'_>, said: &mut Vec<Diagnostic>) -> bool {
    if e.days.is_some() || cx.frames.get(&e.verb).is_none_or(|f| f.kind == FrameKind::Place) {
        return true;
    }
    said.push(
        Diagnostic::new(
            "undated-entry",
            Severity::Error,
            format!("`{}` stands under no day, so it is kept out", first_words(cx.text(e.loc))),
        )
        .at(e.verb_loc, "on which day?")
        .remark(RemarkKind::Write, format!("## {}", cx.today)),
    );
    false
}

fn first_words(text: &str) -> String {
    let line = text.lines().next().unwrap_or("").trim();
    let short: String = line.chars().take(40).collect();
    if short.len() < line.len() { format!("{short}…") } else { short }
}

/// Days that stand below a later one in the same file, once for each step back.
pub fn order(entries: &[Entry], kept: &[bool], said: &mut Vec<Diagnostic>) {
    let mut before: Option<&Entry> = None;
    for (e, _) in entries.iter().zip(kept).filter(|(e, kept)| **kept && e.days.is_some()) {
        if let (Some(last), Some(days)) = (before.filter(|b| b.loc.file == e.loc.file), e.days)
            && let Some(previous) = last.days.filter(|p| days.last < p.first)
        {
            said.push(
                Diagnostic::new(
                    "days-out-of-order",
                    Severity::Hint,
                    format!("{} stands below {}; both count on their own day", words(days), words(previous)),
                )
                .at(e.verb_loc, "is the date right?")
                .also(last.verb_loc, words(previous)),
            );
        }
        before = Some(e);
    }
}

/// Things never begun, or used before they began.
pub fn things(things: &[Named], counting: &[Entry], cx: &Context<'_>, said: &mut Vec<Diagnostic>) {
    let days: BTreeMap<u32, &Entry> = counting.iter().map(|e| (e.id.0, e)).collect();
    let surveyed = things.iter().any(|t| t.is_ground() && t.known.began.is_some());
    for t in things {
        let thing = &t.known.thing;
        let shown = display::thing(thing);
        if t.known.began.is_none() {
            if t.needs_beginning(surveyed) {
                said.push(unknown(t, things, &shown, cx));
            }
            continue;
        }
        for (loc, again) in &t.declared_again {
            let d = if &*thing.kind == "lot" {
                let message = format!(
                    "{shown} comes in twice, and both loads count as one; give the second its own name"
                );
                Diagnostic::new("declared-twice", Severity::Warn, message).fix(
                    format!("call it {}-2", thing.name),
                    *loc,
                    format!("{shown}-2"),
                )
            } else {
                Diagnostic::new("declared-twice", Severity::Hint, format!("{shown} is declared twice"))
            };
            said.push(d.at(*loc, "again").also(*again, "first here").about(shown.clone()));
        }
        let Some((began_loc, began)) = t.first_dated else { continue };
        for (loc, id) in &t.known.mentions {
            let Some(e) = days.get(&id.0) else { continue };
            let Some(d) = e.days.filter(|d| d.last < began.first) else { continue };
            said.push(
                Diagnostic::new(
                    "used-before-it-existed",
                    Severity::Warn,
                    format!("{shown} is named on {}, but it begins on {}", words(d), words(began)),
                )
                .at(*loc, "before it was there")
                .also(began_loc, "here it begins")
                .about(shown.clone()),
            );
            break;
        }
    }
}

/// Points at the line that would have begun a thing, where that line could not be read: there is the reason, and not where
/// the thing is named.
pub fn begun_unread(said: &mut [Diagnostic], sources: &Sources) {
    let begun = |d: &Diagnostic| {
        let loc = d.primary.as_ref().map(|label| label.loc);
        d.begins.iter().filter_map(|name| Some((name.clone(), loc?))).collect::<Vec<_>>()
    };
    let lines: Vec<(String, Loc)> = said.iter().flat_map(begun).collect();
    for d in said.iter_mut().filter(|d| &*d.code == "unknown-name") {
        let Some((shown, loc)) = lines.iter().find(|(shown, _)| d.about.first() == Some(shown)) else {
            continue;
        };
        d.message = format!("{shown} is not known: {} begins it, and could not be read", sources.place(*loc));
        d.remarks.clear();
        d.fixes.clear();
        d.secondary.insert(0, Label { loc: *loc, text: "mend this line first".to_owned() });
    }
}

fn unknown(t: &Named, things: &[Named], shown: &str, cx: &Context<'_>) -> Diagnostic {
    let thing = &t.known.thing;
    if kind_word(&thing.name).is_some() {
        return unnamed(t, shown);
    }
    let same_sort: Vec<&Named> = things
        .iter()
        .filter(|o| o.known.began.is_some() && o.is_ground() == t.is_ground())
        .filter(|o| t.is_ground() || o.known.thing.kind == thing.kind)
        .collect();
    let near = nearest(&thing.name, same_sort.iter().map(|o| &*o.known.thing.name));
    let known = near.and_then(|n| same_sort.iter().find(|o| &*o.known.thing.name == n));
    let begun = if known.is_none() { begun_alike(&thing.name, &same_sort) } else { Vec::new() };
    let how = match &*thing.kind {
        "lot" => "has come in",
        "bed" | "field" | "path" | "room" | "heap" => "is declared",
        "test" => "was potted",
        _ => "was begun",
    };
    let mut message = format!("no {shown} {how}");
    if let Some(o) = known {
        let since = match o.first_dated {
            Some((_, d)) => format!(" (since {})", long(d.first)),
            None => String::new(),
        };
        message.push_str(&format!(". Did you mean `{}`{since}?", o.known.thing.name));
    }
    if let Some((last, others)) = begun.split_last() {
        let others: Vec<String> = others.iter().map(|name| format!("`{name}`")).collect();
        let or = if others.is_empty() { "" } else { " or " };
        message.push_str(&format!(". Did you mean {}{or}`{last}`?", others.join(", ")));
    }
    let is_new = t.is_ground() && known.is_none() && begun.is_empty();
    let severity = if is_new { Severity::Hint } else { Severity::Warn };
    let mut d = Diagnostic::new("unknown-name", severity, message).about(shown.to_owned());
    for (n, (loc, _)) in t.known.mentions.iter().enumerate() {
        d = if n == 0 { d.at(*loc, "not known") } else { d.also(*loc, "") };
        if let Some(o) = known {
            let text = cx.text(*loc);
            let Some((start, end)) = find_name(text, &thing.name) else { continue };
            let (lead, tail) = (text.get(..start).unwrap_or(""), text.get(end..).unwrap_or(""));
            d = d.fix(
                format!("write {}", o.known.thing.name),
                *loc,
                format!("{lead}{}{tail}", o.known.thing.name),
            );
        }
    }
    if let Some((loc, _)) = t.known.mentions.first() {
        for name in &begun {
            let lead = cx.text(*loc).strip_suffix(&*thing.name).unwrap_or("");
            d = d.fix(format!("write {name}"), *loc, format!("{lead}{name}"));
        }
    }
    // A name that ends in a dash is none to begin anything with.
    if !begun.is_empty() && thing.name.ends_with(|c: char| !c.is_alphanumeric()) {
        return d;
    }
    let write = beginning(&thing.kind, &thing.name, cx);
    match write {
        Some(write) => d.remark(RemarkKind::Write, write),
        None => d,
    }
}

/// How many names are offered for one that was written in part.
const OFFERED: usize = 3;

/// `b-`: the known names that a name written in part begins, in the order people count.
fn begun_alike<'a>(written: &str, known: &[&'a Named]) -> Vec<&'a str> {
    let due = fold(written);
    let mut names: Vec<&str> = known
        .iter()
        .map(|o| &*o.known.thing.name)
        .filter(|name| fold(name).strip_prefix(&*due).is_some_and(|rest| rest.starts_with(' ')))
        .collect();
    names.sort_by_key(|name| (name.chars().count(), *name));
    names.truncate(OFFERED);
    names
}

/// One right line that would begin a thing of this kind: the example of the first frame that takes a
/// new name of it, with this name put in.
fn beginning(kind: &str, name: &str, cx: &Context<'_>) -> Option<String> {
    let takes_new = |t: &Takes| matches!(t, Takes::New(Some(k)) if &**k == kind);
    let frame = cx
        .frames
        .frames
        .iter()
        .find(|f| &*f.verb == kind || f.slots.iter().any(|s| s.takes.iter().any(takes_new)))
        .or_else(|| cx.frames.frames.iter().find(|f| f.example.contains(&format!(" as {kind} "))))?;
    let lead = format!("{kind} ");
    let at = if frame.example.starts_with(&lead) {
        lead.len()
    } else {
        frame.example.find(&format!(" as {lead}"))? + " as ".len() + lead.len()
    };
    let (before, after) = (frame.example.get(..at)?, frame.example.get(at..)?);
    let end = after.find([' ', ',', ':', ';']).unwrap_or(after.len());
    Some(format!("- {before}{name}{}", after.get(end..)?))
}

/// `sowed tomato in tray`: a kind of thing, and none of them by name.
fn unnamed(t: &Named, shown: &str) -> Diagnostic {
    let kind = &t.known.thing.name;
    let message = format!("`{kind}` alone could be any: give it a name, and say the same name next time");
    let mut d = Diagnostic::new("unknown-name", Severity::Hint, message).about(shown.to_owned());
    for (n, (loc, _)) in t.known.mentions.iter().enumerate() {
        d = if n == 0 { d.at(*loc, format!("which {kind}?")) } else { d.also(*loc, "") };
    }
    d.remark(RemarkKind::Write, format!("…{kind} first"))
}

/// Counts over several places are one count; a count over two crops cannot be meant and is left out.
pub fn counts(counting: &mut [Entry], cx: &Context<'_>, said: &mut Vec<Diagnostic>) {
    let counted = |f: &Filler| matches!(f, Filler::CountOf { .. } | Filler::Grades(_));
    for e in counting {
        if !e.groups.iter().flat_map(|g| &g.slots).any(|f| counted(&f.filler)) {
            continue;
        }
        for g in Arc::make_mut(&mut e.groups) {
            let Some(loc) = g.slots.iter().find(|f| counted(&f.filler)).map(|f| f.loc) else { continue };
            if g.get("crop").count() > 1 {
                said.push(
                    Diagnostic::new(
                        "counted-across-crops",
                        Severity::Error,
                        "one count cannot hold for two crops; it is left out",
                    )
                    .at(loc, "of which crop?")
                    .remark(RemarkKind::Write, "…on one, 7 of 12 plants; on the other, 3 of 9 plants"),
                );
                g.slots.retain(|f| !counted(&f.filler));
                continue;
            }
            let places: Vec<&str> = g.get("place").map(|f| cx.text(f.loc)).collect();
            if places.len() > 1 {
                said.push(
                    Diagnostic::new(
                        "counted-together",
                        Severity::Hint,
                        format!("`{}` covers {} together", cx.text(loc), places.join(" and ")),
                    )
                    .at(loc, "one count for all of them")
                    .remark(RemarkKind::Write, "…in north-1, 7 of 12 plants; in north-2, 3 of 12 plants"),
                );
            }
        }
    }
}

/// Circles found last time, and the facts they were found in.
#[derive(Debug, Clone, Default)]
pub struct Circles {
    facts: Vec<Arc<Fact>>,
    found: Vec<(Days, Vec<Value>)>,
}

impl Circles {
    /// Things between which stuff went round in a circle on one day.
    fn of(&mut self, facts: &[Arc<Fact>], cx: &Context<'_>) -> &[(Days, Vec<Value>)] {
        let lineage = |f: &&Arc<Fact>| cx.phrases.lineage.contains_key(&f.sentence);
        if !self.facts.iter().eq(facts.iter().filter(lineage)) {
            self.facts = facts.iter().filter(lineage).cloned().collect();
            let given = self.facts.iter().filter_map(|f| {
                Some(Given {
                    input: *cx.phrases.lineage.get(&f.sentence)?,
                    values: &f.values,
                    entry: match f.source {
                        FactSource::Entry(e) => Some(e),
                        _ => None,
                    },
                    planned: f.planned,
                })
            });
            self.found = registry::circles(&given.collect::<Vec<_>>());
        }
        &self.found
    }
}

/// Stuff that went round in a circle on one day: which came first cannot be told.
pub fn circles(
    facts: &[Arc<Fact>],
    cx: &Context<'_>,
    entries: &[Entry],
    known: &mut Circles,
    said: &mut Vec<Diagnostic>,
) {
    let mut told = BTreeSet::new();
    for (days, round) in known.of(facts, cx) {
        let days = *days;
        let names: Vec<String> = round
            .iter()
            .map(|v| match v {
                Value::Thing(t) => display::thing(t),
                Value::Word(w) => w.to_string(),
                _ => String::new(),
            })
            .collect();
        // One circle may be gone round by several ways.
        if !told.insert((days, names.iter().cloned().collect::<BTreeSet<String>>())) {
            continue;
        }
        let mut d = Diagnostic::new(
            "round-in-a-circle",
            Severity::Hint,
            format!(
                "on {} stuff goes from {} and back; which came first is not known, so all of them count as reached",
                words(days),
                names.join(" to ")
            ),
        );
        let folded: Vec<String> = names.iter().map(|n| fold(n)).collect();
        for e in entries.iter().filter(|e| e.days == Some(days) && !is_plan(e)) {
            let names_two = e
                .groups
                .iter()
                .flat_map(|g| &g.slots)
                .filter(|f| match &f.filler {
                    Filler::Value(Value::Thing(t)) => folded.contains(&fold(&display::thing(t))),
                    _ => false,
                })
                .count()
                > 1;
            if names_two {
                d = if d.primary.is_none() { d.at(e.loc, "") } else { d.also(e.loc, "") };
            }
        }
        for n in names {
            d = d.about(n);
        }
        said.push(d);
    }
}
