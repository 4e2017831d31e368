//! What would change if an entry were written today, in a copy: the journal stays as it is.
//!
//! Comes in: a session and the text of an entry. Goes out: the chances and findings that would move, or why
//! the entry cannot be read. It writes nothing.

use chrono::NaiveDate;

use super::{Checked, Session};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        source::{SourceFile, SourceKind},
    },
    explain::{self, subject::Subject},
    measure::{date, value::Value},
    model::explanation::WhatIf,
};

/// The path the entry goes by in the copy; no file on a disk is called so.
const PATH: &str = "what if";

impl Session {
    /// Compares a check of the journal with one of the same and one more entry, dated `today`; with
    /// `about`, only in outbreaks that concern the thing of that name.
    ///
    /// # Errors
    /// Says in words why the entry, or the name, cannot be read.
    pub fn what_if(
        &mut self,
        entry: &str,
        about: Option<&str>,
        today: NaiveDate,
        as_of: Option<NaiveDate>,
    ) -> Result<WhatIf, String> {
        let line = entry.split_whitespace().collect::<Vec<_>>().join(" ");
        let line = line.strip_prefix("- ").unwrap_or(&line).to_owned();
        if line.is_empty() {
            return Err("give an entry, such as \"read test t1: 4 of 4 pots hurt\"".to_owned());
        }
        let now = self.check(today, as_of);
        let mut copy = self.clone();
        let text = format!("## {today}\n\n- {line}\n");
        copy.set(SourceFile::new(PATH, text, SourceKind::Journal, false));
        let then = copy.check(today, as_of);
        let read = then.diary.entries.iter().filter(|e| then.sources.file(e.loc.file).path.as_ref() == PATH);
        let troubles: Vec<&Diagnostic> = said(&then)
            .into_iter()
            .filter(|d| {
                d.primary.as_ref().is_some_and(|l| then.sources.file(l.loc.file).path.as_ref() == PATH)
            })
            .collect();
        if let Some(trouble) = troubles.iter().find(|d| d.severity == Severity::Error) {
            return Err(unread(&line, trouble));
        }
        if read.count() == 0 {
            return Err(match troubles.first() {
                Some(trouble) => unread(&line, trouble),
                None => format!(
                    "`{line}` says nothing that can be read; `haulm words` lists what an entry can be"
                ),
            });
        }
        let thing = about.map(|name| thing(&then, name)).transpose()?;
        let (changes, unmoved) = explain::ranking::moved(&now.known(), &then.known(), thing.as_ref());
        let new = |here: &Checked, there: &Checked| {
            let there = said(there);
            let same = |a: &Diagnostic, b: &Diagnostic| a.code == b.code && a.about == b.about;
            let mut new: Vec<_> = said(here)
                .into_iter()
                .filter(|d| !there.iter().any(|o| same(o, d)))
                .map(|d| (d.severity, d.code.clone(), d.message.clone()))
                .collect();
            new.sort();
            new
        };
        Ok(WhatIf {
            day: date::long(today),
            changes,
            unmoved,
            said: new(&then, &now),
            gone: new(&now, &then),
            entry: line,
        })
    }
}

fn thing(checked: &Checked, name: &str) -> Result<Value, String> {
    match explain::subject::find(&checked.known(), name)? {
        Subject::Value(value) => Ok(value),
        Subject::Code(_) | Subject::Entry(_) | Subject::Line(_) => {
            Err(format!("`{name}` is no bed, lot or other thing"))
        }
    }
}

/// What is said, what is folded under it left out.
fn said(checked: &Checked) -> Vec<&Diagnostic> {
    checked.report.findings.iter().collect()
}

fn unread(line: &str, trouble: &Diagnostic) -> String {
    let right = trouble.remarks.iter().find(|r| r.kind == RemarkKind::Write);
    let right = right.map_or_else(String::new, |r| format!("\n  write  {}", r.text));
    format!("`{line}` cannot be read: {}{right}", trouble.message)
}
