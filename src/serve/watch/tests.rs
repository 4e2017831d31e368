//! A watch over a real folder, saved into as editors save. Nothing here waits a fixed time: every wait is
//! for something said, with a deadline.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    sync::{
        Arc, Mutex,
        mpsc::{self, Receiver, Sender},
    },
    thread::JoinHandle,
    time::{Duration, Instant},
};

use chrono::{NaiveDate, NaiveDateTime};
use tempfile::TempDir;

use super::{Because, Ears, Pace, Said, Tell, Watch};
use crate::read::Farm;

const DEADLINE: Duration = Duration::from_secs(20);

/// Whatever is said, as far as these tests ask.
#[derive(Debug)]
struct Heard {
    texts: BTreeMap<String, String>,
    because: Option<Because>,
    polling: Option<String>,
    today: Option<NaiveDate>,
}

struct Watched {
    dir: TempDir,
    told: Receiver<Heard>,
    tell: Sender<Tell>,
    now: Arc<Mutex<NaiveDateTime>>,
    thread: Option<JoinHandle<std::io::Result<()>>>,
}

fn quick() -> Pace {
    // Looking unasked is far past the deadline, so that only what is heard can make these tests pass.
    Pace { doubt: 10 * DEADLINE, ..Pace::default() }
}

fn day(day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 4, day).expect("a day")
}

fn watched(files: &[&str], path: &str, pace: Pace, events: bool) -> Watched {
    let dir = tempfile::tempdir().expect("a temporary folder");
    for file in files {
        save(&dir.path().join(file), "first");
    }
    let (tell, inbox) = mpsc::channel();
    let (said, told) = mpsc::channel();
    let now = Arc::new(Mutex::new(day(4).and_hms_opt(12, 0, 0).expect("noon")));
    let clock = Arc::clone(&now);
    let (farm, ear_tell) = (Farm::at(&dir.path().join(path)), tell.clone());
    let thread = std::thread::spawn(move || {
        let ears = if events { Ears::open(ear_tell) } else { Ears::shut("the test says so") };
        let now = move || *clock.lock().expect("the clock");
        Watch::over(farm, ears, pace, &now, None).run(&inbox, &mut |s| {
            let _ = said.send(heard(&s));
            Ok(())
        })
    });
    let watched = Watched { dir, told, tell, now, thread: Some(thread) };
    assert!(watched.next().because.is_none(), "the first check comes first");
    watched
}

fn heard(said: &Said<'_>) -> Heard {
    let (checked, because, polling) = match said {
        Said::Start { checked } => (Some(checked), None, None),
        Said::Again { checked, because, .. } => (Some(checked), Some(because.clone()), None),
        Said::Polling { why, .. } => (None, None, Some(why.clone())),
    };
    let texts = checked.iter().flat_map(|c| c.sources.iter()).filter(|(_, f)| !f.built_in);
    Heard {
        texts: texts.map(|(_, f)| (f.path.to_string(), f.text.to_string())).collect(),
        because,
        polling,
        today: checked.map(|c| c.today),
    }
}

fn save(path: &Path, text: &str) {
    fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
    fs::write(path, text).expect("a file");
}

impl Watched {
    fn at(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn next(&self) -> Heard {
        self.told.recv_timeout(DEADLINE).expect("something said before the deadline")
    }

    /// Waits until the farm reads so: a save may be seen in more than one step.
    fn reads(&self, expected: &[(&str, &str)]) {
        let expected: BTreeMap<String, String> =
            expected.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
        let until = Instant::now() + DEADLINE;
        let mut last = None;
        while let Ok(heard) = self.told.recv_timeout(until.saturating_duration_since(Instant::now())) {
            if heard.texts == expected {
                return;
            }
            last = Some(heard);
        }
        panic!("never read {expected:?}; last heard {last:?}");
    }

    fn ends(mut self) {
        self.tell.send(Tell::Stop).expect("a watch to stop");
        let thread = self.thread.take().expect("a watch");
        thread.join().expect("no panic").expect("no error");
    }
}

#[test]
fn every_usual_way_of_saving_is_seen() {
    let farm = watched(&["spring.md"], "", quick(), true);
    let (journal, spare) = (farm.at("spring.md"), farm.at("spring.md~"));
    for round in 0..3 {
        let text = |how: &str| format!("{how} {round}");
        save(&journal, &text("in place"));
        farm.reads(&[("spring.md", &text("in place"))]);

        save(&farm.at(".spring.md.tmp"), &text("renamed over"));
        fs::rename(farm.at(".spring.md.tmp"), &journal).expect("renamed");
        farm.reads(&[("spring.md", &text("renamed over"))]);

        fs::rename(&journal, &spare).expect("renamed");
        save(&journal, &text("backed up"));
        fs::remove_file(&spare).expect("removed");
        farm.reads(&[("spring.md", &text("backed up"))]);

        fs::remove_file(&journal).expect("removed");
        save(&journal, &text("made anew"));
        farm.reads(&[("spring.md", &text("made anew"))]);
    }
    farm.ends();
}

#[test]
fn a_single_file_is_followed_through_every_way_of_saving() {
    let farm = watched(&["spring.md", "other.md"], "spring.md", quick(), true);
    for round in 0..3 {
        let text = format!("renamed over {round}");
        save(&farm.at("spring.tmp"), &text);
        fs::rename(farm.at("spring.tmp"), farm.at("spring.md")).expect("renamed");
        farm.reads(&[("spring.md", &text)]);
    }
    save(&farm.at("rules/own.md"), "# own-page");
    farm.reads(&[("spring.md", "renamed over 2"), ("rules/own.md", "# own-page")]);
    farm.ends();
}

#[test]
fn new_folders_moved_folders_and_removed_folders_are_seen_with_all_that_is_in_them() {
    let farm = watched(&["a.md"], "", quick(), true);
    for round in 0..10 {
        let text = format!("deep {round}");
        save(&farm.at("n/m/k/deep.md"), &text);
        farm.reads(&[("a.md", "first"), ("n/m/k/deep.md", &text)]);
        save(&farm.at("n/m/k/deep.md"), "again");
        farm.reads(&[("a.md", "first"), ("n/m/k/deep.md", "again")]);
        fs::rename(farm.at("n"), farm.at("moved")).expect("moved");
        farm.reads(&[("a.md", "first"), ("moved/m/k/deep.md", "again")]);
        save(&farm.at("moved/m/k/deep.md"), "inside");
        farm.reads(&[("a.md", "first"), ("moved/m/k/deep.md", "inside")]);
        fs::remove_dir_all(farm.at("moved")).expect("removed");
        farm.reads(&[("a.md", "first")]);
    }
    farm.ends();
}

#[test]
fn a_farm_folder_put_in_the_place_of_another_is_watched_on() {
    let farm = watched(&["farm/a.md", "next/b.md"], "farm", quick(), true);
    fs::rename(farm.at("farm"), farm.at("old")).expect("moved");
    farm.reads(&[]);
    fs::rename(farm.at("next"), farm.at("farm")).expect("moved");
    farm.reads(&[("b.md", "first")]);
    save(&farm.at("farm/b.md"), "second");
    farm.reads(&[("b.md", "second")]);
    farm.ends();
}

#[cfg(unix)]
#[test]
fn a_journal_that_is_a_link_is_seen_when_its_target_is_saved() {
    let farm = watched(&["away/spring.md", "farm/a.md"], "farm", quick(), true);
    std::os::unix::fs::symlink(farm.at("away/spring.md"), farm.at("farm/spring.md")).expect("a link");
    farm.reads(&[("a.md", "first"), ("spring.md", "first")]);
    save(&farm.at("away/spring.md"), "second");
    farm.reads(&[("a.md", "first"), ("spring.md", "second")]);
    farm.ends();
}

#[test]
fn without_events_the_folder_is_polled_and_that_is_said() {
    let pace = Pace { poll: Duration::from_millis(20), ..quick() };
    let farm = watched(&["a.md"], "", pace, false);
    assert_eq!(farm.next().polling.as_deref(), Some("the test says so"));
    save(&farm.at("n/b.md"), "new");
    farm.reads(&[("a.md", "first"), ("n/b.md", "new")]);
    farm.ends();
}

#[test]
fn where_changes_are_not_announced_polling_takes_over() {
    let pace = Pace {
        doubt: Duration::from_millis(20),
        poll: Duration::from_millis(20),
        at_most: Duration::from_millis(20),
        ..Pace::default()
    };
    // Ears that hear nothing, as on a disk that announces nothing: their channel leads nowhere.
    let dir = tempfile::tempdir().expect("a temporary folder");
    save(&dir.path().join("a.md"), "first");
    let (tell, inbox) = mpsc::channel();
    let (nowhere, _) = mpsc::channel();
    let (said, told) = mpsc::channel();
    let farm = Farm::at(dir.path());
    let thread = std::thread::spawn(move || {
        let now = || day(4).and_hms_opt(12, 0, 0).expect("noon");
        Watch::over(farm, Ears::open(nowhere), pace, &now, None).run(&inbox, &mut |s| {
            let _ = said.send(heard(&s));
            Ok(())
        })
    });
    told.recv_timeout(DEADLINE).expect("a first check");
    save(&dir.path().join("a.md"), "second");
    let seen = told.recv_timeout(DEADLINE).expect("a second check");
    assert_eq!(seen.texts.get("a.md").map(String::as_str), Some("second"));
    let note = told.recv_timeout(DEADLINE).expect("a note");
    assert_eq!(note.polling.as_deref(), Some("changes in this folder are not announced"));
    tell.send(Tell::Stop).expect("a watch to stop");
    thread.join().expect("no panic").expect("no error");
}

#[test]
fn a_new_day_is_a_new_check() {
    let pace = Pace { doubt: Duration::from_millis(20), ..Pace::default() };
    let farm = watched(&["a.md"], "", pace, true);
    *farm.now.lock().expect("the clock") = day(5).and_hms_opt(0, 0, 1).expect("midnight");
    let heard = farm.next();
    assert_eq!(heard.because, Some(Because::NewDay(day(5))));
    assert_eq!(heard.today, Some(day(5)));
    farm.ends();
}

#[test]
fn a_file_that_turns_unreadable_is_said_and_comes_back() {
    let farm = watched(&["a.md", "b.md"], "", quick(), true);
    fs::write(farm.at("b.md"), b"caf\xe9").expect("a file");
    farm.reads(&[("a.md", "first")]);
    save(&farm.at("b.md"), "back");
    farm.reads(&[("a.md", "first"), ("b.md", "back")]);
    farm.ends();
}
