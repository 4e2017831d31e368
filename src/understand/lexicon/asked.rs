//! What a reading asked of the names, and which names are no longer as they were: whether it still stands.
//!
//! Comes in: every question while something is read, and the names that files gave before and give now.
//! Goes out: whether any question would be answered otherwise. It answers none itself.

use std::{cell::RefCell, sync::Arc};

use rustc_hash::{FxHashMap, FxHashSet};

use super::{
    atoms::{AtomTable, PieceAtoms},
    names::Add,
};

/// The questions asked while something was read.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Lines in which names were looked for, at whatever piece.
    lines: Vec<Arc<PieceAtoms>>,
    /// The atoms that pieces of those lines begin with.
    firsts: FxHashSet<Box<str>>,
    /// Names asked for by themselves, as atoms with a space between.
    names: FxHashSet<Box<str>>,
    /// Whether all names were gone through.
    all: bool,
}

/// Keeps the questions as they come.
#[derive(Debug, Clone, Default)]
pub(super) struct Listener(RefCell<Asked>);

impl Listener {
    /// Names are looked for in a line.
    pub(super) fn line(&self, line: &Arc<PieceAtoms>) {
        let mut asked = self.0.borrow_mut();
        if !asked.lines.last().is_some_and(|last| Arc::ptr_eq(last, line)) {
            asked.lines.push(Arc::clone(line));
        }
    }

    /// A name is asked for.
    pub(super) fn name(&self, atoms: &str) {
        let mut asked = self.0.borrow_mut();
        if !asked.names.contains(atoms) {
            asked.names.insert(atoms.into());
        }
    }

    /// All names are gone through.
    pub(super) fn all(&self) {
        self.0.borrow_mut().all = true;
    }

    /// What was asked since this was last called.
    pub(super) fn take(&self) -> Asked {
        let mut asked = self.0.take();
        for line in &asked.lines {
            for first in (0..line.pieces()).filter_map(|n| line.first(n)) {
                if !asked.firsts.contains(first) {
                    asked.firsts.insert(first.into());
                }
            }
        }
        asked
    }
}

/// Names that are not known as they were.
#[derive(Debug, Default)]
pub struct Changes {
    names: AtomTable<()>,
    /// Whether more than names changed.
    all: bool,
}

impl Changes {
    /// Takes in what one file gave before and gives now.
    pub(super) fn between(&mut self, before: &[Add], now: &[Add]) {
        type Told<'a> = Vec<(&'a str, &'a str, bool, bool)>;
        let mut told: FxHashMap<&[Box<str>], (Told<'_>, Told<'_>)> = FxHashMap::default();
        for add in before {
            told.entry(&add.atoms).or_default().0.push((&add.kind, &add.name, add.began, add.guessed));
        }
        for add in now {
            told.entry(&add.atoms).or_default().1.push((&add.kind, &add.name, add.began, add.guessed));
        }
        for (atoms, _) in told.iter().filter(|(_, (before, now))| before != now) {
            self.names.entry(atoms);
        }
    }

    /// More than names changed.
    pub(super) fn everything(&mut self) {
        self.all = true;
    }

    /// Whether some of what was asked may be answered otherwise.
    pub fn touch(&self, asked: &Asked) -> bool {
        if self.all {
            return true;
        }
        if self.names.is_empty() {
            return false;
        }
        asked.all
            || asked.names.iter().any(|name| self.names.joined(name).is_some())
            || self.names.firsts().any(|first| asked.firsts.contains(first))
                && asked.lines.iter().any(|line| {
                    let pieces = line.pieces();
                    (0..pieces).any(|n| self.names.at(line, n, pieces).next().is_some())
                })
    }
}
