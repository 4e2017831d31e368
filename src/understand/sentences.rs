//! The declared sentences, and which of them a line says.
//!
//! Comes in: declared sentences, and the words and blanks of a line. Goes out: the sentence it says with
//! what stands in each blank, every other reading of it, and the nearest sentence for a line that says
//! none. It reads no constants and knows no rules.

use std::{borrow::Cow, ops::Range, sync::Arc};

use rustc_hash::FxHashMap;

use super::rulebook::shapes::{Item, Spot};
use crate::{
    measure::value::BlankType,
    model::sentence::{Origin, Part, Sentence, SentenceId},
};

/// The most words an amount or a day may have: `2 1/2 cubic yards`.
const LONGEST_FIGURE: usize = 4;

/// The most words a name may have where names are not quoted.
const LONGEST_NAME: usize = 8;

/// All declared sentences, with an index of their words.
#[derive(Debug, Clone, Default)]
pub struct Book {
    /// The book this one goes on from, whose sentences come first.
    before: Option<Arc<Book>>,
    sentences: Vec<Sentence>,
    nodes: Vec<Node>,
    /// The declared ones by how many words and blanks they have.
    by_length: FxHashMap<usize, Vec<SentenceId>>,
}

/// A place in the tree of patterns: what may come next.
#[derive(Debug, Clone, Default)]
struct Node {
    words: FxHashMap<Arc<str>, usize>,
    blank: Option<usize>,
    ends: Vec<SentenceId>,
}

/// One way to read a line: the sentence, and which items stand in each blank.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The sentence.
    pub sentence: SentenceId,
    /// For each blank, numbered as in the sentence, the items of the line.
    pub fills: Vec<Range<usize>>,
}

/// How many items of a line a blank may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// One item, or a number with its unit: lines of rules.
    Item,
    /// Any words: sentences as they are shown to people, names not quoted.
    Words,
}

impl Book {
    /// The sentences of a finished program, indexed again.
    pub fn of(sentences: &[Sentence]) -> Self {
        let mut book = Self::default();
        for s in sentences {
            book.declare(s.clone());
        }
        book
    }

    /// A book that goes on from another, which stays as it is.
    pub fn after(before: Arc<Book>) -> Self {
        Self { before: Some(before), ..Self::default() }
    }

    /// What this book has beside the one it goes on from.
    pub fn own(&self) -> Self {
        Self { before: None, ..self.clone() }
    }

    /// How many sentences come before this book's own.
    fn earlier(&self) -> usize {
        self.before.as_ref().map_or(0, |before| before.len())
    }

    /// How many sentences there are, those of the book it goes on from included.
    pub fn len(&self) -> usize {
        self.earlier() + self.sentences.len()
    }

    /// Whether there is no sentence at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The sentence of an id this book gave.
    pub fn get(&self, id: SentenceId) -> Option<&Sentence> {
        match (id.0 as usize).checked_sub(self.earlier()) {
            Some(at) => self.sentences.get(at),
            None => self.before.as_ref()?.get(id),
        }
    }

    /// All sentences, by id.
    pub fn all(&self) -> Vec<Sentence> {
        let mut all = self.before.as_ref().map(|before| before.all()).unwrap_or_default();
        all.extend_from_slice(&self.sentences);
        all
    }

    /// Adds a sentence. The caller has seen to it that no other has the same words.
    pub fn declare(&mut self, sentence: Sentence) -> SentenceId {
        let id = SentenceId(u32::try_from(self.len()).unwrap_or(u32::MAX));
        if sentence.origin != Origin::Head {
            let mut at = self.root();
            for part in &*sentence.parts {
                at = self.step(at, part);
            }
            if let Some(node) = self.nodes.get_mut(at) {
                node.ends.push(id);
            }
            self.by_length.entry(sentence.parts.len()).or_default().push(id);
        }
        self.sentences.push(sentence);
        id
    }

    /// For each sentence that lines can say, the longest of its words, which such a line has in it.
    pub fn tellers(&self) -> Vec<&str> {
        let declared = self.sentences.iter().filter(|s| s.origin != Origin::Head);
        let words = declared.map(|s| {
            s.parts.iter().filter_map(|p| match p {
                Part::Word(w) => Some(&**w),
                Part::Blank(_) => None,
            })
        });
        words.map(|words| words.max_by_key(|w| w.len()).unwrap_or_default()).collect()
    }

    fn root(&mut self) -> usize {
        if self.nodes.is_empty() {
            self.nodes.push(Node::default());
        }
        0
    }

    fn step(&mut self, at: usize, part: &Part) -> usize {
        let next = self.nodes.len();
        let Some(node) = self.nodes.get_mut(at) else { return at };
        let to = match part {
            Part::Word(w) => *node.words.entry(w.clone()).or_insert(next),
            Part::Blank(_) => *node.blank.get_or_insert(next),
        };
        if to == next {
            self.nodes.push(Node::default());
        }
        to
    }

    /// The sentence with exactly these words and blanks, whatever the blanks are called or take.
    pub fn same_words(&self, parts: &[Part]) -> Option<SentenceId> {
        let before = self.before.as_ref().and_then(|before| before.same_words(parts));
        before.or_else(|| self.own_words(parts))
    }

    fn own_words(&self, parts: &[Part]) -> Option<SentenceId> {
        let mut at = self.nodes.first()?;
        for part in parts {
            let next = match part {
                Part::Word(w) => *at.words.get(w)?,
                Part::Blank(_) => at.blank?,
            };
            at = self.nodes.get(next)?;
        }
        at.ends.first().copied()
    }

    /// A declared sentence that some line could mean as well as `new`: equal length, and at each place the
    /// same word, or a blank that the other's word or blank can fill.
    pub fn rival(&self, new: &Sentence) -> Option<&Sentence> {
        let before = self.before.as_ref().and_then(|before| before.rival(new));
        before.or_else(|| self.own_rival(new))
    }

    fn own_rival(&self, new: &Sentence) -> Option<&Sentence> {
        let alike = self.by_length.get(&new.parts.len()).into_iter().flatten();
        alike.filter_map(|id| self.get(*id)).find(|old| {
            old.parts.iter().zip(&*new.parts).all(|(a, b)| match (a, b) {
                (Part::Word(x), Part::Word(y)) => x == y,
                (Part::Word(w), Part::Blank(n)) => takes_word(new, *n, w),
                (Part::Blank(n), Part::Word(w)) => takes_word(old, *n, w),
                (Part::Blank(_), Part::Blank(_)) => true,
            })
        })
    }

    /// Whether a line of a rule can be read in any way.
    pub fn says(&self, items: &[Spot<Item>]) -> bool {
        !self.readings(items, Reach::Item).is_empty()
    }

    /// Every way to read a line, constants not yet read, in the order of the sentences' words.
    pub fn readings(&self, items: &[Spot<Item>], reach: Reach) -> Vec<Reading> {
        let mut found = Vec::new();
        self.find(items, reach, &mut found);
        if found.len() > 1 {
            found.sort_by_cached_key(|reading| self.get(reading.sentence).map(Sentence::pattern));
        }
        found
    }

    fn find(&self, items: &[Spot<Item>], reach: Reach, found: &mut Vec<Reading>) {
        if let Some(root) = self.nodes.first() {
            self.walk(root, items, 0, reach, &mut Vec::new(), found);
        }
        if let Some(before) = &self.before {
            before.find(items, reach, found);
        }
    }

    fn walk(
        &self,
        at: &Node,
        items: &[Spot<Item>],
        from: usize,
        reach: Reach,
        fills: &mut Vec<Range<usize>>,
        found: &mut Vec<Reading>,
    ) {
        let Some(item) = items.get(from) else {
            found.extend(at.ends.iter().map(|id| Reading { sentence: *id, fills: fills.clone() }));
            return;
        };
        let next = match &item.it {
            Item::Word(w) | Item::Mark(w) => at.words.get(&*lowered(w)),
            _ => None,
        };
        if let Some(next) = next.and_then(|n| self.nodes.get(*n)) {
            self.walk(next, items, from + 1, reach, fills, found);
        }
        let Some(next) = at.blank.and_then(|n| self.nodes.get(n)) else { return };
        for len in lengths(items, from, reach) {
            fills.push(from..from + len);
            self.walk(next, items, from + len, reach, fills, found);
            fills.pop();
        }
    }

    /// The declared sentence whose words come nearest to a line that says none, if any comes near.
    pub fn nearest(&self, items: &[Spot<Item>]) -> Option<&Sentence> {
        let line: Vec<Token<'_>> = items
            .iter()
            .map(|i| match &i.it {
                Item::Word(w) | Item::Mark(w) => Token::Word(w),
                Item::Quoted(_) | Item::Hole(_) => Token::Blank,
            })
            .collect();
        let limit = (line.len() as f64 * 0.34).clamp(1.0, 2.5);
        self.nearest_to(&line, limit).map(|(_, s)| s)
    }

    fn nearest_to(&self, line: &[Token<'_>], limit: f64) -> Option<(f64, &Sentence)> {
        self.sentences
            .iter()
            .filter(|s| s.origin != Origin::Head)
            .map(|s| (distance(line, s, limit), s))
            .filter(|(d, _)| *d <= limit)
            .chain(self.before.as_ref().and_then(|before| before.nearest_to(line, limit)))
            .min_by(|(a, x), (b, y)| a.total_cmp(b).then_with(|| x.pattern().cmp(&y.pattern())))
    }
}

/// A word in lower case; most are.
fn lowered(word: &str) -> Cow<'_, str> {
    let lower = |b: u8| b.is_ascii() && !b.is_ascii_uppercase();
    if word.bytes().all(lower) { Cow::Borrowed(word) } else { Cow::Owned(word.to_lowercase()) }
}

/// Whether a bare word can stand in a blank of a sentence.
fn takes_word(sentence: &Sentence, blank: usize, word: &str) -> bool {
    let wordy = |t| matches!(t, BlankType::Name | BlankType::Text);
    let is_word = word.starts_with(|c: char| c.is_alphanumeric());
    is_word && sentence.blanks.get(blank).is_some_and(|b| wordy(b.takes))
}

/// How many items from `from` on may stand in one blank, fewest first.
fn lengths(items: &[Spot<Item>], from: usize, reach: Reach) -> Range<usize> {
    let words = items.iter().skip(from).take_while(|i| matches!(i.it, Item::Word(_))).count();
    let first = items.get(from).map(|i| &i.it);
    let longest = match (first, reach) {
        (Some(Item::Mark(_)) | None, _) => 0,
        (Some(Item::Word(_)), Reach::Words) => words.min(LONGEST_NAME),
        (Some(Item::Word(w)), Reach::Item) if starts_figure(w) => words.min(LONGEST_FIGURE),
        _ => 1,
    };
    1..longest + 1
}

/// Whether a word may be the start of a number.
fn starts_figure(word: &str) -> bool {
    crate::measure::number::read(word).is_some()
}

/// A word of a line, or something that stands in a blank.
#[derive(Clone, Copy)]
enum Token<'a> {
    Word(&'a str),
    Blank,
}

/// How far a line's words are from a sentence's: whole words put in or left out count one, a misspelt
/// word its share of wrong letters. Given up (as infinite) past `limit`.
fn distance(line: &[Token<'_>], sentence: &Sentence, limit: f64) -> f64 {
    if (line.len() as f64 - sentence.parts.len() as f64).abs() > limit {
        return f64::INFINITY;
    }
    let mut row: Vec<f64> = (0..=sentence.parts.len()).map(|n| n as f64).collect();
    for (i, token) in line.iter().enumerate() {
        let mut diagonal = row.first().copied().unwrap_or(0.0);
        if let Some(first) = row.first_mut() {
            *first = (i + 1) as f64;
        }
        for (j, part) in sentence.parts.iter().enumerate() {
            let (left, up) = (row.get(j).copied().unwrap_or(0.0), row.get(j + 1).copied().unwrap_or(0.0));
            let best = (diagonal + unlike(*token, part)).min(left + 1.0).min(up + 1.0);
            diagonal = up;
            if let Some(cell) = row.get_mut(j + 1) {
                *cell = best;
            }
        }
        if row.iter().all(|d| *d > limit) {
            return f64::INFINITY;
        }
    }
    row.last().copied().unwrap_or(f64::INFINITY)
}

fn unlike(token: Token<'_>, part: &Part) -> f64 {
    match (token, part) {
        (Token::Word(w), Part::Word(p)) => 1.0 - strsim::normalized_damerau_levenshtein(&w.to_lowercase(), p),
        (Token::Word(_), Part::Blank(_)) => 0.25,
        (Token::Blank, Part::Blank(_)) => 0.0,
        (Token::Blank, Part::Word(_)) => 1.0,
    }
}
