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
mod reader;
mod results;
mod say;
mod takes;
mod things;
mod unknown;

use std::sync::Arc;

use near::Near;
use reader::{Farm, Reader};

use super::lexicon::{Lexicon, Line, NamedEntry, Vocabulary, kinds::kind_word};
use crate::{
    base::{
        diagnostic::Diagnostic,
        name::{fold, nearest},
        span::{Loc, Span},
    },
    measure::{
        unit::System,
        value::{EntryId, Value},
    },
    model::{
        entry::{Entry, Filler, Standing},
        frame::{Frames, Need, Takes},
        journal::{Item, JournalFile, PieceKind, When},
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
    let entries: Vec<NamedEntry<'_>> =
        framed().zip(&lines).map(|((_, item, frame), line)| (item, frame, line)).collect();
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
        out.diagnostics.append(&mut reader.said);
    }
    for file in files {
        asides(file, frames, &lexicon, &mut out.diagnostics);
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
            reader.said = vec![say::prose(reader)];
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

/// List items whose first word is a slip for a verb, if something else in them is known.
fn asides(file: &JournalFile, frames: &Frames, lexicon: &Lexicon, said: &mut Vec<Diagnostic>) {
    let verbs = frames.verbs();
    for aside in file.asides.iter().filter(|a| matches!(a.when, When::On(_))) {
        let text = |loc: Loc| file.text.get(loc.span.range()).unwrap_or("");
        let written = text(aside.first);
        let folded = fold(written);
        let Some(initial) = folded.chars().next().filter(|_| folded.chars().count() >= 4) else { continue };
        // An opening that is prose although it begins with a verb (`gave up`).
        if frames.get(&folded).is_some() {
            continue;
        }
        let alike = verbs.iter().copied().filter(|v| {
            v.starts_with(initial)
                && !v.contains(' ')
                && v.chars().count().abs_diff(folded.chars().count()) <= 2
        });
        let base = frames.begins(&folded, true).map(|(frame, _)| frame.verb.to_string());
        let stem = verbs.iter().filter(|v| v.len() >= 4 && folded.starts_with(**v)).max_by_key(|v| v.len());
        let near = stem.copied().or_else(|| nearest(&folded, alike)).map(str::to_owned);
        let slip = base.is_none();
        let Some(verb) = base.or(near) else { continue };
        let rest = Span::new(aside.first.span.end as usize, aside.loc.span.end as usize);
        if knows_anything(text(Loc::new(file.file, rest)), slip, lexicon) {
            said.push(say::misspelt_verb(aside.first, written, &verb));
        }
    }
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
