//! Which variables of a rule its positive lines bind, and which are left hanging.
//!
//! Comes in: a rule's lines and the variables of its head. Goes out: faults. It settles no order of
//! evaluation; it only makes sure that one exists.

use std::collections::BTreeSet;

use super::{CANNOT_RUN, UNBOUND, UNREAD, fault, vars::Vars};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    model::{
        lines,
        program::{Atom, Comparator, Comparison, Demand, Expr, Line, Term, VarId},
    },
};

/// The variables of an atom, its entry included.
fn of_atom(atom: &Atom) -> BTreeSet<VarId> {
    lines::atom_vars(atom).collect()
}

/// The variables of an expression.
fn of_expr(expr: &Expr) -> BTreeSet<VarId> {
    let mut all = BTreeSet::new();
    lines::expr_vars(expr, &mut all);
    all
}

fn of_comparison(c: &Comparison) -> BTreeSet<VarId> {
    of_comparisons(std::slice::from_ref(c))
}

fn of_comparisons(all: &[Comparison]) -> BTreeSet<VarId> {
    let mut vars = BTreeSet::new();
    all.iter().for_each(|c| lines::comparison_vars(c, &mut vars));
    vars
}

/// Every variable of a line.
fn of_line(line: &Line) -> BTreeSet<VarId> {
    match &line.demand {
        Demand::Holds(atom) => of_atom(atom),
        Demand::No { atom, with } => of_atom(atom).union(&of_comparisons(with)).copied().collect(),
        Demand::Gather { into, of, atom, with, .. } => {
            let mut all = of_atom(atom);
            all.extend(of_comparisons(with));
            all.extend([*into, *of]);
            all
        }
        Demand::Compute { into, expr } => {
            let mut all = of_expr(expr);
            all.insert(*into);
            all
        }
        Demand::Compare(c) => of_comparison(c),
    }
}

/// What a positive line's demand binds by itself, whatever else is known.
pub(super) fn bound_by(demand: &Demand) -> BTreeSet<VarId> {
    match demand {
        Demand::Holds(atom) => of_atom(atom),
        Demand::Gather { into, .. } | Demand::Compute { into, .. } => [*into].into(),
        _ => BTreeSet::new(),
    }
}

/// Faults of binding: variables no positive line binds, and lines that wait for each other.
pub(super) fn check(lines: &[Line], head: &[(VarId, Loc)], vars: &Vars) -> Vec<Diagnostic> {
    let bound: BTreeSet<VarId> = lines.iter().flat_map(|l| bound_by(&l.demand)).collect();
    let mut faults = Vec::new();
    let mut told = BTreeSet::new();
    for (id, loc) in head {
        if !bound.contains(id) && told.insert(*id) {
            faults.push(hanging(vars, *id, *loc, "stands in what the rule concludes"));
        }
    }
    for (n, line) in lines.iter().enumerate() {
        for (id, why) in loose(line, &bound) {
            let elsewhere = lines.iter().enumerate().any(|(m, l)| m != n && of_line(l).contains(&id));
            let why = match (why, &line.demand) {
                // What a count or pick gathers over is its own affair.
                (Loose::Local, Demand::Gather { .. }) => continue,
                (Loose::Local, _) if !elsewhere => continue,
                (Loose::Local, _) => "stands in two lines",
                (Loose::Asked, _) => "is asked for",
            };
            if told.insert(id) {
                faults.push(hanging(vars, id, vars.first(id).unwrap_or(line.loc), why));
            }
        }
        faults.extend(gathered(line, lines, n, vars));
    }
    if faults.is_empty() {
        faults.extend(waiting(lines, &bound, vars));
    }
    faults
}

fn hanging(vars: &Vars, id: VarId, loc: Loc, why: &str) -> Diagnostic {
    fault(UNBOUND, loc, format!("`{{{}}}` {why}, but no line says what it is.", vars.name(id)))
        .remark(RemarkKind::Note, "A sentence that holds, a count or a computation says what a blank is; `no …` and comparisons do not.")
}

/// How a variable that nothing binds stands in a line.
enum Loose {
    /// In the sentence of a `no` or a count, where it may be any.
    Local,
    /// In something computed or compared, where its value is needed.
    Asked,
}

/// Variables of a line that nothing binds.
fn loose(line: &Line, bound: &BTreeSet<VarId>) -> Vec<(VarId, Loose)> {
    let free = |set: BTreeSet<VarId>| set.into_iter().filter(|v| !bound.contains(v)).collect::<Vec<_>>();
    match &line.demand {
        Demand::Holds(_) => Vec::new(),
        Demand::No { atom, with } | Demand::Gather { atom, with, .. } => {
            let own = of_atom(atom);
            let asked = free(of_comparisons(with)).into_iter().filter(|v| !own.contains(v));
            let asked: Vec<_> = asked.map(|v| (v, Loose::Asked)).collect();
            free(own).into_iter().map(|v| (v, Loose::Local)).chain(asked).collect()
        }
        Demand::Compute { expr, .. } => free(of_expr(expr)).into_iter().map(|v| (v, Loose::Asked)).collect(),
        Demand::Compare(c) => free(of_comparison(c)).into_iter().map(|v| (v, Loose::Asked)).collect(),
    }
}

/// What only a count or a pick can get wrong.
fn gathered(line: &Line, lines: &[Line], n: usize, vars: &Vars) -> Option<Diagnostic> {
    let Demand::Gather { into, of, atom, .. } = &line.demand else { return None };
    let own = of_atom(atom);
    if !own.contains(of) {
        let message = format!(
            "`{{{}}}` is gathered, but does not stand in the sentence after `such that`.",
            vars.name(*of)
        );
        return Some(fault(UNBOUND, line.loc, message));
    }
    if own.contains(into) {
        let message =
            format!("`{{{}}}` cannot be counted from a sentence that it stands in.", vars.name(*into));
        return Some(fault(UNREAD, line.loc, message));
    }
    let elsewhere = lines.iter().enumerate().any(|(m, l)| m != n && bound_by(&l.demand).contains(of));
    elsewhere.then(|| {
        let message = format!(
            "`{{{}}}` is gathered here, but another line already says which one it is.",
            vars.name(*of)
        );
        fault(UNREAD, line.loc, message).remark(RemarkKind::Note, "Give one of the two another name.")
    })
}

/// Lines that each need a value another of them gives.
fn waiting(lines: &[Line], bound: &BTreeSet<VarId>, vars: &Vars) -> Option<Diagnostic> {
    let mut ready: BTreeSet<VarId> = BTreeSet::new();
    let mut rest: Vec<&Line> = Vec::new();
    for line in lines {
        match &line.demand {
            Demand::Holds(atom) => ready.extend(of_atom(atom)),
            Demand::Gather { .. } | Demand::Compute { .. } => rest.push(line),
            _ => {}
        }
    }
    loop {
        let (done, stuck): (Vec<&Line>, Vec<&Line>) = rest.into_iter().partition(|line| {
            let made = bound_by(&line.demand);
            of_line(line).difference(&made).all(|v| !bound.contains(v) || ready.contains(v))
        });
        for line in &done {
            ready.extend(bound_by(&line.demand));
        }
        rest = stuck;
        if done.is_empty() {
            break;
        }
    }
    let first = rest.first()?;
    let names: Vec<String> =
        rest.iter().flat_map(|l| bound_by(&l.demand)).map(|v| format!("`{{{}}}`", vars.name(v))).collect();
    Some(fault(CANNOT_RUN, first.loc, format!("These wait for each other: {}.", names.join(" and "))))
}

/// Gives the local variables of each count or pick numbers of their own where another line uses the name
/// too, so that no two lines share what neither binds.
pub(super) fn part_locals(lines: &mut [Line], vars: &mut Vars) {
    let bound: BTreeSet<VarId> = lines.iter().flat_map(|l| bound_by(&l.demand)).collect();
    for n in 0..lines.len() {
        let Some(line) = lines.get(n) else { continue };
        if !matches!(line.demand, Demand::Gather { .. }) {
            continue;
        }
        let shared: Vec<VarId> = of_line(line)
            .into_iter()
            .filter(|v| !bound.contains(v))
            .filter(|v| lines.iter().enumerate().any(|(m, l)| m != n && of_line(l).contains(v)))
            .collect();
        for old in shared {
            let new = vars.again(old);
            if let Some(line) = lines.get_mut(n) {
                rename(line, old, new);
            }
        }
    }
}

fn rename(line: &mut Line, old: VarId, new: VarId) {
    let Demand::Gather { of, atom, with, .. } = &mut line.demand else { return };
    if *of == old {
        *of = new;
    }
    for term in atom.terms.iter_mut().chain([&mut atom.entry]) {
        rename_term(term, old, new);
    }
    for c in with {
        rename_expr(&mut c.left, old, new);
        rename_expr(&mut c.right, old, new);
        if let Comparator::WithinAfter(e)
        | Comparator::WithinBefore(e)
        | Comparator::WithinOf(e)
        | Comparator::MoreThanAfter(e)
        | Comparator::MoreThanBefore(e) = &mut c.by
        {
            rename_expr(e, old, new);
        }
    }
}

fn rename_term(term: &mut Term, old: VarId, new: VarId) {
    if *term == Term::Var(old) {
        *term = Term::Var(new);
    }
}

fn rename_expr(expr: &mut Expr, old: VarId, new: VarId) {
    match expr {
        Expr::Term(t) => rename_term(t, old, new),
        Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) => {
            rename_expr(a, old, new);
            rename_expr(b, old, new);
        }
        Expr::Call(_, sides) => sides.iter_mut().for_each(|side| rename_expr(side, old, new)),
    }
}
