//! Days and spans of days.

use chrono::NaiveDate;
use serde::Serialize;

/// One day, or a span of days when the journal knows no better (`week of …`, `2026-05`).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Days {
    /// First day it may be.
    pub first: NaiveDate,
    /// Last day it may be (the same for a known day).
    pub last: NaiveDate,
}

impl Days {
    /// A known day.
    pub fn on(day: NaiveDate) -> Self {
        Self { first: day, last: day }
    }

    /// A span; the ends are put in order.
    pub fn span(a: NaiveDate, b: NaiveDate) -> Self {
        Self { first: a.min(b), last: a.max(b) }
    }
}
