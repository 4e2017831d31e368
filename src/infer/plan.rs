//! A rule made ready to run: which table is looked up by which columns, in which order.
//!
//! Comes in: a rule, the order its lines allow, the tables' sizes. Goes out: steps over numbered slots,
//! one plan for each way of reading what is new. It runs nothing.

use std::{collections::BTreeSet, sync::Arc};

use crate::model::{
    interner::Interner,
    lines::{self, Order},
    program::{Atom, Comparison, Demand, Expr, Gather, Rule, Status, Term, VarId},
    sentence::SentenceId,
    table::{Index, Table},
};

/// Where a cell comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// A value's number.
    Cell(u32),
    /// A variable's slot.
    Slot(usize),
}

/// What is done with a cell of a row that was looked up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Take {
    /// It goes into a slot.
    Bind(usize, usize),
    /// It must be what is in the slot.
    Same(usize, usize),
    /// It must be this.
    Is(usize, u32),
    /// It must carry an entry.
    Entry(usize),
}

/// Which rows of a table of the group under way are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rows {
    /// All that are visible.
    All,
    /// Those of before the last round.
    Old,
    /// Those of the last round.
    New,
}

/// A lookup.
#[derive(Debug, Clone)]
pub(super) struct Lookup {
    pub(super) sentence: SentenceId,
    /// The index by columns; none if nothing is fixed, or if everything is.
    pub(super) by: Found,
    /// The key, one source for each column looked up by.
    pub(super) key: Vec<Source>,
    pub(super) takes: Vec<Take>,
}

/// How rows are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    /// Through the index of this number.
    Index(usize),
    /// All cells are known.
    Whole,
    /// One after the other.
    Scan,
}

/// One step.
#[derive(Debug)]
pub(super) enum Step<'p> {
    /// A positive sentence: its place among the positive lines, and how its rows are found.
    Holds { premise: usize, rows: Rows, lookup: Lookup },
    /// No row fits.
    No { lookup: Lookup, with: &'p [Comparison] },
    /// A value is gathered.
    Gather(GatherStep<'p>),
    /// A value is computed.
    Compute { into: usize, check: bool, expr: &'p Expr },
    /// A comparison holds.
    Compare(&'p Comparison),
}

/// A gathering line.
#[derive(Debug)]
pub(super) struct GatherStep<'p> {
    /// Its line in the rule, by which its finished groups are remembered.
    pub(super) line: usize,
    pub(super) lookup: Lookup,
    pub(super) with: &'p [Comparison],
    pub(super) how: Gather,
    /// The slot of the variable gathered.
    pub(super) of: usize,
    pub(super) atom: &'p Atom,
    /// The slots that make the group.
    pub(super) group: Vec<usize>,
    pub(super) into: usize,
    /// Whether `into` has a value already, so that it must be the same.
    pub(super) check: bool,
}

/// A rule ready to run.
#[derive(Debug)]
pub(super) struct Plan<'p> {
    pub(super) rule: usize,
    pub(super) steps: Vec<Step<'p>>,
    pub(super) slots: usize,
    /// How many positive lines the rule has.
    pub(super) premises: usize,
    pub(super) head: SentenceId,
    pub(super) head_cells: Vec<Source>,
}

/// What planning looks at and adds to.
pub(super) struct Ground<'t> {
    pub(super) tables: &'t [Arc<Table>],
    pub(super) values: &'t mut Interner,
    /// For each sentence the indexes that plans look up by.
    pub(super) indexes: &'t mut [Vec<Arc<Index>>],
}

impl Ground<'_> {
    fn table(&self, sentence: SentenceId) -> Option<&Table> {
        self.tables.get(sentence.0 as usize).map(|t| &**t)
    }

    /// The number of a sentence's index over these columns, made if need be.
    fn index(&mut self, sentence: SentenceId, columns: &[usize]) -> Option<usize> {
        let made = self.indexes.get_mut(sentence.0 as usize)?;
        if let Some(at) = made.iter().position(|i| i.columns() == columns) {
            return Some(at);
        }
        made.push(self.tables.get(sentence.0 as usize)?.index(columns));
        Some(made.len() - 1)
    }

    /// The lookup of an atom, given which slots are filled before; fills those it binds.
    fn lookup(&mut self, atom: &Atom, known: &mut BTreeSet<VarId>) -> Option<Lookup> {
        let (hidden, width, blanks) = {
            let table = self.table(atom.sentence)?;
            (table.hidden, table.width, table.blanks())
        };
        let (mut columns, mut key, mut takes) = (Vec::new(), Vec::new(), Vec::new());
        let before = known.clone();
        let entry = hidden.then_some(&atom.entry);
        for (at, term) in atom.terms.iter().chain(entry).enumerate() {
            match term {
                Term::Any => {}
                Term::Const(value) => {
                    columns.push(at);
                    key.push(Source::Cell(self.values.intern(value)));
                }
                Term::Var(v) if before.contains(v) => {
                    columns.push(at);
                    key.push(Source::Slot(v.0 as usize));
                }
                Term::Var(v) if known.insert(*v) => {
                    if at == blanks {
                        takes.push(Take::Entry(at));
                    }
                    takes.push(Take::Bind(at, v.0 as usize));
                }
                Term::Var(v) => takes.push(Take::Same(at, v.0 as usize)),
            }
        }
        match atom.status {
            Status::Done if hidden => takes.push(Take::Is(blanks + 1, 0)),
            Status::Planned if hidden => takes.push(Take::Is(blanks + 1, 1)),
            _ => {}
        }
        let by = if columns.is_empty() {
            Found::Scan
        } else if columns.len() == width {
            Found::Whole
        } else {
            Found::Index(self.index(atom.sentence, &columns)?)
        };
        Some(Lookup { sentence: atom.sentence, by, key, takes })
    }
}

/// Plans a rule. With `new`, the positive line of that number is read first and only in the last round's
/// rows; of the lines in `moving`, those written before it read older rows only, so that no way to meet
/// the rule is found twice.
pub(super) fn plan<'p>(
    number: usize,
    rule: &'p Rule,
    order: &Order,
    moving: &[usize],
    new: Option<usize>,
    ground: &mut Ground<'_>,
) -> Option<Plan<'p>> {
    let mut known: BTreeSet<VarId> = BTreeSet::new();
    let mut steps = Vec::with_capacity(rule.body.len());
    let mut left: Vec<usize> = (0..rule.body.len()).collect();
    let premise_of =
        |line: usize| rule.body.iter().take(line).filter(|l| matches!(l.demand, Demand::Holds(_))).count();
    while !left.is_empty() {
        let next = choose(rule, &order.needs, &left, &known, new, ground)?;
        left.retain(|n| *n != next);
        let line = rule.body.get(next)?;
        steps.push(match &line.demand {
            Demand::Holds(atom) => {
                let rows = match new {
                    Some(n) if n == next => Rows::New,
                    Some(n) if next < n && moving.contains(&next) => Rows::Old,
                    _ => Rows::All,
                };
                let lookup = ground.lookup(atom, &mut known)?;
                Step::Holds { premise: premise_of(next), rows, lookup }
            }
            Demand::No { atom, with } => Step::No { lookup: ground.lookup(atom, &mut known.clone())?, with },
            Demand::Gather { into, how, of, atom, with } => {
                let mut group: BTreeSet<VarId> = lines::atom_vars(atom).collect();
                for comparison in with {
                    lines::comparison_vars(comparison, &mut group);
                }
                group.retain(|v| known.contains(v));
                let lookup = ground.lookup(atom, &mut known.clone())?;
                Step::Gather(GatherStep {
                    line: next,
                    lookup,
                    with,
                    how: *how,
                    of: of.0 as usize,
                    atom,
                    group: group.iter().map(|v| v.0 as usize).collect(),
                    into: into.0 as usize,
                    check: !known.insert(*into),
                })
            }
            Demand::Compute { into, expr } => {
                Step::Compute { into: into.0 as usize, check: !known.insert(*into), expr }
            }
            Demand::Compare(comparison) => Step::Compare(comparison),
        });
    }
    let mut head_cells = Vec::with_capacity(rule.head.terms.len());
    for term in &rule.head.terms {
        head_cells.push(match term {
            Term::Var(v) => Source::Slot(v.0 as usize),
            Term::Const(value) => Source::Cell(ground.values.intern(value)),
            Term::Any => return None,
        });
    }
    Some(Plan {
        rule: number,
        steps,
        slots: rule.vars.len(),
        premises: premise_of(rule.body.len()),
        head: rule.head.sentence,
        head_cells,
    })
}

/// The next line to meet: any that needs no tuples, as soon as it can be met; then `no` and gathering;
/// then the sentence most closely bound by what is known, or failing that the shortest.
fn choose(
    rule: &Rule,
    needs: &[BTreeSet<VarId>],
    left: &[usize],
    known: &BTreeSet<VarId>,
    new: Option<usize>,
    ground: &Ground<'_>,
) -> Option<usize> {
    if let Some(n) = new.filter(|n| left.contains(n)) {
        return Some(n);
    }
    let cost = |n: &usize| -> Option<(u8, u64)> {
        let line = rule.body.get(*n)?;
        let ready = needs.get(*n)?.is_subset(known);
        match &line.demand {
            Demand::Compute { .. } | Demand::Compare(_) => ready.then_some((0, 0)),
            Demand::No { .. } => ready.then_some((1, 0)),
            Demand::Gather { .. } => ready.then_some((2, 0)),
            Demand::Holds(atom) => {
                let rows = u64::from(ground.table(atom.sentence)?.len());
                let bound = |t: &Term| match t {
                    Term::Var(v) => known.contains(v),
                    Term::Const(_) => true,
                    Term::Any => false,
                };
                let tied = lines::atom_vars(atom).any(|v| known.contains(&v)) || known.is_empty();
                let fixed = atom.terms.iter().chain([&atom.entry]).filter(|t| bound(t)).count();
                // A guess: each blank that is fixed leaves one row in eight.
                let rows = rows.checked_shr(3 * u32::try_from(fixed).unwrap_or(20)).unwrap_or(0);
                Some((if tied || fixed == atom.terms.len() { 3 } else { 4 }, rows))
            }
        }
    };
    left.iter().filter_map(|n| cost(n).map(|c| (c, *n))).min().map(|(_, n)| n)
}
