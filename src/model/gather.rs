//! The one value gathered from many: how many different, total, least, greatest.
//!
//! Comes in: the values of all facts that fit. Goes out: one value, the same whatever their order. It
//! looks at no tuples.

use std::cmp::Ordering;

use super::{
    program::{Atom, Gather, Term, VarId},
    sentence::Sentence,
};
use crate::measure::{
    compute,
    number::Range,
    value::{BlankType, Quantity, Value},
};

/// The gathered value; `None` if there is none: the least of nothing, the total of unlike things.
///
/// The least and greatest are values that occur, so that another line can fetch what holds at them: of
/// ranges and spans the one that begins first, or ends last.
pub fn gather<'a>(how: Gather, values: impl IntoIterator<Item = &'a Value>, nothing: Value) -> Option<Value> {
    let mut values: Vec<&Value> = values.into_iter().collect();
    values.sort_unstable();
    match how {
        Gather::Count => {
            values.dedup();
            #[expect(clippy::cast_precision_loss, reason = "row numbers are 32 bits wide")]
            let n = values.len() as f64;
            Some(Value::number(n))
        }
        Gather::Total => {
            let Some((first, rest)) = values.split_first() else { return Some(nothing) };
            // A lone value must have a sum as well: a day has none, nor has a temperature.
            compute::add(first, first)?;
            rest.iter().try_fold((*first).clone(), |sum, v| compute::add(&sum, v))
        }
        Gather::Least => pick(&values, |a, b| ends(a).map(|e| e.0).cmp(&ends(b).map(|e| e.0)).then(a.cmp(b))),
        Gather::Greatest => {
            pick(&values, |a, b| ends(b).map(|e| e.1).cmp(&ends(a).map(|e| e.1)).then(b.cmp(a)))
        }
    }
}

/// The first in an order, if all are of one kind that has an order.
fn pick(values: &[&Value], order: impl Fn(&Value, &Value) -> Ordering) -> Option<Value> {
    let first = values.first()?;
    let all_alike = values.iter().all(|v| compute::less(first, v).is_some());
    if !all_alike {
        return None;
    }
    values.iter().min_by(|a, b| order(a, b)).map(|v| (*v).clone())
}

/// Both ends of what a value may be.
fn ends(value: &Value) -> Option<(ordered_float::OrderedFloat<f64>, ordered_float::OrderedFloat<f64>)> {
    let day = |d: chrono::NaiveDate| f64::from(chrono::Datelike::num_days_from_ce(&d)).into();
    match value {
        Value::Number(r) | Value::Quantity(Quantity { size: r, .. }) => Some((r.low, r.high)),
        Value::Days(d) => Some((day(d.first), day(d.last))),
        Value::Clock(m) => Some((f64::from(*m).into(), f64::from(*m).into())),
        Value::Thing(_) | Value::Word(_) | Value::Entry(_) => None,
    }
}

/// The total of nothing, for a variable that fills a blank of this sentence.
pub fn total_of_nothing(sentence: Option<&Sentence>, atom: &Atom, of: VarId) -> Value {
    let blank = atom.terms.iter().position(|t| *t == Term::Var(of));
    match blank.and_then(|b| sentence?.blanks.get(b)).map(|b| b.takes) {
        Some(BlankType::Amount(dimension)) => {
            Value::Quantity(Quantity { size: Range::exact(0.0), dimension })
        }
        _ => Value::number(0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::unit::Dimension;

    fn kg(a: f64, b: f64) -> Value {
        Value::Quantity(Quantity { size: Range::new(a, b), dimension: Dimension::Mass })
    }

    #[test]
    fn of_nothing_how_many_and_total_are_nought_and_the_others_are_not() {
        let zero = kg(0.0, 0.0);
        assert_eq!(gather(Gather::Count, [], zero.clone()), Some(Value::number(0.0)));
        assert_eq!(gather(Gather::Total, [], zero.clone()), Some(zero.clone()));
        assert_eq!(gather(Gather::Least, [], zero.clone()), None);
        assert_eq!(gather(Gather::Greatest, [], zero), None);
    }

    #[test]
    fn a_total_keeps_the_range_and_counts_equal_facts_each() {
        let loads = [kg(1.0, 2.0), kg(3.0, 3.0), kg(3.0, 3.0)];
        assert_eq!(gather(Gather::Total, &loads, kg(0.0, 0.0)), Some(kg(7.0, 8.0)));
        assert_eq!(gather(Gather::Count, &loads, kg(0.0, 0.0)), Some(Value::number(2.0)));
        assert_eq!(gather(Gather::Total, &[kg(1.0, 1.0), Value::number(1.0)], kg(0.0, 0.0)), None);
    }

    #[test]
    fn the_least_begins_first_and_the_greatest_ends_last() {
        let loads = [kg(2.0, 9.0), kg(1.0, 3.0), kg(4.0, 5.0)];
        assert_eq!(gather(Gather::Least, &loads, kg(0.0, 0.0)), Some(kg(1.0, 3.0)));
        assert_eq!(gather(Gather::Greatest, &loads, kg(0.0, 0.0)), Some(kg(2.0, 9.0)));
        assert_eq!(gather(Gather::Least, &[kg(1.0, 1.0), Value::number(1.0)], kg(0.0, 0.0)), None);
        assert_eq!(gather(Gather::Least, &[Value::word("a")], kg(0.0, 0.0)), None);
    }
}
