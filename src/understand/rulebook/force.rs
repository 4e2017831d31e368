//! Which pages are in force, and what folds what.
//!
//! Comes in: all pages, built in and a farm's own. Goes out: one page for each code, in the order of
//! codes, and faults of codes. It does not look into rules.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::{FOLDING, TWICE, fault};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        name::nearest,
        span::Loc,
    },
    model::page::{Page, PageKind},
};

/// One page for each code: a farm's own before a built-in one. Two of the same origin are a fault, and
/// the first of them stays.
pub fn in_force(pages: &[Page]) -> (Vec<&Page>, Vec<Diagnostic>) {
    let mut by_code: BTreeMap<&str, &Page> = BTreeMap::new();
    let mut faults = Vec::new();
    for page in pages {
        match by_code.get(&*page.code) {
            None => {
                by_code.insert(&page.code, page);
            }
            Some(old) if old.built_in && !page.built_in => {
                by_code.insert(&page.code, page);
            }
            Some(old) if old.built_in == page.built_in => faults.push(
                fault(TWICE, page.title.loc, format!("Two pages have the code `{}`.", page.code))
                    .also(old.title.loc, "the other")
                    .remark(RemarkKind::Note, "The other one is in force until one of them is renamed."),
            ),
            Some(_) => {}
        }
    }
    (by_code.into_values().collect(), faults)
}

/// What the `Folds:` lines say wrong: unknown codes, no common thing, codes that fold each other.
pub(super) fn folding(pages: &[&Page]) -> Vec<Diagnostic> {
    let coded = |p: &&&Page| matches!(p.kind, PageKind::Rule | PageKind::Reading);
    let codes: BTreeSet<&str> = pages.iter().filter(coded).map(|p| &*p.code).collect();
    let mut faults = Vec::new();
    let mut folds: BTreeMap<&str, Vec<(Arc<str>, Loc)>> = BTreeMap::new();
    for page in pages {
        for phrase in &page.folds {
            let words: Vec<&str> = phrase.text.split_whitespace().collect();
            let [code, "about", "the", "same", thing] = words[..] else {
                faults.push(
                    fault(FOLDING, phrase.loc, "What a page folds is a code about the same sort of thing.")
                        .remark(RemarkKind::Write, "Folds: overdue-loan about the same book"),
                );
                continue;
            };
            if !codes.contains(code) {
                let mut said = fault(FOLDING, phrase.loc, format!("No page has the code `{code}`."));
                if let Some(near) = nearest(code, codes.iter().copied()) {
                    said = said.remark(RemarkKind::Write, format!("Folds: {near} about the same {thing}"));
                }
                faults.push(said);
                continue;
            }
            folds.entry(&page.code).or_default().push((code.into(), phrase.loc));
        }
    }
    faults.extend(rings(&folds));
    faults
}

/// Codes that fold each other in a ring; each ring is told once, from its first code.
fn rings(folds: &BTreeMap<&str, Vec<(Arc<str>, Loc)>>) -> Vec<Diagnostic> {
    let mut told: BTreeSet<BTreeSet<Arc<str>>> = BTreeSet::new();
    let mut faults = Vec::new();
    for (start, firsts) in folds {
        for (first, loc) in firsts {
            let Some(way) = way_back(folds, first, start) else { continue };
            if told.insert(way.iter().cloned().collect()) {
                let chain = way.iter().map(|c| format!("`{c}`")).collect::<Vec<_>>().join(" folds ");
                faults.push(fault(
                    FOLDING,
                    *loc,
                    format!("These codes fold each other: `{start}` folds {chain}."),
                ));
            }
        }
    }
    faults
}

/// The shortest way from `from` to `to` along folds, both included.
fn way_back(folds: &BTreeMap<&str, Vec<(Arc<str>, Loc)>>, from: &str, to: &str) -> Option<Vec<Arc<str>>> {
    let mut ways: Vec<Vec<Arc<str>>> = vec![vec![from.into()]];
    let mut seen: BTreeSet<Arc<str>> = BTreeSet::new();
    while !ways.is_empty() {
        let mut longer = Vec::new();
        for way in ways {
            let Some(last) = way.last().cloned() else { continue };
            if &*last == to {
                return Some(way);
            }
            if !seen.insert(last.clone()) {
                continue;
            }
            for (next, _) in folds.get(&*last).into_iter().flatten() {
                let mut way = way.clone();
                way.push(next.clone());
                longer.push(way);
            }
        }
        ways = longer;
    }
    None
}
