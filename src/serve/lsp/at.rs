//! What stands at a place of a journal: a name, a verb, a word, a code.
//!
//! Comes in: a check and a byte of a file. Goes out: what the entry there names at that byte, with where
//! exactly. It asks nothing about it.

use std::{collections::BTreeSet, sync::Arc};

use super::round::Round;
use crate::{
    base::{
        name::{find_name, fold},
        span::{FileId, Loc, Span},
    },
    measure::value::{Thing, Value},
    model::{
        diary::KnownThing,
        entry::{Entry, Filled, Filler, Replacement},
        frame::Frame,
    },
};

/// What stands at a place.
#[derive(Debug)]
pub enum Stands<'a> {
    /// A thing that is named, and where its name stands.
    Thing(&'a KnownThing, Loc),
    /// The verb of an entry.
    Verb(&'a Frame, Loc),
    /// A word of the tables.
    Word(Arc<str>, Loc),
    /// The code of a page.
    Code(Arc<str>, Loc),
}

/// What stands at a byte, if the entry there names anything at it.
pub fn at(round: &Round, file: FileId, offset: u32) -> Option<Stands<'_>> {
    let checked = &round.checked;
    if let Some((known, loc)) = thing(round, file, offset) {
        return Some(Stands::Thing(known, loc));
    }
    let entry = entry(round, file, offset)?;
    if holds(entry.verb_loc, file, offset) {
        return Some(Stands::Verb(checked.frames.get(&entry.verb)?, entry.verb_loc));
    }
    let slots = entry.groups.iter().flat_map(|g| &g.slots);
    let here = slots.filter(|f| holds(f.loc, file, offset)).min_by_key(|f| f.loc.span.len())?;
    let word = word(here)?;
    if checked.pages.iter().any(|p| p.code == word && p.severity.is_some()) {
        return Some(Stands::Code(word, here.loc));
    }
    Some(Stands::Word(word, here.loc))
}

/// The entry at a byte.
pub fn entry(round: &Round, file: FileId, offset: u32) -> Option<&Entry> {
    round.checked.diary.entries.iter().find(|e| holds(e.loc, file, offset))
}

/// The thing named at a byte, with its name or, where it is meant by other words, those words. Where a
/// part of a thing is named as well, the name that stands closest.
fn thing(round: &Round, file: FileId, offset: u32) -> Option<(&KnownThing, Loc)> {
    let entry = entry(round, file, offset)?;
    let mut named = Vec::new();
    things_of(entry, &mut |thing, loc| {
        if holds(loc, file, offset)
            && let Some(known) = round.checked.diary.things.iter().find(|k| is_same(thing, &k.thing))
        {
            named.push((known, name_in(round, loc, thing).unwrap_or(loc), loc));
        }
    });
    // A mention may begin with a kind word, and be asked about there too.
    let closest =
        named.into_iter().min_by_key(|(_, name, loc)| (!holds(*name, file, offset), loc.span.len()));
    closest.map(|(known, name, _)| (known, name))
}

/// Every place of the farm that names a thing, in order: mentions, and what names it without counting as
/// one, in entries withdrawn and in what a correction puts in place of one.
pub fn everywhere(round: &Round, known: &KnownThing) -> BTreeSet<Loc> {
    let mut found: BTreeSet<Loc> = known.mentions.iter().map(|(loc, _)| *loc).collect();
    for entry in &round.checked.diary.entries {
        things_of(entry, &mut |thing, loc| {
            if is_same(thing, &known.thing) || is_part(thing, &known.thing) {
                found.insert(loc);
            }
        });
    }
    found
}

/// Whether a thing is called after another that it is a part of, as a bucket is after its batch.
fn is_part(part: &Thing, whole: &Thing) -> bool {
    let part = fold(&part.name);
    let after = |whole: &str| part.strip_suffix(&fold(whole)).is_some_and(|rest| rest.ends_with(" of "));
    after(&whole.name) || after(&format!("{} {}", whole.kind, whole.name))
}

/// Whether a mention names another thing as well that this one is no part of, as the ends of a row of
/// names do.
pub fn is_shared(round: &Round, mention: Loc, thing: &Thing) -> bool {
    let mut shared = false;
    for entry in round.checked.diary.entries.iter().filter(|e| holds(e.loc, mention.file, mention.span.start))
    {
        things_of(entry, &mut |other, loc| {
            shared |= loc == mention && !is_same(other, thing) && !is_part(other, thing);
        });
    }
    shared
}

/// The things an entry names, with where.
fn things_of(entry: &Entry, found: &mut dyn FnMut(&Thing, Loc)) {
    for filled in entry.groups.iter().flat_map(|g| &g.slots) {
        match &filled.filler {
            Filler::Value(Value::Thing(thing)) => found(thing, filled.loc),
            Filler::Part(part) => found(&part.of, filled.loc),
            Filler::Replacement(to) => {
                if let Replacement::Entry(entry) = &**to {
                    things_of(entry, found);
                }
            }
            _ => {}
        }
    }
}

/// The control arm of a test goes by the test's name.
fn is_same(written: &Thing, thing: &Thing) -> bool {
    written == thing || written.name == thing.name && &*written.kind == "control" && &*thing.kind == "test"
}

/// Where a thing's name stands within a mention of it. None where it is known by other words, as a load
/// without a name is by its material.
pub fn name_in(round: &Round, mention: Loc, thing: &Thing) -> Option<Loc> {
    let text = round.checked.sources.slice(mention);
    let (start, end) = find_name(text, &thing.name)?;
    let from = mention.span.start as usize;
    Some(Loc::new(mention.file, Span::new(from + start, from + end)))
}

fn word(filled: &Filled) -> Option<Arc<str>> {
    match &filled.filler {
        Filler::Value(Value::Word(w)) => Some(Arc::clone(w)),
        _ => None,
    }
}

/// Whether a place covers a byte, or ends at it.
pub fn holds(loc: Loc, file: FileId, offset: u32) -> bool {
    loc.file == file && loc.span.start <= offset && offset <= loc.span.end
}
