//! The language server, spoken to over a connection in memory.

mod hostile;
mod laws;
mod script;
mod sessions;
mod talk;
