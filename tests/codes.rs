//! Every code that is said has a page, and every reading page's code is said somewhere.

mod tree;

use std::{collections::BTreeSet, fs};

use regex::Regex;
use tree::{files, root};

/// Codes under one folder of pages: the first heading of each.
fn pages(under: &str) -> BTreeSet<String> {
    files(&root().join(under), ".md")
        .iter()
        .filter_map(|p| {
            let text = fs::read_to_string(p).expect("a page is text");
            text.lines().find_map(|l| l.strip_prefix("# ").map(|t| t.trim().to_owned()))
        })
        .collect()
}

/// Everything written in the code in the form of a code: lower-case words joined by hyphens, in quotes.
/// Test modules are left out.
fn quoted_in_code() -> (String, BTreeSet<String>) {
    let mut all = String::new();
    for path in files(&root().join("src"), ".rs") {
        if path.file_name().is_some_and(|n| n == "tests.rs" || n == "laws.rs") {
            continue;
        }
        let text = fs::read_to_string(&path).expect("source is text");
        all.push_str(text.split("#[cfg(test)]").next().unwrap_or(""));
        all.push('\n');
    }
    let code = Regex::new(r#""([a-z]+(?:-[a-z]+)+)""#).expect("a pattern");
    let found = code.captures_iter(&all).map(|c| c[1].to_owned()).collect();
    (all, found)
}

#[test]
fn every_code_said_has_a_page() {
    let (all, _) = quoted_in_code();
    let said = Regex::new(r#"(?:Diagnostic::new|fault|say|said|trouble)\(\s*"([a-z]+(?:-[a-z]+)+)""#)
        .expect("a pattern");
    let known: BTreeSet<String> =
        ["rules/reading", "rules/pages", "rules/causes"].into_iter().flat_map(pages).collect();
    let said: BTreeSet<String> = said.captures_iter(&all).map(|c| c[1].to_owned()).collect();
    assert!(said.len() > 20, "only {} codes were found in the code", said.len());
    let without: Vec<&String> = said.difference(&known).collect();
    assert!(without.is_empty(), "said, but without a page: {without:?}");
}

#[test]
fn every_reading_page_is_about_a_code_that_is_said() {
    let (_, quoted) = quoted_in_code();
    let idle: Vec<String> =
        pages("rules/reading").into_iter().filter(|code| !quoted.contains(code)).collect();
    assert!(idle.is_empty(), "a page, but nobody says it: {idle:?}");
}

/// A page with an example that must fail.
const FAILING: &str = "# sender-unknown\nSeverity: hint\n\n## What it notices\nx\n\n## Why it matters\nx\n\n## Rules\n\n```rule\nif   {lot} was received on {} (here)\nthen hint about {lot}: \"{lot} came in\"\n```\n\n## What to do\nx\n\n## Must fire\n\n### nothing came\n```journal\n## 2026-03-14\n- rained 3 mm\n```\n```expect\nhint sender-unknown\n```\n\n## Must stay silent\n\n### nothing\n```journal\n## 2026-03-14\n- rained 3 mm\n```\n\n## Limits\nx\n\n## Sources\n- our judgement\n";

/// Codes that no journal in a page can show, made here: a file that is no text, an entry longer than any, an
/// example that fails.
fn made_here() -> BTreeSet<String> {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("latin.md"), b"## 2026-03-14\n- rained \xff mm\n").expect("written");
    let left_out = haulm::read::Farm::at(folder.path()).read().left_out;
    let mut said: Vec<_> = left_out.into_iter().map(|left| left.said).collect();
    let day = chrono::NaiveDate::from_ymd_opt(2026, 4, 4).expect("a day");
    let mut session = haulm::session::Session::new();
    session.set_text("a.md", &format!("## 2026-03-14\n- spread {}\n", "lot x ".repeat(20_000)));
    said.extend(session.check(day, None).report.findings);
    let mut session = haulm::session::Session::new();
    session.set_text("rules/pages/sender-unknown.md", FAILING);
    let rehearsal = haulm::rehearse::Rehearsal::new(&session);
    let own = rehearsal.examples().into_iter().filter(|case| &*case.code == "sender-unknown");
    said.extend(own.flat_map(|case| rehearsal.run(&case)));
    said.into_iter().map(|d| d.code.to_string()).collect()
}

#[test]
fn every_reading_page_is_shown_to_fire() {
    let day = chrono::NaiveDate::from_ymd_opt(2026, 4, 4).expect("a day");
    let checked = haulm::session::Session::new().check(day, None);
    let made = made_here();
    let mut seen = 0;
    for page in checked.pages.iter().filter(|p| p.kind == haulm::model::page::PageKind::Reading) {
        let fires = page
            .examples
            .iter()
            .any(|e| e.must_fire && e.expected.iter().any(|line| line.text.contains(&*page.code)));
        assert!(fires || made.contains(&*page.code), "{} is never shown to fire", page.code);
        seen += 1;
    }
    assert!(seen > 40, "only {seen} pages of the reading");
}
