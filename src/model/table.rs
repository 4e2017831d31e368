//! Interned values and the append-only tables that hold tuples during and after inference.
//!
//! Comes in: values and rows of cells. Goes out: rows by number, by content, and by some of their
//! columns. It knows neither rules nor rounds' meaning; it only keeps where each round begins.

use rustc_hash::FxHashMap;

use super::program::FactSource;
use crate::measure::value::Value;

/// The cell of an entry column that carries no entry.
pub(crate) const NO_ENTRY: u32 = 0;
/// Stands where a row number is due and there is none.
pub(crate) const NO_ROW: u32 = u32::MAX;

/// Every value that occurs, by number. Number 0 is kept for [`NO_ENTRY`].
#[derive(Debug)]
pub(crate) struct Interner {
    values: Vec<Value>,
    ids: FxHashMap<Value, u32>,
}

impl Default for Interner {
    fn default() -> Self {
        Self { values: vec![Value::word("")], ids: FxHashMap::default() }
    }
}

impl Interner {
    /// The number of a value, given anew if need be.
    pub(crate) fn intern(&mut self, value: &Value) -> u32 {
        if let Some(id) = self.ids.get(value) {
            return *id;
        }
        let id = u32::try_from(self.values.len()).unwrap_or(u32::MAX);
        self.values.push(value.clone());
        self.ids.insert(value.clone(), id);
        id
    }

    /// The number of a value, if it occurs at all.
    pub(crate) fn find(&self, value: &Value) -> Option<u32> {
        self.ids.get(value).copied()
    }

    /// The value of a number; every number was handed out here.
    pub(crate) fn value(&self, id: u32) -> &Value {
        self.values.get(id as usize).unwrap_or(&self.values[0])
    }

    /// For each number, its place in the order of values; [`NO_ENTRY`] comes first.
    pub(crate) fn ranks(&self) -> Vec<u32> {
        let mut order: Vec<u32> = (1..u32::try_from(self.values.len()).unwrap_or(u32::MAX)).collect();
        order.sort_unstable_by(|a, b| self.value(*a).cmp(self.value(*b)));
        let mut ranks = vec![0; self.values.len()];
        for (rank, id) in (1..).zip(order) {
            if let Some(slot) = ranks.get_mut(id as usize) {
                *slot = rank;
            }
        }
        ranks
    }
}

/// What a row rests on, compactly.
#[derive(Debug, Clone)]
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
    /// A reckoner's answer, by its number in the model.
    Reckoned(u32),
}

/// All tuples of one sentence.
#[derive(Debug, Default)]
pub(crate) struct Table {
    /// Cells in a row: the blanks, and for a journal sentence the entry and whether it is planned.
    pub(crate) width: usize,
    /// Whether the last two cells are the hidden ones.
    pub(crate) hidden: bool,
    /// Rows that lines may read now; later ones belong to the round under way.
    pub(crate) visible: u32,
    /// Premise rows, see [`Reason::Rule`].
    pub(crate) premises: Vec<u32>,
    cells: Vec<u32>,
    slots: Vec<u32>,
    reasons: Vec<Reason>,
    rounds: Vec<(u32, u32)>,
    indexes: Vec<Index>,
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

    /// Adds a row unless it is there; says which it is, and whether it is new.
    pub(crate) fn add(&mut self, cells: &[u32], reason: impl FnOnce(&mut Vec<u32>) -> Reason) -> (u32, bool) {
        match self.probe(cells) {
            Ok(row) => (row, false),
            Err(slot) => {
                let row = self.len();
                self.cells.extend_from_slice(cells);
                let reason = reason(&mut self.premises);
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

    /// From here on, rows belong to `round`.
    pub(crate) fn begin_round(&mut self, round: u32) {
        let start = self.len();
        match self.rounds.last_mut() {
            Some(last) if last.1 == start => last.0 = round,
            _ => self.rounds.push((round, start)),
        }
    }

    /// The round a row came in.
    pub(crate) fn round(&self, row: u32) -> u32 {
        let after = self.rounds.partition_point(|(_, start)| *start <= row);
        after.checked_sub(1).and_then(|at| self.rounds.get(at)).map_or(0, |(round, _)| *round)
    }

    /// Lets lines read every row there is, through every index there is.
    pub(crate) fn show_all(&mut self) {
        self.visible = self.len();
        for index in &mut self.indexes {
            index.extend(&self.cells, self.width, self.visible);
        }
    }

    /// The number of the index over these columns, made if need be.
    pub(crate) fn index_on(&mut self, columns: &[usize]) -> usize {
        if let Some(at) = self.indexes.iter().position(|i| *i.columns == *columns) {
            return at;
        }
        let mut index = Index::new(columns);
        index.extend(&self.cells, self.width, self.visible);
        self.indexes.push(index);
        self.indexes.len() - 1
    }

    /// The newest visible row whose indexed columns are `key`, or [`NO_ROW`].
    pub(crate) fn first(&self, index: usize, key: &[u32]) -> u32 {
        self.indexes.get(index).map_or(NO_ROW, |i| i.first(&self.cells, self.width, key))
    }

    /// The next older row with the same key.
    pub(crate) fn next(&self, index: usize, row: u32) -> u32 {
        self.indexes.get(index).map_or(NO_ROW, |i| i.next(row))
    }

    /// An index over these columns of the rows there are, kept by the caller.
    pub(crate) fn outside_index(&self, columns: &[usize]) -> Index {
        let mut index = Index::new(columns);
        index.extend(&self.cells, self.width, self.len());
        index
    }

    /// All rows that an outside index has under `key`, newest first.
    pub(crate) fn rows_under(&self, index: &Index, key: &[u32]) -> Vec<u32> {
        let mut rows = Vec::new();
        let mut row = index.first(&self.cells, self.width, key);
        while row != NO_ROW {
            rows.push(row);
            row = index.next(row);
        }
        rows
    }
}

/// Rows by the values of some columns: a chain of rows for each key, newest first.
#[derive(Debug)]
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

    fn extend(&mut self, cells: &[u32], width: usize, upto: u32) {
        let mut key = Vec::with_capacity(self.columns.len());
        for row in u32::try_from(self.next.len()).unwrap_or(NO_ROW)..upto {
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

    fn next(&self, row: u32) -> u32 {
        self.next.get(row as usize).copied().unwrap_or(NO_ROW)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(_: &mut Vec<u32>) -> Reason {
        Reason::Said(FactSource::Given)
    }

    #[test]
    fn a_row_is_kept_once_and_found_by_any_of_its_columns() {
        let mut table = Table::new(2, false);
        let by_first = table.index_on(&[0]);
        for n in 0..1000 {
            assert_eq!(table.add(&[n % 7, n], said), (n, true));
            assert_eq!(table.add(&[n % 7, n], said), (n, false));
        }
        table.show_all();
        let by_second = table.index_on(&[1]);
        let mut row = table.first(by_first, &[3]);
        let mut seen = Vec::new();
        while row != NO_ROW {
            seen.push(row);
            row = table.next(by_first, row);
        }
        assert_eq!(seen, (0..1000).rev().filter(|n| n % 7 == 3).collect::<Vec<_>>());
        assert_eq!(table.first(by_second, &[999]), 999);
        assert_eq!(table.first(by_second, &[1000]), NO_ROW);
        assert_eq!(table.find(&[2, 9]), Some(9));
        assert_eq!(table.find(&[3, 9]), None);
    }

    #[test]
    fn a_sentence_without_blanks_has_one_tuple_at_most() {
        let mut table = Table::new(0, false);
        assert_eq!(table.find(&[]), None);
        assert_eq!(table.add(&[], said), (0, true));
        assert_eq!(table.add(&[], said), (0, false));
        assert_eq!(table.find(&[]), Some(0));
    }

    #[test]
    fn a_row_knows_its_round() {
        let mut table = Table::new(1, false);
        table.begin_round(0);
        table.add(&[1], said);
        table.begin_round(1);
        table.begin_round(2);
        table.add(&[2], said);
        assert_eq!((table.round(0), table.round(1)), (0, 2));
    }
}
