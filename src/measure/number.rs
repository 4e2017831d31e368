//! Numbers that may be a range: reading them, and arithmetic that keeps the range.
//!
//! Comes in: text such as `2 1/2`, `10-12`, `1,200`; floats. Goes out: ranges that can be hashed and
//! ordered. No units here.

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
        Self::new(n, n)
    }

    /// A range; the bounds are put in order. Not-a-number becomes 0, so that no comparison is undefined,
    /// and minus zero becomes zero, so that equal numbers hash alike.
    pub fn new(a: f64, b: f64) -> Self {
        let clean = |n: f64| if n.is_nan() || n == 0.0 { 0.0 } else { n };
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

    /// The middle of the range.
    pub fn middle(self) -> f64 {
        f64::midpoint(self.low(), self.high())
    }

    /// Widened on both sides by `share` of its size, as `about` widens (0.2 for a fifth).
    pub fn about(self, share: f64) -> Self {
        let by = |n: f64| n.abs() * share;
        Self::new(self.low() - by(self.low()), self.high() + by(self.high()))
    }

    /// Both bounds through `f`, put in order again.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        Self::new(f(self.low()), f(self.high()))
    }

    /// Least and greatest of `f` over the four corners; right for sums, products and quotients.
    fn corners(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let all = [
            f(self.low(), other.low()),
            f(self.low(), other.high()),
            f(self.high(), other.low()),
            f(self.high(), other.high()),
        ];
        let low = all.iter().copied().fold(f64::INFINITY, f64::min);
        let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Self::new(low, high)
    }

    /// Sum.
    pub fn plus(self, other: Self) -> Self {
        Self::new(self.low() + other.low(), self.high() + other.high())
    }

    /// Difference.
    pub fn minus(self, other: Self) -> Self {
        Self::new(self.low() - other.high(), self.high() - other.low())
    }

    /// Product.
    pub fn times(self, other: Self) -> Self {
        self.corners(other, |a, b| a * b)
    }

    /// Quotient; `None` where the divisor may be zero.
    pub fn over(self, other: Self) -> Option<Self> {
        if other.low() <= 0.0 && other.high() >= 0.0 {
            return None;
        }
        Some(self.corners(other, |a, b| a / b))
    }
}

/// Whether two floats are the same number but for rounding in the last places.
pub fn nearly(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Reads one number without a sign at the start of `text`: `12`, `1,200`, `2.5`, `.5`, `1/2`,
/// `2 1/2`, `2½`. Gives its value and how many bytes it takes; `None` if no number starts here.
pub fn single(text: &str) -> Option<(f64, usize)> {
    if let Some((value, len)) = vulgar(text) {
        return Some((value, len));
    }
    let (whole, len) = decimal(text)?;
    let rest = &text[len..];
    if let Some(below) = rest.strip_prefix('/') {
        // `1/2`, but not a date such as `3/4/26`.
        if let Some((den, den_len)) = digits(below)
            && den != 0.0
            && !below[den_len..].starts_with('/')
        {
            return Some((whole / den, len + 1 + den_len));
        }
    }
    if let Some((part, part_len)) = vulgar(rest) {
        return Some((whole + part, len + part_len));
    }
    let gap = rest.len() - rest.trim_start_matches(' ').len();
    if gap > 0 && whole.fract() == 0.0 {
        let after = &rest[gap..];
        if let Some((part, part_len)) = vulgar(after) {
            return Some((whole + part, len + gap + part_len));
        }
        if let Some((num, num_len)) = digits(after)
            && let Some(below) = after[num_len..].strip_prefix('/')
            && let Some((den, den_len)) = digits(below)
            && den > num
            && !below[den_len..].starts_with('/')
        {
            return Some((whole + num / den, len + gap + num_len + 1 + den_len));
        }
    }
    Some((whole, len))
}

/// Reads a number or a range at the start of `text`, signs included. A `-` (or a dash that looks like
/// one) directly between digits is a range, anywhere else a minus.
pub fn read(text: &str) -> Option<(Range, usize)> {
    let (sign, sign_len) = match text.chars().next() {
        Some(c @ ('-' | '\u{2010}'..='\u{2015}' | '\u{2212}')) => (-1.0, c.len_utf8()),
        _ => (1.0, 0),
    };
    let (first, len) = single(&text[sign_len..])?;
    let (first, len) = (first * sign, len + sign_len);
    let rest = &text[len..];
    if let Some(c @ ('-' | '\u{2010}'..='\u{2015}' | '\u{2212}')) = rest.chars().next()
        && let Some((second, second_len)) = single(&rest[c.len_utf8()..])
    {
        return Some((Range::new(first, second), len + c.len_utf8() + second_len));
    }
    Some((Range::exact(first), len))
}

fn vulgar(text: &str) -> Option<(f64, usize)> {
    let c = text.chars().next()?;
    let value = match c {
        '½' => 0.5,
        '¼' => 0.25,
        '¾' => 0.75,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '⅛' => 0.125,
        '⅜' => 0.375,
        '⅝' => 0.625,
        '⅞' => 0.875,
        _ => return None,
    };
    Some((value, c.len_utf8()))
}

fn digits(text: &str) -> Option<(f64, usize)> {
    let len = text.bytes().take_while(u8::is_ascii_digit).count();
    let value = text[..len].parse().ok()?;
    Some((value, len))
}

/// Digits with thousands separated by commas, and a decimal part.
fn decimal(text: &str) -> Option<(f64, usize)> {
    let bytes = text.as_bytes();
    let mut plain = String::new();
    let mut at = bytes.iter().take_while(|b| b.is_ascii_digit()).count();
    plain.push_str(&text[..at]);
    if (1..=3).contains(&at) {
        while bytes.get(at) == Some(&b',')
            && bytes[at + 1..].iter().take_while(|b| b.is_ascii_digit()).count() == 3
        {
            plain.push_str(&text[at + 1..at + 4]);
            at += 4;
        }
    }
    if bytes.get(at) == Some(&b'.') {
        let part = bytes[at + 1..].iter().take_while(|b| b.is_ascii_digit()).count();
        if part > 0 {
            plain.push_str(&text[at..=at + part]);
            at += 1 + part;
        }
    }
    let value: f64 = plain.parse().ok()?;
    value.is_finite().then_some((value, at))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Option<(f64, f64, usize)> {
        read(text).map(|(r, n)| (r.low(), r.high(), n))
    }

    #[test]
    fn numbers_read_as_people_write_them() {
        assert_eq!(one("12 l"), Some((12.0, 12.0, 2)));
        assert_eq!(one("2 1/2 lb"), Some((2.5, 2.5, 5)));
        assert_eq!(one("1/2 in"), Some((0.5, 0.5, 3)));
        assert_eq!(one("2½"), Some((2.5, 2.5, 3)));
        assert_eq!(one("1,200 kg"), Some((1200.0, 1200.0, 5)));
        assert_eq!(one("8, 9, 7.5"), Some((8.0, 8.0, 1)));
        assert_eq!(one("10-12 in"), Some((10.0, 12.0, 5)));
        assert_eq!(one("10–12"), Some((10.0, 12.0, 7)));
        assert_eq!(one("-1 C"), Some((-1.0, -1.0, 2)));
        assert_eq!(one("−1"), Some((-1.0, -1.0, 4)));
        assert_eq!(one(".5"), Some((0.5, 0.5, 2)));
        assert_eq!(one("3/4/26"), Some((3.0, 3.0, 1)));
        assert_eq!(one("8 5-gal"), Some((8.0, 8.0, 1)));
        assert_eq!(one("straw"), None);
        assert_eq!(one("-"), None);
    }

    #[test]
    fn arithmetic_keeps_the_whole_range() {
        let a = Range::new(2.0, 3.0);
        let b = Range::new(-1.0, 4.0);
        assert_eq!(a.times(b), Range::new(-3.0, 12.0));
        assert_eq!(a.minus(b), Range::new(-2.0, 4.0));
        assert_eq!(a.over(b), None);
        assert_eq!(Range::exact(6.0).about(0.2), Range::new(4.8, 7.2));
    }
}
