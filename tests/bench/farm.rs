//! How long a check takes, by stage and by the age of the farm.
//!
//! `cargo bench --bench farm` prints the table of figures that the README shows: time by stage, peak
//! memory, and time from a save to its output. Each figure is the middle one of several runs. With the
//! name of a stage behind `--` criterion measures closely instead: `cargo bench --bench farm -- check`.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic)]

mod figures;
mod years;

use criterion::{BenchmarkId, Criterion};
use haulm::session::Session;

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

/// Criterion on whole checks: fresh, and after one line was added to one file.
fn closely() {
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let mut group = criterion.benchmark_group("check");
    for age in AGES {
        let files = years::journal(age);
        let today = years::last_day(age);
        group.bench_with_input(BenchmarkId::new("fresh", age), &files, |b, files| {
            b.iter(|| figures::session(files).check(today, None));
        });
        group.bench_with_input(BenchmarkId::new("after an edit", age), &files, |b, files| {
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
    group.finish();
    criterion.final_summary();
}
