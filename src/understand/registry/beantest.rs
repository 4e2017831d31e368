//! `bean test`: from pots, losses and counts to a verdict and the reasons of a void one.
//!
//! Comes in: what the journal says of each test. Goes out: one verdict for each test that was read.
//! The judging is done in `reckon::beantest`; what the counts allow is said in `beanfigures`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::inputs;
use crate::{
    base::name::fold,
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{EntryId, Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::beantest::{Arm, BeanTest, Count, Judged, Pots, Verdict, readings, verdict},
};

inputs! {
    Potted = "{test} was potted on {day:date}",
    Pots = "{pots:number} pots of {crop} were potted for {test} on {day:date}",
    ControlPotted = "the control of {test} was potted on {day:date}",
    ControlPots = "{pots:number} pots of {crop} were potted for the control of {test} on {day:date}",
    Lost = "{pots:number} pots of {test} were lost on {day:date}",
    ControlLost = "{pots:number} pots of the control of {test} were lost on {day:date}",
    Read = "{test} was read on {day:date}",
    LookedAt = "{test} was looked at on {day:date}",
    Hurt = "{hurt:number} of {among:number} pots of {test} were hurt on {day:date}",
    ControlHurt = "{hurt:number} of {among:number} pots of the control of {test} were hurt on {day:date}",
    Up = "{up:number} of {among:number} seeds of {test} came up by {day:date}",
    ControlUp = "{up:number} of {among:number} seeds of the control of {test} came up by {day:date}",
    Height = "pot {pot:number} of {test} stood {height:length} high on {day:date}",
    ControlHeight = "pot {pot:number} of the control of {test} stood {height:length} high on {day:date}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "the bean test {test} came out {verdict} on {day:date}",
    "the bean test {test} is void because {reason:text}",
];

/// One test as the journal tells it.
#[derive(Debug, Default)]
pub struct Told {
    /// Pots, counts and readings.
    pub test: BeanTest,
    /// The inputs that say so.
    pub used: Vec<usize>,
    /// Heights of pots of the lot, by day, with the input that says so; in metres.
    pub heights: Vec<(NaiveDate, f64, usize)>,
    /// Heights of control pots.
    pub control_heights: Vec<(NaiveDate, f64, usize)>,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut out = Vec::new();
    for (test, told) in told(given) {
        if let Some(judged) = verdict(&told.test) {
            say(test, &told.test, &judged, &told.used, &mut out);
        }
    }
    out
}

/// Every test, by name.
pub fn told<'g>(given: &'g [Given<'g>]) -> BTreeMap<&'g Value, Told> {
    let looks: BTreeSet<(EntryId, &Value)> = given
        .iter()
        .filter(|g| INPUTS.get(g.input) == Some(&Input::LookedAt))
        .filter_map(|g| Some((g.entry?, g.values.first()?)))
        .collect();
    let mut tests: BTreeMap<&Value, Told> = BTreeMap::new();
    // Sorted by what they say, so that the order of the lines does not matter.
    let mut order: Vec<usize> = (0..given.len()).collect();
    order.sort_by_key(|n| given.get(*n).map(|g| (g.input, g.values, g.entry)));
    for n in order {
        let Some(g) = given.get(n).filter(|g| !g.planned) else { continue };
        let Some(input) = INPUTS.get(g.input) else { continue };
        // The plots of a trial are read too, and are no bean test.
        let Some(test) = subject(*input, g.values).filter(|t| !of_kind(t, "trial")) else { continue };
        // Counts of a look `so far` are no reading.
        let look = g.entry.is_some_and(|e| looks.contains(&(e, test)));
        let told = tests.entry(test).or_default();
        if look {
            continue;
        }
        if let Some((day, height)) = height(*input, g.values) {
            let list = if *input == Input::Height { &mut told.heights } else { &mut told.control_heights };
            list.push((day, height, n));
        } else if add(&mut told.test, *input, g.values) {
            told.used.push(n);
        }
    }
    tests
}

/// A pot's height in metres, and the day it was measured.
fn height(input: Input, values: &[Value]) -> Option<(NaiveDate, f64)> {
    match (input, values) {
        (Input::Height | Input::ControlHeight, [_, _, Value::Quantity(q), Value::Days(days)]) => {
            Some((days.last, q.size.middle()))
        }
        _ => None,
    }
}

fn of_kind(value: &Value, kind: &str) -> bool {
    matches!(value, Value::Thing(t) if *t.kind == *kind)
}

/// The test a sentence is about.
fn subject(input: Input, values: &[Value]) -> Option<&Value> {
    use Input::{
        ControlHeight, ControlHurt, ControlLost, ControlPots, ControlUp, Height, Hurt, Lost, Pots, Up,
    };
    match input {
        Pots | ControlPots | Hurt | ControlHurt | Up | ControlUp => values.get(2),
        Lost | ControlLost | Height | ControlHeight => values.get(1),
        _ => values.first(),
    }
}

/// Adds what one sentence says; false if it says nothing usable.
fn add(t: &mut BeanTest, input: Input, values: &[Value]) -> bool {
    let Some(Value::Days(days)) = values.last() else { return false };
    match (input, values) {
        (Input::Potted, _) => put_up(&mut t.test, days.first, 0),
        (Input::ControlPotted, _) => put_up(&mut t.control, days.first, 0),
        (Input::Pots, [Value::Number(n), ..]) => put_up(&mut t.test, days.first, count(*n)),
        (Input::ControlPots, [Value::Number(n), ..]) => put_up(&mut t.control, days.first, count(*n)),
        (Input::Lost, [Value::Number(n), ..]) => {
            t.test.lost.push(Pots { day: days.first, number: count(*n) });
        }
        (Input::ControlLost, [Value::Number(n), ..]) => {
            t.control.lost.push(Pots { day: days.first, number: count(*n) });
        }
        (Input::Read, _) => t.read.push(days.last),
        (Input::Hurt, [h, a, ..]) => return counted(&mut t.test.hurt, h, a, *days),
        (Input::ControlHurt, [h, a, ..]) => return counted(&mut t.control.hurt, h, a, *days),
        (Input::Up, [h, a, ..]) => return counted(&mut t.test.up, h, a, *days),
        (Input::ControlUp, [h, a, ..]) => return counted(&mut t.control.up, h, a, *days),
        _ => return false,
    }
    true
}

/// Pots of one entry come as two sentences, one without a number: the number takes its place.
fn put_up(arm: &mut Arm, day: NaiveDate, number: u32) {
    if let Some(open) = arm.potted.iter_mut().find(|p| p.day == day && p.number == 0) {
        open.number = number;
    } else if number > 0 || arm.potted.iter().all(|p| p.day != day) {
        arm.potted.push(Pots { day, number });
    }
}

fn counted(list: &mut Vec<(NaiveDate, Count)>, hurt: &Value, among: &Value, days: Days) -> bool {
    let (Value::Number(h), Value::Number(a)) = (hurt, among) else { return false };
    list.push((days.last, Count { of_these: count(*h), all: count(*a) }));
    true
}

/// A count as a whole number; of a range the least, so that nothing is claimed that is not sure.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn count(n: Range) -> u32 {
    n.low().clamp(0.0, f64::from(u32::MAX)).floor() as u32
}

fn say(test: &Value, bean_test: &BeanTest, judged: &Judged, used: &[usize], out: &mut Vec<Reckoned>) {
    let number = |n: u32| Value::number(f64::from(n));
    let mut numbers = Vec::new();
    for (arm, c) in [("pots hurt", judged.hurt), ("control pots hurt", judged.control)] {
        if let Some(c) = c {
            numbers.push((arm.to_owned(), number(c.of_these)));
            numbers.push((format!("{arm}, out of"), number(c.all)));
        }
    }
    if let Some(p) = judged.p {
        numbers.push((
            "chance of this or more by luck alone (Fisher's exact test, one-sided)".to_owned(),
            Value::Quantity(Quantity { size: Range::exact(p), dimension: Dimension::Share }),
        ));
    }
    out.push(Reckoned {
        output: 0,
        values: vec![test.clone(), Value::word(judged.verdict.word()), Value::Days(Days::on(judged.day))],
        witnesses: used.to_vec(),
        numbers: numbers.clone(),
    });
    if judged.verdict != Verdict::Void {
        return;
    }
    let mut reasons: Vec<String> = readings(bean_test)
        .into_iter()
        .flat_map(|j| j.reasons)
        .map(crate::reckon::beantest::Reason::words)
        .collect();
    reasons.sort_by_key(|r| fold(r));
    reasons.dedup();
    for reason in reasons {
        out.push(Reckoned {
            output: 1,
            values: vec![test.clone(), Value::word(reason)],
            witnesses: used.to_vec(),
            numbers: numbers.clone(),
        });
    }
}
