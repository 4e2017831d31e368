//! One farm, one grower, told twice: as the diary is kept unasked, and with what haulm asks for done.
//!
//! Comes in: a seed and a kind of grower. Goes out: what haulm led with on each day of the diary, and how
//! that stands to the truth.

use haulm::session::Session;

use super::{
    dice::Dice,
    figures::{Cause, INCIDENCE},
    grower::Grower,
    habits::Habits,
    harm,
    season::season,
    settle::settle,
    verdict::{Verdict, asked, check, errors, right, verdict},
    words::Words,
    world::{self, Day, Farm},
};

/// How long a farm is followed from its first written sign, in days.
pub const HORIZON: Day = 60;
/// How often in that time the grower does what haulm asks for, at most.
const ROUNDS: usize = 5;

/// How a ranking stands to the truth.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// Whether there was a ranking at all.
    pub ranked: bool,
    /// The leading cause as it is called, with its subject.
    pub leads: String,
    /// Whether it is right.
    pub right: bool,
    /// The leading cause's chance.
    pub chance: f64,
    /// The sum of squares by which the chances miss the truth, from 0 (perfect) to 2.
    pub brier: f64,
    /// The wrong suspect with more than nine chances in ten, if there is one.
    pub oversure: Option<String>,
    /// Days from the first written sign until the right cause leads with at least even chance and stays so.
    pub days: Option<Day>,
    /// Questions answered, those of a load or field only where that did it.
    pub answers: Vec<(String, String)>,
    /// Over how many outbreaks the hurt plantings are strewn.
    pub strewn: usize,
}

/// What came of a farm.
#[derive(Debug, Clone)]
pub struct Told {
    pub seed: u64,
    pub cause: Cause,
    /// Left alone, and with what haulm asks for done.
    pub alone: Outcome,
    pub following: Outcome,
    /// The diaries.
    pub texts: (String, String),
    /// The day on which each is judged.
    pub judged: Day,
    /// What the truth is called.
    pub truth: String,
    /// Whether the diary names what did it.
    pub named: bool,
    /// What haulm asked for, in order.
    pub asked: Vec<String>,
    /// What it asked for that the simulator cannot do.
    pub unknown: Vec<String>,
    /// What it asked for although the diary held the answer already.
    pub again: Vec<String>,
    /// Errors in reading the diaries.
    pub errors: Vec<String>,
}

/// The farm of a seed: the first drawn on which the cause of the seed strikes and is noticed by this grower.
pub fn farm(seed: u64, kind: &Habits, words: &Words, stream: u64) -> Farm {
    let mut dice = Dice::new(seed, 0);
    let causes: Vec<(Cause, f64)> = INCIDENCE.iter().map(|(c, of, _)| (*c, *of)).collect();
    let cause = dice.weighed(&causes);
    loop {
        let mut farm = world::farm(seed, cause, &mut dice);
        if harm::strike(&mut farm, &mut dice) && season(&farm, kind, words, stream).is_some() {
            return farm;
        }
    }
}

/// Tells the story of a seed.
pub fn told(seed: u64, kind: &Habits, words: &Words, stream: u64, session: &mut Session) -> Told {
    let farm = farm(seed, kind, words, stream);
    let grower = season(&farm, kind, words, stream).expect("the farm was drawn so");
    let first = grower.first_sign.expect("a sign was written");
    let mut told = Told {
        seed,
        cause: farm.cause,
        alone: Outcome::default(),
        following: Outcome::default(),
        texts: (grower.diary.text(), String::new()),
        judged: 0,
        truth: right(&grower)
            .iter()
            .map(|any| {
                let names = any
                    .iter()
                    .map(|(c, of)| of.as_ref().map_or((*c).to_owned(), |of| format!("{c} of {of}")));
                names.collect::<Vec<_>>().join(" or ")
            })
            .collect::<Vec<_>>()
            .join(" and "),
        named: right(&grower).iter().flatten().all(|(_, of)| of.is_some()) || farm.by_lots.is_empty(),
        asked: Vec::new(),
        unknown: Vec::new(),
        again: Vec::new(),
        errors: Vec::new(),
    };
    told.judged = grower.diary.last().min(first + HORIZON).max(first);
    told.alone = judged(session, &grower, first);
    let checked = check(session, &told.texts.0, told.judged);
    told.errors = errors(&checked);
    let mut follower = grower.clone();
    follow(session, &mut follower, first, &mut told);
    told.texts.1 = follower.diary.text();
    told.following =
        if told.asked.is_empty() { told.alone.clone() } else { judged(session, &follower, first) };
    let last = follower.diary.last();
    told.errors.extend(errors(&check(session, &told.texts.1, last)));
    told.errors.sort();
    told.errors.dedup();
    told
}

/// Does what haulm asks for, round after round.
fn follow(session: &mut Session, grower: &mut Grower<'_>, first: Day, told: &mut Told) {
    let mut day = first;
    for _ in 0..ROUNDS {
        if day > first + HORIZON {
            return;
        }
        let checked = check(session, &grower.diary.text(), day);
        let Some(verdict) = verdict(&checked, grower) else { return };
        let Some(ask) = asked(&checked, grower, &verdict.outbreak) else { return };
        let name = match &ask.about {
            Some(about) => format!("{} ({about})", ask.doing),
            None => ask.doing.clone(),
        };
        if told.asked.contains(&name) {
            told.again.push(name);
            return;
        }
        let Some(done) = settle(grower, &ask.doing, ask.about.as_deref(), day, ask.days) else {
            told.unknown.push(name);
            return;
        };
        told.asked.push(name);
        day = (day + 1).max(done);
    }
}

/// The ranking on every day of a diary, and how the last of them stands to the truth.
fn judged(session: &mut Session, grower: &Grower<'_>, first: Day) -> Outcome {
    let text = grower.diary.text();
    let last = grower.diary.last().min(first + HORIZON).max(first);
    let mut days: Vec<Day> = grower.diary.days_from(first).into_iter().filter(|d| *d <= last).collect();
    if days.last() != Some(&last) {
        days.push(last);
    }
    let mut since = None;
    let mut outcome = Outcome::default();
    for day in days {
        outcome = stands(verdict(&check(session, &text, day), grower).as_ref(), grower);
        if outcome.right && outcome.chance >= 0.5 {
            since = since.or(Some(day - first));
        } else {
            since = None;
        }
    }
    outcome.days = since;
    outcome
}

fn stands(verdict: Option<&Verdict>, grower: &Grower<'_>) -> Outcome {
    let Some(verdict) = verdict else { return Outcome { brier: 1.0, ..Outcome::default() } };
    let right = right(grower);
    let fits = |of: &[(&str, Option<String>)], s: &(String, Option<String>, f64)| {
        of.iter().any(|(c, subject)| *c == s.0 && *subject == s.1)
    };
    let any = |s: &(String, Option<String>, f64)| right.iter().any(|of| fits(of, s));
    let hits = right.iter().map(|of| {
        let p: f64 = verdict.suspects.iter().filter(|s| fits(of, s)).map(|s| s.2).sum();
        (1.0 - p.min(1.0)).powi(2)
    });
    let misses = verdict.suspects.iter().filter(|s| !any(s)).map(|s| s.2.powi(2));
    let brier = hits.sum::<f64>() / right.len() as f64 + misses.sum::<f64>();
    let first = &verdict.suspects[0];
    let name = |s: &(String, Option<String>, f64)| match &s.1 {
        Some(of) => format!("{} of {of}", s.0),
        None => s.0.clone(),
    };
    let oversure = verdict.suspects.iter().find(|s| s.2 > 0.9 && !any(s)).map(name);
    let ours = |of: &Option<String>| of.is_none() || right.iter().flatten().any(|(_, subject)| subject == of);
    let answers = verdict.answers.iter().filter(|a| ours(&a.1)).map(|a| (a.0.clone(), a.2.clone()));
    Outcome {
        ranked: true,
        leads: name(first),
        right: any(first),
        chance: first.2,
        brier,
        oversure,
        days: None,
        answers: answers.collect(),
        strewn: verdict.strewn,
    }
}
