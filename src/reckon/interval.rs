//! Amounts and shares known only to lie between two bounds, the upper of which may be unknown.
//!
//! Comes in: floats, not negative. Goes out: bounds that hold whatever the true values are. It knows
//! no units; the caller keeps dimensions apart.

use crate::measure::number::Range;

/// A number between `low` and `high`, both included; `high` is infinite where nothing bounds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Least it can be, never negative.
    pub low: f64,
    /// Greatest it can be.
    pub high: f64,
}

impl Interval {
    /// Nothing.
    pub const NONE: Self = Self { low: 0.0, high: 0.0 };
    /// All of it, as a share.
    pub const WHOLE: Self = Self { low: 1.0, high: 1.0 };
    /// Some share, nobody knows which.
    pub const ANY_SHARE: Self = Self { low: 0.0, high: 1.0 };
    /// Some amount, nobody knows which.
    pub const UNKNOWN: Self = Self { low: 0.0, high: f64::INFINITY };

    /// Bounds in order, nothing negative and nothing that is not a number.
    pub fn new(low: f64, high: f64) -> Self {
        let clean = |n: f64| if n.is_nan() { 0.0 } else { n.max(0.0) };
        let (low, high) = (clean(low), clean(high));
        Self { low: low.min(high).min(f64::MAX), high: high.max(low) }
    }

    /// The bounds of a range.
    pub fn of(range: Range) -> Self {
        Self::new(range.low(), range.high())
    }

    /// As a range; `None` while the upper bound is unknown.
    pub fn range(self) -> Option<Range> {
        self.high.is_finite().then(|| Range::new(self.low, self.high))
    }

    /// Whether it is one sure number.
    pub fn is_exact(self) -> bool {
        (self.high - self.low).abs() <= f64::EPSILON * self.high.abs()
    }

    /// Sum.
    pub fn plus(self, other: Self) -> Self {
        Self::new(self.low + other.low, self.high + other.high)
    }

    /// What is left after taking `other` away, never less than nothing.
    pub fn minus(self, other: Self) -> Self {
        Self::new(self.low - other.high, self.high - other.low)
    }

    /// Product. Nothing times the unknown is nothing.
    pub fn times(self, other: Self) -> Self {
        let mul = |a: f64, b: f64| if a == 0.0 || b == 0.0 { 0.0 } else { a * b };
        Self::new(mul(self.low, other.low), mul(self.high, other.high))
    }

    /// No more than `most`.
    pub fn capped(self, most: f64) -> Self {
        Self::new(self.low.min(most), self.high.min(most))
    }

    /// The same with its least taken away, where it may not have happened yet.
    pub fn perhaps(self) -> Self {
        Self { low: 0.0, high: self.high }
    }
}

/// The share of a source after `added` is mixed into `there`, when its share in what is added is
/// `new` and its share in what was there is `old`. Both parts are taken to be well mixed.
pub fn blend(there: Interval, old: Interval, added: Interval, new: Interval) -> Interval {
    // The weight of the added part grows with the added amount and falls with the other.
    let weight = |part: f64, other: f64| match (part, other) {
        (_, o) if o <= 0.0 => 1.0,
        (p, o) if p.is_infinite() => {
            if o.is_infinite() {
                0.0
            } else {
                1.0
            }
        }
        (p, o) => p / (p + o),
    };
    let least = if there.high <= 0.0 { 1.0 } else { weight(added.low, there.high) };
    let most = if added.high.is_infinite() { 1.0 } else { weight(added.high, there.low) };
    let at = |w: f64, o: f64, n: f64| o + w * (n - o);
    Interval::new(
        at(least, old.low, new.low).min(at(most, old.low, new.low)),
        at(least, old.high, new.high).max(at(most, old.high, new.high)),
    )
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn exact(n: f64) -> Interval {
        Interval::new(n, n)
    }

    #[test]
    fn two_to_one_is_two_thirds() {
        let s = blend(exact(1.0), exact(0.0), exact(2.0), exact(1.0));
        assert!((s.low - 2.0 / 3.0).abs() < 1e-15 && s.is_exact());
    }

    #[test]
    fn something_unknown_added_to_nothing_is_all_there_is() {
        assert_eq!(
            blend(Interval::NONE, Interval::NONE, Interval::UNKNOWN, Interval::WHOLE),
            Interval::WHOLE
        );
    }

    #[test]
    fn something_known_added_to_the_unknown_is_some_share() {
        let s = blend(Interval::UNKNOWN, Interval::NONE, exact(2.0), Interval::WHOLE);
        assert_eq!(s, Interval::ANY_SHARE);
    }

    proptest! {
        #[test]
        fn a_blend_of_any_values_within_the_bounds_lies_within_its_bounds(
            there in (0f64..10.0, 0f64..5.0), old in (0f64..0.5, 0f64..0.5),
            added in (0.001f64..10.0, 0f64..5.0), new in (0f64..0.5, 0f64..0.5),
            pick in (0f64..1.0, 0f64..1.0, 0f64..1.0, 0f64..1.0),
        ) {
            let wide = |(l, w): (f64, f64)| Interval::new(l, l + w);
            let within = |(l, w): (f64, f64), p: f64| l + p * w;
            let bounds = blend(wide(there), wide(old), wide(added), wide(new));
            let (b, u, q, t) =
                (within(there, pick.0), within(old, pick.1), within(added, pick.2), within(new, pick.3));
            let truth = (b * u + q * t) / (b + q);
            prop_assert!(bounds.low <= truth + 1e-12 && truth <= bounds.high + 1e-12);
        }
    }
}
