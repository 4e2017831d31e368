//! The shapes a line of a rule page can have, as written, before any sentence is looked up.
//!
//! Comes in: nothing; plain types. Goes out: what the grammar fills and the compiler reads.
//! They hold text and places, no meaning.

use crate::{
    base::span::Loc,
    model::program::{Function, Gather, Told},
};

/// A piece of a line with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot<T> {
    /// What it is.
    pub it: T,
    /// Where it stands.
    pub loc: Loc,
}

/// A word or blank of a sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Item {
    /// A bare word, or part of a number or amount.
    Word(String),
    /// `,` or `;`
    Mark(String),
    /// Words in quotes, which are one item.
    Quoted(String),
    /// What stands in braces.
    Hole(String),
}

/// A sentence as written.
pub type Said = Spot<Vec<Spot<Item>>>;

/// Something computed, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum Sum {
    /// `{x}`
    Hole(Spot<String>),
    /// A bare word or quoted words.
    Word(Spot<String>),
    /// A number, amount, day or clock time.
    Figure(Spot<String>),
    /// Two sides and what stands between them.
    Pair(Box<Sum>, char, Box<Sum>),
    /// A function, where its words stand, and what it is asked of.
    Call(Function, Loc, Vec<Sum>),
}

impl Sum {
    /// Where it stands.
    pub fn loc(&self) -> Loc {
        match self {
            Sum::Hole(s) | Sum::Word(s) | Sum::Figure(s) => s.loc,
            Sum::Pair(a, _, b) => {
                let a = a.loc();
                Loc::new(a.file, a.span.cover(b.loc().span))
            }
            Sum::Call(_, loc, sides) => {
                Loc::new(loc.file, sides.iter().fold(loc.span, |span, side| span.cover(side.loc().span)))
            }
        }
    }
}

/// How two sides are compared, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum How {
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
    /// `is within SUM after|before|of`
    Within(Sum, Direction),
    /// `is more than SUM after|before`
    MoreBy(Sum, Direction),
}

/// Which way from the other day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// later
    After,
    /// earlier
    Before,
    /// either
    Of,
}

/// A comparison, as written.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Left side.
    pub left: Sum,
    /// How.
    pub how: How,
    /// Right side.
    pub right: Sum,
    /// `may be`
    pub may: bool,
}

/// A tag in brackets, as written.
pub type Tag = Spot<String>;

/// A body line, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum Body {
    /// A sentence.
    Holds(Said, Vec<Tag>),
    /// `no SENTENCE, with …`
    No(Said, Vec<Compared>, Vec<Tag>),
    /// `{n} is how many different {x} such that …`
    Gather {
        /// The blank that gets the value.
        into: Spot<String>,
        /// How.
        how: Gather,
        /// The blank gathered.
        of: Spot<String>,
        /// The sentence gathered over.
        said: Said,
        /// `, with …`
        with: Vec<Compared>,
        /// Tags.
        tags: Vec<Tag>,
    },
    /// A comparison or a computation.
    Compares(Compared, Vec<Tag>),
    /// `{x} is word`: the sentence, if one says so, else the comparison.
    Either(Said, Compared, Vec<Tag>),
}

/// A head, as written.
#[derive(Debug, Clone, PartialEq)]
pub enum Head {
    /// A sentence.
    Said(Said),
    /// `alarm|warn|hint about {x}: "…"`
    Finding(Spot<String>, Vec<Spot<String>>, Spot<String>),
    /// `caution about {x}: "…"`
    Caution(Vec<Spot<String>>, Spot<String>),
    /// `answer "q" in outbreak {o} about {lot}: "a"`
    Answer {
        /// The question.
        question: Spot<String>,
        /// The outbreak's blank.
        outbreak: Spot<String>,
        /// What it is about.
        about: Option<Spot<String>>,
        /// The answer.
        answer: Spot<String>,
    },
    /// `step: "…"`, `sum "label": "…"`
    Told {
        /// Which part of a recipe.
        part: Told,
        /// What a sum is called.
        label: Option<Spot<String>>,
        /// The text.
        text: Spot<String>,
    },
    /// `do … since …, by …, until …`
    Action {
        /// The deed's words and blanks.
        deed: Said,
        /// Since when it is open.
        since: Sum,
        /// By when it is due.
        by: Sum,
        /// What closes it.
        until: Option<Said>,
    },
}

/// Why a line has no shape: what is wrong, and a line that is right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Where the trouble begins.
    pub loc: Loc,
    /// What is wrong.
    pub message: String,
    /// A line of the shape that was meant.
    pub write: &'static str,
}
