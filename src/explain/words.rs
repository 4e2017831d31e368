//! What the pages say of a word, whatever the journal says: rows of tables, and what rules make of tables
//! alone, each with the source that its row names.
//!
//! Comes in: a word. Goes out: sentences. It concludes nothing.

use super::{
    Known, content, evidence,
    phrases::{ANOTHER, IS_A},
    say,
};
use crate::{
    base::span::Loc,
    measure::value::Value,
    model::{
        content::Sourced,
        outcome::RowRef,
        program::FactSource,
        proof::By,
        sentence::{Origin, SentenceId},
    },
};

/// What is said of a word in general, of nothing that has a name or a day, beside its kind and other spellings;
/// what has a source first.
pub fn general(known: &Known<'_>, word: &Value) -> Vec<Sourced> {
    let is_particular = |v: &Value| matches!(v, Value::Thing(_) | Value::Days(_) | Value::Entry(_));
    let mut out: Vec<Sourced> = Vec::new();
    for (n, sentence) in known.program.sentences.iter().enumerate() {
        let Ok(n) = u32::try_from(n) else { continue };
        if sentence.origin != Origin::Page || [IS_A, ANOTHER].contains(&&*sentence.pattern()) {
            continue;
        }
        for row in known.model.rows(SentenceId(n)) {
            let mut values = known.model.values(row);
            if values.any(|v| v == word) && !known.model.values(row).any(is_particular) {
                let (at, source) = source(known, row).unzip();
                out.push(Sourced { says: say::tuple(known, &known.model.tuple(row)), at, source });
            }
        }
    }
    out.sort_by_key(|told| told.source.is_none());
    out
}

/// The first row of a table with a source that a sentence rests on.
fn source(known: &Known<'_>, row: RowRef) -> Option<(Loc, String)> {
    let proof = known.model.proof(row)?;
    evidence::within(&[&proof]).iter().find_map(|p| match &p.by {
        By::Said(FactSource::Page(loc)) => Some((*loc, content::source(known, *loc)?)),
        _ => None,
    })
}
