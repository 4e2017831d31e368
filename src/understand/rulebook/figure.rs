//! A constant as written, read by what its blank takes.
//!
//! Comes in: the text of a word, number, amount, day or clock time. Goes out: its value, or in words
//! why it does not belong there. It does not know which sentence it stands in.

use super::types::{described, plain};
use crate::measure::{
    date::{self, DayFault, Days},
    number::{self, Range},
    unit::{self, Dimension, Meant},
    value::{BlankType, Quantity, Value},
};

/// Reads `text` as what the blank takes.
///
/// # Errors
/// A sentence that says what the text is and what is due instead.
pub fn constant(text: &str, takes: BlankType) -> Result<Value, String> {
    let text = text.trim();
    match takes {
        BlankType::Name | BlankType::Text => Ok(Value::word(text)),
        BlankType::Date => day(text),
        BlankType::Clock => clock(text).map(Value::Clock).ok_or_else(|| due(text, takes)),
        BlankType::Number => match read(text)? {
            Read::Number(n) => Ok(Value::Number(n)),
            _ => Err(due(text, takes)),
        },
        BlankType::AnyAmount => match read(text)? {
            Read::Number(n) => Ok(Value::Number(n)),
            Read::Amount(q, _) => Ok(Value::Quantity(q)),
            Read::Nothing => Err(due(text, takes)),
        },
        BlankType::Amount(dimension) => amount(text, dimension),
        BlankType::Entry => Err(format!("`{text}` cannot stand for an entry; only a blank can.")),
    }
}

/// Reads a figure whose type nothing tells: a day, a clock time, an amount or a number.
///
/// # Errors
/// A sentence that says why it is none of them.
pub fn figure(text: &str) -> Result<Value, String> {
    if let Some(minutes) = clock(text) {
        return Ok(Value::Clock(minutes));
    }
    match date::read_day(text) {
        Ok(day) => return Ok(Value::Days(Days::on(day))),
        Err(DayFault::NotADay) => {}
        Err(_) => return day(text),
    }
    match read(text)? {
        Read::Number(n) => Ok(Value::Number(n)),
        Read::Amount(q, _) => Ok(Value::Quantity(q)),
        Read::Nothing => Err(format!("`{text}` is no number, amount or day.")),
    }
}

fn amount(text: &str, dimension: Dimension) -> Result<Value, String> {
    let takes = BlankType::Amount(dimension);
    match read(text)? {
        Read::Amount(q, _) if q.dimension == dimension => Ok(Value::Quantity(q)),
        Read::Amount(q, zero)
            if q.dimension == Dimension::Temperature && dimension == Dimension::TemperatureDifference =>
        {
            // `10 F` as a difference is ten degrees of that scale, wherever the scale begins.
            let size = q.size.map(|n| n - zero);
            Ok(Value::Quantity(Quantity { size, dimension }))
        }
        Read::Number(size) if dimension == Dimension::Acidity => {
            Ok(Value::Quantity(Quantity { size, dimension }))
        }
        Read::Amount(..) => Err(due(text, takes)),
        Read::Number(_) => Err(format!("`{text}` has no unit; here belongs {}.", described(takes))),
        Read::Nothing => Err(due(text, takes)),
    }
}

/// What a text is as a number.
enum Read {
    Number(Range),
    /// The amount, and where its unit's zero stands in canonical units.
    Amount(Quantity, f64),
    Nothing,
}

fn read(text: &str) -> Result<Read, String> {
    if let Some(rest) = text.strip_prefix("about ")
        && number::read(rest.trim_start()).is_some()
    {
        return Err(format!("`{text}`: a page says what it means. Write the range, as in `5-7`."));
    }
    let Some((n, len)) = number::read(text) else { return Ok(Read::Nothing) };
    let rest = text.get(len..).unwrap_or("").trim();
    if rest.is_empty() {
        return Ok(Read::Number(n));
    }
    if matches!(rest.to_lowercase().as_str(), "month" | "months" | "year" | "years") {
        return Err(format!("`{text}`: months and years have no fixed length. Write days or weeks."));
    }
    let found = match unit::find(rest) {
        Some(Meant::Unit(unit)) => unit,
        Some(Meant::Either { us, imperial }) => {
            return Err(format!(
                "`{rest}` may be a US or an imperial one. Write `{}` or `{}`.",
                us.0, imperial.0
            ));
        }
        None => return Ok(Read::Nothing),
    };
    let zero = found.quantity(Range::exact(0.0)).map_or(0.0, |q| q.size.low());
    Ok(found.quantity(n).map_or(Read::Nothing, |q| Read::Amount(q, zero)))
}

fn day(text: &str) -> Result<Value, String> {
    match date::read_day(text) {
        Ok(day) => Ok(Value::Days(Days::on(day))),
        Err(DayFault::NoSuchDay) => Err(format!("The calendar has no day `{text}`.")),
        Err(DayFault::TwoWays(a, b)) => Err(format!("`{text}` reads two ways. Write `{a}` or `{b}`.")),
        Err(DayFault::Slashes(day)) => Err(format!("Write the day as `{day}`.")),
        Err(DayFault::NotADay) => Err(due(text, BlankType::Date)),
    }
}

fn clock(text: &str) -> Option<u16> {
    let (hours, minutes) = text.split_once(':')?;
    let two = |s: &str| (1..=2).contains(&s.len()) && s.bytes().all(|b| b.is_ascii_digit());
    if !two(hours) || minutes.len() != 2 || !two(minutes) {
        return None;
    }
    let (h, m): (u16, u16) = (hours.parse().ok()?, minutes.parse().ok()?);
    (h < 24 && m < 60).then_some(h * 60 + m)
}

fn due(text: &str, takes: BlankType) -> String {
    let is = match read(text) {
        Ok(Read::Number(_)) => " is a bare number;".to_owned(),
        Ok(Read::Amount(q, _)) => format!(" is {};", plain(BlankType::Amount(q.dimension))),
        _ if date::read_day(text).is_ok() => " is a day;".to_owned(),
        _ => ":".to_owned(),
    };
    format!("`{text}`{is} here belongs {}.", described(takes))
}

#[cfg(test)]
mod tests {
    use super::*;

    const LENGTH: BlankType = BlankType::Amount(Dimension::Length);

    #[test]
    fn a_constant_is_read_by_what_its_blank_takes() {
        assert_eq!(constant("dune", BlankType::Name), Ok(Value::word("dune")));
        assert_eq!(constant("1,000", BlankType::Number), Ok(Value::number(1000.0)));
        assert_eq!(constant("10:20", BlankType::Clock), Ok(Value::Clock(620)));
        assert_eq!(constant("3 ft", LENGTH), unit::quantity(3.0, "ft").ok_or_else(String::new));
        assert!(constant("2026-03-14", BlankType::Date).is_ok());
    }

    #[test]
    fn ten_degrees_of_difference_are_ten_wherever_the_scale_begins() {
        let takes = BlankType::Amount(Dimension::TemperatureDifference);
        let Ok(Value::Quantity(f)) = constant("9 F", takes) else { unreachable!("an amount") };
        assert!((f.size.low() - 5.0).abs() < 1e-9);
        let Ok(Value::Quantity(c)) = constant("5 C", takes) else { unreachable!("an amount") };
        assert!((c.size.low() - 5.0).abs() < 1e-9);
    }

    #[test]
    fn what_does_not_belong_is_named_with_what_is_due() {
        for (text, takes, said) in [
            ("3 lb", LENGTH, "`3 lb` is a mass; here belongs a length, as in `3 in`."),
            ("3", LENGTH, "`3` has no unit; here belongs a length, as in `3 in`."),
            ("soon", BlankType::Date, "`soon`: here belongs a day, as in `2026-03-14`."),
            ("3/4/26", BlankType::Date, "`3/4/26` reads two ways. Write `2026-04-03` or `2026-03-04`."),
            ("2026-02-30", BlankType::Date, "The calendar has no day `2026-02-30`."),
            (
                "3 months",
                BlankType::Amount(Dimension::Duration),
                "`3 months`: months and years have no fixed length. Write days or weeks.",
            ),
            ("12 ppb", BlankType::Number, "`12 ppb` is a concentration; here belongs a bare number."),
        ] {
            assert_eq!(constant(text, takes), Err(said.to_owned()));
        }
        assert_eq!(figure("3 grumbles"), Err("`3 grumbles` is no number, amount or day.".to_owned()));
    }
}
