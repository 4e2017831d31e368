//! Explanations as plain structures: why something is said, where a thing went, what may be written.
//!
//! Comes in: what `explain` found in the model. Goes out: what `show` makes text of. No layout here,
//! and no text of the journal beyond the lines quoted.

use std::sync::Arc;

use super::{finding::Action, program::Told};
use crate::{
    base::{diagnostic::Severity, span::Loc},
    measure::value::EntryId,
};

/// An entry of the journal, quoted.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Quote {
    /// Where it stands.
    pub loc: Loc,
    /// Which entry.
    pub entry: EntryId,
    /// Its text in one line, without the list marker.
    pub text: String,
    /// Its day in words, with `planned for` or `withdrawn` where that is so; empty if undated.
    pub day: String,
}

/// What a step of a proof rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Ground {
    /// An entry of the journal says it.
    Line(Quote),
    /// A row of a table, or another place in a rule page, says it; with its source, if it holds a figure and
    /// its table has a column for that.
    Page(Loc, Option<String>),
    /// It is given from outside, like today's date.
    Given,
    /// A rule concludes it from the steps below.
    Rule {
        /// The code of its page.
        code: Arc<str>,
        /// Its number on that page.
        number: u32,
        /// Where it is written.
        loc: Loc,
    },
    /// A reckoner answers it from the steps below.
    Reckoned {
        /// Its name in the registry.
        name: &'static str,
        /// Numbers on the way, in words.
        numbers: Vec<(String, String)>,
    },
    /// Nothing says otherwise; the sentences that come nearest.
    Absent(Vec<String>),
    /// Gathered over the steps below.
    Gathered,
    /// Computed or compared from values above.
    Reasoned,
    /// Shown in full further up.
    Above,
}

/// One sentence of a proof and what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The sentence, filled in.
    pub says: String,
    /// What it rests on.
    pub by: Ground,
    /// The steps below it, in the order of the rule's lines.
    pub below: Vec<Step>,
    /// How many more there are that are not listed.
    pub left_out: usize,
}

/// What a whole proof takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// Sentences, each counted once.
    pub sentences: usize,
    /// Entries of the journal.
    pub lines: usize,
    /// Rule pages.
    pub pages: usize,
}

/// How a claim stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It is said.
    Said,
    /// It is folded under a finding with this code.
    Folded(Arc<str>),
    /// An `allow` line keeps it quiet; in words.
    Allowed(String),
}

/// One thing that is concluded, with its reasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Claim {
    /// The code of the page that says it; none for a plain sentence.
    pub code: Option<Arc<str>>,
    /// How pressing it is, for a finding.
    pub severity: Option<Severity>,
    /// How it stands.
    pub standing: Standing,
    /// What is said.
    pub says: String,
    /// What it is about.
    pub about: Vec<String>,
    /// The journal lines it rests on, in order of days.
    pub lines: Vec<Quote>,
    /// What nothing says, and the claim needs.
    pub absences: Vec<String>,
    /// What the whole proof takes.
    pub tally: Tally,
    /// One proof for each derivation shown, the shallowest first.
    pub proofs: Vec<Step>,
    /// How many more derivations were merged into it.
    pub other_ways: usize,
    /// Cautions that stand beside it.
    pub cautions: Vec<String>,
}

/// The words of a rule page that an explanation quotes, as Markdown.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PageNote {
    /// Its code.
    pub code: String,
    /// Its severity, if it has one.
    pub severity: Option<Severity>,
    /// Where it stands, and whether it came with the program.
    pub path: String,
    /// Whether it came with the program.
    pub built_in: bool,
    /// Headed sections: heading and prose.
    pub sections: Vec<(String, String)>,
    /// What it folds, as written.
    pub folds: Vec<String>,
    /// How many rules, and how many examples that must fire and must stay silent.
    pub counts: (usize, usize, usize),
}

impl PageNote {
    /// The prose under a heading, whatever its case.
    pub fn section(&self, heading: &str) -> Option<&str> {
        let found = self.sections.iter().find(|(h, _)| h.eq_ignore_ascii_case(heading));
        found.map(|(_, prose)| prose.as_str())
    }
}

/// The answer to `why SUBJECT`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Why {
    /// What was asked about, as it is known: `lot tern-26`, `untested-lot`, `spring.md:19`.
    pub subject: String,
    /// Where the thing began, or the line asked about.
    pub line: Option<Quote>,
    /// The page, when a code was asked about.
    pub page: Option<PageNote>,
    /// What is concluded, most urgent first.
    pub claims: Vec<Claim>,
    /// Actions about it.
    pub actions: Vec<Action>,
    /// Which causes fit what ails its plants, or those it is suspected of having hurt.
    pub rankings: Vec<Ranked>,
    /// Other sentences that hold of it, each with where it comes from in a word or two.
    pub also: Vec<(String, String)>,
    /// How many more of those there are.
    pub also_left: usize,
}

/// Which causes fit one outbreak, and why.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ranked {
    /// The outbreak.
    pub outbreak: String,
    /// Where its plants stand.
    pub places: String,
    /// Since when, in words.
    pub since: String,
    /// The causes that fit best, the likeliest first.
    pub suspects: Vec<RankedSuspect>,
    /// How many more there are.
    pub left_out: usize,
    /// What several of them that are of one cause come to together, where that is more than the likeliest alone.
    pub shared: Vec<SharedCause>,
    /// The first two by name, for the heading of their ratios.
    pub between: Option<(String, String)>,
    /// Question by question: what the diary says.
    pub asked: Vec<RankedAnswer>,
    /// How strongly all answers speak for one of the first two against the other, 1 or more.
    pub support: f64,
    /// The same in words of a published scale.
    pub support_words: String,
    /// Where those words stand on their scale: `the second of six steps`.
    pub support_step: String,
    /// Which of the first two they favour: 0 or 1.
    pub favours: usize,
    /// How much likelier the first was than the second before any answer.
    pub before: f64,
    /// What nobody has looked at, the most telling first.
    pub unasked: Vec<String>,
    /// What was answered in a way that leaves it open, the most telling first.
    pub unclear: Vec<String>,
    /// What would settle it soonest, if anything would tell much.
    pub settle: Option<Settle>,
}

/// A cause with its chance.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RankedSuspect {
    /// In words, `carryover from lot tern-26`.
    pub told: String,
    /// Its page, which says what its figures lean on.
    pub page: String,
    /// 0 to 1, alone or with another.
    pub chance: f64,
    /// The same as shown: `91 in 100`.
    pub shown: String,
    /// From where to where that goes, in hundredths, if any one answer is left out: `80-98`.
    pub range: Option<String>,
    /// How many of those hundredths are together with one listed before it. What is left of a list makes no more
    /// than the whole.
    pub together: f64,
}

/// A cause that several suspects are of.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SharedCause {
    /// Its page, by which it is named.
    pub page: String,
    /// How many suspects are of it.
    pub suspects: usize,
    /// The chance that one or more of them is at work, 0 to 1.
    pub chance: f64,
    /// The same as shown: `44 in 100`.
    pub shown: String,
    /// As [`RankedSuspect::range`].
    pub range: Option<String>,
}

/// A question with its answer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RankedAnswer {
    /// What is asked.
    pub asks: String,
    /// Of which lot or spraying.
    pub about: Option<String>,
    /// What the diary says.
    pub answer: String,
    /// The journal lines it rests on.
    pub lines: Vec<Quote>,
    /// Of how many tests that is, where it is counted from tests.
    pub tests: usize,
    /// How much oftener it is answered so under the first cause than under [`RankedAnswer::against`].
    pub ratio: f64,
    /// As shown, `6 : 1`.
    pub shown: String,
    /// The cause it is weighed against where that is not the second: its name, and how it is told.
    pub against: Option<(String, String)>,
    /// Where those two are set apart by nothing: the likeliest cause that the answer does set apart from the first,
    /// how much oftener it is answered so under the first, and that as shown.
    pub apart: Option<(String, f64, String)>,
    /// A remark on how several tests were weighed, and on how much a count this small can say; empty if there is none.
    pub note: String,
}

/// What would settle a ranking.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Settle {
    /// What to do.
    pub doing: String,
    /// With which lot or spraying.
    pub about: Option<String>,
    /// Days until it can be read.
    pub days: Option<f64>,
    /// What it costs, in words.
    pub money: Option<String>,
    /// By how much it may be expected to lower the chance that the first cause is wrong.
    pub gain: f64,
    /// For its likelier answers: the answer, which cause leads then, its chance in words, and how likely
    /// the answer is.
    pub outcomes: Vec<(String, String, String, f64)>,
}

/// The answer to `why --if ENTRY`: what would change if an entry were written today.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WhatIf {
    /// The entry.
    pub entry: String,
    /// The day it would be written on, in words.
    pub day: String,
    /// Outbreaks whose chances would move, the latest first.
    pub changes: Vec<Moved>,
    /// How many outbreaks would stay as they are.
    pub unmoved: usize,
    /// What would be said that is not said now: severity, code, message.
    pub said: Vec<(Severity, Arc<str>, String)>,
    /// What would no longer be said.
    pub gone: Vec<(Severity, Arc<str>, String)>,
}

/// The suspects of one outbreak, as they are and as they would be.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Moved {
    /// Where its plants stand.
    pub places: String,
    /// Since when, in words.
    pub since: String,
    /// Each suspect in words, its chance now and then as a number and as shown; `None` where it is not suspected.
    pub suspects: Vec<(String, Option<Chance>, Option<Chance>)>,
}

/// A chance from 0 to 1, and how it is shown.
pub type Chance = (f64, String);

/// A recipe told: sums for the day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recipe {
    /// What was asked, as it was typed.
    pub asked: String,
    /// The day it is told for, in words.
    pub day: String,
    /// The code of its page.
    pub code: String,
    /// Its page.
    pub page: PageNote,
    /// Why nothing can be told; then the rest is not for use.
    pub refused: Vec<RecipeLine>,
    /// What to know before anything is done.
    pub warned: Vec<RecipeLine>,
    /// Figures.
    pub sums: Vec<RecipeLine>,
    /// What to do, in order.
    pub steps: Vec<RecipeLine>,
    /// Lines for the journal.
    pub writes: Vec<RecipeLine>,
}

impl Recipe {
    /// The lines of a part; what stands beside others is kept with them, or else among the warnings.
    pub fn list(&mut self, part: Told) -> &mut Vec<RecipeLine> {
        match part {
            Told::Refuse => &mut self.refused,
            Told::Sum => &mut self.sums,
            Told::Step => &mut self.steps,
            Told::Write => &mut self.writes,
            Told::Warn | Told::Note | Told::Caution => &mut self.warned,
        }
    }

    /// Every line with its part, in the order they are shown.
    pub fn lines(&self) -> impl Iterator<Item = (Told, &RecipeLine)> {
        let all = [
            (Told::Refuse, &self.refused),
            (Told::Warn, &self.warned),
            (Told::Sum, &self.sums),
            (Told::Step, &self.steps),
            (Told::Write, &self.writes),
        ];
        all.into_iter().flat_map(|(part, lines)| lines.iter().map(move |line| (part, line)))
    }
}

/// One line of a recipe.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RecipeLine {
    /// What a sum is called; empty for other lines.
    pub label: String,
    /// The text, filled in.
    pub text: String,
    /// Notes and cautions that stand beside it.
    pub beside: Vec<(Told, String)>,
    /// Where the figures in it come from.
    pub cited: Vec<Cited>,
    /// One proof for each row it is told of, and of what stands beside.
    pub proofs: Vec<Step>,
}

/// A figure of a table with its source.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cited {
    /// What the row says.
    pub says: String,
    /// What its column of sources says.
    pub source: String,
    /// Where the row stands.
    pub loc: Loc,
}

/// What recipe there is, for the list.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RecipeNote {
    /// The code of its page.
    pub code: String,
    /// What it is for, as Markdown.
    pub is_for: String,
    /// How it is asked for, and what may be said beside.
    pub ways: Vec<String>,
}

/// The answer to `why --not SENTENCE`: how near it comes to holding.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WhyNotSo {
    /// What was asked, as a sentence.
    pub asked: String,
    /// Sentences that hold after all, with their proofs; then there is nothing to explain.
    pub holds: Vec<Step>,
    /// Sentences that differ from it in one blank.
    pub near: Vec<String>,
    /// How far each rule comes that could say it, the nearest first.
    pub attempts: Vec<Attempt>,
    /// Who could say it, where no rule could: the journal, a table, a reckoner.
    pub said_by: String,
}

/// How far one rule comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Attempt {
    /// The code of its page.
    pub code: Arc<str>,
    /// Its number on that page.
    pub number: u32,
    /// Where it is written.
    pub loc: Loc,
    /// What it needs and has.
    pub met: Vec<Step>,
    /// What it needs and has not.
    pub fails: String,
    /// What stands in the way, in words; empty where the lack says it all.
    pub obstacle: String,
    /// Sentences that come near to what is missing.
    pub near: Vec<String>,
    /// Why what is missing does not hold in its turn.
    pub because: Option<Box<WhyNotSo>>,
    /// How many lines after this one are not met either.
    pub more: usize,
    /// Whether every way was tried.
    pub exhaustive: bool,
}

/// A place, lot or person that something reached, or that something was reached by.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// The other end.
    pub thing: String,
    /// Since when, in words.
    pub since: String,
    /// How much, in words, where it is known.
    pub amount: Option<String>,
    /// True for what lies on top there today.
    pub on_top: bool,
    /// What lay on top there and was taken off.
    pub off: Option<TakenOff>,
    /// True when only a plan would make it so.
    pub planned: bool,
    /// True for what was done on a day and is over: returned, set aside.
    pub once: bool,
    /// The journal lines it went by, in order of days.
    pub lines: Vec<Quote>,
}

/// Stuff that lay on top of a place and was taken off.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenOff {
    /// Whether all of it was, or only some.
    pub all: bool,
    /// The last day on which it was, in words.
    pub on: String,
    /// What was assumed, where the line names no lot.
    pub assumed: Option<String>,
    /// The journal lines that say so.
    pub lines: Vec<Quote>,
}

/// The answer to `trace NAME`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Trace {
    /// What was asked about.
    pub subject: String,
    /// Where it began.
    pub began: Option<Quote>,
    /// Where it went.
    pub forwards: Vec<Reach>,
    /// What reached it.
    pub backwards: Vec<Reach>,
    /// What else the reckoning says of it: what is left, when it was used up.
    pub balance: Vec<String>,
    /// What it is made up of and holds on the day asked about.
    pub content: Option<super::content::Content>,
    /// Figures of tables that the amounts rest on, in the order of their pages.
    pub figures: Vec<super::content::Sourced>,
}

/// One verb of the phrase book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verb {
    /// The verb.
    pub verb: String,
    /// Other spellings.
    pub also: Vec<String>,
    /// What it means.
    pub meaning: String,
    /// One right line.
    pub example: String,
}

/// Words of one kind, with their other names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WordKind {
    /// The kind: `crop`, `sign`, …
    pub kind: String,
    /// Each word with its other names.
    pub words: Vec<(String, Vec<String>)>,
}

/// The phrase book: what an entry may begin with and be about.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PhraseBook {
    /// The verbs.
    pub verbs: Vec<Verb>,
    /// The words, by kind.
    pub kinds: Vec<WordKind>,
}
