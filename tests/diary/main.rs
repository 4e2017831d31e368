//! What whole scraps of diary come to: the text, and beneath it the facts it says and what is said of it.

use haulm::{measure::display, session::Session};

/// The codes that settling says.
const CODES: &[&str] = &[
    "counted-across-crops",
    "counted-together",
    "dated-ahead",
    "days-out-of-order",
    "declared-twice",
    "empty-room",
    "open-plan",
    "part-without-side",
    "round-in-a-circle",
    "unclear-correction",
    "undated-entry",
    "unknown-name",
    "unknown-size",
    "unsettled-measure",
    "used-before-it-existed",
];

/// A scrap, with under it its facts in order of day and entry, then what is said of it.
fn settled(today: &str, text: &str) -> String {
    let mut session = Session::new();
    session.set_text("scrap.md", text);
    let checked = session.check(today.parse().expect("a day"), None);
    let mut facts: Vec<(u32, String)> = checked
        .diary
        .facts
        .iter()
        .filter_map(|f| match f.source {
            haulm::model::program::FactSource::Entry(e) => Some((e.0, f)),
            _ => None,
        })
        .map(|(entry, f)| {
            let sentence = &checked.program.sentences[f.sentence.0 as usize];
            let filled = sentence.filled(|n| display::value(&f.values[n], &checked.diary.units));
            (entry, if f.planned { format!("{filled} (planned)") } else { filled })
        })
        .collect();
    facts.sort();
    let mut out = format!("{}\n\n-- read on {today} --\n", text.trim());
    for (entry, fact) in facts {
        out.push_str(&format!("{entry:>3}  {fact}\n"));
    }
    let mut said: Vec<String> = checked
        .report
        .findings
        .iter()
        .filter(|d| CODES.contains(&&*d.code))
        .map(|d| {
            let remarks: Vec<String> = d.remarks.iter().map(|r| format!("\n       {}", r.text)).collect();
            format!("{} {}: {}{}", d.severity.word(), d.code, d.message, remarks.concat())
        })
        .collect();
    said.sort();
    for line in said {
        out.push_str(&format!("  ·  {line}\n"));
    }
    out
}

#[test]
fn two_loads_and_the_heap() {
    insta::assert_snapshot!(settled(
        "2026-03-15",
        r"
- farm: imperial
- bed north-2, 30 ft x 4 ft
- heap main
- animals goats

## 2026-03-02
- received 4 yd3 compost as lot barry-1 from Barry Tern

## week of 2026-03-09
- received 5-6 yd3 compost as lot barry-2 from Barry Tern
- heaped lot barry-2 on lot barry-1
- spread 10 barrows of lot barry-2 on the door half of north-2
- gave 2 barrows of lot barry-2 to Brackenhythe School
- mucked out goats on heap main, 6 barrows
- set aside 1 bucket of lot barry-2: lidded tub for Anne
- returned the rest of lot barry-2 to Barry Tern
"
    ));
}

#[test]
fn a_bean_test_with_a_cat() {
    insta::assert_snapshot!(settled(
        "2026-04-05",
        r"
## 2026-03-14
- received 6 yd3 compost as lot barry-2 from Barry Tern
- received 8 bags potting mix as lot bag-mix from Hobb & Daughter, 40 l each
- potted 4 pots of bean in lot barry-2 mixed 1:1 with lot bag-mix as test t2, 3 seeds each
- potted 4 pots of bean in lot bag-mix as control of test t2, 3 seeds each

## 2026-03-20
- lost 1 pot of control of test t2: cat

## 2026-03-28
- read test t2: 9 of 12 seeds up; control 8 of 9 seeds up
- read test t2: 1 of 4 pots hurt, so far

## 2026-04-04
- read test t2: 2 pots severe, 1 slight, 1 fine; control 0 of 3 pots hurt
- read test t2: heights 8, 9, none, 8 cm
"
    ));
}

#[test]
fn something_wrong_in_several_beds() {
    insta::assert_snapshot!(settled(
        "2026-06-07",
        r"
- bed north-1 in west tunnel, 30 ft x 4 ft
- bed north-2 in west tunnel, 30 ft x 2 ft
- bed strip-3, 20 ft x 3 ft
- room west tunnel

## 2026-05-02
- planted 18 tomato in north-1 and 6 in north-2
- planted 120 onion in north-1, north-2 and strip-3

## 2026-06-06
- noticed curled leaves on tomato in north-1 and north-2, 10 of 24 plants
- noticed nothing wrong in west tunnel
- noticed nothing wrong on tomato in north-1, roots
- noticed no aphids on tomato in north-1
- noticed cupped leaves on tomato in west end of north-1, severe
- noticed cupped leaves on tomato and bean in strip-3, 5 of 24 plants
"
    ));
}

#[test]
fn plans_and_changes_of_mind() {
    insta::assert_snapshot!(settled(
        "2026-06-10",
        r"
- bed strip-3, 20 ft x 3 ft
- bed strip-4, 20 ft x 3 ft

## 2026-06-01
- received 5 yd3 compost as lot barry-2 from Barry Tern

## 2026-06-06
- [ ] spread lot barry-2 on strip-3, 1 in deep
- [ ] spread lot barry-2 on strip-4, 1 in deep
- [x] planted 6 squash in strip-4

## 2026-06-08
- skipped spread lot barry-2 on strip-4: rained off
- correct 2026-06-01 received lot barry-2: 6 yd3

## 2026-06-20
- spread lot barry-2 on strip-4
"
    ));
}

#[test]
fn straw_buckets_and_a_bed_for_what_is_spent() {
    insta::assert_snapshot!(settled(
        "2026-05-20",
        r"
- bed strip-3, 20 ft x 3 ft
- room shed

## 2026-05-02
- received 80 lb straw as lot straw-1 from Pell
- heated 40 lb of lot straw-1 as batch b3 at 165 F for 90 min
- measured batch b3: 10:20 150 F, 10:35 161 F, 10:50 166 F
- cooled batch b3 to 75 F
- inoculated batch b3 with 5 lb blue oyster spawn into 8 5-gal buckets
- moved buckets 1-2 of batch b3 to shed

## 2026-05-18
- noticed green mould on bucket 2 of batch b3
- tipped bucket 2 of batch b3 on strip-3
- removed 3 in from strip-3 to heap main
"
    ));
}
