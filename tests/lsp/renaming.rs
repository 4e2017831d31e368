//! Whatever has a name in the demonstration journal can be given another, and nothing else changes.

use std::{collections::BTreeMap, fs, path::Path};

use haulm::{base::name::fold, session::Session};
use serde_json::{Value, json};

use crate::talk::{Talk, today};

const NEW: &str = "another-name";

type Texts = BTreeMap<String, String>;
/// Things with their kind and how often they are named; codes with how often they are said.
type Known = (Vec<(String, String, usize)>, BTreeMap<String, usize>);

fn journal() -> Texts {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("journals/brackenhythe");
    let files = fs::read_dir(folder).expect("the journal").map(|e| e.expect("an entry").path());
    let markdown = files.filter(|p| p.extension().is_some_and(|e| e == "md"));
    markdown
        .map(|p| {
            (
                p.file_name().expect("a name").to_string_lossy().into_owned(),
                fs::read_to_string(&p).expect("text"),
            )
        })
        .collect()
}

/// The things named, and the codes said of so many; with a name put in place of another.
fn known(session: &mut Session, texts: &Texts, old: &str) -> Known {
    for (path, text) in texts {
        session.set_text(path, text);
    }
    let checked = session.check(today(), None);
    let mut things: Vec<(String, String, usize)> = checked
        .diary
        .things
        .iter()
        .map(|t| {
            // A bucket goes by the name of its batch.
            let part = t.thing.name.strip_suffix(old).filter(|rest| rest.contains(" of "));
            let name = match part {
                Some(rest) => format!("{rest}{NEW}"),
                None if fold(&t.thing.name) == fold(old) => NEW.to_owned(),
                None => t.thing.name.to_string(),
            };
            (t.thing.kind.to_string(), name, t.mentions.len())
        })
        .collect();
    things.sort();
    let mut codes = BTreeMap::new();
    for finding in &checked.report.findings {
        // Lines that are prose for a slip in their verb are not renamed in, and may name it.
        if &*finding.code == "misspelt-verb" {
            continue;
        }
        *codes.entry(finding.code.to_string()).or_default() += 1;
    }
    (things, codes)
}

/// What the one has and the other has not.
fn differences(old: &str, due: &Known, now: &Known) -> Vec<String> {
    let things = |a: &Known, b: &Known| -> Vec<String> {
        a.0.iter().filter(|t| !b.0.contains(t)).map(|t| format!("{t:?}")).collect()
    };
    let codes = |a: &Known, b: &Known| -> Vec<String> {
        a.1.iter().filter(|(code, n)| b.1.get(*code) != Some(n)).map(|c| format!("{c:?}")).collect()
    };
    if due == now {
        return Vec::new();
    }
    vec![format!(
        "{old}: gone {:?} {:?}, new {:?} {:?}",
        things(due, now),
        codes(due, now),
        things(now, due),
        codes(now, due)
    )]
}

#[test]
fn a_thing_renamed_is_the_same_thing_everywhere() {
    let texts = journal();
    let mut talk = Talk::new();
    for (name, text) in &texts {
        talk.write(name, text);
    }
    talk.start(json!({}));
    talk.settled();
    let mut session = Session::new();
    let symbols = talk.ask("workspace/symbol", json!({ "query": "" })).0;
    let symbols: Vec<Value> = symbols.as_array().expect("names").clone();
    let step = if std::env::var_os("HAULM_SESSIONS").is_some() { 1 } else { 4 };
    let (mut renamed, mut refused, mut faults) = (0, Vec::new(), Vec::new());
    // Some of each kind; all where many sessions are asked for.
    for symbol in symbols.iter().step_by(step) {
        let at = &symbol["location"];
        let params =
            json!({ "textDocument": { "uri": at["uri"] }, "position": at["range"]["start"], "newName": NEW });
        let old = symbol["name"].as_str().expect("a name");
        let kind = symbol["containerName"].as_str().expect("a kind");
        let edit = talk.ask("textDocument/rename", params).0;
        let Some(changes) = edit["changes"].as_object() else {
            refused.push(old.to_owned());
            continue;
        };
        let mut after = texts.clone();
        for (uri, edits) in changes {
            let name = uri.rsplit('/').next().expect("a file");
            let text = after.get_mut(name).expect("a file of the journal");
            let mut lines: Vec<Vec<u16>> = text.split('\n').map(|l| l.encode_utf16().collect()).collect();
            let mut edits = edits.as_array().expect("edits").clone();
            edits.sort_by_key(|e| {
                let start = &e["range"]["start"];
                std::cmp::Reverse((start["line"].as_u64(), start["character"].as_u64()))
            });
            for e in edits {
                let number =
                    |end: &str, part: &str| e["range"][end][part].as_u64().expect("a number") as usize;
                let line = &mut lines[number("start", "line")];
                let new = NEW.encode_utf16();
                line.splice(number("start", "character")..number("end", "character"), new);
            }
            let lines: Vec<String> = lines.iter().map(|l| String::from_utf16_lossy(l)).collect();
            *text = lines.join("\n");
        }
        let name = old.strip_prefix(kind).unwrap_or(old).trim();
        let (now, due) = (known(&mut session, &after, name), known(&mut session, &texts, name));
        faults.extend(differences(old, &due, &now));
        renamed += 1;
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(renamed * step > 50, "{renamed} renamed; refused {refused:?}");
    talk.end();
}
