//! Things: what the journal names, where each begins, and every mention.
//!
//! Comes in: entries that count, and those only shown. Goes out: known things with their beginnings.
//! A lot received without a name is called here by its material and day. What is wrong with a name is
//! said in `checks`.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    base::{name::fold, span::Loc},
    measure::{
        date::Days,
        value::{EntryId, Thing, Value},
    },
    model::{
        diary::KnownThing,
        entry::{Entry, Filled, Filler},
        frame::{FrameKind, Takes},
    },
};

use super::{Context, ground::Ground};

/// The kind of the control arm of a test, which goes under the test's name.
pub const CONTROL: &str = "control";

/// A known thing with what checking it needs.
#[derive(Debug, Clone)]
pub struct Named {
    /// The thing.
    pub known: KnownThing,
    /// Where and when it first begins, if every beginning has a day.
    pub first_dated: Option<(Loc, Days)>,
    /// Where it is first declared.
    pub first_declared: Option<(Loc, EntryId)>,
    /// Declarations after the first, each with the first.
    pub declared_again: Vec<(Loc, Loc)>,
}

impl Named {
    /// Whether it is ground that can be declared.
    pub fn is_ground(&self) -> bool {
        matches!(&*self.known.thing.kind, "bed" | "field" | "path")
    }

    /// Whether naming it before it begins is a slip. Ground needs declaring only on a farm that
    /// declares its ground.
    pub fn needs_beginning(&self, surveyed: bool) -> bool {
        match &*self.known.thing.kind {
            "lot" | "batch" | "test" | "sample" => true,
            _ => self.is_ground() && surveyed,
        }
    }
}

/// Names lots that came in without one, and gives them to later entries that call them by their
/// material, as long as only one such lot has come in.
pub fn name_lots(counting: &mut [Entry]) {
    let mut unnamed: Vec<(String, Days, Thing)> = Vec::new();
    for e in counting.iter_mut().filter(|e| &*e.verb == "received") {
        let Some(days) = e.days else { continue };
        if e.groups.iter().all(|g| g.said("lot")) {
            continue;
        }
        for g in Arc::make_mut(&mut e.groups).iter_mut().filter(|g| !g.said("lot")) {
            let material = g.get("material").find_map(|f| match &f.filler {
                Filler::Value(Value::Word(w)) | Filler::Words(w) => Some((w.clone(), f.loc)),
                _ => None,
            });
            let Some((material, loc)) = material else { continue };
            let thing = Thing { kind: "lot".into(), name: format!("{material} {}", days.first).into() };
            g.slots.push(Filled {
                slot: "lot".into(),
                filler: Filler::Value(Value::Thing(thing.clone())),
                loc,
            });
            unnamed.push((fold(&material), days, thing));
        }
    }
    if unnamed.is_empty() {
        return;
    }
    let meant = |f: &Filled, days: Days| -> Option<Thing> {
        if !matches!(&*f.slot, "lot" | "other" | "medium" | "thing" | "about") {
            return None;
        }
        let Filler::Value(Value::Word(w)) = &f.filler else { return None };
        let word = fold(w);
        let mut here = unnamed.iter().filter(|(m, d, _)| *m == word && d.first <= days.last);
        match (here.next(), here.next()) {
            (Some((_, _, thing)), None) => Some(thing.clone()),
            _ => None,
        }
    };
    for e in counting.iter_mut().filter(|e| &*e.verb != "received") {
        let Some(days) = e.days else { continue };
        if !e.groups.iter().flat_map(|g| &g.slots).any(|f| meant(f, days).is_some()) {
            continue;
        }
        for f in Arc::make_mut(&mut e.groups).iter_mut().flat_map(|g| &mut g.slots) {
            if let Some(thing) = meant(f, days) {
                f.filler = Filler::Value(Value::Thing(thing));
            }
        }
    }
}

/// Everything named, by kind and name.
pub fn known(counting: &[Entry], ground: &Ground, cx: &Context<'_>) -> Vec<Named> {
    let mut all: BTreeMap<Thing, Named> = BTreeMap::new();
    let mut always: Vec<Thing> = Vec::new();
    for e in counting {
        for f in e.groups.iter().flat_map(|g| &g.slots) {
            let Some(thing) = thing_of(&f.filler) else { continue };
            let portion = ground.portions.get(&thing);
            // A portion named on the way needs no beginning of its own; its whole is mentioned with it.
            if let Some(p) = portion.filter(|p| !p.declared) {
                let whole = all.entry(p.whole.clone()).or_insert_with(|| named(&p.whole));
                whole.known.mentions.push((f.loc, e.id));
            }
            let entry = all.entry(thing.clone()).or_insert_with(|| named(&thing));
            if portion.is_some_and(|p| !p.declared) {
                entry.known.began.get_or_insert((f.loc, e.id));
            }
            entry.known.mentions.push((f.loc, e.id));
            if !begins(e, f, cx) {
                continue;
            }
            let declared = cx.frames.get(&e.verb).is_some_and(|f| f.kind == FrameKind::Place)
                || &*e.verb == "received" && &*thing.kind == "lot" && !super::is_plan(e);
            match e.days {
                None => always.push(thing),
                Some(days) if entry.first_dated.is_none_or(|(_, d)| days < d) => {
                    entry.first_dated = Some((f.loc, days));
                }
                Some(_) => {}
            }
            entry.known.began.get_or_insert((f.loc, e.id));
            if declared {
                // A heap may be heaped on before it is declared; only a second declaration is one too many.
                match entry.first_declared {
                    Some((first, id)) if id != e.id => entry.declared_again.push((f.loc, first)),
                    Some(_) => {}
                    None => entry.first_declared = Some((f.loc, e.id)),
                }
            }
        }
    }
    for thing in always {
        if let Some(named) = all.get_mut(&thing) {
            named.first_dated = None;
        }
    }
    // The earliest beginning by day is the beginning, whatever the order of the files.
    for named in all.values_mut() {
        if let Some((loc, _)) = named.first_dated
            && let Some(id) = named.known.mentions.iter().find(|(l, _)| *l == loc).map(|(_, id)| *id)
        {
            named.known.began = Some((loc, id));
        }
        named.known.mentions.sort_by_key(|(loc, id): &(Loc, EntryId)| (*loc, *id));
        named.known.mentions.dedup();
    }
    all.into_values().collect()
}

fn named(thing: &Thing) -> Named {
    Named {
        known: KnownThing { thing: thing.clone(), began: None, mentions: Vec::new() },
        first_dated: None,
        first_declared: None,
        declared_again: Vec::new(),
    }
}

/// The thing a filler names; the control of a test is the test.
pub fn thing_of(f: &Filler) -> Option<Thing> {
    match f {
        Filler::Value(Value::Thing(t)) if &*t.kind == CONTROL => {
            Some(Thing { kind: "test".into(), name: t.name.clone() })
        }
        Filler::Value(Value::Thing(t)) => Some(t.clone()),
        Filler::Part(p) => Some(p.of.clone()),
        _ => None,
    }
}

/// Whether a filler of this entry makes the thing exist: a new name, a test potted, a heap heaped,
/// a tray sown.
fn begins(e: &Entry, f: &Filled, cx: &Context<'_>) -> bool {
    let takes_new = cx
        .frames
        .get(&e.verb)
        .and_then(|frame| frame.slot(&f.slot))
        .is_some_and(|s| s.takes.iter().any(|t| matches!(t, Takes::New(_))));
    let kind = match &f.filler {
        Filler::Value(Value::Thing(t)) => &*t.kind,
        _ => return false,
    };
    takes_new
        || matches!(
            (&*e.verb, &*f.slot, kind),
            ("potted", "test" | "control", "test" | CONTROL)
                | ("heaped", "heap", "heap")
                | ("sowed" | "pricked out", "place", "tray")
        )
}
