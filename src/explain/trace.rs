//! Where a thing went, and what reached it, with amounts.
//!
//! Comes in: the reckoned sentences of lineage, and their proofs. Goes out: a [`Trace`]. It follows
//! nothing itself: the lineage is reckoned before.

use std::collections::BTreeMap;

use super::{Known, content, evidence, layers::Layers, say, shares};
use crate::{
    measure::{
        date,
        value::{EntryId, Value},
    },
    model::{
        content::Sourced,
        explanation::{Quote, Reach, TakenOff, Trace},
        outcome::RowRef,
    },
};

/// The lineage's sentences, as their pages declare them.
const REACHED: &str = "{source} reached {place} on {day}";
const MEANT: &str = "{source} is meant to reach {place} on {day}";
const AMOUNT: &str = "{amount} of {source} reached {place} by {day}";
const LEFT: &str = "{amount} of {lot} is left on {day}";
const USED_UP: &str = "{lot} was used up by {day}";
const SHORT: &str = "more of {lot} was used than came in by {day}";

/// Traces a thing forwards and backwards.
pub fn trace(known: &Known<'_>, value: &Value) -> Trace {
    let mut out = Trace { subject: say::value(known, value), ..Trace::default() };
    if let Value::Thing(thing) = value {
        let found = known.diary.things.iter().find(|t| t.thing == *thing);
        let first = found.and_then(|t| t.began.or_else(|| t.mentions.first().copied()));
        out.began = first.and_then(|(_, id)| say::quote(known, id));
    }
    let amounts = amounts(known);
    let on_top = shares::on_top(known);
    let layers = Layers::of(known);
    for (pattern, planned) in [(REACHED, false), (MEANT, true)] {
        for row in content::rows(known, pattern) {
            let tuple = known.model.tuple(row);
            let [source, place, Value::Days(day)] = tuple.values.as_slice() else { continue };
            let (list, other) = match (source == value, place == value) {
                (true, _) => (&mut out.forwards, place),
                (_, true) => (&mut out.backwards, source),
                _ => continue,
            };
            let thing = say::value(known, other);
            // What has already happened is also meant: it is told once.
            if planned && list.iter().any(|r| r.thing == thing && !r.planned) {
                continue;
            }
            let came = lines(known, row);
            let off = layers.taken_off(known, source, place).filter(|_| !planned).map(|(off, row)| {
                let of_it = |l: &Quote| day_of(known, l.entry).is_some_and(|d| date::words(d) == off.on);
                TakenOff { lines: lines(known, row).into_iter().filter(of_it).collect(), ..off }
            });
            list.push(Reach {
                thing,
                since: date::words(*day),
                amount: amounts.get(&(source.clone(), place.clone())).cloned(),
                on_top: !planned && on_top.contains(&(source.clone(), place.clone())),
                off,
                planned,
                once: false,
                lines: came,
            });
        }
    }
    out.forwards.extend(ended(known, value));
    for list in [&mut out.forwards, &mut out.backwards] {
        list.sort_by(|a, b| {
            let day = |r: &Reach| r.lines.last().map(|l| (day_of(known, l.entry), l.entry));
            (a.planned, day(a)).cmp(&(b.planned, day(b))).then_with(|| say::natural(&a.thing, &b.thing))
        });
    }
    out.balance = balance(known, value);
    out.figures = figures(known, value);
    out
}

/// What the journal says of a lot that went back or was kept, with the words it is told in and those for how much.
const ENDED: &[(&str, &str, &str)] = &[
    ("{lot} was returned on {day}", "returned", "{amount} of {lot} was returned on {day}"),
    ("{lot} was set aside on {day}", "set aside", "{amount} of {lot} was set aside on {day}"),
];

/// Whoever it went back to.
const BACK_TO: &str = "{lot} was returned to {who} on {day}";

/// Where a thing went that is no place: back to whoever sent it, or aside.
fn ended(known: &Known<'_>, value: &Value) -> Vec<Reach> {
    let of = |pattern: &str| -> Vec<(RowRef, Vec<Value>)> {
        let rows =
            content::rows(known, pattern).into_iter().map(|r| (r, known.model.tuple(r).values.clone()));
        rows.filter(|(_, values)| values.contains(value)).collect()
    };
    let mut out = Vec::new();
    for (pattern, words, amount) in ENDED {
        for (row, values) in of(pattern) {
            let Some(Value::Days(day)) = values.last() else { continue };
            let amounts = of(amount).into_iter().find(|(_, v)| v.last() == values.last());
            let who = of(BACK_TO).into_iter().find(|(_, v)| v.last() == values.last());
            let who = who.and_then(|(_, v)| v.get(1).map(|who| format!(" to {}", say::value(known, who))));
            out.push(Reach {
                thing: format!("{words}{}", who.filter(|_| *words == "returned").unwrap_or_default()),
                since: date::words(*day),
                amount: amounts.and_then(|(_, v)| v.first().map(|a| say::value(known, a))),
                on_top: false,
                off: None,
                planned: false,
                once: true,
                lines: lines(known, row),
            });
        }
    }
    out
}

fn day_of(known: &Known<'_>, id: EntryId) -> Option<date::Days> {
    known.diary.entries.get(id.0 as usize).and_then(|e| e.days)
}

/// The amount of each source in each place, by the latest day it is reckoned for.
fn amounts(known: &Known<'_>) -> BTreeMap<(Value, Value), String> {
    let mut latest: BTreeMap<(Value, Value), (date::Days, String)> = BTreeMap::new();
    for row in content::rows(known, AMOUNT) {
        let tuple = known.model.tuple(row);
        let [amount, source, place, Value::Days(day)] = tuple.values.as_slice() else { continue };
        let found = (*day, say::value(known, amount));
        latest
            .entry((source.clone(), place.clone()))
            .and_modify(|old| {
                if found.0 > old.0 {
                    *old = found.clone();
                }
            })
            .or_insert(found);
    }
    latest.into_iter().map(|(key, (_, amount))| (key, amount)).collect()
}

/// The figures of tables that amounts of the thing, or in it, rest on.
fn figures(known: &Known<'_>, value: &Value) -> Vec<Sourced> {
    let all = [AMOUNT, LEFT].iter().flat_map(|pattern| content::rows(known, pattern));
    let own = all.filter(|row| known.model.tuple(*row).values.contains(value));
    let proofs: Vec<_> = own.filter_map(|row| known.model.proof(row)).collect();
    content::figures(known, &proofs.iter().map(|p| &**p).collect::<Vec<_>>())
}

/// The journal lines a row rests on, in order of days.
fn lines(known: &Known<'_>, row: RowRef) -> Vec<Quote> {
    let Some(proof) = known.model.proof(row) else { return Vec::new() };
    let mut ids: Vec<EntryId> = evidence::entries(known, &[&proof]).into_keys().collect();
    ids.sort_by_key(|id| (day_of(known, *id), *id));
    ids.into_iter().filter_map(|id| say::quote(known, id)).collect()
}

/// What else the lineage says of the thing: what is left, what is short.
fn balance(known: &Known<'_>, value: &Value) -> Vec<String> {
    let tuples = [LEFT, USED_UP, SHORT].iter().flat_map(|pattern| content::rows(known, pattern));
    let tuples = tuples.map(|row| known.model.tuple(row)).filter(|tuple| tuple.values.contains(value));
    tuples.map(|tuple| say::tuple(known, &tuple)).collect()
}
