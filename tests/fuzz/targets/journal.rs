//! Any text as a journal: it is read, checked and shown, and nothing panics.

#![no_main]

use chrono::NaiveDate;
use haulm::{
    session::Session,
    show::{self, layout::Style},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let mut session = Session::new();
    session.set_text("journal.md", text);
    let checked = session.check(NaiveDate::from_ymd_opt(2026, 4, 4).unwrap_or_default(), None);
    show::terminal::report(&checked.report, &checked.sources, &Style::plain());
    show::json::report(&checked.report, &checked.sources);
    for finding in &checked.report.findings {
        for label in finding.primary.iter().chain(&finding.secondary) {
            let file = checked.sources.file(label.loc.file);
            assert!(file.text.get(label.loc.span.range()).is_some(), "{finding:?} points outside its text");
        }
    }
});
