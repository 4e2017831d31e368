//! The language server, spoken to over a connection in memory.

mod hostile;
mod laws;
mod renaming;
mod script;
mod sessions;
mod talk;
