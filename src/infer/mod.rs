//! Inference: from facts and rules to everything that holds, and why.
//!
//! Comes in: a checked program and the journal's facts. Goes out: a [`Model`] with one shallowest
//! derivation of each tuple, and diagnostics of rules that could not run. It knows nothing of what the
//! sentences are about, reads no text, and ends on every input: sentences are finished group by group,
//! and within a group rules only recombine values that are there.

mod clash;
mod plan;
mod reckon;
mod rounds;
mod run;
mod strata;

use crate::{
    base::diagnostic::{Diagnostic, RemarkKind, Severity},
    measure::value::Value,
    model::{
        lines::{self, Order},
        outcome::{Model, Parts},
        program::{Atom, Demand, Fact, FactSource, Program, Rule, Term, VarId},
        sentence::{Origin, Sentence},
        table::{Interner, NO_ENTRY, Reason, Table},
    },
};

pub use clash::TWO_ANSWERS;
pub use strata::CIRCLES;

/// The code of a rule left out because a blank of it is never filled.
pub const CANNOT_RUN: &str = "rule-cannot-run";

/// Everything that follows from a program and the journal's facts.
///
/// Rules that cannot run, or go in circles, are left out with a diagnostic; the rest still run. Facts
/// that do not fit their sentence's blanks are left out. The model and its proofs are the same whatever
/// the order of rules and facts.
pub fn run(program: &Program, facts: &[Fact]) -> (Model, Vec<Diagnostic>) {
    let (orders, strata, mut diagnostics) = prepare(program);
    let mut store = rounds::Store {
        program,
        tables: program.sentences.iter().map(|s| Table::new(s.blanks.len(), is_journal(s))).collect(),
        values: Interner::default(),
        places: places(program),
    };
    for fact in program.facts.iter().chain(facts) {
        say(&mut store.tables, &mut store.values, fact);
    }
    let mut reckonings = Vec::new();
    for group in &strata.groups {
        for (n, reckoner) in program.reckoners.iter().enumerate() {
            if !strata.idle.contains(&n) && reckoner.gives.first().is_some_and(|s| group.contains(s)) {
                reckon::reckon(&mut store, reckoner, &mut reckonings);
            }
        }
        store.finish(group, &orders);
    }
    let mut model = Model::new(Parts {
        sentences: program.sentences.clone(),
        rules: program.rules.clone(),
        orders,
        tables: store.tables,
        values: store.values,
        strata: strata.depth,
        reckonings,
        clashes: Vec::new(),
    });
    let clashes = clash::clashes(&model);
    diagnostics.extend(clashes.iter().map(|(a, b)| clash::diagnostic(&model, *a, *b)));
    model.parts.clashes = clashes;
    (model, diagnostics)
}

/// What can be said of a program's rules before any fact is known: those that go in circles, and those
/// with a blank that nothing fills.
pub fn check(program: &Program) -> Vec<Diagnostic> {
    prepare(program).2
}

fn prepare(program: &Program) -> (Vec<Option<Order>>, strata::Strata, Vec<Diagnostic>) {
    let mut diagnostics = Vec::new();
    let mut orders: Vec<Option<Order>> = Vec::with_capacity(program.rules.len());
    for rule in &program.rules {
        orders.push(match ordered(program, rule) {
            Ok(order) => Some(order),
            Err(diagnostic) => {
                diagnostics.push(*diagnostic);
                None
            }
        });
    }
    let usable: Vec<bool> = orders.iter().map(Option::is_some).collect();
    let (strata, circles) = strata::sort(program, &usable);
    diagnostics.extend(circles);
    for n in &strata.left_out {
        if let Some(slot) = orders.get_mut(*n) {
            *slot = None;
        }
    }
    diagnostics.sort_by(|a, b| (&a.primary, &a.code, &a.message).cmp(&(&b.primary, &b.code, &b.message)));
    (orders, strata, diagnostics)
}

fn is_journal(sentence: &Sentence) -> bool {
    sentence.origin == Origin::Journal
}

/// For each rule its place by page code, number, and where it stands.
fn places(program: &Program) -> Vec<u32> {
    let mut order: Vec<usize> = (0..program.rules.len()).collect();
    order.sort_by_key(|n| program.rules.get(*n).map(|r| (&r.page, r.number, r.loc)));
    let mut places = vec![0; order.len()];
    for (place, n) in (0..).zip(order) {
        if let Some(slot) = places.get_mut(n) {
            *slot = place;
        }
    }
    places
}

/// The order in which a rule's lines can be met, if its parts fit the program and every blank is filled.
fn ordered(program: &Program, rule: &Rule) -> Result<Order, Box<Diagnostic>> {
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

fn all_vars(rule: &Rule) -> std::collections::BTreeSet<VarId> {
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

/// Puts a base fact in its table. Of several places that say the same the first is kept.
fn say(tables: &mut [Table], values: &mut Interner, fact: &Fact) {
    let Some(table) = tables.get_mut(fact.sentence.0 as usize) else { return };
    if table.blanks() != fact.values.len() {
        return;
    }
    let mut cells = Vec::with_capacity(table.width);
    cells.extend(fact.values.iter().map(|v| values.intern(v)));
    if table.hidden {
        cells.push(match &fact.source {
            FactSource::Entry(entry) => values.intern(&Value::Entry(*entry)),
            FactSource::Page(_) | FactSource::Given => NO_ENTRY,
        });
        cells.push(u32::from(fact.planned));
    }
    let (row, new) = table.add(&cells, |_| Reason::Said(fact.source.clone()));
    if !new
        && let Some(Reason::Said(old)) = table.reason(row)
        && fact.source < *old
    {
        table.set_reason(row, Reason::Said(fact.source.clone()));
    }
}
