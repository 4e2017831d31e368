//! What a check says that the one before did not, and the other way round.
//!
//! Comes in: two reports. Goes out: what is new, what went away, and how much stays. It words nothing.

use std::{collections::BTreeMap, sync::Arc};

use crate::base::diagnostic::{Diagnostic, Severity};
use crate::model::{
    finding::{Action, ActionState},
    report::Report,
};

/// The difference between two reports.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct News {
    /// Findings that were not there, or not as pressing.
    pub new: Vec<Diagnostic>,
    /// Findings that were there and say something else now.
    pub changed: Vec<Diagnostic>,
    /// Findings that are no longer there.
    pub gone: Vec<Diagnostic>,
    /// How many findings are as they were.
    pub stay: usize,
    /// Actions that were not open.
    pub to_do: Vec<Action>,
    /// Actions that were open and are done or skipped.
    pub closed: Vec<Action>,
    /// Actions that were open and are no longer asked for, as they were.
    pub dropped: Vec<Action>,
    /// Files that were read and are not any more. What went away went with them, most likely not for good.
    pub away: Vec<Away>,
}

/// A file that is not read any more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Away {
    /// Its path.
    pub path: Arc<str>,
    /// Whether it is there, and cannot be read.
    pub unreadable: bool,
}

impl News {
    /// What `now` says beside `before`.
    ///
    /// A finding is known again by its code and what it is about, wherever its line has moved to; one
    /// about nothing in particular by its code and message. How often it is said counts.
    pub fn between(before: &Report, now: &Report) -> Self {
        let mut known: BTreeMap<Identity<'_>, Vec<&Diagnostic>> = BTreeMap::new();
        for finding in &before.findings {
            known.entry(identity(finding)).or_default().push(finding);
        }
        let mut news = Self::default();
        for finding in &now.findings {
            let same = known.get_mut(&identity(finding)).and_then(|like| {
                let at =
                    like.iter().position(|f| said(f) == said(finding)).or((!like.is_empty()).then_some(0));
                at.map(|at| like.remove(at))
            });
            match same {
                Some(before) if said(before) == said(finding) => news.stay += 1,
                Some(before) if before.severity <= finding.severity => news.changed.push(finding.clone()),
                _ => news.new.push(finding.clone()),
            }
        }
        let left: Vec<&Diagnostic> = known.into_values().flatten().collect();
        news.gone =
            before.findings.iter().filter(|f| left.iter().any(|l| std::ptr::eq(*l, *f))).cloned().collect();
        news.to_do = opened(before, now);
        for was in opened(now, before) {
            match now.actions.iter().find(|a| same_action(a, &was)) {
                Some(closed) => news.closed.push(closed.clone()),
                None => news.dropped.push(was),
            }
        }
        news
    }

    /// Whether there is nothing to tell.
    pub fn is_empty(&self) -> bool {
        self.new.is_empty()
            && self.changed.is_empty()
            && self.gone.is_empty()
            && self.to_do.is_empty()
            && self.closed.is_empty()
            && self.dropped.is_empty()
            && self.away.is_empty()
    }
}

type Identity<'a> = (&'a str, &'a [String], &'a str);

fn identity(d: &Diagnostic) -> Identity<'_> {
    (&d.code, &d.about, if d.about.is_empty() { &d.message } else { "" })
}

fn said(d: &Diagnostic) -> (Severity, &str) {
    (d.severity, &d.message)
}

fn same_action(a: &Action, b: &Action) -> bool {
    a.key == b.key && a.instance == b.instance
}

/// The actions open in `now` and not in `before`.
fn opened(before: &Report, now: &Report) -> Vec<Action> {
    let is_open = |report: &Report, action: &Action| {
        report.actions.iter().any(|a| a.state == ActionState::Open && same_action(a, action))
    };
    now.open_actions().filter(|a| !is_open(before, a)).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn report(findings: &[(&str, &str, Severity)]) -> Report {
        let findings = findings
            .iter()
            .map(|(code, about, severity)| {
                let d = Diagnostic::new(code, *severity, format!("{code} of {about}"));
                if about.is_empty() { d } else { d.about(*about) }
            })
            .collect();
        Report { findings, ..Report::default() }
    }

    fn words(list: &[Diagnostic]) -> Vec<&str> {
        list.iter().map(|d| d.message.as_str()).collect()
    }

    #[test]
    fn only_what_changed_is_news() {
        let before = report(&[("late", "tray one", Severity::Warn), ("lost", "tray two", Severity::Hint)]);
        let now = report(&[("late", "tray one", Severity::Warn), ("late", "tray three", Severity::Warn)]);
        let news = News::between(&before, &now);
        assert_eq!(words(&news.new), ["late of tray three"]);
        assert_eq!(words(&news.gone), ["lost of tray two"]);
        assert_eq!(news.stay, 1);
        assert!(News::between(&now, &now).is_empty());
    }

    #[test]
    fn a_finding_that_became_more_pressing_is_new_and_its_old_form_is_not_gone() {
        let before = report(&[("late", "tray one", Severity::Hint)]);
        let now = report(&[("late", "tray one", Severity::Alarm)]);
        let news = News::between(&before, &now);
        assert_eq!((news.new.len(), news.gone.len(), news.stay), (1, 0, 0));
    }

    #[test]
    fn a_finding_that_only_says_more_than_before_is_changed_and_not_new() {
        let mut now = report(&[("late", "tray one", Severity::Warn)]);
        let before = now.clone();
        now.findings[0].message.push_str(", two days");
        let news = News::between(&before, &now);
        assert_eq!((news.new.len(), news.gone.len(), news.stay), (0, 0, 0));
        assert_eq!(words(&news.changed), ["late of tray one, two days"]);
    }

    #[test]
    fn a_slip_written_twice_and_mended_once_goes_once() {
        let slip = ("unknown-word", "", Severity::Error);
        let news = News::between(&report(&[slip, slip]), &report(&[slip]));
        assert_eq!((news.new.len(), news.gone.len(), news.stay), (0, 1, 1));
    }
}
