//! Any text as a rule page of a farm's own, beside a journal: it is compiled and run, and nothing panics.

#![no_main]

use chrono::NaiveDate;
use haulm::{
    session::Session,
    show::{self, layout::Style},
};
use libfuzzer_sys::fuzz_target;

const JOURNAL: &str = "\
- bed north-1, 30 ft x 4 ft

## 2026-03-14

- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure
- spread lot tern-26 on north-1, 3 in deep
- noticed cupped leaves on tomato in north-1, 3 of 4 plants
";

fuzz_target!(|page: &str| {
    let mut session = Session::new();
    session.set_text("journal.md", JOURNAL);
    session.set_text("rules/pages/own.md", page);
    let checked = session.check(NaiveDate::from_ymd_opt(2026, 4, 4).unwrap_or_default(), None);
    show::terminal::report(&checked.report, &checked.sources, &Style::plain());
});
