//! What was inferred last, for the next time: much of it mostly holds again.
//!
//! Comes in: facts, again and again, mostly with few changes. Goes out: the model of each. Beside the last model
//! one is kept that more facts only add to: what stood before the entry under the pen. It changes no result.

use std::{cmp::Ordering, sync::Arc};

use super::Prepared;
use crate::{
    base::diagnostic::Diagnostic,
    model::{outcome::Model, program::Fact},
};

/// How many interners may lie under a kept model's, one for each time that it was added to.
const MOST_LAYERS: usize = 6;

/// Facts in order, mostly those of before.
type Facts = Arc<Vec<Arc<Fact>>>;

/// A model, and the facts it follows from.
#[derive(Debug, Clone)]
struct Known {
    facts: Facts,
    model: Arc<Model>,
}

/// What was inferred last.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    by: Option<Arc<Prepared>>,
    /// What the last model was worked out from, by adding facts.
    base: Option<Known>,
    last: Option<Known>,
}

impl Kept {
    /// As [`super::run`]. The facts are in order.
    pub fn run(
        &mut self,
        prepared: &Arc<Prepared>,
        facts: &Arc<Vec<Arc<Fact>>>,
    ) -> (Arc<Model>, Vec<Diagnostic>) {
        if !self.by.as_ref().is_some_and(|by| Arc::ptr_eq(by, prepared)) {
            *self = Self { by: Some(Arc::clone(prepared)), ..Self::default() };
        }
        let model = self.model(prepared, facts);
        self.last = Some(Known { facts: Arc::clone(facts), model: Arc::clone(&model) });
        let said = prepared.told(&model);
        (model, said)
    }

    fn model(&mut self, prepared: &Prepared, facts: &Facts) -> Arc<Model> {
        let Some(last) = self.last.take() else { return self.anew(prepared, facts) };
        if last.facts == *facts {
            return last.model;
        }
        let (common, more) = parted(&last.facts, facts);
        if common.len() == last.facts.len() {
            self.base = Some(last.alone());
        } else if let Some(base) = &self.base
            && let (kept, more) = parted(&base.facts, facts)
            && kept.len() == base.facts.len()
        {
            return base.with(prepared, &more);
        } else if more.len() * 8 > common.len() {
            return self.anew(prepared, facts);
        } else {
            let model = Arc::new(prepared.on(&common.iter().map(|f| &***f).collect::<Vec<_>>()));
            let facts = Arc::new(common.into_iter().cloned().collect());
            self.base = Some(Known { facts, model });
        }
        match &self.base {
            Some(base) => base.with(prepared, &more),
            None => self.anew(prepared, facts),
        }
    }

    fn anew(&mut self, prepared: &Prepared, facts: &Facts) -> Arc<Model> {
        let model = Arc::new(prepared.on(&facts.iter().map(|f| &**f).collect::<Vec<_>>()));
        self.base = Some(Known { facts: Arc::clone(facts), model: Arc::clone(&model) });
        model
    }
}

impl Known {
    /// The model with more facts.
    fn with(&self, prepared: &Prepared, more: &[&Arc<Fact>]) -> Arc<Model> {
        if more.is_empty() {
            return Arc::clone(&self.model);
        }
        Arc::new(prepared.over(&self.model, &more.iter().map(|f| &***f).collect::<Vec<_>>()))
    }

    /// The same, its values not piled on too many others.
    fn alone(self) -> Self {
        let parts = &self.model.parts;
        if parts.values.depth() <= MOST_LAYERS {
            return self;
        }
        let mut parts = parts.clone();
        parts.values = Arc::new(parts.values.alone());
        Self { model: Arc::new(Model::new(parts)), ..self }
    }
}

/// The facts that both have, and those that only the second has.
fn parted<'f>(before: &[Arc<Fact>], now: &'f [Arc<Fact>]) -> (Vec<&'f Arc<Fact>>, Vec<&'f Arc<Fact>>) {
    let (mut both, mut more) = (Vec::with_capacity(now.len()), Vec::new());
    let mut before = before.iter().peekable();
    for fact in now {
        let order = |b: &Arc<Fact>| if Arc::ptr_eq(b, fact) { Ordering::Equal } else { b.cmp(fact) };
        while before.next_if(|b| order(b) == Ordering::Less).is_some() {}
        match before.next_if(|b| order(b) == Ordering::Equal) {
            Some(_) => both.push(fact),
            None => more.push(fact),
        }
    }
    (both, more)
}
