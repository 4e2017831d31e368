//! The journal lines a proof comes down to, and the labels that point into them.
//!
//! Comes in: proofs. Goes out: the entries at their leaves, and labels on the words of those entries
//! that matter. It does not choose which proofs are shown.

use std::{
    collections::{BTreeMap, BTreeSet, VecDeque},
    sync::Arc,
};

use rustc_hash::FxHashSet;

use super::{Known, say};
use crate::{
    base::{
        diagnostic::Label,
        span::{Loc, Span},
    },
    measure::value::{EntryId, Value},
    model::{
        entry::{Entry, Filler},
        program::FactSource,
        proof::{By, Premise, Proof, Tuple},
        sentence::{Part, Sentence},
    },
};

/// The proofs a proof rests on directly.
pub fn premises(proof: &Proof) -> Vec<&Arc<Proof>> {
    match &proof.by {
        By::Said(_) => Vec::new(),
        By::Reckoned { witnesses, .. } => witnesses.iter().collect(),
        By::Rule { premises, .. } => premises
            .iter()
            .flat_map(|p| match p {
                Premise::Holds(proof) => std::slice::from_ref(proof),
                Premise::Gathered { members, .. } => members.as_slice(),
                Premise::Absent { .. } | Premise::Computed { .. } | Premise::Compared { .. } => &[],
            })
            .collect(),
    }
}

/// Every proof in `roots` and below, each once, nearest to the roots first. Proofs that were built
/// together share their parts, so one proof is known by where it is kept.
pub fn within<'a>(roots: &[&'a Proof]) -> Vec<&'a Proof> {
    let mut seen: FxHashSet<*const Proof> = FxHashSet::default();
    let mut queue: VecDeque<&'a Proof> = roots.iter().copied().collect();
    let mut out = Vec::new();
    while let Some(proof) = queue.pop_front() {
        if seen.insert(std::ptr::from_ref(proof)) {
            out.push(proof);
            queue.extend(premises(proof).into_iter().map(|p| &**p));
        }
    }
    out
}

/// The entries at the leaves of proofs, with the journal sentences each was needed for.
///
/// Undated declarations and first mentions of a name are left out unless there is nothing else.
pub fn entries<'a>(known: &Known<'_>, roots: &[&'a Proof]) -> BTreeMap<EntryId, Vec<&'a Tuple>> {
    let mut all: BTreeMap<EntryId, Vec<&Tuple>> = BTreeMap::new();
    let mut telling: BTreeMap<EntryId, Vec<&Tuple>> = BTreeMap::new();
    for proof in within(roots) {
        if let By::Said(FactSource::Entry(id)) = proof.by {
            all.entry(id).or_default().push(&proof.tuple);
            if tells(known, id, &proof.tuple) {
                telling.entry(id).or_default().push(&proof.tuple);
            }
        }
    }
    if telling.is_empty() { all } else { telling }
}

fn tells(known: &Known<'_>, id: EntryId, tuple: &Tuple) -> bool {
    let dated = known.diary.entries.get(id.0 as usize).is_some_and(|e| e.days.is_some());
    let sentence = known.program.sentences.get(tuple.sentence.0 as usize);
    dated && sentence.is_some_and(|s| !of_kind(s))
}

/// Whether it is `{thing} is a {kind}`, said of every name: it tells where a name was first used, which
/// is no evidence.
fn of_kind(sentence: &Sentence) -> bool {
    matches!(&*sentence.parts, [Part::Blank(_), Part::Word(is), Part::Word(a), Part::Blank(_)]
        if **is == *"is" && **a == *"a")
}

/// Labels on the words of an entry that fill `wanted` values, else `instead`, else on its verb. The
/// first label says the entry's day, which stands in a heading that is not shown beside it.
pub fn labels(
    known: &Known<'_>,
    id: EntryId,
    wanted: &BTreeSet<&Value>,
    instead: &BTreeSet<&Value>,
) -> Vec<Label> {
    let Some(entry) = known.diary.entries.get(id.0 as usize) else { return Vec::new() };
    let mut places = fillers(entry, wanted);
    if places.is_empty() {
        places = fillers(entry, instead);
    }
    if places.is_empty() {
        places.push(entry.verb_loc);
    }
    let day = say::day(known, id);
    let texts = std::iter::once(day).chain(std::iter::repeat(String::new()));
    places.into_iter().zip(texts).map(|(loc, text)| Label { loc, text }).collect()
}

/// Where values stand in an entry: one place for each slot they fill, side by side ones joined.
fn fillers(entry: &Entry, values: &BTreeSet<&Value>) -> Vec<Loc> {
    let mut slots: BTreeMap<(usize, &str), Loc> = BTreeMap::new();
    for (g, group) in entry.groups.iter().enumerate() {
        for filled in &group.slots {
            let fits = match &filled.filler {
                Filler::Value(v) => values.contains(v),
                Filler::Part(part) => values.contains(&Value::Thing(part.of.clone())),
                _ => false,
            };
            if fits {
                slots
                    .entry((g, &*filled.slot))
                    .and_modify(|loc| {
                        if loc.file == filled.loc.file {
                            loc.span = loc.span.cover(filled.loc.span);
                        }
                    })
                    .or_insert(filled.loc);
            }
        }
    }
    // Slots carried over from an earlier group stand where that group wrote them: each place once.
    let places: BTreeSet<Loc> = slots.into_values().filter(|l| !l.span.is_empty()).collect();
    apart(places.into_iter().collect())
}

/// Places in order, without those that lie inside the one before.
fn apart(places: Vec<Loc>) -> Vec<Loc> {
    let mut out: Vec<Loc> = Vec::new();
    for place in places {
        match out.last() {
            Some(last) if last.file == place.file && place.span.end <= last.span.end => {}
            Some(last) if last.file == place.file && place.span.start < last.span.end => {
                out.push(Loc::new(place.file, Span { start: last.span.end, end: place.span.end }));
            }
            _ => out.push(place),
        }
    }
    out
}
