//! Reads the entries of a journal: which slot of its frame each clause fills.
//!
//! Comes in: journal files in pieces, the frames, and the vocabulary of the program's tables. Goes
//! out: entries, and what did not read, one diagnostic for one matter. Whether
//! an entry is done, meant or withdrawn, and what follows from it, is for the diary.

mod bookkeeping;
mod choices;
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
mod told;
mod unknown;

use std::{cell::OnceCell, collections::BTreeMap, sync::Arc};

use near::Near;
use reader::{Farm, Fill, Reader};

use super::lexicon::{
    Asked, Given, Known, Lexicon, Line, NamedEntry, NamedFile, Names, Vocabulary,
    declared::{declares_several, is_plural},
    kinds::{PLACES, kind_word},
};
use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        name::fold,
        span::{FileId, Loc, Span},
    },
    measure::{
        unit::System,
        value::{EntryId, Value},
    },
    model::{
        entry::{Entry, Filler, Standing},
        frame::{Everyday, Frame, FrameKind, Frames, Lead, Need, Slot, Takes},
        journal::{Aside, Item, JournalFile, PieceKind, When},
    },
};

/// The entries of a journal, read.
#[derive(Debug, Clone, Default)]
pub struct Reading {
    /// Every entry that could be read, by the files in order, in the order of lines. Their numbers are the
    /// diary's to give.
    pub files: Vec<(FileId, Arc<[Entry]>)>,
    /// Which gallon and ton the farm means, where it says so.
    pub system: Option<System>,
    /// What could not be read, in the order of files and lines. The files' own diagnostics are not
    /// among these.
    pub diagnostics: Vec<Diagnostic>,
}

impl Reading {
    /// Every entry that could be read, in the order of files and lines.
    pub fn entries(&self) -> Vec<Entry> {
        self.files.iter().flat_map(|(_, entries)| entries.iter().cloned()).collect()
    }
}

/// Reads every entry of these files. Entries under a heading that looks like a day and is none wait,
/// but their names are known.
pub fn read(files: &[JournalFile], frames: &Frames, words: impl Into<Arc<Vocabulary>>) -> Reading {
    Kept::default().read(files, frames, words)
}

/// What was read last time, file by file: a file whose text is the same, and of whose names none changed,
/// reads as it did. Holds for one frame table and one vocabulary.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    files: BTreeMap<FileId, FileRead>,
    system: Option<System>,
}

/// One file as it was read.
#[derive(Debug, Clone)]
struct FileRead {
    text: Arc<str>,
    given: Given,
    /// What its entries asked of the names.
    asked: Arc<Asked>,
    entries: Arc<[Entry]>,
    said: Arc<[Diagnostic]>,
    said_of_asides: Arc<[Diagnostic]>,
}

impl Kept {
    /// As [`read`].
    pub fn read(
        &mut self,
        files: &[JournalFile],
        frames: &Frames,
        words: impl Into<Arc<Vocabulary>>,
    ) -> Reading {
        let mut files: Vec<&JournalFile> = files.iter().collect();
        files.sort_by_key(|f| f.file);
        let mut gone = std::mem::take(&mut self.files);
        let before: Vec<Option<FileRead>> = files.iter().map(|f| gone.remove(&f.file)).collect();
        // Entries in pieces, made only for files that are read anew.
        let lines: Vec<OnceCell<Vec<_>>> = files.iter().map(|_| OnceCell::new()).collect();
        let entries: Vec<OnceCell<Vec<NamedEntry<'_>>>> = files.iter().map(|_| OnceCell::new()).collect();
        let named: Vec<_> = files
            .iter()
            .zip(&before)
            .zip(lines.iter().zip(&entries))
            .map(|((file, before), (lines, entries))| NamedFile {
                before: before.as_ref().map(|b| (&b.given, b.text == file.text)),
                entries: || {
                    let framed = lines.get_or_init(|| framed(file, frames));
                    entries.get_or_init(|| named_entries(framed)).as_slice()
                },
            })
            .collect();
        let gone: Vec<&Given> = gone.values().map(|f| &f.given).collect();
        let (names, given, changes) = Names::of(&named, &gone);
        let lexicon = Lexicon { words: words.into(), names };
        let system = files.iter().find_map(|f| f.system).map(|(system, _)| system);
        let near = Near::default();
        let farm = Farm { lex: &lexicon, near: &near, frames, system };
        let mut out = Reading { system, ..Reading::default() };
        for (((file, before), named), given) in files.iter().zip(&before).zip(&named).zip(given) {
            let stands =
                |b: &&FileRead| b.text == file.text && self.system == system && !changes.touch(&b.asked);
            let read = match before.as_ref().filter(stands) {
                Some(before) => FileRead { given, ..before.clone() },
                None => file_read(file, (named.entries)(), farm, given),
            };
            out.files.push((file.file, Arc::clone(&read.entries)));
            self.files.insert(file.file, read);
        }
        self.system = system;
        let of_entries = self.files.values().flat_map(|f| f.said.iter());
        let of_asides = self.files.values().flat_map(|f| f.said_of_asides.iter());
        out.diagnostics.extend(of_entries.chain(of_asides).cloned());
        out.diagnostics.sort_by_key(|d| d.primary.as_ref().map(|l| l.loc));
        out
    }
}

/// The items of a file that begin with a verb of the frame table.
fn framed<'a>(file: &'a JournalFile, frames: &'a Frames) -> Vec<(&'a Item, &'a Frame, Line<'a>)> {
    let framed = file.items.iter().filter_map(|item| Some((item, frames.get(&item.verb)?)));
    framed.map(|(item, frame)| (item, frame, Line::of(file, item))).collect()
}

/// Those of them that are entries: `beds look dry` is talk.
fn named_entries<'a>(framed: &'a [(&'a Item, &'a Frame, Line<'a>)]) -> Vec<NamedEntry<'a>> {
    let entries = framed.iter().map(|(item, frame, line)| (*item, *frame, line));
    entries
        .filter(|(item, _, line)| !is_plural(&item.written) || declares_several(line, &item.written))
        .collect()
}

/// Reads one file.
fn file_read(file: &JournalFile, named: &[NamedEntry<'_>], farm: Farm<'_>, given: Given) -> FileRead {
    let (mut entries, mut said, mut of_asides) = (Vec::new(), Vec::new(), Vec::new());
    farm.lex.names.asked();
    for (item, frame, line) in named {
        if item.when == When::Waiting {
            continue;
        }
        let mut reader = Reader::new(farm, frame, item, line, days_of(item));
        entries.extend(entry(&mut reader, 0));
        reader.show_mended();
        said.append(&mut reader.said);
    }
    asides(file, farm, &mut of_asides);
    FileRead {
        text: Arc::clone(&file.text),
        given,
        asked: Arc::new(farm.lex.names.asked()),
        entries: entries.into(),
        said: said.into(),
        said_of_asides: of_asides.into(),
    }
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
            reader.said = prose(reader).into_iter().collect();
            return None;
        }
        let Some(groups) = reader.finish() else {
            // What it would have begun is looked for elsewhere, where the reason is not seen.
            let fills = reader.drafts.iter().flat_map(|d| &d.fills).map(|f| (&*f.slot, &f.filler));
            let begun = choices::begun(reader.frame, fills);
            for said in reader.said.iter_mut().filter(|d| d.severity == Severity::Error) {
                said.begins.clone_from(&begun);
            }
            return None;
        };
        for (from, to) in reader.unread.clone() {
            let said = told::unread(reader, from, to);
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
        groups: Arc::new(groups),
        words,
        ticked: item.ticked,
    })
}

/// What is said of an item that begins with a verb and is prose all the same.
fn prose(reader: &Reader<'_>) -> Option<Diagnostic> {
    if covers(reader) {
        return None;
    }
    if let Some(said) = told::prose_leadless(reader) {
        return Some(said);
    }
    let fills = || reader.drafts.iter().flat_map(|d| &d.fills);
    if let Some(said) = fills().filter(|f| !f.sure).find_map(|f| told::lead_unknown(reader, f)) {
        return Some(said);
    }
    // `fed hens with lot x`: no talk names a lot, so it is the hens that are not known.
    let named = fills().any(|f| f.sure && names_thing(&f.filler));
    let thing = |slot: &str| {
        let slot = reader.frame.slot(slot).filter(|s| s.need != Need::May);
        slot.is_some_and(|s| s.takes.iter().any(|t| matches!(t, Takes::Thing(_))))
    };
    if let Some(unknown) = fills().find(|f| named && !f.sure && thing(&f.slot)) {
        return Some(told::prose(reader, Some(unknown)));
    }
    if let Some(said) = told::pots_filled(reader.line, reader.lex, reader.frames, reader.item.verb_loc) {
        return Some(said);
    }
    match known_name(reader.line, reader.lex, 0, reader.line.len()) {
        Some(known) => Some(told::counts_for_nothing(reader, known, meant(reader))),
        None if reader.item.spoken || matches!(reader.frame.everyday, Everyday::Words(_)) => None,
        None => Some(told::prose(reader, None)),
    }
}

/// The one verb whose entry the clauses after this item's own verb would be, whole.
fn meant(reader: &Reader<'_>) -> Option<Arc<str>> {
    let farm = Farm { lex: reader.lex, near: reader.near, frames: reader.frames, system: reader.system };
    let plain =
        |f: &&Frame| f.kind == FrameKind::Event && !f.everyday.holds(&f.verb) && !bookkeeping::takes_rest(f);
    let mut fit = reader.frames.frames.iter().filter(plain).filter(|frame| {
        let written = frame.verb.clone();
        let item =
            Item { verb: written.clone(), written, spoken: false, base_form: false, ..reader.item.clone() };
        reads_whole(&mut Reader::new(farm, frame, &item, reader.line, reader.day))
    });
    match (fit.next(), fit.next()) {
        (Some(frame), None) => Some(frame.verb.clone()),
        _ => None,
    }
}

/// Whether everything in a line is known and fills a slot, and nothing is missing.
fn reads_whole(reader: &mut Reader<'_>) -> bool {
    clauses(reader, 0);
    let sure = reader.drafts.iter().flat_map(|d| &d.fills).all(|f| f.sure);
    sure && reader.unread.is_empty() && reader.finish().is_some() && reader.said.is_empty()
}

/// A lot, batch, test or place of the farm that is named in a stretch, surely enough that it is no talk: after its
/// kind word, or by a name with a figure in it.
pub(super) fn known_name(line: &Line<'_>, lex: &Lexicon, from: usize, until: usize) -> Option<Loc> {
    let kind = |k: &str| matches!(k, "lot" | "heap" | "batch" | "test" | "bed" | "path" | "field");
    (from..until).find_map(|n| {
        let (known, next) = lex.name_at(line, n, until, kind).filter(|(k, _)| k.began.is_some())?;
        let said = n > from && line.marks(n - 1).kind.is_some_and(|(k, _)| *k == *known.thing.kind);
        let figure = known.thing.name.chars().any(|c| c.is_ascii_digit())
            && known.thing.name.chars().any(char::is_alphabetic);
        (said || figure).then(|| line.loc(if said { n - 1 } else { n }, next))
    })
}

/// Reads the clauses up to the colon that starts free words, and gives those words.
fn clauses(reader: &mut Reader<'_>, from: usize) -> Option<Arc<str>> {
    let end = reader.line.len();
    let colon = |from: usize| (from..end).find(|n| reader.line.kind(*n) == Some(&PieceKind::Colon));
    let first = colon(from);
    let second = first.and_then(|c| colon(c + 1));
    let has_results =
        reader.frame.slots.iter().any(|s| {
            s.takes.iter().any(|t| matches!(t, Takes::Reading | Takes::NamedReading | Takes::Heights))
        });
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
    let item = reader.item;
    if !reader.frame.everyday.holds(&item.written) && !item.base_form && !item.spoken {
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
        Filler::Part(_) | Filler::CountOf { .. } | Filler::OfAll { .. } | Filler::Flag => true,
        Filler::Reading { .. } => true,
        _ => false,
    };
    let fills = || reader.drafts.iter().flat_map(|d| &d.fills);
    // `took 2 in off north-1`: where an amount is enough, it is with a place of the farm.
    let enough = |f: &Fill| {
        let amount = matches!(f.filler, Filler::Value(Value::Quantity(_)) | Filler::Containers { .. });
        says(&f.filler) || amount && fills().any(|f| f.sure && names_thing(&f.filler))
    };
    let known = fills().any(|f| f.sure && enough(f) && counting.iter().any(|s| s.name == f.slot));
    !counting.is_empty() && (!known || covers(reader))
}

/// `took the fleece off north-1`: what is taken or put is a cover, no stuff that is followed.
fn covers(reader: &Reader<'_>) -> bool {
    let fills = reader.drafts.iter().flat_map(|d| &d.fills);
    fills.filter(|f| !f.sure).any(|f| {
        let written = match &f.filler {
            Filler::Value(Value::Thing(thing)) if *thing.kind == *"lot" => &thing.name,
            Filler::Value(Value::Word(word)) => word,
            _ => return false,
        };
        let last = written.rsplit(' ').next().unwrap_or("");
        let word = |text: &str| reader.lex.words.whole(text, &["cover"]).is_some();
        word(written) || word(last)
    })
}

/// List items that begin with no verb: a slip for one, if something else in them is known, and those that name a
/// lot or a place of the farm. Of several verbs the one whose clauses the rest fits is meant.
fn asides(file: &JournalFile, farm: Farm<'_>, said: &mut Vec<Diagnostic>) {
    for aside in file.asides.iter().filter(|a| matches!(a.when, When::On(_))) {
        said.extend(misspelt(aside, file, farm).or_else(|| unentered(aside, file, farm)));
    }
}

fn misspelt(aside: &Aside, file: &JournalFile, farm: Farm<'_>) -> Option<Diagnostic> {
    let text = |loc: Loc| file.text.get(loc.span.range()).unwrap_or("");
    let base = aside.verbs.iter().find(|(_, base)| *base);
    let fit = aside
        .verbs
        .iter()
        .filter_map(|(verb, base)| Some((fits(aside, verb, *base, file, farm)?, verb)))
        .min_by_key(|((matters, _), _)| *matters);
    let best = fit.as_ref().map(|(_, verb)| *verb).or(aside.verbs.first().map(|(verb, _)| verb));
    let verb = base.map(|(verb, _)| verb).or(best)?;
    let whole = base.is_none() && fit.as_ref().is_some_and(|((matters, _), _)| *matters == 0);
    let begun = fit.filter(|_| whole).map(|((_, begun), _)| begun).unwrap_or_default();
    let rest = Span::new(aside.first.span.end as usize, aside.loc.span.end as usize);
    let known = knows_anything(text(Loc::new(file.file, rest)), base.is_none(), farm.lex);
    (known || whole).then(|| {
        let said = told::misspelt_verb(aside.first, text(aside.first), verb, whole);
        Diagnostic { begins: begun, ..said }
    })
}

/// An item that names a lot of the farm, or begins one, and is no entry.
fn unentered(aside: &Aside, file: &JournalFile, farm: Farm<'_>) -> Option<Diagnostic> {
    let item = said_as(aside, farm.frames.frames.first()?, false);
    let line = Line::of(file, &item);
    let lot = (0..line.len()).find_map(|n| {
        let (kind, _) = line.marks(n).kind?;
        let named =
            farm.lex.name_at(&line, n + 1, line.len(), |k| k == kind).filter(|(k, _)| k.began.is_some());
        let (_, next) = named.filter(|_| kind == "lot")?;
        Some(line.loc(n, next))
    });
    let begins = || {
        let n = (0..line.len()).find(|n| line.are(*n, "as lot").is_some() && *n + 2 < line.len())?;
        Some(line.loc(n + 1, line.name_end(n + 2, line.len(), true)?))
    };
    let Some(named) = lot.or_else(|| known_lot(&line, farm.lex)).or_else(begins) else {
        return seen(aside, file, farm, &line);
    };
    // The verb may stand further on: after a day, a remark in brackets, a word and a colon.
    let text = file.text.get(aside.loc.span.range())?;
    let verb = (0..line.len()).find_map(|n| {
        let (frame, _) = farm.frames.begins(line.word(n), false)?;
        let at = line.loc(n, n + 1).span.start;
        (!frame.everyday.holds(line.word(n)) && frame.kind == FrameKind::Event).then_some((n, at))
    });
    let handed = handed_over(&line, farm, named, text, aside.loc.span.start);
    let tail = handed.or_else(|| lab_found(&line, farm, named)).or_else(|| {
        verb.and_then(|(n, at)| {
            let from = (at - aside.loc.span.start) as usize;
            // `if test t1 is clean spread …`: the condition stands after the entry.
            let condition = if n > 0 && line.is(0, "if") { text.get(..from)? } else { "" };
            Some(format!("{} {condition}", text.get(from..)?))
        })
    });
    let day = match line.kind(0) {
        Some(PieceKind::Day(days)) => Some(days.first),
        _ => None,
    };
    Some(told::no_entry(file, named, aside.first, tail, day))
}

/// Words by which somebody is said to have got something.
const GOT: [&str; 5] = ["had", "took", "got", "has", "borrowed"];

/// `Dai took 3 barrows of lot tern-26`: the line as the giver says it.
fn handed_over(line: &Line<'_>, farm: Farm<'_>, named: Loc, text: &str, start: u32) -> Option<String> {
    let got = (1..line.len().min(4)).find(|n| GOT.contains(&line.word(*n)))?;
    let who = (0..got).all(|n| line.capital(n) || line.marks(n).determiner).then(|| line.slice(0, got))?;
    let to =
        |s: &Slot| s.need == Need::Must && &*s.name == "who" && s.leads.contains(&Lead::Word("to".into()));
    let gives = |f: &&Frame| f.kind == FrameKind::Event && f.slots.iter().any(to);
    let frame = farm.frames.frames.iter().find(gives)?;
    let from = line.loc(got + 1, got + 2).span.start.checked_sub(start)? as usize;
    let until = named.span.end.checked_sub(start)? as usize;
    let (given, rest) = (text.get(from..until)?, text.get(until..)?);
    Some(format!("{} {given} to {who}{rest}", frame.verb))
}

/// `tomatoes in north-1 all twisted`: a sign in a known place, all of it read, with no verb before it; or what is less
/// surely meant as an entry, yet speaks of hurt plants or of the pots of a test.
fn seen(aside: &Aside, file: &JournalFile, farm: Farm<'_>, line: &Line<'_>) -> Option<Diagnostic> {
    let sign = |f: &&Frame| {
        f.slots.iter().any(|s| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"sign")))
    };
    let frame = farm.frames.frames.iter().find(sign)?;
    let item = said_as(aside, frame, false);
    let mut reader = Reader::new(farm, frame, &item, line, days_of(&item));
    let words = file.text.get(aside.loc.span.range())?;
    match known_name(line, farm.lex, 0, line.len()) {
        Some(named) if reads_whole(&mut reader) => {
            Some(told::no_entry(file, named, aside.first, Some(format!("{} {words}", frame.verb)), None))
        }
        Some(named) if let Some(right) = result(aside, file, farm, line, named) => {
            Some(told::no_entry(file, named, aside.first, Some(right), None))
        }
        _ => taken_off(aside, file, farm, line)
            .or_else(|| pots_seen(aside, farm, line))
            .or_else(|| hurt_seen(aside, farm, frame, line))
            .or_else(|| told::pots_filled(line, farm.lex, farm.frames, aside.first))
            .or_else(|| spraying_seen(aside, farm, line)),
    }
}

/// `test t1 all hurt`, `lab result clear north-1`: the line that keeps what a test or a laboratory came to.
fn result(aside: &Aside, file: &JournalFile, farm: Farm<'_>, line: &Line<'_>, named: Loc) -> Option<String> {
    let reads = |f: &&Frame| f.slots.iter().any(|s| s.takes.contains(&Takes::WholeCount));
    let tested = line.marks(0).kind.is_some_and(|(kind, _)| kind == "test");
    let Some(frame) = farm.frames.frames.iter().find(reads).filter(|_| tested) else {
        return lab_found(line, farm, named);
    };
    let item = said_as(aside, frame, false);
    let words = file.text.get(aside.loc.span.range())?;
    reads_whole(&mut Reader::new(farm, frame, &item, line, days_of(&item)))
        .then(|| format!("{} {words}", frame.verb))
}

/// `lab result clear north-1`: what a laboratory found, with a gap for what is not said.
fn lab_found(line: &Line<'_>, farm: Farm<'_>, named: Loc) -> Option<String> {
    let frame =
        farm.frames.frames.iter().find(|f| f.slots.iter().any(|s| s.takes.contains(&Takes::Level)))?;
    let end = line.len();
    frame.verb.split(' ').next().filter(|lab| line.is(0, lab))?;
    let none = (0..end).any(|n| line.denies(n) || matches!(line.word(n), "clean" | "nil"));
    let told = (0..end).any(|n| matches!(line.word(n), "result" | "results" | "report"));
    (none || told).then_some(())?;
    let what = (0..end).find_map(|n| farm.lex.word_at(line, n, end, &["substance"]));
    let what = what.map_or("\u{2026}".to_owned(), |(what, _)| what.to_string());
    let level = if none { "no" } else { "\u{2026} ppb" };
    let of = line.text.get(named.span.range())?;
    Some(format!("{} {level} {what} in {of}, limit \u{2026} ppb", frame.verb))
}

/// `top 2 in off north-1`: what is taken off a place, all of it read, with no verb before it.
fn taken_off(aside: &Aside, file: &JournalFile, farm: Farm<'_>, line: &Line<'_>) -> Option<Diagnostic> {
    let frame = farm.frames.frames.iter().find(|f| !f.apart.is_empty() && f.has_lead("off"))?;
    let named = known_name(line, farm.lex, 0, line.len())?;
    (0..line.len()).find(|n| line.is(*n, "off"))?;
    let item = said_as(aside, frame, false);
    reads_whole(&mut Reader::new(farm, frame, &item, line, days_of(&item))).then_some(())?;
    let words = file.text.get(aside.loc.span.range())?;
    Some(told::no_entry(file, named, aside.first, Some(format!("{} {words}", frame.verb)), None))
}

/// `bean test: 2 pots bad, 3 ok`: a crop that is tested, and pots.
fn pots_seen(aside: &Aside, farm: Farm<'_>, line: &Line<'_>) -> Option<Diagnostic> {
    let pots = (0..line.len()).any(|n| matches!(line.word(n), "pot" | "pots"));
    let tested = (0..line.len()).any(|n| {
        let crop = farm.lex.word_at(line, n, line.len(), &["crop"]);
        crop.is_some_and(|(_, next)| matches!(line.word(next), "test" | "tests"))
    });
    let reads = |f: &&Frame| f.slots.iter().any(|s| s.takes.contains(&Takes::WholeCount));
    let frame = farm.frames.frames.iter().find(reads).filter(|_| pots && tested)?;
    Some(told::pots_seen(aside.first, frame))
}

/// `tomatoes twisted in b-1`: a crop and a sign, or a crop of a known place and a word that signs begin with.
fn hurt_seen(aside: &Aside, farm: Farm<'_>, frame: &Frame, line: &Line<'_>) -> Option<Diagnostic> {
    let (lex, end) = (farm.lex, line.len());
    let word = |kind: &str| (0..end).find_map(|n| Some((n, lex.word_at(line, n, end, &[kind])?)));
    let (at, (crop, after)) = word("crop")?;
    let place = (0..end).find_map(|n| {
        let (known, _) = lex.name_at(line, n, end, |k| PLACES.contains(&k))?;
        known.began.is_some().then(|| known.thing.name.clone())
    });
    let somewhere = place.is_some() || word("material").is_some();
    let (seen, signs) = match word("sign") {
        Some((n, (sign, next))) => (n..next, vec![sign.to_string()]),
        None if somewhere => (0..end)
            .filter(|n| !(at..after).contains(n) && !line.denies(*n))
            .map(|n| (n..n + 1, lex.words.beginning("sign", line.word(n))))
            // Of `look crinkled` the last tells what was seen.
            .rfind(|(_, signs)| !signs.is_empty())?,
        None => return None,
    };
    told::hurt_seen(aside.first, frame, &signs, denied(line, seen), &crop, place.as_deref())
}

/// Whether a line says of the sign at `seen` that it was not there; `None` if it denies something, maybe that sign.
fn denied(line: &Line<'_>, seen: std::ops::Range<usize>) -> Option<bool> {
    let end = line.len();
    let parts = |n: usize| matches!(line.kind(n), Some(PieceKind::Comma)) || line.is(n, "but");
    let gone = (seen.end..end).any(|n| line.is(n, "gone"));
    let Some(not) = (0..end).find(|n| !seen.contains(n) && line.denies(*n)) else {
        return (!gone).then_some(false);
    };
    let one = (not..seen.start).filter(|n| matches!(line.word(*n), "no" | "not" | "never")).count() < 2;
    let plain = not < seen.start && one && !gone && !(not..end).any(parts);
    plain.then_some(true)
}

/// `Cutler out with the sprayer on Long Ley`: somebody's spraying, and a place of the farm.
fn spraying_seen(aside: &Aside, farm: Farm<'_>, line: &Line<'_>) -> Option<Diagnostic> {
    let (frame, deed) = farm.frames.frames.iter().find_map(|frame| {
        let led = |s: &&Slot| s.takes.iter().any(|t| matches!(t, Takes::Word(k) if **k == *"substance"));
        let slot = frame.slots.iter().find(led).filter(|s| s.need == Need::Must)?;
        slot.leads.iter().find_map(|l| match l {
            Lead::Word(word) => Some((frame, word)),
            _ => None,
        })
    })?;
    let end = line.len();
    (0..end).find(|n| line.word(*n).starts_with(&**deed))?;
    let place = (0..end).find_map(|n| {
        let (known, _) = farm.lex.name_at(line, n, end, |k| PLACES.contains(&k))?;
        known.began.is_some().then(|| known.thing.name.clone())
    })?;
    Some(told::spraying_seen(aside.first, frame, deed, &place))
}

fn known_lot(line: &Line<'_>, lex: &Lexicon) -> Option<Loc> {
    let figure = |k: &Known| {
        let name = &k.thing.name;
        name.chars().any(|c| c.is_ascii_digit()) && name.chars().any(char::is_alphabetic)
    };
    (0..line.len()).find_map(|n| {
        let (known, next) = lex.name_at(line, n, line.len(), |k| k == "lot")?;
        (known.began.is_some() && figure(known)).then(|| line.loc(n, next))
    })
}

/// An item as it would be if it began with the verb of `frame`.
fn said_as(aside: &Aside, frame: &Frame, base: bool) -> Item {
    Item {
        loc: aside.loc,
        when: aside.when,
        heading: None,
        ticked: None,
        plan_to: false,
        clock: None,
        verb: frame.verb.clone(),
        written: frame.verb.clone(),
        base_form: base,
        spoken: false,
        verb_loc: aside.first,
        pieces: aside.pieces.clone(),
        remarks: Vec::new(),
    }
}

/// How much there would be to say of an item if it began with `verb`, and what it would begin; `None` if it would be no
/// entry.
fn fits(
    aside: &Aside,
    verb: &str,
    base: bool,
    file: &JournalFile,
    farm: Farm<'_>,
) -> Option<(usize, Vec<String>)> {
    let frame = farm.frames.get(verb)?;
    let item = Item { written: verb.into(), ..said_as(aside, frame, base) };
    if is_plural(verb) {
        return None;
    }
    let line = Line::of(file, &item);
    let mut reader = Reader::new(farm, frame, &item, &line, days_of(&item));
    let entry = entry(&mut reader, 0)?;
    // A verb that can stand alone, or takes any words, fits any line.
    let alone = bookkeeping::takes_rest(frame) || item.pieces.is_empty();
    let fills = entry.groups.iter().flat_map(|g| &g.slots).map(|f| (&*f.slot, &f.filler));
    Some((reader.said.len() + usize::from(alone), choices::begun(frame, fills)))
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
