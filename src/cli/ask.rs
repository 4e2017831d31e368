//! `why`, `trace`, `due` and `words`: one question about a checked journal.
//!
//! Comes in: the question. Goes out: the answer on standard output.

use std::path::Path;

use serde_json::{Value, json};

use super::{
    args::{Common, Format, Trace, Where, Why, Words},
    check::{check, rulebook, today},
    out::{End, Failure, say, style},
};
use crate::{read::Farm, session::Session, show};

/// The reasons for what is said.
///
/// # Errors
/// When the question names nothing known, or the answer cannot be written.
pub fn why(common: &Common, asked: &Why) -> Result<End, Failure> {
    if let Some(sentence) = &asked.not {
        return why_not(common, asked, sentence);
    }
    let what = asked.what.as_deref().unwrap_or("");
    let (name, path) = with_kind(what, asked.path.as_deref(), asked.third.as_deref())?;
    if let Some(entry) = &asked.what_if {
        let name = asked.what.is_some().then_some(&*name);
        return what_if(common, name, path, entry);
    }
    let (name, path) = either_way(&name, path.unwrap_or(Path::new(".")));
    let (checked, whole) = check(common, path);
    let why = checked.why(name).map_err(Failure::Said)?;
    say(&match common.format {
        Format::Json => lines(&show::answers::why(&why, &checked.sources)),
        _ => show::why::why(&why, &checked.sources, asked.whole, &style(common).of(path)),
    })?;
    Ok(ended(whole))
}

/// A name and a path, where the name may be two words: `bed b-1` is the kind and the name of one thing.
fn with_kind<'a>(
    first: &str,
    second: Option<&'a Path>,
    third: Option<&'a Path>,
) -> Result<(String, Option<&'a Path>), Failure> {
    let name = second.and_then(Path::to_str).filter(|_| Session::is_kind(first));
    match (name, third) {
        (Some(name), Some(_)) => Ok((format!("{first} {name}"), third)),
        (Some(name), None) if name != "-" && second.is_some_and(|path| !path.exists()) => {
            Ok((format!("{first} {name}"), None))
        }
        (_, None) => Ok((first.to_owned(), second)),
        (_, Some(third)) => Err(Failure::Said(format!(
            "`{}` is more than this reads: one name, and where the journal is",
            third.display()
        ))),
    }
}

/// A name and a path, in whichever order they were given: the path is the one that is there.
fn either_way<'a>(name: &'a str, path: &'a Path) -> (&'a str, &'a Path) {
    match path.to_str() {
        Some(second) if second != "-" && !path.exists() && Path::new(name).exists() => {
            (second, Path::new(name))
        }
        _ => (name, path),
    }
}

/// How chances would move if an entry were written. What stands alone beside it is the path if there is
/// such a path, else a name.
fn what_if(common: &Common, name: Option<&str>, path: Option<&Path>, entry: &str) -> Result<End, Failure> {
    let (name, path) = match (name, path) {
        (Some(name), Some(path)) => (Some(name), path),
        (Some(one), None) if one == "-" || Path::new(one).exists() => (None, Path::new(one)),
        (Some(name), None) => (Some(name), Path::new(".")),
        (None, _) => (None, Path::new(".")),
    };
    let mut session = Session::new();
    session.set_reading(Farm::at(path).read());
    let whole = session.left_out().is_empty();
    let answer = session.what_if(entry, name, today(common), common.as_of).map_err(Failure::Said)?;
    say(&match common.format {
        Format::Json => lines(&show::answers::what_if(&answer)),
        _ => show::what_if::what_if(&answer, &style(common)),
    })?;
    Ok(ended(whole))
}

/// What is missing for a sentence to hold. The sentence is the question, so what is named beside it is
/// the path.
fn why_not(common: &Common, asked: &Why, sentence: &str) -> Result<End, Failure> {
    let path = match (&asked.what, &asked.path) {
        (Some(_), Some(_)) => {
            return Err(Failure::Said("with --not give the sentence and at most a PATH".to_owned()));
        }
        (Some(path), None) => Path::new(path),
        (None, _) => Path::new("."),
    };
    let (checked, whole) = check(common, path);
    let answers = checked.why_not(sentence).map_err(Failure::Said)?;
    say(&match common.format {
        Format::Json => lines(&show::answers::missing(&answers, &checked.sources)),
        _ => show::missing::missing(&answers, &checked.sources, &style(common)),
    })?;
    Ok(ended(whole))
}

/// Where a thing came from and where it went.
///
/// # Errors
/// When it names nothing known, or the answer cannot be written.
pub fn trace(common: &Common, asked: &Trace) -> Result<End, Failure> {
    let (name, path) = with_kind(&asked.name, asked.path.as_deref(), asked.third.as_deref())?;
    let (name, path) = either_way(&name, path.unwrap_or(Path::new(".")));
    let (checked, whole) = check(common, path);
    let trace = match asked.on {
        Some(day) => checked.trace_on(name, day),
        None => checked.trace(name),
    }
    .map_err(Failure::Said)?;
    say(&match common.format {
        Format::Json => lines(&show::answers::trace(&trace, &checked.sources)),
        _ => show::trace::trace(&trace, &checked.sources, &style(common).of(path)),
    })?;
    Ok(ended(whole))
}

/// What to do next.
///
/// # Errors
/// When the answer cannot be written.
pub fn due(common: &Common, at: &Where) -> Result<End, Failure> {
    let (checked, whole) = check(common, &at.path);
    say(&match common.format {
        Format::Json => {
            let report = &checked.report;
            let list = |actions: &[_]| -> Vec<_> {
                actions.iter().map(|a| show::json::action(a, &checked.sources)).collect()
            };
            lines(&json!({
                "today": checked.today,
                "actions": list(&report.actions),
                "quiet_actions": list(&report.quiet_actions),
            }))
        }
        Format::Human | Format::Short => {
            show::due::due(&checked.report, &checked.sources, &style(common).of(&at.path))
        }
    })?;
    Ok(ended(whole))
}

/// The phrase book.
///
/// # Errors
/// When nothing is known of the word, or the answer cannot be written.
pub fn words(common: &Common, asked: &Words) -> Result<End, Failure> {
    let (checked, whole) = rulebook(common, &asked.at.path);
    let book = checked.words(asked.word.as_deref());
    let text = match common.format {
        Format::Json => lines(&show::answers::words(&book)),
        _ if asked.word.is_none() && !common.all => show::words::verbs(&book, &style(common)),
        _ => show::words::words(&book, &style(common)),
    };
    let near = asked.word.as_deref().filter(|_| book.verbs.is_empty() && book.kinds.is_empty());
    if let Some(near) = near.and_then(|word| checked.near_word(word)) {
        return Err(Failure::Said(format!(
            "no verb and no word of the tables has that in it; did you mean `{near}`?"
        )));
    }
    say(&text)?;
    Ok(ended(whole))
}

/// JSON as text, indented, with a line break at its end.
pub fn lines(value: &Value) -> String {
    format!("{value:#}\n")
}

/// An answer was given; whether all that it could rest on was read.
fn ended(whole: bool) -> End {
    if whole { End::Quiet } else { End::Failed }
}
