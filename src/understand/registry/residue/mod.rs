//! `residue`: what a place is made up of on a day, what level of a substance that makes, and how that fades.
//!
//! Comes in: what lineage reads, findings, rates, depths, tables, and which places are asked about. Goes out:
//! shares by volume and by weight, levels as ranges, chances and days for the levels asked about, and why no
//! clock runs. The sums are done in `reckon::{residue, doses, decay}`. It knows no substance and no stuff.
//!
//! A finding of the place itself goes before everything that came before it. Else each source that was measured,
//! or is made of what was measured, brings its level times its share of the weight; what was never measured
//! brings nothing, so a level is only of what is known. What lies on top of ground is no part of its make-up, but
//! anything from none to all that is in it may have been washed down.

mod levels;
mod makeup;
mod said;
mod stuff;

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::lineage::{self, Tale, is};
use crate::{
    measure::value::Value,
    model::program::{Given, Reckoned},
};
use said::Book;
use stuff::Stuff;

const FIRST: usize = lineage::READS.len();
const COUNT: usize = FIRST + said::READS.len();

/// The sentences read: lineage's, then its own.
pub const READS: &[&str] = &{
    let mut all = [""; COUNT];
    let mut n = 0;
    while n < COUNT {
        all[n] = if n < FIRST { lineage::READS[n] } else { said::READS[n - FIRST] };
        n += 1;
    }
    all
};

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{share:share} of {place} by volume is {source} on {day:date}",
    "{share:share} of {place} by weight is {source} on {day:date}",
    "{share:share} of {place} by weight came from {source} on {day:date}",
    "the make-up of {place} is reckoned {depth:length} deep on {day:date}",
    "{place} is reckoned to hold {level:concentration} {substance} on {day:date}",
    "the chance that {place} holds at most {level:concentration} {substance} on {day:date} is {p:share}",
    "{place} holds at most {level:concentration} {substance} with a chance of {p:share} from {day:date}",
    "days are not reckoned for {substance} in {place}, because {reason:text}",
    "the results of {substance} in {place} do not fall as one decay",
    "the results of {substance} in {place} halve in {time:duration}",
    "{source} lies on top of {place} on {day:date}, since {since:date}",
    "{source} lies {depth:length} deep on top of {place} on {day:date}",
];

/// Kinds of place whose stuff lies in ground.
const GROUND: &[&str] = &["bed", "path", "field"];

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    let book = Book::of(given, FIRST);
    if book.asked.is_empty() {
        return Vec::new();
    }
    let tale = Tale::read(given);
    let mut by_day: BTreeMap<NaiveDate, Vec<(&Value, usize)>> = BTreeMap::new();
    for ((place, day), said) in &book.asked {
        by_day.entry(*day).or_default().push((place, *said));
    }
    // Nothing moves after the last event, so days after it share one following of the stuff.
    let last = tale.steps.iter().filter(|(_, planned)| !planned).map(|(e, _)| e.days.last).max();
    let mut followed: BTreeMap<NaiveDate, (Stuff<'_>, Option<Stuff<'_>>)> = BTreeMap::new();
    let mut out = Vec::new();
    let measured = |v: &Value| book.found.keys().any(|(thing, _)| *thing == v);
    for (day, places) in by_day {
        let until = last.map_or(day, |last| day.min(last));
        let (stuff, sealed) = followed.entry(until).or_insert_with(|| {
            let follow = |shut: &dyn Fn(&Value) -> bool| Stuff::on(until, &tale, given, &book, shut);
            let sealed = (!book.found.is_empty()).then(|| follow(&measured));
            (follow(&|_| false), sealed)
        });
        for (place, asked) in places {
            let desk = Desk { book: &book, tale: &tale, given, place, day, asked };
            let ground = is(place, GROUND);
            // What animals ate and people were given is a link, not a mix with shares.
            if !ground && !is(place, lineage::STOCKS) {
                continue;
            }
            makeup::tell(&desk, stuff, ground, &mut out);
            levels::tell(&desk, sealed.as_ref().unwrap_or(stuff), ground, &mut out);
        }
    }
    out
}

/// What is at hand while one place is reckoned for one day.
struct Desk<'a> {
    book: &'a Book<'a>,
    tale: &'a Tale,
    given: &'a [Given<'a>],
    place: &'a Value,
    day: NaiveDate,
    /// The sentence that asks.
    asked: usize,
}

impl Desk<'_> {
    /// The sentences that say how large a place is.
    fn sizes(&self) -> impl Iterator<Item = usize> + '_ {
        self.given
            .iter()
            .enumerate()
            .filter(|(_, g)| {
                READS.get(g.input).is_some_and(|s| s.starts_with("{name} measures"))
                    && g.values.first() == Some(self.place)
            })
            .map(|(n, _)| n)
    }
}
