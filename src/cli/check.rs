//! `check`: a journal read once.
//!
//! Comes in: where it is and how to answer. Goes out: the report on standard output, and the exit status.

use std::path::Path;

use chrono::{Local, NaiveDate};

use super::{
    args::{Common, Format, Where},
    out::{End, Failure, say, style},
};
use crate::{
    base::{diagnostic::Severity, source::SourceKind},
    model::report::Report,
    read::Farm,
    session::{Checked, Session},
    show,
};

/// Checks and reports.
///
/// # Errors
/// When the report cannot be written.
pub fn run(common: &Common, at: &Where) -> Result<End, Failure> {
    let (checked, whole) = once(common, Farm::at(&at.path));
    say(&report(common, &checked, &at.path))?;
    Ok(if whole { verdict(common, &checked.report) } else { End::Failed })
}

/// The rulebook as it stands at `path`, without its journals: what `words` and `rules` are about.
pub fn rulebook(common: &Common, path: &Path) -> (Checked, bool) {
    once(common, Farm::pages_at(path))
}

/// A check of what lies at `path`, and whether all of it could be read. What was not is told on standard error.
pub fn check(common: &Common, path: &Path) -> (Checked, bool) {
    let (checked, whole) = once(common, Farm::at(path));
    for d in checked.report.findings.iter().filter(|d| !whole && &*d.code == "unread-file") {
        eprintln!("haulm: {}", d.message);
    }
    (checked, whole)
}

fn once(common: &Common, mut farm: Farm) -> (Checked, bool) {
    let mut session = Session::new();
    session.set_reading(farm.read());
    let whole = session.left_out().is_empty();
    let checked = session.check(today(common), common.as_of);
    // The process ends with its answer: giving a rulebook back piece by piece takes longer than a report.
    std::mem::forget(session);
    (checked, whole)
}

/// The day to read the journal on.
pub fn today(common: &Common) -> NaiveDate {
    held_day(common).unwrap_or_else(|| Local::now().date_naive())
}

/// The day that is asked for, whatever day it is: what was known on a day is read as on that day.
pub fn held_day(common: &Common) -> Option<NaiveDate> {
    common.today.or(common.as_of)
}

/// The report as it is asked for.
pub fn report(common: &Common, checked: &Checked, path: &Path) -> String {
    let style = style(common).of(path);
    match common.format {
        Format::Human => {
            let report = show::terminal::report(&checked.report, &checked.sources, &style);
            let nothing = nothing_read(checked);
            match (nothing.is_empty(), checked.report.findings.is_empty()) {
                (true, _) => report,
                // "Nothing to report" above it would sound like good news.
                (false, true) => nothing.to_owned(),
                (false, false) => format!("{report}\n{nothing}"),
            }
        }
        Format::Short => show::short::report(&checked.report, &checked.sources, &style),
        Format::Json => show::json::report(&checked.report, &checked.sources),
    }
}

/// Whether anything counts.
pub fn verdict(common: &Common, report: &Report) -> End {
    let counts = report.findings.iter().any(|f| common.threshold.counts(f.severity));
    if counts { End::Found } else { End::Quiet }
}

/// Why there was nothing to read. Nothing, where a finding says so already: a file that could not be read,
/// or entries that could not be understood.
fn nothing_read(checked: &Checked) -> &'static str {
    let of = |kind| checked.sources.iter().filter(move |(_, f)| f.kind == kind && !f.built_in);
    let journals = of(SourceKind::Journal).count();
    let told = checked.report.findings.iter().any(|d| match &d.primary {
        None => d.severity <= Severity::Error,
        Some(label) => {
            let kind = checked.sources.file(label.loc.file).kind;
            d.severity <= Severity::Error && kind == SourceKind::Journal
        }
    });
    if told || !checked.diary.entries.is_empty() {
        ""
    } else if journals == 0 && of(SourceKind::RulePage).count() == 0 {
        "No journal was read: there is no Markdown file (*.md) here. `haulm new DIR` starts one.\n"
    } else if journals == 0 {
        "No journal was read: there is no Markdown file (*.md) here but rule pages.\n"
    } else {
        "No entry was read: entries are list items under a heading such as `## 2026-03-14`.\n\
         `haulm words` lists the verbs they begin with.\n"
    }
}
