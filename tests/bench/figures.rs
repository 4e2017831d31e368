//! The README's table of figures, measured here and now.
//!
//! Comes in: ages of a farm. Goes out: a Markdown table on standard output. Peak memory is that of a
//! process of its own, as Linux tells it (`VmHWM`); elsewhere it is left open.

use std::{
    fs,
    io::{BufRead, BufReader},
    path::Path,
    process::{Command, Stdio},
    time::{Duration, Instant},
};

use chrono::NaiveDate;
use haulm::session::{Session, Stage};

use crate::years;

/// The word by which this program is asked for one check and its peak memory.
const MEMORY: &str = "--peak-memory-of=";

/// A session that holds a journal.
pub fn session(files: &[(String, String)]) -> Session {
    let mut session = Session::new();
    for (path, text) in files {
        session.set_text(path, text);
    }
    session
}

/// How long one stage of a fresh check takes.
pub fn one_stage(files: &[(String, String)], today: NaiveDate, asked: Stage) -> Duration {
    let mut took = Duration::ZERO;
    let mut session = session(files);
    let mut last = Instant::now();
    session.check_observed(today, None, &mut |stage| {
        let now = Instant::now();
        if stage == asked {
            took = now - last;
        }
        last = now;
    });
    took
}

/// Prints the table.
pub fn table(ages: &[u32], runs: usize) {
    let mut head = vec!["years".to_owned(), "entries".to_owned(), "size".to_owned()];
    head.extend(Stage::ALL.iter().map(|s| s.word().to_owned()));
    head.extend(["whole check", "check after an edit", "save to output", "peak memory"].map(str::to_owned));
    println!("| {} |", head.join(" | "));
    println!("|{}", "---:|".repeat(head.len()));
    for age in ages {
        println!("| {} |", row(*age, runs).join(" | "));
    }
}

fn row(age: u32, runs: usize) -> Vec<String> {
    let files = years::journal(age);
    let today = years::last_day(age);
    let bytes: usize = files.iter().map(|(_, text)| text.len()).sum();
    let mut stages = vec![Vec::new(); Stage::ALL.len()];
    let (mut whole, mut edited, mut entries) = (Vec::new(), Vec::new(), 0);
    for run in 0..runs {
        let mut session = session(&files);
        let began = Instant::now();
        let mut last = began;
        let checked = session.check_observed(today, None, &mut |stage| {
            let now = Instant::now();
            let at = Stage::ALL.iter().position(|s| *s == stage).unwrap();
            stages[at].push(now - last);
            last = now;
        });
        whole.push(began.elapsed());
        entries = checked.diary.entries.len();
        let (path, text) = files.last().unwrap();
        session.set_text(path, &format!("{text}- rained {} mm\n", 3 + run));
        let began = Instant::now();
        session.check(today, None);
        edited.push(began.elapsed());
    }
    let mut row = vec![age.to_string(), entries.to_string(), format!("{:.1} MB", bytes as f64 / 1e6)];
    row.extend(stages.into_iter().map(|s| milliseconds(middle(s))));
    row.push(milliseconds(middle(whole)));
    row.push(milliseconds(middle(edited)));
    row.push(milliseconds(middle(save_to_output(&files, &today.to_string(), runs))));
    row.push(peak_of(age).map_or_else(|| "?".to_owned(), |kb| format!("{:.0} MB", kb / 1e3)));
    row
}

fn middle(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times.get(times.len() / 2).copied().unwrap_or_default()
}

fn milliseconds(time: Duration) -> String {
    format!("{:.1} ms", time.as_secs_f64() * 1e3)
}

/// From the moment a save is finished to the line that `watch` prints about it, quiet period included.
fn save_to_output(files: &[(String, String)], today: &str, runs: usize) -> Vec<Duration> {
    let dir = tempfile::tempdir().unwrap();
    for (path, text) in files {
        fs::write(dir.path().join(path), text).unwrap();
    }
    let mut watch = Command::new(env!("CARGO_BIN_EXE_haulm"))
        .args(["watch", "--today", today])
        .current_dir(dir.path())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(watch.stdout.take().unwrap()).lines();
    let mut until = |words: &str| while !lines.next().unwrap().unwrap().contains(words) {};
    until("Watching");
    let (path, text) = files.last().unwrap();
    let mut took = Vec::new();
    for run in 0..runs {
        save(&dir.path().join(path), &format!("{text}- rained {} mm\n", 3 + run));
        let saved = Instant::now();
        until("changed");
        took.push(saved.elapsed());
    }
    watch.kill().unwrap();
    watch.wait().unwrap();
    took
}

/// Saves as most editors do: beside it, then over it.
fn save(path: &Path, text: &str) {
    let beside = path.with_extension("tmp");
    fs::write(&beside, text).unwrap();
    fs::rename(beside, path).unwrap();
}

/// The age whose peak memory this process is asked for.
pub fn asked_for_memory(args: &[String]) -> Option<u32> {
    args.iter().find_map(|a| a.strip_prefix(MEMORY)).and_then(|age| age.parse().ok())
}

/// Checks once and prints the most memory that took, in kB.
pub fn print_peak(age: u32) {
    let checked = session(&years::journal(age)).check(years::last_day(age), None);
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).unwrap_or_default();
    println!("{} {}", peak.trim().trim_end_matches(" kB"), checked.report.findings.len());
}

fn peak_of(age: u32) -> Option<f64> {
    let this = std::env::current_exe().ok()?;
    let told = Command::new(this).arg(format!("{MEMORY}{age}")).output().ok()?;
    String::from_utf8(told.stdout).ok()?.split_whitespace().next()?.parse().ok()
}
