//! What one group of an entry offers the blanks of its sentences.
//!
//! Comes in: a settled group. Goes out: alternatives for each blank, joined where several blanks come
//! from one filler (`19 of 24`, a reading at a clock time), and amounts that depend on which of
//! several places is meant. It says nothing; `facts` fills the sentences.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use crate::{
    measure::{
        display,
        number::Range,
        unit::Dimension,
        value::{Quantity, Thing, Value},
    },
    model::{
        entry::{Entry, Filled, Filler, Group},
        frame::Several,
    },
};

use super::{
    Context,
    amounts::shared,
    ground::Ground,
    things::{CONTROL, thing_of},
};

/// Values for several blanks that come from one filler.
pub type Joined = BTreeMap<Arc<str>, Value>;

/// What a group offers.
#[derive(Debug, Clone, Default)]
pub struct Fills {
    /// By the blank that calls for them: the fillers, each with the blanks it fills beside.
    pub sets: BTreeMap<Arc<str>, Vec<Joined>>,
    /// Amounts that depend on another blank.
    pub shared: BTreeMap<Arc<str>, Shared>,
    /// What was said without a value: `nothing wrong`, `so far`, `containers`, `none`.
    pub flags: BTreeSet<Arc<str>>,
}

/// An amount that is divided over several things.
#[derive(Debug, Clone)]
pub struct Shared {
    /// The slot it is divided over.
    pub over: Arc<str>,
    /// The part of each.
    pub parts: BTreeMap<Value, Value>,
    /// All of it.
    pub total: Value,
}

/// Kinds of thing that hold stuff rather than ground.
const STOCKS: &[&str] = &["lot", "heap", "batch", "bucket"];
/// Kinds of thing that are ground.
const GROUND: &[&str] = &["bed", "field", "path", "room"];
/// Counted things that are plants or pots; anything else counted is a container of a culture.
const NOT_CONTAINERS: &[&str] = &["plant", "seedling", "pot", "seed"];

/// What a group offers.
pub fn fills(e: &Entry, g: &Group, ground: &Ground, unhurt: &BTreeSet<Arc<str>>, cx: &Context<'_>) -> Fills {
    let mut out = Fills::default();
    for f in &g.slots {
        offer(f, g, unhurt, &mut out);
    }
    fall_back(g, &mut out);
    share_out(e, g, ground, cx, &mut out);
    out
}

fn add(out: &mut Fills, primary: &str, joined: Joined) {
    let list = out.sets.entry(primary.into()).or_default();
    if !list.contains(&joined) {
        list.push(joined);
    }
}

fn one(out: &mut Fills, blank: &str, value: Value) {
    add(out, blank, BTreeMap::from([(blank.into(), value)]));
}

fn offer(f: &Filled, g: &Group, unhurt: &BTreeSet<Arc<str>>, out: &mut Fills) {
    let slot = &*f.slot;
    match &f.filler {
        Filler::Value(Value::Thing(t)) if slot == "control" || (slot == "test" && &*t.kind == CONTROL) => {
            if let Some(test) = thing_of(&f.filler) {
                one(out, "control", Value::Thing(test));
            }
        }
        Filler::Value(v) => one(out, slot, v.clone()),
        Filler::Part(p) => one(out, slot, Value::Thing(p.of.clone())),
        Filler::Containers { count, container, .. } => match slot {
            "pots" | "seeds" => one(out, slot, Value::Number(*count)),
            "count" | "container" => add(
                out,
                "count",
                BTreeMap::from([
                    ("count".into(), Value::Number(*count)),
                    ("container".into(), Value::Word(container.clone())),
                ]),
            ),
            // How much that is nobody knows; that it was not all is said.
            _ => {
                out.flags.insert(slot.into());
            }
        },
        Filler::CountOf { hurt, among, of } => {
            if !NOT_CONTAINERS.contains(&&**of) {
                out.flags.insert("containers".into());
            }
            counted(out, slot, *hurt, *among, g);
        }
        Filler::Grades(grades) => graded(out, grades, unhurt, g),
        Filler::Heights(list) => {
            for (n, height) in list.iter().enumerate() {
                let Some(h) = height else { continue };
                let pot = Value::number(f64::from(u32::try_from(n + 1).unwrap_or(u32::MAX)));
                add(
                    out,
                    "height",
                    BTreeMap::from([("pot".into(), pot), ("height".into(), Value::Quantity(*h))]),
                );
            }
        }
        Filler::Ratio(a, b) => {
            if let Some(share) = a.over(a.plus(*b)) {
                let share = Quantity { size: share, dimension: Dimension::Share };
                one(out, "part_share", Value::Quantity(share));
            }
            let words = format!("{}:{}", display::range(*a), display::range(*b));
            one(out, slot, Value::word(words));
        }
        Filler::Size(sides) => {
            if let [area] = sides.as_slice()
                && area.dimension == Dimension::Area
            {
                one(out, slot, Value::Quantity(*area));
            } else if let [a, b, ..] = sides.as_slice() {
                let area = Quantity { size: a.size.times(b.size), dimension: Dimension::Area };
                one(out, slot, Value::Quantity(area));
                let longest = if a.size.middle() >= b.size.middle() { a } else { b };
                one(out, "long", Value::Quantity(*longest));
            }
        }
        Filler::Wind { speed, word, from } => {
            if let Some(from) = from {
                let mut joined = BTreeMap::from([("compass".into(), Value::Word(from.clone()))]);
                if let Some(speed) = speed {
                    joined.insert("wind_speed".into(), Value::Quantity(*speed));
                }
                add(out, "compass", joined);
            }
            if let Some(word) = word {
                one(out, "wind_word", Value::Word(word.clone()));
            }
        }
        Filler::Level { level, under } => match (level, under) {
            (Some(q), false) => one(out, "level", Value::Quantity(*q)),
            // Under a limit is not nothing: none was seen, down to that limit.
            (Some(q), true) => {
                out.flags.insert("none".into());
                one(out, "limit", Value::Quantity(*q));
            }
            (None, false) => {
                out.flags.insert("none".into());
            }
            (None, true) => {}
        },
        Filler::Reading { quantity, value, clock, position } => {
            reading(out, quantity, value, *clock, position.as_ref());
        }
        Filler::Flag => {
            out.flags.insert(f.slot.clone());
        }
        Filler::Words(w) => one(out, slot, Value::Word(w.clone())),
        // What is still of all has no number: nothing says how many there are.
        Filler::Replacement(_) | Filler::OfAll { .. } => {}
    }
}

/// A count; over several places it is one count for all of them, so each has between none and all.
fn counted(out: &mut Fills, slot: &str, hurt: Range, among: Range, g: &Group) {
    let pooled = g.get("place").count() > 1 && !g.said("each");
    let part = |r: Range| if pooled { Range::new(0.0, r.high()) } else { r };
    add(
        out,
        slot,
        BTreeMap::from([
            (slot.into(), Value::Number(part(hurt))),
            ("among".into(), Value::Number(part(among))),
        ]),
    );
}

/// Grades count as hurt all but those of rank 0; the grade most of the hurt have is the severity.
fn graded(out: &mut Fills, grades: &[(Range, Arc<str>)], unhurt: &BTreeSet<Arc<str>>, g: &Group) {
    let sum = |list: &mut dyn Iterator<Item = &(Range, Arc<str>)>| {
        list.fold(Range::exact(0.0), |sum, (n, _)| sum.plus(*n))
    };
    let among = sum(&mut grades.iter());
    let hurt = sum(&mut grades.iter().filter(|(_, grade)| !unhurt.contains(grade)));
    if !g.said("hurt") {
        counted(out, "hurt", hurt, among, g);
    }
    if !g.said("severity") {
        let most = grades
            .iter()
            .filter(|(n, grade)| !unhurt.contains(grade) && n.low() > 0.0)
            .max_by(|a, b| a.0.cmp(&b.0).then_with(|| b.1.cmp(&a.1)));
        if let Some((_, grade)) = most {
            one(out, "severity", Value::Word(grade.clone()));
        }
    }
}

fn reading(
    out: &mut Fills,
    quantity: &Arc<str>,
    value: &Value,
    clock: Option<u16>,
    position: Option<&Arc<str>>,
) {
    let (blank, value) = match value {
        Value::Quantity(q) => match q.dimension {
            Dimension::Temperature => ("temperature", value.clone()),
            // pH has a scale of its own, and no unit.
            Dimension::Acidity => ("figure", Value::Number(q.size)),
            _ => ("figure", value.clone()),
        },
        Value::Number(_) => ("figure", value.clone()),
        _ => return,
    };
    let mut joined: Joined = BTreeMap::from([(blank.into(), value)]);
    joined.insert("quantity".into(), Value::Word(quantity.clone()));
    if let Some(clock) = clock {
        joined.insert("clock".into(), Value::Clock(clock));
    }
    if let Some(position) = position {
        joined.insert("position".into(), Value::Word(position.clone()));
    }
    add(out, blank, joined);
}

/// What a line leaves unsaid because it is plain: plants pulled "north-1" stood in north-1; stuff
/// removed "from lot x" is lot x.
fn fall_back(g: &Group, out: &mut Fills) {
    let kinds = |slot: &str, kinds: &[&str]| -> Vec<Thing> {
        g.get(slot).filter_map(|f| thing_of(&f.filler)).filter(|t| kinds.contains(&&*t.kind)).collect()
    };
    if !g.said("place") {
        for t in kinds("crop", GROUND) {
            one(out, "place", Value::Thing(t));
        }
    }
    if !g.said("lot") {
        for t in kinds("from", STOCKS) {
            one(out, "lot", Value::Thing(t));
        }
    }
}

/// Divides totals over the places they are for, by area; over people or lots the split is open.
fn share_out(e: &Entry, g: &Group, ground: &Ground, cx: &Context<'_>, out: &mut Fills) {
    let Some(frame) = cx.frames.get(&e.verb) else { return };
    if g.said("each") {
        return;
    }
    let totals: Vec<&Arc<str>> = frame
        .slots
        .iter()
        .filter(|s| s.several == Several::Shared || &*s.name == "count")
        .map(|s| &s.name)
        .collect();
    for slot in totals {
        let Some(total) = out.sets.get(slot).and_then(|l| l.first()).and_then(|j| j.get(slot)).cloned()
        else {
            continue;
        };
        let several = ["place", "from", "who", "lot", "other", "crop"].into_iter().find(|s| {
            *s != &**slot && frame.slot(s).is_some() && out.sets.get(*s).is_some_and(|l| l.len() > 1)
        });
        let Some(over) = several else { continue };
        let things: Vec<Value> =
            out.sets.get(over).into_iter().flatten().filter_map(|j| j.get(over)).cloned().collect();
        let by_area = matches!(over, "place" | "from") && !matches!(total, Value::Number(_));
        let areas: Vec<Option<Range>> = things
            .iter()
            .map(|v| match v {
                Value::Thing(t) if by_area => ground.areas.get(t).copied(),
                _ => None,
            })
            .collect();
        let size = match &total {
            Value::Quantity(q) => q.size,
            Value::Number(r) => *r,
            _ => continue,
        };
        let parts = things
            .into_iter()
            .zip(shared(size, &areas))
            .map(|(thing, size)| {
                let part = match &total {
                    Value::Quantity(q) => Value::Quantity(Quantity { size, dimension: q.dimension }),
                    _ => Value::Number(size),
                };
                (thing, part)
            })
            .collect();
        out.sets.remove(slot);
        out.shared.insert(slot.clone(), Shared { over: over.into(), parts, total });
    }
}
