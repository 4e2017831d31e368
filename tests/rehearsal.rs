//! Running the examples of pages: what fails is told at the line that expects it, and a line of a rule
//! that no example misses is found.

use haulm::{
    base::{
        diagnostic::Diagnostic,
        source::{SourceFile, SourceKind},
    },
    rehearse::Rehearsal,
    session::Session,
};

/// A page that says of every thing that came in that it came, unless it went back.
fn page(rule: &str, examples: &str) -> String {
    format!(
        "# came-in\nSeverity: hint\n\n## What it notices\nx\n\n## Why it matters\nx\n\n## Rules\n\n```rule\n{rule}\n```\n\n## What to do\nx\n\n{examples}\n\n## Limits\nx\n\n## Sources\nx\n"
    )
}

const RULE: &str = "if   {lot} was received on {day} (here)
and  no {lot} was returned on {back}, with {back} is on or after {day}
then hint about {lot}: \"{lot} came in\"

if   {lot} was received on {day}
then do look at {lot} since {day}, by {day} + 2 days, until {lot} was sampled as {} on {}";

const FIRES: &str = "### it came
```journal
## 2026-03-14
- received 6 yd3 stuff as lot one
```
```expect
hint came-in about lot one
do look at lot one by 2026-03-16
says lot one was received on 2026-03-14
says lot one was received on 14 March 2026
says {} was received on {}
not says lot one was received on 2026-03-15
not hint came-in about lot two
```
";

const SILENT: &str = "### it is only meant to come
```journal
today: 2026-03-10
## 2026-03-14
- [ ] receive 6 yd3 stuff as lot one
```
";

const WORDS: &str = "# words\n\nEach row says: \"{word} is a material\"\n\n| word |\n|---|\n| stuff |\n";

fn rehearsal(text: &str) -> Rehearsal {
    let file = SourceFile::new("rules/pages/came-in.md", text, SourceKind::RulePage, true);
    let words = SourceFile::new("rules/vocabulary/words.md", WORDS, SourceKind::RulePage, true);
    let mut rehearsal = Rehearsal::new(&Session::with_rulebook(vec![file, words]));
    let (faults, _) = rehearsal.faults();
    assert_eq!(faults, []);
    rehearsal
}

fn examples(text: &str) -> Vec<Diagnostic> {
    let r = rehearsal(text);
    r.examples().iter().flat_map(|c| r.run(c)).collect()
}

fn idle(text: &str) -> Vec<String> {
    let r = rehearsal(text);
    let said: Vec<Diagnostic> = r.rules().iter().flat_map(|c| r.run(c)).collect();
    said.iter().filter_map(|d| d.primary.as_ref()).map(|l| text[l.loc.span.range()].to_owned()).collect()
}

fn both(rule: &str, fires: &str, silent: &str) -> String {
    page(rule, &format!("## Must fire\n\n{fires}\n## Must stay silent\n\n{silent}"))
}

#[test]
fn examples_that_come_out_as_written_are_passed_over_in_silence() {
    assert_eq!(examples(&both(RULE, FIRES, SILENT)), []);
}

#[test]
fn an_expectation_that_fails_is_told_at_its_line_with_what_the_page_says() {
    let text = both(RULE, &FIRES.replace("about lot one", "about lot nine"), SILENT);
    let said = examples(&text);
    assert_eq!(said.len(), 1);
    let at = said[0].primary.as_ref().expect("a place").loc;
    assert_eq!(&text[at.span.range()], "hint came-in about lot nine");
    assert!(said[0].remarks.iter().any(|r| r.text.contains("hint came-in about lot one")), "{said:?}");
}

#[test]
fn a_page_that_does_not_stay_silent_is_told_at_the_name_of_the_example() {
    let loud = "### it came\n```journal\n## 2026-03-14\n- received 6 yd3 stuff as lot one\n```\n";
    let text = both(RULE, &FIRES.replace("### it came", "### it came first"), loud);
    let said = examples(&text);
    assert_eq!(said.len(), 1);
    assert_eq!(said[0].message, "“it came” must stay silent, but does not.");
}

#[test]
fn what_no_example_can_expect_is_told_with_what_it_can() {
    for (line, message) in [
        ("beware came-in", "`beware came-in` is nothing an example can expect."),
        (
            "says lot one was recieved on 2026-03-14",
            "No page declares a sentence `lot one was recieved on 2026-03-14`.",
        ),
    ] {
        let text = both(RULE, &FIRES.replace("says {} was received on {}", line), SILENT);
        let said = examples(&text);
        assert_eq!(said.len(), 1, "{said:?}");
        assert_eq!(said[0].message, message);
        assert!(!said[0].remarks.is_empty());
    }
}

#[test]
fn a_journal_that_cannot_be_read_whole_is_no_example() {
    let text = both(
        RULE,
        &FIRES.replace("- received 6 yd3 stuff as lot one", "- received 6 yd3 stuff as lot one\n- spread"),
        SILENT,
    );
    let said = examples(&text);
    assert_eq!(said.len(), 1, "{said:?}");
    assert_eq!(said[0].message, "The journal of “it came” cannot be read whole.");
}

#[test]
fn a_day_of_no_calendar_is_told() {
    let text = both(RULE, FIRES, &SILENT.replace("2026-03-10", "soon"));
    assert_eq!(examples(&text)[0].message, "`soon` is no day.");
    let text = both(RULE, FIRES, "### nothing\n```journal\nwords\n```\n");
    assert_eq!(examples(&text)[0].message, "The journal of “nothing” has no day.");
}

#[test]
fn a_line_that_no_example_misses_is_found() {
    let line = "and  no {lot} was returned on {back}, with {back} is on or after {day}";
    assert_eq!(idle(&both(RULE, FIRES, SILENT)), [line]);
    let near_miss = format!(
        "{SILENT}\n### it went back\n```journal\n## 2026-03-14\n- received 6 yd3 stuff as lot one\n- sampled lot one as sample s1\n## 2026-03-15\n- returned lot one to Ann\n```\n"
    );
    let rule = RULE.split("\n\n").next().expect("the first rule");
    let fires = FIRES.replace("do look at lot one by 2026-03-16\n", "");
    assert_eq!(idle(&both(rule, &fires, &near_miss)), Vec::<String>::new());
}

#[test]
fn an_example_may_bring_a_page_and_the_next_one_does_not_see_it() {
    let own = "### a sentence of its own\n````page rules/tables/own.md\n# own\n\n```sentences\n{lot} is fine\n```\n```rule\nif   {lot} was received on {}\nthen {lot} is fine\n```\n````\n```journal\n## 2026-03-14\n- received 6 yd3 stuff as lot one\n```\n```expect\nhint came-in about lot one\n```\n";
    let text = both(RULE, &format!("{own}\n{FIRES}"), SILENT);
    assert_eq!(examples(&text), []);
}

#[test]
fn a_page_that_an_example_brings_takes_the_place_of_the_farms_own_wherever_that_lies() {
    let loud = |text: &str| both(&RULE.replace("came in\"", text), FIRES, SILENT);
    let brought = format!(
        "### another page\n````page rules/pages/came-in.md\n{}\n````\n```journal\n## 2026-03-14\n- received 6 yd3 stuff as lot one\n```\n```expect\nhint came-in about lot one\nnot error code-used-twice\n```\n",
        loud("is another matter\"")
    );
    let words = SourceFile::new("rules/vocabulary/words.md", WORDS, SourceKind::RulePage, true);
    let mut session = Session::with_rulebook(vec![words]);
    session.set_text("rules/pages/deeper/came-in.md", &both(RULE, &format!("{brought}\n{FIRES}"), SILENT));
    let rehearsal = Rehearsal::new(&session);
    for case in rehearsal.examples() {
        assert_eq!(rehearsal.run(&case), [], "{}", case.name);
    }
}

#[test]
fn the_page_of_the_manual_stands_beside_the_built_in_ones_and_needs_each_of_its_lines() {
    let manual = include_str!("../grammar/rules.md");
    let page =
        manual.split("````markdown\n").nth(1).and_then(|rest| rest.split("````").next()).expect("a page");
    let mut session = Session::new();
    session.set_text("rules/pages/sender-unknown.md", page);
    let rehearsal = Rehearsal::new(&session);
    let mut own = rehearsal.examples();
    own.extend(rehearsal.rules());
    own.retain(|case| &*case.code == "sender-unknown");
    assert_eq!(own.len(), 6);
    for case in own {
        assert_eq!(rehearsal.run(&case), [], "{}", case.name);
    }
}
