//! The append-only tables that hold tuples during and after inference.
//!
//! Comes in: rows of cells. Goes out: rows by number, by content, and by some of their columns. It knows
//! neither rules nor rounds' meaning; it only keeps where each round begins.

use std::sync::{Arc, OnceLock, PoisonError, RwLock};

use super::{outcome::Reckoning, program::FactSource};
use crate::measure::value::{EntryId, Value};

/// The cell of an entry column that carries no entry.
pub(crate) const NO_ENTRY: u32 = 0;
/// Stands where a row number is due and there is none.
pub(crate) const NO_ROW: u32 = u32::MAX;

/// What a row rests on, compactly.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Reason {
    /// A base fact.
    Said(FactSource),
    /// A rule, and where in the table's premises the rows of its positive lines begin.
    Rule {
        /// The rule's number in the program.
        rule: u32,
        /// First of its premise rows, one for each positive line in written order.
        at: u32,
    },
    /// A reckoner's answer, by its number in the table's reckonings.
    Reckoned(u32),
}

/// A row spelled out, as reckoners read it.
#[derive(Debug)]
pub(crate) struct Spelled {
    pub(crate) row: u32,
    pub(crate) values: Box<[Value]>,
    pub(crate) entry: Option<EntryId>,
    pub(crate) planned: bool,
}

/// All tuples of one sentence.
#[derive(Debug, Clone, Default)]
pub(crate) struct Table {
    /// Cells in a row: the blanks, and for a journal sentence the entry and whether it is planned.
    pub(crate) width: usize,
    /// Whether the last two cells are the hidden ones.
    pub(crate) hidden: bool,
    /// Rows that lines may read now; later ones belong to the round under way.
    pub(crate) visible: u32,
    /// Premise rows, see [`Reason::Rule`].
    pub(crate) premises: Vec<u32>,
    /// Answers of reckoners, see [`Reason::Reckoned`].
    pub(crate) reckonings: Vec<Reckoning>,
    cells: Vec<u32>,
    slots: Vec<u32>,
    reasons: Vec<Reason>,
    rounds: Vec<(u32, u32)>,
    indexes: Indexes,
    /// All rows spelled out, once that was asked for; nothing again once there are more.
    spelled: OnceLock<Arc<[Spelled]>>,
}

fn mix(hash: u64, cell: u32) -> u64 {
    (hash.rotate_left(5) ^ u64::from(cell)).wrapping_mul(0x517c_c1b7_2722_0a95)
}

fn place(hash: u64, capacity: usize) -> usize {
    // The high bits are the well mixed ones; capacities are powers of two.
    let hash = hash ^ (hash >> 29);
    (hash.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 32) as usize & (capacity - 1)
}

impl Table {
    /// An empty table.
    pub(crate) fn new(blanks: usize, hidden: bool) -> Self {
        Self { width: blanks + if hidden { 2 } else { 0 }, hidden, slots: vec![NO_ROW; 8], ..Self::default() }
    }

    /// How many rows there are, those of the round under way included.
    pub(crate) fn len(&self) -> u32 {
        u32::try_from(self.reasons.len()).unwrap_or(NO_ROW)
    }

    /// The cells of a row; empty if there is no such row.
    pub(crate) fn row(&self, row: u32) -> &[u32] {
        let start = row as usize * self.width;
        self.cells.get(start..start + self.width).unwrap_or(&[])
    }

    /// How many blanks the sentence has.
    pub(crate) fn blanks(&self) -> usize {
        if self.hidden { self.width - 2 } else { self.width }
    }

    /// What a row rests on.
    pub(crate) fn reason(&self, row: u32) -> Option<&Reason> {
        self.reasons.get(row as usize)
    }

    /// Puts another reason for a row in place of the first.
    pub(crate) fn set_reason(&mut self, row: u32, reason: Reason) {
        if let Some(slot) = self.reasons.get_mut(row as usize) {
            *slot = reason;
        }
    }

    /// The row with these cells.
    pub(crate) fn find(&self, cells: &[u32]) -> Option<u32> {
        self.probe(cells).ok()
    }

    /// The row with these cells, or the slot where it would go.
    fn probe(&self, cells: &[u32]) -> Result<u32, usize> {
        let hash = cells.iter().fold(0, |h, c| mix(h, *c));
        let mut at = place(hash, self.slots.len());
        loop {
            let row = self.slots[at];
            if row == NO_ROW {
                return Err(at);
            }
            if self.row(row) == cells {
                return Ok(row);
            }
            at = (at + 1) & (self.slots.len() - 1);
        }
    }

    /// Adds a row of a round unless it is there; says which it is, and whether it is new.
    pub(crate) fn add(
        &mut self,
        cells: &[u32],
        round: u32,
        reason: impl FnOnce(&mut Self) -> Reason,
    ) -> (u32, bool) {
        match self.probe(cells) {
            Ok(row) => (row, false),
            Err(slot) => {
                let row = self.len();
                if self.rounds.last().map_or(0, |(last, _)| *last) != round {
                    self.rounds.push((round, row));
                }
                self.cells.extend_from_slice(cells);
                self.spelled = OnceLock::new();
                let reason = reason(self);
                self.reasons.push(reason);
                self.slots[slot] = row;
                if self.reasons.len() * 2 > self.slots.len() {
                    self.grow();
                }
                (row, true)
            }
        }
    }

    fn grow(&mut self) {
        let capacity = self.slots.len() * 2;
        self.slots.clear();
        self.slots.resize(capacity, NO_ROW);
        for row in 0..self.len() {
            let hash = self.row(row).iter().fold(0, |h, c| mix(h, *c));
            let mut at = place(hash, capacity);
            while self.slots[at] != NO_ROW {
                at = (at + 1) & (capacity - 1);
            }
            self.slots[at] = row;
        }
    }

    /// The round a row came in. Rows of one round need not stand together.
    pub(crate) fn round(&self, row: u32) -> u32 {
        let after = self.rounds.partition_point(|(_, start)| *start <= row);
        after.checked_sub(1).and_then(|at| self.rounds.get(at)).map_or(0, |(round, _)| *round)
    }

    /// Whether every row is said, not concluded or reckoned.
    pub(crate) fn is_said(&self) -> bool {
        self.reasons.iter().all(|r| matches!(r, Reason::Said(_)))
    }

    /// The table with only the rows that are said.
    pub(crate) fn said(&self) -> Self {
        let mut said = Self::new(self.blanks(), self.hidden);
        for (row, reason) in (0..).zip(&self.reasons) {
            if matches!(reason, Reason::Said(_)) {
                said.add(self.row(row), 0, |_| reason.clone());
            }
        }
        said.visible = said.len();
        said
    }

    /// Whether it begins with the rows of another, by the same numbers and in the same rounds.
    pub(crate) fn begins_as(&self, other: &Self) -> bool {
        let rounds = self.rounds.iter().take_while(|(_, start)| *start < other.len());
        self.len() >= other.len() && self.cells.starts_with(&other.cells) && rounds.eq(&other.rounds)
    }

    /// Whether its rows rest on the very same as those of another that has the same rows.
    pub(crate) fn rests_as(&self, other: &Self) -> bool {
        self.reasons == other.reasons
            && self.premises == other.premises
            && self.reckonings == other.reckonings
    }

    /// The same rows in another order: those of `other` first, as they stand there; `None` if it lacks one of
    /// them, or has it in another round.
    pub(crate) fn aligned(&self, other: &Self) -> Option<Self> {
        let mut rows: Vec<u32> = Vec::with_capacity(self.reasons.len());
        let mut placed = vec![false; self.reasons.len()];
        for row in 0..other.len() {
            let here = self.find(other.row(row)).filter(|here| self.round(*here) == other.round(row))?;
            *placed.get_mut(here as usize)? = true;
            rows.push(here);
        }
        rows.extend((0..).zip(placed).filter(|(_, placed)| !placed).map(|(row, _)| row));
        let mut out = Self::new(self.blanks(), self.hidden);
        for row in rows {
            let reason = self.reason(row)?.clone();
            out.add(self.row(row), self.round(row), |_| reason);
        }
        out.premises.clone_from(&self.premises);
        out.reckonings.clone_from(&self.reckonings);
        out.visible = out.len();
        Some(out)
    }

    /// Takes over the indexes of a table whose rows it begins with, in place of its own.
    pub(crate) fn adopt_indexes(&mut self, other: &Self) {
        self.indexes = other.indexes.clone();
    }

    /// An index over these columns of a table that is finished, made if need be and kept.
    pub(crate) fn index(&self, columns: &[usize]) -> Arc<Index> {
        if let Some(index) = self.indexes.over(columns).filter(|i| i.rows() == self.len()) {
            return index;
        }
        let mut index = self.growing_index(columns);
        index.extend(self, self.len());
        let index = Arc::new(index);
        self.indexes.keep(&index);
        index
    }

    /// An index over these columns that the caller extends as the table grows. It may have no row yet.
    pub(crate) fn growing_index(&self, columns: &[usize]) -> Index {
        self.indexes.over(columns).map_or_else(|| Index::new(columns), Arc::unwrap_or_clone)
    }

    /// Keeps an index of all rows for whoever asks for one over the same columns.
    pub(crate) fn keep(&self, index: &Arc<Index>) {
        self.indexes.keep(index);
    }

    /// All rows as `spell` spells them, which runs that share the table do once.
    pub(crate) fn spelled(&self, spell: impl FnOnce() -> Arc<[Spelled]>) -> &Arc<[Spelled]> {
        self.spelled.get_or_init(spell)
    }

    /// The newest row of an index whose columns are `key`, or [`NO_ROW`].
    pub(crate) fn first(&self, index: &Index, key: &[u32]) -> u32 {
        index.first(&self.cells, self.width, key)
    }

    /// All rows that an index has under `key`, newest first.
    pub(crate) fn rows_under(&self, index: &Index, key: &[u32]) -> Vec<u32> {
        let mut rows = Vec::new();
        let mut row = self.first(index, key);
        while row != NO_ROW {
            rows.push(row);
            row = index.next(row);
        }
        rows
    }
}

/// The indexes of a finished table, made when first asked for; runs that share the table share them.
#[derive(Debug, Default)]
struct Indexes(RwLock<Vec<Arc<Index>>>);

impl Indexes {
    fn over(&self, columns: &[usize]) -> Option<Arc<Index>> {
        let all = self.0.read().unwrap_or_else(PoisonError::into_inner);
        all.iter().find(|i| *i.columns == *columns).cloned()
    }

    fn keep(&self, index: &Arc<Index>) {
        let mut all = self.0.write().unwrap_or_else(PoisonError::into_inner);
        all.retain(|i| i.columns != index.columns);
        all.push(Arc::clone(index));
    }
}

impl Clone for Indexes {
    fn clone(&self) -> Self {
        Self(RwLock::new(self.0.read().unwrap_or_else(PoisonError::into_inner).clone()))
    }
}

/// Rows by the values of some columns: a chain of rows for each key, newest first.
#[derive(Debug, Clone)]
pub(crate) struct Index {
    columns: Box<[usize]>,
    slots: Vec<u32>,
    next: Vec<u32>,
    keys: usize,
}

impl Index {
    fn new(columns: &[usize]) -> Self {
        Self { columns: columns.into(), slots: vec![NO_ROW; 8], next: Vec::new(), keys: 0 }
    }

    /// The columns it goes by.
    pub(crate) fn columns(&self) -> &[usize] {
        &self.columns
    }

    /// How many rows it has.
    pub(crate) fn rows(&self) -> u32 {
        u32::try_from(self.next.len()).unwrap_or(NO_ROW)
    }

    /// How many different keys its rows have.
    pub(crate) fn keys(&self) -> usize {
        self.keys
    }

    /// Takes in the rows of its table it has not yet, those before `upto`.
    pub(crate) fn extend(&mut self, table: &Table, upto: u32) {
        let (cells, width) = (table.cells.as_slice(), table.width);
        let mut key = Vec::with_capacity(self.columns.len());
        for row in self.rows()..upto {
            self.key_of(cells, width, row, &mut key);
            let at = self.probe(cells, width, &key);
            let head = self.slots[at];
            self.next.push(head);
            self.slots[at] = row;
            if head == NO_ROW {
                self.keys += 1;
                if self.keys * 2 > self.slots.len() {
                    self.grow(cells, width);
                }
            }
        }
    }

    fn key_of(&self, cells: &[u32], width: usize, row: u32, key: &mut Vec<u32>) {
        key.clear();
        let start = row as usize * width;
        key.extend(self.columns.iter().map(|c| cells.get(start + c).copied().unwrap_or(NO_ENTRY)));
    }

    fn probe(&self, cells: &[u32], width: usize, key: &[u32]) -> usize {
        let hash = key.iter().fold(0, |h, c| mix(h, *c));
        let mut at = place(hash, self.slots.len());
        loop {
            let row = self.slots[at];
            if row == NO_ROW {
                return at;
            }
            let start = row as usize * width;
            if self.columns.iter().zip(key).all(|(c, k)| cells.get(start + c) == Some(k)) {
                return at;
            }
            at = (at + 1) & (self.slots.len() - 1);
        }
    }

    fn grow(&mut self, cells: &[u32], width: usize) {
        let heads: Vec<u32> = self.slots.iter().copied().filter(|r| *r != NO_ROW).collect();
        let capacity = self.slots.len() * 2;
        self.slots.clear();
        self.slots.resize(capacity, NO_ROW);
        let mut key = Vec::new();
        for head in heads {
            self.key_of(cells, width, head, &mut key);
            let at = self.probe(cells, width, &key);
            self.slots[at] = head;
        }
    }

    fn first(&self, cells: &[u32], width: usize, key: &[u32]) -> u32 {
        self.slots[self.probe(cells, width, key)]
    }

    /// The next older row with the same key.
    pub(crate) fn next(&self, row: u32) -> u32 {
        self.next.get(row as usize).copied().unwrap_or(NO_ROW)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(_: &mut Table) -> Reason {
        Reason::Said(FactSource::Given)
    }

    #[test]
    fn a_row_is_kept_once_and_found_by_any_of_its_columns() {
        let mut table = Table::new(2, false);
        let mut by_first = table.growing_index(&[0]);
        for n in 0..1000 {
            assert_eq!(table.add(&[n % 7, n], 0, said), (n, true));
            assert_eq!(table.add(&[n % 7, n], 0, said), (n, false));
            by_first.extend(&table, n / 2);
        }
        by_first.extend(&table, 1000);
        let by_second = table.index(&[1]);
        assert_eq!(
            table.rows_under(&by_first, &[3]),
            (0..1000).rev().filter(|n| n % 7 == 3).collect::<Vec<_>>()
        );
        assert_eq!((by_first.keys(), by_second.keys()), (7, 1000));
        assert_eq!(table.first(&by_second, &[999]), 999);
        assert_eq!(table.first(&by_second, &[1000]), NO_ROW);
        assert_eq!(table.find(&[2, 9]), Some(9));
        assert_eq!(table.find(&[3, 9]), None);
    }

    #[test]
    fn an_index_of_a_table_that_grew_has_the_new_rows_and_leaves_the_old_table_alone() {
        let mut table = Table::new(1, false);
        table.add(&[1], 0, said);
        assert_eq!(table.index(&[0]).rows(), 1);
        let mut grown = table.clone();
        grown.add(&[2], 1, said);
        assert_eq!(grown.first(&grown.index(&[0]), &[2]), 1);
        assert_eq!(table.first(&table.index(&[0]), &[2]), NO_ROW);
    }

    #[test]
    fn a_sentence_without_blanks_has_one_tuple_at_most() {
        let mut table = Table::new(0, false);
        assert_eq!(table.find(&[]), None);
        assert_eq!(table.add(&[], 0, said), (0, true));
        assert_eq!(table.add(&[], 0, said), (0, false));
        assert_eq!(table.find(&[]), Some(0));
    }

    #[test]
    fn a_row_knows_its_round() {
        let mut table = Table::new(1, false);
        table.add(&[1], 0, said);
        table.add(&[2], 2, said);
        table.add(&[3], 2, said);
        assert_eq!((table.round(0), table.round(1), table.round(2)), (0, 2, 2));
    }

    #[test]
    fn what_is_said_can_be_had_without_what_is_concluded() {
        let mut table = Table::new(1, false);
        table.add(&[1], 0, said);
        assert!(table.is_said());
        table.add(&[2], 1, |_| Reason::Rule { rule: 0, at: 0 });
        assert!(!table.is_said());
        let said = table.said();
        assert_eq!((said.len(), said.visible, said.find(&[1]), said.find(&[2])), (1, 1, Some(0), None));
    }
}
