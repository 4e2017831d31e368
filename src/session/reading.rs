//! A journal read, before anything is concluded from it.
//!
//! Comes in: what a session read on one day. Goes out: the same with what was inferred and explained, by the
//! rulebook it was read with or by one that differs from it in some rules.

use std::sync::Arc;

use chrono::NaiveDate;

use super::Checked;
use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    explain,
    infer::{self, Prepared},
    measure::unit::System,
    model::{diary::Diary, frame::Frames, outcome::Model, page::Page, report::Report},
};

/// What a session read. What several checks have in common they share.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub(super) today: NaiveDate,
    pub(super) sources: Sources,
    pub(super) frames: Arc<Frames>,
    pub(super) pages: Arc<[Arc<Page>]>,
    pub(super) prepared: Arc<Prepared>,
    /// Which gallon and ton the farm means, where it says so.
    pub(super) system: Option<System>,
    pub(super) diary: Arc<Diary>,
    pub(super) said: Vec<Diagnostic>,
}

impl Reading {
    /// Everything that follows from it.
    pub(super) fn checked(&self) -> Checked {
        let (model, faults) = infer::run(&self.prepared, &self.diary.facts);
        self.clone().explained((Arc::new(model), faults))
    }

    /// Everything that follows from it, where `before` followed from it by a rulebook that differs in some rules.
    pub(super) fn rechecked(&self, before: &Model) -> Checked {
        let (model, faults) = infer::rerun(&self.prepared, before);
        self.clone().explained((Arc::new(model), faults))
    }

    /// What the inference has to say of it, explained.
    pub(super) fn explained(self, (model, faults): (Arc<Model>, Vec<Diagnostic>)) -> Checked {
        let Self { today, sources, frames, pages, prepared, diary, mut said, .. } = self;
        said.extend(faults);
        let program = Arc::clone(prepared.program());
        let report = Report::default();
        let mut checked = Checked { today, sources, frames, pages, program, diary, model, report, prepared };
        checked.report = explain::explain(&checked.known(), said);
        checked
    }
}
