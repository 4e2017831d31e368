//! What one check of a journal comes to: findings, those kept quiet, and actions.
//!
//! Comes in: what `explain` made of the model and of the reading. Goes out: what `show`, the watch
//! and the editor render. It holds no layout.

use chrono::NaiveDate;
use serde::Serialize;

use super::finding::{Action, ActionState, Matter};
use crate::base::diagnostic::{Diagnostic, Severity};

/// A finding that an `allow` line keeps quiet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Allowed {
    /// The finding, whole.
    pub finding: Diagnostic,
    /// Why it is quiet, in words: `allowed until 1 September 2026: sealed peat mix`.
    pub by: String,
}

/// Everything one check has to say.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Report {
    /// The day the journal was read on.
    pub today: NaiveDate,
    /// What is said, most urgent first; what a finding explains hangs under it in `folded`.
    pub findings: Vec<Diagnostic>,
    /// What `allow` lines keep quiet, in the same order.
    pub allowed: Vec<Allowed>,
    /// Every action instance, open ones and closed, by due day.
    pub actions: Vec<Action>,
    /// Actions of allowed findings: nobody is asked for them.
    pub quiet_actions: Vec<Action>,
    /// The open actions as jobs, in the order in which they are told.
    pub matters: Vec<Matter>,
}

impl Report {
    /// How many findings there are of a severity, folded and allowed ones not counted.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|f| f.severity == severity).count()
    }

    /// The most pressing severity said, if anything is.
    pub fn worst(&self) -> Option<Severity> {
        self.findings.iter().map(|f| f.severity).min()
    }

    /// How many findings are folded under others.
    pub fn folded(&self) -> usize {
        fn under(d: &Diagnostic) -> usize {
            d.folded.iter().map(|f| 1 + under(f)).sum()
        }
        self.findings.iter().map(under).sum()
    }

    /// How many jobs there are to do: what one visit does is one.
    pub fn jobs(&self) -> usize {
        self.matters.iter().map(|m| m.jobs.len()).sum()
    }

    /// How many of them no finding stands behind, so that they are told in the list of jobs alone.
    pub fn jobs_alone(&self) -> usize {
        let alone = |n: &usize| self.actions.get(*n).is_some_and(|a| a.alone);
        self.matters.iter().flat_map(|m| &m.jobs).filter(|job| job.actions.iter().all(alone)).count()
    }

    /// The actions still to do, in due order.
    pub fn open_actions(&self) -> impl Iterator<Item = &Action> {
        self.actions.iter().filter(|a| a.state == ActionState::Open)
    }
}
