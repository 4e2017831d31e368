//! The verdict of a bean test: void, hurt, unclear or clear, with the reasons a test is void.
//!
//! Comes in: pots of both arms with their losses, readings with counts. Goes out: one verdict and
//! what it rests on. It does not say what a verdict covers (this crop, at this mix, for so long);
//! pages do.
//!
//! Where the rules come from:
//! - A test whose control plants look wrong says nothing about the lot; so does one whose control came
//!   up poorly. OECD, *Test Guideline 208: Terrestrial Plant Test*, 2006 (read in a copy): the
//!   control must show at least 70 % emergence and no visible injury.
//! - Control normal and test hurt: treat the lot as contaminated. NC State Extension, *Herbicide
//!   Carryover in Hay, Manure, Compost, and Grass Clippings* (AG-727), as reprinted by Oregon State
//!   Small Farms, 2009 (read in a reprint): 3 to 6 pots, several control pots, 2 to 3 weeks.
//! - The pot is the unit: seedlings in one pot are not independent. Three pots against three, all
//!   against none, is the least that reaches one in twenty (1/20; our arithmetic, see `exact`).
//! - Nothing sown is judged within a week of potting: beans and peas take six days or more to come up even in
//!   the warmest soil (Harrington and Minges, *Vegetable Seed Germination*, University of California, 1954;
//!   from memory), and damage shows on true leaves.
//! - That a control read up to [`CONTROL_WITHIN`] days away still speaks for a reading, and that a
//!   reading without hurt before [`SOONEST_CLEAR`] days clears nothing, are our judgement on that text.

use chrono::NaiveDate;

use super::exact::{Table, fisher};
use crate::base::name::counted;

/// Least number of pots in each arm when it is read.
pub const FEWEST_POTS: u32 = 3;
/// Least share of control seeds that must come up. OECD 208 (2006).
pub const LEAST_EMERGENCE: f64 = 0.70;
/// Days after potting before which a reading without hurt clears nothing: two weeks.
pub const SOONEST_CLEAR: i64 = 14;
/// Days after potting before which no reading counts: there are no leaves yet to be hurt.
pub const SOONEST: i64 = 7;
/// Days between a reading of the test and the reading of its control.
pub const CONTROL_WITHIN: i64 = 7;
/// Greatest one-sided probability that counts as hurt.
pub const GREATEST_P: f64 = 0.05;
/// Counts beyond this are taken as this: no bean test has so many pots, and sums stay quick.
const MOST_POTS: u32 = 1_000;

/// How a test came out; the later, the worse, but a void one decides only if there is no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// It says nothing: see the reasons.
    Void,
    /// No pot was hurt, in a valid test read late enough.
    Clear,
    /// Some were hurt but chance could do that, or it was read too soon, or no pots were counted.
    Unclear,
    /// More pots were hurt than chance would give one time in twenty.
    Hurt,
}

impl Verdict {
    /// The word sentences use.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Void => "void",
            Verdict::Clear => "clear",
            Verdict::Unclear => "unclear",
            Verdict::Hurt => "hurt",
        }
    }
}

/// So many of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Count {
    /// Those that are so.
    pub of_these: u32,
    /// All.
    pub all: u32,
}

/// Pots put up or lost on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pots {
    /// The day.
    pub day: NaiveDate,
    /// How many; 0 where an arm was put up and nobody wrote how many.
    pub number: u32,
}

/// One arm of a test.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Arm {
    /// Pots put up.
    pub potted: Vec<Pots>,
    /// Pots lost.
    pub lost: Vec<Pots>,
    /// Pots hurt, by the day they were read.
    pub hurt: Vec<(NaiveDate, Count)>,
    /// Seeds up, by the day they were counted.
    pub up: Vec<(NaiveDate, Count)>,
}

impl Arm {
    /// Pots standing on a day; `None` if nobody wrote how many were put up.
    fn standing(&self, day: NaiveDate) -> Option<u32> {
        let up_to = |list: &[Pots]| -> u32 {
            list.iter().filter(|p| p.day <= day).fold(0, |n, p| n.saturating_add(p.number))
        };
        (!self.potted.is_empty() && self.potted.iter().all(|p| p.number > 0))
            .then(|| up_to(&self.potted).saturating_sub(up_to(&self.lost)))
    }
}

/// A bean test as the diary tells it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BeanTest {
    /// Pots of the lot in question.
    pub test: Arm,
    /// Pots of clean medium.
    pub control: Arm,
    /// Days on which the test was read for a verdict (looks `so far` are left out).
    pub read: Vec<NaiveDate>,
}

/// Why a reading is void.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// Nobody potted a control.
    NoControl,
    /// The control was not read near the day the test was.
    ControlUnread,
    /// Control pots were hurt.
    ControlHurt(Count),
    /// Too few control seeds came up.
    ControlPoorlyUp(Count),
    /// Too few pots of the test were left.
    FewPots(u32),
    /// Too few pots of the control were left.
    FewControls(u32),
    /// It was read before it was potted.
    ReadBeforePotted,
    /// It was read before anything could show.
    ReadTooSoon,
    /// More pots were hurt than there were.
    MoreThanAll,
}

impl Reason {
    /// The reason as the end of "is void because …".
    pub fn words(self) -> String {
        let pots = |n: u32| counted(&n.to_string(), "pot");
        match self {
            Reason::NoControl => "it has no control".into(),
            Reason::ControlUnread => "its control was not read within a week of it".into(),
            Reason::ControlHurt(c) => format!("{} of {} control pots were hurt", c.of_these, c.all),
            Reason::ControlPoorlyUp(c) => {
                format!("only {} of {} control seeds came up, and 7 in 10 are needed", c.of_these, c.all)
            }
            Reason::FewPots(n) => {
                format!("only {} of the lot stood when it was read, and 3 pots are needed", pots(n))
            }
            Reason::FewControls(n) => {
                format!("only {} of the control stood when it was read, and 3 pots are needed", pots(n))
            }
            Reason::ReadBeforePotted => "it was read before it was potted".into(),
            Reason::ReadTooSoon => {
                "it was read within a week of potting, before there are leaves to tell by".into()
            }
            Reason::MoreThanAll => "more pots were counted hurt than there were".into(),
        }
    }
}

/// One reading judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The day it was read.
    pub day: NaiveDate,
    /// The verdict of this reading alone.
    pub verdict: Verdict,
    /// Why it is void; empty for other verdicts.
    pub reasons: Vec<Reason>,
    /// Pots of the lot hurt, where they were counted.
    pub hurt: Option<Count>,
    /// Pots of the control hurt, where they were counted.
    pub control: Option<Count>,
    /// The one-sided exact probability, where both arms were counted.
    pub p: Option<f64>,
}

/// Every reading judged by itself, in order of day. Empty for a test not read yet.
///
/// A day on which pots were counted is a reading. Where none ever were, so is a day on which something
/// else than seeds was looked at: seeds come up before there is hurt to see.
pub fn readings(test: &BeanTest) -> Vec<Judged> {
    let on = |list: &[(NaiveDate, Count)], day: NaiveDate| list.iter().any(|(d, _)| *d == day);
    let counted: Vec<NaiveDate> = test.read.iter().copied().filter(|d| on(&test.test.hurt, *d)).collect();
    let mut days = if counted.is_empty() {
        let seeds_only = |d: NaiveDate| on(&test.test.up, d) || on(&test.control.up, d);
        test.read.iter().copied().filter(|d| !seeds_only(*d)).collect()
    } else {
        counted
    };
    days.sort_unstable();
    days.dedup();
    days.into_iter().map(|day| judge(test, day)).collect()
}

/// The verdict of the whole test: the worst valid reading, the earliest of equals; void only if no
/// reading is valid. `None` for a test not read yet. That no pot was hurt when it was read too soon
/// gives way to any valid reading later on.
pub fn verdict(test: &BeanTest) -> Option<Judged> {
    let all = readings(test);
    let last = all.iter().filter(|j| j.verdict != Verdict::Void).map(|j| j.day).max();
    let soon = |j: &Judged| j.verdict == Verdict::Unclear && j.hurt.is_some_and(|c| c.of_these == 0);
    let decides = |j: &&Judged| !(soon(j) && last.is_some_and(|last| last > j.day));
    let worst = all.iter().filter(decides).map(|j| j.verdict).max()?;
    all.iter().filter(decides).find(|j| j.verdict == worst).cloned()
}

fn judge(test: &BeanTest, day: NaiveDate) -> Judged {
    let hurt = on_day(&test.test.hurt, day);
    let control = nearest(&test.control.hurt, day);
    let mut reasons = Vec::new();

    let potted = test.test.potted.iter().map(|p| p.day).min();
    if potted.is_some_and(|p| p > day) {
        reasons.push(Reason::ReadBeforePotted);
    } else if potted.is_some_and(|p| (day - p).num_days() < SOONEST) {
        reasons.push(Reason::ReadTooSoon);
    }
    if test.control.potted.is_empty() && test.control.hurt.is_empty() {
        reasons.push(Reason::NoControl);
    } else if hurt.is_some() && control.is_none() {
        reasons.push(Reason::ControlUnread);
    }
    if let Some(c) = worst_control(&test.control.hurt, day).filter(|c| c.of_these > 0) {
        reasons.push(Reason::ControlHurt(c));
    }
    if let Some(c) = latest(&test.control.up, day).filter(|c| poorly(*c)) {
        reasons.push(Reason::ControlPoorlyUp(c));
    }
    if let Some(n) = pots_left(&test.test, hurt, day).filter(|n| *n < FEWEST_POTS) {
        reasons.push(Reason::FewPots(n));
    }
    if let Some(n) = pots_left(&test.control, control, day).filter(|n| *n < FEWEST_POTS) {
        reasons.push(Reason::FewControls(n));
    }
    if [hurt, control].into_iter().flatten().any(|c| c.of_these > c.all) {
        reasons.push(Reason::MoreThanAll);
    }
    reasons.sort_unstable();

    let p = hurt.zip(control).map(|(t, c)| one_sided(t, c));
    let verdict = if reasons.is_empty() { valid_verdict(hurt, p, potted, day) } else { Verdict::Void };
    Judged { day, verdict, reasons, hurt, control, p }
}

fn valid_verdict(hurt: Option<Count>, p: Option<f64>, potted: Option<NaiveDate>, day: NaiveDate) -> Verdict {
    // 1/20 is exact in the sum of whole weights but not as a float: leave room for the last bit.
    let shown = p.is_some_and(|p| p <= GREATEST_P + 1e-12);
    match hurt {
        Some(_) if shown => Verdict::Hurt,
        Some(c) if c.of_these == 0 && potted.is_none_or(|p| (day - p).num_days() >= SOONEST_CLEAR) => {
            Verdict::Clear
        }
        _ => Verdict::Unclear,
    }
}

fn one_sided(test: Count, control: Count) -> f64 {
    let hurt = |c: Count| c.of_these.min(c.all).min(MOST_POTS);
    let fine = |c: Count| c.all.saturating_sub(c.of_these).min(MOST_POTS);
    fisher(Table { a: hurt(test), b: fine(test), c: hurt(control), d: fine(control) }).greater
}

fn poorly(c: Count) -> bool {
    c.all > 0 && f64::from(c.of_these) < LEAST_EMERGENCE * f64::from(c.all) - 1e-9
}

/// Pots left in an arm: those standing by the diary, but never more than were counted.
fn pots_left(arm: &Arm, counted: Option<Count>, day: NaiveDate) -> Option<u32> {
    match (arm.standing(day), counted) {
        (Some(n), Some(c)) => Some(n.min(c.all)),
        (Some(n), None) => Some(n),
        (None, c) => c.map(|c| c.all),
    }
}

/// The worst count of a day: most hurt, then fewest counted.
fn on_day(list: &[(NaiveDate, Count)], day: NaiveDate) -> Option<Count> {
    worst(list.iter().filter(|(d, _)| *d == day).map(|(_, c)| *c))
}

fn worst(counts: impl Iterator<Item = Count>) -> Option<Count> {
    counts.max_by_key(|c| (c.of_these, std::cmp::Reverse(c.all)))
}

/// The count on the nearest day within a week; of two equally near, the later.
fn nearest(list: &[(NaiveDate, Count)], day: NaiveDate) -> Option<Count> {
    let near = list
        .iter()
        .map(|(d, _)| ((*d - day).num_days().abs(), std::cmp::Reverse(*d)))
        .filter(|(away, _)| *away <= CONTROL_WITHIN)
        .min()?;
    on_day(list, near.1.0)
}

/// The worst the control looked up to the day of the reading, or within a week after it.
fn worst_control(list: &[(NaiveDate, Count)], day: NaiveDate) -> Option<Count> {
    worst(list.iter().filter(|(d, _)| (*d - day).num_days() <= CONTROL_WITHIN).map(|(_, c)| *c))
}

/// The latest count up to a day, and the fullest of that day.
fn latest(list: &[(NaiveDate, Count)], day: NaiveDate) -> Option<Count> {
    list.iter().filter(|(d, _)| *d <= day).max_by_key(|(d, c)| (*d, c.of_these)).map(|(_, c)| *c)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 3, 1).expect("a day") + chrono::Days::new(u64::from(d))
    }

    fn count(of_these: u32, all: u32) -> Count {
        Count { of_these, all }
    }

    fn pots(d: u32, number: u32) -> Pots {
        Pots { day: day(d), number }
    }

    /// Pots on day 0, read on day 21.
    fn test(hurt: Count, control: Count) -> BeanTest {
        BeanTest {
            test: Arm { potted: vec![pots(0, hurt.all)], hurt: vec![(day(21), hurt)], ..Arm::default() },
            control: Arm {
                potted: vec![pots(0, control.all)],
                hurt: vec![(day(21), control)],
                ..Arm::default()
            },
            read: vec![day(21)],
        }
    }

    fn out(t: &BeanTest) -> Verdict {
        verdict(t).expect("read").verdict
    }

    fn why(t: &BeanTest) -> Vec<Reason> {
        verdict(t).expect("read").reasons
    }

    #[test]
    fn a_test_not_read_has_no_verdict() {
        let mut t = test(count(4, 4), count(0, 4));
        t.read.clear();
        assert_eq!(verdict(&t), None);
    }

    #[test]
    fn all_hurt_against_none_is_hurt_from_three_pots_on() {
        for n in 3..=6 {
            assert_eq!(out(&test(count(n, n), count(0, n))), Verdict::Hurt, "{n} against {n}");
        }
        assert_eq!(out(&test(count(2, 3), count(0, 3))), Verdict::Unclear, "one odd pot breaks three");
        assert_eq!(out(&test(count(3, 4), count(0, 4))), Verdict::Unclear);
        assert_eq!(out(&test(count(4, 5), count(0, 5))), Verdict::Hurt);
    }

    #[test]
    fn none_hurt_after_two_weeks_is_clear_and_before_it_is_not() {
        assert_eq!(out(&test(count(0, 4), count(0, 4))), Verdict::Clear);
        let mut t = test(count(0, 4), count(0, 4));
        for arm in [&mut t.test, &mut t.control] {
            arm.hurt[0].0 = day(10);
        }
        t.read = vec![day(10)];
        assert_eq!(out(&t), Verdict::Unclear);
    }

    #[test]
    fn a_hurt_control_voids_the_test_instead_of_condemning_the_lot() {
        let t = test(count(4, 4), count(1, 4));
        assert_eq!(out(&t), Verdict::Void);
        assert_eq!(why(&t), [Reason::ControlHurt(count(1, 4))]);
    }

    #[test]
    fn a_control_that_came_up_poorly_voids_the_test() {
        let mut t = test(count(4, 4), count(0, 4));
        t.control.up = vec![(day(10), count(8, 12))];
        assert_eq!(why(&t), [Reason::ControlPoorlyUp(count(8, 12))]);
        // OECD 208 (2006): at least 70 %.
        t.control.up = vec![(day(10), count(7, 10))];
        assert_eq!(out(&t), Verdict::Hurt);
    }

    #[test]
    fn lost_pots_count_and_two_are_too_few() {
        let mut t = test(count(3, 3), count(0, 3));
        t.control.potted = vec![pots(0, 4)];
        t.control.lost = vec![pots(3, 1)];
        assert_eq!(out(&t), Verdict::Hurt, "three are left");
        t.control.lost.push(pots(4, 1));
        assert_eq!(why(&t), [Reason::FewControls(2)]);
    }

    #[test]
    fn a_test_without_control_is_void() {
        let mut t = test(count(4, 4), count(0, 4));
        t.control = Arm::default();
        assert_eq!(why(&t), [Reason::NoControl]);
    }

    #[test]
    fn a_control_read_two_weeks_away_does_not_speak_for_the_test() {
        let mut t = test(count(4, 4), count(0, 4));
        t.control.hurt[0].0 = day(7);
        assert_eq!(why(&t), [Reason::ControlUnread]);
        t.control.hurt[0].0 = day(18);
        assert_eq!(out(&t), Verdict::Hurt);
    }

    #[test]
    fn a_test_read_before_it_was_potted_is_void() {
        let mut t = test(count(4, 4), count(0, 4));
        t.test.potted[0].day = day(30);
        assert!(why(&t).contains(&Reason::ReadBeforePotted));
    }

    #[test]
    fn a_reading_within_a_week_of_potting_is_void_whatever_it_counts() {
        let mut t = test(count(4, 4), count(0, 4));
        let potted = t.test.potted[0].day;
        let read_after = |t: &mut BeanTest, days: i64| {
            let day = potted + chrono::TimeDelta::days(days);
            t.read = vec![day];
            t.test.hurt[0].0 = day;
            t.control.hurt[0].0 = day;
        };
        read_after(&mut t, SOONEST - 1);
        assert_eq!(why(&t), [Reason::ReadTooSoon]);
        read_after(&mut t, SOONEST);
        assert_eq!(out(&t), Verdict::Hurt);
    }

    #[test]
    fn the_worst_valid_reading_wins() {
        let mut t = test(count(0, 4), count(0, 4));
        t.read.push(day(28));
        t.test.hurt.push((day(28), count(4, 4)));
        t.control.hurt.push((day(28), count(0, 4)));
        let j = verdict(&t).expect("read");
        assert_eq!((j.verdict, j.day), (Verdict::Hurt, day(28)));
        // A void reading beside a valid one does not decide.
        t.control.hurt[1].1 = count(2, 4);
        assert_eq!(out(&t), Verdict::Void, "a control hurt within the week voids the first reading too");
        t.read[1] = day(40);
        t.test.hurt[1].0 = day(40);
        t.control.hurt[1].0 = day(40);
        assert_eq!(out(&t), Verdict::Clear, "a control hurt much later does not");
    }

    #[test]
    fn none_hurt_too_soon_gives_way_to_a_later_reading() {
        let mut t = test(count(0, 4), count(0, 4));
        let potted = t.test.potted[0].day;
        let at = |days: i64| potted + chrono::TimeDelta::days(days);
        let mut read = |counts: &[(i64, Count)]| {
            t.read = counts.iter().map(|(d, _)| at(*d)).collect();
            t.test.hurt = counts.iter().map(|(d, c)| (at(*d), *c)).collect();
            t.control.hurt = counts.iter().map(|(d, _)| (at(*d), count(0, 4))).collect();
            verdict(&t).map(|j| (j.verdict, (j.day - potted).num_days()))
        };
        let early = SOONEST + 1;
        let late = SOONEST_CLEAR;
        assert_eq!(read(&[(early, count(0, 4))]), Some((Verdict::Unclear, early)));
        assert_eq!(read(&[(early, count(0, 4)), (late, count(0, 4))]), Some((Verdict::Clear, late)));
        assert_eq!(read(&[(early, count(0, 4)), (late, count(4, 4))]), Some((Verdict::Hurt, late)));
        // One hurt pot early is a worse reading, and stays one.
        assert_eq!(read(&[(early, count(1, 4)), (late, count(0, 4))]), Some((Verdict::Unclear, early)));
    }

    #[test]
    fn counting_seeds_is_no_verdict_yet() {
        let mut t = test(count(0, 4), count(0, 4));
        t.read.push(day(9));
        t.test.up = vec![(day(9), count(11, 12))];
        assert_eq!(out(&t), Verdict::Clear, "the later reading decides");
        t.read = vec![day(9)];
        t.test.hurt.clear();
        assert_eq!(verdict(&t), None);
    }

    #[test]
    fn a_reading_without_counts_is_unclear() {
        let mut t = test(count(4, 4), count(0, 4));
        t.test.hurt.clear();
        assert_eq!(out(&t), Verdict::Unclear);
    }

    proptest! {
        #[test]
        fn one_more_hurt_pot_never_makes_the_verdict_milder(n in 3u32..9, m in 3u32..9, k in 0u32..8) {
            prop_assume!(k < n);
            let a = out(&test(count(k, n), count(0, m)));
            let b = out(&test(count(k + 1, n), count(0, m)));
            prop_assert!(b >= a, "{:?} then {:?}", a, b);
        }

        #[test]
        fn no_counts_make_it_panic(h in 0u32.., n in 0u32.., c in 0u32.., m in 0u32..) {
            let _ = verdict(&test(count(h, n), count(c, m)));
        }
    }
}
