//! Ground: how big places are, which beds a room holds, and portions of places and lots.
//!
//! Comes in: entries that count. Goes out: the same with portions turned into ground of their own (a
//! side is named) or into the whole (none is), rooms into their beds, and portions of lots into
//! shares of what is left. It shares no amounts; `amounts` and `fills` do.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::Loc,
    },
    measure::{
        number::{Range, nearly},
        unit::Dimension,
        value::{EntryId, Quantity, Thing, Value},
    },
    model::{
        entry::{Entry, Filled, Filler, Group, Part},
        frame::FrameKind,
    },
};

use super::{Context, amounts::hull};

/// Kinds of thing that are ground: a portion of one is a place.
const GROUND: &[&str] = &["bed", "field", "path", "room"];
/// The share of a place that a bare end is.
const END: f64 = 1.0 / 3.0;

/// What is known of the places.
#[derive(Debug, Clone, Default)]
pub struct Ground {
    /// Areas in m².
    pub areas: BTreeMap<Thing, Range>,
    /// Portions that are ground of their own, with the whole and the entry that first names them.
    pub portions: BTreeMap<Thing, Portion>,
    longest: BTreeMap<Thing, Range>,
    beds: BTreeMap<Thing, BTreeSet<Thing>>,
    named: BTreeMap<(Thing, String), Thing>,
}

/// A portion of a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Portion {
    /// What it is a portion of.
    pub whole: Thing,
    /// Which side of it, and how much of it.
    pub side: String,
    /// Its share of the whole, where known.
    pub share: Option<Range>,
    /// The entry that names it first.
    pub entry: EntryId,
    /// Whether it was declared under a name of its own.
    pub declared: bool,
}

impl Ground {
    /// Larger portions on the same side that hold this one, beside the whole.
    pub fn holders(&self, part: &Thing) -> Vec<&Thing> {
        let Some(p) = self.portions.get(part) else { return Vec::new() };
        let Some(own) = p.share else { return Vec::new() };
        self.portions
            .iter()
            .filter(|(t, o)| *t != part && o.whole == p.whole && o.side == p.side)
            .filter(|(_, o)| o.share.is_some_and(|s| s.low() > own.high() && !nearly(s.low(), own.high())))
            .map(|(t, _)| t)
            .collect()
    }
}

/// Reads sizes, rooms and named portions off the declarations.
pub fn survey(counting: &[Entry], cx: &Context<'_>) -> Ground {
    let mut ground = Ground::default();
    let declared = || {
        counting
            .iter()
            .filter(|e| cx.frames.get(&e.verb).is_some_and(|f| f.kind == FrameKind::Place))
            .flat_map(|e| e.groups.iter().map(move |g| (e, g)))
            .filter_map(|(e, g)| Some((e, g, thing(g, "name")?)))
    };
    for (_, g, name) in declared() {
        if let Some((area, longest)) = g.get("size").find_map(|f| size(&f.filler)) {
            // Two sizes for one place make a range, whichever stands first.
            let both = |old: Option<&Range>, new: Range| old.map_or(new, |o| hull(*o, new));
            let area = both(ground.areas.get(&name), area);
            ground.areas.insert(name.clone(), area);
            if let Some(longest) = longest {
                let longest = both(ground.longest.get(&name), longest);
                ground.longest.insert(name.clone(), longest);
            }
        }
        if let Some(room) = thing(g, "room") {
            ground.beds.entry(room).or_default().insert(name.clone());
        }
    }
    // After the sizes, so that a portion may be declared before its whole.
    for (e, g, name) in declared() {
        let Some(part) = g.get("whole").find_map(|f| match &f.filler {
            Filler::Part(p) => Some(p.clone()),
            _ => None,
        }) else {
            continue;
        };
        let share = share_of(&part, &ground);
        ground.named.insert((part.of.clone(), label(&part)), name.clone());
        let portion = Portion {
            side: part.side.as_deref().unwrap_or("").to_owned(),
            whole: part.of.clone(),
            share,
            entry: e.id,
            declared: true,
        };
        measure(&mut ground, &name, &portion);
        ground.portions.insert(name, portion);
    }
    ground
}

fn thing(g: &Group, slot: &str) -> Option<Thing> {
    g.get(slot).find_map(|f| match &f.filler {
        Filler::Value(Value::Thing(t)) => Some(t.clone()),
        _ => None,
    })
}

/// Area and longest side of a size.
fn size(f: &Filler) -> Option<(Range, Option<Range>)> {
    match f {
        Filler::Size(sides) => {
            // `120 ft2`
            if let [area] = sides.as_slice() {
                return (area.dimension == Dimension::Area).then_some((area.size, None));
            }
            let [a, b, ..] = sides.as_slice() else { return None };
            let longest = if a.size.middle() >= b.size.middle() { a.size } else { b.size };
            Some((a.size.times(b.size), Some(longest)))
        }
        Filler::Value(Value::Quantity(q)) if q.dimension == Dimension::Area => Some((q.size, None)),
        _ => None,
    }
}

/// Area of a portion from that of its whole, unless it is declared with its own.
fn measure(ground: &mut Ground, name: &Thing, portion: &Portion) {
    if ground.areas.contains_key(name) {
        return;
    }
    if let (Some(whole), Some(share)) = (ground.areas.get(&portion.whole), portion.share) {
        let area = whole.times(share);
        ground.areas.insert(name.clone(), area);
    }
}

/// The share of its whole that a portion is: as said, or by its length along the longest side; a bare
/// end is a third.
fn share_of(part: &Part, ground: &Ground) -> Option<Range> {
    if part.share.is_some() {
        return part.share;
    }
    if let Some(along) = part.along {
        let longest = ground.longest.get(&part.of)?;
        return along.size.over(*longest).map(|s| Range::new(s.low().min(1.0), s.high().min(1.0)));
    }
    (part.side.is_some() && !part.remainder).then(|| Range::exact(END))
}

/// What a portion is called: `west half`, `door end`, `first 10 ft`.
fn label(part: &Part) -> String {
    let side = part.side.as_deref().unwrap_or("");
    let much = match (part.share, part.along) {
        (_, Some(along)) => crate::measure::display::quantity(along, &BTreeMap::new()),
        (Some(s), None) if nearly(s.middle(), 0.5) => "half".to_owned(),
        (Some(s), None) if nearly(s.middle(), END) => "end".to_owned(),
        (Some(s), None) if nearly(s.middle(), 0.25) => "quarter".to_owned(),
        (Some(s), None) => format!("{} %", crate::measure::display::number(s.middle() * 100.0)),
        (None, None) => "end".to_owned(),
    };
    format!("{side} {much}").trim().to_owned()
}

/// Whether there is nothing in a group to settle: no portion, no room that stands for its beds, no thing named
/// twice.
fn stands(g: &Group, verb: &str) -> bool {
    g.slots.iter().enumerate().all(|(n, f)| match &f.filler {
        _ if &*f.slot == "except" => false,
        Filler::Part(_) => false,
        Filler::Value(Value::Thing(t)) => {
            let twice = |o: &Filled| o.slot == f.slot && o.filler == f.filler;
            !(stands_for_beds(t, &f.slot, verb) || g.slots.iter().take(n).any(twice))
        }
        _ => true,
    })
}

/// Whether a thing is a room that stands for the beds in it.
fn stands_for_beds(thing: &Thing, slot: &str, verb: &str) -> bool {
    &*thing.kind == "room" && matches!(slot, "place" | "from") && verb != "moved"
}

/// Settles the places and portions of one entry.
pub fn place(e: &mut Entry, ground: &mut Ground, cx: &Context<'_>, said: &mut Vec<Diagnostic>) {
    let Some(frame) = cx.frames.get(&e.verb) else { return };
    if frame.kind != FrameKind::Event {
        return;
    }
    if e.groups.iter().all(|g| stands(g, &e.verb)) {
        return;
    }
    for g in Arc::make_mut(&mut e.groups) {
        let amount_said = g.said("amount");
        let except: Vec<Thing> = g
            .get("except")
            .filter_map(|f| match &f.filler {
                Filler::Value(Value::Thing(t)) => Some(t.clone()),
                _ => None,
            })
            .collect();
        let mut out: Vec<Filled> = Vec::with_capacity(g.slots.len());
        for f in g.slots.drain(..) {
            match &f.filler {
                _ if &*f.slot == "except" => {}
                Filler::Part(p) if GROUND.contains(&&*p.of.kind) => {
                    let thing = portion(p, e.id, f.loc, ground, said);
                    out.push(Filled { filler: Filler::Value(Value::Thing(thing)), ..f });
                }
                Filler::Part(p) => {
                    let share = p.share.or(p.remainder.then(|| Range::exact(1.0)));
                    if let (false, Some(share), Some(_)) = (amount_said, share, frame.slot("amount")) {
                        let q = Quantity { size: share, dimension: Dimension::Share };
                        out.push(Filled {
                            slot: "amount".into(),
                            filler: Filler::Value(Value::Quantity(q)),
                            loc: f.loc,
                        });
                    }
                    out.push(Filled { filler: Filler::Value(Value::Thing(p.of.clone())), ..f });
                }
                Filler::Value(Value::Thing(t)) if stands_for_beds(t, &f.slot, &e.verb) => {
                    out.extend(beds(t, &f, &except, ground, said));
                }
                _ => out.push(f),
            }
        }
        // Two portions of one list may name the same bed twice (a room and one of its beds).
        let mut seen: BTreeSet<(Arc<str>, Value)> = BTreeSet::new();
        out.retain(|f| match &f.filler {
            Filler::Value(v @ Value::Thing(_)) => seen.insert((f.slot.clone(), v.clone())),
            _ => true,
        });
        g.slots = out;
    }
}

fn portion(p: &Part, entry: EntryId, loc: Loc, ground: &mut Ground, said: &mut Vec<Diagnostic>) -> Thing {
    if p.side.is_none() && p.along.is_none() {
        if !p.remainder {
            said.push(
                Diagnostic::new(
                    "part-without-side",
                    Severity::Hint,
                    format!(
                        "no side is named, so this counts as thinly spread over the whole of {}",
                        p.of.name
                    ),
                )
                .at(loc, "which part?")
                .remark(RemarkKind::Write, format!("west half of {}", p.of.name)),
            );
        }
        return p.of.clone();
    }
    let label = label(p);
    if let Some(named) = ground.named.get(&(p.of.clone(), label.clone())) {
        return named.clone();
    }
    let name = Thing { kind: p.of.kind.clone(), name: format!("{label} of {}", p.of.name).into() };
    if !ground.portions.contains_key(&name) {
        let portion = Portion {
            whole: p.of.clone(),
            side: p.side.as_deref().unwrap_or("first").to_owned(),
            share: share_of(p, ground),
            entry,
            declared: false,
        };
        measure(ground, &name, &portion);
        ground.portions.insert(name.clone(), portion);
    }
    name
}

/// The beds a room stands for, but those excepted; the room itself where it holds none.
fn beds(
    room: &Thing,
    f: &Filled,
    except: &[Thing],
    ground: &Ground,
    said: &mut Vec<Diagnostic>,
) -> Vec<Filled> {
    let mut held: Vec<&Thing> = Vec::new();
    let mut rooms = vec![room];
    let mut next = 0;
    while let Some(r) = rooms.get(next).copied() {
        next += 1;
        for t in ground.beds.get(r).into_iter().flatten() {
            if &*t.kind == "room" {
                if !rooms.contains(&t) {
                    rooms.push(t);
                }
            } else if !except.contains(t) && !held.contains(&t) {
                held.push(t);
            }
        }
    }
    held.sort();
    if held.is_empty() {
        said.push(
            Diagnostic::new(
                "empty-room",
                Severity::Hint,
                format!("{} stands for its beds, and no bed is declared in it", room.name),
            )
            .at(f.loc, "no bed in it")
            .about(format!("room {}", room.name))
            .remark(RemarkKind::Write, format!("- bed north-1 in {}, 30 ft x 4 ft", room.name)),
        );
        return vec![f.clone()];
    }
    held.into_iter().map(|t| Filled { filler: Filler::Value(Value::Thing(t.clone())), ..f.clone() }).collect()
}
