//! How long something was held at or above a temperature, from readings at clock times.
//!
//! Comes in: readings (day, minute, temperature as a range, °C). Goes out: for each stretch of
//! readings the time surely and at most at or above the level, in minutes. It does not say whether
//! that is long enough; pages do.
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
    }
}
