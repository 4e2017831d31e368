//! `rules`: the rule pages, listed, shown and tested.
//!
//! Comes in: which pages. Goes out: text on standard output, and for a test the exit status.

use std::time::Instant;

use serde_json::{Value, json};

use super::{
    args::{Common, Format, RulesCommand, Where},
    ask::lines,
    check::rulebook,
    out::{End, Failure, say, style},
};
use crate::{
    base::{diagnostic::Diagnostic, name::nearest, source::Sources},
    read::Farm,
    rehearse::{Case, Rehearsal},
    session::Session,
    show::{self, layout::count},
};

/// Lists, shows or tests.
///
/// # Errors
/// When there is no such page, or the answer cannot be written.
pub fn run(common: &Common, asked: &RulesCommand) -> Result<End, Failure> {
    match asked {
        RulesCommand::List(at) => {
            let (checked, _) = rulebook(common, &at.path);
            let notes = checked.page_notes();
            say(&match common.format {
                Format::Json => lines(&notes.iter().map(show::answers::page).collect::<Vec<_>>().into()),
                _ => show::rules::list(&notes, &style(common).of(&at.path)),
            })?;
            Ok(End::Quiet)
        }
        RulesCommand::Show { code, at } => {
            let (checked, _) = rulebook(common, &at.path);
            let Some(note) = checked.page_note(code) else {
                let notes = checked.page_notes();
                let near = nearest(code, notes.iter().map(|n| n.code.as_str()));
                let near = near.map_or_else(
                    || "`haulm rules list` lists them".to_owned(),
                    |near| format!("did you mean `{near}`?"),
                );
                return Err(Failure::Said(format!("there is no page `{code}`; {near}")));
            };
            say(&match common.format {
                Format::Json => lines(&show::answers::page(&note)),
                _ => show::rules::show(&note, &style(common).of(&at.path)),
            })?;
            Ok(End::Quiet)
        }
        RulesCommand::Test { at, page, weaken } => test(common, at, page.as_deref(), *weaken),
    }
}

/// Runs the pages' examples, of one page or of all, and with `weaken` every rule without each of its lines.
fn test(common: &Common, at: &Where, page: Option<&str>, weaken: bool) -> Result<End, Failure> {
    let started = Instant::now();
    let mut session = Session::new();
    session.set_reading(Farm::pages_at(&at.path).read());
    let mut rehearsal = Rehearsal::new(&session);
    let (mut faults, sources) = rehearsal.faults();
    faults.extend(session.left_out().iter().map(|l| l.said.clone()));
    let mut examples = rehearsal.examples();
    let mut rules = if weaken { rehearsal.rules() } else { Vec::new() };
    if let Some(page) = page {
        if !examples.iter().chain(&rules).any(|case| *case.code == *page) {
            return Err(Failure::Said(format!(
                "no page `{page}` has examples; `haulm rules list` lists the pages"
            )));
        }
        examples.retain(|case| *case.code == *page);
        rules.retain(|case| *case.code == *page);
    }
    let mut failed = Vec::new();
    let cases: Vec<Case> = examples.iter().chain(&rules).cloned().collect();
    for (case, said) in cases.iter().zip(rehearsal.run_all(&cases)) {
        if said.is_empty() {
            continue;
        }
        if common.format == Format::Json {
            let findings = findings(&said, &sources);
            failed.push(json!({ "code": &*case.code, "name": case.name, "findings": findings }));
        } else {
            say(&format!("{}: {}\n\n", case.code, case.name))?;
            tell(common, &said, &sources)?;
            failed.push(Value::Null);
        }
    }
    let found = !failed.is_empty() || faults.iter().any(|f| common.threshold.counts(f.severity));
    if common.format == Format::Json {
        say(&lines(&json!({
            "examples": examples.len(),
            "rules": rules.len(),
            "failed": failed,
            "faults": findings(&faults, &sources),
        })))?;
    } else {
        tell(common, &faults, &sources)?;
        let ran = match (examples.len(), rules.len()) {
            (examples, 0) => count(examples, "example", "examples"),
            (examples, rules) => format!(
                "{} and {}",
                count(examples, "example", "examples"),
                count(rules, "rule without each of its lines", "rules without each of their lines")
            ),
        };
        let unread = match faults.len() {
            0 => String::new(),
            n => format!(", {}", count(n, "fault of pages", "faults of pages")),
        };
        let took = started.elapsed().as_secs_f64();
        say(&match failed.len() {
            0 => format!("{ran} in {took:.1} s: all as the pages say{unread}\n"),
            n => format!("{ran} in {took:.1} s: {n} not as the pages say{unread}\n"),
        })?;
    }
    let end = if found { End::Found } else { End::Quiet };
    let end = if session.left_out().is_empty() { end } else { End::Failed };
    // As in `check`: the process ends here.
    std::mem::forget((session, rehearsal));
    Ok(end)
}

/// Findings for a program.
fn findings(said: &[Diagnostic], sources: &Sources) -> Vec<Value> {
    said.iter().map(|d| show::json::finding(d, sources)).collect()
}

/// Findings for reading.
fn tell(common: &Common, said: &[Diagnostic], sources: &Sources) -> Result<(), Failure> {
    if said.is_empty() {
        return Ok(());
    }
    say(&match common.format {
        Format::Human => show::terminal::diagnostics(said, sources, &style(common)) + "\n",
        Format::Short | Format::Json => said.iter().map(|d| show::short::line(d, sources)).collect(),
    })
}
