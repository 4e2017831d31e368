//! Inference: from facts and rules to everything that holds, and why.
//!
//! Comes in: a checked program, made ready once, and the journal's facts. Goes out: a [`Model`] with one
//! shallowest derivation of each tuple, and diagnostics of rules that could not run. It knows nothing of
//! what the sentences are about, reads no text, and ends on every input: sentences are finished layer by
//! layer, and within a layer rules only recombine values that are there.

mod clash;
mod kept;
mod order;
mod plan;
mod prepared;
mod reckon;
mod rounds;
mod run;
mod strata;

use std::borrow::Borrow;

use crate::{
    base::diagnostic::Diagnostic,
    model::{
        outcome::Model,
        program::Fact,
        sentence::{Origin, Sentence},
    },
};

pub use clash::TWO_ANSWERS;
pub use kept::Kept;
pub use order::CANNOT_RUN;
pub use prepared::Prepared;
pub use strata::CIRCLES;

/// Everything that follows from a program and the journal's facts.
///
/// Rules that cannot run, or go in circles, are left out with a diagnostic; the rest still run. Facts
/// that do not fit their sentence's blanks are left out. The model and its proofs are the same whatever
/// the order of rules and facts.
pub fn run(prepared: &Prepared, facts: &[impl Borrow<Fact>]) -> (Model, Vec<Diagnostic>) {
    prepared.run(facts)
}

/// What follows from the facts that `before` followed from, if some rules were other ones: all that has no
/// part in the difference is taken over. The two programs have the same facts and reckoners, and the sentences
/// of the one begin with those of the other.
pub fn rerun(prepared: &Prepared, before: &Model) -> (Model, Vec<Diagnostic>) {
    prepared.rerun(before)
}

fn is_journal(sentence: &Sentence) -> bool {
    sentence.origin == Origin::Journal
}
