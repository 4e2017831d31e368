//! The session's law: whatever the edits were, a check ends where a fresh session with the same texts ends.

use std::{collections::BTreeMap, fs, path::Path, sync::Arc};

use chrono::NaiveDate;
use haulm::{
    base::source::{SourceFile, SourceKind},
    model::{
        outcome::{Reason, RowRef},
        page::Example,
        sentence::SentenceId,
    },
    read::{Farm, kind_of},
    session::{Checked, Session, Stage},
    show,
};
use proptest::{collection::vec, prelude::*, sample::Index};

type Texts = BTreeMap<String, String>;

/// The demonstration journal, and one of the program's own pages kept as the farm's.
fn real_texts() -> Texts {
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut texts = Texts::new();
    for entry in fs::read_dir(package.join("journals/brackenhythe")).expect("the demonstration journal") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|e| e == "md") {
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            texts.insert(name, fs::read_to_string(path).expect("text"));
        }
    }
    texts
}

/// Enough of them for edits to meet each other, and few enough to be checked again and again.
fn some_texts() -> Texts {
    let mut texts = real_texts();
    texts.retain(|path, _| path.starts_with('0') || path.starts_with("2026"));
    assert!(texts.len() > 1);
    texts
}

/// A rule page of the farm's own that takes the place of a built-in one.
fn own_page() -> String {
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    fs::read_to_string(package.join("rules/pages/lots/untested-lot.md")).expect("a page")
}

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 7, 1).expect("a day")
}

#[derive(Debug, Clone)]
enum Edit {
    /// Copies a line of one file into another, or to another place.
    CopyLine { from: (Index, Index), to: (Index, Index) },
    /// Removes some lines.
    CutLines { at: (Index, Index), count: usize },
    /// Types a few characters in the middle of a line.
    Type { at: (Index, Index), text: String },
    /// Moves a file to another name.
    Rename { file: Index, to: u8 },
    /// Removes a file.
    Remove { file: Index },
    /// Puts a rule page of the farm's own in place, with a line left out, or takes it away.
    OwnRule { without: Option<Index> },
    /// Checks in between, so that something is kept to go stale.
    Check,
}

fn edits() -> impl Strategy<Value = Vec<Edit>> {
    let place = || (any::<Index>(), any::<Index>());
    let edit = prop_oneof![
        4 => (place(), place()).prop_map(|(from, to)| Edit::CopyLine { from, to }),
        3 => (place(), 1..20usize).prop_map(|(at, count)| Edit::CutLines { at, count }),
        3 => (place(), "[-a-z0-9 #:;,é🍅\"`\\[\\]]{0,6}").prop_map(|(at, text)| Edit::Type { at, text }),
        1 => (any::<Index>(), any::<u8>()).prop_map(|(file, to)| Edit::Rename { file, to }),
        1 => any::<Index>().prop_map(|file| Edit::Remove { file }),
        1 => proptest::option::of(any::<Index>()).prop_map(|without| Edit::OwnRule { without }),
        3 => Just(Edit::Check),
    ];
    vec(edit, 1..10)
}

/// Applies an edit to plain texts: what the session must come to by its own way.
fn apply(texts: &mut Texts, edit: &Edit) {
    const OWN: &str = "rules/pages/own.md";
    let journals: Vec<String> = texts.keys().filter(|p| *p != OWN).cloned().collect();
    if let (true, Edit::CopyLine { .. } | Edit::CutLines { .. } | Edit::Type { .. }) =
        (journals.is_empty(), edit)
    {
        return;
    }
    match edit {
        Edit::CopyLine { from, to } => {
            let from_lines = lines(&texts[from.0.get(&journals)]);
            let line = from.1.get(&from_lines).clone();
            let path = to.0.get(&journals);
            let mut into = lines(&texts[path]);
            into.insert(to.1.index(into.len()), line);
            texts.insert(path.clone(), into.concat());
        }
        Edit::CutLines { at, count } => {
            let path = at.0.get(&journals);
            let mut all = lines(&texts[path]);
            let start = at.1.index(all.len());
            all.drain(start..(start + count).min(all.len()));
            texts.insert(path.clone(), all.concat());
        }
        Edit::Type { at, text } => {
            let path = at.0.get(&journals);
            let mut whole = texts[path].clone();
            let mut byte = at.1.index(whole.len() + 1);
            while !whole.is_char_boundary(byte) {
                byte -= 1;
            }
            whole.insert_str(byte, text);
            texts.insert(path.clone(), whole);
        }
        Edit::Rename { file, to } if !journals.is_empty() => {
            let text = texts.remove(file.get(&journals)).unwrap_or_default();
            texts.insert(format!("{to}.md"), text);
        }
        Edit::Remove { file } if !journals.is_empty() => {
            texts.remove(file.get(&journals));
        }
        Edit::OwnRule { without: None } => {
            texts.remove(OWN);
        }
        Edit::OwnRule { without: Some(line) } => {
            let mut page = lines(&own_page());
            page.remove(line.index(page.len()));
            texts.insert(OWN.to_owned(), page.concat());
        }
        Edit::Rename { .. } | Edit::Remove { .. } | Edit::Check => {}
    }
}

/// Lines with their breaks; an empty text has one empty line.
fn lines(text: &str) -> Vec<String> {
    let lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    if lines.is_empty() { vec![String::new()] } else { lines }
}

fn fresh(texts: &Texts) -> Session {
    let mut session = Session::new();
    for (path, text) in texts {
        session.set_text(path, text);
    }
    session
}

/// Brings a session from one state of the texts to another as an editor would: file by file.
fn edit(session: &mut Session, before: &Texts, after: &Texts) {
    for path in before.keys().filter(|p| !after.contains_key(*p)) {
        assert!(session.remove(path));
    }
    for (path, text) in after {
        let changed = session.set_text(path, text);
        assert_eq!(changed, before.get(path) != Some(text));
    }
}

/// All that can be asked of a check.
fn whole(checked: &Checked) -> (String, String, usize) {
    let report = show::json::report(&checked.report, &checked.sources);
    let facts = format!("{:?}{:?}", checked.diary, checked.program.facts.len());
    (report, facts, checked.program.rules.len())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, max_shrink_iters: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_edits_end_where_a_fresh_session_ends(edits in edits()) {
        let mut texts = some_texts();
        let mut session = fresh(&texts);
        for step in &edits {
            if let Edit::Check = step {
                session.check(today(), None);
            }
            let mut after = texts.clone();
            apply(&mut after, step);
            edit(&mut session, &texts, &after);
            texts = after;
        }
        let (edited, anew) = (session.check(today(), None), fresh(&texts).check(today(), None));
        prop_assert_eq!(whole(&edited), whole(&anew));
    }
}

/// What is written letter by letter, at the end of a file or in the middle of one.
const WRITTEN: [&str; 8] = [
    "- spread lot tern-26 on north-1, 3 in deep: a good day\n",
    "- received 4 bags compost as lot new-1 from Pell & Sons, made from horse manure\n",
    "- bed south-9 in east tunnel, 30 ft x 4 ft\n",
    "- noticed twisted stems on tomato in first 10 ft of south-9, 2 of 6 plants\n",
    "## 2026-06-03\n- [ ] pot 4 pots of bean in lot new-1 as test t-new, 3 seeds each\n",
    "- correct 2026-06-03 spread lot new-1: never happened\n",
    "- unit barrow, 90 l\n- beds m-1 to m-4\n",
    "- gave 2 barrows of \"lot new-1\" to Pell; allow untested-lot on lot new-1 until 2026-08-01: known\n",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 2, max_shrink_iters: 20, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_letter_ends_where_a_fresh_session_ends(
        written in vec((any::<Index>(), any::<Index>(), any::<bool>()), 2),
        every in 5..12usize,
    ) {
        let mut texts = some_texts();
        let mut session = fresh(&texts);
        session.check(today(), None);
        // The rulebook alone is compiled once for all.
        let mut base = Session::new();
        base.check(today(), None);
        let anew = |texts: &Texts| {
            let mut session = base.clone();
            texts.iter().for_each(|(path, text)| _ = session.set_text(path, text));
            session.check(today(), None)
        };
        let mut typed = 0;
        for (file, line, at_end) in written {
            let paths: Vec<String> = texts.keys().cloned().collect();
            let path = file.get(&paths);
            let all = lines(&texts[path]);
            let upto = if at_end { all.len() } else { all.len() / 2 };
            let mut at: usize = all.iter().take(upto).map(String::len).sum();
            for letter in line.get(&WRITTEN).chars() {
                let text = texts.get_mut(path).expect("a text");
                text.insert(at, letter);
                at += letter.len_utf8();
                let text = text.clone();
                session.set_text(path, &text);
                let edited = session.check(today(), None);
                typed += 1;
                if typed % every == 0 {
                    prop_assert_eq!(whole(&edited), whole(&anew(&texts)));
                }
            }
            let (edited, anew) = (session.check(today(), None), anew(&texts));
            prop_assert_eq!(whole(&edited), whole(&anew));
            prop_assert!(reasons(&edited) == reasons(&anew), "what holds rests on something else");
        }
    }
}

/// Everything that holds, how deep it lies, and what it rests on.
fn reasons(checked: &Checked) -> Vec<String> {
    let model = &checked.model;
    let tuple = |row: RowRef| format!("{:?}", model.tuple(row));
    let sentences = (0..).map(SentenceId).take(model.sentences().len());
    let told = |row: RowRef| {
        let reason = match model.reason(row) {
            Some(Reason::Rule { rule, rows }) => {
                let rows: Vec<Option<String>> = rows.into_iter().map(|row| row.map(tuple)).collect();
                format!("{rule} {rows:?}")
            }
            Some(Reason::Reckoned(r)) => {
                let rows: Vec<String> = r.witnesses.iter().map(|row| tuple(*row)).collect();
                format!("{} {:?} {rows:?}", r.reckoner, r.numbers)
            }
            other => format!("{other:?}"),
        };
        format!("{} {:?} {reason}", tuple(row), model.rank(row))
    };
    sentences.flat_map(|s| model.rows(s).into_iter().map(told).collect::<Vec<_>>()).collect()
}

/// Pages of a farm's own beside the rulebook, as the examples of pages bring them, each with a journal.
fn pages_of_examples() -> Vec<Texts> {
    let mut trial = Session::new().trial();
    let pages = trial.pages();
    let examples = pages.iter().flat_map(|page| &page.examples).filter(|e| !e.pages.is_empty());
    let texts = |e: &Example| {
        let pages = e.pages.iter().map(|own| (own.path.to_string(), own.text.text.to_string()));
        pages.chain([("2026.md".to_owned(), e.journal.text.to_string())]).collect()
    };
    examples.map(texts).collect()
}

#[test]
fn pages_that_come_and_go_are_as_good_as_pages_that_were_always_there() {
    let (mut session, mut before) = (fresh(&Texts::new()), Texts::new());
    let alone = session.check(today(), None);
    let shares = |checked: &Checked| Arc::ptr_eq(&checked.program.rules[0], &alone.program.rules[0]);
    let (mut all, mut shared) = (0, 0);
    for after in pages_of_examples() {
        edit(&mut session, &before, &after);
        let edited = session.check(today(), None);
        assert_eq!(whole(&edited), whole(&fresh(&after).check(today(), None)), "{after:#?}");
        (all, shared) = (all + 1, shared + usize::from(shares(&edited)));
        before.clone_from(&after);
        // Some of them are taken away again before the next come.
        if all % 4 == 0 {
            before.retain(|path, _| kind_of(path) == SourceKind::Journal);
            edit(&mut session, &after, &before);
            assert_eq!(whole(&session.check(today(), None)), whole(&fresh(&before).check(today(), None)));
        }
    }
    assert!(all > 30 && 3 * shared > 2 * all, "{shared} of {all} let the built-in rules stand as they were");
}

#[test]
fn what_is_no_longer_declared_is_read_as_a_fresh_session_reads_it() {
    let texts = some_texts();
    let (path, text) = texts.first_key_value().expect("a journal");
    let all = lines(text);
    let mut session = fresh(&texts);
    session.check(today(), None);
    for n in (0..all.len()).filter(|n| all[*n].starts_with("- ")) {
        let mut cut = all.clone();
        let line = cut.remove(n);
        let after: Texts = texts.clone().into_iter().chain([(path.clone(), cut.concat())]).collect();
        session.set_text(path, &after[path]);
        assert_eq!(
            whole(&session.check(today(), None)),
            whole(&fresh(&after).check(today(), None)),
            "{line}"
        );
        session.set_text(path, text);
        session.check(today(), None);
    }
}

#[test]
fn there_and_back_again_is_where_it_began() {
    let texts = real_texts();
    let mut session = fresh(&texts);
    let before = whole(&session.check(today(), None));
    let (path, text) = texts.first_key_value().expect("a journal");
    session.set_text(path, "## 3/4/26\n\n- rained 12 mm\n");
    session.set_text("rules/pages/own.md", &own_page());
    assert_ne!(whole(&session.check(today(), None)), before);
    session.set_text(path, text);
    session.remove("rules/pages/own.md");
    assert_eq!(whole(&session.check(today(), None)), before);
}

#[test]
fn texts_set_one_by_one_are_as_good_as_a_reading_of_the_folder() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("journals/brackenhythe");
    let mut read = Session::new();
    let changed = read.set_reading(Farm::at(&folder).read());
    assert_eq!(changed.len(), real_texts().len());
    assert_eq!(read.set_reading(Farm::at(&folder).read()), []);
    let set = fresh(&real_texts()).check(today(), None);
    assert_eq!(whole(&read.check(today(), None)), whole(&set));
}

#[test]
fn a_file_that_was_not_on_the_disk_is_left_out_until_its_text_is_set() {
    let mut session = Session::new();
    session.set_reading(Farm::at(Path::new("no/such/place.md")).read());
    assert_eq!(session.left_out().len(), 1);
    session.set_text("other.md", "");
    assert_eq!(session.left_out().len(), 1);
    session.set_text("place.md", "");
    assert_eq!(session.left_out(), []);
}

#[test]
fn the_order_in_which_files_are_set_does_not_matter() {
    let texts = real_texts();
    let mut backwards = Session::new();
    for (path, text) in texts.iter().rev() {
        backwards.set(SourceFile::new(path.as_str(), text.as_str(), kind_of(path), false));
    }
    assert_eq!(whole(&backwards.check(today(), None)), whole(&fresh(&texts).check(today(), None)));
}

#[test]
fn every_stage_is_told_once_and_in_order() {
    let mut told = Vec::new();
    fresh(&real_texts()).check_observed(today(), None, &mut |stage| told.push(stage));
    assert_eq!(told, Stage::ALL);
}

#[test]
fn a_rule_page_is_known_by_its_folder() {
    assert_eq!(kind_of("rules/pages/own.md"), SourceKind::RulePage);
    assert_eq!(kind_of("rules.md"), SourceKind::Journal);
    assert_eq!(kind_of("2026/spring.md"), SourceKind::Journal);
}

#[test]
fn a_day_of_no_calendar_below_a_later_day_is_not_told_of_before_it() {
    let text = "## 2025-05-01\n- rained 3 mm\n## 2025-06-15\n- rained 4 mm\n## 2025-06-31\n- rained 5 mm\n";
    let told = |as_of: NaiveDate| {
        let mut session = Session::new();
        session.set_text("a.md", text);
        let checked = session.check(as_of, Some(as_of));
        checked.report.findings.iter().any(|d| d.message.contains("2025-06-31"))
    };
    let day = |month, day| NaiveDate::from_ymd_opt(2025, month, day).expect("a day");
    assert!(!told(day(5, 18)));
    assert!(told(day(6, 20)));
}

#[test]
fn the_first_and_the_last_stretch_of_a_bed_are_two_grounds() {
    let mut session = Session::new();
    let text = "- bed b1, 30 ft x 4 ft\n\n## 2026-03-14\n- received 6 yd3 compost as lot x\n- spread lot x on first 10 ft of b1\n- spread lot x on last 10 ft of b1\n";
    session.set_text("a.md", text);
    let day = NaiveDate::from_ymd_opt(2026, 4, 4).expect("a day");
    let checked = session.check(day, None);
    let grounds: std::collections::BTreeSet<String> = checked
        .diary
        .facts
        .iter()
        .flat_map(|f| &f.values)
        .filter_map(|v| match v {
            haulm::measure::value::Value::Thing(t) if t.name.ends_with(" of b1") => Some(t.name.to_string()),
            _ => None,
        })
        .collect();
    assert_eq!(grounds.into_iter().collect::<Vec<_>>(), ["3.05 m of b1", "last 3.05 m of b1"]);
}

/// Every order of some lines.
fn orders(lines: &[&str]) -> Vec<String> {
    if lines.is_empty() {
        return vec![String::new()];
    }
    let from = |n: usize| {
        let rest: Vec<&str> = lines.iter().enumerate().filter(|(m, _)| *m != n).map(|(_, l)| *l).collect();
        orders(&rest).into_iter().map(move |tail| format!("- {}\n{tail}", lines[n])).collect::<Vec<_>>()
    };
    (0..lines.len()).flat_map(from).collect()
}

#[test]
fn ground_that_was_dug_and_mulched_in_one_day_is_the_same_in_any_order_of_lines() {
    let day = NaiveDate::from_ymd_opt(2026, 5, 1).expect("a day");
    let mut session = Session::new();
    let mut told = |lines: &str| {
        let text = format!(
            "- unit barrow, 3 ft3\n- bed b-1, 20 ft x 4 ft\n\n## 2026-03-20\n- received 1 yd3 hay as lot hay-1 from Farm\n\
             - received 2 yd3 horse manure as lot man-1 from Farm\n- lab found 12 ppb aminopyralid in lot hay-1\n\n\
             ## 2026-03-25\n{lines}"
        );
        session.set_text("a.md", &text);
        let checked = session.check(day, None);
        let mut said: Vec<String> =
            checked.report.findings.iter().map(|d| format!("{}: {}", d.code, d.message)).collect();
        said.extend(checked.report.actions.iter().map(|a| format!("{} {}", a.by, a.words)));
        said.sort();
        let content = checked.trace_on("b-1", day).expect("a bed").content.expect("what it is made up of");
        (said, content.shares, content.on_top)
    };
    let lines =
        ["dug in 8 barrows of lot man-1 in b-1, 6 in deep", "turned b-1", "mulched b-1 with lot hay-1, 2 in"];
    let orders = orders(&lines);
    let (said, shares, on_top) = told(&orders[0]);
    assert_eq!(orders.len(), 6);
    assert!(said.iter().any(|line| line.starts_with("suspect-mulch-lies: ")), "{said:?}");
    assert!(said.iter().any(|line| line.contains("fork lot hay-1 off bed b-1")), "{said:?}");
    assert_eq!(on_top.iter().map(|top| &*top.thing).collect::<Vec<_>>(), ["lot hay-1"]);
    assert!(shares.iter().all(|share| share.thing != "lot hay-1"), "{shares:?}");
    for lines in &orders[1..] {
        assert_eq!(told(lines), (said.clone(), shares.clone(), on_top.clone()), "{lines}");
    }
}
