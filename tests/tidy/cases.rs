//! Lines before and after.

use crate::{check, tidy};

const HEAD: &str = "\
## The place
- bed north-1, 30 ft x 4 ft
- bed north-2, 30 ft x 4 ft

## 2026-03-14
- received 6 yd3 compost as lot a from Pask & Sons
";

/// What lines under a day become.
fn tidied(lines: &str) -> String {
    let text = format!("{HEAD}\n{lines}");
    let out = tidy(&check(&text));
    out.strip_prefix(&format!("{HEAD}\n")).expect("the tidy head stays as it is").to_owned()
}

fn holds(lines: &str, tidy: &str) {
    assert_eq!(tidied(lines), tidy);
}

fn stays(lines: &str) {
    holds(lines, lines);
}

#[test]
fn spaces_within_an_entry_are_single() {
    holds("- spread  lot a \t on north-1 ,3 in  deep\n", "- spread lot a on north-1, 3 in deep\n");
    holds(
        "- watered north-1 and north-2  ,  20 l ; at 10:20 \n",
        "- watered north-1 and north-2, 20 l; at 10:20\n",
    );
}

#[test]
fn quotes_remarks_and_free_words_keep_every_byte() {
    stays("- watered north-1 (the  wet   end): it was  dry , very\n");
    stays("- note  the lorry  came , early\n");
    holds(
        "- sowed  6 tomato  \"Black   Krim\" in north-1\n",
        "- sowed 6 tomato \"Black   Krim\" in north-1\n",
    );
    holds("- watered north-1 :  so  dry\n", "- watered north-1 :  so  dry\n");
}

#[test]
fn a_comma_within_a_name_stays_close() {
    stays("- sprayed 2,4-D on north-1\n");
    holds("- sprayed  2,4-D on north-1\n", "- sprayed 2,4-D on north-1\n");
}

#[test]
fn markers_of_a_list_of_entries_are_hyphens() {
    holds("* watered north-1\n* watered north-2\n", "- watered north-1\n- watered north-2\n");
    holds("\u{2022} watered north-1\n\u{2013}  watered north-2\n", "- watered north-1\n- watered north-2\n");
    holds("1.  watered north-1\n2. watered north-2\n", "1. watered north-1\n2. watered north-2\n");
}

#[test]
fn a_list_with_prose_in_it_keeps_its_markers() {
    stays("* watered north-1\n* slept badly\n");
    holds("* watered  north-1\n* slept  badly\n", "* watered north-1\n* slept  badly\n");
    holds(
        "* watered north-1\n  * slept badly\n* watered north-2\n",
        "- watered north-1\n  * slept badly\n- watered north-2\n",
    );
}

#[test]
fn boxes_have_one_form() {
    holds(
        "- []  water north-1\n- [X] water north-2\n-  [ ] water north-1\n[ ] water north-2\n",
        "- [ ] water north-1\n- [x] water north-2\n- [ ] water north-1\n- [ ] water north-2\n",
    );
}

#[test]
fn lines_that_go_on_stand_under_the_text() {
    holds(
        "- spread lot a\n       on north-1,\n\t3 in deep\n",
        "- spread lot a\n  on north-1,\n  3 in deep\n",
    );
    holds("10. spread lot a\n  on north-1\n", "10. spread lot a\n    on north-1\n");
    // Two spaces at the end of a line break it in Markdown.
    stays("- spread lot a  \n  on north-1\n");
    // Further to the left it would be a heading.
    stays("- spread lot a on north-1\n      # 3 in deep\n");
}

#[test]
fn what_is_nested_keeps_its_place() {
    stays("-   watered north-1\n    - slept badly\n");
    stays("-   watered north-1\n\n        let it = code\n");
}

#[test]
fn what_is_no_entry_or_could_not_be_read_stays_byte_for_byte() {
    let prose = "It  rained ,all day.  \n\n* pulled  a muscle\n* gave  up\n\n| a |  b |\n|---|----|\n\n```\n*  watered  north-1\n```\n\n\
                 > *  watered  north-1\n\n    *  watered  north-1\n\n<!--\n*  watered  north-1\n-->\n";
    stays(prose);
    // Where it was spread is missing.
    stays("*  spread  lot a\n");
}

#[test]
fn days_in_figures_have_one_form_and_days_in_words_stay() {
    holds(
        "##2026-3-9 Monday:  windy\n- watered north-1\n",
        "## 2026-03-09 Monday:  windy\n- watered north-1\n",
    );
    holds("##   2026\u{2013}03\u{2013}09\n", "## 2026-03-09\n");
    holds("## about 2026-3-9\n", "## about 2026-03-09\n");
    holds("## 2026-3-9 to 2026-3-11\n", "## 2026-03-09 to 2026-03-11\n");
    stays("##  9 March 2026\n");
    stays("## 3/4/26\n- watered north-1\n");
    stays("##  Notes on 2026-3-9\n");
    stays("2026-03-09\n----------\n");
}

#[test]
fn line_endings_a_byte_order_mark_and_a_missing_last_line_break_stay() {
    let text = "\u{feff}## 2026-03-14\r\n*  watered  north-1\r\n\r\nprose  \r\n- bed  north-1";
    let tidied = "\u{feff}## 2026-03-14\r\n- watered north-1\r\n\r\nprose  \r\n- bed north-1";
    assert_eq!(tidy(&check(text)), tidied);
}

#[test]
fn a_text_that_is_all_front_matter_or_nothing_stays() {
    for text in ["", "\n", "---\ntitle:  x\n---\n", "\u{feff}"] {
        assert_eq!(tidy(&check(text)), text);
    }
}
