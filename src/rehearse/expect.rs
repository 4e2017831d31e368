//! What an example expects, read and compared with what was found.
//!
//! Comes in: expectation lines and a checked journal. Goes out: a located reason for each that does not
//! hold. It runs nothing itself.

use chrono::NaiveDate;

use super::{failed, findings};
use crate::{
    base::diagnostic::{Diagnostic, RemarkKind, Severity},
    base::name::fold,
    measure::date,
    model::{
        finding::{Action, ActionState},
        page::{Example, Page, PageKind, Passage},
    },
    session::{
        Checked,
        trial::{Played, Sentences},
    },
};

/// One expectation.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Expected {
    /// `warn untested-lot about lot tern-26`
    Finding { severity: Severity, code: String, about: Option<String> },
    /// `do pot a bean test of lot tern-26 by 2026-03-23`
    Action { state: State, words: String, by: Option<NaiveDate> },
    /// `says lot tern-26 was spread on bed north-1 on 2026-03-20`
    Says(Passage),
}

/// How an action stands, without its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum State {
    Open,
    Done,
    Skipped,
}

/// Reads one line; true for one that begins with `not`.
pub(super) fn read(line: &Passage) -> Result<(bool, Expected), Diagnostic> {
    let text = line.text.trim();
    let (not, rest) = match text.strip_prefix("not ") {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text),
    };
    let (word, rest) = rest.split_once(' ').unwrap_or((rest, ""));
    let rest = rest.trim();
    let severity = [Severity::Alarm, Severity::Error, Severity::Warn, Severity::Hint]
        .into_iter()
        .find(|s| s.word() == word);
    let state = match word {
        "do" => Some(State::Open),
        "done" => Some(State::Done),
        "skipped" => Some(State::Skipped),
        _ => None,
    };
    let expected = match (severity, state, word) {
        (Some(severity), ..) if !rest.is_empty() => {
            let (code, about) = match rest.split_once(" about ") {
                Some((code, about)) => (code.trim(), Some(about.trim().to_owned())),
                None => (rest, None),
            };
            Expected::Finding { severity, code: code.to_owned(), about }
        }
        (_, Some(state), _) if !rest.is_empty() => {
            let dated = rest.rsplit_once(" by ").and_then(|(w, d)| Some((w, date::read_day(d).ok()?)));
            let (words, by) = dated.map_or((rest, None), |(w, d)| (w, Some(d)));
            Expected::Action { state, words: words.to_owned(), by }
        }
        (_, _, "says") if !rest.is_empty() => {
            let start = line.loc.span.start as usize + (line.text.len() - rest.len());
            let mut loc = line.loc;
            loc.span = crate::base::span::Span::new(start, line.loc.span.end as usize);
            Expected::Says(Passage { loc, text: rest.into() })
        }
        _ => {
            let said = failed(line.loc, format!("`{text}` is nothing an example can expect."));
            return Err([
                "warn overdue-loan about book dune",
                "do ask ann for book dune by 2026-03-23",
                "says book dune is overdue since 2026-03-20",
                "not warn overdue-loan about book dune",
            ]
            .into_iter()
            .fold(said, |said, line| said.remark(RemarkKind::Write, line)));
        }
    };
    Ok((not, expected))
}

/// Whether an expectation holds.
pub(super) fn holds(
    sentences: &Sentences,
    checked: &Checked,
    expected: &Expected,
) -> Result<bool, Diagnostic> {
    Ok(match expected {
        Expected::Finding { severity, code, about } => findings(checked).iter().any(|d| {
            d.severity == *severity
                && *d.code == **code
                && about.as_ref().is_none_or(|a| {
                    let meant = |told: &str| fold(a) == fold(told);
                    meant(&d.about.join(" and ")) || d.about.iter().any(|one| meant(one))
                })
        }),
        Expected::Action { state, words, by } => actions(checked).any(|a| {
            *state == state_of(a) && fold(words) == fold(&a.words) && by.is_none_or(|day| day == a.by)
        }),
        Expected::Says(sentence) => sentences.hold(checked, sentence)?,
    })
}

fn actions(checked: &Checked) -> impl Iterator<Item = &Action> {
    checked.report.actions.iter()
}

fn state_of(action: &Action) -> State {
    match action.state {
        ActionState::Open => State::Open,
        ActionState::Done(_) => State::Done,
        ActionState::Skipped(_) => State::Skipped,
    }
}

/// What a page itself says of a journal, one line for each finding and action.
pub(super) fn own(checked: &Checked, page: &Page) -> Vec<String> {
    let found = findings(checked).into_iter().filter(|d| d.code == page.code).map(|d| {
        let about =
            if d.about.is_empty() { String::new() } else { format!(" about {}", d.about.join(" and ")) };
        format!("{} {}{about}: {}", d.severity.word(), d.code, d.message)
    });
    let asked = actions(checked).filter(|a| a.code == page.code).map(|a| {
        let state = match a.state {
            ActionState::Open => "do",
            ActionState::Done(_) => "done",
            ActionState::Skipped(_) => "skipped",
        };
        format!("{state} {} by {}", a.words, a.by)
    });
    let mut all: Vec<String> = found.chain(asked).collect();
    all.sort();
    all
}

/// Everything in which a journal comes out otherwise than its example says.
pub(super) fn differs(played: &Played, page: &Page, example: &Example) -> Vec<Diagnostic> {
    let own = own(played.checked(), page);
    let mut all = Vec::new();
    for line in &example.expected {
        let outcome = read(line)
            .and_then(|(not, expected)| Ok((not, holds(played.sentences(), played.checked(), &expected)?)));
        match outcome {
            Ok((not, holds)) if not == holds => {
                let message = if not {
                    format!("“{}” should not come to this, but does.", example.name.text)
                } else {
                    format!("“{}” should come to this, but does not.", example.name.text)
                };
                all.push(with_own(failed(line.loc, message), &own));
            }
            Ok(_) => {}
            Err(said) => all.push(said),
        }
    }
    let coded = matches!(page.kind, PageKind::Rule | PageKind::Reading);
    if coded && !example.must_fire && !own.is_empty() {
        let message = format!("“{}” must stay silent, but does not.", example.name.text);
        all.push(with_own(failed(example.name.loc, message), &own));
    }
    all
}

fn with_own(said: Diagnostic, own: &[String]) -> Diagnostic {
    if own.is_empty() {
        return said.remark(RemarkKind::Note, "The page says nothing of this journal.");
    }
    own.iter().fold(said, |said, line| said.remark(RemarkKind::Note, format!("It says: {line}")))
}
