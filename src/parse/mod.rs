//! Text in, structure out: what the journal and the rule pages say, before anything is looked up.
//!
//! Comes in: texts. Goes out: cut-up structure with places, and diagnostics. It resolves no name.

pub mod frames;
pub mod journal;
pub mod page;
