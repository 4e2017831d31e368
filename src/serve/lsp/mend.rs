//! What can be done about what is said: corrections, the entry an action waits for, a line that keeps a
//! finding quiet, the reasons.
//!
//! Comes in: a check and a range. Goes out: edits the grower may accept, never applied unasked. A line
//! that keeps a finding quiet is given no reason: that is the grower's to write, and its lack is said.

use chrono::Days;
use lsp_types::{Diagnostic as Shown, Position, Range, TextEdit};
use serde_json::{Value, json};

use super::{
    commands::{PAGE, WHY},
    round::Round,
    said,
};
use crate::{
    base::{
        diagnostic::Diagnostic,
        span::{FileId, Loc, Span},
    },
    measure::date,
    model::{finding::Action, journal::When},
};

/// How long a finding may be kept quiet at first; the line can say another day (our judgement).
const QUIET_DAYS: u64 = 30;
/// The most actions offered for one line: each can be written, done or skipped, and a menu is read at a glance.
const ACTIONS: usize = 3;

/// What can be done in a range of a file. `only` narrows it to kinds of action that begin so.
pub fn mends(round: &Round, file: FileId, range: Range, only: Option<&[String]>) -> Value {
    let findings: Vec<(&Diagnostic, Loc)> = round
        .checked
        .report
        .findings
        .iter()
        .filter_map(|f| Some((f, f.primary.as_ref()?.loc)))
        .filter(|(_, loc)| loc.file == file && meets(round.range(*loc), range))
        .collect();
    let shown = said::by_file(round).remove(&file).unwrap_or_default();
    let mut out = Vec::new();
    for (finding, loc) in &findings {
        let shown =
            shown.iter().find(|s| s.range == round.range(*loc) && s.message == said::message(finding));
        out.extend(fixes(round, finding, shown));
    }
    if round.is_journal(file) {
        for action in actions(round, file, range, &findings) {
            if let Some(line) = round.checked.entry_for(action) {
                let title = format!("write today: {}", line.trim_start_matches("- "));
                out.extend(written(round, file, &title, &line));
            }
            let title = format!("note as done today: {}", action.words);
            out.extend(written(round, file, &title, &format!("- done {}", action.words)));
            let title = format!("skip, saying why: {}", action.words);
            out.extend(written(round, file, &title, &format!("- skipped {}: ", action.words)));
        }
    }
    for (finding, _) in &findings {
        let subject = finding.about.first().map_or(&*finding.code, String::as_str);
        let why = command(round, file, WHY, &format!("why: {subject}"), subject);
        // Several findings may be about one thing.
        if !out.contains(&why) {
            out.push(why);
        }
        // Where the editor has no link to the page, its text is a command away.
        let page = round.checked.pages.iter().find(|p| p.code == finding.code);
        if page.is_some_and(|p| round.shown(p.file).is_none()) {
            out.push(command(round, file, PAGE, &format!("the page: {}", finding.code), &finding.code));
        }
    }
    if round.is_journal(file) {
        out.extend(findings.iter().filter_map(|(finding, _)| allow(round, file, finding)));
    }
    if let Some(only) = only {
        let is_of = |kind: &str, of: &String| kind == of || kind.starts_with(&format!("{of}."));
        out.retain(|a| a["kind"].as_str().is_some_and(|kind| only.iter().any(|of| is_of(kind, of))));
    }
    json!(out)
}

/// Whether two ranges touch.
fn meets(a: Range, b: Range) -> bool {
    let key = |p: Position| (p.line, p.character);
    // A finding is met anywhere on the lines it stands on.
    a.start.line <= b.end.line && b.start.line <= a.end.line || key(a.start) == key(b.start)
}

/// The corrections of a finding.
fn fixes(round: &Round, finding: &Diagnostic, shown: Option<&Shown>) -> Vec<Value> {
    let fixes = finding.fixes.iter().filter_map(|fix| {
        let edit = TextEdit::new(round.range(fix.loc), fix.text.clone());
        let uri = round.uri(fix.loc.file)?;
        let mut action = json!({
            "title": fix.title,
            "kind": "quickfix",
            "isPreferred": finding.fixes.len() == 1,
            "edit": { "changes": { uri.as_str(): [edit] } },
        });
        if let Some(shown) = shown {
            action["diagnostics"] = json!([shown]);
        }
        Some(action)
    });
    fixes.collect()
}

/// Open actions that rest on a line of the range, or are about what a finding there is about.
fn actions<'a>(
    round: &'a Round,
    file: FileId,
    range: Range,
    findings: &[(&Diagnostic, Loc)],
) -> Vec<&'a Action> {
    let is_here = |loc: &Loc| loc.file == file && meets(round.range(*loc), range);
    let open = round.checked.report.open_actions().filter(|action| {
        action.lines.first().is_some_and(is_here)
            || findings.iter().any(|(f, _)| f.code == action.code && f.about == action.about)
    });
    open.take(ACTIONS).collect()
}

/// A line written under today's heading at the end of the file.
fn written(round: &Round, file: FileId, title: &str, line: &str) -> Option<Value> {
    let (at, text) = under_today(round, file, line);
    let edit = TextEdit::new(round.range(Loc::new(file, Span::new(at, at))), text);
    let uri = round.uri(file)?;
    Some(json!({ "title": title, "kind": "quickfix", "edit": { "changes": { uri.as_str(): [edit] } } }))
}

/// Where a line of today goes, and the text that puts it there, with a heading if the file does not end
/// with today's.
fn under_today(round: &Round, file: FileId, line: &str) -> (usize, String) {
    let (text, today) = (round.text(file), round.checked.today);
    let at = text.trim_end().len();
    let cut = round.checked.cut(file);
    let last_heading = cut.blocks.iter().rev().find_map(|block| match block.kind {
        crate::model::journal::BlockKind::Heading { text, .. } => Some(text),
        _ => None,
    });
    let is_today = last_heading.is_some_and(|heading| {
        let items = cut.items.iter().rev().take_while(|i| {
            i.heading.is_some_and(|h| h.span.start <= heading.start && heading.end <= h.span.end)
        });
        let mut days = items.map(|i| i.when).peekable();
        match days.peek() {
            Some(_) => days.all(|when| matches!(when, When::On(d) if d.first == today && d.last == today)),
            None => {
                let words = text.get(heading.range()).unwrap_or("");
                words.split_whitespace().next().is_some_and(|w| date::read_day(w) == Ok(today))
            }
        }
    });
    let heading = format!("## {today} {}", date::weekday_name(today));
    let text = match (at, is_today) {
        (0, _) => format!("{heading}\n\n{line}\n"),
        (_, true) => format!("\n{line}"),
        (_, false) => format!("\n\n{heading}\n\n{line}"),
    };
    (at, text)
}

/// A line that keeps a finding quiet for a while, its reason left open.
fn allow(round: &Round, file: FileId, finding: &Diagnostic) -> Option<Value> {
    let page = round.checked.pages.iter().find(|p| p.code == finding.code)?;
    // What could not be read is to be mended, not kept quiet.
    if page.rules.is_empty() {
        return None;
    }
    let until = round.checked.today.checked_add_days(Days::new(QUIET_DAYS))?;
    let on = finding.about.first().map_or_else(String::new, |thing| format!(" on {thing}"));
    let line = format!("- allow {}{on} until {until}: ", finding.code);
    let title = format!("keep quiet until {until}, saying why: {}", finding.code);
    let mut action = written(round, file, &title, &line)?;
    // Nothing is mended by it, so it is not among the corrections.
    action["kind"] = json!("haulm.allow");
    Some(action)
}

fn command(round: &Round, file: FileId, command: &str, title: &str, subject: &str) -> Value {
    let arguments = json!([round.uri(file), subject]);
    json!({
        "title": title,
        "kind": command,
        "command": { "title": title, "command": command, "arguments": arguments },
    })
}
