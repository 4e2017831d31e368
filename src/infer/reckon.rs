//! Reckoners run over finished sentences, and their answers kept with what they rest on.
//!
//! Comes in: a reckoner and the tables it reads. Goes out: rows in the tables it gives, each with its
//! witnesses and numbers. The mathematics is the reckoner's own.

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
        let key = |r: &Reckoned| (r.output, r.values.clone(), r.witnesses.clone(), r.numbers.clone());
        key(a).cmp(&key(b))
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

/// All tuples a reckoner reads, sentence by sentence, ordered by their values.
fn inputs(store: &Store<'_>, reads: &[SentenceId]) -> Vec<Input> {
    let mut inputs = Vec::new();
    for (input, sentence) in reads.iter().enumerate() {
        let Some(table) = store.tables.get(sentence.0 as usize) else { continue };
        for row in 0..table.len() {
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
    inputs.sort_by(|a, b| {
        (a.input, &a.values, a.entry, a.planned).cmp(&(b.input, &b.values, b.entry, b.planned))
    });
    inputs
}
