//! What of a lot still lies on the ground that it is dug into, and what must come from elsewhere.
//!
//! Comes in: steps in order, and what was done to the ground. Goes out: the same steps, where each digging in
//! takes of its lot only what did not lie there already. Who digs in what lies there brings nothing; what was
//! dug in before, or taken off, lies there no more.
//!
//! What is not sure counts as lying: an amount nobody wrote, a digging that may have come before.

use std::collections::BTreeSet;

use super::{
    interval::Interval,
    lineage::{Act, Deed, Event, Step, StepKind, Take, touched},
};
use crate::measure::{
    date::Days,
    number::Range,
    unit::Dimension,
    value::{Quantity, Value},
};

/// Less than this part of what is dug in is rounding.
const ROUNDING: f64 = 1e-9;

/// What was done to ground, with numbers for things.
struct Done<'a> {
    days: Days,
    at: usize,
    deed: &'a Deed,
}

/// Some of a lot that was put on ground.
struct Layer {
    days: Days,
    lot: usize,
    at: usize,
    /// How much of it is not dug in by name yet; `None` if nobody wrote how much.
    left: Option<(Interval, Dimension)>,
    /// Whether it lies on top of ground that was dug the same day.
    stays: bool,
}

/// Settles how much each digging in takes of its lot: [`Take::Trace`] where all of it lay there.
pub fn settle(
    steps: &mut [Step],
    events: &[Event],
    number: &dyn Fn(&Value) -> Option<usize>,
    wholes: &[Vec<usize>],
    parts: &[Vec<(usize, Range)>],
) {
    if !steps.iter().any(|s| s.act == StepKind::DigIn) {
        return;
    }
    let deeds = || {
        events.iter().filter_map(|e| match &e.act {
            Act::Ground { place, deed } => Some((e.days, place, deed)),
            _ => None,
        })
    };
    let of = |wanted: fn(&Deed) -> Option<usize>| -> BTreeSet<usize> {
        deeds().filter_map(|(_, _, deed)| wanted(deed)).collect()
    };
    let stays = of(|d| if let Deed::Stays { of } = d { Some(*of) } else { None });
    let rooted = of(|d| if let Deed::Rooted { of } = d { Some(*of) } else { None });
    let done: Vec<Done<'_>> =
        deeds().filter_map(|(days, place, deed)| Some(Done { days, at: number(place)?, deed })).collect();
    let mut layers: Vec<Layer> = Vec::new();
    for step in steps {
        let (Some(into), true) = (step.into, step.act != StepKind::Begin) else { continue };
        if step.act == StepKind::Flow {
            let left = match step.take {
                Take::Amount(q) => Some((Interval::of(q.size), q.dimension)),
                Take::Trace => continue,
                Take::Some | Take::Share(_) => None,
            };
            if !rooted.contains(&step.tag) {
                let stays = stays.contains(&step.tag);
                layers.push(Layer { days: step.days, lot: step.from, at: into, left, stays });
            }
            continue;
        }
        let mut lying: Vec<(&mut Layer, Interval)> = layers
            .iter_mut()
            .filter(|l| l.lot == step.from && !is_gone(l, step.days, &done, number, wholes, parts))
            .filter_map(|l| Some((part_at(l.at, into, wholes, parts)?, l)))
            .map(|(part, l)| (l, part))
            .collect();
        if lying.is_empty() {
            continue;
        }
        step.take = rest(&mut lying, step.take);
    }
}

/// What part of what was put on one place lies on another: all of it on the place itself and on what that is a part
/// of, a share of it on its own parts. `None` if nothing does.
fn part_at(
    at: usize,
    place: usize,
    wholes: &[Vec<usize>],
    parts: &[Vec<(usize, Range)>],
) -> Option<Interval> {
    if at == place || wholes.get(at).is_some_and(|up| up.contains(&place)) {
        return Some(Interval::WHOLE);
    }
    let share = parts.get(at)?.iter().find(|(part, _)| *part == place)?.1;
    Some(Interval::of(share))
}

/// Whether a layer was surely dug in or taken off before a day.
fn is_gone(
    layer: &Layer,
    by: Days,
    done: &[Done<'_>],
    number: &dyn Fn(&Value) -> Option<usize>,
    wholes: &[Vec<usize>],
    parts: &[Vec<(usize, Range)>],
) -> bool {
    let is_lot = |v: &Value| number(v) == Some(layer.lot);
    done.iter().filter(|d| touched(d.at, wholes, parts).contains(&layer.at)).any(|d| {
        let before = d.days.last < by.first;
        let after = d.days.first > layer.days.last;
        let same = d.days == layer.days && d.days.is_known();
        match d.deed {
            Deed::Dug { spares } => before && after && !spares.iter().any(is_lot),
            Deed::Turned => before && (after || same && !layer.stays),
            Deed::Cleared { of } => {
                d.days.last <= by.first && (after || same) && of.as_ref().is_none_or(is_lot)
            }
            Deed::Stays { .. } | Deed::Rooted { .. } => false,
        }
    })
}

/// What a digging in takes beyond what lies there, of which so much is dug in now.
fn rest(lying: &mut [(&mut Layer, Interval)], take: Take) -> Take {
    let Take::Amount(wanted) = take else { return Take::Trace };
    let mut there = Interval::NONE;
    for (layer, part) in lying.iter() {
        match layer.left {
            Some((left, dimension)) if dimension == wanted.dimension => there = there.plus(left.times(*part)),
            _ => return Take::Trace,
        }
    }
    let asked = Interval::of(wanted.size);
    let mut open = asked;
    for (layer, part) in lying.iter_mut() {
        let Some((left, dimension)) = layer.left else { continue };
        let here = left.times(*part);
        let taken = Interval::new(open.low.min(here.low), open.high.min(here.high));
        layer.left = Some((left.minus(taken), dimension));
        open = open.minus(taken);
    }
    let more = asked.minus(there);
    if more.high <= ROUNDING * asked.high {
        return Take::Trace;
    }
    Take::Amount(Quantity { size: Range::new(more.low, more.high), dimension: wanted.dimension })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::super::{
        flow::{Ledger, flow},
        lineage::{Ground, Story, story},
    };
    use super::*;

    fn on(d: u32) -> Days {
        let first = chrono::NaiveDate::from_ymd_opt(2026, 3, 1).expect("a day");
        Days::on(first + chrono::Days::new(u64::from(d)))
    }

    fn lot(name: &str) -> Value {
        Value::thing("lot", name)
    }

    fn litres(n: f64) -> Take {
        let size = Range::exact(n / 1000.0);
        Take::Amount(Quantity { size, dimension: Dimension::Volume })
    }

    fn load(n: f64) -> Act {
        let Take::Amount(q) = litres(n) else { unreachable!("an amount") };
        Act::Begin { stock: lot("load"), amount: Some(q) }
    }

    fn spread(n: f64) -> Act {
        Act::Flow { from: lot("load"), into: Some(lot("bed")), take: litres(n) }
    }

    fn dig_in(n: f64) -> [Act; 2] {
        let deed = Deed::Dug { spares: BTreeSet::from([lot("load")]) };
        let place = lot("bed");
        [Act::DigIn { from: lot("load"), into: place.clone(), take: litres(n) }, Act::Ground { place, deed }]
    }

    fn ground(deed: Deed) -> Act {
        Act::Ground { place: lot("bed"), deed }
    }

    fn told(days: Vec<(u32, Act)>) -> (Story, Ledger) {
        let events: Vec<Event> =
            days.into_iter().enumerate().map(|(tag, (d, act))| Event { days: on(d), act, tag }).collect();
        let story = story(&events, &Ground::default());
        let ledger = flow(&story);
        (story, ledger)
    }

    /// Litres that are left of the load, and that came to the bed.
    fn left_and_there(days: Vec<(u32, Act)>) -> (f64, f64) {
        let (s, l) = told(days);
        let number = |v: &Value| s.things.binary_search(v).expect("known");
        let (load, bed) = (number(&lot("load")), number(&lot("bed")));
        let there = l.arrived.get(&(bed, load, Some(Dimension::Volume))).map_or(0.0, |a| a.total().low);
        let round = |n: f64| (n * 1e6).round() / 1e3;
        (round(l.stocks[load].left.low), round(there))
    }

    #[test]
    fn a_second_digging_in_comes_out_of_the_load() {
        let mut days = vec![(0, load(2000.0))];
        days.extend(dig_in(400.0).map(|act| (1, act)));
        days.extend(dig_in(400.0).map(|act| (8, act)));
        assert_eq!(left_and_there(days), (1200.0, 800.0));
    }

    #[test]
    fn what_lies_on_top_is_dug_in_first_and_the_rest_comes_out_of_the_load() {
        let mut days = vec![(0, load(2000.0)), (1, spread(300.0))];
        days.extend(dig_in(400.0).map(|act| (2, act)));
        assert_eq!(left_and_there(days.clone()), (1600.0, 400.0));
        days.extend(dig_in(100.0).map(|act| (9, act)));
        assert_eq!(left_and_there(days), (1500.0, 500.0));
    }

    #[test]
    fn what_is_dug_in_in_two_goes_lay_there_both_times() {
        let mut days = vec![(0, load(2000.0)), (1, spread(400.0))];
        days.extend(dig_in(100.0).map(|act| (2, act)));
        days.extend(dig_in(300.0).map(|act| (3, act)));
        assert_eq!(left_and_there(days), (1600.0, 400.0));
    }

    #[test]
    fn what_was_dug_over_or_taken_off_lies_there_no_more() {
        let gone = [
            Deed::Dug { spares: BTreeSet::new() },
            Deed::Turned,
            Deed::Cleared { of: Some(lot("load")) },
            Deed::Cleared { of: None },
        ];
        for deed in gone {
            let mut days = vec![(0, load(2000.0)), (1, spread(400.0)), (3, ground(deed))];
            days.extend(dig_in(400.0).map(|act| (8, act)));
            assert_eq!(left_and_there(days), (1200.0, 800.0));
        }
        // Another lot's digging, and what was taken off before it came.
        for (day, deed) in [(0, Deed::Cleared { of: None }), (3, Deed::Cleared { of: Some(lot("other")) })] {
            let mut days = vec![(0, load(2000.0)), (1, spread(400.0)), (day, ground(deed))];
            days.extend(dig_in(400.0).map(|act| (8, act)));
            assert_eq!(left_and_there(days), (1600.0, 400.0));
        }
    }

    #[test]
    fn what_was_laid_on_ground_turned_that_day_stays_on_top() {
        for (stays, left) in [(false, 1200.0), (true, 1600.0)] {
            let mut days = vec![(0, load(2000.0)), (1, spread(400.0)), (1, ground(Deed::Turned))];
            days.extend(stays.then(|| (1, ground(Deed::Stays { of: 1 }))));
            days.extend(dig_in(400.0).map(|act| (8, act)));
            assert_eq!(left_and_there(days).0, left);
        }
    }

    #[test]
    fn what_plants_stand_in_does_not_lie_on_their_bed() {
        let mut days = vec![(0, load(2000.0)), (1, spread(10.0)), (1, ground(Deed::Rooted { of: 1 }))];
        days.extend(dig_in(400.0).map(|act| (8, act)));
        assert_eq!(left_and_there(days), (1590.0, 410.0));
    }

    #[test]
    fn the_half_of_a_bed_has_its_share_of_what_lies_on_the_whole() {
        let half = lot("west half");
        let ground = Ground {
            parts: BTreeSet::from([(half.clone(), lot("bed"))]),
            areas: BTreeMap::from([(half.clone(), Range::exact(1.0)), (lot("bed"), Range::exact(2.0))]),
        };
        let acts =
            [load(2000.0), spread(400.0), Act::DigIn { from: lot("load"), into: half, take: litres(300.0) }];
        let days = [0, 1, 2];
        let events: Vec<Event> = (acts.into_iter().zip(days).enumerate())
            .map(|(tag, (act, d))| Event { days: on(d), act, tag })
            .collect();
        let s = story(&events, &ground);
        let l = flow(&s);
        let n = s.things.binary_search(&lot("load")).expect("known");
        assert!(
            (l.stocks[n].left.low - 1.5).abs() < 1e-9,
            "200 l lay there, 100 l came: {:?}",
            l.stocks[n].left
        );
    }

    proptest! {
        /// Whatever was spread and dug in, what came in is what is left and what came to the bed; and never less
        /// came than was spread, nor more than was spread and dug in.
        #[test]
        fn nothing_is_dug_in_twice_and_nothing_is_lost(
            done in proptest::collection::vec((0u32..20, any::<bool>(), 0.0f64..100.0), 0..12)
        ) {
            let mut days = vec![(0, load(2000.0))];
            for (d, digs, n) in &done {
                if *digs {
                    days.extend(dig_in(*n).map(|act| (*d, act)));
                } else {
                    days.push((*d, spread(*n)));
                }
            }
            let of = |digs: bool| done.iter().filter(|d| d.1 == digs).map(|d| d.2).sum::<f64>();
            let (s, l) = told(days);
            let load = s.things.binary_search(&lot("load")).expect("known");
            let left = l.stocks[load].left.low * 1000.0;
            let there: f64 = l.arrived.iter().filter(|((_, source, _), _)| *source == load)
                .map(|(_, a)| a.total().low * 1000.0).sum();
            prop_assert!((left + there - 2000.0).abs() < 1e-6, "{left} and {there}");
            prop_assert!(there >= of(false) - 1e-6 && there >= of(true) - 1e-6);
            prop_assert!(there <= of(false) + of(true) + 1e-6);
        }
    }
}
