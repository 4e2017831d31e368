//! A file of a check written evenly, and whether two checks say the same.
//!
//! Comes in: a check. Goes out: changes that leave its reading what it was: each is held against a second
//! reading, and one that would alter it is dropped. It writes nothing.

use std::collections::BTreeSet;

use super::Checked;
use crate::{
    base::span::{FileId, Span},
    model::change::{Change, applied},
    parse, tidy,
};

/// A list that is open, so that a deeply indented item by itself is read as it is within its list.
const LIST: &str = "- x\n";

impl Checked {
    /// What would change in a journal file if it were tidied, in order. A rule page is left as it is.
    pub fn tidied(&self, file: FileId) -> Vec<Change> {
        let before = self.cut(file);
        let here = self.diary.entries.iter().filter(|e| e.loc.file == file);
        let understood: BTreeSet<u32> = here.map(|e| e.loc.span.start).collect();
        let mut blocks = tidy::changes(&before, &self.frames, &understood);
        let read = |text: &str| parse::journal::parse(file, text, &self.frames);
        blocks.retain(|tidied| {
            let text = before.text.get(tidied.block.range()).unwrap_or("");
            let back = tidied.block.start as usize;
            let here = tidied.changes.iter().map(|c| Change {
                span: Span::new(c.span.start as usize - back, c.span.end as usize - back),
                text: c.text.clone(),
            });
            let after = applied(text, &here.collect::<Vec<_>>());
            tidy::is_same(&read(&format!("{LIST}{text}")), &read(&format!("{LIST}{after}")))
        });
        let changes: Vec<Change> = blocks.into_iter().flat_map(|b| b.changes).collect();
        if tidy::is_same(&before, &read(&applied(&before.text, &changes))) { changes } else { Vec::new() }
    }

    /// Whether two checks rest on the same facts and say the same of the same things. Where it stands, and
    /// the words of a line as a message quotes them, may differ.
    pub fn says_the_same(&self, other: &Self) -> bool {
        let facts = |checked: &Self| -> Vec<String> {
            let said = checked.diary.facts.iter();
            said.map(|f| format!("{:?} {:?} {}", f.sentence, f.values, f.planned)).collect()
        };
        let findings = |checked: &Self| -> Vec<String> {
            checked
                .report
                .findings
                .iter()
                .map(|f| format!("{} {:?} {:?}", f.code, f.severity, f.about))
                .collect()
        };
        facts(self) == facts(other) && findings(self) == findings(other)
    }
}
