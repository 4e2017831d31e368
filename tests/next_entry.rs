//! The entry that is offered for an action does what the action waits for.

mod tree;

use std::fs;

use chrono::NaiveDate;
use haulm::session::{Checked, Session};
use tree::{files, root};

fn demonstration() -> Session {
    let mut session = Session::new();
    for path in files(&root().join("journals/brackenhythe"), ".md") {
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        session.set_text(&name, &fs::read_to_string(&path).expect("text"));
    }
    session
}

/// Keys of the open actions that ask for an entry, with that entry.
fn offers(checked: &Checked) -> Vec<(String, String)> {
    let open = checked.report.open_actions().filter(|a| a.since <= checked.today);
    open.filter_map(|a| Some((a.key.clone(), checked.entry_for(a)?))).collect()
}

#[test]
fn an_offered_entry_that_is_whole_closes_its_action() {
    let mut tried = 0;
    let mut still_open = Vec::new();
    for day in ["2025-05-18", "2026-06-03"] {
        let today: NaiveDate = day.parse().expect("a day");
        let session = demonstration();
        let checked = session.clone().check(today, Some(today));
        for (key, line) in offers(&checked) {
            println!("{line}    <- {key}");
            if line.contains('\u{2026}') {
                continue;
            }
            tried += 1;
            let mut session = session.clone();
            session.set_text("zz-today.md", &format!("## {today}\n{line}\n"));
            let after = session.check(today, Some(today));
            if after.report.open_actions().any(|a| a.key == key) {
                let said: Vec<_> = after
                    .report
                    .findings
                    .iter()
                    .filter(|f| {
                        f.primary
                            .as_ref()
                            .is_some_and(|l| &*after.sources.file(l.loc.file).path == "zz-today.md")
                    })
                    .map(|f| f.message.clone())
                    .collect();
                still_open.push(format!("{key}: {line} {said:?}"));
            }
        }
    }
    assert!(tried > 5, "only {tried} were whole");
    assert_eq!(still_open, Vec::<String>::new());
}
