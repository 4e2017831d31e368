//! What only the whole rulebook can get wrong: conditions nothing ever meets, plans taken for evidence,
//! silence taken for absence.
//!
//! Comes in: a compiled program. Goes out: faults. Recursion through absence is `infer`'s to refuse.

use std::collections::BTreeSet;

use rustc_hash::{FxHashMap, FxHashSet};

use super::{NEVER, PLANS, UNLOOKED, declare::Declared, fault};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        name::nearest,
    },
    measure::{display, value::Value},
    model::{
        program::{Atom, Demand, Line, Meaning, Program, Rule, Status, Term},
        sentence::{Origin, SentenceId},
    },
};

/// Every check. `lost` are the conclusions of rules that could not be compiled.
pub(super) fn all(program: &Program, declared: &Declared, lost: &[SentenceId]) -> Vec<Diagnostic> {
    let mut faults = never_said(program, declared, lost);
    faults.extend(never_with(program, declared, lost));
    faults.extend(plans(program));
    faults.extend(silence(program, declared));
    faults
}

/// The sentence a line reads, if it reads one.
fn atom(line: &Line) -> Option<&Atom> {
    match &line.demand {
        Demand::Holds(atom) | Demand::No { atom, .. } | Demand::Gather { atom, .. } => Some(atom),
        Demand::Compute { .. } | Demand::Compare(_) => None,
    }
}

/// Sentences that rest on what must hold for the rule to fire.
fn needed(rule: &Rule) -> impl Iterator<Item = SentenceId> {
    rule.body.iter().filter_map(|line| match &line.demand {
        Demand::Holds(atom) => Some(atom.sentence),
        _ => None,
    })
}

/// Lines whose sentence no table, rule, reckoner or journal can ever say.
fn never_said(program: &Program, declared: &Declared, lost: &[SentenceId]) -> Vec<Diagnostic> {
    let mut can: FxHashSet<SentenceId> = declared.common.iter().chain(lost).copied().collect();
    can.extend(program.facts.iter().map(|f| f.sentence));
    for (n, sentence) in program.sentences.iter().enumerate() {
        if matches!(sentence.origin, Origin::Journal | Origin::Reckoned(_)) {
            can.insert(SentenceId(u32::try_from(n).unwrap_or(u32::MAX)));
        }
    }
    let concluded: FxHashSet<SentenceId> = program.rules.iter().map(|r| r.head.sentence).collect();
    let rules = program.rules.iter().map(|r| &**r);
    let mut open: Vec<&Rule> = rules.filter(|r| !can.contains(&r.head.sentence)).collect();
    loop {
        let before = open.len();
        open.retain(|rule| {
            let met = needed(rule).all(|s| can.contains(&s));
            if met {
                can.insert(rule.head.sentence);
            }
            !met
        });
        if open.len() == before {
            break;
        }
    }
    let mut faults = Vec::new();
    for line in program.rules.iter().flat_map(|r| &r.body) {
        let Some(atom) = atom(line) else { continue };
        if can.contains(&atom.sentence) {
            continue;
        }
        let Some(sentence) = program.sentences.get(atom.sentence.0 as usize) else { continue };
        let why = if concluded.contains(&atom.sentence) {
            "the rules that conclude it can never fire"
        } else {
            "no table says it and no rule concludes it"
        };
        faults.push(
            fault(NEVER, line.loc, format!("`{}` can never hold: {why}.", sentence.pattern()))
                .also(sentence.loc, "declared here"),
        );
    }
    faults
}

/// Lines with a constant that no table and no rule ever puts into that blank: most often a slip. Where all was
/// well, this is the one check that more facts alone can come to grief by.
pub(super) fn never_with(program: &Program, declared: &Declared, lost: &[SentenceId]) -> Vec<Diagnostic> {
    let concluding = concluding(program);
    let mut found = FxHashMap::default();
    let mut faults = Vec::new();
    for line in program.rules.iter().flat_map(|r| &r.body) {
        let Some(atom) = atom(line) else { continue };
        let Some(sentence) = program.sentences.get(atom.sentence.0 as usize) else { continue };
        let open = declared.common.contains(&atom.sentence) || lost.contains(&atom.sentence);
        if open || sentence.origin != Origin::Page {
            continue;
        }
        for (n, term) in atom.terms.iter().enumerate() {
            let Term::Const(asked) = term else { continue };
            let find = || said_with(program, &concluding, atom.sentence, n);
            let Some(known) = found.entry((atom.sentence, n)).or_insert_with(find) else { continue };
            if known.is_empty() || known.contains(asked) {
                continue;
            }
            let shown = |v: &Value| display::value(v, &display::Units::new());
            let (asked, known): (String, Vec<String>) =
                (shown(asked), known.iter().map(|v| shown(v)).collect());
            let mut said =
                fault(NEVER, line.loc, format!("`{}` is never said with `{asked}`.", sentence.pattern()));
            said = match nearest(&asked, known.iter().map(String::as_str)) {
                Some(near) => said.remark(RemarkKind::Write, near),
                None if known.len() <= 6 => {
                    said.remark(RemarkKind::Note, format!("It is said with {}.", known.join(", ")))
                }
                None => said,
            };
            faults.push(said);
        }
    }
    faults
}

/// The rules that conclude each sentence.
type Concluding<'p> = FxHashMap<SentenceId, Vec<&'p Rule>>;

fn concluding(program: &Program) -> Concluding<'_> {
    let mut concluding = Concluding::default();
    for rule in &program.rules {
        concluding.entry(rule.head.sentence).or_default().push(rule);
    }
    concluding
}

/// Every value tables and rules put into a blank; `None` where a rule may put anything there.
fn said_with<'p>(
    program: &'p Program,
    concluding: &Concluding<'p>,
    sentence: SentenceId,
    blank: usize,
) -> Option<BTreeSet<&'p Value>> {
    let mut known = BTreeSet::new();
    for rule in concluding.get(&sentence).into_iter().flatten() {
        match rule.head.terms.get(blank) {
            Some(Term::Const(v)) => known.insert(v),
            _ => return None,
        };
    }
    // Facts are sorted by sentence.
    let from = program.facts.partition_point(|f| f.sentence < sentence);
    let facts = program.facts.iter().skip(from).take_while(|f| f.sentence == sentence);
    known.extend(facts.filter_map(|f| f.values.get(blank)));
    Some(known)
}

/// Sentences that rest on a plan, at any depth.
fn tainted(program: &Program) -> FxHashSet<SentenceId> {
    let mut tainted = FxHashSet::default();
    for used in &program.reckoners {
        tainted.extend(used.reckoner.planned.iter().filter_map(|n| used.gives.get(*n)));
    }
    loop {
        let before = tainted.len();
        for rule in &program.rules {
            if rule.body.iter().any(|line| rests_on_plan(line, &tainted)) {
                tainted.insert(rule.head.sentence);
            }
        }
        if tainted.len() == before {
            return tainted;
        }
    }
}

fn rests_on_plan(line: &Line, tainted: &FxHashSet<SentenceId>) -> bool {
    atom(line).is_some_and(|a| a.status != Status::Done || tainted.contains(&a.sentence))
}

/// Answers and closings that a plan could bring about.
fn plans(program: &Program) -> Vec<Diagnostic> {
    let tainted = tainted(program);
    let mut faults = Vec::new();
    for rule in &program.rules {
        match &rule.meaning {
            Meaning::Answer { .. } => {
                for line in rule.body.iter().filter(|l| rests_on_plan(l, &tainted)) {
                    faults.push(
                        fault(PLANS, line.loc, "An answer cannot rest on what is only meant to be done.")
                            .remark(
                                RemarkKind::Note,
                                "This line reads plans, itself or through another rule.",
                            ),
                    );
                }
            }
            Meaning::Action { until: Some(until), .. } if tainted.contains(&until.atom.sentence) => {
                let loc = program.sentences.get(rule.head.sentence.0 as usize).map_or(rule.loc, |s| s.loc);
                faults.push(fault(
                    PLANS,
                    loc,
                    "An action cannot be closed by what is only meant to be done.",
                ));
            }
            _ => {}
        }
    }
    faults
}

/// Answers that take a journal's silence for absence: `no` over a journal sentence, with no positive line
/// that rests on an entry of the same verb.
fn silence(program: &Program, declared: &Declared) -> Vec<Diagnostic> {
    let concluding = concluding(program);
    let mut faults = Vec::new();
    for rule in program.rules.iter().filter(|r| matches!(r.meaning, Meaning::Answer { .. })) {
        let looked: BTreeSet<usize> = needed(rule)
            .flat_map(|s| rests_on(&concluding, s))
            .filter_map(|s| declared.verbs.get(&s))
            .flatten()
            .copied()
            .collect();
        for line in &rule.body {
            let Demand::No { atom, .. } = &line.demand else { continue };
            let Some(verbs) = declared.verbs.get(&atom.sentence) else { continue };
            if !verbs.iter().any(|v| looked.contains(v)) {
                faults.push(
                    fault(
                        UNLOOKED,
                        line.loc,
                        "What nobody wrote down may still have happened: silence is no answer.",
                    )
                    .remark(
                        RemarkKind::Note,
                        "Add a line by which somebody looked: a sentence of the same verb that does hold.",
                    ),
                );
            }
        }
    }
    faults
}

/// A sentence and every sentence it may be concluded from.
fn rests_on(concluding: &Concluding<'_>, sentence: SentenceId) -> FxHashSet<SentenceId> {
    let mut all = FxHashSet::default();
    let mut todo = vec![sentence];
    while let Some(sentence) = todo.pop() {
        if all.insert(sentence) {
            todo.extend(concluding.get(&sentence).into_iter().flatten().flat_map(|rule| needed(rule)));
        }
    }
    all
}
