//! Declared sentences: words with blanks. A relation is one of these.
//!
//! Comes in: a declaration's parts. Goes out: the pattern, its blanks, and the sentence filled in.
//! Matching text to patterns is `understand`'s work.

use std::sync::Arc;

use crate::{base::span::Loc, measure::value::BlankType};

/// Which declared sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SentenceId(pub u32);

/// A word or a blank of a declared sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// A fixed word, in lower case, or a lone punctuation mark such as `,`.
    Word(Arc<str>),
    /// The blank with this number (0 is the first).
    Blank(usize),
}

/// A blank of a declared sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// Its name (`bed`).
    pub name: Arc<str>,
    /// What it takes.
    pub takes: BlankType,
}

/// Where the tuples of a sentence come from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// The journal says it: each tuple carries an entry and whether it is done or planned.
    Journal,
    /// Rule pages: rules conclude it or tables list it.
    Page,
    /// A member of the `reckon` registry answers it.
    Reckoned(Arc<str>),
    /// The head of one rule that is a finding, an action, an answer or a caution; no page can say it.
    Head,
}

/// A declared sentence.
#[derive(Debug, Clone, PartialEq)]
pub struct Sentence {
    /// Words and blanks in order.
    pub parts: Arc<[Part]>,
    /// The blanks.
    pub blanks: Arc<[Blank]>,
    /// Where its tuples come from.
    pub origin: Origin,
    /// `only one {verdict}`: the blank that may have one value for given others.
    pub only_one: Option<usize>,
    /// Where it is declared.
    pub loc: Loc,
}

impl Sentence {
    /// The sentence with each blank filled by `fill(blank number)`.
    pub fn filled(&self, mut fill: impl FnMut(usize) -> String) -> String {
        let mut out = String::new();
        for part in &*self.parts {
            match part {
                Part::Word(w) => {
                    if !out.is_empty() && !matches!(&**w, "," | "." | ";" | ":") {
                        out.push(' ');
                    }
                    out.push_str(w);
                }
                Part::Blank(n) => {
                    let filling = fill(*n);
                    article(&mut out, &filling);
                    if !out.is_empty() {
                        out.push(' ');
                    }
                    out.push_str(&filling);
                }
            }
        }
        out
    }

    /// The sentence as declared: `{lot} was spread on {bed}`.
    pub fn pattern(&self) -> String {
        self.filled(|n| self.blanks.get(n).map_or_else(String::new, |b| format!("{{{}}}", b.name)))
    }
}

/// Makes the `a` that a sentence stands at fit what fills its blank: `an`, or none before a plural.
fn article(out: &mut String, filling: &str) {
    let Some(before) = out.strip_suffix(" a").map(str::len) else { return };
    let many = filling.ends_with('s') && !["ss", "us", "is"].iter().any(|end| filling.ends_with(end));
    let vowel = filling.starts_with(['a', 'e', 'i', 'o', 'u']) && !filling.starts_with("uni");
    if many {
        out.truncate(before);
        if let Some(subject) = out.strip_suffix(" is").map(str::len) {
            out.replace_range(subject.., " are");
        }
    } else if vowel {
        out.push('n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_article_fits_what_fills_the_blank() {
        for (before, filling, after) in [
            ("bed b1 is a", "bed", "bed b1 is a"),
            ("hens is a", "animals", "hens are"),
            ("5 is a", "amount", "5 is an"),
            ("it has a", "salts", "it has"),
            ("it has a", "{every}", "it has a"),
            ("a", "amount", "a"),
        ] {
            let mut out = before.to_owned();
            article(&mut out, filling);
            assert_eq!(out, after, "{before} {filling}");
        }
    }
}
