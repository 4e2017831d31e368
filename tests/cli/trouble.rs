//! What goes wrong says so, and the rest goes on.

use std::{
    io::{BufRead, BufReader},
    process::Stdio,
};

use crate::grower::{Notes, command};

#[test]
fn what_cannot_be_understood_is_usage_and_exits_2() {
    let notes = Notes::with(&[]);
    notes.haulm(&[]).ended(2);
    notes.haulm(&["chekc"]).ended(2).complains("check");
    notes.haulm(&["check", "--today", "4/4/26"]).ended(2).complains("such as 2026-04-04");
    notes.haulm(&["check", "--today", "2026-02-30"]).ended(2);
    notes.haulm(&["check", "--format", "xml"]).ended(2).complains("json");
    notes.haulm(&["why", "nobody"]).ended(2).complains("nothing is called `nobody`");
    notes.haulm(&["trace", "nobody"]).ended(2).complains("nothing is called `nobody`");
}

#[test]
fn unreadable_files_are_named_and_the_rest_is_checked() {
    let notes = Notes::with(&[("good.md", "## 3/4/26\n\n- rained 12 mm\n")]);
    notes.save("latin.md", b"caf\xe9\n");
    notes.haulm(&["check"]).ended(2).says("`latin.md` was left out: line 1 is not UTF-8 text").says("3/4/26");
    notes.haulm(&["check", "nowhere"]).ended(2).says("`nowhere` was left out: there is no such file.");
}

#[test]
fn an_empty_folder_and_prose_alone_have_nothing_to_report_and_say_why() {
    let notes = Notes::with(&[("prose/README.md", "# A project\n\n- do the dishes\n- read the manual\n")]);
    std::fs::create_dir(notes.at("empty")).expect("a folder");
    notes
        .haulm(&["check", "empty", "--threshold", "hint"])
        .ended(0)
        .says("No journal was read")
        .says_nothing_of("nothing to report");
    notes.haulm(&["check", "prose"]).ended(0).says("No entry was read");
    notes.haulm_reading(&["check", "-", "--threshold", "hint"], "").ended(0);
}

#[test]
fn what_is_said_of_a_file_is_not_said_again_as_there_being_nothing() {
    let notes = Notes::with(&[("spring.md", "## 2026-03-14\n\n- spread on north-1\n")]);
    notes.save("wide.md", b"\xff\xfe#\0");
    notes.haulm(&["check", "wide.md"]).ended(2).says("UTF-16").says_nothing_of("No journal was read");
    notes.haulm(&["check", "spring.md"]).ended(1).says("error").says_nothing_of("No entry was read");
    notes.save("rules/crops.md", "# crops\n");
    notes.haulm(&["check", "nowhere"]).ended(2).says_nothing_of("haulm new");
}

#[test]
fn odd_texts_do_not_stop_a_check() {
    let bom_and_crlf = "\u{feff}# Notes\r\n\r\n## 2026-03-14\r\n\r\n- rained 12 mm\r\n";
    let one_long_line = "x".repeat(1 << 20);
    let notes = Notes::with(&[
        ("a.md", bom_and_crlf),
        ("b.md", &one_long_line),
        ("c.md", "## 2026-03-14\n- \u{0}\u{1b}[31m\n- 🍅🍅🍅 é\u{301}\n- note: ok"),
        ("d.md", "- [ ] \n-\n*\n##\n## \n``` \n- note: in a fence"),
    ]);
    let answer = notes.haulm(&["check", "--all"]);
    assert!(answer.code < 2, "{}{}", answer.out, answer.err);
    assert!(!answer.out.contains('\u{1b}'), "control characters are not passed on");
}

#[test]
fn a_folder_with_thousands_of_files_is_read_whole() {
    let notes = Notes::with(&[]);
    for n in 0..3000 {
        notes.save(&format!("{:02}/{n}.md", n % 50), "Only prose.\n");
    }
    notes.save("49/last.md", "## 3/4/26\n\n- rained 12 mm\n");
    notes.haulm(&["check"]).ended(1).says("49/last.md");
}

#[test]
fn a_reader_that_has_seen_enough_ends_the_program_quietly() {
    let notes = Notes::with(&[]);
    for args in
        [vec!["words"], vec!["man"], vec!["completions", "zsh"], vec!["rules", "list"], vec!["--help"]]
    {
        let mut child = command(notes.path(), &args)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        // Closed before anything is written: the first write meets a broken pipe.
        drop(child.stdout.take());
        let done = child.wait_with_output().expect("the program ends");
        assert_eq!(String::from_utf8_lossy(&done.stderr), "", "{args:?}");
        assert!(done.status.code().is_some_and(|c| c < 2), "{args:?} ended {:?}", done.status);
    }
}

#[test]
fn a_watch_whose_reader_goes_away_ends_at_its_next_word() {
    let notes = Notes::with(&[("a.md", "Prose.\n")]);
    let mut child = command(notes.path(), &["watch"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut lines = BufReader::new(child.stdout.take().expect("an output")).lines();
    let told = lines.by_ref().map_while(Result::ok).any(|l| l.contains("Watching"));
    assert!(told);
    drop(lines);
    notes.save("a.md", "## 3/4/26\n\n- rained 12 mm\n");
    let done = child.wait_with_output().expect("the program ends");
    assert_eq!((done.status.code(), String::from_utf8_lossy(&done.stderr).as_ref()), (Some(0), ""));
}
