//! What is read between the lines: how long ago a day is, when what a line asks for is due, what an amount
//! comes to, and how much of a lot is in a bed.
//!
//! Comes in: a check and a range of a file. Goes out: short hints at the ends of lines.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use lsp_types::Range;
use serde_json::{Value, json};

use super::{amounts, round::Round};
use crate::{
    base::{
        name::counted,
        span::{FileId, Loc, Span},
    },
    model::{entry::Standing, journal::When},
};

/// The hints of a range.
pub fn hints(round: &Round, file: FileId, range: Range) -> Value {
    if !round.is_journal(file) {
        return json!([]);
    }
    let today = round.checked.today;
    let mut out: BTreeSet<(u32, String)> = BTreeSet::new();
    for item in round.checked.cut(file).items {
        if let (Some(heading), When::On(days)) = (item.heading, item.when) {
            out.insert((end_of_line(round, heading), since(days.first, days.last, today)));
        }
    }
    for action in round.checked.report.open_actions() {
        if let Some(line) = action.lines.first().filter(|l| l.file == file) {
            let text = format!("{}: {}", due(action.by, today), action.words);
            out.insert((end_of_line(round, *line), text));
        }
    }
    let shares = round.shares();
    for entry in
        round.checked.diary.entries.iter().filter(|e| e.loc.file == file && e.standing == Standing::Done)
    {
        out.extend(amounts::converted(round, entry));
        out.extend(amounts::shares(entry, &shares).map(|text| (end_of_line(round, entry.loc), text)));
    }
    let hints = out.into_iter().filter_map(|(at, label)| {
        let position = round.range(Loc::new(file, Span { start: at, end: at })).start;
        (range.start.line <= position.line && position.line <= range.end.line)
            .then(|| json!({ "position": position, "label": label, "paddingLeft": true }))
    });
    json!(hints.collect::<Vec<_>>())
}

/// All that the hints depend on besides a file's own text.
pub fn what_they_say(round: &Round) -> Vec<String> {
    let today = round.checked.today.to_string();
    let actions = round.checked.report.open_actions().map(|a| format!("{} {}", a.by, a.words));
    let shares = round.shares();
    let shares = shares.iter().map(|((source, place), text)| format!("{source:?} {place:?} {text}"));
    std::iter::once(today).chain(actions).chain(shares).collect()
}

/// The end of the line a place begins on.
fn end_of_line(round: &Round, loc: Loc) -> u32 {
    let lines = round.lines(loc.file);
    let text = round.text(loc.file);
    let line = lines.position(text, loc.span.start as usize, round.encoding).line as usize;
    u32::try_from(lines.line(text, line).end).unwrap_or(u32::MAX)
}

fn since(first: NaiveDate, last: NaiveDate, today: NaiveDate) -> String {
    let ago = (today - last).num_days();
    match ago {
        0 => "today".to_owned(),
        1 => "yesterday".to_owned(),
        2.. => format!("{ago} days ago"),
        _ if first <= today => "now".to_owned(),
        _ => ahead((first - today).num_days()),
    }
}

fn ahead(days: i64) -> String {
    if days == 1 { "tomorrow".to_owned() } else { format!("in {}", counted(&days.to_string(), "day")) }
}

fn due(by: NaiveDate, today: NaiveDate) -> String {
    match (by - today).num_days() {
        0 => "due today".to_owned(),
        days @ 1.. => format!("due {}", ahead(days)),
        days => format!("due {} ago", counted(&(-days).to_string(), "day")),
    }
}
