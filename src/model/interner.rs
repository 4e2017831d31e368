//! Every value that occurs, by number.
//!
//! Comes in: values. Goes out: a number for each, the same for equal values, and each number's place in
//! the order of values. What one interner holds can be shared by several that each add values of their own.

use std::{
    cmp::Ordering,
    sync::{Arc, OnceLock},
};

use rustc_hash::FxHashMap;

use super::table::NO_ENTRY;
use crate::measure::value::Value;

/// Values by number. Number 0 is kept for [`NO_ENTRY`].
#[derive(Debug)]
pub(crate) struct Interner {
    /// The interner whose numbers come before this one's.
    under: Option<Arc<Interner>>,
    /// The first number of its own.
    first: u32,
    values: Vec<Value>,
    ids: FxHashMap<Value, u32>,
    /// All numbers but that of [`NO_ENTRY`], ordered by their values, once somebody asked.
    order: OnceLock<Vec<u32>>,
}

impl Default for Interner {
    fn default() -> Self {
        Self {
            under: None,
            first: 0,
            values: vec![Value::word("")],
            ids: FxHashMap::default(),
            order: OnceLock::new(),
        }
    }
}

impl Interner {
    /// An interner that knows what `under` knows, by the same numbers.
    pub(crate) fn over(under: &Arc<Interner>) -> Self {
        let (under, first) = (Some(Arc::clone(under)), under.len());
        Self { under, first, values: Vec::new(), ids: FxHashMap::default(), order: OnceLock::new() }
    }

    /// How many interners lie under this one.
    pub(crate) fn depth(&self) -> usize {
        self.under.as_ref().map_or(0, |under| 1 + under.depth())
    }

    /// The same values by the same numbers, with nothing under it.
    pub(crate) fn alone(&self) -> Self {
        let values: Vec<Value> = (0..self.len()).map(|id| self.value(id).clone()).collect();
        let ids = (1..).zip(values.iter().skip(1).cloned()).map(|(id, value)| (value, id)).collect();
        let order = OnceLock::from(self.order().to_vec());
        Self { under: None, first: 0, values, ids, order }
    }

    fn len(&self) -> u32 {
        self.first + u32::try_from(self.values.len()).unwrap_or(u32::MAX)
    }

    /// The number of a value, given anew if need be.
    pub(crate) fn intern(&mut self, value: &Value) -> u32 {
        if let Some(id) = self.find(value) {
            return id;
        }
        let id = self.len();
        self.values.push(value.clone());
        self.ids.insert(value.clone(), id);
        self.order = OnceLock::new();
        id
    }

    /// The number of a value, if it occurs at all.
    pub(crate) fn find(&self, value: &Value) -> Option<u32> {
        let own = self.ids.get(value).copied();
        own.or_else(|| self.under.as_ref().and_then(|under| under.find(value)))
    }

    /// The value of a number; every number was handed out here or under here.
    pub(crate) fn value(&self, id: u32) -> &Value {
        match (&self.under, id.checked_sub(self.first)) {
            (Some(under), None) => under.value(id),
            (_, own) => self.values.get(own.unwrap_or(0) as usize).unwrap_or(&NOTHING),
        }
    }

    /// For each number, its place in the order of values; [`NO_ENTRY`] comes first.
    pub(crate) fn ranks(&self) -> Vec<u32> {
        let order = self.order();
        let mut ranks = vec![0; order.len() + 1];
        for (rank, id) in (1..).zip(order) {
            if let Some(slot) = ranks.get_mut(*id as usize) {
                *slot = rank;
            }
        }
        ranks
    }

    fn order(&self) -> &[u32] {
        self.order.get_or_init(|| {
            let mut own: Vec<u32> = (self.first..self.len()).filter(|id| *id != NO_ENTRY).collect();
            own.sort_unstable_by(|a, b| self.value(*a).cmp(self.value(*b)));
            match &self.under {
                Some(under) => merged(under.order(), &own, |a, b| self.value(*a).cmp(self.value(*b))),
                None => own,
            }
        })
    }
}

/// Stands for a number that was never handed out.
static NOTHING: Value = Value::Clock(0);

/// Two ordered lists as one.
fn merged(a: &[u32], b: &[u32], by: impl Fn(&u32, &u32) -> Ordering) -> Vec<u32> {
    let mut all = Vec::with_capacity(a.len() + b.len());
    let mut rest = a;
    for new in b {
        let upto = rest.partition_point(|old| by(old, new) == Ordering::Less);
        let (before, after) = rest.split_at(upto);
        all.extend_from_slice(before);
        all.push(*new);
        rest = after;
    }
    all.extend_from_slice(rest);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interner_over_another_gives_the_same_numbers_and_its_own_after_them() {
        let mut under = Interner::default();
        let (b, d) = (under.intern(&Value::word("b")), under.intern(&Value::word("d")));
        let under = Arc::new(under);
        let mut over = Interner::over(&under);
        let (a, c) = (over.intern(&Value::word("a")), over.intern(&Value::word("c")));
        assert_eq!([b, d, a, c], [1, 2, 3, 4]);
        assert_eq!([over.intern(&Value::word("d")), over.intern(&Value::word("a"))], [d, a]);
        assert_eq!((over.find(&Value::word("b")), under.find(&Value::word("a"))), (Some(b), None));
        assert_eq!([over.value(b), over.value(c)], [&Value::word("b"), &Value::word("c")]);
        assert_eq!(over.ranks(), [0, 2, 4, 1, 3]);
        assert_eq!(under.ranks(), [0, 1, 2]);
    }

    #[test]
    fn an_interner_gives_the_same_numbers_when_it_stands_alone() {
        let mut under = Interner::default();
        let b = under.intern(&Value::word("b"));
        let mut over = Interner::over(&Arc::new(under));
        let a = over.intern(&Value::word("a"));
        let alone = over.alone();
        assert_eq!((over.depth(), alone.depth()), (1, 0));
        assert_eq!([alone.find(&Value::word("a")), alone.find(&Value::word("b"))], [Some(a), Some(b)]);
        assert_eq!(
            ([alone.value(a), alone.value(b)], alone.ranks()),
            ([over.value(a), over.value(b)], over.ranks())
        );
    }

    #[test]
    fn the_order_of_values_is_the_same_with_layers_and_without() {
        let words: Vec<Value> = (0..40u32).map(|n| Value::word(format!("w{}", n * 17 % 41))).collect();
        let mut whole = Interner::default();
        words.iter().for_each(|w| _ = whole.intern(w));
        for cut in [0, 1, 20, 40] {
            let mut under = Interner::default();
            words[..cut].iter().for_each(|w| _ = under.intern(w));
            let mut over = Interner::over(&Arc::new(under));
            words[cut..].iter().for_each(|w| _ = over.intern(w));
            assert_eq!(over.ranks(), whole.ranks());
        }
    }
}
