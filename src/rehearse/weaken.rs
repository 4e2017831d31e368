//! Weakening: a rule without one of its lines must change something an example shows.
//!
//! Comes in: a rule of a page with examples, or of a page that answers questions, which is held against the
//! examples of the causes too. Goes out: a located reason for each line that could be left out unseen. A rule
//! that cannot stand without a line needs it.

use super::{expect, failed, findings, played, recipe};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    measure::value::Value,
    model::{
        page::{Example, Page, PageKind},
        sentence::SentenceId,
    },
    session::trial::Trial,
};

/// What one example shows: the page's own findings and actions, and which expectations hold.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Shown {
    own: Vec<String>,
    /// The lines its findings and actions point at first; what else they rest on would change with any line.
    at: Vec<Loc>,
    /// The cautions beside them.
    cautions: Vec<String>,
    held: Vec<bool>,
    /// What is handed on to reckoners.
    answers: Vec<(SentenceId, Vec<Value>)>,
}

/// What a page's rules are held against: its own examples, and those it borrows for what it hands on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pool<'p> {
    pub(super) page: &'p Page,
    pub(super) borrowed: &'p [Example],
    pub(super) handed_on: &'p [SentenceId],
}

impl<'p> Pool<'p> {
    /// Each example, and whether it is the page's own.
    fn examples(self) -> impl Iterator<Item = (&'p Example, bool)> {
        self.page.examples.iter().map(|e| (e, true)).chain(self.borrowed.iter().map(|e| (e, false)))
    }
}

fn shown(trial: &mut Trial, pool: Pool<'_>, example: &Example, own: bool) -> Option<Shown> {
    if pool.page.kind == PageKind::Recipe {
        let told = recipe::told(trial, example).ok()?;
        return Some(Shown { own: recipe::lines(&told), ..Shown::default() });
    }
    let checked = played(trial, example).ok()?;
    let page = pool.page;
    // What a borrowed example expects is its own page's matter.
    let held = example.expected.iter().filter(|_| own).map(|line| {
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
    let held = held.collect();
    let answers = trial.concluded(&checked, pool.handed_on);
    Some(Shown { held, own: expect::own(&checked, page), at, cautions, answers })
}

/// What each example of a page shows; `None` for one whose journal cannot be read.
pub(super) type Whole = Vec<Option<Shown>>;

/// What the examples of a page show with every line of every rule in place.
pub(super) fn whole(trial: &Trial, pool: Pool<'_>) -> (Trial, Whole) {
    let trial = trial.narrowed(pool.page);
    let whole = pool.examples().map(|(e, own)| shown(&mut trial.clone(), pool, e, own)).collect();
    (trial, whole)
}

/// Tries rule `n` (from 0) without each of its lines.
pub(super) fn rule(trial: &Trial, pool: Pool<'_>, n: usize, whole: &Whole) -> Vec<Diagnostic> {
    let page = pool.page;
    let Some(text) = page.rules.get(n) else { return Vec::new() };
    let number = u32::try_from(n + 1).unwrap_or(u32::MAX);
    let mut idle = Vec::new();
    for (line, passage) in text.lines.iter().enumerate().take(text.lines.len().saturating_sub(1)) {
        let Some(mut weaker) = trial.weakened(page, number, line) else { continue };
        let mut pairs = pool.examples().zip(whole);
        if !pairs.any(|((example, own), whole)| shown(&mut weaker, pool, example, own) != *whole) {
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
