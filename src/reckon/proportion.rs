//! How many out of how many: the interval that a proportion allows.
//!
//! Comes in: a count and the total. Goes out: bounds between 0 and 1. It compares nothing.

use statrs::{
    distribution::{ContinuousCDF, Normal},
    function::beta::beta_reg,
};

use super::root::rising;

/// The exact interval of Clopper and Pearson (*Biometrika* 26, 1934): it covers the true proportion at
/// least as often as `level` says, 0 to 1. `None` if `of` is 0 or `count` is more than `of`.
pub fn clopper_pearson(count: u32, of: u32, level: f64) -> Option<(f64, f64)> {
    let tail = tail(count, of, level)?;
    let (k, n) = (f64::from(count), f64::from(of));
    // P(X >= k | p) rises with p; it is the incomplete beta function.
    let low = if count == 0 { 0.0 } else { rising(0.0, 1.0, |p| beta_reg(k, n - k + 1.0, p) - tail) };
    let high =
        if count == of { 1.0 } else { rising(0.0, 1.0, |p| beta_reg(k + 1.0, n - k, p) - (1.0 - tail)) };
    Some((low, high))
}

/// Wilson's interval (*JASA* 22, 1927), without continuity correction: on the average it covers as
/// often as `level` says, and it is shorter than the exact one.
pub fn wilson(count: u32, of: u32, level: f64) -> Option<(f64, f64)> {
    let tail = tail(count, of, level)?;
    let z = normal_quantile(1.0 - tail);
    let (k, n) = (f64::from(count), f64::from(of));
    let p = k / n;
    let across = 1.0 + z * z / n;
    let centre = (p + z * z / (2.0 * n)) / across;
    let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt() / across;
    let low = if count == 0 { 0.0 } else { (centre - half).max(0.0) };
    let high = if count == of { 1.0 } else { (centre + half).min(1.0) };
    Some((low, high))
}

/// The normal quantile: the point below which a share `p` of a standard normal lies.
pub fn normal_quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

fn tail(count: u32, of: u32, level: f64) -> Option<f64> {
    (of > 0 && count <= of && level > 0.0 && level < 1.0).then_some((1.0 - level) / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(ours: Option<(f64, f64)>, theirs: &serde_json::Value, slack: f64) {
        let (low, high) = ours.expect("an interval");
        for (ours, at) in [(low, 0), (high, 1)] {
            let theirs = theirs[at].as_f64().expect("a number");
            assert!((ours - theirs).abs() < slack, "{ours} is not {theirs}");
        }
    }

    /// `tests/reference/proportion.json`: statsmodels 0.15 and mpmath.
    #[test]
    fn intervals_are_those_of_statsmodels() {
        let text = include_str!("../../tests/reference/proportion.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference file is JSON");
        let cases = json["cases"].as_array().expect("cases");
        assert_eq!(cases.len(), 60);
        for case in cases {
            let n = |name: &str| u32::try_from(case[name].as_u64().expect("a count")).expect("small");
            let (k, of) = (n("emerged"), n("sown"));
            close(wilson(k, of, 0.95), &case["wilson95"], 1e-9);
            close(wilson(k, of, 0.90), &case["wilson90"], 1e-9);
            close(clopper_pearson(k, of, 0.95), &case["clopper_pearson95"], 1e-10);
        }
    }

    /// R. G. Newcombe, "Two-sided confidence intervals for the single proportion", *Statistics in
    /// Medicine* 17 (1998) 857, table of worked proportions (from memory), four decimals.
    #[test]
    fn intervals_are_those_newcombe_published() {
        for (k, n, w, cp) in [
            (81, 263, (0.2553, 0.3662), (0.2527, 0.3676)),
            (15, 148, (0.0624, 0.1605), (0.0578, 0.1617)),
            (0, 20, (0.0, 0.1611), (0.0, 0.1684)),
            (1, 29, (0.0061, 0.1718), (0.0009, 0.1776)),
        ] {
            let four = |(a, b): (f64, f64)| ((a * 1e4).round() / 1e4, (b * 1e4).round() / 1e4);
            assert_eq!(wilson(k, n, 0.95).map(four), Some(w));
            assert_eq!(clopper_pearson(k, n, 0.95).map(four), Some(cp));
        }
    }

    #[test]
    fn impossible_counts_have_no_interval() {
        assert_eq!(wilson(3, 2, 0.95), None);
        assert_eq!(clopper_pearson(0, 0, 0.95), None);
    }
}
