//! What a place is made up of and holds on a day, as it is shown.
//!
//! Comes in: from `explain::content`. Goes out: to `show`. Words only; every figure is a range with its unit.

use super::explanation::Quote;
use crate::base::span::Loc;

/// A place on a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Content {
    /// The day, in words.
    pub day: String,
    /// How deep it is reckoned as one.
    pub depth: Option<String>,
    /// What it is made up of.
    pub shares: Vec<ContentShare>,
    /// What lies on top of it, and is no part of that.
    pub on_top: Vec<OnTop>,
    /// What levels were reckoned.
    pub levels: Vec<ContentLevel>,
    /// Tests of its own soil, in one sentence, and those that what it is made up of failed: they go before any level.
    pub tests: Vec<String>,
    /// Journal lines it rests on, in order of day.
    pub lines: Vec<Quote>,
    /// Figures of tables it rests on, in the order of their pages.
    pub figures: Vec<Sourced>,
}

/// A source with its shares.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ContentShare {
    /// What it is.
    pub thing: String,
    /// Share by volume; none for what came by way of others.
    pub volume: Option<String>,
    /// Share by weight.
    pub weight: Option<String>,
    /// Whether it came by way of others, in which it is counted already.
    pub by_way: bool,
}

/// What lies on top of ground.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OnTop {
    /// What it is.
    pub thing: String,
    /// How deep, where that is known.
    pub depth: Option<String>,
    /// Since when.
    pub since: String,
}

/// A reckoned level.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ContentLevel {
    /// Of what.
    pub of: String,
    /// The level, from the least to the greatest.
    pub level: String,
    /// What it was reckoned from: what, and its figure.
    pub from: Vec<(String, String)>,
    /// Why no day is reckoned.
    pub refused: Option<String>,
    /// What is said of how its results fall.
    pub course: Vec<String>,
    /// The rows of the half-life taken.
    pub fades: Vec<Sourced>,
    /// Levels it is held against, the least first.
    pub against: Vec<Against>,
    /// How little laboratories could see in what it was reckoned from.
    pub limits: Vec<Sourced>,
}

impl ContentLevel {
    /// Whether anything was found or brought; else there is only what laboratories could not see.
    pub fn found(&self) -> bool {
        self.from.is_empty() || self.from.iter().any(|(what, _)| !what.starts_with("not "))
    }
}

/// A level that a place is held against.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Against {
    /// The level.
    pub level: String,
    /// Who is taken to be hurt by it, of those that stand or are to stand there.
    pub who: Vec<String>,
    /// The chance that the place holds no more on the day.
    pub chance: Option<String>,
    /// For each chance asked for, by when it holds no more: `by about 2034`.
    pub from: Vec<(String, String)>,
    /// What was seen at that level.
    pub seen: Vec<Sourced>,
    /// Where even a good laboratory sees no level so low: what it does see.
    pub unseen: Option<Sourced>,
}

/// Something a table or a line says, where, and on whose word.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sourced {
    /// The words.
    pub says: String,
    /// Where it stands.
    pub at: Option<Loc>,
    /// What the row's source column says.
    pub source: Option<String>,
}
