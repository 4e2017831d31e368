//! A lending library: entries, plans, absence with comparisons, gathering, computing, one answer only.

use std::sync::Arc;

use haulm::model::{
    outcome::Reason,
    program::FactSource,
    proof::{By, Premise},
};

use super::world::{World, value};

/// Loans and returns, and rules over them.
pub fn library() -> World {
    World::default()
        .says(&[
            "*{book} was lent to {who} on {day}",
            "*{book} came back on {day}",
            "*{load:mass} of {book} was sent to {who}",
            "today is {day}",
            "{who} may keep books for {span}",
            "{book} lent to {who} is due on {day}",
            "{book} is out with {who}",
            "{book} is late by {span}",
            "{who} has had {n} books",
            "{who} got {total:mass} in all",
            "{who} last came on {day}",
            "{book} went out on {day} for the first time",
            "{book} will go out to {who}",
            "{e} lent {book}",
        ])
        .given(&[
            "emma was lent to ann on 2026-03-01",
            "emma came back on 2026-03-10",
            "emma was lent to bob on 2026-03-12",
            "ulysses was lent to ann on 2026-03-20",
            "ulysses was lent to ann on 2026-03-20",
            "dune was lent to cat on 2026-05-01 (planned)",
            "2kg of emma was sent to ann",
            "2kg of emma was sent to ann",
            "1-3kg of dune was sent to ann",
            "today is 2026-04-10",
            "ann may keep books for 14d",
            "bob may keep books for 30d",
            "cat may keep books for 30d",
        ])
        .rule(
            "due",
            &["{b} was lent to {w} on {day}", "{w} may keep books for {span}", "{due} = {day} + {span}"],
            "{b} lent to {w} is due on {due}",
        )
        .rule(
            "out",
            &["{b} was lent to {w} on {day}", "no {b} came back on {back}, with {back} >= {day}"],
            "{b} is out with {w}",
        )
        .rule(
            "late",
            &[
                "{b} is out with {w}",
                "{b} lent to {w} is due on {due}",
                "today is {now}",
                "{now} > {due}",
                "{span} = {now} - {due}",
            ],
            "{b} is late by {span}",
        )
        .rule(
            "count",
            &[
                "{w} may keep books for {}",
                "{n} is how many different {b} such that {b} was lent to {w} on {}",
            ],
            "{w} has had {n} books",
        )
        .rule(
            "count",
            &["{w} may keep books for {}", "{t} is the total {q} such that {q} of {} was sent to {w}"],
            "{w} got {t} in all",
        )
        .rule(
            "count",
            &["{w} may keep books for {}", "{d} is the greatest {x} such that {} was lent to {w} on {x}"],
            "{w} last came on {d}",
        )
        .rule(
            "count",
            &["{b} was lent to {} on {d}", "{d} is the least {x} such that {b} was lent to {} on {x}"],
            "{b} went out on {d} for the first time",
        )
        .rule("plans", &["{b} was lent to {w} on {} (planned)"], "{b} will go out to {w}")
        .rule("plans", &["{b} was lent to {} on {} (done or planned) (entry {e})"], "{e} lent {b}")
}

#[test]
fn a_day_and_a_span_give_a_day_and_lateness_is_a_span() {
    let world = library();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{book} lent to {who} is due on {day}"),
        [
            "emma lent to ann is due on 2026-03-15",
            "emma lent to bob is due on 2026-04-11",
            "ulysses lent to ann is due on 2026-04-03"
        ]
    );
    assert_eq!(world.all(&model, "{book} is late by {span}"), ["ulysses is late by 7Duration"]);
}

#[test]
fn a_denied_sentence_may_have_to_meet_comparisons_as_well() {
    let world = library();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{book} is out with {who}"),
        ["emma is out with bob", "ulysses is out with ann"]
    );
    let row = model.find(&world.tuple("emma is out with bob")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Rule { premises, .. } = &proof.by else { panic!("by a rule") };
    let Some(Premise::Absent { with, near, .. }) = premises.get(1) else { panic!("an absence") };
    assert_eq!(with.len(), 1);
    let near: Vec<String> = near.iter().map(|t| world.text(t)).collect();
    assert_eq!(near, ["emma came back on 2026-03-10"], "it came back, but before");
}

#[test]
fn how_many_counts_values_and_a_total_adds_entries() {
    let world = library();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{who} has had {n} books"),
        ["ann has had 2 books", "bob has had 1 books", "cat has had 0 books"]
    );
    assert_eq!(
        world.all(&model, "{who} got {total} in all"),
        ["ann got 5-7Mass in all", "bob got 0Mass in all", "cat got 0Mass in all"]
    );
    let row = model.find(&world.tuple("ann got 5-7kg in all")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Rule { premises, .. } = &proof.by else { panic!("by a rule") };
    let Some(Premise::Gathered { members, value: total, .. }) = premises.get(1) else { panic!("gathered") };
    assert_eq!(members.len(), 3, "two equal loads are two facts");
    assert_eq!(*total, value("5-7kg"));
}

#[test]
fn the_last_and_the_first_are_values_that_another_line_can_fetch() {
    let world = library();
    let model = world.model();
    assert_eq!(
        world.all(&model, "{who} last came on {day}"),
        ["ann last came on 2026-03-20", "bob last came on 2026-03-12"],
        "the last of nothing is nothing, and a plan is not done"
    );
    assert_eq!(
        world.all(&model, "{book} went out on {day} for the first time"),
        [
            "emma went out on 2026-03-01 for the first time",
            "ulysses went out on 2026-03-20 for the first time"
        ]
    );
}

#[test]
fn plans_are_read_only_where_a_line_says_so_and_entries_can_be_named() {
    let world = library();
    let model = world.model();
    assert_eq!(world.all(&model, "{book} will go out to {who}"), ["dune will go out to cat"]);
    assert_eq!(world.all(&model, "{e} lent {book}").len(), 5, "each entry once");
    assert_eq!(world.all(&model, "{book} is out with {who}").len(), 2);
}

#[test]
fn a_line_with_comparisons_in_a_gathering_reads_only_what_meets_them() {
    let world = library().says(&["{who} had {n} books by march ten"]).rule(
        "march",
        &[
            "{w} may keep books for {}",
            "{n} is how many different {b} such that {b} was lent to {w} on {d}, with {d} < 2026-03-10",
        ],
        "{w} had {n} books by march ten",
    );
    let model = world.model();
    assert_eq!(
        world.all(&model, "{who} had {n} books by march ten"),
        ["ann had 1 books by march ten", "bob had 0 books by march ten", "cat had 0 books by march ten"]
    );
}

#[test]
fn a_span_of_days_meets_a_comparison_only_if_all_of_it_does_or_the_line_says_may() {
    let world = World::default()
        .says(&["*{book} came back on {day}", "{book} is surely in time", "{book} may be in time"])
        .given(&[
            "emma came back on 2026-03-01",
            "dune came back on 2026-03-08..2026-03-12",
            "ulysses came back on 2026-03-11",
        ])
        .rule("time", &["{b} came back on {d}", "{d} <= 2026-03-10"], "{b} is surely in time")
        .rule("time", &["{b} came back on {d}", "may {d} <= 2026-03-10"], "{b} may be in time");
    let model = world.model();
    assert_eq!(world.all(&model, "{book} is surely in time"), ["emma is surely in time"]);
    assert_eq!(world.all(&model, "{book} may be in time"), ["dune may be in time", "emma may be in time"]);
}

#[test]
fn two_answers_where_one_is_allowed_are_an_error_that_names_both() {
    let world = library()
        .says(&["the state of {book} is {state}"])
        .only_one(1)
        .rule("state", &["{b} is out with {}"], "the state of {b} is out")
        .rule("state", &["{b} came back on {}"], "the state of {b} is in");
    let (model, diagnostics) = world.run();
    assert_eq!(model.clashes().len(), 1);
    let [clash] = diagnostics.as_slice() else { panic!("one diagnostic: {diagnostics:?}") };
    assert_eq!(&*clash.code, "two-answers");
    assert_eq!(
        clash.message,
        "Only one can be right: “the state of emma is in”, or “the state of emma is out”."
    );
    let why: Vec<&str> = clash.remarks.iter().map(|r| r.text.as_str()).collect();
    assert_eq!(
        why,
        ["“the state of emma is in”: rule 2 of state", "“the state of emma is out”: rule 1 of state"]
    );
    assert_eq!(clash.secondary.len(), 2);
}

#[test]
fn a_fact_said_in_two_places_rests_on_the_first() {
    let mut world = World::default().says(&["{a} is old"]).given(&["emma is old", "emma is old"]);
    Arc::make_mut(&mut world.program.facts).reverse();
    let model = world.model();
    let row = model.find(&world.tuple("emma is old")).expect("it holds");
    let first = world.program.facts.iter().map(|f| &f.source).min().expect("a fact");
    assert_eq!(model.reason(row), Some(Reason::Said(first)));
    assert!(matches!(first, FactSource::Page(_)));
    assert_eq!(model.len(), 1);
}

#[test]
fn of_several_shallowest_derivations_the_first_page_and_least_premises_are_kept() {
    let world = library()
        .says(&["{w} reads"])
        .rule("reader-b", &["{} lent to {w} is due on {}"], "{w} reads")
        .rule("reader-a", &["{} was lent to {w} on {}"], "{w} reads");
    let model = world.model();
    let row = model.find(&world.tuple("ann reads")).expect("it holds");
    let proof = model.proof(row).expect("a proof");
    let By::Rule { rule, premises, .. } = &proof.by else { panic!("by a rule") };
    assert_eq!(&*model.rules()[*rule].page, "reader-a");
    let Some(Premise::Holds(premise)) = premises.first() else { panic!("a sentence") };
    assert_eq!(world.text(&premise.tuple), "emma was lent to ann on 2026-03-01");
    let others = model.derivations(row, 10);
    let pages: Vec<&str> = others
        .iter()
        .map(|p| match &p.by {
            By::Rule { rule, .. } => &*model.rules()[*rule].page,
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(pages, ["reader-a", "reader-a", "reader-b", "reader-b"], "both loans of ulysses, both dues");
}

#[test]
fn unlike_amounts_have_no_total_and_meet_no_comparison() {
    let world = World::default()
        .says(&["*{q:amount} of {x} came", "{x} came to {t}", "{x} is at least two"])
        .given(&["2kg of tea came", "3d of tea came", "1kg of rye came", "2 of rye came", "5kg of oat came"])
        .rule("sum", &["{} of {x} came", "{t} is the total {q} such that {q} of {x} came"], "{x} came to {t}")
        .rule("sum", &["{q} of {x} came", "{q} >= 2"], "{x} is at least two");
    let model = world.model();
    assert_eq!(world.all(&model, "{x} came to {t}"), ["oat came to 5Mass"]);
    assert_eq!(world.all(&model, "{x} is at least two"), ["rye is at least two"]);
}
