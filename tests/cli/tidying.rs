//! `tidy` writes what it says, only when asked, and leaves everything else of a file alone.

use std::fs;

use crate::grower::Notes;

const UNTIDY: &str = "## 2026-3-14\r\n\r\nprose  here\r\n*  bed  north-1 , 30 ft x 4 ft \r\n* bed north-2";
const TIDY: &str = "## 2026-03-14\r\n\r\nprose  here\r\n- bed north-1, 30 ft x 4 ft\r\n- bed north-2";

#[test]
fn check_says_what_would_change_and_writes_nothing() {
    let notes = Notes::with(&[("a.md", UNTIDY), ("b.md", TIDY)]);
    let said = notes.haulm(&["tidy", "--check"]).ended(1).says("a.md:4\n").says("3 lines would change");
    assert!(said.out.contains(
        "  is       *  bed  north-1 , 30 ft x 4 ft\u{b7}\n  becomes  - bed north-1, 30 ft x 4 ft\n"
    ));
    assert!(!said.out.contains("b.md"), "{}", said.out);
    notes
        .haulm(&["tidy", "--check", "--format", "short"])
        .ended(1)
        .says("a.md:1:1: hint tidy: ## 2026-03-14\n");
    let json = notes.haulm(&["tidy", "--check", "--format", "json"]).ended(1).out;
    let value: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(value["written"], false);
    assert_eq!(value["lines"][2]["after"], "- bed north-2");
    assert_eq!(fs::read_to_string(notes.at("a.md")).expect("text"), UNTIDY);
}

#[test]
fn what_was_written_is_tidy_and_nothing_else_lies_about() {
    let notes = Notes::with(&[("sub/a.md", UNTIDY), ("b.md", TIDY), ("rules/own.md", "*  no  journal\n")]);
    notes.haulm(&["tidy"]).ended(0).says("sub/a.md: 3 lines tidied\n").says_nothing_of("b.md");
    assert_eq!(fs::read_to_string(notes.at("sub/a.md")).expect("text"), TIDY);
    assert_eq!(fs::read_to_string(notes.at("rules/own.md")).expect("text"), "*  no  journal\n");
    let names: Vec<_> =
        fs::read_dir(notes.at("sub")).expect("a folder").map(|e| e.expect("a file").file_name()).collect();
    assert_eq!(names, ["a.md"]);
    notes.haulm(&["tidy"]).ended(0).says("Nothing to tidy.");
    notes.haulm(&["tidy", "--check", "b.md", "sub"]).ended(0).says("Nothing to tidy.");
}

#[test]
fn a_text_may_be_piped_through() {
    let notes = Notes::with(&[]);
    assert_eq!(notes.haulm_reading(&["tidy", "-"], UNTIDY).ended(0).out, TIDY);
    assert_eq!(notes.haulm_reading(&["tidy", "-"], "It  rained.").ended(0).out, "It  rained.");
    notes.haulm_reading(&["tidy", "-", "--check"], UNTIDY).ended(1).says("-:4\n");
}

#[test]
fn what_cannot_be_read_is_told_and_the_rest_is_tidied() {
    let notes = Notes::with(&[("a.md", UNTIDY)]);
    notes.save("b.md", b"- caf\xe9\n");
    notes.haulm(&["tidy"]).ended(2).complains("`b.md` was left out").says("a.md: 3 lines tidied");
    notes.haulm(&["tidy", "away.md"]).ended(2).complains("there is no such file");
}

#[cfg(unix)]
#[test]
fn permissions_and_links_stay_and_a_file_not_to_be_written_is_left() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let notes = Notes::with(&[("real/a.txt", UNTIDY), ("b.md", UNTIDY), ("c.md", UNTIDY)]);
    symlink(notes.at("real/a.txt"), notes.at("a.md")).expect("a link");
    fs::set_permissions(notes.at("real/a.txt"), fs::Permissions::from_mode(0o640)).expect("permissions");
    fs::set_permissions(notes.at("c.md"), fs::Permissions::from_mode(0o444)).expect("permissions");
    notes.haulm(&["tidy"]).ended(2).complains("c.md could not be written and is as it was");
    assert!(fs::symlink_metadata(notes.at("a.md")).expect("it is there").is_symlink());
    assert_eq!(fs::read_to_string(notes.at("real/a.txt")).expect("text"), TIDY);
    let mode = fs::metadata(notes.at("real/a.txt")).expect("it is there").permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
    assert_eq!(fs::read_to_string(notes.at("b.md")).expect("text"), TIDY);
    assert_eq!(fs::read_to_string(notes.at("c.md")).expect("text"), UNTIDY);
}
