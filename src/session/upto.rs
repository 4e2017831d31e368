//! Journals as they stood on an earlier day.
//!
//! Comes in: parsed journals and a day. Goes out: the same without what is dated later, so that not even
//! a name written later is known. It changes no text.

use chrono::NaiveDate;

use crate::{
    base::span::Loc,
    model::journal::{Item, JournalFile, When},
};

/// Journals without the entries that stand under a day after `last`, and without what is said of those days.
pub(super) fn upto(journals: &[JournalFile], last: NaiveDate) -> Vec<JournalFile> {
    journals.iter().map(|journal| file_upto(journal.clone(), last)).collect()
}

fn file_upto(mut journal: JournalFile, last: NaiveDate) -> JournalFile {
    let is_later = |when: When| matches!(when, When::On(days) if days.first > last);
    let mut days: Vec<(u32, bool)> = Vec::new();
    for item in &journal.items {
        if let (When::On(_), Some(heading)) = (item.when, item.heading) {
            days.push((heading.span.start, is_later(item.when)));
        }
    }
    days.sort_unstable();
    // What stands under a heading that is no day belongs to the time of the day above it.
    let goes = |when: When, at: u32| match when {
        When::Waiting => {
            let above = days.partition_point(|(start, _)| *start <= at);
            above.checked_sub(1).and_then(|n| days.get(n)).is_some_and(|(_, later)| *later)
        }
        when => is_later(when),
    };
    let gone = |item: &Item| goes(item.when, item.loc.span.start);
    let headings: Vec<Loc> = journal.items.iter().filter(|i| gone(i)).filter_map(|i| i.heading).collect();
    journal.items.retain(|i| !gone(i));
    journal.asides.retain(|a| !goes(a.when, a.loc.span.start));
    journal.diagnostics.retain(|d| {
        let at = d.primary.as_ref().map(|l| l.loc.span);
        !at.is_some_and(|at| headings.iter().any(|h| h.span.start <= at.start && at.end <= h.span.end))
    });
    journal
}
