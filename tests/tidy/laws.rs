//! What holds of any text: tidied, it says what it said; tidied twice, it is as tidied once; prose is not
//! touched, and every line stays where it is.
//!
//! `HAULM_TEXTS=2000` tries that many texts; fewer are enough for every day.

use std::fs;

use haulm::model::{change::applied, journal::BlockKind};
use proptest::{collection::vec, prelude::*, sample::Index};

use crate::{check, tidy};

/// Lines of the language, as the tests of its reading have them, and of whole journals.
fn lines() -> Vec<&'static str> {
    let corpora = [
        include_str!("../journal/everyday.md"),
        include_str!("../journal/exact.md"),
        include_str!("../journal/scraps.md"),
        include_str!("../journal/newcomer.md"),
        include_str!("../journal/prose.md"),
        include_str!("../../journals/starter.md"),
        include_str!("../../journals/brackenhythe/2025-spring.md"),
    ];
    corpora.iter().flat_map(|c| c.lines()).collect()
}

/// A slip of the hand at some place of a line.
#[derive(Debug, Clone, Copy)]
enum Slip {
    Widen,
    Tab,
    Break,
    BeforeComma,
    CloseComma,
    Marker(&'static str),
    Trail(&'static str),
    Insert(&'static str),
}

fn slip() -> impl Strategy<Value = Slip> {
    prop_oneof![
        4 => Just(Slip::Widen),
        1 => Just(Slip::Tab),
        2 => Just(Slip::Break),
        2 => Just(Slip::BeforeComma),
        1 => Just(Slip::CloseComma),
        3 => proptest::sample::select(vec![
            "* ", "+ ", "-  ", "-\t", "\u{2022} ", "\u{2013} ", "1. ", "12)  ", "[ ] ", "- []  ", "- [X] ", "  - ", "      - ", "\t* ",
        ]).prop_map(Slip::Marker),
        1 => proptest::sample::select(vec![" ", "  ", "\t", " \t", "\u{a0}"]).prop_map(Slip::Trail),
        1 => proptest::sample::select(vec![
            " , ", ";", "  ;x", "\"", "(", ")", ":", " : ", "\u{a0}", "*", "`", "# ", "- ", "🍅", "\r", "<!--", "```", "---", "1", "'",
        ]).prop_map(Slip::Insert),
    ]
}

fn slipped(line: &str, slip: Slip, at: &Index) -> String {
    let of = |what: char| -> Option<usize> {
        let places: Vec<usize> = line.match_indices(what).map(|(n, _)| n).collect();
        (!places.is_empty()).then(|| places[at.index(places.len())])
    };
    let put = |place: Option<usize>, length: usize, text: &str| match place {
        Some(n) => format!("{}{text}{}", &line[..n], &line[n + length..]),
        None => line.to_owned(),
    };
    match slip {
        Slip::Widen => put(of(' '), 1, "   "),
        Slip::Tab => put(of(' '), 1, "\t"),
        Slip::Break => put(of(' '), 1, ["\n   ", "\n ", "  \n\t", "\n        "][at.index(4)]),
        Slip::BeforeComma => put(of(','), 1, " ,"),
        Slip::CloseComma => put(of(','), 1, " ,").replacen(" , ", " ,", 1),
        Slip::Marker(marker) => match line.strip_prefix("- ") {
            Some(rest) => format!("{marker}{rest}"),
            None => line.to_owned(),
        },
        Slip::Trail(blank) => format!("{line}{blank}"),
        Slip::Insert(text) => {
            let mut n = at.index(line.len() + 1);
            while !line.is_char_boundary(n) {
                n -= 1;
            }
            put(Some(n), 0, text)
        }
    }
}

fn texts() -> impl Strategy<Value = String> {
    let line = (any::<Index>(), vec((slip(), any::<Index>()), 0..5));
    (vec(line, 1..24), prop_oneof![3 => Just("\n"), 1 => Just("\r\n")]).prop_map(|(picked, end)| {
        let lines = lines();
        let mut out = vec!["## 2026-03-14".to_owned()];
        for (which, slips) in picked {
            let mut line = lines[which.index(lines.len())].to_owned();
            for (slip, at) in slips {
                line = slipped(&line, slip, &at);
            }
            out.push(line);
        }
        out.join("\n").replace('\n', end)
    })
}

fn hold(text: &str) -> Result<(), TestCaseError> {
    let before = check(text);
    let tidied = tidy(&before);
    let after = check(&tidied);
    prop_assert!(before.says_the_same(&after), "it is read otherwise: {tidied:?}");
    prop_assert_eq!(&tidy(&after), &tidied, "once more changes it again");
    prop_assert_eq!(text.matches('\n').count(), tidied.matches('\n').count());
    prop_assert_eq!(text.matches('\r').count(), tidied.matches('\r').count());
    let ink = |text: &str| -> String { text.chars().filter(|c| c.is_alphabetic()).collect() };
    prop_assert_eq!(ink(text).replace('X', "x"), ink(&tidied).replace('X', "x"), "a word changed");
    // Changes lie in items that are entries, and in headings.
    let file = before.sources.find("a.md").expect("the text");
    let entries: Vec<u32> = before.diary.entries.iter().map(|e| e.loc.span.start).collect();
    let blocks = before.cut(file).blocks;
    for change in before.tidied(file) {
        let block =
            blocks.iter().find(|b| b.span.start <= change.span.start && change.span.end <= b.span.end);
        match block.map(|b| b.kind) {
            Some(BlockKind::Item { body, .. }) => prop_assert!(entries.contains(&body.start), "{change:?}"),
            Some(BlockKind::Heading { .. }) => {}
            other => prop_assert!(false, "{change:?} in {other:?}"),
        }
    }
    Ok(())
}

fn cases() -> u32 {
    std::env::var("HAULM_TEXTS").ok().and_then(|n| n.parse().ok()).unwrap_or(60)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), ..ProptestConfig::default() })]

    #[test]
    fn a_tidied_text_says_what_it_said(text in texts()) {
        hold(&text)?;
    }
}

#[test]
fn the_journals_that_ship_say_the_same_when_tidied() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/journals/brackenhythe");
    for entry in fs::read_dir(folder).expect("the demonstration") {
        let path = entry.expect("a file").path();
        if path.extension().is_some_and(|e| e == "md") {
            hold(&fs::read_to_string(path).expect("text")).expect("it holds");
        }
    }
}

#[test]
fn changes_are_in_order_and_apart() {
    let checked =
        check("## 2026-3-14\n*  bed  a , 3 ft  x 4 ft  \n* bed  b\n\n## 2026-03-15\n*  watered  a ,b\n");
    let file = checked.sources.find("a.md").expect("the text");
    let changes = checked.tidied(file);
    assert!(changes.len() > 5, "{changes:?}");
    assert!(changes.windows(2).all(|w| w[0].span.end <= w[1].span.start), "{changes:?}");
    let text = &checked.sources.file(file).text;
    assert_eq!(
        applied(text, &changes),
        "## 2026-03-14\n- bed a, 3 ft x 4 ft\n- bed b\n\n## 2026-03-15\n- watered a, b\n"
    );
}
