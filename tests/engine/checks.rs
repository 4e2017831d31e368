//! Every proof of every tuple replays, and a proof that was tampered with does not.

use std::sync::Arc;

use haulm::model::{
    outcome::Model,
    program::{Given, Reckoned, Reckoner, ReckonerUse},
    proof::{By, Premise, Proof},
    replay::{self, Fault},
    sentence::SentenceId,
};

use super::{families::family, library::library, world::World};

/// Replays the proofs of all tuples, and of their other derivations.
pub fn replay_everything(world: &World, model: &Model) {
    for n in 0..world.program.sentences.len() {
        let rows = model.rows(SentenceId(u32::try_from(n).expect("few sentences")));
        let mut proofs: Vec<Proof> = Vec::new();
        for row in &rows {
            proofs.extend(model.derivations(*row, 4));
        }
        let recorded = model.proofs(&rows);
        let recorded = recorded.iter().map(|p| p.as_deref().expect("a proof"));
        if let Err(fault) = replay::replay_all(&world.program, &world.facts, model, recorded.chain(&proofs)) {
            panic!("{}: {fault} ({:?})", world.text(&fault.tuple), fault.why);
        }
    }
}

#[test]
fn every_proof_replays() {
    for world in [family(), library(), counted()] {
        let model = world.model();
        replay_everything(&world, &model);
    }
}

/// Replays one proof after `change`, and gives the fault.
fn fault_after(world: &World, said: &str, change: impl Fn(&mut Proof)) -> Option<Fault> {
    let model = world.model();
    let row = model.find(&world.tuple(said)).expect("it holds");
    let mut proof = (*model.proof(row).expect("a proof")).clone();
    change(&mut proof);
    replay::replay(&world.program, &world.facts, &model, &proof).err().map(|f| f.why)
}

fn premises(proof: &mut Proof) -> &mut Vec<Premise> {
    match &mut proof.by {
        By::Rule { premises, .. } => premises,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_conclusion_that_is_not_the_rules_is_caught() {
    let world = family();
    let eve = world.tuple("ada is an ancestor of eve");
    let fault = fault_after(&world, "ada is an ancestor of cleo", |p| p.tuple = eve.clone());
    assert_eq!(fault, Some(Fault::AnotherConclusion));
}

#[test]
fn a_premise_that_nobody_said_is_caught() {
    let world = family();
    let fault = fault_after(&world, "ada is an ancestor of ben", |p| {
        if let Some(Premise::Holds(premise)) = premises(p).first_mut() {
            Arc::make_mut(premise).by = By::Said(haulm::model::program::FactSource::Given);
        }
    });
    assert_eq!(fault, Some(Fault::NotSaid));
}

#[test]
fn another_rule_or_other_bindings_are_caught() {
    let world = family();
    let fault = fault_after(&world, "ada is an ancestor of cleo", |p| {
        if let By::Rule { rule, .. } = &mut p.by {
            *rule = 99;
        }
    });
    assert_eq!(fault, Some(Fault::NoSuchRule));
    let fault = fault_after(&world, "ada is an ancestor of cleo", |p| {
        if let By::Rule { bindings, .. } = &mut p.by {
            bindings.swap(0, 1);
        }
    });
    assert_eq!(fault, Some(Fault::AnotherConclusion));
    let fault = fault_after(&world, "ada is an ancestor of cleo", |p| premises(p).swap(0, 1));
    assert_eq!(fault, Some(Fault::DoesNotFit));
    let fault = fault_after(&world, "ada is an ancestor of cleo", |p| {
        premises(p).pop();
    });
    assert_eq!(fault, Some(Fault::WrongKind));
}

#[test]
fn an_absence_that_is_none_is_caught() {
    let world = family();
    let mut model = world.model();
    let row = model.find(&world.tuple("eve has no known child")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let later = family().given(&["eve is a parent of fay"]);
    model = later.model();
    let fault = replay::replay(&later.program, &later.facts, &model, &proof).expect_err("she has a child");
    assert!(matches!(fault.why, Fault::NotAbsent(_)), "{fault}");
    assert_eq!(fault.line, Some(1));
}

#[test]
fn a_near_miss_that_is_not_near_is_caught() {
    let world = family();
    let far = world.tuple("ada is an ancestor of ben");
    let fault = fault_after(&world, "eve is no ancestor of cleo", |p| {
        if let Some(Premise::Absent { near, .. }) = premises(p).get_mut(2) {
            near.push(far.clone());
        }
    });
    assert!(matches!(fault, Some(Fault::NotNear(_))));
}

#[test]
fn a_gathering_that_leaves_a_member_out_or_says_another_value_is_caught() {
    let world = library();
    let fault = fault_after(&world, "ann got 5-7kg in all", |p| {
        if let Some(Premise::Gathered { members, .. }) = premises(p).get_mut(1) {
            members.pop();
        }
    });
    assert_eq!(fault, Some(Fault::OtherMembers));
    let fault = fault_after(&world, "ann got 5-7kg in all", |p| {
        if let Some(Premise::Gathered { value, .. }) = premises(p).get_mut(1) {
            *value = super::world::value("6kg");
        }
    });
    assert_eq!(fault, Some(Fault::AnotherValue));
}

#[test]
fn a_wrong_computation_or_comparison_is_caught() {
    let world = library();
    let fault = fault_after(&world, "ulysses is late by 7d", |p| {
        if let Some(Premise::Computed { value }) = premises(p).get_mut(4) {
            *value = super::world::value("8d");
        }
    });
    assert_eq!(fault, Some(Fault::AnotherValue));
    let fault = fault_after(&world, "ulysses is late by 7d", |p| {
        if let Some(Premise::Compared { left, .. }) = premises(p).get_mut(3) {
            *left = super::world::value("2026-03-01");
        }
    });
    assert_eq!(fault, Some(Fault::AnotherValue));
}

/// A reckoner that multiplies.
fn product(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut out = Vec::new();
    for (n, a) in given.iter().enumerate() {
        for (m, b) in given.iter().enumerate() {
            if let (
                Some(haulm::measure::value::Value::Number(x)),
                Some(haulm::measure::value::Value::Number(y)),
            ) = (a.values.first(), b.values.first())
            {
                out.push(Reckoned {
                    output: 0,
                    values: vec![haulm::measure::value::Value::Number(x.times(*y))],
                    witnesses: vec![n, m],
                    numbers: vec![("first".to_owned(), a.values[0].clone())],
                });
            }
        }
    }
    out
}

/// A world with a reckoner between two rules.
pub fn counted() -> World {
    let mut world = World::default()
        .says(&["{n} is said", "{n} is a number", "{n} is a product", "{n} is a large product"])
        .given(&["2 is said", "3 is said", "5 is said"])
        .rule("numbers", &["{n} is said"], "{n} is a number")
        .rule("numbers", &["{n} is a product", "{n} > 10"], "{n} is a large product");
    world.program.reckoners.push(ReckonerUse {
        reckoner: Reckoner {
            name: "product",
            reads: &["{n:number} is a number"],
            gives: &["{n:number} is a product"],
            planned: &[],
            run: product,
        },
        reads: vec![SentenceId(1)],
        gives: vec![SentenceId(2)],
    });
    world
}

#[test]
fn a_reckoner_reads_what_is_finished_and_its_answers_carry_witnesses() {
    let world = counted();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{n} is a large product"),
        ["15 is a large product", "25 is a large product"]
    );
    let row = model.find(&world.tuple("15 is a product")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Reckoned { reckoner, witnesses, numbers } = &proof.by else { panic!("reckoned") };
    assert_eq!((*reckoner, witnesses.len(), numbers.len()), ("product", 2, 1));
    let fault = fault_after(&world, "15 is a product", |p| {
        if let By::Reckoned { witnesses, .. } = &mut p.by {
            witnesses.pop();
        }
    });
    assert_eq!(fault, Some(Fault::NotReckoned));
}

#[test]
fn a_rule_from_a_reckoners_answers_back_to_its_questions_is_refused() {
    let world = counted().rule("again", &["{n} is a product"], "{n} is a number");
    let (model, diagnostics) = world.run();
    let [circle] = diagnostics.as_slice() else { panic!("one diagnostic: {diagnostics:?}") };
    assert_eq!(&*circle.code, "rule-goes-in-circles");
    assert!(circle.message.contains("“{n} is a product”"), "{}", circle.message);
    assert_eq!(world.all(&model, "{n} is a product").len(), 6);
}
