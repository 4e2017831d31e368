//! Where a lot went: through heaps, mixes, beds, animals and hands, in order of day.
//!
//! Comes in: events that moved stuff from one thing to another, with their days and what is known of
//! the amounts. Goes out: what reached what, since when and by which events (`reach`), and how much
//! of it (`flow`). It does not know what any of the things are, nor whether anything is harmful.
//!
//! What is assumed, and what is not:
//! - Stuff in one stock is well mixed, so what leaves carries every source in its share.
//! - Nothing shrinks: rotting, settling and drying are left out, so amounts are as measured when they
//!   were moved (our judgement: no source gives one figure for the loss).
//! - A thing that may have held something before the diary begins has an unknown amount in it.
//! - Within one day things happen in the order that lets stuff travel on; the lines' order says nothing.
//! - Volume and mass are never turned into each other here; that needs a density.

use std::collections::{BTreeMap, BTreeSet};

use super::lying::settle;
use crate::measure::{
    date::Days,
    number::Range,
    value::{Quantity, Value},
};

/// How much an event takes from the stock it draws on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Take {
    /// A volume or mass.
    Amount(Quantity),
    /// Some, nobody wrote how much.
    Some,
    /// A share of what is left that day, 0 to 1: half of it, the rest of it.
    Share(Range),
    /// What clings to roots or passes through animals: a link, but nothing is drawn from the stock.
    Trace,
}

/// What an event does.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Act {
    /// So much comes in; `None` if nobody wrote how much, or if it was there before the diary.
    Begin {
        /// What begins.
        stock: Value,
        /// How much.
        amount: Option<Quantity>,
    },
    /// Stuff goes from one thing to another, or out of sight.
    Flow {
        /// Where it is taken from.
        from: Value,
        /// Where it goes; `None` if it leaves the farm's knowledge.
        into: Option<Value>,
        /// How much.
        take: Take,
    },
    /// A lot is worked into the ground. What of it lies there already does not arrive anew.
    DigIn {
        /// What is dug in.
        from: Value,
        /// Where.
        into: Value,
        /// How much.
        take: Take,
    },
    /// Something is done to ground that says what lies on it. Nothing is moved.
    Ground {
        /// The ground.
        place: Value,
        /// What is done.
        deed: Deed,
    },
}

/// What is done to ground, as far as it says what lies on top of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Deed {
    /// It is dug: what came on earlier days is in it, but what is spared.
    Dug {
        /// Lots of which the digging says itself how much is dug in.
        spares: BTreeSet<Value>,
    },
    /// It is dug or turned as it lies: what was spread that day is in it too.
    Turned,
    /// What lay on it is taken off: all of it, or all of one lot.
    Cleared {
        /// The lot.
        of: Option<Value>,
    },
    /// What an event brought lies on top, also of ground that is dug that day.
    Stays {
        /// The event's number.
        of: usize,
    },
    /// What an event brought is at the roots of plants, and never lay on top.
    Rooted {
        /// The event's number.
        of: usize,
    },
}

/// One event, with the caller's number for it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Event {
    /// The day, or a span of days known no better.
    pub days: Days,
    /// What it does.
    pub act: Act,
    /// The caller's number, handed back as a witness.
    pub tag: usize,
}

/// How things lie in each other: portions of a bed, buckets of a batch.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ground {
    /// Part and whole.
    pub parts: BTreeSet<(Value, Value)>,
    /// Areas in m², where known: what reaches a whole is divided over its parts by them.
    pub areas: BTreeMap<Value, Range>,
}

/// Events and ground with every thing numbered in the order of its name, so that results do not
/// depend on the order in which anything was written.
#[derive(Debug, Clone)]
pub struct Story {
    /// The things by their number.
    pub things: Vec<Value>,
    /// Events in order of first day; same-day events by what they do.
    pub events: Vec<Step>,
    /// For each thing, itself and every thing it is a part of.
    pub wholes: Vec<Vec<usize>>,
    /// For each thing, the things that are parts of it with the share of it that they are.
    pub parts: Vec<Vec<(usize, Range)>>,
    /// Days on which stuff went round in a circle, with the things in the circle.
    pub circles: Vec<(Days, Vec<usize>)>,
}

/// An event with numbers for things.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The day or span.
    pub days: Days,
    /// The thing drawn on, or that begins.
    pub from: usize,
    /// Where it goes.
    pub into: Option<usize>,
    /// How much; for a beginning `Take::Amount` or `Take::Some`.
    pub take: Take,
    /// Which kind of act.
    pub act: StepKind,
    /// The caller's number.
    pub tag: usize,
}

/// Which kind of act a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepKind {
    /// Comes in.
    Begin,
    /// Goes from one to the other.
    Flow,
    /// Is worked in: so much of it did not lie there before, [`Take::Trace`] if all did.
    DigIn,
}

/// Numbers the things and puts the events in an order in which stuff can travel on.
pub fn story(events: &[Event], ground: &Ground) -> Story {
    let mut names: BTreeSet<&Value> = BTreeSet::new();
    for e in events {
        match &e.act {
            Act::Begin { stock, .. } => {
                names.insert(stock);
            }
            Act::Flow { from, into, .. } => {
                names.insert(from);
                names.extend(into);
            }
            Act::DigIn { from, into, .. } => {
                names.insert(from);
                names.insert(into);
            }
            Act::Ground { .. } => {}
        }
    }
    for (part, whole) in &ground.parts {
        names.insert(part);
        names.insert(whole);
    }
    let things: Vec<Value> = names.into_iter().cloned().collect();
    let number = |v: &Value| things.binary_search(v).unwrap_or(0);

    let (wholes, parts) = lie(&things, ground, &number);
    let mut steps: Vec<Step> = events.iter().filter_map(|e| step(e, &number)).collect();
    steps.sort_by_key(order);
    let mut circles = Vec::new();
    let mut sorted = Vec::with_capacity(steps.len());
    for day in steps.chunk_by(|a, b| a.days.first == b.days.first) {
        sort_day(day, &wholes, &parts, &mut sorted, &mut circles);
    }
    let known = |v: &Value| things.binary_search(v).ok();
    settle(&mut sorted, events, &known, &wholes, &parts);
    Story { things, events: sorted, wholes, parts, circles }
}

fn step(e: &Event, number: &dyn Fn(&Value) -> usize) -> Option<Step> {
    let (act, from, into, take) = match &e.act {
        Act::Begin { stock, amount } => {
            (StepKind::Begin, number(stock), None, amount.map_or(Take::Some, Take::Amount))
        }
        Act::Flow { from, into, take } => (StepKind::Flow, number(from), into.as_ref().map(number), *take),
        Act::DigIn { from, into, take } => (StepKind::DigIn, number(from), Some(number(into)), *take),
        Act::Ground { .. } => return None,
    };
    Some(Step { days: e.days, from, into, take, act, tag: e.tag })
}

/// The order of the list before days are sorted: nothing in it depends on where a line stands, but
/// for the tag, which decides only between events that are the same in all else.
fn order(s: &Step) -> (Days, StepKind, Take, usize, Option<usize>, usize) {
    (s.days, s.act, s.take, s.from, s.into, s.tag)
}

/// The parts of one thing, each with its share of the whole.
type Shares = Vec<(usize, Range)>;

/// Wholes (itself first) and parts of every thing, through any depth; a thing that is a part of
/// itself in a circle is taken once.
fn lie(
    things: &[Value],
    ground: &Ground,
    number: &dyn Fn(&Value) -> usize,
) -> (Vec<Vec<usize>>, Vec<Shares>) {
    let mut direct: Vec<Vec<usize>> = vec![Vec::new(); things.len()];
    for (part, whole) in &ground.parts {
        if let Some(list) = direct.get_mut(number(part)) {
            list.push(number(whole));
        }
    }
    let wholes: Vec<Vec<usize>> = (0..things.len())
        .map(|start| {
            let mut seen = vec![start];
            let mut next = 0;
            while let Some(at) = seen.get(next).copied() {
                for w in direct.get(at).into_iter().flatten() {
                    if !seen.contains(w) {
                        seen.push(*w);
                    }
                }
                next += 1;
            }
            seen
        })
        .collect();
    let area = |n: usize| things.get(n).and_then(|v| ground.areas.get(v)).copied();
    let mut parts: Vec<Vec<(usize, Range)>> = vec![Vec::new(); things.len()];
    for (part, up) in wholes.iter().enumerate() {
        for whole in up.iter().skip(1) {
            let share = match (area(part), area(*whole)) {
                (Some(p), Some(w)) if w.low() > 0.0 => {
                    Range::new((p.low() / w.high()).min(1.0), (p.high() / w.low()).min(1.0))
                }
                _ => Range::new(0.0, 1.0),
            };
            if let Some(list) = parts.get_mut(*whole) {
                list.push((part, share));
            }
        }
    }
    (wholes, parts)
}

/// One day's steps, so that stuff arrives in a thing before it is taken out of it. Amounts are taken
/// before shares, and a half before the rest. What goes round in a circle within the day is cut at the
/// first thing by name, and told.
fn sort_day(
    day: &[Step],
    wholes: &[Vec<usize>],
    parts: &[Vec<(usize, Range)>],
    out: &mut Vec<Step>,
    circles: &mut Vec<(Days, Vec<usize>)>,
) {
    let mut inflows: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for s in day {
        inflows.entry(s.from).or_default();
        for at in s.into.into_iter().flat_map(|into| touched(into, wholes, parts)) {
            if at != s.from {
                inflows.entry(at).or_default().insert(s.from);
            }
        }
    }
    let mut rank: BTreeMap<usize, usize> = BTreeMap::new();
    while rank.len() < inflows.len() {
        let ready = |n: &usize| inflows.get(n).is_some_and(|f| f.iter().all(|p| rank.contains_key(p)));
        let open: Vec<usize> = inflows.keys().copied().filter(|n| !rank.contains_key(n)).collect();
        let free: Vec<usize> = open.iter().copied().filter(ready).collect();
        let chosen = if free.is_empty() {
            if let (Some(first), Some(s)) = (open.first(), day.first()) {
                circles.push((s.days, circle(*first, &inflows, &rank)));
            }
            open.into_iter().take(1).collect()
        } else {
            free
        };
        for n in chosen {
            let next = rank.len();
            rank.insert(n, next);
        }
    }
    let mut steps: Vec<Step> = day.to_vec();
    steps.sort_by_key(|s| {
        let begins = s.act != StepKind::Begin;
        (begins, rank.get(&s.from).copied(), s.act, s.take, s.into, s.days, s.tag)
    });
    out.extend(steps);
}

/// The things of a circle through or before `start`: walk back over unsorted givers until one repeats.
fn circle(
    start: usize,
    inflows: &BTreeMap<usize, BTreeSet<usize>>,
    rank: &BTreeMap<usize, usize>,
) -> Vec<usize> {
    let mut walk = vec![start];
    loop {
        let Some(at) = walk.last() else { return walk };
        let Some(back) = inflows.get(at).and_then(|f| f.iter().find(|p| !rank.contains_key(p))) else {
            return walk;
        };
        if let Some(from) = walk.iter().position(|n| n == back) {
            let mut round = walk.split_off(from);
            round.sort_unstable();
            return round;
        }
        walk.push(*back);
    }
}

/// Every thing that stuff arriving in `into` arrives in: itself, what it is part of, its parts.
pub fn touched(into: usize, wholes: &[Vec<usize>], parts: &[Vec<(usize, Range)>]) -> Vec<usize> {
    let mut all: Vec<usize> = wholes.get(into).cloned().unwrap_or_else(|| vec![into]);
    all.extend(parts.get(into).into_iter().flatten().map(|(p, _)| *p));
    all
}
