//! Seeded chance: the same seed and stream give the same throws on every machine.
//!
//! Comes in: a seed and the number of a stream, so that what one part throws does not move another. Goes
//! out: yes or no, picks, days and amounts. It touches no clock and no entropy of the machine.

use rand::{RngExt, SeedableRng, rngs::Xoshiro256PlusPlus, seq::SliceRandom};
use rand_distr::{Distribution, LogNormal, Normal, Poisson};

use super::figures::Lag;

/// A stream of throws.
#[derive(Debug, Clone)]
pub struct Dice(Xoshiro256PlusPlus);

impl Dice {
    /// The throws of a stream of a seed.
    pub fn new(seed: u64, stream: u64) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_mul(1_000_003).wrapping_add(stream)))
    }

    /// Yes, with this chance.
    pub fn yes(&mut self, chance: f64) -> bool {
        self.0.random::<f64>() < chance
    }

    /// A whole number from `least` to `most`, both in.
    pub fn whole(&mut self, least: i64, most: i64) -> i64 {
        self.0.random_range(least..=most.max(least))
    }

    /// A number from `least` up to `most`.
    pub fn between(&mut self, least: f64, most: f64) -> f64 {
        least + (most - least) * self.0.random::<f64>()
    }

    /// One of a list that is not empty.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.0.random_range(0..of.len())]
    }

    /// One of a list, each with its weight.
    pub fn weighed<T: Copy>(&mut self, of: &[(T, f64)]) -> T {
        let mut at = self.between(0.0, of.iter().map(|(_, w)| w).sum());
        for (thing, weight) in of {
            at -= weight;
            if at <= 0.0 {
                return *thing;
            }
        }
        of[of.len() - 1].0
    }

    /// Some of a list, so many at most, in any order.
    pub fn some<T: Copy>(&mut self, of: &[T], most: usize) -> Vec<T> {
        let mut all = of.to_vec();
        all.shuffle(&mut self.0);
        all.truncate(most);
        all
    }

    /// Normally spread about a mean.
    pub fn normal(&mut self, mean: f64, spread: f64) -> f64 {
        Normal::new(mean, spread).unwrap().sample(&mut self.0)
    }

    /// Spread about a middle so that the logarithm is normal.
    pub fn about(&mut self, middle: f64, spread: f64) -> f64 {
        LogNormal::new(middle.ln(), spread).unwrap().sample(&mut self.0)
    }

    /// How often something rare comes, of this mean.
    pub fn times(&mut self, mean: f64) -> i64 {
        Poisson::new(mean).unwrap().sample(&mut self.0) as i64
    }

    /// How many of `of` come true, each with this chance.
    pub fn out_of(&mut self, of: u32, chance: f64) -> u32 {
        (0..of).filter(|_| self.yes(chance)).count() as u32
    }

    /// A lag in days.
    pub fn lag(&mut self, lag: &Lag) -> i64 {
        self.about(lag.0, lag.1).clamp(lag.2, lag.3).round() as i64
    }
}

/// A chance moved by so much in log odds; never and always stay as they are.
pub fn moved(chance: f64, by: f64) -> f64 {
    if chance <= 0.0 || chance >= 1.0 {
        return chance;
    }
    let odds = (chance / (1.0 - chance)).ln() + by;
    1.0 / (1.0 + (-odds).exp())
}
