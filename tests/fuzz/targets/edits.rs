//! Any sequence of edits ends where a fresh session with the same texts ends.

#![no_main]

use std::collections::BTreeMap;

use arbitrary::Arbitrary;
use chrono::NaiveDate;
use haulm::{session::Session, show};
use libfuzzer_sys::fuzz_target;

const PATHS: [&str; 3] = ["spring.md", "old/autumn.md", "rules/pages/own.md"];

#[derive(Debug, Arbitrary)]
enum Edit {
    Set { file: u8, text: String },
    Insert { file: u8, at: u16, text: String },
    Cut { file: u8, from: u16, to: u16 },
    Remove { file: u8 },
    Check,
}

fuzz_target!(|edits: Vec<Edit>| {
    let today = NaiveDate::from_ymd_opt(2026, 4, 4).unwrap_or_default();
    let mut session = Session::new();
    let mut texts: BTreeMap<&str, String> = BTreeMap::new();
    for edit in edits.into_iter().take(20) {
        let (file, text) = match edit {
            Edit::Check => {
                session.check(today, None);
                continue;
            }
            Edit::Remove { file } => {
                let path = PATHS[usize::from(file) % PATHS.len()];
                texts.remove(path);
                session.remove(path);
                continue;
            }
            Edit::Set { file, text } => (file, text),
            Edit::Insert { file, at, text } => {
                let mut whole =
                    texts.get(PATHS[usize::from(file) % PATHS.len()]).cloned().unwrap_or_default();
                whole.insert_str(boundary(&whole, at), &text);
                (file, whole)
            }
            Edit::Cut { file, from, to } => {
                let mut whole =
                    texts.get(PATHS[usize::from(file) % PATHS.len()]).cloned().unwrap_or_default();
                let (a, b) = (boundary(&whole, from), boundary(&whole, to));
                whole.replace_range(a.min(b)..a.max(b), "");
                (file, whole)
            }
        };
        let path = PATHS[usize::from(file) % PATHS.len()];
        session.set_text(path, &text);
        texts.insert(path, text);
    }
    let edited = session.check(today, None);
    let mut fresh = Session::new();
    for (path, text) in &texts {
        fresh.set_text(path, text);
    }
    let fresh = fresh.check(today, None);
    assert_eq!(
        show::json::report(&edited.report, &edited.sources),
        show::json::report(&fresh.report, &fresh.sources)
    );
});

fn boundary(text: &str, at: u16) -> usize {
    let mut at = usize::from(at).min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}
