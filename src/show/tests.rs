//! How diagnostics look: snapshots with the input beside the output, and laws no drawing may break.

use proptest::prelude::*;
use unicode_width::UnicodeWidthStr;

use super::{layout::Style, paint::unpainted, terminal};
use crate::{
    base::{
        diagnostic::{Diagnostic, Label, RemarkKind, Severity},
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc, Span},
    },
    model::report::{Allowed, Report},
};

const SPRING: &str = "# Brackenhythe, spring\n\n## 2026-03-14 Saturday\n\
- received 6 yd3 compost as lot tern-26 from Tern Quay Soils, made from horse manure\n\n\
## 2026-03-20\n- spread lot tern-26 on north-1 and north-2, 3 in deep\n- planted 24 tomato in north-1\n";

const MAY: &str = "## 2026-05-02\n- gave 2 barrows of lot tern-26 to Brackenhythe School\n";

const WIDE: &str = "## 2026-05-03\n- noticed cupped leaves 🍅🍅 on トマト in the crème brûlée bed, \
new growth, 19 of 24 plants: as bad as the worst photo that Anne took of the ones by the door\n";

fn sources(files: &[(&str, &str)]) -> Sources {
    let files = files.iter().map(|(path, text)| SourceFile::new(*path, *text, SourceKind::Journal, false));
    Sources::new(files.collect())
}

fn at(sources: &Sources, path: &str, words: &str) -> Loc {
    let id = sources.find(path).unwrap_or(FileId(0));
    let start = sources.file(id).text.find(words).unwrap_or_default();
    Loc::new(id, Span::new(start, start + words.len()))
}

fn journal() -> Sources {
    sources(&[("spring.md", SPRING), ("summer/may.md", MAY), ("wide.md", WIDE)])
}

/// One finding with everything a finding can have.
fn carryover(s: &Sources) -> Diagnostic {
    Diagnostic::new("carryover-likely", Severity::Alarm, "lot tern-26 hurts broadleaved plants")
        .at(at(s, "spring.md", "lot tern-26 from"), "stop using it: about 1.2 yd3 are left")
        .also(at(s, "spring.md", "north-1 and north-2"), "about a third of both beds, by weight, and more than that in the first two inches")
        .also(at(s, "summer/may.md", "Brackenhythe School"), "they had 2 barrows")
        .about("lot tern-26")
        .remark(RemarkKind::Why, "about 9 in 10, drift from Hallow Top about 1 in 20 → haulm why tern-26")
        .remark(RemarkKind::Next, "today: tell Brackenhythe School, who had 2 barrows · do not compost what you pull, and do not give any of it away")
        .remark(RemarkKind::Caution, "what your label and local rules say about contaminated material goes before this")
        .remark(RemarkKind::Write, "- told Brackenhythe School about lot tern-26")
}

fn wide(s: &Sources) -> Diagnostic {
    Diagnostic::new(
        "growth-regulator-signs",
        Severity::Warn,
        "トマト in crème brûlée bed looks hurt the way growth regulators hurt plants 🍅",
    )
    .at(at(s, "wide.md", "cupped leaves 🍅🍅"), "newest growth, cupped")
    .also(at(s, "wide.md", "トマト"), "19 of 24")
    .also(at(s, "wide.md", "by the door"), "one more observation at the very end of a long line")
    .about("bed crème brûlée")
}

fn whole(s: &Sources) -> Report {
    let mut alarm = carryover(s);
    let untested = Diagnostic::new("untested-lot", Severity::Warn, "lot tern-26 was spread without a test")
        .at(at(s, "spring.md", "spread lot tern-26"), "spread here")
        .about("lot tern-26");
    alarm.folded = vec![untested.clone(), untested.clone()];
    let allowed = Allowed { finding: untested, by: "allowed until 1 September 2026: sealed peat mix".into() };
    let unread = Diagnostic::new("unread-page", Severity::Error, "the page rules/mine.md could not be read");
    let pooled = Diagnostic::new("pooled-count", Severity::Hint, "`24` covers one bed only as it stands")
        .at(at(s, "spring.md", "24 tomato"), "24 of what?")
        .remark(RemarkKind::Write, "- planted 24 tomato in north-1, 12 in north-2");
    Report { findings: vec![alarm, unread, wide(s), pooled], allowed: vec![allowed], ..Report::default() }
}

fn snapshot(name: &str, journal: &[(&str, &str)], shown: &str) {
    let input: String = journal.iter().map(|(path, text)| format!("=== {path}\n{text}")).collect();
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!(name, format!("{input}=== shown\n{shown}"));
    });
}

const FILES: &[(&str, &str)] = &[("spring.md", SPRING), ("summer/may.md", MAY), ("wide.md", WIDE)];

#[test]
fn a_report_at_80_columns() {
    let s = journal();
    snapshot("terminal_80", FILES, &terminal::report(&whole(&s), &s, &Style::plain()));
}

#[test]
fn a_report_with_everything_shown() {
    let s = journal();
    snapshot(
        "terminal_all",
        FILES,
        &terminal::report(&whole(&s), &s, &Style { all: true, ..Style::plain() }),
    );
}

#[test]
fn a_report_in_plain_characters_at_50_columns() {
    let s = journal();
    let style = Style { width: 50, unicode: false, ..Style::plain() };
    snapshot("terminal_50_ascii", FILES, &terminal::report(&whole(&s), &s, &style));
}

#[test]
fn colour_changes_nothing_but_colour() {
    let s = journal();
    let style = Style::plain();
    let coloured = terminal::report(&whole(&s), &s, &Style { colour: true, ..style.clone() });
    assert_ne!(coloured, unpainted(&coloured));
    assert_eq!(unpainted(&coloured), terminal::report(&whole(&s), &s, &style));
}

#[test]
fn plain_characters_are_plain_where_the_journal_is() {
    let s = sources(&[("spring.md", SPRING), ("summer/may.md", MAY)]);
    let style = Style { unicode: false, ..Style::plain() };
    let text = terminal::diagnostic(&carryover(&s), &s, &style);
    assert!(text.is_ascii(), "{text}");
}

fn assert_fits(text: &str, width: usize) {
    for line in unpainted(text).lines() {
        assert!(line.width() <= width, "{} columns in {width}: {line}", line.width());
    }
}

#[test]
fn a_label_on_a_combining_mark_and_one_at_the_lines_end_fit() {
    let s = sources(&[("a.md", "-🍅a🍅0 a\taa 🍅00\raa\u{301}")]);
    let label = |at: u32, text: &str| Label {
        loc: Loc::new(FileId(0), Span { start: at, end: 0 }),
        text: text.into(),
    };
    let mut d = Diagnostic::new("", Severity::Hint, "").remark(RemarkKind::Next, "");
    d.primary = Some(label(26, "A"));
    d.secondary.push(label(28, "Ͱ\0®¡Ͱ\u{ae4}a\0aaA¡"));
    let style = Style { width: 0, colour: true, unicode: false, all: true, ..Style::plain() };
    assert_fits(&terminal::diagnostic(&d, &s, &style), style.columns());
}

#[test]
fn a_label_at_a_lines_end_behind_one_on_a_wide_character_fits() {
    let s = sources(&[("a.md", "éトa-\u{301}\u{301}🍅\rトa0 0🍅ト\r00aa🍅0\raé  🍅a0éaトaト")]);
    let label = |start: u32, end: u32, text: &str| Label {
        loc: Loc::new(FileId(0), Span { start, end }),
        text: text.into(),
    };
    let long = "¡¡\u{fbd}0 ¡\u{3fffe}000A¡\u{b} \u{3fffe}¡a\u{b}\u{3fffe}a0®\u{e000} a\u{e000}\u{3fffe}a®\0\u{3fffe}\u{3fffe}\0\u{3fffe}0\u{3fffe}0\u{3fffe}A¡A0\u{3fffe}";
    let mut d = Diagnostic::new("", Severity::Warn, "").remark(RemarkKind::Next, "");
    d.primary = Some(label(62, 0, long));
    d.secondary = vec![label(59, 0, ""), label(59, 62, "¡")];
    let style = Style { width: 0, unicode: false, all: true, ..Style::plain() };
    assert_fits(&terminal::diagnostic(&d, &s, &style), style.columns());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20000))]
    #[test]
    fn nothing_is_wider_than_asked_and_nothing_panics(
        text in "[-a-z 0-9é🍅ト\u{301}\t\n\r]{0,200}",
        spans in prop::collection::vec((0usize..260, 0usize..260, 0u32..3, ".{0,60}"), 0..7),
        message in ".{0,120}",
        code in "[a-z-]{0,50}",
        width in 0usize..130,
        colour: bool,
        unicode: bool,
        all: bool,
        hint: bool,
    ) {
        let s = sources(&[("a.md", &text), ("a/very/long/path/to/a/file/that/will/not/fit/in/the/box.md", MAY)]);
        let mut d = Diagnostic::new(&code, if hint { Severity::Hint } else { Severity::Warn }, message.clone()).remark(RemarkKind::Next, message);
        for (start, end, file, words) in spans {
            let label = Label { loc: Loc::new(FileId(file), Span { start: start as u32, end: end as u32 }), text: words };
            if d.primary.is_none() { d.primary = Some(label) } else { d.secondary.push(label) }
        }
        let style = Style { width, colour, unicode, all, ..Style::plain() };
        assert_fits(&terminal::diagnostic(&d, &s, &style), style.columns());
    }
}
