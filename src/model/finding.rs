//! Actions with their dates, as `due` lists them and findings carry them.

use std::sync::Arc;

use chrono::NaiveDate;
use serde::Serialize;

use super::sentence::SentenceId;
use crate::{base::span::Loc, measure::value::Value};

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
    /// By when it is due.
    pub by: NaiveDate,
    /// Open, done or skipped.
    pub state: ActionState,
    /// Why, in a sentence.
    pub reason: String,
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
