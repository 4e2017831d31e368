//! Laws of reading that hold for any text at all.

use haulm::{
    base::span::FileId,
    model::{entry::Entry, journal::BlockKind},
    parse,
    understand::clauses,
};
use proptest::{collection::vec, prelude::*, sample::select};

use crate::written::{entry_words, frames, read, vocabulary};

/// What lines are made of: words of the language, names, figures, and signs that trip readers.
const SHREDS: &[&str] = &[
    "spread",
    "received",
    "planted",
    "noticed",
    "read",
    "measured",
    "potted",
    "correct",
    "allow",
    "skipped",
    "lot",
    "lot tern-26",
    "bed",
    "north-1",
    "beds 1-6",
    "north-1 to north-3",
    "on",
    "in",
    "as",
    "from",
    "to",
    "with",
    "of",
    "and",
    "or",
    ",",
    ";",
    ":",
    "each",
    "deep",
    "control",
    "control of test t1",
    "test t1",
    "heights",
    "none",
    "cm",
    "3",
    "2 1/2",
    "10-12",
    "2:1",
    "10:20",
    "1,200",
    "½",
    "\u{2212}1",
    "yd3",
    "in",
    "\"",
    "'",
    "\u{201c}",
    "\u{201d}",
    "(",
    ")",
    "tomato",
    "cupped leaves",
    "nothing wrong",
    "no",
    "half of",
    "the rest of",
    "west end of",
    "buckets 1-4 of",
    "2026-03-14",
    "3/4/26",
    "Saturday",
    "since",
    "about",
    "until",
    "is",
    "never happened",
    "plan to",
    "[ ]",
    "if",
    "clean",
    "except",
    "by",
    "at",
    "photo",
    "8 5-gal buckets",
    "30 ft x 4 ft",
    "🍅",
    "é",
    "\u{a0}",
    "\t",
    "\u{2014}",
    "compost",
    "wind",
    "8 mph",
    "from the NW",
    "%",
    "£40",
    "<1",
    "ppb",
    "\u{feff}",
    "\u{0}",
    "999999999999999999999",
];

fn shredded_line() -> impl Strategy<Value = String> {
    (select(vec!["- ", "* ", "1. ", "- [ ] ", "## ", "", "  "]), vec(select(SHREDS), 0..14))
        .prop_map(|(start, words)| format!("{start}{}", words.join(" ")))
}

fn shredded() -> impl Strategy<Value = String> {
    (vec(shredded_line(), 0..12), select(vec!["\n", "\r\n", "\n\n"]))
        .prop_map(|(lines, end)| format!("## 2026-03-14{end}{}", lines.join(end)))
}

/// Reads a text and holds every span to it.
fn hold(text: &str) -> Result<(), TestCaseError> {
    let (file, reading) = read(text);
    let mut end = 0;
    for block in &file.blocks {
        prop_assert_eq!(block.span.start, end);
        prop_assert!(text.get(block.span.range()).is_some());
        let inner = match block.kind {
            BlockKind::Heading { text, .. } => text,
            BlockKind::Item { body, .. } => body,
            BlockKind::Prose => block.span,
        };
        prop_assert!(inner.start >= block.span.start && inner.end <= block.span.end);
        prop_assert!(text.get(inner.range()).is_some());
        end = block.span.end;
    }
    prop_assert_eq!(end as usize, text.len());
    for entry in &reading.entries() {
        let fills = entry.groups.iter().flat_map(|g| &g.slots).map(|f| f.loc);
        for loc in fills.chain([entry.loc, entry.verb_loc]) {
            prop_assert!(text.get(loc.span.range()).is_some(), "{:?}", loc);
        }
    }
    for d in file.diagnostics.iter().chain(&reading.diagnostics) {
        let labels = d.primary.iter().chain(&d.secondary).map(|l| l.loc);
        for loc in labels.chain(d.fixes.iter().map(|f| f.loc)) {
            prop_assert!(text.get(loc.span.range()).is_some(), "{:?}", d);
        }
        prop_assert!(d.primary.is_some(), "{:?}", d);
        prop_assert!(!d.message.contains("expected"), "{}", d.message);
    }
    Ok(())
}

fn words_of(entries: &[Entry]) -> Vec<String> {
    entries.iter().map(entry_words).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn blocks_tile_any_text_and_every_place_lies_in_it(text in "\\PC*|(.|\n){0,200}") {
        hold(&text)?;
    }

    #[test]
    fn lines_made_of_the_languages_own_words_are_read_without_a_stumble(text in shredded()) {
        hold(&text)?;
    }

    #[test]
    fn line_ends_do_not_change_what_is_read(lines in vec(shredded_line(), 0..8)) {
        let unix = format!("## 2026-03-14\n{}\n", lines.join("\n"));
        let windows = unix.replace('\n', "\r\n");
        prop_assert_eq!(words_of(&read(&unix).1.entries()), words_of(&read(&windows).1.entries()));
    }

    #[test]
    fn a_bad_item_costs_no_other_item(bad in "[a-z ,;:\"()0-9/-]{0,40}", at in 0usize..4) {
        let good = ["watered north-1", "frost -1 C", "rained 12 mm", "planted 24 tomato in north-1"];
        let place = "## The place\n- bed north-1\n\n## 2026-03-14\n";
        let plain: String = good.iter().map(|l| format!("- {l}\n")).collect();
        let mut lines: Vec<String> = good.iter().map(|l| format!("- {l}\n")).collect();
        lines.insert(at, format!("- spread lot zz {bad}\n"));
        let before = words_of(&read(&format!("{place}{plain}")).1.entries());
        let after = words_of(&read(&format!("{place}{}", lines.concat())).1.entries());
        let kept: Vec<String> = after.into_iter().filter(|w| !w.starts_with("spread")).collect();
        prop_assert_eq!(before, kept);
    }
}

#[test]
fn the_order_of_files_does_not_matter() {
    let frames = frames();
    let texts = [
        "## The place\n- bed north-1\n\n## 2026-03-14\n- spread lot tern-26 on north-1\n",
        "## 2026-03-10\n- received 6 yd3 compost as lot tern-26 from Tern Quay Soils\n- told Tern Quay Soils\n",
    ];
    let parsed =
        |n: usize| parse::journal::parse(FileId(u32::try_from(n).expect("small")), texts[n], &frames);
    let one = clauses::read(&[parsed(0), parsed(1)], &frames, vocabulary());
    let other = clauses::read(&[parsed(1), parsed(0)], &frames, vocabulary());
    assert_eq!(one.entries(), other.entries());
    assert_eq!(one.diagnostics, other.diagnostics);
    assert_eq!(one.entries().len(), 4);
}

#[test]
fn an_entry_too_long_to_be_one_is_one_message_and_costs_no_other() {
    let long = format!("- bed b1\n\n## 2026-03-14\n- note: {}\n- watered b1\n", "x ".repeat(20_000));
    let (file, reading) = read(&long);
    assert_eq!(words_of(&reading.entries()), ["bed | name=bed b1", "watered | place=bed b1"]);
    let said: Vec<_> = file.diagnostics.iter().map(|d| &*d.code).collect();
    assert_eq!(said, ["overlong-entry"]);
    // Prose and a page pasted in as one item are no entries and are not reported.
    let (file, reading) = read(&format!("## 2026-03-14\n- {}\n", "talk ".repeat(20_000)));
    assert!(file.diagnostics.is_empty() && reading.diagnostics.is_empty() && reading.entries().is_empty());
}
