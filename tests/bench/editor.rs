//! How long an editor waits, by the age of the farm: the real program over its own input and output.
//!
//! `cargo bench --bench editor` types some lines letter by letter, at the end of the newest file and in the
//! middle of one of the first year, and measures from each change to the diagnostics of that version and to a
//! completion asked for right after it. Then it types ten thousand times more into the youngest farm and tells
//! the program's memory on the way.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, dead_code)]

mod years;

use std::{
    fs,
    io::{BufRead, BufReader, Read, Write},
    process::{Child, ChildStdout, Command, Stdio},
    time::{Duration, Instant},
};

use serde_json::{Value, json};

/// The ages measured, in years.
const AGES: [u32; 3] = [1, 5, 20];
/// What is typed: old names and new ones, and lines that mean nothing until they are whole.
const TYPED: &str = "- spread lot bench-mix on north-1, 3 in deep: a good day\n\
                     - noticed yellow leaves on tomato in b-2, 3 of 8 plants\n\
                     - received 4 bags compost as lot bench-2 from Pell, made from horse manure\n\
                     - sowed 12 lettuce in b-3\n";
/// Edits typed to see whether memory grows, and after how many of them it is told.
const EDITS: usize = 10_000;
const TOLD_EACH: usize = 2_500;

/// Where is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    NewestEnd,
    OldestMiddle,
}

fn main() {
    let measures = std::env::args().any(|a| a == "--bench");
    let (ages, letters) = if measures { (&AGES[..], TYPED.len()) } else { (&AGES[..1], 3) };
    println!(
        "| years | typed | opened | change to diagnostics, median | p99 | change to completion, median | p99 |"
    );
    println!("|---:|---|---:|---:|---:|---:|---:|");
    for age in ages {
        for (place, word) in [
            (Place::NewestEnd, "at the end of the newest file"),
            (Place::OldestMiddle, "in the middle of one of the first year"),
        ] {
            let mut editor = Editor::open(*age, place);
            let (mut shown, mut offered) = (Vec::new(), Vec::new());
            for letter in TYPED.chars().take(letters) {
                let (s, o) = editor.type_and_wait(letter);
                shown.push(s);
                offered.push(o);
            }
            println!(
                "| {age} | {word} | {:.0} ms | {} | {} | {} | {} |",
                editor.opened.as_secs_f64() * 1e3,
                at(&mut shown, 50),
                at(&mut shown, 99),
                at(&mut offered, 50),
                at(&mut offered, 99)
            );
        }
    }
    let edits = if measures { EDITS } else { 10 };
    let mut editor = Editor::open(1, Place::NewestEnd);
    let mut told: Vec<String> = Vec::new();
    for n in 0..=edits {
        if n % TOLD_EACH == 0 {
            told.push(format!("{} kB after {n}", editor.memory().unwrap_or(0)));
        }
        editor.settle(n);
    }
    println!("\nmemory: {}", told.join(", "));
}

fn at(times: &mut [Duration], percent: usize) -> String {
    times.sort();
    let time = times.get((times.len() * percent / 100).min(times.len().saturating_sub(1)));
    format!("{:.1} ms", time.copied().unwrap_or_default().as_secs_f64() * 1e3)
}

struct Editor {
    program: Child,
    out: BufReader<ChildStdout>,
    uri: String,
    version: i64,
    line: u32,
    column: u32,
    opened: Duration,
    asked: i64,
    /// Where what is typed began.
    began: (u32, u32),
    _dir: tempfile::TempDir,
}

impl Editor {
    fn open(age: u32, place: Place) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let files = years::journal(age);
        for (path, text) in &files {
            fs::write(dir.path().join(path), text).unwrap();
        }
        let began = Instant::now();
        let mut program = Command::new(env!("CARGO_BIN_EXE_haulm"))
            .args(["lsp", "--today", &years::last_day(age).to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let out = BufReader::new(program.stdout.take().unwrap());
        let (path, text) = if place == Place::NewestEnd { files.last() } else { files.get(2) }.unwrap();
        let lines = text.matches('\n').count();
        // After an entry in the middle; the line typed at is never one of prose.
        let middle = text.lines().skip(lines / 2).position(|l| l.starts_with("- ")).unwrap();
        let line = if place == Place::NewestEnd { lines } else { lines / 2 + middle + 1 };
        let root = format!("file://{}", dir.path().display());
        let uri = format!("{root}/{path}");
        let mut editor = Self {
            program,
            out,
            uri,
            version: 1,
            line: u32::try_from(line).unwrap(),
            column: 0,
            opened: Duration::ZERO,
            asked: 0,
            began: (u32::try_from(line).unwrap(), 0),
            _dir: dir,
        };
        editor.ask("initialize", &json!({ "rootUri": root, "capabilities": {} }));
        while editor.hear()["id"] != editor.asked {}
        editor.tell("initialized", &json!({}));
        let item = json!({ "uri": editor.uri, "languageId": "markdown", "version": 1, "text": text });
        editor.tell("textDocument/didOpen", &json!({ "textDocument": item }));
        editor.until_shown();
        editor.opened = began.elapsed();
        if place == Place::OldestMiddle {
            // What is typed stands on a line of its own.
            editor.change((editor.line, 0), (editor.line, 0), "\n");
            editor.until_shown();
        }
        editor
    }

    fn change(&mut self, from: (u32, u32), to: (u32, u32), text: &str) {
        let place = |(line, column): (u32, u32)| json!({ "line": line, "character": column });
        self.version += 1;
        let change = json!({ "range": { "start": place(from), "end": place(to) }, "text": text });
        let named = json!({ "uri": self.uri, "version": self.version });
        self.tell("textDocument/didChange", &json!({ "textDocument": named, "contentChanges": [change] }));
    }

    fn type_letter(&mut self, letter: char) {
        let place = (self.line, self.column);
        (self.line, self.column) =
            if letter == '\n' { (self.line + 1, 0) } else { (self.line, self.column + 1) };
        self.change(place, place, &letter.to_string());
    }

    /// Types a letter and asks for a completion; gives how long diagnostics and the answer take.
    fn type_and_wait(&mut self, letter: char) -> (Duration, Duration) {
        let began = Instant::now();
        self.type_letter(letter);
        let position = json!({ "line": self.line, "character": self.column });
        self.ask(
            "textDocument/completion",
            &json!({ "textDocument": { "uri": self.uri }, "position": position }),
        );
        let (mut shown, mut offered) = (None, None);
        loop {
            let heard = self.hear();
            if heard["id"] == self.asked {
                offered = Some(began.elapsed());
            } else if self.shows_now(&heard) {
                shown = Some(began.elapsed());
            }
            if let (Some(shown), Some(offered)) = (shown, offered) {
                return (shown, offered);
            }
        }
    }

    /// The next edit that leaves the text no longer than a line: a letter more, and at the end of the lines
    /// all of them away again.
    fn settle(&mut self, n: usize) {
        let (line, column) = (self.line, self.column);
        match TYPED.chars().nth(n % (TYPED.len() + 1)) {
            Some(letter) => self.type_letter(letter),
            None => {
                (self.line, self.column) = self.began;
                self.change(self.began, (line, column), "");
            }
        }
        self.until_shown();
    }

    fn shows_now(&self, heard: &Value) -> bool {
        heard.get("params").is_some_and(|p| p["uri"] == self.uri && p["version"] == self.version)
    }

    fn until_shown(&mut self) {
        loop {
            let heard = self.hear();
            if self.shows_now(&heard) {
                return;
            }
        }
    }

    fn ask(&mut self, method: &str, params: &Value) {
        self.asked += 1;
        let id = self.asked;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
    }

    fn tell(&mut self, method: &str, params: &Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    fn send(&mut self, message: &Value) {
        let text = message.to_string();
        let input = self.program.stdin.as_mut().unwrap();
        write!(input, "Content-Length: {}\r\n\r\n{text}", text.len()).unwrap();
        input.flush().unwrap();
    }

    fn hear(&mut self) -> Value {
        let mut length = 0;
        loop {
            let mut line = String::new();
            self.out.read_line(&mut line).unwrap();
            match line.trim_end().split_once(": ") {
                Some(("Content-Length", n)) => length = n.parse().unwrap(),
                Some(_) => {}
                None => break,
            }
        }
        let mut text = vec![0; length];
        self.out.read_exact(&mut text).unwrap();
        serde_json::from_slice(&text).unwrap()
    }

    /// The program's memory in kB, as Linux tells it.
    fn memory(&self) -> Option<u64> {
        let status = fs::read_to_string(format!("/proc/{}/status", self.program.id())).ok()?;
        let line = status.lines().find_map(|l| l.strip_prefix("VmRSS:"))?;
        line.split_whitespace().next()?.parse().ok()
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}
