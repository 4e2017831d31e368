//! Days and spans of days: reading them, comparing them, and writing them in words.
//!
//! Comes in: text of a day. Goes out: days, spans, and what is sure about their order. It never asks
//! the clock what day it is.

use chrono::{Datelike, Days as ChronoDays, NaiveDate};
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

    /// Whether it is one known day.
    pub fn is_known(self) -> bool {
        self.first == self.last
    }

    /// The whole month.
    pub fn month(year: i32, month: u32) -> Option<Self> {
        let first = NaiveDate::from_ymd_opt(year, month, 1)?;
        let next = if month == 12 {
            NaiveDate::from_ymd_opt(year + 1, 1, 1)?
        } else {
            NaiveDate::from_ymd_opt(year, month + 1, 1)?
        };
        Some(Self::span(first, next.pred_opt()?))
    }

    /// The whole year.
    pub fn year(year: i32) -> Option<Self> {
        Some(Self::span(NaiveDate::from_ymd_opt(year, 1, 1)?, NaiveDate::from_ymd_opt(year, 12, 31)?))
    }

    /// A day as it is worth telling from `seen`, where it was worked out from rough figures: the day itself up to two
    /// months ahead, the month up to two years, else the year (our judgement).
    pub fn roughly(day: NaiveDate, seen: NaiveDate) -> Self {
        let ahead = (day - seen).num_days();
        let span = match ahead {
            ..=60 => None,
            61..=730 => Self::month(day.year(), day.month()),
            _ => Self::year(day.year()),
        };
        span.unwrap_or(Self::on(day))
    }

    /// Seven days from `day`.
    pub fn week_of(day: NaiveDate) -> Self {
        Self::span(day, shift(day, 6))
    }

    /// The span moved by whole days, later if positive.
    pub fn shifted(self, days: i64) -> Self {
        Self::span(shift(self.first, days), shift(self.last, days))
    }
}

/// A day moved by whole days; the calendar's ends hold it.
pub fn shift(day: NaiveDate, days: i64) -> NaiveDate {
    let by = ChronoDays::new(days.unsigned_abs());
    if days >= 0 {
        day.checked_add_days(by).unwrap_or(NaiveDate::MAX)
    } else {
        day.checked_sub_days(by).unwrap_or(NaiveDate::MIN)
    }
}

/// Why text that looks like a day is none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DayFault {
    /// It is not written like a day at all.
    NotADay,
    /// It is written like one but the calendar has no such day (`2026-02-30`).
    NoSuchDay,
    /// It reads two ways: day first, then month first.
    TwoWays(NaiveDate, NaiveDate),
    /// Only one way is possible, but it is still not a form a journal may use: the day it must be.
    Slashes(NaiveDate),
}

/// Month number of an English month name or its first three letters or more, in any case.
pub fn month_number(word: &str) -> Option<u32> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let word = word.trim_end_matches('.').to_lowercase();
    if word.len() < 3 {
        return None;
    }
    let at = MONTHS.iter().position(|m| m.starts_with(&word) || (word == "sept" && *m == "september"))?;
    u32::try_from(at + 1).ok()
}

/// Weekday number (Monday 0) of an English weekday name or its first three letters or more.
pub fn weekday_number(word: &str) -> Option<u32> {
    const WEEKDAYS: [&str; 7] =
        ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let word = word.trim_end_matches(['.', ',']).to_lowercase();
    if word.len() < 3 {
        return None;
    }
    let at = WEEKDAYS.iter().position(|w| w.starts_with(&word))?;
    u32::try_from(at).ok()
}

/// The weekday of a day, in full: `Saturday`.
pub fn weekday_name(day: NaiveDate) -> &'static str {
    const NAMES: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    NAMES[day.weekday().num_days_from_monday() as usize % 7]
}

/// Reads one day: `2026-03-14`, `14 March 2026`, `March 14, 2026`, `Mar 14 2026`.
///
/// # Errors
/// Says why it is none; slashes are never accepted, but both readings are offered.
pub fn read_day(text: &str) -> Result<NaiveDate, DayFault> {
    let text = text.trim();
    let pieces: Vec<&str> = text.split(['-', '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}']).collect();
    if let [y, m, d] = pieces[..]
        && y.len() == 4
        && [y, m, d].iter().all(|p| !p.is_empty() && p.bytes().all(|b| b.is_ascii_digit()))
    {
        return ymd(y, m, d);
    }
    let figures = |p: &&str| (1..=2).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_digit());
    if let [a, b, y] = pieces[..]
        && [a, b].iter().all(figures)
        && y.len() == 4
        && y.bytes().all(|b| b.is_ascii_digit())
    {
        return Err(slashes(a, b, y));
    }
    let pieces: Vec<&str> = text.split(['/', '.']).collect();
    if let [a, b, c] = pieces[..]
        && [a, b, c].iter().all(|p| !p.is_empty() && p.len() <= 4 && p.bytes().all(|x| x.is_ascii_digit()))
    {
        return Err(slashes(a, b, c));
    }
    let words: Vec<&str> = text.split([' ', ',']).filter(|w| !w.is_empty()).collect();
    if let [a, b, y] = words[..]
        && y.len() == 4
    {
        let (day, month) = match (month_number(a), month_number(b)) {
            (Some(m), None) => (ordinal(b), m),
            (None, Some(m)) => (ordinal(a), m),
            _ => return Err(DayFault::NotADay),
        };
        let (Some(day), Ok(year)) = (day, y.parse::<i32>()) else { return Err(DayFault::NotADay) };
        return NaiveDate::from_ymd_opt(year, month, day).ok_or(DayFault::NoSuchDay);
    }
    Err(DayFault::NotADay)
}

fn ordinal(word: &str) -> Option<u32> {
    word.trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse().ok()
}

fn ymd(y: &str, m: &str, d: &str) -> Result<NaiveDate, DayFault> {
    let (Ok(y), Ok(m), Ok(d)) = (y.parse(), m.parse(), d.parse()) else { return Err(DayFault::NotADay) };
    NaiveDate::from_ymd_opt(y, m, d).ok_or(DayFault::NoSuchDay)
}

fn slashes(a: &str, b: &str, c: &str) -> DayFault {
    let number = |s: &str| s.parse::<u32>().unwrap_or(0);
    if a.len() == 4 {
        return match NaiveDate::from_ymd_opt(a.parse().unwrap_or(0), number(b), number(c)) {
            Some(day) => DayFault::Slashes(day),
            None => DayFault::NoSuchDay,
        };
    }
    let year = c.parse::<i32>().unwrap_or(0) + if c.len() <= 2 { 2000 } else { 0 };
    let day_first = NaiveDate::from_ymd_opt(year, number(b), number(a));
    let month_first = NaiveDate::from_ymd_opt(year, number(a), number(b));
    match (day_first, month_first) {
        (Some(x), Some(y)) if x != y => DayFault::TwoWays(x, y),
        (Some(x), _) | (_, Some(x)) => DayFault::Slashes(x),
        (None, None) => DayFault::NoSuchDay,
    }
}

/// A day in words: `20 March 2026`.
pub fn long(day: NaiveDate) -> String {
    format!("{} {} {}", day.day(), month_name(day), day.year())
}

/// A day in words as it is said on another: without its year where that is the same, `20 March`.
pub fn short(day: NaiveDate, said_on: NaiveDate) -> String {
    if day.year() == said_on.year() { format!("{} {}", day.day(), month_name(day)) } else { long(day) }
}

fn month_name(day: NaiveDate) -> String {
    day.format("%B").to_string()
}

/// A day or span in words: `20 March 2026`, `9 to 15 March 2026`, `May 2026`, `2026`.
pub fn words(days: Days) -> String {
    let Days { first, last } = days;
    if first == last {
        return long(first);
    }
    if Days::year(first.year()) == Some(days) {
        return first.year().to_string();
    }
    if Days::month(first.year(), first.month()) == Some(days) {
        return format!("{} {}", month_name(first), first.year());
    }
    if (first.year(), first.month()) == (last.year(), last.month()) {
        return format!("{} to {}", first.day(), long(last));
    }
    if first.year() == last.year() {
        return format!("{} {} to {}", first.day(), month_name(first), long(last));
    }
    format!("{} to {}", long(first), long(last))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).expect("a day")
    }

    #[test]
    fn a_day_reads_in_the_usual_forms_and_slashes_are_refused() {
        let d = day(2026, 3, 14);
        for text in ["2026-03-14", "14 March 2026", "Mar 14, 2026", "March 14th 2026", "14 mar 2026"] {
            assert_eq!(read_day(text), Ok(d), "{text}");
        }
        assert_eq!(read_day("3/4/26"), Err(DayFault::TwoWays(day(2026, 4, 3), day(2026, 3, 4))));
        assert_eq!(read_day("14/3/2026"), Err(DayFault::Slashes(d)));
        assert_eq!(read_day("2026-02-30"), Err(DayFault::NoSuchDay));
        assert_eq!(read_day("spring"), Err(DayFault::NotADay));
        assert_eq!(read_day(""), Err(DayFault::NotADay));
    }

    #[test]
    fn the_further_a_rough_day_is_the_less_is_told_of_it() {
        let seen = day(2026, 9, 13);
        for (told, then) in [
            ("14 March 2026", day(2026, 3, 14)),
            ("12 November 2026", day(2026, 11, 12)),
            ("May 2027", day(2027, 5, 11)),
            ("2034", day(2034, 1, 22)),
        ] {
            let rough = Days::roughly(then, seen);
            assert_eq!(words(rough), told);
            assert!(rough.first <= then && then <= rough.last);
        }
    }

    #[test]
    fn spans_say_only_what_is_known() {
        assert_eq!(words(Days::span(day(2026, 3, 9), day(2026, 3, 15))), "9 to 15 March 2026");
        assert_eq!(words(Days::month(2026, 5).expect("May")), "May 2026");
        assert_eq!(words(Days::year(2026).expect("a year")), "2026");
        assert_eq!(
            words(Days::span(day(2025, 12, 30), day(2026, 1, 5))),
            "30 December 2025 to 5 January 2026"
        );
        assert_eq!(words(Days::on(day(2026, 3, 1))), "1 March 2026");
    }
}
