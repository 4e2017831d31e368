//! Whatever is typed, in whatever steps, the server says what a fresh check of the same texts says.
//!
//! `HAULM_SESSIONS=1000` tries that many sessions; a few are enough for every day.

use std::{collections::BTreeMap, sync::OnceLock};

use haulm::{base::source::SourceKind, session::Session};
use lsp_server::Message;
use proptest::{collection::vec, prelude::*, sample::Index};
use serde_json::{Value, json};

use crate::talk::{Talk, today};

const FILES: [(&str, &str); 2] = [
    (
        "place.md",
        "## The place\n- bed north-1 in east tunnel, 30 ft x 4 ft\n- bed north-2 in east tunnel, 30 ft x 4 ft\n\
         - unit barrow, 80 l\n",
    ),
    (
        "spring.md",
        "## 2026-03-14 Saturday\nLorry came 🍅 early.\n\n\
         - received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure\n\
         - potted 4 pots of bean in lot tern-26 as test t1, 3 seeds each\n\n## 2026-03-21\r\n\
         - spread lot tern-26 on north-1, 3 in deep\n- noticed twisted stems on tomato in north-1\n\
         - watered north-2: é 🍅\n",
    ),
];

/// What is typed: pieces that mean something, and pieces that break something.
const PIECES: [&str; 16] = [
    "\n",
    "- ",
    "## ",
    "2026-03-28",
    "spread lot tern-26 on north-2\n",
    "bed ",
    "é",
    "🍅",
    "\r",
    "\r\n",
    ": ",
    "```\n",
    " tern-26",
    "allow untested-lot on lot tern-26 until 2026-05-01: known\n",
    "",
    "## 3/4/26\n",
];

#[derive(Debug, Clone)]
enum Edit {
    /// A piece in place of the characters between two places.
    Type {
        file: Index,
        from: Index,
        length: usize,
        piece: Index,
    },
    /// Several at once, each meant for the text that the one before left.
    Several {
        file: Index,
        at: Vec<(Index, Index)>,
    },
    /// The whole text anew.
    Whole {
        file: Index,
        other: Index,
    },
    /// The text on the disk changes, which counts only for a file that is not open.
    Disk {
        file: Index,
        piece: Index,
    },
    Close {
        file: Index,
    },
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let i = any::<Index>;
    let edit = prop_oneof![
        6 => (i(), i(), 0..12usize, i()).prop_map(|(file, from, length, piece)| Edit::Type { file, from, length, piece }),
        2 => (i(), vec((i(), i()), 1..4)).prop_map(|(file, at)| Edit::Several { file, at }),
        1 => (i(), i()).prop_map(|(file, other)| Edit::Whole { file, other }),
        1 => (i(), i()).prop_map(|(file, piece)| Edit::Disk { file, piece }),
        1 => i().prop_map(|file| Edit::Close { file }),
    ];
    vec(edit, 1..14)
}

/// The texts as the client knows them, and the server it tells.
struct Client {
    talk: Talk,
    unit: fn(char) -> usize,
    disk: BTreeMap<&'static str, String>,
    open: BTreeMap<&'static str, (i32, String)>,
    shown: BTreeMap<String, Value>,
}

/// Lines and columns counted plainly, apart from the server's way of counting.
fn position(text: &str, at: usize, unit: fn(char) -> usize) -> (usize, usize) {
    let (mut line, mut column) = (0, 0);
    let mut before = '\0';
    for (n, c) in text.char_indices() {
        let within_break = before == '\r' && c == '\n';
        if n > 0 && (before == '\n' || before == '\r' && !within_break) {
            (line, column) = (line + 1, 0);
        }
        if n >= at {
            return (line, column);
        }
        if c != '\n' && c != '\r' {
            column += unit(c);
        }
        before = c;
    }
    if before == '\n' || before == '\r' { (line + 1, 0) } else { (line, column) }
}

impl Client {
    fn start(encoding: &str) -> Self {
        let mut talk = Talk::new();
        let mut disk = BTreeMap::new();
        for (name, text) in FILES {
            talk.write(name, text);
            disk.insert(name, text.to_owned());
        }
        talk.start(json!({ "general": { "positionEncodings": [encoding] } }));
        let unit: fn(char) -> usize = match encoding {
            "utf-8" => char::len_utf8,
            "utf-16" => char::len_utf16,
            _ => |_| 1,
        };
        Self { talk, unit, disk, open: BTreeMap::new(), shown: BTreeMap::new() }
    }

    fn hold(&mut self, name: &'static str) -> String {
        if let Some((_, text)) = self.open.get(name) {
            return text.clone();
        }
        let text = self.disk[name].clone();
        let item =
            json!({ "uri": self.talk.uri(name), "languageId": "markdown", "version": 1, "text": text });
        self.talk.note("textDocument/didOpen", json!({ "textDocument": item }));
        self.open.insert(name, (1, text.clone()));
        text
    }

    /// Replaces characters `from..to` (bytes), and gives the change as it is told.
    fn change(&mut self, name: &'static str, from: usize, to: usize, piece: &str) -> Value {
        let unit = self.unit;
        let (_, text) = self.open.get_mut(name).expect("an open file");
        let (a, b) = (position(text, from, unit), position(text, to, unit));
        text.replace_range(from..to, piece);
        json!({ "text": piece, "range": { "start": { "line": a.0, "character": a.1 },
                                          "end": { "line": b.0, "character": b.1 } } })
    }

    fn tell(&mut self, name: &'static str, changes: &[Value]) {
        let held = self.open.get_mut(name).expect("an open file");
        held.0 += 1;
        let named = json!({ "uri": self.talk.uri(name), "version": held.0 });
        let params = json!({ "textDocument": named, "contentChanges": changes });
        self.talk.note("textDocument/didChange", params);
    }

    fn apply(&mut self, edit: &Edit) {
        let name = |file: &Index| FILES[file.index(FILES.len())].0;
        match edit {
            Edit::Type { file, from, length, piece } => {
                let name = name(file);
                let text = self.hold(name);
                let (from, to) = between(&text, from, *length);
                let change = self.change(name, from, to, piece.get::<&str>(&PIECES));
                self.tell(name, &[change]);
            }
            Edit::Several { file, at } => {
                let name = name(file);
                let mut changes = Vec::new();
                for (from, piece) in at {
                    let text = self.hold(name);
                    let (from, to) = between(&text, from, 3);
                    changes.push(self.change(name, from, to, piece.get::<&str>(&PIECES)));
                }
                self.tell(name, &changes);
            }
            Edit::Whole { file, other } => {
                let name = name(file);
                self.hold(name);
                let text = FILES[other.index(FILES.len())].1;
                self.open.get_mut(name).expect("an open file").1 = text.to_owned();
                self.tell(name, &[json!({ "text": text })]);
            }
            Edit::Disk { file, piece } => {
                let name = name(file);
                let text = format!("{}- {}\n", self.disk[name], piece.get::<&str>(&PIECES));
                self.talk.write(name, &text);
                self.disk.insert(name, text);
                self.talk.note("workspace/didChangeWatchedFiles", json!({ "changes": [] }));
            }
            Edit::Close { file } => {
                let name = name(file);
                if self.open.remove(name).is_some() {
                    let named = json!({ "uri": self.talk.uri(name) });
                    self.talk.note("textDocument/didClose", json!({ "textDocument": named }));
                }
            }
        }
    }

    /// What the server shows in the end: place, severity, code and first line.
    fn says(&mut self) -> Vec<String> {
        for message in self.talk.settled() {
            if let Message::Notification(note) = message {
                let uri = note.params["uri"].as_str().expect("a name").to_owned();
                self.shown.insert(uri, note.params["diagnostics"].clone());
            }
        }
        let mut says = Vec::new();
        for name in self.disk.keys() {
            let shown = self.shown.get(&self.talk.uri(name)).and_then(Value::as_array);
            says.extend(shown.into_iter().flatten().map(|d| {
                let (start, end) = (&d["range"]["start"], &d["range"]["end"]);
                let message = d["message"].as_str().and_then(|m| m.lines().next()).unwrap_or_default();
                format!(
                    "{name} {}:{}-{}:{} {} {} {message}",
                    start["line"],
                    start["character"],
                    end["line"],
                    end["character"],
                    d["severity"],
                    d["code"]
                )
            }));
        }
        says.sort();
        says
    }

    /// What a fresh check of the same texts says.
    fn fresh(&self) -> Vec<String> {
        use haulm::base::diagnostic::Severity;
        // The rulebook is compiled once for all sessions; their texts are read afresh.
        static READY: OnceLock<Session> = OnceLock::new();
        let ready = READY.get_or_init(|| {
            let mut session = Session::new();
            session.check(today(), None);
            session
        });
        let mut session = ready.clone();
        for (name, text) in &self.disk {
            session.set_text(name, self.open.get(name).map_or(text, |(_, text)| text));
        }
        let checked = session.check(today(), None);
        let first = checked.sources.iter().find(|(_, f)| !f.built_in && f.kind == SourceKind::Journal);
        let (first, _) = first.expect("a journal");
        let mut says = Vec::new();
        for d in &checked.report.findings {
            let at = d.primary.as_ref().map(|l| (l.loc.file, l.loc.span.range())).unwrap_or((first, 0..0));
            let file = checked.sources.file(at.0);
            let (a, b) =
                (position(&file.text, at.1.start, self.unit), position(&file.text, at.1.end, self.unit));
            let alarm = if d.severity == Severity::Alarm { "alarm: " } else { "" };
            let severity = match d.severity {
                Severity::Alarm | Severity::Error => 1,
                Severity::Warn => 2,
                Severity::Hint => 3,
            };
            says.push(format!(
                "{} {}:{}-{}:{} {severity} \"{}\" {alarm}{}",
                file.path, a.0, a.1, b.0, b.1, d.code, d.message
            ));
        }
        says.sort();
        says
    }
}

/// Bytes from a place to so many characters on; never within a line break of two characters, where an
/// editor has no place.
fn between(text: &str, from: &Index, length: usize) -> (usize, usize) {
    let mut places: Vec<usize> = text.char_indices().map(|(at, _)| at).chain([text.len()]).collect();
    places.retain(|at| !(text[..*at].ends_with('\r') && text[*at..].starts_with('\n')));
    let start = from.index(places.len());
    (places[start], places[(start + length).min(places.len() - 1)])
}

fn cases() -> u32 {
    std::env::var("HAULM_SESSIONS").ok().and_then(|n| n.parse().ok()).unwrap_or(8)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), max_shrink_iters: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn after_any_edits_the_server_says_what_a_fresh_check_says(
        edits in edits(),
        encoding in prop_oneof![Just("utf-8"), Just("utf-16"), Just("utf-32")],
    ) {
        let mut client = Client::start(encoding);
        for edit in &edits {
            client.apply(edit);
        }
        let says = client.says();
        prop_assert_eq!(says, client.fresh());
        client.talk.end();
    }
}
