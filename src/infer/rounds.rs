//! The rounds of inference: a layer of sentences at a time, each round from what the last one found.
//!
//! Comes in: a program, its layers, base facts, and what held before them. Goes out: tables to which nothing
//! can be added, each row with the least of its shallowest derivations.

use std::{cmp::Ordering, sync::Arc};

use rustc_hash::FxHashMap;

use super::{
    is_journal,
    plan::{self, Ground, Plan},
    prepared::Layout,
    reckon,
    run::{Finds, Gathered, Run},
    strata::Layer,
};
use crate::{
    measure::value::Value,
    model::{
        interner::Interner,
        lines::Order,
        outcome::{Model, Parts},
        program::{Demand, Fact, FactSource, Rule},
        sentence::SentenceId,
        table::{Index, NO_ENTRY, Reason, Table},
    },
};

/// How a sentence came out, held against before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Came {
    /// With the same rows by the same numbers.
    Alike,
    /// With the same rows by the same numbers, and more from this number on.
    Grown(u32),
    /// Otherwise.
    Otherwise,
}

/// Where everything is kept while it grows.
pub(super) struct Store<'p> {
    layout: &'p Layout,
    before: &'p Model,
    pub(super) tables: Vec<Arc<Table>>,
    pub(super) values: Interner,
    /// For each sentence the indexes that plans look up by, as they number them.
    indexes: Vec<Vec<Arc<Index>>>,
}

impl<'p> Store<'p> {
    /// Holds what held before, which may be nothing at all.
    pub(super) fn over(layout: &'p Layout, before: &'p Model) -> Self {
        let mut tables = before.parts.tables.clone();
        for sentence in layout.program.sentences.iter().skip(tables.len()) {
            tables.push(Arc::new(Table::new(sentence.blanks.len(), is_journal(sentence))));
        }
        let indexes = tables.iter().map(|_| Vec::new()).collect();
        Self { layout, before, tables, values: Interner::over(&before.parts.values), indexes }
    }

    /// See [`clear`].
    pub(super) fn clear(&mut self, sentence: SentenceId) {
        clear(&mut self.tables, sentence);
    }

    /// Whether base facts can be put in a table as it stands: nothing concluded or reckoned says the same.
    pub(super) fn takes(&mut self, facts: &[&Fact]) -> bool {
        facts.iter().all(|fact| {
            let Some(cells) = self.cells(fact) else { return true };
            let table = self.tables.get(fact.sentence.0 as usize);
            let known = table.and_then(|t| t.reason(t.find(&cells)?));
            !matches!(known, Some(Reason::Rule { .. } | Reason::Reckoned(_)))
        })
    }

    /// The cells of a base fact; `None` if it does not fit its sentence.
    fn cells(&mut self, fact: &Fact) -> Option<Vec<u32>> {
        let table = self.tables.get(fact.sentence.0 as usize)?;
        if table.blanks() != fact.values.len() {
            return None;
        }
        let mut cells = Vec::with_capacity(table.width);
        cells.extend(fact.values.iter().map(|v| self.values.intern(v)));
        if table.hidden {
            cells.push(match &fact.source {
                FactSource::Entry(entry) => self.values.intern(&Value::Entry(*entry)),
                FactSource::Page(_) | FactSource::Given => NO_ENTRY,
            });
            cells.push(u32::from(fact.planned));
        }
        Some(cells)
    }

    /// Puts a base fact in its table. Of several places that say the same the first is kept.
    pub(super) fn say(&mut self, fact: &Fact) {
        let Some(cells) = self.cells(fact) else { return };
        let Some(table) = self.tables.get_mut(fact.sentence.0 as usize) else { return };
        let (row, new) = add(table, &cells, 0, |_| Reason::Said(fact.source.clone()));
        if !new
            && let Some(Reason::Said(old)) = table.reason(row)
            && fact.source < *old
        {
            Arc::make_mut(table).set_reason(row, Reason::Said(fact.source.clone()));
        }
    }

    /// Adds a row of a round, unless it is there.
    pub(super) fn add(
        &mut self,
        sentence: SentenceId,
        cells: &[u32],
        round: u32,
        reason: impl FnOnce(&mut Table) -> Reason,
    ) {
        if let Some(table) = self.tables.get_mut(sentence.0 as usize) {
            add(table, cells, round, reason);
        }
    }

    /// Adds everything that reckoners and rules find of a layer's sentences. Its base facts are in, and all
    /// it reads of other layers is finished.
    pub(super) fn finish(&mut self, layer: &Layer) {
        let program = &self.layout.program;
        for reckoner in layer.reckoners.iter().filter_map(|n| program.reckoners.get(*n)) {
            reckon::reckon(self, reckoner);
        }
        self.show(layer);
        let rules: Vec<(usize, &Rule, &Order)> = layer
            .rules
            .iter()
            .filter_map(|n| Some((*n, &**program.rules.get(*n)?, self.layout.orders.get(*n)?.as_ref()?)))
            .filter(|(_, rule, _)| self.can_be_met(rule, |sentence| !layer.has(sentence)))
            .collect();
        let mut gathered = Gathered::default();
        let mut plans: Vec<Plan<'_>> = Vec::new();
        for (n, rule, order) in &rules {
            if self.can_be_met(rule, |_| true) {
                plans.extend(plan::plan(*n, rule, order, &[], None, &mut self.ground()));
            }
        }
        let mut fresh: FxHashMap<u32, u32> = layer.sentences.iter().map(|s| (s.0, 0)).collect();
        for round in 1.. {
            for plan in &plans {
                let mut finds = Finds::default();
                Run::new(
                    &self.tables,
                    &self.indexes,
                    &program.sentences,
                    &mut self.values,
                    &mut gathered,
                    &fresh,
                    &mut finds,
                )
                .all(plan);
                self.add_found(plan, &finds, round);
            }
            let mut grown = false;
            for sentence in &layer.sentences {
                if let Some(table) = self.tables.get(sentence.0 as usize) {
                    grown |= table.len() > table.visible;
                    fresh.insert(sentence.0, table.visible);
                }
            }
            self.show(layer);
            if !grown {
                break;
            }
            if round == 1 {
                plans = self.further(&rules, layer);
            }
            if plans.is_empty() {
                break;
            }
        }
        self.keep_indexes(layer);
    }

    /// Adds what follows of a layer's one sentence because the sentences it reads have more rows than before;
    /// `fresh` says for each of those where the new ones begin. What the sentence says itself is in.
    pub(super) fn grow(&mut self, layer: &Layer, fresh: &FxHashMap<u32, u32>) {
        let program = &self.layout.program;
        self.show(layer);
        let mut gathered = Gathered::default();
        for n in &layer.rules {
            let order = self.layout.orders.get(*n).and_then(Option::as_ref);
            let (Some(rule), Some(order)) = (program.rules.get(*n), order) else { continue };
            let growing = lines_over(rule, |sentence| fresh.contains_key(&sentence.0));
            if growing.is_empty() || !self.can_be_met(rule, |_| true) {
                continue;
            }
            for new in &growing {
                let plan = plan::plan(*n, rule, order, &growing, Some(*new), &mut self.ground());
                let Some(plan) = plan else { continue };
                let mut finds = Finds::default();
                let mut run = Run::new(
                    &self.tables,
                    &self.indexes,
                    &program.sentences,
                    &mut self.values,
                    &mut gathered,
                    fresh,
                    &mut finds,
                );
                run.again = true;
                run.all(&plan);
                self.add_found(&plan, &finds, 1);
            }
        }
        self.show(layer);
    }

    /// How a finished sentence came out, held against before. What came out alike is shared, and rows that were
    /// there before keep their numbers where they can.
    pub(super) fn held(&mut self, sentence: SentenceId, layer: &Layer) -> Came {
        let at = sentence.0 as usize;
        let (Some(before), Some(now)) = (self.before.parts.tables.get(at), self.tables.get_mut(at)) else {
            return Came::Otherwise;
        };
        if Arc::ptr_eq(before, now) {
            return Came::Alike;
        }
        if !now.begins_as(before) {
            // Rows that rest on rows of their own layer cannot be moved.
            let Some(aligned) = now.aligned(before).filter(|_| !layer.reads_itself) else {
                return Came::Otherwise;
            };
            *now = Arc::new(aligned);
        }
        if let Some(now) = Arc::get_mut(now).filter(|_| !layer.reads_itself) {
            now.adopt_indexes(before);
        }
        if now.len() > before.len() {
            return Came::Grown(before.len());
        }
        if now.rests_as(before) {
            *now = Arc::clone(before);
        }
        Came::Alike
    }

    /// The plans of every round but the first: each reads some line in the rows that the last round found.
    fn further<'r>(&mut self, rules: &[(usize, &'r Rule, &Order)], layer: &Layer) -> Vec<Plan<'r>> {
        let mut plans = Vec::new();
        for (n, rule, order) in rules {
            let moving = lines_over(rule, |sentence| layer.has(sentence));
            for new in &moving {
                plans.extend(plan::plan(*n, rule, order, &moving, Some(*new), &mut self.ground()));
            }
        }
        plans
    }

    /// Whether every positive line of a rule over such sentences has a row to read.
    fn can_be_met(&self, rule: &Rule, over: impl Fn(SentenceId) -> bool) -> bool {
        rule.body.iter().all(|line| match &line.demand {
            Demand::Holds(atom) if over(atom.sentence) => {
                self.tables.get(atom.sentence.0 as usize).is_some_and(|t| t.len() > 0)
            }
            _ => true,
        })
    }

    fn ground(&mut self) -> Ground<'_> {
        Ground { tables: &self.tables, values: &mut self.values, indexes: &mut self.indexes }
    }

    /// Lets lines read every row there is of a layer, through every index there is.
    fn show(&mut self, layer: &Layer) {
        for sentence in &layer.sentences {
            let at = sentence.0 as usize;
            let (Some(table), Some(indexes)) = (self.tables.get_mut(at), self.indexes.get_mut(at)) else {
                continue;
            };
            if table.visible < table.len() {
                let table = Arc::make_mut(table);
                table.visible = table.len();
                for index in indexes {
                    Arc::make_mut(index).extend(table, table.visible);
                }
            }
        }
    }

    /// Keeps the indexes of a finished layer for whoever asks next.
    fn keep_indexes(&self, layer: &Layer) {
        for sentence in &layer.sentences {
            let at = sentence.0 as usize;
            if let (Some(table), Some(indexes)) = (self.tables.get(at), self.indexes.get(at)) {
                indexes.iter().for_each(|index| table.keep(index));
            }
        }
    }

    /// Everything, finished.
    pub(super) fn into_parts(self) -> Parts {
        Parts {
            program: Arc::clone(&self.layout.program),
            orders: Arc::clone(&self.layout.orders),
            strata: Arc::clone(&self.layout.strata),
            together: Arc::clone(&self.layout.together),
            tables: self.tables,
            values: Arc::new(self.values),
            clashes: Vec::new(),
        }
    }

    /// Adds what a plan found: new rows, and better derivations of rows new in this round.
    fn add_found(&mut self, plan: &Plan<'_>, finds: &Finds, round: u32) {
        let Some(width) = self.tables.get(plan.head.0 as usize).map(|t| t.width) else { return };
        let rule = u32::try_from(plan.rule).unwrap_or(u32::MAX);
        let mut at = 0;
        for _ in 0..finds.count {
            let middle = at + width;
            let end = middle + plan.premises;
            let (Some(row), Some(premises)) = (finds.cells.get(at..middle), finds.cells.get(middle..end))
            else {
                return;
            };
            at = end;
            let Some(table) = self.tables.get_mut(plan.head.0 as usize) else { return };
            let (row, new) = add(table, row, round, |table| {
                let at = u32::try_from(table.premises.len()).unwrap_or(u32::MAX);
                table.premises.extend_from_slice(premises);
                Reason::Rule { rule, at }
            });
            if !new && self.better(plan, premises, row) {
                self.replace(plan, premises, row, rule);
            }
        }
    }

    /// Whether this derivation comes before the recorded one: by page code and rule number, then by the
    /// premises in written order, value by value.
    fn better(&self, plan: &Plan<'_>, premises: &[u32], row: u32) -> bool {
        let Some(table) = self.tables.get(plan.head.0 as usize) else { return false };
        let Some(Reason::Rule { rule: old, at }) = table.reason(row) else { return false };
        let old = *old as usize;
        if old != plan.rule {
            return self.layout.places.get(plan.rule) < self.layout.places.get(old);
        }
        let Some(recorded) = table.premises.get(*at as usize..) else { return false };
        let Some(rule) = self.layout.program.rules.get(plan.rule) else { return false };
        let sentences = rule.body.iter().filter_map(|line| match &line.demand {
            Demand::Holds(atom) => Some(atom.sentence),
            _ => None,
        });
        for ((sentence, a), b) in sentences.zip(premises).zip(recorded) {
            if a == b {
                continue;
            }
            let Some(table) = self.tables.get(sentence.0 as usize) else { return false };
            match self.compare(table, *a, *b) {
                Ordering::Less => return true,
                Ordering::Greater => return false,
                Ordering::Equal => {}
            }
        }
        false
    }

    fn compare(&self, table: &Table, a: u32, b: u32) -> Ordering {
        let values = table.blanks() + usize::from(table.hidden);
        let (a, b) = (table.row(a), table.row(b));
        for (n, (x, y)) in a.iter().zip(b).enumerate() {
            if x == y {
                continue;
            }
            let order = match (*x, *y) {
                _ if n >= values => x.cmp(y),
                (NO_ENTRY, _) => Ordering::Less,
                (_, NO_ENTRY) => Ordering::Greater,
                _ => self.values.value(*x).cmp(self.values.value(*y)),
            };
            if order != Ordering::Equal {
                return order;
            }
        }
        Ordering::Equal
    }

    fn replace(&mut self, plan: &Plan<'_>, premises: &[u32], row: u32, rule: u32) {
        let Some(table) = self.tables.get_mut(plan.head.0 as usize) else { return };
        let table = Arc::make_mut(table);
        let at = match table.reason(row) {
            // A derivation by the same rule is as long, so it takes the old one's place.
            Some(Reason::Rule { rule: old, at }) if *old == rule => *at as usize,
            _ => {
                let at = table.premises.len();
                table.premises.extend_from_slice(premises);
                at
            }
        };
        if let Some(kept) = table.premises.get_mut(at..at + premises.len()) {
            kept.copy_from_slice(premises);
        }
        table.set_reason(row, Reason::Rule { rule, at: u32::try_from(at).unwrap_or(u32::MAX) });
    }
}

/// Takes away what is concluded or reckoned of a sentence.
pub(super) fn clear(tables: &mut [Arc<Table>], sentence: SentenceId) {
    if let Some(table) = tables.get_mut(sentence.0 as usize)
        && !table.is_said()
    {
        *table = Arc::new(table.said());
    }
}

/// Adds a row unless it is there; a table that others share is copied only for a new one.
fn add(
    table: &mut Arc<Table>,
    cells: &[u32],
    round: u32,
    reason: impl FnOnce(&mut Table) -> Reason,
) -> (u32, bool) {
    if Arc::get_mut(table).is_none()
        && let Some(row) = table.find(cells)
    {
        return (row, false);
    }
    Arc::make_mut(table).add(cells, round, reason)
}

/// The positive lines of a rule that read such sentences.
fn lines_over(rule: &Rule, over: impl Fn(SentenceId) -> bool) -> Vec<usize> {
    rule.body
        .iter()
        .enumerate()
        .filter_map(|(n, line)| match &line.demand {
            Demand::Holds(atom) if over(atom.sentence) => Some(n),
            _ => None,
        })
        .collect()
}
