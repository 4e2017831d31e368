//! Reckoners run over finished sentences, and their answers kept with what they rest on.
//!
//! Comes in: a reckoner and the tables it reads. Goes out: rows in the tables it gives, each with its
//! witnesses and numbers. The mathematics is the reckoner's own.

use std::cmp::Ordering;

use super::rounds::Store;
use crate::{
    measure::value::{EntryId, Value},
    model::{
        outcome::{Reckoning, RowRef},
        program::{Given, Reckoned, ReckonerUse},
        sentence::SentenceId,
        table::{NO_ENTRY, Reason},
    },
};

/// Runs one reckoner. Answers that do not fit the sentence they are given for are dropped.
pub(super) fn reckon(store: &mut Store<'_>, reckoner: &ReckonerUse) {
    let inputs = inputs(store, &reckoner.reads);
    let given: Vec<Given<'_>> = inputs
        .iter()
        .map(|i| Given { input: i.input, values: &i.values, entry: i.entry, planned: i.planned })
        .collect();
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
        let witnesses = answer.witnesses.iter().filter_map(|n| inputs.get(*n).map(|i| i.row)).collect();
        let reckoning = Reckoning { reckoner: reckoner.reckoner.name, witnesses, numbers: answer.numbers };
        store.add(*sentence, &cells, 0, |table| {
            let at = u32::try_from(table.reckonings.len()).unwrap_or(u32::MAX);
            table.reckonings.push(reckoning);
            Reason::Reckoned(at)
        });
    }
}

struct Input {
    input: usize,
    values: Vec<Value>,
    entry: Option<EntryId>,
    planned: bool,
    row: RowRef,
}

/// All tuples a reckoner reads, sentence by sentence, ordered by their values, their entry, and plans last.
fn inputs(store: &Store<'_>, reads: &[SentenceId]) -> Vec<Input> {
    let order = |a: &u32, b: &u32| match a == b {
        true => Ordering::Equal,
        false if *a == NO_ENTRY || *b == NO_ENTRY => a.cmp(b),
        false => store.values.value(*a).cmp(store.values.value(*b)),
    };
    let mut inputs = Vec::new();
    for (input, sentence) in reads.iter().enumerate() {
        let Some(table) = store.tables.get(sentence.0 as usize) else { continue };
        let cells = |row: u32| match table.row(row) {
            // Whether it is planned is a number of its own, and no value's.
            [cells @ .., planned] if table.hidden => (cells, *planned),
            cells => (cells, 0),
        };
        let mut rows: Vec<u32> = (0..table.len()).collect();
        rows.sort_by(|a, b| {
            let ((a, a_planned), (b, b_planned)) = (cells(*a), cells(*b));
            let differ = a.iter().zip(b).map(|(a, b)| order(a, b)).find(|o| o.is_ne());
            differ.unwrap_or(Ordering::Equal).then(a_planned.cmp(&b_planned))
        });
        for row in rows {
            let cells = table.row(row);
            let hidden = cells.get(table.blanks()..).unwrap_or(&[]);
            let entry = hidden.first().filter(|c| **c != NO_ENTRY).map(|c| store.values.value(*c));
            inputs.push(Input {
                input,
                values: cells.iter().take(table.blanks()).map(|c| store.values.value(*c).clone()).collect(),
                entry: match entry {
                    Some(Value::Entry(e)) => Some(*e),
                    _ => None,
                },
                planned: hidden.get(1) == Some(&1),
                row: RowRef { sentence: *sentence, row },
            });
        }
    }
    inputs
}
