//! What cannot be: less than nothing, more than all, none of what must be some, colder than cold can be, beyond the
//! limits of its verb or of what was read.
//!
//! Comes in: what fills a slot. Goes out: what is said of it where it cannot be meant. What is merely unlikely is
//! none of its business; the limits stand in tables.

use super::{
    reader::{Fill, Reader},
    say,
};
use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::{
        compute::{self, Sure},
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::{
        entry::Filler,
        frame::{Limit, Need, Several, Slot, Takes},
    },
    understand::lexicon::Measure,
};

/// No temperature in degrees Celsius is lower.
const ABSOLUTE_ZERO: f64 = -273.15;

impl Reader<'_> {
    /// Why a slot cannot be filled so.
    pub fn impossible(&self, fill: &Fill) -> Option<Diagnostic> {
        if let Filler::Reading { quantity, value, .. } = &fill.filler
            && let Some(slip) = self.misread(quantity, value, fill.loc)
        {
            return Some(slip);
        }
        if below_nothing(&fill.filler) {
            return Some(say::below_nothing(self, fill.loc));
        }
        if let Filler::Level { level: Some(level), .. } = &fill.filler
            && level.size.high() > 1.0 + 1e-9
        {
            return Some(say::more_than_all(self, "1000000 ppm".to_owned(), fill.loc));
        }
        if too_cold(&fill.filler) {
            return Some(say::too_cold(self, fill.loc));
        }
        if let Some(all) = more_than_all(&fill.filler) {
            return Some(say::more_than_all(self, all, fill.loc));
        }
        // `0 of 0 plants`
        if matches!(&fill.filler, Filler::CountOf { among, .. } if among.high() <= 0.0) {
            return Some(say::nothing(self, fill.loc));
        }
        let slot = self.frame.slot(&fill.slot);
        if slot.is_some_and(must_be_some) && nothing(&fill.filler) {
            return Some(say::nothing(self, fill.loc));
        }
        let limit = self.frame.limits.iter().find(|l| l.slot == fill.slot && beyond(l, &fill.filler));
        limit.map(|limit| say::beyond(self, limit, fill.loc))
    }

    /// A reading that is no measure of what was read, or more than that can be.
    fn misread(&self, quantity: &str, value: &Value, loc: Loc) -> Option<Diagnostic> {
        let words = &self.lex.words;
        let measure = words.measure(quantity)?;
        let fits = match (measure, value) {
            (Measure::Plain, Value::Number(_)) => true,
            (Measure::Plain, Value::Quantity(q)) => q.dimension == Dimension::Acidity,
            (Measure::Of(d), Value::Quantity(q)) => q.dimension == d,
            _ => false,
        };
        if !fits {
            return Some(say::misread(self, quantity, measure, loc));
        }
        let over = words.most(quantity).filter(|most| compute::less(most, value) == Some(Sure::Always));
        let under = words.least(quantity).filter(|least| compute::less(value, least) == Some(Sure::Always));
        over.map(|most| say::past(self, quantity, most, "most", loc))
            .or_else(|| under.map(|least| say::past(self, quantity, least, "least", loc)))
    }
}

/// Whether a filler is less than nothing although only a temperature can be.
pub fn below_nothing(filler: &Filler) -> bool {
    let quantity = |q: &Quantity| {
        let degrees = matches!(q.dimension, Dimension::Temperature | Dimension::TemperatureDifference);
        !degrees && q.size.low() < 0.0
    };
    let value = |v: &Value| match v {
        Value::Number(n) => n.low() < 0.0,
        Value::Quantity(q) => quantity(q),
        _ => false,
    };
    match filler {
        Filler::Value(v) | Filler::Reading { value: v, .. } => value(v),
        Filler::Containers { count, each, .. } => count.low() < 0.0 || each.as_ref().is_some_and(quantity),
        Filler::CountOf { hurt, among, .. } => hurt.low() < 0.0 || among.low() < 0.0,
        Filler::Grades(grades) => grades.iter().any(|(n, _)| n.low() < 0.0),
        Filler::Heights(heights) => heights.iter().flatten().any(quantity),
        Filler::Size(sides) => sides.iter().any(quantity),
        Filler::Level { level, .. } => level.as_ref().is_some_and(quantity),
        Filler::Wind { speed, .. } => speed.as_ref().is_some_and(quantity),
        _ => false,
    }
}

/// Whether a temperature is below absolute zero.
fn too_cold(filler: &Filler) -> bool {
    match filler {
        Filler::Value(Value::Quantity(q)) | Filler::Reading { value: Value::Quantity(q), .. } => {
            q.dimension == Dimension::Temperature && q.size.low() < ABSOLUTE_ZERO - 1e-9
        }
        _ => false,
    }
}

/// Whether an amount surely lies outside a limit of its kind.
fn beyond(limit: &Limit, filler: &Filler) -> bool {
    let all = match filler {
        Filler::Value(Value::Quantity(q)) | Filler::Wind { speed: Some(q), .. } => std::slice::from_ref(q),
        Filler::Size(sides) => sides,
        _ => return false,
    };
    let ends = limit.range.size;
    let slack = 1e-9 * ends.low().abs().max(ends.high().abs());
    all.iter().filter(|q| q.dimension == limit.range.dimension).any(|quantity| {
        let size = quantity.size;
        size.high() < ends.low() - slack || size.low() > ends.high() + slack
    })
}

/// `19 of 12 plants`, `120 % of lot x`: surely more than there is; gives all there is.
fn more_than_all(filler: &Filler) -> Option<String> {
    match filler {
        Filler::CountOf { hurt, among, .. } if hurt.low() > among.high() => {
            Some(crate::measure::display::range(*among))
        }
        Filler::Part(part) if part.share.is_some_and(|s| s.low() > 1.0 + 1e-9) => Some("100 %".to_owned()),
        _ => None,
    }
}

/// Whether a slot's amount means nothing if it is none: what a thing is made with, and what is moved.
fn must_be_some(slot: &Slot) -> bool {
    let amount = slot.takes.iter().any(|t| matches!(t, Takes::Amount | Takes::Size | Takes::Pots));
    let ratio = slot.takes.contains(&Takes::Ratio);
    let size = slot.takes.contains(&Takes::Size);
    ratio || size || amount && (slot.need == Need::Must || slot.several == Several::Shared)
}

fn nothing(filler: &Filler) -> bool {
    let none = |r: &Range| r.high() <= 0.0;
    match filler {
        Filler::Value(Value::Number(n)) => none(n),
        Filler::Value(Value::Quantity(q)) => none(&q.size),
        Filler::Containers { count, each, .. } => none(count) || each.as_ref().is_some_and(|q| none(&q.size)),
        Filler::Ratio(a, b) => none(a) || none(b),
        Filler::Size(sides) => sides.iter().any(|q| none(&q.size)),
        _ => false,
    }
}
