//! Actions: the rows of action heads, made into instances that open and close.
//!
//! Comes in: the model, the findings, and the diary's `done` and `skipped` lines. Goes out: every
//! instance, open or closed, and a diagnostic for each line that closes nothing. No date stands in a
//! key, so an instance keeps its identity when its due day moves.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use chrono::NaiveDate;

use super::{Known, attach, attach::Cautions, closings, evidence, findings::Finding, say};
use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::value::{EntryId, Value},
    model::{
        finding::{Action, ActionState, Awaited},
        program::{Atom, Meaning, Rule, Term, TextPart, Until},
        proof::Proof,
    },
};

/// An action instance with the values of its key, by which findings and cautions know it.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The instance.
    pub action: Action,
    /// The values in its words.
    pub values: Vec<Value>,
    /// The entries it rests on.
    pub entries: BTreeSet<EntryId>,
    /// Its words in their parts.
    pub said: Vec<Said>,
    /// The code of the page whose finding is its reason.
    pub matter: Arc<str>,
}

/// A part of an action's words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// Words of the page.
    Words(String),
    /// What fills a blank.
    Value(Value),
}

/// The words before each name, the name, and the words after it.
pub fn gaps(known: &Known<'_>, said: &[Said]) -> Vec<(String, String, String)> {
    let text = |parts: &[Said]| -> String {
        let words = parts.iter().map(|part| match part {
            Said::Words(words) => words.clone(),
            Said::Value(value) => say::value(known, value),
        });
        words.collect()
    };
    let gap = |(n, part): (usize, &Said)| {
        let named = matches!(part, Said::Value(Value::Thing(_)));
        let (before, after) = (said.get(..n).unwrap_or_default(), said.get(n + 1..).unwrap_or_default());
        named.then(|| (text(before), text(std::slice::from_ref(part)), text(after)))
    };
    said.iter().enumerate().filter_map(gap).collect()
}

/// What may stand beside an action.
struct Beside<'a> {
    cautions: &'a Cautions,
    findings: &'a [Finding<'a>],
}

/// One way an action is asked for.
struct Ask<'a> {
    rule: &'a Rule,
    since: NaiveDate,
    by: NaiveDate,
    here: Option<EntryId>,
    proof: Arc<Proof>,
    until: Option<Awaited>,
}

/// Everything asked for under one key.
pub(super) struct Key<'a> {
    pub code: Arc<str>,
    pub words: String,
    pub values: Vec<Value>,
    pub said: Vec<Said>,
    asks: Vec<Ask<'a>>,
    closed: BTreeSet<(NaiveDate, bool)>,
}

impl Key<'_> {
    /// The first day on which it was asked for.
    pub fn first_day(&self) -> Option<NaiveDate> {
        self.asks.iter().map(|a| a.since).min()
    }

    /// Closes the instance that is open on `day`.
    pub fn close(&mut self, day: NaiveDate, skipped: bool) {
        self.closed.insert((day, skipped));
    }
}

/// All action instances, and what `done` and `skipped` lines failed to close.
pub fn all<'a>(
    known: &Known<'a>,
    cautions: &Cautions,
    findings: &[Finding<'_>],
) -> (Vec<Asked>, Vec<Diagnostic>) {
    let mut keys = keys(known);
    let unmatched = closings::apply(known, &mut keys);
    let mut out = Vec::new();
    for key in keys {
        instances(known, key, &Beside { cautions, findings }, &mut out);
    }
    (out, unmatched)
}

/// Gathers the rows of action heads by key: the code, the words, the values in them.
fn keys<'a>(known: &Known<'a>) -> Vec<Key<'a>> {
    let mut rules = Vec::new();
    let mut rows = Vec::new();
    for rule in &known.program.rules {
        if matches!(rule.meaning, Meaning::Action { .. }) {
            for row in known.model.rows(rule.head.sentence) {
                rules.push(rule);
                rows.push(row);
            }
        }
    }
    let proofs = known.model.proofs(&rows);
    let mut keys: BTreeMap<(Arc<str>, String, Vec<Value>), Key<'a>> = BTreeMap::new();
    for ((rule, row), proof) in rules.into_iter().zip(rows).zip(proofs) {
        let Meaning::Action { words, key, since, by, until, here } = &rule.meaning else { continue };
        let tuple = known.model.tuple(row);
        let day = |n: usize| match tuple.values.get(n) {
            Some(Value::Days(d)) => Some(d.first),
            _ => None,
        };
        let (Some(since), Some(by), Some(proof)) = (day(*since), day(*by), proof) else { continue };
        let values: Vec<Value> = key.iter().filter_map(|n| tuple.values.get(*n).cloned()).collect();
        let said = said(known, words, &tuple.values);
        let words = say::text(known, words, &tuple.values, &[&tuple.values]);
        let here = here.and_then(|n| match tuple.values.get(n) {
            Some(Value::Entry(id)) => Some(*id),
            _ => None,
        });
        let awaited = until.as_ref().map(|u| Awaited {
            sentence: u.atom.sentence,
            values: filled(u, &tuple.values),
            named: values.clone(),
        });
        let entry =
            keys.entry((Arc::clone(&rule.page), words.clone(), values.clone())).or_insert_with(|| Key {
                code: Arc::clone(&rule.page),
                words,
                values,
                said,
                asks: Vec::new(),
                closed: BTreeSet::new(),
            });
        for day in until.iter().flat_map(|u| closed_on(known, u, &tuple.values)) {
            entry.closed.insert((day, false));
        }
        entry.asks.push(Ask { rule, since, by, here, proof, until: awaited });
    }
    keys.into_values().collect()
}

/// The words of a head in their parts.
fn said(known: &Known<'_>, words: &[TextPart], values: &[Value]) -> Vec<Said> {
    let part = |part: &TextPart| match part {
        TextPart::Words(words) => Some(Said::Words(words.to_string())),
        TextPart::Term(n) => values.get(*n).cloned().map(Said::Value),
        TextPart::New(_) | TextPart::Every(_) => {
            Some(Said::Words(say::text(known, std::slice::from_ref(part), values, &[values])))
        }
    };
    words.iter().filter_map(part).collect()
}

/// What is known of the blanks of a closing sentence.
fn filled(until: &Until, values: &[Value]) -> Vec<Option<Value>> {
    let terms = until.atom.terms.iter().enumerate();
    let known = terms.map(|(n, term)| match term {
        _ if n == until.free_day => None,
        Term::Var(v) => values.get(v.0 as usize).cloned(),
        Term::Const(value) => Some(value.clone()),
        Term::Any => None,
    });
    known.collect()
}

/// The days, up to today, on which the closing sentence of an action holds as done.
fn closed_on(known: &Known<'_>, until: &Until, values: &[Value]) -> Vec<NaiveDate> {
    let mut atom: Atom = until.atom.clone();
    for (n, term) in atom.terms.iter_mut().enumerate() {
        if n == until.free_day {
            *term = Term::Any;
        } else if let Term::Var(v) = term {
            *term = values.get(v.0 as usize).map_or(Term::Any, |v| Term::Const(v.clone()));
        }
    }
    known
        .model
        .matching(&atom, &[])
        .into_iter()
        .filter_map(|row| {
            let tuple = known.model.tuple(row);
            match tuple.values.get(until.free_day) {
                Some(Value::Days(d)) if !tuple.planned && d.last <= known.today => Some(d.first),
                _ => None,
            }
        })
        .collect()
}

/// Goes through the days a key was asked for: each opens an instance unless the one before still waits,
/// and the first closing from then on closes it.
fn instances(known: &Known<'_>, mut key: Key<'_>, beside: &Beside<'_>, out: &mut Vec<Asked>) {
    key.asks.sort_by_key(|a| (a.since, a.by, a.here));
    let mut instance = 1;
    let mut rest = key.asks.as_slice();
    while let Some(first) = rest.first() {
        let closing = key.closed.iter().find(|(day, _)| *day >= first.since).copied();
        let answered = match closing {
            Some((day, _)) => rest.iter().take_while(|a| a.since <= day).count(),
            None => rest.len(),
        };
        let (these, later) = rest.split_at(answered);
        rest = later;
        let state = match closing {
            None => ActionState::Open,
            Some((day, false)) => ActionState::Done(day),
            Some((day, true)) => ActionState::Skipped(day),
        };
        out.push(asked(known, &key, these, instance, state, beside));
        instance += 1;
    }
}

fn asked(
    known: &Known<'_>,
    key: &Key<'_>,
    asks: &[Ask<'_>],
    instance: u32,
    state: ActionState,
    beside: &Beside<'_>,
) -> Asked {
    let since = asks.first().map_or(known.today, |a| a.since);
    let by = asks.iter().filter(|a| a.since == since).map(|a| a.by).min().unwrap_or(since);
    let anew = asks.iter().filter(|a| a.since <= known.today).max_by_key(|a| (a.since, a.by));
    let proofs: Vec<&Proof> = asks.iter().map(|a| &*a.proof).collect();
    let entries: BTreeSet<EntryId> = evidence::entries(known, &proofs).into_keys().collect();
    let here = asks.iter().filter_map(|a| a.here).next();
    let loc = |id: &EntryId| known.diary.entries.get(id.0 as usize).map(|e| e.loc);
    let mut lines: Vec<Loc> = here.iter().filter_map(loc).collect();
    lines.extend(entries.iter().filter(|id| Some(**id) != here).filter_map(loc));
    let things: Vec<&Value> = key.values.iter().filter(|v| matches!(v, Value::Thing(_))).collect();
    let about = if things.is_empty() { key.values.iter().collect() } else { things };
    let blanks: Vec<String> = key.values.iter().map(|v| say::value(known, v)).collect();
    let rule = asks.first().map(|a| a.rule);
    let (reason, severity, alone) = attach::reason(known, &key.code, &key.values, &entries, beside.findings);
    Asked {
        action: Action {
            code: Arc::clone(&key.code),
            words: key.words.clone(),
            key: std::iter::once(key.code.to_string())
                .chain([key.words.clone()])
                .chain(blanks)
                .collect::<Vec<_>>()
                .join(" | "),
            instance,
            since,
            by,
            again: anew.map(|a| a.by).filter(|again| *again > by),
            severity: Some(severity),
            state,
            reason,
            alone,
            cautions: beside.cautions.about(&key.code, &key.values),
            lines,
            write: rule.and_then(|r| write(r, &key.words)),
            until: asks.first().and_then(|ask| ask.until.clone()),
            about: about.into_iter().map(|v| say::value(known, v)).collect(),
        },
        values: key.values.clone(),
        entries,
        said: key.said.clone(),
        matter: Arc::clone(&key.code),
    }
}

/// The line that closes an action no other entry can close.
fn write(rule: &Rule, words: &str) -> Option<String> {
    match &rule.meaning {
        Meaning::Action { until: None, .. } => Some(format!("- done {words}")),
        _ => None,
    }
}
