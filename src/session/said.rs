//! Which declared sentences a text says, for whoever points at one on a page.
//!
//! Comes in: a check and a text. Goes out: sentences of its program. It asks no model.

use super::Checked;
use crate::{
    base::span::Loc,
    model::{page::Passage, sentence::SentenceId},
    understand::{
        rulebook::{Lines, patterns},
        sentences::Book,
    },
};

impl Checked {
    /// Every declared sentence that a text says, blanks and all (`{lot} was received on {day}`).
    pub fn sentences_said(&self, loc: Loc, text: &str) -> Vec<SentenceId> {
        let said = Passage { loc, text: text.into() };
        let found = patterns(&Book::of(&self.program.sentences), &said, &Lines::default());
        found.map(|all| all.into_iter().map(|p| p.sentence).collect()).unwrap_or_default()
    }
}
