//! Whole stories: each folder of `journals/cases/` is an invented farm's diary, and the page of the same name
//! here says, day by day, what ought to be said of it, written before the rules that say it.
//!
//! A page holds sections `## DAY` or `## DAY to DAY`, each with a fence of expectations as rule pages write
//! them. What stands under a span must be true on its first day and its last, on every day of the diary
//! between and on every seventh. The diary is read as it stood on that day: later entries are left out.

#![allow(clippy::panic)]

use std::{collections::BTreeSet, fs, path::Path};

use chrono::{Days, NaiveDate};
use haulm::{
    base::{
        diagnostic::{Diagnostic, Severity},
        span::{FileId, Loc, Span},
    },
    model::page::Passage,
    read::Farm,
    rehearse::Rehearsal,
    session::{Checked, Session},
};

/// What is expected, and when.
struct Stretch {
    first: NaiveDate,
    last: NaiveDate,
    lines: Vec<String>,
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn day(text: &str) -> NaiveDate {
    text.trim().parse().unwrap_or_else(|e| panic!("`{text}` is no day: {e}"))
}

/// The stretches of a page of expectations.
fn stretches(page: &str) -> Vec<Stretch> {
    let mut all: Vec<Stretch> = Vec::new();
    let mut inside = false;
    for line in page.lines() {
        match line.trim() {
            heading if heading.starts_with("## ") => {
                let days = heading.trim_start_matches("## ");
                let (first, last) = days.split_once(" to ").unwrap_or((days, days));
                all.push(Stretch { first: day(first), last: day(last), lines: Vec::new() });
            }
            "```expect" => inside = true,
            "```" => inside = false,
            "" => {}
            line if inside => all.last_mut().expect("a day before the first fence").lines.push(line.into()),
            _ => {}
        }
    }
    all
}

/// The days on which a stretch is looked at.
fn looked_at(stretch: &Stretch, diary: &BTreeSet<NaiveDate>) -> BTreeSet<NaiveDate> {
    let weekly = (0..).map(|n| stretch.first + Days::new(7 * n)).take_while(|d| *d <= stretch.last);
    let written = diary.range(stretch.first..=stretch.last).copied();
    weekly.chain(written).chain([stretch.last]).collect()
}

fn holds(rehearsal: &Rehearsal, checked: &Checked, line: &str) -> bool {
    let span = Span::new(0, line.len());
    let passage = Passage { loc: Loc { file: FileId(u32::MAX), span }, text: line.into() };
    rehearsal.expects(checked, &passage).unwrap_or_else(|said| panic!("`{line}`: {}", said.message))
}

fn every<'a>(findings: &'a [Diagnostic], all: &mut Vec<&'a Diagnostic>) {
    for finding in findings {
        all.push(finding);
        every(&finding.folded, all);
    }
}

/// What is said, for the message of a failure.
fn said(checked: &Checked) -> String {
    let mut all = Vec::new();
    every(&checked.report.findings, &mut all);
    let findings =
        all.iter().map(|d| format!("  {} {} about {}", d.severity.word(), d.code, d.about.join(" and ")));
    let actions = checked.report.actions.iter().map(|a| format!("  {:?}: {} by {}", a.state, a.words, a.by));
    findings.chain(actions).collect::<Vec<_>>().join("\n")
}

/// A story told day by day; gives all that was not so.
fn tell(name: &str) {
    let folder = root().join("journals/cases").join(name);
    let page = fs::read_to_string(root().join("tests/cases").join(format!("{name}.md"))).expect("a page");
    let mut session = Session::new();
    session.set_reading(Farm::at(&folder).read());
    let rehearsal = Rehearsal::new(&session);
    let stretches = stretches(&page);
    assert!(stretches.len() >= 4, "{name} expects little");

    let end = stretches.iter().map(|s| s.last).max().expect("a stretch");
    let whole = session.check(end, None);
    let mut unread = Vec::new();
    every(&whole.report.findings, &mut unread);
    unread.retain(|d| d.severity == Severity::Error || *d.code == *"unread-words");
    assert!(unread.is_empty(), "{name} cannot be read whole: {unread:#?}");
    let diary: BTreeSet<NaiveDate> =
        whole.diary.entries.iter().filter_map(|e| e.days.map(|d| d.last)).collect();

    let mut wrong = Vec::new();
    for stretch in &stretches {
        assert!(!stretch.lines.is_empty(), "{name}: nothing is expected on {}", stretch.first);
        for at in looked_at(stretch, &diary) {
            let checked = session.check(at, Some(at));
            let failed = stretch.lines.iter().filter(|line| !holds(&rehearsal, &checked, line));
            let failed: Vec<String> = failed.map(|line| format!("{at}: {line}")).collect();
            if !failed.is_empty() {
                wrong.push(format!("{}\nwhere it says\n{}", failed.join("\n"), said(&checked)));
            }
        }
    }
    assert!(wrong.is_empty(), "{name}\n\n{}", wrong.join("\n\n"));
}

#[test]
fn carryover_is_found_late_and_traced_to_one_load() {
    tell("found-late");
}

#[test]
fn a_bean_test_keeps_a_bad_load_off_the_beds() {
    tell("caught-in-time");
}

#[test]
fn drift_is_not_blamed_on_the_compost() {
    tell("drift-taken-for-carryover");
}

#[test]
fn raw_and_salty_compost_is_not_taken_for_weedkiller() {
    tell("raw-salty-compost");
}

#[test]
fn a_virus_in_one_crop_condemns_no_load() {
    tell("virus-in-one-crop");
}

#[test]
fn other_peoples_hay_is_followed_by_what_was_said_of_it() {
    tell("other-peoples-hay");
}

#[test]
fn a_year_of_straw_and_chips_is_watched_step_by_step() {
    tell("straw-and-chips");
}

#[test]
fn a_trial_that_could_show_nothing_is_done_again() {
    tell("trial-done-twice");
}

#[test]
fn ways_of_repair_are_followed_over_years() {
    tell("years-of-one-bed");
}

#[test]
fn five_troubles_condemn_no_load_and_the_sixth_does() {
    tell("five-kinds-of-crooked");
}

#[test]
fn a_fungal_trial_ends_with_no_difference_shown() {
    tell("straw-trial");
}

#[test]
fn what_fell_stayed_away_or_was_burnt_by_heat_is_not_the_compost() {
    tell("nothing-in-the-compost");
}

#[test]
fn hay_that_nobody_named_is_asked_about_and_then_judged_by_its_load() {
    tell("hay-nobody-named");
}

/// Every code that a farm's diary is ever told, looking every few days while it is written and a
/// fortnight after.
fn codes(folder: &Path, rules: &mut BTreeSet<String>) -> BTreeSet<String> {
    let mut session = Session::new();
    session.set_reading(Farm::at(folder).read());
    let whole = session.check(day("2040-01-01"), None);
    let written: BTreeSet<NaiveDate> =
        whole.diary.entries.iter().filter_map(|e| e.days.map(|d| d.last)).collect();
    let after = written.iter().flat_map(|d| [*d, *d + Days::new(14)]);
    let mut seen = BTreeSet::new();
    let mut last = NaiveDate::MIN;
    for at in after.collect::<BTreeSet<_>>() {
        if (at - last).num_days() < 4 {
            continue;
        }
        last = at;
        let checked = session.check(at, Some(at));
        let mut all = Vec::new();
        every(&checked.report.findings, &mut all);
        seen.extend(all.iter().map(|d| d.code.to_string()));
        seen.extend(checked.report.allowed.iter().map(|a| a.finding.code.to_string()));
        seen.extend(checked.report.actions.iter().map(|a| a.code.to_string()));
    }
    let pages = whole.pages.iter().filter(|p| p.path.contains("rules/pages/"));
    rules.extend(pages.map(|p| p.code.to_string()));
    seen
}

#[test]
fn every_page_of_rules_speaks_in_the_demonstration_or_in_a_case() {
    let cases = fs::read_dir(root().join("journals/cases")).expect("cases").filter_map(Result::ok);
    let folders: Vec<_> = cases.map(|c| c.path()).chain([root().join("journals/brackenhythe")]).collect();
    let mut rules = BTreeSet::new();
    let seen: BTreeSet<String> = folders.iter().flat_map(|f| codes(f, &mut rules)).collect();
    assert!(rules.len() >= 80, "{rules:?}");
    let silent: Vec<&str> = rules.difference(&seen).map(String::as_str).collect();
    assert!(silent.is_empty(), "no journal shows the pages {silent:?}");
}

#[test]
fn every_case_has_its_page_and_every_page_its_case() {
    let names = |folder: &str, ending: &str| -> BTreeSet<String> {
        let entries = fs::read_dir(root().join(folder)).expect("a folder").filter_map(Result::ok);
        let names = entries.filter_map(|e| e.file_name().to_str().map(str::to_owned));
        names.filter_map(|n| n.strip_suffix(ending).map(str::to_owned)).filter(|n| n != "main.rs").collect()
    };
    assert_eq!(names("journals/cases", ""), names("tests/cases", ".md"));
}
