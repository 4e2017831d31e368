//! A small look at the calibration bench: its farms come out the same every time, and haulm reads every
//! diary it writes. The figures themselves are made by `cargo bench --bench calibration`.

#![allow(missing_docs, dead_code, clippy::unwrap_used, clippy::panic, clippy::expect_used)]

#[path = "bench/calibration/mod.rs"]
mod simulator;

use haulm::session::Session;
use simulator::{
    figures::{INCIDENCE, SIGNS},
    habits::{ATTENTIVE, CARELESS},
    season::season,
    trial::{farm, told},
    verdict::{check, errors},
    words::Words,
};

/// Few farms, so that it takes a moment; the bench reads thousands.
const SEEDS: std::ops::Range<u64> = 1..6;

#[test]
fn the_same_seed_gives_the_same_diary() {
    let words = Words::built_in();
    for seed in SEEDS {
        for (kind, stream) in [(ATTENTIVE, 10), (CARELESS, 20)] {
            let diary = || {
                let farm = farm(seed, &kind, &words, stream);
                season(&farm, &kind, &words, stream).unwrap().diary.text()
            };
            assert_eq!(diary(), diary());
        }
    }
}

#[test]
fn another_seed_gives_another_diary() {
    let words = Words::built_in();
    let diary = |seed| {
        let farm = farm(seed, &ATTENTIVE, &words, 10);
        season(&farm, &ATTENTIVE, &words, 10).unwrap().diary.text()
    };
    assert_ne!(diary(1), diary(2));
}

#[test]
fn every_diary_is_read_without_an_error() {
    let words = Words::built_in();
    let mut session = Session::new();
    for seed in SEEDS {
        for (kind, stream) in [(ATTENTIVE, 10), (CARELESS, 20)] {
            let farm = farm(seed, &kind, &words, stream);
            let grower = season(&farm, &kind, &words, stream).unwrap();
            let checked = check(&mut session, &grower.diary.text(), grower.diary.last());
            assert_eq!(errors(&checked), [""; 0], "seed {seed}");
        }
    }
}

#[test]
fn what_haulm_asks_for_can_be_done_and_read() {
    let words = Words::built_in();
    let told = told(2, &ATTENTIVE, &words, 10, &mut Session::new());
    assert_eq!(told.errors, [""; 0]);
    assert!(told.following.ranked);
}

#[test]
fn causes_are_drawn_out_of_a_thousand_and_signs_out_of_a_hundred() {
    let all: f64 = INCIDENCE.iter().map(|(_, of, _)| of).sum();
    assert!((all - 1000.0).abs() < 1e-9, "{all}");
    for (ill, signs, _) in SIGNS {
        assert!(signs.iter().all(|s| s.1 > 0.0 && s.1 < 100.0), "{ill:?}");
    }
}
