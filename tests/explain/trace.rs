//! Following a thing: where it went, what reached it, by which lines.

#![allow(clippy::panic)]

use haulm::{
    base::diagnostic::Severity,
    explain::{subject, trace},
    model::explanation::Trace,
    show::{self, layout::Style},
};

use crate::scene::Scene;

const DIARY: &str = "## 2026-03-01\n- ann lent hamlet to bob\n## 2026-03-05\n- bob lent hamlet to cy\n\
## 2026-03-09\n- [ ] cy lent hamlet to dee\n";

fn followed(name: &str) -> (Trace, String) {
    let run = Scene::new(
        &[
            "*{who} lent {source} to {place} on {day}",
            "{source} reached {place} on {day}",
            "{source} is meant to reach {place} on {day}",
            "{amount:mass} of {source} reached {place} by {day}",
        ],
        &[("book", "hamlet"), ("person", "ann"), ("person", "bob"), ("person", "cy"), ("person", "dee")],
    )
    .page("loans", Severity::Hint, "")
    .rule("loans", &["{} lent {source} to {place} on {day}"], "{source} reached {place} on {day}")
    .rule(
        "loans",
        &["{} lent {source} to {place} on {day} (done or planned)"],
        "{source} is meant to reach {place} on {day}",
    )
    .given(&["1kg of hamlet reached bob by 2026-03-01", "2-3kg of hamlet reached bob by 2026-03-04"])
    .diary(DIARY)
    .on("2026-03-06");
    let known = run.known();
    let subject::Subject::Value(value) = subject::find(&known, name).expect("a thing") else {
        panic!("a thing is a value");
    };
    let found = trace::trace(&known, &value);
    let text = show::trace::trace(&found, &run.sources, &Style::plain());
    (found, text)
}

#[test]
fn a_trace_tells_each_end_once_with_its_latest_amount_and_the_lines_it_went_by() {
    let (found, text) = followed("hamlet");
    let ends: Vec<(&str, Option<&str>, bool)> =
        found.forwards.iter().map(|r| (r.thing.as_str(), r.amount.as_deref(), r.planned)).collect();
    assert_eq!(ends, [("bob", Some("2-3 kg"), false), ("cy", None, false), ("dee", None, true)]);
    assert!(found.backwards.is_empty());
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!("library_trace", format!("=== loans.md\n{DIARY}=== shown\n{text}"));
    });
}

#[test]
fn a_trace_backwards_tells_what_reached_an_end() {
    let (found, _) = followed("cy");
    let ends: Vec<_> = found.backwards.iter().map(|r| (r.thing.as_str(), r.since.as_str())).collect();
    assert_eq!(ends, [("book hamlet", "5 March 2026")]);
    assert!(found.forwards.is_empty());
}
