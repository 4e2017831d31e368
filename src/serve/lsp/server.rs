//! The thread that talks: keeps what the editor holds, sends changes to the checker, and answers.
//!
//! Comes in: the client's messages, and what the checker found. Goes out: answers and diagnostics, only
//! ever from a check of the texts as they stand: one that was overtaken by a change is dropped, and what
//! waits for it waits for the next.

mod farms;
mod publish;

use std::{collections::BTreeMap, path::PathBuf};

use crossbeam_channel::Sender;
use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::{Diagnostic, Range};
use serde::Deserialize;
use serde_json::{Value, json};

use super::{
    answer::{self, Fault},
    checker::{Found, Task, What},
    client::{self, Client},
    docs::{Doc, Root},
    place,
    round::Round,
    start, uri,
};

/// How far the conversation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Before,
    Ready,
    Down,
}

/// How it ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// As agreed, or the client is gone.
    Well,
    /// Told to end without having been told to shut down.
    Suddenly,
}

/// A farm as the talking thread knows it.
struct Seen {
    root: Root,
    /// Counts what the checker was told.
    revision: u64,
    /// The last check, and the revision it stands for.
    round: Option<(u64, Round)>,
    /// The token of the progress shown for the first check.
    progress: Option<i32>,
    /// What the hints said that the client was last told to ask for again.
    hinted: Vec<String>,
}

/// A request that waits for a check.
struct Waiting {
    request: Request,
    /// The farm; `None` for all.
    farm: Option<u32>,
}

/// The server's side of one conversation.
pub struct Server<'a> {
    out: &'a Sender<Message>,
    tasks: Sender<Task>,
    phase: Phase,
    client: Client,
    farms: BTreeMap<u32, Seen>,
    next_farm: u32,
    docs: BTreeMap<String, Doc>,
    waiting: Vec<Waiting>,
    /// What was pushed last, by file, with the version it was pushed for.
    pushed: BTreeMap<String, (Option<i32>, Vec<Diagnostic>)>,
    /// What was last given to a client that asked, by file.
    pulled: BTreeMap<String, Vec<Diagnostic>>,
    asked: i32,
}

/// A place in a text, as notifications and requests name it.
#[derive(Deserialize)]
struct Named {
    uri: String,
}

impl<'a> Server<'a> {
    /// A conversation that is yet to begin.
    pub fn new(out: &'a Sender<Message>, tasks: Sender<Task>) -> Self {
        Self {
            out,
            tasks,
            phase: Phase::Before,
            client: Client::of(&Value::Null),
            farms: BTreeMap::new(),
            next_farm: 0,
            docs: BTreeMap::new(),
            waiting: Vec::new(),
            pushed: BTreeMap::new(),
            pulled: BTreeMap::new(),
            asked: 0,
        }
    }

    /// Takes in one message. Gives how the conversation ended once it has.
    pub fn take(&mut self, message: Message) -> Option<Ended> {
        match message {
            Message::Request(request) => self.request(request),
            Message::Notification(note) if note.method == "exit" => {
                return Some(if self.phase == Phase::Down { Ended::Well } else { Ended::Suddenly });
            }
            Message::Notification(note) => {
                // What cannot be read is passed over: a notification has no answer to say so in.
                if self.phase == Phase::Ready {
                    let _ = self.note(note);
                }
            }
            // Whatever the client says to what it was asked, there is nothing to do about it.
            Message::Response(_) => {}
        }
        None
    }

    fn request(&mut self, request: Request) {
        match (self.phase, request.method.as_str()) {
            (Phase::Before, "initialize") => {
                self.client = Client::of(&request.params);
                self.phase = Phase::Ready;
                self.send(Response::new_ok(request.id, start::offer(&self.client)));
                for folder in client::folders(&request.params) {
                    self.open_folder(folder);
                }
            }
            (Phase::Before, _) => {
                self.refuse(request.id, ErrorCode::ServerNotInitialized, "`initialize` comes first");
            }
            (Phase::Ready, "initialize") => {
                self.refuse(request.id, ErrorCode::InvalidRequest, "it is initialized already");
            }
            (Phase::Ready, "shutdown") => {
                self.phase = Phase::Down;
                for waiting in std::mem::take(&mut self.waiting) {
                    self.refuse(waiting.request.id, ErrorCode::RequestCanceled, "the server shuts down");
                }
                self.send(Response::new_ok(request.id, Value::Null));
            }
            (Phase::Down, _) => self.refuse(request.id, ErrorCode::InvalidRequest, "the server is shut down"),
            (Phase::Ready, _) => self.ask(request),
        }
    }

    /// Answers at once if what it needs is there, or keeps it until it is.
    fn ask(&mut self, request: Request) {
        if !answer::knows(&request.method) {
            let said = format!("`{}` is not offered", request.method);
            return self.refuse(request.id, ErrorCode::MethodNotFound, &said);
        }
        let named = request.params.pointer("/textDocument/uri").and_then(Value::as_str);
        let farm = named.and_then(|uri| self.find(uri)).map(|(farm, _)| farm);
        if named.is_some() && farm.is_none() {
            return self.send(Response::new_ok(request.id, answer::nothing(&request.method)));
        }
        let waiting = Waiting { request, farm };
        if self.is_due(&waiting) { self.answer(waiting) } else { self.waiting.push(waiting) }
    }

    /// Whether the check that a request needs is there.
    fn is_due(&self, waiting: &Waiting) -> bool {
        let is_current = |seen: &Seen| seen.round.as_ref().is_some_and(|(at, _)| *at == seen.revision);
        match waiting.farm {
            Some(farm) if answer::may_be_old(&waiting.request.method) => {
                self.farms.get(&farm).is_none_or(|seen| seen.round.is_some())
            }
            Some(farm) => self.farms.get(&farm).is_none_or(is_current),
            None => self.farms.values().all(is_current),
        }
    }

    fn answer(&mut self, waiting: Waiting) {
        let Waiting { request, .. } = waiting;
        let method = request.method.as_str();
        let said = match method {
            "textDocument/diagnostic" => self.pull(&request.params),
            "workspace/diagnostic" => Ok(self.pull_all()),
            _ => {
                let rounds: Vec<&Round> =
                    self.farms.values().filter_map(|s| s.round.as_ref().map(|(_, r)| r)).collect();
                let named = request.params.pointer("/textDocument/uri").and_then(Value::as_str);
                let at = named.and_then(|uri| {
                    let (farm, name) = self.find(uri)?;
                    let (_, round) = self.farms.get(&farm)?.round.as_ref()?;
                    let doc = self.docs.get(uri);
                    Some(answer::At { round, name, held: doc.map(|d| d.text.as_str()) })
                });
                answer::answer(&self.client, method, request.params.clone(), at.as_ref(), &rounds)
            }
        };
        match said {
            Ok(value) => {
                // Most clients show nothing of what a command gives, so it is shown as a message too.
                if let ("workspace/executeCommand", Some(text), false) =
                    (method, value.as_str(), self.client.shows)
                {
                    let params = json!({ "type": 3, "message": text });
                    self.send(Notification::new("window/showMessage".to_owned(), params));
                }
                self.send(Response::new_ok(request.id, value));
            }
            Err(Fault { code, said }) => self.refuse(request.id, code, &said),
        }
    }

    /// Takes in a notification; `None` if it could not be read.
    fn note(&mut self, note: Notification) -> Option<()> {
        let params = note.params;
        match note.method.as_str() {
            "initialized" if self.client.watches => {
                self.ask_client("client/registerCapability", start::watched_files());
            }
            "textDocument/didOpen" => {
                #[derive(Deserialize)]
                struct Item {
                    uri: String,
                    version: i32,
                    text: String,
                }
                let item: Item = serde_json::from_value(params.get("textDocument")?.clone()).ok()?;
                self.close(&item.uri);
                self.open(item.uri, item.version, item.text);
            }
            "textDocument/didChange" => self.change(&params)?,
            "textDocument/didClose" => {
                let named: Named = serde_json::from_value(params.get("textDocument")?.clone()).ok()?;
                self.close(&named.uri);
            }
            "textDocument/didSave" => {
                let named: Named = serde_json::from_value(params.get("textDocument")?.clone()).ok()?;
                let farms = self.docs.get(&named.uri).map(|d| d.farms.clone()).unwrap_or_default();
                for (farm, _) in farms {
                    self.tell(farm, What::Look);
                }
            }
            "workspace/didChangeWatchedFiles" => {
                let farms: Vec<u32> = self.farms.keys().copied().collect();
                for farm in farms {
                    self.tell(farm, What::Look);
                }
            }
            "workspace/didChangeWorkspaceFolders" => {
                let paths = |list: &str| -> Vec<PathBuf> {
                    let list = params.pointer(&format!("/event/{list}")).and_then(Value::as_array);
                    let named = list.into_iter().flatten().filter_map(|f| f.get("uri")?.as_str());
                    named.filter_map(uri::path).collect()
                };
                let (gone, come) = (paths("removed"), paths("added"));
                self.change_folders(&gone, come);
            }
            "$/cancelRequest" => {
                let id: RequestId = serde_json::from_value(params.get("id")?.clone()).ok()?;
                let at = self.waiting.iter().position(|w| w.request.id == id)?;
                let waiting = self.waiting.remove(at);
                self.refuse(waiting.request.id, ErrorCode::RequestCanceled, "it was cancelled");
            }
            _ => {}
        }
        Some(())
    }

    fn change(&mut self, params: &Value) -> Option<()> {
        #[derive(Deserialize)]
        struct Change {
            range: Option<Range>,
            text: String,
        }
        let named: Named = serde_json::from_value(params.get("textDocument")?.clone()).ok()?;
        let version = params.pointer("/textDocument/version").and_then(Value::as_i64).unwrap_or(0);
        let changes: Vec<Change> = serde_json::from_value(params.get("contentChanges")?.clone()).ok()?;
        let doc = self.docs.get_mut(&named.uri)?;
        for change in changes {
            place::replace(&mut doc.text, change.range, &change.text, self.client.encoding);
        }
        doc.version = i32::try_from(version).unwrap_or(0);
        self.tell_text(&named.uri);
        Some(())
    }

    /// Takes in what the checker found.
    pub fn settle(&mut self, found: Found) {
        let encoding = self.client.encoding;
        let open = self.open_names(found.farm);
        let Some(seen) = self.farms.get_mut(&found.farm) else { return };
        let folder = seen.root.folder().map(PathBuf::from);
        let round = Round::new(found.checked, encoding, folder, open, self.client.pages.clone());
        // What was found before is dropped only once this is told, as that takes a while.
        let _before = seen.round.replace((found.revision, round));
        let is_current = seen.revision == found.revision;
        if let Some(token) = seen.progress.take() {
            self.progress(token, json!({ "kind": "end" }));
        }
        if is_current && self.phase == Phase::Ready {
            self.publish(found.farm);
        }
        let (due, wait) = std::mem::take(&mut self.waiting).into_iter().partition(|w| self.is_due(w));
        self.waiting = wait;
        let due: Vec<Waiting> = due;
        due.into_iter().for_each(|waiting| self.answer(waiting));
        if is_current && self.phase == Phase::Ready {
            self.refresh(found.farm);
        }
    }

    fn progress(&self, token: i32, value: Value) {
        let params = json!({ "token": token, "value": value });
        self.send(Notification::new("$/progress".to_owned(), params));
    }

    fn ask_client(&mut self, method: &str, params: Value) {
        self.asked += 1;
        self.send(Request { id: self.asked.into(), method: method.to_owned(), params });
    }

    fn refuse(&self, id: RequestId, code: ErrorCode, said: &str) {
        self.send(Response::new_err(id, code as i32, said.to_owned()));
    }

    fn send(&self, message: impl Into<Message>) {
        // A client that is gone is told nothing; the conversation ends by itself.
        let _ = self.out.send(message.into());
    }
}
