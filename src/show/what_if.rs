//! What would change if an entry were written, as text.
//!
//! Comes in: a [`WhatIf`]. Goes out: text. Nothing is written to the journal, and the text says so.

use super::{
    layout::{Style, clean, pad, wrap},
    lines,
    paint::{Ink, paint},
};
use crate::{
    base::diagnostic::Severity,
    model::explanation::{Moved, WhatIf},
};

/// Columns of a chance.
const CHANCE: usize = 14;
/// How many findings are listed unless all are asked for.
const FINDINGS: usize = 5;

/// The answer to `why --if`.
pub fn what_if(answer: &WhatIf, style: &Style) -> String {
    let heading = format!("If “{}” were written on {}:", clean(&answer.entry), answer.day);
    let mut out = lines::heading(&heading, style);
    for moved in &answer.changes {
        out.push('\n');
        out.push_str(&one(moved, style));
    }
    if answer.changes.is_empty() {
        out.push_str(&lines::paragraph(2, "No chance would move.", style));
    } else if answer.unmoved > 0 {
        let n = super::layout::count(answer.unmoved, "other outbreak", "other outbreaks");
        out.push_str(&lines::paragraph(2, &format!("{n} would stay as it is."), style));
    }
    out.push_str(&findings("It would also say", &answer.said, style));
    out.push_str(&findings("It would no longer say", &answer.gone, style));
    out.push('\n');
    out.push_str(&lines::paragraph(0, "Nothing is written: the journal is as it was.", style));
    out
}

fn one(moved: &Moved, style: &Style) -> String {
    let mut out = lines::heading(&format!("Hurt since {}: {}.", moved.since, clean(&moved.places)), style);
    let told = style.columns().saturating_sub(2 + 2 * (CHANCE + 2)).max(12);
    let head = format!("  {}  {}  then", pad("", told), pad("now", CHANCE));
    out.push_str(&format!("{}\n", paint(&head, Ink::Quiet, style.colour)));
    for (suspect, now, then) in &moved.suspects {
        let chance = |p: &Option<(f64, String)>| {
            p.as_ref().map_or_else(|| "not suspected".to_owned(), |p| p.1.clone())
        };
        let mut rows = wrap(&lines::words(&clean(suspect), style), told, told).into_iter();
        let first = rows.next().unwrap_or_default();
        let line = format!("  {}  {}  {}", pad(&first, told), pad(&chance(now), CHANCE), chance(then));
        out.push_str(&format!("{}\n", line.trim_end()));
        for row in rows {
            out.push_str(&format!("  {row}\n"));
        }
    }
    out
}

fn findings(lead: &str, all: &[(Severity, std::sync::Arc<str>, String)], style: &Style) -> String {
    if all.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}", lines::heading(lead, style));
    let shown = if style.all { all.len() } else { all.len().min(FINDINGS) };
    for (severity, code, message) in all.iter().take(shown) {
        out.push_str(&lines::noted(&format!("  {}  ", pad(severity.word(), 5)), message, code, style));
    }
    if all.len() > shown {
        out.push_str(&lines::paragraph(
            2,
            &format!("and {} more (--all shows them)", all.len() - shown),
            style,
        ));
    }
    out
}
