//! What level of each substance a place holds on a day, and when it may be under a level asked about.
//!
//! Comes in: findings, rates and the stuff that lies there. Goes out: levels as ranges, chances, days, and why
//! none is given. Ranges are widened outwards to two figures; nothing here is ever called safe.

use std::collections::BTreeSet;

use super::{
    Desk,
    makeup::{depth, earth},
    said::{Finding, Told},
    stuff::{Here, Lies, NOTHING, Stuff, minus, plus},
};
use crate::{
    measure::{
        date::{self, Days},
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::Reckoned,
    reckon::{
        decay::{HalfLife, fitted_half_life, is_not_first_order},
        doses::{Dose, chance_under, day_under, level},
        interval::Interval,
        residue::{Part, shares, washed_down},
    },
};

/// Fewest results of one place from which a course can be told.
const COURSE: usize = 3;
/// A part of a billion: levels go through the sums in these, so that halving underflows nothing.
const PPB: f64 = 1e-9;
/// No chance is told beyond these: the published half-lives do not reach further.
const SUREST: (f64, f64) = (0.01, 0.99);

/// Tells what is known of every substance in the place of a desk.
pub fn tell(desk: &Desk<'_>, stuff: &Stuff<'_>, ground: bool, out: &mut Vec<Reckoned>) {
    for substance in desk.book.substances() {
        if ground {
            in_ground(desk, stuff, substance, out);
        } else {
            in_stock(desk, stuff, substance, out);
        }
    }
}

/// Doses with all they rest on, and why no day can be told of them.
#[derive(Default)]
struct Doses {
    list: Vec<Dose>,
    witnesses: BTreeSet<usize>,
    refused: Option<(String, Vec<usize>)>,
    found: Vec<(String, Value)>,
}

fn in_ground(desk: &Desk<'_>, stuff: &Stuff<'_>, substance: &Value, out: &mut Vec<Reckoned>) {
    let mut doses = Doses { witnesses: BTreeSet::from([desk.asked]), ..Doses::default() };
    let own = results(desk, desk.place, substance);
    let newest = own.last().map(|f| f.day);
    let crooked = course(desk, substance, &own, out);
    for finding in own.iter().filter(|f| Some(f.day) == newest) {
        doses.witnesses.insert(finding.said);
    }
    if let Some(day) = newest {
        let level = hull(own.iter().filter(|f| f.day == day).map(|f| Interval::of(f.level)));
        let found = own.iter().any(|f| f.found && f.day == day);
        doses.found.push((format!("{} in it, {}", word(found), date::words(day)), ppb(level, true)));
        doses.list.push(Dose { day: number(day), level: scaled(level), fades: true });
    }
    from_stuff(desk, stuff, substance, newest, &mut doses);
    from_sprayings(desk, stuff, substance, newest, &mut doses);
    if doses.list.is_empty() {
        return;
    }
    let halves = desk.book.halves.get(substance);
    doses.witnesses.extend(halves.map(|(_, n)| *n));
    let (times, said) =
        stuff.number(desk.place).map_or((1.0, Vec::new()), |place| stuff.slowed(place, substance));
    doses.witnesses.extend(said);
    let halves = halves.map(|(h, _)| Range::new(h.low(), h.high() * times));
    let half_life = halves.and_then(|h| HalfLife::from_range(h.low(), h.high()));
    let day = number(Days::on(desk.day));
    let now = level(&doses.list, half_life, day);
    let mut numbers = doses.found.clone();
    if let Some(h) = halves {
        let days = Range::new(h.low(), h.high().round());
        numbers.push(("half gone in".to_owned(), quantity(days, Dimension::Duration)));
    }
    let today = Value::Days(Days::on(desk.day));
    let witnesses: Vec<usize> = doses.witnesses.iter().copied().collect();
    out.push(Reckoned {
        output: 4,
        values: vec![desk.place.clone(), ppb(unscaled(now), false), substance.clone(), today.clone()],
        witnesses: witnesses.clone(),
        numbers: numbers.clone(),
    });
    let hurt = desk.book.hurt.get(&(desk.place, desk.day)).map(|(why, n)| (words(why), vec![*n]));
    let refused = match (&hurt.or(doses.refused), crooked, half_life) {
        (Some((why, said)), ..) => Some((why.clone(), said.clone())),
        (None, true, _) => Some(("its results do not fall as one decay".to_owned(), Vec::new())),
        (None, false, None) => Some(("no half-life with two ends was found".to_owned(), Vec::new())),
        (None, false, Some(_)) => None,
    };
    if let Some((why, said)) = refused {
        out.push(Reckoned {
            output: 7,
            values: vec![substance.clone(), desk.place.clone(), Value::word(why)],
            witnesses: witnesses.iter().copied().chain(said).collect::<BTreeSet<_>>().into_iter().collect(),
            numbers: Vec::new(),
        });
        return;
    }
    let Some(half_life) = half_life else { return };
    let seen = desk.tale.today.map_or(desk.day, |(today, _)| today);
    for (asked, said) in desk.book.minded.get(&(desk.place, substance)).into_iter().flatten() {
        let threshold = asked.size.low() / PPB;
        let mut witnesses = doses.witnesses.clone();
        witnesses.insert(*said);
        let all = |more: Option<usize>| -> Vec<usize> {
            witnesses.iter().copied().chain(more).collect::<BTreeSet<_>>().into_iter().collect()
        };
        let asked = Value::Quantity(*asked);
        if let Some(p) = chance_under(&doses.list, threshold, half_life, day) {
            out.push(Reckoned {
                output: 5,
                values: vec![desk.place.clone(), asked.clone(), substance.clone(), today.clone(), chance(p)],
                witnesses: all(None),
                numbers: numbers.clone(),
            });
        }
        for (p, n) in &desk.book.chances {
            if let Some(days) = day_under(&doses.list, threshold, half_life, p.middle()) {
                let from = date::shift(EPOCH, days as i64);
                out.push(Reckoned {
                    output: 6,
                    values: vec![
                        desk.place.clone(),
                        asked.clone(),
                        substance.clone(),
                        quantity(*p, Dimension::Share),
                        Value::Days(Days::roughly(from, seen)),
                    ],
                    witnesses: all(Some(*n)),
                    numbers: numbers.clone(),
                });
            }
        }
    }
}

/// In a stock nothing is reckoned to fade: what was found is there, or what its sources bring.
fn in_stock(desk: &Desk<'_>, stuff: &Stuff<'_>, substance: &Value, out: &mut Vec<Reckoned>) {
    let mut witnesses = BTreeSet::from([desk.asked]);
    let mut numbers = Vec::new();
    let own = results(desk, desk.place, substance);
    let there = if own.is_empty() {
        let Some(stock) = stuff.number(desk.place) else { return };
        let whole = stuff.density(stock).0;
        let mut sum = Interval::NONE;
        for (source, share) in stuff.in_stock(stock) {
            let found = stuff.thing(source).map(|v| results(desk, v, substance)).unwrap_or_default();
            if found.is_empty() {
                continue;
            }
            let (density, said) = stuff.density(source);
            witnesses.extend(said);
            witnesses.extend(found.iter().map(|f| f.said));
            let name = stuff.thing(source).map(words).unwrap_or_default();
            numbers.push(named(&name, &found));
            let (mine, all) = (share.times(Interval::of(density)), Interval::of(whole));
            let part = Part { volume: share, mass: mine };
            let rest = Interval::new(1.0 - share.high, 1.0 - share.low);
            let others = Part { volume: rest, mass: rest.times(all) };
            let weight = shares(part, others, None).1;
            sum = sum.plus(weight.times(hull(found.iter().map(|f| as_lies(desk, f, &mut witnesses)))));
        }
        witnesses.extend(desk.tale.witnesses(stuff.filled_by(stock).into_iter()));
        sum
    } else {
        witnesses.extend(own.iter().map(|f| f.said));
        numbers.push(named("it", &own));
        hull(own.iter().map(|f| Interval::of(f.level)))
    };
    if there.high <= 0.0 {
        return;
    }
    let day = Value::Days(Days::on(desk.day));
    let witnesses: Vec<usize> = witnesses.into_iter().collect();
    out.push(Reckoned {
        output: 4,
        values: vec![desk.place.clone(), ppb(there, false), substance.clone(), day],
        witnesses: witnesses.clone(),
        numbers,
    });
    let why = "in a heap, a bag, a bale or a pile no soil clock runs".to_owned();
    out.push(Reckoned {
        output: 7,
        values: vec![substance.clone(), desk.place.clone(), Value::word(why)],
        witnesses,
        numbers: Vec::new(),
    });
}

/// Findings of a thing by the day of the desk. One of a lot holds of it from the first: it was what it is
/// before anybody knew. One of ground holds from its day on.
fn results(desk: &Desk<'_>, thing: &Value, substance: &Value) -> Vec<Finding> {
    let ground = super::is(thing, super::GROUND);
    let all = desk.book.found.get(&(thing, substance)).into_iter().flatten();
    all.filter(|f| !ground || f.day.first <= desk.day).copied().collect()
}

/// Whether a place's results tell of one decay; says so either way where there are enough of them.
fn course(desk: &Desk<'_>, substance: &Value, own: &[Finding], out: &mut Vec<Reckoned>) -> bool {
    let found: Vec<&Finding> = own.iter().filter(|f| f.found).collect();
    let days: BTreeSet<Days> = found.iter().map(|f| f.day).collect();
    if days.len() < COURSE {
        return false;
    }
    let series: Vec<(f64, f64)> = days
        .iter()
        .map(|day| {
            let of_day = hull(found.iter().filter(|f| f.day == *day).map(|f| Interval::of(f.level)));
            (number(*day), f64::midpoint(of_day.low, of_day.high) / PPB)
        })
        .collect();
    let witnesses: Vec<usize> = std::iter::once(desk.asked).chain(found.iter().map(|f| f.said)).collect();
    let mut say = |output: usize, more: Option<Value>| {
        let values = [substance.clone(), desk.place.clone()].into_iter().chain(more).collect();
        out.push(Reckoned { output, values, witnesses: witnesses.clone(), numbers: Vec::new() });
    };
    if is_not_first_order(&series) {
        say(8, None);
        return true;
    }
    if let Some(days) = fitted_half_life(&series) {
        say(9, Some(quantity(Range::exact(days.round()), Dimension::Duration)));
    }
    false
}

/// What the measured sources that came after `newest` bring.
fn from_stuff(
    desk: &Desk<'_>,
    stuff: &Stuff<'_>,
    substance: &Value,
    newest: Option<Days>,
    doses: &mut Doses,
) {
    let Some(place) = stuff.number(desk.place) else { return };
    let brought = stuff.brought(place);
    let all = stuff.in_place(place, desk.day);
    let own: Vec<&Here> = all.iter().filter(|h| brought.contains(&h.source)).collect();
    let total = own.iter().fold(NOTHING, |sum, h| plus(sum, h.all()));
    for here in &all {
        let Some(source) = stuff.thing(here.source) else { continue };
        let found = results(desk, source, substance);
        if found.is_empty() {
            continue;
        }
        let name = words(source);
        let mut witnesses = BTreeSet::new();
        witnesses.extend(found.iter().map(|f| f.said));
        let held = hull(found.iter().map(|f| as_lies(desk, f, &mut witnesses)));
        let bound = stuff.bound(here.source);
        for came in &here.came {
            // Until when it brought more: what lies on top goes on.
            let until = match came.lies {
                Lies::In(_) => Some(came.days),
                Lies::TakenOff(day) => Some(day),
                Lies::OnTop => None,
            };
            let outranked =
                newest.is_some_and(|newest| until.is_some_and(|until| until.last <= newest.first));
            if let Some((_, why, said)) = &bound {
                doses.refused.get_or_insert((format!("{name} went there, and {}", words(why)), said.clone()));
                if outranked {
                    doses.list.iter_mut().for_each(|d| d.fades = false);
                }
            }
            if outranked {
                continue;
            }
            let dose = if let Lies::In(since) = came.lies {
                let depth = depth(desk, stuff, place, since, total, &mut witnesses);
                let earth = earth(desk, depth, &mut witnesses);
                let others = if brought.contains(&here.source) {
                    let theirs = own.iter().filter(|h| h.source != here.source);
                    let mine = here.in_ground().filter(|(_, c)| !std::ptr::eq(*c, came));
                    mine.fold(theirs.fold(NOTHING, |sum, h| plus(sum, h.all())), |sum, (_, c)| {
                        plus(sum, c.part)
                    })
                } else {
                    minus(total, came.part)
                };
                let weight = shares(came.part, others, Some(&earth)).1;
                Dose { day: number(since), level: scaled(weight.times(held)), fades: bound.is_none() }
            } else {
                let why = format!("{name} lies on top there, or lay: it lets go of what is in it as it rots");
                doses.refused.get_or_insert((why, came.said.clone()));
                let depth = depth(desk, stuff, place, came.days, total, &mut witnesses);
                let earth = earth(desk, depth, &mut witnesses);
                let under = plus(earth.own(total.volume), total);
                let level = washed_down(came.part.mass.times(held), under.mass).capped(held.high);
                Dose { day: number(came.days), level: scaled(level), fades: false }
            };
            doses.list.push(dose);
            doses.witnesses.extend(desk.tale.witnesses(here.tags()));
            doses.witnesses.extend(here.said());
            doses.witnesses.extend(witnesses.iter().copied());
            doses.witnesses.extend(desk.sizes());
            doses.witnesses.extend(stuff.density(here.source).1);
        }
        let (mut what, level) = named(&name, &found);
        if here.on_top().next().is_some() {
            what.push_str(", of which none to all may have been washed out of what lies on top");
        }
        doses.found.push((what, level));
    }
}

/// What the grower's own sprayings after `newest` bring.
fn from_sprayings(
    desk: &Desk<'_>,
    stuff: &Stuff<'_>,
    substance: &Value,
    newest: Option<Days>,
    doses: &mut Doses,
) {
    let sprayed = desk.book.sprayed.get(&(desk.place, substance)).into_iter().flatten();
    for (day, (rate, said)) in sprayed {
        if day.first > desk.day || newest.is_some_and(|n| day.last <= n.first) {
            continue;
        }
        let place = stuff.number(desk.place).unwrap_or(usize::MAX);
        let depth = depth(desk, stuff, place, *day, NOTHING, &mut doses.witnesses);
        let earth = earth(desk, depth, &mut doses.witnesses);
        let mass = earth.depth.times(earth.density);
        if mass.low <= 0.0 || !mass.high.is_finite() {
            continue;
        }
        let level = Interval::new(rate.low() / mass.high, rate.high() / mass.low);
        doses.list.push(Dose { day: number(*day), level: scaled(level), fades: true });
        doses.witnesses.insert(*said);
        doses
            .found
            .push((format!("sprayed, {}", date::words(*day)), quantity(*rate, Dimension::MassPerArea)));
    }
}

/// A finding by the weight of stuff as it lies: by dry weight it is more than that, by as much as the stuff is
/// wet; where nobody said which it is, either.
fn as_lies(desk: &Desk<'_>, finding: &Finding, witnesses: &mut BTreeSet<usize>) -> Interval {
    let level = Interval::of(finding.level);
    let dry: Option<Told> = desk.book.dry;
    let factor = match (finding.dry, dry) {
        (Some(false), _) | (_, None) => return level,
        (Some(true), Some((share, n))) => {
            witnesses.insert(n);
            Interval::of(share)
        }
        (None, Some((share, n))) => {
            witnesses.insert(n);
            Interval::new(share.low(), 1.0)
        }
    };
    level.times(factor)
}

/// What was found of a thing, and how much: where none was, how much there may be all the same.
fn named(thing: &str, findings: &[Finding]) -> (String, Value) {
    let level = ppb(hull(findings.iter().map(|f| Interval::of(f.level))), true);
    (format!("{} in {thing}", word(findings.iter().any(|f| f.found))), level)
}

fn word(found: bool) -> &'static str {
    if found { "found" } else { "not found" }
}

fn hull(all: impl Iterator<Item = Interval>) -> Interval {
    all.reduce(|a, b| Interval::new(a.low.min(b.low), a.high.max(b.high))).unwrap_or(Interval::NONE)
}

const EPOCH: chrono::NaiveDate = chrono::NaiveDate::MIN;

/// A day as a number; of a span its last, so that no clock starts early.
fn number(day: Days) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let days = (day.last - EPOCH).num_days() as f64;
    days
}

fn scaled(level: Interval) -> Interval {
    Interval::new(level.low / PPB, level.high / PPB)
}

fn unscaled(level: Interval) -> Interval {
    Interval::new(level.low * PPB, level.high * PPB)
}

/// A level: as it is, or widened outwards to two figures.
fn ppb(level: Interval, exact: bool) -> Value {
    let range = if exact { Range::new(level.low, level.high) } else { outwards(level) };
    quantity(range, Dimension::MassFraction)
}

fn outwards(level: Interval) -> Range {
    let step = |n: f64| 10f64.powf((n / PPB).log10().floor() - 1.0);
    // Next to the most it may be, so little is as good as nothing.
    let low = if level.low <= 0.01 * level.high {
        0.0
    } else {
        let s = step(level.low);
        (level.low / PPB / s + 1e-9).floor() * s * PPB
    };
    let high = if level.high <= 0.0 {
        0.0
    } else {
        let s = step(level.high);
        (level.high / PPB / s - 1e-9).ceil() * s * PPB
    };
    Range::new(low, high)
}

/// A chance in whole per cents, widened outwards and kept off certainty.
fn chance(p: Interval) -> Value {
    let (least, most) = SUREST;
    let low = ((p.low * 100.0 + 1e-9).floor() / 100.0).clamp(least, most);
    let high = ((p.high * 100.0 - 1e-9).ceil() / 100.0).clamp(least, most);
    quantity(Range::new(low, high), Dimension::Share)
}

fn quantity(size: Range, dimension: Dimension) -> Value {
    Value::Quantity(Quantity { size, dimension })
}

fn words(v: &Value) -> String {
    crate::measure::display::value(v, &Default::default())
}
