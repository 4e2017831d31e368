//! Tidying: what it changes, and that it changes nothing else.

mod cases;
mod laws;

use chrono::NaiveDate;
use haulm::{
    model::change::applied,
    session::{Checked, Session},
};

/// A check of one text by the rules that ship.
fn check(text: &str) -> Checked {
    thread_local! {
        // The rulebook is compiled once.
        static READY: Session = {
            let mut session = Session::new();
            session.check(day(), None);
            session
        };
    }
    let mut session = READY.with(Clone::clone);
    session.set_text("a.md", text);
    session.check(day(), None)
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 7, 1).expect("a day")
}

/// The text tidied.
fn tidy(checked: &Checked) -> String {
    let file = checked.sources.find("a.md").expect("the text");
    applied(&checked.sources.file(file).text, &checked.tidied(file))
}
