//! The list of things to do, in date order, each with its reason and its caution.
//!
//! Comes in: a report. Goes out: text. Closed and quiet ones are shown only with `all`.

use std::fmt::Write as _;

use chrono::NaiveDate;

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

/// Everything to do, soonest first.
pub fn due(report: &Report, sources: &Sources, style: &Style) -> String {
    let open: Vec<&Action> = report.open_actions().collect();
    let mut out = String::new();
    let mut heading = String::new();
    let mut last = "";
    for action in &open {
        let when = when(action.by, report.today);
        if when != heading {
            if !heading.is_empty() {
                out.push('\n');
            }
            let ink = if action.by < report.today { Ink::Severity(Severity::Warn) } else { Ink::Strong };
            let _ = writeln!(out, "{}", paint(&when, ink, style.colour));
            heading = when;
        }
        out.push_str(&one(action, last, report.today, sources, style));
        last = &action.reason;
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

/// One action with what stands beside it; a reason that was `last` said is not said again.
fn one(action: &Action, last: &str, today: NaiveDate, sources: &Sources, style: &Style) -> String {
    let mut out = lines::noted("  ", &action.words, &action.code, style);
    if !action.reason.is_empty() {
        let reason = if action.reason == last { "as above" } else { &action.reason };
        out.push_str(&lines::lead("    why      ", Ink::Quiet, reason, style));
    }
    for caution in &action.cautions {
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
