//! The nouns the stages hand on to each other.
//!
//! Comes in: nothing; these are plain types with small, total functions. Goes out: what `parse`
//! gives `understand`, what `understand` gives `infer`, what `infer` gives `explain`, what `explain`
//! gives `show`. No stage's work is done here.

pub mod change;
pub mod content;
pub mod diary;
pub mod entry;
pub mod explanation;
pub mod finding;
pub mod frame;
pub mod gather;
pub(crate) mod interner;
pub mod journal;
pub mod judge;
pub mod lines;
pub mod outcome;
pub mod page;
pub mod program;
pub mod proof;
pub mod prove;
pub mod replay;
pub mod report;
pub mod sentence;
pub(crate) mod solve;
pub(crate) mod table;
pub mod whynot;
