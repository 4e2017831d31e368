//! One entry's pieces with what is asked of them again and again: folded words, atoms, slices.
//!
//! Comes in: an item and its file. Goes out: a line that names are looked up in. It reads no clause.

use std::{cell::OnceCell, sync::Arc};

use super::{
    atoms::PieceAtoms,
    marks::{Marks, marks},
};
use crate::{
    base::{
        name::fold,
        span::{FileId, Loc, Span},
    },
    measure::unit::{self, Meant},
    model::journal::{Item, JournalFile, Piece, PieceKind},
};

/// Words by which something is not so, or is so no more; those that end in `n't` beside.
const DENIALS: &[&str] = &[
    "no",
    "not",
    "never",
    "none",
    "nor",
    "neither",
    "nothing",
    "nowhere",
    "without",
    "cannot",
    "stopped",
    "ceased",
    "free",
    "clear",
    "cleared",
    "recovered",
    "vanished",
    "disappeared",
];

/// An entry as it is read.
#[derive(Debug)]
pub struct Line<'a> {
    /// The file it stands in.
    pub file: FileId,
    /// The file's text.
    pub text: &'a str,
    /// The pieces.
    pub pieces: &'a [Piece],
    /// The atoms of the pieces.
    pub atoms: Arc<PieceAtoms>,
    folded: Vec<Box<str>>,
    marks: Vec<Marks>,
    /// The unit spelt at each piece, found when it is first asked for.
    units: Vec<OnceCell<Option<(Meant, usize)>>>,
}

impl<'a> Line<'a> {
    /// The line of an item.
    pub fn of(file: &'a JournalFile, item: &'a Item) -> Self {
        let folded: Vec<Box<str>> = item
            .pieces
            .iter()
            .map(|p| match p.kind {
                PieceKind::Word => match &*fold(file.text.get(p.span.range()).unwrap_or("")) {
                    "w/" => "with".into(),
                    word => word.into(),
                },
                _ => "".into(),
            })
            .collect();
        let mut found: Vec<Marks> = folded.iter().map(|w| marks(w)).collect();
        for n in 1..found.len() {
            // In `in long tunnel` and `from Deep Lane` the word measures nothing: no amount stands before it.
            let number = |n: usize| matches!(item.pieces[n].kind, PieceKind::Number(_) | PieceKind::Pair(..));
            let amount = n >= 2 && number(n - 2);
            if matches!(&*folded[n], "long" | "wide" | "deep") && found[n - 1].clause && !amount {
                found[n].clause = false;
            }
        }
        Self {
            file: file.file,
            text: &file.text,
            pieces: &item.pieces,
            atoms: Arc::new(PieceAtoms::of(&file.text, &item.pieces)),
            marks: found,
            folded,
            units: item.pieces.iter().map(|_| OnceCell::new()).collect(),
        }
    }

    /// How many pieces there are.
    pub fn len(&self) -> usize {
        self.pieces.len()
    }

    /// Whether there is no piece.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// What a piece is.
    pub fn kind(&self, n: usize) -> Option<&'a PieceKind> {
        self.pieces.get(n).map(|p| &p.kind)
    }

    /// A word, folded; empty for any other piece.
    pub fn word(&self, n: usize) -> &str {
        self.folded.get(n).map_or("", |w| w)
    }

    /// What a piece can do if it is a word.
    pub fn marks(&self, n: usize) -> Marks {
        self.marks.get(n).copied().unwrap_or_default()
    }

    /// Whether an amount may begin at a piece.
    pub fn may_count(&self, n: usize) -> bool {
        matches!(self.kind(n), Some(PieceKind::Number(_) | PieceKind::Pair(..))) || self.marks(n).number
    }

    /// Whether a word and the one after it are both written with a capital, as names of people and firms are.
    pub fn titled(&self, n: usize) -> bool {
        self.capital(n) && self.capital(n + 1)
    }

    /// Whether a piece is a word written with a capital.
    pub fn capital(&self, n: usize) -> bool {
        let written = self.pieces.get(n).and_then(|p| self.text.get(p.span.range()));
        self.kind(n) == Some(&PieceKind::Word) && written.is_some_and(|w| w.starts_with(char::is_uppercase))
    }

    /// Whether a piece is this word.
    pub fn is(&self, n: usize, word: &str) -> bool {
        self.word(n) == word
    }

    /// Whether these words stand from a piece on; gives the piece after them.
    pub fn are(&self, n: usize, words: &str) -> Option<usize> {
        let mut at = n;
        for word in words.split(' ') {
            if !self.is(at, word) {
                return None;
            }
            at += 1;
        }
        Some(at)
    }

    /// Whether no white space stands before a piece.
    pub fn glued(&self, n: usize) -> bool {
        self.pieces.get(n).is_some_and(|p| !p.gap)
    }

    /// Where the pieces `from..to` stand; an empty place after the piece before if there are none.
    pub fn loc(&self, from: usize, to: usize) -> Loc {
        let span = match (self.pieces.get(from), self.pieces.get(to.max(from + 1) - 1)) {
            (Some(a), Some(b)) if to > from => a.span.cover(b.span),
            (Some(a), _) => Span { start: a.span.start, end: a.span.start },
            (None, _) => {
                let end = self.pieces.last().map_or(0, |p| p.span.end);
                Span { start: end, end }
            }
        };
        Loc::new(self.file, span)
    }

    /// The text of the pieces `from..to`, every run of white space one space.
    pub fn slice(&self, from: usize, to: usize) -> String {
        if to <= from {
            return String::new();
        }
        if let (Some(PieceKind::Quoted(inner)), true) = (self.kind(from), to == from + 1) {
            return squeezed(self.text.get(inner.range()).unwrap_or(""));
        }
        squeezed(self.text.get(self.loc(from, to).span.range()).unwrap_or(""))
    }

    /// Whether a word says that something is not so, or is so no more.
    pub fn denies(&self, n: usize) -> bool {
        let word = self.word(n);
        word.ends_with("n't") || DENIALS.contains(&word)
    }

    /// Past words such as `the` and `a few` that stand before a name; `few` alone begins the names of signs.
    pub fn past_determiners(&self, from: usize, until: usize) -> usize {
        let mut at = from;
        while at + 1 < until && (self.marks(at).determiner || at > from && self.is(at, "few")) {
            at += 1;
        }
        at
    }

    /// Whether a piece is a word that leads a clause.
    pub fn leads_clause(&self, n: usize) -> bool {
        self.marks(n).clause
    }

    /// Whether a piece joins the things of a list.
    pub fn joins(&self, n: usize) -> bool {
        matches!(self.kind(n), Some(PieceKind::Comma)) || self.marks(n).joins
    }

    /// The end of a new name that begins at `from`: words up to punctuation, a clause word or an
    /// amount; with `splits`, up to `and` as well. `None` if none begins there.
    pub fn name_end(&self, from: usize, until: usize, splits: bool) -> Option<usize> {
        if matches!(self.kind(from), Some(PieceKind::Quoted(_))) && from < until {
            return Some(from + 1);
        }
        let mut at = from;
        while at < until {
            match self.kind(at) {
                Some(PieceKind::Word) => {
                    let word = self.word(at);
                    let ends = self.marks(at).clause
                        || matches!(word, "<" | "~" | "\u{a3}" | "$" | "\u{20ac}")
                        || self.is_lone_dash(at)
                        || ((splits || at == from) && self.marks(at).joins);
                    if ends {
                        break;
                    }
                }
                Some(PieceKind::Number(_)) if at == from || self.number_belongs(at, until) => {}
                Some(PieceKind::Day(_)) => {}
                _ => break,
            }
            at += 1;
        }
        // A name does not end in `and`.
        while at > from && matches!(self.word(at - 1), "and" | "&" | "or") {
            at -= 1;
        }
        (at > from).then_some(at)
    }

    /// Whether a number inside a name is part of it (`barry 2 on north-1`) and not an amount.
    fn number_belongs(&self, at: usize, until: usize) -> bool {
        let next = at + 1;
        if next >= until || self.glued(next) && !self.is_unit(next) {
            return true;
        }
        match self.kind(next) {
            Some(PieceKind::Word) => {
                self.marks(next).joins
                    || self.leads_clause(next) && !self.is(next, "of") && !self.is(next, "deep")
            }
            Some(PieceKind::Number(_) | PieceKind::Pair(..)) => false,
            _ => true,
        }
    }

    /// Whether a piece is a dash between words, which folds to nothing.
    pub fn is_lone_dash(&self, n: usize) -> bool {
        self.kind(n) == Some(&PieceKind::Word) && self.word(n).is_empty()
    }

    /// Whether a unit is spelt at a piece.
    pub fn is_unit(&self, n: usize) -> bool {
        self.unit_at(n).is_some()
    }

    /// The unit spelt at a piece, and the piece after it. It ends where a piece ends.
    pub fn unit_at(&self, n: usize) -> Option<(Meant, usize)> {
        *self.units.get(n)?.get_or_init(|| {
            let start = self.pieces.get(n)?.span.start as usize;
            let last = self.pieces.last()?;
            let rest = self.text.get(start..last.span.end as usize)?;
            let Some((meant, len)) = unit::read(rest) else {
                // `3 In Deep`: in these, case carries no meaning.
                let plain = matches!(self.word(n), "in" | "ft" | "yd" | "cm" | "lb" | "oz" | "kg");
                return unit::find(self.word(n)).filter(|_| plain).map(|meant| (meant, n + 1));
            };
            let taken = self.pieces.iter().skip(n).position(|p| p.span.end as usize == start + len)?;
            Some((meant, n + taken + 1))
        })
    }
}

/// Every run of white space as one space.
fn squeezed(text: &str) -> String {
    if text.contains(|c: char| c.is_whitespace() && c != ' ') || text.contains("  ") {
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    } else {
        text.trim().to_owned()
    }
}
