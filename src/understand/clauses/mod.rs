//! Reads the entries of a journal: which slot of its frame each clause fills.
//!
//! Comes in: journal files in pieces, the frames, and the vocabulary of the program's tables. Goes
//! out: entries, the journal's lexicon, and what did not read, one diagnostic for one matter. Whether
//! an entry is done, meant or withdrawn, and what follows from it, is for the diary.

mod bookkeeping;
mod common;
mod finish;
mod near;
mod numbers;
mod possible;
mod reader;
mod results;
mod say;
mod takes;
mod things;
mod unknown;

use std::sync::Arc;

use near::Near;
use reader::{Farm, Reader};

use super::lexicon::{
    Lexicon, Line, NamedEntry, Vocabulary,
    declared::{declares_several, is_plural},
    kinds::kind_word,
};
use crate::{
    base::{
        diagnostic::Diagnostic,
        name::fold,
        span::{Loc, Span},
    },
    measure::{
        unit::System,
        value::{EntryId, Value},
    },
    model::{
        entry::{Entry, Filler, Standing},
        frame::{Frames, Need, Takes},
        journal::{Aside, Item, JournalFile, PieceKind, When},
    },
};

/// The entries of a journal, read.
#[derive(Debug, Clone, Default)]
pub struct Reading {
    /// Every entry that could be read, in the order of files and lines, numbered from 0.
    pub entries: Vec<Entry>,
    /// The words and names of the journal.
    pub lexicon: Lexicon,
    /// Which gallon and ton the farm means, where it says so.
    pub system: Option<System>,
    /// What could not be read, in the order of files and lines. The files' own diagnostics are not
    /// among these.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads every entry of these files. Entries under a heading that looks like a day and is none wait,
/// but their names are known.
pub fn read(files: &[JournalFile], frames: &Frames, words: impl Into<Arc<Vocabulary>>) -> Reading {
    let mut files: Vec<&JournalFile> = files.iter().collect();
    files.sort_by_key(|f| f.file);
    let framed =
        || files.iter().flat_map(|f| f.items.iter().filter_map(move |i| Some((*f, i, frames.get(&i.verb)?))));
    let lines: Vec<Line<'_>> = framed().map(|(file, item, _)| Line::of(file, item)).collect();
    let entries: Vec<NamedEntry<'_>> = framed()
        .zip(&lines)
        .map(|((_, item, frame), line)| (item, frame, line))
        // `beds look dry` is talk.
        .filter(|(item, _, line)| !is_plural(&item.written) || declares_several(line, &item.written))
        .collect();
    let lexicon = Lexicon::of(words.into(), &entries);
    let system = files.iter().find_map(|f| f.system).map(|(system, _)| system);
    let mut out = Reading { system, ..Reading::default() };
    let near = Near::default();
    let farm = Farm { lex: &lexicon, near: &near, frames, system };
    for (item, frame, line) in entries {
        if item.when == When::Waiting {
            continue;
        }
        let mut reader = Reader::new(farm, frame, item, line, days_of(item));
        if let Some(mut entry) = entry(&mut reader, 0) {
            entry.id = EntryId(u32::try_from(out.entries.len()).unwrap_or(u32::MAX));
            out.entries.push(entry);
        }
        reader.show_mended();
        out.diagnostics.append(&mut reader.said);
    }
    for file in files {
        asides(file, farm, &mut out.diagnostics);
    }
    out.diagnostics.sort_by_key(|d| d.primary.as_ref().map(|l| l.loc));
    out.lexicon = lexicon;
    out
}

fn days_of(item: &Item) -> Option<crate::measure::date::Days> {
    match item.when {
        When::On(days) => Some(days),
        When::Undated | When::Waiting => None,
    }
}

/// Reads one entry from piece `from` on; `None` if it is prose or a fault costs it.
fn entry(reader: &mut Reader<'_>, from: usize) -> Option<Entry> {
    let mut words = None;
    let groups = if bookkeeping::takes_rest(reader.frame) {
        let (group, after) = reader.rest()?;
        words = after;
        vec![group]
    } else if bookkeeping::corrects(reader.frame) {
        let farm = Farm { lex: reader.lex, near: reader.near, frames: reader.frames, system: reader.system };
        let day = reader.day;
        let mut said = Vec::new();
        let group = reader.correction(&mut |item, frame, line, at| {
            let mut inner = Reader::new(farm, frame, item, line, day);
            let read = entry(&mut inner, at);
            said.append(&mut inner.said);
            read
        });
        reader.said.append(&mut said);
        vec![group?]
    } else {
        words = clauses(reader, from);
        if is_prose(reader) {
            let fills = || reader.drafts.iter().flat_map(|d| &d.fills);
            // `fed hens with lot x`: no talk names a lot, so it is the hens that are not known.
            let named = fills().any(|f| f.sure && names_thing(&f.filler));
            let needed = |slot: &str| reader.frame.slot(slot).is_some_and(|s| s.need != Need::May);
            let unknown = fills().find(|f| named && !f.sure && needed(&f.slot));
            reader.said = vec![say::prose(reader, unknown)];
            return None;
        }
        let groups = reader.finish()?;
        for (from, to) in reader.unread.clone() {
            let said = say::unread(reader, from, to);
            reader.said.push(said);
        }
        groups
    };
    let item = reader.item;
    let clock = item.clock.or_else(|| {
        groups.iter().flat_map(|g| g.get("clock")).find_map(|f| match f.filler {
            Filler::Value(Value::Clock(minutes)) => Some(minutes),
            _ => None,
        })
    });
    let planned =
        item.ticked == Some(false) || item.plan_to || reader.condition.is_some() && item.ticked.is_none();
    let standing = if planned {
        Standing::Planned { only_if_clean: reader.condition.clone(), by_date_only: false }
    } else {
        Standing::Done
    };
    Some(Entry {
        id: EntryId(0),
        loc: item.loc,
        verb: reader.frame.verb.clone(),
        verb_loc: item.verb_loc,
        days: days_of(item),
        clock,
        standing,
        groups,
        words,
        ticked: item.ticked,
    })
}

/// Reads the clauses up to the colon that starts free words, and gives those words.
fn clauses(reader: &mut Reader<'_>, from: usize) -> Option<Arc<str>> {
    let end = reader.line.len();
    let colon = |from: usize| (from..end).find(|n| reader.line.kind(*n) == Some(&PieceKind::Colon));
    let first = colon(from);
    let second = first.and_then(|c| colon(c + 1));
    let has_results = reader
        .frame
        .slots
        .iter()
        .any(|s| s.takes.iter().any(|t| matches!(t, Takes::Reading | Takes::Heights)));
    reader.read(from, first.unwrap_or(end));
    let first = first?;
    let read_already = reader.drafts.iter().flat_map(|d| &d.fills).any(|f| say::is_result(&f.filler));
    if !has_results || read_already {
        return reader.words_from(first + 1).map(|(words, _)| words);
    }
    reader.read(first + 1, second.unwrap_or(end));
    reader.words_from(second? + 1).map(|(words, _)| words)
}

/// Whether a filler names a thing of the farm, a person aside.
fn names_thing(filler: &Filler) -> bool {
    match filler {
        Filler::Value(Value::Thing(t)) => *t.kind != *"person",
        Filler::Part(_) => true,
        _ => false,
    }
}

/// Whether an item is prose that happens to begin with an everyday verb: nothing in it can fill a
/// needed slot.
fn is_prose(reader: &Reader<'_>) -> bool {
    if !reader.frame.everyday && !reader.item.base_form {
        return false;
    }
    let needed: Vec<_> = reader.frame.slots.iter().filter(|s| s.need != Need::May).collect();
    // A person alone is in any talk; it counts only where a person is all that is needed.
    let who = |takes: &[Takes]| matches!(takes, [Takes::Thing(k)] if **k == *"WHO");
    let counting: Vec<_> = if needed.iter().any(|s| !who(&s.takes)) {
        needed.into_iter().filter(|s| !who(&s.takes)).collect()
    } else {
        needed
    };
    // An amount alone says nothing of what it is an amount of.
    let says = |filler: &Filler| match filler {
        Filler::Value(value) => matches!(value, Value::Thing(_) | Value::Word(_)),
        Filler::Part(_) | Filler::CountOf { .. } | Filler::Flag => true,
        _ => false,
    };
    let known = reader
        .drafts
        .iter()
        .flat_map(|d| &d.fills)
        .any(|f| f.sure && says(&f.filler) && counting.iter().any(|s| s.name == f.slot));
    !known && !counting.is_empty()
}

/// List items whose first word is a slip for a verb, if something else in them is known. Of several
/// verbs the one whose clauses the rest fits is meant.
fn asides(file: &JournalFile, farm: Farm<'_>, said: &mut Vec<Diagnostic>) {
    for aside in file.asides.iter().filter(|a| matches!(a.when, When::On(_)) && !a.verbs.is_empty()) {
        let text = |loc: Loc| file.text.get(loc.span.range()).unwrap_or("");
        let base = aside.verbs.iter().find(|(_, base)| *base);
        let fit = aside
            .verbs
            .iter()
            .filter_map(|(verb, base)| Some((fits(aside, verb, *base, file, farm)?, verb)))
            .min_by_key(|(matters, _)| *matters);
        let best = fit.map(|(_, verb)| verb).or(aside.verbs.first().map(|(verb, _)| verb));
        let Some(verb) = base.map(|(verb, _)| verb).or(best) else { continue };
        let whole = base.is_none() && fit.is_some_and(|(matters, _)| matters == 0);
        let rest = Span::new(aside.first.span.end as usize, aside.loc.span.end as usize);
        let known = knows_anything(text(Loc::new(file.file, rest)), base.is_none(), farm.lex);
        if known || whole {
            said.push(say::misspelt_verb(aside.first, text(aside.first), verb, whole));
        }
    }
}

/// How much there would be to say of an item if it began with `verb`; `None` if it would be no entry.
fn fits(aside: &Aside, verb: &str, base: bool, file: &JournalFile, farm: Farm<'_>) -> Option<usize> {
    let frame = farm.frames.get(verb)?;
    let item = Item {
        loc: aside.loc,
        when: aside.when,
        heading: None,
        ticked: None,
        plan_to: false,
        clock: None,
        verb: frame.verb.clone(),
        written: verb.into(),
        base_form: base,
        verb_loc: aside.first,
        pieces: aside.pieces.clone(),
        remarks: Vec::new(),
    };
    if is_plural(verb) {
        return None;
    }
    let line = Line::of(file, &item);
    let mut reader = Reader::new(farm, frame, &item, &line, days_of(&item));
    entry(&mut reader, 0)?;
    // A verb that can stand alone, or takes any words, fits any line.
    let alone = bookkeeping::takes_rest(frame) || item.pieces.is_empty();
    Some(reader.said.len() + usize::from(alone))
}

/// Whether a known lot, place or test stands in a stretch of prose; with `slip`, a word of the tables or
/// a kind word will do.
fn knows_anything(text: &str, slip: bool, lexicon: &Lexicon) -> bool {
    let words: Vec<&str> =
        text.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | ':' | '.')).collect();
    words.iter().enumerate().any(|(n, word)| {
        let two = words.get(n + 1).map(|next| format!("{word} {next}"));
        [Some((*word).to_owned()), two].into_iter().flatten().filter(|w| !w.is_empty()).any(|w| {
            lexicon.names.whole(&w, |k| k != "person" && k != "animals").is_some()
                || slip && lexicon.words.whole(&w, &["crop", "substance", "material"]).is_some()
                || slip && kind_word(&fold(&w)).is_some()
        })
    })
}
