//! A proof as sentences: each step what it says and what it rests on.
//!
//! Comes in: a proof. Goes out: a tree of [`Step`]s and a [`Tally`] of what it takes. It searches for
//! nothing: `infer` recorded the proof, and lines of a rule are quoted from its page.

use std::{collections::BTreeSet, sync::Arc};

use rustc_hash::FxHashSet;

use super::{Known, content, evidence, say};
use crate::{
    measure::value::Value,
    model::{
        explanation::{Ground, Step, Tally},
        program::{Demand, FactSource, Line, Rule},
        proof::{By, Premise, Proof, Tuple},
    },
};

/// How many members of a gathering, and witnesses of a reckoner, are shown.
const MEMBERS: usize = 5;
/// How deep steps are shown; below, only how many there are.
const DEEPEST: usize = 40;

/// A proof as a tree of steps. A sentence proved twice is shown in full once.
pub fn tree(known: &Known<'_>, proof: &Proof) -> Step {
    step(known, proof, &mut FxHashSet::default(), 0)
}

/// Several proofs of one matter; what an earlier one shows in full a later one only names.
pub fn trees(known: &Known<'_>, proofs: &[&Proof]) -> Vec<Step> {
    let mut shown = FxHashSet::default();
    proofs.iter().map(|proof| step(known, proof, &mut shown, 0)).collect()
}

/// What a proof takes, each sentence, line and page counted once.
pub fn tally(known: &Known<'_>, proofs: &[&Proof]) -> Tally {
    let all = evidence::within(proofs);
    let mut lines = BTreeSet::new();
    let mut pages = BTreeSet::new();
    for proof in &all {
        match &proof.by {
            By::Said(FactSource::Entry(id)) => {
                lines.insert(*id);
            }
            By::Said(FactSource::Page(loc)) => {
                pages.insert(known.sources.file(loc.file).path.to_string());
            }
            By::Rule { rule, .. } => {
                if let Some(rule) = known.program.rules.get(*rule) {
                    pages.insert(known.sources.file(rule.loc.file).path.to_string());
                }
            }
            By::Said(FactSource::Given) | By::Reckoned { .. } => {}
        }
    }
    // The head of a finding or action is no sentence of its own: what it says is the message.
    let sentences = all.iter().filter(|p| !is_head(known, &p.tuple)).count();
    Tally { sentences, lines: lines.len(), pages: pages.len() }
}

/// The absences a proof's uppermost rules need, as sentences.
pub fn absences(known: &Known<'_>, proof: &Proof) -> Vec<String> {
    let mut out = Vec::new();
    for proof in evidence::within(&[proof]) {
        let By::Rule { rule, bindings, premises } = &proof.by else { continue };
        let Some(rule) = known.program.rules.get(*rule) else { continue };
        for (premise, line) in premises.iter().zip(&rule.body) {
            if let Premise::Absent { .. } = premise {
                let says = says(known, rule, line, bindings, premise);
                if !out.contains(&says) {
                    out.push(says);
                }
            }
        }
    }
    out
}

fn is_head(known: &Known<'_>, tuple: &Tuple) -> bool {
    let sentence = known.program.sentences.get(tuple.sentence.0 as usize);
    sentence.is_some_and(|s| s.origin == crate::model::sentence::Origin::Head)
}

fn step<'p>(known: &Known<'_>, proof: &'p Proof, shown: &mut FxHashSet<&'p Tuple>, depth: usize) -> Step {
    let says = say::tuple(known, &proof.tuple);
    let mut step = match &proof.by {
        By::Said(FactSource::Entry(id)) => {
            let by = say::quote(known, *id).map_or(Ground::Given, Ground::Line);
            return Step { says, by, below: Vec::new(), left_out: 0 };
        }
        By::Said(FactSource::Page(loc)) => {
            let source = content::figured(&proof.tuple).then(|| content::source(known, *loc)).flatten();
            return Step { says, by: Ground::Page(*loc, source), below: Vec::new(), left_out: 0 };
        }
        By::Said(FactSource::Given) => {
            return Step { says, by: Ground::Given, below: Vec::new(), left_out: 0 };
        }
        By::Rule { rule, .. } => match known.program.rules.get(*rule) {
            Some(r) => {
                let by = Ground::Rule { code: Arc::clone(&r.page), number: r.number, loc: r.loc };
                Step { says, by, below: Vec::new(), left_out: 0 }
            }
            None => return Step { says, by: Ground::Given, below: Vec::new(), left_out: 0 },
        },
        By::Reckoned { reckoner, numbers, .. } => {
            let numbers = numbers.iter().map(|(n, v)| (n.clone(), say::value(known, v))).collect();
            Step { says, by: Ground::Reckoned { name: reckoner, numbers }, below: Vec::new(), left_out: 0 }
        }
    };
    if !shown.insert(&proof.tuple) {
        step.by = Ground::Above;
        return step;
    }
    if depth >= DEEPEST {
        step.left_out = evidence::premises(proof).len();
        return step;
    }
    match &proof.by {
        By::Rule { rule, bindings, premises } => {
            if let Some(rule) = known.program.rules.get(*rule) {
                for (premise, line) in premises.iter().zip(&rule.body) {
                    step.below.push(premise_step(known, rule, line, bindings, premise, shown, depth));
                }
            }
        }
        By::Reckoned { witnesses, .. } => {
            let members = members(known, witnesses, shown, depth);
            (step.below, step.left_out) = members;
        }
        By::Said(_) => {}
    }
    step
}

fn members<'p>(
    known: &Known<'_>,
    proofs: &'p [Arc<Proof>],
    shown: &mut FxHashSet<&'p Tuple>,
    depth: usize,
) -> (Vec<Step>, usize) {
    let below = proofs.iter().take(MEMBERS).map(|p| step(known, p, shown, depth + 1)).collect();
    (below, proofs.len().saturating_sub(MEMBERS))
}

fn premise_step<'p>(
    known: &Known<'_>,
    rule: &Rule,
    line: &Line,
    bindings: &[Option<Value>],
    premise: &'p Premise,
    shown: &mut FxHashSet<&'p Tuple>,
    depth: usize,
) -> Step {
    let says = || says(known, rule, line, bindings, premise);
    match premise {
        Premise::Holds(proof) => step(known, proof, shown, depth + 1),
        Premise::Absent { near, .. } => {
            let near = near.iter().map(|t| say::near_miss(known, t)).collect();
            Step { says: says(), by: Ground::Absent(near), below: Vec::new(), left_out: 0 }
        }
        Premise::Gathered { members: all, .. } => {
            let (below, left_out) = members(known, all, shown, depth);
            Step { says: says(), by: Ground::Gathered, below, left_out }
        }
        Premise::Computed { .. } | Premise::Compared { .. } => {
            Step { says: says(), by: Ground::Reasoned, below: Vec::new(), left_out: 0 }
        }
    }
}

/// What a line of a rule comes to, in words.
fn says(
    known: &Known<'_>,
    rule: &Rule,
    line: &Line,
    bindings: &[Option<Value>],
    premise: &Premise,
) -> String {
    match (premise, &line.demand) {
        (Premise::Holds(proof), _) => say::tuple(known, &proof.tuple),
        (Premise::Absent { pattern, with, .. }, _) => {
            format!("nothing says that {}", say::denied(known, pattern, with))
        }
        (Premise::Gathered { pattern, value, .. }, Demand::Gather { how, of, .. }) => {
            let name = rule.vars.get(of.0 as usize).map_or("value", |v| &**v);
            say::gathered(known, *how, name, value, pattern)
        }
        _ => {
            let written = known.sources.slice(line.loc);
            let text = filled(known, written, rule, bindings);
            if text.is_empty() { worked_out(known, premise) } else { text }
        }
    }
}

/// A computed value or comparison without its line's text.
fn worked_out(known: &Known<'_>, premise: &Premise) -> String {
    match premise {
        Premise::Computed { value } => format!("the value is {}", say::value(known, value)),
        Premise::Compared { left, right } => {
            format!("{} against {}", say::value(known, left), say::value(known, right))
        }
        _ => String::new(),
    }
}

/// A line of a rule with its variables replaced by their values, `if` and `and` left out.
pub fn filled(known: &Known<'_>, written: &str, rule: &Rule, bindings: &[Option<Value>]) -> String {
    let line = written.split_whitespace().collect::<Vec<_>>().join(" ");
    let line = line.strip_prefix("if ").or_else(|| line.strip_prefix("and ")).unwrap_or(&line);
    let mut out = String::new();
    let mut rest = line;
    while let Some((before, after)) = rest.split_once('{') {
        out.push_str(before);
        let Some((name, after)) = after.split_once('}') else {
            out.push('{');
            rest = after;
            continue;
        };
        let value = rule
            .vars
            .iter()
            .position(|v| **v == *name.trim())
            .and_then(|n| bindings.get(n))
            .and_then(Option::as_ref);
        match value {
            Some(v) => out.push_str(&say::value(known, v)),
            None => out.push_str(name.trim()),
        }
        rest = after;
    }
    out.push_str(rest);
    out
}
