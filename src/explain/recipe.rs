//! What a recipe tells: the rows of its heads, filled in and put in the order of its page.
//!
//! Comes in: a model with what was asked among its facts, and the code of the recipe. Goes out: sums, steps,
//! cautions and lines for the journal as plain structures, each with its proof and the sources of the figures in
//! it. It works nothing out.

use std::{collections::BTreeMap, sync::Arc};

use super::{Known, evidence, pages, say, steps};
use crate::{
    base::name::plural,
    measure::{
        date,
        dimension::Dimension,
        display::{self, Units},
        number::Range,
        value::{EntryId, Value},
    },
    model::{
        explanation::{Cited, Recipe, RecipeLine},
        page::{Page, PageKind},
        program::{FactSource, Meaning, Rule, TextPart, Told},
        proof::{By, Proof},
    },
};

/// Everything the recipe of a page tells.
pub fn told(known: &Known<'_>, code: &str, asked: &str) -> Recipe {
    let page = known.pages.iter().find(|p| *p.code == *code && p.kind == PageKind::Recipe);
    let mut out = Recipe {
        asked: asked.split_whitespace().collect::<Vec<_>>().join(" "),
        day: date::long(known.today),
        code: code.to_owned(),
        page: page.map(|p| pages::of(known, p)).unwrap_or_default(),
        ..Recipe::default()
    };
    let mut rules: Vec<&Rule> =
        known.program.rules.iter().map(|r| &**r).filter(|r| *r.page == *code).collect();
    rules.sort_by_key(|r| r.number);
    // What notes and cautions stand beside: the list and place of the line told last.
    let mut last: Option<Told> = None;
    for rule in rules {
        let Meaning::Told { part, label, text } = &rule.meaning else { continue };
        for line in lines(known, *part, rule, label, text) {
            match part {
                Told::Note | Told::Caution => {
                    let beside = last.and_then(|part| out.list(part).last_mut());
                    match beside {
                        Some(before) => {
                            before.beside.push((*part, line.text));
                            before.proofs.extend(line.proofs);
                            cite(&mut before.cited, line.cited);
                        }
                        None => out.warned.push(line),
                    }
                }
                part => {
                    out.list(*part).push(line);
                    last = Some(*part);
                }
            }
        }
    }
    out
}

/// Rows that make one line, each with its values and its proof.
type Group = (Vec<Vec<Value>>, Vec<Arc<Proof>>);

/// The units a recipe is told in: of weights and volumes the one the farm writes most, so that its figures can be
/// held against each other.
pub fn in_one_unit(units: &mut Units) {
    for dimension in [Dimension::Mass, Dimension::Volume] {
        if let Some(written) = units.get_mut(&dimension) {
            written.truncate(1);
        }
    }
}

/// The lines of one head: one for each row, those that differ only in `{every x}` as one.
fn lines(
    known: &Known<'_>,
    part: Told,
    rule: &Rule,
    label: &[TextPart],
    text: &[TextPart],
) -> Vec<RecipeLine> {
    let units = &known.diary.units;
    let listed: Vec<usize> = label
        .iter()
        .chain(text)
        .filter_map(|part| if let TextPart::Every(n) = part { Some(*n) } else { None })
        .collect();
    let rows = known.model.rows(rule.head.sentence);
    let proofs = known.model.proofs(&rows);
    let mut groups: BTreeMap<Vec<Value>, Group> = BTreeMap::new();
    for (row, proof) in rows.into_iter().zip(proofs) {
        let values = known.model.tuple(row).values;
        let alike = values.iter().enumerate().filter(|(n, _)| !listed.contains(n)).map(|(_, v)| v.clone());
        let group = groups.entry(alike.collect()).or_default();
        group.0.push(values);
        group.1.extend(proof);
    }
    groups
        .into_values()
        .map(|(all, proofs)| {
            let words = |parts: &[TextPart]| words(known, part, parts, &all, units);
            let proofs: Vec<&Proof> = proofs.iter().map(|p| &**p).collect();
            RecipeLine {
                label: words(label),
                text: words(text),
                beside: Vec::new(),
                cited: cited(known, &proofs),
                proofs: steps::trees(known, &proofs),
            }
        })
        .collect()
}

/// A text filled in, for the rows it is told of.
fn words(known: &Known<'_>, part: Told, parts: &[TextPart], all: &[Vec<Value>], units: &Units) -> String {
    let value = |v: &Value| match v {
        // Lines for the journal keep to its own way of writing a day.
        Value::Days(days) if part == Told::Write => days.first.to_string(),
        v => display::rough(v, units),
    };
    let mut out = String::new();
    // Whether a number other than one was just told: what is counted stands in the plural.
    let mut several = false;
    for part in parts {
        let counted = std::mem::take(&mut several);
        match part {
            TextPart::Words(words) => {
                several = counted && words.trim().is_empty();
                out.push_str(words);
            }
            TextPart::New(kind) => out.push_str(&new_name(known, kind)),
            TextPart::Term(n) => match all.first().and_then(|v| v.get(*n)) {
                Some(Value::Word(word)) if counted => out.push_str(&plural(word)),
                Some(v) => {
                    several = matches!(v, Value::Number(n) if *n != Range::exact(1.0));
                    out.push_str(&value(v));
                }
                None => {}
            },
            TextPart::Every(n) => {
                let mut each: Vec<String> = all.iter().filter_map(|v| v.get(*n)).map(value).collect();
                each.sort_by(|a, b| say::natural(a, b));
                each.dedup();
                out.push_str(&match each.as_slice() {
                    [] => String::new(),
                    [one] => one.clone(),
                    [most @ .., last] => format!("{} and {last}", most.join(", ")),
                });
            }
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A name of a kind that the journal does not know yet: the next number after the names that most are called
/// like, `b4` after `b3`; of as many, like the latest.
fn new_name(known: &Known<'_>, kind: &str) -> String {
    let of_kind = || known.diary.things.iter().filter(|t| *t.thing.kind == *kind);
    let mut stems: BTreeMap<&str, (usize, EntryId, u64)> = BTreeMap::new();
    for thing in of_kind() {
        let stem = thing.thing.name.trim_end_matches(|c: char| c.is_ascii_digit());
        let Some(number) = thing.thing.name.get(stem.len()..).and_then(|n| n.parse().ok()) else { continue };
        let began = thing.began.map_or(EntryId(0), |(_, entry)| entry);
        let slot = stems.entry(stem).or_insert((0, began, number));
        *slot = (slot.0 + 1, slot.1.max(began), slot.2.max(number));
    }
    match stems.into_iter().max_by_key(|(_, (many, latest, _))| (*many, *latest)) {
        Some((stem, (.., last))) => format!("{stem}{}", last.saturating_add(1)),
        None => format!("{}1", kind.chars().next().map(String::from).unwrap_or_default()),
    }
}

/// The rows of tables that proofs rest on and that name a source.
fn cited(known: &Known<'_>, proofs: &[&Proof]) -> Vec<Cited> {
    let mut out = Vec::new();
    for proof in evidence::within(proofs) {
        let By::Said(FactSource::Page(loc)) = &proof.by else { continue };
        let source = known.pages.iter().find(|p| p.file == loc.file).and_then(|page| source(page, loc.span));
        if let Some(source) = source {
            let says = say::tuple(known, &proof.tuple);
            cite(&mut out, vec![Cited { says, source, loc: *loc }]);
        }
    }
    out
}

/// Adds what is not cited yet.
fn cite(all: &mut Vec<Cited>, more: Vec<Cited>) {
    for cited in more {
        if !all.contains(&cited) {
            all.push(cited);
        }
    }
}

/// What stands in the column of sources beside a row.
fn source(page: &Page, row: crate::base::span::Span) -> Option<String> {
    page.tables.iter().find_map(|table| {
        let column = table.columns.iter().position(|c| matches!(&*c.text, "source" | "sources"))?;
        let cells = table.rows.iter().find(|cells| {
            let within = |cell: &crate::model::page::Passage| {
                row.start <= cell.loc.span.start && cell.loc.span.end <= row.end
            };
            cells.first().is_some_and(within) && cells.last().is_some_and(within)
        })?;
        cells.get(column).map(|c| c.text.to_string()).filter(|text| !text.is_empty())
    })
}
