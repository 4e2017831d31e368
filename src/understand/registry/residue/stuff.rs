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
    /// For each thing, what was taken out of it or out of a part of it, and by when.
    outflows: Vec<Vec<(usize, NaiveDate)>>,
    day: NaiveDate,
}

/// One source in a place.
#[derive(Debug, Clone)]
pub struct Here {
    /// What came.
    pub source: usize,
    /// Each time some came, with the day.
    pub came: Vec<(Days, Part)>,
    /// The events that brought it.
    pub tags: BTreeSet<usize>,
    /// Whether some of it may have been taken away since.
    pub thinned: bool,
}

impl Here {
    /// All that came.
    pub fn all(&self) -> Part {
        self.came.iter().fold(NOTHING, |sum, (_, p)| plus(sum, *p))
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
                    list.push((s.from, s.days.last));
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
        Self { book, told, plain, volume, inflows, outflows, day }
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

    /// Everything that came to a place, what came by way of others too.
    pub fn in_place(&self, place: usize) -> Vec<Here> {
        let sources: BTreeSet<usize> = self
            .plain
            .arrived
            .range((place, 0, None)..)
            .take_while(|((p, ..), _)| *p == place)
            .map(|((_, s, _), _)| *s)
            .collect();
        sources.into_iter().map(|s| self.here(place, s)).collect()
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

    fn here(&self, place: usize, source: usize) -> Here {
        let rho = Interval::of(self.density(source).0);
        let of = |ledger: &'_ Ledger| -> Vec<(Option<Dimension>, Arrived)> {
            ledger
                .arrived
                .range((place, source, None)..)
                .take_while(|((p, s, _), _)| (*p, *s) == (place, source))
                .map(|((_, _, d), a)| (*d, a.clone()))
                .collect()
        };
        let written = of(&self.plain);
        let tags = written.iter().flat_map(|(_, a)| a.brought_by.iter().copied()).collect();
        let came = match written.as_slice() {
            [(Some(Dimension::Mass), a)] => {
                each(a).map(|(d, mass)| (d, Part { volume: over(mass, rho), mass })).collect()
            }
            [(Some(_), a)] => {
                each(a).map(|(d, volume)| (d, Part { volume, mass: volume.times(rho) })).collect()
            }
            _ => {
                let counted: Vec<(Days, Interval)> =
                    of(&self.volume).iter().flat_map(|(_, a)| each(a).collect::<Vec<_>>()).collect();
                counted.into_iter().map(|(d, volume)| (d, Part { volume, mass: volume.times(rho) })).collect()
            }
        };
        let mut here = Here { source, came, tags, thinned: false };
        // Stuff that was taken out of the place since may have been this.
        let first = here.came.iter().map(|(d, _)| d.first).min().unwrap_or(self.day);
        here.thinned = self
            .outflows
            .get(place)
            .into_iter()
            .flatten()
            .any(|(from, last)| *from != source && *last >= first);
        if here.thinned {
            for (_, part) in &mut here.came {
                *part = Part { volume: part.volume.perhaps(), mass: part.mass.perhaps() };
            }
        }
        here
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

/// Each arrival by itself, from sums that grow.
fn each(a: &Arrived) -> impl Iterator<Item = (Days, Interval)> + '_ {
    let before = std::iter::once(Interval::NONE).chain(a.by_day.iter().map(|(_, sum)| *sum));
    a.by_day.iter().zip(before).map(|((days, sum), before)| {
        let high = if sum.high.is_infinite() { f64::INFINITY } else { sum.high - before.high };
        (*days, Interval::new(sum.low - before.low, high))
    })
}

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
