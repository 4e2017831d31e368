//! Every slip an author of a page can make, with the message beside it.

use crate::world::{beside, compile, page, told};

macro_rules! said {
    ($($name:ident: $text:literal)*) => {$(
        #[test]
        fn $name() {
            crate::world::snapshot(stringify!($name), &beside($text));
        }
    )*};
}

said! {
    an_unknown_sentence_is_answered_with_the_nearest: r#"
```rule
if   {book} was lend to {who} on {day}  (here)
and  {book} smells of {smell}
then warn about {book}: "x"
```
"#
    a_variable_that_nothing_binds: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {back} is after {day}
and  {due} is {start} + 3 days
then warn about {book} and {shelf}: "x"
```
"#
    a_name_shared_by_two_absences: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  no {book} came back on {back}
and  no {book} was seen on {} on {back}
then warn about {book}: "x"
```
"#
    values_of_the_wrong_sort: r#"
```rule
if   {book} was lent to {who} on soon  (here)
and  {shelf} was 3 lb warm on {day}
and  {n} pages of {book} were read by 3/4/26
then warn about {book}: "x"

if   {book} was lent to {day} on {day}  (here)
then warn about {book}: "x"

if   {book} was lent to war and peace on {day}  (here)
then warn about {book}: "x"

if   5 books was lent to {who} on {day}  (here)
then warn about {who}: "x"
```
"#
    sides_that_do_not_go_together: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {day} is at least 3 lb
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {book} is less than {who}
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {due} is {day} + 3 in
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {day} is within 3 in after 2026-03-01
then warn about {book}: "x"
```
"#
    months_and_years_are_refused: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {due} is {day} + 3 months
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {day} is within 1 year after 2026-03-01
then warn about {book}: "x"
```
"#
    about_is_no_word_for_a_page: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {n} pages of {book} were read by {day}
and  {n} is at least about 300
then warn about {book}: "x"
```
"#
    a_condition_nothing_can_meet: r#"
```sentences
{book} is lost
{book} is gone
{book} is away
```

```rule
if   {book} was lent to {who} on {day}  (here)
and  {book} is lost
then warn about {book}: "x"

if   {book} is away
then {book} is gone

if   {book} is gone
then {book} is away
```
"#
    a_word_no_table_ever_says: r#"
```sentences
{book} belongs to {shelf}
{book} weighs {w:mass}
```

Each row says: "{book} belongs to {shelf}" "{book} weighs {w}"

| book | shelf | w |
|---|---|---|
| dune | poetry | 1 lb |
| emma | travel | 2 lb |

```rule
if   {book} belongs to potry
and  {book} was lent to {} on {} (here)
and  no {book} belongs to cellar
and  no {book} weighs 1 lb
then warn about {book}: "x"
```
"#
    a_plan_is_no_evidence: r#"
```sentences
{book} will be out
```
```sentences reckon ways
{book} is meant to reach {reader} on {day:date}
```

```rule
if   {book} was lent to {who} on {day} (planned)
then {book} will be out

if   {book} will be out
and  {book} was lent to {who} on {} (done or planned)
and  {book} is meant to reach {who} on {}
then answer "who has it" in outbreak {who}: "a reader"
```
"#
    a_plan_closes_nothing: r#"
```sentences
{book} is out on {day:date}
```

```rule
if   {book} was lent to {who} on {day} (done or planned)
then {book} is out on {day}

if   {book} was lent to {who} on {day}
then do look for {book} since {day}, by {day} + 3 days, until {book} is out on {}
```
"#
    silence_is_no_answer: r#"
```sentences
{shelf} was in view
```

```rule
if   {book} was lent to {who} on {}
and  no {book} was seen on {} on {}
then answer "where is it" in outbreak {who}: "nowhere"

if   {shelf} was looked at on {}
then {shelf} was in view

if   {shelf} was in view
and  no dune was seen on {shelf} on {}
then answer "where is it" in outbreak {shelf}: "not here"
```
"#
    marks_of_the_line_to_point_at: r#"
```sentences
{book} is out
```

```rule
if   {book} was lent to {who} on {day}
then warn about {book}: "no mark"

if   {book} was lent to {who} on {day} (here)
and  {book} came back on {back} (here)
then warn about {book}: "two marks"

if   {book} was lent to {who} on {day} (here)
then {book} is out

if   {book} is out (here)
and  no {book} came back on {} (here)
then warn about {book}: "marks where no entry is"
```
"#
    tags_that_say_nothing: r#"
```sentences
{book} is out
```

```rule
if   {book} was lent to {who} on {day} (hear)
then {book} is out

if   {book} is out (planned)
and  {book} was lent to {who} on {day} (here)
then warn about {book}: "x"

if   {book} was lent to {who} on {day} (here)
and  {day} is after 2026-03-01 (planned)
then warn about {book}: "x"

if   {book} was lent to {who} on {day}
then {book} is out (planned)
```
"#
    messages_speak_of_what_they_are_about: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
then warn about {book}: "{book} went to {who}"

if   {book} was lent to {who} on {day}  (here)
then warn about {book}: "{book went"
```
"#
    heads_of_the_wrong_shape: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
then warn {book}: "x"

if   {book} was lent to {who} on {day}  (here)
then warn about dune: "x"

if   {book} was lent to {who} on {day}
then do look for {book} by {day}

if   {book} was lent to {who} on {day}
then answer "who has it": "a reader"

if   {book} was lent to {who} on {day}
then caution: "x"
```
"#
    days_of_an_action: r#"
```rule
if   {book} was lent to {who} on {day}
then do look for {book} since {who}, by {day} + 3 days

if   {book} was lent to {who} on {day}
then do look for {book} since {day}, by {day} + 3 days, until {book} came back on {day}

if   {book} was lent to {who} on {day}
then do look for {book} since {day}, by {day} + 3 days, until {book} was seen on {who} on {}

if   {book} was lent to {who} on {day}
then do look for {book} since {day}, by {day} + 3 days, until {book} came back on 2026-03-01
```
"#
    conclusions_the_journal_or_a_reckoner_owns: r#"
```sentences reckon ways
{book} reached {reader} on {day:date}
```
```sentences
{book} is out since {day:date}
```

```rule
if   {book} was lent to {who} on {day}
then {book} came back on {day}

if   {book} was lent to {who} on {day}
then {book} reached {who} on {day}

if   {book} was lent to {who} on {day}
then today is {day}

if   {book} was lent to {who} on {day}
then {book} is out since {}
```
"#
    no_within_no: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  no no {book} came back on {}
and  {n} is how many different {x} such that no {x} came back on {}
then warn about {book}: "x"
```
"#
    counts_gone_wrong: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {n} is how many different {x} such that {book} came back on {}
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {n} is how many different {who} such that {book} was lent to {who} on {}
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {n} is the total {x} such that {x} came back on {}
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {n} is the latest {x} such that {x} came back on {}
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)
and  {n} is how many {x} such that {x} came back on {}
then warn about {book}: "x"
```
"#
    lines_that_wait_for_each_other: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {a} is {b} + 1 day
and  {b} is {a} + 1 day
then warn about {book}: "x"
```
"#
    lines_that_cannot_be_read: r#"
```rule
if   {book was lent to {who} on {day}  (here)
and  {book} was "lent to {who} on {day}
and
then warn about {book}: "x"
```
"#
    rules_without_a_beginning_or_an_end: r#"
```rule
and  {book} was lent to {who} on {day}  (here)
then warn about {book}: "x"

if   {book} was lent to {who} on {day}  (here)

if   {book} was lent to {who} on {day}  (here)
or   {book} came back on {day}
then warn about {book}: "x"
```
"#
    declarations_that_cannot_stand: r#"
```sentences
no {book} is here
{a} is {b}
{a} is at least {b}
{book} weighs {w:mas}
{book} lies on {book}
{} is here
warn {reader}
{book} is "very" old
{a} {b}
{book} is rare (only once)
{book} is rare (only one {shelf})
{n:number} {x} such that {y}
```
"#
    one_sentence_declared_in_two_ways: r#"
```sentences
{book} is due on {day:date}
{book} is due on {shelf}
{book} came back on {day:date}
{book} is kept by {reader}
{book} is kept by {person}
```
"#
    one_line_that_could_be_two_sentences: r#"
```sentences
{book} is kept by {reader}
{book} {state} kept by ann
```
"#
    reckoners_that_are_not_in_the_registry: r#"
```sentences reckon wayz
{book} reached {reader} on {day:date}
```
```sentences reckon ways
{book} reached {reader} at {time:clock}
```
```sentences count ways
{book} reached {reader} on {day:date}
```
"#
    tables_gone_wrong: r#"
```sentences
{book} has {n:number} pages
{book} is kept at {warmth:temperature}
{book} lies on {shelf}
```

Each row says: "{book} has {n} pages" "{book} is kept at {warmth}" "{book} lies on {shelff}" "{book} came back on {day}"

| book | n | warmth | shelf | colour |
|---|---|---|---|---|
| dune | many | 3 lb | a | red |
| emma | 3 ft | 60 | | |

Each row says: "{book} lays on {shelf}"

| book | shelf |
|---|---|
| dune | a |

Each row says: "today is {day}"

| day |
|---|
| 2026-03-01 |

Each row says: "{book} lies on {shelf}"

No table here.

Each row says: nothing in quotes

| book | shelf |
|---|---|
| dune | a |
"#
}

#[test]
fn pages_out_of_shape() {
    let c = compile(&[
        ("pages/a.md", "# Overdue Loan\n\n## What it notices\nx\n"),
        ("pages/b.md", "# b\nSeverity: warm\n\n```rule\n```\n"),
        ("pages/c.md", "Words without a title.\n"),
    ]);
    crate::world::snapshot("pages_out_of_shape", &told(&c));
}

#[test]
fn codes_used_twice_and_folded_in_rings() {
    let with = |front: &str| {
        page("```rule\nif   {book} was lent to {who} on {day} (here)\nthen warn about {book}: \"x\"\n```")
            .replace("# overdue-loan\nSeverity: warn\n", front)
    };
    let c = compile(&[
        ("pages/a.md", &with("# a\nSeverity: warn\nFolds: b about the same book\n")),
        ("pages/b.md", &with("# b\nSeverity: warn\nFolds: c about the same book, a about the same book\n")),
        (
            "pages/c.md",
            &with("# c\nSeverity: warn\nFolds: a about the same book, d about the same book, b\n"),
        ),
        ("pages/e/c.md", &with("# c\nSeverity: hint\n")),
    ]);
    crate::world::snapshot("codes_used_twice_and_folded_in_rings", &told(&c));
}

#[test]
fn a_page_of_the_farm_takes_the_place_of_a_built_in_one() {
    let text = |word: &str| {
        page(&format!(
            "```rule\nif   {{book}} was lent to {{who}} on {{day}} (here)\nthen warn about {{book}}: \"{word}\"\n```"
        ))
    };
    let c = compile(&[("pages/x.md", &text("theirs")), ("own/pages/y.md", &text("ours"))]);
    assert_eq!(told(&c), "nothing\n");
    assert_eq!(c.program.rules.len(), 1);
    assert!(crate::world::rules(&c.program).contains("ours"));
}

#[test]
fn a_bad_rule_costs_itself_and_no_other() {
    let c = crate::world::snippet(
        "```sentences\n{book} is late\n```\n```rule\nif   {book} was lent to {who} on {day}\nand  {book} smells\nthen {book} is late\n\nif   {book} is late\nand  {book} was lent to {} on {} (here)\nthen warn about {book}: \"x\"\n```",
    );
    assert_eq!(c.said.len(), 1, "{}", told(&c));
    assert_eq!(c.program.rules.len(), 1);
}
