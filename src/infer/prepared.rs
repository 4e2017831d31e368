//! A program made ready to run on one journal after the other.
//!
//! Comes in: a program. Goes out: its layers and orders, and what follows from it alone, worked out once; a
//! run then works out only what its facts have a part in. Nothing here depends on any journal.

use std::{borrow::Borrow, collections::BTreeSet, sync::Arc};

use rustc_hash::FxHashMap;

use super::{
    clash, order,
    rounds::{self, Came, Store},
    strata::{self, Layer},
};
use crate::{
    base::diagnostic::Diagnostic,
    model::{
        lines::Order,
        outcome::{Model, Parts},
        program::{Fact, Program, Rule},
        sentence::SentenceId,
    },
};

/// Of a sentence that has more new rows than this, and more than one for eight old ones, all that rests on it is
/// worked out anew.
const MOST_NEW: u32 = 8;

/// A program, how it is run, and all that holds without a journal.
#[derive(Debug)]
pub struct Prepared {
    layout: Arc<Layout>,
    /// What follows from the program's own facts. Runs share its tables.
    alone: Model,
    faults: Vec<Diagnostic>,
    /// For each layer whether it is run; nothing where all are.
    asked: Option<Vec<bool>>,
}

/// How a program is run.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    pub(super) program: Arc<Program>,
    pub(super) orders: Arc<[Option<Order>]>,
    pub(super) layers: Arc<[Layer]>,
    /// For each sentence the layers that hold or read it.
    readers: Arc<[Vec<usize>]>,
    /// For each sentence its stratum.
    pub(super) strata: Arc<[u32]>,
    /// For each sentence the first of its layer.
    pub(super) together: Arc<[u32]>,
    /// For each rule its place by page code, number, and where it stands.
    pub(super) places: Arc<[u32]>,
}

impl Prepared {
    /// Makes a program ready.
    pub fn new(program: impl Into<Arc<Program>>) -> Self {
        let program = program.into();
        let (layout, faults) = Layout::of(&program, None);
        let facts: Vec<&Fact> = program.facts.iter().map(|fact| &**fact).collect();
        let alone = saturate(&layout, &Model::default(), &facts, Vec::new(), None);
        Self { layout: Arc::new(layout), alone, faults, asked: None }
    }

    /// Makes another program ready that differs from this one only in some rules, in sentences and rules at the
    /// end, and in facts it has beside this one's, which are `more`.
    pub fn reworked(&self, program: impl Into<Arc<Program>>, more: &[&Fact]) -> Self {
        let program = program.into();
        let (layout, faults) = match self.layout.with_facts_of(&program) {
            Some(layout) => (layout, self.faults.clone()),
            None => Layout::of(&program, Some(&self.layout)),
        };
        let alone = saturate(&layout, &self.alone, more, layout.differs(&self.alone), None);
        Self { layout: Arc::new(layout), alone, faults, asked: None }
    }

    /// The same program, run only as far as these sentences rest on it: of every other sentence holds only what
    /// facts say.
    #[must_use]
    pub fn asked(&self, sentences: &BTreeSet<SentenceId>) -> Self {
        let mut wanted = vec![false; self.layout.program.sentences.len()];
        let want = |wanted: &mut [bool], sentence: &SentenceId| {
            wanted.get_mut(sentence.0 as usize).into_iter().for_each(|wanted| *wanted = true);
        };
        sentences.iter().for_each(|sentence| want(&mut wanted, sentence));
        let mut asked = vec![false; self.layout.layers.len()];
        let mut tables = self.alone.parts.tables.clone();
        for (asked, layer) in asked.iter_mut().zip(&*self.layout.layers).rev() {
            *asked = layer.sentences.iter().any(|s| wanted.get(s.0 as usize) == Some(&true));
            if *asked {
                layer.reads.iter().for_each(|read| want(&mut wanted, read));
            } else {
                layer.sentences.iter().for_each(|sentence| rounds::clear(&mut tables, *sentence));
            }
        }
        let mut alone = Model::new(Parts { tables, ..self.alone.parts.clone() });
        alone.parts.clashes = clash::clashes(&alone, &self.alone);
        Self { layout: Arc::clone(&self.layout), alone, faults: self.faults.clone(), asked: Some(asked) }
    }

    /// The program.
    pub fn program(&self) -> &Arc<Program> {
        &self.layout.program
    }

    /// What can be said of the rules before any fact is known: those that go in circles, and those with a
    /// blank that nothing fills.
    pub fn faults(&self) -> &[Diagnostic] {
        &self.faults
    }

    /// See [`super::run`].
    pub(super) fn run(&self, facts: &[impl Borrow<Fact>]) -> (Model, Vec<Diagnostic>) {
        let model = self.on(&facts.iter().map(Borrow::borrow).collect::<Vec<_>>());
        let said = self.told(&model);
        (model, said)
    }

    /// What follows from facts.
    pub(super) fn on(&self, facts: &[&Fact]) -> Model {
        self.over(&self.alone, facts)
    }

    /// What follows if more facts hold than those `before` follows from.
    pub(super) fn over(&self, before: &Model, facts: &[&Fact]) -> Model {
        let unchanged = vec![false; self.layout.program.sentences.len()];
        saturate(&self.layout, before, facts, unchanged, self.asked.as_deref())
    }

    /// See [`super::rerun`].
    pub(super) fn rerun(&self, before: &Model) -> (Model, Vec<Diagnostic>) {
        let model = saturate(&self.layout, before, &[], self.layout.differs(before), self.asked.as_deref());
        let said = self.told(&model);
        (model, said)
    }

    /// What there is to say of the rules, and of what they came to.
    pub(super) fn told(&self, model: &Model) -> Vec<Diagnostic> {
        let clashes = model.clashes().iter().map(|(a, b)| clash::diagnostic(model, *a, *b));
        self.faults.iter().cloned().chain(clashes).collect()
    }
}

impl Layout {
    /// A rule that stands in the same place in a program `before` is met in the same order.
    fn of(program: &Arc<Program>, before: Option<&Self>) -> (Self, Vec<Diagnostic>) {
        let mut faults = Vec::new();
        let mut orders: Vec<Option<Order>> = Vec::with_capacity(program.rules.len());
        let known = |n: usize, rule: &Arc<Rule>| {
            let before =
                before.filter(|b| b.program.rules.get(n).is_some_and(|old| Arc::ptr_eq(old, rule)))?;
            before.orders.get(n)?.clone()
        };
        for (n, rule) in program.rules.iter().enumerate() {
            if let Some(order) = known(n, rule) {
                orders.push(Some(order));
                continue;
            }
            orders.push(match order::ordered(program, rule) {
                Ok(order) => Some(order),
                Err(fault) => {
                    faults.push(*fault);
                    None
                }
            });
        }
        let usable: Vec<bool> = orders.iter().map(Option::is_some).collect();
        let (strata, circles) = strata::sort(program, &usable);
        faults.extend(circles);
        faults.sort_by(|a, b| (&a.primary, &a.code, &a.message).cmp(&(&b.primary, &b.code, &b.message)));
        for n in strata.left_out {
            orders.get_mut(n).into_iter().for_each(|order| *order = None);
        }
        let mut readers = vec![Vec::new(); program.sentences.len()];
        for (n, layer) in strata.layers.iter().enumerate() {
            for sentence in layer.sentences.iter().chain(&layer.reads) {
                readers.get_mut(sentence.0 as usize).into_iter().for_each(|all| all.push(n));
            }
        }
        let layout = Self {
            program: Arc::clone(program),
            orders: orders.into(),
            layers: strata.layers.into(),
            readers: readers.into(),
            strata: strata.depth.into(),
            together: strata.together.into(),
            places: places(program).into(),
        };
        (layout, faults)
    }

    /// The layout of a program that has other facts and is the same but for those.
    fn with_facts_of(&self, program: &Arc<Program>) -> Option<Self> {
        let same_rules = || self.program.rules.iter().zip(&program.rules).all(|(a, b)| Arc::ptr_eq(a, b));
        let alike = Arc::ptr_eq(&self.program.sentences, &program.sentences)
            && self.program.rules.len() == program.rules.len()
            && self.program.reckoners.len() == program.reckoners.len();
        (alike && same_rules()).then(|| Self { program: Arc::clone(program), ..self.clone() })
    }

    /// Marks the sentences that some rule concludes which is not the same here and in what made `before`, and
    /// those finished together with others than there: a circle's derivations were chosen in its common rounds.
    fn differs(&self, before: &Model) -> Vec<bool> {
        let mut marks = vec![false; before.sentences().len()];
        let (old, new) = (before.rules(), &self.program.rules);
        let same = |(was, is): (&Arc<Rule>, &Arc<Rule>)| Arc::ptr_eq(was, is) || was == is;
        for n in 0..old.len().max(new.len()) {
            let (was, is) = (old.get(n), new.get(n));
            let runs = |orders: &[Option<Order>]| orders.get(n).is_some_and(Option::is_some);
            if !was.zip(is).is_some_and(same) || runs(&before.parts.orders) != runs(&self.orders) {
                for rule in [was, is].into_iter().flatten() {
                    marks.get_mut(rule.head.sentence.0 as usize).into_iter().for_each(|m| *m = true);
                }
            }
        }
        let (old, new) = (&before.parts.together, &self.together);
        let firsts = |n: usize| [old.get(n), new.get(n)].into_iter().flatten();
        let parted = (0..marks.len()).filter(|n| old.get(*n) != new.get(*n));
        let parted: BTreeSet<u32> = parted.flat_map(firsts).copied().collect();
        for (n, mark) in marks.iter_mut().enumerate() {
            *mark |= firsts(n).any(|first| parted.contains(first));
        }
        marks
    }
}

/// For each rule its place by page code, number, and where it stands.
fn places(program: &Program) -> Vec<u32> {
    let mut order: Vec<usize> = (0..program.rules.len()).collect();
    order.sort_by_key(|n| program.rules.get(*n).map(|r| (&r.page, r.number, r.loc)));
    let mut places = vec![0; order.len()];
    for (place, n) in (0..).zip(order) {
        if let Some(slot) = places.get_mut(n) {
            *slot = place;
        }
    }
    places
}

/// Works out what may come out otherwise than in `before`: the sentences marked in `changed` (by number;
/// any it has no mark for count as marked), those the facts are told of, and layer by layer whatever rests
/// on a sentence that did come out otherwise. All else is shared with `before`. Layers that are not `asked` for
/// are left as they are there.
fn saturate(
    layout: &Layout,
    before: &Model,
    facts: &[&Fact],
    mut changed: Vec<bool>,
    asked: Option<&[bool]>,
) -> Model {
    changed.resize(layout.program.sentences.len(), true);
    let otherwise = |changed: bool| if changed { Came::Otherwise } else { Came::Alike };
    let mut came: Vec<Came> = changed.into_iter().map(otherwise).collect();
    let mut store = Store::over(layout, before);
    for (n, _) in (0..).zip(&came).filter(|(_, came)| **came == Came::Otherwise) {
        store.clear(SentenceId(n));
    }
    let mut facts = facts.to_vec();
    facts.sort_by_key(|fact| fact.sentence);
    for facts in facts.chunk_by(|a, b| a.sentence == b.sentence) {
        let Some(sentence) = facts.first().map(|fact| fact.sentence) else { continue };
        let Some(came) = came.get_mut(sentence.0 as usize) else { continue };
        if *came == Came::Alike {
            let rows = before.parts.tables.get(sentence.0 as usize).map(|t| t.len());
            *came = rows.filter(|_| store.takes(facts)).map_or(Came::Otherwise, Came::Grown);
        }
        if *came == Came::Otherwise {
            store.clear(sentence);
        }
        facts.iter().for_each(|fact| store.say(fact));
    }
    let mut due = vec![false; layout.layers.len()];
    let mark = |due: &mut [bool], sentence: usize| {
        let readers = layout.readers.get(sentence).into_iter().flatten();
        readers.for_each(|n| due.get_mut(*n).into_iter().for_each(|due| *due = true));
    };
    for (n, _) in came.iter().enumerate().filter(|(_, came)| **came != Came::Alike) {
        mark(&mut due, n);
    }
    for (n, layer) in layout.layers.iter().enumerate() {
        if due.get(n) != Some(&true) || asked.is_some_and(|asked| asked.get(n) != Some(&true)) {
            continue;
        }
        match grown(layer, &store, &came) {
            Some(fresh) => store.grow(layer, &fresh),
            None => {
                layer.sentences.iter().for_each(|sentence| store.clear(*sentence));
                store.finish(layer);
            }
        }
        for sentence in &layer.sentences {
            let held = store.held(*sentence, layer);
            came.get_mut(sentence.0 as usize).into_iter().for_each(|came| *came = held);
            if held != Came::Alike {
                mark(&mut due, sentence.0 as usize);
            }
        }
    }
    let mut model = Model::new(store.into_parts());
    model.parts.clashes = clash::clashes(&model, before);
    model
}

/// Where a layer of one sentence needs no more than what follows from new rows, for each sentence that has
/// any where they begin: nothing reads a sentence as a whole that is not as it was, and the new rows are few.
fn grown(layer: &Layer, store: &Store<'_>, came: &[Came]) -> Option<FxHashMap<u32, u32>> {
    if layer.sentences.len() != 1 || !layer.reckoners.is_empty() || layer.reads_itself {
        return None;
    }
    let came = |s: SentenceId| came.get(s.0 as usize).copied().unwrap_or(Came::Otherwise);
    if layer.sentences.iter().any(|s| came(*s) == Came::Otherwise) {
        return None;
    }
    if layer.wholes_of.iter().any(|s| came(*s) != Came::Alike) {
        return None;
    }
    let mut fresh = FxHashMap::default();
    for sentence in &layer.rows_of {
        match came(*sentence) {
            Came::Alike => {}
            Came::Grown(from) => {
                let now = store.tables.get(sentence.0 as usize)?.len();
                if now - from > MOST_NEW.max(from / 8) {
                    return None;
                }
                fresh.insert(sentence.0, from);
            }
            Came::Otherwise => return None,
        }
    }
    Some(fresh)
}
