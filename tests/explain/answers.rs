//! How answers look (`why`, `trace`, `due`, `words`, `rules`), and that none is wider than asked.

use chrono::NaiveDate;
use haulm::{
    base::{
        diagnostic::Severity,
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc, Span},
    },
    measure::value::EntryId,
    model::{
        explanation::{
            Attempt, Claim, Ground, PageNote, PhraseBook, Quote, Reach, Standing, Step, Tally, Trace, Verb,
            Why, WhyNotSo, WordKind,
        },
        finding::{Action, ActionState, Job, Matter, When},
        report::Report,
    },
    show::{due, layout::Style, missing, paint::unpainted, rules, trace, why, words},
};
use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;

const SPRING: &str = "# Brackenhythe, spring\n\n## 2026-03-14 Saturday\n\
- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure\n\n\
## 2026-03-20\n- spread lot tern-26 on north-1 and north-2, 3 in deep\n- planted 24 tomato in north-1\n";

fn sources(files: &[(&str, &str)]) -> Sources {
    let files = files.iter().map(|(path, text)| SourceFile::new(*path, *text, SourceKind::Journal, false));
    Sources::new(files.collect())
}

fn at(sources: &Sources, path: &str, words: &str) -> Loc {
    let id = sources.find(path).unwrap_or(FileId(0));
    let start = sources.file(id).text.find(words).unwrap_or_default();
    Loc::new(id, Span::new(start, start + words.len()))
}

fn assert_fits(text: &str, width: usize) {
    for line in unpainted(text).lines() {
        assert!(line.width() <= width, "{} columns in {width}: {line}", line.width());
    }
}

fn quote(s: &Sources, words: &str, day: &str) -> Quote {
    Quote { loc: at(s, "spring.md", words), entry: EntryId(0), text: words.into(), day: day.into() }
}

fn step(says: &str, by: Ground, below: Vec<Step>) -> Step {
    Step { says: says.into(), by, below, left_out: 0 }
}

/// A proof with a step of every kind; `name` is the thing it is about.
fn proof(s: &Sources, name: &str) -> Step {
    let line =
        Ground::Line(quote(s, "spread lot tern-26 on north-1 and north-2, 3 in deep", "20 March 2026"));
    let loc = at(s, "spring.md", "lot tern-26");
    let reached = step(
        &format!("{name} reached bed north-1 on 20 March 2026"),
        Ground::Reckoned { name: "lineage", numbers: vec![("share by volume".into(), "0.333".into())] },
        vec![step(&format!("{name} was spread on bed north-1 on 20 March 2026"), line, vec![])],
    );
    let mut counted = step(
        "3 different bed such that lot tern-26 reached any bed on any day",
        Ground::Gathered,
        vec![step("lot tern-26 reached bed north-2 on 20 March 2026", Ground::Above, vec![])],
    );
    counted.left_out = 2;
    step(
        "the head",
        Ground::Rule { code: "carryover-likely".into(), number: 2, loc },
        vec![
            reached,
            step("the herbicide risk of compost is high", Ground::Page(loc, None), vec![]),
            step("today is 4 April 2026", Ground::Given, vec![]),
            step(
                &format!("nothing says that {name} was tested on any day before 20 March 2026"),
                Ground::Absent(vec!["lot bag-mix was tested on 1 March 2026 (spring.md:3)".into()]),
                vec![],
            ),
            counted,
            step("4 April 2026 is within 90 days after 20 March 2026", Ground::Reasoned, vec![]),
        ],
    )
}

fn answer(s: &Sources, name: &str) -> Why {
    let lines = vec![
        quote(s, "received 6 yd3 compost as lot tern-26", "14 March 2026"),
        quote(s, "spread lot tern-26 on north-1 and north-2, 3 in deep", "20 March 2026"),
    ];
    Why {
        subject: name.into(),
        line: lines.first().cloned(),
        page: None,
        claims: vec![Claim {
            code: Some("carryover-likely".into()),
            severity: Some(Severity::Alarm),
            standing: Standing::Allowed("allowed at spring.md:9 until 1 May 2026: known".into()),
            says: format!("{name} hurts broadleaved plants"),
            about: vec![name.into()],
            lines,
            absences: vec![format!("nothing says that {name} was tested on any day before 20 March 2026")],
            tally: Tally { sentences: 7, lines: 2, pages: 1 },
            proofs: vec![proof(s, name)],
            other_ways: 1,
            cautions: vec!["the label and local rules go first".into()],
        }],
        actions: vec![action(s, name, "2026-04-06", ActionState::Open)],
        rankings: Vec::new(),
        also: vec![(format!("{name} may carry herbicide"), "concluded".into())],
        also_left: 3,
    }
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

fn action(s: &Sources, name: &str, by: &str, state: ActionState) -> Action {
    Action {
        code: "untested-lot".into(),
        words: format!("pot a bean test of {name}"),
        key: "k".into(),
        instance: 1,
        since: day("2026-03-14"),
        by: day(by),
        again: None,
        severity: Some(Severity::Warn),
        state,
        reason: format!("{name} goes to bed north-1, and no bean test of it was ever potted"),
        alone: false,
        cautions: vec!["wash your hands; what the label says goes first".into()],
        lines: vec![at(s, "spring.md", "received 6 yd3"), at(s, "spring.md", "spread lot")],
        until: None,
        write: Some(format!("- done pot a bean test of {name}")),
        about: vec![name.into()],
    }
}

fn report(s: &Sources, name: &str) -> Report {
    Report {
        today: day("2026-04-04"),
        actions: vec![
            action(s, name, "2026-03-23", ActionState::Open),
            action(s, "lot bag-mix", "2026-04-04", ActionState::Open),
            action(s, "lot leaf-1", "2026-04-05", ActionState::Open),
            action(s, "lot chips", "2026-04-30", ActionState::Skipped(day("2026-04-01"))),
        ],
        quiet_actions: vec![action(s, "lot peat", "2026-04-30", ActionState::Open)],
        matters: vec![
            matter(s, name, When::Today, Some(Severity::Alarm), &[("2026-03-23", 0), ("2026-04-04", 1)]),
            matter(s, name, When::Today, None, &[("2026-04-04", 1)]),
            matter(s, name, When::Week, Some(Severity::Warn), &[("2026-04-05", 2)]),
            matter(s, name, When::Later, Some(Severity::Hint), &[("2027-04-30", 2)]),
            matter(s, name, When::Old, Some(Severity::Hint), &[("2025-12-30", 2)]),
        ],
        ..Report::default()
    }
}

/// A matter of a job for each day, each of the action with that number.
fn matter(s: &Sources, name: &str, when: When, severity: Option<Severity>, jobs: &[(&str, usize)]) -> Matter {
    let of = action(s, name, "2026-04-04", ActionState::Open);
    let job = |(by, action): &(&str, usize)| Job {
        words: of.words.clone(),
        by: day(by),
        place: day("2026-04-10").max(day(by)),
        since: day(by),
        plan: severity.is_none(),
        write: of.write.clone(),
        actions: vec![*action],
    };
    Matter {
        when,
        severity,
        codes: vec![of.code.clone(), "suspect-lot".into()],
        jobs: jobs.iter().map(job).collect(),
        reasons: (0..4).map(|n| format!("{} ({n})", of.reason)).collect(),
        also: vec!["another page asks for it too".into()],
        cautions: of.cautions.clone(),
        lines: of.lines.clone(),
    }
}

fn went(s: &Sources, name: &str) -> Trace {
    let reach = |thing: &str, amount: Option<&str>, planned| Reach {
        thing: thing.into(),
        since: "20 March 2026".into(),
        amount: amount.map(str::to_owned),
        on_top: false,
        off: None,
        planned,
        once: false,
        lines: vec![quote(s, "spread lot tern-26 on north-1 and north-2, 3 in deep", "20 March 2026")],
    };
    Trace {
        figures: vec![],
        subject: name.into(),
        began: Some(quote(s, "received 6 yd3 compost as lot tern-26", "14 March 2026")),
        forwards: vec![
            reach("bed north-1", Some("1.1-1.2 yd3"), false),
            reach(name, None, false),
            reach("heap main", None, true),
        ],
        backwards: vec![reach("horse manure", None, false)],
        balance: vec![format!("1.2 yd3 of {name} is left on 4 April 2026")],
        content: None,
    }
}

fn lacking(s: &Sources, name: &str) -> Vec<WhyNotSo> {
    let loc = at(s, "spring.md", "lot tern-26");
    let inner = WhyNotSo {
        asked: format!("{name} failed any test on any day"),
        said_by: "only an entry of the journal could say it, and none does".into(),
        ..WhyNotSo::default()
    };
    vec![WhyNotSo {
        asked: format!("suspect-lot about {name}"),
        near: vec!["suspect-lot about lot barry-1".into()],
        attempts: vec![Attempt {
            code: "suspect-lot".into(),
            number: 1,
            loc,
            met: vec![step(&format!("{name} may carry herbicide"), Ground::Page(loc, None), vec![])],
            fails: format!("{name} failed any test on any day"),
            obstacle: "nothing says so".into(),
            near: vec!["lot barry-1 failed test t1 on 4 April 2026".into()],
            because: Some(Box::new(inner)),
            more: 2,
            exhaustive: false,
        }],
        ..WhyNotSo::default()
    }]
}

fn book(name: &str) -> PhraseBook {
    PhraseBook {
        verbs: vec![Verb {
            verb: "spread".into(),
            also: vec!["strewed".into()],
            meaning: "Material is put on top of a bed, path or field.".into(),
            example: format!("spread {name} on north-1 and north-2, 3 in deep"),
        }],
        kinds: vec![WordKind {
            kind: "crop".into(),
            words: vec![
                ("aubergine".into(), vec!["brinjal".into(), "eggplant".into()]),
                ("bean".into(), vec![]),
            ],
        }],
    }
}

fn note(name: &str) -> PageNote {
    PageNote {
        code: "untested-lot".into(),
        severity: Some(Severity::Warn),
        path: "rules/untested-lot.md".into(),
        built_in: false,
        sections: vec![
            (
                "What it notices".into(),
                format!("A load like {name} that goes onto ground untested. And more."),
            ),
            (
                "What to do".into(),
                format!(
                    "Keep it off\nthe ground. Write\n\n    - potted 4 pots of bean in {name} as test t1\n\n- one\n  item\n- another"
                ),
            ),
            ("Must fire".into(), "### a load spread\n\n### a plan".into()),
            ("Sources".into(), String::new()),
        ],
        folds: vec!["no-sample-kept about the same lot".into()],
        counts: (3, 2, 1),
    }
}

/// Everything an answer can be, under headings.
fn everything(s: &Sources, name: &str, style: &Style) -> String {
    [
        ("why", why::why(&answer(s, name), s, false, style)),
        ("why --whole", why::why(&answer(s, name), s, true, style)),
        ("why --not", missing::missing(&lacking(s, name), s, style)),
        ("trace", trace::trace(&went(s, name), s, style)),
        ("due", due::due(&report(s, name), s, style)),
        ("words", words::words(&book(name), style)),
        ("rules list", rules::list(&[note(name)], style)),
        ("rules show", rules::show(&note(name), style)),
    ]
    .map(|(title, text)| format!("=== {title}\n{text}"))
    .join("\n")
}

fn snapshot(name: &str, text: &str) {
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!(name, format!("=== spring.md\n{SPRING}\n{text}"));
    });
}

#[test]
fn answers_at_80_columns() {
    let s = sources(&[("spring.md", SPRING)]);
    snapshot("answers_80", &everything(&s, "lot tern-26", &Style { all: true, ..Style::plain() }));
}

#[test]
fn answers_with_wide_letters_at_50_columns() {
    let s = sources(&[("spring.md", SPRING)]);
    snapshot("answers_50_wide", &everything(&s, "lot トマト堆肥 🍅", &Style { width: 50, ..Style::plain() }));
}

#[test]
fn colour_changes_nothing_but_colour_in_answers() {
    let s = sources(&[("spring.md", SPRING)]);
    let style = Style { all: true, ..Style::plain() };
    let coloured = everything(&s, "lot tern-26", &Style { colour: true, ..style.clone() });
    assert_ne!(coloured, unpainted(&coloured));
    assert_eq!(unpainted(&coloured), everything(&s, "lot tern-26", &style));
}

#[test]
fn answers_in_plain_characters_are_plain() {
    let s = sources(&[("spring.md", SPRING)]);
    let text = everything(&s, "lot tern-26", &Style { unicode: false, ..Style::plain() });
    assert!(text.is_ascii(), "{text}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]
    #[test]
    fn no_answer_is_wider_than_asked(name in ".{0,80}", width in 0usize..120, colour: bool, unicode: bool, all: bool) {
        let s = sources(&[("spring.md", SPRING)]);
        let style = Style { width, colour, unicode, all, ..Style::plain() };
        assert_fits(&everything(&s, &name, &style), style.columns());
    }
}
