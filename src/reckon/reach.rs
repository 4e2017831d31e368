//! What reached what, since when, and by which events.
//!
//! Comes in: a [`Story`]. Goes out: for every source and every thing it came to, the first day it can
//! have been there and the chain of events of one earliest way. It weighs no amounts.
//!
//! Days may be spans. An event can hand a source on if its last possible day is not before the
//! source's first possible day in the giver: harm is followed where it may have gone.

use std::{
    cmp::Reverse,
    collections::{BTreeMap, BinaryHeap},
};

use crate::{
    measure::{date::Days, value::Value},
    reckon::lineage::{Step, StepKind, Story, touched},
};

/// A source came to a thing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Reached {
    /// What came.
    pub source: Value,
    /// Where it came to.
    pub place: Value,
    /// The first day it can have been there, to the last day by which it came this way.
    pub days: Days,
    /// The tags of the events of the way, first to last.
    pub way: Vec<usize>,
}

/// Everything that each source kept by `keep` reached, ordered by source, then place.
pub fn reach(story: &Story, keep: impl Fn(&Value) -> bool) -> Vec<Reached> {
    let mut leaving: BTreeMap<usize, Vec<&Step>> = BTreeMap::new();
    for s in story.events.iter().filter(|s| s.act != StepKind::Begin && s.into.is_some()) {
        leaving.entry(s.from).or_default().push(s);
    }
    let mut out = Vec::new();
    for (n, source) in story.things.iter().enumerate() {
        if keep(source) {
            out.extend(from_source(n, source, story, &leaving));
        }
    }
    out
}

/// How a thing was come to: by which step, out of which thing, and when.
#[derive(Clone, Copy)]
struct Arrival<'a> {
    days: Days,
    by: &'a Step,
}

fn from_source(
    source: usize,
    name: &Value,
    story: &Story,
    leaving: &BTreeMap<usize, Vec<&Step>>,
) -> Vec<Reached> {
    // The source is in itself, and in its parts, from before the first day.
    let mut home = vec![source];
    home.extend(story.parts.get(source).into_iter().flatten().map(|(p, _)| *p));
    let mut settled: BTreeMap<usize, Arrival<'_>> = BTreeMap::new();
    // Earliest first; of equals the least thing, then the least step, so that the way is always the same.
    let mut queue: BinaryHeap<Reverse<(Days, usize, usize)>> = BinaryHeap::new();
    let mut offers: Vec<&Step> = Vec::new();
    let push = |s: &'_ Step, since: Option<Days>, queue: &mut BinaryHeap<_>, number: usize| {
        let days = match since {
            None => s.days,
            Some(d) if d.first > s.days.last => return,
            Some(d) => Days::span(d.first.max(s.days.first), d.last.max(s.days.last)),
        };
        for at in s.into.into_iter().flat_map(|into| touched(into, &story.wholes, &story.parts)) {
            queue.push(Reverse((days, at, number)));
        }
    };
    for s in home.iter().filter_map(|h| leaving.get(h)).flatten() {
        offers.push(s);
        push(s, None, &mut queue, offers.len() - 1);
    }
    while let Some(Reverse((days, at, number))) = queue.pop() {
        let Some(by) = offers.get(number).copied() else { continue };
        if home.contains(&at) || settled.contains_key(&at) {
            continue;
        }
        settled.insert(at, Arrival { days, by });
        for s in leaving.get(&at).into_iter().flatten() {
            offers.push(s);
            push(s, Some(days), &mut queue, offers.len() - 1);
        }
    }
    settled
        .iter()
        .filter(|(at, _)| !story.wholes.get(source).is_some_and(|w| w.contains(at)))
        .filter_map(|(at, arrival)| {
            let place = story.things.get(*at)?.clone();
            Some(Reached { source: name.clone(), place, days: arrival.days, way: way(*at, &settled) })
        })
        .collect()
}

/// The tags from the source to a thing. Every step back goes to a thing settled earlier, so it ends.
fn way(at: usize, settled: &BTreeMap<usize, Arrival<'_>>) -> Vec<usize> {
    let mut tags = Vec::new();
    let mut here = Some(at);
    while let Some(arrival) = here.and_then(|n| settled.get(&n)) {
        tags.push(arrival.by.tag);
        if tags.len() > settled.len() {
            break;
        }
        here = Some(arrival.by.from);
    }
    tags.reverse();
    tags
}
