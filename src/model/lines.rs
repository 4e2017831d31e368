//! How the lines of a rule hang together: what each needs, what it binds, in which order they can be met.
//!
//! Comes in: a rule. Goes out: an order in which every line's needs are bound when its turn comes, or
//! the variables that nothing binds. It looks at no tuples.

use std::collections::BTreeSet;

use super::program::{Atom, Comparator, Comparison, Demand, Expr, Line, Rule, Term, VarId};

/// A rule's lines put in an order in which they can be met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Line numbers: as written, but a line that waits for a variable comes right after the line that
    /// binds it.
    pub lines: Vec<usize>,
    /// The variables some line binds; all others are local to the line they stand in.
    pub bound: BTreeSet<VarId>,
    /// For each line as written the variables that must have values before it can be met.
    pub needs: Vec<BTreeSet<VarId>>,
}

/// The variables of an atom, the entry's included, in order of place, with repeats.
pub fn atom_vars(atom: &Atom) -> impl Iterator<Item = VarId> + '_ {
    atom.terms.iter().chain([&atom.entry]).filter_map(|t| match t {
        Term::Var(v) => Some(*v),
        Term::Const(_) | Term::Any => None,
    })
}

/// Adds the variables of an expression to `vars`.
pub fn expr_vars(expr: &Expr, vars: &mut BTreeSet<VarId>) {
    match expr {
        Expr::Term(Term::Var(v)) => {
            vars.insert(*v);
        }
        Expr::Term(_) => {}
        Expr::Add(a, b) | Expr::Sub(a, b) | Expr::Mul(a, b) | Expr::Div(a, b) => {
            expr_vars(a, vars);
            expr_vars(b, vars);
        }
        Expr::Call(_, sides) => sides.iter().for_each(|side| expr_vars(side, vars)),
    }
}

/// Adds the variables of a comparison to `vars`.
pub fn comparison_vars(comparison: &Comparison, vars: &mut BTreeSet<VarId>) {
    expr_vars(&comparison.left, vars);
    expr_vars(&comparison.right, vars);
    match &comparison.by {
        Comparator::WithinAfter(e)
        | Comparator::WithinBefore(e)
        | Comparator::WithinOf(e)
        | Comparator::MoreThanAfter(e)
        | Comparator::MoreThanBefore(e) => expr_vars(e, vars),
        Comparator::Same
        | Comparator::Different
        | Comparator::Less
        | Comparator::AtMost
        | Comparator::More
        | Comparator::AtLeast => {}
    }
}

/// The variables the lines of a body bind: those of its positive sentences, and those that get a
/// gathered or computed value.
pub fn bound_by(body: &[Line]) -> BTreeSet<VarId> {
    let mut bound = BTreeSet::new();
    for line in body {
        bound.extend(gives(line));
    }
    bound
}

/// The variables one line binds.
pub fn gives(line: &Line) -> BTreeSet<VarId> {
    match &line.demand {
        Demand::Holds(atom) => atom_vars(atom).collect(),
        Demand::Gather { into, .. } | Demand::Compute { into, .. } => [*into].into(),
        Demand::No { .. } | Demand::Compare(_) => BTreeSet::new(),
    }
}

/// The variables that must have values before a line can be met, given those that the body binds.
pub fn needs(line: &Line, bound: &BTreeSet<VarId>) -> BTreeSet<VarId> {
    let mut vars = BTreeSet::new();
    match &line.demand {
        Demand::Holds(_) => {}
        Demand::No { atom, with } => denied_needs(atom, with, None, bound, &mut vars),
        Demand::Gather { of, atom, with, .. } => denied_needs(atom, with, Some(*of), bound, &mut vars),
        Demand::Compute { expr, .. } => expr_vars(expr, &mut vars),
        Demand::Compare(comparison) => comparison_vars(comparison, &mut vars),
    }
    vars
}

/// What a `no` or gathering line needs: of the sentence's variables those bound elsewhere, and any
/// variable that the sentence itself does not fill.
fn denied_needs(
    atom: &Atom,
    with: &[Comparison],
    of: Option<VarId>,
    bound: &BTreeSet<VarId>,
    vars: &mut BTreeSet<VarId>,
) {
    let own: BTreeSet<VarId> = atom_vars(atom).collect();
    for comparison in with {
        comparison_vars(comparison, vars);
    }
    vars.extend(of);
    vars.retain(|v| !own.contains(v) || bound.contains(v));
    vars.extend(own.intersection(bound));
}

/// An order in which the lines can be met.
///
/// # Errors
/// The variables that some line or the head needs and nothing can bind in time; none are named if it
/// is only that the head leaves a blank open.
pub fn order(rule: &Rule) -> Result<Order, Vec<VarId>> {
    let bound = bound_by(&rule.body);
    let mut known = BTreeSet::new();
    let mut lines = Vec::with_capacity(rule.body.len());
    let needs: Vec<BTreeSet<VarId>> = rule.body.iter().map(|l| needs(l, &bound)).collect();
    let ready =
        |n: usize, known: &BTreeSet<VarId>| needs.get(n).is_some_and(|needed| needed.is_subset(known));
    let mut waiting: Vec<usize> = Vec::new();
    for (n, line) in rule.body.iter().enumerate() {
        waiting.push(n);
        if matches!(line.demand, Demand::Holds(_)) || ready(n, &known) {
            // Whatever this line binds may free lines that wait, and those may free others.
            while let Some(at) = waiting.iter().position(|w| ready(*w, &known)) {
                let next = waiting.remove(at);
                known.extend(rule.body.get(next).map(gives).unwrap_or_default());
                lines.push(next);
            }
        }
    }
    let head: BTreeSet<VarId> = atom_vars(&rule.head).collect();
    let open: BTreeSet<VarId> = waiting
        .iter()
        .filter_map(|n| needs.get(*n))
        .flatten()
        .chain(&head)
        .filter(|v| !known.contains(v))
        .copied()
        .collect();
    if open.is_empty() && waiting.is_empty() && !rule.head.terms.contains(&Term::Any) {
        Ok(Order { lines, bound, needs })
    } else {
        Err(open.into_iter().collect())
    }
}

/// An atom with variables that have values replaced by constants.
pub fn fill_atom(atom: &Atom, values: &impl Fn(VarId) -> Option<crate::measure::value::Value>) -> Atom {
    let fill = |term: &Term| fill_term(term, values);
    Atom {
        sentence: atom.sentence,
        terms: atom.terms.iter().map(fill).collect(),
        entry: fill(&atom.entry),
        status: atom.status,
    }
}

/// A comparison with variables that have values replaced by constants.
pub fn fill_comparison(
    comparison: &Comparison,
    values: &impl Fn(VarId) -> Option<crate::measure::value::Value>,
) -> Comparison {
    let expr = |e: &Expr| fill_expr(e, values);
    Comparison {
        left: expr(&comparison.left),
        by: match &comparison.by {
            Comparator::WithinAfter(e) => Comparator::WithinAfter(expr(e)),
            Comparator::WithinBefore(e) => Comparator::WithinBefore(expr(e)),
            Comparator::WithinOf(e) => Comparator::WithinOf(expr(e)),
            Comparator::MoreThanAfter(e) => Comparator::MoreThanAfter(expr(e)),
            Comparator::MoreThanBefore(e) => Comparator::MoreThanBefore(expr(e)),
            plain => plain.clone(),
        },
        right: expr(&comparison.right),
        may: comparison.may,
    }
}

/// An expression with variables that have values replaced by constants.
pub fn fill_expr(expr: &Expr, values: &impl Fn(VarId) -> Option<crate::measure::value::Value>) -> Expr {
    let two = |a: &Expr, b: &Expr| (Box::new(fill_expr(a, values)), Box::new(fill_expr(b, values)));
    match expr {
        Expr::Term(t) => Expr::Term(fill_term(t, values)),
        Expr::Add(a, b) => {
            let (a, b) = two(a, b);
            Expr::Add(a, b)
        }
        Expr::Sub(a, b) => {
            let (a, b) = two(a, b);
            Expr::Sub(a, b)
        }
        Expr::Mul(a, b) => {
            let (a, b) = two(a, b);
            Expr::Mul(a, b)
        }
        Expr::Div(a, b) => {
            let (a, b) = two(a, b);
            Expr::Div(a, b)
        }
        Expr::Call(function, sides) => {
            Expr::Call(*function, sides.iter().map(|side| fill_expr(side, values)).collect())
        }
    }
}

fn fill_term(term: &Term, values: &impl Fn(VarId) -> Option<crate::measure::value::Value>) -> Term {
    match term {
        Term::Var(v) => values(*v).map_or(Term::Var(*v), Term::Const),
        other => other.clone(),
    }
}
