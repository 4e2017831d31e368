//! Near misses, remembered: the same unknown word is often written many times.
//!
//! Comes in: what was written and what was wanted. Goes out: the word or name it is nearly. It only
//! spares work; what is near is the lexicon's to say.

use std::cell::RefCell;

use rustc_hash::FxHashMap;

use crate::{base::name::nearest, model::frame::Takes, understand::lexicon::Lexicon};

/// What was near before: by kind, and by the word as written, a spelling and the word it stands for.
type Known = FxHashMap<String, FxHashMap<String, Option<(String, String)>>>;

/// Near misses found so far.
#[derive(Debug, Default)]
pub struct Near {
    known: RefCell<Known>,
}

impl Near {
    /// The word of a kind that `written` is a slip for, as the spelling it is like and the word meant.
    pub fn word(&self, lex: &Lexicon, kind: &str, written: &str) -> Option<(String, String)> {
        self.remembered(kind, written, || lex.near_word(written, &[kind]))
    }

    /// What a slot takes that `written` is nearly.
    pub fn of(&self, lex: &Lexicon, takes: &Takes, written: &str) -> Option<String> {
        match takes {
            Takes::Word(kind) => self.word(lex, kind, written).map(|(spelling, _)| spelling),
            Takes::Thing(group) => {
                let found = self.remembered(group, written, || {
                    let names = lex.names.suiting(group).filter(|k| k.began.is_some());
                    nearest(written, names.map(|k| &*k.thing.name)).map(|n| (n.to_owned(), n.to_owned()))
                });
                found.map(|(name, _)| name)
            }
            _ => None,
        }
    }

    fn remembered(
        &self,
        kind: &str,
        written: &str,
        find: impl FnOnce() -> Option<(String, String)>,
    ) -> Option<(String, String)> {
        if let Some(found) = self.known.borrow().get(kind).and_then(|k| k.get(written)) {
            return found.clone();
        }
        let found = find();
        self.known.borrow_mut().entry(kind.to_owned()).or_default().insert(written.to_owned(), found.clone());
        found
    }
}
