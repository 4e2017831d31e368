//! Lines of rule pages, each read by the grammar once.
//!
//! Comes in: passages. Goes out: their shapes, read anew or as they were read before. A passage is known by
//! its place and its words, so what is remembered is never out of date.

use std::sync::{Arc, PoisonError, RwLock};

use rustc_hash::FxHashMap;

use super::{
    declare, lines,
    shapes::{Body, Head, Said, Tag, Unread},
};
use crate::{
    base::diagnostic::Diagnostic,
    model::{
        page::{Page, Passage},
        sentence::Sentence,
    },
};

/// The most lines of each sort that are remembered: many times what the rulebook has.
const MOST: usize = 50_000;

/// What was read of rule pages so far. It may be shared by many compilations at once.
#[derive(Debug, Default)]
pub struct Lines {
    declared: Memory<(Said, Vec<Tag>), Unread>,
    sentences: Memory<Sentence, Diagnostic>,
    bodies: Memory<Body, Unread>,
    heads: Memory<Head, Unread>,
}

impl Lines {
    /// Reads every line of a page, to be known when it is compiled.
    pub fn read(&self, page: &Page) {
        page.declarations.iter().for_each(|declared| _ = self.sentence(&declared.line));
        let says = page.tables.iter().flat_map(|table| &table.says);
        says.chain(&page.asks).for_each(|line| _ = self.declaration(line));
        for (head, body) in page.rules.iter().filter_map(|rule| rule.lines.split_last()) {
            body.iter().for_each(|line| _ = self.body(line));
            _ = self.head(head);
        }
    }

    /// As [`lines::declaration`].
    pub(super) fn declaration(&self, p: &Passage) -> Result<Arc<(Said, Vec<Tag>)>, Unread> {
        self.declared.of(p, || lines::declaration(p))
    }

    /// A declared line as the sentence it declares.
    pub(super) fn sentence(&self, p: &Passage) -> Result<Arc<Sentence>, Diagnostic> {
        self.sentences.of(p, || declare::read(p))
    }

    /// As [`lines::body`].
    pub(super) fn body(&self, p: &Passage) -> Result<Arc<Body>, Unread> {
        self.bodies.of(p, || lines::body(p))
    }

    /// As [`lines::head`].
    pub(super) fn head(&self, p: &Passage) -> Result<Arc<Head>, Unread> {
        self.heads.of(p, || lines::head(p))
    }
}

/// Passages and what was read of them.
#[derive(Debug)]
struct Memory<T, E>(RwLock<FxHashMap<Passage, Result<Arc<T>, E>>>);

impl<T, E> Default for Memory<T, E> {
    fn default() -> Self {
        Self(RwLock::default())
    }
}

impl<T, E: Clone> Memory<T, E> {
    fn of(&self, p: &Passage, read: impl Fn() -> Result<T, E>) -> Result<Arc<T>, E> {
        if let Some(known) = self.0.read().unwrap_or_else(PoisonError::into_inner).get(p) {
            return known.clone();
        }
        let new = read().map(Arc::new);
        let mut all = self.0.write().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST {
            all.clear();
        }
        all.insert(p.clone(), new.clone());
        new
    }
}
