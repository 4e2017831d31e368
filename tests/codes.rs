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
