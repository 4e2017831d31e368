//! `trial`: from plots, what they were assigned to and how they were read, to comparisons of treatments.
//!
//! Comes in: what the journal says of each trial. Goes out: counts of each treatment, and for every two
//! treatments what the plots show. The comparing is done in `reckon::trial`.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::inputs;
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::trial::{Compared, Plots, compare, plots_needed},
};

inputs! {
    Plot = "{plot} was assigned to {arm} on {day:date}",
    PartOf = "{name} is a part of {whole}",
    Read = "{test} was read on {day:date}",
    PlotHurt = "{plot} was hurt in {test} on {day:date}",
    Hurt = "{hurt:number} of {among:number} pots of {test} were hurt on {day:date}",
    Height = "pot {pot:number} of {test} stood {height:length} high on {day:date}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "in {trial}, {hurt:number} of {among:number} plots of {arm} were hurt on {day:date}",
    "in {trial}, {arm} against {other} came out {verdict} on {day:date}",
    "in {trial}, between {low:share} and {high:share} fewer plots of {arm} than of {other} were hurt on {day:date}",
    "in {trial}, plants of {arm} stood between {low:length} and {high:length} higher than those of {other} on {day:date}",
    "in {trial}, to tell {arm} from {other} would take {n:number} plots of each",
];

/// A trial as the journal tells it. Numbers are of the sentences that say so.
#[derive(Debug, Default)]
struct Trial<'a> {
    /// Plots of each treatment, by their numbers.
    arms: BTreeMap<&'a Value, BTreeMap<u32, usize>>,
    readings: BTreeMap<NaiveDate, Reading>,
}

/// All that was read on one day.
#[derive(Debug, Default)]
struct Reading {
    /// Whether it was a reading, and not a look on the way (`so far`), which settles nothing.
    settled: bool,
    /// Whether anybody counted plots hurt, none included.
    counted: bool,
    hurt: BTreeSet<u32>,
    heights: BTreeMap<u32, f64>,
    by: Vec<usize>,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let trials = gather(given);
    trials.iter().flat_map(|(name, trial)| tell(name, trial)).collect()
}

fn gather<'a>(given: &[Given<'a>]) -> BTreeMap<&'a Value, Trial<'a>> {
    let mut order: Vec<usize> = (0..given.len()).collect();
    // Sorted by what they say, so that the order of the lines does not matter.
    order.sort_by_key(|n| given.get(*n).map(|g| (g.input, g.values, g.entry)));
    let wholes: BTreeMap<&Value, &Value> = order
        .iter()
        .filter_map(|n| given.get(*n).filter(|g| INPUTS.get(g.input) == Some(&Input::PartOf)))
        .filter_map(|g| Some((g.values.first()?, g.values.get(1)?)))
        .collect();
    let mut trials: BTreeMap<&Value, Trial<'_>> = BTreeMap::new();
    for n in order {
        let Some(g) = given.get(n).filter(|g| !g.planned) else { continue };
        let Some(input) = INPUTS.get(g.input) else { continue };
        // A sentence that is not about plots and their trial is passed over.
        let _ = add(&mut trials, &wholes, *input, g.values, n);
    }
    trials.retain(|_, t| !t.arms.is_empty());
    trials
}

fn add<'a>(
    trials: &mut BTreeMap<&'a Value, Trial<'a>>,
    wholes: &BTreeMap<&'a Value, &'a Value>,
    input: Input,
    values: &'a [Value],
    n: usize,
) -> Option<()> {
    let day = match values.last()? {
        Value::Days(days) => Some(days.last),
        _ => None,
    };
    match input {
        Input::Plot => {
            let plot = values.first()?;
            let arm = trials.entry(wholes.get(plot)?).or_default().arms.entry(values.get(1)?).or_default();
            arm.insert(number_of(plot)?, n);
        }
        Input::PartOf => {}
        Input::Read => {
            let reading = trials.entry(values.first()?).or_default().readings.entry(day?).or_default();
            reading.settled = true;
            reading.by.push(n);
        }
        Input::PlotHurt => {
            let reading = trials.entry(values.get(1)?).or_default().readings.entry(day?).or_default();
            reading.hurt.insert(number_of(values.first()?)?);
            reading.counted = true;
            reading.by.push(n);
        }
        Input::Hurt => {
            // Of a count without the plots named, only none is known plot by plot.
            let Value::Number(hurt) = values.first()? else { return None };
            let reading = trials.entry(values.get(2)?).or_default().readings.entry(day?).or_default();
            reading.counted |= hurt.high() == 0.0;
            reading.by.push(n);
        }
        Input::Height => {
            let (Value::Number(pot), Value::Quantity(q)) = (values.first()?, values.get(2)?) else {
                return None;
            };
            let reading = trials.entry(values.get(1)?).or_default().readings.entry(day?).or_default();
            reading.heights.insert(whole(*pot), q.size.middle() * 100.0);
            reading.by.push(n);
        }
    }
    Some(())
}

/// The number of a plot: 4 of `plot 4 of trial straw-1`.
fn number_of(plot: &Value) -> Option<u32> {
    let Value::Thing(thing) = plot else { return None };
    thing.name.split_once(' ')?.0.parse().ok()
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(n: Range) -> u32 {
    n.low().clamp(0.0, 10_000.0).floor() as u32
}

fn tell(name: &Value, trial: &Trial<'_>) -> Vec<Reckoned> {
    let mut out = Vec::new();
    let mut looks = 0;
    let mut last = None;
    for (day, reading) in &trial.readings {
        if !reading.settled || (!reading.counted && reading.heights.is_empty()) {
            continue;
        }
        looks += 1;
        last = Some(reading);
        let day = Value::Days(Days::on(*day));
        let arms = arms(trial, reading);
        for (arm, plots, by) in &arms {
            if let Some(hurt) = plots.hurt {
                let values = vec![name.clone(), number(hurt), number(plots.all), (*arm).clone(), day.clone()];
                out.push(Reckoned { output: 0, values, witnesses: by.clone(), numbers: Vec::new() });
            }
        }
        for ((arm, plots, by), (other, against, more)) in pairs(&arms) {
            let by: Vec<usize> = by.iter().chain(more).copied().collect();
            if let Some(compared) = compare(plots, against, looks) {
                say(name, arm, other, &day, &compared, &by, &mut out);
            }
        }
    }
    if let Some(reading) = last {
        for ((arm, plots, by), (other, against, more)) in pairs(&arms(trial, reading)) {
            if let Some(n) = plots_needed(plots, against) {
                let values = vec![name.clone(), (*arm).clone(), (*other).clone(), number(n)];
                let witnesses = by.iter().chain(more).copied().collect();
                out.push(Reckoned { output: 4, values, witnesses, numbers: Vec::new() });
            }
        }
    }
    out
}

/// Every two that differ, either way round.
fn pairs<T>(all: &[T]) -> impl Iterator<Item = (&T, &T)> {
    all.iter().enumerate().flat_map(move |(i, a)| {
        all.iter().enumerate().filter(move |(j, _)| *j != i).map(move |(_, b)| (a, b))
    })
}

/// Each treatment as it stood at one reading, with the numbers of the sentences that say so.
fn arms<'a>(trial: &Trial<'a>, reading: &Reading) -> Vec<(&'a Value, Plots, Vec<usize>)> {
    let told = |plots: &BTreeMap<u32, usize>| plots.values().chain(&reading.by).copied().collect();
    trial.arms.iter().map(|(arm, plots)| (*arm, read(plots, reading), told(plots))).collect()
}

fn read(plots: &BTreeMap<u32, usize>, reading: &Reading) -> Plots {
    let hurt = plots.keys().filter(|n| reading.hurt.contains(n)).count();
    let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    Plots {
        hurt: reading.counted.then(|| count(hurt)),
        all: count(plots.len()),
        heights: plots.keys().filter_map(|n| reading.heights.get(n)).copied().collect(),
    }
}

fn say(
    name: &Value,
    arm: &Value,
    other: &Value,
    day: &Value,
    compared: &Compared,
    by: &[usize],
    out: &mut Vec<Reckoned>,
) {
    let mut numbers = Vec::new();
    if let Some(p) = compared.p {
        let words = "chance of a difference like this by luck alone (exact, two-sided)";
        numbers.push((words.to_owned(), Value::number(p)));
        numbers.push((
            "what it is held against, shared out over the readings".to_owned(),
            Value::number(compared.level),
        ));
    }
    let mut push = |output: usize, values: Vec<Value>| {
        out.push(Reckoned { output, values, witnesses: by.to_vec(), numbers: numbers.clone() });
    };
    let (arm, other) = (arm.clone(), other.clone());
    let verdict = Value::word(compared.verdict.word());
    push(1, vec![name.clone(), arm.clone(), other.clone(), verdict, day.clone()]);
    if let Some((low, high)) = compared.fewer {
        let values = [of(low, Dimension::Share, 1000.0), of(high, Dimension::Share, 1000.0)];
        let [low, high] = values;
        push(2, vec![name.clone(), low, high, arm.clone(), other.clone(), day.clone()]);
    }
    if let Some((low, high)) = compared.higher {
        let (low, high) =
            (of(low / 100.0, Dimension::Length, 1000.0), of(high / 100.0, Dimension::Length, 1000.0));
        push(3, vec![name.clone(), arm, low, high, other, day.clone()]);
    }
}

fn number(n: u32) -> Value {
    Value::number(f64::from(n))
}

/// A bound as a quantity, rounded to one part in `parts`.
fn of(v: f64, dimension: Dimension, parts: f64) -> Value {
    Value::Quantity(Quantity { size: Range::exact((v * parts).round() / parts), dimension })
}
