//! Names across the farm: where a thing began, where it is named, and another name for it.
//!
//! Comes in: a check and a place. Goes out: places, or the edits that rename. A renaming touches entries
//! only: prose is the grower's own.

use std::collections::{BTreeMap, BTreeSet};

use lsp_server::ErrorCode;
use lsp_types::{Location, TextEdit};
use serde_json::{Value, json};

use super::{
    answer::Fault,
    at::{self, Stands},
    round::Round,
};
use crate::{
    base::{
        name::{all_names, find_name, fold},
        span::{FileId, Loc, Span},
    },
    model::{
        diary::KnownThing,
        entry::Entry,
        frame::{FrameKind, Lead},
    },
};

/// Where what stands here began: a thing's first entry, or the page of a code.
pub fn definition(round: &Round, file: FileId, offset: u32) -> Option<Location> {
    match at::at(round, file, offset)? {
        Stands::Thing(known, _) => {
            let (mention, _) = known.began.or_else(|| known.mentions.first().copied())?;
            round.location(at::name_in(round, mention, &known.thing).unwrap_or(mention))
        }
        Stands::Code(code, _) => {
            let page = round.checked.pages.iter().find(|p| p.code == code)?;
            round.location(Loc::new(page.file, Span::default()))
        }
        Stands::Verb(frame, _) => round.location(frame.loc),
        Stands::Word(..) => None,
    }
}

/// Everywhere the thing that stands here is named; its beginning only if `declared`.
pub fn references(round: &Round, file: FileId, offset: u32, declared: bool) -> Vec<Location> {
    let Some(Stands::Thing(known, _)) = at::at(round, file, offset) else { return Vec::new() };
    let began = known.began.map(|(loc, _)| loc);
    let mentions = at::everywhere(round, known).into_iter().filter(|loc| declared || Some(*loc) != began);
    let named: BTreeSet<Loc> =
        mentions.map(|loc| at::name_in(round, loc, &known.thing).unwrap_or(loc)).collect();
    named.into_iter().filter_map(|loc| round.location(loc)).collect()
}

/// The same within the file: written where the thing begins, read elsewhere.
pub fn highlights(round: &Round, file: FileId, offset: u32) -> Vec<Value> {
    const READ: u8 = 2;
    const WRITE: u8 = 3;
    let Some(Stands::Thing(known, _)) = at::at(round, file, offset) else { return Vec::new() };
    let here = at::everywhere(round, known).into_iter().filter(|loc| loc.file == file);
    let marked: BTreeSet<(Loc, bool)> = here
        .map(|loc| {
            let began = known.began.is_some_and(|(b, _)| b == loc);
            (at::name_in(round, loc, &known.thing).unwrap_or(loc), began)
        })
        .collect();
    let kind = |began| if began { WRITE } else { READ };
    marked.into_iter().map(|(loc, began)| json!({ "range": round.range(loc), "kind": kind(began) })).collect()
}

/// What would be renamed, or why it cannot be.
///
/// # Errors
/// If what stands here has no name of the grower's own.
pub fn can_rename(round: &Round, file: FileId, offset: u32) -> Result<Value, Fault> {
    let (_, name) = named(round, file, offset)?;
    let placeholder = round.checked.sources.slice(name);
    Ok(json!({ "range": round.range(name), "placeholder": placeholder }))
}

/// The edits that give the thing here another name everywhere.
///
/// # Errors
/// If it has no name of its own, or the new one would not be read as one, or is taken.
pub fn rename(round: &Round, file: FileId, offset: u32, new: &str) -> Result<Value, Fault> {
    let (known, _) = named(round, file, offset)?;
    if known.thing.name.contains(" of ") || &*known.thing.kind == "unit" {
        return Err(refused(format!("{} goes by other words and has no name of its own", known.thing.name)));
    }
    let new = new.trim();
    can_be_name(round, known, new)?;
    let mut places: BTreeSet<Loc> = BTreeSet::new();
    for mention in at::everywhere(round, known) {
        match at::name_in(round, mention, &known.thing) {
            Some(_) if at::is_shared(round, mention, &known.thing) => {
                let place = round.checked.sources.place(mention);
                return Err(refused(format!(
                    "{place} names several at once; name them one by one there first"
                )));
            }
            Some(name) => places.extend([name]),
            None => {
                let place = round.checked.sources.place(mention);
                return Err(refused(format!("{place} means it by other words; give it a name there first")));
            }
        }
    }
    places.extend(in_words(round, known));
    let mut changes: BTreeMap<String, Vec<TextEdit>> = BTreeMap::new();
    for loc in places {
        let uri = round.uri(loc.file).ok_or_else(|| refused("it is named in a built-in page".to_owned()))?;
        let edit = TextEdit::new(round.range(loc), new.to_owned());
        changes.entry(uri.as_str().to_owned()).or_default().push(edit);
    }
    Ok(json!({ "changes": changes }))
}

fn named(round: &Round, file: FileId, offset: u32) -> Result<(&KnownThing, Loc), Fault> {
    match at::at(round, file, offset) {
        Some(Stands::Thing(known, name))
            if find_name(round.checked.sources.slice(name), &known.thing.name).is_some() =>
        {
            Ok((known, name))
        }
        _ => Err(refused("no name of yours stands here".to_owned())),
    }
}

/// Lines about actions and plans, such as `done`, name things within their words.
fn in_words(round: &Round, known: &KnownThing) -> Vec<Loc> {
    let keeps_books =
        |e: &&Entry| round.checked.frames.get(&e.verb).is_some_and(|f| f.kind == FrameKind::Bookkeeping);
    let entries = round.checked.diary.entries.iter().filter(keeps_books);
    let slots = entries.flat_map(|e| {
        e.groups.iter().flat_map(|g| &g.slots).filter(|f| {
            let frame = round.checked.frames.get(&e.verb);
            let slot = frame.and_then(|frame| frame.slot(&f.slot));
            slot.is_some_and(|s| s.leads.contains(&Lead::Rest))
        })
    });
    let found = slots.flat_map(|filled| {
        let text = round.checked.sources.slice(filled.loc);
        all_names(text, &known.thing.name).map(|(start, end)| {
            let from = filled.loc.span.start as usize;
            Loc::new(filled.loc.file, Span::new(from + start, from + end))
        })
    });
    found.collect()
}

fn can_be_name(round: &Round, known: &KnownThing, new: &str) -> Result<(), Fault> {
    let spaced = known.thing.name.contains(' ');
    let plain = |c: char| c.is_alphanumeric() || "-_'’".contains(c) || spaced && c == ' ';
    if new.is_empty() || !new.chars().all(plain) || !new.chars().any(char::is_alphabetic) {
        let also = if spaced { ", spaces" } else { "" };
        return Err(refused(format!("a name is letters, figures and hyphens{also}, with a letter in it")));
    }
    let folded = fold(new);
    let taken = round.checked.diary.things.iter().map(|t| &t.thing).find(|t| fold(&t.name) == folded);
    match taken {
        Some(thing) if *thing != known.thing => {
            Err(refused(format!("`{new}` is the name of {} {} already", thing.kind, thing.name)))
        }
        _ => Ok(()),
    }
}

fn refused(said: String) -> Fault {
    Fault { code: ErrorCode::RequestFailed, said }
}
