//! How much of what reached where, how much is left, and whether more was used than came in.
//!
//! Comes in: a [`Story`]. Goes out: for every thing and source the amount that arrived by each day,
//! what is left of what came in, what was used up, what was overdrawn. It rounds nothing and guesses
//! no size: what nobody wrote is a bound, not a figure.
//!
//! In every stock: what came in = what went out + what is left, source by source, to rounding, as long
//! as amounts are sure and nobody takes more than there is.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    interval::{Interval, blend},
    lineage::{Step, StepKind, Story, Take},
};
use crate::measure::{date::Days, unit::Dimension, value::Quantity};

/// Smallest part of what came in that still counts as something: less is rounding.
const TRACE: f64 = 1e-9;

/// What became of every thing.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// One stock for each thing of the story, by its number.
    pub stocks: Vec<Stock>,
    /// What arrived: by thing, source and dimension (`None`: nobody wrote how much).
    pub arrived: BTreeMap<(usize, usize, Option<Dimension>), Arrived>,
}

/// One stock as it stands after the last event.
#[derive(Debug, Clone)]
pub struct Stock {
    /// What its amounts measure; `None` if unknown, or volumes and masses went in together.
    pub dimension: Option<Dimension>,
    /// What came in.
    pub came: Interval,
    /// What is left.
    pub left: Interval,
    /// What surely went out, stated amounts as stated.
    pub used: Interval,
    /// Share of each source in what is left, itself not named.
    pub shares: BTreeMap<usize, Interval>,
    /// The day it was used up, if nothing is left and nothing came in since.
    pub used_up: Option<Days>,
    /// The first day by which surely more was used than had come in by the diary's end.
    pub overdrawn: Option<Days>,
    /// Tags of the events that filled it.
    pub filled_by: BTreeSet<usize>,
    /// Tags of the events that drew on it.
    pub drawn_by: BTreeSet<usize>,
    begun: bool,
}

/// What arrived of one source at one thing, by one dimension.
#[derive(Debug, Clone, Default)]
pub struct Arrived {
    /// Each arrival in order of day: when, how much, and the tag of the event that brought it.
    pub each: Vec<(Days, Interval, usize)>,
    sum: Option<Interval>,
}

impl Arrived {
    /// All that arrived.
    pub fn total(&self) -> Interval {
        self.sum.unwrap_or(Interval::NONE)
    }

    /// When the last of it arrived.
    pub fn last(&self) -> Option<Days> {
        self.each.last().map(|(days, ..)| *days)
    }

    /// The tags of the events that brought it.
    pub fn brought_by(&self) -> BTreeSet<usize> {
        self.each.iter().map(|(.., tag)| *tag).collect()
    }

    fn add(&mut self, days: Days, amount: Interval, tag: usize) {
        self.sum = Some(self.total().plus(amount));
        self.each.push((days, amount, tag));
    }
}

impl Ledger {
    /// What is left of a thing, where that is known at all: a dimension, and a bound.
    pub fn left(&self, thing: usize) -> Option<Quantity> {
        let stock = self.stocks.get(thing).filter(|s| s.came.high > 0.0 && s.came.high.is_finite())?;
        Some(Quantity { size: stock.left.range()?, dimension: stock.dimension? })
    }
}

/// Follows the amounts through every event.
pub fn flow(story: &Story) -> Ledger {
    flow_sealed(story, &BTreeSet::new())
}

/// The same, but what leaves a sealed thing is counted as that thing alone, not as what went into it: for
/// things whose content was measured as a whole.
pub fn flow_sealed(story: &Story, sealed: &BTreeSet<usize>) -> Ledger {
    let mut ledger = Ledger { stocks: opening(story), arrived: BTreeMap::new() };
    for step in &story.events {
        match step.act {
            StepKind::Begin => begin(&mut ledger, step),
            StepKind::Flow => draw(&mut ledger, story, sealed, step),
            // All of it lay there: nothing came.
            StepKind::DigIn if step.take == Take::Trace => {}
            StepKind::DigIn => draw(&mut ledger, story, sealed, step),
        }
    }
    mark_overdrawn(&mut ledger, story);
    ledger
}

/// Stocks before the first event. A thing that is drawn on but never filled holds an unknown amount.
fn opening(story: &Story) -> Vec<Stock> {
    let mut filled = vec![false; story.things.len()];
    let mut fills: Vec<BTreeSet<Dimension>> = vec![BTreeSet::new(); story.things.len()];
    for s in &story.events {
        let Some(to) = (if s.act == StepKind::Begin { Some(s.from) } else { s.into }) else { continue };
        let brought = match (s.take, s.act) {
            (Take::Amount(q), _) => BTreeSet::from([q.dimension]),
            (_, StepKind::Begin) => BTreeSet::new(),
            _ => fills.get(s.from).cloned().unwrap_or_default(),
        };
        if let (Some(set), Some(flag)) = (fills.get_mut(to), filled.get_mut(to)) {
            set.extend(brought);
            *flag = true;
        }
    }
    // The dimension a stock is reckoned in is settled before the first event, so that it does not
    // depend on which load came first: the one its stated amounts share.
    fills
        .into_iter()
        .zip(filled)
        .map(|(set, filled)| {
            let one = if set.len() == 1 { set.first().copied() } else { None };
            let known = if filled { Interval::NONE } else { Interval::UNKNOWN };
            Stock {
                dimension: one,
                came: known,
                left: known,
                used: Interval::NONE,
                shares: BTreeMap::new(),
                used_up: None,
                overdrawn: None,
                filled_by: BTreeSet::new(),
                drawn_by: BTreeSet::new(),
                begun: false,
            }
        })
        .collect()
}

fn begin(ledger: &mut Ledger, step: &Step) {
    let Some(stock) = ledger.stocks.get_mut(step.from) else { return };
    let amount = match step.take {
        Take::Amount(q) if Some(q.dimension) == stock.dimension => Interval::of(q.size),
        _ => Interval::UNKNOWN,
    };
    for share in stock.shares.values_mut() {
        *share = blend(stock.left, *share, amount, Interval::NONE);
    }
    stock.came = stock.came.plus(amount);
    stock.left = stock.left.plus(amount);
    stock.filled_by.insert(step.tag);
    stock.used_up = None;
    stock.begun = true;
}

/// What one event takes along.
struct Load {
    amount: Interval,
    dimension: Option<Dimension>,
    /// Amount and share of each source in it.
    sources: BTreeMap<usize, (Interval, Interval)>,
}

fn draw(ledger: &mut Ledger, story: &Story, sealed: &BTreeSet<usize>, step: &Step) {
    let Some(load) = take(ledger, story, sealed, step) else { return };
    let Some(into) = step.into else { return };
    for whole in story.wholes.get(into).cloned().unwrap_or_else(|| vec![into]) {
        arrive(ledger, story, step, whole, &load, Interval::WHOLE, whole == into);
    }
    for (part, share) in story.parts.get(into).cloned().unwrap_or_default() {
        arrive(ledger, story, step, part, &load, Interval::of(share), false);
    }
}

/// Takes a load out of its stock.
fn take(ledger: &mut Ledger, story: &Story, sealed: &BTreeSet<usize>, step: &Step) -> Option<Load> {
    let stock = ledger.stocks.get_mut(step.from)?;
    let there = stock.left;
    let own = stock.dimension;
    let (amount, dimension, known) = match step.take {
        Take::Amount(q) => (Interval::of(q.size), Some(q.dimension), own == Some(q.dimension)),
        Take::Share(s) => (there.times(Interval::of(s).capped(1.0)), own, own.is_some()),
        Take::Some | Take::Trace => (there.perhaps(), own, false),
    };
    stock.left = match step.take {
        Take::Trace => there,
        Take::Share(s) => {
            let s = Interval::of(s).capped(1.0);
            there.times(Interval::new(1.0 - s.high, 1.0 - s.low))
        }
        _ if known => there.minus(amount),
        _ => there.perhaps(),
    };
    if known {
        stock.used = stock.used.plus(amount);
    } else {
        stock.used = Interval::new(stock.used.low, f64::INFINITY);
    }
    stock.drawn_by.insert(step.tag);
    let all = stock.came.high;
    if stock.left.high <= TRACE * all && all.is_finite() && all > 0.0 {
        stock.left = Interval::NONE;
        stock.used_up.get_or_insert(step.days);
    }
    let shares = if sealed.contains(&step.from) { BTreeMap::new() } else { stock.shares.clone() };
    let begun = stock.begun;

    let mut sources = BTreeMap::new();
    for (source, share) in shares {
        let mut part = if share == Interval::WHOLE || (dimension.is_some() && dimension == own) {
            amount.times(share)
        } else {
            amount.times(Interval::ANY_SHARE)
        };
        // No more of a source can leave than arrived, where all of it arrived by this measure.
        if !begun && dimension.is_some() {
            part = part.capped(arrived_at_most(ledger, step.from, source, dimension));
        }
        sources.insert(source, (part, share));
    }
    for whole in story.wholes.get(step.from).into_iter().flatten() {
        sources.insert(*whole, (amount, Interval::WHOLE));
    }
    Some(Load { amount, dimension, sources })
}

/// Most of a source that can have arrived, counted in one dimension; infinite if any came uncounted.
fn arrived_at_most(ledger: &Ledger, thing: usize, source: usize, dimension: Option<Dimension>) -> f64 {
    let mut most = f64::INFINITY;
    for ((_, _, d), arrived) in of_source(ledger, thing, source) {
        if *d != dimension {
            return f64::INFINITY;
        }
        most = arrived.total().high;
    }
    most
}

fn of_source(
    ledger: &Ledger,
    thing: usize,
    source: usize,
) -> impl Iterator<Item = (&(usize, usize, Option<Dimension>), &Arrived)> {
    ledger
        .arrived
        .range((thing, source, None)..)
        .take_while(move |((t, s, _), _)| (*t, *s) == (thing, source))
}

/// Puts a load, or a part of it, into a thing. `fills` is false for the wholes and parts of the thing
/// the event names: stuff is there, but it was put there once only.
fn arrive(
    ledger: &mut Ledger,
    story: &Story,
    step: &Step,
    at: usize,
    load: &Load,
    part: Interval,
    fills: bool,
) {
    // Stuff that comes home, or only passes between a thing and its own parts, is nothing new there.
    if at == step.from || story.wholes.get(step.from).is_some_and(|w| w.contains(&at)) {
        return;
    }
    // Where the day is a span it may not have come yet: nothing of it is sure in a mix.
    let sure = step.days.first == step.days.last;
    let amount = load.amount.times(part);
    for (source, (brought, _)) in &load.sources {
        if *source == at {
            continue;
        }
        let brought = brought.times(part);
        let dimension = if brought.high.is_finite() { load.dimension } else { None };
        ledger.arrived.entry((at, *source, dimension)).or_default().add(step.days, brought, step.tag);
    }
    let Some(stock) = ledger.stocks.get_mut(at) else { return };
    let comparable = load.dimension.is_some() && load.dimension == stock.dimension;
    let added = if comparable { amount } else { Interval::UNKNOWN };
    let added_to_mix = if sure { added } else { added.perhaps() };
    let named: BTreeSet<usize> =
        stock.shares.keys().chain(load.sources.keys()).copied().filter(|s| *s != at).collect();
    for source in named {
        let old = stock.shares.get(&source).copied().unwrap_or(Interval::NONE);
        let new = load.sources.get(&source).map_or(Interval::NONE, |(_, share)| *share);
        let share = blend(stock.left, old, added_to_mix, new);
        stock.shares.insert(source, share);
    }
    if fills || !comparable {
        stock.came = stock.came.plus(added);
    }
    stock.left = stock.left.plus(added);
    stock.filled_by.insert(step.tag);
    stock.used_up = None;
}

/// Finds the first day by which surely more was used of a stock than ever came in.
fn mark_overdrawn(ledger: &mut Ledger, story: &Story) {
    let mut used: Vec<f64> = vec![0.0; story.things.len()];
    for step in &story.events {
        let Take::Amount(q) = step.take else { continue };
        if step.act == StepKind::Begin {
            continue;
        }
        let Some(stock) = ledger.stocks.get_mut(step.from) else { continue };
        if stock.dimension != Some(q.dimension) || !stock.drawn_by.contains(&step.tag) {
            continue;
        }
        let Some(sum) = used.get_mut(step.from) else { continue };
        *sum += q.size.low();
        let all = stock.came.high;
        if all.is_finite() && all > 0.0 && *sum > all * (1.0 + TRACE) {
            stock.overdrawn.get_or_insert(step.days);
        }
    }
}
