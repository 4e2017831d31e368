//! Reads the day a heading opens: a day, or a span of days known no better.
//!
//! Comes in: the text of a heading. Goes out: the days, how much of the text they take, and what is
//! wrong with them. Slashes are never guessed at; the weekday is checked, not used.

use chrono::{Datelike, NaiveDate};

use crate::measure::date::{DayFault, Days, month_number, read_day, weekday_number};

/// How many days either way `about` a day may be (our judgement).
pub const ABOUT_DAYS: i64 = 3;

/// What a heading says of its day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Read {
    /// It opens these days.
    Days {
        /// The days.
        days: Days,
        /// The bytes of the text they take.
        len: usize,
        /// A weekday beside them that is not theirs, and the one that is.
        wrong_weekday: Option<(std::ops::Range<usize>, NaiveDate)>,
    },
    /// It starts like a day and is none.
    Fault {
        /// Why.
        fault: DayFault,
        /// The bytes that look like a day.
        span: std::ops::Range<usize>,
    },
    /// A day and month without a year, or a month without one (`14 March`, `June`).
    NoYear(std::ops::Range<usize>),
    /// It does not start with a day.
    None,
}

/// Reads a heading's text.
pub fn read(text: &str) -> Read {
    let words = spoken(words(text));
    let lower: Vec<String> = words.iter().map(|w| w.text.to_lowercase()).collect();
    let mut at = 0;
    let mut before = None;
    if let Some(w) = words.first()
        && weekday_number(w.text).is_some()
    {
        before = Some(0);
        at = 1;
    }
    let is = |n: usize, word: &str| lower.get(n).is_some_and(|w| w == word);
    let (about, week) = if is(at, "about") || is(at, "around") || is(at, "c.") || is(at, "circa") {
        at += 1;
        (true, false)
    } else if is(at, "week") && is(at + 1, "of") {
        at += 2;
        (false, true)
    } else {
        (false, false)
    };
    let (first, next) = match one(&words, at, None) {
        One::Days(days, next) => (days, next),
        One::Fault(fault, n) => {
            let span =
                words.get(at).map_or(0, |w| w.start)..words.get(n.saturating_sub(1)).map_or(0, |w| w.end);
            return Read::Fault { fault, span };
        }
        One::NoYear(n) => {
            // A month alone is prose unless something says a day was meant (`May be late`).
            return Read::NoYear(
                words.get(at).map_or(0, |w| w.start)..words.get(n.saturating_sub(1)).map_or(0, |w| w.end),
            );
        }
        One::None => return Read::None,
    };
    let mut days = first;
    let mut end = next;
    if about {
        days = Days::span(first.shifted(-ABOUT_DAYS).first, first.shifted(ABOUT_DAYS).last);
    } else if week {
        days = Days::week_of(first.first);
    }
    if is(next, "to") || is(next, "-") || is(next, "–") || is(next, "until") {
        match one(&words, next + 1, Some(first.first)) {
            One::Days(last, n) => {
                days = Days::span(first.first, last.last);
                end = n;
            }
            One::Fault(fault, n) => {
                let span = words.get(next + 1).map_or(0, |w| w.start)
                    ..words.get(n.saturating_sub(1)).map_or(0, |w| w.end);
                return Read::Fault { fault, span };
            }
            One::NoYear(_) | One::None => {}
        }
    }
    let weekday = before.or_else(|| words.get(end).filter(|w| weekday_number(w.text).is_some()).map(|_| end));
    let wrong_weekday = weekday.and_then(|n| {
        let w = words.get(n)?;
        let named = weekday_number(w.text)?;
        (first.is_known() && first.first.weekday().num_days_from_monday() != named)
            .then_some((w.start..w.end, first.first))
    });
    let len = words.get(end.saturating_sub(1)).map_or(0, |w| w.end);
    Read::Days { days, len, wrong_weekday }
}

/// A day or month without its year, written with the year that the headings before or after it make likely.
pub fn with_year(written: &str, before: Option<NaiveDate>, first: Option<NaiveDate>) -> Option<String> {
    let near = before.or(first)?;
    let in_year = |year: i32| match read(&format!("{written} {year}")) {
        Read::Days { days, .. } => Some(days),
        _ => None,
    };
    // A diary goes on: the first such day that is not long before the heading above it.
    let early = before.map_or(near, |day| crate::measure::date::shift(day, -HALF_A_YEAR));
    let days = [near.year(), near.year() + 1].into_iter().filter_map(in_year).find(|d| d.last >= early)?;
    Some(if days.is_known() { days.first.to_string() } else { days.first.format("%Y-%m").to_string() })
}

/// How many days a heading may stand below a later one before the next year is likelier (our judgement).
const HALF_A_YEAR: i64 = 183;

/// A heading that is no day, although one was meant: a season with its year (`Spring 2027`), a weekday alone.
pub fn dateless(text: &str) -> Option<std::ops::Range<usize>> {
    const SEASONS: [&str; 6] = ["spring", "summer", "autumn", "fall", "winter", "week"];
    let words = words(text);
    if let [day] = words.as_slice()
        && weekday_number(day.text).is_some()
    {
        return Some(day.start..day.end);
    }
    let year = |w: &Word<'_>| w.text.len() == 4 && (w.text.starts_with("19") || w.text.starts_with("20"));
    let is_year = |w: &&Word<'_>| year(w) && w.text.bytes().all(|b| b.is_ascii_digit());
    let season = words.iter().any(|w| SEASONS.contains(&w.text.to_lowercase().as_str()));
    let (first, last) = (words.first()?, words.iter().find(is_year)?);
    season.then_some(first.start..last.end.max(first.end))
}

struct Word<'a> {
    text: &'a str,
    start: usize,
    end: usize,
}

fn words(text: &str) -> Vec<Word<'_>> {
    let mut out = Vec::new();
    let mut start = None;
    for (i, c) in text.char_indices().chain([(text.len(), ' ')]) {
        let gap = c.is_whitespace() || matches!(c, ',' | '(' | ')' | '*' | '[' | ']' | ':' | ';');
        match (gap, start) {
            (false, None) => start = Some(i),
            (true, Some(from)) => {
                out.push(Word { text: &text[from..i], start: from, end: i });
                start = None;
            }
            _ => {}
        }
    }
    out
}

/// `the 3rd of March 2026` without the words that only join it.
fn spoken(mut words: Vec<Word<'_>>) -> Vec<Word<'_>> {
    let is = |w: Option<&Word<'_>>, word: &str| w.is_some_and(|w| w.text.eq_ignore_ascii_case(word));
    let named = |w: Option<&Word<'_>>| w.is_some_and(|w| month_number(w.text).is_some());
    if let Some(of) = (1..words.len()).find(|n| is(words.get(*n), "of") && named(words.get(n + 1)))
        && words.get(of - 1).is_some_and(|w| w.text.starts_with(|c: char| c.is_ascii_digit()))
    {
        words.remove(of);
    }
    let dated = words.get(1).is_some_and(|w| w.text.starts_with(|c: char| c.is_ascii_digit()));
    if is(words.first(), "the") && dated && named(words.get(2)) {
        words.remove(0);
    }
    words
}

/// The digits of a day written without dashes (`20260301`), or with a time of day after it
/// (`2026-03-01T10:00`).
fn compact(text: &str) -> Option<NaiveDate> {
    let day = text.split_once(['T', 't']).map_or(text, |(day, _)| day);
    let digits = day.bytes().all(|b| b.is_ascii_digit());
    if digits && day.len() == 8 && (day.starts_with("19") || day.starts_with("20")) {
        return NaiveDate::parse_from_str(day, "%Y%m%d").ok();
    }
    let timed = text.get(day.len() + 1..)?.starts_with(|c: char| c.is_ascii_digit());
    if timed && day.len() == 10 { NaiveDate::parse_from_str(day, "%Y-%m-%d").ok() } else { None }
}

enum One {
    Days(Days, usize),
    Fault(DayFault, usize),
    NoYear(usize),
    None,
}

/// One day or month from word `at`; `after` is the first day of a span, which lends the second what
/// it leaves out (`2026-05-11 to 13`).
fn one(words: &[Word<'_>], at: usize, after: Option<NaiveDate>) -> One {
    let Some(word) = words.get(at) else { return One::None };
    let text = word.text;
    if let Some(days) = year_month(text).or_else(|| compact(text).map(Days::on)) {
        return One::Days(days, at + 1);
    }
    let numeric = text.starts_with(|c: char| c.is_ascii_digit())
        && text.chars().all(|c| c.is_ascii_digit() || matches!(c, '/' | '.' | '-' | '\u{2010}'..='\u{2013}'));
    if numeric && text.chars().filter(|c| !c.is_ascii_digit()).count() == 2 {
        return match read_day(text) {
            Ok(day) => One::Days(Days::on(day), at + 1),
            Err(fault) => One::Fault(fault, at + 1),
        };
    }
    match worded(words, at, after) {
        One::None => {}
        read => return read,
    }
    if let Some(days) = after.and_then(|from| rest_of_span(text, from)) {
        return One::Days(days, at + 1);
    }
    shared_month(words, at)
}

/// `11 to 13 May 2026`, `11-13 May 2026`: the month is named at the end only.
fn shared_month(words: &[Word<'_>], at: usize) -> One {
    let get = |n: usize| words.get(n).map_or("", |w| w.text);
    if let Some((first, last)) = get(at).split_once(['-', '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}'])
        && let Some(word) = words.get(at)
        && let (Ok(first), Ok(_)) = (first.parse::<u32>(), last.parse::<u32>())
    {
        let last = Word { text: last, start: word.start, end: word.end };
        let after = words.get(at + 1..).unwrap_or(&[]).iter().map(|w| Word { ..*w });
        let spoken: Vec<Word<'_>> = std::iter::once(last).chain(after).collect();
        return span_to(first, worded(&spoken, 0, None), at);
    }
    let (Ok(first), true) = (get(at).parse::<u32>(), matches!(get(at + 1), "to" | "-" | "\u{2013}")) else {
        return One::None;
    };
    span_to(first, worded(words, at + 2, None), 0)
}

/// From a day of the month to a day read after it, `on` words further.
fn span_to(first: u32, last: One, on: usize) -> One {
    match last {
        One::Days(last, next) => {
            match NaiveDate::from_ymd_opt(last.first.year(), last.first.month(), first) {
                Some(first) => One::Days(Days::span(first, last.last), next + on),
                None => One::Fault(DayFault::NoSuchDay, next + on),
            }
        }
        One::Fault(fault, next) => One::Fault(fault, next + on),
        One::NoYear(next) => One::NoYear(next + on),
        One::None => One::None,
    }
}

/// `14 March 2026`, `March 14, 2026`, `14 March` or `13` within a span, `May 2026`.
fn worded(words: &[Word<'_>], at: usize, after: Option<NaiveDate>) -> One {
    let get = |n: usize| words.get(n).map_or("", |w| w.text);
    let (a, b, c) = (get(at), get(at + 1), get(at + 2));
    let number = |w: &str| {
        let digits =
            w.trim_end_matches("st").trim_end_matches("nd").trim_end_matches("rd").trim_end_matches("th");
        digits.parse::<u32>().ok().filter(|n| (1..=31).contains(n))
    };
    let year = |w: &str| (w.len() == 4).then(|| w.parse::<i32>().ok()).flatten();
    if let (Some(_), Some(y)) = (month_number(a), year(b)) {
        return match month_number(a).and_then(|m| Days::month(y, m)) {
            Some(days) => One::Days(days, at + 2),
            None => One::Fault(DayFault::NoSuchDay, at + 2),
        };
    }
    let (day, month) = match (number(a), month_number(b), month_number(a), number(b)) {
        (Some(d), Some(m), _, _) | (_, _, Some(m), Some(d)) => (d, m),
        (_, _, Some(_), _) => return One::NoYear(at + 1),
        _ => return One::None,
    };
    // `11 to 13 May 2026` names the month at its end only; the caller reads that as a day without one.
    let (y, used) = match (year(c), after) {
        (Some(y), _) => (y, 3),
        (None, Some(from)) => (from.year(), 2),
        (None, None) => return One::NoYear(at + 2),
    };
    match NaiveDate::from_ymd_opt(y, month, day) {
        Some(d) => One::Days(Days::on(d), at + used),
        None => One::Fault(DayFault::NoSuchDay, at + used),
    }
}

/// `2026-05`
fn year_month(text: &str) -> Option<Days> {
    let (y, m) = text.split_once(['-', '\u{2010}', '\u{2011}', '\u{2012}', '\u{2013}'])?;
    let digits = |s: &str, n: usize| s.len() == n && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(y, 4) || !digits(m, 2) {
        return None;
    }
    Days::month(y.parse().ok()?, m.parse().ok()?)
}

/// `13` or `06-02` after the first day of a span.
fn rest_of_span(text: &str, from: NaiveDate) -> Option<Days> {
    let day = |m: u32, d: u32| NaiveDate::from_ymd_opt(from.year(), m, d).map(Days::on);
    if let Some((m, d)) = text.split_once('-') {
        return day(m.parse().ok()?, d.parse().ok()?);
    }
    day(from.month(), text.parse().ok()?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> String {
        match read(text) {
            Read::Days { days, len, wrong_weekday } => {
                let weekday = wrong_weekday.map_or(String::new(), |(s, _)| format!(", not {}", &text[s]));
                format!("{} to {}{weekday} | {}", days.first, days.last, &text[len..])
            }
            Read::Fault { fault, span } => format!("{fault:?} {:?}", &text[span]),
            Read::NoYear(span) => format!("no year {:?}", &text[span]),
            Read::None => "no day".into(),
        }
    }

    #[test]
    fn days_read_in_every_form_a_heading_may_use() {
        let lines = [
            "2026-03-14",
            "2026-03-14 Saturday",
            "2026-03-14, Sunday: the lorry",
            "Sat 14 March 2026",
            "14 March 2026",
            "Mar 14, 2026",
            "2026\u{2013}03\u{2013}14",
            "about 2026-05-11",
            "week of 2026-05-11 Tuesday",
            "2026-05",
            "May 2026",
            "2026-05-11 to 13",
            "5-7 March 2027",
            "03-05-2027",
            "2026-05-30 to 06-02",
            "2026-05-30 to 2026-06-02",
            "14 May 2026 to 16 May",
            "11 to 13 May 2026",
            "3/4/26",
            "14/3/2026",
            "2026-02-30",
            "2026-13-01",
            "June sometime",
            "14 March",
            "the 3rd of March 2026",
            "3rd of March 2026, the lorry",
            "20260301",
            "2026-03-01T10:00",
            "20261399",
            "May be late",
            "The place",
            "12 tomatoes",
            "",
            "🍅",
        ];
        let read: Vec<String> = lines.iter().map(|l| format!("{l}\n    {}", shown(l))).collect();
        insta::assert_snapshot!(read.join("\n"));
    }
}
