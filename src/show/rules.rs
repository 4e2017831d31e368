//! Rule pages as text: the list of codes, and one page to read.
//!
//! Comes in: [`PageNote`]s. Goes out: text. Rules and examples stay on the page; only the prose is shown.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, count, pad, wrap},
    lines,
    paint::{Ink, paint},
};
use crate::{base::diagnostic::Severity, model::explanation::PageNote};

/// The list of codes, most pressing first, each with what it notices.
pub fn list(notes: &[PageNote], style: &Style) -> String {
    let mut out = String::new();
    let widest = notes.iter().map(|n| columns(&n.code)).max().unwrap_or(0).min(24);
    let own = notes.iter().filter(|n| !n.built_in).count();
    for note in notes {
        let severity = note.severity.map_or("", Severity::word);
        let ink = note.severity.map_or(Ink::Quiet, Ink::Severity);
        let lead = format!("{} {}  ", pad(severity, 6), pad(&note.code, widest));
        let mut notices = first_sentence(note.section("What it notices").unwrap_or_default());
        if !note.built_in {
            let _ = write!(notices, " ({})", note.path);
        }
        let rest = lead.get(severity.len()..).unwrap_or_default();
        let severity = paint(severity, ink, style.colour);
        let room = style.columns().saturating_sub(columns(&lead));
        if room < 20 {
            // A code too long to stand beside its words stands above them.
            let _ = writeln!(out, "{severity}{}", rest.trim_end());
            out.push_str(&lines::paragraph(7, &notices, style));
            continue;
        }
        for (i, line) in wrap(&lines::words(&notices, style), room, room).iter().enumerate() {
            if i == 0 {
                let _ = writeln!(out, "{}", format!("{severity}{rest}{line}").trim_end());
            } else {
                let _ = writeln!(out, "{}{line}", " ".repeat(columns(&lead)));
            }
        }
    }
    out.push('\n');
    let mut total = count(notes.len(), "page with a code", "pages with a code");
    if own > 0 {
        let _ = write!(total, ", {own} of them the farm's own");
    }
    let _ = write!(total, " → {}", style.command("rules show CODE"));
    out.push_str(&lines::paragraph(0, &total, style));
    out
}

/// One page, its prose in full.
pub fn show(note: &PageNote, style: &Style) -> String {
    let severity = note.severity.map_or("", Severity::word);
    let mut out = String::new();
    let ink = note.severity.map_or(Ink::Strong, Ink::Severity);
    let _ = writeln!(
        out,
        "{}{}",
        paint(&pad(severity, 7), ink, style.colour),
        paint(&note.code, Ink::Strong, style.colour)
    );
    let origin = if note.built_in { "comes with the program" } else { "the farm's own" };
    out.push_str(&lines::paragraph(7, &format!("{} ({origin})", note.path), style));
    for (heading, prose) in &note.sections {
        if prose.is_empty() {
            continue;
        }
        out.push('\n');
        out.push_str(&lines::heading(heading, style));
        if heading.starts_with("Must ") {
            // Only the names of the examples are prose.
            for name in prose.lines().map(str::trim).filter(|l| !l.is_empty()) {
                out.push_str(&lines::lead("  - ", Ink::Quiet, name.trim_start_matches('#').trim(), style));
            }
        } else {
            out.push_str(&lines::prose(2, prose, style));
        }
    }
    out.push('\n');
    let (rules, firing, silent) = note.counts;
    let (fire, silence) = match note.section("Must work") {
        Some(_) => ("must work", "must be refused"),
        None => ("must fire", "must stay silent"),
    };
    let mut counts = format!(
        "{}, {} that {fire}, {} that {silence}",
        count(rules, "rule", "rules"),
        count(firing, "example", "examples"),
        count(silent, "example", "examples")
    );
    if !note.folds.is_empty() {
        let _ = write!(counts, " · folds {}", note.folds.join(", "));
    }
    out.push_str(&lines::paragraph(0, &counts, style));
    out
}

/// The first sentence of some prose, in one line.
fn first_sentence(prose: &str) -> String {
    let line = prose.split_whitespace().collect::<Vec<_>>().join(" ");
    let end = line.match_indices(". ").map(|(i, _)| i + 1).next().unwrap_or(line.len());
    line[..end].to_owned()
}
