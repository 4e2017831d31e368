//! The language server, spoken to over a connection in memory.

mod script;
mod sessions;
mod talk;
