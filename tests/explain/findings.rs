//! Findings and actions: identity, labels, allow, fold, instances, closings.

use std::collections::BTreeSet;

use haulm::{
    base::diagnostic::{Diagnostic, RemarkKind, Severity},
    explain::{asked, explain, missing, subject, why},
    model::{
        finding::{ActionState, Matter},
        report::Report,
    },
    show::{self, layout::Style},
};

use crate::scene::{Run, Scene, day};

fn library() -> Scene {
    Scene::new(
        &[
            "*{who} lent {book} to {whom} on {day}",
            "*{book} came back on {day}",
            "*{who} asked after {book} on {day}",
            "today is {day}",
            "{book} is out since {day}",
            "{whom} holds {n} books",
            "a loan lasts {span}",
        ],
        &[
            ("book", "hamlet"),
            ("book", "emma"),
            ("book", "ulysses"),
            ("person", "bob"),
            ("person", "cy"),
            ("person", "dee"),
        ],
    )
    .page("book-late", Severity::Warn, "")
    .page("book-wanted", Severity::Alarm, "book-late about the same book")
    .rule(
        "book-late",
        &["{} lent {book} to {} on {day}", "no {book} came back on {back}, with {back} > {day}"],
        "{book} is out since {day}",
    )
    .finding(
        "book-late",
        Severity::Warn,
        &[
            "{book} is out since {day}",
            "{} lent {book} to {whom} on {day} (entry {e})",
            "a loan lasts {span}",
            "{due} = {day} + {span}",
            "today is {today}",
            "{today} > {due}",
        ],
        "book",
        "e",
        "{book} should be back; {every whom} took it",
    )
    .finding(
        "book-wanted",
        Severity::Alarm,
        &["{book} is out since {}", "{who} asked after {book} on {} (entry {e})"],
        "book",
        "e",
        "{book} is out, and {every who} asked for it",
    )
    .action(
        "book-late",
        &["{} lent {book} to {whom} on {day}", "a loan lasts {span}", "{due} = {day} + {span}"],
        "ask {whom} to bring {book} back",
        "day",
        "due",
        Some("{book} came back on {}"),
    )
    .action(
        "book-wanted",
        &["{who} asked after {book} on {day}"],
        "write to {who} about {book}",
        "day",
        "day",
        None,
    )
    .caution(
        "book-late",
        &["{book} is out since {}"],
        "book",
        "{book} is fragile: the binder's advice goes first",
    )
}

const DIARY: &str = "# The library\n\n## 2026-03-01\n- ann lent hamlet to bob\n- ann lent emma to cy\n\n\
## 2026-03-10\n- hamlet came back\n\n## 2026-03-12\n- ann lent hamlet to dee\n- dee asked after emma\n";

fn with(diary: &str, today: &str) -> Run {
    let mut scene = library().diary(diary);
    scene = scene.given(&["a loan lasts 14d", &format!("today is {today}")]);
    scene.on(today)
}

fn report(diary: &str, today: &str) -> Report {
    explain(&with(diary, today).known(), Vec::new())
}

fn said(report: &Report) -> Vec<String> {
    let mut out = Vec::new();
    for f in &report.findings {
        out.push(format!("{} {} about {}: {}", f.severity.word(), f.code, f.about.join(", "), f.message));
        out.extend(f.folded.iter().map(|f| format!("  {} about {}", f.code, f.about.join(", "))));
    }
    out
}

#[test]
fn one_matter_is_one_finding_and_a_finding_that_another_explains_hangs_under_it() {
    assert_eq!(
        said(&report(DIARY, "2026-04-01")),
        [
            "alarm book-wanted about book emma: book emma is out, and dee asked for it",
            "  book-late about book emma",
            "warn book-late about book hamlet: book hamlet should be back; dee took it",
        ]
    );
}

#[test]
fn many_causes_are_named_sorted_three_and_how_many_more() {
    let mut diary = String::from("## 2026-03-01\n- ann lent hamlet to bob\n## 2026-03-02\n");
    for who in ["w10", "w2", "w1", "w30", "w4"] {
        diary.push_str(&format!("- {who} asked after hamlet\n"));
    }
    let report = report(&diary, "2026-03-05");
    assert_eq!(report.findings[0].message, "book hamlet is out, and w1, w2, w4 and 2 more asked for it");
    assert_eq!(report.findings.len(), 1);
}

#[test]
fn a_finding_points_at_the_line_to_act_on_and_at_those_it_rests_on() {
    let run = with(DIARY, "2026-04-01");
    let report = explain(&run.known(), Vec::new());
    let emma = &report.findings[0];
    let primary = emma.primary.as_ref().expect("a line to act on");
    assert_eq!(run.sources.place(primary.loc), "loans.md:12");
    assert_eq!((run.sources.slice(primary.loc), &*primary.text), ("emma", "12 March 2026"));
    let others: Vec<_> = emma
        .secondary
        .iter()
        .map(|l| (run.sources.place(l.loc), run.sources.slice(l.loc), &*l.text))
        .collect();
    assert!(others.contains(&("loans.md:5".into(), "cy", "")), "{others:?}");
}

#[test]
fn an_allow_line_hides_a_finding_and_its_actions_but_no_fact() {
    let diary = format!("{DIARY}- allow book-late on hamlet until 2026-04-01: dee is ill\n");
    let report = report(&diary, "2026-04-01");
    assert_eq!(report.allowed.len(), 1);
    assert_eq!(report.allowed[0].by, "allowed at loans.md:13 until 1 April 2026: dee is ill");
    assert!(report.quiet_actions.iter().any(|a| a.words == "ask dee to bring book hamlet back"));
    assert!(!report.open_actions().any(|a| a.words == "ask dee to bring book hamlet back"));
    assert!(said(&report).iter().all(|s| !s.contains("allow-")), "{:?}", said(&report));
}

#[test]
fn an_allow_line_that_ran_out_or_hides_nothing_or_gives_an_alarm_no_reason_is_a_hint() {
    let diary = format!(
        "{DIARY}- allow book-late on hamlet until 2026-03-31: dee is ill\n\
         - allow book-late on ulysses: not ours\n- allow book-latte on hamlet\n- allow book-wanted on emma\n"
    );
    let report = report(&diary, "2026-04-12");
    let hints: Vec<(&str, &str)> = report
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Hint)
        .map(|f| (&*f.code, f.remarks[0].text.as_str()))
        .collect();
    assert_eq!(
        hints,
        [
            (
                "allow-expired",
                "it would still hide something: deal with that, or write a new `allow` with a later day"
            ),
            ("allow-unused", "nothing of this kind is said; the line can go"),
            ("allow-unused", "no page has this code; did you mean `book-late`?"),
            ("allow-needs-reason", "- allow book-wanted on emma: why it is no matter here"),
        ]
    );
    assert!(said(&report)[0].starts_with("alarm book-wanted"));
}

#[test]
fn an_allow_line_gets_a_month_before_it_is_called_unused() {
    let diary = format!("{DIARY}- allow book-late on ulysses: not ours\n");
    let unused = |today: &str| report(&diary, today).findings.iter().any(|f| &*f.code == "allow-unused");
    assert!(!unused("2026-04-11"));
    assert!(unused("2026-04-12"));
}

#[test]
fn an_allowed_finding_folds_nothing() {
    let diary = format!("{DIARY}- allow book-wanted on emma: dee has another copy\n");
    let report = report(&diary, "2026-04-01");
    assert!(
        said(&report)
            .contains(&"warn book-late about book emma: book emma should be back; cy took it".to_owned())
    );
}

#[test]
fn an_action_opens_again_after_it_was_closed_and_keeps_its_key() {
    let diary = "## 2026-03-01\n- ann lent hamlet to bob\n## 2026-03-10\n- hamlet came back\n\
                 ## 2026-03-12\n- ann lent hamlet to bob\n## 2026-03-13\n- ann lent hamlet to bob\n";
    let report = report(diary, "2026-03-20");
    let of_bob: Vec<_> =
        report.actions.iter().map(|a| (a.instance, a.since, a.by, a.state.clone(), a.key.clone())).collect();
    let key = "book-late | ask bob to bring book hamlet back | bob | book hamlet".to_owned();
    assert_eq!(
        of_bob,
        [
            (1, day("2026-03-01"), day("2026-03-15"), ActionState::Done(day("2026-03-10")), key.clone()),
            (2, day("2026-03-12"), day("2026-03-26"), ActionState::Open, key),
        ]
    );
}

#[test]
fn a_plan_closes_nothing() {
    let diary = "## 2026-03-01\n- ann lent hamlet to bob\n## 2026-03-10\n- [ ] hamlet came back\n";
    let report = report(diary, "2026-03-20");
    let open: Vec<&str> = report.open_actions().map(|a| &*a.code).collect();
    assert_eq!(open, ["open-plan", "book-late"], "the plan is itself a thing to do");
}

#[test]
fn done_and_skipped_close_the_instance_that_is_open_that_day() {
    let diary = format!(
        "{DIARY}## 2026-03-14\n- done write to dee about emma\n- skipped ask cy to bring the book emma back: it burnt\n"
    );
    let report = report(&diary, "2026-04-01");
    let closed: Vec<_> = report
        .actions
        .iter()
        .filter(|a| a.state != ActionState::Open)
        .map(|a| (a.words.as_str(), a.state.clone()))
        .collect();
    assert_eq!(
        closed,
        [
            ("write to dee about book emma", ActionState::Done(day("2026-03-14"))),
            ("ask bob to bring book hamlet back", ActionState::Done(day("2026-03-10"))),
            ("ask cy to bring book emma back", ActionState::Skipped(day("2026-03-14"))),
        ]
    );
    assert!(report.findings.iter().all(|f| &*f.code != "no-such-action"));
}

/// The jobs of a report: when, how pressing, and the words, one string for each matter.
fn jobs(report: &Report) -> Vec<String> {
    let of = |m: &Matter| {
        let words: Vec<&str> = m.jobs.iter().map(|j| j.words.as_str()).collect();
        format!("{:?} {}: {}", m.when, m.severity.map_or("plan", Severity::word), words.join(" + "))
    };
    report.matters.iter().map(of).collect()
}

const THREE: &str = "## 2026-03-01\n- ann lent hamlet to bob\n- ann lent emma to bob\n\
                     ## 2026-03-03\n- ann lent ulysses to bob\n";

#[test]
fn jobs_that_differ_in_one_name_are_one_and_each_keeps_its_own_key() {
    let report = report(THREE, "2026-03-20");
    assert_eq!(jobs(&report), ["Today warn: ask bob to bring books emma, hamlet and ulysses back"]);
    let job = &report.matters[0].jobs[0];
    assert_eq!((job.by, job.actions.len()), (day("2026-03-15"), 3));
    assert_eq!(report.matters[0].reasons.len(), 3, "each book is late for itself");
    let keys: BTreeSet<&str> = job.actions.iter().map(|n| report.actions[*n].key.as_str()).collect();
    assert_eq!(keys.len(), 3);
    let one_came = format!("{THREE}## 2026-03-10\n- emma came back\n");
    assert_eq!(
        jobs(&self::report(&one_came, "2026-03-20")),
        ["Today warn: ask bob to bring books hamlet and ulysses back"]
    );
}

#[test]
fn a_line_may_close_several_by_the_words_of_their_one_job() {
    let closed = |line: &str| -> (usize, bool) {
        let report = report(&format!("{THREE}## 2026-03-10\n- {line}\n"), "2026-03-20");
        let open = report.open_actions().count();
        (3 - open, report.findings.iter().any(|f| &*f.code == "no-such-action"))
    };
    assert_eq!(closed("done ask bob to bring books emma, hamlet and ulysses back"), (3, false));
    assert_eq!(closed("done ask bob to bring emma and ulysses back"), (2, false));
    assert_eq!(closed("skipped ask bob to bring books hamlet and emma back: he moved"), (2, false));
    assert_eq!(closed("done ask bob to bring books emma and macbeth back"), (0, true));
    assert_eq!(closed("done ask bob to bring emma back"), (1, false));
}

#[test]
fn what_an_alarm_asks_for_stands_first_however_old_and_other_old_jobs_last() {
    let diary = "## 2026-01-01\n- ann lent emma to cy\n- dee asked after emma\n\
                 ## 2026-03-20\n- ann lent hamlet to bob\n## 2026-03-25\n- [ ] emma came back\n";
    assert_eq!(
        jobs(&report(diary, "2026-04-01")),
        [
            "Today alarm: write to dee about book emma",
            "Today plan: emma came back",
            "Week warn: ask bob to bring book hamlet back",
            "Old warn: ask cy to bring book emma back",
        ]
    );
    let far = jobs(&report("## 2026-03-20\n- ann lent hamlet to bob\n", "2026-03-22"));
    assert_eq!(far, ["Later warn: ask bob to bring book hamlet back"]);
}

#[test]
fn a_job_asked_for_anew_keeps_its_first_day_and_stands_by_the_new_one() {
    let diary = "## 2026-01-01\n- ann lent emma to cy\n- dee asked after emma\n\
                 ## 2026-03-28\n- cy asked after emma\n## 2026-03-30\n- dee asked after emma\n";
    let report = report(diary, "2026-04-01");
    let action =
        report.actions.iter().find(|a| a.words == "write to dee about book emma").expect("asked for");
    assert_eq!((action.by, action.again), (day("2026-01-01"), Some(day("2026-03-30"))));
    assert_eq!(action.instance, 1);
    assert_eq!(
        jobs(&report)[0],
        "Today alarm: write to cy and dee about book emma",
        "people have no kind word"
    );
}

#[test]
fn a_plan_that_a_warning_rests_on_says_why_not() {
    let mut scene = library()
        .page("book-wanted-here", Severity::Warn, "")
        .finding(
            "book-wanted-here",
            Severity::Warn,
            &["{who} lent {book} to {} on {} (entry {e}) (planned)", "{} asked after {book} on {}"],
            "book",
            "e",
            "{book} is to be lent and is asked for here",
        )
        .caution("book-wanted-here", &["{} asked after {book} on {}"], "book", "ask the reader first")
        .diary(
            "## 2026-03-01\n- dee asked after emma\n- [ ] ann lent emma to cy\n- [ ] ann lent hamlet to cy\n",
        );
    scene = scene.given(&["a loan lasts 14d", "today is 2026-03-02"]);
    let run = scene.on("2026-03-02");
    let report = explain(&run.known(), Vec::new());
    let plan =
        report.matters.iter().find(|m| m.jobs.iter().any(|j| j.words.starts_with("hold off"))).expect("held");
    assert_eq!(plan.severity, Some(Severity::Warn));
    assert_eq!(plan.jobs[0].words, "hold off: ann lent emma to cy");
    assert_eq!(plan.reasons, ["book emma is to be lent and is asked for here"]);
    assert_eq!(plan.cautions, ["ask the reader first"]);
    assert_eq!(plan.codes, ["book-wanted-here".into()]);
    assert!(jobs(&report).contains(&"Today plan: ann lent hamlet to cy".to_owned()), "{:?}", jobs(&report));
}

#[test]
fn a_caution_is_told_in_full_once() {
    let run = with("## 2026-03-01\n- ann lent hamlet to bob\n- ann lent hamlet to cy\n", "2026-03-10");
    let report = explain(&run.known(), Vec::new());
    let due = show::due::due(&report, &run.sources, &Style::plain());
    assert_eq!(due.matches("the binder's advice").count(), 1, "{due}");
}

#[test]
fn a_line_of_an_earlier_day_stays_good_and_no_other_thing_is_offered_for_it() {
    let told = |day: &str, line: &str| -> Vec<Diagnostic> {
        let report = report(&format!("{THREE}## {day}\n- {line}\n"), "2026-03-20");
        assert_eq!(report.open_actions().count(), 3, "{line}");
        report.findings.into_iter().filter(|f| &*f.code == "no-such-action").collect()
    };
    // Nobody asks cy for emma now; that day somebody may have.
    assert!(told("2026-03-10", "done ask cy to bring emma back").is_empty());
    let today = told("2026-03-20", "done ask cy to bring emma back");
    assert_eq!(today.len(), 1);
    assert!(today[0].fixes.is_empty(), "{today:#?}");
    assert_eq!(today[0].remarks[0].kind, RemarkKind::Note);
    // A name that nobody knows is a slip on any day.
    assert_eq!(told("2026-03-10", "done ask cy to bring macbeth back").len(), 1);
}

#[test]
fn a_line_that_closes_nothing_offers_the_nearest_action() {
    let diary = format!("{DIARY}- done write dee about emmma\n- skipped to shelve: no time\n");
    let run = with(&diary, "2026-04-01");
    let report = explain(&run.known(), Vec::new());
    let unmatched: Vec<_> = report.findings.iter().filter(|f| &*f.code == "no-such-action").collect();
    assert_eq!(unmatched.len(), 2);
    assert_eq!(unmatched[0].remarks[0].text, "- done write to dee about book emma");
    assert_eq!(run.sources.slice(unmatched[0].fixes[0].loc), "write dee about emmma");
    assert_eq!(unmatched[1].remarks[0].kind, RemarkKind::Note);
}

#[test]
fn next_steps_and_cautions_stand_under_the_findings_of_their_page() {
    let report = report(DIARY, "2026-04-01");
    let hamlet = report.findings.iter().find(|f| f.about == ["book hamlet"]).expect("a finding");
    let remarks: Vec<_> = hamlet.remarks.iter().map(|r| (r.kind, r.text.as_str())).collect();
    assert_eq!(
        remarks,
        [
            (RemarkKind::Next, "overdue since 26 March 2026: ask dee to bring book hamlet back"),
            (RemarkKind::Caution, "book hamlet is fragile: the binder's advice goes first"),
        ]
    );
}

#[test]
fn the_order_of_entries_within_a_day_changes_only_where_things_stand() {
    let turned = DIARY.replace(
        "- ann lent hamlet to bob\n- ann lent emma to cy\n",
        "- ann lent emma to cy\n- ann lent hamlet to bob\n",
    );
    assert_eq!(said(&report(DIARY, "2026-04-01")), said(&report(&turned, "2026-04-01")));
}

fn snapshot(name: &str, shown: &str) {
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!(name, format!("=== loans.md\n{DIARY}=== shown\n{shown}"));
    });
}

#[test]
fn a_check_of_the_library() {
    let run = with(DIARY, "2026-04-01");
    let report = explain(&run.known(), Vec::new());
    snapshot("library_check", &show::terminal::report(&report, &run.sources, &Style::plain()));
    snapshot(
        "library_short",
        &show::short::report(&report, &run.sources, &Style { all: true, ..Style::plain() }),
    );
    snapshot("library_json", &show::json::report(&report, &run.sources));
    snapshot("library_due", &show::due::due(&report, &run.sources, &Style { all: true, ..Style::plain() }));
}

#[test]
fn why_a_book_is_wanted() {
    let run = with(DIARY, "2026-04-01");
    let known = run.known();
    let report = explain(&known, Vec::new());
    let subject = subject::find(&known, "emma").expect("a book");
    let answer = why::why(&known, &subject, &report);
    snapshot("library_why", &show::why::why(&answer, &run.sources, false, &Style::plain()));
    snapshot("library_why_whole", &show::why::why(&answer, &run.sources, true, &Style::plain()));
    let line = subject::find(&known, ":12").expect("a line");
    let answer = why::why(&known, &line, &report);
    snapshot("library_why_line", &show::why::why(&answer, &run.sources, false, &Style::plain()));
    let code = subject::find(&known, "book-late").expect("a code");
    let answer = why::why(&known, &code, &report);
    snapshot("library_why_code", &show::why::why(&answer, &run.sources, false, &Style::plain()));
}

#[test]
fn what_is_asked_about_is_found_or_the_nearest_is_offered() {
    let run = with(DIARY, "2026-04-01");
    let known = run.known();
    assert_eq!(
        subject::find(&known, "Emmma").unwrap_err(),
        "nothing is called `Emmma`; did you mean `emma`?"
    );
    assert_eq!(
        subject::find(&known, "loans.md:1").unwrap_err(),
        "loans.md:1 is no entry: prose, a heading, or past the end"
    );
    assert_eq!(
        subject::find(&known, "lones.md:5").unwrap_err(),
        "no journal file is called `lones.md`; did you mean `loans.md:5`?"
    );
    assert_eq!(subject::find(&known, "book emma"), subject::find(&known, "EMMA"));
}

#[test]
fn why_a_book_is_not_wanted() {
    let run = with(DIARY, "2026-03-20");
    let known = run.known();
    let mut shown = String::new();
    for typed in [
        "book-late about hamlet",
        "book-wanted hamlet",
        "hamlet is out since any day",
        "hamlet is out since 2026-03-01",
        "bob asked after hamlet on any day",
    ] {
        let answers = missing::not_so(&known, typed).expect("a sentence");
        let text = show::missing::missing(&answers, &run.sources, &Style::plain());
        shown.push_str(&format!("$ why --not \"{typed}\"\n{text}\n"));
    }
    snapshot("library_why_not", &shown);
}

#[test]
fn words_that_are_no_sentence_are_answered_with_sentences_that_are() {
    let run = with(DIARY, "2026-03-20");
    let known = run.known();
    assert_eq!(
        asked::find(&known, "hamlet is out from 2026-03-01").unwrap_err(),
        "no page declares the sentence `hamlet is out from 2026-03-01`; these come near: `{book} is out since {day}`"
    );
    assert_eq!(
        asked::find(&known, "book-late on hamlett").unwrap_err(),
        "nothing is called `hamlett`; did you mean `hamlet`?"
    );
}
