//! How long an editor waits, by the age of the farm: the real program over its own input and output.
//!
//! `cargo bench --bench editor` types into the newest file, letter by letter, and measures from each change
//! to the diagnostics of that version, and to a completion asked for right after it; then it types many
//! thousand times more into the youngest farm and tells the program's memory before and after.

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
/// What is typed, again and again.
const TYPED: &str = "- spread lot bench-mix on north-1, 3 in deep: a good day\n";

fn main() {
    let measures = std::env::args().any(|a| a == "--bench");
    let (ages, letters, many) = if measures { (&AGES[..], 200, 10_000) } else { (&AGES[..1], 3, 10) };
    println!(
        "| years | size of the file | change to diagnostics, median | p99 | change to completion, median | p99 |"
    );
    println!("|---:|---:|---:|---:|---:|---:|");
    for age in ages {
        let mut editor = Editor::open(*age);
        let (mut shown, mut offered) = (Vec::new(), Vec::new());
        for n in 0..letters {
            offered.push(editor.type_letter(n, true));
            editor.until_shown();
            let began = Instant::now();
            editor.type_letter(n, false);
            editor.until_shown();
            shown.push(began.elapsed());
        }
        println!(
            "| {age} | {} kB | {} | {} | {} | {} |",
            editor.size / 1000,
            at(&mut shown, 50),
            at(&mut shown, 99),
            at(&mut offered, 50),
            at(&mut offered, 99)
        );
    }
    let mut editor = Editor::open(1);
    let before = (0..many / 100).map(|n| editor.settle(n)).last().and_then(|()| editor.memory());
    (0..many).for_each(|n| editor.settle(n));
    println!(
        "\nmemory after {} edits: {before:?} kB, after {many} more: {:?} kB",
        many / 100,
        editor.memory()
    );
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
    size: usize,
    asked: i64,
    _dir: tempfile::TempDir,
}

impl Editor {
    fn open(age: u32) -> Self {
        let dir = tempfile::tempdir().unwrap();
        let files = years::journal(age);
        for (path, text) in &files {
            fs::write(dir.path().join(path), text).unwrap();
        }
        let mut program = Command::new(env!("CARGO_BIN_EXE_haulm"))
            .args(["lsp", "--today", &years::last_day(age).to_string()])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let out = BufReader::new(program.stdout.take().unwrap());
        let (path, text) = files.last().unwrap();
        let root = format!("file://{}", dir.path().display());
        let uri = format!("{root}/{path}");
        let line = u32::try_from(text.matches('\n').count()).unwrap();
        let mut editor =
            Self { program, out, uri, version: 1, line, column: 0, size: text.len(), asked: 0, _dir: dir };
        editor.ask("initialize", &json!({ "rootUri": root, "capabilities": {} }));
        editor.tell("initialized", &json!({}));
        let item = json!({ "uri": editor.uri, "languageId": "markdown", "version": 1, "text": text });
        editor.tell("textDocument/didOpen", &json!({ "textDocument": item }));
        editor.until_shown();
        editor
    }

    /// Types one letter; with `asks`, gives how long a completion takes from then.
    fn type_letter(&mut self, n: usize, asks: bool) -> Duration {
        let letter = TYPED.chars().nth(n % TYPED.len()).unwrap();
        let place = json!({ "line": self.line, "character": self.column });
        self.version += 1;
        let change = json!({ "range": { "start": place, "end": place }, "text": letter.to_string() });
        let named = json!({ "uri": self.uri, "version": self.version });
        (self.line, self.column) =
            if letter == '\n' { (self.line + 1, 0) } else { (self.line, self.column + 1) };
        let began = Instant::now();
        self.tell("textDocument/didChange", &json!({ "textDocument": named, "contentChanges": [change] }));
        if asks {
            let position = json!({ "line": self.line, "character": self.column });
            let params = json!({ "textDocument": { "uri": self.uri }, "position": position });
            self.ask("textDocument/completion", &params);
        }
        began.elapsed()
    }

    /// Types a letter and takes it back, so that the text stays as long as it is.
    fn settle(&mut self, n: usize) {
        let (line, column) = (self.line, self.column);
        self.type_letter(n, false);
        let range = json!({ "start": { "line": line, "character": column },
                            "end": { "line": self.line, "character": self.column } });
        (self.line, self.column, self.version) = (line, column, self.version + 1);
        let change = json!({ "range": range, "text": "" });
        let named = json!({ "uri": self.uri, "version": self.version });
        self.tell("textDocument/didChange", &json!({ "textDocument": named, "contentChanges": [change] }));
        self.until_shown();
    }

    fn until_shown(&mut self) {
        let (uri, version) = (self.uri.clone(), self.version);
        while !self.hear().get("params").is_some_and(|p| p["uri"] == uri && p["version"] == version) {}
    }

    fn ask(&mut self, method: &str, params: &Value) {
        self.asked += 1;
        let id = self.asked;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        while self.hear()["id"] != id {}
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
