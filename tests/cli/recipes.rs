//! Recipes as they are asked for and told: what is read of the words, what is refused, and how it looks.

use std::{collections::BTreeSet, sync::OnceLock};

use chrono::NaiveDate;
use haulm::{
    model::{
        page::{Example, PageKind},
        program::Told,
    },
    session::{Checked, Session},
    show::{self, layout::Style, paint::unpainted},
};
use proptest::prelude::*;

use crate::grower::{Answer, Notes};

const JOURNAL: &str = "\
# Notes

- bed north-1, 30 ft x 4 ft
- path path-2
- unit barrow, 3 ft3

## 2026-03-14

- received 6 yd3 compost as lot tern-26 from Tern Quay Soils
- received 8 bags potting mix as lot bag-mix
- noticed nothing wrong in path path-2
";

fn asked(words: &[&str]) -> Answer {
    let notes = Notes::with(&[("one.md", JOURNAL)]);
    notes.haulm(&[&["recipe", "--today", "2026-04-04"], words].concat())
}

#[test]
fn alone_it_lists_how_each_recipe_is_asked_for() {
    for name in ["bean-test LOT", "straw COUNT CONTAINER", "spread LOT on PLACE", "carbon for SIZE"] {
        asked(&[]).ended(0).says(&format!("haulm recipe {name}"));
    }
    asked(&[]).says("with DRY dry straw in each");
}

#[test]
fn what_the_journal_knows_need_not_be_said() {
    asked(&["spread", "tern-26", "on", "north-1"])
        .ended(0)
        .says("10 ft3: 120 ft2, 1 in deep")
        .says("4 barrows of 3 ft3.")
        .says("  - spread lot tern-26 on bed north-1, 1 in deep");
}

#[test]
fn without_a_journal_a_recipe_still_tells_what_it_can() {
    let notes = Notes::with(&[]);
    notes.haulm(&["recipe", "straw", "4", "buckets", "--today", "2026-04-04"]).ended(0).says("4-7.2 kg");
    notes.haulm(&["recipe", "bean-test", "tern-26"]).ended(2).complains("`--in DIR` names one");
}

#[test]
fn what_is_missing_is_refused_with_the_line_that_would_say_it() {
    let refused = asked(&["chips", "path-2"]).ended(1).says("How big is path path-2?");
    assert!(refused.out.contains("`- path path-2, 30 ft x 4 ft`"), "{}", refused.out);
    assert!(!refused.out.contains("spawn"), "nothing else is told:\n{}", refused.out);
}

#[test]
fn a_slip_is_met_with_what_comes_near() {
    asked(&["strw", "4", "buckets"]).ended(2).complains("did you mean `straw`?");
    asked(&["bean-test", "tern-62"]).ended(2).complains("did you mean `tern-26`?");
    asked(&["straw", "-4", "buckets"]).ended(2).complains("`-4` is less than nothing.");
    let wet = ["straw", "4", "buckets", "with", "straw", "at", "140", "%", "water"];
    asked(&wet).ended(2).complains("`140 %` is more than all.");
    asked(&["straw", "four", "buckets"]).ended(2).complains("`four` is no number.").complains("straw COUNT");
    asked(&["straw", "4", "buckets", "with", "moisture", "2", "kg"]).ended(2).complains("moisture");
    asked(&["spread", "tern-26", "on", "tern-26"]).ended(2).complains("tern-26 is a lot");
    asked(&["straw", "4", "buckets", "with", "love"]).ended(2).complains("nothing this recipe takes");
    asked(&["lime", "4", "gal"]).ended(2).complains("a US or an imperial one");
}

#[test]
fn sources_stand_beside_the_figures_and_a_figure_can_be_asked_why() {
    asked(&["straw", "4", "buckets", "--sources"])
        .ended(0)
        .says("source   spawn goes in at 5 % of the wet straw: Penn State Extension")
        .says("Colavolpe, Jaramillo Mejia");
    asked(&["straw", "4", "buckets", "--why", "dry straw"])
        .ended(0)
        .says("because")
        .says("asked of recipe-straw: straw 4 bucket")
        .says("rules/tables/recipes/straw.md:");
    asked(&["straw", "4", "buckets", "--why", "4"]).ended(0).says("Let it cool");
    asked(&["straw", "4", "buckets", "--why", "moonlight"]).ended(2).complains("`dry straw`");
    asked(&["straw", "4", "buckets", "--why", "99"]).ended(2);
}

#[test]
fn json_holds_all_that_is_told() {
    let json = asked(&["straw", "4", "buckets", "--format", "json"]).ended(0);
    let value: serde_json::Value = serde_json::from_str(&json.out).expect("JSON comes out");
    assert_eq!(value["sums"][0]["label"], "dry straw");
    assert!(value["sums"][0]["cited"][0]["source"].as_str().is_some_and(|s| s.contains("weigh your own")));
    assert!(value["steps"].as_array().is_some_and(|s| s.len() > 5));
    let list = asked(&["--format", "json"]).ended(0);
    let value: serde_json::Value = serde_json::from_str(&list.out).expect("JSON comes out");
    assert!(value.as_array().is_some_and(|all| all.iter().any(|r| r["code"] == "recipe-lime")));
}

/// A session whose rulebook is compiled: another journal at the same path leaves it so.
fn session() -> Session {
    static FIRST: OnceLock<Session> = OnceLock::new();
    let first = FIRST.get_or_init(|| {
        let mut session = Session::new();
        session.set_text("one.md", JOURNAL);
        session.check(day(), None);
        session
    });
    first.clone()
}

fn day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 4, 4).expect("a day")
}

/// What every recipe's page shows as its first example, told of that example's journal.
fn examples() -> Vec<(String, Session)> {
    let checked = session().check(day(), None);
    let examples = checked.pages.iter().flat_map(|p| &p.examples);
    let all: Vec<(String, Session)> = examples
        .filter_map(|e| {
            let mut session = session();
            session.set_text("one.md", &e.journal.text);
            Some((e.ask.as_ref()?.text.to_string(), session))
        })
        .collect();
    assert!(all.len() > 50, "only {} examples", all.len());
    all
}

#[test]
fn no_line_is_wider_than_the_terminal_and_colour_changes_no_word() {
    for (ask, mut session) in examples() {
        let (recipe, sources) = session.recipe(&ask, day(), None).expect("an example is read");
        for width in [40, 80, 120] {
            let plain = Style { width, ..Style::plain() };
            for cited in [None, Some(&sources)] {
                let text = show::recipe::recipe(&recipe, cited, &plain);
                let pasted = |line: &str| line.trim_start().starts_with("- ");
                for line in text.lines().filter(|l| !pasted(l)) {
                    assert!(show::layout::columns(line) <= width, "{ask}: {line:?}");
                }
                let painted = show::recipe::recipe(&recipe, cited, &Style { colour: true, ..plain.clone() });
                assert_eq!(unpainted(&painted), text, "{ask}");
            }
        }
    }
}

/// The day an example is read on: the one it names, else the last of its journal.
fn today_of(example: &Example) -> NaiveDate {
    let days = example.journal.text.lines().filter_map(|l| l.strip_prefix("## ")?.parse().ok());
    let said = example.today.as_ref().and_then(|t| t.text.parse().ok());
    said.or_else(|| days.max()).unwrap_or_else(day)
}

/// What the reading says of a file, by code and words; what rules find is no complaint about a line.
fn complaints(checked: &Checked, path: &str) -> Vec<String> {
    let reading: BTreeSet<&str> =
        checked.pages.iter().filter(|p| p.kind == PageKind::Reading).map(|p| &*p.code).collect();
    let here = |d: &&haulm::base::diagnostic::Diagnostic| {
        d.primary.as_ref().is_some_and(|l| &*checked.sources.file(l.loc.file).path == path)
    };
    let of_reading = checked.report.findings.iter().filter(here).filter(|d| reading.contains(&*d.code));
    of_reading.map(|d| format!("{}: {}", d.code, d.message)).collect()
}

/// Every recipe's lines, of every example, pasted under the day they were told on: read without a word against them once
/// the dots are filled in, and told as wanting while they are not. No recipe goes without.
#[test]
fn what_a_recipe_offers_to_paste_is_read_without_a_complaint() {
    let mut first = session();
    let checked = first.check(day(), None);
    let mut without: BTreeSet<String> =
        checked.pages.iter().filter(|p| p.kind == PageKind::Recipe).map(|p| p.code.to_string()).collect();
    assert!(without.len() >= 12, "{without:?}");
    let mut faults = Vec::new();
    let (mut lines, mut dotted) = (0, 0);
    for page in checked.pages.iter().filter(|p| p.kind == PageKind::Recipe) {
        for example in page.examples.iter().filter(|e| e.must_fire) {
            let Some(ask) = &example.ask else { continue };
            let today = today_of(example);
            let mut session = session();
            session.set_text("one.md", &example.journal.text);
            let (recipe, _) = session.recipe(&ask.text, today, None).expect("an example is read");
            for (fill, whole) in [("12", true), ("\u{2026}", false)] {
                let wanted =
                    recipe.writes.iter().map(|w| &w.text).filter(|w| whole || w.contains('\u{2026}'));
                let pasted: Vec<String> =
                    wanted.map(|w| format!("- {}\n", w.replace('\u{2026}', fill))).collect();
                if pasted.is_empty() {
                    continue;
                }
                without.remove(&*page.code);
                session.set_text("pasted.md", &format!("## {today}\n{}", pasted.concat()));
                let said = complaints(&session.check(today, None), "pasted.md");
                if whole {
                    lines += pasted.len();
                    faults.extend(said.into_iter().map(|s| format!("{}: {pasted:?}: {s}", ask.text)));
                } else {
                    dotted += pasted.len();
                    if said.is_empty() {
                        faults.push(format!("{}: {pasted:?} is read as if it were whole", ask.text));
                    }
                }
            }
        }
    }
    assert_eq!(faults, Vec::<String>::new());
    assert_eq!(without, BTreeSet::new(), "each has a line for the journal");
    assert!(lines > 150 && dotted > 20, "{lines} lines, {dotted} with dots");
}

/// Every recipe has a caution to tell, and ends its page with where its figures are from.
#[test]
fn every_recipe_cautions_where_it_can_hurt() {
    let mut first = session();
    let checked = first.check(day(), None);
    for page in checked.pages.iter().filter(|p| p.kind == PageKind::Recipe) {
        let cautions = page.examples.iter().filter(|e| e.must_fire).any(|example| {
            let mut session = session();
            session.set_text("one.md", &example.journal.text);
            let ask = example.ask.as_ref().map_or("", |ask| &*ask.text);
            let told = session.recipe(ask, today_of(example), None).map(|(recipe, _)| recipe);
            told.is_ok_and(|r| {
                r.lines().any(|(part, line)| {
                    part == Told::Caution || line.beside.iter().any(|(part, _)| *part == Told::Caution)
                })
            })
        });
        assert!(cautions, "{} never cautions", page.code);
        assert!(page.sections.iter().any(|s| &*s.heading.text == "Sources"), "{}", page.code);
    }
}

#[test]
fn what_is_said_beside_may_stand_in_any_order() {
    let mut session = session();
    let clauses = ["with 1.2 kg dry straw in each", "with moisture 70 %", "with blue oyster spawn"];
    let told = |session: &mut Session, order: [usize; 3]| {
        let words = format!("straw 4 buckets {}", order.map(|n| clauses[n]).join(", and "));
        let (mut recipe, _) = session.recipe(&words, day(), None).expect("it is read");
        recipe.asked.clear();
        recipe
    };
    let first = told(&mut session, [0, 1, 2]);
    for order in [[0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        assert_eq!(told(&mut session, order), first);
    }
}

/// Words that make it likely that a way of asking is begun, and then broken off.
fn word() -> impl Strategy<Value = String> {
    let known = [
        "straw",
        "bean-test",
        "blend",
        "dilute",
        "spread",
        "lime",
        "carbon",
        "chips",
        "for",
        "on",
        "in",
        "with",
        "and",
        "of",
        "at",
        "4",
        "10",
        "kg",
        "l",
        "%",
        "ppb",
        "buckets",
        "tern-26",
        "north-1",
        "path-2",
        "leaves",
        "tomato",
        "clopyralid",
        "to",
        "1",
        "0",
        "-3",
        "1e9",
        "2026-04-04",
        ",",
        "parts",
        "seed",
        "",
    ];
    prop_oneof![4 => prop::sample::select(known.to_vec()).prop_map(str::to_owned), 1 => "\\PC{0,12}"]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_typed_is_told_or_met_with_words(words in prop::collection::vec(word(), 0..12)) {
        let words = words.join(" ");
        let mut session = session();
        match session.recipe(&words, day(), None) {
            Ok((recipe, _)) => {
                let told = recipe.lines().count();
                prop_assert!(told > 0, "{words:?} tells nothing");
            }
            Err(said) => prop_assert!(!said.trim().is_empty(), "{words:?}"),
        }
    }
}
