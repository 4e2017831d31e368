//! Lines as growers scribble them, each beside what is read from it.

use crate::written::beside;

#[test]
fn scribbled_lines_read_as_they_are_meant() {
    insta::assert_snapshot!(beside(include_str!("scraps.md")));
}
