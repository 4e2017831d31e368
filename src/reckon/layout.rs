//! Draws by lot which plots of a trial get which treatment.
//!
//! Comes in: how many treatments, how many plots of each, and a seed; how long the ground is and what is to be
//! left bare between plots. Goes out: the treatment of every plot, in order along the ground, and from where to
//! where each lies. The same seed draws the same layout on any machine. It knows nothing of what grows there.
//!
//! The plots are drawn in blocks that lie side by side, each with one plot of every treatment, so that a
//! wet end or a shady end counts for all of them alike (R. A. Fisher, *The Design of Experiments*, 1935,
//! chapter IV: randomised blocks).

use rand_chacha::{
    ChaCha8Rng,
    rand_core::{Rng, SeedableRng},
};

/// The most plots that are drawn.
pub const MOST: usize = 400;

/// The treatment, from 0, of each plot in turn: `blocks` blocks of one plot of each of `arms` treatments.
/// Empty if there are none, or more than [`MOST`] plots.
pub fn blocks(arms: usize, blocks: usize, seed: u64) -> Vec<usize> {
    if arms.checked_mul(blocks).is_none_or(|plots| plots > MOST) {
        return Vec::new();
    }
    let mut draw = ChaCha8Rng::seed_from_u64(seed);
    let mut out = Vec::with_capacity(arms * blocks);
    for _ in 0..blocks {
        let mut block: Vec<usize> = (0..arms).collect();
        // Fisher and Yates's shuffle, written out so that no library's newer one draws another layout.
        for i in (1..block.len()).rev() {
            block.swap(i, below(&mut draw, i + 1));
        }
        out.extend(block);
    }
    out
}

/// A number below `n`, each as likely: what would favour the first few is drawn again.
fn below(draw: &mut ChaCha8Rng, n: usize) -> usize {
    let n = u64::try_from(n.max(1)).unwrap_or(1);
    let fair = u64::MAX - u64::MAX % n;
    loop {
        let drawn = draw.next_u64();
        if drawn < fair {
            return usize::try_from(drawn % n).unwrap_or(0);
        }
    }
}

/// From where to where each plot lies, in the unit of `long`, counted from one end: plots of one length side by side, with
/// what is left bare after each. What is bare after the last plot is taken off as well. `None` where nothing is left
/// for the plots.
pub fn pegs(long: f64, bare_after: &[f64]) -> Option<Vec<(f64, f64)>> {
    let plots = u32::try_from(bare_after.len()).ok().filter(|n| *n > 0)?;
    let along = (long - bare_after.iter().sum::<f64>()) / f64::from(plots);
    if !along.is_finite() || along <= 0.0 {
        return None;
    }
    let mut from = 0.0;
    let lay = |bare: &f64| {
        let plot = (from, from + along);
        from = plot.1 + bare;
        plot
    };
    Some(bare_after.iter().map(lay).collect())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;

    #[test]
    fn every_block_has_each_treatment_once() {
        for seed in 0..200 {
            let drawn = blocks(4, 5, seed);
            assert_eq!(drawn.len(), 20);
            for block in drawn.chunks(4) {
                let mut block = block.to_vec();
                block.sort_unstable();
                assert_eq!(block, [0, 1, 2, 3]);
            }
        }
    }

    #[test]
    fn the_same_seed_draws_the_same_and_another_mostly_another() {
        assert_eq!(blocks(4, 4, 7), blocks(4, 4, 7));
        let distinct: std::collections::BTreeSet<_> = (0..100).map(|s| blocks(4, 4, s)).collect();
        assert!(distinct.len() > 95);
    }

    /// Each of the 24 orders of a block ought to come 1,000 times in 24,000; chi-square with 23 degrees of
    /// freedom is over 49.7 once in 1,000 (from memory, as in printed tables).
    #[test]
    fn every_order_of_a_block_is_as_likely() {
        let mut seen: BTreeMap<Vec<usize>, u32> = BTreeMap::new();
        for seed in 0..6_000 {
            for block in blocks(4, 4, seed).chunks(4) {
                *seen.entry(block.to_vec()).or_default() += 1;
            }
        }
        assert_eq!(seen.len(), 24);
        let chi: f64 = seen.values().map(|n| (f64::from(*n) - 1000.0).powi(2) / 1000.0).sum();
        assert!(chi < 49.7, "{chi}");
    }

    #[test]
    fn too_much_is_not_drawn() {
        assert!(blocks(0, 4, 1).is_empty());
        assert!(blocks(4, 0, 1).is_empty());
        assert!(blocks(usize::MAX, 2, 1).is_empty());
    }

    #[test]
    fn bare_strips_are_taken_off_the_length() {
        // 10 m, four plots, 1 m after the second: 9 m are shared out.
        let laid = pegs(10.0, &[0.0, 1.0, 0.0, 0.0]).expect("there is room");
        assert_eq!(laid, [(0.0, 2.25), (2.25, 4.5), (5.5, 7.75), (7.75, 10.0)]);
        assert_eq!(pegs(3.0, &[1.0, 1.0, 1.0]), None);
        assert_eq!(pegs(3.0, &[]), None);
    }

    proptest! {
        #[test]
        fn plots_are_alike_lie_apart_and_fill_the_ground(
            long in 0.1f64..100.0,
            bare in proptest::collection::vec(0.0f64..3.0, 1..40),
        ) {
            let all: f64 = bare.iter().sum();
            match pegs(long, &bare) {
                None => prop_assert!(all >= long - 1e-9),
                Some(laid) => {
                    let along = laid[0].1 - laid[0].0;
                    for (n, plot) in laid.iter().enumerate() {
                        prop_assert!((plot.1 - plot.0 - along).abs() < 1e-9);
                        let next = laid.get(n + 1).map_or(long, |next| next.0);
                        prop_assert!((next - plot.1 - bare[n]).abs() < 1e-9);
                    }
                }
            }
        }
    }
}
