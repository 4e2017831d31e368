//! A client for tests: a farm in a temporary folder, and a server on the other end of a connection.
//!
//! Nothing here waits a fixed time. After each step the server is asked something it answers only from a
//! check of all it was told; whatever came before that answer belongs to the step.

use std::{fs, path::PathBuf, thread::JoinHandle, time::Duration};

use chrono::NaiveDate;
use crossbeam_channel::{Receiver, Sender, unbounded};
use haulm::serve::lsp::{self, Ended};
use lsp_server::{Connection, Message, Notification, Request, RequestId, Response};
use serde_json::{Value, json};
use tempfile::TempDir;

const DEADLINE: Duration = Duration::from_secs(60);

/// A conversation with a server.
pub struct Talk {
    dir: TempDir,
    to: Option<Sender<Message>>,
    from: Receiver<Message>,
    server: Option<JoinHandle<Ended>>,
    asked: i32,
}

/// The day it is on the farm in these tests.
pub fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 4, 10).expect("a day")
}

impl Talk {
    /// A server that has not been told anything.
    pub fn new() -> Self {
        Self::on(today)
    }

    /// The same, on another day.
    pub fn on(today: fn() -> NaiveDate) -> Self {
        let (client, connection) = Connection::memory();
        let server = std::thread::spawn(move || lsp::run(&connection, today));
        // The connection holds no message back, so neither side may stop reading while it writes.
        let (keep, from) = unbounded();
        let Connection { sender, receiver } = client;
        std::thread::spawn(move || receiver.iter().try_for_each(|m| keep.send(m)));
        let dir = tempfile::tempdir().expect("a temporary folder");
        Self { dir, to: Some(sender), from, server: Some(server), asked: 0 }
    }

    /// Where a file of the farm is.
    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join("farm").join(name)
    }

    /// A file's name in the protocol; names with a colon are taken as they are.
    pub fn uri(&self, name: &str) -> String {
        if name.contains(':') {
            return name.to_owned();
        }
        format!("file://{}", self.path(name).to_str().expect("a plain path").replace(' ', "%20"))
    }

    /// Puts a file on the disk without telling anybody.
    pub fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file");
    }

    /// Begins the conversation with these capabilities, the farm's folder open. Among them may stand
    /// `initializationOptions`, which go where they belong.
    pub fn start(&mut self, mut capabilities: Value) -> Value {
        let options = capabilities.as_object_mut().and_then(|c| c.remove("initializationOptions"));
        fs::create_dir_all(self.path("")).expect("a folder");
        let folder = self.uri("");
        let params = json!({ "processId": null, "rootUri": folder.trim_end_matches('/'),
                             "capabilities": capabilities, "initializationOptions": options });
        let answer = self.ask("initialize", params).0;
        self.note("initialized", json!({}));
        answer
    }

    pub fn note(&self, method: &str, params: Value) {
        self.send(Notification { method: method.to_owned(), params });
    }

    /// Sends a message, unless the server is gone.
    pub fn send(&self, message: impl Into<Message>) {
        if let Some(to) = &self.to {
            let _ = to.send_timeout(message.into(), DEADLINE);
        }
    }

    /// Asks, and gives the answer with what else was said before it.
    pub fn ask(&mut self, method: &str, params: Value) -> (Value, Vec<Message>) {
        let (answer, others) = self.answer(method, params);
        let whole = serde_json::to_value(answer).expect("JSON");
        let fault = whole.get("error").map(|e| json!({ "error": e }));
        (fault.or_else(|| whole.get("result").cloned()).unwrap_or_default(), others)
    }

    /// Asks without waiting. Gives the number of the question.
    pub fn begin(&mut self, method: &str, params: Value) -> RequestId {
        self.asked += 1;
        let id = RequestId::from(self.asked);
        self.send(Request { id: id.clone(), method: method.to_owned(), params });
        id
    }

    fn answer(&mut self, method: &str, params: Value) -> (Response, Vec<Message>) {
        let id = self.begin(method, params);
        let mut others = Vec::new();
        loop {
            match self.from.recv_timeout(DEADLINE).expect("an answer before the deadline") {
                Message::Response(response) if response.id == id => return (response, others),
                message => others.push(message),
            }
        }
    }

    /// Waits until everything told so far is checked, and gives what was said meanwhile.
    pub fn settled(&mut self) -> Vec<Message> {
        let mut said = self.ask("workspace/diagnostic", json!({ "previousResultIds": [] })).1;
        // What follows an answer of the same moment comes before the next.
        said.extend(self.ask("workspace/diagnostic", json!({ "previousResultIds": [] })).1);
        said
    }

    /// Ends it as agreed; nothing may be left unsaid.
    pub fn end(mut self) {
        assert_eq!(self.ask("shutdown", Value::Null).0, Value::Null);
        self.note("exit", Value::Null);
        assert_eq!(self.ended(), Ended::Well);
        let left: Vec<Message> = self.from.iter().collect();
        assert!(left.is_empty(), "left over: {left:?}");
    }

    /// Hangs up.
    pub fn hang_up(mut self) -> Ended {
        self.to = None;
        self.ended()
    }

    /// How the server ended.
    pub fn ended(&mut self) -> Ended {
        self.server.take().expect("a server").join().expect("no panic")
    }
}
