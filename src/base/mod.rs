//! The ground under every stage: where text stands, what it is called, what is said of it.
//!
//! Comes in: nothing. Goes out: spans, sources, folded names, near misses, diagnostics, and work shared among cores.
//! It deliberately knows no dates, no units and no farming.

pub mod diagnostic;
pub mod hands;
pub mod name;
pub mod source;
pub mod span;
