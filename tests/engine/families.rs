//! Families: recursion, absence, and proofs.

use haulm::model::proof::{By, Premise};

use super::world::World;

/// Three generations and a stranger.
pub fn family() -> World {
    World::default()
        .says(&[
            "{a} is a parent of {b}",
            "{a} is an ancestor of {b}",
            "{a} is a person",
            "{a} has no known child",
            "{a} is no ancestor of {b}",
        ])
        .given(&[
            "ada is a parent of ben",
            "ben is a parent of cleo",
            "ben is a parent of dora",
            "ada is a person",
            "ben is a person",
            "cleo is a person",
            "dora is a person",
            "eve is a person",
        ])
        .rule("kin", &["{a} is a parent of {b}"], "{a} is an ancestor of {b}")
        .rule("kin", &["{a} is a parent of {b}", "{b} is an ancestor of {c}"], "{a} is an ancestor of {c}")
        .rule("leaf", &["{a} is a person", "no {a} is a parent of {}"], "{a} has no known child")
        .rule(
            "leaf",
            &["{a} is a person", "{b} is a person", "no {a} is an ancestor of {b}", "{a} != {b}"],
            "{a} is no ancestor of {b}",
        )
}

#[test]
fn whoever_is_a_parents_ancestor_is_an_ancestor() {
    let world = family();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{a} is an ancestor of {b}"),
        [
            "ada is an ancestor of ben",
            "ada is an ancestor of cleo",
            "ada is an ancestor of dora",
            "ben is an ancestor of cleo",
            "ben is an ancestor of dora",
        ]
    );
    assert_eq!(
        world.all(&model, "{a} has no known child"),
        ["cleo has no known child", "dora has no known child", "eve has no known child"]
    );
    assert_eq!(world.all(&model, "{a} is no ancestor of {b}").len(), 20 - 5);
}

#[test]
fn a_proof_shows_the_rule_and_the_premises_in_written_order() {
    let world = family();
    let model = world.model();
    let row = model.find(&world.tuple("ada is an ancestor of cleo")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Rule { rule, premises, .. } = &proof.by else { panic!("by a rule") };
    assert_eq!(*rule, 1);
    let said: Vec<String> = premises
        .iter()
        .map(|p| match p {
            Premise::Holds(p) => world.text(&p.tuple),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(said, ["ada is a parent of ben", "ben is an ancestor of cleo"]);
}

#[test]
fn an_absence_keeps_up_to_three_near_misses() {
    let world = family();
    let model = world.model();
    let row = model.find(&world.tuple("eve is no ancestor of cleo")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Rule { premises, .. } = &proof.by else { panic!("by a rule") };
    let Some(Premise::Absent { near, .. }) = premises.get(2) else { panic!("an absence") };
    let near: Vec<String> = near.iter().map(|t| world.text(t)).collect();
    assert_eq!(near, ["ada is an ancestor of cleo", "ben is an ancestor of cleo"]);
}

#[test]
fn a_family_that_is_its_own_ancestor_still_ends() {
    let world = family().given(&["cleo is a parent of ada"]);
    let model = world.model();
    assert_eq!(world.all(&model, "{a} is an ancestor of {b}").len(), 3 * 4);
}

#[test]
fn a_long_chain_of_reasons_does_not_exhaust_the_stack() {
    let links: Vec<String> = (0..20_000).map(|n| format!("{n} is a parent of {}", n + 1)).collect();
    let links: Vec<&str> = links.iter().map(String::as_str).collect();
    let world = World::default()
        .says(&["{a} is a parent of {b}", "{a} is of the line"])
        .given(&links)
        .given(&["0 is of the line"])
        .rule("line", &["{a} is of the line", "{a} is a parent of {b}"], "{b} is of the line");
    let model = world.model();
    let row = model.find(&world.tuple("20000 is of the line")).expect("it holds");
    assert_eq!(model.rank(row).round, 20_000);
    let proof = model.proof(row).expect("a proof");
    drop(proof);
}

#[test]
fn a_rule_without_lines_and_a_sentence_without_blanks_hold() {
    let world = World::default()
        .says(&["it rains", "{a} gets wet", "it pours"])
        .rule("sky", &[], "it rains")
        .rule("sky", &["it rains", "no it pours"], "bob gets wet");
    let model = world.model();
    assert_eq!(world.all(&model, "it rains"), ["it rains"]);
    assert_eq!(world.all(&model, "{a} gets wet"), ["bob gets wet"]);
    super::checks::replay_everything(&world, &model);
}
