//! Rules that go in circles or leave a blank open are refused; the others run.

use super::world::World;

fn town() -> World {
    World::default()
        .says(&[
            "{a} shaves {b}",
            "{a} is a person",
            "{a} is shaved",
            "{a} is {n} years",
            "{a} has {n} friends",
        ])
        .given(&["ann is a person", "bob is a person", "bob shaves ann", "ann is 3 years"])
        .rule("ok", &["{} shaves {a}"], "{a} is shaved")
}

#[test]
fn absence_through_recursion_is_refused_with_the_circle_named() {
    let world = town().rule("barber", &["{a} is a person", "no {a} is shaved"], "bob shaves {a}");
    let (model, diagnostics) = world.run();
    let [circle] = diagnostics.as_slice() else { panic!("one diagnostic: {diagnostics:?}") };
    assert_eq!(&*circle.code, "rule-goes-in-circles");
    assert_eq!(
        circle.message,
        "This rule goes in circles: “{a} shaves {b}” is said where no “{a} is shaved” holds, \
         which rests on “{a} shaves {b}”."
    );
    assert_eq!(circle.primary.as_ref().map(|l| l.loc), Some(world.program.rules[1].body[1].loc));
    assert!(model.left_out(1) && !model.left_out(0));
    assert_eq!(world.all(&model, "{a} is shaved"), ["ann is shaved"], "the rest still runs");
}

#[test]
fn computing_through_recursion_is_refused_so_that_every_program_ends() {
    let world = town().rule("ages", &["{a} is {n} years", "{m} = {n} + 1"], "{a} is {m} years");
    let (model, diagnostics) = world.run();
    assert_eq!(diagnostics.len(), 1);
    assert_eq!(&*diagnostics[0].code, "rule-goes-in-circles");
    assert_eq!(world.all(&model, "{a} is {n} years"), ["ann is 3 years"]);
}

#[test]
fn counting_through_recursion_is_refused() {
    let world = town().rule(
        "popular",
        &["{a} is a person", "{n} is how many different {b} such that {b} has {} friends"],
        "{a} has {n} friends",
    );
    let (_, diagnostics) = world.run();
    assert_eq!(diagnostics.len(), 1);
    assert_eq!(&*diagnostics[0].code, "rule-goes-in-circles");
}

#[test]
fn comparing_within_recursion_is_allowed() {
    let world = World::default()
        .says(&["{a} leads to {b}", "{a} reaches {b}"])
        .given(&["1 leads to 2", "2 leads to 3", "3 leads to 1"])
        .rule("way", &["{a} leads to {b}"], "{a} reaches {b}")
        .rule("way", &["{a} reaches {b}", "{b} leads to {c}", "{a} < {c}"], "{a} reaches {c}");
    let model = world.model();
    assert_eq!(
        world.all(&model, "{a} reaches {b}"),
        ["1 reaches 2", "1 reaches 3", "2 reaches 3", "3 reaches 1"]
    );
}

#[test]
fn a_blank_that_nothing_fills_is_named() {
    let world = town().rule("open", &["{a} is a person", "{b} != {a}"], "{a} shaves {b}");
    let (model, diagnostics) = world.run();
    let [open] = diagnostics.as_slice() else { panic!("one diagnostic: {diagnostics:?}") };
    assert_eq!(&*open.code, "rule-cannot-run");
    assert_eq!(open.message, "No line of this rule says what {b} is.");
    assert_eq!(world.all(&model, "{a} shaves {b}"), ["bob shaves ann"]);
}

#[test]
fn a_circle_of_several_sentences_is_told_whole() {
    let world = World::default()
        .says(&["{a} is in", "{a} is out", "{a} is seen", "{a} is there"])
        .given(&["ann is there"])
        .rule("door", &["{a} is there", "no {a} is out"], "{a} is in")
        .rule("door", &["{a} is in"], "{a} is seen")
        .rule("door", &["{a} is seen"], "{a} is out");
    let (model, diagnostics) = world.run();
    let [circle] = diagnostics.as_slice() else { panic!("one diagnostic: {diagnostics:?}") };
    assert_eq!(
        circle.message,
        "This rule goes in circles: “{a} is in” is said where no “{a} is out” holds, \
         which rests on “{a} is seen”, which rests on “{a} is in”."
    );
    assert_eq!(model.len(), 1);
}
