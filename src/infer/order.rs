//! In which order the lines of each rule can be met, and which rules cannot be run at all.
//!
//! Comes in: a program. Goes out: an order for each rule, or why there is none. It looks at no tuples.

use std::collections::BTreeSet;

use super::is_journal;
use crate::{
    base::diagnostic::{Diagnostic, RemarkKind, Severity},
    model::{
        lines::{self, Order},
        program::{Atom, Demand, Program, Rule, Term, VarId},
    },
};

/// The code of a rule left out because a blank of it is never filled.
pub const CANNOT_RUN: &str = "rule-cannot-run";

/// The order in which a rule's lines can be met, if its parts fit the program and every blank is filled.
pub(super) fn ordered(program: &Program, rule: &Rule) -> Result<Order, Box<Diagnostic>> {
    let cannot = |message: String| {
        Box::new(
            Diagnostic::new(CANNOT_RUN, Severity::Error, message)
                .at(rule.loc, "left out; the other rules still run")
                .about(rule.page.to_string()),
        )
    };
    let fits = |atom: &Atom| {
        let sentence = program.sentences.get(atom.sentence.0 as usize);
        sentence
            .is_some_and(|s| s.blanks.len() == atom.terms.len() && (atom.entry == Term::Any || is_journal(s)))
    };
    let atoms = rule.body.iter().filter_map(|line| match &line.demand {
        Demand::Holds(atom) | Demand::No { atom, .. } | Demand::Gather { atom, .. } => Some(atom),
        Demand::Compute { .. } | Demand::Compare(_) => None,
    });
    if !atoms.chain([&rule.head]).all(fits) {
        return Err(cannot("This rule uses a sentence with the wrong number of blanks.".to_owned()));
    }
    let count = u32::try_from(rule.vars.len()).unwrap_or(u32::MAX);
    if all_vars(rule).iter().any(|v| v.0 >= count) {
        return Err(cannot("This rule uses a blank it does not name.".to_owned()));
    }
    lines::order(rule).map_err(|open| {
        let name = |v: &VarId| rule.vars.get(v.0 as usize).map_or_else(String::new, |n| format!("{{{n}}}"));
        let names: Vec<String> = open.iter().map(name).collect();
        match names.as_slice() {
            [] => cannot("The conclusion of this rule leaves a blank open.".to_owned()),
            names => {
                let verb = if names.len() == 1 { "is" } else { "are" };
                let names = names.join(" and ");
                Box::new(cannot(format!("No line of this rule says what {names} {verb}.")).remark(
                    RemarkKind::Note,
                    "a blank is filled by a plain sentence, by `is` with a computation, or by gathering; \
                     a `no` line fills none",
                ))
            }
        }
    })
}

fn all_vars(rule: &Rule) -> BTreeSet<VarId> {
    let mut vars = lines::bound_by(&rule.body);
    vars.extend(lines::atom_vars(&rule.head));
    for line in &rule.body {
        match &line.demand {
            Demand::Holds(_) => {}
            Demand::No { atom, with } => {
                vars.extend(lines::atom_vars(atom));
                with.iter().for_each(|c| lines::comparison_vars(c, &mut vars));
            }
            Demand::Gather { of, atom, with, .. } => {
                vars.insert(*of);
                vars.extend(lines::atom_vars(atom));
                with.iter().for_each(|c| lines::comparison_vars(c, &mut vars));
            }
            Demand::Compute { expr, .. } => lines::expr_vars(expr, &mut vars),
            Demand::Compare(comparison) => lines::comparison_vars(comparison, &mut vars),
        }
    }
    vars
}
