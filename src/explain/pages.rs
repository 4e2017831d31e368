//! Rule pages as notes to read: the list of codes, and one page in full.
//!
//! Comes in: the pages. Goes out: [`PageNote`]s. It judges no page.

use super::Known;
use crate::model::{
    explanation::PageNote,
    page::{Page, PageKind},
};

/// All pages that have a code, most pressing first, then by code.
pub fn notes(known: &Known<'_>) -> Vec<PageNote> {
    let mut notes: Vec<PageNote> = known
        .pages
        .iter()
        .filter(|p| matches!(p.kind, PageKind::Rule | PageKind::Reading))
        .map(|p| of(known, p))
        .collect();
    notes.sort_by(|a, b| {
        let key = |n: &PageNote| (n.severity.is_none(), n.severity);
        (key(a), &a.code, &a.path).cmp(&(key(b), &b.code, &b.path))
    });
    notes
}

/// The page of a code.
pub fn note(known: &Known<'_>, code: &str) -> Option<PageNote> {
    known.pages.iter().find(|p| *p.code == *code).map(|p| of(known, p))
}

/// A page as a note.
pub fn of(known: &Known<'_>, page: &Page) -> PageNote {
    let file = known.sources.file(page.file);
    let firing = page.examples.iter().filter(|e| e.must_fire).count();
    PageNote {
        code: page.code.to_string(),
        severity: page.severity,
        path: file.path.to_string(),
        built_in: file.built_in,
        sections: page
            .sections
            .iter()
            .map(|s| (s.heading.text.trim().to_owned(), s.prose.text.trim().to_owned()))
            .collect(),
        folds: page.folds.iter().map(|f| f.text.to_string()).collect(),
        counts: (page.rules.len(), firing, page.examples.len() - firing),
    }
}
