//! What inference leaves: every tuple that holds, and one shallowest derivation of each.
//!
//! Comes in: tuples and derivations from `infer`. Goes out: queries over them; proofs are made from it
//! in [`super::prove`]. It does not derive anything.
//!
//! A row is asked for by sentence ([`Model::rows`]), by pattern ([`Model::matching`]) or by its content
//! ([`Model::find`]); what it says is [`Model::tuple`]; what it rests on [`Model::reason`]. Lists of
//! rows are ordered by their values, so that nothing shown depends on the order of files, rules or
//! facts; row numbers themselves do.

use std::sync::{Arc, OnceLock};

use super::{
    interner::Interner,
    judge,
    lines::{self, Order},
    program::{Atom, Comparison, FactSource, Program, Rule, Status, Term, VarId},
    proof::Tuple,
    sentence::{Sentence, SentenceId},
    table::{self, NO_ENTRY, Table},
};
use crate::measure::value::{EntryId, Value};

/// One tuple of a [`Model`], by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowRef {
    /// The sentence.
    pub sentence: SentenceId,
    /// Its row in that sentence's table.
    pub row: u32,
}

/// How deep a tuple lies: shallower ones come first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Rank {
    /// How many finished layers of sentences lie under its sentence.
    pub stratum: u32,
    /// In which round of its stratum it came; 0 for what is said.
    pub round: u32,
}

/// What a tuple rests on, one step deep.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason<'a> {
    /// It is said.
    Said(&'a FactSource),
    /// A rule concludes it.
    Rule {
        /// The rule's number in the program.
        rule: usize,
        /// For each line of the body in written order the tuple that meets it; `None` for lines that
        /// are no positive sentence.
        rows: Vec<Option<RowRef>>,
    },
    /// A reckoner answers it.
    Reckoned(&'a Reckoning),
}

/// One answer of a reckoner.
#[derive(Debug, Clone, PartialEq)]
pub struct Reckoning {
    /// Its name in the registry.
    pub reckoner: &'static str,
    /// The tuples the answer rests on, in the order the reckoner named them.
    pub witnesses: Vec<RowRef>,
    /// Named intermediate numbers.
    pub numbers: Vec<(String, Value)>,
}

/// What inference hands over to make a [`Model`]. What several models have in common they share.
#[derive(Debug, Clone, Default)]
pub(crate) struct Parts {
    pub(crate) program: Arc<Program>,
    /// For each rule the order of its lines; `None` for a rule that was left out.
    pub(crate) orders: Arc<[Option<Order>]>,
    /// For each sentence its stratum.
    pub(crate) strata: Arc<[u32]>,
    /// For each sentence the first of those that were worked out together with it.
    pub(crate) together: Arc<[u32]>,
    pub(crate) tables: Vec<Arc<Table>>,
    pub(crate) values: Arc<Interner>,
    pub(crate) clashes: Vec<(RowRef, RowRef)>,
}

/// Every tuple that holds.
#[derive(Debug, Default)]
pub struct Model {
    pub(crate) parts: Parts,
    ranks: OnceLock<Vec<u32>>,
    /// For each sentence its rows ordered by their values, once somebody asked.
    sorted: Vec<OnceLock<Vec<u32>>>,
}

impl Model {
    /// A model of what inference found.
    pub(crate) fn new(parts: Parts) -> Self {
        let sorted = parts.tables.iter().map(|_| OnceLock::new()).collect();
        Self { parts, ranks: OnceLock::new(), sorted }
    }

    /// How many tuples there are, what is said included.
    pub fn len(&self) -> usize {
        self.parts.tables.iter().map(|t| t.len() as usize).sum()
    }

    /// Whether nothing holds.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The sentences, by [`SentenceId`].
    pub fn sentences(&self) -> &[Sentence] {
        &self.parts.program.sentences
    }

    /// A sentence as declared.
    pub fn sentence(&self, id: SentenceId) -> Option<&Sentence> {
        self.parts.program.sentences.get(id.0 as usize)
    }

    /// The rules, numbered as in the program.
    pub fn rules(&self) -> &[Arc<Rule>] {
        &self.parts.program.rules
    }

    /// Whether a rule was left out, because it goes in circles or has a blank nothing fills.
    pub fn left_out(&self, rule: usize) -> bool {
        !matches!(self.parts.orders.get(rule), Some(Some(_)))
    }

    /// The order in which a rule's lines are met; `None` for a rule that was left out.
    pub fn order(&self, rule: usize) -> Option<&Order> {
        self.parts.orders.get(rule)?.as_ref()
    }

    /// Pairs of tuples that a sentence's `only one` forbids together.
    pub fn clashes(&self) -> &[(RowRef, RowRef)] {
        &self.parts.clashes
    }

    /// How many tuples a sentence has.
    pub fn count(&self, sentence: SentenceId) -> usize {
        self.table(sentence).map_or(0, |t| t.len() as usize)
    }

    /// All tuples of a sentence, ordered by their values.
    pub fn rows(&self, sentence: SentenceId) -> Vec<RowRef> {
        self.sorted(sentence).iter().map(|row| RowRef { sentence, row: *row }).collect()
    }

    /// All tuples of a sentence, in no order that means anything.
    pub fn every(&self, sentence: SentenceId) -> impl Iterator<Item = RowRef> + use<> {
        (0..self.table(sentence).map_or(0, Table::len)).map(move |row| RowRef { sentence, row })
    }

    /// What a row says.
    pub fn tuple(&self, row: RowRef) -> Tuple {
        Tuple {
            sentence: row.sentence,
            values: self.values(row).cloned().collect(),
            entry: self.entry(row),
            planned: self.planned(row),
        }
    }

    /// The values in a row's blanks, in order.
    pub fn values(&self, row: RowRef) -> impl Iterator<Item = &Value> {
        let blanks = self.table(row.sentence).map_or(0, Table::blanks);
        self.cells(row).iter().take(blanks).map(|c| self.parts.values.value(*c))
    }

    /// The value in one blank of a row.
    pub fn value(&self, row: RowRef, blank: usize) -> Option<&Value> {
        self.values(row).nth(blank)
    }

    /// The entry a row carries.
    pub fn entry(&self, row: RowRef) -> Option<EntryId> {
        let table = self.table(row.sentence).filter(|t| t.hidden)?;
        let cell = *self.cells(row).get(table.blanks())?;
        match self.parts.values.value(cell) {
            Value::Entry(e) if cell != NO_ENTRY => Some(*e),
            _ => None,
        }
    }

    /// Whether a row is a plan's.
    pub fn planned(&self, row: RowRef) -> bool {
        self.table(row.sentence).is_some_and(|t| t.hidden) && self.cells(row).last() == Some(&1)
    }

    /// How deep a row lies.
    pub fn rank(&self, row: RowRef) -> Rank {
        Rank {
            stratum: self.parts.strata.get(row.sentence.0 as usize).copied().unwrap_or(0),
            round: self.table(row.sentence).map_or(0, |t| t.round(row.row)),
        }
    }

    /// The row that says this, if it holds.
    pub fn find(&self, tuple: &Tuple) -> Option<RowRef> {
        let table = self.table(tuple.sentence)?;
        let mut cells = Vec::with_capacity(table.width);
        for value in &tuple.values {
            cells.push(self.parts.values.find(value)?);
        }
        if table.hidden {
            cells.push(match tuple.entry {
                Some(e) => self.parts.values.find(&Value::Entry(e))?,
                None => NO_ENTRY,
            });
            cells.push(u32::from(tuple.planned));
        }
        table.find(&cells).map(|row| RowRef { sentence: tuple.sentence, row })
    }

    /// What a row rests on, one step deep; `None` only for a row that is not of this model.
    pub fn reason(&self, row: RowRef) -> Option<Reason<'_>> {
        let table = self.table(row.sentence)?;
        Some(match table.reason(row.row)? {
            table::Reason::Said(source) => Reason::Said(source),
            table::Reason::Reckoned(n) => Reason::Reckoned(table.reckonings.get(*n as usize)?),
            table::Reason::Rule { rule, at } => {
                let rule = *rule as usize;
                let mut premises = table.premises.get(*at as usize..)?.iter();
                let body = &self.parts.program.rules.get(rule)?.body;
                let rows = body
                    .iter()
                    .map(|line| match &line.demand {
                        super::program::Demand::Holds(atom) => {
                            premises.next().map(|row| RowRef { sentence: atom.sentence, row: *row })
                        }
                        _ => None,
                    })
                    .collect();
                Reason::Rule { rule, rows }
            }
        })
    }

    /// The rows that fit a pattern, ordered by their values.
    ///
    /// `bindings` gives the values of variables by their numbers; variables without one fit anything, but
    /// the same thing wherever they stand.
    pub fn matching(&self, atom: &Atom, bindings: &[Option<Value>]) -> Vec<RowRef> {
        let atom = lines::fill_atom(atom, &|v| bindings.get(v.0 as usize).cloned().flatten());
        self.fitting(&atom, &[])
    }

    /// The rows that fit a pattern whose comparisons hold as well, ordered by their values.
    pub fn fitting(&self, atom: &Atom, with: &[Comparison]) -> Vec<RowRef> {
        let rows = self.candidates(atom, None);
        let rows = rows.into_iter().filter(|row| {
            let row = RowRef { sentence: atom.sentence, row: *row };
            self.faults(atom, row) == 0
                && with.iter().all(|c| judge::holds(c, &|v| self.filling(atom, row, v)))
        });
        self.ordered(atom.sentence, rows.collect())
    }

    /// Up to `most` tuples that come near to fitting: all fits but one comparison, or but one blank (or
    /// that it is only planned). Those that fail a comparison come first, then by their values.
    pub fn near(&self, atom: &Atom, with: &[Comparison], most: usize) -> Vec<Tuple> {
        let at = |row: u32| RowRef { sentence: atom.sentence, row };
        let failing = |row| with.iter().filter(|c| !judge::holds(c, &|v| self.filling(atom, row, v))).count();
        let fitting = self.candidates(atom, None);
        let first: Vec<u32> = fitting
            .iter()
            .copied()
            .filter(|r| self.faults(atom, at(*r)) == 0 && failing(at(*r)) == 1)
            .collect();
        let but_one_blank = |r: &u32| self.faults(atom, at(*r)) == 1 && failing(at(*r)) == 0;
        // A plan that fits in all blanks is among those that agree in every fixed column.
        let mut rest: Vec<u32> = fitting.into_iter().filter(but_one_blank).collect();
        match self.fixed_columns(atom).as_slice() {
            // Then every other tuple is one blank away: the least are found without looking at all.
            [_] => rest.extend(self.sorted(atom.sentence).iter().copied().filter(but_one_blank).take(most)),
            columns => {
                for column in columns {
                    rest.extend(self.candidates(atom, Some(*column)).into_iter().filter(but_one_blank));
                }
            }
        }
        rest.sort_unstable();
        rest.dedup();
        let first = self.ordered(atom.sentence, first);
        let rest = self.ordered(atom.sentence, rest);
        first.into_iter().chain(rest).take(most).map(|row| self.tuple(row)).collect()
    }

    /// What fills a variable of a pattern in a row.
    pub(crate) fn filling(&self, atom: &Atom, row: RowRef, var: VarId) -> Option<&Value> {
        let column = atom.terms.iter().chain([&atom.entry]).position(|t| *t == Term::Var(var))?;
        let cell = *self.cells(row).get(column)?;
        (cell != NO_ENTRY).then(|| self.parts.values.value(cell))
    }

    /// In how many blanks a row differs from a pattern, each variable that stands twice and the entry
    /// counted like a blank, and the wrong one of done and planned as well.
    fn faults(&self, atom: &Atom, row: RowRef) -> usize {
        let Some(table) = self.table(row.sentence) else { return usize::MAX };
        let cells = self.cells(row);
        let mut faults = 0;
        let entry = table.hidden.then_some(&atom.entry);
        for (at, term) in atom.terms.iter().chain(entry).enumerate() {
            let cell = cells.get(at).copied().unwrap_or(NO_ENTRY);
            let fits = match term {
                Term::Any => true,
                Term::Const(value) => self.parts.values.find(value) == Some(cell),
                Term::Var(v) => {
                    let first = atom.terms.iter().position(|t| *t == Term::Var(*v)).unwrap_or(at);
                    cell != NO_ENTRY && cells.get(first) == Some(&cell)
                }
            };
            faults += usize::from(!fits);
        }
        let status_fits = !table.hidden
            || match atom.status {
                Status::Either => true,
                Status::Done => !self.planned(row),
                Status::Planned => self.planned(row),
            };
        faults + usize::from(!status_fits)
    }

    /// The columns a pattern fixes.
    fn fixed_columns(&self, atom: &Atom) -> Vec<usize> {
        let hidden = self.table(atom.sentence).is_some_and(|t| t.hidden);
        let entry = hidden.then_some(&atom.entry);
        let terms = atom.terms.iter().chain(entry).enumerate();
        terms.filter(|(_, t)| matches!(t, Term::Const(_))).map(|(at, _)| at).collect()
    }

    /// The rows that agree with a pattern in its fixed columns, but for `but` if that is given.
    fn candidates(&self, atom: &Atom, but: Option<usize>) -> Vec<u32> {
        let Some(table) = self.table(atom.sentence) else { return Vec::new() };
        let columns: Vec<usize> = self.fixed_columns(atom).into_iter().filter(|c| Some(*c) != but).collect();
        let mut key = Vec::with_capacity(columns.len());
        for column in &columns {
            let term = atom.terms.get(*column).unwrap_or(&atom.entry);
            let Term::Const(value) = term else { continue };
            let Some(cell) = self.parts.values.find(value) else { return Vec::new() };
            key.push(cell);
        }
        if columns.is_empty() {
            return (0..table.len()).collect();
        }
        table.rows_under(&table.index(&columns), &key)
    }

    /// All rows of a sentence ordered by their values.
    fn sorted(&self, sentence: SentenceId) -> &[u32] {
        let Some(slot) = self.sorted.get(sentence.0 as usize) else { return &[] };
        slot.get_or_init(|| {
            let mut rows: Vec<u32> = (0..self.table(sentence).map_or(0, Table::len)).collect();
            self.order_rows(sentence, &mut rows);
            rows
        })
    }

    /// Rows ordered by their values.
    fn ordered(&self, sentence: SentenceId, mut rows: Vec<u32>) -> Vec<RowRef> {
        self.order_rows(sentence, &mut rows);
        rows.into_iter().map(|row| RowRef { sentence, row }).collect()
    }

    fn order_rows(&self, sentence: SentenceId, rows: &mut [u32]) {
        let Some(table) = self.table(sentence).filter(|_| rows.len() > 1) else { return };
        let ranks = self.ranks.get_or_init(|| self.parts.values.ranks());
        let rank = |cell: &u32| ranks.get(*cell as usize).copied().unwrap_or(0);
        let visible = table.blanks() + usize::from(table.hidden);
        let key = |row: u32| {
            let cells = table.row(row);
            cells.iter().take(visible).map(rank).chain(cells.iter().skip(visible).copied())
        };
        rows.sort_unstable_by(|a, b| key(*a).cmp(key(*b)));
    }

    fn table(&self, sentence: SentenceId) -> Option<&Table> {
        self.parts.tables.get(sentence.0 as usize).map(|t| &**t)
    }

    fn cells(&self, row: RowRef) -> &[u32] {
        self.table(row.sentence).map_or(&[], |t| t.row(row.row))
    }
}
