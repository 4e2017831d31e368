//! Laws and examples of lineage, checked on small worlds.
//!
//! Comes in: events drawn at random or written out. Goes out: nothing; these are tests only.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use proptest::prelude::*;

use super::{
    flow::{Ledger, flow},
    lineage::{Act, Event, Ground, Story, Take, story},
    reach::{Reached, reach},
};
use crate::measure::{
    date::Days,
    number::Range,
    unit::Dimension,
    value::{Quantity, Value},
};

fn day(d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day") + chrono::Days::new(u64::from(d))
}

fn on(d: u32) -> Days {
    Days::on(day(d))
}

fn volume(low: f64, high: f64) -> Quantity {
    Quantity { size: Range::new(low, high), dimension: Dimension::Volume }
}

fn mass(n: f64) -> Quantity {
    Quantity { size: Range::exact(n), dimension: Dimension::Mass }
}

fn lot(name: &str) -> Value {
    Value::thing("lot", name)
}

fn begin(d: u32, name: &str, m3: f64) -> Event {
    Event { days: on(d), act: Act::Begin { stock: lot(name), amount: Some(volume(m3, m3)) }, tag: 0 }
}

fn moves(d: u32, from: &str, into: &str, take: Take) -> Event {
    Event { days: on(d), act: Act::Flow { from: lot(from), into: Some(lot(into)), take }, tag: 0 }
}

fn m3(n: f64) -> Take {
    Take::Amount(volume(n, n))
}

fn numbered(mut events: Vec<Event>) -> Vec<Event> {
    for (n, e) in events.iter_mut().enumerate() {
        e.tag = n;
    }
    events
}

fn told(events: Vec<Event>) -> (Story, Ledger) {
    let s = story(&numbered(events), &Ground::default());
    let l = flow(&s);
    (s, l)
}

fn find<'a>(all: &'a [Reached], source: &str, place: &str) -> Option<&'a Reached> {
    all.iter().find(|r| r.source == lot(source) && r.place == lot(place))
}

fn number(s: &Story, name: &str) -> usize {
    s.things.binary_search(&lot(name)).expect("known")
}

/// m³ of a source that arrived at a place.
fn arrived(s: &Story, l: &Ledger, place: &str, source: &str) -> (f64, f64) {
    let key = (number(s, place), number(s, source), Some(Dimension::Volume));
    l.arrived.get(&key).map_or((0.0, 0.0), |a| (a.total().low, a.total().high))
}

fn near(got: (f64, f64), want: (f64, f64)) {
    assert!((got.0 - want.0).abs() < 1e-9 && (got.1 - want.1).abs() < 1e-9, "{got:?} is not {want:?}");
}

#[test]
fn a_lot_is_followed_through_a_mix_in_its_share() {
    let (s, l) = told(vec![
        begin(0, "load", 6.0),
        begin(0, "bag", 3.0),
        moves(1, "load", "mix", m3(2.0)),
        moves(1, "bag", "mix", m3(1.0)),
        moves(2, "mix", "bed", m3(1.5)),
    ]);
    near(arrived(&s, &l, "bed", "load"), (1.0, 1.0));
    near(arrived(&s, &l, "bed", "bag"), (0.5, 0.5));
    near(arrived(&s, &l, "bed", "mix"), (1.5, 1.5));
    assert_eq!(l.left(number(&s, "load")).map(|q| q.size.low()), Some(4.0));
    assert_eq!(l.left(number(&s, "mix")).map(|q| q.size.low()), Some(1.5));
}

#[test]
fn what_is_spread_before_a_lot_joins_the_heap_does_not_carry_it() {
    let events = numbered(vec![
        moves(1, "old", "heap", m3(1.0)),
        moves(5, "heap", "early", m3(0.5)),
        moves(9, "load", "heap", m3(1.0)),
        moves(12, "heap", "late", m3(0.5)),
    ]);
    let r = reach(&story(&events, &Ground::default()), |_| true);
    assert!(find(&r, "load", "early").is_none());
    let late = find(&r, "load", "late").expect("reached");
    assert_eq!((late.days, late.way.clone()), (on(12), vec![2, 3]));
    assert_eq!(find(&r, "load", "heap").map(|r| r.days), Some(on(9)));
}

#[test]
fn the_rest_is_what_the_day_leaves_and_half_is_taken_before_it() {
    let all = Take::Share(Range::exact(1.0));
    let half = Take::Share(Range::exact(0.5));
    let (s, l) = told(vec![
        begin(0, "load", 6.0),
        moves(3, "load", "c", all),
        moves(3, "load", "b", half),
        moves(3, "load", "a", m3(2.0)),
    ]);
    near(arrived(&s, &l, "b", "load"), (2.0, 2.0));
    near(arrived(&s, &l, "c", "load"), (2.0, 2.0));
    let stock = &l.stocks[number(&s, "load")];
    assert_eq!((stock.left.high, stock.used_up), (0.0, Some(on(3))));
    assert_eq!(stock.overdrawn, None);
}

#[test]
fn more_used_than_came_in_is_told_only_when_it_is_sure() {
    let came =
        Event { days: on(0), act: Act::Begin { stock: lot("load"), amount: Some(volume(5.0, 6.0)) }, tag: 0 };
    let (s, l) = told(vec![came.clone(), moves(1, "load", "a", m3(3.0)), moves(2, "load", "b", m3(2.5))]);
    assert_eq!(l.stocks[number(&s, "load")].overdrawn, None, "six may have come");
    let (s, l) = told(vec![came, moves(1, "load", "a", m3(3.0)), moves(2, "load", "b", m3(3.5))]);
    assert_eq!(l.stocks[number(&s, "load")].overdrawn, Some(on(2)));
}

#[test]
fn an_unknown_amount_keeps_the_link_and_bounds_what_is_left() {
    let (s, l) =
        told(vec![begin(0, "load", 6.0), moves(1, "load", "a", Take::Some), moves(2, "load", "b", m3(1.0))]);
    near(arrived(&s, &l, "a", "load"), (0.0, 6.0));
    assert_eq!(l.left(number(&s, "load")).map(|q| (q.size.low(), q.size.high())), Some((0.0, 5.0)));
}

#[test]
fn a_weight_taken_from_a_volume_leaves_the_rest_open() {
    let (s, l) = told(vec![begin(0, "load", 6.0), moves(1, "load", "a", Take::Amount(mass(40.0)))]);
    let key = (number(&s, "a"), number(&s, "load"), Some(Dimension::Mass));
    assert_eq!(l.arrived.get(&key).map(|a| a.total().low), Some(40.0), "what went is known by weight");
    assert_eq!(l.left(number(&s, "load")).map(|q| (q.size.low(), q.size.high())), Some((0.0, 6.0)));
}

#[test]
fn digging_in_what_lies_there_brings_nothing_new() {
    let dig = Event {
        days: on(2),
        act: Act::DigIn { from: lot("load"), into: lot("bed"), take: Take::Some },
        tag: 0,
    };
    let (s, l) = told(vec![begin(0, "load", 6.0), moves(2, "load", "bed", m3(2.0)), dig.clone()]);
    near(arrived(&s, &l, "bed", "load"), (2.0, 2.0));
    assert_eq!(l.left(number(&s, "load")).map(|q| q.size.low()), Some(4.0));
    let (s, l) = told(vec![begin(0, "load", 6.0), dig]);
    near(arrived(&s, &l, "bed", "load"), (0.0, 6.0));
}

#[test]
fn a_half_of_a_bed_is_ground_of_its_own() {
    let ground = Ground {
        parts: BTreeSet::from([(lot("west half"), lot("bed")), (lot("east half"), lot("bed"))]),
        ..Ground::default()
    };
    let events = numbered(vec![moves(1, "load", "west half", m3(1.0)), moves(2, "chips", "bed", m3(1.0))]);
    let r = reach(&story(&events, &ground), |_| true);
    assert!(find(&r, "load", "west half").is_some());
    assert!(find(&r, "load", "bed").is_some(), "the bed is reached with its half");
    assert!(find(&r, "load", "east half").is_none(), "the other half is not");
    assert!(find(&r, "chips", "east half").is_some(), "what covers the bed covers its halves");
}

#[test]
fn stuff_going_round_in_a_circle_ends_and_is_told() {
    let events = numbered(vec![moves(1, "a", "b", m3(1.0)), moves(1, "b", "a", m3(1.0)), begin(0, "a", 5.0)]);
    let s = story(&events, &Ground::default());
    assert_eq!(s.circles.len(), 1);
    let names: Vec<&Value> = s.circles[0].1.iter().map(|n| &s.things[*n]).collect();
    assert_eq!(names, [&lot("a"), &lot("b")]);
    let r = reach(&s, |_| true);
    assert!(find(&r, "a", "b").is_some() && find(&r, "b", "a").is_some());
    let _ = flow(&s);
    // On different days it is no circle in time.
    let events = numbered(vec![moves(1, "a", "b", m3(1.0)), moves(2, "b", "a", m3(1.0))]);
    assert!(story(&events, &Ground::default()).circles.is_empty());
}

#[test]
fn a_span_of_days_reaches_where_it_may_have() {
    let may = Event {
        days: Days::span(day(1), day(31)),
        act: Act::Flow { from: lot("load"), into: Some(lot("heap")), take: m3(1.0) },
        tag: 0,
    };
    let events = numbered(vec![moves(0, "old", "heap", m3(1.0)), may, moves(10, "heap", "bed", m3(0.5))]);
    let s = story(&events, &Ground::default());
    let r = reach(&s, |_| true);
    assert_eq!(find(&r, "load", "bed").map(|r| r.days.first), Some(day(10)));
    let l = flow(&s);
    assert_eq!(arrived(&s, &l, "bed", "load").0, 0.0, "but none of it is sure");
}

/// Stocks l0..l3 are loads, m0..m3 mixes that hold something already, b0..b3 beds; every load and mix
/// begins with enough for all that is asked of it.
fn name(n: usize) -> String {
    let kind = ["l", "m", "b"].get(n / 4).copied().unwrap_or("b");
    format!("{kind}{}", n % 4)
}

type Raw = Vec<(u32, usize, usize, f64, f64)>;

fn raw_moves() -> impl Strategy<Value = Raw> {
    proptest::collection::vec((1u32..30, 0usize..8, 4usize..12, 0.0f64..1.0, 0.0f64..0.5), 0..25)
}

/// Moves with a share of what is left turned into exact or ranged amounts that never overdraw.
fn world(raw: &Raw, wide: bool, pick: f64) -> Vec<Event> {
    let mut events: Vec<Event> = (0..8).map(|n| begin(0, &name(n), 8.0)).collect();
    let portion = 8.0 / 60.0;
    for (d, from, into, size, width) in raw.iter().filter(|r| r.1 != r.2) {
        let low = portion * size;
        let high = low + portion * width;
        let take = if wide { Take::Amount(volume(low, high)) } else { m3(low + pick * (high - low)) };
        events.push(moves(*d, &name(*from), &name(*into), take));
    }
    numbered(events)
}

proptest! {
    /// For every load: what came in = what is left + what lies in every other stock.
    #[test]
    fn what_came_in_is_what_went_out_and_what_is_left(raw in raw_moves()) {
        let s = story(&world(&raw, false, 0.0), &Ground::default());
        let l = flow(&s);
        for n in 0..4 {
            let Ok(load) = s.things.binary_search(&lot(&name(n))) else { continue };
            let elsewhere: f64 = l.stocks.iter().filter_map(|x| Some(x.shares.get(&load)?.low * x.left.low)).sum();
            let sum = l.stocks[load].left.low + elsewhere;
            prop_assert!((sum - 8.0).abs() < 1e-9, "{} of 8 m3 found", sum);
        }
        // What arrived is told apart by its events, and is the same sum.
        for a in l.arrived.values() {
            let each: f64 = a.each.iter().map(|(_, amount, _)| amount.low).sum();
            prop_assert!((each - a.total().low).abs() < 1e-9);
            prop_assert!(a.each.is_sorted_by_key(|(days, ..)| *days));
        }
    }

    /// Whatever the true amounts within the ranges written, the truth lies within what is reckoned.
    #[test]
    fn ranges_hold_the_truth(raw in raw_moves(), pick in 0.0f64..=1.0) {
        let exact = story(&world(&raw, false, pick), &Ground::default());
        let ranged = story(&world(&raw, true, 0.0), &Ground::default());
        let (truth, bounds) = (flow(&exact), flow(&ranged));
        prop_assert_eq!(&exact.things, &ranged.things);
        for (key, a) in &truth.arrived {
            let t = a.total();
            let b = bounds.arrived.get(key).map(|b| b.total());
            let (low, high) = b.map_or((0.0, 0.0), |b| (b.low, b.high));
            prop_assert!(low <= t.low + 1e-9 && t.high <= high + 1e-9, "{:?}: {:?} not in {:?}", key, t, b);
        }
        for (t, b) in truth.stocks.iter().zip(&bounds.stocks) {
            prop_assert!(b.left.low <= t.left.low + 1e-9 && t.left.high <= b.left.high + 1e-9);
        }
    }

    #[test]
    fn the_order_of_events_does_not_matter(raw in raw_moves(), turn in 0usize..25) {
        let a = world(&raw, true, 0.0);
        let mut b = a.clone();
        let len = b.len();
        b.rotate_left(turn % len.max(1));
        b.reverse();
        let (x, y) = (story(&a, &Ground::default()), story(&b, &Ground::default()));
        prop_assert_eq!(reach(&x, |_| true), reach(&y, |_| true));
        let (p, q) = (flow(&x), flow(&y));
        for (s, t) in p.stocks.iter().zip(&q.stocks) {
            prop_assert_eq!(s.left, t.left);
            prop_assert_eq!(&s.shares, &t.shares);
        }
    }

    /// Reaching agrees with the plain definition: a way of events whose days do not go backwards.
    #[test]
    fn reaching_is_a_way_through_time(raw in raw_moves()) {
        let events = world(&raw, false, 0.0);
        let got = reach(&story(&events, &Ground::default()), |_| true);
        let flows: Vec<(NaiveDate, &Value, &Value)> = events.iter().filter_map(|e| match &e.act {
            Act::Flow { from, into: Some(into), .. } => Some((e.days.first, from, into)),
            _ => None,
        }).collect();
        for source in events.iter().filter_map(|e| match &e.act { Act::Flow { from, .. } => Some(from), _ => None }) {
            let mut first: std::collections::BTreeMap<&Value, NaiveDate> = std::collections::BTreeMap::new();
            loop {
                let mut changed = false;
                for (d, from, into) in &flows {
                    let ready = *from == source || first.get(from).is_some_and(|f| f <= d);
                    if ready && *into != source && first.get(into).is_none_or(|f| d < f) {
                        first.insert(into, *d);
                        changed = true;
                    }
                }
                if !changed { break; }
            }
            for (place, d) in &first {
                let r = got.iter().find(|r| r.source == *source && r.place == **place);
                prop_assert_eq!(r.map(|r| r.days.first), Some(*d));
                let way = &r.expect("reached").way;
                prop_assert!(!way.is_empty());
                let days: Vec<NaiveDate> = way.iter().map(|t| events[*t].days.first).collect();
                prop_assert!(days.is_sorted(), "the way goes forward in time");
            }
            prop_assert_eq!(got.iter().filter(|r| r.source == *source).count(), first.len());
        }
    }
}
