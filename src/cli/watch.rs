//! `watch`: the farm followed in a terminal.
//!
//! Comes in: where it is. Goes out: the first report, then what each save changed, until Ctrl-C.

use std::{io, path::Path, sync::mpsc};

use chrono::Local;
use serde_json::{Value, json};

use super::{
    args::{Common, Format, Watch},
    check,
    out::{End, Failure, say, style},
};
use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    measure::date,
    model::finding::{Action, ActionState},
    read::Farm,
    serve::watch::{self as watching, Away, Because, Ears, News, Pace, Said, Tell},
    session::Checked,
    show::{
        self,
        layout::{Style, count as count_of},
        lines,
    },
};

/// Watches until Ctrl-C, or until nobody reads the output.
///
/// # Errors
/// When there is nothing to watch, or the output cannot be written.
pub fn run(common: &Common, asked: &Watch) -> Result<End, Failure> {
    let farm = Farm::at(&asked.at.path);
    let Some(folder) = farm.folder().map(|f| f.display().to_string()) else {
        return Err(Failure::Said("standard input cannot be watched; name a folder or a file".to_owned()));
    };
    if !asked.at.path.exists() {
        return Err(Failure::Said(format!("there is no {} to watch", asked.at.path.display())));
    }
    let (tell, inbox) = mpsc::channel();
    let ears = if asked.poll { Ears::shut("--poll says so") } else { Ears::open(tell.clone()) };
    // A second Ctrl-C finds the same handler; the watch ends at the first.
    ctrlc::set_handler(move || {
        let _ = tell.send(Tell::Stop);
    })
    .map_err(|e| Failure::Said(format!("Ctrl-C cannot be listened for: {e}")))?;

    let today = check::held_day(common);
    let now = move || {
        let now = Local::now().naive_local();
        // A day that is asked for is held; the time of day still runs.
        today.map_or(now, |day| day.and_time(now.time()))
    };
    let ended = watching::Watch::over(farm, ears, Pace::default(), &now, common.as_of)
        .run(&inbox, &mut |said| speak(common, &folder, &said));
    match ended.map_err(Failure::from) {
        // Whoever read the output has seen enough.
        Ok(()) | Err(Failure::Unread) => Ok(End::Quiet),
        Err(failure) => Err(failure),
    }
}

fn speak(common: &Common, folder: &str, said: &Said<'_>) -> io::Result<()> {
    let text = match common.format {
        Format::Human | Format::Short => in_words(common, folder, said),
        Format::Json => in_json(said),
    };
    say(&text).map_err(|failure| match failure {
        Failure::Unread => io::ErrorKind::BrokenPipe.into(),
        Failure::Said(why) => io::Error::other(why),
    })
}

fn in_words(common: &Common, folder: &str, said: &Said<'_>) -> String {
    match said {
        Said::Start { checked } => {
            format!(
                "{}\nWatching {folder}; Ctrl-C ends it.\n",
                check::report(common, checked, Path::new(folder))
            )
        }
        Said::Polling { why, every } => {
            format!("Looking every {} s, since {why}.\n", every.as_secs_f32())
        }
        Said::Again { checked, before, because, news, took } => {
            let ms = took.as_secs_f64() * 1e3;
            let headline = format!("{}: {} ({ms:.0} ms)", cause(because), count(news));
            let new = match common.format {
                Format::Short => short(&news.new, &checked.sources),
                _ => show::terminal::diagnostics(
                    &news.new,
                    &checked.sources,
                    &style(common).of(Path::new(folder)),
                ),
            };
            let style = style(common);
            let mut out = format!("\n{}", lines::paragraph(0, &headline, &style));
            for part in [new, in_brief(news, checked, &before.sources, &style)] {
                if !part.is_empty() {
                    out += &format!("\n{part}");
                }
            }
            out
        }
    }
}

/// Columns of the word before what changed, went away or is to do.
const WORD: usize = 7;

/// What says something else now, what went away, and which actions opened and closed: in brief.
/// What went away with a file is counted, and not told one by one.
fn in_brief(news: &News, checked: &Checked, before: &Sources, style: &Style) -> String {
    let finding = |word: &str, d: &Diagnostic, sources: &Sources| {
        let place = d.primary.as_ref().map_or_else(String::new, |l| format!("{} ", sources.place(l.loc)));
        let text = format!("{place}{}: {}", d.severity.word(), d.message);
        lines::noted(&format!("{word:WORD$}"), &text, &d.code, style)
    };
    let mut out = String::new();
    let whole = news.away.is_empty();
    if !whole {
        out += &lines::paragraph(0, &without(news), style);
    }
    out.extend(news.changed.iter().map(|d| finding("now", d, &checked.sources)));
    out.extend(news.gone.iter().filter(|_| whole).map(|d| finding("gone", d, before)));
    for action in &news.to_do {
        let day = date::long(action.by);
        let text = if action.by < checked.today {
            format!("overdue since {day}: {}", action.words)
        } else {
            format!("by {day}: {}", action.words)
        };
        out += &lines::noted(&format!("{:WORD$}", "to do"), &text, &action.code, style);
    }
    for action in &news.closed {
        let word = if matches!(action.state, ActionState::Skipped(_)) { "skipped" } else { "done" };
        out += &lines::noted(&format!("{word:WORD$}"), &action.words, &action.code, style);
    }
    for action in news.dropped.iter().filter(|_| whole) {
        let text = format!("{} is no longer asked for", action.words);
        out += &lines::noted(&format!("{:WORD$}", "gone"), &text, &action.code, style);
    }
    out
}

/// Which files are not read any more, and how much went with them.
fn without(news: &News) -> String {
    let names = |of: bool| -> Vec<&str> {
        news.away.iter().filter(|a: &&Away| a.unreadable == of).map(|a| &*a.path).collect()
    };
    let mut said = Vec::new();
    for (files, one, many) in [
        (names(true), "cannot be read for now", "cannot be read for now"),
        (names(false), "is not there any more", "are not there any more"),
    ] {
        match files.as_slice() {
            [] => {}
            [file] => said.push(format!("{file} {one}")),
            [first, rest @ ..] => said.push(format!("{first} and {} more {many}", rest.len())),
        }
    }
    let went = [
        (news.gone.len(), count_of(news.gone.len(), "finding", "findings")),
        (news.dropped.len(), count_of(news.dropped.len(), "thing to do", "things to do")),
    ];
    let went: Vec<String> = went.into_iter().filter(|(n, _)| *n > 0).map(|(_, words)| words).collect();
    let went = if went.is_empty() { "nothing".to_owned() } else { went.join(" and ") };
    format!("{}; {went} went with it.", said.join(", "))
}

fn short(list: &[Diagnostic], sources: &Sources) -> String {
    list.iter().map(|d| show::short::line(d, sources)).collect()
}

fn cause(because: &Because) -> String {
    match because {
        Because::Changed(paths) => match paths.as_slice() {
            [one] => format!("{one} changed"),
            [one, two] => format!("{one} and {two} changed"),
            [one, rest @ ..] => format!("{one} and {} more changed", rest.len()),
            [] => "something changed".to_owned(),
        },
        Because::Readable => "what can be read changed".to_owned(),
        Because::NewDay(day) => format!("it is {} {}", date::weekday_name(*day), date::long(*day)),
    }
}

fn count(news: &News) -> String {
    let stay = match news.stay {
        0 => "nothing stays".to_owned(),
        1 => "1 as before".to_owned(),
        n => format!("{n} as before"),
    };
    let parts =
        [(news.new.len(), "new"), (news.changed.len(), "now otherwise"), (news.gone.len(), "went away")];
    let mut said: Vec<String> =
        parts.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}")).collect();
    if said.is_empty() {
        said.push("nothing new".to_owned());
    }
    said.push(stay);
    said.join(", ")
}

fn in_json(said: &Said<'_>) -> String {
    let value = match said {
        Said::Start { checked } => {
            json!({ "start": { "today": checked.today, "report": show::json::value(&checked.report, &checked.sources) } })
        }
        Said::Polling { why, every } => {
            json!({ "polling": { "why": why, "every_seconds": every.as_secs_f64() } })
        }
        Said::Again { checked, before, because, news, took } => json!({ "again": {
            "because": cause(because),
            "new": findings(&news.new, &checked.sources),
            "changed": findings(&news.changed, &checked.sources),
            "gone": findings(&news.gone, &before.sources),
            "stay": news.stay,
            "to_do": actions(&news.to_do, &checked.sources),
            "closed": actions(&news.closed, &checked.sources),
            "dropped": actions(&news.dropped, &before.sources),
            "away": news.away.iter().map(|a| json!({ "path": &*a.path, "unreadable": a.unreadable })).collect::<Vec<_>>(),
            "milliseconds": took.as_secs_f64() * 1e3,
        } }),
    };
    format!("{value}\n")
}

fn findings(list: &[Diagnostic], sources: &Sources) -> Vec<Value> {
    list.iter().map(|d| show::json::finding(d, sources)).collect()
}

fn actions(list: &[Action], sources: &Sources) -> Vec<Value> {
    list.iter().map(|a| show::json::action(a, sources)).collect()
}
