//! What a bean test of so many pots can show, before it is potted.
//!
//! Comes in: pots per arm and how often pots are hurt in each. Goes out: chances, and pot counts.
//! It looks at no test that was made.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError},
};

use super::exact::{Table, fisher};

/// The chance that a test of `test` against `control` pots shows harm at one-sided `level`, if each
/// test pot is hurt with chance `hurt` and each control pot with chance `stray` (all 0 to 1; the
/// pots are taken to be independent). Exact: every outcome is weighed.
pub fn power(test: u32, control: u32, hurt: f64, stray: f64, level: f64) -> f64 {
    weighed(test, control, hurt, stray, &least_hurt(test, control, level))
}

/// See [`power`]; `shows` is what [`least_hurt`] gives.
fn weighed(test: u32, control: u32, hurt: f64, stray: f64, shows: &[u32]) -> f64 {
    let (hurt, stray) = (hurt.clamp(0.0, 1.0), stray.clamp(0.0, 1.0));
    let strayed: Vec<f64> = (0..=control).map(|c| binomial(control, c, stray)).collect();
    let mut sum = 0.0;
    for a in 0..=test {
        let hurt = binomial(test, a, hurt);
        for (stray, least) in strayed.iter().zip(shows) {
            if a >= *least {
                sum += hurt * stray;
            }
        }
    }
    sum.min(1.0)
}

/// For each number of control pots hurt, from none to all, the least number of test pots hurt that shows harm;
/// one more than there are where none does. More control pots hurt never ask for fewer test pots (G. A. Barnard,
/// *Biometrika* 34, 1947: the condition of convexity), so one walk along the border finds them all.
fn least_hurt(test: u32, control: u32, level: f64) -> Vec<u32> {
    let mut a = 0;
    let least = |c: u32| {
        while a <= test && fisher(Table { a, b: test - a, c, d: control - c }).greater > level {
            a += 1;
        }
        a
    };
    (0..=control).map(least).collect()
}

/// The fewest pots per arm that reach `wanted` power; `None` if more than 30 would be needed.
pub fn pots_needed(hurt: f64, stray: f64, level: f64, wanted: f64) -> Option<u32> {
    (1..=30).find(|n| weighed(*n, *n, hurt, stray, &border(*n, level)) >= wanted)
}

/// Borders by the pots of an arm and the bits of the level.
type Borders = BTreeMap<(u32, u64), Arc<[u32]>>;

/// What [`least_hurt`] gives for so many pots in either arm. It is asked for again and again at a few levels, and
/// is the dear part of a pot count: found once.
fn border(pots: u32, level: f64) -> Arc<[u32]> {
    static FOUND: Mutex<Borders> = Mutex::new(Borders::new());
    let mut found = FOUND.lock().unwrap_or_else(PoisonError::into_inner);
    let border = found.entry((pots, level.to_bits())).or_insert_with(|| least_hurt(pots, pots, level).into());
    Arc::clone(border)
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
    fn the_border_is_where_weighing_every_table_puts_it() {
        for (test, control) in (1..=9).flat_map(|n| (1..=9).map(move |m| (n, m))) {
            for level in [0.01, 0.05, 0.2, 0.5] {
                let border = least_hurt(test, control, level);
                for (c, least) in (0..=control).zip(border) {
                    for a in 0..=test {
                        let shows = fisher(Table { a, b: test - a, c, d: control - c }).greater <= level;
                        assert_eq!(shows, a >= least, "{a} of {test} against {c} of {control} at {level}");
                    }
                }
            }
        }
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
