//! A farm's own pages beside the built-in ones: added, or in their place.

use crate::world::{compile, page, told};

const SHELVES: &str = "# Shelves\n\n```sentences\n{shelf} stands in the hall\n{book} was kept\n```\n\nEach row says: \"{shelf} stands in the hall\"\n\n| Shelf |\n|---|\n| a1 |\n";
const KEPT: &str = "```rule\nif   {book} was lent to {} on {}\nthen {book} was kept\n\nif   {book} was lent to {} on {}  (here)\nthen warn about {book}: \"x\"\n```";

fn reader(code: &str) -> String {
    let rule = "```rule\nif   {book} was lent to {} on {}  (here)\nand  {book} was kept\nthen warn about {book}: \"y\"\n```";
    page(rule).replace("overdue-loan", code)
}

#[test]
fn rows_of_a_page_of_tables_are_added_to_the_built_in_ones() {
    let own = "# shelves\n\nEach row says: \"{shelf} stands in the hall\"\n\n| Shelf |\n|---|\n| b2 |\n";
    let shelves = ("rules/vocabulary/shelves.md", SHELVES);
    let (kept, whole) = (page(KEPT), "rules/pages/overdue-loan.md");
    let both = compile(&[shelves, (whole, &kept), ("own/rules/shelves.md", own)]);
    assert_eq!(told(&both), "nothing\n");
    assert_eq!(both.program.facts.len(), 2);
    let instead = compile(&[shelves, (whole, &kept), ("own/rules/vocabulary/shelves.md", own)]);
    assert_eq!(instead.program.facts.len(), 1);
}

#[test]
fn a_page_of_tables_never_takes_the_place_of_a_rule_page() {
    let own = "# overdue-loan\n\nEach row says: \"{shelf} stands in the hall\"\n\n| Shelf |\n|---|\n| b2 |\n";
    let kept = page(KEPT);
    let both = compile(&[
        ("rules/vocabulary/shelves.md", SHELVES),
        ("rules/pages/overdue-loan.md", &kept),
        ("own/rules/overdue-loan.md", own),
    ]);
    assert_eq!(told(&both), "nothing\n");
    assert_eq!(both.program.rules.len(), 2);
}

#[test]
fn what_a_replaced_page_said_and_others_read_is_told_once_on_the_page_in_its_place() {
    let (kept, first, second) = (page(KEPT), reader("first-reader"), reader("second-reader"));
    let declared = page(&format!("```sentences\n{{book}} was kept\n```\n\n{KEPT}"));
    let mute = page("```rule\nif   {book} was lent to {} on {}  (here)\nthen warn about {book}: \"x\"\n```");
    for (vocabulary, built_in) in
        [(SHELVES, &kept), ("# s\n\n```sentences\n{shelf} stands in the hall\n```\n", &declared)]
    {
        let pages = [
            ("rules/vocabulary/shelves.md", vocabulary),
            ("rules/pages/overdue-loan.md", built_in.as_str()),
            ("rules/pages/first-reader.md", &first),
            ("rules/pages/second-reader.md", &second),
            ("own/rules/pages/overdue-loan.md", &mute),
        ];
        let told = compile(&pages);
        let codes: Vec<&str> = told.said.iter().map(|d| &*d.code).collect();
        assert_eq!(codes, ["left-unsaid"], "{:#?}", told.said);
        assert!(
            told.said[0]
                .remarks
                .iter()
                .any(|r| { r.text == "`{book} was kept`, read by `first-reader`, `second-reader`" })
        );
        let file = told.said[0].primary.as_ref().map(|l| told.sources.file(l.loc.file).path.to_string());
        assert_eq!(file.as_deref(), Some("own/rules/pages/overdue-loan.md"));
    }
}
