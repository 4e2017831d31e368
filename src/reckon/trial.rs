//! A trial: plots given one treatment against plots given another, as they stood on one day.
//!
//! Comes in: how many plots of each were hurt, and how high their plants stood. Goes out: what the
//! comparison shows, with intervals, and how many plots it would take. It does not know what the
//! treatments are, nor whether they differ in one thing only.

use super::{
    exact::{Table, fisher, least_one_sided},
    power::pots_needed,
    proportion::wilson,
    two_sample::{permutation, welch},
};

/// The chance of a false alarm that a trial allows itself in all, over all its readings.
const LEVEL: f64 = 0.05;
/// What intervals cover.
const COVERED: f64 = 0.95;
/// The power a trial that is to be repeated is planned for; 0.8 is common practice, no source.
const WANTED: f64 = 0.8;

/// The plots of one treatment, read on one day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plots {
    /// How many were hurt, if hurt was looked for.
    pub hurt: Option<u32>,
    /// How many there are.
    pub all: u32,
    /// How high plants stood, one figure a plot, in centimetres; empty if not measured.
    pub heights: Vec<f64>,
}

/// What a comparison shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// Fewer plots hurt, or plants higher.
    Better,
    /// More plots hurt, or plants lower.
    Worse,
    /// Neither is shown; that is not to say that they are alike.
    NoDifference,
    /// So few plots cannot show anything, whatever they do.
    TooFew,
}

impl Verdict {
    /// The word for it, as sentences say it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Better => "better",
            Self::Worse => "worse",
            Self::NoDifference => "no different",
            Self::TooFew => "too few to tell",
        }
    }
}

/// One treatment held against another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// What it shows.
    pub verdict: Verdict,
    /// The chance of a difference like this or greater by luck alone, two-sided: by Fisher's exact test of the
    /// plots hurt, or where they were not counted by the exact permutation test of heights.
    pub p: Option<f64>,
    /// What that chance is held against: 5 in 100 shared out over all readings so far (Bonferroni).
    pub level: f64,
    /// By how much the share of plots hurt is less than the other's, 95 % interval, -1 to 1.
    pub fewer: Option<(f64, f64)>,
    /// By how much plants stood higher than the other's, 95 % interval, in centimetres.
    pub higher: Option<(f64, f64)>,
}

/// Holds one treatment against another; `looks` counts the readings up to this one, 1 or more. `None` if
/// they have no reading in common.
pub fn compare(one: &Plots, other: &Plots, looks: u32) -> Option<Compared> {
    let level = LEVEL / f64::from(looks.max(1));
    let hurt = one.hurt.zip(other.hurt).map(|(a, c)| {
        let (b, d) = (one.all.saturating_sub(a), other.all.saturating_sub(c));
        (fisher(Table { a, b, c, d }), difference((c, other.all), (a, one.all)))
    });
    let measured = !one.heights.is_empty() && !other.heights.is_empty();
    if hurt.is_none() && !measured {
        return None;
    }
    let heights = measured.then(|| permutation(&one.heights, &other.heights)).flatten();
    let welch = measured.then(|| welch(&one.heights, &other.heights)).flatten();
    // Hurt is what the trial is about; heights decide only where nobody counted it.
    let by_hurt = hurt.map(|(f, _)| (f.two_sided, f.less < f.greater));
    let by_height = heights.map(|h| (h.two_sided, h.greater < h.less));
    let least = by_hurt.or(by_height);
    let reach = (2.0 * least_one_sided(one.all, other.all)).min(1.0);
    let verdict = match least {
        Some((p, true)) if p <= level => Verdict::Better,
        Some((p, false)) if p <= level => Verdict::Worse,
        _ if reach > level => Verdict::TooFew,
        _ => Verdict::NoDifference,
    };
    Some(Compared {
        verdict,
        p: least.map(|(p, _)| p),
        level,
        fewer: hurt.and_then(|(_, d)| d),
        higher: welch.map(|w| w.interval),
    })
}

/// The interval of a difference of two proportions, first less second, from their Wilson intervals
/// (R. G. Newcombe, *Statistics in Medicine* 17:873-890, 1998, method 10). `None` where a total is 0 or
/// less than its count.
pub fn difference(first: (u32, u32), second: (u32, u32)) -> Option<(f64, f64)> {
    let ((a, m), (b, n)) = (first, second);
    let ((l1, u1), (l2, u2)) = (wilson(a, m, COVERED)?, wilson(b, n, COVERED)?);
    let (p, q) = (f64::from(a) / f64::from(m), f64::from(b) / f64::from(n));
    let below = ((p - l1).powi(2) + (u2 - q).powi(2)).sqrt();
    let above = ((u1 - p).powi(2) + (q - l2).powi(2)).sqrt();
    Some(((p - q - below).max(-1.0), (p - q + above).min(1.0)))
}

/// How many plots of each it would take to show a difference as great as the one seen, 8 times in 10, by
/// the plots hurt; `None` if none was seen, or over 30 would be needed.
pub fn plots_needed(one: &Plots, other: &Plots) -> Option<u32> {
    let share = |p: &Plots| Some(f64::from(p.hurt?) / f64::from(p.all.max(1)));
    let (p, q) = (share(one)?, share(other)?);
    // One-sided at half the level is two-sided at the level.
    pots_needed(p.max(q), p.min(q), LEVEL / 2.0, WANTED).filter(|_| p != q)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plots(hurt: u32, all: u32) -> Plots {
        Plots { hurt: Some(hurt), all, heights: Vec::new() }
    }

    /// Newcombe 1998, table II, method 10 (from memory), which statsmodels 0.15 (`confint_proportions_2indep`,
    /// method `newcomb`) gives as well.
    #[test]
    fn differences_of_proportions_are_newcombes() {
        for ((a, m, b, n), low, high) in [
            ((56, 70, 48, 80), 0.0524, 0.3339),
            ((9, 10, 3, 10), 0.1705, 0.8090),
            ((6, 7, 2, 7), 0.0582, 0.8062),
            ((5, 56, 0, 29), -0.0381, 0.1926),
            ((0, 10, 0, 20), -0.1611, 0.2775),
            ((10, 10, 0, 20), 0.6791, 1.0),
        ] {
            let (l, h) = difference((a, m), (b, n)).expect("an interval");
            assert!((l - low).abs() < 5e-5 && (h - high).abs() < 5e-5, "{a}/{m} - {b}/{n}: {l} {h}");
        }
    }

    #[test]
    fn three_plots_against_three_can_show_nothing() {
        let shown = compare(&plots(0, 3), &plots(3, 3), 1).expect("a comparison");
        assert_eq!(shown.verdict, Verdict::TooFew, "2/20 is more than 5 in 100");
    }

    #[test]
    fn four_against_four_show_only_all_against_none() {
        let verdict = |a, c| compare(&plots(a, 4), &plots(c, 4), 1).map(|c| c.verdict);
        assert_eq!(verdict(0, 4), Some(Verdict::Better), "2/70");
        assert_eq!(verdict(4, 0), Some(Verdict::Worse));
        assert_eq!(verdict(1, 4), Some(Verdict::NoDifference), "34/70");
    }

    #[test]
    fn looking_twice_asks_for_more() {
        assert_eq!(compare(&plots(0, 4), &plots(4, 4), 2).map(|c| c.verdict), Some(Verdict::TooFew));
        assert_eq!(compare(&plots(0, 5), &plots(5, 5), 2).map(|c| c.verdict), Some(Verdict::Better));
    }

    #[test]
    fn plants_that_stand_higher_speak_as_well() {
        let high = Plots { hurt: None, all: 5, heights: vec![9.0, 10.0, 9.5, 10.5, 9.0] };
        let low = Plots { hurt: None, all: 5, heights: vec![5.0, 6.0, 5.5, 6.5, 5.0] };
        let shown = compare(&high, &low, 1).expect("a comparison");
        assert_eq!(shown.verdict, Verdict::Better);
        let (least, most) = shown.higher.expect("an interval");
        assert!(least > 0.0 && least < 4.0 && most > 4.0);
        assert_eq!(compare(&low, &high, 1).map(|c| c.verdict), Some(Verdict::Worse));
    }

    #[test]
    fn what_was_not_read_is_not_compared() {
        assert_eq!(compare(&Plots { all: 4, ..Plots::default() }, &plots(2, 4), 1), None);
    }

    #[test]
    fn a_small_difference_would_take_more_plots_than_a_garden_has() {
        assert_eq!(plots_needed(&plots(2, 4), &plots(3, 4)), None);
        assert!(plots_needed(&plots(0, 4), &plots(3, 4)).is_some_and(|n| (4..=12).contains(&n)));
    }
}
