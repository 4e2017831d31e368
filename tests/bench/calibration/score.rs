//! From many farms to figures: shares with intervals, reliability, calibration error.
//!
//! Comes in: outcomes. Goes out: numbers. Intervals of shares are Wilson's, those of means and of the
//! calibration error come from drawing the farms anew with replacement, seeded.

use haulm::reckon::proportion::wilson;

use super::{
    dice::Dice,
    trial::{HORIZON, Outcome},
};

/// How often farms are drawn anew for an interval.
const DRAWS: usize = 1000;

/// A figure with its 95 % interval.
#[derive(Debug, Clone, Copy)]
pub struct Figure {
    pub at: f64,
    pub low: f64,
    pub high: f64,
}

/// One tenth of the scale of chances.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tenth {
    /// Farms whose leading cause had such a chance.
    pub farms: usize,
    /// The mean of those chances.
    pub said: f64,
    /// The share in which it was right.
    pub was: f64,
}

/// The share of farms of which something holds.
pub fn share(all: &[&Outcome], holds: impl Fn(&Outcome) -> bool) -> Figure {
    let n = all.iter().filter(|o| holds(o)).count();
    let (low, high) = wilson(n as u32, all.len() as u32, 0.95).unwrap_or((0.0, 1.0));
    Figure { at: n as f64 / all.len().max(1) as f64, low, high }
}

/// A statistic of the farms, with its interval.
pub fn drawn(all: &[&Outcome], of: impl Fn(&[&Outcome]) -> f64) -> Figure {
    let mut dice = Dice::new(1, 1);
    let mut found: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let again: Vec<&Outcome> = (0..all.len()).map(|_| dice.one(all)).collect();
            of(&again)
        })
        .collect();
    found.sort_by(f64::total_cmp);
    Figure { at: of(all), low: found[DRAWS / 40], high: found[DRAWS - 1 - DRAWS / 40] }
}

/// The mean over farms.
pub fn mean(all: &[&Outcome], of: impl Fn(&Outcome) -> f64) -> f64 {
    all.iter().map(|o| of(o)).sum::<f64>() / all.len().max(1) as f64
}

/// Days to the right answer, the horizon where it never came.
pub fn days(outcome: &Outcome) -> f64 {
    outcome.days.unwrap_or(HORIZON) as f64
}

/// The leading cause's chance against how often it was right, by tenths.
pub fn reliability(all: &[&Outcome]) -> [Tenth; 10] {
    let mut tenths = [Tenth::default(); 10];
    for o in all.iter().filter(|o| o.ranked) {
        let t = &mut tenths[((o.chance * 10.0) as usize).min(9)];
        t.farms += 1;
        t.said += o.chance;
        t.was += f64::from(o.right);
    }
    for t in &mut tenths {
        t.said /= t.farms.max(1) as f64;
        t.was /= t.farms.max(1) as f64;
    }
    tenths
}

/// The expected calibration error: the mean gap between said and was, each tenth by its farms.
pub fn calibration_error(all: &[&Outcome]) -> f64 {
    let tenths = reliability(all);
    let ranked: usize = tenths.iter().map(|t| t.farms).sum();
    tenths.iter().map(|t| t.farms as f64 * (t.said - t.was).abs()).sum::<f64>() / ranked.max(1) as f64
}
