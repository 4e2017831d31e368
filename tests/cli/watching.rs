//! `watch` in a terminal of its own: what it prints as files are saved, and how it ends.

#![allow(clippy::panic)]

use std::{
    io::{BufRead, BufReader},
    process::{Child, Command, Stdio},
    sync::mpsc::{self, Receiver},
    time::Duration,
};

use crate::grower::{Notes, command};

const DEADLINE: Duration = Duration::from_secs(30);

struct Watching {
    child: Child,
    lines: Receiver<String>,
}

impl Watching {
    fn start(notes: &Notes, args: &[&str]) -> Self {
        let mut child =
            command(notes.path(), args).stdout(Stdio::piped()).spawn().expect("the program starts");
        let out = BufReader::new(child.stdout.take().expect("an output"));
        let (send, lines) = mpsc::channel();
        std::thread::spawn(move || {
            for line in out.lines().map_while(Result::ok) {
                if send.send(line).is_err() {
                    return;
                }
            }
        });
        Self { child, lines }
    }

    /// Waits for a line that holds these words.
    fn prints(&self, words: &str) -> String {
        let mut seen = Vec::new();
        loop {
            match self.lines.recv_timeout(DEADLINE) {
                Ok(line) if line.contains(words) => return line,
                Ok(line) => seen.push(line),
                Err(_) => panic!("no {words:?} among {seen:#?}"),
            }
        }
    }

    fn is_told(&self, signal: &str) {
        let told = Command::new("kill").args([signal, &self.child.id().to_string()]).status();
        assert!(told.is_ok_and(|s| s.success()));
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_save_prints_what_is_new_and_what_went_away() {
    let notes = Notes::with(&[("spring.md", "Prose.\n")]);
    let watching = Watching::start(&notes, &["watch", "--today", "2026-04-04"]);
    watching.prints("Watching .; Ctrl-C ends it.");
    notes.save("spring.md", "## 3/4/26\n\n- rained 12 mm\n");
    let line = watching.prints("spring.md changed");
    assert!(line.contains("1 new") && line.contains("ms)"), "{line}");
    watching.prints("3/4/26");
    notes.save("spring.md", "## 2026-03-04\n\n- rained 12 mm\n");
    let line = watching.prints("spring.md changed");
    assert!(line.contains("1 went away"), "{line}");
    watching.prints("gone ");
}

#[test]
fn a_file_that_is_away_for_a_while_does_not_take_its_findings_apart() {
    let slip = "## 3/4/26\n\n- rained 12 mm\n";
    let notes = Notes::with(&[("a.md", "Prose.\n"), ("spring.md", slip)]);
    let watching = Watching::start(&notes, &["watch", "--today", "2026-04-04"]);
    watching.prints("Watching");
    notes.save("spring.md", b"## 3/4/26\n\n- caf\xe9\n");
    watching.prints("spring.md cannot be read for now; 1 finding went with it.");
    notes.save("spring.md", slip);
    let line = watching.prints("spring.md changed");
    assert!(line.contains("1 as before") && !line.contains("1 new"), "{line}");
    std::fs::remove_file(notes.at("spring.md")).expect("removed");
    watching.prints("spring.md is not there any more; 1 finding went with it.");
    notes.save("spring.md", slip);
    let line = watching.prints("spring.md changed");
    assert!(line.contains("nothing new, 1 as before"), "{line}");
}

#[test]
fn what_is_overdue_is_said_to_be() {
    let notes = Notes::with(&[("spring.md", "Prose.\n")]);
    let watching = Watching::start(&notes, &["watch", "--today", "2026-06-01"]);
    watching.prints("Watching");
    let lot = "## 2026-03-14\n\n- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure\n";
    notes.save("spring.md", lot);
    watching.prints("to do  overdue since");
    notes.save("spring.md", "Prose.\n");
    let line = watching.prints("gone ");
    assert!(line.chars().count() <= 80, "{line}");
}

#[test]
fn the_farms_own_rules_are_followed() {
    let notes = Notes::with(&[("spring.md", "Prose.\n")]);
    let watching = Watching::start(&notes, &["watch", "--today", "2026-04-04"]);
    watching.prints("Watching");
    notes.save("rules/pages/own.md", "no title here\n");
    let line = watching.prints("rules/pages/own.md changed");
    assert!(line.contains("new"), "{line}");
}

#[test]
fn polling_is_said_and_works() {
    let notes = Notes::with(&[("spring.md", "Prose.\n")]);
    let watching = Watching::start(&notes, &["watch", "--poll", "--today", "2026-04-04"]);
    watching.prints("Looking every 1 s");
    notes.save("spring.md", "## 3/4/26\n\n- rained 12 mm\n");
    watching.prints("spring.md changed");
}

#[test]
fn json_comes_one_object_a_line() {
    let notes = Notes::with(&[("spring.md", "Prose.\n")]);
    let watching = Watching::start(&notes, &["watch", "--format", "json", "--today", "2026-04-04"]);
    let start: serde_json::Value = serde_json::from_str(&watching.prints("start")).expect("JSON");
    assert_eq!(start["start"]["today"], "2026-04-04");
    notes.save("spring.md", "## 3/4/26\n\n- rained 12 mm\n");
    let again: serde_json::Value = serde_json::from_str(&watching.prints("again")).expect("JSON");
    assert_eq!(again["again"]["new"].as_array().map(Vec::len), Some(1));
    assert!(again["again"]["milliseconds"].as_f64().is_some_and(|ms| ms > 0.0));
}

#[cfg(unix)]
#[test]
fn ctrl_c_and_a_polite_end_are_clean() {
    for signal in ["-INT", "-TERM"] {
        let notes = Notes::with(&[("spring.md", "Prose.\n")]);
        let mut watching = Watching::start(&notes, &["watch"]);
        watching.prints("Watching");
        watching.is_told(signal);
        let ended = watching.child.wait().expect("the program ends");
        assert_eq!(ended.code(), Some(0), "{signal}");
    }
}

#[test]
fn what_cannot_be_watched_is_refused() {
    let notes = Notes::with(&[]);
    notes.haulm(&["watch", "-"]).ended(2).complains("standard input cannot be watched");
    notes.haulm(&["watch", "nowhere"]).ended(2).complains("there is no nowhere to watch");
}
