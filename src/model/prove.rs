//! Proofs of tuples, built from the derivations that inference recorded.
//!
//! Comes in: a model and a row. Goes out: a proof tree, parts that are the same shared; or the other
//! ways to derive the row. It works with a list of what is still to do instead of calling itself, so
//! that a long chain of reasons cannot exhaust the stack.

use std::{ops::ControlFlow, sync::Arc};

use rustc_hash::{FxHashMap, FxHashSet};

use super::{
    outcome::{Model, Reason, Reckoning, RowRef},
    program::{Atom, Demand, FactSource, Term},
    proof::{By, Premise, Proof},
    solve::{self, Frame, Met},
};

/// How many near misses an absence keeps.
pub const NEAR_MISSES: usize = 3;
/// How many tuples the search for other derivations looks at before it gives up.
const BUDGET: usize = 200_000;

/// A derivation one step deep, with all its lines met.
struct Step {
    rule: usize,
    frame: Frame,
    /// What each line that is no positive sentence came to.
    met: Vec<Option<Met>>,
}

impl Step {
    /// The tuples it rests on: those of positive lines, and those gathered.
    fn rests_on(&self) -> impl Iterator<Item = RowRef> + '_ {
        let gathered = self.met.iter().flat_map(|m| match m {
            Some(Met::Gathered { rows, .. }) => rows.as_slice(),
            _ => &[],
        });
        self.frame.rows.iter().flatten().chain(gathered).copied()
    }
}

/// What is known of a row before the proofs of what it rests on are.
enum Sketch<'m> {
    Said(&'m FactSource),
    Rule(Box<Step>),
    Reckoned(&'m Reckoning),
}

impl Model {
    /// The recorded, shallowest proof of a row; `None` only for a row that is not of this model.
    pub fn proof(&self, row: RowRef) -> Option<Arc<Proof>> {
        let mut known = FxHashMap::default();
        self.prove(row, &mut known)
    }

    /// As [`Model::proof`] for many rows, the common parts of their proofs shared.
    pub fn proofs(&self, rows: &[RowRef]) -> Vec<Option<Arc<Proof>>> {
        let mut known = FxHashMap::default();
        rows.iter().map(|row| self.prove(*row, &mut known)).collect()
    }

    /// Other ways to derive a row than the recorded one, at most `most`, those of the first pages and
    /// rules and of the least values first. A way that rests on the row itself is none.
    pub fn derivations(&self, row: RowRef, most: usize) -> Vec<Proof> {
        let tuple = self.tuple(row);
        let pattern = Atom {
            sentence: tuple.sentence,
            terms: tuple.values.iter().cloned().map(Term::Const).collect(),
            entry: Term::Any,
            status: super::program::Status::Either,
        };
        if tuple.entry.is_some() || tuple.planned {
            return Vec::new();
        }
        let recorded = self.reason(row);
        let mut budget = BUDGET;
        let mut others: Vec<Step> = Vec::new();
        for number in self.rules_in_order() {
            let (Some(rule), Some(Some(order))) =
                (self.parts.program.rules.get(number), self.parts.orders.get(number))
            else {
                continue;
            };
            let Some(frame) = solve::start(rule, &pattern) else { continue };
            let _ = solve::explore(self, rule, order, frame, &mut budget, &mut |met, frame| {
                if met < order.lines.len() {
                    return ControlFlow::Continue(());
                }
                let same = matches!(&recorded, Some(Reason::Rule { rule, rows })
                    if *rule == number && *rows == frame.rows);
                if !same
                    && let Some(step) = self.step(number, &frame.rows)
                    && !step.rests_on().any(|premise| self.rests_on(premise, row))
                {
                    others.push(step);
                }
                if others.len() >= most { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
            });
            if others.len() >= most || budget == 0 {
                break;
            }
        }
        let mut known = FxHashMap::default();
        let mut proofs = Vec::with_capacity(others.len());
        for step in others {
            for premise in step.rests_on().collect::<Vec<_>>() {
                self.prove(premise, &mut known);
            }
            if let Some(by) = self.finish(Sketch::Rule(Box::new(step)), &known) {
                proofs.push(Proof { tuple: tuple.clone(), by });
            }
        }
        proofs
    }

    /// Rule numbers by page code and number.
    pub(crate) fn rules_in_order(&self) -> Vec<usize> {
        let mut numbers: Vec<usize> = (0..self.parts.program.rules.len()).collect();
        numbers.sort_by_key(|n| self.parts.program.rules.get(*n).map(|r| (r.page.clone(), r.number, r.loc)));
        numbers
    }

    fn prove(&self, row: RowRef, known: &mut FxHashMap<RowRef, Arc<Proof>>) -> Option<Arc<Proof>> {
        let mut todo: Vec<(RowRef, Option<Sketch<'_>>)> = vec![(row, None)];
        while let Some((row, sketch)) = todo.pop() {
            if known.contains_key(&row) {
                continue;
            }
            let Some(sketch) = sketch else {
                let sketch = self.sketch(row)?;
                let needs: Vec<RowRef> = match &sketch {
                    Sketch::Said(_) => Vec::new(),
                    Sketch::Rule(step) => step.rests_on().collect(),
                    Sketch::Reckoned(reckoning) => reckoning.witnesses.clone(),
                };
                todo.push((row, Some(sketch)));
                todo.extend(needs.into_iter().filter(|r| !known.contains_key(r)).map(|r| (r, None)));
                continue;
            };
            let by = self.finish(sketch, known)?;
            known.insert(row, Arc::new(Proof { tuple: self.tuple(row), by }));
        }
        known.get(&row).cloned()
    }

    fn sketch(&self, row: RowRef) -> Option<Sketch<'_>> {
        Some(match self.reason(row)? {
            Reason::Said(source) => Sketch::Said(source),
            Reason::Reckoned(reckoning) => Sketch::Reckoned(reckoning),
            Reason::Rule { rule, rows } => Sketch::Rule(Box::new(self.step(rule, &rows)?)),
        })
    }

    /// The whole step, from the tuples that meet its positive lines: they determine all the rest.
    fn step(&self, number: usize, rows: &[Option<RowRef>]) -> Option<Step> {
        let rule = self.parts.program.rules.get(number)?;
        let order = self.parts.orders.get(number)?.as_ref()?;
        let mut frame = Frame::new(rule);
        frame.rows = rows.to_vec();
        for (line, row) in rule.body.iter().zip(rows) {
            if let (Demand::Holds(atom), Some(row)) = (&line.demand, row)
                && !frame.bind_row(self, atom, *row)
            {
                return None;
            }
        }
        let mut met: Vec<Option<Met>> = vec![None; rule.body.len()];
        for n in &order.lines {
            let line = rule.body.get(*n)?;
            if !matches!(line.demand, Demand::Holds(_)) {
                *met.get_mut(*n)? = Some(solve::meet(self, line, &mut frame)?);
            }
        }
        Some(Step { rule: number, frame, met })
    }

    fn finish(&self, sketch: Sketch<'_>, known: &FxHashMap<RowRef, Arc<Proof>>) -> Option<By> {
        let all = |rows: &[RowRef]| rows.iter().map(|r| known.get(r).cloned()).collect::<Option<Vec<_>>>();
        Some(match sketch {
            Sketch::Said(source) => By::Said(source.clone()),
            Sketch::Reckoned(reckoning) => By::Reckoned {
                reckoner: reckoning.reckoner,
                witnesses: all(&reckoning.witnesses)?,
                numbers: reckoning.numbers.clone(),
            },
            Sketch::Rule(step) => {
                let step = *step;
                let mut premises = Vec::with_capacity(step.met.len());
                for (row, met) in step.frame.rows.iter().zip(step.met) {
                    premises.push(match met {
                        None => Premise::Holds(known.get(row.as_ref()?).cloned()?),
                        Some(Met::Absent { pattern, with }) => {
                            let near = self.near(&pattern, &with, NEAR_MISSES);
                            Premise::Absent { pattern, with, near }
                        }
                        Some(Met::Gathered { pattern, value, rows }) => {
                            Premise::Gathered { pattern, value, members: all(&rows)? }
                        }
                        Some(Met::Computed { value }) => Premise::Computed { value },
                        Some(Met::Compared { left, right }) => Premise::Compared { left, right },
                    });
                }
                By::Rule { rule: step.rule, bindings: step.frame.values, premises }
            }
        })
    }

    /// Whether the recorded proof of `from` passes through `on`.
    fn rests_on(&self, from: RowRef, on: RowRef) -> bool {
        let mut seen = FxHashSet::default();
        let mut todo = vec![from];
        while let Some(row) = todo.pop() {
            if row == on {
                return true;
            }
            // What lies no higher cannot rest on it.
            if !seen.insert(row) || self.rank(row) <= self.rank(on) {
                continue;
            }
            match self.reason(row) {
                Some(Reason::Rule { rule, rows }) => {
                    if let Some(step) = self.step(rule, &rows) {
                        todo.extend(step.rests_on());
                    }
                }
                Some(Reason::Reckoned(reckoning)) => todo.extend(&reckoning.witnesses),
                Some(Reason::Said(_)) | None => {}
            }
        }
        false
    }
}

impl Drop for Proof {
    /// Lets go of a long chain of proofs one after the other, not each within the other's letting go.
    fn drop(&mut self) {
        fn take(by: &mut By, todo: &mut Vec<Arc<Proof>>) {
            match std::mem::replace(by, By::Said(FactSource::Given)) {
                By::Said(_) => {}
                By::Reckoned { witnesses, .. } => todo.extend(witnesses),
                By::Rule { premises, .. } => {
                    for premise in premises {
                        match premise {
                            Premise::Holds(proof) => todo.push(proof),
                            Premise::Gathered { members, .. } => todo.extend(members),
                            _ => {}
                        }
                    }
                }
            }
        }
        let mut todo = Vec::new();
        take(&mut self.by, &mut todo);
        while let Some(proof) = todo.pop() {
            if let Ok(mut proof) = Arc::try_unwrap(proof) {
                take(&mut proof.by, &mut todo);
            }
        }
    }
}
