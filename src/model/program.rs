//! A checked program: sentences, facts, rules and reckoners, with every name resolved.
//!
//! Comes in: what `understand` compiled. Goes out: all that `infer` needs, and nothing about farming.

use std::sync::Arc;

use super::sentence::{Sentence, SentenceId};
use crate::{
    base::{diagnostic::Severity, span::Loc},
    measure::value::{EntryId, Value},
};

/// A variable of one rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VarId(pub u32);

/// What stands in a blank of a line.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Term {
    /// A variable.
    Var(VarId),
    /// A constant.
    Const(Value),
    /// `{}`: anything.
    Any,
}

/// Which tuples of a journal sentence a line reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Status {
    /// No tag: what happened.
    #[default]
    Done,
    /// `(planned)`
    Planned,
    /// `(done or planned)`
    Either,
}

/// A sentence with its blanks filled by terms.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Atom {
    /// Which sentence.
    pub sentence: SentenceId,
    /// One term for each blank.
    pub terms: Vec<Term>,
    /// `(entry {e})`, or `Any`; only journal sentences carry an entry.
    pub entry: Term,
    /// Which tuples are read; only journal sentences have a choice.
    pub status: Status,
}

/// Something computed from bound variables.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Expr {
    /// A variable or a constant.
    Term(Term),
    /// Sum: numbers, amounts of one dimension, or a day and a duration.
    Add(Box<Expr>, Box<Expr>),
    /// Difference: as for sums; two days give a duration.
    Sub(Box<Expr>, Box<Expr>),
    /// Product: one side a number or share.
    Mul(Box<Expr>, Box<Expr>),
    /// Quotient: by a number, or of two amounts of one dimension.
    Div(Box<Expr>, Box<Expr>),
    /// A function of as many sides as it takes.
    Call(Function, Vec<Expr>),
}

/// What can be asked of values beside adding and multiplying.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Function {
    /// `{x} rounded up`: the next whole number, of one.
    RoundedUp,
    /// `{x} rounded down`: the whole number before, of one.
    RoundedDown,
    /// `{x} rounded`: the nearest whole number, halves away from nothing, of one.
    Rounded,
    /// `the greater of {a} and {b}`, of two that measure the same.
    Greater,
    /// `the lesser of {a} and {b}`, of two that measure the same.
    Lesser,
    /// `the low end of {x}`: the least a range may be, of one.
    LowEnd,
    /// `the high end of {x}`: the most a range may be, of one.
    HighEnd,
    /// `the decimal logarithm of {x}`: of one bare number above nothing.
    Logarithm,
}

impl Function {
    /// Its words in front of what it is asked of, and behind it.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Function::RoundedUp => ("", "rounded up"),
            Function::RoundedDown => ("", "rounded down"),
            Function::Rounded => ("", "rounded"),
            Function::Greater => ("the greater of", ""),
            Function::Lesser => ("the lesser of", ""),
            Function::LowEnd => ("the low end of", ""),
            Function::HighEnd => ("the high end of", ""),
            Function::Logarithm => ("the decimal logarithm of", ""),
        }
    }
}

/// How two sides are compared.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Comparator {
    /// `is`
    Same,
    /// `is not`
    Different,
    /// `is less than`, `is before`
    Less,
    /// `is at most`, `is on or before`
    AtMost,
    /// `is more than`, `is after`
    More,
    /// `is at least`, `is on or after`
    AtLeast,
    /// `is within DURATION after`: 0 to the duration, both ends in.
    WithinAfter(Expr),
    /// `is within DURATION before`
    WithinBefore(Expr),
    /// `is within DURATION of`: either way
    WithinOf(Expr),
    /// `is more than DURATION after`
    MoreThanAfter(Expr),
    /// `is more than DURATION before`
    MoreThanBefore(Expr),
}

/// A comparison.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Comparison {
    /// Left side.
    pub left: Expr,
    /// How.
    pub by: Comparator,
    /// Right side.
    pub right: Expr,
    /// `may be …`: it is enough that it holds for part of the ranges. Without it, for all of them.
    pub may: bool,
}

/// Which value an aggregate picks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gather {
    /// `how many different`
    Count,
    /// `the total`
    Total,
    /// `the earliest`, `the least`
    Least,
    /// `the latest`, `the greatest`
    Greatest,
}

/// One line of a rule's body.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Where it is written.
    pub loc: Loc,
    /// What it demands.
    pub demand: Demand,
}

/// What a line demands.
#[derive(Debug, Clone, PartialEq)]
pub enum Demand {
    /// A sentence holds.
    Holds(Atom),
    /// No tuple fits. Variables in it that no positive line binds are local.
    No {
        /// The sentence denied.
        atom: Atom,
        /// `, with …`: comparisons that must also hold of the denied tuple.
        with: Vec<Comparison>,
    },
    /// A value gathered over all tuples that fit.
    Gather {
        /// The variable that gets the value.
        into: VarId,
        /// How.
        how: Gather,
        /// The variable gathered.
        of: VarId,
        /// The sentence gathered over.
        atom: Atom,
        /// `, with …`
        with: Vec<Comparison>,
    },
    /// `{due} is {seen} + 14 days`
    Compute {
        /// The variable that gets the value.
        into: VarId,
        /// The right side.
        expr: Expr,
    },
    /// A comparison.
    Compare(Comparison),
}

/// A rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// The code of its page, as proofs cite it.
    pub page: Arc<str>,
    /// Its number on the page, from 1.
    pub number: u32,
    /// Where it is written.
    pub loc: Loc,
    /// Variable names, by [`VarId`].
    pub vars: Vec<Arc<str>>,
    /// The lines in written order.
    pub body: Vec<Line>,
    /// What it concludes; for findings, actions, answers and cautions a sentence of origin `Head`.
    pub head: Atom,
    /// What the head means.
    pub meaning: Meaning,
    /// The body line marked `(here)`.
    pub here: Option<usize>,
}

/// What a rule's head means to a reader.
///
/// For all but `Sentence` (and `Told`, whose terms are just the blanks of its text) the head's terms are, in this order: the about-blanks, the other blanks the
/// text uses (for `{every x}`), for an action its key blanks then `since` then `by`, and last the
/// entry of the `(here)` line where there is one. The numbers below index into those terms.
#[derive(Debug, Clone, PartialEq)]
pub enum Meaning {
    /// A plain sentence.
    Sentence,
    /// `then alarm|warn|hint about {x}: "…"`
    Finding {
        /// How pressing.
        severity: Severity,
        /// The about-terms.
        about: Vec<usize>,
        /// The text.
        text: Vec<TextPart>,
        /// The entry of the `(here)` line.
        here: Option<usize>,
    },
    /// `then do … since {day}, by {day} + 3 days, until …`
    Action {
        /// The action's words with their blanks: `retest lot {lot}`.
        words: Vec<TextPart>,
        /// The key terms: the blanks in the words.
        key: Vec<usize>,
        /// The term that says since when it is open.
        since: usize,
        /// The term that says by when it is due.
        by: usize,
        /// The sentence that closes it, if any.
        until: Option<Until>,
        /// The entry of the `(here)` line, if one is marked.
        here: Option<usize>,
    },
    /// `then answer "question" in outbreak {o}: "answer"`, with `about {lot}` where it is said.
    Answer {
        /// The question.
        question: Arc<str>,
        /// The outbreak's term.
        outbreak: usize,
        /// The lot or spraying it is about.
        about: Option<usize>,
        /// The answer.
        answer: Arc<str>,
    },
    /// `then caution about {x}: "…"`: stands beside this page's findings and actions about the same thing.
    Caution {
        /// The about-terms.
        about: Vec<usize>,
        /// The text.
        text: Vec<TextPart>,
    },
    /// `then step: "…"` and its like: what a recipe tells when it is asked for.
    Told {
        /// What part of the recipe it is.
        part: Told,
        /// What a sum is called; empty for the others.
        label: Vec<TextPart>,
        /// The text.
        text: Vec<TextPart>,
    },
}

/// A part of a recipe, by the word its head begins with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Told {
    /// Why nothing can be told, and what to write so that it can.
    Refuse,
    /// What to know before anything is done.
    Warn,
    /// A figure with what it is called.
    Sum,
    /// What to do.
    Step,
    /// What else is known of the sum or step before it.
    Note,
    /// What can hurt in the step before it, and whose word goes before ours.
    Caution,
    /// A line for the journal.
    Write,
}

impl Told {
    /// Every part.
    pub const ALL: [Told; 7] =
        [Told::Refuse, Told::Warn, Told::Sum, Told::Step, Told::Note, Told::Caution, Told::Write];

    /// The word its head begins with.
    pub fn word(self) -> &'static str {
        match self {
            Told::Refuse => "refuse",
            Told::Warn => "warn",
            Told::Sum => "sum",
            Told::Step => "step",
            Told::Note => "note",
            Told::Caution => "caution",
            Told::Write => "write",
        }
    }
}

impl Rule {
    /// The sentence that closes its action, if it asks for one that is closed.
    pub fn closing(&self) -> Option<SentenceId> {
        match &self.meaning {
            Meaning::Action { until: Some(until), .. } => Some(until.atom.sentence),
            _ => None,
        }
    }

    /// Every sentence it reads, in its body or to close its action.
    pub fn reads(&self) -> impl Iterator<Item = SentenceId> {
        let body = self.body.iter().filter_map(|line| match &line.demand {
            Demand::Holds(atom) | Demand::No { atom, .. } | Demand::Gather { atom, .. } => {
                Some(atom.sentence)
            }
            Demand::Compute { .. } | Demand::Compare(_) => None,
        });
        body.chain(self.closing())
    }
}

/// The sentence that closes an action.
#[derive(Debug, Clone, PartialEq)]
pub struct Until {
    /// The sentence; its variables are replaced by `Term::Var(VarId(n))` with `n` a number of a head term.
    pub atom: Atom,
    /// Which blank is the free day.
    pub free_day: usize,
}

/// A piece of a finding's, action's or caution's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TextPart {
    /// Words as they stand.
    Words(Arc<str>),
    /// `{x}`: the value of a head term.
    Term(usize),
    /// `{every x}`: all values of a head term over the merged finding, sorted, the first three and how many more.
    Every(usize),
    /// `{new KIND}` in a recipe: a name of that kind that the journal does not know yet.
    New(Arc<str>),
}

/// Where a base fact comes from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FactSource {
    /// An entry of the journal.
    Entry(EntryId),
    /// A row of a table, or a place in a page.
    Page(Loc),
    /// Given from outside: `today is {day}`.
    Given,
}

/// A base fact.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Fact {
    /// Which sentence.
    pub sentence: SentenceId,
    /// One value for each blank.
    pub values: Vec<Value>,
    /// True for a plan's fact (journal sentences only).
    pub planned: bool,
    /// Where it comes from.
    pub source: FactSource,
}

/// A tuple handed to a reckoner, with what it needs to be named as a witness.
#[derive(Debug, Clone)]
pub struct Given<'a> {
    /// Which sentence, as a number into [`Reckoner::reads`].
    pub input: usize,
    /// The values.
    pub values: &'a [Value],
    /// Entry, for journal sentences.
    pub entry: Option<EntryId>,
    /// Whether it is planned.
    pub planned: bool,
}

/// One tuple a reckoner gives back.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoned {
    /// Which sentence, as a number into [`Reckoner::gives`].
    pub output: usize,
    /// The values.
    pub values: Vec<Value>,
    /// Numbers into the slice of [`Given`] it rests on.
    pub witnesses: Vec<usize>,
    /// Named intermediate numbers worth showing.
    pub numbers: Vec<(String, Value)>,
}

/// A member of the `reckon` registry.
#[derive(Clone)]
pub struct Reckoner {
    /// Its name in the registry and in a `sentences reckon NAME` fence.
    pub name: &'static str,
    /// The sentences it reads, as declared.
    pub reads: &'static [&'static str],
    /// The sentences it gives, as declared.
    pub gives: &'static [&'static str],
    /// Which of `gives` may rest on plans, as numbers into it; they are no evidence, like anything
    /// a rule concludes from a planned line.
    pub planned: &'static [usize],
    /// The work: pure, total, and the same whatever the order of its input.
    pub run: fn(&[Given<'_>]) -> Vec<Reckoned>,
}

impl std::fmt::Debug for Reckoner {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Reckoner").field("name", &self.name).finish_non_exhaustive()
    }
}

/// A reckoner with its sentences resolved.
#[derive(Debug, Clone)]
pub struct ReckonerUse {
    /// The registry's member.
    pub reckoner: Reckoner,
    /// Its inputs, in the order of `reads`.
    pub reads: Vec<SentenceId>,
    /// Its outputs, in the order of `gives`.
    pub gives: Vec<SentenceId>,
}

/// A program ready to run. Programs that differ in little share the rest.
#[derive(Debug, Clone, Default)]
pub struct Program {
    /// All sentences, by [`SentenceId`].
    pub sentences: Arc<Vec<Sentence>>,
    /// All rules: those of pages compiled together ordered by page code and number.
    pub rules: Vec<Arc<Rule>>,
    /// Facts from tables and from outside, in order; the journal's are handed to `infer` beside it.
    pub facts: Arc<Vec<Arc<Fact>>>,
    /// The reckoners whose sentences the pages use.
    pub reckoners: Vec<ReckonerUse>,
}
