//! Why not: the nearest rule, and what stands in its way.

use haulm::{
    explain::whynot::why_not,
    model::whynot::{Obstacle, WhyNot},
};

use super::{
    families::family,
    library::library,
    world::{Vars, World},
};

fn ask(world: &World, said: &str) -> WhyNot {
    let model = world.model();
    why_not(&model, &world.atom(said, &mut Vars::default()))
}

#[test]
fn what_holds_needs_no_reason_why_not() {
    let world = family();
    let answer = ask(&world, "ada is an ancestor of cleo");
    assert_eq!(answer.holds.len(), 1);
    assert!(answer.attempts.is_empty());
}

#[test]
fn a_missing_sentence_is_named_with_those_that_differ_in_one_blank() {
    let world = family();
    let answer = ask(&world, "ada is an ancestor of eve");
    let near: Vec<String> = answer.near.iter().map(|t| world.text(t)).collect();
    assert_eq!(
        near,
        ["ada is an ancestor of ben", "ada is an ancestor of cleo", "ada is an ancestor of dora"]
    );
    let first = &answer.attempts[0];
    assert_eq!((first.rule, first.line, first.left), (0, 0, 1), "one line is left in either rule");
    let Obstacle::Missing { near, .. } = &first.obstacle else { panic!("{:?}", first.obstacle) };
    assert_eq!(world.text(&near[0]), "ada is a parent of ben");
    let second = &answer.attempts[1];
    assert_eq!((second.rule, second.line, second.left), (1, 1, 1));
    assert_eq!(second.met.len(), 1);
    let Obstacle::Missing { pattern, .. } = &second.obstacle else { panic!("{:?}", second.obstacle) };
    assert_eq!(*pattern, world.atom("ben is an ancestor of eve", &mut Vars::default()));
}

#[test]
fn a_fact_in_the_way_is_shown() {
    let world = library();
    let answer = ask(&world, "emma is out with ann");
    let [attempt] = answer.attempts.as_slice() else { panic!("one rule") };
    let Obstacle::InTheWay { tuple, .. } = &attempt.obstacle else { panic!("{:?}", attempt.obstacle) };
    assert_eq!(world.text(&world.model().tuple(*tuple)), "emma came back on 2026-03-10");
    assert_eq!((attempt.line, attempt.left), (1, 1));
}

#[test]
fn a_comparison_that_fails_is_shown_with_both_values() {
    let world = library();
    let answer = ask(&world, "emma is late by {}");
    let [attempt] = answer.attempts.as_slice() else { panic!("one rule") };
    let Obstacle::Unmet { left, right, .. } = &attempt.obstacle else { panic!("{:?}", attempt.obstacle) };
    assert_eq!(*left, Some(super::world::value("2026-04-10")));
    assert_eq!(*right, Some(super::world::value("2026-04-11")));
    assert_eq!(attempt.left, 2);
}

#[test]
fn a_missing_sentence_that_rules_could_say_is_followed() {
    let world = library();
    let answer = ask(&world, "dune is late by {}");
    let Obstacle::Missing { because: Some(because), .. } = &answer.attempts[0].obstacle else {
        panic!("followed")
    };
    assert_eq!(because.asked, {
        let mut vars = Vars::default();
        for name in ["{b}", "{span}", "{w}"] {
            vars.var(name);
        }
        let mut atom = world.atom("dune is out with {w}", &mut vars);
        atom.terms[1] = haulm::model::program::Term::Var(answer_var(&world, "late", "w"));
        atom
    });
    let Obstacle::Missing { near, .. } = &because.attempts[0].obstacle else { panic!("missing") };
    assert_eq!(world.text(&near[0]), "dune was lent to cat on 2026-05-01", "it is only planned");
}

fn answer_var(world: &World, page: &str, name: &str) -> haulm::model::program::VarId {
    let rule = world.program.rules.iter().find(|r| &*r.page == page).expect("a rule");
    let at = rule.vars.iter().position(|v| &**v == name).expect("a variable");
    haulm::model::program::VarId(u32::try_from(at).expect("few variables"))
}

#[test]
fn another_value_computed_or_counted_is_shown_beside_the_one_asked_for() {
    let world = library();
    let answer = ask(&world, "ann has had 5 books");
    let Obstacle::AnotherValue { value, asked } = &answer.attempts[0].obstacle else {
        panic!("another value")
    };
    assert_eq!((value, asked), (&super::world::value("2"), &super::world::value("5")));
    let answer = ask(&world, "emma lent to ann is due on 2026-03-16");
    let Obstacle::AnotherValue { value, .. } = &answer.attempts[0].obstacle else { panic!("another value") };
    assert_eq!(*value, super::world::value("2026-03-15"));
}

#[test]
fn the_last_of_nothing_is_said_to_be_the_last_of_nothing() {
    let world = library();
    let answer = ask(&world, "cat last came on {}");
    let Obstacle::NothingGathered { near, .. } = &answer.attempts[0].obstacle else { panic!("nothing") };
    assert_eq!(world.text(&near[0]), "dune was lent to cat on 2026-05-01");
}

#[test]
fn unlike_things_that_cannot_be_computed_are_shown() {
    let world = World::default()
        .says(&["{a} weighs {q}", "{a} was born {d}", "{a} comes to {t}"])
        .given(&["ann weighs 60kg", "ann was born 2026-01-01"])
        .rule("sum", &["{a} weighs {q}", "{a} was born {d}", "{t} = {q} + {d}"], "{a} comes to {t}");
    let answer = ask(&world, "ann comes to {}");
    assert!(matches!(answer.attempts[0].obstacle, Obstacle::NotComputed { .. }));
}

#[test]
fn a_question_that_leads_back_to_itself_ends() {
    let world = World::default()
        .says(&["{a} is in", "{a} is out"])
        .rule("door", &["{a} is out"], "{a} is in")
        .rule("door", &["{a} is in"], "{a} is out");
    let answer = ask(&world, "ann is in");
    assert_eq!(answer.attempts.len(), 1);
}
