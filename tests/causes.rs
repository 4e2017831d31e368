//! Laws of the judgement, held on whole diaries: what order, repetition, silence and better evidence may do to
//! the chance of a cause.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::expect_used)]

use std::{collections::BTreeMap, sync::OnceLock};

use haulm::{
    measure::{display, value::Value},
    model::sentence::SentenceId,
    session::{Checked, Session},
};
use proptest::prelude::*;

const PLACE: &str = "- bed a-1\n- bed a-2\n- bed a-3\n- bed a-4, 40 ft south of a-1\n- field Crow Piece, 100 ft north of a-1\n";

/// Lines of one diary, each on its own day, in the order of their days.
const LINES: [(&str, &str); 14] = [
    ("2026-03-14", "received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure"),
    ("2026-03-14", "received 20 bags potting mix as lot bag-mix from Joan, 40 l each"),
    (
        "2026-03-15",
        "potted 4 pots of bean in lot tern-26 mixed 2:1 with lot bag-mix as test t1, 3 seeds each",
    ),
    ("2026-03-15", "potted 4 pots of bean in lot bag-mix as control of test t1, 3 seeds each"),
    ("2026-03-20", "spread lot tern-26 on a-1 and a-2, 2 in deep"),
    ("2026-04-20", "saw Mr Orrin spray triclopyr on Crow Piece, wind 8 mph from the north"),
    ("2026-04-21", "frost -1 C"),
    ("2026-05-01", "noticed cupped leaves on tomato in a-1, new growth, 20 of 24 plants, severe"),
    ("2026-05-01", "noticed twisted stems on bean in a-2, moderate"),
    ("2026-05-01", "noticed nothing wrong on sweet corn in a-1"),
    ("2026-05-01", "noticed nothing wrong on tomato in a-3"),
    ("2026-05-02", "measured EC 1 dS/m by saturated paste in a-1"),
    ("2026-05-02", "noticed no broad mites on tomato in a-1"),
    ("2026-05-04", "read test t1: 4 of 4 pots hurt; control 0 of 4 pots hurt"),
];

/// Observations: what may be written twice without saying more.
fn observes(line: &str) -> bool {
    ["noticed", "read", "measured", "frost", "saw"].iter().any(|verb| line.starts_with(verb))
}

fn diary(lines: &[(&str, &str)]) -> String {
    let mut text = PLACE.to_owned();
    for (day, line) in lines {
        text.push_str(&format!("\n## {day}\n- {line}\n"));
    }
    text
}

/// A session whose pages are compiled already.
fn compiled() -> Session {
    static SESSION: OnceLock<Session> = OnceLock::new();
    let first = || {
        let mut session = Session::new();
        session.set_text("diary-0.md", PLACE);
        let _ = session.check("2026-05-10".parse().unwrap(), None);
        session
    };
    SESSION.get_or_init(first).clone()
}

fn check(files: &[String]) -> Checked {
    let mut session = compiled();
    for (n, text) in files.iter().enumerate() {
        session.set_text(&format!("diary-{n}.md"), text);
    }
    let today = "2026-05-10".parse().unwrap();
    session.check(today, None)
}

fn rows(checked: &Checked, pattern: &str) -> Vec<Vec<Value>> {
    let at = checked.program.sentences.iter().position(|s| s.pattern().replace(" ,", ",") == pattern);
    let id = SentenceId(u32::try_from(at.expect("a sentence")).unwrap());
    let rows = checked.model.rows(id);
    rows.into_iter().map(|r| checked.model.values(r).cloned().collect()).collect()
}

fn shown(value: &Value) -> String {
    display::value(value, &display::Units::new())
}

/// The chance of every suspect of every outbreak.
fn chances(checked: &Checked) -> BTreeMap<Vec<String>, f64> {
    let of = |pattern: &str| {
        rows(checked, pattern).into_iter().map(|values| {
            let p = values.iter().find_map(|v| match v {
                Value::Quantity(q) => Some(q.size.middle()),
                _ => None,
            });
            let names = values.iter().filter(|v| !matches!(v, Value::Quantity(_))).map(shown).collect();
            (names, p.expect("a chance"))
        })
    };
    let alone = of("{cause} has a chance of {p} in {outbreak}");
    alone.chain(of("{cause} of {subject} has a chance of {p} in {outbreak}")).collect()
}

fn of_lines(lines: &[(&str, &str)]) -> BTreeMap<Vec<String>, f64> {
    chances(&check(&[diary(lines)]))
}

/// In how many of 100 cases of each cause a question is answered so.
fn cells(checked: &Checked, question: &str, answer: &str) -> BTreeMap<String, f64> {
    let all = rows(checked, "of 100 cases of {cause}, {n} answer {question} with {answer}");
    let mine = all.into_iter().filter(|v| shown(&v[2]) == question && shown(&v[3]) == answer);
    mine.map(|v| match &v[1] {
        Value::Number(n) => (shown(&v[0]), n.middle()),
        _ => panic!("no number"),
    })
    .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    #[test]
    fn the_order_of_entries_and_files_does_not_matter(
        order in Just((0..LINES.len()).collect::<Vec<_>>()).prop_shuffle(),
        cut in 0usize..LINES.len(),
    ) {
        let turned: Vec<(&str, &str)> = order.iter().map(|n| LINES[*n]).collect();
        let (first, second) = turned.split_at(cut);
        let second: String = second.iter().map(|(day, line)| format!("## {day}\n- {line}\n\n")).collect();
        prop_assert_eq!(of_lines(&LINES), chances(&check(&[second, diary(first)])));
    }

    #[test]
    fn writing_an_observation_twice_changes_nothing(twice in proptest::collection::vec(any::<bool>(), LINES.len())) {
        let again = LINES.iter().zip(&twice).filter(|((_, line), twice)| **twice && observes(line));
        let lines: Vec<(&str, &str)> = LINES.iter().copied().chain(again.map(|(l, _)| *l)).collect();
        prop_assert_eq!(of_lines(&LINES), of_lines(&lines));
    }

    #[test]
    fn chances_are_chances_and_words_stop_at_98(left_out in proptest::collection::vec(any::<bool>(), LINES.len())) {
        let lines: Vec<(&str, &str)> =
            LINES.iter().zip(&left_out).filter(|(_, out)| !**out).map(|(l, _)| *l).collect();
        let checked = check(&[diary(&lines)]);
        for (who, p) in chances(&checked) {
            prop_assert!((0.0..=1.0).contains(&p), "{who:?} {p}");
        }
        for row in rows(&checked, "the chance of {cause} of {subject} in {outbreak} is about {words}") {
            prop_assert!(!matches!(shown(&row[3]).as_str(), "99 in 100" | "100 in 100"));
        }
    }
}

/// A question that was answered vaguely is asked again, so each such answer needs its look, and each look its answer.
#[test]
fn every_answer_that_leaves_it_open_says_which_look_makes_it_plainer() {
    let checked = check(&[diary(&LINES[..1])]);
    let of = |pattern: &str| -> std::collections::BTreeSet<[String; 2]> {
        rows(&checked, pattern).iter().map(|v| [shown(&v[1]), shown(&v[0])]).collect()
    };
    let vague = of("{answer} to {question} may be {other}");
    let plainer = of("{answer} to {question} is made plainer in {days} days at {money} by {doing}");
    assert!(!vague.is_empty());
    assert_eq!(vague.difference(&plainer).collect::<Vec<_>>(), Vec::<&[String; 2]>::new());
    for [question, answer] in plainer.difference(&vague) {
        assert!(!cells(&checked, question, answer).is_empty(), "{question} has no answer {answer}");
    }
}

#[test]
fn silence_says_nothing() {
    let mut lines = LINES.to_vec();
    lines.push(("2026-05-03", "watered a-3, 20 l"));
    lines.push(("2026-05-03", "note: doors open all night"));
    lines.push(("2026-05-03", "harvested 2 kg spinach from a-3"));
    assert_eq!(of_lines(&LINES), of_lines(&lines));
}

#[test]
fn what_was_looked_for_and_not_seen_counts() {
    let all = of_lines(&LINES);
    for absent in [
        "noticed nothing wrong on sweet corn",
        "noticed nothing wrong on tomato in a-3",
        "noticed no broad mites",
    ] {
        let without: Vec<(&str, &str)> =
            LINES.iter().filter(|(_, line)| !line.starts_with(absent)).copied().collect();
        assert_eq!(without.len(), LINES.len() - 1, "{absent}");
        assert_ne!(all, of_lines(&without), "{absent} counts");
    }
}

#[test]
fn a_plan_is_no_evidence() {
    let mut lines = LINES.to_vec();
    lines.push(("2026-05-09", "[ ] measured EC 9 dS/m by saturated paste in a-2"));
    lines.push(("2026-05-09", "[ ] spread lot bag-mix on a-3, 1 in deep"));
    assert_eq!(of_lines(&LINES), of_lines(&lines));
}

/// An answer, and the line that gives it.
type Given = (&'static str, &'static str);

/// Two answers to one question, each with the line that gives it.
const SWAPS: [(&str, Given, Given); 4] = [
    (
        "salts",
        ("not high", "measured EC 1 dS/m by saturated paste in a-1"),
        ("high", "measured EC 9 dS/m by saturated paste in a-1"),
    ),
    ("cold", ("mild", "measured 12 C"), ("a cold spell before", "measured -2 C")),
    (
        "roots and soil",
        ("sound", "noticed nothing wrong on tomato in a-1, roots"),
        ("galls", "noticed root galls on tomato in a-1"),
    ),
    (
        "mites and insects",
        ("none seen", "noticed no broad mites on tomato in a-1"),
        ("mites", "noticed broad mites on tomato in a-1"),
    ),
];

/// For whichever cause the tables say that the second answer speaks for against every rival.
#[test]
fn a_better_answer_for_a_cause_against_every_rival_never_lowers_it() {
    let hurt: Vec<(&str, &str)> = LINES
        .iter()
        .filter(|(_, l)| l.starts_with("noticed cupped") || l.starts_with("noticed twisted"))
        .copied()
        .collect();
    let mut tried = 0;
    for (question, (poor, with_poor), (good, with_good)) in SWAPS {
        let diary_of = |line| {
            let mut lines = hurt.clone();
            let day = if question == "cold" { "2026-04-25" } else { "2026-05-02" };
            lines.push((day, line));
            check(&[diary(&lines)])
        };
        let (before, after) = (diary_of(with_poor), diary_of(with_good));
        let (poorly, well) = (cells(&after, question, poor), cells(&after, question, good));
        let ratio = |cause: &str| well[cause] / poorly[cause];
        let best = well.keys().find(|c| well.keys().all(|r| r == *c || ratio(c) >= ratio(r)));
        let best = best.expect("one gains most");
        let chance = |checked: &Checked| -> f64 {
            chances(checked).iter().filter(|(who, _)| who[0] == *best).map(|(_, p)| p).sum()
        };
        assert!(
            chance(&after) >= chance(&before),
            "{best} by {question}: {} then {}",
            chance(&before),
            chance(&after)
        );
        tried += 1;
    }
    assert_eq!(tried, SWAPS.len());
}

/// Every material of the table with how likely it is to bring weedkiller in.
fn risks(checked: &Checked) -> Vec<(String, String)> {
    let all = rows(checked, "the herbicide risk of {material} is {risk}");
    all.iter().map(|v| (shown(&v[0]), shown(&v[1]))).collect()
}

/// Stuff that nobody named is no better for that than stuff that nobody wrote down, nor than a load of it that came in.
#[test]
fn stuff_without_a_name_on_hurt_ground_never_speaks_against_carryover() {
    let hurt = [
        ("2026-05-01", "noticed cupped leaves on tomato in a-1, new growth"),
        ("2026-05-01", "noticed nothing wrong on tomato in a-3"),
    ];
    let carryover = |put: &[(&str, &str)]| -> f64 {
        let lines: Vec<(&str, &str)> = put.iter().chain(&hurt).copied().collect();
        of_lines(&lines).iter().filter(|(who, _)| who[0] == "carryover").map(|(_, p)| p).sum()
    };
    let silent = carryover(&[]);
    let mut tried = 0;
    for (material, risk) in risks(&check(&[diary(&hurt)])) {
        for verb in ["spread {} on a-1", "laid {} on a-1", "dug in {} in a-1"] {
            let put = verb.replace("{}", &material);
            let unnamed = carryover(&[("2026-03-20", &put)]);
            // What brings no weedkiller may still be a cause of something else.
            let least = if risk == "none" { silent - 0.01 } else { silent };
            assert!(unnamed >= least - 1e-9, "{put}: {unnamed}, and {silent} where nothing is written");
            if risk == "high" {
                let came = format!("received 1 yd3 {material} as lot own-26 from Joan");
                let put = verb.replace("{}", "lot own-26");
                let named = carryover(&[("2026-03-19", &came), ("2026-03-20", &put)]);
                assert!((unnamed - named).abs() < 1e-9, "{put}, {material}: {unnamed}, with a name {named}");
                assert!(unnamed > silent + 0.1, "{put}: {unnamed}, and {silent} where nothing is written");
            }
            let late = carryover(&[("2026-05-02", &put)]);
            assert!((late - silent).abs() < 1e-9, "{put} after they were hurt: {late} for {silent}");
            tried += 1;
        }
    }
    assert!(tried > 100, "{tried}");
}
