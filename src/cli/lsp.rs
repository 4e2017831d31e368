//! `lsp`: the language server, over standard input and output.
//!
//! Comes in: an editor's messages. Goes out: the server's. Nothing else is ever written to standard output.

use chrono::Local;
use lsp_server::Connection;

use super::{
    args::Common,
    out::{End, Failure},
};
use crate::serve::lsp::{self, Ended};

/// Serves until the editor ends it or is gone.
///
/// # Errors
/// When what comes in is not the protocol.
pub fn run(common: &Common) -> Result<End, Failure> {
    let (connection, threads) = Connection::stdio();
    let held = common.today;
    let ended = lsp::run(&connection, move || held.unwrap_or_else(|| Local::now().date_naive()));
    // The writing thread ends once nothing can be sent any more.
    drop(connection);
    match ended {
        // The reading thread may wait for more that never comes; it ends with the program.
        Ended::Suddenly => Ok(End::Found),
        Ended::Well => match threads.join() {
            Ok(()) => Ok(End::Quiet),
            Err(e) if e.kind() == std::io::ErrorKind::BrokenPipe => Ok(End::Quiet),
            Err(e) => Err(Failure::Said(format!("the editor's messages could not be read: {e}"))),
        },
    }
}
