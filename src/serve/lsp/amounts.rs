//! Amounts beside a line: what a count of containers comes to, what another measure is in the farm's own,
//! and how much of what it names is in the places it names.
//!
//! Comes in: a check and an entry. Goes out: words, each with where they belong. Where the line says it
//! already in the farm's own measure, nothing is added.

use std::collections::BTreeMap;

use super::round::Round;
use crate::{
    measure::{
        display, number,
        unit::{self, Unit},
        value::{Quantity, Value},
    },
    model::entry::{Entry, Filler},
};

/// The most places told of at one line.
const PLACES: usize = 3;

/// What an amount is in the farm's own measure, at the byte after it, where it is written otherwise.
pub fn converted(round: &Round, entry: &Entry) -> Vec<(u32, String)> {
    let slots = entry.groups.iter().flat_map(|g| &g.slots).filter(|f| f.loc.file == entry.loc.file);
    let mut found: Vec<(u32, String)> = slots
        .filter_map(|filled| {
            let Filler::Value(Value::Quantity(amount)) = &filled.filler else { return None };
            let written = round.checked.sources.slice(filled.loc);
            Some((filled.loc.span.end, format!("= {}", otherwise(round, *amount, written)?)))
        })
        .collect();
    found.dedup();
    found
}

/// An amount in words, if it is written in a container's word or a foreign unit.
fn otherwise(round: &Round, amount: Quantity, written: &str) -> Option<String> {
    let units = &round.checked.diary.units;
    let (_, length) = number::read(written)?;
    let word = written.get(length..)?.trim_start_matches([' ', '-']);
    let Some((meant, _)) = unit::read(word) else {
        return Some(display::quantity(amount, units));
    };
    let own: Unit = *units.get(&amount.dimension)?.first()?;
    let used = meant.settle(None)?;
    let is_metric =
        |unit: Unit| unit.0.ends_with(['m', 'g', 'l', 'C', '2', '3', 'a']) && !unit.is_customary();
    let foreign = used.is_customary() && is_metric(own) || own.is_customary() && is_metric(used);
    let own_alone = BTreeMap::from([(amount.dimension, vec![own])]);
    foreign.then(|| display::quantity(amount, &own_alone))
}

/// How much of a thing the entry names is in places it names.
pub fn shares(entry: &Entry, shares: &BTreeMap<(Value, Value), String>) -> Option<String> {
    let things: Vec<&Value> = entry
        .groups
        .iter()
        .flat_map(|g| &g.slots)
        .filter_map(|f| match &f.filler {
            Filler::Value(value @ Value::Thing(_)) => Some(value),
            _ => None,
        })
        .collect();
    let mut told: Vec<String> = Vec::new();
    for source in &things {
        for place in &things {
            let found = shares.get(&((*source).clone(), (*place).clone()));
            if let (Some(words), Value::Thing(place)) = (found, place) {
                let text = format!("{} has {words}", place.name);
                if !told.contains(&text) {
                    told.push(text);
                }
            }
        }
    }
    let more = told.len().saturating_sub(PLACES);
    told.truncate(PLACES);
    if more > 0 {
        told.push(format!("{more} more"));
    }
    (!told.is_empty()).then(|| told.join("; "))
}
