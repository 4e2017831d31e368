//! What the model means for the grower: findings, actions, and the reasons for them.
//!
//! Comes in: a program, its model, the diary and the pages, and what the reading had to say. Goes out:
//! a [`Report`], and answers to `why` and `trace`, as plain structures. It derives nothing and draws
//! nothing: `infer` has concluded before, `show` makes text after.

mod actions;
mod allow;
pub mod asked;
mod attach;
mod closings;
pub mod content;
mod evidence;
mod findings;
mod fold;
mod jobs;
mod layers;
pub mod missing;
mod order;
pub mod pages;
pub mod phrases;
mod plans;
pub mod ranking;
pub mod recipe;
mod say;
pub mod shares;
mod steps;
pub mod subject;
pub mod trace;
pub mod why;
pub mod whynot;
pub mod words;

use std::sync::Arc;

use chrono::NaiveDate;

use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    model::{diary::Diary, outcome::Model, page::Page, program::Program, report::Report},
};

/// Everything an explanation may draw on.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Sentences and rules.
    pub program: &'a Program,
    /// What holds.
    pub model: &'a Model,
    /// The journal, understood.
    pub diary: &'a Diary,
    /// The rule pages.
    pub pages: &'a [Arc<Page>],
    /// All texts.
    pub sources: &'a Sources,
    /// The day the journal is read on.
    pub today: NaiveDate,
}

/// The report of one check.
///
/// `read` is what reading journal and pages had to say; it is allowed, folded and ordered with the
/// rest. Order of work: merge, then allow, then fold.
pub fn explain(known: &Known<'_>, read: Vec<Diagnostic>) -> Report {
    let lines = allow::Lines::of(known);
    let found = findings::merged(known, &lines);
    let cautions = attach::Cautions::all(known);
    let (actions, unmatched) = actions::all(known, &cautions, &found);
    let mut said: Vec<findings::Finding<'_>> =
        read.into_iter().chain(unmatched).map(findings::Finding::read).collect();
    said.extend(found);
    attach::remarks(known, &cautions, &mut said, &actions);
    let mut kept = lines.apply(known, said);
    let (quiet, mut actions): (Vec<_>, Vec<_>) =
        actions.into_iter().partition(|a| lines.cover(&a.action.code, &a.action.about));
    let plans = plans::open(known, &cautions, &kept.said);
    plans::hold(&mut kept.said, &plans);
    actions.extend(plans);
    actions.sort_by(|a, b| {
        let key = |a: &actions::Asked| (a.action.by, a.action.since);
        let (one, other) = ((&a.action.key, a.action.instance), (&b.action.key, b.action.instance));
        (key(a), one).cmp(&(key(b), other))
    });
    let matters = jobs::matters(known, &actions);
    let mut findings = fold::folded(known, kept.said);
    findings.extend(kept.hints);
    order::urgent_first(known, &mut findings);
    Report {
        today: known.today,
        findings,
        allowed: kept.allowed,
        actions: actions.into_iter().map(|a| a.action).collect(),
        quiet_actions: quiet.into_iter().map(|a| a.action).collect(),
        matters,
    }
}
