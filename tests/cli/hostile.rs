//! Folders and files no grower means to write: an answer within seconds, in plain words, and never a panic.

use std::time::{Duration, Instant};

use crate::grower::{Answer, Notes};

/// Far above what any of these takes, far below what a slip in the searching would.
const SECONDS: u64 = 30;

const HEAD: &str = "## The place\n- bed north-1, 30 ft x 4 ft\n\n## 2026-03-14\n";

/// A command that must come to an end by itself, with one of the three statuses.
fn soon(notes: &Notes, args: &[&str]) -> Answer {
    let started = Instant::now();
    let answer = notes.haulm(args);
    assert!(started.elapsed() < Duration::from_secs(SECONDS), "{args:?} took {:?}", started.elapsed());
    assert!((0..=2).contains(&answer.code), "{args:?} ended {}:\n{}", answer.code, answer.err);
    assert!(!answer.err.contains("panicked"), "{}", answer.err);
    answer
}

#[test]
fn one_line_of_ten_million_letters_is_one_message() {
    let long = format!("{HEAD}- spread {}\n", "lot tern-26 on north-1, ".repeat(420_000));
    let notes = Notes::with(&[("a.md", &long)]);
    let answer = soon(&notes, &["check"]).ended(1).says("overlong-entry");
    assert!(answer.out.len() < 2_000, "{} bytes", answer.out.len());
}

#[test]
fn a_file_of_zero_bytes_is_named() {
    let notes = Notes::with(&[("good.md", &format!("{HEAD}- planted 3 tomato in north-1\n"))]);
    notes.save("cut-short.md", [0; 100_000]);
    soon(&notes, &["check", "--format", "short"])
        .ended(2)
        .says("`cut-short.md` was left out: it holds nothing but zero bytes");
}

#[test]
fn amounts_without_measure_are_told_or_read() {
    let zeros = "0".repeat(400);
    let sizes = ["1e308", "1/0", "NaN", "inf", "-5", "0", "10-1", "1e308-1e309", "999999999999999999999999"];
    let mut text = HEAD.to_owned();
    for (n, size) in sizes.into_iter().chain([&*format!("1{zeros}")]).enumerate() {
        text += &format!(
            "- received {size} yd3 compost as lot l{n}\n- spread {size} yd3 of lot l{n} on north-1\n"
        );
    }
    let notes = Notes::with(&[("a.md", &text)]);
    for command in [&["check", "--all"][..], &["due"], &["trace", "l0"], &["why", "north-1", "--whole"]] {
        soon(&notes, command);
    }
}

#[test]
fn days_at_the_ends_of_the_calendar_are_days_or_are_told() {
    let days = [
        "0000-01-01",
        "0001-01-01",
        "9999-12-31",
        "10000-01-01",
        "99999999-01-01",
        "-2026-01-01",
        "2026-00-00",
        "262142-12-31",
        "week of 9999-12-31",
        "9999-12-31 to 13",
        "about 0000-01-01",
        "1 January 9999",
    ];
    let mut text = "## The place\n- bed north-1, 30 ft x 4 ft\n".to_owned();
    for day in days {
        text += &format!(
            "\n## {day}\n- received 2 yd3 compost as lot l1\n- planted 3 tomato in north-1 since {day}\n"
        );
    }
    let notes = Notes::with(&[("a.md", &text)]);
    for command in [&["check", "--all"][..], &["due", "--all"], &["why", "north-1", "--whole"]] {
        soon(&notes, command);
        soon(&notes, &[command, &["--today", "9999-12-31"]].concat());
        soon(&notes, &[command, &["--as-of", "0000-01-01"]].concat());
    }
}

#[test]
fn lists_within_lists_and_quotes_within_quotes_have_an_end() {
    let deep: String =
        (0..3_000).map(|n| format!("{}- planted 3 tomato in north-1\n", "  ".repeat(n))).collect();
    let quotes = format!("{}- planted 3 tomato in north-1\n", "> ".repeat(20_000));
    let marks = format!("{}planted 3 tomato in north-1\n", "- ".repeat(20_000));
    let stars = format!("- note: {}\n{}\n", "*".repeat(15_000), "[".repeat(20_000));
    let notes = Notes::with(&[
        ("a.md", &format!("{HEAD}{deep}")),
        ("b.md", &format!("## 2026-03-14\n{quotes}{marks}{stars}")),
    ]);
    soon(&notes, &["check", "--all"]);
}

#[test]
fn names_of_ten_thousand_letters_do_not_push_all_else_off_the_screen() {
    let name = "x".repeat(5_000);
    let many = "abc ".repeat(2_000);
    let text = format!(
        "## The place\n- bed {name}, 30 ft x 4 ft\n\n## 2026-03-14\n- planted 3 tomato in {}\n\
         - noticed cupped leaves on tomato in {many}\n",
        "y".repeat(5_000)
    );
    let notes = Notes::with(&[("a.md", &text)]);
    let answer = soon(&notes, &["check"]);
    assert!(answer.out.lines().count() < 200, "{} lines", answer.out.lines().count());
    soon(&notes, &["why", &name]);
    soon(&notes, &["why", "--not", &format!("bed {name} is a bed")]);
}

#[test]
fn marks_that_nobody_sees_part_no_name() {
    let text = "## The place\n- bed nor\u{200b}th-1, 30 ft x 4 ft\n- bed שלום, 3 ft x 4 ft\n\n## 2026-03-14\n\
                - planted 3 tomato in north-1\n- planted 3 tomato in שלום\n- planted 4 tomato in no\u{200d}rth-1\n\
                - planted 3 tomato in n\u{ad}orth-1\n- planted 5 tomato in \u{2067}north-1\u{2069}\n\
                - planted 5 tomato in \u{202e}north-1\u{202c}\n";
    let notes = Notes::with(&[("a.md", text)]);
    soon(&notes, &["check", "--today", "2026-03-20"]).ended(0).says_nothing_of("unknown-name");
}

#[cfg(unix)]
#[test]
fn links_in_circles_and_into_nothing_end() {
    let notes = Notes::with(&[("a.md", &format!("{HEAD}- planted 3 tomato in north-1\n"))]);
    std::os::unix::fs::symlink(".", notes.at("loop")).expect("a link");
    std::os::unix::fs::symlink("nothing", notes.at("dead.md")).expect("a link");
    soon(&notes, &["check"]).ended(2).says("`dead.md` was left out: it is a link that leads nowhere");
}

#[test]
fn rule_pages_of_any_size_and_shape_are_read_or_told() {
    let page = |rule: &str| {
        format!(
            "# odd\nSeverity: warn\n\n## What it notices\nX.\n\n```sentences\n{{a}} is odd to {{b}}\n```\n\n```rule\n{rule}\n```\n"
        )
    };
    let circle = page("if   {a} is odd to {b}\nand  no {b} is odd to {a}\nthen {b} is odd to {a}");
    let chain: String = (0..200).map(|n| format!("and  {{v{n}}} is odd to {{v{}}}\n", n + 1)).collect();
    let long = page(&format!("if   {{a}} is odd to {{v0}}\n{chain}then {{a}} is odd to {{v0}}"));
    let brackets = page(&format!("if   {} is odd to {{b}}\nthen {{b}} is odd to {{b}}", "(".repeat(20_000)));
    let text = page(&format!(
        "if   {} is odd to {{b}}\nthen {{b}} is odd to {{b}}",
        "(a+)+$|[^x]*{1,999}".repeat(2_000)
    ));
    let rows: String = (0..1_000).map(|n| format!("| a{n} | b{n} |\n")).collect();
    let table = format!(
        "# figures\n\n```sentences\n{{a}} goes with {{b}}\n```\n\nEach row says: \"{{a}} goes with {{b}}\"\n\n| a | b |\n|---|---|\n{rows}"
    );
    for (n, text) in [circle, long, brackets, text, table].into_iter().enumerate() {
        let notes = Notes::with(&[("a.md", HEAD), (&format!("rules/odd-{n}.md"), &text)]);
        soon(&notes, &["check"]);
        soon(&notes, &["rules", "list"]);
        soon(&notes, &["rules", "show", "odd"]);
    }
}

/// Ten words too many once took a minute, twenty took two and a half.
#[test]
fn a_long_question_is_answered_as_soon_as_a_short_one() {
    let notes = Notes::with(&[("a.md", &format!("{HEAD}- received 6 yd3 compost as lot tern-26\n"))]);
    for more in [0, 20, 150, 5_000] {
        let question = format!("lot tern-26 was spread on north-1 {}", "word ".repeat(more));
        soon(&notes, &["why", "--not", &question]).ended(2).complains("no page declares");
    }
    soon(&notes, &["why", "--not", "lot tern-26 was spread on north-1 on 2026-03-14"])
        .ended(0)
        .says("spread");
}

#[test]
fn an_entry_that_names_too_much_at_once_says_that_not_all_of_it_counts() {
    let list = |kind: &str| (0..70).map(|n| format!("{kind}{n}")).collect::<Vec<_>>().join(", ");
    let beds: String = (0..70).map(|n| format!("- bed b{n}\n")).collect();
    let lots: String = (0..70).map(|n| format!("- received 2 yd3 compost as lot l{n}\n")).collect();
    let text = format!("{beds}\n## 2026-03-14\n{lots}- spread {} on {}\n", list("lot l"), list("b"));
    let notes = Notes::with(&[("a.md", &text)]);
    soon(&notes, &["check", "--format", "short"])
        .ended(1)
        .says("overlong-entry")
        .says("not all of it is kept");
}
