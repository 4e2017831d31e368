//! Every number an editor shows has a unit or counts something: hovers over every word of the demonstration and of pages,
//! hints between the lines, what completion says of what it offers, and lenses.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::Path,
};

use chrono::NaiveDate;
use haulm::{
    base::source::SourceKind,
    read::Farm,
    session::{Checked, Session},
};
use serde_json::{Value, json};

use crate::{
    bare::{bare, names},
    talk::Talk,
};

/// Pages of each kind, read as a farm's own.
const PAGES: [&str; 5] = [
    "rules/pages/lots/untested-lot.md",
    "rules/causes/carryover.md",
    "rules/recipes/heat.md",
    "rules/tables/causes.md",
    "rules/vocabulary/materials.md",
];

fn late() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 7, 1).expect("a day")
}

/// The demonstration with pages beside it, open in an editor, and what a check says of it.
struct Open {
    talk: Talk,
    /// Names and texts.
    files: BTreeMap<String, String>,
    names: BTreeSet<String>,
    /// What stands in the columns of sources, as hovers show it.
    sources: Vec<String>,
}

impl Open {
    fn new() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut talk = Talk::on(late);
        let mut files = BTreeMap::new();
        for entry in fs::read_dir(root.join("journals/brackenhythe")).expect("the demonstration") {
            let path = entry.expect("a file").path();
            let name = path.file_name().and_then(|n| n.to_str()).expect("a name").to_owned();
            files.insert(name, fs::read_to_string(path).expect("a text"));
        }
        for page in PAGES {
            files.insert(page.to_owned(), fs::read_to_string(root.join(page)).expect("a page"));
        }
        for (name, text) in &files {
            talk.write(name, text);
        }
        talk.start(json!({ "textDocument": { "completion": { "completionItem":
            { "snippetSupport": true, "documentationFormat": ["markdown"] } } } }));
        for (name, text) in &files {
            let item = json!({ "uri": talk.uri(name), "languageId": "markdown", "version": 1, "text": text });
            talk.note("textDocument/didOpen", json!({ "textDocument": item }));
        }
        let mut session = Session::new();
        session.set_reading(Farm::at(&root.join("journals/brackenhythe")).read());
        let checked = session.check(late(), None);
        let names = names(&checked).into_iter().chain(spelt(&checked)).collect();
        Self { talk, files, names, sources: sources(&checked) }
    }

    fn ask(&mut self, method: &str, name: &str, more: Value) -> Value {
        let mut params = json!({ "textDocument": { "uri": self.talk.uri(name) } });
        for (key, value) in more.as_object().into_iter().flatten() {
            params[key] = value.clone();
        }
        self.talk.ask(method, params).0
    }

    /// The bare numbers of a text of Markdown, what is quoted in it and its sources left out.
    fn wrong(&self, markdown: &str) -> Vec<String> {
        let mut text = markdown.replace('\\', "");
        for source in &self.sources {
            text = text.replace(source.as_str(), "");
        }
        let mut words = String::new();
        let mut fenced = false;
        for line in text.lines() {
            fenced ^= line.starts_with("```");
            if !fenced && !line.starts_with("    ") && !line.starts_with("```") {
                words.push_str(line);
                words.push('\n');
            }
        }
        words
            .lines()
            .flat_map(|l| bare(l, &self.names).into_iter().map(move |b| format!("`{b}` in: {l}")))
            .collect()
    }
}

/// What stands in the columns of sources, as hovers show it, the longest first.
fn sources(checked: &Checked) -> Vec<String> {
    let mut all = BTreeSet::new();
    for (_, file) in checked.sources.iter().filter(|(_, f)| f.kind == SourceKind::RulePage) {
        let cells = |line: &str| -> Vec<String> {
            line.trim().trim_matches('|').split('|').map(|c| c.trim().replace('\\', "")).collect()
        };
        let mut head: Vec<String> = Vec::new();
        for line in file.text.lines() {
            if !line.trim_start().starts_with('|') {
                head.clear();
            } else if head.is_empty() {
                head = cells(line);
            } else {
                let row = cells(line);
                let named = |name: &str| head.iter().position(|h| h == name).and_then(|at| row.get(at));
                all.extend(
                    ["source", "why", "note"].iter().filter_map(|n| named(n)).map(|c| format!(" ({c})")),
                );
                // Some sentences name the source themselves.
                all.extend(named("source").filter(|c| c.len() > 12).cloned());
            }
        }
    }
    let mut all: Vec<String> = all.into_iter().collect();
    all.sort_by_key(|s| std::cmp::Reverse(s.len()));
    all
}

/// The words of the tables that have a number in them, such as substances.
fn spelt(checked: &Checked) -> impl Iterator<Item = String> {
    let words = checked.words(None).kinds.into_iter().flat_map(|k| k.words);
    let all = words.flat_map(|(word, also)| std::iter::once(word).chain(also));
    all.filter(|w| w.contains(char::is_numeric) && w.contains(char::is_alphabetic))
}

/// Where words begin, as editors count: each word of these files at its first place and its last.
fn places(files: &BTreeMap<String, String>) -> BTreeSet<(String, usize, usize)> {
    let within = |c: char| c.is_alphanumeric() || c == '-';
    let mut found: BTreeMap<&str, Vec<(&String, usize, usize)>> = BTreeMap::new();
    let lines =
        files.iter().flat_map(|(name, text)| text.lines().enumerate().map(move |(n, l)| (name, n, l)));
    for (name, row, line) in lines {
        let mut at = 0;
        for word in line.split(|c| !within(c)) {
            if !word.is_empty() {
                let column = line[..at].encode_utf16().count();
                found.entry(word).or_default().push((name, row, column));
            }
            at += word.len() + line[at + word.len()..].chars().next().map_or(0, char::len_utf8);
        }
    }
    let ends = found.values().flat_map(|all| [all[0], all[all.len() - 1]]);
    ends.map(|(name, row, column)| (name.clone(), row, column)).collect()
}

#[test]
fn every_number_an_editor_shows_has_a_unit_or_counts_something() {
    let mut open = Open::new();
    let mut shown: BTreeSet<String> = BTreeSet::new();
    for (name, line, character) in places(&open.files) {
        let at = json!({ "position": { "line": line, "character": character } });
        let hover = open.ask("textDocument/hover", &name, at);
        shown.extend(hover["contents"]["value"].as_str().map(str::to_owned));
    }
    for (name, text) in open.files.clone() {
        let whole = json!({ "range": { "start": { "line": 0, "character": 0 },
                                       "end": { "line": text.lines().count(), "character": 0 } } });
        for hint in open.ask("textDocument/inlayHint", &name, whole).as_array().into_iter().flatten() {
            shown.extend(hint["label"].as_str().map(str::to_owned));
        }
        for lens in open.ask("textDocument/codeLens", &name, json!({})).as_array().into_iter().flatten() {
            shown.extend(lens["command"]["title"].as_str().map(str::to_owned));
        }
    }
    assert!(shown.len() > 500, "only {} texts", shown.len());
    let wrong: BTreeSet<String> = shown.iter().flat_map(|t| open.wrong(t)).collect();
    assert!(wrong.is_empty(), "{} in all\n{}", wrong.len(), Vec::from_iter(wrong).join("\n"));
    open.talk.end();
}

#[test]
fn every_number_of_what_is_offered_has_a_unit_or_counts_something() {
    let mut open = Open::new();
    let (name, text) = open.files.iter().next().map(|(n, t)| (n.clone(), t.clone())).expect("a file");
    let mut shown: BTreeSet<String> = BTreeSet::new();
    let mut version = 1;
    let mut typed = vec!["- ".to_owned()];
    let mut seen = 0;
    while let Some(line) = typed.pop() {
        version += 1;
        let whole = format!("{text}\n## 2026-07-01\n{line}");
        let at = json!({ "position": { "line": whole.lines().count() - 1, "character": line.encode_utf16().count() } });
        let params = json!({ "textDocument": { "uri": open.talk.uri(&name), "version": version },
                             "contentChanges": [{ "text": whole }] });
        open.talk.note("textDocument/didChange", params);
        let offers = open.ask("textDocument/completion", &name, at);
        for offer in offers["items"].as_array().into_iter().flatten() {
            seen += 1;
            shown.extend(offer["detail"].as_str().map(str::to_owned));
            shown.extend(offer["documentation"]["value"].as_str().map(str::to_owned));
            // After each verb, and after each word that leads to something.
            if line.len() < 24 && matches!(offer["kind"].as_u64(), Some(15)) {
                typed.push(format!("{line}{} ", offer["label"].as_str().unwrap_or_default()));
            }
        }
    }
    assert!(seen > 1000, "only {seen} offers");
    let wrong: BTreeSet<String> = shown.iter().flat_map(|t| open.wrong(t)).collect();
    assert!(wrong.is_empty(), "{} in all\n{}", wrong.len(), Vec::from_iter(wrong).join("\n"));
    open.talk.end();
}
