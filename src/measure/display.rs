//! Values as words, in the units the farm writes.
//!
//! Comes in: a value and the farm's units. Goes out: text. No layout, no colour.

use std::collections::BTreeMap;

use super::{
    date,
    number::Range,
    unit::{Dimension, Unit},
    value::{Quantity, Thing, Value},
};

/// The units a farm writes for each dimension, the one written most first; where it writes none, the
/// dimension's default is used.
pub type Units = BTreeMap<Dimension, Vec<Unit>>;

/// A value in words. An entry is shown by its number; a reader who knows the files shows its place.
pub fn value(value: &Value, units: &Units) -> String {
    match value {
        Value::Thing(t) => thing(t),
        Value::Word(w) => w.to_string(),
        Value::Number(r) => range(*r),
        Value::Quantity(q) => quantity(*q, units),
        Value::Days(d) => date::words(*d),
        Value::Clock(m) => clock(*m),
        Value::Entry(e) => format!("entry {}", e.0 + 1),
    }
}

/// A thing by kind and name, `lot tern-26`; by name alone where the kind says nothing (`Barry Tern`,
/// `goats`), is in the name already (`cutting bed`), or the name is a part's (`west half of north-1`;
/// but `bucket 2 of batch b3`).
pub fn thing(t: &Thing) -> String {
    let plain = matches!(&*t.kind, "person" | "animals")
        || (t.name.contains(" of ") && !t.name.starts_with(|c: char| c.is_ascii_digit()))
        || t.name.split(' ').any(|word| word.eq_ignore_ascii_case(&t.kind));
    if plain { t.name.to_string() } else { format!("{} {}", t.kind, t.name) }
}

/// A clock time: `10:20`.
pub fn clock(minutes: u16) -> String {
    format!("{:02}:{:02}", minutes / 60, minutes % 60)
}

/// A value in words, the ends of a range to two figures: what is worked out from rough figures is no surer than
/// they are.
pub fn rough(value: &Value, units: &Units) -> String {
    match value {
        Value::Number(r) => rough_range(*r),
        Value::Quantity(q) => told(*q, units, rough_range),
        other => self::value(other, units),
    }
}

/// An amount in the farm's unit for its dimension.
pub fn quantity(q: Quantity, units: &Units) -> String {
    told(q, units, range)
}

/// An amount in the farm's unit, its size told by `range`.
fn told(q: Quantity, units: &Units, range: fn(Range) -> String) -> String {
    let dimension = match q.dimension {
        Dimension::TemperatureDifference => Dimension::Temperature,
        d => d,
    };
    if dimension == Dimension::Duration {
        return duration(q.size, range);
    }
    let mut unit = simplest(q, dimension, units);
    let mut size = unit.size_of(q).unwrap_or(q.size);
    // A farm that measures its beds in feet spreads in inches.
    while let Some(finer) =
        finer(unit).filter(|_| size.low() >= 0.0 && size.high() > 0.0 && size.high() < 1.0)
    {
        unit = finer;
        size = unit.size_of(q).unwrap_or(size);
    }
    match (q.dimension, unit.0) {
        (Dimension::TemperatureDifference, unit) => format!("{} {unit} degrees", range(size)),
        (_, "") => range(size),
        (_, unit) => format!("{} {unit}", range(size)),
    }
}

/// Of the units the farm writes for a dimension, the one in which the amount is the simplest number: a
/// distance of 150 ft is not 1800 in to somebody who writes both. Equals go to the one written most.
fn simplest(q: Quantity, dimension: Dimension, units: &Units) -> Unit {
    let written = units.get(&dimension).map_or(&[][..], Vec::as_slice);
    let cost = |unit: &Unit| {
        let size = unit.size_of(q).unwrap_or(q.size);
        let handy = |n: f64| n == 0.0 || (1.0..1000.0).contains(&n.abs());
        let unhandy = if handy(size.low()) && handy(size.high()) { 0 } else { 3 };
        digits(&number(size.low())) + digits(&number(size.high())) + unhandy
    };
    // Areas are mostly worked out, not written; they follow the lengths, also where a field was in acres.
    let worked_out = match (dimension, units.get(&Dimension::Length)) {
        (Dimension::Area, Some(lengths)) if lengths.iter().any(|u| matches!(u.0, "in" | "ft" | "yd")) => {
            Some(Unit("ft2"))
        }
        (Dimension::Area, _) => Some(Unit("m2")),
        _ => None,
    };
    // Grams by the thousand are kilograms, also to somebody who writes grams alone.
    let coarser = written.contains(&Unit("g")).then_some(Unit("kg"));
    let candidates = written.iter().copied().chain(worked_out).chain(coarser);
    candidates.min_by_key(cost).unwrap_or_else(|| dimension.default_unit())
}

/// How many digits of a number say something.
fn digits(number: &str) -> usize {
    let plain: String = number.chars().filter(char::is_ascii_digit).collect();
    let trimmed = if number.contains('.') { plain.as_str() } else { plain.trim_end_matches('0') };
    trimmed.trim_start_matches('0').len()
}

/// The next smaller unit of the same kind of measure, for amounts below one.
fn finer(unit: Unit) -> Option<Unit> {
    Some(Unit(match unit.0 {
        "mi" => "yd",
        "yd" => "ft",
        "ft" => "in",
        "km" => "m",
        "m" => "cm",
        "cm" => "mm",
        "m3" => "l",
        "l" => "ml",
        "yd3" => "ft3",
        "ft3" => "l",
        "tonne" => "kg",
        "kg" => "g",
        "US ton" | "imp ton" => "lb",
        "lb" => "oz",
        _ => return None,
    }))
}

/// A duration in whatever of minutes, hours and days reads best; one day is a day.
fn duration(days: Range, range: fn(Range) -> String) -> String {
    let one_day = days.is_exact() && (days.high() - 1.0).abs() < 1e-9;
    let unit = match days.high() {
        _ if one_day => Unit("days"),
        d if d < 2.0 / 24.0 => Unit("min"),
        d if d < 2.0 => Unit("h"),
        _ => Unit("days"),
    };
    let q = Quantity { size: days, dimension: Dimension::Duration };
    let size = unit.size_of(q).unwrap_or(days);
    let text = range(size);
    if text == "1" && unit.0 == "days" { "1 day".to_owned() } else { format!("{text} {}", unit.0) }
}

/// A number or range, to three significant digits where it is not whole.
pub fn range(r: Range) -> String {
    ends(r, number)
}

/// A number as [`range`] tells it, the ends of a range to two significant digits where they are not whole.
fn rough_range(r: Range) -> String {
    if r.is_exact() { range(r) } else { ends(r, |n| figures(n, 2)) }
}

fn ends(r: Range, number: fn(f64) -> String) -> String {
    let (low, high) = (number(r.low()), number(r.high()));
    if low == high {
        low
    } else if r.low() < 0.0 {
        format!("{low} to {high}")
    } else {
        format!("{low}-{high}")
    }
}

/// One number: whole numbers as they are, others to three significant digits, no trailing zeros.
pub fn number(n: f64) -> String {
    figures(n, 3)
}

/// One number to so many significant digits where it is not whole.
fn figures(n: f64, figures: i32) -> String {
    let whole = n.round();
    if (n - whole).abs() <= 1e-9 * n.abs().max(1e-3) || n.abs() >= 1000.0 {
        return format!("{whole:.0}");
    }
    let digits = figures - 1 - n.abs().log10().floor() as i32;
    let digits = usize::try_from(digits.clamp(0, 12)).unwrap_or(0);
    let text = format!("{n:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::unit;

    #[test]
    fn amounts_below_one_are_shown_in_the_next_smaller_unit() {
        let feet: Units = [(Dimension::Length, vec![Unit("ft")])].into();
        let shown = |n: f64, u: &str, units: &Units| value(&unit::quantity(n, u).expect("a unit"), units);
        assert_eq!(shown(3.0, "in", &feet), "3 in");
        assert_eq!(shown(30.0, "ft", &feet), "30 ft");
        assert_eq!(shown(0.0, "ft", &feet), "0 ft");
        assert_eq!(shown(12.0, "mm", &Units::new()), "1.2 cm");
    }

    #[test]
    fn a_numbered_part_keeps_its_kind() {
        assert_eq!(value(&Value::thing("bucket", "2 of batch b3"), &Units::new()), "bucket 2 of batch b3");
        assert_eq!(
            value(&Value::thing("bed", "west half of north-1"), &Units::new()),
            "west half of north-1"
        );
    }

    #[test]
    fn amounts_are_shown_in_the_units_the_farm_writes() {
        let q = unit::quantity(6.0, "yd3").expect("a unit");
        let units: Units = [(Dimension::Volume, vec![Unit("yd3")])].into();
        assert_eq!(value(&q, &units), "6 yd3");
        assert_eq!(value(&q, &Units::new()), "4587 l");
        let t = unit::quantity(160.0, "F").expect("a unit");
        assert_eq!(value(&t, &[(Dimension::Temperature, vec![Unit("F")])].into()), "160 F");
        assert_eq!(value(&t, &Units::new()), "71.1 C");
    }

    #[test]
    fn a_thing_carries_its_kind_word_once() {
        for (kind, name, shown) in [
            ("lot", "tern-26", "lot tern-26"),
            ("person", "Barry Tern", "Barry Tern"),
            ("bed", "cutting bed", "cutting bed"),
            ("bed", "west half of north-1", "west half of north-1"),
            ("bucket", "2 of batch b3", "bucket 2 of batch b3"),
        ] {
            assert_eq!(value(&Value::thing(kind, name), &Units::new()), shown);
        }
    }

    #[test]
    fn of_the_units_a_farm_writes_the_simplest_number_is_shown() {
        let units: Units = [(Dimension::Length, vec![Unit("in"), Unit("ft"), Unit("mm")])].into();
        for (n, u, shown) in [
            (150.0, "ft", "150 ft"),
            (3.0, "in", "3 in"),
            (11.0, "mm", "11 mm"),
            (1.5, "in", "1.5 in"),
            (30.0, "ft", "30 ft"),
        ] {
            assert_eq!(value(&unit::quantity(n, u).expect("a unit"), &units), shown);
        }
        assert_eq!(value(&unit::quantity(120.0, "ft2").expect("a unit"), &units), "120 ft2");
        let acres: Units = [(Dimension::Area, vec![Unit("acre")])].into();
        assert_eq!(value(&unit::quantity(12.0, "m2").expect("a unit"), &acres), "12 m2");
        assert_eq!(value(&unit::quantity(0.5, "acre").expect("a unit"), &acres), "0.5 acre");
    }

    #[test]
    fn grams_by_the_thousand_are_kilograms() {
        let grams: Units = [(Dimension::Mass, vec![Unit("g")])].into();
        let shown = |a: f64, b: f64| {
            let size = Range::new(a, b);
            rough(&Value::Quantity(Quantity { size, dimension: Dimension::Mass }), &grams)
        };
        assert_eq!(shown(3.132, 5.742), "3.1-5.7 kg");
        assert_eq!(shown(379.697, 768.886), "380-769 kg");
        assert_eq!(shown(0.25, 0.25), "250 g");
        assert_eq!(shown(0.04, 0.6), "40-600 g");
    }

    #[test]
    fn the_ends_of_a_rough_range_have_two_figures_and_whole_ones_all() {
        let q =
            |a: f64, b: f64| Value::Quantity(Quantity { size: Range::new(a, b), dimension: Dimension::Mass });
        for (value, shown) in [
            (q(4.545, 8.372), "4.5-8.4 kg"),
            (q(128.4, 1541.0), "128-1541 kg"),
            (q(0.2331, 0.2331), "233 g"),
            (Value::Number(Range::new(0.1234, 12.0)), "0.12-12"),
        ] {
            assert_eq!(rough(&value, &Units::new()), shown);
        }
        assert_eq!(value(&q(4.546, 8.372), &Units::new()), "4.55-8.37 kg");
    }

    #[test]
    fn durations_choose_the_unit_that_reads_best() {
        for (n, u, shown) in [
            (90.0, "min", "90 min"),
            (16.0, "h", "16 h"),
            (3.0, "weeks", "21 days"),
            (48.0, "h", "2 days"),
            (1.0, "day", "1 day"),
            (1.5, "days", "36 h"),
        ] {
            assert_eq!(value(&unit::quantity(n, u).expect("a unit"), &Units::new()), shown);
        }
    }

    #[test]
    fn numbers_keep_three_digits_and_no_more() {
        for (n, shown) in [
            (1.0 / 3.0, "0.333"),
            (12.0, "12"),
            (0.0, "0"),
            (2.5, "2.5"),
            (-1.0, "-1"),
            (1234.5, "1235"),
            (0.000_123_4, "0.000123"),
        ] {
            assert_eq!(number(n), shown);
        }
    }
}
