//! What a blank takes, in words; which types agree; and the type of something computed.
//!
//! Comes in: types of blanks. Goes out: whether they fit together. The arithmetic of types is asked of
//! `measure::compute` itself, so that the two cannot disagree. No places, no messages about lines.

use chrono::NaiveDate;

use crate::{
    measure::{
        compute,
        date::Days,
        number::Range,
        unit::Dimension,
        value::{BlankType, EntryId, Quantity, Value},
    },
    model::{judge, program::Function},
};

/// The type a type word names; `None` for an unknown word.
pub fn named(word: &str) -> Option<BlankType> {
    Some(match word {
        "name" => BlankType::Name,
        "text" => BlankType::Text,
        "date" => BlankType::Date,
        "clock" => BlankType::Clock,
        "number" => BlankType::Number,
        "amount" => BlankType::AnyAmount,
        "entry" => BlankType::Entry,
        other => BlankType::Amount(Dimension::from_word(other)?),
    })
}

/// Every type word, for suggestions.
pub fn words() -> impl Iterator<Item = &'static str> {
    ["name", "text", "date", "clock", "number", "amount", "entry"]
        .into_iter()
        .chain(Dimension::ALL.into_iter().map(Dimension::word))
}

/// The word that names a type in a declaration.
pub fn word(takes: BlankType) -> &'static str {
    match takes {
        BlankType::Name => "name",
        BlankType::Text => "text",
        BlankType::Date => "date",
        BlankType::Clock => "clock",
        BlankType::Number => "number",
        BlankType::AnyAmount => "amount",
        BlankType::Entry => "entry",
        BlankType::Amount(d) => d.word(),
    }
}

/// A type in words, with an article: "a length, as in `3 in`".
pub fn described(takes: BlankType) -> String {
    match takes {
        BlankType::Name => "a name or word".to_owned(),
        BlankType::Text => "free words".to_owned(),
        BlankType::Date => "a day, as in `2026-03-14`".to_owned(),
        BlankType::Clock => "a clock time, as in `10:20`".to_owned(),
        BlankType::Number => "a bare number".to_owned(),
        BlankType::AnyAmount => "an amount, as in `6 yd3`".to_owned(),
        BlankType::Entry => "an entry of the journal".to_owned(),
        BlankType::Amount(d) => format!("{} {}, as in `{}`", article(d.word()), d.word(), d.example()),
    }
}

/// A type in words without its example: `a length`.
pub fn plain(takes: BlankType) -> String {
    let all = described(takes);
    all.split(", as in").next().unwrap_or("").to_owned()
}

fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// The narrower of two types that can hold the same value; `None` if no value fits both.
pub fn joined(a: BlankType, b: BlankType) -> Option<BlankType> {
    use BlankType::{Amount, AnyAmount, Name, Number, Text};
    match (a, b) {
        (x, y) if x == y => Some(x),
        (Name, Text) | (Text, Name) => Some(Name),
        (AnyAmount, x @ (Amount(_) | Number)) | (x @ (Amount(_) | Number), AnyAmount) => Some(x),
        _ => None,
    }
}

/// The type of a value.
pub fn of(value: &Value) -> BlankType {
    match value {
        Value::Thing(_) | Value::Word(_) => BlankType::Name,
        Value::Number(_) => BlankType::Number,
        Value::Quantity(q) => BlankType::Amount(q.dimension),
        Value::Days(_) => BlankType::Date,
        Value::Clock(_) => BlankType::Clock,
        Value::Entry(_) => BlankType::Entry,
    }
}

/// Some value of a type; `None` where the type leaves open what it measures.
pub fn sample(takes: BlankType) -> Option<Value> {
    Some(match takes {
        BlankType::Name | BlankType::Text => Value::word("word"),
        BlankType::Date => Value::Days(Days::on(NaiveDate::from_ymd_opt(2026, 3, 14)?)),
        BlankType::Clock => Value::Clock(600),
        BlankType::Number => Value::Number(Range::exact(1.0)),
        BlankType::Amount(dimension) => Value::Quantity(Quantity { size: Range::exact(1.0), dimension }),
        BlankType::Entry => Value::Entry(EntryId(0)),
        BlankType::AnyAmount => return None,
    })
}

/// The type of two sides joined by `op`.
///
/// `Ok(None)` where one side's type is not known, `Err` where the two cannot be joined so.
pub fn computed(a: Option<BlankType>, op: char, b: Option<BlankType>) -> Result<Option<BlankType>, ()> {
    let (Some(a), Some(b)) = (a.and_then(sample), b.and_then(sample)) else { return Ok(None) };
    let value = match op {
        '+' => compute::add(&a, &b),
        '-' => compute::sub(&a, &b),
        '*' => compute::mul(&a, &b),
        _ => compute::div(&a, &b),
    };
    value.map(|v| Some(of(&v))).ok_or(())
}

/// The type of what a function gives; as for [`computed`].
pub fn called(function: Function, sides: &[Option<BlankType>]) -> Result<Option<BlankType>, ()> {
    let samples: Option<Vec<Value>> = sides.iter().map(|t| t.and_then(sample)).collect();
    let Some(samples) = samples else { return Ok(None) };
    let value = judge::called(function, &samples.iter().collect::<Vec<_>>());
    value.map(|v| Some(of(&v))).ok_or(())
}

/// Whether two types can be asked which is the greater.
pub fn ordered(a: Option<BlankType>, b: Option<BlankType>) -> bool {
    match (a.and_then(sample), b.and_then(sample)) {
        (Some(a), Some(b)) => compute::less(&a, &b).is_some(),
        _ => {
            !matches!(a, Some(BlankType::Name | BlankType::Text | BlankType::Entry))
                && !matches!(b, Some(BlankType::Name | BlankType::Text | BlankType::Entry))
        }
    }
}

/// Whether two types can be asked if they are the same.
pub fn alike(a: Option<BlankType>, b: Option<BlankType>) -> bool {
    match (a.and_then(sample), b.and_then(sample)) {
        (Some(a), Some(b)) => compute::same(&a, &b).is_some(),
        _ => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LENGTH: Option<BlankType> = Some(BlankType::Amount(Dimension::Length));
    const DURATION: Option<BlankType> = Some(BlankType::Amount(Dimension::Duration));
    const DATE: Option<BlankType> = Some(BlankType::Date);

    #[test]
    fn computing_follows_the_arithmetic_of_values() {
        assert_eq!(computed(DATE, '-', DATE), Ok(DURATION));
        assert_eq!(computed(DATE, '+', DURATION), Ok(DATE));
        assert_eq!(computed(LENGTH, '/', LENGTH), Ok(Some(BlankType::Number)));
        assert_eq!(computed(DATE, '+', LENGTH), Err(()));
        assert_eq!(computed(Some(BlankType::AnyAmount), '+', LENGTH), Ok(None));
    }

    #[test]
    fn every_type_word_names_its_type() {
        for word in words() {
            assert!(named(word).is_some(), "{word}");
        }
        assert_eq!(named("lenght"), None);
    }
}
