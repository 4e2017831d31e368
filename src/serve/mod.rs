//! Doors that stay open: a session kept beside the grower's editor.
//!
//! Comes in: changes of the texts. Goes out: what is new and what went away. They know no farming.

pub mod lsp;
pub mod watch;
