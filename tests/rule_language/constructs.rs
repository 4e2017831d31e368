//! Each construct with what it compiles to.

use crate::world::{rules, snippet, told};

macro_rules! compiles {
    ($($name:ident: $text:literal)*) => {$(
        #[test]
        fn $name() {
            let c = snippet($text);
            assert_eq!(told(&c), "nothing\n");
            crate::world::snapshot(stringify!($name), &format!("{}\n\n=====\n\n{}", $text.trim(), rules(&c.program)));
        }
    )*};
}

const SOUND: &str = r#"
```rule
if   {book} was lent to {who} on {day}  (here)
then warn about {book}: "{book} is out"
```
"#;

#[test]
fn a_page_with_one_rule_compiles_without_a_word() {
    assert_eq!(told(&snippet(SOUND)), "nothing\n");
}

compiles! {
    a_finding_points_at_the_line_marked_here_and_names_every_reader: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  {who} is a person
then warn about {book}: "{book} went to {every who}"
```
"#
    absence_keeps_its_own_names_to_itself: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
and  no {book} came back on {back}, with {back} is on or after {day}
     and {back} is before 2026-05-01
then alarm about {book} and {who}: "{who} still has {book}"
```
"#
    each_count_and_pick_gathers_over_names_of_its_own: r#"
```sentences
{reader} has had {n:number} books
{book} was first lent on {day:date}
```

```rule
if   {reader} is a person
and  {n} is how many different {x} such that {x} was lent to {reader} on {}
and  {m} is how many different {x} such that {x} came back on {}
and  {n} is more than {m}
then {reader} has had {n} books

if   {book} was lent to {} on {}
and  {d} is the earliest {day} such that {book} was lent to {} on {day}, with {day} is after 2026-01-01
then {book} was first lent on {d}

if   {reader} has had {n} books
and  {book} was first lent on {d}
and  {book} was lent to {reader} on {d}  (here)
and  {t} is the total {p} such that {p} pages of {book} were read by {}
and  {n} + {t} is at least 3
then hint about {reader}: "{reader} reads"
```
"#
    days_amounts_and_numbers_are_computed_with: r#"
```sentences
{book} is due on {day:date}
a page takes {time:duration}
```

Each row says: "a page takes {time}"

| time |
|---|
| 2 min |

```rule
if   {book} was lent to {who} on {day}
and  {n} pages of {book} were read by {seen}
and  a page takes {time}
and  {due} is {day} + 14 days
and  {left} is (300 - {n}) * {time}
and  {left} is less than 2 weeks
and  {seen} is within 9 days after {day}
and  {due} is more than 3 days before 2026-06-01
then {book} is due on {due}

if   {book} is due on {day}
and  {book} was lent to {} on {} (here)
and  {shelf} was {t} warm on {d}
and  {u} is {t} + 10 F
and  {u} may be at least 86 F
then hint about {book}: "due"
```
"#
    tags_choose_what_is_read_and_name_the_entry: r#"
```sentences
{book} is wanted by {reader} since {day:date}
```

```rule
if   {book} was lent to {reader} on {day} (planned) (entry {e})
and  {book} was lent to {other} on {} (done or planned) (entry {f})
and  {e} is not {f}
and  no {book} came back on {} (done or planned)
then {book} is wanted by {reader} since {day}

if   {book} is wanted by {} since {}
and  {book} was lent to {} on {} (done or planned) (here)
then hint about {book}: "wanted"
```
"#
    an_action_has_a_key_two_days_and_what_closes_it: r#"
```rule
if   {book} was lent to {who} on {day}  (here)
then do ask {who} kindly for {book} since {day} + 14 days, by {day} + 21 days,
     until {book} came back on {}
```
"#
    an_action_may_be_due_on_a_bound_day_and_never_be_closed: r#"
```rule
if   {book} was lent to {who} on {day}
and  {due} is {day} + 2 weeks
then do look for {book} since {day}, by {due}
```
"#
    an_answer_and_a_caution: r#"
```rule
if   {book} was lent to {who} on {day}
then answer "who has it" in outbreak {who} about {book}: "a reader"

if   {book} was lent to {who} on {}
then caution about {book}: "wash your hands before touching {book}, {every who} says"
```
"#
    a_constant_is_a_word_quoted_words_or_a_figure: r#"
```rule
if   "war and peace" was lent to ann on 2026-03-01
and  {book} was lent to 'bob the builder' on 1 March 2026  (here)
and  1,200 pages of {book} were read by {}
and  "red shelf" was -2-3 C warm on {}
then hint about {book}: "constants"
```
"#
    recursion_recombines_what_is_there: r#"
```sentences
{reader} is downstream of {other}
```

```rule
if   {book} was lent to {a} on {x}
and  {book} was lent to {b} on {y}
and  {y} is after {x}
then {b} is downstream of {a}

if   {b} is downstream of {a}
and  {c} is downstream of {b}
then {c} is downstream of {a}

if   {b} is downstream of {a}
and  {} was lent to {b} on {} (here)
then hint about {b}: "downstream"
```
"#
    a_reckoner_answers_its_sentences: r#"
```sentences reckon ways
{book} reached {person} on {day:date}
```

```rule
if   {book} reached {who} on {day}
and  {book} was lent to {} on {} (here)
then hint about {book}: "reached {every who}"
```
"#
}

#[test]
fn a_table_says_a_fact_for_each_filled_cell_and_each_listed_item() {
    let c = snippet(&format!(
        "{SOUND}
```sentences
{{book}} belongs on {{shelf}}
{{book}} has {{n:number}} pages
{{other}} is short for {{book}}
{{book}} is kept at {{warmth:temperature}}
```

Each row says: \"{{book}} is a book\" \"{{book}} belongs on {{shelf mark}}\" \"{{book}} has {{n}} pages\"
\"{{each also}} is short for {{book}}\" \"{{book}} is kept at {{warmth}}\"

| Book | shelf mark | n | also | warmth | source |
|---|---|---|---|---|---|
| war and peace | a 1 | 1,200 | wap, peace | 60-70 F | our judgement |
| *dune* | | 412 | | | |
"
    ));
    assert_eq!(told(&c), "nothing\n");
    let facts: Vec<String> = c
        .program
        .facts
        .iter()
        .map(|f| {
            c.program.sentences[f.sentence.0 as usize].filled(|n| {
                haulm::measure::display::value(&f.values[n], &haulm::measure::display::Units::new())
            })
        })
        .collect();
    assert_eq!(
        facts,
        [
            "dune is a book",
            "war and peace is a book",
            "war and peace belongs on a 1",
            "dune has 412 pages",
            "war and peace has 1200 pages",
            "peace is short for war and peace",
            "wap is short for war and peace",
            "war and peace is kept at 15.6-21.1 C",
        ]
    );
}
