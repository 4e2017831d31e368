//! The language server: the farm checked as it is written, in any editor that speaks the protocol.
//!
//! Comes in: a connection to an editor. Goes out: diagnostics and answers over it. This room alone knows
//! the protocol; it words no finding, and changes no file: an editor applies what the grower accepts.

mod amounts;
mod answer;
mod at;
mod checker;
mod client;
mod colours;
mod commands;
mod complete;
mod docs;
mod hints;
mod hover;
mod layout;
mod lens;
mod mend;
mod names;
mod outline;
mod page;
mod phrase;
mod phrasing;
mod place;
mod round;
mod said;
mod server;
mod start;
mod uri;

use chrono::NaiveDate;
use crossbeam_channel::{select, unbounded};
use lsp_server::Connection;

pub use server::Ended;

use server::Server;

/// Talks over a connection until the client ends it or is gone. `today` tells the day it is on the farm.
pub fn run(connection: &Connection, today: impl Fn() -> NaiveDate + Send + 'static) -> Ended {
    let (tasks, inbox) = unbounded();
    let (found, finds) = unbounded();
    let checker = std::thread::spawn(move || checker::run(&inbox, &found, &today));
    let mut server = Server::new(&connection.sender, tasks);
    let ended = loop {
        select! {
            recv(connection.receiver) -> message => match message {
                Ok(message) => if let Some(ended) = server.take(message) { break ended },
                Err(_) => break Ended::Well,
            },
            recv(finds) -> found => match found {
                Ok(found) => server.settle(found),
                Err(_) => break Ended::Suddenly,
            },
        }
    };
    // The checker ends once nobody tells it anything. A check under way is not waited for: nobody listens.
    drop(server);
    drop(checker);
    ended
}
