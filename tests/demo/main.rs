//! The demonstration diary: what is said of it on four days is blessed.

use std::path::Path;

use chrono::NaiveDate;
use haulm::{
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
