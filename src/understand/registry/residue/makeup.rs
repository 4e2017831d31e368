//! What a place is made up of on a day: the shares of its sources by volume and by weight.
//!
//! Comes in: the stuff that lies there. Goes out: sentences with shares as ranges. It says nothing of levels.

use std::collections::BTreeSet;

use super::{
    Desk,
    stuff::{Here, NOTHING, Stuff, minus, plus},
};
use crate::{
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::Reckoned,
    reckon::{
        interval::Interval,
        residue::{Earth, Part, shares},
    },
};

/// Tells the make-up of the place of a desk.
pub fn tell(desk: &Desk<'_>, stuff: &Stuff<'_>, ground: bool, out: &mut Vec<Reckoned>) {
    let Some(place) = stuff.number(desk.place) else { return };
    if ground { in_ground(desk, stuff, place, out) } else { in_stock(desk, stuff, place, out) }
}

fn in_ground(desk: &Desk<'_>, stuff: &Stuff<'_>, place: usize, out: &mut Vec<Reckoned>) {
    let brought = stuff.brought(place);
    let here = stuff.in_place(place, desk.day);
    for here in here.iter().filter(|h| brought.contains(&h.source)) {
        on_top(desk, stuff, here, out);
    }
    let here = here.into_iter().filter(|h| h.in_ground().next().is_some());
    let (own, ways): (Vec<Here>, Vec<Here>) = here.partition(|h| brought.contains(&h.source));
    if own.is_empty() {
        return;
    }
    let total = own.iter().fold(NOTHING, |sum, h| plus(sum, h.all()));
    let mut deepest: Option<Interval> = None;
    let mut witnesses = BTreeSet::from([desk.asked]);
    witnesses.extend(desk.sizes());
    for here in &own {
        let depth = depth(desk, stuff, place, last(here), total, &mut witnesses);
        deepest = Some(
            deepest.map_or(depth, |d: Interval| Interval::new(d.low.min(depth.low), d.high.max(depth.high))),
        );
    }
    for (list, way) in [(&own, false), (&ways, true)] {
        for here in list {
            let mut witnesses = witnesses.clone();
            witnesses.extend(desk.tale.witnesses(here.tags()));
            witnesses.extend(here.said());
            witnesses.extend(stuff.density(here.source).1);
            let earth =
                earth(desk, depth(desk, stuff, place, last(here), total, &mut witnesses), &mut witnesses);
            let others = if way {
                minus(total, here.all())
            } else {
                own.iter().filter(|h| h.source != here.source).fold(NOTHING, |sum, h| plus(sum, h.all()))
            };
            let (by_volume, by_weight) = shares(here.all(), others, Some(&earth));
            let Some(source) = stuff.thing(here.source) else { continue };
            if way {
                say(desk, 2, by_weight, source, &witnesses, out);
            } else {
                say(desk, 0, by_volume, source, &witnesses, out);
                say(desk, 1, by_weight, source, &witnesses, out);
            }
        }
    }
    if let Some(depth) = deepest {
        let mut more = witnesses.clone();
        let earth = earth(desk, depth, &mut more);
        let own = earth.own(total.volume);
        let (by_volume, by_weight) = shares(own, total, None);
        let itself = Value::word("its own ground");
        say(desk, 0, by_volume, &itself, &more, out);
        say(desk, 1, by_weight, &itself, &more, out);
        if let Some(depth) = depth.range() {
            let depth = Value::Quantity(Quantity { size: depth, dimension: Dimension::Length });
            out.push(Reckoned {
                output: 3,
                values: vec![desk.place.clone(), depth, Value::Days(Days::on(desk.day))],
                witnesses: witnesses.into_iter().collect(),
                numbers: Vec::new(),
            });
        }
    }
}

/// What of a source lies on top: since when, and how deep where both its amount and the place's size are known.
fn on_top(desk: &Desk<'_>, stuff: &Stuff<'_>, here: &Here, out: &mut Vec<Reckoned>) {
    let Some(source) = stuff.thing(here.source) else { return };
    let Some(since) = here.on_top().map(|c| c.days).min() else { return };
    let mut witnesses = BTreeSet::from([desk.asked]);
    witnesses.extend(desk.tale.witnesses(here.on_top().map(|c| c.tag)));
    witnesses.extend(here.on_top().flat_map(|c| c.said.iter().copied()));
    let on = Value::Days(Days::on(desk.day));
    out.push(Reckoned {
        output: 10,
        values: vec![source.clone(), desk.place.clone(), on.clone(), Value::Days(since)],
        witnesses: witnesses.iter().copied().collect(),
        numbers: Vec::new(),
    });
    let volume = here.on_top().fold(NOTHING, |sum, c| plus(sum, c.part)).volume;
    let area = area(desk);
    if volume.high > 0.0 && volume.high.is_finite() && area.low > 0.0 {
        witnesses.extend(desk.sizes());
        let depth = Range::new(volume.low / area.high, volume.high / area.low);
        let depth = Value::Quantity(Quantity { size: depth, dimension: Dimension::Length });
        out.push(Reckoned {
            output: 11,
            values: vec![source.clone(), depth, desk.place.clone(), on],
            witnesses: witnesses.into_iter().collect(),
            numbers: Vec::new(),
        });
    }
}

fn in_stock(desk: &Desk<'_>, stuff: &Stuff<'_>, stock: usize, out: &mut Vec<Reckoned>) {
    let brought = stuff.brought(stock);
    let mut witnesses = BTreeSet::from([desk.asked]);
    witnesses.extend(desk.tale.witnesses(stuff.filled_by(stock).into_iter()));
    let list = stuff.in_stock(stock);
    let whole: (Range, BTreeSet<usize>) = stuff.density(stock);
    for (source, share) in &list {
        let Some(name) = stuff.thing(*source) else { continue };
        let (density, said) = stuff.density(*source);
        let mut witnesses = witnesses.clone();
        witnesses.extend(said);
        witnesses.extend(whole.1.iter().copied());
        let part = Part { volume: *share, mass: share.times(Interval::of(density)) };
        let rest = Interval::new(1.0 - share.high, 1.0 - share.low);
        let others = Part { volume: rest, mass: rest.times(Interval::of(whole.0)) };
        // The whole is one here, so the share by volume is known already.
        let by_weight = weight_of(part, others, *share);
        if brought.contains(source) {
            say(desk, 0, *share, name, &witnesses, out);
            say(desk, 1, by_weight, name, &witnesses, out);
        } else {
            say(desk, 2, by_weight, name, &witnesses, out);
        }
    }
}

/// The share by weight of what has `share` of the volume: most of it goes with least of the others.
fn weight_of(part: Part, others: Part, share: Interval) -> Interval {
    let ratio = |mine: f64, rest: f64| if mine <= 0.0 { 0.0 } else { mine / (mine + rest) };
    if share == Interval::WHOLE {
        return Interval::WHOLE;
    }
    Interval::new(ratio(part.mass.low, others.mass.high), ratio(part.mass.high, others.mass.low))
}

/// When the last of a source came into the ground.
pub fn last(here: &Here) -> Days {
    here.in_ground().map(|(since, _)| since).max().unwrap_or(Days::on(chrono::NaiveDate::MIN))
}

/// How deep stuff that came at `since` is mixed in by the day of the desk: as deep as was dug since, never
/// less deep than the layer that all the stuff makes. Where nobody wrote a depth, what the table says.
pub fn depth(
    desk: &Desk<'_>,
    stuff: &Stuff<'_>,
    place: usize,
    since: Days,
    total: Part,
    witnesses: &mut BTreeSet<usize>,
) -> Interval {
    let dug = std::iter::once(desk.place)
        .chain(stuff.with_wholes(place).filter(|v| *v != desk.place))
        .filter_map(|v| desk.book.dug.get(v))
        .flatten()
        .filter(|(day, _)| day.last >= since.first && day.first <= desk.day)
        .map(|(_, told)| *told)
        .max_by(|a, b| (a.0.high, a.1).cmp(&(b.0.high, b.1)));
    let told = dug.or(desk.book.undug);
    witnesses.extend(told.map(|(_, n)| n));
    let depth = told.map_or(Interval::UNKNOWN, |(d, _)| Interval::of(d));
    let area = area(desk);
    let layer = if area.low > 0.0 && total.volume.high.is_finite() {
        Interval::new(total.volume.low / area.high, total.volume.high / area.low)
    } else {
        Interval::NONE
    };
    Interval::new(depth.low.max(layer.low), depth.high.max(layer.high))
}

/// How large the place is, m².
pub fn area(desk: &Desk<'_>) -> Interval {
    desk.tale.ground.areas.get(desk.place).map_or(Interval::UNKNOWN, |a| Interval::of(*a))
}

/// The ground of the place to a depth.
pub fn earth(desk: &Desk<'_>, depth: Interval, witnesses: &mut BTreeSet<usize>) -> Earth {
    witnesses.extend(desk.book.ground.map(|(_, n)| n));
    let density = desk.book.ground.map_or(Interval::UNKNOWN, |(d, _)| Interval::of(d));
    Earth { area: area(desk), depth, density }
}

/// A share, widened outwards to whole per cents, or to tenths where it is small.
fn say(
    desk: &Desk<'_>,
    output: usize,
    share: Interval,
    source: &Value,
    witnesses: &BTreeSet<usize>,
    out: &mut Vec<Reckoned>,
) {
    if share.high <= 0.0 {
        return;
    }
    let step = if share.high < 0.1 { 1000.0 } else { 100.0 };
    let low = (share.low * step + 1e-9).floor() / step;
    let high = ((share.high * step - 1e-9).ceil() / step).min(1.0);
    let share = Value::Quantity(Quantity { size: Range::new(low, high), dimension: Dimension::Share });
    out.push(Reckoned {
        output,
        values: vec![share, desk.place.clone(), source.clone(), Value::Days(Days::on(desk.day))],
        witnesses: witnesses.iter().copied().collect(),
        numbers: Vec::new(),
    });
}
