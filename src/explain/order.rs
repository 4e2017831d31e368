//! The order in which findings are said.
//!
//! Comes in: findings and the diary. Goes out: the same, most urgent first: by severity, then by the
//! latest day of the lines they rest on, then by place. It leaves none out.

use std::cmp::Reverse;

use super::Known;
use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::date::Days,
};

/// Orders findings, those folded under them as well.
pub fn urgent_first(known: &Known<'_>, findings: &mut [Diagnostic]) {
    for finding in findings.iter_mut() {
        urgent_first(known, &mut finding.folded);
    }
    findings.sort_by_cached_key(|d| {
        let at = d.primary.as_ref().map(|l| l.loc);
        let latest = latest(known, d);
        (
            d.severity,
            latest.is_none(),
            Reverse(latest),
            at,
            d.code.clone(),
            d.about.clone(),
            d.message.clone(),
        )
    });
}

/// The latest day of the lines a finding points at.
fn latest(known: &Known<'_>, d: &Diagnostic) -> Option<Days> {
    d.primary.iter().chain(&d.secondary).filter_map(|l| day_at(known, l.loc)).max_by_key(|d| d.last)
}

/// The day of the entry at a place; for a heading the day of the entry under it. Entries stand in the
/// order of files and lines.
fn day_at(known: &Known<'_>, loc: Loc) -> Option<Days> {
    let at = known.diary.entries.partition_point(|e| (e.loc.file, e.loc.span.end) < (loc.file, loc.span.end));
    known.diary.entries.get(at).filter(|e| e.loc.file == loc.file).and_then(|e| e.days)
}
