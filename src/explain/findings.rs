//! Findings: the rows of finding heads, merged so that one matter is one diagnostic.
//!
//! Comes in: the model. Goes out: for each code and subject one finding with all its derivations.
//! Allowing, folding, cautions and next steps come after.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::{Known, allow::Lines, evidence, say};
use crate::{
    base::{
        diagnostic::{Diagnostic, Label, Severity},
        span::Loc,
    },
    measure::value::{EntryId, Value},
    model::{
        program::{Meaning, Rule, TextPart},
        proof::Proof,
    },
};

/// One derivation of a finding.
#[derive(Debug, Clone)]
pub struct Derived<'a> {
    /// The rule.
    pub rule: &'a Rule,
    /// The values of the head's terms.
    pub values: Vec<Value>,
    /// Its proof.
    pub proof: Arc<Proof>,
}

/// A finding with what it was made from.
#[derive(Debug, Clone)]
pub struct Finding<'a> {
    /// What is said.
    pub diagnostic: Diagnostic,
    /// The values it is about; empty for what reading had to say.
    pub about: Vec<Value>,
    /// The names of the blanks those values stand in.
    pub blanks: Vec<Arc<str>>,
    /// Its derivations, in the order of their rules and values.
    pub derived: Vec<Derived<'a>>,
    /// The things its heads name.
    pub named: BTreeSet<Value>,
    /// The entries it rests on.
    pub entries: BTreeSet<EntryId>,
}

impl Finding<'_> {
    /// A diagnostic of the reading, which rests on nothing else.
    pub fn read(diagnostic: Diagnostic) -> Self {
        Self {
            diagnostic,
            about: Vec::new(),
            blanks: Vec::new(),
            derived: Vec::new(),
            named: BTreeSet::new(),
            entries: BTreeSet::new(),
        }
    }

    /// Every value of its heads with the name of the blank it stands in.
    pub fn terms<'s>(&'s self, known: &'s Known<'_>) -> impl Iterator<Item = (&'s str, &'s Value)> {
        self.derived.iter().flat_map(move |d| {
            let sentence = known.program.sentences.get(d.rule.head.sentence.0 as usize);
            d.values.iter().enumerate().map(move |(n, value)| {
                (sentence.and_then(|s| s.blanks.get(n)).map_or("", |b| &*b.name), value)
            })
        })
    }
}

/// All findings the model holds, one for each code and subject, ordered by these. Those of a page that names its
/// subject as `{every lot}`, and that differ in nothing else, are one, about all of them; one that an `allow` line
/// keeps quiet stays by itself.
pub fn merged<'a>(known: &Known<'a>, allowed: &Lines<'_>) -> Vec<Finding<'a>> {
    let mut rules = Vec::new();
    let mut rows = Vec::new();
    for rule in &known.program.rules {
        if matches!(rule.meaning, Meaning::Finding { .. }) {
            for row in known.model.rows(rule.head.sentence) {
                rules.push(rule);
                rows.push(row);
            }
        }
    }
    let mut groups: BTreeMap<(&str, Vec<Value>), Vec<Derived<'a>>> = BTreeMap::new();
    let proofs = known.model.proofs(&rows);
    for ((rule, row), proof) in rules.into_iter().zip(rows).zip(proofs) {
        let (Meaning::Finding { about, .. }, Some(proof)) = (&rule.meaning, proof) else { continue };
        let values = known.model.tuple(row).values;
        let key = about.iter().filter_map(|n| values.get(*n).cloned()).collect();
        groups.entry((&rule.page, key)).or_default().push(Derived { rule, values, proof });
    }
    let mut joined: Vec<(Vec<Value>, Vec<Derived<'a>>)> = Vec::new();
    let mut alike: BTreeMap<Alike<'_>, usize> = BTreeMap::new();
    for ((code, about), derived) in groups {
        let told = |v: &Value| say::value(known, v);
        let quiet = || allowed.cover(code, &about.iter().map(told).collect::<Vec<_>>());
        let key = all_but_subject(&derived).filter(|_| !quiet());
        let first = key.map(|key| *alike.entry(key).or_insert(joined.len()));
        match first.and_then(|n| joined.get_mut(n)) {
            Some((subjects, all)) => {
                subjects.extend(about);
                all.extend(derived);
            }
            None => joined.push((about, derived)),
        }
    }
    joined.into_iter().filter_map(|(about, derived)| finding(known, about, derived)).collect()
}

/// A page, a rule of it, and what its text says beside the subject.
type Alike<'a> = (&'a str, u32, BTreeSet<Vec<Value>>);

/// What two findings must share to be told as one; nothing where the text does not name its subject as one of
/// several.
fn all_but_subject<'a>(derived: &[Derived<'a>]) -> Option<Alike<'a>> {
    let telling = telling(derived)?;
    let (_, text, positions) = parts(telling)?;
    let [subject] = positions else { return None };
    text.contains(&TextPart::Every(*subject)).then_some(())?;
    let told = |values: &[Value]| -> Vec<Value> {
        let beside = text.iter().filter_map(|part| match part {
            TextPart::Term(n) | TextPart::Every(n) if n != subject => values.get(*n).cloned(),
            _ => None,
        });
        beside.collect()
    };
    let same = derived.iter().filter(|d| std::ptr::eq(d.rule, telling.rule)).map(|d| told(&d.values));
    Some((&telling.rule.page, telling.rule.number, same.collect()))
}

/// The derivation that a finding's text is taken from: of the most pressing rule, the first of them on its page.
fn telling<'d, 'a>(derived: &'d [Derived<'a>]) -> Option<&'d Derived<'a>> {
    let severity = derived.iter().filter_map(|d| parts(d).map(|(s, ..)| s)).min()?;
    derived.iter().find(|d| parts(d).is_some_and(|(s, ..)| s == severity))
}

fn finding<'a>(known: &Known<'a>, about: Vec<Value>, derived: Vec<Derived<'a>>) -> Option<Finding<'a>> {
    let telling = telling(&derived)?;
    let (severity, text, positions) = parts(telling)?;
    let of_rule: Vec<&[Value]> =
        derived.iter().filter(|d| std::ptr::eq(d.rule, telling.rule)).map(|d| &*d.values).collect();
    let message = say::text(known, text, &telling.values, &of_rule);
    let sentence = known.program.sentences.get(telling.rule.head.sentence.0 as usize);
    let blanks = positions
        .iter()
        .cycle()
        .take(about.len())
        .map(|n| sentence.and_then(|s| s.blanks.get(*n)).map_or_else(|| "".into(), |b| Arc::clone(&b.name)))
        .collect();
    let mut diagnostic = Diagnostic::new(&telling.rule.page, severity, message);
    diagnostic.about = about.iter().map(|v| say::value(known, v)).collect();
    let entries = point(known, &mut diagnostic, &about, &derived);
    let named = derived.iter().flat_map(|d| &d.values).filter(|v| matches!(v, Value::Thing(_)));
    let named = named.cloned().collect();
    Some(Finding { diagnostic, about, blanks, derived, named, entries })
}

/// Severity, text and about-terms of the rule of a derivation.
fn parts<'d>(d: &Derived<'d>) -> Option<(Severity, &'d [TextPart], &'d [usize])> {
    match &d.rule.meaning {
        Meaning::Finding { severity, text, about, .. } => Some((*severity, text, about)),
        _ => None,
    }
}

/// The entry of the `(here)` line of a derivation.
pub fn here(d: &Derived<'_>) -> Option<EntryId> {
    let (Meaning::Finding { here, .. } | Meaning::Action { here, .. }) = &d.rule.meaning else { return None };
    match d.values.get((*here)?) {
        Some(Value::Entry(id)) => Some(*id),
        _ => None,
    }
}

/// Points a finding at its lines: one primary label, the line to act on, and the rest it rests on, those
/// that name its subject first. Gives back the entries.
fn point(
    known: &Known<'_>,
    diagnostic: &mut Diagnostic,
    about: &[Value],
    derived: &[Derived<'_>],
) -> BTreeSet<EntryId> {
    let about: BTreeSet<&Value> = about.iter().collect();
    let when = |id: &EntryId| known.diary.entries.get(id.0 as usize).and_then(|e| e.days);
    let proofs: Vec<&Proof> = derived.iter().map(|d| &*d.proof).collect();
    let evidence = evidence::entries(known, &proofs);
    // A line without `(here)` still has a line to act on: the last thing that was done.
    let first = derived.iter().filter_map(here).min_by_key(|id| (when(id), *id));
    let act_on = first.or_else(|| evidence.keys().max_by_key(|id| (when(id), **id)).copied());
    let mut labels: Vec<(bool, Label)> = Vec::new();
    for (id, tuples) in &evidence {
        let values = || tuples.iter().flat_map(|t| &t.values);
        let wanted: BTreeSet<&Value> = values()
            .filter(|v| matches!(v, Value::Thing(_) | Value::Word(_)) && !about.contains(v))
            .collect();
        let aside = !values().any(|v| about.contains(v));
        labels.extend(evidence::labels(known, *id, &wanted, &about).into_iter().map(|l| (aside, l)));
    }
    if let Some(id) = act_on {
        let wanted: BTreeSet<&Value> =
            derived.iter().filter(|d| here(d) == Some(id)).flat_map(|d| &d.values).collect();
        let primary = evidence::labels(known, id, &about, &wanted).into_iter().next();
        if let (Some(primary), Some(entry)) = (primary, known.diary.entries.get(id.0 as usize)) {
            // One label says the day of a line; the others on it only point.
            for (_, label) in labels.iter_mut().filter(|(_, l)| inside(entry.loc, l.loc)) {
                label.text.clear();
            }
            labels.retain(|(_, l)| l.loc != primary.loc);
            diagnostic.primary = Some(primary);
        }
    }
    labels.sort();
    labels.dedup_by(|b, a| a.1.loc == b.1.loc);
    diagnostic.secondary = labels.into_iter().map(|(_, label)| label).collect();
    evidence.into_keys().collect()
}

/// Whether one place lies within another.
pub fn inside(outer: Loc, inner: Loc) -> bool {
    outer.file == inner.file && outer.span.start <= inner.span.start && inner.span.end <= outer.span.end
}
