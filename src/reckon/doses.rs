//! Several amounts that came to one place at different times and fade with one half-life.
//!
//! Comes in: levels with the day each came, a half-life with its spread, a level to be under. Goes out:
//! bounds of what is there on a day, the chance of being under, the day from which that chance is had. It
//! fits nothing, and it never says that anything is safe; see [`super::decay`] for what one amount does.

use statrs::distribution::{ContinuousCDF, Normal};

use super::{decay::HalfLife, interval::Interval, root::rising};

/// What came at once: its level as it came, in any unit shared by all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dose {
    /// The day it came, counted from any day shared by all.
    pub day: f64,
    /// How much it raised the level.
    pub level: Interval,
    /// Whether it fades with the half-life. What does not is there in full at most, and at least as if it did.
    pub fades: bool,
}

/// Share of half-lives below the least, and above the greatest, that a level is given for.
const TAIL: f64 = 0.05;

/// What doses at their greatest leave at `day` with a half-life of `half_life` days.
fn left(doses: &[Dose], half_life: f64, day: f64) -> f64 {
    doses.iter().filter(|d| d.day <= day).map(|d| d.level.high * 0.5f64.powf((day - d.day) / half_life)).sum()
}

/// The level at `day`: at least as it is after the half-life that one in twenty goes below, at most after
/// the one that one in twenty goes above. Without a half-life nothing is taken to fade, and the least is 0.
pub fn level(doses: &[Dose], half_life: Option<HalfLife>, day: f64) -> Interval {
    let here = doses.iter().filter(|d| d.day <= day);
    here.fold(Interval::NONE, |sum, d| {
        let share = |p: f64, h: HalfLife| 0.5f64.powf((day - d.day) / h.quantile(p));
        let low = half_life.map_or(if day > d.day { 0.0 } else { 1.0 }, |h| share(TAIL, h));
        let high = half_life.filter(|_| d.fades).map_or(1.0, |h| share(1.0 - TAIL, h));
        sum.plus(Interval::new(d.level.low * low, d.level.high * high))
    })
}

/// The chance that the level is at most `threshold` at `day`, the doses at their least and at their
/// greatest. `None` if one of them does not fade, or `threshold` is not above 0.
pub fn chance_under(doses: &[Dose], threshold: f64, half_life: HalfLife, day: f64) -> Option<Interval> {
    let all_fade = doses.iter().all(|d| d.fades);
    (all_fade && threshold > 0.0).then(|| {
        let least: Vec<Dose> =
            doses.iter().map(|d| Dose { level: Interval::new(d.level.low, d.level.low), ..*d }).collect();
        Interval::new(
            chance_at_most(doses, threshold, half_life, day),
            chance_at_most(&least, threshold, half_life, day),
        )
    })
}

fn chance_at_most(doses: &[Dose], threshold: f64, half_life: HalfLife, day: f64) -> f64 {
    if left(doses, f64::INFINITY, day) <= threshold {
        return 1.0;
    }
    // What came today has not faded whatever the half-life is.
    if left(doses, 1e-9, day) > threshold {
        return 0.0;
    }
    // The level grows with the half-life, so the chance is that of a half-life short enough.
    let longest = rising((1e-9f64).ln(), (1e12f64).ln(), |ln| left(doses, ln.exp(), day) - threshold);
    let gap = longest - half_life.median.ln();
    if half_life.spread == 0.0 {
        return if gap >= -1e-9 { 1.0 } else { 0.0 };
    }
    Normal::standard().cdf(gap / half_life.spread)
}

/// The first day, not before the last dose, from which the level is at most `threshold` with a chance of
/// `p`, the doses at their greatest. `None` as for [`chance_under`], or where there is no dose.
pub fn day_under(doses: &[Dose], threshold: f64, half_life: HalfLife, p: f64) -> Option<f64> {
    let last = doses.iter().map(|d| d.day).reduce(f64::max)?;
    if !(threshold > 0.0 && doses.iter().all(|d| d.fades && d.level.high.is_finite())) {
        return None;
    }
    let half_life = half_life.quantile(p);
    let then = left(doses, half_life, last);
    // All fade alike, so from the last dose on the sum fades as one.
    let more = if then <= threshold { 0.0 } else { half_life * (then / threshold).log2() };
    Some(last + (more - 1e-12).ceil().max(0.0))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::reckon::decay::halvings;

    fn dose(day: f64, level: f64) -> Dose {
        Dose { day, level: Interval::new(level, level), fades: true }
    }

    /// 55 ppb is 0.11 lb to the acre in 6 2/3 in; half-lives published for aminopyralid, 9 to 256 days
    /// (North Dakota State University; Mikkelson and Lym).
    #[test]
    fn one_dose_does_what_a_single_level_does() {
        let h = HalfLife::from_range(9.0, 256.0).expect("a range");
        for p in [0.5, 0.9, 0.95] {
            let ours = day_under(&[dose(0.0, 55.0)], 0.2, h, p);
            assert_eq!(ours, halvings(55.0, 0.2).map(|n| (n * h.quantile(p)).ceil()));
        }
        // The ends of the range are the 5th and 95th percentile, so 95 % is the published 256 days.
        assert_eq!(day_under(&[dose(0.0, 55.0)], 1.0, h, 0.95), Some(1481.0));
        assert_eq!(day_under(&[dose(0.0, 55.0)], 1.0, h, 0.05), Some(53.0));
    }

    #[test]
    fn what_does_not_fade_has_no_day_and_may_all_be_there() {
        let h = HalfLife::from_range(9.0, 256.0).expect("a range");
        let bound = Dose { fades: false, ..dose(0.0, 8.0) };
        assert_eq!(day_under(&[bound], 1.0, h, 0.5), None);
        assert_eq!(chance_under(&[bound], 1.0, h, 500.0), None);
        let l = level(&[bound], Some(h), 90.0);
        assert!(l.low < 0.01 && l.high == 8.0, "{l:?}");
    }

    #[test]
    fn without_a_half_life_nothing_is_taken_to_be_gone() {
        assert_eq!(level(&[dose(0.0, 8.0)], None, 300.0), Interval::new(0.0, 8.0));
    }

    /// The same every year builds up to C / (1 - 0.5^(gap / half-life)), just after each: arithmetic.
    #[test]
    fn a_dose_every_year_builds_up_to_a_plateau() {
        let h = HalfLife { median: 365.0, spread: 0.0 };
        let doses: Vec<Dose> = (0..40).map(|y| dose(f64::from(y) * 365.0, 10.0)).collect();
        let l = level(&doses, Some(h), 39.0 * 365.0);
        assert!((l.high - 20.0).abs() < 1e-9, "{l:?}");
    }

    proptest! {
        #[test]
        fn the_chance_on_the_day_of_a_chance_is_that_chance(
            first in 0.5f64..50.0, second in 0.5f64..50.0, gap in 0f64..400.0, p in 0.05f64..0.95,
        ) {
            let doses = [dose(0.0, first), dose(gap, second)];
            let h = HalfLife::from_range(9.0, 256.0).expect("a range");
            let day = day_under(&doses, 0.2, h, p).expect("they fade");
            let on = chance_under(&doses, 0.2, h, day).expect("they fade");
            let before = chance_under(&doses, 0.2, h, day - 1.0).expect("they fade");
            prop_assert!(on.low >= p - 1e-9 && (before.low <= p + 1e-9 || day <= gap));
        }

        #[test]
        fn a_dose_split_in_two_is_the_same_dose(level_ in 0.5f64..50.0, day in 1f64..900.0) {
            let h = HalfLife::from_range(8.0, 250.0).expect("a range");
            let (one, two) = ([dose(0.0, level_)], [dose(0.0, level_ / 2.0), dose(0.0, level_ / 2.0)]);
            let (a, b) = (level(&one, Some(h), day), level(&two, Some(h), day));
            prop_assert!((a.low - b.low).abs() < 1e-9 && (a.high - b.high).abs() < 1e-9);
            let (a, b) = (chance_under(&one, 1.0, h, day), chance_under(&two, 1.0, h, day));
            prop_assert!((a.expect("it fades").low - b.expect("it fades").low).abs() < 1e-9);
        }
    }
}
