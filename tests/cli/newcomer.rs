//! The first week of somebody who has read the README once: each slip is met at its own place, for its own cause.

use crate::grower::Notes;

const PLACE: &str = "# Garden\n\n## The place\n- bed north-1, 30 ft x 4 ft\n- bed north-2, 30 ft x 4 ft\n\n";

fn check(week: &str) -> crate::grower::Answer {
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}{week}"))]);
    notes.haulm(&["check", "--today", "2026-03-20", "--format", "short"])
}

#[test]
fn a_day_that_is_no_heading_does_not_lend_its_entries_to_the_day_above() {
    for day in ["2026-03-07", "**7 March 2026**", "Saturday 7 March 2026:"] {
        check(&format!("## 2026-03-06\n- watered north-1\n\n{day}\n- watered north-2\n- rained 12 mm\n"))
            .ended(1)
            .says("is no heading, so it opens no day; the 2 entries below wait");
    }
    check("## 2026-03-06\nIt is said\nthat on 2026-03-07 it may rain.\n- watered north-1\n").ended(0);
}

#[test]
fn a_weekday_alone_is_one_message_for_all_that_stands_under_it() {
    let answer = check("## Tuesday\n- watered north-1\n- watered north-2\n- rained 12 mm\n").ended(1);
    let answer = answer.says("`Tuesday` opens no day; the 3 entries below wait");
    answer.says_nothing_of("undated-entry");
}

#[test]
fn a_box_or_a_mark_without_its_space_is_read_or_told() {
    let lot = "## 2026-03-06\n- received 6 yd3 compost as lot tern-26\n";
    check(&format!("{lot}- [ ]spread lot tern-26 on north-1, 3 in deep\n"))
        .says_nothing_of("read-as-prose")
        .says("open-plan");
    check(&format!("{lot}\n-spread lot tern-26 on north-1, 3 in deep\n"))
        .ended(1)
        .says("no space stands after the mark before it");
}

#[test]
fn what_is_set_as_code_is_told_and_not_taken() {
    check("## 2026-03-06\nToday:\n\n    - planted 12 tomato in north-1\n").says("make code of it");
    check("## 2026-03-06\n```\n- planted 12 tomato in north-1\n\n## 2026-03-07\n- rained\n")
        .ended(1)
        .says("code that is never closed, so the 2 lines below that begin with a verb count for nothing");
    check("## 2026-03-06\n```\n- planted 12 tomato in north-1\n```\n").says_nothing_of("read-as-prose");
}

#[test]
fn windows_line_ends_change_nothing_that_is_said() {
    let week = "## 2026-03-06\n- planted 12 tomato in norht-1\n- spread 3 lb deep\n-watered north-1\n\n2026-03-07\n- rained\n";
    let unix = check(week);
    assert_eq!(check(&week.replace('\n', "\r\n")).out, unix.out);
}

#[test]
fn a_torn_file_is_told_in_a_screen_and_whole_on_demand() {
    let week: String = (0..400).map(|n| format!("- rained 12 mm sideways {n}\n")).collect();
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}## 2026-03-06\n{week}"))]);
    let brief = notes.haulm(&["check", "--today", "2026-03-20"]).ended(1);
    assert!(brief.out.lines().count() < 60, "{}", brief.out);
    brief.says("and 395 more unread-words in notes.md (--all shows them)").says("400 warnings");
    let count = |out: &str| out.matches("unread-words").count();
    assert_eq!(count(&notes.haulm(&["check", "--all", "--today", "2026-03-20"]).out), 400);
    assert_eq!(count(&notes.haulm(&["check", "--format", "short", "--today", "2026-03-20"]).out), 400);
}

#[test]
fn commands_that_are_suggested_work_as_they_stand() {
    let text = "## The place\n- bed north-1, 30 ft x 4 ft\n\n## 2026-03-14\n- received 6 yd3 compost as lot tern-26, made from horse manure\n- [ ] spread lot tern-26 on north-1, 3 in deep\n";
    let notes = Notes::with(&[("my notes/spring.md", text)]);
    notes.haulm(&["check", "my notes", "--today", "2026-03-15"]).says("(haulm due \"my notes\")");
    notes
        .haulm(&["why", "lot tern-26", "my notes", "--today", "2026-03-15"])
        .says("haulm why \"lot tern-26\" \"my notes\" --whole");
    notes.haulm(&["rules", "list", "my notes"]).says("haulm rules show CODE \"my notes\"");
    notes
        .haulm(&["check", "my notes/spring.md", "--today", "2026-03-15"])
        .says("(haulm due \"my notes/spring.md\")");
}

#[test]
fn what_has_none_is_not_told_to_have_some() {
    let week = "## 2026-03-06\n- noticed cupped leaves on tomato and pepper in north-1, none on bean\n";
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}{week}"))]);
    notes.haulm(&["check", "--today", "2026-03-20", "--format", "short"]).says_nothing_of("unread-words");
    let not = |sentence: &str| notes.haulm(&["why", "--not", sentence, "--today", "2026-03-20"]).ended(0).out;
    let seen = not("cupped leaves was noticed on bean in north-1 on 2026-03-06");
    let denied = not("cupped leaves was looked for and not seen on bean in north-1 on 2026-03-06");
    assert!(denied.contains("does hold") && !seen.contains("does hold"), "{seen}\n{denied}");
    // It was looked for on one crop, not in the whole bed.
    let bed = not("cupped leaves was looked for and not seen in north-1 on 2026-03-06");
    assert!(!bed.contains("does hold"), "{bed}");
}

#[test]
fn a_kind_of_thing_without_a_name_is_asked_for_its_name() {
    check("## 2026-03-06\n- sowed 24 tomato in tray\n")
        .says("`tray` alone could be any")
        .says_nothing_of("no bed tray");
}

#[test]
fn six_yards_of_compost_are_taken_for_a_slip_for_cubic_yards() {
    let notes = Notes::with(&[(
        "notes.md",
        &format!("{PLACE}## 2026-03-06\n- received 6 yards of compost as lot a\n"),
    )]);
    notes.haulm(&["check", "--today", "2026-03-20"]).ended(1).says("`6 yd3`").says_nothing_of("unit yards");
}

#[test]
fn mushrooms_are_sold_and_given_from_their_batch() {
    let text = "- bed north-1\n\n## 2026-03-14\n- received 20 lb straw as lot straw-1 from Pell\n\
                - heated lot straw-1 as batch b3 at 165 F for 90 min\n\
                - inoculated batch b3 with 5 lb blue oyster spawn into 8 5-gal buckets\n\n\
                ## 2026-05-14\n- picked 2 1/2 lb from batch b3, flush 1\n\
                - sold 2 lb blue oyster from batch b3, flush 1 to Joan\n- gave 1/2 lb oyster mushrooms to Mair\n";
    let notes = Notes::with(&[("a.md", text)]);
    for code in ["incomplete-entry", "unread-words", "unknown-word", "unknown-name", "read-as-prose"] {
        notes.haulm(&["check", "--all", "--format", "short", "--today", "2026-05-20"]).says_nothing_of(code);
    }
}

#[test]
fn a_slot_of_few_words_lists_them_and_keeps_the_growers_own_line() {
    let trial = "## 2026-03-06\n- laid out trial m-1 on north-1, 4 plots\n";
    let lines = "- chose straw for north-1\n- assigned plots 1, 4 of trial m-1 to wine cap straw\n";
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}{trial}{lines}"))]);
    let told = notes.haulm(&["check", "--today", "2026-03-20"]).ended(1);
    let told = told.says("- chose \u{2026} for north-1").says("haulm words \"way of repair\"");
    let told = told.says("- assigned plots 1, 4 of trial m-1 to \u{2026}").says("wine cap chips");
    assert_eq!(told.out.matches("read so far: plots 1, 4 of trial m-1").count(), 1, "{}", told.out);
    told.says_nothing_of("plots 1, 4 of trial m-1; plots");
}

#[test]
fn what_a_line_that_could_not_be_read_would_have_begun_points_at_that_line() {
    let unread = "- received nice stuff as lot c-4\n- spread lot c-4 on north-1, 1 in deep\n";
    let slip = "- recieved 6 yd3 compost as lot c-9\n- spread lot c-9 on north-2, 1 in deep\n";
    check(&format!("## 2026-03-06\n{unread}{slip}"))
        .says("lot c-4 is not known: notes.md:8 begins it, and could not be read")
        .says("lot c-9 is not known: notes.md:10 begins it, and could not be read")
        .says_nothing_of("has come in");
}

#[test]
fn pots_that_nobody_called_a_test_and_plants_that_were_burnt_are_read_or_met() {
    let compost = "## 2026-03-06\n- received 6 yd3 compost as lot c-1\n";
    check(&format!("{compost}- put 4 runner beans in pots of the new compost to see\n"))
        .says("speaks of runner bean in pots of compost");
    check(&format!("{compost}- laid 4 in lot c-1 on north-1\n")).says_nothing_of("incomplete-entry");
    check(&format!("{compost}- put beans in 4 pots of lot c-1\n")).says("speaks of bean in pots of lot c-1");
    check(&format!("{compost}- burned the old tomatoes from north-1\n"))
        .says("`old tomatoes` is no word I know");
    check(&format!("{compost}- burned the tomatoes from north-1\n- burned my hand\n"))
        .says_nothing_of("read-as-prose");
}

#[test]
fn a_job_that_no_finding_stands_behind_says_so_everywhere() {
    let lot =
        "## 2026-03-14\n- received 6 yd3 compost as lot tern-26 from Tern Quay, made from horse manure\n";
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}{lot}"))]);
    let day = ["--today", "2026-03-16"];
    notes.haulm(&[&["check"], &day[..]].concat()).says("2 of them told");
    notes.haulm(&[&["due"], &day[..]].concat()).says("told in due alone: Some weedkillers");
    notes
        .haulm(&[&["why", "untested-lot"], &day[..]].concat())
        .says("so check tells nothing of it")
        .says("pot a bean test of lot tern-26");
}

#[test]
fn a_thing_may_be_named_by_its_kind_and_name_as_two_words() {
    let notes = Notes::with(&[("notes/one.md", &format!("{PLACE}## 2026-03-14\n- watered north-1\n"))]);
    for command in ["why", "trace"] {
        notes
            .haulm(&[command, "bed", "north-1", "notes", "--today", "2026-03-16"])
            .ended(0)
            .says("bed north-1");
        notes
            .haulm(&[command, "north-1", "notes", "more"])
            .ended(2)
            .complains("`more` is more than this reads");
    }
}

#[test]
fn the_example_of_a_recipe_could_be_asked_here() {
    let lot = "## 2026-03-14\n- received 6 yd3 compost as lot tern-26 from Tern Quay\n";
    let notes = Notes::with(&[("notes.md", &format!("{PLACE}{lot}"))]);
    let asked =
        |words: &[&str]| notes.haulm(&[&["recipe", "--today", "2026-03-16"], words].concat()).ended(2);
    asked(&["heat", "north"])
        .complains("knows no batch `north`")
        .complains("as in\n  haulm recipe heat at 65 C");
    asked(&["spread", "tern-62", "on", "north-1"]).complains("as in\n  haulm recipe spread tern-26 north-2");
}
