//! What a bean test of so many pots can show, before it is potted.
//!
//! Comes in: pots per arm and how often pots are hurt in each. Goes out: chances, and pot counts.
//! It looks at no test that was made.

use super::exact::{Table, fisher};

/// The chance that a test of `test` against `control` pots shows harm at one-sided `level`, if each
/// test pot is hurt with chance `hurt` and each control pot with chance `stray` (all 0 to 1; the
/// pots are taken to be independent). Exact: every outcome is weighed.
pub fn power(test: u32, control: u32, hurt: f64, stray: f64, level: f64) -> f64 {
    let (hurt, stray) = (hurt.clamp(0.0, 1.0), stray.clamp(0.0, 1.0));
    let mut sum = 0.0;
    for a in 0..=test {
        for c in 0..=control {
            if fisher(Table { a, b: test - a, c, d: control - c }).greater <= level {
                sum += binomial(test, a, hurt) * binomial(control, c, stray);
            }
        }
    }
    sum.min(1.0)
}

/// The fewest pots per arm that reach `wanted` power; `None` if more than 30 would be needed.
pub fn pots_needed(hurt: f64, stray: f64, level: f64, wanted: f64) -> Option<u32> {
    (1..=30).find(|n| power(*n, *n, hurt, stray, level) >= wanted)
}

fn binomial(n: u32, k: u32, p: f64) -> f64 {
    if p == 0.0 || p == 1.0 {
        return f64::from(u8::from(k == if p == 0.0 { 0 } else { n }));
    }
    let ways = statrs::function::factorial::ln_binomial(u64::from(n), u64::from(k));
    (ways + f64::from(k) * p.ln() + f64::from(n - k) * (1.0 - p).ln()).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: with 3 and 3 pots only 3 of 3 against 0 of 3 reaches 1/20, so power is p³·(1-q)³.
    #[test]
    fn three_pots_show_only_what_hurts_every_one() {
        let ours = power(3, 3, 0.9, 0.05, 0.05);
        let by_hand = 0.9f64.powi(3) * 0.95f64.powi(3);
        assert!((ours - by_hand).abs() < 1e-12, "{ours} is not {by_hand}");
    }

    #[test]
    fn two_pots_show_nothing_and_harm_in_every_pot_needs_three() {
        assert_eq!(power(2, 2, 1.0, 0.0, 0.05), 0.0);
        assert_eq!(pots_needed(1.0, 0.0, 0.05, 0.8), Some(3));
        assert_eq!(pots_needed(0.5, 0.5, 0.05, 0.8), None);
    }

    #[test]
    fn a_test_of_nothing_errs_no_oftener_than_its_level() {
        for n in 1..=8 {
            for p in [0.05, 0.3, 0.5, 0.9] {
                assert!(power(n, n, p, p, 0.05) <= 0.05);
            }
        }
    }
}
