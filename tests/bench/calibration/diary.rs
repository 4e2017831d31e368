//! A journal being written: entries by day, and the text they make.
//!
//! Comes in: entries, each with its day, and headings that say a day less exactly. Goes out: one Markdown
//! text. It knows nothing of farms.

use std::{collections::BTreeMap, fmt::Write};

use chrono::{Days, NaiveDate};

use super::world::Day;

/// The date of a day.
pub fn date(day: Day) -> NaiveDate {
    let first = NaiveDate::from_ymd_opt(2026, 3, 1).unwrap();
    first.checked_add_days(Days::new(day.max(0) as u64)).unwrap()
}

/// How a day is headed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Heading {
    /// `## 2026-05-11`
    Plain,
    /// `## 2026-05-11 Monday`
    Weekday,
    /// `## 11 May 2026`
    Long,
    /// `## about 2026-05-11`
    About,
    /// `## week of 2026-05-11`
    Week,
}

/// A journal.
#[derive(Debug, Clone, Default)]
pub struct Diary {
    place: Vec<String>,
    days: BTreeMap<Day, Vec<String>>,
    headings: BTreeMap<Day, Heading>,
}

impl Diary {
    /// An entry of the place, which holds always.
    pub fn place(&mut self, entry: String) {
        self.place.push(entry);
    }

    /// An entry of a day.
    pub fn on(&mut self, day: Day, entry: String) {
        self.days.entry(day).or_default().push(entry);
    }

    /// How a day is headed, where it is not plainly.
    pub fn headed(&mut self, day: Day, heading: Heading) {
        self.headings.entry(day).or_insert(heading);
    }

    /// The entries of a day.
    pub fn entries(&self, day: Day) -> &[String] {
        self.days.get(&day).map(Vec::as_slice).unwrap_or_default()
    }

    /// Days with entries, from one on, in order.
    pub fn days_from(&self, first: Day) -> Vec<Day> {
        self.days.range(first..).map(|(day, _)| *day).collect()
    }

    /// The last day with an entry.
    pub fn last(&self) -> Day {
        self.days.keys().next_back().copied().unwrap_or(0)
    }

    /// The whole text.
    pub fn text(&self) -> String {
        let mut text = "# A season\n\n## The place\n\n".to_owned();
        for entry in &self.place {
            let _ = writeln!(text, "- {entry}");
        }
        for (day, entries) in &self.days {
            let d = date(*day);
            let _ = match self.headings.get(day).copied().unwrap_or(Heading::Plain) {
                Heading::Plain => writeln!(text, "\n## {d}\n"),
                Heading::Weekday => writeln!(text, "\n## {d} {}\n", d.format("%A")),
                Heading::Long => writeln!(text, "\n## {}\n", d.format("%-d %B %Y")),
                Heading::About => writeln!(text, "\n## about {d}\n"),
                Heading::Week => writeln!(text, "\n## week of {d}\n"),
            };
            for entry in entries {
                let _ = writeln!(text, "- {entry}");
            }
        }
        text
    }
}
