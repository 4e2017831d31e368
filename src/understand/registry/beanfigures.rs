//! `bean test figures`: from counts and heights of a valid test to chances of luck, intervals, and pots wanted.
//!
//! Comes in: what `beantest` reads. Goes out: sentences with witnesses; none of a void test. The arithmetic is
//! done in `reckon::pots`.

use chrono::NaiveDate;

use super::beantest;
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::{
        beantest::{CONTROL_WITHIN, Judged, Verdict, verdict},
        pots::{Figures, figures, heights},
    },
};

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "luck alone would hurt pots of {test} so or worse in {p:share} of cases",
    "luck alone would part pots of {test} so far either way in {p:share} of cases",
    "luck alone would hurt pots of {test} so or worse in {p:share} of cases, ties counted half",
    "hurt is at least {times:number} times as likely in {test} as in its control, by odds",
    "hurt is at most {times:number} times as likely in {test} as in its control, by odds",
    "of pots like those of {test}, {share:share} are hurt",
    "of pots like those of {test}, {share:share} are hurt by the shorter interval",
    "a bean test of the size of {test} can reach {p:share} at best",
    "{test} may have missed what hurts {share:share} of pots",
    "a new test instead of {test} would want {n:number} pots on each side",
    "a new test instead of {test} would want at least {n:number} pots on each side",
    "pots of {test} stood {by:length} lower than its control",
    "luck alone would leave pots of {test} so low in {p:share} of cases",
    "luck alone would leave pots of {test} so low in {p:share} of cases, by ranks",
];

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut out = Vec::new();
    for (test, told) in beantest::told(given) {
        let Some(judged) = verdict(&told.test).filter(|j| j.verdict != Verdict::Void) else { continue };
        say(test, &judged, &told.used, &mut out);
        let near = |list: &[(NaiveDate, f64, usize)]| -> Vec<(f64, usize)> {
            let of_reading = |day: &NaiveDate| (*day - judged.day).num_days().abs() <= CONTROL_WITHIN;
            list.iter().filter(|(day, ..)| of_reading(day)).map(|(_, h, n)| (*h, *n)).collect()
        };
        say_heights(test, &near(&told.heights), &near(&told.control_heights), &mut out);
    }
    out
}

/// Says what the counts of a valid reading allow.
fn say(test: &Value, judged: &Judged, used: &[usize], out: &mut Vec<Reckoned>) {
    let (Some(hurt), Some(control)) = (judged.hurt, judged.control) else { return };
    let Some(f) = figures(hurt, control) else { return };
    let mut numbers = Vec::new();
    for (words, c) in [("pots", hurt), ("control pots", control)] {
        numbers.push((format!("{words} hurt"), number(c.of_these)));
        numbers.push((format!("{words} in all"), number(c.all)));
    }
    if let Some(odds) = f.odds.filter(|o| o.likeliest.is_finite()) {
        numbers.push(("odds likeliest".to_owned(), Value::number(odds.likeliest)));
    }
    for (output, value) in counted(&f) {
        let mut values = vec![test.clone(), value];
        if test_stands_last(output) {
            values.reverse();
        }
        let numbers = numbers.clone();
        out.push(Reckoned { output, values, witnesses: used.to_vec(), numbers });
    }
}

/// The sentences whose figure stands before the test.
fn test_stands_last(output: usize) -> bool {
    matches!(output, 3 | 4)
}

fn counted(f: &Figures) -> Vec<(usize, Value)> {
    let mut all = vec![
        (0, share(f.luck.greater, f.luck.greater)),
        (1, share(f.luck.two_sided, f.luck.two_sided)),
        (2, share(f.luck.mid_greater, f.luck.mid_greater)),
        (5, share(f.hurt.0, f.hurt.1)),
        (6, share(f.hurt_wilson.0, f.hurt_wilson.1)),
        (7, share(f.best, f.best)),
    ];
    if let Some(odds) = f.odds {
        all.push((3, Value::number(odds.low)));
        if odds.high.is_finite() {
            all.push((4, Value::number(odds.high)));
        }
    }
    all.extend(f.missed.map(|m| (8, share(m, m))));
    all.extend(f.wanted.likeliest.map(|n| (9, number(n))));
    all.extend(f.wanted.fewest.map(|n| (10, number(n))));
    all.sort_by_key(|(output, _)| *output);
    all
}

/// Says what the heights allow, given in metres with the inputs they stand in.
fn say_heights(test: &Value, lot: &[(f64, usize)], control: &[(f64, usize)], out: &mut Vec<Reckoned>) {
    // Whole tenths of a millimetre are far below what a ruler tells, and tie where the ruler does.
    let tenths = |all: &[(f64, usize)]| -> Vec<f64> { all.iter().map(|(m, _)| (m * 1e4).round()).collect() };
    let used: Vec<usize> = lot.iter().chain(control).map(|(_, n)| *n).collect();
    let Some(h) = heights(&tenths(lot), &tenths(control)) else { return };
    let mut tell = |output: usize, value: Value| {
        let values = vec![test.clone(), value];
        let numbers = vec![
            ("pots measured".to_owned(), count(lot.len())),
            ("control pots measured".to_owned(), count(control.len())),
        ];
        out.push(Reckoned { output, values, witnesses: used.clone(), numbers });
    };
    if let Some(w) = h.welch {
        let size = Range::new(w.interval.0 / 1e4, w.interval.1 / 1e4);
        tell(11, Value::Quantity(Quantity { size, dimension: Dimension::Length }));
    }
    if let Some(e) = h.rearranged {
        tell(12, share(e.greater, e.greater));
    }
    if let Some(e) = h.ranks {
        tell(13, share(e.greater, e.greater));
    }
}

fn number(n: u32) -> Value {
    Value::number(f64::from(n))
}

fn count(n: usize) -> Value {
    number(u32::try_from(n).unwrap_or(u32::MAX))
}

fn share(low: f64, high: f64) -> Value {
    Value::Quantity(Quantity { size: Range::new(low, high), dimension: Dimension::Share })
}
