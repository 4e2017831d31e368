//! Structure in, meaning out: rule pages into a program, entries into facts.
//!
//! Comes in: what `parse` cut up. Goes out: a [`Program`](crate::model::program::Program) and located
//! diagnostics. It draws no conclusion; `infer` does.

pub mod asking;
pub mod clauses;
pub mod diary;
pub mod lexicon;
pub mod registry;
pub mod rulebook;
pub mod sentences;
