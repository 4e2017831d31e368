//! A report as JSON, for other programs.
//!
//! Comes in: a report. Goes out: one JSON object, the same bytes for the same report. Schema, version 1
//! (new keys may appear within a version; a key that changes its meaning makes a new one):
//!
//! ```text
//! { "format": "haulm-report", "version": 1, "today": "2026-04-04",
//!   "counts":   { "alarm": n, "error": n, "warn": n, "hint": n, "folded": n, "allowed": n, "open_actions": n },
//!   "findings": [ FINDING ],                  most urgent first
//!   "allowed":  [ { "by": words, "finding": FINDING } ],
//!   "actions":  [ ACTION ],                   by due day, open and closed
//!   "quiet_actions": [ ACTION ] }             of allowed findings
//!
//! FINDING = { "code", "severity", "message", "about": [ words ],
//!             "at": PLACE | null,             the line to act on
//!             "also": [ PLACE ],              the other lines, the most telling first
//!             "remarks": [ { "kind": "next" | "caution" | "write" | "why" | "note", "text" } ],
//!             "fixes": [ { "title", "text", "at": PLACE } ],   replace the place by the text
//!             "folded": [ FINDING ] }         what this finding explains
//! ACTION  = { "code", "words", "key", "instance", "since", "by", "again": day | null,
//!             "severity": severity | null, "state": "open" | "done" | "skipped",
//!             "closed": day | null, "reason", "cautions": [ words ], "write": words | null,
//!             "about": [ words ], "lines": [ PLACE ] }         the line to act on first
//! PLACE   = { "file", "start": POINT, "end": POINT, "label": words }
//! POINT   = { "line", "column", "offset" }
//! ```
//!
//! Days are ISO 8601. Lines and columns count from 1, columns in Unicode scalar values; offsets count
//! bytes of UTF-8 from 0. The end of a place is the point just after it.

use serde_json::{Value, json};

use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        source::Sources,
        span::Loc,
    },
    model::{
        finding::{Action, ActionState},
        report::Report,
    },
};

/// The version of the schema.
pub const VERSION: u32 = 1;

/// A report as indented JSON with a line break at its end.
pub fn report(report: &Report, sources: &Sources) -> String {
    let value = value(report, sources);
    let mut text = serde_json::to_string_pretty(&value).unwrap_or_else(|_| "{}".to_owned());
    text.push('\n');
    text
}

/// A report as a JSON value.
pub fn value(report: &Report, sources: &Sources) -> Value {
    let finding = |d: &Diagnostic| finding(d, sources);
    let action = |a: &Action| action(a, sources);
    json!({
        "format": "haulm-report",
        "version": VERSION,
        "today": report.today.to_string(),
        "counts": {
            "alarm": report.count(Severity::Alarm),
            "error": report.count(Severity::Error),
            "warn": report.count(Severity::Warn),
            "hint": report.count(Severity::Hint),
            "folded": report.folded(),
            "allowed": report.allowed.len(),
            "open_actions": report.open_actions().count(),
        },
        "findings": report.findings.iter().map(finding).collect::<Vec<_>>(),
        "allowed": report.allowed.iter()
            .map(|a| json!({ "by": a.by, "finding": finding(&a.finding) })).collect::<Vec<_>>(),
        "actions": report.actions.iter().map(action).collect::<Vec<_>>(),
        "quiet_actions": report.quiet_actions.iter().map(action).collect::<Vec<_>>(),
    })
}

/// One diagnostic as a JSON value.
pub fn finding(d: &Diagnostic, sources: &Sources) -> Value {
    let labelled = |l: &crate::base::diagnostic::Label| place(l.loc, &l.text, sources);
    json!({
        "code": &*d.code,
        "severity": d.severity.word(),
        "message": d.message,
        "about": d.about,
        "at": d.primary.as_ref().map(labelled),
        "also": d.secondary.iter().map(labelled).collect::<Vec<_>>(),
        "remarks": d.remarks.iter()
            .map(|r| json!({ "kind": r.kind, "text": r.text })).collect::<Vec<_>>(),
        "fixes": d.fixes.iter()
            .map(|f| json!({ "title": f.title, "text": f.text, "at": place(f.loc, "", sources) }))
            .collect::<Vec<_>>(),
        "folded": d.folded.iter().map(|f| finding(f, sources)).collect::<Vec<_>>(),
    })
}

/// One action as a JSON value.
pub fn action(a: &Action, sources: &Sources) -> Value {
    let (state, closed) = match a.state {
        ActionState::Open => ("open", None),
        ActionState::Done(day) => ("done", Some(day)),
        ActionState::Skipped(day) => ("skipped", Some(day)),
    };
    json!({
        "code": &*a.code,
        "words": a.words,
        "key": a.key,
        "instance": a.instance,
        "since": a.since.to_string(),
        "by": a.by.to_string(),
        "again": a.again.map(|d| d.to_string()),
        "severity": a.severity.map(Severity::word),
        "state": state,
        "closed": closed.map(|d| d.to_string()),
        "reason": a.reason,
        "cautions": a.cautions,
        "write": a.write,
        "about": a.about,
        "lines": a.lines.iter().map(|l| place(*l, "", sources)).collect::<Vec<_>>(),
    })
}

/// A place as a JSON value, with what is said of it.
pub fn place(loc: Loc, label: &str, sources: &Sources) -> Value {
    let file = sources.file(loc.file);
    let point = |offset: u32| {
        let offset = (offset as usize).min(file.text.len());
        let (line, column) = file.line_column(offset);
        json!({ "line": line, "column": column, "offset": offset })
    };
    json!({
        "file": &*file.path,
        "start": point(loc.span.start),
        "end": point(loc.span.end.max(loc.span.start)),
        "label": label,
    })
}
