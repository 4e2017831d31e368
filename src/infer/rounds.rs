//! The rounds of inference: a group of sentences at a time, each round from what the last one found.
//!
//! Comes in: a program, its order, base facts in tables. Goes out: tables to which nothing can be added,
//! each row with the least of its shallowest derivations.

use std::cmp::Ordering;

use rustc_hash::FxHashMap;

use super::{
    plan::{self, Ground, Plan},
    run::{Finds, Gathered, Run},
};
use crate::model::{
    lines::Order,
    program::{Demand, Program, Rule},
    sentence::SentenceId,
    table::{Interner, NO_ENTRY, Reason, Table},
};

/// Where everything is kept while it grows.
pub(super) struct Store<'p> {
    pub(super) program: &'p Program,
    pub(super) tables: Vec<Table>,
    pub(super) values: Interner,
    /// For each rule its place by page code and number.
    pub(super) places: Vec<u32>,
}

impl Store<'_> {
    /// Adds everything the rules of one group conclude. Its base facts are in, as round 0.
    pub(super) fn finish(&mut self, group: &[SentenceId], orders: &[Option<Order>]) {
        let program = self.program;
        let rules: Vec<(usize, &Rule, &Order)> = program
            .rules
            .iter()
            .zip(orders)
            .enumerate()
            .filter_map(|(n, (rule, order))| Some((n, rule, order.as_ref()?)))
            .filter(|(_, rule, _)| group.binary_search(&rule.head.sentence).is_ok())
            .collect();
        self.show(group);
        if rules.is_empty() {
            return;
        }
        let mut gathered = Gathered::default();
        let mut ground = Ground { tables: &mut self.tables, values: &mut self.values };
        let first: Vec<Plan<'_>> =
            rules.iter().filter_map(|(n, r, o)| plan::plan(*n, r, o, &[], None, &mut ground)).collect();
        let again: Vec<Plan<'_>> = rules
            .iter()
            .flat_map(|(n, rule, order)| {
                let moving = moving(rule, group);
                let plans: Vec<_> = moving
                    .iter()
                    .filter_map(|m| plan::plan(*n, rule, order, &moving, Some(*m), &mut ground))
                    .collect();
                plans
            })
            .collect();
        let mut round = 1;
        let mut plans = &first;
        let mut fresh: FxHashMap<u32, u32> = group.iter().map(|s| (s.0, 0)).collect();
        loop {
            for sentence in group {
                if let Some(table) = self.tables.get_mut(sentence.0 as usize) {
                    table.begin_round(round);
                }
            }
            for plan in plans {
                let mut finds = Finds::default();
                Run::new(
                    &self.tables,
                    &program.sentences,
                    &mut self.values,
                    &mut gathered,
                    &fresh,
                    &mut finds,
                )
                .all(plan);
                self.add(plan, &finds);
            }
            let mut grown = false;
            for sentence in group {
                if let Some(table) = self.tables.get(sentence.0 as usize) {
                    grown |= table.len() > table.visible;
                    fresh.insert(sentence.0, table.visible);
                }
            }
            self.show(group);
            if !grown || again.is_empty() {
                return;
            }
            plans = &again;
            round += 1;
        }
    }

    fn show(&mut self, group: &[SentenceId]) {
        for sentence in group {
            if let Some(table) = self.tables.get_mut(sentence.0 as usize) {
                table.show_all();
            }
        }
    }

    /// Adds what a plan found: new rows, and better derivations of rows new in this round.
    fn add(&mut self, plan: &Plan<'_>, finds: &Finds) {
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
            let fresh = |kept: &mut Vec<u32>| {
                let at = u32::try_from(kept.len()).unwrap_or(u32::MAX);
                kept.extend_from_slice(premises);
                Reason::Rule { rule, at }
            };
            let (row, new) = table.add(row, fresh);
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
            return self.places.get(plan.rule) < self.places.get(old);
        }
        let Some(recorded) = table.premises.get(*at as usize..) else { return false };
        let Some(rule) = self.program.rules.get(plan.rule) else { return false };
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

/// The positive lines of a rule that read sentences of the group it concludes into.
fn moving(rule: &Rule, group: &[SentenceId]) -> Vec<usize> {
    rule.body
        .iter()
        .enumerate()
        .filter_map(|(n, line)| match &line.demand {
            Demand::Holds(atom) if group.binary_search(&atom.sentence).is_ok() => Some(n),
            _ => None,
        })
        .collect()
}
