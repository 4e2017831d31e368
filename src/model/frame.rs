//! Frames: what an entry with a given verb may say, and the sentences it says then.
//!
//! Comes in: nothing; plain types. Goes out: what the reading of entries fills, what rule pages are
//! written against, and what the phrase book prints. It reads no text; `parse::frames` does.

use std::{collections::BTreeMap, sync::Arc};

use rustc_hash::{FxHashMap, FxHashSet};

use super::page::Passage;
use crate::{
    base::{name::fold, span::Loc},
    measure::{unit::Dimension, value::Quantity},
};

/// All frames of the journal language.
#[derive(Debug, Clone, Default)]
pub struct Frames {
    /// The frames, in the order of the table.
    pub frames: Vec<Frame>,
    /// Sentences that belong to no verb: what holds of every name, of the day, of words.
    pub common: Vec<Passage>,
    /// Folded verbs and their other spellings, with the number of their frame.
    verbs: FxHashMap<String, usize>,
    /// Folded first words of verbs that stand apart, with what follows further on and the number of their frame.
    apart: FxHashMap<String, Vec<(String, usize)>>,
    /// Folded plan forms, with the number of their frame.
    bases: FxHashMap<String, usize>,
    /// Folded openings that are prose.
    prose: FxHashSet<String>,
    /// The longest verb, in words.
    longest: usize,
}

/// One verb with its slots and sentences.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    /// The verb, as entries and sentences know it (`dug in`).
    pub verb: Arc<str>,
    /// Other words that begin an entry of this frame (`field` for `bed`, `sown` for `sowed`).
    pub also: Vec<Arc<str>>,
    /// First words that begin an entry of this frame where another word follows further on (`raked … off`).
    pub apart: Vec<(Arc<str>, Arc<str>)>,
    /// The form a plan is worded in (`sow`), which begins an entry only after `plan to` or a checkbox.
    pub base: Option<Arc<str>>,
    /// Openings that are prose although they begin with the verb (`gave up`).
    pub prose: Vec<Arc<str>>,
    /// What it means, in one or two sentences.
    pub meaning: Arc<str>,
    /// One right line, list marker left out.
    pub example: Arc<str>,
    /// Whether prose may begin with this verb, so that it is an entry only if something in it is known.
    pub everyday: Everyday,
    /// What sort of entry it makes.
    pub kind: FrameKind,
    /// Its slots, in the order of the table.
    pub slots: Vec<Slot>,
    /// What amounts in its slots can mean at all.
    pub limits: Vec<Limit>,
    /// The sentences it says, one line each, with their place in the frame table.
    pub sentences: Vec<Passage>,
    /// What sentences hang on beside their blanks, by the number of the sentence.
    pub conditions: BTreeMap<usize, Vec<Condition>>,
    /// Where its heading stands in the frame table.
    pub loc: Loc,
}

/// Something a sentence hangs on beside its blanks: `(if fine)`, `(unless crop)`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// A slot, `none` for a level of nothing, or `containers` for a count of them.
    pub slot: Arc<str>,
    /// Whether it must be said, or must not.
    pub said: bool,
}

/// Which verbs of a frame prose begins with too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Everyday {
    /// None of them.
    Never,
    /// All of them; a line that might have been an entry is told.
    Always,
    /// Only these, folded; what they begin is prose without a word said.
    Words(Vec<Arc<str>>),
}

impl Everyday {
    /// Whether prose may begin with this folded verb.
    pub fn holds(&self, written: &str) -> bool {
        match self {
            Self::Never => false,
            Self::Always => true,
            Self::Words(words) => words.iter().any(|w| **w == *written),
        }
    }
}

impl Frame {
    /// Other words that begin an entry of this frame, those that stand apart with dots between.
    pub fn spellings(&self) -> Vec<String> {
        let apart = self.apart.iter().map(|(first, later)| format!("{first} \u{2026} {later}"));
        self.also.iter().map(ToString::to_string).chain(apart).collect()
    }

    /// Whether a slot has this word for a lead.
    pub fn has_lead(&self, word: &str) -> bool {
        let leads = self.slots.iter().flat_map(|s| &s.leads);
        leads.into_iter().any(|lead| matches!(lead, Lead::Word(w) if **w == *word))
    }

    /// The slot of that name.
    pub fn slot(&self, name: &str) -> Option<&Slot> {
        self.slots.iter().find(|s| &*s.name == name)
    }
}

/// The least and the most an amount in a slot can mean; beyond that it is a slip of the pen.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The slot.
    pub slot: Arc<str>,
    /// Both ends.
    pub range: Quantity,
    /// Both ends as they are written: `-70 to 5 C`.
    pub said: Arc<str>,
}

/// What sort of entry a frame makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum FrameKind {
    /// Something done or seen on a day.
    #[default]
    Event,
    /// A place, creature, person or unit that exists; may stand undated and then always holds.
    Place,
    /// About other entries or findings: `done`, `skipped`, `allow`, `correct`.
    Bookkeeping,
}

/// One thing an entry can say beside its verb.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slot {
    /// Its name, which is also the name of the blank in the sentences.
    pub name: Arc<str>,
    /// How it is introduced: `first`, `bare`, or a word of the line (`in`, `with`, `made from`).
    pub leads: Vec<Lead>,
    /// What can fill it; any of these.
    pub takes: Vec<Takes>,
    /// Whether the entry says nothing without it.
    pub need: Need,
    /// How several fillers are meant.
    pub several: Several,
}

/// How a slot is introduced in a line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Lead {
    /// Directly after the verb, before any word that leads a clause.
    First,
    /// Anywhere, without a word before it.
    Bare,
    /// After this word or these words (`in`, `made from`).
    Word(Arc<str>),
    /// Before this word (`3 in deep`, `40 l each`, `9 of 12 seeds up`).
    Before(Arc<str>),
    /// The rest of the entry, as free words.
    Rest,
    /// What stands after the colon.
    AfterColon,
}

/// Whether a slot must be said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Need {
    /// It may be left out.
    May,
    /// It is needed.
    Must,
    /// One of the slots that share this word is needed.
    OneOf(Arc<str>),
    /// It is needed where the slot of this name is said.
    With(Arc<str>),
}

/// How several fillers of a slot, or an amount beside several things, are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Several {
    /// One filler only.
    #[default]
    One,
    /// More than one may be named.
    List,
    /// An amount that holds for each thing or place named.
    Each,
    /// An amount that is a total, divided over the places named by area.
    Shared,
}

/// What can fill a slot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Takes {
    /// A thing already named, of this kind or of the kinds these capitals stand for (`bed`, `LOT`).
    Thing(Arc<str>),
    /// The control arm of a bean test.
    Control,
    /// A portion of a thing of this kind (`west half of north-1`).
    Portion(Arc<str>),
    /// A name that begins with this entry, of this kind (`lot`, `batch`); the verb's own kind for a declaration.
    New(Option<Arc<str>>),
    /// A word of the vocabulary, of this kind (`crop`, `sign`).
    Word(Arc<str>),
    /// An amount of one dimension.
    Measure(Dimension),
    /// An amount of stuff: volume, mass, or a count of containers.
    Amount,
    /// A bare number of things.
    Count,
    /// `4 pots`.
    Pots,
    /// `N of M plants|pots|seeds|containers`.
    CountOf,
    /// `none hurt`, `all hurt`, `fine`: of however many there are.
    WholeCount,
    /// `18 severe, 4 slight, 2 fine`.
    Grades,
    /// `8, 9, none cm`.
    Heights,
    /// `2:1`.
    Ratio,
    /// Two or three lengths: `30 ft x 4 ft`, or an area.
    Size,
    /// A laboratory level: a mass fraction, `under` one, `trace` or `no`.
    Level,
    /// A reading or a series of readings with clock times.
    Reading,
    /// The same, each with the name of what was read: `C:N 38`, `moisture 60 %`.
    NamedReading,
    /// An application rate: `10 ml per litre`.
    Rate,
    /// `8 mph from the west`, `calm`, `light from the NW`.
    Wind,
    /// A compass point.
    Compass,
    /// A clock time.
    Clock,
    /// A day, or a span of days.
    Date,
    /// Money.
    Money,
    /// `flush 2`, `first flush`.
    Flush,
    /// `dry weight`, `fresh weight`.
    Basis,
    /// Words in quotes.
    Quoted,
    /// Free words up to the next clause.
    Words,
    /// Words that are always the same and only said or not.
    Flag,
    /// The code of a finding.
    Code,
    /// A verb of the frame table.
    Verb,
    /// What a correction puts in place of the entry.
    Replacement,
}

impl Frames {
    /// Frames in the order of the table, with the sentences that belong to no verb.
    pub fn new(frames: Vec<Frame>, common: Vec<Passage>) -> Self {
        let mut verbs = FxHashMap::default();
        let mut apart: FxHashMap<String, Vec<(String, usize)>> = FxHashMap::default();
        let mut bases = FxHashMap::default();
        let mut prose = FxHashSet::default();
        let mut longest = 1;
        for (n, frame) in frames.iter().enumerate() {
            for verb in std::iter::once(&frame.verb).chain(&frame.also) {
                let key = fold(verb);
                longest = longest.max(key.split(' ').count());
                verbs.entry(key).or_insert(n);
            }
            for (first, later) in &frame.apart {
                apart.entry(fold(first)).or_default().push((fold(later), n));
            }
            for opening in &frame.prose {
                let key = fold(opening);
                longest = longest.max(key.split(' ').count());
                prose.insert(key);
            }
            if let Some(base) = &frame.base {
                bases.entry(fold(base)).or_insert(n);
            }
        }
        Self { frames, common, verbs, apart, bases, prose, longest }
    }

    /// The frame of a verb, or of another spelling of it.
    pub fn get(&self, verb: &str) -> Option<&Frame> {
        self.verbs.get(&fold(verb)).and_then(|n| self.frames.get(*n))
    }

    /// The frame whose entries begin with these folded words, and whether they are its plan form, which
    /// counts only where something marks a plan. `None` for words that open prose.
    pub fn begins(&self, folded: &str, planned: bool) -> Option<(&Frame, bool)> {
        if let Some(n) = self.verbs.get(folded) {
            return self.frames.get(*n).map(|f| (f, false));
        }
        let n = self.bases.get(folded).filter(|_| planned)?;
        self.frames.get(*n).map(|f| (f, true))
    }

    /// The frame of a verb that stands apart: its folded first word, and what follows it in the line, folded, with a
    /// space at either end.
    pub fn begins_apart(&self, first: &str, rest: &str) -> Option<&Frame> {
        let found = |later: &str| rest.find(&format!(" {later} "));
        // What follows first is of the verb: `raked the straw off north-1 into the lane`.
        let apart = self.apart.get(first)?.iter();
        let (_, n) = apart.filter_map(|(later, n)| Some((found(later)?, n))).min_by_key(|(at, _)| *at)?;
        self.frames.get(*n)
    }

    /// Whether these folded words open prose although they begin with a verb.
    pub fn is_prose(&self, folded: &str) -> bool {
        self.prose.contains(folded)
    }

    /// The most words a verb or an opening has.
    pub fn longest_verb(&self) -> usize {
        self.longest
    }

    /// Every verb and other spelling, folded, in alphabetical order.
    pub fn verbs(&self) -> Vec<&str> {
        let mut all: Vec<&str> = self.verbs.keys().map(String::as_str).collect();
        all.sort_unstable();
        all
    }
}
