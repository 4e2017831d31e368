//! Lines as growers scribble them, each beside what is read from it, and prose that stays prose.

use crate::written::{beside, read};

#[test]
fn scribbled_lines_read_as_they_are_meant() {
    insta::assert_snapshot!(beside(include_str!("scraps.md")));
}

#[test]
fn each_turn_of_the_language_reads_as_it_is_defined() {
    insta::assert_snapshot!(beside(include_str!("exact.md")));
}

#[test]
fn prose_stays_silent() {
    let (file, reading) = read(include_str!("prose.md"));
    assert_eq!(reading.entries(), []);
    let said: Vec<_> = file.diagnostics.iter().chain(&reading.diagnostics).map(|d| &d.message).collect();
    assert!(said.is_empty(), "{said:#?}");
}

#[test]
fn other_ways_to_put_it_read_alike() {
    insta::assert_snapshot!(beside(include_str!("everyday.md")));
}

#[test]
fn what_a_newcomer_writes_is_read_or_met_with_a_right_line() {
    insta::assert_snapshot!(beside(include_str!("newcomer.md")));
}
