//! Units: how people spell what an amount measures.
//!
//! Comes in: a spelling. Goes out: the unit, its dimension and its exact factor to the canonical unit.
//! Factors follow the definitions of NIST Handbook 44 Appendix C and SP 811; the tests hold them
//! against a table of those. It knows no container of a farm's own; the journal tells those.

use std::sync::OnceLock;

use rustc_hash::FxHashMap;
use serde::Serialize;

pub use super::dimension::Dimension;
use super::{
    number::Range,
    value::{Quantity, Value},
};

impl Dimension {
    /// The unit shown where the farm has written none of this dimension.
    pub fn default_unit(self) -> Unit {
        Unit(match self {
            Dimension::Length => "m",
            Dimension::Area => "m2",
            Dimension::Volume => "l",
            Dimension::Mass => "kg",
            Dimension::Temperature | Dimension::TemperatureDifference => "C",
            Dimension::Duration => "days",
            Dimension::Speed => "m/s",
            Dimension::MassFraction => "ppb",
            Dimension::Conductivity => "mS/cm",
            Dimension::Share => "%",
            Dimension::Density => "kg/m3",
            Dimension::MassPerArea => "kg/ha",
            Dimension::VolumePerVolume => "ml/l",
            Dimension::MassFractionPerTime => "mg/g/day",
            Dimension::Acidity | Dimension::Money => "",
        })
    }
}

/// A unit as it is shown: `yd3`, `in`, `F`, `ppb`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Unit(pub &'static str);

impl Unit {
    /// Whether it is a customary unit of the US or imperial measure, rather than a metric one or one that is
    /// neither.
    pub fn is_customary(self) -> bool {
        let named = self.0.starts_with("US ") || self.0.starts_with("imp ");
        named
            || matches!(
                self.0,
                "in" | "ft"
                    | "yd"
                    | "mi"
                    | "ft2"
                    | "yd2"
                    | "acre"
                    | "ft3"
                    | "yd3"
                    | "oz"
                    | "lb"
                    | "F"
                    | "mph"
            )
    }
}

/// Which gallon, pint, quart and ton a farm means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum System {
    /// US customary.
    Us,
    /// Imperial.
    Imperial,
}

struct Definition {
    unit: &'static str,
    dimension: Dimension,
    /// How many canonical units one of these is (for temperatures: the size of a degree).
    factor: f64,
    spellings: &'static [&'static str],
}

const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const YARD: f64 = 0.9144;
const POUND: f64 = 0.453_592_37;
const OUNCE: f64 = POUND / 16.0;
const ACRE: f64 = 4_046.856_422_4;
const US_GALLON: f64 = 0.003_785_411_784;
const IMPERIAL_GALLON: f64 = 0.004_546_09;
const DAY: f64 = 1.0;
const HOUR: f64 = DAY / 24.0;

const fn unit(
    unit: &'static str,
    dimension: Dimension,
    factor: f64,
    spellings: &'static [&'static str],
) -> Definition {
    Definition { unit, dimension, factor, spellings }
}

use Dimension as D;

/// Every unit. The first column is how it is shown; it is a spelling too.
const UNITS: &[Definition] = &[
    unit("mm", D::Length, 0.001, &["millimetre", "millimeter"]),
    unit("cm", D::Length, 0.01, &["centimetre", "centimeter"]),
    unit("m", D::Length, 1.0, &["metre", "meter"]),
    unit("km", D::Length, 1000.0, &["kilometre", "kilometer"]),
    unit("in", D::Length, INCH, &["inch", "inches", "\"", "\u{201d}", "\u{2033}"]),
    unit("ft", D::Length, FOOT, &["foot", "feet", "'", "\u{2019}", "\u{2032}"]),
    unit("yd", D::Length, YARD, &["yard"]),
    unit("mi", D::Length, 1609.344, &["mile"]),
    unit("cm2", D::Area, 1e-4, &["cm²", "sq cm", "square centimetre", "square centimeter"]),
    unit("m2", D::Area, 1.0, &["m²", "sq m", "square metre", "square meter"]),
    unit("ft2", D::Area, FOOT * FOOT, &["ft²", "sq ft", "square foot", "square feet"]),
    unit("yd2", D::Area, YARD * YARD, &["yd²", "sq yd", "square yard"]),
    unit("acre", D::Area, ACRE, &["ac"]),
    unit("ha", D::Area, 10_000.0, &["hectare"]),
    unit("ml", D::Volume, 1e-6, &["mL", "millilitre", "milliliter"]),
    unit("l", D::Volume, 1e-3, &["L", "litre", "liter", "ltr"]),
    unit("m3", D::Volume, 1.0, &["m³", "cu m", "cubic metre", "cubic meter"]),
    unit("ft3", D::Volume, FOOT * FOOT * FOOT, &["ft³", "cu ft", "cuft", "cubic foot", "cubic feet"]),
    unit("yd3", D::Volume, YARD * YARD * YARD, &["yd³", "cu yd", "cuyd", "cubic yard"]),
    unit("US gal", D::Volume, US_GALLON, &["US gallon"]),
    unit("US qt", D::Volume, US_GALLON / 4.0, &["US quart"]),
    unit("US pt", D::Volume, US_GALLON / 8.0, &["US pint"]),
    unit("imp gal", D::Volume, IMPERIAL_GALLON, &["imperial gallon"]),
    unit("imp qt", D::Volume, IMPERIAL_GALLON / 4.0, &["imperial quart"]),
    unit("imp pt", D::Volume, IMPERIAL_GALLON / 8.0, &["imperial pint"]),
    unit("bu", D::Volume, 0.035_239_070_166_88, &["bushel"]),
    unit("mg", D::Mass, 1e-6, &["milligram"]),
    unit("g", D::Mass, 1e-3, &["gram", "gm"]),
    unit("kg", D::Mass, 1.0, &["kilo", "kilogram", "kgs"]),
    unit("tonne", D::Mass, 1000.0, &["metric ton"]),
    unit("oz", D::Mass, OUNCE, &["ounce"]),
    unit("lb", D::Mass, POUND, &["lbs", "pound"]),
    unit("US ton", D::Mass, 2000.0 * POUND, &["short ton"]),
    unit("imp ton", D::Mass, 2240.0 * POUND, &["long ton"]),
    unit("C", D::Temperature, 1.0, &["°C", "deg C", "degrees C", "celsius", "degrees celsius"]),
    unit("F", D::Temperature, 5.0 / 9.0, &["°F", "deg F", "degrees F", "fahrenheit", "degrees fahrenheit"]),
    unit("s", D::Duration, HOUR / 3600.0, &["sec", "second"]),
    unit("min", D::Duration, HOUR / 60.0, &["mins", "minute"]),
    unit("h", D::Duration, HOUR, &["hr", "hrs", "hour"]),
    unit("days", D::Duration, DAY, &["day", "d"]),
    unit("weeks", D::Duration, 7.0 * DAY, &["week", "wk", "wks"]),
    unit("mph", D::Speed, 0.447_04, &["miles per hour", "mi/h"]),
    unit("km/h", D::Speed, 1000.0 / 3600.0, &["kph", "kmh", "km per hour"]),
    unit("m/s", D::Speed, 1.0, &["metres per second", "meters per second"]),
    unit("knots", D::Speed, 1852.0 / 3600.0, &["knot", "kn"]),
    unit("ppb", D::MassFraction, 1e-9, &["ug/kg", "µg/kg", "μg/kg", "ng/g", "parts per billion"]),
    unit("ppm", D::MassFraction, 1e-6, &["mg/kg", "ug/g", "µg/g", "parts per million"]),
    unit("g/kg", D::MassFraction, 1e-3, &["mg/g"]),
    unit("mg/g/day", D::MassFractionPerTime, 1e-3, &["mg/g/d", "mg per g per day", "mg/g a day"]),
    unit("mg/kg/h", D::MassFractionPerTime, 24e-6, &["mg/kg/hour", "mg per kg per hour"]),
    unit("mS/cm", D::Conductivity, 0.1, &["dS/m", "mmho/cm", "mmhos/cm"]),
    unit("uS/cm", D::Conductivity, 1e-4, &["µS/cm", "μS/cm"]),
    unit("S/m", D::Conductivity, 1.0, &[]),
    unit("%", D::Share, 0.01, &["percent", "per cent", "pct"]),
    unit("kg/m3", D::Density, 1.0, &["kg/m³"]),
    unit("g/cm3", D::Density, 1000.0, &["g/cm³", "g/cc"]),
    unit("kg/l", D::Density, 1000.0, &["kg/L", "kg per litre", "kg per liter", "g/ml", "g/mL"]),
    unit("lb/yd3", D::Density, POUND / (YARD * YARD * YARD), &["lb/yd³"]),
    unit("lb/ft3", D::Density, POUND / (FOOT * FOOT * FOOT), &["lb/ft³"]),
    unit("kg/m2", D::MassPerArea, 1.0, &["kg/m²"]),
    unit("g/m2", D::MassPerArea, 1e-3, &["g/m²"]),
    unit("kg/ha", D::MassPerArea, 1e-4, &["kg/hectare"]),
    unit("g/ha", D::MassPerArea, 1e-7, &["g/hectare"]),
    unit("lb/acre", D::MassPerArea, POUND / ACRE, &["lb/ac", "lbs/acre", "lb per acre"]),
    unit("oz/acre", D::MassPerArea, OUNCE / ACRE, &["oz/ac", "oz per acre"]),
    unit("lb/ft2", D::MassPerArea, POUND / (FOOT * FOOT), &["lb/ft²", "lb per sq ft"]),
    unit("ml/l", D::VolumePerVolume, 1e-3, &["ml per litre", "ml per liter", "ml per l", "mL/L"]),
    unit("l/m3", D::VolumePerVolume, 1e-3, &["l/m³"]),
];

/// Spellings that mean two units until the farm says which it keeps.
const BY_SYSTEM: &[(&str, &str, &str)] = &[
    ("gal", "US gal", "imp gal"),
    ("gallon", "US gal", "imp gal"),
    ("qt", "US qt", "imp qt"),
    ("quart", "US qt", "imp qt"),
    ("pt", "US pt", "imp pt"),
    ("pint", "US pt", "imp pt"),
    ("ton", "US ton", "imp ton"),
];

/// The units of a dimension as they are shown, those that depend on the farm's system left out.
pub fn units_of(dimension: Dimension) -> impl Iterator<Item = &'static str> {
    UNITS.iter().filter(move |d| d.dimension == dimension).map(|d| d.unit)
}

/// What a spelling means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meant {
    /// One unit.
    Unit(Unit),
    /// One unit in the US and another in imperial measure.
    Either {
        /// The US unit.
        us: Unit,
        /// The imperial unit.
        imperial: Unit,
    },
}

impl Meant {
    /// The unit for a farm that keeps `system`; `None` while that is open.
    pub fn settle(self, system: Option<System>) -> Option<Unit> {
        match (self, system) {
            (Meant::Unit(unit), _) => Some(unit),
            (Meant::Either { us, .. }, Some(System::Us)) => Some(us),
            (Meant::Either { imperial, .. }, Some(System::Imperial)) => Some(imperial),
            (Meant::Either { .. }, None) => None,
        }
    }
}

struct Tables {
    by_spelling: FxHashMap<String, Meant>,
    by_unit: FxHashMap<&'static str, &'static Definition>,
    longest: usize,
}

fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| {
        let mut by_spelling = FxHashMap::default();
        let mut by_unit = FxHashMap::default();
        for d in UNITS {
            by_unit.insert(d.unit, d);
            for spelling in std::iter::once(&d.unit).chain(d.spellings) {
                for form in forms(spelling) {
                    by_spelling.entry(form).or_insert(Meant::Unit(Unit(d.unit)));
                }
            }
        }
        for (spelling, us, imperial) in BY_SYSTEM {
            for form in forms(spelling) {
                by_spelling.insert(form, Meant::Either { us: Unit(us), imperial: Unit(imperial) });
            }
        }
        let longest = by_spelling.keys().map(String::len).max().unwrap_or(0);
        Tables { by_spelling, by_unit, longest }
    })
}

/// A spelling, its plural in -s for words of three letters and more, and both in lower case where the
/// word is long enough that case carries no meaning (`MPH`, `Gallons`; but not `M` or `MM`).
fn forms(spelling: &str) -> Vec<String> {
    let mut out = vec![spelling.to_owned()];
    let wordy = spelling.chars().count() >= 3 && spelling.chars().all(|c| c.is_alphabetic() || c == ' ');
    if wordy && !spelling.ends_with('s') && !spelling.ends_with("feet") && spelling != "mph" {
        out.push(format!("{spelling}s"));
    }
    let lower: Vec<String> = out.iter().map(|s| s.to_lowercase()).collect();
    out.extend(lower);
    out
}

/// The unit a spelling means, whole: `cubic yards`, `°F`, `Litres`.
pub fn find(spelling: &str) -> Option<Meant> {
    let t = tables();
    t.by_spelling.get(spelling).copied().or_else(|| {
        // Case carries meaning only in short symbols.
        (spelling.chars().count() >= 3)
            .then(|| t.by_spelling.get(&spelling.to_lowercase()).copied())
            .flatten()
    })
}

/// The longest unit spelt at the start of `text`, and how many bytes it takes. A spelling that ends in
/// a letter or digit must not run on into another (`in` is not found in `into`); white space between the
/// words of a spelling may be of any width, a line break included.
pub fn read(text: &str) -> Option<(Meant, usize)> {
    let limit = tables().longest;
    // What has been read so far with single spaces, and where each of its characters ends in the text.
    let mut spelling = String::with_capacity(limit);
    let mut ends = Vec::with_capacity(limit);
    for (at, c) in text.char_indices() {
        let c = if c.is_whitespace() { ' ' } else { c };
        if c == ' ' && spelling.ends_with(' ') {
            continue;
        }
        if spelling.len() + c.len_utf8() > limit {
            break;
        }
        spelling.push(c);
        ends.push((spelling.len(), at, c.is_alphanumeric()));
    }
    ends.into_iter().rev().find_map(|(length, last, is_letter)| {
        let mut from_last = text.get(last..)?.chars();
        let end = last + from_last.next()?.len_utf8();
        let runs_on = is_letter && from_last.next().is_some_and(|c| c.is_alphanumeric() || c == '/');
        if runs_on { None } else { find(spelling.get(..length)?).map(|meant| (meant, end)) }
    })
}

impl Unit {
    fn definition(self) -> Option<&'static Definition> {
        tables().by_unit.get(self.0).copied()
    }

    /// What it measures; `None` for a symbol that is no unit of the table.
    pub fn dimension(self) -> Option<Dimension> {
        self.definition().map(|d| d.dimension)
    }

    /// `size` of this unit as a quantity in canonical units.
    pub fn quantity(self, size: Range) -> Option<Quantity> {
        let d = self.definition()?;
        let size = size.map(|n| to_canonical(d, n));
        Some(Quantity { size, dimension: d.dimension })
    }

    /// A quantity's size in this unit; `None` where the dimensions differ.
    pub fn size_of(self, q: Quantity) -> Option<Range> {
        let d = self.definition()?;
        if q.dimension == D::TemperatureDifference && d.dimension == D::Temperature {
            return Some(q.size.map(|n| n / d.factor));
        }
        (d.dimension == q.dimension).then(|| q.size.map(|n| from_canonical(d, n)))
    }
}

fn to_canonical(d: &Definition, n: f64) -> f64 {
    if d.unit == "F" { (n - 32.0) * 5.0 / 9.0 } else { n * d.factor }
}

fn from_canonical(d: &Definition, n: f64) -> f64 {
    if d.unit == "F" { n * 9.0 / 5.0 + 32.0 } else { n / d.factor }
}

/// Shorthand for tests and tables: a quantity from a number and a spelling.
pub fn quantity(size: f64, spelling: &str) -> Option<Value> {
    let unit = find(spelling)?.settle(None)?;
    unit.quantity(Range::exact(size)).map(Value::Quantity)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Definitions of NIST Handbook 44 Appendix C and SP 811, as exact fractions in
    /// `tests/reference/units.json`.
    #[test]
    fn factors_are_those_of_the_nist_definitions() {
        let text = include_str!("../../tests/reference/units.json");
        let json: serde_json::Value = serde_json::from_str(text).expect("reference file is JSON");
        let value = |name: &str| json["units"][name]["value"].as_f64().expect("a number");
        for (unit, name) in [
            ("in", "inch_m"),
            ("ft", "foot_m"),
            ("yd", "yard_m"),
            ("ft3", "cubic_foot_m3"),
            ("yd3", "cubic_yard_m3"),
            ("US gal", "us_gallon_m3"),
            ("bu", "us_bushel_m3"),
            ("lb", "pound_kg"),
            ("oz", "ounce_kg"),
            ("US ton", "short_ton_kg"),
            ("acre", "acre_international_m2"),
            ("lb/yd3", "lb_per_yd3_kg_per_m3"),
        ] {
            let ours = Unit(unit).quantity(Range::exact(1.0)).expect(unit).size.low();
            let theirs = value(name);
            assert!((ours - theirs).abs() <= 1e-15 * theirs.abs().max(1.0), "{unit}: {ours} is not {theirs}");
        }
        // A litre is a thousandth of a cubic metre by definition (SP 811), so a kilogram in it is a thousand.
        assert_eq!(Unit("kg/l").quantity(Range::exact(1.0)).map(|q| q.size.low()), Some(1000.0));
    }

    #[test]
    fn spellings_are_read_longest_first_and_never_run_on() {
        let shown = |text: &str| match read(text) {
            Some((Meant::Unit(u), n)) => format!("{} {n}", u.0),
            Some((Meant::Either { us, .. }, n)) => format!("either {} {n}", us.0),
            None => "none".to_owned(),
        };
        assert_eq!(shown("cubic yards of"), "yd3 11");
        assert_eq!(shown("in north-1"), "in 2");
        assert_eq!(shown("into"), "none");
        assert_eq!(shown("cubic \n   yards of"), "yd3 15");
        assert_eq!(shown("m2"), "m2 2");
        assert_eq!(shown("°F for"), "F 3");
        assert_eq!(shown("Litres"), "l 6");
        assert_eq!(shown("gal buckets"), "either US gal 3");
        assert_eq!(shown("mS/cm"), "mS/cm 5");
        assert_eq!(shown("\" deep"), "in 1");
        assert_eq!(shown("day"), "days 3");
    }

    #[test]
    fn temperatures_convert_by_point_and_differences_by_degree() {
        let q = Unit("F").quantity(Range::exact(160.0)).expect("a unit");
        assert!((q.size.low() - 71.111_111).abs() < 1e-5);
        assert_eq!(Unit("F").size_of(q).map(|r| r.low().round()), Some(160.0));
        let ten = Quantity { size: Range::exact(10.0), dimension: Dimension::TemperatureDifference };
        assert_eq!(Unit("F").size_of(ten), Some(Range::exact(18.0)));
    }
}
