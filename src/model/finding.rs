//! Actions with their dates, as findings carry them, and the matters in which `due` tells them.

use std::sync::Arc;

use chrono::NaiveDate;
use serde::Serialize;

use super::sentence::SentenceId;
use crate::{
    base::{diagnostic::Severity, span::Loc},
    measure::value::Value,
};

/// How an action stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ActionState {
    /// Still to do.
    Open,
    /// Closed by the entry that did it, on that day.
    Done(NaiveDate),
    /// Closed by `skipped`, on that day.
    Skipped(NaiveDate),
}

/// The sentence that closes an action.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Awaited {
    /// Which sentence.
    pub sentence: SentenceId,
    /// What is known of its blanks.
    pub values: Vec<Option<Value>>,
    /// What the action's words name.
    pub named: Vec<Value>,
}

/// One instance of an action.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Action {
    /// The code of the page that asks for it.
    pub code: Arc<str>,
    /// What to do, filled in: `pot a bean test of lot tern-26`.
    pub words: String,
    /// The key, without any date: code, action words and blanks.
    pub key: String,
    /// Which instance of the key this is, from 1.
    pub instance: u32,
    /// Since when it is open.
    pub since: NaiveDate,
    /// By when it is due, as it was first asked for.
    pub by: NaiveDate,
    /// The later day that was said when it was last asked for anew, if it was.
    pub again: Option<NaiveDate>,
    /// How pressing what asks for it is; none for a plan that nothing is said against.
    pub severity: Option<Severity>,
    /// Open, done or skipped.
    pub state: ActionState,
    /// Why, in a sentence.
    pub reason: String,
    /// Whether no finding stands behind it, so that it is told among the jobs alone.
    pub alone: bool,
    /// What can hurt, and whose word goes before ours.
    pub cautions: Vec<String>,
    /// The journal lines it rests on, the one to act on first.
    pub lines: Vec<Loc>,
    /// One right line that would close it, where the page gives one.
    pub write: Option<String>,
    /// What closes it, if an entry can.
    #[serde(skip)]
    pub until: Option<Awaited>,
    /// What it is about, as findings name it.
    pub about: Vec<String>,
}

impl Action {
    /// The day that places it among other jobs: the last it was asked for by.
    pub fn place(&self) -> NaiveDate {
        self.again.unwrap_or(self.by)
    }
}

/// When a job is to be done, as the list of jobs is parted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum When {
    /// Due today or before.
    Today,
    /// Due in the next seven days.
    Week,
    /// Due after that.
    Later,
    /// Long overdue, and no alarm.
    Old,
}

/// One job: an action, or several that one visit does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Job {
    /// What to do, the names of all its actions joined: `look over the plants in beds a, b and c`.
    pub words: String,
    /// The first day by which any of it is due.
    pub by: NaiveDate,
    /// The last day by which any of it was asked for.
    pub place: NaiveDate,
    /// The first day from which any of it is asked for.
    pub since: NaiveDate,
    /// A plan of the diary.
    pub plan: bool,
    /// A line that closes all of it, where only a line by hand can.
    pub write: Option<String>,
    /// The actions, by their place among those of the report.
    pub actions: Vec<usize>,
}

/// Jobs that are asked for in one matter, told together under one reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Matter {
    /// When they are to be done.
    pub when: When,
    /// How pressing the matter is; none for plans that nothing is said against.
    pub severity: Option<Severity>,
    /// The pages that ask for them, the most pressing first.
    pub codes: Vec<Arc<str>>,
    /// What to do, the nearest day first.
    pub jobs: Vec<Job>,
    /// Why, each in a sentence.
    pub reasons: Vec<String>,
    /// Why other pages ask for the same.
    pub also: Vec<String>,
    /// What can hurt, and whose word goes before ours.
    pub cautions: Vec<String>,
    /// The journal lines they rest on, the one to act on first.
    pub lines: Vec<Loc>,
}
