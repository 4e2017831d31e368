//! What the counts and heights of one bean test allow: chances, intervals, and pots a new test would want.
//!
//! Comes in: pots hurt of pots in each arm, heights in each arm. Goes out: shares and counts, each with its
//! range. It gives no verdict (`beantest` does) and adds up no two tests: pots looked at again and again
//! would show harm by luck alone sooner or later.

use super::{
    beantest::Count,
    exact::{Fisher, Table, fisher, least_one_sided},
    odds_ratio::{OddsRatio, odds_ratio},
    power::pots_needed,
    proportion::{clopper_pearson, wilson},
    two_sample::{Exact, Welch, mann_whitney, permutation, welch},
};

/// The level of all intervals.
const LEVEL: f64 = 0.95;

/// The one-sided chance of luck alone that a verdict must reach (our judgement, after common practice).
const REACHED: f64 = 0.05;

/// How often a new test should show the harm that is there (our judgement, after common practice).
const WANTED: f64 = 0.8;

/// What two counts of pots say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figures {
    /// The exact test, all its conventions (chances of luck alone).
    pub luck: Fisher,
    /// The conditional odds ratio with its exact interval; `None` where a margin is empty.
    pub odds: Option<OddsRatio>,
    /// The share of such pots that is hurt, by Clopper and Pearson.
    pub hurt: (f64, f64),
    /// The same by Wilson.
    pub hurt_wilson: (f64, f64),
    /// The least chance of luck alone that a test of this size can reach.
    pub best: f64,
    /// With no pot hurt, the greatest share of hurt pots that one such test in twenty would still miss.
    pub missed: Option<f64>,
    /// Pots wanted in a new test.
    pub wanted: Wanted,
}

/// Pots on each side that a new test would want to show harm, if pots are hurt as often as they were seen
/// to be. `None`: more than 30, or none would do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// With the shares seen.
    pub likeliest: Option<u32>,
    /// With the greatest hurt and the least stray that the counts allow (Wilson).
    pub fewest: Option<u32>,
    /// With the least hurt and the greatest stray that the counts allow (Wilson).
    pub most: Option<u32>,
}

/// The figures of a reading; `None` where an arm has no pots, or more hurt than there are, or more pots
/// than a windowsill holds (200).
pub fn figures(test: Count, control: Count) -> Option<Figures> {
    let whole = |c: Count| (1..=200).contains(&c.all) && c.of_these <= c.all;
    if !whole(test) || !whole(control) {
        return None;
    }
    let table = Table {
        a: test.of_these,
        b: test.all - test.of_these,
        c: control.of_these,
        d: control.all - control.of_these,
    };
    Some(Figures {
        luck: fisher(table),
        odds: odds_ratio(table),
        hurt: clopper_pearson(test.of_these, test.all, LEVEL)?,
        hurt_wilson: wilson(test.of_these, test.all, LEVEL)?,
        best: least_one_sided(test.all, control.all),
        missed: (test.of_these == 0).then(|| 1.0 - (1.0 - LEVEL).powf(1.0 / f64::from(test.all))),
        wanted: wanted(test, control)?,
    })
}

fn wanted(test: Count, control: Count) -> Option<Wanted> {
    let share = |c: Count| f64::from(c.of_these) / f64::from(c.all);
    let (hurt, stray) = (share(test), share(control));
    if hurt <= stray {
        // Nothing was seen that a larger test could show.
        return Some(Wanted { likeliest: None, fewest: None, most: None });
    }
    let ((hurt_low, hurt_high), (stray_low, stray_high)) =
        (wilson(test.of_these, test.all, LEVEL)?, wilson(control.of_these, control.all, LEVEL)?);
    let pots = |hurt: f64, stray: f64| {
        if hurt > stray { pots_needed(hurt, stray, REACHED, WANTED) } else { None }
    };
    Some(Wanted {
        likeliest: pots(hurt, stray),
        fewest: pots(hurt_high, stray_low),
        most: pots(hurt_low, stray_high),
    })
}

/// What the heights of two arms say, control less test: above 0 where the pots of the lot are lower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heights {
    /// Welch's test, in the unit given.
    pub welch: Option<Welch>,
    /// The exact permutation test; `greater` is the chance of luck alone for a control so much higher.
    pub rearranged: Option<Exact>,
    /// Mann and Whitney's, likewise.
    pub ranks: Option<Exact>,
}

/// Compares heights in one unit; `None` with fewer than two pots in an arm.
pub fn heights(test: &[f64], control: &[f64]) -> Option<Heights> {
    (test.len() > 1 && control.len() > 1).then(|| Heights {
        welch: welch(control, test),
        rearranged: permutation(control, test),
        ranks: mann_whitney(control, test),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn of(test: (u32, u32), control: (u32, u32)) -> Figures {
        let count = |(of_these, all)| Count { of_these, all };
        figures(count(test), count(control)).expect("pots in both arms")
    }

    /// None hurt of n: 0.05^(1/n) is the chance of a sound pot at which one test in twenty shows none hurt.
    #[test]
    fn four_sound_pots_may_miss_what_hurts_half_of_them() {
        let f = of((0, 4), (0, 4));
        assert!((f.missed.expect("none hurt") - (1.0 - 0.05f64.sqrt().sqrt())).abs() < 1e-12);
        assert_eq!(f.wanted.fewest, None, "nothing was seen that a larger test could show");
        assert_eq!(of((1, 4), (0, 4)).missed, None);
    }

    #[test]
    fn one_pot_hurt_of_four_asks_for_many_more_and_the_range_says_how_little_is_known() {
        let w = of((1, 4), (0, 4)).wanted;
        assert!(w.fewest.is_some_and(|n| n < 10), "{w:?}");
        assert!(w.likeliest.is_none_or(|n| n > 20), "{w:?}");
        assert_eq!(w.most, None);
    }

    #[test]
    fn impossible_counts_have_no_figures() {
        for (test, control) in [((0, 0), (0, 4)), ((5, 4), (0, 4)), ((0, 4), (1, 0)), ((1, 900), (0, 4))] {
            let count = |(of_these, all)| Count { of_these, all };
            assert_eq!(figures(count(test), count(control)), None);
        }
    }

    #[test]
    fn lower_pots_count_as_lower_and_one_pot_says_nothing() {
        let h = heights(&[4.0, 5.0, 4.5], &[8.0, 9.0, 8.5]).expect("three each");
        let w = h.welch.expect("they spread");
        assert!((w.difference - 4.0).abs() < 1e-9 && w.interval.0 > 0.0);
        // One arrangement of twenty has the three highest in the control.
        assert!((h.rearranged.expect("few").greater - 1.0 / 20.0).abs() < 1e-12);
        assert_eq!(heights(&[4.0], &[8.0, 9.0]), None);
    }

    proptest! {
        #[test]
        fn every_share_lies_in_its_range(h in 0u32..12, n in 1u32..12, c in 0u32..12, m in 1u32..12) {
            prop_assume!(h <= n && c <= m);
            let f = of((h, n), (c, m));
            let share = f64::from(h) / f64::from(n);
            prop_assert!(f.hurt.0 <= share + 1e-9 && share <= f.hurt.1 + 1e-9);
            prop_assert!(f.best <= f.luck.greater + 1e-12, "no count beats the best of its size");
            let pots = |p: Option<u32>| p.unwrap_or(31);
            prop_assert!(pots(f.wanted.fewest) <= pots(f.wanted.likeliest));
            prop_assert!(pots(f.wanted.likeliest) <= pots(f.wanted.most));
        }
    }
}
