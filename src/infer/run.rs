//! One plan run over the tables: every way to meet its lines, written to a buffer.
//!
//! Comes in: a plan, the tables, which rows are new. Goes out: head rows with the rows of their
//! premises. It changes no table; what it finds is added afterwards.

use std::sync::Arc;

use rustc_hash::FxHashMap;

use super::plan::{Found, GatherStep, Lookup, Plan, Rows, Source, Step, Take};
use crate::{
    measure::value::Value,
    model::{
        gather,
        interner::Interner,
        judge,
        program::{Comparison, VarId},
        sentence::Sentence,
        table::{Index, NO_ENTRY, NO_ROW, Reason, Table},
    },
};

/// What gathering lines have come to, by rule and line, then by group; [`NO_ENTRY`] where a group gives
/// no value. What is gathered over is finished, so an answer holds for the whole group of sentences.
pub(super) type Gathered = FxHashMap<(usize, usize), FxHashMap<Box<[u32]>, u32>>;

/// What a plan found, one after the other: the head's cells, then one row number for each premise.
#[derive(Debug, Default)]
pub(super) struct Finds {
    pub(super) cells: Vec<u32>,
    pub(super) count: usize,
}

/// What a run reads and writes.
pub(super) struct Run<'r> {
    pub(super) tables: &'r [Arc<Table>],
    /// For each sentence its indexes, as plans number them.
    pub(super) indexes: &'r [Vec<Arc<Index>>],
    pub(super) sentences: &'r [Sentence],
    pub(super) values: &'r mut Interner,
    pub(super) gathered: &'r mut Gathered,
    /// For each sentence of the group under way, where the rows of the last round begin.
    pub(super) fresh: &'r FxHashMap<u32, u32>,
    pub(super) finds: &'r mut Finds,
    /// Whether another way to a row that a rule gave before is of interest too.
    pub(super) again: bool,
    slots: Vec<u32>,
    premises: Vec<u32>,
    key: Vec<u32>,
}

impl<'r> Run<'r> {
    /// Makes ready to run plans.
    pub(super) fn new(
        tables: &'r [Arc<Table>],
        indexes: &'r [Vec<Arc<Index>>],
        sentences: &'r [Sentence],
        values: &'r mut Interner,
        gathered: &'r mut Gathered,
        fresh: &'r FxHashMap<u32, u32>,
        finds: &'r mut Finds,
    ) -> Self {
        let (slots, premises, key) = (Vec::new(), Vec::new(), Vec::new());
        let again = false;
        Self { tables, indexes, sentences, values, gathered, fresh, finds, again, slots, premises, key }
    }

    /// Finds every way to meet a plan's steps.
    pub(super) fn all(&mut self, plan: &Plan<'_>) {
        self.slots.clear();
        self.slots.resize(plan.slots, NO_ENTRY);
        self.premises.clear();
        self.premises.resize(plan.premises, NO_ROW);
        self.step(plan, 0);
    }

    fn step(&mut self, plan: &Plan<'_>, at: usize) {
        let Some(step) = plan.steps.get(at) else { return self.emit(plan) };
        match step {
            Step::Holds { premise, rows, lookup } => {
                let Some(table) = self.table(lookup.sentence.0) else { return };
                let fresh = self.fresh.get(&lookup.sentence.0).copied().unwrap_or(table.visible);
                let (from, upto) = match rows {
                    Rows::All => (0, table.visible),
                    Rows::Old => (0, fresh),
                    Rows::New => (fresh, table.visible),
                };
                let index = self.index(lookup);
                let mut row = self.first(table, index, lookup, from, upto);
                while row != NO_ROW {
                    if self.take(table.row(row), &lookup.takes) {
                        if let Some(slot) = self.premises.get_mut(*premise) {
                            *slot = row;
                        }
                        self.step(plan, at + 1);
                    }
                    row = following(index, lookup.by, row, from);
                }
            }
            Step::No { lookup, with } => {
                let mut met = true;
                self.each(lookup, with, |_| {
                    met = false;
                    false
                });
                if met {
                    self.step(plan, at + 1);
                }
            }
            Step::Gather(step) => {
                let value = self.gather(plan.rule, step);
                self.give(plan, at, step.into, step.check, value);
            }
            Step::Compute { into, check, expr } => {
                let value = judge::value(expr, &|v| self.value(v)).map(std::borrow::Cow::into_owned);
                let value = value.map_or(NO_ENTRY, |v| self.values.intern(&v));
                self.give(plan, at, *into, *check, value);
            }
            Step::Compare(comparison) => {
                if judge::holds(comparison, &|v| self.value(v)) {
                    self.step(plan, at + 1);
                }
            }
        }
    }

    /// Goes on if there is a value and the slot may take it.
    fn give(&mut self, plan: &Plan<'_>, at: usize, into: usize, check: bool, value: u32) {
        let Some(slot) = self.slots.get_mut(into) else { return };
        if !check {
            *slot = value;
        }
        if *slot == value && value != NO_ENTRY {
            self.step(plan, at + 1);
        }
    }

    /// Writes down the head, unless it held before this round.
    fn emit(&mut self, plan: &Plan<'_>) {
        let Some(table) = self.table(plan.head.0) else { return };
        let start = self.finds.cells.len();
        for source in &plan.head_cells {
            let cell = self.cell(*source);
            self.finds.cells.push(cell);
        }
        if table.hidden {
            self.finds.cells.extend([NO_ENTRY, 0]);
        }
        let known = self.finds.cells.get(start..).and_then(|row| table.find(row));
        let by_rule = |row| matches!(table.reason(row), Some(Reason::Rule { .. }));
        if known.is_some_and(|row| row < table.visible && !(self.again && by_rule(row))) {
            self.finds.cells.truncate(start);
            return;
        }
        self.finds.cells.extend_from_slice(&self.premises);
        self.finds.count += 1;
    }

    fn gather(&mut self, rule: usize, step: &GatherStep<'_>) -> u32 {
        let group: Box<[u32]> = step.group.iter().map(|s| self.cell(Source::Slot(*s))).collect();
        if let Some(value) = self.gathered.get(&(rule, step.line)).and_then(|groups| groups.get(&group)) {
            return *value;
        }
        let mut cells = Vec::new();
        self.each(&step.lookup, step.with, |run| {
            cells.push(run.cell(Source::Slot(step.of)));
            true
        });
        let nothing = gather::total_of_nothing(
            self.sentences.get(step.atom.sentence.0 as usize),
            step.atom,
            VarId(u32::try_from(step.of).unwrap_or(u32::MAX)),
        );
        let value = gather::gather(step.how, cells.iter().map(|c| self.values.value(*c)), nothing);
        let value = value.map_or(NO_ENTRY, |v| self.values.intern(&v));
        self.gathered.entry((rule, step.line)).or_default().insert(group, value);
        value
    }

    /// Calls `visit` for every row that fits and whose comparisons hold, until it says no.
    fn each(&mut self, lookup: &Lookup, with: &[Comparison], mut visit: impl FnMut(&Self) -> bool) {
        let Some(table) = self.table(lookup.sentence.0) else { return };
        let index = self.index(lookup);
        let mut row = self.first(table, index, lookup, 0, table.visible);
        while row != NO_ROW {
            if self.take(table.row(row), &lookup.takes)
                && with.iter().all(|c| judge::holds(c, &|v| self.value(v)))
                && !visit(self)
            {
                return;
            }
            row = following(index, lookup.by, row, 0);
        }
    }

    fn index(&self, lookup: &Lookup) -> Option<&'r Index> {
        let Found::Index(at) = lookup.by else { return None };
        self.indexes.get(lookup.sentence.0 as usize)?.get(at).map(|i| &**i)
    }

    /// The first row to look at, newest first, among rows `from..upto`.
    fn first(&mut self, table: &Table, index: Option<&Index>, lookup: &Lookup, from: u32, upto: u32) -> u32 {
        if from >= upto {
            return NO_ROW;
        }
        if lookup.by == Found::Scan {
            return upto - 1;
        }
        let mut key = std::mem::take(&mut self.key);
        key.clear();
        key.extend(lookup.key.iter().map(|s| self.cell(*s)));
        let mut row = match index {
            Some(index) => table.first(index, &key),
            None => table.find(&key).filter(|r| *r < upto).unwrap_or(NO_ROW),
        };
        self.key = key;
        if let Some(index) = index {
            while row != NO_ROW && row >= upto {
                row = index.next(row);
            }
        }
        if row != NO_ROW && row < from { NO_ROW } else { row }
    }

    fn take(&mut self, row: &[u32], takes: &[Take]) -> bool {
        takes.iter().all(|take| match *take {
            Take::Bind(column, slot) => match (row.get(column), self.slots.get_mut(slot)) {
                (Some(cell), Some(slot)) => {
                    *slot = *cell;
                    true
                }
                _ => false,
            },
            Take::Same(column, slot) => row.get(column) == self.slots.get(slot),
            Take::Is(column, cell) => row.get(column) == Some(&cell),
            Take::Entry(column) => row.get(column) != Some(&NO_ENTRY),
        })
    }

    fn table(&self, sentence: u32) -> Option<&'r Table> {
        self.tables.get(sentence as usize).map(|t| &**t)
    }

    fn cell(&self, source: Source) -> u32 {
        match source {
            Source::Cell(cell) => cell,
            Source::Slot(slot) => self.slots.get(slot).copied().unwrap_or(NO_ENTRY),
        }
    }

    fn value(&self, var: VarId) -> Option<&Value> {
        let cell = *self.slots.get(var.0 as usize)?;
        (cell != NO_ENTRY).then(|| self.values.value(cell))
    }
}

/// The next older row of a lookup, among rows `from..upto`.
fn following(index: Option<&Index>, by: Found, row: u32, from: u32) -> u32 {
    let next = match (by, index) {
        (Found::Scan, _) => row.checked_sub(1).unwrap_or(NO_ROW),
        (Found::Index(_), Some(index)) => index.next(row),
        _ => NO_ROW,
    };
    if next != NO_ROW && next < from { NO_ROW } else { next }
}
