//! Why a sentence does not hold: how near each rule that could say it comes.
//!
//! Comes in: what `explain`'s search found. Goes out: plain structures to show. Nothing is searched here.

use super::{
    outcome::RowRef,
    program::{Atom, Comparison, Expr},
    proof::Tuple,
};
use crate::measure::value::Value;

/// An answer to "why not?".
#[derive(Debug, Clone, PartialEq)]
pub struct WhyNot {
    /// What was asked: constants where a value was named, anything elsewhere.
    pub asked: Atom,
    /// The tuples that hold after all; then there is nothing to explain.
    pub holds: Vec<RowRef>,
    /// Tuples of the sentence that differ from what was asked in one blank, at most three.
    pub near: Vec<Tuple>,
    /// One for each rule that could say it, the nearest first. Empty where only the journal, a table or
    /// a reckoner could.
    pub attempts: Vec<Attempt>,
}

/// How far one rule comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Attempt {
    /// The rule's number in the program.
    pub rule: usize,
    /// The values of its variables when it fails, by variable number.
    pub bindings: Vec<Option<Value>>,
    /// The lines that are met, with the tuples that meet those that are positive sentences; in the order
    /// in which they were tried: as written, but a line that waits for a value comes after the line that
    /// gives it.
    pub met: Vec<(usize, Option<RowRef>)>,
    /// The line, from 0, that is not met.
    pub line: usize,
    /// How many lines are not met, this one included.
    pub left: usize,
    /// What stands in the way.
    pub obstacle: Obstacle,
    /// Whether every way was tried. If not, a longer run of lines may exist.
    pub exhaustive: bool,
}

/// What keeps a line from being met.
#[derive(Debug, Clone, PartialEq)]
pub enum Obstacle {
    /// Nothing fits a sentence that must hold.
    Missing {
        /// The sentence, with what is known of it.
        pattern: Atom,
        /// Up to three tuples that differ in one blank.
        near: Vec<Tuple>,
        /// Why that sentence does not hold in its turn, where rules could say it.
        because: Option<Box<WhyNot>>,
    },
    /// A tuple fits a sentence that must not hold.
    InTheWay {
        /// The sentence that must not hold.
        pattern: Atom,
        /// The least tuple that fits it.
        tuple: RowRef,
    },
    /// A comparison does not hold.
    Unmet {
        /// The comparison with values for variables.
        comparison: Comparison,
        /// What the left side comes to; `None` where unlike things would have to be put together.
        left: Option<Value>,
        /// What the right side comes to.
        right: Option<Value>,
    },
    /// There is nothing to gather a value from, or what there is has none.
    NothingGathered {
        /// The sentence gathered over.
        pattern: Atom,
        /// Up to three tuples that differ in one blank or fail a comparison.
        near: Vec<Tuple>,
    },
    /// A computation has no value: unlike things would have to be put together.
    NotComputed {
        /// The computation with values for variables.
        expr: Expr,
    },
    /// The gathered or computed value is another than was asked for.
    AnotherValue {
        /// What it comes to.
        value: Value,
        /// What was asked for.
        asked: Value,
    },
}
