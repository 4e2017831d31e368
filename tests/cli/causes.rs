//! `why` ranks the causes that fit, and `why --if` shows how the ranking would move.

use crate::grower::Notes;

const JOURNAL: &str = "\
# Notes

- bed north-1, 30 ft x 4 ft
- bed north-2, 30 ft x 4 ft
- bed strip-3, 20 ft x 3 ft
- field Hallow Top, 200 ft north of north-1

## 2026-03-14

- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure
- received 20 bags potting mix as lot bag-mix from Joan, 40 l each
- potted 4 pots of bean in lot tern-26 mixed 2:1 with lot bag-mix as test t1, 3 seeds each
- potted 4 pots of bean in lot bag-mix as control of test t1, 3 seeds each

## 2026-03-20

- spread lot tern-26 on north-1 and north-2, 3 in deep

## 2026-03-30

- saw Mr Orrin spray triclopyr on Hallow Top, wind 8 mph from the south

## 2026-04-01

- noticed cupped leaves on tomato in north-1, new growth
- noticed twisted stems on bean in north-2
- noticed nothing wrong on sweet corn in north-1
- noticed nothing wrong on tomato in strip-3
";

const READING: &str = "read test t1: 4 of 4 pots hurt; control 0 of 4 pots hurt";

fn notes() -> Notes {
    Notes::with(&[("spring.md", JOURNAL)])
}

fn json(notes: &Notes, args: &[&str]) -> serde_json::Value {
    let args: Vec<&str> = args.iter().copied().chain(["--today", "2026-04-04", "--format", "json"]).collect();
    serde_json::from_str(&notes.haulm(&args).ended(0).out).expect("JSON comes out")
}

#[test]
fn why_ranks_the_causes_with_the_lines_that_speak_for_them() {
    let notes = notes();
    for name in ["north-1", "tern-26"] {
        let said = notes.haulm(&["why", name, "--today", "2026-04-04"]).ended(0);
        let said = said.says("What fits:").says("carryover from lot tern-26").says("Nobody has looked at:");
        said.says("away from the hurt plants").says("judgement");
    }
    let why = json(&notes, &["why", "north-1"]);
    let ranking = &why["rankings"][0];
    assert_eq!(ranking["suspects"][0]["cause"], "carryover from lot tern-26");
    let chances: Vec<f64> =
        ranking["suspects"].as_array().expect("a list").iter().filter_map(|s| s["chance"].as_f64()).collect();
    assert!(chances.windows(2).all(|w| w[0] >= w[1]), "{chances:?}");
    let wind = ranking["asked"].as_array().expect("a list").iter().find(|a| a["about"] == "field Hallow Top");
    let wind = wind.expect("the wind is asked of the spraying");
    assert_eq!(wind["lines"][0]["at"]["start"]["line"], 21);
}

#[test]
fn a_name_and_a_folder_may_be_given_in_either_order() {
    let notes = Notes::with(&[("notes/spring.md", JOURNAL)]);
    for verb in ["why", "trace"] {
        let today = ["--today", "2026-04-04"];
        let asked = |a, b| notes.haulm(&[&[verb, a, b], &today[..]].concat()).ended(0);
        assert_eq!(asked("notes", "north-1"), asked("north-1", "notes"));
    }
    notes.haulm(&["why", "north-9", "notes"]).ended(2).complains("nothing is called `north-9`");
    notes.haulm(&["why", "north-1", "note"]).ended(2);
}

#[test]
fn the_ranking_is_no_wider_than_asked_and_colour_changes_nothing_but_colour() {
    let notes = notes();
    let plain = notes.haulm(&["why", "north-1", "--today", "2026-04-04"]).ended(0).out;
    for line in plain.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let coloured =
        notes.haulm(&["why", "north-1", "--today", "2026-04-04", "--color", "always"]).ended(0).out;
    assert_ne!(plain, coloured);
    assert_eq!(haulm::show::paint::unpainted(&coloured), plain);
}

#[test]
fn what_if_moves_the_chances_as_writing_the_line_would_and_writes_nothing() {
    let notes = notes();
    let answer = json(&notes, &["why", "--if", READING]);
    let first = &answer["changes"][0]["suspects"][0];
    assert_eq!(first["cause"], "carryover from lot tern-26");
    let (now, then) = (first["now"]["chance"].as_f64(), first["then"]["chance"].as_f64());
    assert!(then > now, "{now:?} {then:?}");
    assert_eq!(std::fs::read_to_string(notes.at("spring.md")).expect("the journal"), JOURNAL);
    notes
        .haulm(&["why", "north-1", "--if", READING, "--today", "2026-04-04"])
        .ended(0)
        .says("Nothing is written");

    // Written down after all, it comes to the same.
    notes.save("spring.md", format!("{JOURNAL}\n## 2026-04-04\n\n- {READING}\n"));
    let written = json(&notes, &["why", "north-1"]);
    let chance = written["rankings"][0]["suspects"][0]["chance"].as_f64().expect("a number");
    assert!((chance - then.expect("a number")).abs() < 1e-9);
}

#[test]
fn an_entry_that_cannot_be_read_is_answered_with_a_right_one() {
    let notes = notes();
    notes.haulm(&["why", "--if", "read test t1 gone", "--today", "2026-04-04"]).ended(2).complains("write");
    notes
        .haulm(&["why", "--if", "the cat slept", "--today", "2026-04-04"])
        .ended(2)
        .complains("says nothing");
}
