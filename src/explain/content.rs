//! What a place is made up of and holds on a day, from what was reckoned for it.
//!
//! Comes in: the reckoned sentences of residue, the tables they rest on. Goes out: a [`Content`]. It sums
//! nothing itself.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use super::{Known, evidence, say};
use crate::{
    base::span::Loc,
    measure::{
        date,
        value::{EntryId, Value},
    },
    model::{
        content::{Against, Content, ContentLevel, ContentShare, OnTop, Sourced},
        explanation::Quote,
        outcome::RowRef,
        program::FactSource,
        proof::{By, Proof, Tuple},
        sentence::SentenceId,
    },
};

/// What asks for a place on a day.
pub const ASKS: &str = "{place} is to be reckoned on {day}";
const VOLUME: &str = "{share} of {place} by volume is {source} on {day}";
const WEIGHT: &str = "{share} of {place} by weight is {source} on {day}";
const BY_WAY: &str = "{share} of {place} by weight came from {source} on {day}";
const DEPTH: &str = "the make-up of {place} is reckoned {depth} deep on {day}";
const LEVEL: &str = "{place} is reckoned to hold {level} {substance} on {day}";
const CHANCE: &str = "the chance that {place} holds at most {level} {substance} on {day} is {p}";
const FROM: &str = "{place} holds at most {level} {substance} with a chance of {p} from {day}";
const MINDED: &str = "{place} is to be held against {level} {substance}";
const REFUSED: &str = "days are not reckoned for {substance} in {place}, because {reason}";
const CROOKED: &str = "the results of {substance} in {place} do not fall as one decay";
const EVEN: &str = "the results of {substance} in {place} halve in {time}";
const HALVES: &str = "{substance} is taken to halve in soil in {time}";
const SLOWED: &str =
    "{substance} is taken to halve up to {times} times as slowly where {stuff} came into the soil";
const HURT: &str = "{crop} is taken to be hurt by {level} {substance}";
const SEEN: &str = "{substance} was seen to do {harm} to {who} at {level} in {medium}";
const SEES: &str = "a laboratory asked for a low limit sees down to {level}";
const OWN_LIMIT: &str = "a laboratory could see {limit} {substance} in {thing} on {day}";
const ON_TOP: &str = "{source} lies on top of {place} on {day}, since {since}";
const TOP_DEPTH: &str = "{source} lies {depth} deep on top of {place} on {day}";
const FAILED: &str = "{lot} failed {test} on {day}";
const PASSED: &str = "{lot} was cleared by {test} on {day}";
const UNSETTLED: &str = "{lot} was left unsettled by {test} on {day}";
const MISSED: &str = "{test} may have missed what hurts {share} of pots";
const POTTED: &str = "{lot} has pots that tell in {test} since {day}";
/// What brings stuff to a place.
const CAME: [&str; 4] = [
    "{lot} was spread on {place} on {day}",
    "{lot} was laid on {place} on {day}",
    "{lot} was dug into {place} on {day}",
    "{holder} was tipped on {place} on {day}",
];
const STANDS: [&str; 2] = ["{crop} was planted in {place} on {day}", "{crop} was sowed in {place} on {day}"];

/// From how many years on only years are told.
const FAR_YEARS: i32 = 10;

/// The sentence declared with this pattern.
pub fn sentence(known: &Known<'_>, pattern: &str) -> Option<SentenceId> {
    let at = known.program.sentences.iter().position(|s| s.pattern() == pattern)?;
    u32::try_from(at).ok().map(SentenceId)
}

/// What was reckoned of a place for a day.
pub fn content(known: &Known<'_>, place: &Value, day: NaiveDate) -> Content {
    let on = Value::Days(date::Days::on(day));
    let mut proofs = Vec::new();
    let mut out = Content { day: date::long(day), ..Content::default() };
    let mut shares: BTreeMap<(bool, Value), ContentShare> = BTreeMap::new();
    for (pattern, by_way) in [(VOLUME, false), (WEIGHT, false), (BY_WAY, true)] {
        for (row, tuple) in of_place(known, pattern, 1, place) {
            let [share, _, source, when] = tuple.values.as_slice() else { continue };
            if *when != on {
                continue;
            }
            proofs.extend(known.model.proof(row));
            let thing = say::value(known, source);
            let line = shares.entry((by_way, source.clone())).or_default();
            *line = ContentShare { thing, by_way, ..line.clone() };
            let words = Some(say::value(known, share));
            if pattern == VOLUME { line.volume = words } else { line.weight = words }
        }
    }
    out.shares = shares.into_values().collect();
    out.shares.sort_by_key(|s| (s.by_way, natural(&s.thing)));
    for (row, tuple) in of_place(known, DEPTH, 0, place) {
        if tuple.values.get(2) == Some(&on) {
            out.depth = tuple.values.get(1).map(|d| say::value(known, d));
            proofs.extend(known.model.proof(row));
        }
    }
    for (row, tuple) in of_place(known, LEVEL, 0, place) {
        let [_, level, what, when] = tuple.values.as_slice() else { continue };
        if *when != on {
            continue;
        }
        let Some(proof) = known.model.proof(row) else { continue };
        out.levels.push(one(known, place, what, level, &on, &proof));
        proofs.push(proof);
    }
    for (row, tuple) in of_place(known, ON_TOP, 1, place) {
        let [source, _, when, since] = tuple.values.as_slice() else { continue };
        if *when != on {
            continue;
        }
        proofs.extend(known.model.proof(row));
        let deep = of_place(known, TOP_DEPTH, 2, place);
        let deep =
            deep.iter().find(|(_, t)| t.values.first() == Some(source) && t.values.get(3) == Some(&on));
        out.on_top.push(OnTop {
            thing: say::value(known, source),
            depth: deep.and_then(|(_, t)| t.values.get(1)).map(|d| say::value(known, d)),
            since: say::value(known, since),
        });
    }
    out.on_top.sort_by_key(|t| natural(&t.thing));
    out.tests.extend(verdict(known, place));
    let things = out.shares.iter().map(|s| &s.thing).chain(out.on_top.iter().map(|t| &t.thing));
    let things: BTreeSet<String> = things.cloned().collect();
    for row in rows(known, FAILED) {
        let tuple = known.model.tuple(row);
        let is_in_it = |v| tuple.values.first() != Some(place) && things.contains(&say::value(known, v));
        if tuple.values.first().is_some_and(is_in_it) {
            out.tests.push(format!("{}: go by that, not by the reckoning.", say::tuple(known, &tuple)));
        }
    }
    // What was found stands before what was looked for and not found.
    out.levels.sort_by_key(|l| (!l.found(), l.of.clone()));
    let proofs: Vec<&Proof> = proofs.iter().map(|p| &**p).collect();
    out.lines = lines(known, &proofs);
    out.figures = figures(known, &proofs);
    out
}

/// What pots of a place's own soil came to, all of them in order of day, and what that is worth beside a sum.
fn verdict(known: &Known<'_>, place: &Value) -> Option<String> {
    let told = [(FAILED, "failed"), (PASSED, "passed"), (UNSETTLED, "was left unsettled by")];
    let mut tests: Vec<(date::Days, &str, Value)> = Vec::new();
    for (pattern, came) in told {
        for (_, tuple) in of_place(known, pattern, 0, place) {
            let [_, test, Value::Days(day)] = tuple.values.as_slice() else { continue };
            tests.push((*day, came, test.clone()));
        }
    }
    tests.sort();
    let (_, came, last) = tests.last()?;
    let mut out = format!("The own soil of {}", say::value(known, place));
    for (n, (day, came, test)) in tests.iter().enumerate() {
        let joint = if n == 0 { "" } else { ", and after that" };
        out.push_str(&format!("{joint} {came} {} on {}", say::value(known, test), date::words(*day)));
    }
    let differ = tests.iter().any(|(_, other, _)| other != came);
    out.push_str(match (*came, differ) {
        ("failed", _) => ": go by that, not by the reckoning.",
        (_, false) if *came != "passed" => ": no sum settles it either, so test it again.",
        (_, false) => ": that goes before the reckoning.",
        (_, true) => {
            ": go by the pots, the last of them first, and not by the reckoning, which knows nothing of them."
        }
    });
    if *came != "passed" {
        return Some(out);
    }
    if let Some((_, t)) = of_place(known, MISSED, 0, last).first()
        && let Some(share) = t.values.get(1)
    {
        let (test, share) = (say::value(known, last), say::value(known, share));
        out.push_str(&format!(" What hurts up to {share} of pots may have passed {test} unseen."));
    }
    let potted = of_place(known, POTTED, 0, place).into_iter().find_map(|(_, t)| match t.values.as_slice() {
        [_, test, Value::Days(day)] if test == last => Some(*day),
        _ => None,
    });
    let came_since = CAME.iter().flat_map(|pattern| of_place(known, pattern, 1, place)).any(|(_, t)| {
        matches!((t.values.get(2), potted), (Some(Value::Days(day)), Some(potted)) if day.last > potted.first)
    });
    if came_since {
        out.push_str(" What came since it was potted was not in its pots: test again.");
    }
    Some(out)
}

/// When something is reckoned to be so, seen from a day: to the day where that is near, to the month or the year where
/// it is further, and years alone where they are many, as a half-life known within tenfold and more bears no better.
fn by(seen: NaiveDate, when: date::Days) -> String {
    let years = when.first.year() - seen.year();
    if when.is_known() {
        format!("by {}", date::words(when))
    } else if years < FAR_YEARS {
        format!("by about {}", date::words(when))
    } else {
        format!("in {years} years or more")
    }
}

/// The figures of tables that proofs rest on, each with where it stands and on whose word, in the order of pages.
pub fn figures(known: &Known<'_>, proofs: &[&Proof]) -> Vec<Sourced> {
    let mut out: BTreeMap<(&str, u32, String), Sourced> = BTreeMap::new();
    for proof in evidence::within(proofs) {
        let By::Said(FactSource::Page(loc)) = &proof.by else { continue };
        if figured(&proof.tuple) {
            let says = say::tuple(known, &proof.tuple);
            let path = &*known.sources.file(loc.file).path;
            let row = Sourced { says: says.clone(), at: Some(*loc), source: source(known, *loc) };
            out.insert((path, loc.span.start, says), row);
        }
    }
    out.into_values().collect()
}

/// Whether a sentence holds a figure.
pub fn figured(tuple: &Tuple) -> bool {
    tuple.values.iter().any(|v| matches!(v, Value::Number(_) | Value::Quantity(_)))
}

fn natural(thing: &str) -> Vec<String> {
    // Digits compare as numbers would: `bed 2` before `bed 10`.
    thing.split_inclusive(|c: char| !c.is_ascii_digit()).map(|part| format!("{part:0>12}")).collect()
}

fn one(
    known: &Known<'_>,
    place: &Value,
    what: &Value,
    level: &Value,
    on: &Value,
    proof: &Proof,
) -> ContentLevel {
    let mut out = ContentLevel {
        of: say::value(known, what),
        level: say::value(known, level),
        ..ContentLevel::default()
    };
    if let By::Reckoned { numbers, .. } = &proof.by {
        out.from = numbers
            .iter()
            .filter(|(name, _)| name != "half gone in")
            .map(|(name, value)| (name.clone(), say::value(known, value)))
            .collect();
    }
    let of_both = |pattern: &'static str, what_at: usize, place_at: usize| {
        of_place(known, pattern, place_at, place)
            .into_iter()
            .filter(move |(_, t)| t.values.get(what_at) == Some(what))
    };
    out.refused = of_both(REFUSED, 0, 1).find_map(|(_, t)| Some(say::value(known, t.values.get(2)?)));
    for pattern in [CROOKED, EVEN] {
        out.course.extend(of_both(pattern, 0, 1).map(|(_, t)| say::tuple(known, &t)));
    }
    // Of the tables' rows only those that went in.
    let rests_on: BTreeSet<&Tuple> = evidence::premises(proof).into_iter().map(|p| &p.tuple).collect();
    out.fades = [HALVES, SLOWED]
        .iter()
        .flat_map(|pattern| of_place(known, pattern, 0, what))
        .filter(|(_, t)| rests_on.contains(t))
        .map(|(row, t)| sourced(known, row, &t))
        .collect();
    let here: BTreeSet<Value> = STANDS
        .iter()
        .flat_map(|pattern| of_place(known, pattern, 1, place))
        .filter_map(|(_, t)| t.values.first().cloned())
        .collect();
    let minded = of_both(MINDED, 2, 0).filter_map(|(_, t)| t.values.get(1).cloned());
    let mut levels: BTreeMap<Value, Against> = minded.map(|held| (held, Against::default())).collect();
    for (_, t) in of_both(CHANCE, 2, 0) {
        let [_, held, _, when, p] = t.values.as_slice() else { continue };
        if when == on && out.refused.is_none() {
            levels.entry(held.clone()).or_default().chance = Some(say::value(known, p));
        }
    }
    for (_, t) in of_both(FROM, 2, 0) {
        let [_, held, _, p, Value::Days(when)] = t.values.as_slice() else { continue };
        // Days reckoned for another day of the same place: they say nothing where this one is refused.
        if out.refused.is_none() {
            let from = (say::value(known, p), by(known.today, *when));
            levels.entry(held.clone()).or_default().from.push(from);
        }
    }
    for (held, mut against) in levels {
        against.level = say::value(known, &held);
        let hurt = of_place(known, HURT, 1, &held).into_iter().filter(|(_, t)| t.values.get(2) == Some(what));
        against.who = hurt
            .filter_map(|(_, t)| t.values.first().filter(|c| here.contains(c)).map(|c| say::value(known, c)))
            .collect();
        let seen =
            of_place(known, SEEN, 3, &held).into_iter().filter(|(_, t)| t.values.first() == Some(what));
        against.seen = seen.map(|(row, t)| sourced(known, row, &t)).collect();
        // What was seen of the very crops that stand there comes first.
        against
            .seen
            .sort_by_key(|row| !against.who.iter().any(|who| row.says.contains(&format!(" to {who} at "))));
        against.unseen = unseen(known, &held);
        out.against.push(against);
    }
    let within = evidence::within(&[proof]);
    let rests_on: BTreeSet<&Value> = within.iter().flat_map(|p| &p.tuple.values).collect();
    let own = of_place(known, OWN_LIMIT, 1, what);
    out.limits = own
        .into_iter()
        .filter(|(_, t)| t.values.get(2).is_some_and(|thing| rests_on.contains(thing)))
        .map(|(row, t)| sourced(known, row, &t))
        .collect();
    out
}

/// Where a level lies below what a laboratory sees even when asked for a low limit: the row that says so.
fn unseen(known: &Known<'_>, held: &Value) -> Option<Sourced> {
    let Value::Quantity(held) = held else { return None };
    rows(known, SEES)
        .into_iter()
        .map(|row| (row, known.model.tuple(row)))
        .find(|(_, t)| matches!(t.values.first(), Some(Value::Quantity(q)) if q.size.low > held.size.low))
        .map(|(row, t)| sourced(known, row, &t))
}

/// The rows of a pattern whose blank number `at` is `value`, in order.
fn of_place(known: &Known<'_>, pattern: &str, at: usize, value: &Value) -> Vec<(RowRef, Tuple)> {
    rows(known, pattern)
        .into_iter()
        .map(|row| (row, known.model.tuple(row)))
        .filter(|(_, t)| t.values.get(at) == Some(value))
        .collect()
}

/// The rows of the sentence declared with this pattern; none where no page declares it.
pub fn rows(known: &Known<'_>, pattern: &str) -> Vec<RowRef> {
    sentence(known, pattern).map_or_else(Vec::new, |id| known.model.rows(id))
}

/// A row of a table with its source.
fn sourced(known: &Known<'_>, row: RowRef, tuple: &Tuple) -> Sourced {
    let at = known.model.proof(row).and_then(|proof| match &proof.by {
        By::Said(FactSource::Page(loc)) => Some(*loc),
        By::Said(FactSource::Entry(id)) => known.diary.entries.get(id.0 as usize).map(|e| e.loc),
        _ => None,
    });
    Sourced { says: say::tuple(known, tuple), at, source: at.and_then(|loc| source(known, loc)) }
}

/// What the source column of a table says in the row of a location, or its column of reasons.
pub fn source(known: &Known<'_>, loc: Loc) -> Option<String> {
    let file = known.sources.file(loc.file);
    let row = file.line_of(loc.span.start as usize);
    let all: Vec<&str> = file.text.lines().collect();
    let is_row = |n: usize| all.get(n).is_some_and(|l| l.trim_start().starts_with('|'));
    let header = (0..=row).rev().take_while(|n| is_row(*n)).last()?;
    let cells = |n: usize| -> Vec<&str> {
        all.get(n).map(|l| l.trim().trim_matches('|').split('|').map(str::trim).collect()).unwrap_or_default()
    };
    let headings = cells(header);
    ["source", "why", "note"].iter().find_map(|name| {
        let at = headings.iter().position(|h| h == name)?;
        cells(row).get(at).filter(|c| !c.is_empty()).map(|c| (*c).to_owned())
    })
}

fn lines(known: &Known<'_>, proofs: &[&Proof]) -> Vec<Quote> {
    let mut ids: Vec<EntryId> = evidence::entries(known, proofs).into_keys().collect();
    let day = |id: &EntryId| known.diary.entries.get(id.0 as usize).and_then(|e| e.days);
    ids.sort_by_key(|id| (day(id), *id));
    ids.into_iter().filter_map(|id| say::quote(known, id)).collect()
}
