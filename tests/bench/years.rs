//! A farm of any age, written out the same way every time.
//!
//! Comes in: a number of years. Goes out: the files of a journal, one for each quarter, some five hundred
//! entries a year: loads and where they went, bean tests, sowings, sightings, readings, mushrooms. It
//! measures size, not taste: the diary reads like a machine's.

use std::{collections::BTreeMap, fmt::Write};

use chrono::{Datelike, Days, NaiveDate};

/// The first year of every farm.
const FIRST: i32 = 2006;

const BEDS: usize = 12;
const CROPS: [&str; 10] = [
    "tomato",
    "broad bean",
    "pea",
    "lettuce",
    "potato",
    "squash",
    "beetroot",
    "carrot",
    "sweet corn",
    "onion",
];
const WHO: [&str; 4] = ["Tern Quay Soils", "Pell", "Hobb & Daughter", "Low Marsh Stables"];

/// The files of a farm's journal, path and text, in order.
pub fn journal(years: u32) -> Vec<(String, String)> {
    let mut files = vec![("0-place.md".to_owned(), place())];
    for n in 0..years {
        let year = FIRST + i32::try_from(n).unwrap_or(0);
        for (quarter, text) in one_year(year) {
            files.push((format!("{year}-{quarter}.md"), text));
        }
    }
    files
}

/// The last day of a farm's journal: the day to read it on.
pub fn last_day(years: u32) -> NaiveDate {
    day(FIRST + i32::try_from(years).unwrap_or(0) - 1, 12, 28)
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap_or(NaiveDate::MIN)
}

fn place() -> String {
    let mut text = "# The place\n\n- farm: imperial\n- room east tunnel, 60 ft x 20 ft\n".to_owned();
    for bed in 1..=BEDS {
        let _ = writeln!(text, "- bed b-{bed}, 30 ft x 4 ft");
    }
    text + "- field Long Acre, 200 ft north of b-1\n- heap main, 10 ft x 6 ft\n- unit barrow, 80 l\n\
            - unit bag, 40 l\n- animals goats\n"
}

/// Numbers that look thrown and are the same every time (a linear congruential generator after Knuth, MMIX).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap_or(0) % n.max(1)
    }

    fn one<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of.get(self.below(of.len())).copied().unwrap_or("")
    }

    fn bed(&mut self) -> usize {
        1 + self.below(BEDS)
    }
}

/// The entries of a year by day.
struct Year {
    year: i32,
    entries: BTreeMap<NaiveDate, Vec<String>>,
}

impl Year {
    fn on(&mut self, month: u32, d: u32, entry: impl Into<String>) {
        self.entries.entry(day(self.year, month, d)).or_default().push(entry.into());
    }

    fn at(&mut self, date: NaiveDate, entry: impl Into<String>) {
        self.entries.entry(date).or_default().push(entry.into());
    }
}

fn one_year(year: i32) -> Vec<(u32, String)> {
    let mut dice = Dice(u64::from(year.unsigned_abs()));
    let mut all = Year { year, entries: BTreeMap::new() };
    loads(&mut all, &mut dice);
    mushrooms(&mut all);
    season(&mut all, &mut dice);
    written(all)
}

/// Four loads a year, each tested, spread and partly heaped. In every fourth year one of them is bad.
fn loads(all: &mut Year, dice: &mut Dice) {
    let year = all.year;
    all.on(2, 1, format!("received 12 bags potting mix as lot mix-{year} from Hobb & Daughter"));
    for n in 1..=4u32 {
        let (month, bad) = (1 + n, year % 4 == 0 && n == 2);
        let lot = format!("load-{year}-{n}");
        let who = dice.one(&WHO);
        all.on(
            month,
            3,
            format!(
                "received {} yd3 compost as lot {lot} from {who}, made from horse manure",
                3 + dice.below(5)
            ),
        );
        all.on(month, 4, format!("potted 4 pots of bean in lot {lot} mixed 2:1 with lot mix-{year} as test t-{year}-{n}, 3 seeds each"));
        all.on(
            month,
            4,
            format!("potted 4 pots of bean in lot mix-{year} as control of test t-{year}-{n}, 3 seeds each"),
        );
        let result = if bad { "4 of 4 pots hurt, severe" } else { "0 of 4 pots hurt" };
        all.on(month, 26, format!("read test t-{year}-{n}: {result}; control 0 of 4 pots hurt"));
        for _ in 0..3 {
            let bed = dice.bed();
            all.on(month, 27, format!("spread 4 barrows of lot {lot} on b-{bed}"));
        }
        all.on(month, 28, format!("heaped 3 barrows of lot {lot} on heap main"));
        if bad {
            all.on(
                month + 1,
                12,
                format!("noticed cupped leaves on tomato in b-{}, new growth, severe", dice.bed()),
            );
            all.on(month + 1, 13, format!("told {who} about lot {lot}"));
        }
    }
    for month in [3, 6, 9, 11] {
        all.on(month, 15, "turned heap main, 55 C");
    }
}

/// One batch of straw, heated with readings, spawned, picked and tipped.
fn mushrooms(all: &mut Year) {
    let year = all.year;
    all.on(4, 2, format!("received 60 lb straw as lot straw-{year} from Pell"));
    all.on(4, 5, format!("heated 40 lb of lot straw-{year} as batch b-{year} at 165 F for 90 min"));
    all.on(4, 5, format!("measured batch b-{year}: 10:20 150 F, 10:35 162 F, 10:50 166 F, 11:20 168 F, 11:50 166 F, 12:15 161 F"));
    all.on(4, 6, format!("cooled batch b-{year} to 75 F"));
    all.on(4, 6, format!("inoculated batch b-{year} with 5 lb blue oyster spawn into 8 5-gal buckets"));
    all.on(4, 27, format!("noticed pins on bucket 5 of batch b-{year}"));
    for n in 1..=8 {
        all.on(5, 2 + n, format!("picked 2 1/2 lb from bucket {n} of batch b-{year}, flush 1"));
    }
    all.on(7, 1, format!("tipped batch b-{year} on b-12"));
}

/// The daily round from March to November.
fn season(all: &mut Year, dice: &mut Dice) {
    let mut date = day(all.year, 3, 1);
    while date.month() < 12 {
        let (bed, crop) = (dice.bed(), dice.one(&CROPS));
        let entry = match dice.below(12) {
            0 => format!("sowed {} {crop} in b-{bed}", 10 + dice.below(60)),
            1 | 2 => format!("planted {} {crop} in b-{bed}", 6 + dice.below(20)),
            3 => format!("noticed nothing wrong on {crop} in b-{bed}"),
            4 => format!(
                "noticed {} on {crop} in b-{bed}",
                dice.one(&["yellow leaves", "holes in leaves", "aphids", "slow growth"])
            ),
            5 => format!("watered b-{bed}, {} l", 10 + dice.below(40)),
            6 | 7 => format!("harvested {} lb {crop} from b-{bed}", 1 + dice.below(9)),
            8 => format!("rained {} mm", 1 + dice.below(30)),
            9 => format!("pulled {crop} in b-{bed} to heap main"),
            10 => format!("measured {} C in b-{bed}", 8 + dice.below(20)),
            _ => "note: doors open all day, wind in the west".to_owned(),
        };
        all.at(date, entry);
        if dice.below(2) == 0 {
            all.at(date, format!("fed {crop} in b-{bed} with seaweed, 1:100"));
        }
        if dice.below(3) != 0 {
            date = date.checked_add_days(Days::new(1)).unwrap_or(NaiveDate::MAX);
        }
    }
    all.on(12, 28, "note: the year is done");
}

fn written(all: Year) -> Vec<(u32, String)> {
    let mut quarters: BTreeMap<u32, String> = BTreeMap::new();
    for (date, entries) in all.entries {
        let text = quarters.entry(1 + date.month0() / 3).or_insert_with(|| format!("# {}\n", all.year));
        let _ = write!(text, "\n## {date}\n\nA few words about the day that nobody needs to understand.\n\n");
        for entry in entries {
            let _ = writeln!(text, "- {entry}");
        }
    }
    quarters.into_iter().collect()
}
