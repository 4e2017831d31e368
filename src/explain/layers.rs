//! What was put on top of a place and is there no more, because somebody took it off.
//!
//! Comes in: the sentences of what was put on top, dug in and taken off. Goes out: for a source and a place, the day
//! it was taken off, the rows that say so, and what was assumed where the line named no lot. It concludes nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::{Known, content, say};
use crate::{
    measure::{date::Days, value::Value},
    model::{explanation::TakenOff, outcome::RowRef},
};

/// The sentences read, as their pages declare them.
const PUT: &str = "{stuff} was put on top of {place} on {day}";
const DUG_IN: &str = "{stuff} put on top of {place} on {came} was dug in on {day}";
const OFF: &str = "all {stuff} on top of {place} was taken off on {day}";
const REMOVED: &str = "{lot} was removed from {from} on {day}";
const MULCH: &str = "the mulch of {from} was taken off on {day}";
const MATERIAL: &str = "{lot} came in as {material}";

/// A source and a place.
type Pair = (Value, Value);

/// What was taken off, by source and place.
pub struct Layers {
    off: BTreeMap<Pair, (Days, RowRef)>,
    /// Of what only some was taken off.
    some: BTreeMap<Pair, (Days, RowRef)>,
    /// Lines that name something taken off a place on a day.
    named: BTreeSet<(Value, Value, Days)>,
    /// Lines that name the mulch alone.
    mulch: BTreeSet<(Value, Days)>,
    material: BTreeMap<Value, Value>,
}

impl Layers {
    /// Reads the sentences.
    pub fn of(known: &Known<'_>) -> Self {
        let mut puts: BTreeMap<Pair, BTreeSet<Days>> = BTreeMap::new();
        for (_, values) in rows(known, PUT) {
            if let [stuff, place, Value::Days(day)] = values.as_slice() {
                puts.entry((stuff.clone(), place.clone())).or_default().insert(*day);
            }
        }
        let mut dug: BTreeMap<(Pair, Days), Days> = BTreeMap::new();
        for (_, values) in rows(known, DUG_IN) {
            if let [stuff, place, Value::Days(came), Value::Days(day)] = values.as_slice() {
                let key = ((stuff.clone(), place.clone()), *came);
                let first = dug.entry(key).or_insert(*day);
                *first = (*first).min(*day);
            }
        }
        let mut out = Self {
            off: BTreeMap::new(),
            some: BTreeMap::new(),
            named: BTreeSet::new(),
            mulch: BTreeSet::new(),
            material: BTreeMap::new(),
        };
        for (_, values) in rows(known, MATERIAL) {
            if let [lot, material] = values.as_slice() {
                out.material.insert(lot.clone(), material.clone());
            }
        }
        for (_, values) in rows(known, MULCH) {
            if let [place, Value::Days(day)] = values.as_slice() {
                out.mulch.insert((place.clone(), *day));
            }
        }
        let lay_there = |pair: &Pair, day: Days| {
            puts.get(pair).is_some_and(|came| {
                came.iter().any(|came| {
                    let dug = dug.get(&(pair.clone(), *came)).is_some_and(|dug| dug.first <= day.first);
                    came.first <= day.last && !dug
                })
            })
        };
        for (row, values) in rows(known, OFF) {
            let [stuff, place, Value::Days(day)] = values.as_slice() else { continue };
            let pair = (stuff.clone(), place.clone());
            if lay_there(&pair, *day) {
                let last = out.off.entry(pair).or_insert((*day, row));
                *last = (*last).max((*day, row));
            }
        }
        for (row, values) in rows(known, REMOVED) {
            let [what, place, Value::Days(day)] = values.as_slice() else { continue };
            out.named.insert((what.clone(), place.clone(), *day));
            for pair in puts.keys().filter(|(_, at)| at == place) {
                let called = pair.0 == *what || out.material.get(&pair.0) == Some(what);
                let all = out.off.get(pair).is_some_and(|(off, _)| off == day);
                if called && !all && lay_there(pair, *day) {
                    out.some.insert(pair.clone(), (*day, row));
                }
            }
        }
        out
    }

    /// What was taken off of a source in a place, with the rows that say so.
    pub fn taken_off(&self, known: &Known<'_>, source: &Value, place: &Value) -> Option<(TakenOff, RowRef)> {
        let pair = (source.clone(), place.clone());
        let (all, (day, row)) = match (self.off.get(&pair), self.some.get(&pair)) {
            (Some(off), some) if some.is_none_or(|some| some.0 <= off.0) => (true, *off),
            (_, Some(some)) => (false, *some),
            _ => return None,
        };
        let on = crate::measure::date::words(day);
        let assumed = self.assumed(known, &pair, day, all);
        Some((TakenOff { all, on, assumed, lines: Vec::new() }, row))
    }

    /// What was assumed where the line named no lot.
    fn assumed(&self, known: &Known<'_>, (source, place): &Pair, day: Days, all: bool) -> Option<String> {
        if self.named.contains(&(source.clone(), place.clone(), day)) {
            return None;
        }
        let material = self.material.get(source);
        let named = |m: &&Value| self.named.contains(&((*m).clone(), place.clone(), day));
        let word = match material.filter(named) {
            Some(material) => say::value(known, material),
            None if self.mulch.contains(&(place.clone(), day)) => "mulch".to_owned(),
            None => return None,
        };
        let list = if all { &self.off } else { &self.some };
        let like = |other: &Value| word == "mulch" || self.material.get(other) == material;
        let others: Vec<&Value> = list
            .iter()
            .filter(|((other, at), (when, _))| at == place && *when == day && like(other))
            .map(|((other, _), _)| other)
            .collect();
        Some(match (others.as_slice(), all) {
            ([_], _) => format!("the line names no lot; this was the only {word} that lay there"),
            (many, true) => {
                let many = say::listed(known, many.to_vec());
                format!("the line names no lot, so all {word} that lay there is taken to have gone: {many}")
            }
            (many, false) => {
                let many = say::listed(known, many.to_vec());
                format!("the line names no lot, so it may be any {word} that lay there: {many}")
            }
        })
    }
}

/// The rows of a sentence, with their values.
fn rows(known: &Known<'_>, pattern: &str) -> Vec<(RowRef, Vec<Value>)> {
    let rows = content::rows(known, pattern);
    rows.into_iter().map(|row| (row, known.model.tuple(row).values.clone())).collect()
}
