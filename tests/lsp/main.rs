//! The language server, spoken to over a connection in memory.

#![allow(clippy::panic)]

#[path = "../bare/mod.rs"]
mod bare;
mod hostile;
mod laws;
mod numbers;
mod renaming;
mod script;
mod sessions;
mod talk;
