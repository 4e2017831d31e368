//! Sentences declared `only one …` that hold for two values all the same.
//!
//! Comes in: a finished model. Goes out: pairs of tuples that cannot both be right, each with a
//! diagnostic that names both proofs. It takes neither away.

use std::{
    collections::{BTreeMap, btree_map::Entry},
    sync::Arc,
};

use crate::{
    base::diagnostic::{Diagnostic, RemarkKind, Severity},
    measure::{display, value::Value},
    model::{
        outcome::{Model, Reason, RowRef},
        program::FactSource,
        sentence::{Sentence, SentenceId},
    },
};

/// The code of two answers where only one may be.
pub const TWO_ANSWERS: &str = "two-answers";

/// The least two tuples of every group that has more than one value in the blank that may have but one.
/// Plans are compared with plans, what is done with what is done. Of a sentence whose tuples are the very
/// ones of `before` what was found there holds.
pub(super) fn clashes(model: &Model, before: &Model) -> Vec<(RowRef, RowRef)> {
    let mut clashes = Vec::new();
    for (n, sentence) in model.sentences().iter().enumerate() {
        let Some(only) = sentence.only_one else { continue };
        let (Some(table), known) = (model.parts.tables.get(n), before.parts.tables.get(n)) else { continue };
        let id = SentenceId(u32::try_from(n).unwrap_or(u32::MAX));
        if known.is_some_and(|known| Arc::ptr_eq(known, table)) {
            clashes.extend(before.clashes().iter().filter(|(row, _)| row.sentence == id));
            continue;
        }
        let hidden = table.hidden.then_some(table.blanks() + 1);
        let others: Vec<usize> = (0..table.blanks()).filter(|b| *b != only).chain(hidden).collect();
        if table.index(&others).keys() < table.len() as usize {
            clashes.extend(of_sentence(model, id, only));
        }
    }
    clashes
}

fn of_sentence(model: &Model, id: SentenceId, only: usize) -> Vec<(RowRef, RowRef)> {
    let mut clashes = Vec::new();
    let mut first: BTreeMap<(bool, Vec<&Value>), (RowRef, bool)> = BTreeMap::new();
    for row in model.rows(id) {
        let others = model.values(row).enumerate().filter(|(b, _)| *b != only).map(|(_, v)| v).collect();
        match first.entry((model.planned(row), others)) {
            Entry::Vacant(slot) => {
                slot.insert((row, false));
            }
            Entry::Occupied(mut slot) => {
                let (other, told) = *slot.get();
                if !told && model.value(other, only) != model.value(row, only) {
                    slot.get_mut().1 = true;
                    clashes.push((other, row));
                }
            }
        }
    }
    clashes
}

/// What is said of a clash.
pub(super) fn diagnostic(model: &Model, a: RowRef, b: RowRef) -> Diagnostic {
    let said = |row| model.sentence(a.sentence).map_or_else(String::new, |s| filled(s, model, row));
    let mut diagnostic = Diagnostic::new(
        TWO_ANSWERS,
        Severity::Error,
        format!("Only one can be right: “{}”, or “{}”.", said(a), said(b)),
    );
    if let Some(sentence) = model.sentence(a.sentence) {
        diagnostic = diagnostic.at(sentence.loc, "declared to have only one answer");
    }
    for row in [a, b] {
        let by = match model.reason(row) {
            Some(Reason::Rule { rule, .. }) => {
                let Some(rule) = model.rules().get(rule) else { continue };
                diagnostic = diagnostic.also(rule.loc, format!("concludes “{}”", said(row)));
                format!("rule {} of {}", rule.number, rule.page)
            }
            Some(Reason::Reckoned(reckoning)) => format!("reckoned by {}", reckoning.reckoner),
            Some(Reason::Said(FactSource::Page(loc))) => {
                diagnostic = diagnostic.also(*loc, format!("says “{}”", said(row)));
                "said in a table".to_owned()
            }
            Some(Reason::Said(FactSource::Entry(_))) => "said in the journal".to_owned(),
            Some(Reason::Said(FactSource::Given)) | None => "given".to_owned(),
        };
        diagnostic = diagnostic.remark(RemarkKind::Why, format!("“{}”: {by}", said(row)));
    }
    diagnostic
}

fn filled(sentence: &Sentence, model: &Model, row: RowRef) -> String {
    let units = display::Units::new();
    sentence.filled(|n| model.value(row, n).map_or_else(String::new, |v| display::value(v, &units)))
}
