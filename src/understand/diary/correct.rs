//! Corrections: which entry a `correct` line means, and what counts in its place.
//!
//! Comes in: all entries. Goes out: the entries that count, those corrected replaced, the old ones
//! marked as withdrawn and kept for showing. A correction that fits no entry or several changes
//! nothing and lists what it could mean.
//!
//! A correction holds from the day it is written. One of a correction is settled first; the rest in
//! order of their days, so that a later one may correct what an earlier one put in place.

use std::sync::Arc;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        name::fold,
    },
    measure::{
        date::{Days, words},
        value::Value,
    },
    model::entry::{Entry, Filled, Filler, Group, Replacement, Standing},
};

use super::{Context, plans};

/// Slots that hold an amount, the first that an entry fills being the one a bare amount corrects.
const AMOUNTS: &[&str] = &["amount", "count", "pots", "depth", "temperature", "size", "level"];

/// What a `correct` line asks for.
struct Asked {
    days: Days,
    verb: String,
    names: Vec<String>,
    to: Replacement,
}

/// Settles every correction and gives the entries that count.
pub fn settle(
    entries: &mut [Entry],
    kept: &[bool],
    cx: &Context<'_>,
    said: &mut Vec<Diagnostic>,
) -> Vec<Entry> {
    let mut counting: Vec<Entry> =
        entries.iter().zip(kept).filter(|(_, kept)| **kept).map(|(e, _)| e.clone()).collect();
    let mut waiting: Vec<Entry> = counting
        .iter()
        .filter(|e| &*e.verb == "correct" && e.days.is_some_and(|d| d.first <= cx.today))
        .cloned()
        .collect();
    waiting.sort_by_key(|e| (e.days, e.loc));

    // Corrections of corrections, latest first: each settles before what it corrects is applied.
    let (of_corrections, mut plain): (Vec<Entry>, Vec<Entry>) =
        waiting.into_iter().partition(|e| asked(e, cx).is_some_and(|a| a.verb == "correct"));
    let mut still: Vec<Entry> = of_corrections;
    while let Some(c) = still.pop() {
        let Some(asked) = asked(&c, cx) else { continue };
        let all: Vec<Entry> = still.iter().chain(&plain).filter(|e| e.id != c.id).cloned().collect();
        let Some(target) = the_one(&c, &asked, &all, cx, said) else { continue };
        withdraw(entries, &all, target, &c);
        let Some(old) = all.get(target).cloned() else { continue };
        for list in [&mut still, &mut plain] {
            list.retain(|e| e.id != old.id);
        }
        if let Some(new) = replaced(&old, &c, &asked.to, cx) {
            plain.push(new);
        }
    }
    plain.sort_by_key(|e| (e.days, e.loc));

    for c in plain {
        let Some(asked) = asked(&c, cx) else { continue };
        let Some(n) = the_one(&c, &asked, &counting, cx, said) else { continue };
        withdraw(entries, &counting, n, &c);
        let Some(old) = counting.get(n).cloned() else { continue };
        match replaced(&old, &c, &asked.to, cx) {
            Some(new) => {
                if let Some(place) = counting.get_mut(n) {
                    *place = new;
                }
            }
            None => {
                counting.remove(n);
            }
        }
    }
    counting.retain(|e| !matches!(e.standing, Standing::Withdrawn { .. }) && &*e.verb != "correct");
    counting
}

fn asked(c: &Entry, cx: &Context<'_>) -> Option<Asked> {
    let g: &Group = c.groups.first()?;
    let days = g.get("date").find_map(|f| match &f.filler {
        Filler::Value(Value::Days(d)) => Some(*d),
        _ => None,
    })?;
    let verb = g.get("verb").find_map(|f| match &f.filler {
        Filler::Value(Value::Word(w)) | Filler::Words(w) => Some(w.clone()),
        _ => None,
    })?;
    let verb = cx.frames.get(&verb).map_or_else(|| fold(&verb), |f| f.verb.to_string());
    let names = g.get("name").filter_map(|f| name(&f.filler)).collect();
    let to = g.get("to").find_map(|f| match &f.filler {
        Filler::Replacement(r) => Some((**r).clone()),
        _ => None,
    })?;
    Some(Asked { days, verb, names, to })
}

/// A thing's or word's name, folded, without its kind and without an article.
fn name(f: &Filler) -> Option<String> {
    let name = match f {
        Filler::Value(Value::Thing(t)) => Some(fold(&t.name)),
        Filler::Value(Value::Word(w)) | Filler::Words(w) => Some(fold(w)),
        Filler::Part(p) => Some(fold(&p.of.name)),
        _ => None,
    }?;
    let bare = ["a ", "an ", "the "].iter().find_map(|article| name.strip_prefix(article));
    Some(bare.map_or_else(|| name.clone(), str::to_owned))
}

/// The place of the one entry a correction means among `all`, or word of why there is none.
fn the_one(
    c: &Entry,
    asked: &Asked,
    all: &[Entry],
    cx: &Context<'_>,
    said: &mut Vec<Diagnostic>,
) -> Option<usize> {
    let same_verb = |e: &&(usize, &Entry)| *e.1.verb == *asked.verb && e.1.id != c.id;
    let others: Vec<(usize, &Entry)> = all.iter().enumerate().collect();
    let on_day = |exact: bool| -> Vec<(usize, &Entry)> {
        others
            .iter()
            .filter(same_verb)
            .filter(|(_, e)| {
                e.days.is_some_and(|d| {
                    if exact {
                        d == asked.days
                    } else {
                        d.first <= asked.days.last && asked.days.first <= d.last
                    }
                })
            })
            .copied()
            .collect()
    };
    let mut candidates = on_day(true);
    if candidates.is_empty() {
        candidates = on_day(false);
    }
    let fits: Vec<(usize, &Entry)> = candidates
        .iter()
        .filter(|(_, e)| {
            asked.names.iter().all(|n| {
                e.groups.iter().flat_map(|g| &g.slots).any(|f| name(&f.filler).is_some_and(|m| m == *n))
            })
        })
        .copied()
        .collect();
    if let [(n, _)] = fits.as_slice() {
        return Some(*n);
    }
    let line = |e: &Entry| cx.sources.file(e.loc.file).line_of(e.loc.span.start as usize) + 1;
    let day = words(asked.days);
    let message = match (fits.len(), candidates.len()) {
        (0, 0) => format!("no entry of {day} begins with `{}`, so this corrects nothing", asked.verb),
        (0, _) => format!(
            "no `{}` of {day} names {}, so this corrects nothing",
            asked.verb,
            asked.names.join(" and ")
        ),
        (n, _) => format!("{n} entries fit {day} `{}`; all stand until one is meant", asked.verb),
    };
    let mut d = Diagnostic::new("unclear-correction", Severity::Error, message).at(c.loc, "which entry?");
    let listed = if fits.is_empty() { &candidates } else { &fits };
    for (_, e) in listed.iter().take(5) {
        d = d.also(e.loc, format!("line {}", line(e)));
    }
    let written = asked.days.first;
    // What the grower wrote after the colon stands; only which entry is meant is asked.
    let to = cx.text(c.loc).split_once(": ").map_or("never happened", |(_, to)| to.trim());
    if !listed.is_empty() {
        for (n, e) in listed.iter().take(3) {
            let told = names_of(e).into_iter().find(|told| {
                let other = |o: &Entry| {
                    o.groups.iter().flat_map(|g| &g.slots).any(|f| name(&f.filler) == Some(fold(told)))
                };
                listed.iter().all(|(m, o)| m == n || !other(o))
            });
            if let Some(told) = told {
                d = d.remark(RemarkKind::Write, format!("- correct {written} {} {told}: {to}", asked.verb));
            }
        }
    } else {
        d = d.remark(RemarkKind::Write, format!("- correct {written} {} NAME: never happened", asked.verb));
    }
    said.push(d);
    None
}

/// The names and words by which an entry can be told from others.
fn names_of(e: &Entry) -> Vec<String> {
    let fills = e.groups.iter().flat_map(|g| &g.slots);
    let thing = |f: &Filled| match &f.filler {
        Filler::Value(Value::Thing(t)) => Some(t.name.to_string()),
        Filler::Part(p) => Some(p.of.name.to_string()),
        _ => None,
    };
    let word = |f: &Filled| match &f.filler {
        Filler::Value(Value::Word(w)) => Some(w.to_string()),
        _ => None,
    };
    fills.clone().filter_map(thing).chain(fills.filter_map(word)).collect()
}

fn withdraw(entries: &mut [Entry], all: &[Entry], target: usize, by: &Entry) {
    let Some(old) = all.get(target) else { return };
    if let Some(e) = entries.get_mut(old.id.0 as usize) {
        e.standing = Standing::Withdrawn { by: by.id };
    }
}

/// What counts in place of `old`; `None` if it never happened. Its facts are the correction's.
fn replaced(old: &Entry, c: &Entry, to: &Replacement, cx: &Context<'_>) -> Option<Entry> {
    let mut new = old.clone();
    match to {
        Replacement::Never => return None,
        Replacement::Date(day) => {
            new.days = Some(Days::on(*day));
            plans::stand(&mut new, cx, &mut Vec::new());
        }
        Replacement::Amount(filler) => {
            for g in Arc::make_mut(&mut new.groups) {
                set_amount(g, filler, c);
            }
        }
        Replacement::Entry(e) => {
            new = (**e).clone();
            new.days = old.days;
            new.standing = old.standing.clone();
            new.clock = new.clock.or(old.clock);
        }
    }
    new.id = c.id;
    new.loc = c.loc;
    new.verb_loc = c.verb_loc;
    Some(new)
}

fn set_amount(g: &mut Group, filler: &Filler, c: &Entry) {
    let slot = AMOUNTS.iter().find(|s| g.said(s)).copied().unwrap_or("amount");
    g.slots.retain(|f| &*f.slot != slot);
    g.slots.push(Filled { slot: slot.into(), filler: filler.clone(), loc: c.loc });
}
