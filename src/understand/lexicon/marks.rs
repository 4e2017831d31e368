//! What a word can do in an entry, found once for each: lead a clause, join a list, name a kind.
//!
//! Comes in: a folded word. Goes out: its marks. These are words of the language itself; the words
//! of farming are in tables.

use std::sync::OnceLock;

use rustc_hash::FxHashMap;

use super::kinds::KINDS;

/// Words that lead a clause, so that a bare new name ends before them.
const CLAUSE_WORDS: &[&str] = &[
    "about", "along", "among", "as", "at", "beside", "between", "but", "by", "deep", "each", "except", "for",
    "from", "heights", "if", "in", "into", "is", "limit", "long", "made", "mixed", "not", "of", "off", "on",
    "onto", "over", "photo", "since", "so", "spray", "sprayed", "spraying", "to", "until", "using", "wide",
    "wind", "with",
];

/// Words that stand before a name and are no part of it.
const DETERMINERS: &[&str] = &["the", "a", "an", "our", "my", "some", "his", "her", "their", "this", "that"];

/// Words that join the things of a list.
const JOINS: &[&str] = &["and", "&", "or", "plus", "+"];

/// Words an amount may begin with.
const NUMBERS: &[&str] = &[
    "about", "around", "roughly", "nearly", "almost", "some", "~", "\u{2248}", "approx", "one", "two",
    "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "dozen", "a", "an",
    "half", "\u{a3}", "$", "\u{20ac}",
];

/// Words a portion may begin with, numbers beside.
const PORTIONS: &[&str] = &[
    "what",
    "what's",
    "rest",
    "remainder",
    "remains",
    "last",
    "all",
    "half",
    "third",
    "quarter",
    "first",
    "near",
    "far",
    "left",
    "right",
    "door",
    "north",
    "south",
    "east",
    "west",
    "northeast",
    "northwest",
    "southeast",
    "southwest",
    "north east",
    "north west",
    "south east",
    "south west",
    "n",
    "s",
    "e",
    "w",
    "ne",
    "nw",
    "se",
    "sw",
    "northern",
    "southern",
    "eastern",
    "western",
];

/// What a word can do.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Marks {
    /// It leads a clause.
    pub clause: bool,
    /// It stands before a name.
    pub determiner: bool,
    /// It joins the things of a list.
    pub joins: bool,
    /// An amount may begin with it.
    pub number: bool,
    /// A portion may begin with it.
    pub portion: bool,
    /// The kind it names, and whether it names several.
    pub kind: Option<(&'static str, bool)>,
}

/// The marks of a folded word.
pub fn marks(word: &str) -> Marks {
    static WORDS: OnceLock<FxHashMap<&'static str, Marks>> = OnceLock::new();
    let words = WORDS.get_or_init(|| {
        let mut out: FxHashMap<&'static str, Marks> = FxHashMap::default();
        let mut mark = |list: &'static [&'static str], set: fn(&mut Marks)| {
            for word in list {
                set(out.entry(word).or_default());
            }
        };
        mark(CLAUSE_WORDS, |m| m.clause = true);
        mark(DETERMINERS, |m| m.determiner = true);
        mark(JOINS, |m| m.joins = true);
        mark(NUMBERS, |m| m.number = true);
        mark(PORTIONS, |m| m.portion = true);
        for (one, many) in KINDS {
            out.entry(many).or_default().kind = Some((one, true));
            out.entry(one).or_default().kind = Some((one, one == many));
        }
        out
    });
    words.get(word).copied().unwrap_or_default()
}

/// The kind a folded word names, and whether it names several.
pub fn kind_word(word: &str) -> Option<(&'static str, bool)> {
    marks(word).kind
}
