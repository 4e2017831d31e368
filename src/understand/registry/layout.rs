//! `layout`: which plots of a piece of ground get which treatment, drawn by lot.
//!
//! Comes in: the treatments a piece of ground is to try, how many plots of each, and a seed. Goes out: the
//! numbers of the plots of each treatment. The drawing is done in `reckon::layout`.

use std::collections::{BTreeMap, BTreeSet};

use super::inputs;
use crate::{
    measure::value::Value,
    model::program::{Given, Reckoned},
    reckon::layout::blocks,
};

inputs! {
    Tries = "{place} is to try {arm}",
    Plots = "{place} is to have {each:number} plots of each",
    Seed = "the plots of {place} are drawn with seed {seed:number}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "the plots of {place} drawn for {arm} are {numbers:text}",
    "{place} is parted into {plots:number} plots",
];

/// What one piece of ground is to have. Numbers are of the sentences that say so.
#[derive(Debug, Default)]
struct Wanted<'a> {
    arms: BTreeSet<&'a Value>,
    each: Option<usize>,
    seed: Option<u64>,
    by: Vec<usize>,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut all: BTreeMap<&Value, Wanted<'_>> = BTreeMap::new();
    for (n, g) in given.iter().enumerate() {
        let (Some(input), [place, .., last]) = (INPUTS.get(g.input), g.values) else { continue };
        let wanted = all.entry(place).or_default();
        match input {
            Input::Tries => {
                wanted.arms.insert(last);
            }
            Input::Plots => wanted.each = whole(last),
            Input::Seed => wanted.seed = whole(last).and_then(|n| u64::try_from(n).ok()),
        }
        wanted.by.push(n);
    }
    all.iter().flat_map(|(place, wanted)| tell(place, wanted)).collect()
}

fn tell(place: &Value, wanted: &Wanted<'_>) -> Vec<Reckoned> {
    let (Some(each), Some(seed)) = (wanted.each, wanted.seed) else { return Vec::new() };
    let arms: Vec<&Value> = wanted.arms.iter().copied().collect();
    let drawn = blocks(arms.len(), each, mixed(seed, place));
    if drawn.is_empty() {
        return Vec::new();
    }
    let mut out = Vec::new();
    for (n, arm) in arms.into_iter().enumerate() {
        let plots = drawn.iter().enumerate().filter(|(_, a)| **a == n).map(|(i, _)| (i + 1).to_string());
        let plots = plots.collect::<Vec<_>>().join(", ");
        let values = vec![place.clone(), arm.clone(), Value::word(plots)];
        out.push(Reckoned { output: 0, values, witnesses: wanted.by.clone(), numbers: Vec::new() });
    }
    let count = Value::number(f64::from(u32::try_from(drawn.len()).unwrap_or(u32::MAX)));
    let values = vec![place.clone(), count];
    out.push(Reckoned { output: 1, values, witnesses: wanted.by.clone(), numbers: Vec::new() });
    out
}

/// The seed with the place's name in it, so that two beds do not get the same layout (FNV-1a, 64 bits).
fn mixed(seed: u64, place: &Value) -> u64 {
    let name = match place {
        Value::Thing(thing) => &*thing.name,
        _ => "",
    };
    name.bytes().fold(seed ^ 0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

/// A sure whole number, from 0 to a thousand million.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(value: &Value) -> Option<usize> {
    let Value::Number(n) = value else { return None };
    (n.is_exact() && n.low() >= 0.0 && n.low() <= 1e9).then(|| n.low().round() as usize)
}
