//! What words and names mean in one journal: the vocabulary of the tables, and its own names.
//!
//! Comes in: table facts, and every entry in pieces. Goes out: lookups at any place of an entry, and
//! near misses worth offering. It fills no slot.

mod asked;
mod atoms;
pub mod declared;
pub mod kinds;
mod line;
mod marks;
mod names;
mod vocabulary;

use std::sync::Arc;

pub use asked::Asked;
pub use atoms::number_forms;
pub use line::Line;
pub use names::{Entry as NamedEntry, Given, Known, NamedFile, Names};
pub use vocabulary::{Meaning, Measure, Vocabulary};

use crate::base::name::{fold, slip};

/// The lexicon of one journal.
#[derive(Debug, Clone, Default)]
pub struct Lexicon {
    /// The words of the tables.
    pub words: Arc<Vocabulary>,
    /// The journal's names.
    pub names: Names,
}

impl Lexicon {
    /// A word of one of `kinds` at a piece of a line, and the piece after it.
    pub fn word_at(
        &self,
        line: &Line<'_>,
        from: usize,
        until: usize,
        kinds: &[&str],
    ) -> Option<(Arc<str>, usize)> {
        if let Some(crate::model::journal::PieceKind::Quoted(_)) = line.kind(from) {
            let whole = self.words.whole(&line.slice(from, from + 1), kinds)?;
            return Some((whole.word.clone(), from + 1));
        }
        self.words.at(&line.atoms, from, until, kinds).map(|(m, next)| (m.word.clone(), next))
    }

    /// The longest known name at a piece whose kind `fits`, and the piece after it.
    pub fn name_at(
        &self,
        line: &Line<'_>,
        from: usize,
        until: usize,
        fits: impl Fn(&str) -> bool,
    ) -> Option<(&Known, usize)> {
        if from >= until {
            return None;
        }
        if let Some(crate::model::journal::PieceKind::Quoted(_)) = line.kind(from) {
            return self.names.whole(&line.slice(from, from + 1), fits).map(|k| (k, from + 1));
        }
        self.names.at(&line.atoms, from, until, fits)
    }

    /// As [`Lexicon::name_at`], for a name without its kind word, which must not begin with a number.
    pub fn bare_name_at(
        &self,
        line: &Line<'_>,
        from: usize,
        until: usize,
        fits: impl Fn(&str) -> bool,
    ) -> Option<(&Known, usize)> {
        let number = matches!(line.kind(from), Some(crate::model::journal::PieceKind::Number(_)));
        if number { None } else { self.name_at(line, from, until, fits) }
    }

    /// A container word at a piece: of the tables, or the farm's own.
    pub fn container_at(&self, line: &Line<'_>, from: usize, until: usize) -> Option<(Arc<str>, usize)> {
        let own = self.names.unit_at(&line.atoms, from, until).map(|(n, next)| (n.clone(), next));
        let table = self.word_at(line, from, until, &["container"]);
        match (own, table) {
            (Some(a), Some(b)) => Some(if b.1 > a.1 { b } else { a }),
            (a, b) => a.or(b),
        }
    }

    /// The word of one of `kinds` that `written` is a slip for: the spelling it resembles, and the
    /// word that spelling stands for.
    pub fn near_word(&self, written: &str, kinds: &[&str]) -> Option<(String, String)> {
        // Three letters are too few to tell a slip from another word.
        if written.chars().count() < 4 {
            return None;
        }
        let all = kinds.iter().flat_map(|k| self.words.spellings(k));
        // Of two as near, the word of the table before another name for it.
        all.filter_map(|(s, w)| Some((nearness(written, s)?, s != w, s, w)))
            .min()
            .map(|(_, _, s, w)| (s.to_owned(), w.to_owned()))
    }
}

/// How near a slip is to a spelling, in either number; `None` if it is another word. Of several words
/// each must be near (`wierd leaves` is no slip for `fern leaves`).
fn nearness(written: &str, spelling: &str) -> Option<usize> {
    let (written, spelling) = (fold(written), fold(spelling));
    // `twisted` for `twisted stems`
    if spelling.strip_prefix(&*written).is_some_and(|rest| rest.starts_with(' ')) {
        return Some(1);
    }
    let (front, last) = match spelling.rsplit_once(' ') {
        Some((front, last)) => (front.split(' ').collect::<Vec<_>>(), last),
        None => (Vec::new(), &*spelling),
    };
    let words: Vec<&str> = written.split(' ').collect();
    let forms = atoms::number_forms(last);
    if words.len() != front.len() + 1 || front.is_empty() {
        let start: String = front.iter().flat_map(|w| [w, " "]).collect();
        return forms.iter().filter_map(|form| close(&written, &format!("{start}{form}"))).min();
    }
    let (end, start) = words.split_last()?;
    let ends = forms.iter().filter_map(|form| close(end, form)).min()?;
    start.iter().zip(front).try_fold(ends, |sum, (a, b)| Some(sum + close(a, b)?))
}

/// How many edits make a word of a table of `written`, if at most one in four letters and never the first letter:
/// what is looser offers one kind of food for another.
fn close(written: &str, word: &str) -> Option<usize> {
    let most = (written.chars().count() / 4).max(1);
    let first = |w: &str| w.chars().next();
    slip(written, word).filter(|edits| *edits <= most && first(written) == first(word))
}
