//! What is said about lines that do not read, beside the lines.

use crate::written::beside;

#[test]
fn each_slip_is_met_with_what_was_read_what_is_missing_and_a_right_line() {
    insta::assert_snapshot!(beside(include_str!("messages.md")));
}
