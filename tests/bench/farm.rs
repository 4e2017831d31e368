//! How long a check takes, by stage and by the age of the farm.
//!
//! `cargo bench --bench farm` prints the table of figures that the README shows: time by stage, peak
//! memory, and time from a save to its output. Each figure is the middle one of several runs. With a word
//! behind `--` criterion measures closely instead: the name of a stage, `check` or `edit`, as in
//! `cargo bench --bench farm -- infer`.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

mod figures;
mod years;

use criterion::{BenchmarkId, Criterion};
use haulm::session::{Session, Stage};

/// The ages measured, in years.
const AGES: [u32; 3] = [1, 5, 20];

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if let Some(age) = figures::asked_for_memory(&args) {
        figures::print_peak(age);
    } else if args.iter().any(|a| !a.starts_with("--")) {
        closely();
    } else if !args.iter().any(|a| a == "--bench") {
        // `cargo test --benches` only asks whether it runs.
        figures::table(&AGES[..1], 1);
    } else {
        figures::table(&AGES, 9);
    }
}

/// Criterion on each stage of a fresh check, and on whole checks, fresh and after one line was added.
fn closely() {
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    for age in AGES {
        let files = years::journal(age);
        let today = years::last_day(age);
        for stage in Stage::ALL {
            criterion.bench_with_input(BenchmarkId::new(stage.word(), age), &files, |b, files| {
                b.iter_custom(|runs| (0..runs).map(|_| figures::one_stage(files, today, stage)).sum());
            });
        }
        criterion.bench_with_input(BenchmarkId::new("check", age), &files, |b, files| {
            b.iter(|| figures::session(files).check(today, None));
        });
        criterion.bench_with_input(BenchmarkId::new("edit", age), &files, |b, files| {
            let mut session: Session = figures::session(files);
            let (path, text) = files.last().unwrap();
            let edited = format!("{text}- rained 3 mm\n");
            let mut turn = false;
            b.iter(|| {
                turn = !turn;
                session.set_text(path, if turn { &edited } else { text });
                session.check(today, None)
            });
        });
    }
    criterion.final_summary();
}
