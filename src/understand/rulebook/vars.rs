//! The variables of one rule: their names, numbers and types.
//!
//! Comes in: names with places. Goes out: numbers, and a fault where one variable would have to be two
//! sorts of thing. It does not know which lines bind a variable.

use std::sync::Arc;

use super::{MISFIT, fault, types};
use crate::{
    base::{diagnostic::Diagnostic, span::Loc},
    measure::value::BlankType,
    model::program::VarId,
};

/// The variables of one rule.
#[derive(Debug, Default)]
pub(super) struct Vars {
    all: Vec<Var>,
}

#[derive(Debug)]
struct Var {
    name: Arc<str>,
    /// A variable the rule needs but its author did not name.
    hidden: bool,
    takes: Option<BlankType>,
    first: Loc,
}

impl Vars {
    /// The number of a named variable, new if it was not named before.
    pub(super) fn named(&mut self, name: &str, loc: Loc) -> VarId {
        self.find(name).unwrap_or_else(|| self.add(name, false, loc))
    }

    /// A variable nobody can name.
    pub(super) fn hidden(&mut self, name: &str, takes: BlankType, loc: Loc) -> VarId {
        let id = self.add(name, true, loc);
        if let Some(var) = self.all.last_mut() {
            var.takes = Some(takes);
        }
        id
    }

    /// Another variable of the same name and sort, for a line that shares the name only.
    pub(super) fn again(&mut self, id: VarId) -> VarId {
        let (name, takes) = (self.name(id), self.takes(id));
        let first = self.first(id);
        let new = VarId(u32::try_from(self.all.len()).unwrap_or(u32::MAX));
        if let Some(first) = first {
            self.all.push(Var { name, hidden: true, takes, first });
        }
        new
    }

    fn add(&mut self, name: &str, hidden: bool, first: Loc) -> VarId {
        let id = VarId(u32::try_from(self.all.len()).unwrap_or(u32::MAX));
        self.all.push(Var { name: name.into(), hidden, takes: None, first });
        id
    }

    /// The number of a variable named before.
    pub(super) fn find(&self, name: &str) -> Option<VarId> {
        let at = self.all.iter().position(|v| !v.hidden && *v.name == *name)?;
        Some(VarId(u32::try_from(at).unwrap_or(u32::MAX)))
    }

    /// What a variable holds, if any line tells.
    pub(super) fn takes(&self, id: VarId) -> Option<BlankType> {
        self.all.get(id.0 as usize)?.takes
    }

    /// A variable's name.
    pub(super) fn name(&self, id: VarId) -> Arc<str> {
        self.all.get(id.0 as usize).map_or_else(|| "".into(), |v| v.name.clone())
    }

    /// Where a variable first stands.
    pub(super) fn first(&self, id: VarId) -> Option<Loc> {
        self.all.get(id.0 as usize).map(|v| v.first)
    }

    /// All names, by number.
    pub(super) fn names(&self) -> Vec<Arc<str>> {
        self.all.iter().map(|v| v.name.clone()).collect()
    }

    /// Learns what a variable holds; a fault where it already holds something else.
    pub(super) fn learn(&mut self, id: VarId, takes: BlankType, loc: Loc) -> Option<Diagnostic> {
        let var = self.all.get_mut(id.0 as usize)?;
        let Some(old) = var.takes else {
            var.takes = Some(takes);
            var.first = loc;
            return None;
        };
        match types::joined(old, takes) {
            Some(both) => {
                var.takes = Some(both);
                None
            }
            None => Some(
                fault(
                    MISFIT,
                    loc,
                    format!(
                        "`{{{}}}` is {} here, but elsewhere in this rule {}.",
                        var.name,
                        types::plain(takes),
                        types::plain(old)
                    ),
                )
                .also(var.first, "here it is the other"),
            ),
        }
    }
}
