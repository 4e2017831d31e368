//! Sessions as text: steps, each followed by all that the server says to it.
//!
//! A line `> step` is done; lines `| text` after it are its text. Lines `< said` are what came back, in
//! order, before everything told was checked; they are compared, or written anew with `HAULM_BLESS=1`.
//! Anything else is prose. Steps:
//!
//! - `disk NAME`: the text is put on the disk; `gone NAME` takes it away; `changed` tells of it
//! - `start CAPABILITIES`: the conversation begins; the capabilities are JSON
//! - `open NAME`: with the text, or what is on the disk; `close NAME`
//! - `type NAME L:C-L:C`: the text in place of that range; `save NAME`
//! - `ask METHOD NAME [L:C | L:C-L:C] [JSON]`: with further parameters
//! - `tell METHOD JSON`, `call METHOD JSON`: anything else, as it is

use std::{collections::BTreeMap, fs, path::Path};

use lsp_server::Message;
use serde_json::{Value, json};

use crate::talk::Talk;

/// Texts of more lines than this are cut, to so many.
const LONG: usize = 24;
const SHOWN: usize = 6;

/// A step with the lines that hold what is said to it.
struct Step {
    words: String,
    text: Option<String>,
    /// The line after its text.
    at: usize,
    said: Vec<String>,
}

/// Runs a session and compares. Gives the text with what was really said.
pub fn run(text: &str) -> String {
    let steps = steps(text);
    let mut playing = Playing { talk: Talk::new(), held: BTreeMap::new(), last: None };
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let mut replies: Vec<(usize, usize, Vec<String>)> = Vec::new();
    for step in &steps {
        let said = playing.step(step);
        replies.push((step.at, step.said.len(), said));
    }
    playing.talk.end();
    for (at, count, said) in replies.into_iter().rev() {
        lines.splice(at..at + count, said.into_iter().map(|l| format!("< {l}").trim_end().to_owned()));
    }
    lines.join("\n") + "\n"
}

fn steps(text: &str) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    for (n, line) in text.lines().enumerate() {
        if let Some(words) = line.strip_prefix("> ") {
            steps.push(Step { words: words.to_owned(), text: None, at: n + 1, said: Vec::new() });
            continue;
        }
        let Some(step) = steps.last_mut() else { continue };
        if let (Some(more), true) = (line.strip_prefix('|'), step.at == n) {
            let more = more.strip_prefix(' ').unwrap_or(more);
            match &mut step.text {
                Some(text) => text.push_str(&format!("\n{more}")),
                None => step.text = Some(more.to_owned()),
            }
            step.at = n + 1;
        } else if let (Some(said), true) = (line.strip_prefix('<'), step.at + step.said.len() == n) {
            step.said.push(said.strip_prefix(' ').unwrap_or(said).to_owned());
        }
    }
    steps
}

struct Playing {
    talk: Talk,
    /// Version and text of what is open.
    held: BTreeMap<String, (i32, String)>,
    /// The name of the last diagnostics asked for, which `"last"` stands for in a script.
    last: Option<Value>,
}

impl Playing {
    fn step(&mut self, step: &Step) -> Vec<String> {
        let (verb, rest) = step.words.split_once(' ').unwrap_or((&step.words, ""));
        let text = step.text.clone().unwrap_or_default();
        match verb {
            "disk" => {
                self.talk.write(rest, &text);
                return Vec::new();
            }
            "gone" => {
                fs::remove_file(self.talk.path(rest)).expect("a file to remove");
                return Vec::new();
            }
            "start" => {
                let offer = self.talk.start(serde_json::from_str(rest).expect("JSON"));
                let encoding = offer.pointer("/capabilities/positionEncoding").cloned();
                let mut said = vec![format!("positions {}", encoding.unwrap_or_default())];
                said.extend(self.settled());
                return said;
            }
            "changed" => self.talk.note("workspace/didChangeWatchedFiles", json!({ "changes": [] })),
            "open" => {
                let text = step.text.clone();
                let text = text.unwrap_or_else(|| fs::read_to_string(self.talk.path(rest)).expect("a file"));
                self.held.insert(rest.to_owned(), (1, text.clone()));
                let item = json!({ "uri": self.talk.uri(rest), "languageId": "markdown", "version": 1,
                                   "text": text });
                self.talk.note("textDocument/didOpen", json!({ "textDocument": item }));
            }
            "close" => self.talk.note("textDocument/didClose", json!({ "textDocument": self.named(rest) })),
            "type" => {
                let (name, place) = rest.split_once(' ').expect("a range");
                let held = self.held.get_mut(name).expect("an open file");
                held.0 += 1;
                let named = json!({ "uri": self.talk.uri(name), "version": held.0 });
                let change = json!({ "range": range(place), "text": text });
                let params = json!({ "textDocument": named, "contentChanges": [change] });
                self.talk.note("textDocument/didChange", params);
            }
            "save" => self.talk.note("textDocument/didSave", json!({ "textDocument": self.named(rest) })),
            "ask" => return self.ask(rest),
            "tell" | "call" => {
                let (method, params) = rest.split_once(' ').unwrap_or((rest, "null"));
                let params = self.spelt(serde_json::from_str(params).expect("JSON"));
                if verb == "call" {
                    let (answer, before) = self.talk.ask(method, params);
                    return self.told(before, Some(answer));
                }
                self.talk.note(method, params);
            }
            other => panic!("no step is called {other}"),
        }
        self.settled()
    }

    fn ask(&mut self, rest: &str) -> Vec<String> {
        let mut words = rest.splitn(3, ' ');
        let (method, name) = (words.next().expect("a method"), words.next().expect("a file"));
        let mut more = words.next().unwrap_or("").to_owned();
        let mut params = json!({ "textDocument": self.named(name) });
        if more.starts_with(|c: char| c.is_ascii_digit()) {
            let (place, after) = more.split_once(' ').unwrap_or((&more, ""));
            if place.contains('-') {
                params["range"] = range(place);
            } else {
                params["position"] = position(place);
            }
            more = after.to_owned();
        }
        if let Ok(Value::Object(more)) = serde_json::from_str::<Value>(&more) {
            for (key, value) in more {
                params[&key] = if value == "last" { self.last.clone().unwrap_or_default() } else { value };
            }
        }
        let (answer, before) = self.talk.ask(method, params);
        self.last = answer.get("resultId").cloned().or(self.last.take());
        self.told(before, Some(answer))
    }

    fn named(&self, name: &str) -> Value {
        json!({ "uri": self.talk.uri(name) })
    }

    /// `farm:NAME` in a script is that file's name in the protocol.
    fn spelt(&self, value: Value) -> Value {
        match value {
            Value::String(s) => match s.strip_prefix("farm:") {
                Some(name) => json!(self.talk.uri(name)),
                None => json!(s),
            },
            Value::Array(list) => list.into_iter().map(|v| self.spelt(v)).collect(),
            Value::Object(map) => map.into_iter().map(|(k, v)| (k, self.spelt(v))).collect(),
            other => other,
        }
    }

    fn settled(&mut self) -> Vec<String> {
        let said = self.talk.settled();
        self.told(said, None)
    }

    fn told(&self, messages: Vec<Message>, answer: Option<Value>) -> Vec<String> {
        let folder = self.talk.uri("");
        let mut said = Vec::new();
        for message in messages {
            match message {
                Message::Notification(note) if note.method == "textDocument/publishDiagnostics" => {
                    said.extend(published(&note.params, &folder));
                }
                Message::Notification(note) => {
                    said.push(note.method);
                    said.extend(pretty(&shortened(note.params, &folder)));
                }
                Message::Request(request) => {
                    said.push(format!("asks {}", request.method));
                    said.extend(pretty(&shortened(request.params, &folder)));
                }
                Message::Response(response) => said.push(format!("an answer too late: {response:?}")),
            }
        }
        said.extend(answer.into_iter().flat_map(|a| pretty(&shortened(a, &folder))));
        said
    }
}

/// Diagnostics in lines: range, severity, code, message, and the places they rest on.
fn published(params: &Value, folder: &str) -> Vec<String> {
    let params = shortened(params.clone(), folder);
    let text = |v: &Value, key: &str| v.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
    let version = params.get("version").map_or("on the disk".to_owned(), |v| format!("version {v}"));
    let mut lines = vec![format!("{}, {version}", text(&params, "uri"))];
    for d in params.get("diagnostics").and_then(Value::as_array).into_iter().flatten() {
        let severity = ["", "error", "warning", "information", "hint"];
        let severity = d.get("severity").and_then(Value::as_u64).and_then(|n| severity.get(n as usize));
        let mut message = text(d, "message").lines().map(str::to_owned).collect::<Vec<_>>().into_iter();
        lines.push(format!(
            "  {} {} {}: {}",
            text(d, "range"),
            severity.unwrap_or(&""),
            text(d, "code"),
            message.next().unwrap_or_default()
        ));
        lines.extend(message.map(|l| format!("    {l}")));
        for related in d.get("relatedInformation").and_then(Value::as_array).into_iter().flatten() {
            let place = related.get("location").cloned().unwrap_or_default();
            lines.push(format!(
                "    at {} {}: {}",
                text(&place, "uri"),
                text(&place, "range"),
                text(related, "message")
            ));
        }
        if let Some(page) = d.get("codeDescription") {
            lines.push(format!("    page {}", text(page, "href")));
        }
        if let Some(tags) = d.get("tags") {
            lines.push(format!("    tags {tags}"));
        }
    }
    lines
}

/// The same with ranges as `0:1-0:5`, positions as `0:1`, and names of files without the farm's folder.
fn shortened(value: Value, folder: &str) -> Value {
    let is_position = |v: &Value| v.get("line").is_some() && v.get("character").is_some();
    let spelt = |v: &Value| format!("{}:{}", v["line"], v["character"]);
    match value {
        Value::Object(map) if is_position(&Value::Object(map.clone())) => {
            json!(spelt(&Value::Object(map)))
        }
        Value::Object(map) if map.len() == 2 && map.contains_key("start") && map.contains_key("end") => {
            let (start, end) = (&map["start"], &map["end"]);
            if is_position(start) && is_position(end) {
                json!(format!("{}-{}", spelt(start), spelt(end)))
            } else {
                Value::Object(map)
            }
        }
        Value::Object(map) => map
            .clone()
            .into_iter()
            // Where a verb stands in the table of verbs moves with every verb.
            .filter(|(k, _)| k != "range" || !map.get("uri").is_some_and(is_table))
            // Whatever names a result, only whether it is the last one matters.
            .filter(|(k, _)| k != "resultId")
            .map(|(k, v)| (k.strip_prefix(folder).unwrap_or(&k).to_owned(), shortened(v, folder)))
            .collect(),
        Value::Array(list) => list.into_iter().map(|v| shortened(v, folder)).collect(),
        Value::String(s) => json!(unnumbered(&s.replace(folder, ""))),
        other => other,
    }
}

fn is_table(uri: &Value) -> bool {
    uri.as_str().is_some_and(|uri| uri.ends_with("/frames.md"))
}

/// A text without the lines of the table of verbs, which move with every verb.
fn unnumbered(text: &str) -> String {
    const TABLE: &str = "frames.md:";
    let mut parts = text.split(TABLE);
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |out, rest| out + TABLE + "N" + rest.trim_start_matches(|c: char| c.is_ascii_digit()))
}

/// JSON in lines: small things on one line, text of several lines laid out.
fn pretty(value: &Value) -> Vec<String> {
    let one = value.to_string();
    if one.chars().count() <= 100 && !one.contains("\\n") {
        return vec![one];
    }
    match value {
        Value::Array(list) => list.iter().flat_map(|v| bullet("- ", pretty(v))).collect(),
        Value::Object(map) => map
            .iter()
            .flat_map(|(k, v)| {
                let inner = pretty(v);
                if let [line] = inner.as_slice() {
                    return vec![format!("{k}: {line}")];
                }
                let mut lines = vec![format!("{k}:")];
                lines.extend(inner.into_iter().map(|l| format!("  {l}")));
                lines
            })
            .collect(),
        // Of a long text its beginning is enough: how it is worded is not the server's business.
        Value::String(s) => {
            let lines = s.lines().count();
            let shown = if lines > LONG { SHOWN } else { lines };
            let cut = (shown < lines).then(|| "…".to_owned());
            s.lines().take(shown).map(|l| format!("\" {l}").trim_end().to_owned()).chain(cut).collect()
        }
        other => vec![other.to_string()],
    }
}

fn bullet(mark: &str, lines: Vec<String>) -> Vec<String> {
    lines
        .into_iter()
        .enumerate()
        .map(|(n, l)| if n == 0 { format!("{mark}{l}") } else { format!("  {l}") })
        .collect()
}

fn position(text: &str) -> Value {
    let (line, column) = text.split_once(':').expect("L:C");
    json!({ "line": line.parse::<u32>().expect("a line"), "character": column.parse::<u32>().expect("a column") })
}

fn range(text: &str) -> Value {
    let (start, end) = text.split_once('-').expect("L:C-L:C");
    json!({ "start": position(start), "end": position(end) })
}

/// Runs the session in a file, or writes anew what it says.
pub fn file(path: &Path) {
    let text = fs::read_to_string(path).expect("a session");
    let said = run(&text);
    if std::env::var_os("HAULM_BLESS").is_some() {
        fs::write(path, said).expect("the session is written");
        return;
    }
    similar(&text, &said, path);
}

fn similar(due: &str, said: &str, path: &Path) {
    if due == said {
        return;
    }
    let first = due.lines().zip(said.lines()).position(|(a, b)| a != b);
    let first = first.unwrap_or_else(|| due.lines().count().min(said.lines().count()));
    let from = |text: &str| text.lines().skip(first).take(12).collect::<Vec<_>>().join("\n");
    panic!(
        "{}:{}\nwritten:\n{}\n\nsaid:\n{}\n\nTo take what is said: HAULM_BLESS=1 cargo test --test lsp",
        path.display(),
        first + 1,
        from(due),
        from(said)
    );
}
