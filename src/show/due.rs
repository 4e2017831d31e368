//! The list of things to do: today's by how pressing they are, then this week's and later ones by day.
//!
//! Comes in: a report. Goes out: text. A caution is said in full where it first stands. Closed and quiet ones,
//! and the reasons for what is not near, are shown only with `all`.

use std::{collections::BTreeSet, fmt::Write as _};

use chrono::{Days, NaiveDate};

use super::{
    layout::{Style, columns, count, cut},
    lines,
    paint::{Ink, paint},
};
use crate::{
    base::{diagnostic::Severity, source::Sources},
    measure::date,
    model::{
        finding::{ActionState, Job, Matter, When},
        report::Report,
    },
};

/// Columns of the word that says how pressing a job is, with the space before and after.
const WORD: usize = 9;

/// How many reasons are told of jobs done together.
const REASONS: usize = 3;

/// Everything to do: what is due or overdue, the coming week, later, and last what is long overdue.
pub fn due(report: &Report, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let mut cautions = BTreeSet::new();
    let mut when = None;
    for matter in &report.matters {
        if when != Some(matter.when) {
            if when.is_some() {
                out.push('\n');
            }
            when = Some(matter.when);
            out.push_str(&lines::heading(&heading(matter.when, report.today), style));
        }
        out.push_str(&jobs(matter, report, sources, style));
        out.push_str(&beside(matter, &mut cautions, sources, style));
    }
    if report.matters.is_empty() {
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
    } else if let Some(more) = more(report) {
        out.push('\n');
        out.push_str(&lines::paragraph(0, &more, style));
    }
    if !report.matters.is_empty() {
        out.push_str(&lines::keys(style));
    }
    out
}

fn heading(when: When, today: NaiveDate) -> String {
    let day = |day: NaiveDate| format!("{} {}", date::weekday_name(day), date::long(day));
    match when {
        When::Today => format!("By today, {}", day(today)),
        When::Week => format!("By {}", day(today + Days::new(7))),
        When::Later => "Later".to_owned(),
        When::Old => "Overdue by more than two months".to_owned(),
    }
}

/// What is left out without `all`.
fn more(report: &Report) -> Option<String> {
    let closed = report.actions.iter().filter(|a| a.state != ActionState::Open).count();
    let mut more = Vec::new();
    if closed > 0 {
        more.push(format!("{closed} closed"));
    }
    if !report.quiet_actions.is_empty() {
        more.push(format!("{} not asked for because allowed", report.quiet_actions.len()));
    }
    if report.matters.iter().any(|m| !near(m.when)) {
        more.push("the reasons of later ones".to_owned());
    }
    (!more.is_empty()).then(|| format!("Not shown: {} (--all shows them)", more.join(", ")))
}

fn near(when: When) -> bool {
    matches!(when, When::Today | When::Week)
}

/// The jobs of a matter, one below the other, each with its day, the first with the pages that ask; a plan, which no
/// page asks for, with its line.
fn jobs(matter: &Matter, report: &Report, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let codes = matter.codes.iter().map(|c| &**c).collect::<Vec<_>>().join(", ");
    let line = |job: &Job| {
        let lines = job.actions.iter().filter_map(|n| report.actions.get(*n)).flat_map(|a| &a.lines);
        lines.map(|loc| sources.place(*loc)).next().unwrap_or_default()
    };
    for (n, job) in matter.jobs.iter().enumerate() {
        let words = format!("{} ({})", job.words, day(job, matter.when, report.today));
        let word = if n == 0 { word(matter.severity) } else { "" };
        let note = match matter.severity {
            None => line(job),
            Some(_) if n == 0 => codes.clone(),
            Some(_) => String::new(),
        };
        let lead = format!("  {word:0$}", WORD - 2);
        let text = lines::noted(&lead, &words, &note, style);
        let ink = matter.severity.map_or(Ink::Strong, Ink::Severity);
        out.push_str(&text.replacen(word, &paint(word, ink, style.colour && n == 0), 1));
    }
    out
}

fn word(severity: Option<Severity>) -> &'static str {
    severity.map_or("plan", Severity::word)
}

/// When a job is due: `today`, `by 5 April`, `by Friday 5 June`, `by 11 July, from 13 June`.
fn day(job: &Job, when: When, today: NaiveDate) -> String {
    let short = |day| date::short(day, today);
    let by = match (when, (job.by - today).num_days()) {
        (_, 0) => "today".to_owned(),
        (_, 1) => "tomorrow".to_owned(),
        (When::Week, _) => format!("{} {}", date::weekday_name(job.by), short(job.by)),
        _ => short(job.by),
    };
    let mut out = match by.as_str() {
        "today" | "tomorrow" => by,
        _ if job.plan => format!("planned for {by}"),
        _ if job.place > job.by => format!("first by {by}"),
        _ => format!("by {by}"),
    };
    if job.place > job.by && job.actions.len() == 1 {
        let _ = write!(out, ", again by {}", short(job.place));
    }
    if job.since > today {
        let _ = write!(out, ", from {}", short(job.since));
    }
    out
}

/// What stands beside the jobs of a matter: why, what can hurt, where it is written, and what to write.
fn beside(matter: &Matter, said: &mut BTreeSet<String>, sources: &Sources, style: &Style) -> String {
    let mut out = String::new();
    let whole = style.all || near(matter.when);
    if whole {
        let left = if style.all { 0 } else { matter.reasons.len().saturating_sub(REASONS) };
        for reason in matter.reasons.iter().take(matter.reasons.len() - left) {
            out.push_str(&lines::lead("    why      ", Ink::Quiet, reason, style));
        }
        if left > 0 {
            let code = matter.codes.first().map_or("", |c| &**c);
            let words = format!("and {left} more: {}", style.command(&format!("why {code}")));
            out.push_str(&lines::lead("    why      ", Ink::Quiet, &words, style));
        }
        for reason in matter.also.iter().filter(|_| style.all) {
            out.push_str(&lines::lead("    also     ", Ink::Quiet, reason, style));
        }
    }
    let fresh: Vec<&String> = matter.cautions.iter().filter(|c| !said.contains(*c)).collect();
    if fresh.len() < matter.cautions.len() {
        out.push_str(&lines::lead("    caution  ", Ink::Caution, "as above", style));
    }
    for caution in fresh {
        out.push_str(&lines::lead("    caution  ", Ink::Caution, caution, style));
        said.insert(caution.clone());
    }
    if whole {
        if matter.severity.is_some() {
            out.push_str(&seen(matter, sources, style));
        }
        for write in matter.jobs.iter().filter_map(|job| job.write.as_ref()) {
            out.push_str(&lines::lead("    write    ", Ink::Lead, write, style));
        }
    }
    out
}

/// The line to act on, and how many more there are.
fn seen(matter: &Matter, sources: &Sources, style: &Style) -> String {
    let Some(loc) = matter.lines.first() else { return String::new() };
    let more = match matter.lines.len() - 1 {
        0 => String::new(),
        n => format!(" and {}", count(n, "more line", "more lines")),
    };
    let place = sources.place(*loc);
    let line = sources.slice(*loc).split_whitespace().collect::<Vec<_>>().join(" ");
    let room = style.columns().saturating_sub(15 + columns(&place) + columns(&more)).max(16);
    let text = format!("{place}: {}{more}", cut(&line, room, style.unicode));
    lines::lead("    see      ", Ink::Quiet, &text, style)
}

fn state(state: &ActionState) -> String {
    match state {
        ActionState::Open => "open".to_owned(),
        ActionState::Done(day) => format!("done on {}", date::long(*day)),
        ActionState::Skipped(day) => format!("skipped on {}", date::long(*day)),
    }
}
