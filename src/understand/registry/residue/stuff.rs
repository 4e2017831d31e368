//! How much of what lies in a place on a day, by volume and by mass.
//!
//! Comes in: the events of lineage and the weights of stuff. Goes out: [`Stuff`] for any place. Every step is
//! a bound; nothing is guessed but where a table says what to take for the unknown.

use std::collections::{BTreeMap, BTreeSet};

use chrono::NaiveDate;

use super::{
    super::lineage::{Tale, is},
    said::{Book, Told},
};
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::Given,
    reckon::{
        flow::{Arrived, Ledger, flow_sealed},
        interval::Interval,
        lineage::{Act, Event, StepKind, Story, Take, story, touched},
        residue::Part,
    },
};

/// The stuff of a farm as it lay on one day.
pub struct Stuff<'a> {
    book: &'a Book<'a>,
    told: Story,
    /// Amounts as they were written, volumes and masses apart.
    plain: Ledger,
    /// Amounts all as volumes.
    volume: Ledger,
    /// For each thing, what was put into it.
    inflows: Vec<Vec<usize>>,
    /// For each thing, what was taken out of it or out of a part of it.
    outflows: Vec<Vec<Outflow>>,
    /// For each event, what it took from and where that went.
    ways: BTreeMap<usize, (usize, usize)>,
}

/// Stuff taken out of a thing.
#[derive(Clone)]
struct Outflow {
    from: usize,
    /// By when.
    by: NaiveDate,
    /// What was taken, where that was said.
    named: Option<Value>,
}

/// One source in a place.
#[derive(Debug, Clone)]
pub struct Here {
    /// What came.
    pub source: usize,
    /// Each time some came.
    pub came: Vec<Came>,
}

/// Some of a source that came at once.
#[derive(Debug, Clone)]
pub struct Came {
    /// When it came.
    pub days: Days,
    /// Where it is on the day asked about.
    pub lies: Lies,
    /// How much; perhaps none of it, where some may have been taken away since.
    pub part: Part,
    /// The event that brought it.
    pub tag: usize,
    /// The sentences that say that it lies on top, or was dug in.
    pub said: Vec<usize>,
}

/// Where stuff that came to ground is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// In the ground since this day.
    In(Days),
    /// On top of it.
    OnTop,
    /// It lay on top until this day, and was taken off.
    TakenOff(Days),
}

impl Here {
    /// All that is in the ground, each time some came, with the day since which it is.
    pub fn in_ground(&self) -> impl Iterator<Item = (Days, &Came)> {
        self.came.iter().filter_map(|c| match c.lies {
            Lies::In(since) => Some((since, c)),
            _ => None,
        })
    }

    /// All that lies on top.
    pub fn on_top(&self) -> impl Iterator<Item = &Came> {
        self.came.iter().filter(|c| c.lies == Lies::OnTop)
    }

    /// What is in the ground, in all.
    pub fn all(&self) -> Part {
        self.in_ground().fold(NOTHING, |sum, (_, c)| plus(sum, c.part))
    }

    /// The events that brought it.
    pub fn tags(&self) -> impl Iterator<Item = usize> {
        self.came.iter().map(|c| c.tag)
    }

    /// The sentences that say how it lies.
    pub fn said(&self) -> impl Iterator<Item = usize> {
        self.came.iter().flat_map(|c| c.said.iter().copied())
    }
}

/// Nothing at all.
pub const NOTHING: Part = Part { volume: Interval::NONE, mass: Interval::NONE };

/// Both together.
pub fn plus(a: Part, b: Part) -> Part {
    Part { volume: a.volume.plus(b.volume), mass: a.mass.plus(b.mass) }
}

/// What is left of the first without the second.
pub fn minus(a: Part, b: Part) -> Part {
    Part { volume: a.volume.minus(b.volume), mass: a.mass.minus(b.mass) }
}

impl<'a> Stuff<'a> {
    /// Follows everything up to the end of `day`. What leaves a thing of which `sealed` is true is counted as
    /// that thing alone.
    pub fn on(
        day: NaiveDate,
        tale: &Tale,
        given: &[Given<'_>],
        book: &'a Book<'a>,
        sealed: impl Fn(&Value) -> bool,
    ) -> Self {
        // What clings to roots, and the plugs that plants were raised in, is left out: nobody weighs it.
        let events: Vec<Event> = tale
            .steps
            .iter()
            .filter(|(e, planned)| !planned && e.days.first <= day && !tale.is_potting(e.tag, given))
            .filter(|(e, _)| !matches!(&e.act, Act::Flow { take: Take::Trace, .. }))
            .map(|(e, _)| e.clone())
            .collect();
        let told = story(&events, &tale.ground);
        let shut: BTreeSet<usize> =
            told.things.iter().enumerate().filter(|(_, v)| sealed(v)).map(|(n, _)| n).collect();
        let plain = flow_sealed(&told, &shut);
        let mut inflows = vec![Vec::new(); told.things.len()];
        let mut outflows = vec![Vec::new(); told.things.len()];
        for s in told.events.iter().filter(|s| s.act == StepKind::Flow) {
            if let Some(list) = s.into.and_then(|into| inflows.get_mut(into)) {
                list.push(s.from);
            }
            for whole in told.wholes.get(s.from).into_iter().flatten() {
                if let Some(list) = outflows.get_mut(*whole) {
                    let named = tale.removed(s.tag, given).cloned();
                    list.push(Outflow { from: s.from, by: s.days.last, named });
                }
            }
        }
        let weighs = |v: &Value| match told.things.binary_search(v) {
            Ok(n) => density(&told, &inflows, book, n).0,
            Err(_) => FALLBACK,
        };
        let by_volume: Vec<Event> = events
            .iter()
            .map(|e| {
                let mut e = e.clone();
                match &mut e.act {
                    Act::Begin { stock, amount: Some(q) } => {
                        *q = as_volume(*q, weighs(stock));
                    }
                    Act::Flow { from, take: Take::Amount(q), .. }
                    | Act::DigIn { from, take: Take::Amount(q), .. } => {
                        *q = as_volume(*q, weighs(from));
                    }
                    _ => {}
                }
                e
            })
            .collect();
        let volume = flow_sealed(&story(&by_volume, &tale.ground), &shut);
        let ways = told.events.iter().filter_map(|s| Some((s.tag, (s.from, s.into?)))).collect();
        Self { book, told, plain, volume, inflows, outflows, ways }
    }

    /// The number of a thing, if it is known.
    pub fn number(&self, v: &Value) -> Option<usize> {
        self.told.things.binary_search(v).ok()
    }

    /// The thing of a number.
    pub fn thing(&self, n: usize) -> Option<&Value> {
        self.told.things.get(n)
    }

    /// A place and the wholes it is a part of.
    pub fn with_wholes(&self, place: usize) -> impl Iterator<Item = &Value> {
        self.told.wholes.get(place).into_iter().flatten().filter_map(|n| self.thing(*n))
    }

    /// What a measure of a thing weighs, with the sentences that say it.
    pub fn density(&self, n: usize) -> (Range, BTreeSet<usize>) {
        density(&self.told, &self.inflows, self.book, n)
    }

    /// Everything that came to a place, what came by way of others too, as it lies there by the end of `day`.
    pub fn in_place(&self, place: usize, day: NaiveDate) -> Vec<Here> {
        let sources: BTreeSet<usize> = self
            .plain
            .arrived
            .range((place, 0, None)..)
            .take_while(|((p, ..), _)| *p == place)
            .map(|((_, s, _), _)| *s)
            .collect();
        sources.into_iter().map(|s| self.here(place, s, day)).collect()
    }

    /// The things that were brought to a place as themselves.
    pub fn brought(&self, place: usize) -> BTreeSet<usize> {
        let steps = self.told.events.iter().filter(|s| s.act != StepKind::Begin);
        steps
            .filter(|s| {
                s.into.is_some_and(|into| touched(into, &self.told.wholes, &self.told.parts).contains(&place))
            })
            .map(|s| s.from)
            .collect()
    }

    fn here(&self, place: usize, source: usize, day: NaiveDate) -> Here {
        let rho = Interval::of(self.density(source).0);
        let of = |ledger: &'_ Ledger| -> Vec<(Option<Dimension>, Arrived)> {
            ledger
                .arrived
                .range((place, source, None)..)
                .take_while(|((p, s, _), _)| (*p, *s) == (place, source))
                .map(|((_, _, d), a)| (*d, a.clone()))
                .collect()
        };
        let by_mass = |mass: Interval| Part { volume: over(mass, rho), mass };
        let by_volume = |volume: Interval| Part { volume, mass: volume.times(rho) };
        let written = of(&self.plain);
        let counted: Vec<(Days, Part, usize)> = match written.as_slice() {
            [(Some(Dimension::Mass), a)] => a.each.iter().map(|(d, m, t)| (*d, by_mass(*m), *t)).collect(),
            [(Some(_), a)] => a.each.iter().map(|(d, v, t)| (*d, by_volume(*v), *t)).collect(),
            _ => {
                let all = of(&self.volume);
                all.iter().flat_map(|(_, a)| &a.each).map(|(d, v, t)| (*d, by_volume(*v), *t)).collect()
            }
        };
        let came = counted.into_iter().map(|(days, part, tag)| {
            let (lies, said) = self.lies(place, days, tag, day);
            // Stuff that was taken out of the place since may have been this.
            let thinned = self.outflows.get(place).into_iter().flatten().any(|out| {
                let other = out.named.as_ref().is_some_and(|named| {
                    let same = |v: Option<&Value>| v.is_some_and(|v| self.is_called(v, named));
                    !same(self.thing(source)) && !same(self.from(tag)) && self.is_loose(place, named, out.by)
                });
                out.from != source && out.by >= days.first && !other
            });
            let part = if thinned {
                Part { volume: part.volume.perhaps(), mass: part.mass.perhaps() }
            } else {
                part
            };
            Came { days, lies, part, tag, said }
        });
        Here { source, came: came.collect() }
    }

    /// Whether a thing goes by a name: its own, or that of its material.
    fn is_called(&self, thing: &Value, name: &Value) -> bool {
        thing == name || self.book.material.get(thing).is_some_and(|(material, _)| *material == name)
    }

    /// What an event took from.
    fn from(&self, tag: usize) -> Option<&Value> {
        self.ways.get(&tag).and_then(|(from, _)| self.thing(*from))
    }

    /// Where what an event brought to a place is by the end of a day, with the sentences that say so.
    fn lies(&self, place: usize, came: Days, tag: usize, day: NaiveDate) -> (Lies, Vec<usize>) {
        let into = self.ways.get(&tag).and_then(|(_, into)| self.thing(*into));
        let (Some(from), Some(view)) = (self.from(tag), self.thing(place)) else {
            return (Lies::In(came), Vec::new());
        };
        // A half that was dug by itself says so of itself; of the whole, its own lines do.
        let tops: Vec<_> = [Some(view), into]
            .into_iter()
            .flatten()
            .filter_map(|at| Some((at, self.book.on_top.get(&(from, at, came))?)))
            .collect();
        let Some((_, put)) = tops.first() else { return (Lies::In(came), Vec::new()) };
        let dug = tops.iter().filter_map(|(at, _)| self.book.dug_in.get(&(from, *at, came)));
        let dug = dug.flatten().filter(|(when, _)| when.first <= day).min();
        if let Some((when, said)) = dug {
            return (Lies::In(*when), vec![**put, *said]);
        }
        let off = tops.iter().filter_map(|(at, _)| self.book.off.get(&(from, *at)));
        let off = off.flatten().filter(|(when, _)| when.last >= came.first && when.first <= day).min();
        match off {
            Some((when, said)) => (Lies::TakenOff(*when), vec![**put, *said]),
            None => (Lies::OnTop, vec![**put]),
        }
    }

    /// Whether something lay loose on top of a place by the end of a day, so that it can be taken off by itself.
    fn is_loose(&self, place: usize, stuff: &Value, day: NaiveDate) -> bool {
        let Some(at) = self.thing(place) else { return false };
        self.book.on_top.keys().any(|(what, on, came)| {
            let mut dug = self.book.dug_in.get(&(what, on, *came)).into_iter().flatten();
            self.is_called(what, stuff) && *on == at && came.first <= day && !dug.any(|(d, _)| d.first <= day)
        })
    }

    /// The share by volume of each source in what is left of a stock, as themselves or by way of others.
    pub fn in_stock(&self, stock: usize) -> BTreeMap<usize, Interval> {
        self.volume.stocks.get(stock).map(|s| s.shares.clone()).unwrap_or_default()
    }

    /// The events that filled a stock.
    pub fn filled_by(&self, stock: usize) -> BTreeSet<usize> {
        self.volume.stocks.get(stock).map(|s| s.filled_by.clone()).unwrap_or_default()
    }

    /// How many times as slowly something goes at most, for the stuff that came to a place, with the sentences that
    /// say so; 1 where no such stuff came. What went through heaps and mixes counts.
    pub fn slowed(&self, place: usize, substance: &Value) -> (f64, Vec<usize>) {
        let mut seen = BTreeSet::new();
        let mut todo: Vec<usize> = self.brought(place).into_iter().collect();
        let mut most = (1.0, Vec::new());
        while let Some(n) = todo.pop() {
            let Some(v) = self.thing(n).filter(|_| seen.insert(n)) else { continue };
            if let Some((stuff, by)) = stuff_of(self.book, v)
                && let Some((times, said)) = self.book.slowed.get(&(substance, stuff))
                && times.high() > most.0
            {
                most = (times.high(), by.into_iter().chain([*said]).collect());
            }
            todo.extend(self.inflows.get(n).into_iter().flatten().copied());
        }
        most
    }

    /// Why no clock runs in a source, if so: it is, or was mixed of, stuff in which none runs. A heap rots what
    /// is put on it, so what went through one does not count.
    pub fn bound(&self, source: usize) -> Option<(&'a Value, &'a Value, Vec<usize>)> {
        let mut seen = BTreeSet::new();
        let mut todo = vec![source];
        while let Some(n) = todo.pop() {
            let Some(v) = self.thing(n).filter(|v| seen.insert(n) && !is(v, &["heap"])) else { continue };
            if let Some((stuff, why, said)) = stuff_of(self.book, v).and_then(|(material, by)| {
                let (stuff, (why, n)) = self.book.bound.get_key_value(material)?;
                Some((*stuff, *why, by.into_iter().chain([*n]).collect::<Vec<usize>>()))
            }) {
                return Some((stuff, why, said));
            }
            todo.extend(self.inflows.get(n).into_iter().flatten().copied());
        }
        None
    }
}

/// What weighs what nobody knows, if no table says: anything from loose straw to wet soil.
const FALLBACK: Range =
    Range { low: ordered_float::OrderedFloat(30.0), high: ordered_float::OrderedFloat(1700.0) };

fn over(mass: Interval, rho: Interval) -> Interval {
    Interval::new(mass.low / rho.high, mass.high / rho.low)
}

fn as_volume(q: Quantity, rho: Range) -> Quantity {
    match q.dimension {
        Dimension::Mass => {
            let v = over(Interval::of(q.size), Interval::of(rho));
            Quantity { size: Range::new(v.low, v.high), dimension: Dimension::Volume }
        }
        _ => q,
    }
}

/// What a thing is: its material, or itself where it goes by the material's word.
fn stuff_of<'b>(book: &Book<'b>, v: &'b Value) -> Option<(&'b Value, Vec<usize>)> {
    match (book.material.get(v), v) {
        (Some((material, said)), _) => Some((*material, vec![*said])),
        (None, Value::Word(_)) => Some((v, Vec::new())),
        // What lies on a heap has rotted into one: a table may say what such stuff weighs by the kind of thing.
        (None, Value::Thing(t)) => {
            let kind = Value::Word(t.kind.clone());
            Some((book.weighs.get_key_value(&kind)?.0, Vec::new()))
        }
        _ => None,
    }
}

/// What a measure of a thing weighs: by its material; else anything between what was put into it; else what
/// the table says of the unknown. With the sentences that say it.
fn density(told: &Story, inflows: &[Vec<usize>], book: &Book<'_>, thing: usize) -> (Range, BTreeSet<usize>) {
    let mut seen: BTreeSet<usize> = BTreeSet::new();
    let mut todo = vec![thing];
    let mut found: Option<Range> = None;
    let mut said = BTreeSet::new();
    let mut widen = |(range, n): Told, by: Vec<usize>| {
        found = Some(
            found.map_or(range, |f: Range| Range::new(f.low().min(range.low()), f.high().max(range.high()))),
        );
        said.extend(by.into_iter().chain([n]));
    };
    while let Some(n) = todo.pop() {
        if !seen.insert(n) {
            continue;
        }
        let stuff = told.things.get(n).and_then(|v| stuff_of(book, v));
        if let Some((told, by)) = stuff.and_then(|(m, by)| Some((*book.weighs.get(m)?, by))) {
            widen(told, by);
            continue;
        }
        let into = inflows.get(n).map_or(&[][..], Vec::as_slice);
        if let Some(other) = book.other.filter(|_| into.is_empty()) {
            widen(other, Vec::new());
        }
        todo.extend(into);
    }
    (found.filter(|r| r.low() > 0.0).unwrap_or(FALLBACK), said)
}
