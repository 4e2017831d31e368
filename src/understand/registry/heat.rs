//! `heat held`: from clocked readings and the levels asked for to times surely and at most held.
//!
//! Comes in: readings, levels. Goes out: two sentences for each thing, stretch of readings and level.
//! The straight lines are drawn in `reckon::heat`.

use std::collections::{BTreeMap, BTreeSet};

use super::inputs;
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::heat::{Reading, held},
};

inputs! {
    Reading = "{thing} was at {temperature:temperature} at {clock:clock} on {day:date}",
    Level = "a heat of {level:temperature} is asked of substrate",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{batch} was surely at or above {level:temperature} for {low:duration} on {day:date}",
    "{batch} was at most at or above {level:temperature} for {high:duration} on {day:date}",
];

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut levels: BTreeMap<Quantity, BTreeSet<usize>> = BTreeMap::new();
    let mut readings: BTreeMap<&Value, Vec<(Reading, usize)>> = BTreeMap::new();
    for (n, g) in given.iter().enumerate().filter(|(_, g)| !g.planned) {
        match (INPUTS.get(g.input), g.values) {
            (Some(Input::Level), [Value::Quantity(q)]) => {
                levels.entry(*q).or_default().insert(n);
            }
            (Some(Input::Reading), values) => {
                if let Some((thing, reading)) = clocked(values) {
                    readings.entry(thing).or_default().push((reading, n));
                }
            }
            _ => {}
        }
    }
    let mut out = Vec::new();
    for (thing, mut list) in readings {
        list.sort_unstable();
        let plain: Vec<Reading> = list.iter().map(|(r, _)| *r).collect();
        for (level, said) in &levels {
            for h in held(&plain, level.size.middle()) {
                let mut witnesses: Vec<usize> =
                    h.readings.iter().filter_map(|i| list.get(*i)).map(|(_, n)| *n).collect();
                witnesses.extend(said.iter().take(1));
                let day = Value::Days(crate::measure::date::Days::on(h.day));
                let numbers = vec![
                    (
                        "longest gap".to_owned(),
                        duration(f64::from(i32::try_from(h.longest_gap).unwrap_or(0))),
                    ),
                    ("highest reading".to_owned(), celsius(h.highest)),
                ];
                for (output, minutes) in [(0, h.surely), (1, h.at_most)] {
                    out.push(Reckoned {
                        output,
                        values: vec![thing.clone(), Value::Quantity(*level), duration(minutes), day.clone()],
                        witnesses: witnesses.clone(),
                        numbers: numbers.clone(),
                    });
                }
            }
        }
    }
    out
}

/// What was read, and the reading: a thing, its temperature, clock and day.
pub(super) fn clocked(values: &[Value]) -> Option<(&Value, Reading)> {
    match values {
        // A reading on a span of days has no place on a line.
        [thing, Value::Quantity(t), Value::Clock(minute), Value::Days(d)] if d.is_known() => {
            Some((thing, Reading { day: d.first, minute: *minute, celsius: t.size }))
        }
        _ => None,
    }
}

/// Minutes as a duration; rounded to a tenth of a second, far below what a thermometer tells.
fn duration(minutes: f64) -> Value {
    let minutes = (minutes * 600.0).round() / 600.0;
    Value::Quantity(Quantity { size: Range::exact(minutes / 1440.0), dimension: Dimension::Duration })
}

fn celsius(t: f64) -> Value {
    Value::Quantity(Quantity { size: Range::exact(t), dimension: Dimension::Temperature })
}
