//! Two groups of measurements compared: Welch's test, the exact permutation test of means, and
//! Mann and Whitney's with ties.
//!
//! Comes in: heights of two groups, in one unit. Goes out: differences, intervals, probabilities
//! under "no difference". It judges nothing.

use statrs::function::beta::beta_reg;

use super::root::rising;

/// Welch's unequal-variances test (B. L. Welch, *Biometrika* 34, 1947).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welch {
    /// Mean of the first less mean of the second, in the unit given.
    pub difference: f64,
    /// Standard error of the difference.
    pub error: f64,
    /// Student's t.
    pub t: f64,
    /// Satterthwaite's degrees of freedom.
    pub freedom: f64,
    /// Two-sided probability under "no difference".
    pub two_sided: f64,
    /// 95 % interval of the difference.
    pub interval: (f64, f64),
}

/// Welch's test; `None` with fewer than two in a group, or where both groups have no spread at all.
pub fn welch(x: &[f64], y: &[f64]) -> Option<Welch> {
    let (mx, vx) = mean_variance(x)?;
    let (my, vy) = mean_variance(y)?;
    let (nx, ny) = (count(x.len()), count(y.len()));
    let (ex, ey) = (vx / nx, vy / ny);
    let error = (ex + ey).sqrt();
    if error == 0.0 {
        return None;
    }
    let difference = mx - my;
    let t = difference / error;
    let freedom = (ex + ey) * (ex + ey) / (ex * ex / (nx - 1.0) + ey * ey / (ny - 1.0));
    let half = student_quantile(0.05, freedom) * error;
    Some(Welch {
        difference,
        error,
        t,
        freedom,
        two_sided: student_two_sided(t, freedom),
        interval: (difference - half, difference + half),
    })
}

/// P(|T| ≥ |t|) of Student's law.
fn student_two_sided(t: f64, freedom: f64) -> f64 {
    beta_reg(freedom / 2.0, 0.5, (freedom / (freedom + t * t)).clamp(0.0, 1.0))
}

/// The t that is passed on either side with probability `p` in all.
fn student_quantile(p: f64, freedom: f64) -> f64 {
    rising(0.0, 1e6, |t| p - student_two_sided(t, freedom))
}

/// Probabilities of an exact rearrangement test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exact {
    /// As far apart or farther, either way.
    pub two_sided: f64,
    /// The first group as high or higher.
    pub greater: f64,
    /// The first group as low or lower.
    pub less: f64,
}

/// Most arrangements that are counted one by one; 12 against 12 has 2.7 million.
const MOST: u128 = 3_000_000;

/// The exact permutation test of the difference in means (R. A. Fisher, *The Design of Experiments*,
/// 1935, §21, for the idea), over every way of dividing the measurements into groups of these sizes.
/// `None` with an empty group, or with more arrangements than can be counted.
pub fn permutation(x: &[f64], y: &[f64]) -> Option<Exact> {
    let all: Vec<i64> = x.iter().chain(y).map(|v| fixed(*v)).collect();
    rearranged(&all, x.len())
}

/// Mann and Whitney's test (*Annals of Mathematical Statistics* 18, 1947) by counting every
/// arrangement of the mid-ranks, so that ties are exact. `None` as for [`permutation`].
pub fn mann_whitney(x: &[f64], y: &[f64]) -> Option<Exact> {
    let all: Vec<i64> = x.iter().chain(y).map(|v| fixed(*v)).collect();
    let ranks: Vec<i64> = all
        .iter()
        .map(|v| {
            let below = all.iter().filter(|w| *w < v).count();
            let tied = all.iter().filter(|w| *w == v).count();
            // Twice the mid-rank, to stay whole.
            i64::try_from(2 * below + tied + 1).unwrap_or(i64::MAX)
        })
        .collect();
    rearranged(&ranks, x.len())
}

/// Measurements as whole thousandths, so that equal sums are equal.
#[allow(clippy::cast_possible_truncation)]
fn fixed(v: f64) -> i64 {
    (v * 1000.0).round().clamp(-1e15, 1e15) as i64
}

/// Counts, over every choice of `size` of the values, how the sum compares with the first `size`'s.
fn rearranged(all: &[i64], size: usize) -> Option<Exact> {
    let n = all.len();
    if size == 0 || size >= n || arrangements(n, size)? > MOST {
        return None;
    }
    let observed: i128 = all[..size].iter().map(|v| i128::from(*v)).sum();
    let total: i128 = all.iter().map(|v| i128::from(*v)).sum();
    let (k, n_all) = (i128::try_from(size).ok()?, i128::try_from(n).ok()?);
    // The sum's distance from its mean, times n so that it stays whole.
    let far = |sum: i128| (sum * n_all - total * k).abs();
    let (mut all_ways, mut both, mut high, mut low) = (0u64, 0u64, 0u64, 0u64);
    each_choice(all, size, 0, &mut |sum| {
        all_ways += 1;
        both += u64::from(far(sum) >= far(observed));
        high += u64::from(sum >= observed);
        low += u64::from(sum <= observed);
    });
    let share = |ways: u64| count_u64(ways) / count_u64(all_ways);
    Some(Exact { two_sided: share(both), greater: share(high), less: share(low) })
}

fn each_choice(rest: &[i64], left: usize, sum: i128, tell: &mut impl FnMut(i128)) {
    if left == 0 {
        tell(sum);
        return;
    }
    // Stop where too few values remain to fill the group.
    for at in 0..=rest.len().saturating_sub(left) {
        each_choice(&rest[at + 1..], left - 1, sum + i128::from(rest[at]), tell);
    }
}

fn arrangements(n: usize, k: usize) -> Option<u128> {
    let (n, k) = (u128::try_from(n).ok()?, u128::try_from(k.min(n - k)).ok()?);
    (1..=k).try_fold(1u128, |acc, i| Some(acc.checked_mul(n - k + i)? / i))
}

fn mean_variance(v: &[f64]) -> Option<(f64, f64)> {
    if v.len() < 2 || v.iter().any(|x| !x.is_finite()) {
        return None;
    }
    let n = count(v.len());
    let mean = v.iter().sum::<f64>() / n;
    let variance = v.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0);
    Some((mean, variance))
}

#[allow(clippy::cast_precision_loss)]
fn count(n: usize) -> f64 {
    n as f64
}

#[allow(clippy::cast_precision_loss)]
fn count_u64(n: u64) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;

    fn json(text: &str) -> Value {
        serde_json::from_str(text).expect("reference file is JSON")
    }

    fn numbers(v: &Value) -> Vec<f64> {
        v.as_array().expect("numbers").iter().map(|n| n.as_f64().expect("a number")).collect()
    }

    fn near(ours: f64, theirs: &Value, what: &str) {
        let theirs = theirs.as_f64().expect("a number");
        assert!((ours - theirs).abs() <= 1e-9 * theirs.abs().max(1.0), "{what}: {ours} is not {theirs}");
    }

    /// `tests/reference/twosample.json`: scipy 1.17 for Welch; full enumeration for the other two.
    #[test]
    fn tests_of_two_groups_are_those_of_scipy_and_of_full_enumeration() {
        let json = json(include_str!("../../tests/reference/twosample.json"));
        let cases = json["cases"].as_array().expect("cases");
        assert_eq!(cases.len(), 60);
        for case in cases {
            let id = case["id"].as_str().expect("an id");
            let (x, y) = (numbers(&case["x"]), numbers(&case["y"]));
            match (welch(&x, &y), &case["welch"]) {
                (None, Value::Null) => {}
                (Some(w), theirs) if theirs["t"].is_null() => panic!("{id}: {w:?} where none is defined"),
                (Some(w), theirs) => {
                    near(w.t, &theirs["t"], id);
                    near(w.freedom, &theirs["df"], id);
                    near(w.two_sided, &theirs["p_two_sided"], id);
                    near(w.interval.0, &theirs["ci95"][0], id);
                    near(w.interval.1, &theirs["ci95"][1], id);
                }
                (None, theirs) => assert!(theirs["t"].is_null(), "{id}: no Welch"),
            }
            let ranks = mann_whitney(&x, &y).expect(id);
            near(ranks.two_sided, &case["mann_whitney"]["p_two_sided_symmetric"], id);
            near(ranks.greater, &case["mann_whitney"]["p_greater"], id);
            let means = permutation(&x, &y).expect(id);
            near(means.two_sided, &case["permutation_mean_diff"]["p_two_sided"], id);
            near(means.greater, &case["permutation_mean_diff"]["p_greater"], id);
            near(means.less, &case["permutation_mean_diff"]["p_less"], id);
        }
    }

    /// Student's sleep data (*Biometrika* 6, 1908) and `PlantGrowth` (Dobson 1983), as R prints them;
    /// data and printed values from memory, recomputed in `tests/reference/classics.json`.
    #[test]
    fn welch_gives_the_textbook_answers() {
        let json = json(include_str!("../../tests/reference/classics.json"));
        let case = |name: &str| {
            let cases = json["cases"].as_array().expect("cases");
            cases.iter().find(|c| c["name"].as_str().is_some_and(|n| n.starts_with(name))).expect(name)
        };
        let sleep = case("Student's sleep");
        let w = welch(&numbers(&sleep["g1"]), &numbers(&sleep["g2"])).expect("a test");
        assert_eq!(format!("{:.5} {:.4} {:.6}", w.t, w.freedom, w.two_sided), "-1.86081 17.7765 0.079394");
        let plants = case("PlantGrowth");
        let w = welch(&numbers(&plants["ctrl"]), &numbers(&plants["trt1"])).expect("a test");
        assert_eq!(format!("{:.5} {:.4} {:.5}", w.t, w.freedom, w.two_sided), "1.19126 16.5236 0.25038");
    }

    #[test]
    fn three_against_three_can_never_reach_one_in_twenty_two_sided() {
        let least = permutation(&[1.0, 2.0, 3.0], &[11.0, 12.0, 13.0]).expect("a test");
        assert!((least.two_sided - 0.1).abs() < 1e-12);
        assert!((least.less - 0.05).abs() < 1e-12);
    }

    #[test]
    fn empty_and_endless_groups_have_no_test() {
        assert_eq!(permutation(&[], &[1.0]), None);
        assert_eq!(permutation(&[1.0; 40], &[2.0; 40]), None);
        assert_eq!(welch(&[1.0], &[2.0, 3.0]), None);
        assert_eq!(welch(&[1.0, 1.0], &[1.0, 1.0]), None);
    }
}
