//! `heat rule`: what a rule for heat asks at a temperature, and how much of it clocked readings had.
//!
//! Comes in: rules with their figures, temperatures to be held against them, readings. Goes out: a time for each
//! temperature, and a number of times for each thing and stretch of readings. The sum is done in `reckon::heat`.

use std::collections::BTreeMap;

use super::{heat::clocked, inputs};
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::heat::{Law, Reading, had},
};

inputs! {
    Reading = "{thing} was at {temperature:temperature} at {clock:clock} on {day:date}",
    Formula = "{rule} divides {scale:number} days by ten to the {rate:number} for each degree",
    Bounds = "{rule} counts from {least:temperature} on and asks {floor:duration} at least",
    Asked = "{level:temperature} is to be held against {rule}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{rule} holds {level:temperature} for {time:duration}",
    "{thing} had {times:number} times the heat of {rule} on {day:date}",
];

/// A rule as the tables say it, with the numbers of the sentences that do.
#[derive(Debug, Default)]
struct Said {
    formula: Option<(f64, f64)>,
    bounds: Option<(f64, f64)>,
    by: Vec<usize>,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut rules: BTreeMap<&Value, Said> = BTreeMap::new();
    let mut asked: Vec<(&Value, &Value, usize)> = Vec::new();
    let mut readings: BTreeMap<&Value, Vec<(Reading, usize)>> = BTreeMap::new();
    for (n, g) in given.iter().enumerate().filter(|(_, g)| !g.planned) {
        match (INPUTS.get(g.input), g.values) {
            (Some(Input::Formula), [rule, Value::Number(scale), Value::Number(rate)]) => {
                let said = rules.entry(rule).or_default();
                said.formula = Some((scale.middle(), rate.middle()));
                said.by.push(n);
            }
            (Some(Input::Bounds), [rule, Value::Quantity(least), Value::Quantity(floor)]) => {
                let said = rules.entry(rule).or_default();
                said.bounds = Some((least.size.middle(), floor.size.middle() * 1440.0));
                said.by.push(n);
            }
            (Some(Input::Asked), [level, rule]) => asked.push((level, rule, n)),
            (Some(Input::Reading), values) => {
                if let Some((thing, reading)) = clocked(values) {
                    readings.entry(thing).or_default().push((reading, n));
                }
            }
            _ => {}
        }
    }
    let mut out = Vec::new();
    for (rule, said) in &rules {
        let (Some((scale, rate)), Some((least, floor))) = (said.formula, said.bounds) else { continue };
        let law = Law { scale, rate, floor, least };
        for (level, _, n) in asked.iter().filter(|(_, of, _)| of == rule) {
            let Value::Quantity(q) = level else { continue };
            // The cooler end of a range asks for the longer time.
            let ends = (law.asks(q.size.high()), law.asks(q.size.low()));
            let (Some(short), Some(long)) = ends else { continue };
            let time =
                Quantity { size: Range::new(short / 1440.0, long / 1440.0), dimension: Dimension::Duration };
            let values = vec![(*rule).clone(), (*level).clone(), Value::Quantity(time)];
            let witnesses = said.by.iter().copied().chain([*n]).collect();
            out.push(Reckoned { output: 0, values, witnesses, numbers: Vec::new() });
        }
        for (thing, list) in &mut readings {
            list.sort_unstable();
            let plain: Vec<Reading> = list.iter().map(|(r, _)| *r).collect();
            for stretch in had(&plain, &law) {
                let read = stretch.readings.iter().filter_map(|i| list.get(*i)).map(|(_, n)| *n);
                let witnesses = read.chain(said.by.iter().copied()).collect();
                let values = vec![
                    (*thing).clone(),
                    Value::Number(stretch.share),
                    (*rule).clone(),
                    Value::Days(Days::on(stretch.day)),
                ];
                out.push(Reckoned { output: 1, values, witnesses, numbers: Vec::new() });
            }
        }
    }
    out
}
