//! The words of the tables: what is a crop, a sign, a material, and under which other spellings.
//!
//! Comes in: the facts that tables say, `{thing} is a {kind}`, `{other} is another word for the {kind}
//! {word}`, and what readings are measures of. Goes out: a word's meaning at a place of an entry. It
//! contains no word itself.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::atoms::{AtomTable, PieceAtoms, atoms, number_forms};
use crate::{
    base::name::fold,
    measure::{dimension::Dimension, value::Value},
    model::{program::Program, sentence::Sentence},
};

/// How much `about` widens an amount either way where no table says it (our judgement).
const ABOUT: f64 = 0.2;

/// One meaning of a word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meaning {
    /// `crop`, `sign`, `material`, …
    pub kind: Arc<str>,
    /// The word of the table that it stands for.
    pub word: Arc<str>,
}

/// What a reading is a measure of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A figure with no unit.
    Plain,
    /// An amount.
    Of(Dimension),
}

impl Measure {
    fn named(word: &str) -> Option<Self> {
        match word {
            "number" => Some(Self::Plain),
            other => Dimension::from_word(other).map(Self::Of),
        }
    }
}

/// A spelling, and the word it stands for.
type Spelling = (Arc<str>, Arc<str>);

/// All words of the tables.
#[derive(Debug, Clone)]
pub struct Vocabulary {
    table: AtomTable<Vec<Meaning>>,
    /// The words by kind, as written in the tables, other spellings included.
    spellings: BTreeMap<Arc<str>, Vec<Spelling>>,
    /// What each kind of reading is a measure of, where a table says so.
    measures: BTreeMap<Arc<str>, Measure>,
    /// The most that a kind of reading can be.
    mosts: BTreeMap<Arc<str>, Value>,
    /// The least it can be.
    leasts: BTreeMap<Arc<str>, Value>,
    /// Grades that are no hurt: the tables rank them 0.
    unhurt: BTreeSet<Arc<str>>,
    /// How much `about` widens an amount, as a share either way.
    pub about: f64,
}

impl Default for Vocabulary {
    fn default() -> Self {
        Self {
            table: AtomTable::default(),
            spellings: BTreeMap::new(),
            measures: BTreeMap::new(),
            mosts: BTreeMap::new(),
            leasts: BTreeMap::new(),
            unhurt: BTreeSet::new(),
            about: ABOUT,
        }
    }
}

impl Vocabulary {
    /// The words a program's tables list.
    pub fn of(program: &Program) -> Self {
        let mut out = Self::default();
        for (says, values) in facts(program) {
            match (says, values) {
                (Says::Kind, [Value::Word(word), Value::Word(kind)]) => out.add(kind, word, word),
                (Says::Other, [Value::Word(other), Value::Word(kind), Value::Word(word)]) => {
                    out.add(kind, word, other);
                }
                (Says::Measure, [Value::Word(quantity), Value::Word(measure)]) => {
                    if let Some(measure) = Measure::named(measure) {
                        out.measures.insert(quantity.clone(), measure);
                    }
                }
                (Says::Rank, [Value::Word(grade), Value::Number(rank)]) if rank.high() <= 0.0 => {
                    out.unhurt.insert(grade.clone());
                }
                (Says::Most, [Value::Word(quantity), most]) => {
                    out.mosts.insert(quantity.clone(), most.clone());
                }
                (Says::Least, [Value::Word(quantity), least]) => {
                    out.leasts.insert(quantity.clone(), least.clone());
                }
                (Says::About, [Value::Quantity(q)]) => out.about = q.size.high().clamp(0.0, 1.0),
                _ => {}
            }
        }
        out
    }

    /// Whether the tables of two programs list the same words.
    pub fn same(a: &Program, b: &Program) -> bool {
        facts(a).eq(facts(b))
    }

    /// Adds a spelling of a word.
    pub fn add(&mut self, kind: &Arc<str>, word: &Arc<str>, spelling: &str) {
        let meaning = Meaning { kind: kind.clone(), word: word.clone() };
        let mut all = atoms(spelling);
        let Some(last) = all.pop() else { return };
        for form in number_forms(&last) {
            all.push(form.into());
            if let Some(meanings) = self.table.entry(&all)
                && !meanings.contains(&meaning)
            {
                meanings.push(meaning.clone());
            }
            all.pop();
        }
        let list = self.spellings.entry(kind.clone()).or_default();
        let pair = (Arc::from(spelling), word.clone());
        if let Err(at) = list.binary_search(&pair) {
            list.insert(at, pair);
        }
    }

    /// What a kind of reading is a measure of; `None` where no table says.
    pub fn measure(&self, quantity: &str) -> Option<Measure> {
        self.measures.get(quantity).copied()
    }

    /// Whether a grade is no hurt.
    pub fn unhurt(&self, grade: &str) -> bool {
        self.unhurt.contains(grade)
    }

    /// The most that a kind of reading can be.
    pub fn most(&self, quantity: &str) -> Option<&Value> {
        self.mosts.get(quantity)
    }

    /// The least that a kind of reading can be, where that is not nothing.
    pub fn least(&self, quantity: &str) -> Option<&Value> {
        self.leasts.get(quantity)
    }

    /// The longest word of one of `kinds` at a piece, and the piece after it. Of two meanings of the
    /// same length the kind named first wins.
    pub fn at<'a>(
        &'a self,
        pieces: &PieceAtoms,
        from: usize,
        until: usize,
        kinds: &[&str],
    ) -> Option<(&'a Meaning, usize)> {
        self.table.at(pieces, from, until).find_map(|(meanings, next)| {
            let fits = |kind: &&str| meanings.iter().find(|m| *m.kind == **kind);
            kinds.iter().find_map(fits).map(|m| (m, next))
        })
    }

    /// The meaning of a whole text among `kinds`.
    pub fn whole(&self, text: &str, kinds: &[&str]) -> Option<&Meaning> {
        let meanings = self.table.get(&atoms(text))?;
        kinds.iter().find_map(|kind| meanings.iter().find(|m| *m.kind == **kind))
    }

    /// Whether any word of any kind begins at a piece.
    pub fn any_at(&self, pieces: &PieceAtoms, from: usize, until: usize) -> bool {
        self.table.at(pieces, from, until).next().is_some()
    }

    /// The words of one kind, of several words each, that begin with `first`; if there are none, other spellings that do.
    /// A word that others of them end with (`leaves`) says nothing of its own. In the order of the alphabet.
    pub fn beginning(&self, kind: &str, first: &str) -> Vec<String> {
        let first = fold(first);
        let begins = |spelling: &str| fold(spelling).split_once(' ').is_some_and(|(f, _)| f == first);
        let ends = |spelling: &str| fold(spelling).rsplit(' ').next() == Some(&*first);
        let noun = self.spellings(kind).any(|(s, _)| s.contains(' ') && ends(s));
        let (own, other): (Vec<_>, Vec<_>) = self
            .spellings(kind)
            .filter(|_| !noun)
            .filter(|(s, _)| begins(s))
            .partition(|(s, word)| s == word);
        let found = if own.is_empty() { other } else { own };
        found.into_iter().map(|(s, _)| s.to_owned()).collect()
    }

    /// Spellings of one kind in alphabetical order, each with the word it stands for.
    pub fn spellings(&self, kind: &str) -> impl Iterator<Item = (&str, &str)> {
        self.spellings.get(kind).into_iter().flatten().map(|(s, w)| (&**s, &**w))
    }
}

/// What a fact of the tables tells of words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Says {
    Kind,
    Other,
    Measure,
    Rank,
    Most,
    Least,
    About,
}

/// The facts that tell of words.
fn facts(program: &Program) -> impl Iterator<Item = (Says, &[Value])> {
    let says = |sentence: &Sentence| {
        Some(match words_of(sentence)[..] {
            ["", "is", "a", ""] => Says::Kind,
            ["", "is", "another", "word", "for", "the", "", ""] => Says::Other,
            ["", "is", "read", "as", ""] => Says::Measure,
            ["severity", "", "is", "", "steps", "worse", "than", "fine"] => Says::Rank,
            ["", "cannot", "be", "over", ""] => Says::Most,
            ["", "cannot", "be", "under", ""] => Says::Least,
            ["about", "widens", "an", "amount", "by", "", "either", "way"] => Says::About,
            _ => return None,
        })
    };
    let says: Vec<Option<Says>> = program.sentences.iter().map(says).collect();
    let facts = program.facts.iter();
    facts.filter_map(move |fact| Some(((*says.get(fact.sentence.0 as usize)?)?, &fact.values[..])))
}

/// The words of a sentence, blanks empty.
fn words_of(sentence: &Sentence) -> Vec<&str> {
    use crate::model::sentence::Part;
    sentence
        .parts
        .iter()
        .map(|p| match p {
            Part::Word(w) => &**w,
            Part::Blank(_) => "",
        })
        .collect()
}
