//! Lines of rule pages, each read by the grammar once.
//!
//! Comes in: passages. Goes out: their shapes, read anew or as they were read before. A passage is known by
//! its place and its words, so what is remembered is never out of date.

use std::sync::{PoisonError, RwLock};

use rustc_hash::FxHashMap;

use super::{
    lines,
    shapes::{Body, Head, Said, Tag, Unread},
};
use crate::model::page::Passage;

/// The most lines of each sort that are remembered: many times what the rulebook has.
const MOST: usize = 50_000;

/// What was read of rule pages so far. It may be shared by many compilations at once.
#[derive(Debug, Default)]
pub struct Lines {
    declared: Memory<(Said, Vec<Tag>)>,
    comparisons: Memory<bool>,
    bodies: Memory<Body>,
    heads: Memory<Head>,
}

impl Lines {
    /// As [`lines::declaration`].
    pub(super) fn declaration(&self, p: &Passage) -> Result<(Said, Vec<Tag>), Unread> {
        self.declared.of(p, lines::declaration)
    }

    /// A sentence that stands alone, without tags.
    pub(super) fn sentence(&self, p: &Passage) -> Result<Said, Unread> {
        self.declaration(p).and_then(lines::untagged)
    }

    /// As [`lines::is_comparison`].
    pub(super) fn is_comparison(&self, p: &Passage) -> bool {
        self.comparisons.of(p, |p| Ok(lines::is_comparison(p))) == Ok(true)
    }

    /// As [`lines::body`].
    pub(super) fn body(&self, p: &Passage) -> Result<Body, Unread> {
        self.bodies.of(p, lines::body)
    }

    /// As [`lines::head`].
    pub(super) fn head(&self, p: &Passage) -> Result<Head, Unread> {
        self.heads.of(p, lines::head)
    }
}

/// Passages and what was read of them.
#[derive(Debug)]
struct Memory<T>(RwLock<FxHashMap<Passage, Result<T, Unread>>>);

impl<T> Default for Memory<T> {
    fn default() -> Self {
        Self(RwLock::default())
    }
}

impl<T: Clone> Memory<T> {
    fn of(&self, p: &Passage, read: impl Fn(&Passage) -> Result<T, Unread>) -> Result<T, Unread> {
        if let Some(known) = self.0.read().unwrap_or_else(PoisonError::into_inner).get(p) {
            return known.clone();
        }
        let new = read(p);
        let mut all = self.0.write().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST {
            all.clear();
        }
        all.insert(p.clone(), new.clone());
        new
    }
}
