//! What editors are given agrees with the table of verbs: colouring grammars know its words, and no others.
//!
//! To write the grammars' words anew: `HAULM_BLESS=1 cargo test --test editors`.

mod tree;

use std::{collections::BTreeSet, fs, path::PathBuf};

use haulm::{
    base::span::FileId,
    model::frame::{Frame, Frames, Lead},
    parse::frames::{TEXT, parse},
};
use tree::{files, root};

fn frames() -> Frames {
    parse(FileId(0), TEXT).0
}

fn grammars() -> Vec<PathBuf> {
    files(&root().join("grammar/editors/vscode/syntaxes"), ".json")
}

/// The words that stand in a grammar between `(?#name)` and `(?#end)`, longest first so that `dug in` is
/// tried before `dug`.
fn words(frames: &Frames) -> Vec<(&'static str, String)> {
    let alternation = |words: BTreeSet<String>| {
        let mut words: Vec<String> = words.iter().map(|w| regex::escape(w)).collect();
        words.sort_by_key(|w| (std::cmp::Reverse(w.len()), w.clone()));
        words.join("|")
    };
    let all = frames.frames.iter();
    // Of a verb that stands apart the first half begins the line.
    let spelt = |f: &'_ Frame| -> Vec<String> {
        let whole = std::iter::once(&f.verb).chain(&f.also);
        whole.chain(f.apart.iter().map(|(first, _)| first)).map(ToString::to_string).collect()
    };
    let verbs = all.clone().flat_map(spelt);
    let bases = all.clone().flat_map(|f| &f.base).map(|w| w.to_string());
    let prose = all.clone().flat_map(|f| &f.prose).map(|w| w.to_string());
    let leads = all.flat_map(|f| &f.slots).flat_map(|s| &s.leads).filter_map(|lead| match lead {
        Lead::Word(word) | Lead::Before(word) => Some(word.to_string()),
        _ => None,
    });
    // These may stand in any entry.
    let leads = leads.chain(["by", "at", "for", "of", "and", "or", "each", "except"].map(str::to_owned));
    vec![
        ("verbs", alternation(verbs.collect())),
        ("bases", alternation(bases.collect())),
        ("prose", alternation(prose.collect())),
        ("leads", alternation(leads.collect())),
    ]
}

#[test]
fn the_words_of_the_colouring_grammars_are_those_of_the_table_of_verbs() {
    let words = words(&frames());
    let mut filled = 0;
    for path in grammars() {
        let before = fs::read_to_string(&path).expect("a grammar");
        let mut after = before.clone();
        for (name, list) in &words {
            let mark = format!("(?#{name})");
            // In JSON a backslash is written twice.
            let list = list.replace('\\', "\\\\");
            let mut at = 0;
            while let Some(start) =
                after.get(at..).and_then(|rest| rest.find(&mark)).map(|n| at + n + mark.len())
            {
                let end = start + after.get(start..).and_then(|rest| rest.find("(?#end)")).expect("an end");
                after.replace_range(start..end, &list);
                at = start + list.len();
                filled += 1;
            }
        }
        if std::env::var_os("HAULM_BLESS").is_some() {
            fs::write(&path, &after).expect("it can be written");
        } else {
            assert_eq!(before, after, "{} is behind grammar/frames.md", path.display());
        }
    }
    assert_eq!(filled, 9, "every place for words is filled");
}

#[test]
fn every_grammar_that_is_named_is_there() {
    let package = root().join("grammar/editors/vscode/package.json");
    let package: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(package).expect("the extension")).expect("JSON");
    let named: BTreeSet<String> = package["contributes"]["grammars"]
        .as_array()
        .expect("grammars")
        .iter()
        .map(|g| {
            let path = root().join("grammar/editors/vscode").join(g["path"].as_str().expect("a path"));
            let text = fs::read_to_string(&path).expect("a grammar");
            let grammar: serde_json::Value = serde_json::from_str(&text).expect("JSON");
            assert_eq!(grammar["scopeName"], g["scopeName"], "{}", path.display());
            path.file_name().expect("a name").to_string_lossy().into_owned()
        })
        .collect();
    let there: BTreeSet<String> =
        grammars().iter().map(|p| p.file_name().expect("a name").to_string_lossy().into_owned()).collect();
    assert_eq!(named, there);
}
