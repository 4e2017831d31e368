//! `allow` lines: which findings they keep quiet, and which of them are of no use.
//!
//! Comes in: findings and the diary's `allow` lines. Goes out: what is still said, what is kept quiet
//! and by which line, and hints about lines that hide nothing. No fact is ever hidden.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::{Known, findings::Finding};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::{fold, nearest},
        span::Loc,
    },
    measure::date,
    model::{diary::Allow, entry::Standing, report::Allowed},
};

/// What `allow` lines left.
#[derive(Debug)]
pub struct Kept<'a> {
    /// Still said.
    pub said: Vec<Finding<'a>>,
    /// Kept quiet.
    pub allowed: Vec<Allowed>,
    /// About the `allow` lines themselves.
    pub hints: Vec<Diagnostic>,
}

/// The `allow` lines that stand: written, not planned and not withdrawn.
#[derive(Debug)]
pub struct Lines<'a> {
    lines: Vec<(&'a Allow, Option<String>)>,
    /// When each was written, by entry.
    written: BTreeMap<u32, NaiveDate>,
    kinds: BTreeSet<String>,
    today: NaiveDate,
}

impl<'a> Lines<'a> {
    /// The lines of a diary.
    pub fn of(known: &Known<'a>) -> Self {
        let entries = &known.diary.entries;
        let stands =
            |a: &&Allow| entries.get(a.entry.0 as usize).is_none_or(|e| e.standing == Standing::Done);
        let lines = known.diary.allows.iter().filter(stands);
        Self {
            lines: lines.map(|a| (a, a.about.as_deref().map(fold))).collect(),
            written: entries.iter().filter_map(|e| Some((e.id.0, e.days?.last))).collect(),
            kinds: known.diary.things.iter().map(|t| fold(&t.thing.kind)).collect(),
            today: known.today,
        }
    }

    /// Whether some line keeps quiet what page `code` says about these things, its actions included.
    pub fn cover(&self, code: &str, about: &[String]) -> bool {
        self.lines.iter().any(|(a, named)| self.meant(a, named.as_deref(), code, about) && !self.expired(a))
    }

    /// Keeps quiet what the lines allow.
    pub fn apply<'f>(&self, known: &Known<'_>, findings: Vec<Finding<'f>>) -> Kept<'f> {
        let mut kept = Kept { said: Vec::new(), allowed: Vec::new(), hints: Vec::new() };
        let mut tallies = vec![Tally::default(); self.lines.len()];
        for finding in findings {
            let d = &finding.diagnostic;
            let mut by: Option<&Allow> = None;
            for ((line, named), tally) in self.lines.iter().zip(&mut tallies) {
                if !self.meant(line, named.as_deref(), &d.code, &d.about) {
                    continue;
                }
                if self.expired(line) {
                    tally.missed += 1;
                } else if d.severity == Severity::Alarm && line.reason.is_none() {
                    tally.unreasoned += 1;
                } else {
                    tally.hidden += 1;
                    by = by.or(Some(line));
                }
            }
            match by {
                Some(line) => {
                    kept.allowed.push(Allowed { by: words(known, line), finding: finding.diagnostic });
                }
                None => kept.said.push(finding),
            }
        }
        kept.allowed.sort_by(|a, b| {
            let key = |x: &Allowed| (x.finding.severity, x.finding.primary.as_ref().map(|l| l.loc));
            (key(a), &a.finding.code, &a.finding.about).cmp(&(key(b), &b.finding.code, &b.finding.about))
        });
        let hints = self.lines.iter().zip(tallies);
        let ended = |line: &Allow| self.ends(line).filter(|_| self.expired(line));
        kept.hints = hints.filter_map(|((line, _), tally)| hint(known, line, ended(line), tally)).collect();
        kept
    }

    /// The last day a line holds: the one it says, but no more than a year on.
    fn ends(&self, line: &Allow) -> Option<NaiveDate> {
        let longest = self.written.get(&line.entry.0).map(|day| date::shift(*day, LONGEST_DAYS));
        [line.until, longest].into_iter().flatten().min()
    }

    fn expired(&self, line: &Allow) -> bool {
        self.ends(line).is_some_and(|until| until < self.today)
    }

    /// Whether a line means this code and one of these things; a thing may be named without its kind.
    fn meant(&self, line: &Allow, named: Option<&str>, code: &str, about: &[String]) -> bool {
        let kind = |word: &str| self.kinds.contains(word);
        *line.code == *code
            && named.is_none_or(|named| about.iter().any(|thing| same_thing(&kind, named, &fold(thing))))
    }
}

/// Whether two folded names are one, either of them perhaps with its kind word before it: names that end
/// in their kind word are shown without it.
fn same_thing(kind: &dyn Fn(&str) -> bool, a: &str, b: &str) -> bool {
    let bare = |s: &str, t: &str| s.split_once(' ').is_some_and(|(word, name)| kind(word) && name == t);
    a == b || bare(a, b) || bare(b, a)
}

/// What became of the findings a line means.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    hidden: usize,
    missed: usize,
    unreasoned: usize,
}

/// `allowed until 1 September 2026: sealed peat mix`.
fn words(known: &Known<'_>, line: &Allow) -> String {
    let until = line.until.map(|d| format!(" until {}", date::long(d))).unwrap_or_default();
    let reason = line.reason.as_ref().map(|r| format!(": {r}")).unwrap_or_default();
    match entry_loc(known, line) {
        Some(loc) => format!("allowed at {}{until}{reason}", known.sources.place(loc)),
        None => format!("allowed{until}{reason}"),
    }
}

fn entry_loc(known: &Known<'_>, line: &Allow) -> Option<Loc> {
    known.diary.entries.get(line.entry.0 as usize).map(|e| e.loc)
}

fn hint(known: &Known<'_>, line: &Allow, ended: Option<NaiveDate>, tally: Tally) -> Option<Diagnostic> {
    let what = match &line.about {
        Some(thing) => format!("{} on {thing}", line.code),
        None => line.code.to_string(),
    };
    let (code, message, label, remark) = if let Some(until) = ended {
        let remark = if tally.missed > 0 {
            "it would still hide something: deal with that, or write a new `allow` with a later day"
        } else {
            "nothing is left for it to hide; it may stay in the diary"
        };
        let message = format!("allowing {what} ran out on {}", date::long(until));
        ("allow-expired", message, "ran out", remark.to_owned())
    } else if tally.unreasoned > 0 {
        let message = format!("an alarm is only allowed with a reason: {what} is still said");
        let remark = format!("- allow {what}: why it is no matter here");
        ("allow-needs-reason", message, "no reason given", remark)
    } else if tally.hidden == 0 && settled(known, line) {
        let remark = match unknown_code(known, &line.code) {
            Some(Some(near)) => format!("no page has this code; did you mean `{near}`?"),
            Some(None) => "no page has this code; `haulm rules` lists them".to_owned(),
            None => "nothing of this kind is said; the line can go".to_owned(),
        };
        ("allow-unused", format!("allowing {what} hides nothing"), "hides nothing", remark)
    } else {
        return None;
    };
    let kind = if code == "allow-needs-reason" { RemarkKind::Write } else { RemarkKind::Note };
    let mut d = Diagnostic::new(code, Severity::Hint, message).remark(kind, remark);
    d.about = line.about.iter().cloned().collect();
    Some(match entry_loc(known, line) {
        Some(loc) => d.at(loc, label),
        None => d,
    })
}

/// How long an `allow` holds at most, whatever it says: another season is another load and other ground ("our
/// judgement").
const LONGEST_DAYS: i64 = 365;

/// How long an `allow` may wait for what it allows before it is called unused ("our judgement"): a line
/// is often written when a load comes in, and the finding comes when it is first used.
const WAIT_DAYS: i64 = 30;

/// Whether a line has had its time, or names a code that no page has and so never will hide anything.
fn settled(known: &Known<'_>, line: &Allow) -> bool {
    let written = known.diary.entries.get(line.entry.0 as usize).and_then(|e| e.days).map(|d| d.last);
    unknown_code(known, &line.code).is_some()
        || written.is_none_or(|day| date::shift(day, WAIT_DAYS) < known.today)
}

/// `Some(nearest)` if no page has this code.
fn unknown_code<'a>(known: &Known<'a>, code: &str) -> Option<Option<&'a str>> {
    let codes = || known.pages.iter().filter(|p| p.severity.is_some()).map(|p| &*p.code);
    if codes().any(|c| c == code) { None } else { Some(nearest(code, codes())) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thing_is_the_same_with_and_without_its_kind_word() {
        let kind = |word: &str| word == "shelf";
        let same = |a: &str, b: &str| same_thing(&kind, a, b);
        assert!(same("shelf oak", "oak"));
        assert!(same("oak shelf", "shelf oak shelf"));
        assert!(same("oak", "oak"));
        assert!(!same("shelf oak", "shelf ash"));
        assert!(!same("oak shelf", "shelf"));
    }
}
