//! First-order loss with an uncertain half-life: how much is left, and by when it is under a level.
//!
//! Comes in: a level, a threshold, a half-life with its spread, days. Goes out: levels, chances, days.
//! It holds no substance's half-life, and it never says that anything is safe: a loss that is not
//! first-order, a cold winter, a bale or a heap are for the caller to refuse.
//!
//! C(t) = C₀ · 0.5^(t/h); ln h is normal about ln(median) with deviation `spread`.

use statrs::distribution::{ContinuousCDF, Normal};

use super::proportion::normal_quantile;
use crate::measure::number::nearly;

/// A half-life not known exactly: log-normal about its median.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfLife {
    /// Median, in days; more than 0.
    pub median: f64,
    /// Standard deviation of its natural logarithm; 0 for a sure one.
    pub spread: f64,
}

impl HalfLife {
    /// From a least and greatest published value, read as the 5th and 95th percentile ("our
    /// judgement": published ranges are of what was seen, not of what can be). `None` unless
    /// 0 < low ≤ high.
    pub fn from_range(low: f64, high: f64) -> Option<Self> {
        if !(low > 0.0 && high >= low && high.is_finite()) {
            return None;
        }
        let spread = (high / low).ln() / (2.0 * normal_quantile(0.95));
        Some(Self { median: (low * high).sqrt(), spread })
    }

    /// The half-life that a share `p` of the possible ones does not exceed, in days.
    pub fn quantile(self, p: f64) -> f64 {
        if self.spread == 0.0 {
            return self.median;
        }
        self.median * (normal_quantile(p) * self.spread).exp()
    }
}

/// How many halvings bring `level` to `threshold` (same unit); 0 if it is there already. `None` if
/// either is not above 0.
pub fn halvings(level: f64, threshold: f64) -> Option<f64> {
    (level > 0.0 && threshold > 0.0).then(|| (level / threshold).log2().max(0.0))
}

/// What is left of `level` after `days` at a sure half-life of `half_life` days.
pub fn left(level: f64, half_life: f64, days: f64) -> f64 {
    level * 0.5f64.powf(days / half_life)
}

/// The chance that `level` is at most `threshold` after `days`. `None` as for [`halvings`].
pub fn chance_under(level: f64, threshold: f64, half_life: HalfLife, days: f64) -> Option<f64> {
    let n = halvings(level, threshold)?;
    if n == 0.0 {
        return Some(1.0);
    }
    if days <= 0.0 {
        return Some(0.0);
    }
    if half_life.spread == 0.0 {
        // A sure half-life has a sure day, which rounding must not miss.
        let day = n * half_life.median;
        return Some(if days >= day || nearly(days, day) { 1.0 } else { 0.0 });
    }
    let gap = days.ln() - n.ln() - half_life.median.ln();
    Some(Normal::standard().cdf(gap / half_life.spread))
}

/// The half-lives between neighbouring points of a measured series (days, level), in order.
pub fn step_half_lives(series: &[(f64, f64)]) -> Vec<f64> {
    series
        .windows(2)
        .filter_map(|w| {
            let ((t0, c0), (t1, c1)) = (w[0], w[1]);
            (c0 > c1 && c1 > 0.0 && t1 > t0).then(|| (t1 - t0) / (c0 / c1).log2())
        })
        .collect()
}

/// Half-life of the straight line through (days, log level), by least squares; `None` with fewer than
/// two points or a level that does not fall.
pub fn fitted_half_life(series: &[(f64, f64)]) -> Option<f64> {
    let points: Vec<(f64, f64)> =
        series.iter().filter(|(_, c)| *c > 0.0).map(|(t, c)| (*t, c.log2())).collect();
    #[allow(clippy::cast_precision_loss)]
    let n = points.len() as f64;
    if n < 2.0 {
        return None;
    }
    let mean = |f: &dyn Fn(&(f64, f64)) -> f64| points.iter().map(f).sum::<f64>() / n;
    let (mt, mc) = (mean(&|p| p.0), mean(&|p| p.1));
    let across: f64 = points.iter().map(|(t, _)| (t - mt) * (t - mt)).sum();
    let along: f64 = points.iter().map(|(t, c)| (t - mt) * (c - mc)).sum();
    (along < 0.0 && across > 0.0).then(|| -across / along)
}

/// Whether a series falls too unevenly for one half-life: its step half-lives differ by more than
/// threefold ("our judgement"; laboratory scatter alone seldom reaches it).
pub fn is_not_first_order(series: &[(f64, f64)]) -> bool {
    let steps = step_half_lives(series);
    let least = steps.iter().copied().fold(f64::INFINITY, f64::min);
    let most = steps.iter().copied().fold(0.0, f64::max);
    steps.len() >= 2 && most > 3.0 * least
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::{
        doses::{Dose, day_under},
        interval::Interval,
    };
    use chrono::NaiveDate;

    /// `tests/reference/decay.json`: 100 cases by lognormal quantiles (scipy 1.17, mpmath).
    #[test]
    fn quantiles_dates_and_chances_are_those_of_the_reference() {
        let text = include_str!("../../tests/reference/decay.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference file is JSON");
        let cases = json["cases"].as_array().expect("cases");
        assert_eq!(cases.len(), 100);
        for case in cases {
            let n = |name: &str| case[name].as_f64().expect("a number");
            let id = case["id"].as_str().expect("an id");
            let (level, threshold) = (n("c0_ppb"), n("threshold_ppb"));
            let half_life = HalfLife { median: n("dt50_median_days"), spread: n("sigma_ln") };
            let near = |a: f64, b: f64, what: &str| {
                assert!((a - b).abs() <= 1e-8 * b.abs().max(1e-6), "{id} {what}: {a} is not {b}");
            };
            near(halvings(level, threshold).expect("levels"), n("halvings_needed"), "halvings");
            let start: NaiveDate = case["start"].as_str().expect("a day").parse().expect("a day");
            for (p, q) in case["quantiles"].as_object().expect("quantiles") {
                let share: f64 = p.parse().expect("a share");
                near(half_life.quantile(share), q["dt50_days"].as_f64().expect("days"), "half-life");
                let dose = Dose { day: 0.0, level: Interval::new(level, level), fades: true };
                let days = day_under(&[dose], threshold, half_life, share).expect("levels");
                assert_eq!(Some(days), q["whole_days"].as_f64(), "{id} at {p}");
                let by = crate::measure::date::shift(start, days as i64);
                assert_eq!(Some(by.to_string().as_str()), q["date_at_or_below"].as_str(), "{id} at {p}");
            }
            for (day, p) in case["p_at_or_below_threshold_by_day"].as_object().expect("chances") {
                let days: f64 = day.parse().expect("days");
                let ours = chance_under(level, threshold, half_life, days).expect("levels");
                let theirs = p.as_f64().expect("a chance");
                assert!((ours - theirs).abs() < 1e-8, "{id} by day {day}: {ours} is not {theirs}");
            }
            for (day, c) in case["c_at_median_dt50"].as_object().expect("levels") {
                let days: f64 = day.parse().expect("days");
                near(left(level, half_life.median, days), c.as_f64().expect("a level"), "level");
            }
        }
    }

    #[test]
    fn one_decay_is_told_as_one_and_fitted_as_one() {
        let even: Vec<(f64, f64)> =
            (0..6).map(|i| (f64::from(i) * 30.0, left(55.0, 35.0, f64::from(i) * 30.0))).collect();
        assert!(!is_not_first_order(&even));
        assert!((fitted_half_life(&even).expect("it falls") - 35.0).abs() < 1e-9);
    }

    /// 55 ppb to 1 ppb takes 5.78 halvings, and to 0.2 ppb 8.10: days at the half-lives published for
    /// one substance, 9 to 256 days (NDSU, Mikkelson and Lym), by arithmetic.
    #[test]
    fn the_same_level_takes_weeks_or_years() {
        let days = |t: f64, to: f64| (halvings(55.0, to).expect("levels") * t).round();
        assert_eq!(
            [9.0, 35.0, 66.0, 103.5, 200.0, 256.0].map(|t| days(t, 1.0)),
            [52.0, 202.0, 382.0, 598.0, 1156.0, 1480.0]
        );
        assert_eq!(
            [9.0, 35.0, 66.0, 103.5, 200.0, 256.0].map(|t| days(t, 0.2)),
            [73.0, 284.0, 535.0, 839.0, 1621.0, 2074.0]
        );
        // 10 ppb to 1 ppb takes 3.3219 halvings, which at 34 days each are 112.9 days: arithmetic.
        assert!((halvings(10.0, 1.0).expect("levels") * 34.0 - 112.9).abs() < 0.05);
    }

    /// Clopyralid in composted clippings fell from 32 ppm to *under* 1.4 ppm in 365 days (Vandervoort 1997, as
    /// told in Fauci and others, 2002), so the half-life is at most 80.8 days. From 32 ppm to the 100 ppb that another copy gives for
    /// the year's end it would be 43.9: the two do not agree, and neither is a soil.
    #[test]
    fn the_clippings_that_were_composted_lost_half_in_at_most_twelve_weeks() {
        let half_life = |to: f64| 365.0 / halvings(32_000.0, to).expect("levels");
        assert!((half_life(1400.0) - 80.8).abs() < 0.1, "{}", half_life(1400.0));
        assert!((half_life(100.0) - 43.9).abs() < 0.1, "{}", half_life(100.0));
    }
}
