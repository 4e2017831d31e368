//! Fisher's exact test of a 2 × 2 table, one- and two-sided, and with the mid-p convention.
//!
//! Comes in: four counts. Goes out: probabilities between 0 and 1. It judges nothing; what a
//! probability means for a bean test is said in `beantest`.
//!
//! With all margins fixed the first cell follows the hypergeometric distribution (R. A. Fisher,
//! *The Design of Experiments*, 1935, §11). Tables are compared by whole-number weights, so that two
//! equally likely tables tie exactly; only where those numbers outgrow 128 bits (some 130 plants and
//! more) are they compared as logarithms, with a slack of 1e-12.

use statrs::distribution::{Discrete, Hypergeometric};

/// A 2 × 2 table: rows are the two groups, columns affected and unaffected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Table {
    /// Affected in the first group.
    pub a: u32,
    /// Unaffected in the first group.
    pub b: u32,
    /// Affected in the second group.
    pub c: u32,
    /// Unaffected in the second group.
    pub d: u32,
}

/// What the exact test says of a table. Every number is a probability under "no difference".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fisher {
    /// At least as many affected in the first group.
    pub greater: f64,
    /// At most as many affected in the first group.
    pub less: f64,
    /// All tables no more likely than this one.
    pub two_sided: f64,
    /// `greater`, counting this very table half.
    pub mid_greater: f64,
    /// `less`, counting this very table half.
    pub mid_less: f64,
    /// `two_sided`, counting half of every table exactly as likely as this one.
    pub mid_two_sided: f64,
    /// This table.
    pub point: f64,
}

/// The exact test of a table. A table with an empty margin can be only itself: every tail is 1.
pub fn fisher(table: Table) -> Fisher {
    let Table { a, b, c, d } = table;
    let (first, affected) = (u64::from(a) + u64::from(b), u64::from(a) + u64::from(c));
    let all = first + u64::from(c) + u64::from(d);
    let unaffected = all - affected;
    let low = first.saturating_sub(unaffected);
    let high = first.min(affected);
    weights(first, affected, all, low, high).map_or_else(
        || by_logarithm(u64::from(a), first, affected, all, low, high),
        |w| by_weight(u64::from(a), low, &w),
    )
}

/// The smallest one-sided probability that so many in each group can reach: all of the first affected
/// and none of the second. With 3 and 3 it is 1/20, with 4 and 4 it is 1/70.
pub fn least_one_sided(first: u32, second: u32) -> f64 {
    fisher(Table { a: first, b: 0, c: 0, d: second }).greater
}

/// The most plants whose weights surely fit 128 bits at every step.
const SURELY_FIT: u64 = 120;

/// Whole-number weight of each possible first cell, from the least to the greatest; `None` if one
/// outgrows 128 bits.
fn weights(first: u64, affected: u64, all: u64, low: u64, high: u64) -> Option<Vec<u128>> {
    if all > SURELY_FIT {
        choose(all, first)?;
        let weight = |x| choose(affected, x)?.checked_mul(choose(all - affected, first - x)?);
        return (low..=high).map(weight).collect();
    }
    // Row by row: each way to choose follows from the one before.
    let chosen = row(affected).skip(usize::try_from(low).ok()?);
    let others: Vec<u128> = row(all - affected).take(usize::try_from(first - low).ok()? + 1).collect();
    Some(chosen.zip(others.iter().rev()).map(|(a, b)| a * b).collect())
}

/// In how many ways none, one, two and so on of `n` can be chosen.
fn row(n: u64) -> impl Iterator<Item = u128> {
    let next = move |(k, ways): &(u64, u128)| {
        (*k < n).then(|| (k + 1, ways * u128::from(n - k) / u128::from(k + 1)))
    };
    std::iter::successors(Some((0, 1)), next).map(|(_, ways)| ways)
}

fn choose(n: u64, k: u64) -> Option<u128> {
    let k = k.min(n.checked_sub(k)?);
    // Multiplying before dividing keeps every step a whole number.
    (1..=k).try_fold(1u128, |acc, i| Some(acc.checked_mul(u128::from(n - k + i))? / u128::from(i)))
}

fn by_weight(a: u64, low: u64, w: &[u128]) -> Fisher {
    let at = usize::try_from(a - low).unwrap_or(0);
    let own = w.get(at).copied().unwrap_or(0);
    let total: u128 = w.iter().sum();
    // Sums stay whole; the one division at the end is the only rounding.
    let part = |n: u128| ratio(n, total);
    let sum = |keep: &dyn Fn(usize, u128) -> bool| -> u128 {
        w.iter().enumerate().filter(|(i, n)| keep(*i, **n)).map(|(_, n)| *n).sum()
    };
    let greater = sum(&|i, _| i >= at);
    let less = sum(&|i, _| i <= at);
    let two = sum(&|_, n| n <= own);
    let tied = sum(&|_, n| n == own);
    Fisher {
        greater: part(greater),
        less: part(less),
        two_sided: part(two),
        mid_greater: part(greater) - part(own) / 2.0,
        mid_less: part(less) - part(own) / 2.0,
        mid_two_sided: part(two) - part(tied) / 2.0,
        point: part(own),
    }
}

#[allow(clippy::cast_precision_loss)]
fn ratio(n: u128, of: u128) -> f64 {
    if of == 0 { 1.0 } else { n as f64 / of as f64 }
}

fn by_logarithm(a: u64, first: u64, affected: u64, all: u64, low: u64, high: u64) -> Fisher {
    let Ok(law) = Hypergeometric::new(all, affected, first) else {
        return Fisher {
            greater: 1.0,
            less: 1.0,
            two_sided: 1.0,
            mid_greater: 0.5,
            mid_less: 0.5,
            mid_two_sided: 0.5,
            point: 1.0,
        };
    };
    let own = law.ln_pmf(a);
    let mut f = Fisher {
        greater: 0.0,
        less: 0.0,
        two_sided: 0.0,
        mid_greater: 0.0,
        mid_less: 0.0,
        mid_two_sided: 0.0,
        point: own.exp(),
    };
    let mut tied = 0.0;
    for x in low..=high {
        let ln = law.ln_pmf(x);
        let p = ln.exp();
        if x >= a {
            f.greater += p;
        }
        if x <= a {
            f.less += p;
        }
        if ln <= own + 1e-12 {
            f.two_sided += p;
        }
        if (ln - own).abs() <= 1e-12 {
            tied += p;
        }
    }
    f.greater = f.greater.min(1.0);
    f.less = f.less.min(1.0);
    f.two_sided = f.two_sided.min(1.0);
    f.mid_greater = f.greater - f.point / 2.0;
    f.mid_less = f.less - f.point / 2.0;
    f.mid_two_sided = f.two_sided - tied / 2.0;
    f
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, want: f64, what: &str) {
        assert!((got - want).abs() <= 1e-12 * want.abs().max(1e-3), "{what}: {got} is not {want}");
    }

    #[test]
    fn a_row_holds_what_choosing_gives_up_to_where_it_surely_fits() {
        for n in 0..=SURELY_FIT {
            let chosen: Option<Vec<u128>> = (0..=n).map(|k| choose(n, k)).collect();
            assert_eq!(Some(row(n).collect()), chosen, "{n}");
        }
    }

    /// Reference: tests/reference/fisher.json, exact rationals cross-checked with SciPy 1.17.1.
    #[test]
    fn every_reference_table_is_met() {
        let text = include_str!("../../tests/reference/fisher.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference is JSON");
        let cases = json["cases"].as_array().expect("cases");
        assert!(cases.len() >= 200);
        for case in cases {
            let id = case["id"].as_str().expect("id");
            let n = |i: usize, j: usize| {
                u32::try_from(case["table"][i][j].as_u64().expect("count")).expect("small")
            };
            let got = fisher(Table { a: n(0, 0), b: n(0, 1), c: n(1, 0), d: n(1, 1) });
            let want = |key: &str| case[key].as_f64().expect(key);
            near(got.greater, want("p_greater"), id);
            near(got.less, want("p_less"), id);
            near(got.two_sided, want("p_two_sided"), id);
            near(got.point, want("p_observed_table"), id);
            near(got.mid_greater, want("midp_greater"), id);
            near(got.mid_less, want("midp_less"), id);
            near(got.mid_two_sided, want("midp_two_sided_pointprob"), id);
        }
    }

    /// R. A. Fisher, *The Design of Experiments*, 1935: the tea tasting, all four right, 1 in 70.
    #[test]
    fn the_tea_tasting_comes_out_as_published() {
        near(least_one_sided(4, 4), 1.0 / 70.0, "4 v 4");
        near(fisher(Table { a: 3, b: 1, c: 1, d: 3 }).greater, 17.0 / 70.0, "3 of 4");
    }

    /// Convictions of same-sex twins of criminals (R. A. Fisher, 1962, as in R's `fisher.test` manual): the
    /// figure is recalled, and confirmed by the computed value in tests/reference/classics.json.
    #[test]
    fn the_twins_come_out_as_published() {
        let p = fisher(Table { a: 10, b: 3, c: 2, d: 15 }).greater;
        assert!((p - 0.000_465_2).abs() < 5e-8, "{p}");
    }

    /// Our arithmetic from the binomial coefficients: 20, 70, 252 and 924 ways.
    #[test]
    fn pots_per_arm_bound_what_a_test_can_show() {
        for (n, ways) in [(3, 20.0), (4, 70.0), (5, 252.0), (6, 924.0)] {
            near(least_one_sided(n, n), 1.0 / ways, "pots per arm");
        }
        assert!(least_one_sided(3, 3) <= 0.05, "three against three just reaches one in twenty");
        assert!(fisher(Table { a: 3, b: 0, c: 0, d: 3 }).two_sided > 0.05, "two-sided it never does");
    }

    #[test]
    fn an_empty_margin_shows_nothing() {
        for t in [
            Table { a: 0, b: 0, c: 3, d: 4 },
            Table { a: 0, b: 9, c: 0, d: 9 },
            Table { a: 0, b: 0, c: 0, d: 0 },
        ] {
            let f = fisher(t);
            near(f.greater, 1.0, "greater");
            near(f.two_sided, 1.0, "two-sided");
        }
    }

    #[test]
    fn very_large_tables_are_answered_too() {
        let f = fisher(Table { a: 4000, b: 1000, c: 2500, d: 2500 });
        assert!(f.greater >= 0.0 && f.greater < 1e-100);
        let g = fisher(Table { a: u32::MAX / 2, b: 3, c: 2, d: 5 });
        assert!((0.0..=1.0).contains(&g.two_sided));
    }
}
