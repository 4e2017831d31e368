//! Where a rising function crosses zero.
//!
//! Comes in: a monotone function and two ends. Goes out: the crossing, as near as floats allow.
//! It knows nothing of what the function means.

/// The crossing of a function that rises from at most 0 at `low` to at least 0 at `high`, by halving
/// until the two ends are neighbours. If it does not cross between them, the nearer end.
pub fn rising(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    if f(low) >= 0.0 {
        return low;
    }
    if f(high) <= 0.0 {
        return high;
    }
    // A float has 64 bits, so this many halvings always end.
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if f(middle) < 0.0 { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_found_to_the_last_place() {
        assert!((rising(0.0, 2.0, |x| x * x - 2.0) - 2f64.sqrt()).abs() < 1e-15);
        assert_eq!(rising(3.0, 4.0, |x| x), 3.0);
    }
}
