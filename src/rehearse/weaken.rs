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
    session::trial::{Played, Trial},
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

/// What an example shows, whether it is the page's `own` or borrowed.
fn shown(played: &Played, pool: Pool<'_>, example: &Example, own: bool) -> Shown {
    let (page, checked) = (pool.page, played.checked());
    // What a borrowed example expects is its own page's matter.
    let held = example.expected.iter().filter(|_| own).map(|line| {
        expect::read(line).and_then(|(_, e)| expect::holds(played.sentences(), checked, &e)).unwrap_or(false)
    });
    let found: Vec<&Diagnostic> = findings(checked).into_iter().filter(|d| d.code == page.code).collect();
    let asked = || checked.report.actions.iter().filter(|a| a.code == page.code);
    let found_at = found.iter().filter_map(|d| d.primary.as_ref().map(|l| l.loc));
    let mut at: Vec<Loc> = found_at.chain(asked().filter_map(|a| a.lines.first().copied())).collect();
    at.sort();
    let beside = found.iter().flat_map(|d| &d.remarks).filter(|r| r.kind == RemarkKind::Caution);
    let beside = beside.map(|r| r.text.clone());
    let mut cautions: Vec<String> = beside.chain(asked().flat_map(|a| a.cautions.clone())).collect();
    cautions.sort();
    let (held, answers) = (held.collect(), played.concluded(pool.handed_on));
    Shown { held, own: expect::own(checked, page), at, cautions, answers }
}

/// What an example of a recipe shows.
fn told(trial: &Trial, example: &Example) -> Option<Shown> {
    let told = recipe::told(trial, example).ok()?;
    Some(Shown { own: recipe::lines(&told), ..Shown::default() })
}

/// What an example shows without one line of one rule.
fn again(
    played: &Played,
    weaker: &Trial,
    (number, line): (u32, usize),
    example: &Example,
    own: bool,
    pool: Pool<'_>,
) -> Shown {
    // An example with pages of its own is read by a rulebook of its own.
    let apart = if example.pages.is_empty() { None } else { played.weakened(pool.page, number, line) };
    let again = apart.as_ref().or(weaker.prepared()).map(|prepared| played.by(prepared));
    shown(again.as_ref().unwrap_or(played), pool, example, own)
}

/// Each example of a page as it was played (a recipe is told anew each time), and what it shows; `None` for
/// one whose journal cannot be read.
pub(super) type Whole = Vec<Option<(Option<Played>, Shown)>>;

/// What the examples of a page show with every line of every rule in place.
pub(super) fn whole(trial: &Trial, pool: Pool<'_>) -> (Trial, Whole) {
    let page = pool.page;
    let trial = trial.narrowed(page);
    let whole = pool.examples().map(|(example, own)| {
        if page.kind == PageKind::Recipe {
            return Some((None, told(&trial, example)?));
        }
        let played = played(&trial, example).ok()?;
        let played = if example.pages.is_empty() { played } else { played.narrowed(page) };
        let shown = shown(&played, pool, example, own);
        Some((Some(played), shown))
    });
    let whole = whole.collect();
    (trial, whole)
}

/// Tries rule `n` (from 0) without each of its lines.
pub(super) fn rule(trial: &Trial, pool: Pool<'_>, n: usize, whole: &Whole) -> Vec<Diagnostic> {
    let page = pool.page;
    let Some(text) = page.rules.get(n) else { return Vec::new() };
    let number = u32::try_from(n + 1).unwrap_or(u32::MAX);
    let mut idle = Vec::new();
    for (line, passage) in text.lines.iter().enumerate().take(text.lines.len().saturating_sub(1)) {
        let Some(weaker) = trial.weakened(page, number, line) else { continue };
        let mut pairs = pool.examples().zip(whole).filter_map(|(e, whole)| Some((e, whole.as_ref()?)));
        if !pairs.any(|((example, own), (played, before))| match played {
            Some(played) => again(played, &weaker, (number, line), example, own, pool) != *before,
            None => told(&weaker, example).as_ref() != Some(before),
        }) {
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
