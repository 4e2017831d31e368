//! What stands beside a finding or an action: cautions, and the next steps.
//!
//! Comes in: the model's cautions, findings and actions. Goes out: remarks on the findings, cautions
//! and reasons for the actions. It opens and closes nothing.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use chrono::NaiveDate;

use super::{
    Known,
    actions::Asked,
    findings::{Finding, here},
    jobs, say,
};
use crate::{
    base::diagnostic::{Diagnostic, Remark, RemarkKind, Severity},
    measure::{
        date,
        value::{EntryId, Value},
    },
    model::{finding::ActionState, program::Meaning},
};

/// How many next steps a finding names.
const STEPS: usize = 3;

/// Puts cautions and next steps under the findings of their page.
pub fn remarks(known: &Known<'_>, cautions: &Cautions, findings: &mut [Finding<'_>], actions: &[Asked]) {
    for finding in findings.iter_mut().filter(|f| !f.derived.is_empty()) {
        let code = finding.diagnostic.code.clone();
        let mut steps: Vec<&Asked> =
            actions.iter().filter(|a| a.action.code == code && belongs(a, finding)).collect();
        steps.retain(|a| a.action.state == ActionState::Open);
        steps.sort_by(|a, b| (a.action.by, &a.action.words).cmp(&(b.action.by, &b.action.words)));
        if !steps.is_empty() {
            let text = next(known, &steps);
            finding.diagnostic.remarks.push(Remark { kind: RemarkKind::Next, text });
        } else if finding.diagnostic.severity == Severity::Alarm {
            let text = first(known, &finding.diagnostic);
            finding.diagnostic.remarks.push(Remark { kind: RemarkKind::Next, text });
        }
        let mut beside = cautions.about(&code, &finding.about);
        for step in &steps {
            beside.extend(step.action.cautions.iter().cloned());
        }
        let mut seen = BTreeSet::new();
        beside.retain(|c| seen.insert(c.clone()));
        let beside = beside.into_iter().map(|text| Remark { kind: RemarkKind::Caution, text });
        finding.diagnostic.remarks.extend(beside);
    }
}

/// What to do first about an alarm that asks for no job: what its page says of that, and where the reasons stand.
fn first(known: &Known<'_>, alarm: &Diagnostic) -> String {
    let about = alarm.about.first().map_or(&*alarm.code, String::as_str);
    let first = section(known, &alarm.code, "What to do");
    let gap = if first.is_empty() { "" } else { " " };
    format!("{first}{gap}→ `haulm why \"{about}\"`")
}

/// Whether an action of a finding's page belongs to it: it shares a value with the subject or names a
/// thing the finding names, or, where its words name nothing of the subject's kind, rests on an entry
/// that the finding points at.
fn belongs(asked: &Asked, finding: &Finding<'_>) -> bool {
    if asked.values.iter().any(|v| finding.about.contains(v) || finding.named.contains(v)) {
        return true;
    }
    let of_that_kind = finding.about.iter().any(|v| asked.values.iter().any(|w| kind(v) == kind(w)));
    !of_that_kind && finding.derived.iter().filter_map(here).any(|id| asked.entries.contains(&id))
}

fn kind(value: &Value) -> Option<&str> {
    if let Value::Thing(t) = value { Some(&t.kind) } else { None }
}

/// `by 23 March 2026: pot a bean test of lot tern-26 · today: … · and 2 more → …`; steps that differ in one name are
/// one.
fn next(known: &Known<'_>, steps: &[&Asked]) -> String {
    let steps = jobs::together(known, steps);
    let part = |(by, words): &(NaiveDate, String)| format!("{}: {words}", due(known.today, *by));
    let mut parts: Vec<String> = steps.iter().take(STEPS).map(part).collect();
    if steps.len() > STEPS {
        parts.push(format!("and {} more → `haulm due`", steps.len() - STEPS));
    }
    parts.join(" · ")
}

/// `by 23 March 2026`, `today`, or `overdue since 23 March 2026`.
fn due(today: NaiveDate, by: NaiveDate) -> String {
    match by.cmp(&today) {
        std::cmp::Ordering::Less => format!("overdue since {}", date::long(by)),
        std::cmp::Ordering::Equal => "today".to_owned(),
        std::cmp::Ordering::Greater => format!("by {}", date::long(by)),
    }
}

/// Every caution that holds, by page.
#[derive(Debug, Default)]
pub struct Cautions(BTreeMap<Arc<str>, Vec<Caution>>);

#[derive(Debug)]
struct Caution {
    about: Vec<Value>,
    words: String,
}

impl Cautions {
    /// Gathers the rows of caution heads, in the order of rules and values.
    pub fn all(known: &Known<'_>) -> Self {
        let mut out: BTreeMap<Arc<str>, Vec<Caution>> = BTreeMap::new();
        for rule in &known.program.rules {
            let Meaning::Caution { about, text } = &rule.meaning else { continue };
            for row in known.model.rows(rule.head.sentence) {
                let values = known.model.tuple(row).values;
                let words = say::text(known, text, &values, &[&values]);
                let about = about.iter().filter_map(|n| values.get(*n).cloned()).collect();
                out.entry(Arc::clone(&rule.page)).or_default().push(Caution { about, words });
            }
        }
        Self(out)
    }

    /// The cautions of a page about any of these values, each once; a caution about nothing in particular
    /// stands beside everything of its page.
    pub fn about(&self, code: &str, values: &[Value]) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        for caution in self.0.get(code).into_iter().flatten() {
            let fits = caution.about.is_empty() || caution.about.iter().any(|v| values.contains(v));
            if fits && !out.contains(&caution.words) {
                out.push(caution.words.clone());
            }
        }
        out
    }
}

/// Why an action is asked for, and how pressing that is: what its page says about the same thing, else about
/// the same entries. Else what the page is for: then no finding stands behind it, which the last of the three says.
pub fn reason(
    known: &Known<'_>,
    code: &str,
    values: &[Value],
    entries: &BTreeSet<EntryId>,
    findings: &[Finding<'_>],
) -> (String, Severity, bool) {
    let of_page = || findings.iter().filter(|f| *f.diagnostic.code == *code);
    let names = |f: &&Finding<'_>| values.iter().any(|v| f.named.contains(v));
    let shared = |f: &&Finding<'_>| f.entries.intersection(entries).count();
    let said =
        of_page().find(|f| f.about.iter().any(|v| values.contains(v))).or_else(|| of_page().find(names));
    let said = said.or_else(|| {
        // Of those that share as many, the first.
        let most = of_page().map(|f| shared(&f)).max().filter(|n| *n > 0)?;
        of_page().find(|f| shared(f) == most)
    });
    if let Some(finding) = said {
        return (finding.diagnostic.message.clone(), finding.diagnostic.severity, false);
    }
    let severity = known.pages.iter().find(|p| *p.code == *code).and_then(|p| p.severity);
    let why = section(known, code, "Why it matters");
    let reason = format!("told in due alone: {why}").trim_end_matches([':', ' ']).to_owned();
    (reason, severity.unwrap_or(Severity::Hint), true)
}

/// The first sentence under a heading of a page; nothing where there is none.
fn section(known: &Known<'_>, code: &str, heading: &str) -> String {
    let page = known.pages.iter().find(|p| *p.code == *code);
    let section = page.and_then(|p| p.sections.iter().find(|s| *s.heading.text == *heading));
    section.map_or_else(String::new, |s| first_sentence(&s.prose.text))
}

/// The first sentence of some prose, in one line.
fn first_sentence(prose: &str) -> String {
    let line = prose.split_whitespace().collect::<Vec<_>>().join(" ");
    let end = line.match_indices(". ").map(|(i, _)| i + 1).next().unwrap_or(line.len());
    line[..end].to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_sentence_ends_at_its_stop() {
        assert_eq!(first_sentence("A lot may\nhurt. Test it."), "A lot may hurt.");
        assert_eq!(first_sentence("no stop"), "no stop");
        assert_eq!(first_sentence(""), "");
    }
}
