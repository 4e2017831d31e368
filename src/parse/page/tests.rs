//! A page's parts end up where they belong, and no text makes the reading fail.

use proptest::prelude::*;

use super::*;

fn page(path: &str, text: &str) -> (Page, Vec<Diagnostic>) {
    let (page, faults) = parse(FileId(0), path, text);
    (page.expect("a title"), faults)
}

const WHOLE: &str = r#"# overdue-loan
Severity: warn
Folds: lost-book about the same book, odd-day about the same book

## What it notices
A book that is out too long.

## Why it matters
Others wait.

## Rules
Two sentences and a rule:

```sentences
{book} is overdue since {day:date}
{book} may be kept for
  {n:duration}
```

```rule
if   {book} was lent to {who} on {day}  (here)
and  {due} is {day} + 14 days
and  no {book} came back on {back},
     with {back} is on or after {day}
then {book} is overdue since {due}

if   {book} is overdue since {day}
then warn about {book}: "{book} is overdue"
```

Each row says: "{shelf mark} is a shelf" "{each also} is another name for {shelf mark}"

| Shelf mark | also |
|---|---|
| a 1 | one, two |
| b 2 | |

## What to do
Ask.

## Must fire
### a book out for a month
```journal
today: 2026-04-04
## 2026-03-01
- lent dune to ann
```
```expect
warn overdue-loan about book dune
```
## Must stay silent
### a book back in time
```journal
## 2026-03-01
- lent dune to ann
```
## Limits
None.
## Sources
Our judgement.
"#;

#[test]
fn a_whole_page_is_read_without_a_word() {
    let (page, faults) = page("rules/pages/overdue-loan.md", WHOLE);
    assert_eq!(faults, []);
    assert_eq!(&*page.code, "overdue-loan");
    assert_eq!(page.kind, PageKind::Rule);
    assert_eq!(page.severity, Some(Severity::Warn));
    assert_eq!(page.folds.len(), 2);
    assert_eq!(page.declarations.len(), 2);
    assert_eq!(page.rules.len(), 2);
    assert_eq!(page.rules[0].lines.len(), 4);
    assert!(page.rules[0].lines[2].text.contains("with {back}"));
    let table = &page.tables[0];
    assert_eq!(table.says.len(), 2);
    assert_eq!(&*table.columns[0].text, "shelf mark");
    assert_eq!(table.rows.len(), 2);
    let example = &page.examples[0];
    assert_eq!(example.today.as_ref().map(|t| &*t.text), Some("2026-04-04"));
    assert_eq!(&*example.journal.text, "## 2026-03-01\n- lent dune to ann\n");
    assert_eq!(example.expected.len(), 1);
    assert!(!page.examples[1].must_fire);
    let why = page.sections.iter().find(|s| &*s.heading.text == "Why it matters");
    assert_eq!(why.map(|s| &*s.prose.text), Some("Others wait."));
}

#[test]
fn every_passage_stands_where_its_place_says() {
    let (page, _) = page("rules/pages/overdue-loan.md", WHOLE);
    let mut passages: Vec<&Passage> = page.declarations.iter().map(|d| &d.line).collect();
    passages.extend(page.rules.iter().flat_map(|r| &r.lines));
    passages.extend(page.tables.iter().flat_map(|t| t.says.iter().chain(t.rows.iter().flatten())));
    passages.extend(page.examples.iter().flat_map(|e| e.expected.iter().chain(&e.today)));
    passages.extend(&page.folds);
    assert!(passages.len() >= 15);
    for p in passages {
        assert_eq!(&WHOLE[p.loc.span.range()], &*p.text);
    }
}

#[test]
fn a_missing_heading_is_named_and_a_line_to_write_is_given() {
    let text = WHOLE.replace("## Limits\nNone.\n", "");
    let (_, faults) = page("rules/pages/overdue-loan.md", &text);
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].message, "`overdue-loan` lacks the heading “Limits”.");
    assert_eq!(faults[0].remarks[0].text, "## Limits");
}

#[test]
fn a_page_of_tables_goes_by_its_file_and_needs_no_headings() {
    let text = "# Where books stand\n\nWords.\n\n```sentences\n{book} stands on {shelf}\n```\n";
    let (page, faults) = page("rules/vocabulary/shelves.md", text);
    assert_eq!(faults, []);
    assert_eq!(&*page.code, "shelves");
    assert_eq!(page.kind, PageKind::Tables);
}

#[test]
fn line_breaks_of_another_system_change_nothing() {
    let (page, faults) = page("rules/pages/overdue-loan.md", &WHOLE.replace('\n', "\r\n"));
    assert_eq!(faults, []);
    assert_eq!(page.rules.len(), 2);
    assert_eq!(&*page.examples[0].journal.text, "## 2026-03-01\n- lent dune to ann\n");
}

#[test]
fn a_page_barely_begun_is_told_of() {
    let (_, faults) = page("rules/mine.md", "# overdue-loan\n\nhello\n");
    assert_eq!(faults.len(), 1);
    assert!(faults[0].message.starts_with("Nothing on this page is read"), "{}", faults[0].message);
}

#[test]
fn a_rule_page_outside_the_known_folders_is_one_without_its_severity_too() {
    let text = WHOLE.replace("Severity: warn\n", "");
    let (page, faults) = page("rules/mine.md", &text);
    assert_eq!((page.kind, &*page.code), (PageKind::Rule, "overdue-loan"));
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].message, "`overdue-loan` does not say how pressing it is.");
    let bare = "# late\n\n```rule\nif {book} is late\nthen warn about {book}: \"late\"\n```\n";
    assert_eq!(super::parse(FileId(0), "rules/mine.md", bare).0.map(|p| p.kind), Some(PageKind::Rule));
}

#[test]
fn a_fence_left_open_is_the_only_thing_said() {
    let text = WHOLE.replacen(
        "then warn about {book}: \"{book} is overdue\"\n```",
        "then warn about {book}: \"x\"",
        1,
    );
    let (page, faults) = parse(FileId(0), "rules/pages/overdue-loan.md", &text);
    assert!(page.is_none());
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert_eq!(faults[0].primary.as_ref().map(|l| &text[l.loc.span.range()]), Some("```"));
}

proptest! {
    #[test]
    fn no_text_makes_the_reading_fail(text in "\\PC{0,300}") {
        let _ = parse(FileId(0), "rules/pages/x.md", &text);
    }

    #[test]
    fn no_mangled_page_makes_the_reading_fail(cut in 0..WHOLE.len(), put in "[#`|\"\\n{}: -]{0,6}", drop in 0usize..40) {
        let mut text = WHOLE.to_owned();
        let end = (cut + drop).min(text.len());
        text.replace_range(cut..end, &put);
        let (page, faults) = parse(FileId(0), "rules/pages/x.md", &text);
        for p in page.iter().flat_map(|p| p.rules.iter().flat_map(|r| &r.lines)) {
            prop_assert!(text.get(p.loc.span.range()).is_some());
        }
        for f in faults {
            if let Some(at) = f.primary {
                prop_assert!(text.get(at.loc.span.range()).is_some());
            }
        }
    }
}
