//! What pages still read, and nobody says any more since a farm's own page took a built-in one's place.
//!
//! Comes in: the compiled program and the pages that lost their place. Goes out: one fault for each page that
//! took a place, and the sentences it leaves unsaid. What a page never said is not its to keep up.

use std::collections::{BTreeMap, BTreeSet};

use rustc_hash::FxHashSet;

use super::{
    LEFT, Lines,
    declare::{self, Declared},
    fault, rule, tables,
};
use crate::{
    base::diagnostic::{Diagnostic, RemarkKind},
    model::{
        page::Page,
        program::Program,
        sentence::{Origin, SentenceId},
    },
};

/// What each page of `replaced` (the farm's own, the built-in one) leaves unsaid that a rule reads. `lost` are
/// the conclusions of rules that could not be compiled, which are told of by themselves.
pub(super) fn unsaid(
    program: &Program,
    declared: &Declared,
    replaced: &[(&Page, &Page)],
    lost: &[SentenceId],
    lines: &Lines,
) -> (Vec<Diagnostic>, Vec<SentenceId>) {
    let mut faults = Vec::new();
    let mut all = Vec::new();
    if replaced.is_empty() {
        return (faults, all);
    }
    let mut said: FxHashSet<SentenceId> = declared.common.iter().chain(lost).copied().collect();
    said.extend(program.facts.iter().map(|f| f.sentence));
    said.extend(program.rules.iter().map(|r| r.head.sentence));
    let mut missed: BTreeMap<SentenceId, BTreeSet<&str>> = BTreeMap::new();
    for rule in &program.rules {
        for sentence in rule.reads().filter(|s| !said.contains(s)) {
            let from_pages = program.sentences.get(sentence.0 as usize);
            if from_pages.is_some_and(|s| s.origin == Origin::Page) {
                missed.entry(sentence).or_default().insert(&rule.page);
            }
        }
    }
    if missed.is_empty() {
        return (faults, all);
    }
    for (own, old) in replaced {
        let before = said_by(old, declared, lines);
        let gaps: BTreeMap<SentenceId, &BTreeSet<&str>> =
            missed.iter().filter(|(s, _)| before.contains(s)).map(|(s, readers)| (*s, readers)).collect();
        if !gaps.is_empty() {
            faults.push(told(own, program, &gaps));
            all.extend(gaps.into_keys());
        }
    }
    (faults, all)
}

fn told(own: &Page, program: &Program, gaps: &BTreeMap<SentenceId, &BTreeSet<&str>>) -> Diagnostic {
    let what = match gaps.len() {
        1 => "a sentence".to_owned(),
        n => format!("{n} sentences"),
    };
    let message = format!(
        "`{}` takes the place of a built-in page and leaves {what} unsaid that other rules read.",
        own.code
    );
    let mut lines: Vec<String> = gaps
        .iter()
        .filter_map(|(sentence, readers)| {
            let sentence = program.sentences.get(sentence.0 as usize)?;
            let readers: Vec<String> = readers.iter().map(|code| format!("`{code}`")).collect();
            Some(format!("`{}`, read by {}", declare::typed(sentence), readers.join(", ")))
        })
        .collect();
    lines.sort();
    let next = "Conclude them on this page, or say them in a table; or give the page a code of its own.";
    let said = fault(LEFT, own.title.loc, message).remark(RemarkKind::Next, next);
    lines.into_iter().fold(said, |said, line| said.remark(RemarkKind::Note, line))
}

/// Every sentence a page declares, concludes or says in a table.
fn said_by(page: &Page, declared: &Declared, lines: &Lines) -> BTreeSet<SentenceId> {
    let book = &declared.book;
    let mut said: BTreeSet<SentenceId> =
        page.declarations.iter().filter_map(|d| declare::known(book, &d.line, lines)).collect();
    said.extend(page.rules.iter().filter_map(|text| rule::concluded(book, text, lines)));
    said.extend(tables::facts(&[page], declared, lines, &mut Vec::new()).iter().map(|f| f.sentence));
    said
}
