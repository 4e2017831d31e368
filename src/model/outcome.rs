//! What inference leaves: every tuple that holds, and one shallowest derivation of each.
//!
//! Comes in: tuples and derivations from `infer`. Goes out: queries over them, and proofs.
//! It does not derive anything.

use super::sentence::SentenceId;

/// One tuple of a [`Model`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowRef {
    /// The sentence.
    pub sentence: SentenceId,
    /// Its row in that sentence's table.
    pub row: u32,
}
