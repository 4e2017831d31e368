//! Numbers that may be a range, with arithmetic that keeps the range.
//!
//! Comes in: floats. Goes out: ranges that can be hashed and ordered. No units here.

use ordered_float::OrderedFloat;
use serde::Serialize;

/// A number known to lie between two bounds, both included; a sure number has equal bounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Range {
    /// Least it can be.
    pub low: OrderedFloat<f64>,
    /// Greatest it can be.
    pub high: OrderedFloat<f64>,
}

impl Range {
    /// A sure number.
    pub fn exact(n: f64) -> Self {
        Self { low: OrderedFloat(n), high: OrderedFloat(n) }
    }

    /// A range; the bounds are put in order. Not-a-number becomes 0, so that no comparison is undefined.
    pub fn new(a: f64, b: f64) -> Self {
        let clean = |n: f64| if n.is_nan() { 0.0 } else { n };
        let (a, b) = (clean(a), clean(b));
        Self { low: OrderedFloat(a.min(b)), high: OrderedFloat(a.max(b)) }
    }

    /// Least it can be, as a plain float.
    pub fn low(self) -> f64 {
        self.low.0
    }

    /// Greatest it can be, as a plain float.
    pub fn high(self) -> f64 {
        self.high.0
    }

    /// Whether it is one sure number.
    pub fn is_exact(self) -> bool {
        self.low == self.high
    }
}
