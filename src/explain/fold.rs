//! Folding: a finding that another one explains hangs under it.
//!
//! Comes in: findings still said, and the `Folds:` lines of the pages. Goes out: fewer, whole findings.
//! A finding is never folded under a less pressing one, so nothing urgent is out of sight.

use super::{Known, findings::Finding};
use crate::{
    base::diagnostic::Diagnostic,
    measure::value::{Thing, Value},
};

/// One `Folds:` line: which code, about the same what.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Folds {
    code: String,
    same: Option<String>,
}

/// Hangs each finding that another explains under that one.
pub fn folded(known: &Known<'_>, findings: Vec<Finding<'_>>) -> Vec<Diagnostic> {
    let mut order: Vec<usize> = (0..findings.len()).collect();
    order.sort_by_key(|i| {
        let d = &findings[*i].diagnostic;
        (d.severity, d.primary.as_ref().map(|l| l.loc), d.code.clone(), d.about.clone())
    });
    let mut parent: Vec<Option<usize>> = vec![None; findings.len()];
    for over in &order {
        for folds in folds_of(known, &findings[*over].diagnostic.code) {
            for under in &order {
                let fits = parent[*under].is_none()
                    && findings[*under].diagnostic.severity >= findings[*over].diagnostic.severity
                    && !under_itself(&parent, *over, *under)
                    && explains(known, &folds, &findings[*over], &findings[*under]);
                if fits {
                    parent[*under] = Some(*over);
                }
            }
        }
    }
    let mut said: Vec<Option<Diagnostic>> = findings.into_iter().map(|f| Some(f.diagnostic)).collect();
    hang(&mut said, &parent, &order, None)
}

/// The findings that hang directly under `over`, with theirs under them.
fn hang(
    said: &mut [Option<Diagnostic>],
    parent: &[Option<usize>],
    order: &[usize],
    over: Option<usize>,
) -> Vec<Diagnostic> {
    let mut out = Vec::new();
    for i in order.iter().filter(|i| parent.get(**i) == Some(&over)) {
        if let Some(mut d) = said.get_mut(*i).and_then(Option::take) {
            d.folded.extend(hang(said, parent, order, Some(*i)));
            out.push(d);
        }
    }
    out
}

/// Whether `over` is `under`, or already hangs under it.
fn under_itself(parent: &[Option<usize>], over: usize, under: usize) -> bool {
    let mut at = Some(over);
    while let Some(i) = at {
        if i == under {
            return true;
        }
        at = parent.get(i).copied().flatten();
    }
    false
}

/// What a page folds, read from `CODE about the same WHAT`.
fn folds_of(known: &Known<'_>, code: &str) -> Vec<Folds> {
    let page = known.pages.iter().find(|p| *p.code == *code);
    let lines = page.map_or(&[][..], |p| &p.folds);
    lines.iter().flat_map(|line| line.text.split(',')).filter_map(read).collect()
}

fn read(line: &str) -> Option<Folds> {
    let line = line.trim().trim_end_matches('.');
    let (code, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    let same = rest.trim().strip_prefix("about the same ").map(|w| w.trim().to_owned());
    (!code.is_empty()).then(|| Folds { code: code.to_owned(), same })
}

/// Whether `over` explains `under`: they share a value, of the blank or kind the page names. A blank of
/// that name in the explaining finding is the only one that counts; without one, any term of that kind
/// does. The explained finding must be about the value.
fn explains(known: &Known<'_>, folds: &Folds, over: &Finding<'_>, under: &Finding<'_>) -> bool {
    if *under.diagnostic.code != *folds.code {
        return false;
    }
    let named = |same: &str| over.terms(known).any(|(name, _)| name == same);
    under.about.iter().zip(&under.blanks).any(|(value, blank)| {
        over.terms(known).filter(|(_, other)| *other == value).any(|(name, _)| match &folds.same {
            None => true,
            Some(same) if named(same) => name == same,
            Some(same) => {
                **blank == **same || matches!(value, Value::Thing(Thing { kind, .. }) if **kind == **same)
            }
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folds_line_names_a_code_and_what_is_shared() {
        let same = |s: &str| Some(s.to_owned());
        assert_eq!(
            read("untested-lot about the same lot."),
            Some(Folds { code: "untested-lot".into(), same: same("lot") })
        );
        assert_eq!(read("untested-lot"), Some(Folds { code: "untested-lot".into(), same: None }));
        assert_eq!(read("  "), None);
    }

    #[test]
    fn nothing_hangs_under_itself() {
        let parent = [Some(1), Some(2), None];
        assert!(under_itself(&parent, 0, 2));
        assert!(!under_itself(&parent, 2, 0));
    }
}
