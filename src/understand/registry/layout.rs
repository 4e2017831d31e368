//! `layout`: which plots of a piece of ground get which treatment, drawn by lot.
//!
//! Comes in: the treatments a piece of ground is to try, how many plots of each, a seed, how long the ground is, and
//! where it is to be left bare. Goes out: the numbers of the plots of each treatment, and from where to where each
//! plot lies. The drawing and the measuring are done in `reckon::layout`.

use std::collections::{BTreeMap, BTreeSet};

use super::inputs;
use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::layout::{blocks, pegs},
};

inputs! {
    Tries = "{place} is to try {arm}",
    Plots = "{place} is to have {each:number} plots of each",
    Seed = "the plots of {place} are drawn with seed {seed:number}",
    Long = "{name} is {long:length} long",
    Between = "{place} is to be left bare {width:length} between its plots",
    Around = "{place} is to be left bare {width:length} where {arm} meets another",
    After = "{place} is to be left bare {width:length} after plot {plot:number}",
}

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "the plots of {place} drawn for {arm} are {numbers:text}",
    "{place} is parted into {plots:number} plots",
    "plot {plot:number} of {place} is drawn for {arm}",
    "plot {plot:number} of {place} lies from {from:length} to {to:length}",
    "each plot of {place} is {along:length} long",
    "{bare:length} of {place} is to be left bare in all",
];

/// What one piece of ground is to have. Lengths in metres; numbers are of the sentences that say so.
#[derive(Debug, Default)]
struct Wanted<'a> {
    arms: BTreeSet<&'a Value>,
    each: Option<usize>,
    seed: Option<u64>,
    by: Vec<usize>,
    /// Of several the least, so that what is pegged surely fits.
    long: Option<f64>,
    between: f64,
    around: BTreeMap<&'a Value, f64>,
    after: BTreeMap<usize, f64>,
    strips: Vec<usize>,
}

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let mut all: BTreeMap<&Value, Wanted<'_>> = BTreeMap::new();
    for (n, g) in given.iter().enumerate().filter(|(_, g)| !g.planned) {
        let (Some(input), [place, .., last]) = (INPUTS.get(g.input), g.values) else { continue };
        let wanted = all.entry(place).or_default();
        let wide = g.values.get(1).and_then(length).map_or(0.0, |r| r.high());
        match input {
            Input::Tries => {
                wanted.arms.insert(last);
            }
            Input::Plots => wanted.each = whole(last),
            Input::Seed => wanted.seed = whole(last).and_then(|n| u64::try_from(n).ok()),
            Input::Long => {
                let Some(long) = length(last) else { continue };
                wanted.long = Some(wanted.long.map_or(long.low(), |other| other.min(long.low())));
            }
            Input::Between => wanted.between = wanted.between.max(wide),
            Input::Around => widest(wanted.around.entry(last).or_default(), wide),
            Input::After => {
                let Some(plot) = whole(last) else { continue };
                widest(wanted.after.entry(plot).or_default(), wide);
            }
        }
        match input {
            Input::Tries | Input::Plots | Input::Seed => wanted.by.push(n),
            Input::Long | Input::Between | Input::Around | Input::After => wanted.strips.push(n),
        }
    }
    all.iter().flat_map(|(place, wanted)| tell(place, wanted)).collect()
}

fn widest(old: &mut f64, new: f64) {
    *old = old.max(new);
}

fn tell(place: &Value, wanted: &Wanted<'_>) -> Vec<Reckoned> {
    let (Some(each), Some(seed)) = (wanted.each, wanted.seed) else { return Vec::new() };
    let arms: Vec<&Value> = wanted.arms.iter().copied().collect();
    let drawn = blocks(arms.len(), each, mixed(seed, place));
    if drawn.is_empty() {
        return Vec::new();
    }
    let mut out = Vec::new();
    let drawn_by =
        |output, values| Reckoned { output, values, witnesses: wanted.by.clone(), numbers: Vec::new() };
    for (n, arm) in arms.iter().enumerate() {
        let plots = drawn.iter().enumerate().filter(|(_, a)| **a == n).map(|(i, _)| (i + 1).to_string());
        let plots = plots.collect::<Vec<_>>().join(", ");
        out.push(drawn_by(0, vec![place.clone(), (*arm).clone(), Value::word(plots)]));
    }
    out.push(drawn_by(1, vec![place.clone(), counted(drawn.len())]));
    for (n, arm) in drawn.iter().enumerate() {
        let Some(arm) = arms.get(*arm) else { continue };
        out.push(drawn_by(2, vec![counted(n + 1), place.clone(), (*arm).clone()]));
    }
    let Some(long) = wanted.long else { return out };
    let bare: Vec<f64> = (0..drawn.len()).map(|n| bare_after(wanted, &arms, &drawn, n)).collect();
    let measured_by = |output, values| {
        let witnesses = wanted.by.iter().chain(&wanted.strips).copied().collect();
        Reckoned { output, values, witnesses, numbers: Vec::new() }
    };
    out.push(measured_by(5, vec![metres(bare.iter().sum()), place.clone()]));
    let laid = pegs(long, &bare).unwrap_or_default();
    if let Some((from, to)) = laid.first() {
        out.push(measured_by(4, vec![place.clone(), metres(to - from)]));
    }
    for (n, (from, to)) in laid.into_iter().enumerate() {
        out.push(measured_by(3, vec![counted(n + 1), place.clone(), metres(from), metres(to)]));
    }
    out
}

/// How much is left bare after a plot, in metres: the widest of what is asked for there. After the last plot only what
/// is asked for after it by its number.
fn bare_after(wanted: &Wanted<'_>, arms: &[&Value], drawn: &[usize], n: usize) -> f64 {
    let after = wanted.after.get(&(n + 1)).copied().unwrap_or(0.0);
    let arm = |n: usize| drawn.get(n).and_then(|a| arms.get(*a));
    let (Some(here), Some(next)) = (arm(n), arm(n + 1)) else { return after };
    let around = |arm: &Value| wanted.around.get(arm).copied();
    let meets = match (around(here), around(next)) {
        (Some(width), None) | (None, Some(width)) => width,
        _ => 0.0,
    };
    after.max(wanted.between).max(meets)
}

fn counted(n: usize) -> Value {
    Value::number(f64::from(u32::try_from(n).unwrap_or(u32::MAX)))
}

fn length(value: &Value) -> Option<Range> {
    let Value::Quantity(q) = value else { return None };
    (q.dimension == Dimension::Length).then_some(q.size)
}

fn metres(size: f64) -> Value {
    Value::Quantity(Quantity { size: Range::exact(size), dimension: Dimension::Length })
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
