//! How sure haulm is, held against farms whose trouble is known: `cargo bench --bench calibration`.
//!
//! Comes in: how many farms, and which seeds. Goes out: top-1 accuracy, Brier score, reliability, calibration
//! error, days to the right answer, as Markdown. Farms and diaries come from a simulator that was drawn apart
//! from the rulebook's own tables (see `figures.rs`). So it shows whether the program agrees with itself about
//! chance on farms somebody else made up; it does not show that it is right about real ones.
//!
//! - `--farms=N`: so many farms of each kind of grower; 200 unless said
//! - `--held-out`: the seeds kept for published figures, never used to find faults; else those for development
//! - `--keep=DIR`: writes the diary of each farm that was judged wrongly, with the truth at its head
//! - `--farm=SEED`: one farm's diaries, with what was made of them
//! - `--rules=DIR`: the rulebook in this folder in place of the built-in one, for trying pages without a build
//! - `--figures`: what the simulator rests on
//! - `--faults`: which cause was taken for which, what was asked for, what could not be read

#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

mod report;
mod score;
#[path = "mod.rs"]
mod simulator;

use std::fs;

use haulm::{
    base::source::{SourceFile, SourceKind},
    session::Session,
};
use simulator::{
    dice, figures, habits,
    habits::{ATTENTIVE, CARELESS, Habits},
    trial,
    trial::Told,
    words::Words,
};

/// The first seed of those for development, and of those held out.
const DEVELOPMENT: u64 = 1;
const HELD_OUT: u64 = 60_000_001;
/// How many threads check farms.
const THREADS: usize = 2;

/// The kinds of grower: name, habits, the stream of their throws.
const KINDS: [(&str, Habits, u64); 2] = [("attentive", ATTENTIVE, 10), ("careless", CARELESS, 20)];

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let has = |flag: &str| args.iter().any(|a| a == flag);
    let value = |flag: &str| args.iter().find_map(|a| a.strip_prefix(flag)?.strip_prefix('='));
    if has("--figures") {
        report::assumptions();
        return;
    }
    let words = Words::built_in();
    let rules = value("--rules").map(|dir| rulebook(dir, "rules"));
    if let Some(seed) = value("--farm").and_then(|s| s.parse().ok()) {
        one(seed, &words, rules.as_deref());
        return;
    }
    // `cargo test --benches` only asks whether it runs.
    let few = if has("--bench") { 200 } else { 4 };
    let farms: u64 = value("--farms").and_then(|n| n.parse().ok()).unwrap_or(few);
    let first = if has("--held-out") { HELD_OUT } else { DEVELOPMENT };
    let which = if has("--held-out") { "held out" } else { "development" };
    println!("{farms} farms of each kind, seeds {first} to {} ({which})\n", first + farms - 1);
    let kinds: Vec<(&str, Vec<Told>)> = KINDS
        .iter()
        .map(|(kind, habits, stream)| (*kind, all(first, farms, habits, *stream, &words, rules.as_deref())))
        .collect();
    report::report(&kinds);
    if has("--faults") {
        report::faults(&kinds);
    }
    if let Some(dir) = value("--keep") {
        keep(dir, &kinds);
    }
}

fn all(
    first: u64,
    farms: u64,
    habits: &Habits,
    stream: u64,
    words: &Words,
    rules: Option<&[SourceFile]>,
) -> Vec<Told> {
    let mut all: Vec<Told> = std::thread::scope(|scope| {
        let hands: Vec<_> = (0..THREADS as u64)
            .map(|n| {
                scope.spawn(move || {
                    let mut session = session(rules);
                    let mine = (first..first + farms).filter(|s| s % THREADS as u64 == n);
                    mine.map(|seed| trial::told(seed, habits, words, stream, &mut session))
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        hands.into_iter().flat_map(|h| h.join().unwrap()).collect()
    });
    all.sort_by_key(|t| t.seed);
    all
}

fn session(rules: Option<&[SourceFile]>) -> Session {
    rules.map_or_else(Session::new, |pages| Session::with_rulebook(pages.to_vec()))
}

/// Every page under a folder, under the paths the built-in ones have.
fn rulebook(dir: &str, shown: &str) -> Vec<SourceFile> {
    let mut pages = Vec::new();
    for entry in fs::read_dir(dir).unwrap() {
        let entry = entry.unwrap();
        let (path, name) = (entry.path().to_str().unwrap().to_owned(), entry.file_name());
        let shown = format!("{shown}/{}", name.to_str().unwrap());
        if fs::metadata(&path).unwrap().is_dir() {
            pages.extend(rulebook(&path, &shown));
        } else if path.ends_with(".md") {
            let text = fs::read_to_string(&path).unwrap();
            pages.push(SourceFile::new(shown, text, SourceKind::RulePage, true));
        }
    }
    pages
}

fn headed(told: &Told, kind: &str) -> String {
    let said = |o: &trial::Outcome| format!("{} at {:.3}", o.leads, o.chance);
    format!(
        "Seed {}, {kind}. Truth: {} ({}). Led on {}: {}; with what was asked done: {}. Asked: {:?}\n\n",
        told.seed,
        told.cause,
        told.truth,
        simulator::diary::date(told.judged),
        said(&told.alone),
        said(&told.following),
        told.asked
    )
}

fn one(seed: u64, words: &Words, rules: Option<&[SourceFile]>) {
    let mut session = session(rules);
    for (kind, habits, stream) in &KINDS {
        let told = trial::told(seed, habits, words, *stream, &mut session);
        println!("{}{}\n---\n{}\n{:#?}\n", headed(&told, kind), told.texts.0, told.texts.1, told.errors);
    }
}

fn keep(dir: &str, kinds: &[(&str, Vec<Told>)]) {
    for (kind, all) in kinds {
        for t in all.iter().filter(|t| !t.alone.right || t.alone.oversure.is_some()) {
            let sure = if t.alone.oversure.is_some() { "over-sure" } else { "wrong" };
            let cause = t.cause.to_string().replace([' ', ':', ','], "-");
            let dir = format!("{dir}/{kind}/{sure}-{cause}-{}", t.seed);
            fs::create_dir_all(&dir).unwrap();
            fs::write(format!("{dir}/season.md"), headed(t, kind) + &t.texts.0).unwrap();
        }
    }
}
