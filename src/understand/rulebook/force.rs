//! Which pages are in force, and what folds what.
//!
//! Comes in: all pages, built in and a farm's own. Goes out: the pages in force, in the order
//! of codes, and faults of codes. It does not look into rules.

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

/// The pages in force, in the order of their codes: a farm's own before the built-in one whose place it
/// takes. Two of one code and the same origin are a fault, and the first of them stays.
pub fn in_force(pages: &[Arc<Page>]) -> (Vec<Arc<Page>>, Vec<Diagnostic>) {
    let mut kept: BTreeMap<(&str, bool, bool), &Arc<Page>> = BTreeMap::new();
    let mut faults = Vec::new();
    for page in pages {
        let key = (&*page.code, page.kind == PageKind::Tables, page.built_in);
        match kept.get(&key) {
            None => {
                kept.insert(key, page);
            }
            Some(old) => faults.push(
                fault(TWICE, page.title.loc, format!("Two pages have the code `{}`.", page.code))
                    .also(old.title.loc, "the other")
                    .remark(RemarkKind::Note, "The other one is in force until one of them is renamed."),
            ),
        }
    }
    let own: BTreeSet<Place<'_>> = kept.values().filter(|p| !p.built_in).map(|p| place(p)).collect();
    let stays = |page: &&Arc<Page>| !page.built_in || !own.contains(&place(page));
    (kept.into_values().filter(stays).cloned().collect(), faults)
}

/// The built-in pages that are not in force, each with the farm's own page that took its place.
pub(super) fn replaced<'p>(pages: &'p [Arc<Page>], in_force: &[&'p Page]) -> Vec<(&'p Page, &'p Page)> {
    let mut own: BTreeMap<Place<'_>, &Page> = BTreeMap::new();
    for page in in_force.iter().filter(|p| !p.built_in) {
        own.entry(place(page)).or_insert(page);
    }
    let old = pages.iter().filter(|p| p.built_in);
    old.filter_map(|old| own.get(&place(old)).map(|own| (*own, &**old))).collect()
}

/// What no two pages share: a code, or for a page of tables, which goes by its file and most often only adds
/// to the others, a path.
type Place<'p> = (bool, &'p str);

/// A farm's own page takes the place of a built-in one that has the same.
fn place(page: &Page) -> Place<'_> {
    let tables = page.kind == PageKind::Tables;
    (tables, if tables { inside(&page.path) } else { &page.code })
}

/// A path from its `rules` folder on.
fn inside(path: &str) -> &str {
    path.split_once("rules/").map_or(path, |(_, inside)| inside)
}

/// What the `Folds:` lines say wrong: unknown codes, no common thing, codes that fold each other.
pub(super) fn folding(pages: &[Arc<Page>]) -> Vec<Diagnostic> {
    let coded = |p: &&Arc<Page>| matches!(p.kind, PageKind::Rule | PageKind::Reading);
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
