//! Ways to meet the lines of a rule in a finished model.
//!
//! Comes in: a model, a rule, values for some of its variables. Goes out: each way to meet the lines one
//! after the other, the least first, and what a line that is no positive sentence comes to. It is for
//! questions asked afterwards; inference has its own, faster way.

use std::ops::ControlFlow;

use super::{
    gather, judge,
    lines::{self, Order},
    outcome::{Model, RowRef},
    program::{Atom, Comparison, Demand, Line, Rule, Term, VarId},
};
use crate::measure::value::Value;

/// Some lines of a rule met: values of variables, and the tuples that meet positive lines.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Frame {
    /// By variable number.
    pub(crate) values: Vec<Option<Value>>,
    /// By line number.
    pub(crate) rows: Vec<Option<RowRef>>,
}

impl Frame {
    /// Nothing met yet.
    pub(crate) fn new(rule: &Rule) -> Self {
        Self { values: vec![None; rule.vars.len()], rows: vec![None; rule.body.len()] }
    }

    /// The value of a variable.
    pub(crate) fn value(&self, var: VarId) -> Option<&Value> {
        self.values.get(var.0 as usize)?.as_ref()
    }

    /// Gives a variable a value; false if it has another.
    pub(crate) fn bind(&mut self, var: VarId, value: &Value) -> bool {
        match self.values.get_mut(var.0 as usize) {
            Some(Some(old)) => old == value,
            Some(slot) => {
                *slot = Some(value.clone());
                true
            }
            None => false,
        }
    }

    /// Gives the variables of an atom the values of a row; false if one has another.
    pub(crate) fn bind_row(&mut self, model: &Model, atom: &Atom, row: RowRef) -> bool {
        lines::atom_vars(atom).all(|v| match model.filling(atom, row, v) {
            Some(value) => self.bind(v, value),
            None => false,
        })
    }

    pub(crate) fn fill_atom(&self, atom: &Atom) -> Atom {
        lines::fill_atom(atom, &|v| self.value(v).cloned())
    }

    pub(crate) fn fill_all(&self, with: &[Comparison]) -> Vec<Comparison> {
        with.iter().map(|c| lines::fill_comparison(c, &|v| self.value(v).cloned())).collect()
    }
}

/// What a line that is no positive sentence comes to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Met {
    Absent { pattern: Atom, with: Vec<Comparison> },
    Gathered { pattern: Atom, value: Value, rows: Vec<RowRef> },
    Computed { value: Value },
    Compared { left: Value, right: Value },
}

/// Meets a line that is no positive sentence, if it can be met; binds the variable it gives a value.
pub(crate) fn meet(model: &Model, line: &Line, frame: &mut Frame) -> Option<Met> {
    match &line.demand {
        Demand::Holds(_) => None,
        Demand::No { atom, with } => {
            let (pattern, with) = (frame.fill_atom(atom), frame.fill_all(with));
            model.fitting(&pattern, &with).is_empty().then_some(Met::Absent { pattern, with })
        }
        Demand::Gather { into, how, of, atom, with } => {
            let (pattern, with) = (frame.fill_atom(atom), frame.fill_all(with));
            let rows = model.fitting(&pattern, &with);
            let bound = frame.value(*of).cloned();
            let values =
                rows.iter().filter_map(|r| bound.as_ref().or_else(|| model.filling(&pattern, *r, *of)));
            let nothing = gather::total_of_nothing(model.sentence(atom.sentence), atom, *of);
            let value = gather::gather(*how, values, nothing)?;
            frame.bind(*into, &value).then_some(Met::Gathered { pattern, value, rows })
        }
        Demand::Compute { into, expr } => {
            let value = judge::value(expr, &|v| frame.value(v))?.into_owned();
            frame.bind(*into, &value).then_some(Met::Computed { value })
        }
        Demand::Compare(comparison) => {
            let of = |v| frame.value(v);
            let left = judge::value(&comparison.left, &of)?.into_owned();
            let right = judge::value(&comparison.right, &of)?.into_owned();
            judge::holds(comparison, &of).then_some(Met::Compared { left, right })
        }
    }
}

/// What a gathering line comes to, whatever the variable it fills may hold.
pub(crate) fn gathered(model: &Model, line: &Line, frame: &Frame) -> Option<Value> {
    let Demand::Gather { into, .. } = &line.demand else { return None };
    let mut frame = frame.clone();
    if let Some(slot) = frame.values.get_mut(into.0 as usize) {
        *slot = None;
    }
    match meet(model, line, &mut frame) {
        Some(Met::Gathered { value, .. }) => Some(value),
        _ => None,
    }
}

/// The start for finding how a rule could conclude `pattern`, whose terms are constants where they are
/// asked for; `None` if the rule's head cannot say it.
pub(crate) fn start(rule: &Rule, pattern: &Atom) -> Option<Frame> {
    if rule.head.sentence != pattern.sentence || rule.head.terms.len() != pattern.terms.len() {
        return None;
    }
    let mut frame = Frame::new(rule);
    for (head, asked) in rule.head.terms.iter().zip(&pattern.terms) {
        let Term::Const(value) = asked else { continue };
        let fits = match head {
            Term::Var(v) => frame.bind(*v, value),
            Term::Const(c) => c == value,
            Term::Any => false,
        };
        if !fits {
            return None;
        }
    }
    Some(frame)
}

/// Goes through the ways to meet a rule's lines in order, the least values first, and shows `visit` how
/// many lines each way has met, and how. `budget` is how many tuples may still be looked at.
pub(crate) fn explore(
    model: &Model,
    rule: &Rule,
    order: &Order,
    frame: Frame,
    budget: &mut usize,
    visit: &mut dyn FnMut(usize, &Frame) -> ControlFlow<()>,
) -> ControlFlow<()> {
    deeper(model, rule, order, 0, frame, budget, visit)
}

fn deeper(
    model: &Model,
    rule: &Rule,
    order: &Order,
    met: usize,
    mut frame: Frame,
    budget: &mut usize,
    visit: &mut dyn FnMut(usize, &Frame) -> ControlFlow<()>,
) -> ControlFlow<()> {
    visit(met, &frame)?;
    let Some((number, line)) = order.lines.get(met).and_then(|n| Some((*n, rule.body.get(*n)?))) else {
        return ControlFlow::Continue(());
    };
    let Demand::Holds(atom) = &line.demand else {
        *budget = budget.saturating_sub(1);
        return match meet(model, line, &mut frame) {
            Some(_) => deeper(model, rule, order, met + 1, frame, budget, visit),
            None => ControlFlow::Continue(()),
        };
    };
    for row in model.fitting(&frame.fill_atom(atom), &[]) {
        if *budget == 0 {
            return ControlFlow::Break(());
        }
        *budget -= 1;
        let mut next = frame.clone();
        if !next.bind_row(model, atom, row) {
            continue;
        }
        if let Some(slot) = next.rows.get_mut(number) {
            *slot = Some(row);
        }
        deeper(model, rule, order, met + 1, next, budget, visit)?;
    }
    ControlFlow::Continue(())
}
