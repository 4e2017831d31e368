//! The demonstration diary: what is said of it on four days is blessed, and over its season and a half it
//! shows every finding of the rulebook.

use std::{collections::BTreeSet, path::Path};

use chrono::{Days, NaiveDate};
use haulm::{
    base::diagnostic::Diagnostic,
    read::Farm,
    session::{Checked, Session},
    show::{self, layout::Style},
};

fn farm() -> Session {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("journals/brackenhythe");
    let mut session = Session::new();
    session.set_reading(Farm::at(&folder).read());
    session
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn as_of(session: &mut Session, day: NaiveDate) -> Checked {
    session.check(day, Some(day))
}

#[test]
fn what_is_said_on_four_days_is_what_was_blessed() {
    let mut session = farm();
    for text in ["2025-04-26", "2025-05-18", "2026-05-16", "2026-06-03"] {
        let checked = as_of(&mut session, day(text));
        let said = show::terminal::report(&checked.report, &checked.sources, &Style::plain());
        insta::assert_snapshot!(format!("check_{text}"), said);
        let due = show::due::due(&checked.report, &checked.sources, &Style::plain());
        insta::assert_snapshot!(format!("due_{text}"), due);
    }
}

fn codes(findings: &[Diagnostic], into: &mut BTreeSet<String>) {
    for finding in findings {
        into.insert(finding.code.to_string());
        codes(&finding.folded, into);
    }
}

#[test]
fn every_page_of_rules_speaks_at_least_once() {
    let mut session = farm();
    let mut seen = BTreeSet::new();
    let mut at = day("2025-03-08");
    let mut pages = BTreeSet::new();
    while at <= day("2026-11-28") {
        let checked = as_of(&mut session, at);
        codes(&checked.report.findings, &mut seen);
        seen.extend(checked.report.allowed.iter().map(|a| a.finding.code.to_string()));
        seen.extend(checked.report.actions.iter().map(|a| a.code.to_string()));
        pages.extend(
            checked
                .pages
                .iter()
                .filter(|p| checked.sources.file(p.file).path.contains("rules/pages/"))
                .map(|p| p.code.to_string()),
        );
        at = at + Days::new(7);
    }
    assert!(pages.len() > 20, "{pages:?}");
    let silent: Vec<&String> = pages.difference(&seen).collect();
    assert!(silent.is_empty(), "pages that the demonstration never shows: {silent:?}");
}
