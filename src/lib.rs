//! haulm: a literate rules engine over a plain-text farm journal.
//!
//! ```text
//! read ─Sources▶ parse ─Journal, Rulebook▶ understand ─Program, facts▶ infer ─Model+proofs▶ explain ─Findings, Actions▶ show ─▶ bytes
//! ```
//!
//! Stages never import each other; they import the ground rooms (`base`, `measure`, `reckon`, `model`)
//! only. `session` is the one composer; `cli`, `serve` and `rehearse` are the doors.

pub mod base;
pub mod cli;
pub mod explain;
pub mod infer;
pub mod measure;
pub mod model;
pub mod parse;
pub mod read;
pub mod reckon;
pub mod rehearse;
pub mod serve;
pub mod session;
pub mod show;
pub mod tidy;
pub mod understand;
