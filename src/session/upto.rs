//! Journals as they stood on an earlier day.
//!
//! Comes in: parsed journals and a day. Goes out: the same without what is dated later, so that not even
//! a name written later is known. It changes no text.

use chrono::NaiveDate;

use crate::{
    base::span::Loc,
    model::journal::{JournalFile, When},
};

/// Journals without the entries that stand under a day after `last`, and without what is said of those days.
pub(super) fn upto(journals: &[JournalFile], last: NaiveDate) -> Vec<JournalFile> {
    journals.iter().map(|journal| file_upto(journal.clone(), last)).collect()
}

fn file_upto(mut journal: JournalFile, last: NaiveDate) -> JournalFile {
    let is_later = |when: When| matches!(when, When::On(days) if days.first > last);
    let headings: Vec<Loc> =
        journal.items.iter().filter(|i| is_later(i.when)).filter_map(|i| i.heading).collect();
    journal.items.retain(|i| !is_later(i.when));
    journal.asides.retain(|a| !is_later(a.when));
    journal.diagnostics.retain(|d| {
        let at = d.primary.as_ref().map(|l| l.loc.span);
        !at.is_some_and(|at| headings.iter().any(|h| h.span.start <= at.start && at.end <= h.span.end))
    });
    journal
}
