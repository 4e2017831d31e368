//! The list of things to do, in date order, each with its reason and its caution.
//!
//! Comes in: a report. Goes out: text. Closed and quiet ones are shown only with `all`.

use std::{collections::BTreeSet, fmt::Write as _};

use chrono::NaiveDate;
use indexmap::IndexMap;

use super::{
    layout::{Style, columns, count, cut},
    lines,
    paint::{Ink, paint},
};
use crate::{
    base::{diagnostic::Severity, source::Sources},
    measure::date,
    model::{
        finding::{Action, ActionState},
        report::Report,
    },
};

/// How many days past its day an action is told in one line at the end, so that the next days stand first.
const LONG_OVERDUE: i64 = 60;

/// Everything to do, soonest first; what is long overdue at the end, one line each.
pub fn due(report: &Report, sources: &Sources, style: &Style) -> String {
    let open: Vec<&Action> = report.open_actions().collect();
    let (near, long): (Vec<_>, Vec<_>) = jobs(&open)
        .into_iter()
        .partition(|job| style.all || (report.today - job[0].by).num_days() <= LONG_OVERDUE);
    let mut out = String::new();
    let mut heading = String::new();
    let mut last = "";
    for job in &near {
        let when = when(job[0].by, report.today);
        if when != heading {
            if !heading.is_empty() {
                out.push('\n');
            }
            let ink = if job[0].by < report.today { Ink::Severity(Severity::Warn) } else { Ink::Strong };
            let _ = writeln!(out, "{}", paint(&when, ink, style.colour));
            heading = when;
        }
        out.push_str(&one(job, last, report.today, sources, style));
        last = &job[0].reason;
    }
    if !long.is_empty() {
        if !near.is_empty() {
            out.push('\n');
        }
        out.push_str(&lines::heading("Overdue by more than two months", style));
        for job in long {
            let words = format!("{} (by {})", job[0].words, date::long(job[0].by));
            out.push_str(&lines::noted("  ", &words, &job[0].code, style));
        }
    }
    if open.is_empty() {
        out.push_str("Nothing is asked for.\n");
    }
    if style.all {
        let closed = report.actions.iter().filter(|a| a.state != ActionState::Open).collect::<Vec<_>>();
        if !closed.is_empty() {
            out.push('\n');
            out.push_str(&lines::heading("Closed", style));
            for action in closed {
                let words = format!("{} ({})", action.words, state(&action.state));
                out.push_str(&lines::noted("  ", &words, &action.code, style));
            }
        }
        if !report.quiet_actions.is_empty() {
            out.push('\n');
            out.push_str(&lines::heading("Not asked for, because allowed", style));
            for action in &report.quiet_actions {
                out.push_str(&lines::noted("  ", &action.words, &action.code, style));
            }
        }
    } else {
        let closed = report.actions.len() - open.len();
        let mut more = Vec::new();
        if closed > 0 {
            more.push(format!("{closed} closed"));
        }
        if !report.quiet_actions.is_empty() {
            more.push(format!("{} not asked for, because allowed", report.quiet_actions.len()));
        }
        if !more.is_empty() {
            out.push('\n');
            out.push_str(&lines::paragraph(0, &format!("{} (--all shows them)", more.join(", ")), style));
        }
    }
    out
}

/// The same job asked for by several pages is one job, due when the first of them says.
fn jobs<'a>(open: &[&'a Action]) -> Vec<Vec<&'a Action>> {
    let mut jobs: IndexMap<&str, Vec<&Action>> = IndexMap::new();
    for action in open {
        jobs.entry(&action.words).or_default().push(action);
    }
    jobs.into_values().collect()
}

/// One job with what stands beside it; a reason that was `last` said is not said again.
fn one(job: &[&Action], last: &str, today: NaiveDate, sources: &Sources, style: &Style) -> String {
    let [action, others @ ..] = job else { return String::new() };
    let mut codes: Vec<&str> = job.iter().map(|a| &*a.code).collect();
    codes.dedup();
    let mut out = lines::noted("  ", &action.words, &codes.join(", "), style);
    let mut reasons: Vec<&str> = vec![last];
    for reason in job.iter().map(|a| a.reason.as_str()).filter(|r| !r.is_empty()) {
        let said = if reason == last && others.is_empty() { "as above" } else { reason };
        if said == "as above" || !reasons.contains(&reason) {
            out.push_str(&lines::lead("    why      ", Ink::Quiet, said, style));
        }
        reasons.push(reason);
    }
    let cautions: BTreeSet<&String> = job.iter().flat_map(|a| &a.cautions).collect();
    for caution in cautions {
        out.push_str(&lines::lead("    caution  ", Ink::Caution, caution, style));
    }
    if let Some(loc) = action.lines.first() {
        let more = match action.lines.len() - 1 {
            0 => String::new(),
            n => format!(" and {}", count(n, "more line", "more lines")),
        };
        let from =
            if action.since > today { format!(", from {}", date::long(action.since)) } else { String::new() };
        let line = sources.slice(*loc).split_whitespace().collect::<Vec<_>>().join(" ");
        let after = format!("{more}{from}");
        let place = sources.place(*loc);
        let room = style.columns().saturating_sub(15 + columns(&place) + columns(&after)).max(16);
        let text = format!("{place}: {}{after}", cut(&line, room, style.unicode));
        out.push_str(&lines::lead("    see      ", Ink::Quiet, &text, style));
    }
    if let Some(write) = &action.write {
        out.push_str(&lines::lead("    write    ", Ink::Lead, write, style));
    }
    out
}

/// The heading an action stands under: `Overdue, by 20 March 2026`, `Today`, `Tuesday 24 March 2026`.
fn when(by: NaiveDate, today: NaiveDate) -> String {
    let day = format!("{} {}", date::weekday_name(by), date::long(by));
    match by.signed_duration_since(today).num_days() {
        ..0 => {
            let late = today.signed_duration_since(by).num_days();
            format!("{day}: overdue by {}", count(usize::try_from(late).unwrap_or(0), "day", "days"))
        }
        0 => format!("{day}: today"),
        1 => format!("{day}: tomorrow"),
        n => format!("{day}: in {n} days"),
    }
}

fn state(state: &ActionState) -> String {
    match state {
        ActionState::Open => "open".to_owned(),
        ActionState::Done(day) => format!("done on {}", date::long(*day)),
        ActionState::Skipped(day) => format!("skipped on {}", date::long(*day)),
    }
}
