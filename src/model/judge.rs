//! What a rule's computations and comparisons come to, once their variables have values.
//!
//! Comes in: an expression or comparison, and the values of variables. Goes out: a value, or whether
//! it holds. It looks at no tuples; the arithmetic itself is `measure`'s.

use std::borrow::Cow;

use super::program::{Comparator, Comparison, Expr, Function, Term, VarId};
use crate::measure::{
    compute::{self, Sure},
    number::Range,
    unit::Dimension,
    value::{Quantity, Value},
};

/// The value of an expression; `None` if a variable has none or unlike things are put together.
pub fn value<'a>(expr: &'a Expr, of: &impl Fn(VarId) -> Option<&'a Value>) -> Option<Cow<'a, Value>> {
    let two = |a: &'a Expr, b: &'a Expr, f: fn(&Value, &Value) -> Option<Value>| {
        let (a, b) = (value(a, of)?, value(b, of)?);
        f(&a, &b).map(Cow::Owned)
    };
    match expr {
        Expr::Term(Term::Var(v)) => of(*v).map(Cow::Borrowed),
        Expr::Term(Term::Const(c)) => Some(Cow::Borrowed(c)),
        Expr::Term(Term::Any) => None,
        Expr::Add(a, b) => two(a, b, compute::add),
        Expr::Sub(a, b) => two(a, b, compute::sub),
        Expr::Mul(a, b) => two(a, b, compute::mul),
        Expr::Div(a, b) => two(a, b, compute::div),
        Expr::Call(function, sides) => {
            let values: Option<Vec<_>> = sides.iter().map(|side| value(side, of)).collect();
            called(*function, &values?.iter().map(Cow::as_ref).collect::<Vec<_>>()).map(Cow::Owned)
        }
    }
}

/// What a function comes to; `None` for sides it cannot be asked of.
pub fn called(function: Function, sides: &[&Value]) -> Option<Value> {
    match (function, sides) {
        (Function::RoundedUp, [a]) => compute::rounded_up(a),
        (Function::RoundedDown, [a]) => compute::rounded_down(a),
        (Function::Rounded, [a]) => compute::rounded(a),
        (Function::Greater, [a, b]) => compute::greater(a, b),
        (Function::Lesser, [a, b]) => compute::lesser(a, b),
        (Function::LowEnd, [a]) => compute::low_end(a),
        (Function::HighEnd, [a]) => compute::high_end(a),
        (Function::Logarithm, [a]) => compute::logarithm(a),
        _ => None,
    }
}

/// Whether a comparison holds: for the whole of both ranges, or with `may` for some of them. Unlike
/// things, and sides without a value, never hold.
pub fn holds<'a>(comparison: &'a Comparison, of: &impl Fn(VarId) -> Option<&'a Value>) -> bool {
    match how_sure(comparison, of) {
        Some(Sure::Always) => true,
        Some(Sure::Perhaps) => comparison.may,
        Some(Sure::Never) | None => false,
    }
}

fn how_sure<'a>(comparison: &'a Comparison, of: &impl Fn(VarId) -> Option<&'a Value>) -> Option<Sure> {
    let left = value(&comparison.left, of)?;
    let right = value(&comparison.right, of)?;
    let (left, right) = alike(&left, &right);
    let (left, right) = (&*left, &*right);
    // `a` within `span` after `b`: the difference lies between nothing and the span, ends in.
    let within = |a: &Value, b: &Value, span: &Value| -> Option<Sure> {
        let apart = compute::sub(a, b)?;
        Some(compute::at_most(&nothing(span)?, &apart)?.min(compute::at_most(&apart, span)?))
    };
    match &comparison.by {
        Comparator::Same => compute::same(left, right),
        Comparator::Different => compute::same(left, right).map(not),
        Comparator::Less => compute::less(left, right),
        Comparator::AtMost => compute::at_most(left, right),
        Comparator::More => compute::less(right, left),
        Comparator::AtLeast => compute::at_most(right, left),
        Comparator::WithinAfter(span) => within(left, right, &*value(span, of)?),
        Comparator::WithinBefore(span) => within(right, left, &*value(span, of)?),
        Comparator::WithinOf(span) => {
            let span = value(span, of)?;
            let apart = compute::sub(left, right)?;
            let back = compute::sub(right, left)?;
            Some(compute::at_most(&apart, &span)?.min(compute::at_most(&back, &span)?))
        }
        Comparator::MoreThanAfter(span) => compute::less(&*value(span, of)?, &compute::sub(left, right)?),
        Comparator::MoreThanBefore(span) => compute::less(&*value(span, of)?, &compute::sub(right, left)?),
    }
}

fn not(sure: Sure) -> Sure {
    match sure {
        Sure::Always => Sure::Never,
        Sure::Perhaps => Sure::Perhaps,
        Sure::Never => Sure::Always,
    }
}

/// The total of nothing is a bare 0, and nothing is nothing in every unit that starts at nothing: so a
/// bare 0 beside an amount is read as that amount's 0. Temperatures have no such 0.
fn alike<'a>(left: &'a Value, right: &'a Value) -> (Cow<'a, Value>, Cow<'a, Value>) {
    let is_nothing = |v: &Value| *v == Value::number(0.0);
    let like = |v: &Value| match v {
        Value::Quantity(q) if q.dimension != Dimension::Temperature => nothing(v).map(Cow::Owned),
        _ => None,
    };
    let new_left = if is_nothing(left) { like(right) } else { None };
    let new_right = if is_nothing(right) { like(left) } else { None };
    (new_left.unwrap_or(Cow::Borrowed(left)), new_right.unwrap_or(Cow::Borrowed(right)))
}

/// Nothing of what a value measures; `None` for what has no amounts.
pub fn nothing(like: &Value) -> Option<Value> {
    match like {
        Value::Number(_) => Some(Value::number(0.0)),
        Value::Quantity(q) => {
            Some(Value::Quantity(Quantity { size: Range::exact(0.0), dimension: q.dimension }))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use chrono::NaiveDate;

    use super::*;
    use crate::measure::date::Days;

    fn day(d: u32) -> Expr {
        Expr::Term(Term::Const(Value::Days(Days::on(NaiveDate::from_ymd_opt(2026, 5, d).expect("a day")))))
    }

    fn span(a: u32, b: u32) -> Expr {
        let on = |d| NaiveDate::from_ymd_opt(2026, 5, d).expect("a day");
        Expr::Term(Term::Const(Value::Days(Days::span(on(a), on(b)))))
    }

    fn days(n: f64) -> Expr {
        Expr::Term(Term::Const(Value::Quantity(Quantity {
            size: Range::exact(n),
            dimension: Dimension::Duration,
        })))
    }

    fn check(left: Expr, by: Comparator, right: Expr, may: bool) -> bool {
        holds(&Comparison { left, by, right, may }, &|_| None)
    }

    #[test]
    fn within_takes_both_ends_in() {
        let after = || Comparator::WithinAfter(days(3.0));
        assert!(check(day(10), after(), day(10), false));
        assert!(check(day(13), after(), day(10), false));
        assert!(!check(day(14), after(), day(10), false));
        assert!(!check(day(9), after(), day(10), false));
        assert!(check(day(9), Comparator::WithinBefore(days(3.0)), day(10), false));
        assert!(check(day(9), Comparator::WithinOf(days(1.0)), day(10), false));
        assert!(!check(day(8), Comparator::WithinOf(days(1.0)), day(10), false));
        assert!(check(day(14), Comparator::MoreThanAfter(days(3.0)), day(10), false));
        assert!(!check(day(13), Comparator::MoreThanAfter(days(3.0)), day(10), false));
        assert!(check(day(6), Comparator::MoreThanBefore(days(3.0)), day(10), false));
    }

    #[test]
    fn what_holds_for_part_of_a_span_holds_only_with_may() {
        assert!(!check(span(9, 15), Comparator::Less, day(12), false));
        assert!(check(span(9, 15), Comparator::Less, day(12), true));
        assert!(!check(span(12, 15), Comparator::Less, day(12), true));
        assert!(!check(span(9, 15), Comparator::WithinAfter(days(3.0)), day(10), false));
        assert!(check(span(9, 15), Comparator::WithinAfter(days(3.0)), day(10), true));
    }

    #[test]
    fn unlike_things_neither_are_the_same_nor_differ_nor_have_an_order() {
        let n = || Expr::Term(Term::Const(Value::number(1.0)));
        for by in [Comparator::Same, Comparator::Different, Comparator::Less, Comparator::AtLeast] {
            assert!(!check(day(1), by.clone(), n(), true));
            assert!(!check(days(1.0), by, day(1), true));
        }
    }

    #[test]
    fn the_bare_nought_of_an_empty_total_is_nought_of_any_amount() {
        let nought = Expr::Term(Term::Const(Value::number(0.0)));
        assert!(check(days(2.0), Comparator::More, nought.clone(), false));
        assert!(!check(days(0.0), Comparator::More, nought, false));
    }
}
