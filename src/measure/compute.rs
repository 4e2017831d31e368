//! Arithmetic and comparison of values: numbers, amounts, days.
//!
//! Comes in: two values. Goes out: a value, or whether a comparison surely, perhaps or never holds.
//! Unlike things have no sum and no order; that is `None`, never a guess.

use super::{
    date::Days,
    number::{Range, nearly},
    unit::Dimension,
    value::{Quantity, Value},
};

/// How sure a comparison is, over the whole ranges of both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sure {
    /// For no value of the ranges.
    Never,
    /// For some.
    Perhaps,
    /// For all.
    Always,
}

/// What a value measures, for comparison: two values compare only within one scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Scale {
    Number,
    Day,
    Clock,
    Amount(Dimension),
}

fn day_number(day: chrono::NaiveDate) -> f64 {
    f64::from(chrono::Datelike::num_days_from_ce(&day))
}

fn scaled(value: &Value) -> Option<(Range, Scale)> {
    Some(match value {
        Value::Number(r) => (*r, Scale::Number),
        // A share is a number with a percent sign; they compare.
        Value::Quantity(q) if q.dimension == Dimension::Share => (q.size, Scale::Number),
        Value::Quantity(q) if q.dimension == Dimension::Acidity => (q.size, Scale::Number),
        Value::Quantity(q) => (q.size, Scale::Amount(q.dimension)),
        Value::Days(d) => (Range::new(day_number(d.first), day_number(d.last)), Scale::Day),
        Value::Clock(m) => (Range::exact(f64::from(*m)), Scale::Clock),
        Value::Thing(_) | Value::Word(_) | Value::Entry(_) => return None,
    })
}

fn pair(a: &Value, b: &Value) -> Option<(Range, Range)> {
    let ((a, x), (b, y)) = (scaled(a)?, scaled(b)?);
    (x == y).then_some((a, b))
}

/// Whether `a` comes before `b`: less, earlier. Equal within rounding is not less.
pub fn less(a: &Value, b: &Value) -> Option<Sure> {
    let (a, b) = pair(a, b)?;
    let below = |x: f64, y: f64| x < y && !nearly(x, y);
    Some(sure(below(a.high(), b.low()), below(a.low(), b.high())))
}

/// Whether `a` is at most `b`.
pub fn at_most(a: &Value, b: &Value) -> Option<Sure> {
    let (a, b) = pair(a, b)?;
    let upto = |x: f64, y: f64| x <= y || nearly(x, y);
    Some(sure(upto(a.high(), b.low()), upto(a.low(), b.high())))
}

/// Whether two values are the same: words and things by their spelling, the rest by size.
pub fn same(a: &Value, b: &Value) -> Option<Sure> {
    if let Some((a, b)) = pair(a, b) {
        let always = a.is_exact() && b.is_exact() && nearly(a.low(), b.low());
        let upto = |x: f64, y: f64| x <= y || nearly(x, y);
        return Some(sure(always, upto(a.low(), b.high()) && upto(b.low(), a.high())));
    }
    match (a, b) {
        (Value::Word(x), Value::Word(y)) => Some(sure(x == y, x == y)),
        (Value::Thing(x), Value::Thing(y)) => Some(sure(x == y, x == y)),
        (Value::Entry(x), Value::Entry(y)) => Some(sure(x == y, x == y)),
        (Value::Thing(t), Value::Word(w)) | (Value::Word(w), Value::Thing(t)) => {
            Some(sure(t.name == *w, t.name == *w))
        }
        _ => None,
    }
}

fn sure(always: bool, perhaps: bool) -> Sure {
    match (always, perhaps) {
        (true, _) => Sure::Always,
        (false, true) => Sure::Perhaps,
        (false, false) => Sure::Never,
    }
}

fn amount(size: Range, dimension: Dimension) -> Value {
    Value::Quantity(Quantity { size, dimension })
}

/// Sum: numbers, amounts of one dimension, a day and whole days of duration, a temperature and a
/// difference.
pub fn add(a: &Value, b: &Value) -> Option<Value> {
    use Dimension::{Duration, Temperature, TemperatureDifference};
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => Some(Value::Number(x.plus(*y))),
        (Value::Days(d), Value::Quantity(q)) | (Value::Quantity(q), Value::Days(d))
            if q.dimension == Duration =>
        {
            Some(Value::Days(moved(*d, q.size)))
        }
        (Value::Quantity(x), Value::Quantity(y)) => match (x.dimension, y.dimension) {
            (Temperature, Temperature) => None,
            (Temperature, TemperatureDifference) | (TemperatureDifference, Temperature) => {
                Some(amount(x.size.plus(y.size), Temperature))
            }
            (p, q) if p == q => Some(amount(x.size.plus(y.size), p)),
            _ => None,
        },
        _ => None,
    }
}

/// Difference: as for sums; two days give a duration, two temperatures a temperature difference.
pub fn sub(a: &Value, b: &Value) -> Option<Value> {
    use Dimension::{Duration, Temperature, TemperatureDifference};
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => Some(Value::Number(x.minus(*y))),
        (Value::Days(d), Value::Quantity(q)) if q.dimension == Duration => {
            Some(Value::Days(moved(*d, Range::exact(0.0).minus(q.size))))
        }
        (Value::Days(_), Value::Days(_)) => {
            let (x, y) = pair(a, b)?;
            Some(amount(x.minus(y), Duration))
        }
        (Value::Quantity(x), Value::Quantity(y)) => match (x.dimension, y.dimension) {
            (Temperature, Temperature) => Some(amount(x.size.minus(y.size), TemperatureDifference)),
            (Temperature, TemperatureDifference) => Some(amount(x.size.minus(y.size), Temperature)),
            (p, q) if p == q => Some(amount(x.size.minus(y.size), p)),
            _ => None,
        },
        _ => None,
    }
}

/// Product: numbers and shares with anything that can be scaled; two lengths give an area, an area
/// and a length a volume, a volume and a density a mass.
pub fn mul(a: &Value, b: &Value) -> Option<Value> {
    use Dimension::{Area, Density, Length, Mass, MassPerArea, Temperature, Volume};
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => Some(Value::Number(x.times(*y))),
        (Value::Number(n), Value::Quantity(q)) | (Value::Quantity(q), Value::Number(n)) => {
            (q.dimension != Temperature).then(|| amount(n.times(q.size), q.dimension))
        }
        (Value::Quantity(x), Value::Quantity(y)) => {
            let dimension = match (x.dimension, y.dimension) {
                (Length, Length) => Area,
                (Area, Length) | (Length, Area) => Volume,
                (Volume, Density) | (Density, Volume) => Mass,
                (Area, MassPerArea) | (MassPerArea, Area) => Mass,
                (Dimension::Share, d) | (d, Dimension::Share) if d != Temperature => d,
                _ => return None,
            };
            Some(amount(x.size.times(y.size), dimension))
        }
        _ => None,
    }
}

/// Quotient: by a number or a share; of two amounts of one dimension, a number; and back from the
/// products of [`mul`]. `None` where the divisor may be zero.
pub fn div(a: &Value, b: &Value) -> Option<Value> {
    use Dimension::{Area, Density, Length, Mass, MassPerArea, Temperature, Volume};
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => x.over(*y).map(Value::Number),
        (Value::Quantity(q), Value::Number(n)) if q.dimension != Temperature => {
            q.size.over(*n).map(|s| amount(s, q.dimension))
        }
        (Value::Quantity(x), Value::Quantity(y)) => {
            let size = x.size.over(y.size)?;
            let dimension = match (x.dimension, y.dimension) {
                (Temperature, _) => return None,
                (p, q) if p == q => return Some(Value::Number(size)),
                (Area, Length) => Length,
                (Volume, Area) => Length,
                (Volume, Length) => Area,
                (Mass, Density) => Volume,
                (Mass, Volume) => Density,
                (Mass, Area) => MassPerArea,
                (d, Dimension::Share) => d,
                _ => return None,
            };
            Some(amount(size, dimension))
        }
        _ => None,
    }
}

/// A number, both ends of its range through `how`; what is whole but for rounding in the last places stays.
fn whole(a: &Value, how: fn(f64) -> f64) -> Option<Value> {
    let one = |n: f64| if nearly(n, n.round()) { n.round() } else { how(n) };
    match a {
        Value::Number(r) => Some(Value::Number(r.map(one))),
        _ => None,
    }
}

/// The next whole number; bare numbers only, since an amount is whole in one unit and not in another.
pub fn rounded_up(a: &Value) -> Option<Value> {
    whole(a, f64::ceil)
}

/// The whole number before; bare numbers only.
pub fn rounded_down(a: &Value) -> Option<Value> {
    whole(a, f64::floor)
}

/// The nearest whole number, halves away from nothing; bare numbers only.
pub fn rounded(a: &Value) -> Option<Value> {
    whole(a, f64::round)
}

/// Both ends of two things of one sort through `pick`.
fn picked(a: &Value, b: &Value, pick: fn(f64, f64) -> f64) -> Option<Value> {
    let ends = |x: Range, y: Range| Range::new(pick(x.low(), y.low()), pick(x.high(), y.high()));
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => Some(Value::Number(ends(*x, *y))),
        (Value::Quantity(x), Value::Quantity(y)) if x.dimension == y.dimension => {
            Some(amount(ends(x.size, y.size), x.dimension))
        }
        _ => None,
    }
}

/// The greater of two numbers, or of two amounts of one dimension; of ranges, the greater of each end.
pub fn greater(a: &Value, b: &Value) -> Option<Value> {
    picked(a, b, f64::max)
}

/// The lesser of two numbers, or of two amounts of one dimension; of ranges, the lesser of each end.
pub fn lesser(a: &Value, b: &Value) -> Option<Value> {
    picked(a, b, f64::min)
}

/// One end of a number's, an amount's or a day's range, as something sure.
fn end(a: &Value, of: fn(Range) -> f64, day: fn(Days) -> chrono::NaiveDate) -> Option<Value> {
    match a {
        Value::Number(r) => Some(Value::Number(Range::exact(of(*r)))),
        Value::Quantity(q) => Some(amount(Range::exact(of(q.size)), q.dimension)),
        Value::Days(d) => Some(Value::Days(Days::on(day(*d)))),
        _ => None,
    }
}

/// The decimal logarithm of a bare number; `None` where it may be nothing or less.
pub fn logarithm(a: &Value) -> Option<Value> {
    match a {
        Value::Number(r) if r.low() > 0.0 => Some(Value::Number(r.map(f64::log10))),
        _ => None,
    }
}

/// The least a range may be.
pub fn low_end(a: &Value) -> Option<Value> {
    end(a, Range::low, |d| d.first)
}

/// The most a range may be.
pub fn high_end(a: &Value) -> Option<Value> {
    end(a, Range::high, |d| d.last)
}

/// A span moved by a duration in days. A part of a day counts as reaching into the next.
fn moved(days: Days, by: Range) -> Days {
    let whole = |n: f64| {
        let rounded = n.round();
        let n = if nearly(n, rounded) { rounded } else { n.ceil() };
        // Clamped well inside the calendar, so that the cast is exact.
        n.clamp(-1e8, 1e8) as i64
    };
    Days {
        first: super::date::shift(days.first, whole(by.low())),
        last: super::date::shift(days.last, whole(by.high())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::unit::quantity;
    use chrono::NaiveDate;

    fn day(m: u32, d: u32) -> Value {
        Value::Days(Days::on(NaiveDate::from_ymd_opt(2026, m, d).expect("a day")))
    }

    fn q(n: f64, unit: &str) -> Value {
        quantity(n, unit).expect("a unit")
    }

    #[test]
    fn a_comparison_holds_only_when_it_holds_for_the_whole_range() {
        let span = Value::Days(Days::month(2026, 5).expect("May"));
        assert_eq!(less(&day(4, 30), &span), Some(Sure::Always));
        assert_eq!(less(&day(5, 10), &span), Some(Sure::Perhaps));
        assert_eq!(less(&day(6, 1), &span), Some(Sure::Never));
        assert_eq!(less(&q(1.0, "ft"), &q(1.0, "lb")), None);
    }

    #[test]
    fn the_same_amount_in_two_units_is_the_same_amount() {
        assert_eq!(same(&q(3.0, "ft"), &q(36.0, "in")), Some(Sure::Always));
        assert_eq!(at_most(&q(1.0, "yd3"), &q(27.0, "ft3")), Some(Sure::Always));
        assert_eq!(less(&q(12.0, "in"), &q(1.0, "ft")), Some(Sure::Never));
    }

    #[test]
    fn only_bare_numbers_are_rounded_and_what_is_whole_stays() {
        let n = |low, high| Value::Number(Range::new(low, high));
        assert_eq!(rounded_up(&n(3.2, 3.2)), Some(n(4.0, 4.0)));
        assert_eq!(rounded_up(&n(0.3 / 0.1, 7.1)), Some(n(3.0, 8.0)));
        assert_eq!(rounded_down(&n(3.2, 4.0)), Some(n(3.0, 4.0)));
        assert_eq!(rounded(&n(2.5, 3.4)), Some(n(3.0, 3.0)));
        assert_eq!(rounded_up(&q(3.2, "lb")), None);
    }

    #[test]
    fn of_two_ranges_each_end_is_picked_and_an_end_is_sure() {
        let n = |low, high| Value::Number(Range::new(low, high));
        assert_eq!(greater(&n(1.0, 5.0), &n(2.0, 3.0)), Some(n(2.0, 5.0)));
        assert_eq!(lesser(&n(1.0, 5.0), &n(2.0, 3.0)), Some(n(1.0, 3.0)));
        assert_eq!(greater(&q(1.0, "ft"), &q(1.0, "lb")), None);
        assert_eq!(low_end(&n(1.0, 5.0)), Some(n(1.0, 1.0)));
        assert_eq!(high_end(&Value::word("x")), None);
        assert_eq!(logarithm(&n(10.0, 100.0)), Some(n(1.0, 2.0)));
        assert_eq!(logarithm(&n(0.0, 100.0)), None);
    }

    #[test]
    fn days_and_durations_add_and_temperatures_do_not() {
        assert_eq!(add(&day(3, 20), &q(14.0, "days")), Some(day(4, 3)));
        assert_eq!(add(&day(3, 20), &q(2.0, "weeks")), Some(day(4, 3)));
        assert_eq!(sub(&day(4, 3), &day(3, 20)), Some(q(14.0, "days")));
        assert_eq!(add(&q(20.0, "C"), &q(20.0, "C")), None);
        assert_eq!(
            mul(&q(30.0, "ft"), &q(4.0, "ft")).map(|v| same(&v, &q(120.0, "ft2"))),
            Some(Some(Sure::Always))
        );
    }
}
