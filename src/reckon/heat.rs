//! How long something was held at or above a temperature, and how much of a rule's heat it had, from readings at
//! clock times.
//!
//! Comes in: readings (day, minute, temperature as a range, °C). Goes out: for each stretch of
//! readings the time surely and at most at or above the level, in minutes, or the share of the heat that a rule
//! asks. It does not say whether that is long enough; pages do.
//!
//! Between two readings at most [`LONGEST_LINE`] apart the temperature is taken to run in a straight
//! line. Across a longer gap nothing is sure: it adds nothing to the sure time, and the whole gap to
//! the greatest time if one of its ends was at or above the level. A gap of more than
//! [`LONGEST_GAP`] ends the stretch. Both limits are our judgement: a bath or bed of straw moves a few
//! degrees in half an hour, and nobody heats one for half a day without looking.

use chrono::NaiveDate;

use crate::measure::number::Range;

/// Longest gap bridged by a straight line, in minutes.
pub const LONGEST_LINE: i64 = 30;

/// Longest gap within one stretch, in minutes.
pub const LONGEST_GAP: i64 = 12 * 60;

/// One reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Reading {
    /// The day.
    pub day: NaiveDate,
    /// Minutes after midnight.
    pub minute: u16,
    /// What the thermometer showed, °C.
    pub celsius: Range,
}

/// Time held in one stretch of readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The day of the first reading.
    pub day: NaiveDate,
    /// Minutes surely at or above the level.
    pub surely: f64,
    /// Minutes at or above the level at most.
    pub at_most: f64,
    /// Numbers into the readings given, of those in the stretch, in order of time.
    pub readings: Vec<usize>,
    /// The longest gap between two readings of the stretch, in minutes.
    pub longest_gap: i64,
    /// The highest temperature surely read, °C.
    pub highest: f64,
}

/// Time at or above `level` (°C) in every stretch of readings, earliest stretch first. The order of the
/// readings given does not matter; several at one minute count as one with the range of them all.
pub fn held(readings: &[Reading], level: f64) -> Vec<Held> {
    let points = points(readings);
    let mut out: Vec<Held> = Vec::new();
    let mut previous: Option<&Point> = None;
    for p in &points {
        let gap = previous.map(|q| p.at - q.at);
        match (previous, gap, out.last_mut()) {
            (Some(q), Some(gap), Some(stretch)) if gap <= LONGEST_GAP => {
                let whole = as_minutes(gap);
                if gap <= LONGEST_LINE {
                    stretch.surely += whole * share_above(q.low, p.low, level);
                    stretch.at_most += whole * share_above(q.high, p.high, level);
                } else if q.high >= level || p.high >= level {
                    stretch.at_most += whole;
                }
                stretch.longest_gap = stretch.longest_gap.max(gap);
                stretch.highest = stretch.highest.max(p.low);
                stretch.readings.extend(&p.from);
            }
            _ => out.push(Held {
                day: p.day,
                surely: 0.0,
                at_most: 0.0,
                readings: p.from.clone(),
                longest_gap: 0,
                highest: p.low,
            }),
        }
        previous = Some(p);
    }
    out
}

/// A rule that asks for a time at each temperature: `scale` days divided by ten to `rate` times the degrees, never
/// under `floor`, and nothing counts under `least`. So reads 40 CFR 503.32 for sludge: 131,700,000 / 10^(0.14 t) days
/// from 50 °C up, and 20 minutes at least.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// Days, before the division.
    pub scale: f64,
    /// Power of ten for each degree, 1/°C.
    pub rate: f64,
    /// The shortest time, minutes.
    pub floor: f64,
    /// The lowest temperature that counts, °C.
    pub least: f64,
}

impl Law {
    /// Minutes asked at a steady temperature (°C), always more than none; `None` where it counts nothing.
    pub fn asks(&self, celsius: f64) -> Option<f64> {
        let minutes = (self.scale * 1440.0 / 10f64.powf(self.rate * celsius)).max(self.floor);
        // A reading in other degrees comes out a hair beside its own.
        (celsius >= self.least - 1e-9 && minutes.is_finite() && minutes > 0.0).then_some(minutes)
    }
}

/// The share of what a rule asks that one stretch of readings had: 1 is all of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Had {
    /// The day of the first reading.
    pub day: NaiveDate,
    /// From what is sure to what is possible.
    pub share: Range,
    /// Numbers into the readings given, of those in the stretch, in order of time.
    pub readings: Vec<usize>,
}

/// The share of a rule's heat that every stretch of readings had: minutes over the minutes asked, summed from reading to
/// reading. At least each step counts as if it were all as cool as its cooler end, and not at all over a gap longer
/// than [`LONGEST_LINE`]; at most as if it were as hot as its hotter end. The rule itself speaks of one steady
/// temperature: the sum is an engineer's extension of it, our judgement.
pub fn had(readings: &[Reading], law: &Law) -> Vec<Had> {
    let mut out: Vec<Had> = Vec::new();
    let mut previous: Option<&Point> = None;
    let points = points(readings);
    for p in &points {
        let gap = previous.map(|q| p.at - q.at);
        match (previous, gap, out.last_mut()) {
            (Some(q), Some(gap), Some(stretch)) if gap <= LONGEST_GAP => {
                let part = |celsius: f64| law.asks(celsius).map_or(0.0, |asked| as_minutes(gap) / asked);
                let sure = if gap <= LONGEST_LINE { part(q.low.min(p.low)) } else { 0.0 };
                stretch.share = stretch.share.plus(Range::new(sure, part(q.high.max(p.high)).max(sure)));
                stretch.readings.extend(&p.from);
            }
            _ => out.push(Had { day: p.day, share: Range::exact(0.0), readings: p.from.clone() }),
        }
        previous = Some(p);
    }
    out
}

/// Readings in order of time, those of one minute as one.
fn points(readings: &[Reading]) -> Vec<Point> {
    let mut points: Vec<Point> = Vec::new();
    let mut order: Vec<usize> = (0..readings.len()).collect();
    order.sort_by_key(|i| readings.get(*i).map(|r| (minutes(r), r.celsius)));
    for i in order {
        let Some(r) = readings.get(i) else { continue };
        let at = minutes(r);
        match points.last_mut() {
            Some(last) if last.at == at => {
                last.low = last.low.min(r.celsius.low());
                last.high = last.high.max(r.celsius.high());
                last.from.push(i);
            }
            _ => points.push(Point {
                at,
                day: r.day,
                low: r.celsius.low(),
                high: r.celsius.high(),
                from: vec![i],
            }),
        }
    }
    points
}

struct Point {
    at: i64,
    day: NaiveDate,
    low: f64,
    high: f64,
    from: Vec<usize>,
}

fn minutes(r: &Reading) -> i64 {
    i64::from(chrono::Datelike::num_days_from_ce(&r.day)) * 24 * 60 + i64::from(r.minute)
}

#[allow(clippy::cast_precision_loss)]
fn as_minutes(n: i64) -> f64 {
    n as f64
}

/// Which share of a straight line from `a` to `b` lies at or above `level`.
fn share_above(a: f64, b: f64, level: f64) -> f64 {
    match (a >= level, b >= level) {
        (true, true) => 1.0,
        (false, false) => 0.0,
        (true, false) => (a - level) / (a - b),
        (false, true) => (b - level) / (b - a),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 5, d).expect("a day")
    }

    fn fahrenheit(f: f64) -> f64 {
        (f - 32.0) * 5.0 / 9.0
    }

    fn at(d: u32, h: u16, m: u16, celsius: f64) -> Reading {
        Reading { day: day(d), minute: h * 60 + m, celsius: Range::exact(celsius) }
    }

    #[test]
    fn the_crossing_of_a_level_is_found_on_the_straight_line() {
        // 20 minutes from 60 to 80 °C: half of them at or above 70, by similar triangles.
        let h = held(&[at(1, 10, 0, 60.0), at(1, 10, 20, 80.0)], 70.0);
        assert_eq!(h.len(), 1);
        assert!((h[0].surely - 10.0).abs() < 1e-9);
        assert!((h[0].at_most - 10.0).abs() < 1e-9);
    }

    #[test]
    fn a_long_gap_is_sure_of_nothing() {
        let r = [
            at(1, 10, 50, fahrenheit(166.0)),
            at(1, 11, 15, fahrenheit(161.0)),
            at(1, 12, 30, fahrenheit(162.0)),
        ];
        let h = held(&r, fahrenheit(160.0));
        assert!((h[0].surely - 25.0).abs() < 1e-9, "the 75 minutes without a reading are not sure");
        assert!((h[0].at_most - 100.0).abs() < 1e-9);
        assert_eq!(h[0].longest_gap, 75);
    }

    #[test]
    fn midnight_does_not_end_a_stretch() {
        let h = held(&[at(1, 23, 50, 72.0), at(2, 0, 10, 72.0)], 71.0);
        assert_eq!(h.len(), 1);
        assert_eq!(h[0].day, day(1));
        assert!((h[0].surely - 20.0).abs() < 1e-9);
    }

    #[test]
    fn two_days_of_heating_are_two_stretches() {
        let h =
            held(&[at(1, 10, 0, 75.0), at(1, 10, 30, 75.0), at(3, 10, 0, 75.0), at(3, 10, 30, 75.0)], 71.0);
        assert_eq!(h.len(), 2);
        assert!((h[0].surely + h[1].surely - 60.0).abs() < 1e-9);
    }

    #[test]
    fn a_reading_that_is_a_range_gives_two_answers() {
        let r = Reading { day: day(1), minute: 600, celsius: Range::new(68.0, 72.0) };
        let s = Reading { day: day(1), minute: 630, celsius: Range::new(68.0, 72.0) };
        let h = held(&[r, s], 71.0);
        assert_eq!((h[0].surely, h[0].at_most), (0.0, 30.0));
    }

    #[test]
    fn no_readings_are_no_stretch() {
        assert!(held(&[], 70.0).is_empty());
        let h = held(&[at(1, 1, 0, 90.0)], 70.0);
        assert_eq!((h[0].surely, h[0].at_most), (0.0, 0.0), "one reading lasts no time");
    }

    /// 40 CFR 503.32 (read in a copy) for stuff of 7 per cent solids and more; the times at single temperatures are our
    /// arithmetic from its formula.
    const SLUDGE: Law = Law { scale: 131_700_000.0, rate: 0.14, floor: 20.0, least: 50.0 };

    #[test]
    fn a_rule_for_sludge_asks_what_its_formula_says() {
        for (celsius, minutes, slack) in [
            (50.0, 13.17 * 1440.0, 0.01),
            (55.0, 2.6278 * 1440.0, 0.1),
            (60.0, 12.583 * 60.0, 0.05),
            (62.0, 6.604 * 60.0, 0.05),
            (65.0, 0.104_613 * 1440.0, 0.01),
            (65.0, 2.5107 * 60.0, 0.01),
            (68.0, 57.27, 0.01),
            (70.0, 30.06, 0.01),
            ((160.0 - 32.0) / 1.8, 21.01, 0.01),
            (71.264, 20.0, 0.001),
            (72.0, 20.0, 1e-9),
            (75.0, 20.0, 1e-9),
        ] {
            let asked = SLUDGE.asks(celsius).expect("it counts");
            assert!((asked - minutes).abs() < slack, "{celsius} C: {asked} is not {minutes}");
        }
        assert_eq!(SLUDGE.asks(49.99), None, "under 50 C it does not apply");
        // Without the floor 72 C would be 15.77 minutes, and 75 C six.
        let bare = Law { floor: 0.0, ..SLUDGE };
        assert!((bare.asks(72.0).expect("it counts") - 15.77).abs() < 0.01);
        assert!((bare.asks(75.0).expect("it counts") - 6.0).abs() < 0.01);
        let thin = Law { scale: 50_070_000.0, floor: 30.0, ..SLUDGE };
        for (celsius, days) in [(55.0, 0.99903), (60.0, 0.19933)] {
            let asked = thin.asks(celsius).expect("it counts") / 1440.0;
            assert!((asked - days).abs() < 1e-5, "{celsius} C: {asked} is not {days}");
        }
    }

    /// Ten minutes each at 60, 65, 68, 70, 70 and 68 °C are 1.094 times the rule (our arithmetic from its formula). In
    /// rising order the cooler end of each step is that temperature; in the order given the bounds hold it.
    #[test]
    fn an_hour_of_readings_is_once_what_the_rule_asks_and_a_little() {
        let trace = |temperatures: [f64; 7]| -> Vec<Reading> {
            let minute = |n: usize| u16::try_from(n * 10).expect("an hour");
            temperatures.iter().enumerate().map(|(n, t)| at(1, 10, minute(n), *t)).collect()
        };
        let rising = had(&trace([60.0, 65.0, 68.0, 68.0, 70.0, 70.0, 70.0]), &SLUDGE);
        assert!((rising[0].share.low() - 1.094).abs() < 0.0005, "{:?}", rising[0].share);
        let given = had(&trace([60.0, 65.0, 68.0, 70.0, 70.0, 68.0, 68.0]), &SLUDGE);
        assert!(given[0].share.low() < 1.094 && given[0].share.high() > 1.094, "{:?}", given[0].share);
    }

    #[test]
    fn a_long_gap_adds_nothing_that_is_sure_to_a_rule() {
        let had = had(&[at(1, 10, 0, 70.0), at(1, 11, 0, 70.0)], &SLUDGE);
        assert!(had[0].share.low().abs() < 1e-12 && (had[0].share.high() - 60.0 / 30.06).abs() < 0.001);
    }

    proptest! {
        #[test]
        fn sure_time_never_exceeds_greatest_time_and_order_does_not_matter(
            mut raw in proptest::collection::vec((1u32..4, 0u16..1440, 0f64..100.0, 0f64..5.0), 0..20),
            level in 20f64..90.0,
        ) {
            let make = |raw: &[(u32, u16, f64, f64)]| -> Vec<Reading> {
                raw.iter().map(|(d, m, t, w)| Reading { day: day(*d), minute: *m, celsius: Range::new(*t, t + w) }).collect()
            };
            let a = held(&make(&raw), level);
            raw.reverse();
            let b = held(&make(&raw), level);
            prop_assert_eq!(a.len(), b.len());
            for (x, y) in a.iter().zip(&b) {
                prop_assert!(x.surely <= x.at_most + 1e-9);
                prop_assert_eq!((x.day, x.surely, x.at_most), (y.day, y.surely, y.at_most));
            }
        }

        #[test]
        fn a_warmer_trace_never_has_less_of_a_rule(
            raw in proptest::collection::vec((0u16..600, 40f64..80.0), 0..20),
            warmer in 0f64..5.0,
        ) {
            let make = |more: f64| -> Vec<Reading> {
                raw.iter().map(|(m, t)| Reading { day: day(1), minute: *m, celsius: Range::exact(t + more) }).collect()
            };
            for (cool, warm) in had(&make(0.0), &SLUDGE).iter().zip(had(&make(warmer), &SLUDGE)) {
                prop_assert!(cool.share.low() <= warm.share.low() + 1e-9);
                prop_assert!(cool.share.high() <= warm.share.high() + 1e-9);
            }
        }
    }
}
