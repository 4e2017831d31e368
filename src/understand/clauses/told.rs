//! What is said of lines that are no entry, and of what no clause of one takes.
//!
//! Comes in: what was read of a line. Goes out: diagnostics, most of them with the grower's own line as it would be
//! read. It decides nothing about the line.

use std::sync::Arc;

use chrono::NaiveDate;

use super::{
    finish::missing,
    known_name,
    reader::{Fill, Reader},
    say::{listed, right_line, say},
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::{Loc, Span},
    },
    measure::date::weekday_name,
    model::{
        frame::{Frame, FrameKind, Frames, Lead, Need, Slot, Takes},
        journal::{JournalFile, PieceKind},
    },
    understand::lexicon::{Lexicon, Line, kinds::PLACES},
};

/// A stretch of an otherwise good entry that no clause takes.
pub fn unread(reader: &Reader<'_>, from: usize, to: usize) -> Diagnostic {
    let loc = reader.line.loc(from, to);
    let words = reader.written(loc);
    let place = reader.frame.kind == FrameKind::Place;
    let verb = if place { &reader.item.written } else { &reader.frame.verb };
    // A lot or bed that is not read is a link that is missing.
    let named = |n: usize| reader.line.marks(n).kind.is_some_and(|(kind, _)| kind == "lot");
    let lot = || {
        let n = (from..to).find(|n| named(*n) && *n + 1 < to)?;
        Some(reader.line.loc(n, reader.line.name_end(n + 1, to, true)?))
    };
    let link = known_name(reader.line, reader.lex, from, to).or_else(lot).filter(|_| !place);
    let rest = match link {
        Some(known) => {
            format!("so nothing follows for {}; the rest of the line is read", reader.written(known))
        }
        None => "the rest of the line is read".to_owned(),
    };
    let severity = if link.is_some() { Severity::Error } else { Severity::Warn };
    let mut out =
        say("unread-words", severity, format!("`{words}` says nothing that `{verb}` can hold; {rest}"))
            .at(loc, "not read");
    out = match link {
        Some(_) => out.remark(RemarkKind::Write, right_line(reader.frame)),
        None => out.remark(RemarkKind::Write, without(reader, from, loc)),
    };
    let comma = |n: usize| matches!(reader.line.kind(n), Some(PieceKind::Comma));
    if place && from > 0 && !comma(from - 1) {
        let name = reader.written(reader.line.loc(0, to));
        out = out.remark(RemarkKind::Note, format!("if it is part of the name: `- {verb} \"{name}\"`"));
    }
    let number = (from..to).find(|n| matches!(reader.line.kind(*n), Some(PieceKind::Number(_))));
    let named = number.and_then(|n| reader.lex.name_at(reader.line, n, to, |k| PLACES.contains(&k)));
    if let Some((known, _)) = named {
        let (kind, name) = (&known.thing.kind, &known.thing.name);
        out =
            out.remark(RemarkKind::Note, format!("a number alone is no name: the {kind} is `{kind} {name}`"));
    }
    if to == reader.line.len() && link.is_none() {
        // Free words go after a colon; a comma before them gives way to it.
        let gap = Loc::new(loc.file, Span { start: before(reader, from), end: loc.span.start });
        out = out.fix("put free words after a colon", gap, ": ");
    }
    out
}

/// Where what stands before a stretch ends, a comma or an `and` between them left out.
fn before(reader: &Reader<'_>, from: usize) -> u32 {
    let last = (0..from).rev().find(|n| !reader.line.joins(*n));
    last.map_or(reader.item.verb_loc.span.end, |n| reader.line.loc(n, n + 1).span.end)
}

/// The grower's own line without a stretch.
fn without(reader: &Reader<'_>, from: usize, loc: Loc) -> String {
    let whole = reader.item.loc.span;
    let cut = |span: std::ops::Range<usize>| reader.line.text.get(span).unwrap_or("");
    let left = cut(whole.start as usize..before(reader, from) as usize);
    let right = cut(loc.span.end as usize..whole.end as usize);
    // A dash before what is left out goes with it.
    let left = if right.trim().is_empty() {
        left.trim_end_matches([' ', '-', '\u{2013}', '\u{2014}', ':'])
    } else {
        left
    };
    let words = format!("{left}{right}");
    let mark = match reader.item.ticked {
        Some(true) => "[x] ",
        Some(false) => "[ ] ",
        None => "",
    };
    format!("- {mark}{}", words.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// `on Saturday`, `on 3 March`, `yesterday` inside an entry, which ends before piece `to`.
pub fn day_in_entry(reader: &Reader<'_>, at: usize, to: usize) -> Diagnostic {
    let loc = reader.line.loc(at, to);
    let written = reader.written(loc);
    let out = say(
        "day-inside-entry",
        Severity::Error,
        format!("`{written}`: the day of an entry is the heading it stands under"),
    )
    .at(loc, "which date?");
    let said =
        reader.days(if reader.line.is(at, "on") { at + 1 } else { at }, to).map(|(days, _)| days.first);
    let out = match reader.day {
        Some(day) => out.remark(
            RemarkKind::Next,
            format!(
                "this one stands under {} {}; move it under a heading with its own date, any place in the file will do",
                weekday_name(day.first),
                day.first
            ),
        ),
        None => out,
    };
    out.remark(
        RemarkKind::Write,
        format!("## {}", said.map_or("2026-03-14".to_owned(), |day| day.to_string())),
    )
    .remark(RemarkKind::Write, without(reader, at, loc))
}

/// An everyday verb with nothing known beside it; with `about`, a known thing beside a word that is not.
pub fn prose(reader: &Reader<'_>, about: Option<&Fill>) -> Diagnostic {
    let verb = &reader.item.written;
    let Some(unknown) = about else {
        let message = format!("Read as prose: nothing here can be what was `{verb}`");
        return say("read-as-prose", Severity::Hint, message)
            .at(reader.item.verb_loc, "not taken for an entry")
            .remark(RemarkKind::Write, right_line(reader.frame));
    };
    let written = reader.written(unknown.loc);
    let takes = |kind: &str| {
        let slot = reader.frame.slot(&unknown.slot);
        slot.is_some_and(|s| s.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *kind)))
    };
    let kind = [("animals", "animals"), ("WHO", "person"), ("heap", "heap"), ("PLACE", "bed")];
    let kind = kind.iter().find(|(takes_kind, _)| takes(takes_kind)).map_or("lot", |(_, kind)| kind);
    say(
        "read-as-prose",
        Severity::Warn,
        format!("Read as prose, so it counts for nothing: nothing tells what `{written}` is"),
    )
    .at(unknown.loc, "not known here")
    .remark(RemarkKind::Write, format!("- {kind} {written}"))
    .remark(RemarkKind::Note, "that line goes under The place; the entry is read once it stands there")
}

/// `pulled the old tomatoes`: something unknown whose last word is one that belongs there, and the grower's own line
/// without what stands before that word.
pub fn lead_unknown(reader: &Reader<'_>, unknown: &Fill) -> Option<Diagnostic> {
    let slot = reader.frame.slot(&unknown.slot).filter(|s| s.need != Need::May)?;
    let kinds: Vec<&str> = slot
        .takes
        .iter()
        .filter_map(|t| match t {
            Takes::Word(kind) => Some(&**kind),
            _ => None,
        })
        .collect();
    let (line, span) = (reader.line, unknown.loc.span);
    let known = (0..line.len()).find_map(|n| {
        let (_, next) = reader.lex.word_at(line, n, line.len(), &kinds)?;
        let word = line.loc(n, next).span;
        (span.start < word.start && word.end == span.end).then_some(word.start)
    })?;
    let whole = reader.item.loc.span;
    let cut = |from: u32, to: u32| line.text.get(from as usize..to as usize).unwrap_or("");
    let words = format!("{}{}", cut(whole.start, span.start), cut(known, whole.end));
    let line = format!("- {}", words.split_whitespace().collect::<Vec<_>>().join(" "));
    let written = reader.written(unknown.loc);
    let message = format!("Read as prose, so it counts for nothing: `{written}` is no word I know");
    Some(
        say("read-as-prose", Severity::Warn, message)
            .at(unknown.loc, "not known here")
            .remark(RemarkKind::Write, line),
    )
}

/// A place of the farm before which the word that leads to it is missing.
pub struct Leadless<'a> {
    /// The word.
    lead: &'a str,
    /// The place.
    named: Loc,
    /// The whole line with the word put in.
    pub line: String,
}

/// `saw Mr Price spray Long Ley`: a place that stands after a word of another clause that lacks its own, or where
/// nothing takes it. `None` unless the missing word is all that the entry lacks.
pub fn leadless<'a>(reader: &Reader<'a>, lacking: &[&'a Slot]) -> Option<Leadless<'a>> {
    let (line, end) = (reader.line, reader.line.len());
    let place = |s: &Slot| s.takes.iter().any(|t| matches!(t, Takes::Thing(k) if **k == *"PLACE"));
    let slot = lacking.iter().find(|s| place(s))?;
    let lead = slot.leads.iter().find_map(|l| match l {
        Lead::Word(w) => Some(&**w),
        _ => None,
    })?;
    let (at, next) = (1..end).find_map(|n| {
        let before = reader.leading(n - 1);
        if before.iter().any(|(b, _)| b.name == slot.name) {
            return None;
        }
        // `in north-1` of a verb that has no `in` is another matter.
        if before.is_empty() && line.leads_clause(n - 1) {
            return None;
        }
        let led = |s: &Slot| s.name == slot.name || before.iter().any(|(b, _)| b.name == s.name);
        let loose = lacking.len() == 1 && reader.unread.iter().any(|(from, to)| (*from..*to).contains(&n));
        if !loose && (before.is_empty() || !lacking.iter().all(|s| led(s))) {
            return None;
        }
        let known = line.past_determiners(n, end);
        let (known, next) = reader.lex.name_at(line, known, end, |k| PLACES.contains(&k))?;
        known.began.is_some().then_some((n, next))
    })?;
    let named = line.loc(at, next);
    let whole = reader.item.loc.span;
    let cut = |from: u32, to: u32| line.text.get(from as usize..to as usize).unwrap_or("");
    let (front, back) = (cut(whole.start, named.span.start), cut(named.span.start, whole.end));
    let mended = format!("{front} {lead} {back}");
    let line = format!("- {}", mended.split_whitespace().collect::<Vec<_>>().join(" "));
    Some(Leadless { lead, named, line })
}

/// As [`leadless`], of a line that is no entry without that word.
pub fn prose_leadless(reader: &Reader<'_>) -> Option<Diagnostic> {
    let lacking = missing(reader.frame, reader.drafts.last()?);
    let Leadless { lead, named, line } = leadless(reader, &lacking)?;
    let gap = Loc::new(named.file, Span { end: named.span.start, ..named.span });
    let written = reader.written(named);
    let message = format!("Read as prose, so it counts for nothing: `{lead}` is missing before {written}");
    Some(
        say("read-as-prose", Severity::Warn, message)
            .at(named, format!("`{lead} {written}`?"))
            .remark(RemarkKind::Write, line)
            .fix(format!("put {lead} before it"), gap, format!("{lead} ")),
    )
}

/// An item that begins with an everyday verb, names a thing of the farm, and holds nothing that the verb needs.
pub fn counts_for_nothing(reader: &Reader<'_>, known: Loc, meant: Option<Arc<str>>) -> Diagnostic {
    let verb = &reader.item.written;
    let message = format!(
        "Read as prose, so it counts for nothing: it names {}, but nothing here can be what was `{verb}`",
        reader.written(known)
    );
    let out =
        say("read-as-prose", Severity::Warn, message).at(reader.item.verb_loc, "not taken for an entry");
    match meant {
        Some(verb) => out.fix(format!("write {verb}"), reader.item.verb_loc, &*verb).remark(
            RemarkKind::Write,
            format!("- {verb} {}", reader.written(reader.line.loc(0, reader.line.len()))),
        ),
        None => out.remark(RemarkKind::Write, right_line(reader.frame)),
    }
}

/// An item that begins with no verb and names a lot. `tail` is the entry that stands further on in it, `day` the day
/// it begins with.
pub fn no_entry(
    file: &JournalFile,
    named: Loc,
    first: Loc,
    tail: Option<String>,
    day: Option<NaiveDate>,
) -> Diagnostic {
    let written = file.text.get(named.span.range()).unwrap_or("");
    let squeezed = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let message =
        format!("This names {} and begins with no verb, so it counts for nothing", squeezed(written));
    let mut out = say("read-as-prose", Severity::Warn, message).at(first, "no verb");
    if let Some(day) = day {
        out = out.remark(RemarkKind::Write, format!("## {day}"));
    }
    match tail {
        Some(tail) => out.remark(RemarkKind::Write, format!("- {}", squeezed(&tail))).remark(
            RemarkKind::Note,
            "an entry begins with its verb, and its day is the heading it stands under, any place in the file",
        ),
        None => out.remark(RemarkKind::Note, "an entry begins with its verb; `note:` before it keeps it as words"),
    }
}

/// A first word that is nearly a verb; `whole` if all the rest reads as an entry of that verb.
pub fn misspelt_verb(first: Loc, written: &str, verb: &str, whole: bool) -> Diagnostic {
    let out = if whole {
        let message =
            format!("`{written}` is no verb, so this line counts for nothing: did you mean `{verb}`?");
        say("misspelt-verb", Severity::Warn, message)
    } else {
        let message = format!("Read as prose. If it is an entry: did you mean `{verb}`?");
        say("misspelt-verb", Severity::Hint, message)
    };
    out.at(first, format!("`{written}` is no verb")).fix(format!("write {verb}"), first, verb)
}

/// The pots of a test are spoken of with no verb.
pub fn pots_seen(first: Loc, frame: &Frame) -> Diagnostic {
    let message = "This speaks of the pots of a test and begins with no verb, so it counts for nothing";
    let right = format!(
        "- {} test \u{2026}: \u{2026} of \u{2026} pots hurt; control \u{2026} of \u{2026} pots hurt",
        frame.verb
    );
    say("read-as-prose", Severity::Hint, message).at(first, "no verb").remark(RemarkKind::Write, right)
}

/// `put 4 runner beans in pots of the new compost`: pots of some stuff, and a crop, where nothing says that they are a
/// test. How far behind `pots of` the stuff may stand is [`NEAR`].
pub fn pots_filled(line: &Line<'_>, lex: &Lexicon, frames: &Frames, first: Loc) -> Option<Diagnostic> {
    let end = line.len();
    let at = (1..end).find(|n| line.is(*n, "of") && matches!(line.word(n - 1), "pot" | "pots"))?;
    let word =
        |from: usize, to: usize, kind: &str| (from..to).find_map(|n| lex.word_at(line, n, end, &[kind]));
    let near = at + 1..end.min(at + 1 + NEAR);
    let lot = near.clone().find_map(|n| {
        let (known, _) = lex.name_at(line, n, end, |k| k == "lot").filter(|(k, _)| k.began.is_some())?;
        Some(format!("lot {}", known.thing.name))
    });
    let severity = if lot.is_some() { Severity::Warn } else { Severity::Hint };
    let stuff = lot.or_else(|| Some(word(near.start, near.end, "material")?.0.to_string()))?;
    let (crop, _) = word(0, at, "crop").or_else(|| word(at, end, "crop"))?;
    let frame = frames.frames.iter().find(|f| f.slots.iter().any(|s| s.takes.contains(&Takes::Pots)))?;
    let message =
        format!("This speaks of {crop} in pots of {stuff} and is read as prose, so it counts for nothing");
    let right =
        format!("- {} \u{2026} pots of {crop} in {stuff} as test \u{2026}, \u{2026} seeds each", frame.verb);
    let note = format!(
        "if it is a test, pots of {crop} in stuff you trust belong beside it: `haulm recipe bean-test`"
    );
    Some(
        say("read-as-prose", severity, message)
            .at(first, "not taken for an entry")
            .remark(RemarkKind::Write, right)
            .remark(RemarkKind::Note, note),
    )
}

/// How many words behind `pots of` stuff is looked for: `pots of the new compost`.
const NEAR: usize = 4;

/// A crop and what may have been seen on it, with no verb. `None` without a sign. A line that says of the sign that it
/// was not there is met with one that says so; where `denied` is not known, with none.
pub fn hurt_seen(
    first: Loc,
    frame: &Frame,
    signs: &[String],
    denied: Option<bool>,
    crop: &str,
    place: Option<&str>,
) -> Option<Diagnostic> {
    let no = if denied == Some(true) { "no " } else { "" };
    let signs: Vec<String> = signs.iter().map(|sign| format!("{no}{sign}")).collect();
    let (sign, others) = signs.split_first()?;
    let message = format!("This speaks of {crop} and begins with no verb, so it counts for nothing");
    let out = say("read-as-prose", Severity::Hint, message).at(first, "no verb");
    if denied.is_none() {
        let note = "an entry begins with its verb; `note:` before it keeps it as words";
        return Some(out.remark(RemarkKind::Note, note));
    }
    let right = format!("- {} {sign} on {crop} in {}", frame.verb, place.unwrap_or("\u{2026}"));
    let out = out.remark(RemarkKind::Write, right);
    Some(if others.is_empty() {
        out
    } else {
        out.remark(RemarkKind::Note, format!("if what you saw was {}, write that", quoted(others)))
    })
}

/// A spraying and a place, with no verb.
pub fn spraying_seen(first: Loc, frame: &Frame, deed: &str, place: &str) -> Diagnostic {
    let message = "This speaks of a spraying and begins with no verb, so it counts for nothing";
    let right = format!("- {} \u{2026} {deed} \u{2026} on {place}", frame.verb);
    say("read-as-prose", Severity::Hint, message).at(first, "no verb").remark(RemarkKind::Write, right)
}

/// `a`, `b` or `c`
pub fn quoted(words: &[String]) -> String {
    let words: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    listed(&words, "or")
}
