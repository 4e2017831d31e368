//! Reckoners run over finished sentences, and their answers kept with what they rest on.
//!
//! Comes in: a reckoner and the tables it reads. Goes out: rows in the tables it gives, each with its
//! witnesses and numbers. The mathematics is the reckoner's own.

use std::{cmp::Ordering, sync::Arc};

use super::rounds::Store;
use crate::{
    measure::value::Value,
    model::{
        interner::Interner,
        outcome::{Reckoning, RowRef},
        program::{Given, Reckoned, ReckonerUse},
        sentence::SentenceId,
        table::{NO_ENTRY, Reason, Spelled, Table},
    },
};

/// Runs one reckoner. Answers that do not fit the sentence they are given for are dropped.
pub(super) fn reckon(store: &mut Store<'_>, reckoner: &ReckonerUse) {
    let inputs: Vec<(SentenceId, Arc<[Spelled]>)> = reckoner
        .reads
        .iter()
        .filter_map(|s| Some((*s, Arc::clone(spelled(store.tables.get(s.0 as usize)?, &store.values)))))
        .collect();
    let mut rows = Vec::new();
    let mut given = Vec::new();
    for (input, (sentence, spelled)) in inputs.iter().enumerate() {
        rows.extend(spelled.iter().map(|s| RowRef { sentence: *sentence, row: s.row }));
        given.extend(spelled.iter().map(|s| Given {
            input,
            values: &s.values,
            entry: s.entry,
            planned: s.planned,
        }));
    }
    let mut answers: Vec<Reckoned> = (reckoner.reckoner.run)(&given);
    answers.sort_by(|a, b| {
        let (one, other) = ((&a.values, &a.witnesses, &a.numbers), (&b.values, &b.witnesses, &b.numbers));
        a.output.cmp(&b.output).then_with(|| one.cmp(&other))
    });
    for answer in answers {
        let Some(sentence) = reckoner.gives.get(answer.output) else { continue };
        let Some(table) = store.tables.get(sentence.0 as usize) else { continue };
        if table.blanks() != answer.values.len() {
            continue;
        }
        let hidden = table.hidden;
        let mut cells: Vec<u32> = answer.values.iter().map(|v| store.values.intern(v)).collect();
        if hidden {
            cells.extend([NO_ENTRY, 0]);
        }
        let witnesses = answer.witnesses.iter().filter_map(|n| rows.get(*n).copied()).collect();
        let reckoning = Reckoning { reckoner: reckoner.reckoner.name, witnesses, numbers: answer.numbers };
        store.add(*sentence, &cells, 0, |table| {
            let at = u32::try_from(table.reckonings.len()).unwrap_or(u32::MAX);
            table.reckonings.push(reckoning);
            Reason::Reckoned(at)
        });
    }
}

/// The rows of a finished sentence, ordered by their values, their entry, and plans last.
fn spelled<'t>(table: &'t Table, values: &Interner) -> &'t Arc<[Spelled]> {
    let order = |a: &u32, b: &u32| match a == b {
        true => Ordering::Equal,
        false if *a == NO_ENTRY || *b == NO_ENTRY => a.cmp(b),
        false => values.value(*a).cmp(values.value(*b)),
    };
    let cells = |row: u32| match table.row(row) {
        // Whether it is planned is a number of its own, and no value's.
        [cells @ .., planned] if table.hidden => (cells, *planned),
        cells => (cells, 0),
    };
    table.spelled(|| {
        let mut rows: Vec<u32> = (0..table.len()).collect();
        rows.sort_by(|a, b| {
            let ((a, a_planned), (b, b_planned)) = (cells(*a), cells(*b));
            let differ = a.iter().zip(b).map(|(a, b)| order(a, b)).find(|o| o.is_ne());
            differ.unwrap_or(Ordering::Equal).then(a_planned.cmp(&b_planned))
        });
        let spell = |row: u32| {
            let (cells, planned) = cells(row);
            let (said, entry) = cells.split_at(table.blanks().min(cells.len()));
            let entry = entry.first().filter(|c| **c != NO_ENTRY).map(|c| values.value(*c));
            Spelled {
                row,
                values: said.iter().map(|c| values.value(*c).clone()).collect(),
                entry: match entry {
                    Some(Value::Entry(e)) => Some(*e),
                    _ => None,
                },
                planned: planned == 1,
            }
        };
        rows.into_iter().map(spell).collect()
    })
}
