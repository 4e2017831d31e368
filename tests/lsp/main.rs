//! The language server, spoken to over a connection in memory.

#![allow(clippy::panic)]

mod hostile;
mod laws;
mod renaming;
mod script;
mod sessions;
mod talk;
