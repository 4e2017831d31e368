//! Open actions as jobs: what one visit does is one job, and jobs of one matter stand under one reason.
//!
//! Comes in: the actions that are asked for. Goes out: matters, the pressing ones of today first, then what
//! comes, by day. It changes no action: each keeps its key, its days, and what closes it.

use std::{
    cmp::Reverse,
    collections::{BTreeMap, BTreeSet},
};

use chrono::{Days, NaiveDate};

use super::{
    Known,
    actions::{Asked, Said, gaps},
    plans, say,
};
use crate::{
    base::diagnostic::Severity,
    measure::value::Value,
    model::finding::{ActionState, Job, Matter, When},
};

/// How many days past its day a job is old, if no alarm asks for it.
const OLD: u64 = 60;

/// How many days ahead the nearer jobs lie, and how many days apart the days of one visit may be.
const WEEK: u64 = 7;

/// One job asked for by one page or, in the same words, by several.
struct Same<'a> {
    /// The most pressing first.
    asks: Vec<(usize, &'a Asked)>,
    when: When,
    by: NaiveDate,
    place: NaiveDate,
}

/// Jobs that differ in one name.
struct Fold<'a> {
    /// The words before the name and after it, once two were found alike.
    around: Option<(String, String)>,
    same: Vec<Same<'a>>,
}

/// The jobs of one page for one reason, or for several where each asks for one job alike.
struct Group<'a> {
    when: When,
    severity: Option<Severity>,
    folds: Vec<Fold<'a>>,
}

/// The open ones of the actions as matters.
pub fn matters(known: &Known<'_>, asked: &[Asked]) -> Vec<Matter> {
    let mut by_words: BTreeMap<&str, Vec<(usize, &Asked)>> = BTreeMap::new();
    for (n, a) in asked.iter().enumerate().filter(|(_, a)| a.action.state == ActionState::Open) {
        by_words.entry(&a.action.words).or_default().push((n, a));
    }
    let mut jobs: Vec<Same<'_>> = by_words.into_values().filter_map(|asks| same(asks, known.today)).collect();
    jobs.sort_by_key(|job| (nearness(known.today, job.place), job.asks.first().map(|(n, _)| *n)));

    let mut by_reason: BTreeMap<(When, u8, &str, &str), Vec<Fold<'_>>> = BTreeMap::new();
    for job in jobs {
        let Some((_, lead)) = job.asks.first() else { continue };
        let key = (job.when, pressing(lead.action.severity), &*lead.matter, &*lead.action.reason);
        put(known, by_reason.entry(key).or_default(), job);
    }
    let mut groups: Vec<Group<'_>> = Vec::new();
    let mut last: Option<(When, u8, &str)> = None;
    let mut first = 0;
    for ((when, pressing, code, _), folds) in by_reason {
        if last != Some((when, pressing, code)) {
            last = Some((when, pressing, code));
            first = groups.len();
        }
        let severity = folds.first().and_then(|f| f.lead()).and_then(|a| a.action.severity);
        join(known, &mut groups, first, Group { when, severity, folds });
    }
    let mut out: Vec<Matter> = groups.into_iter().map(|group| matter(known, group)).collect();
    out.sort_by_cached_key(|m| order(known.today, m));
    out
}

/// Steps in their order with the days they are due, those that differ in one name joined: what is overdue, and what
/// is not with no more than a week between.
pub fn together(known: &Known<'_>, steps: &[&Asked]) -> Vec<(NaiveDate, String)> {
    let when = |a: &Asked| if a.action.by <= known.today { When::Today } else { When::Week };
    let mut out = Vec::new();
    for now in [When::Today, When::Week] {
        let mut folds = Vec::new();
        for (n, a) in steps.iter().enumerate().filter(|(_, a)| when(a) == now) {
            put(
                known,
                &mut folds,
                Same { asks: vec![(n, *a)], when: now, by: a.action.by, place: a.action.by },
            );
        }
        out.extend(folds.iter().map(|fold| job(known, fold)).map(|job| (job.by, job.words)));
    }
    out
}

/// Where a matter stands: by what is to be done when; today's by how pressing they are and then the nearest day
/// first, as what was let lie for long is the likeliest to be moot; others by day.
fn order(today: NaiveDate, m: &Matter) -> (When, u8, i64, u8, Vec<usize>) {
    let pressing = pressing(m.severity);
    let (first, then) = if matches!(m.when, When::Today) { (pressing, 0) } else { (0, pressing) };
    let day = |job: &Job| if m.when == When::Today { nearness(today, job.place) } else { days(job.by) };
    let nearest = m.jobs.iter().map(day).min().unwrap_or_default();
    (m.when, first, nearest, then, m.jobs.iter().flat_map(|j| j.actions.iter().copied()).collect())
}

fn days(day: NaiveDate) -> i64 {
    i64::from(chrono::Datelike::num_days_from_ce(&day))
}

/// How far a day is from today, either way.
fn nearness(today: NaiveDate, day: NaiveDate) -> i64 {
    (day - today).num_days().abs()
}

/// How pressing a job is, the most pressing least; what the grower planned stands before what would only help.
fn pressing(severity: Option<Severity>) -> u8 {
    match severity {
        Some(Severity::Alarm) => 0,
        Some(Severity::Error) => 1,
        Some(Severity::Warn) => 2,
        None => 3,
        Some(Severity::Hint) => 4,
    }
}

/// The same job of several pages: due by the first of their days, in the place of the last.
fn same(mut asks: Vec<(usize, &Asked)>, today: NaiveDate) -> Option<Same<'_>> {
    asks.sort_by_key(|(n, a)| (pressing(a.action.severity), Reverse(a.action.place()), *n));
    let by = asks.iter().map(|(_, a)| a.action.by).min()?;
    let place = asks.iter().map(|(_, a)| a.action.place()).max()?;
    let alarm = asks.iter().any(|(_, a)| a.action.severity == Some(Severity::Alarm));
    let (old, week) = (today - Days::new(OLD), today + Days::new(WEEK));
    let when = match by {
        _ if place < old && !alarm => When::Old,
        by if by <= today => When::Today,
        by if by <= week => When::Week,
        _ => When::Later,
    };
    Some(Same { asks, when, by, place })
}

impl<'a> Fold<'a> {
    fn of(same: Same<'a>) -> Self {
        Self { around: None, same: vec![same] }
    }

    fn lead(&self) -> Option<&'a Asked> {
        self.same.first().and_then(Same::lead)
    }

    /// What stands around the name in which `other` differs, where it is the only one.
    fn alike(&self, known: &Known<'_>, other: &Same<'_>) -> Option<(String, String)> {
        let (mine, theirs) = (self.same.first()?, other.lead()?);
        let apart = |a: NaiveDate, b: NaiveDate| (a - b).num_days().unsigned_abs();
        let near = mine.when == When::Today || apart(mine.by, other.by) <= WEEK;
        let around = || {
            let known_to_us = match &self.around {
                Some(around) => vec![around.clone()],
                None => mine.lead().map_or_else(Vec::new, |a| open_gaps(known, &a.said)),
            };
            open_gaps(known, &theirs.said).into_iter().find(|gap| known_to_us.contains(gap))
        };
        near.then(around).flatten()
    }
}

impl<'a> Same<'a> {
    fn lead(&self) -> Option<&'a Asked> {
        self.asks.first().map(|(_, a)| *a)
    }
}

/// The words before and after each name that others could join. One that the words come back to, or that is
/// their subject, has no company.
fn open_gaps(known: &Known<'_>, said: &[Said]) -> Vec<(String, String)> {
    let open = |(_, _, after): &(String, String, String)| {
        let mut words = after.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty());
        let subject = words.clone().next().is_some_and(|w| matches!(w, "is" | "was" | "does"));
        !subject && !words.any(|w| matches!(w, "it" | "its"))
    };
    gaps(known, said).into_iter().filter(open).map(|(before, _, after)| (before, after)).collect()
}

/// Puts a job among the jobs of its reason, into the first that it differs from in one name.
fn put<'a>(known: &Known<'_>, folds: &mut Vec<Fold<'a>>, job: Same<'a>) {
    for fold in folds.iter_mut() {
        if let Some(around) = fold.alike(known, &job) {
            fold.around = Some(around);
            fold.same.push(job);
            return;
        }
    }
    folds.push(Fold::of(job));
}

/// Joins a group of one job to one of the same page, from `first` on, whose only job differs in one name.
fn join<'a>(known: &Known<'_>, groups: &mut Vec<Group<'a>>, first: usize, mut group: Group<'a>) {
    if let [alone] = group.folds.as_mut_slice() {
        for other in groups.iter_mut().skip(first) {
            let [fold] = other.folds.as_mut_slice() else { continue };
            let mut around = alone.same.iter().map(|job| fold.alike(known, job));
            let Some(one) = around.next().flatten() else { continue };
            if around.all(|other| other.as_ref() == Some(&one)) {
                fold.around = Some(one);
                fold.same.append(&mut alone.same);
                return;
            }
        }
    }
    groups.push(group);
}

fn matter(known: &Known<'_>, group: Group<'_>) -> Matter {
    let asks: Vec<&Asked> = group.folds.iter().flat_map(|f| &f.same).filter_map(Same::lead).collect();
    let rest: Vec<&Asked> = group
        .folds
        .iter()
        .flat_map(|f| &f.same)
        .flat_map(|same| same.asks.iter().skip(1).map(|(_, a)| *a))
        .collect();
    let all = || asks.iter().chain(&rest);
    let reasons = once(asks.iter().map(|a| &a.action.reason).filter(|r| !r.is_empty() && *r != plans::PLAIN));
    let mut also = once(rest.iter().map(|a| &a.action.reason).filter(|r| !r.is_empty()));
    also.retain(|r| !reasons.contains(r));
    // What is not to be done is told before what is.
    let held = |fold: &Fold<'_>| fold.lead().is_some_and(|a| plans::is_one(a) && a.action.severity.is_some());
    let (first, then): (Vec<_>, Vec<_>) = group.folds.iter().partition(|fold| held(fold));
    Matter {
        when: group.when,
        severity: group.severity,
        codes: once(all().map(|a| &a.matter)),
        cautions: once(all().flat_map(|a| &a.action.cautions)),
        lines: once(all().flat_map(|a| &a.action.lines)),
        jobs: first.into_iter().chain(then).map(|fold| job(known, fold)).collect(),
        reasons,
        also,
    }
}

/// Each once, in order.
fn once<'a, T: Ord + Clone + 'a>(all: impl Iterator<Item = &'a T>) -> Vec<T> {
    let mut seen = BTreeSet::new();
    all.filter(|t| seen.insert(*t)).cloned().collect()
}

fn job(known: &Known<'_>, fold: &Fold<'_>) -> Job {
    let leads: Vec<&Asked> = fold.same.iter().filter_map(Same::lead).collect();
    let asks = || fold.same.iter().flat_map(|s| &s.asks);
    let words = match (&fold.around, leads.as_slice()) {
        (Some(around), _) => joined(known, around, &leads),
        (None, [one, ..]) => one.action.words.clone(),
        (None, []) => String::new(),
    };
    // Of several, one line in the joined words; a plan has a line of its own.
    let write = match leads.as_slice() {
        [one] => one.action.write.clone(),
        several => several.iter().all(|a| a.action.write.is_some()).then(|| format!("- done {words}")),
    };
    Job {
        by: fold.same.iter().map(|s| s.by).min().unwrap_or(known.today),
        place: fold.same.iter().map(|s| s.place).max().unwrap_or(known.today),
        since: asks().map(|(_, a)| a.action.since).min().unwrap_or(known.today),
        plan: leads.iter().any(|a| plans::is_one(a)),
        write,
        actions: asks().map(|(n, _)| *n).collect(),
        words,
    }
}

/// The words of several actions with their names joined.
fn joined(known: &Known<'_>, around: &(String, String), leads: &[&Asked]) -> String {
    let (before, after) = around;
    let names: Vec<&Value> = leads.iter().filter_map(|a| name(known, around, a)).collect();
    // What several things do is said without the s.
    let after = match after.strip_prefix(" has ") {
        Some(rest) => format!(" have {rest}"),
        None => after.clone(),
    };
    tidied(&format!("{before}{}{after}", say::together(known, names)))
}

/// The thing of an action that stands between these words.
fn name<'a>(known: &Known<'_>, (before, after): &(String, String), asked: &'a Asked) -> Option<&'a Value> {
    let at = gaps(known, &asked.said).iter().position(|(was, _, then)| was == before && then == after)?;
    let things = asked.said.iter().filter_map(|part| match part {
        Said::Value(value @ Value::Thing(_)) => Some(value),
        _ => None,
    });
    things.into_iter().nth(at)
}

fn tidied(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
