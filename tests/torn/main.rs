//! Journals and pages torn apart and put together again: whatever comes of it is read, checked and shown, and
//! nothing panics.
//!
//! Comes in: the texts of the demonstration, of the journal language's own tests and of the rulebook, torn by
//! chance from a fixed seed. Goes out: how many texts were tried. A few in an ordinary run; for as long as it is
//! told with `HAULM_TEAR_SECONDS=300 cargo test --release --test torn -- --nocapture`, from another seed with
//! `HAULM_TEAR_SEED=7`. On a panic the text is printed.

#![allow(clippy::panic)]

use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    path::Path,
    time::{Duration, Instant},
};

use chrono::NaiveDate;
use haulm::{
    session::Session,
    show::{self, layout::Style},
};

/// Numbers that follow from a seed (Marsaglia's xorshift of 64 bits, 2003).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(sides.max(1)).unwrap_or(1)).unwrap_or(0)
    }

    fn one<'t, T>(&mut self, of: &'t [T]) -> Option<&'t T> {
        of.get(self.roll(of.len()))
    }
}

/// Pieces that mean something somewhere.
const PIECES: [&str; 28] = [
    "## 2026-02-30\n",
    "## 2026-03-14 to 2026-03-01\n",
    "- ",
    "- [ ] ",
    "- [x] ",
    "- correct ",
    " as lot ",
    " of ",
    " each ",
    " 1/0 ",
    " 1e999 ",
    "-5 yd3 ",
    " 99999999999999999999 ",
    "\u{feff}",
    "\r\n",
    "\u{0}",
    "é\u{301}",
    "```",
    "````page rules/tables/x.md\n",
    "{",
    "}",
    "\"",
    "| a | b |\n|---|---|\n",
    " such that ",
    " (here)",
    "if   ",
    "then ",
    "(((((((((",
];

fn texts(folder: &Path, all: &mut Vec<String>) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        if path.is_dir() {
            texts(&path, all);
        } else if path.extension().is_some_and(|e| e == "md") {
            all.extend(fs::read_to_string(&path));
        }
    }
}

/// A text torn, and pieces of others put in.
fn torn(dice: &mut Dice, texts: &[String]) -> String {
    let mut lines: Vec<String> =
        dice.one(texts).map_or("", String::as_str).split_inclusive('\n').map(str::to_owned).collect();
    let most = lines.len().min(60);
    let from = dice.roll(lines.len() - most + 1);
    lines = lines.drain(from..from + most).collect();
    for _ in 0..=dice.roll(8) {
        let at = dice.roll(lines.len() + 1);
        match dice.roll(6) {
            0 if at < lines.len() => _ = lines.remove(at),
            1 => {
                let other = dice.one(texts).map_or("", String::as_str).split_inclusive('\n');
                let other: Vec<&str> = other.collect();
                lines.insert(at, dice.one(&other).map_or("", |l| l).to_owned());
            }
            2 if at < lines.len() => {
                let other = dice.roll(lines.len());
                lines.swap(at, other);
            }
            3 if at < lines.len() => {
                let twice = lines[at].clone();
                lines.insert(at, twice);
            }
            4 if at < lines.len() => {
                // Words of one line in another order, or some of them gone.
                let mut words: Vec<&str> = lines[at].split_inclusive(' ').collect();
                let (a, b) = (dice.roll(words.len()), dice.roll(words.len()));
                if words.is_empty() {
                    continue;
                }
                words.swap(a, b);
                words.truncate(1 + dice.roll(words.len()));
                lines[at] = words.concat();
            }
            _ => {
                let piece = dice.one(&PIECES).copied().unwrap_or("");
                match lines.get_mut(at) {
                    Some(line) => {
                        let mut place = dice.roll(line.len() + 1);
                        while !line.is_char_boundary(place) {
                            place -= 1;
                        }
                        line.insert_str(place, piece);
                    }
                    None => lines.push(piece.to_owned()),
                }
            }
        }
    }
    lines.concat()
}

fn checked(session: &mut Session) {
    let today = NaiveDate::from_ymd_opt(2026, 6, 3).unwrap_or_default();
    let checked = session.check(today, None);
    show::terminal::report(&checked.report, &checked.sources, &Style::plain());
    show::json::report(&checked.report, &checked.sources);
    for finding in &checked.report.findings {
        for label in finding.primary.iter().chain(&finding.secondary) {
            let file = checked.sources.file(label.loc.file);
            assert!(file.text.get(label.loc.span.range()).is_some(), "{finding:?} points outside its text");
        }
    }
}

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

fn tear(what: &str, path: &str, folders: &[&str], few: usize) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = Vec::new();
    folders.iter().for_each(|f| texts(&root.join(f), &mut all));
    all.sort();
    assert!(!all.is_empty());
    let mut dice = Dice(number("HAULM_TEAR_SEED").unwrap_or(1).wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let (long, start) = (number("HAULM_TEAR_SECONDS").map(Duration::from_secs), Instant::now());
    let mut session = Session::new();
    let mut tried = 0;
    while long.map_or(tried < few, |long| start.elapsed() < long) {
        let text = torn(&mut dice, &all);
        session.set_text(path, &text);
        let before = Instant::now();
        if catch_unwind(AssertUnwindSafe(|| checked(&mut session))).is_err() {
            panic!("{what} number {tried} panics:\n{text}");
        }
        assert!(before.elapsed() < Duration::from_secs(60), "{what} number {tried} takes a minute:\n{text}");
        tried += 1;
    }
    println!("{tried} torn {what} in {:.0} s", start.elapsed().as_secs_f64());
}

#[test]
fn torn_journals_are_read() {
    tear("journals", "journal.md", &["journals", "tests/journal"], 15);
}

#[test]
fn torn_pages_are_read() {
    tear("pages", "rules/pages/own.md", &["rules"], 8);
}
