//! How strong an association a 2 × 2 table allows: the conditional odds ratio and its exact interval.
//!
//! Comes in: four counts. Goes out: ratios from 0 to infinity. It judges nothing.
//!
//! With the margins fixed, the first cell follows Fisher's noncentral hypergeometric law, whose only
//! parameter is the odds ratio (R. A. Fisher, 1935; J. Cornfield, 1956, for the interval).

use super::{exact::Table, root::rising};

/// An odds ratio with its exact 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddsRatio {
    /// The ratio under which the table seen is likeliest.
    pub likeliest: f64,
    /// Lower bound.
    pub low: f64,
    /// Upper bound.
    pub high: f64,
}

/// The conditional odds ratio; `None` if a margin is empty, which allows any ratio at all.
pub fn odds_ratio(table: Table) -> Option<OddsRatio> {
    let law = Law::new(table)?;
    let at = usize::try_from(law.seen).ok()?;
    let top = law.log_weights.len() - 1;
    // The ratio is sought on the scale of its logarithm; e^±60 is beyond any table of counts.
    let seek = |f: &dyn Fn(f64) -> f64| rising(-60.0, 60.0, f).exp();
    Some(OddsRatio {
        likeliest: match at {
            0 => 0.0,
            a if a == top => f64::INFINITY,
            a => seek(&|log| law.mean(log) - count(a)),
        },
        low: if at == 0 { 0.0 } else { seek(&|log| law.at_least(at, log) - 0.025) },
        high: if at == top { f64::INFINITY } else { seek(&|log| 0.025 - law.at_most(at, log)) },
    })
}

/// Fisher's noncentral hypergeometric law of a table's first cell, counted from its least value.
struct Law {
    seen: u32,
    log_weights: Vec<f64>,
}

impl Law {
    fn new(t: Table) -> Option<Self> {
        let (rows, columns) = ([t.a + t.b, t.c + t.d], [t.a + t.c, t.b + t.d]);
        if rows.contains(&0) || columns.contains(&0) {
            return None;
        }
        let low = rows[0].saturating_sub(columns[1]);
        let high = rows[0].min(columns[0]);
        let log_choose =
            |n: u32, k: u32| statrs::function::factorial::ln_binomial(u64::from(n), u64::from(k));
        let log_weights =
            (low..=high).map(|x| log_choose(columns[0], x) + log_choose(columns[1], rows[0] - x)).collect();
        Some(Self { seen: t.a - low, log_weights })
    }

    /// The chance of each cell at an odds ratio of e^`log`.
    fn chances(&self, log: f64) -> Vec<f64> {
        let terms: Vec<f64> = self.log_weights.iter().enumerate().map(|(i, w)| w + log * count(i)).collect();
        let most = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = terms.iter().map(|t| (t - most).exp()).sum();
        terms.iter().map(|t| (t - most).exp() / sum).collect()
    }

    fn mean(&self, log: f64) -> f64 {
        self.chances(log).iter().enumerate().map(|(i, p)| p * count(i)).sum()
    }

    fn at_least(&self, at: usize, log: f64) -> f64 {
        self.chances(log)[at..].iter().sum()
    }

    fn at_most(&self, at: usize, log: f64) -> f64 {
        self.chances(log)[..=at].iter().sum()
    }
}

#[allow(clippy::cast_precision_loss)]
fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(v: &serde_json::Value) -> Option<f64> {
        match v.as_str() {
            Some("inf") => Some(f64::INFINITY),
            Some(text) => text.parse().ok(),
            None => v.as_f64(),
        }
    }

    /// `tests/reference/fisher.json`: mpmath to 40 digits, checked with scipy 1.17.
    #[test]
    fn ratios_and_intervals_are_those_of_the_reference() {
        let text = include_str!("../../tests/reference/fisher.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference file is JSON");
        let mut checked = 0;
        for case in json["cases"].as_array().expect("cases") {
            let cell = |r: usize, c: usize| {
                u32::try_from(case["table"][r][c].as_u64().expect("a count")).expect("small")
            };
            let ours = odds_ratio(Table { a: cell(0, 0), b: cell(0, 1), c: cell(1, 0), d: cell(1, 1) });
            let Some(likeliest) = number(&case["or_conditional_mle"]) else {
                assert_eq!(ours, None, "{}", case["id"]);
                continue;
            };
            let ours = ours.expect("a ratio");
            let bounds = &case["or_cmle_ci95"];
            for (a, b) in [
                (ours.likeliest, likeliest),
                (ours.low, number(&bounds[0]).expect("a bound")),
                (ours.high, number(&bounds[1]).expect("a bound")),
            ] {
                assert!(a == b || (a - b).abs() <= 1e-8 * b.abs(), "{}: {a} is not {b}", case["id"]);
            }
            checked += 1;
        }
        assert!(checked > 150, "only {checked} tables had a ratio");
    }

    /// The tea tasting (Fisher, *The Design of Experiments*, 1935): three of four right.
    #[test]
    fn the_tea_tasting_allows_almost_any_ratio() {
        let r = odds_ratio(Table { a: 3, b: 1, c: 1, d: 3 }).expect("a ratio");
        assert_eq!(format!("{:.4} {:.4} {:.2}", r.likeliest, r.low, r.high), "6.4083 0.2117 626.24");
    }

    /// The twins' convictions (Fisher, 1962) the other way round: R's documentation prints a lower bound of 0.003325764, where its
    /// search for the root stopped early; the exact one is 0.003317164, a quarter of a per cent lower. Its print is no oracle.
    #[test]
    fn a_printed_bound_that_was_searched_for_too_loosely_is_not_met() {
        let r = odds_ratio(Table { a: 2, b: 15, c: 10, d: 3 }).expect("a ratio");
        assert!((r.low - 0.003_317_164).abs() < 5e-10, "{}", r.low);
        assert!((0.003_325_764 / r.low - 1.0 - 0.0026).abs() < 0.0001, "{}", r.low);
    }
}
