//! The smallest parts by which names and words are compared: runs of letters, runs of digits.
//!
//! Comes in: text, or the pieces of an entry. Goes out: atoms in order, so that `tern-26`, `Tern 26`
//! and `TERN–26` are the same. It knows no name.

use rustc_hash::FxHashMap;

use crate::{
    base::name::is_unseen,
    model::journal::{Piece, PieceKind},
};

/// An atom that nothing matches: what separates clauses stands for it.
const BARRIER: &str = "\u{0}";

/// The atoms of a text.
pub fn atoms(text: &str) -> Vec<Box<str>> {
    let mut out = Vec::new();
    each_atom(text, |a| out.push(a.into()));
    out
}

fn each_atom(text: &str, mut give: impl FnMut(&str)) {
    let mut run = String::new();
    let mut digits = false;
    for c in text.chars().filter(|c| !is_unseen(*c)) {
        let c = if matches!(c, '\u{2018}' | '\u{2019}') { '\'' } else { c };
        let joins = c.is_alphanumeric() || c == '\'' || (!c.is_ascii() && !c.is_whitespace() && !is_dash(c));
        let turns = c.is_ascii_digit() != digits && !run.is_empty();
        if (!joins || turns) && !run.is_empty() {
            give(&run);
            run.clear();
        }
        if c == '&' {
            give("&");
        } else if joins && !matches!(c, '\u{201c}'..='\u{201f}' | '\u{2026}') {
            digits = c.is_ascii_digit();
            run.extend(c.to_lowercase());
        }
    }
    if !run.is_empty() {
        give(&run);
    }
}

fn is_dash(c: char) -> bool {
    matches!(c, '\u{2010}'..='\u{2015}' | '\u{2212}')
}

/// The atoms of an entry's pieces, with where each piece's begin.
#[derive(Debug, Default)]
pub struct PieceAtoms {
    text: String,
    /// Ends of the atoms in `text`.
    ends: Vec<u32>,
    /// For each piece, and one past the last, the number of its first atom.
    firsts: Vec<u32>,
}

impl PieceAtoms {
    /// The atoms of `pieces`, whose spans lie in `source`.
    pub fn of(source: &str, pieces: &[Piece]) -> Self {
        let mut out = Self::default();
        for (n, piece) in pieces.iter().enumerate() {
            out.firsts.push(out.len());
            match piece.kind {
                // A comma inside a name (`2,4-D`) has no space on either side.
                PieceKind::Comma if !piece.gap && pieces.get(n + 1).is_some_and(|p| !p.gap) => {}
                PieceKind::Comma
                | PieceKind::Semicolon
                | PieceKind::Colon
                | PieceKind::Quoted(_)
                | PieceKind::Unclosed => out.push(BARRIER),
                _ => each_atom(source.get(piece.span.range()).unwrap_or(""), |a| out.push(a)),
            }
        }
        out.firsts.push(out.len());
        out
    }

    fn push(&mut self, atom: &str) {
        if !self.text.is_empty() {
            self.text.push(' ');
        }
        self.text.push_str(atom);
        self.ends.push(u32::try_from(self.text.len()).unwrap_or(u32::MAX));
    }

    fn len(&self) -> u32 {
        u32::try_from(self.ends.len()).unwrap_or(u32::MAX)
    }

    fn get(&self, n: u32) -> Option<&str> {
        let n = n as usize;
        let end = *self.ends.get(n)? as usize;
        self.text.get(self.start(n)?..end)
    }

    /// How many pieces there are.
    pub fn pieces(&self) -> usize {
        self.firsts.len().saturating_sub(1)
    }

    /// The first atom of a piece, if it has one.
    pub fn first(&self, piece: usize) -> Option<&str> {
        let n = *self.firsts.get(piece)?;
        (n < *self.firsts.get(piece + 1)?).then(|| self.get(n)).flatten()
    }

    fn start(&self, n: usize) -> Option<usize> {
        Some(if n == 0 { 0 } else { *self.ends.get(n - 1)? as usize + 1 })
    }

    /// The next `count` atoms from piece `from` on, if they end where a piece ends, at or before `until`;
    /// with the piece after them.
    fn run(&self, from: usize, until: usize, count: usize) -> Option<(&str, usize)> {
        let first = *self.firsts.get(from)?;
        let end = first + u32::try_from(count).ok()?;
        let next = self.firsts.partition_point(|f| *f < end);
        // Pieces without atoms may share a start; the name ends at the first of them.
        if self.firsts.get(next) != Some(&end) || next > until || next <= from {
            return None;
        }
        let last = *self.ends.get(end.checked_sub(1)? as usize)? as usize;
        Some((self.text.get(self.start(first as usize)?..last)?, next))
    }
}

/// Words that fold to one entry of the vocabulary: the word as written, its singular and its plural.
pub fn number_forms(last: &str) -> Vec<String> {
    let mut out = vec![last.to_owned()];
    if last.chars().any(|c| !c.is_alphabetic() && c != '\'') {
        return out;
    }
    let stem = |cut: usize| last.get(..last.len().saturating_sub(cut)).unwrap_or("").to_owned();
    // Plural of a singular.
    let sibilant = ["s", "x", "z", "ch", "sh"].iter().any(|e| last.ends_with(e));
    let before_last = last.chars().rev().nth(1);
    if sibilant {
        out.push(format!("{last}es"));
    } else if last.ends_with('y') && before_last.is_some_and(|c| !"aeiou".contains(c)) {
        out.push(stem(1) + "ies");
    } else if last.ends_with("to") {
        out.push(format!("{last}es"));
    } else {
        out.push(format!("{last}s"));
        if last.ends_with('o') {
            out.push(format!("{last}es"));
        } else if last.ends_with('f') {
            out.push(stem(1) + "ves");
        } else if last.ends_with("fe") {
            out.push(stem(2) + "ves");
        }
    }
    // Singular of a plural.
    if last.len() > 3
        && last.ends_with('s')
        && !last.ends_with("ss")
        && !last.ends_with("us")
        && !last.ends_with("is")
    {
        out.push(stem(1));
        if last.ends_with("ies") {
            out.push(stem(3) + "y");
        } else if last.ends_with("ves") {
            out.push(stem(3) + "f");
            out.push(stem(3) + "fe");
        } else if last.ends_with("oes") || ["ses", "xes", "ches", "shes"].iter().any(|e| last.ends_with(e)) {
            out.push(stem(2));
        }
    }
    out
}

/// A set of atom sequences, looked up at a piece of an entry.
#[derive(Debug, Clone)]
pub struct AtomTable<T> {
    /// For each first atom, the lengths of the sequences that begin with it, longest first.
    lengths: FxHashMap<Box<str>, Vec<usize>>,
    /// The values, by their atoms with a space between.
    values: FxHashMap<Box<str>, T>,
}

impl<T> Default for AtomTable<T> {
    fn default() -> Self {
        Self { lengths: FxHashMap::default(), values: FxHashMap::default() }
    }
}

impl<T: Default> AtomTable<T> {
    /// The value under these atoms, put in if it is not there. Nothing is kept under no atoms.
    pub fn entry(&mut self, atoms: &[Box<str>]) -> Option<&mut T> {
        let first = atoms.first()?;
        let lengths = self.lengths.entry(first.clone()).or_default();
        let at = lengths.partition_point(|n| *n > atoms.len());
        if lengths.get(at) != Some(&atoms.len()) {
            lengths.insert(at, atoms.len());
        }
        Some(self.values.entry(atoms.join(" ").into()).or_default())
    }
}

impl<T> AtomTable<T> {
    /// The value under exactly these atoms.
    pub fn get(&self, atoms: &[Box<str>]) -> Option<&T> {
        self.joined(&atoms.join(" "))
    }

    /// The value under exactly these atoms, a space between them.
    pub fn joined(&self, atoms: &str) -> Option<&T> {
        self.values.get(atoms)
    }

    /// Whether nothing is kept.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// The first atoms of what is kept.
    pub fn firsts(&self) -> impl Iterator<Item = &str> {
        self.lengths.keys().map(|k| &**k)
    }

    /// Changes every value. The order is no order.
    pub fn each(&mut self, change: impl FnMut(&mut T)) {
        self.values.values_mut().for_each(change);
    }

    /// The values that match from piece `from`, longest first, with the piece after each.
    pub fn at<'t, 'p>(
        &'t self,
        atoms: &'p PieceAtoms,
        from: usize,
        until: usize,
    ) -> impl Iterator<Item = (&'t T, usize)> + use<'t, 'p, T> {
        let lengths = atoms.first(from).and_then(|a| self.lengths.get(a)).map_or(&[][..], Vec::as_slice);
        lengths.iter().filter_map(move |n| {
            let (run, next) = atoms.run(from, until, *n)?;
            Some((self.values.get(run)?, next))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_dashes_and_spaces_do_not_tell_names_apart() {
        let tern = atoms("tern-26");
        for other in ["Tern 26", "TERN\u{2013}26", "tern26", " tern  26"] {
            assert_eq!(atoms(other), tern, "{other}");
        }
        assert_eq!(atoms("2,4-D"), ["2", "4", "d"].map(Box::from));
        assert_eq!(atoms("Hobb & Daughter"), ["hobb", "&", "daughter"].map(Box::from));
        assert_eq!(atoms("O\u{2019}Brien"), atoms("o'brien"));
    }

    #[test]
    fn number_folds_in_the_usual_ways() {
        let folds = |a: &str, b: &str| number_forms(a).contains(&b.to_owned());
        for (one, many) in [
            ("bean", "beans"),
            ("leaf", "leaves"),
            ("berry", "berries"),
            ("box", "boxes"),
            ("tomato", "tomatoes"),
        ] {
            assert!(folds(one, many), "{one} {many}");
            assert!(folds(many, one), "{many} {one}");
        }
        assert!(!folds("tomato", "tomatos"));
        assert!(!folds("cress", "cres"));
    }
}
