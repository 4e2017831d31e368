//! Weakening: a rule without one of its lines must change something an example shows.
//!
//! Comes in: a rule of a page with examples. Goes out: a located reason for each line that could be left
//! out unseen. A rule that cannot stand without a line needs it.

use super::{expect, failed, findings, played};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    model::page::{Example, Page},
    session::trial::Trial,
};

/// What one example shows: the page's own findings and actions, and which expectations hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Shown {
    own: Vec<String>,
    /// The lines its findings and actions point at first; what else they rest on would change with any line.
    at: Vec<Loc>,
    /// The cautions beside them.
    cautions: Vec<String>,
    held: Vec<bool>,
}

fn shown(trial: &mut Trial, page: &Page, example: &Example) -> Option<Shown> {
    let checked = played(trial, example).ok()?;
    let held = example.expected.iter().map(|line| {
        expect::read(line).and_then(|(_, e)| expect::holds(trial, &checked, &e)).unwrap_or(false)
    });
    let found: Vec<&Diagnostic> = findings(&checked).into_iter().filter(|d| d.code == page.code).collect();
    let asked = || checked.report.actions.iter().filter(|a| a.code == page.code);
    let found_at = found.iter().filter_map(|d| d.primary.as_ref().map(|l| l.loc));
    let mut at: Vec<Loc> = found_at.chain(asked().filter_map(|a| a.lines.first().copied())).collect();
    at.sort();
    let beside = found.iter().flat_map(|d| &d.remarks).filter(|r| r.kind == RemarkKind::Caution);
    let beside = beside.map(|r| r.text.clone());
    let mut cautions: Vec<String> = beside.chain(asked().flat_map(|a| a.cautions.clone())).collect();
    cautions.sort();
    Some(Shown { held: held.collect(), own: expect::own(&checked, page), at, cautions })
}

/// What each example of a page shows; `None` for one whose journal cannot be read.
pub(super) type Whole = Vec<Option<Shown>>;

/// What the examples of a page show with every line of every rule in place.
pub(super) fn whole(trial: &Trial, page: &Page) -> (Trial, Whole) {
    let trial = trial.narrowed(page);
    let whole = page.examples.iter().map(|example| shown(&mut trial.clone(), page, example)).collect();
    (trial, whole)
}

/// Tries rule `n` (from 0) without each of its lines.
pub(super) fn rule(trial: &Trial, page: &Page, n: usize, whole: &Whole) -> Vec<Diagnostic> {
    let Some(text) = page.rules.get(n) else { return Vec::new() };
    let number = u32::try_from(n + 1).unwrap_or(u32::MAX);
    let mut idle = Vec::new();
    for (line, passage) in text.lines.iter().enumerate().take(text.lines.len().saturating_sub(1)) {
        let Some(mut weaker) = trial.weakened(page, number, line) else { continue };
        let mut pairs = page.examples.iter().zip(whole);
        if !pairs.any(|(example, whole)| shown(&mut weaker, page, example) != *whole) {
            idle.push(
                failed(passage.loc, "Without this line every example of the page comes out the same.").remark(
                    RemarkKind::Note,
                    "Add an example that differs by it, most often a near miss under “Must stay silent”; or leave the line out.",
                ),
            );
        }
    }
    idle
}
