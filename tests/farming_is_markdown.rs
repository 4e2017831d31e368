//! Farming lives in Markdown: a crop, a sign, a cause and a rule are added at run time by pages of a
//! farm's own, and each changes what is concluded. All names here are invented.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;
use haulm::{
    measure::value::Value,
    rehearse::Rehearsal,
    session::{Checked, Session},
};

const JOURNAL: &str = "\
## The place
- bed north-1, 30 ft x 4 ft

## 2026-04-04
- planted 24 moonpea in north-1
- planted 24 tomato in north-1

## 2026-05-02
- noticed corkscrewed crowns on moonpea in north-1, new growth
- noticed corkscrewed crowns on tomato in north-1, new growth
";

const CROP: (&str, &str) = (
    "rules/vocabulary/own-crops.md",
    "\
# own-crops

Each row says: \"{crop} is a crop\" \"{crop} belongs to the family {family}\" \"the leaves of {crop} are {leaf}\"

| crop | family | leaf |
|---|---|---|
| moonpea | Fabaceae | broad |
",
);

const SIGN: (&str, &str) = (
    "rules/vocabulary/own-signs.md",
    "\
# own-signs

Each row says: \"{sign} is a sign\" \"the look of {sign} is {look}\"

| sign | look |
|---|---|
| corkscrewed crowns | twisted growth |
",
);

const CAUSE: (&str, &str) = (
    "rules/causes/moles.md",
    "\
# moles

Each row says: \"{cause} is a cause\"

| cause |
|---|
| moles |
",
);

const RULE: (&str, &str) = (
    "rules/pages/moonpea-alone.md",
    "\
# moonpea-alone
Severity: warn

## What it notices
Moonpea in a bed.

## Why it matters
It is lonely there.

## Rules

```rule
if   {crop} was planted in {place} on {day} (here)
and  {crop} is moonpea
then warn about {place}: \"moonpea stands in {place}\"
```

## What to do
Plant more.

## Must fire
### a bed with moonpea
```journal
## 2026-04-04
- planted 4 moonpea in bed north-1
```
```expect
warn moonpea-alone about bed north-1
```

## Must stay silent
### a bed with tomato
```journal
## 2026-04-04
- planted 4 tomato in bed north-1
```

## Limits
None.

## Sources
Invented.
",
);

const RECIPE: (&str, &str) = (
    "rules/recipes/moonpea-soup.md",
    "\
# recipe-moonpea-soup

## What it is for
Soup of moonpeas.

## How to ask
```ask
moonpea-soup {count:number} {container}
with {peas:mass} moonpeas in each
```

## Rules

```sentences
a {container} of soup takes {peas:mass} of moonpeas
```

Each row says: \"a {container} of soup takes {peas} of moonpeas\"

| container | peas | source |
|---|---|---|
| bucket | 500-700 g | Invented, The Moon Garden, 1969 |

```rule
if   asked moonpea-soup {count} {container}
and  no asked with {} moonpeas in each
and  a {container} of soup takes {peas} of moonpeas
and  {all} is {peas} * {count}
then sum \"moonpeas\": \"{all} for {count} {container}\"

if   asked moonpea-soup {count} {container}
and  asked with {peas} moonpeas in each
and  {all} is {peas} * {count}
then sum \"moonpeas\": \"{all} for {count} {container}\"

if   asked moonpea-soup {count} {}
and  {half} is {count} / 2 rounded up
then step: \"Light {half} moon lamps.\"

if   asked moonpea-soup {} {}
then caution: \"Moon lamps are hot.\"

if   asked moonpea-soup {} {container}
and  no a {container} of soup takes {} of moonpeas
then refuse: \"How many moonpeas go into a {container}?\"

if   {plant} was planted in {place} on {}
then write: \"harvested {plant} from {place}\"
```

## Must work
### three buckets
```journal
ask: moonpea-soup 3 buckets
## 2026-04-04
- planted 4 tomato in bed north-1
```
```expect
sum moonpeas: 1.5-2.1 kg for 3 buckets
step Light 2 moon lamps.
caution Moon lamps are hot.
write harvested tomato from bed north-1
```

### one of one's own
```journal
ask: moonpea-soup 1 bucket with 400 g moonpeas in each
## 2026-04-04
- planted 4 tomato in bed north-1
```
```expect
sum moonpeas: 400 g for 1 bucket
```

## Must refuse
### crates
```journal
ask: moonpea-soup 3 crates
## 2026-04-04
- planted 4 tomato in bed north-1
```
```expect
refuse How many moonpeas go into a crate?
```

## Limits
None.

## Sources
Invented.
",
);

fn check(pages: &[(&str, &str)]) -> Checked {
    let mut session = Session::new();
    session.set_text("spring.md", JOURNAL);
    for (path, text) in pages {
        session.set_text(path, text);
    }
    session.check(NaiveDate::from_ymd_opt(2026, 5, 3).expect("a day"), None)
}

fn codes(checked: &Checked) -> Vec<&str> {
    checked.report.findings.iter().map(|f| &*f.code).collect()
}

#[test]
fn without_pages_the_new_words_are_kept_and_nothing_is_concluded_from_them() {
    let checked = check(&[]);
    let codes = codes(&checked);
    assert!(codes.contains(&"unknown-word"), "{codes:?}");
    assert!(!codes.contains(&"growth-regulator-pattern"), "{codes:?}");
}

#[test]
fn a_crop_and_a_sign_are_added_by_rows_alone() {
    let checked = check(&[CROP, SIGN]);
    let codes = codes(&checked);
    assert!(!codes.contains(&"unknown-word"), "{codes:?}");
    let found = checked.report.findings.iter().find(|f| &*f.code == "growth-regulator-pattern");
    assert_eq!(found.map(|f| f.about.as_slice()), Some(&["bed north-1".to_owned()][..]), "{codes:?}");
}

#[test]
fn a_cause_is_added_by_a_page_alone() {
    let moles = [Value::word("moles"), Value::word("cause")];
    let knows = |checked: &Checked| checked.program.facts.iter().any(|f| f.values == moles);
    let with = check(&[CAUSE]);
    assert!(knows(&with));
    assert!(!knows(&check(&[])));
    assert_eq!(codes(&with), codes(&check(&[])), "the page is in shape, and a cause alone concludes nothing");
}

/// A page of a cause with a row for every question, each answer about as likely as the others.
fn ranked_cause(built_in: &Checked) -> String {
    let row = built_in.program.sentences.iter().position(|s| s.pattern().starts_with("of 100 cases of"));
    let mut tables: BTreeMap<&Value, BTreeSet<&Value>> = BTreeMap::new();
    for fact in built_in.program.facts.iter().filter(|f| Some(f.sentence.0 as usize) == row) {
        if let [_, _, question, answer] = fact.values.as_slice() {
            tables.entry(question).or_default().insert(answer);
        }
    }
    assert!(tables.len() > 10, "the question tables were not found");
    let mut page = "# moles\n\nEach row says: \"{cause} is a cause\" \"{cause} is told as {words}\" \
        \"{cause} starts with {weight} shares of the chances\"\n\n| cause | words | weight |\n|---|---|---|\n\
        | moles | moles in the bed | 40 |\n\n"
        .to_owned();
    for (question, answers) in tables {
        let (Value::Word(question), n) = (question, answers.len()) else { continue };
        page.push_str(&format!(
            "Each row says: \"of 100 cases of moles, {{in 100}} answer '{question}' with {{answer}}\"\n\n\
             | answer | in 100 |\n|---|---|\n"
        ));
        for (at, answer) in answers.iter().enumerate() {
            let Value::Word(answer) = answer else { continue };
            let cell = if at == 0 { 100 - (n - 1) * (100 / n) } else { 100 / n };
            page.push_str(&format!("| {answer} | {cell} |\n"));
        }
        page.push('\n');
    }
    page
}

/// The causes in the order of their chances, as `why` ranks them for the bed.
fn ranking(checked: &Checked) -> Vec<String> {
    let why = checked.why("north-1").expect("the bed is known");
    why.rankings.iter().flat_map(|r| &r.suspects).map(|s| s.told.clone()).collect()
}

#[test]
fn a_page_of_a_cause_with_its_rows_enters_the_ranking() {
    let without = check(&[CROP, SIGN]);
    assert!(!ranking(&without).is_empty(), "there is an outbreak to judge");
    assert!(!ranking(&without).contains(&"moles in the bed".to_owned()));
    let page = ranked_cause(&without);
    let with = check(&[CROP, SIGN, ("rules/causes/moles.md", &page)]);
    assert!(ranking(&with).contains(&"moles in the bed".to_owned()), "{:?}", ranking(&with));
    assert_eq!(codes(&with), codes(&without), "every row of the page is whole");
}

#[test]
fn a_row_that_does_not_add_up_is_refused_where_it_stands() {
    let without = check(&[CROP, SIGN]);
    let page = ranked_cause(&without).replacen("| mild | ", "| mild | 1", 1);
    let with = check(&[CROP, SIGN, ("rules/causes/moles.md", &page)]);
    let fault = with.report.findings.iter().find(|f| &*f.code == "row-not-whole").expect("a fault");
    let at = fault.primary.as_ref().expect("a place").loc;
    assert_eq!(&*with.sources.file(at.file).path, "rules/causes/moles.md");
    assert!(fault.message.contains("adds up to"), "{}", fault.message);
}

#[test]
fn a_rule_is_added_by_a_page_alone() {
    assert!(!codes(&check(&[CROP])).contains(&"moonpea-alone"));
    let checked = check(&[CROP, RULE]);
    assert!(codes(&checked).contains(&"moonpea-alone"), "{:?}", codes(&checked));
}

fn session(pages: &[(&str, &str)]) -> Session {
    let mut session = Session::new();
    session.set_text("spring.md", JOURNAL);
    for (path, text) in pages {
        session.set_text(path, text);
    }
    session
}

#[test]
fn a_recipe_is_added_by_a_page_alone() {
    let day = NaiveDate::from_ymd_opt(2026, 5, 3).expect("a day");
    let words = "moonpea-soup 3 buckets";
    assert!(session(&[]).recipe(words, day, None).is_err());
    let (told, sources) = session(&[CROP, RECIPE]).recipe(words, day, None).expect("it is read");
    let lines: Vec<&str> = told.lines().map(|(_, line)| line.text.as_str()).collect();
    assert_eq!(
        lines,
        [
            "1.5-2.1 kg for 3 buckets",
            "Light 2 moon lamps.",
            "harvested moonpea from bed north-1",
            "harvested tomato from bed north-1"
        ]
    );
    let sum = &told.sums[0];
    assert_eq!(sum.cited[0].source, "Invented, The Moon Garden, 1969");
    assert!(sources.place(sum.cited[0].loc).starts_with("rules/recipes/moonpea-soup.md:"));
    assert_eq!(told.steps[0].beside.len(), 1, "the caution stands beside its step");
}

#[test]
fn the_examples_of_a_recipe_run_and_weaken_like_those_of_other_pages() {
    let rehearsal = Rehearsal::new(&session(&[CROP, RECIPE]));
    let of_recipe = |cases: Vec<haulm::rehearse::Case>| {
        cases.into_iter().filter(|c| &*c.code == "recipe-moonpea-soup").collect::<Vec<_>>()
    };
    let (examples, rules) = (of_recipe(rehearsal.examples()), of_recipe(rehearsal.rules()));
    assert_eq!((examples.len(), rules.len()), (3, 6));
    for case in examples.iter().chain(&rules) {
        let said = rehearsal.run(case);
        assert!(said.is_empty(), "{}: {:?}", case.name, said);
    }
    let wrong = RECIPE.1.replace("1.5-2.1 kg for 3 buckets", "1.5-2.2 kg for 3 buckets");
    let rehearsal = Rehearsal::new(&session(&[CROP, (RECIPE.0, &wrong)]));
    let failed = of_recipe(rehearsal.examples()).iter().map(|case| rehearsal.run(case).len()).sum::<usize>();
    assert_eq!(failed, 1, "a sum that comes out otherwise is told");
}

#[test]
fn a_check_knows_nothing_of_recipes() {
    let (with, without) = (check(&[CROP, RECIPE]), check(&[CROP]));
    assert_eq!(codes(&with), codes(&without));
    assert_eq!(with.program.rules.len(), without.program.rules.len());
}
