//! A sentence as written, matched to the declared sentence it says, its constants read.
//!
//! Comes in: items of a line and the book of sentences. Goes out: the sentence with what stands in each
//! blank, or a fault: unknown (with the nearest), readable in two ways, or a value that does not fit.

use super::{
    AMBIGUOUS, MISFIT, UNKNOWN, UNREAD, fault, figure,
    shapes::{Item, Said, Spot, Tag},
    types,
    vars::Vars,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    measure::value::{BlankType, Value},
    model::{
        program::{Atom, Status, Term},
        sentence::{Origin, Sentence, SentenceId},
    },
    understand::sentences::{Book, Reach, Reading},
};

/// What stands in a blank of a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Fill {
    /// `{x}`, by its text within the braces.
    Hole(String),
    /// A constant.
    Const(Value),
    /// `{}`
    Any,
}

/// A line matched to a sentence.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Matched {
    pub(super) sentence: SentenceId,
    /// For each blank what stands there, and where.
    pub(super) fills: Vec<Spot<Fill>>,
}

/// Finds the one sentence a line says.
pub(super) fn matched(book: &Book, said: &Said) -> Result<Matched, Diagnostic> {
    let readings = book.readings(&said.it, Reach::Item);
    let mut fitting = Vec::new();
    let mut misfit: Option<Diagnostic> = None;
    for reading in &readings {
        match filled(book, said, reading) {
            Ok(m) if fitting.iter().all(|f: &Matched| f.sentence != m.sentence) => fitting.push(m),
            Ok(_) => {}
            Err(said) => misfit = misfit.or(Some(said)),
        }
    }
    let mut fitting = fitting.into_iter();
    match (fitting.next(), fitting.next(), misfit) {
        (Some(one), None, _) => Ok(one),
        (Some(one), Some(two), _) => {
            Err([one, two].iter().filter_map(|m| book.get(m.sentence)).fold(
                fault(AMBIGUOUS, said.loc, "This line could mean either of two sentences."),
                |said, s| said.remark(RemarkKind::Note, format!("`{}`", s.pattern())),
            ))
        }
        (None, _, Some(misfit)) => Err(misfit),
        (None, _, None) => Err(unquoted(book, said).unwrap_or_else(|| unknown(book, said))),
    }
}

/// A line that would say something if a name in it stood in quotes.
fn unquoted(book: &Book, said: &Said) -> Option<Diagnostic> {
    let readings = book.readings(&said.it, Reach::Words);
    let [reading] = &readings[..] else { return None };
    filled(book, said, reading).err()
}

fn unknown(book: &Book, said: &Said) -> Diagnostic {
    let fault = fault(UNKNOWN, said.loc, format!("No page declares a sentence `{}`.", shown(said)));
    match book.nearest(&said.it) {
        Some(near) => {
            let meant = meant(near, said);
            let fault = fault.remark(RemarkKind::Write, meant.clone());
            // It can stand in place of the line only with the line's own blanks.
            if own(said).len() == near.blanks.len() {
                fault.fix(format!("write {meant}"), said.loc, meant)
            } else {
                fault
            }
        }
        None => fault.remark(RemarkKind::Note, "New sentences are declared in a `sentences` fence."),
    }
}

/// The nearest sentence with the line's own blanks in it, where the line has as many.
fn meant(near: &Sentence, said: &Said) -> String {
    let own = own(said);
    if own.len() != near.blanks.len() {
        return near.pattern();
    }
    near.filled(|n| match own.get(n) {
        Some(Item::Hole(h)) => format!("{{{h}}}"),
        Some(Item::Quoted(q)) => format!("\"{q}\""),
        _ => String::new(),
    })
}

/// What stands in a line's blanks.
fn own(said: &Said) -> Vec<&Item> {
    said.it.iter().map(|i| &i.it).filter(|i| matches!(i, Item::Hole(_) | Item::Quoted(_))).collect()
}

/// A line's items as text again.
pub(super) fn shown(said: &Said) -> String {
    let mut out = String::new();
    for item in &said.it {
        let gap = !out.is_empty() && !matches!(item.it, Item::Mark(_));
        if gap {
            out.push(' ');
        }
        match &item.it {
            Item::Word(w) | Item::Mark(w) => out.push_str(w),
            Item::Quoted(q) => out.push_str(&format!("\"{q}\"")),
            Item::Hole(h) => out.push_str(&format!("{{{h}}}")),
        }
    }
    out
}

/// One reading with its constants read.
fn filled(book: &Book, said: &Said, reading: &Reading) -> Result<Matched, Diagnostic> {
    let Some(sentence) = book.get(reading.sentence) else { return Err(unknown(book, said)) };
    let mut fills = Vec::new();
    for (blank, range) in sentence.blanks.iter().zip(&reading.fills) {
        let items = said.it.get(range.clone()).unwrap_or(&[]);
        fills.push(fill(items, blank.takes).map_err(|f| {
            f.remark(RemarkKind::Note, format!("The sentence is `{}`.", super::declare::typed(sentence)))
        })?);
    }
    Ok(Matched { sentence: reading.sentence, fills })
}

fn fill(items: &[Spot<Item>], takes: BlankType) -> Result<Spot<Fill>, Diagnostic> {
    let loc = items
        .iter()
        .map(|i| i.loc)
        .reduce(|a, b| Loc::new(a.file, a.span.cover(b.span)))
        .unwrap_or(Loc::new(crate::base::span::FileId(0), crate::base::span::Span::default()));
    let it = match items {
        [Spot { it: Item::Hole(h), .. }] if h.is_empty() => Fill::Any,
        [Spot { it: Item::Hole(h), .. }] => Fill::Hole(h.to_lowercase()),
        [Spot { it: Item::Quoted(q), .. }] if matches!(takes, BlankType::Name | BlankType::Text) => {
            Fill::Const(Value::word(q.as_str()))
        }
        many => {
            let text = many
                .iter()
                .map(|i| match &i.it {
                    Item::Word(w) | Item::Mark(w) | Item::Quoted(w) | Item::Hole(w) => w.as_str(),
                })
                .collect::<Vec<_>>()
                .join(" ");
            if many.len() > 1 && matches!(takes, BlankType::Name | BlankType::Text) {
                return Err(fault(
                    MISFIT,
                    loc,
                    format!(
                        "`{text}`: here belongs {}; several words stand in quotes.",
                        types::described(takes)
                    ),
                )
                .remark(RemarkKind::Write, format!("\"{text}\"")));
            }
            Fill::Const(figure::constant(&text, takes).map_err(|m| fault(MISFIT, loc, m))?)
        }
    };
    Ok(Spot { it, loc })
}

/// The name of a rule's variable, from what stands in the braces.
pub(super) fn variable(inside: &str, loc: Loc) -> Result<String, Diagnostic> {
    let inside = inside.trim();
    if let Some((name, _)) = inside.split_once(':') {
        return Err(fault(
            UNREAD,
            loc,
            "What a blank takes is said where its sentence is declared, not here.",
        )
        .remark(RemarkKind::Write, format!("{{{}}}", name.trim())));
    }
    if let Some(name) = inside.strip_prefix("every ").or_else(|| inside.strip_prefix("each ")) {
        let message = format!("`{{{inside}}}` stands in messages and tables only.");
        return Err(fault(UNREAD, loc, message).remark(RemarkKind::Write, format!("{{{}}}", name.trim())));
    }
    if inside.is_empty() {
        return Err(fault(UNREAD, loc, "Here a named blank is needed.").remark(RemarkKind::Write, "{book}"));
    }
    Ok(inside.to_lowercase())
}

/// A matched line as an atom: holes become variables, which learn what they hold.
pub(super) fn atom(book: &Book, m: &Matched, vars: &mut Vars, faults: &mut Vec<Diagnostic>) -> Atom {
    let mut terms = Vec::new();
    let takes: Vec<BlankType> =
        book.get(m.sentence).map(|s| s.blanks.iter().map(|b| b.takes).collect()).unwrap_or_default();
    for (fill, takes) in m.fills.iter().zip(takes) {
        terms.push(match &fill.it {
            Fill::Any => Term::Any,
            Fill::Const(v) => Term::Const(v.clone()),
            Fill::Hole(inside) => match variable(inside, fill.loc) {
                Ok(name) => {
                    let id = vars.named(&name, fill.loc);
                    faults.extend(vars.learn(id, takes, fill.loc));
                    Term::Var(id)
                }
                Err(said) => {
                    faults.push(said);
                    Term::Any
                }
            },
        });
    }
    Atom { sentence: m.sentence, terms, entry: Term::Any, status: Status::Done }
}

/// Reads tags into the atom; says whether the line is marked `(here)`.
pub(super) fn tagged(
    sentence: Option<&Sentence>,
    tags: &[Tag],
    atom: &mut Atom,
    vars: &mut Vars,
    faults: &mut Vec<Diagnostic>,
) -> Option<Loc> {
    let journal = sentence.is_some_and(|s| s.origin == Origin::Journal);
    let mut here = None;
    for tag in tags {
        let words = tag.it.as_str();
        let entry = words.strip_prefix("entry ").map(str::trim);
        if !matches!(words, "here" | "planned" | "done or planned") && entry.is_none() {
            faults.push(
                fault(UNREAD, tag.loc, format!("`({words})` is no tag."))
                    .remark(RemarkKind::Note, "Tags are (here), (planned), (done or planned), (entry {e})."),
            );
            continue;
        }
        if !journal {
            let what = sentence.map_or_else(String::new, Sentence::pattern);
            faults.push(fault(
                UNREAD,
                tag.loc,
                format!("`({words})` belongs to what the journal says; `{what}` is concluded or looked up."),
            ));
            continue;
        }
        match (words, entry) {
            ("here", _) => here = Some(tag.loc),
            ("planned", _) => atom.status = Status::Planned,
            ("done or planned", _) => atom.status = Status::Either,
            (_, entry) => {
                let inside = entry.and_then(|e| e.strip_prefix('{')?.strip_suffix('}')).unwrap_or("");
                match variable(inside, tag.loc) {
                    Ok(name) => {
                        let id = vars.named(&name, tag.loc);
                        faults.extend(vars.learn(id, BlankType::Entry, tag.loc));
                        atom.entry = Term::Var(id);
                    }
                    Err(said) => faults.push(said),
                }
            }
        }
    }
    here
}
