//! Every conclusion drawn from the demonstration diary, proved and checked step by step.
//!
//! Comes in: the diary and the built-in rulebook. Goes out: nothing but that every proof replays. What
//! should be concluded is tried elsewhere.

#![allow(clippy::panic, reason = "a proof that does not replay ends the test")]

use std::path::Path;

use chrono::NaiveDate;
use haulm::{
    model::{
        proof::{By, Proof},
        replay,
        sentence::SentenceId,
    },
    read::Farm,
    session::Session,
};

#[test]
fn every_conclusion_drawn_from_the_demonstration_replays() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("journals/brackenhythe");
    let mut session = Session::new();
    session.set_reading(Farm::at(&folder).read());
    let today = NaiveDate::from_ymd_opt(2026, 6, 15).expect("a day");
    let checked = session.check(today, None);
    let (program, model) = (&checked.program, &checked.model);
    let (mut concluded, mut reckoned) = (0, 0);
    for n in 0..program.sentences.len() {
        let rows = model.rows(SentenceId(u32::try_from(n).expect("few sentences")));
        let proofs: Vec<_> = model.proofs(&rows).into_iter().map(|p| p.expect("a proof")).collect();
        concluded += proofs.iter().filter(|p| matches!(p.by, By::Rule { .. })).count();
        reckoned += proofs.iter().filter(|p| matches!(p.by, By::Reckoned { .. })).count();
        let proofs = proofs.iter().map(|p| -> &Proof { p });
        if let Err(fault) = replay::replay_all(program, &checked.diary.facts, model, proofs) {
            panic!("“{}”: {fault}: {:?}", program.sentences[n].pattern(), fault.tuple);
        }
    }
    assert!(
        concluded > 100 && reckoned > 100,
        "the demonstration is worth trying: {concluded} concluded, {reckoned} reckoned"
    );
}
