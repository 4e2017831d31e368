//! A proof: one way to see that a sentence holds, down to journal lines and table rows.
//!
//! Comes in: derivations recorded during inference. Goes out: a tree that can be shown, or checked
//! step by step without the engine (see `replay`).

use std::sync::Arc;

use super::{
    program::{Atom, Comparison, FactSource},
    sentence::SentenceId,
};
use crate::measure::value::{EntryId, Value};

/// A sentence with its blanks filled, as it holds in the model.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Tuple {
    /// Which sentence.
    pub sentence: SentenceId,
    /// One value for each blank.
    pub values: Vec<Value>,
    /// The entry it carries, for journal sentences.
    pub entry: Option<EntryId>,
    /// Whether it is a plan's.
    pub planned: bool,
}

/// One way to see that a tuple holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Proof {
    /// What is proved.
    pub tuple: Tuple,
    /// By what.
    pub by: By,
}

/// What a tuple rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum By {
    /// It is said: in the journal, in a table, or from outside.
    Said(FactSource),
    /// A rule concludes it.
    Rule {
        /// The rule's number in the program.
        rule: usize,
        /// The value of each variable of the rule that the body binds, by its number.
        bindings: Vec<Option<Value>>,
        /// One premise for each line of the body, in written order.
        premises: Vec<Premise>,
    },
    /// A reckoner answers it.
    Reckoned {
        /// Its name in the registry.
        reckoner: &'static str,
        /// The tuples it rests on.
        witnesses: Vec<Arc<Proof>>,
        /// Named intermediate numbers.
        numbers: Vec<(String, Value)>,
    },
}

/// How one line of a rule's body is met.
#[derive(Debug, Clone, PartialEq)]
pub enum Premise {
    /// The sentence holds.
    Holds(Arc<Proof>),
    /// No tuple fits the pattern.
    Absent {
        /// The pattern, bound variables already replaced by constants.
        pattern: Atom,
        /// Comparisons a denied tuple would also have had to meet, likewise bound.
        with: Vec<Comparison>,
        /// Up to three tuples that came near: they differ in one blank or fail a comparison.
        near: Vec<Tuple>,
    },
    /// A value gathered over all tuples that fit.
    Gathered {
        /// The pattern, bound variables replaced.
        pattern: Atom,
        /// The value.
        value: Value,
        /// Every member.
        members: Vec<Arc<Proof>>,
    },
    /// A value computed.
    Computed {
        /// The value.
        value: Value,
    },
    /// A comparison that holds, with both sides' values.
    Compared {
        /// Left.
        left: Value,
        /// Right.
        right: Value,
    },
}
