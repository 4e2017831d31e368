//! How much of what is in a place, in words.
//!
//! Comes in: the reckoned sentences of lineage and of what ground is made up of. Goes out: for each source
//! and place the amount that reached it and, where it is reckoned, its share by weight, or that it lies on top. It
//! reckons nothing.

use std::collections::{BTreeMap, BTreeSet};

use super::{Known, content, say};
use crate::measure::value::Value;

/// The sentences read, as their pages declare them; each with the blanks of figure, source, place, day.
const READ: [(&str, [usize; 4]); 2] = [
    ("{amount} of {source} reached {place} by {day}", [0, 1, 2, 3]),
    ("{share} of {place} by weight is {source} on {day}", [0, 2, 1, 3]),
];

/// What says that something lies on top of a place.
const ON_TOP: &str = "{stuff} lies on top of {place} since {day}";

/// What is known of each source in each place, by the latest day that is no later than today.
pub fn all(known: &Known<'_>) -> BTreeMap<(Value, Value), String> {
    let mut out: BTreeMap<(Value, Value), String> = BTreeMap::new();
    for (n, (pattern, blanks)) in READ.iter().enumerate() {
        let mut latest = BTreeMap::new();
        let id = content::sentence(known, pattern);
        for row in id.into_iter().flat_map(|id| known.model.every(id)) {
            let tuple = known.model.tuple(row);
            let [figure, source, place, day] = blanks.map(|b| tuple.values.get(b));
            let (Some(figure), Some(source), Some(place), Some(Value::Days(day))) =
                (figure, source, place, day)
            else {
                continue;
            };
            // Anything from nothing on says nothing.
            let is_open = matches!(figure, Value::Quantity(q) if *q.size.low == 0.0 && *q.size.high > 0.0);
            if day.first > known.today || is_open {
                continue;
            }
            let found = (*day, say::value(known, figure));
            let entry = latest.entry((source.clone(), place.clone())).or_insert_with(|| found.clone());
            if found.0 > entry.0 {
                *entry = found;
            }
        }
        for (pair, (_, figure)) in latest {
            match (n, out.get_mut(&pair)) {
                (0, _) => {
                    out.insert(pair, figure);
                }
                (_, Some(amount)) => amount.push_str(&format!(", {figure} of it by weight")),
                (_, None) => {
                    out.insert(pair, format!("{figure} by weight"));
                }
            }
        }
    }
    for pair in on_top(known) {
        let entry = out.entry(pair).or_default();
        entry.push_str(if entry.is_empty() { "some on top" } else { ", on top" });
    }
    out
}

/// What lies on top of which place today.
pub fn on_top(known: &Known<'_>) -> BTreeSet<(Value, Value)> {
    content::sentence(known, ON_TOP)
        .into_iter()
        .flat_map(|id| known.model.every(id))
        .filter_map(|row| match known.model.tuple(row).values.as_slice() {
            [stuff, place, ..] => Some((stuff.clone(), place.clone())),
            _ => None,
        })
        .collect()
}
