//! `watch`: the farm followed in a terminal.
//!
//! Comes in: where it is. Goes out: the first report, then what each save changed, until Ctrl-C.

use std::{fmt::Write, io, sync::mpsc};

use chrono::Local;
use serde_json::{Value, json};

use super::{
    args::{Common, Format, Watch},
    check,
    out::{End, Failure, say, style},
};
use crate::{
    base::{diagnostic::Diagnostic, source::Sources},
    model::finding::{Action, ActionState},
    read::Farm,
    serve::watch::{self as watching, Because, Ears, News, Pace, Said, Tell},
    show,
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

    let today = common.today;
    let now = move || {
        let now = Local::now().naive_local();
        // With --today the day is held; the time of day still runs.
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
            format!("{}\nWatching {folder}; Ctrl-C ends it.\n", check::report(common, checked))
        }
        Said::Polling { why, every } => {
            format!("Looking every {} s, since {why}.\n", every.as_secs_f32())
        }
        Said::Again { checked, before, because, news, took } => {
            let mut out =
                format!("\n{}: {} ({:.0} ms)\n", cause(because), count(news), took.as_secs_f64() * 1e3);
            if !news.new.is_empty() {
                let text = match common.format {
                    Format::Short => short(&news.new, &checked.sources),
                    _ => show::terminal::diagnostics(&news.new, &checked.sources, &style(common)),
                };
                let _ = write!(out, "\n{text}");
            }
            for gone in &news.gone {
                let place = gone.primary.as_ref().map(|l| before.sources.place(l.loc));
                let place = place.map_or_else(String::new, |p| format!("  ({p})"));
                let _ =
                    writeln!(out, "gone   {} {}: {}{place}", gone.severity.word(), gone.code, gone.message);
            }
            for action in &news.to_do {
                let _ = writeln!(out, "to do  by {}: {}", action.by, action.words);
            }
            for action in &news.closed {
                let word = if matches!(action.state, ActionState::Skipped(_)) { "skipped" } else { "done" };
                let _ = writeln!(out, "{word:<7}{}", action.words);
            }
            for action in &news.dropped {
                let _ = writeln!(out, "no longer to do: {}", action.words);
            }
            out
        }
    }
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
        Because::NewDay(day) => format!("it is {day}"),
    }
}

fn count(news: &News) -> String {
    let stay = match news.stay {
        0 => "nothing stays".to_owned(),
        1 => "1 as before".to_owned(),
        n => format!("{n} as before"),
    };
    match (news.new.len(), news.gone.len()) {
        (0, 0) => format!("nothing new, {stay}"),
        (new, 0) => format!("{new} new, {stay}"),
        (0, gone) => format!("{gone} went away, {stay}"),
        (new, gone) => format!("{new} new, {gone} went away, {stay}"),
    }
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
            "gone": findings(&news.gone, &before.sources),
            "stay": news.stay,
            "to_do": actions(&news.to_do, &checked.sources),
            "closed": actions(&news.closed, &checked.sources),
            "dropped": actions(&news.dropped, &before.sources),
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
