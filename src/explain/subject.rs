//! What a grower means by `why NAME|CODE|LINE` or `trace NAME`.
//!
//! Comes in: the words typed. Goes out: the thing, page or entry they mean, or the nearest that exists.
//! It explains nothing.

use super::Known;
use crate::{
    base::{
        name::{fold, nearest},
        source::SourceKind,
        span::{FileId, Loc, Span},
    },
    measure::value::{EntryId, Thing, Value},
    model::{page::PageKind, report::Report},
};

/// What can be asked about.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// A named thing, or a word of the vocabulary that something holds of.
    Value(Value),
    /// A page, by its code.
    Code(String),
    /// An entry of the journal.
    Entry(EntryId),
    /// A line of the journal that is no entry, of which something is said all the same.
    Line(Loc),
}

/// Reads what was typed.
///
/// # Errors
/// Says in words why it means nothing known, with the nearest name or code.
pub fn find(known: &Known<'_>, typed: &str) -> Result<Subject, String> {
    find_told(known, typed, &Report::default())
}

/// As [`find`], with what is said of the journal: a line that could not be read has findings.
///
/// # Errors
/// Says in words why it means nothing known, with the nearest name or code.
pub fn find_told(known: &Known<'_>, typed: &str, report: &Report) -> Result<Subject, String> {
    let typed = typed.trim();
    if let Some(found) = line(known, typed, report) {
        return found;
    }
    match things(known, typed).as_slice() {
        [one] => return Ok(Subject::Value(Value::Thing((*one).clone()))),
        [] => {}
        several => {
            let names: Vec<String> = several.iter().map(|t| format!("`{} {}`", t.kind, t.name)).collect();
            return Err(format!("`{typed}` is the name of several things: say {}", names.join(" or ")));
        }
    }
    let codes = || known.pages.iter().filter(|p| matches!(p.kind, PageKind::Rule | PageKind::Reading));
    if let Some(page) = codes().find(|p| *p.code == *typed) {
        return Ok(Subject::Code(page.code.to_string()));
    }
    if let Some(word) = word(known, typed) {
        return Ok(Subject::Value(word));
    }
    let names: Vec<String> = known.diary.things.iter().map(|t| t.thing.name.to_string()).collect();
    let all = names.iter().map(String::as_str).chain(codes().map(|p| &*p.code));
    Err(match nearest(typed, all) {
        Some(near) => format!("nothing is called `{typed}`; did you mean `{near}`?"),
        None => format!("nothing is called `{typed}`: give a name, a code, or a line like `spring.md:19`"),
    })
}

/// The things of that name, with or without the kind word before it.
fn things<'a>(known: &Known<'a>, typed: &str) -> Vec<&'a Thing> {
    let typed = fold(typed);
    let all = || known.diary.things.iter().map(|t| &t.thing);
    let whole: Vec<&Thing> = all().filter(|t| fold(&format!("{} {}", t.kind, t.name)) == typed).collect();
    if whole.is_empty() { all().filter(|t| fold(&t.name) == typed).collect() } else { whole }
}

/// A word that some fact of the tables or the journal is about.
fn word(known: &Known<'_>, typed: &str) -> Option<Value> {
    let typed = fold(typed);
    let facts = known.diary.facts.iter().chain(&*known.program.facts);
    facts.flat_map(|f| &f.values).find(|v| matches!(v, Value::Word(w) if fold(w) == typed)).cloned()
}

/// `spring.md:19`, `:19` or `19`; `None` if it is not written like a line.
fn line(known: &Known<'_>, typed: &str, report: &Report) -> Option<Result<Subject, String>> {
    let (path, number) = typed.rsplit_once(':').unwrap_or(("", typed));
    let number: usize = number.parse().ok()?;
    let journals: Vec<(FileId, &str)> = known
        .sources
        .iter()
        .filter(|(_, f)| f.kind == SourceKind::Journal)
        .map(|(id, f)| (id, &*f.path))
        .collect();
    let fits: Vec<&(FileId, &str)> = journals
        .iter()
        .filter(|(_, p)| path.is_empty() || *p == path || p.ends_with(&format!("/{path}")))
        .collect();
    Some(match fits.as_slice() {
        [] => {
            let near = nearest(path, journals.iter().map(|(_, p)| *p));
            Err(match near {
                Some(near) => format!("no journal file is called `{path}`; did you mean `{near}:{number}`?"),
                None => format!("no journal file is called `{path}`"),
            })
        }
        [(id, path)] => match entry_at(known, *id, number) {
            Some(entry) => Ok(Subject::Entry(entry)),
            None => match told_of(known, *id, number, report) {
                Some(line) => Ok(Subject::Line(line)),
                None => Err(format!("{path}:{number} is no entry: prose, a heading, or past the end")),
            },
        },
        several => {
            let names: Vec<String> = several.iter().take(4).map(|(_, p)| format!("`{p}:{number}`")).collect();
            Err(format!("there are several journal files: say {}", names.join(" or ")))
        }
    })
}

/// The line, without the white space at its ends, if some finding points at it.
fn told_of(known: &Known<'_>, id: FileId, number: usize, report: &Report) -> Option<Loc> {
    let file = known.sources.file(id);
    let range = file.line_range(number.checked_sub(1)?);
    let text = file.text.get(range.clone())?;
    let start = range.start + (text.len() - text.trim_start().len());
    let line = Loc::new(id, Span::new(start, start + text.trim().len()));
    let allowed = report.allowed.iter().map(|a| &a.finding);
    let mut labels = report.findings.iter().chain(allowed).flat_map(|d| &d.primary);
    labels.any(|label| touches(line, label.loc)).then_some(line)
}

/// Whether something that is pointed at begins on a line or goes over it.
pub(super) fn touches(line: Loc, pointed: Loc) -> bool {
    line.file == pointed.file
        && pointed.span.start <= line.span.end
        && line.span.start <= pointed.span.end.saturating_sub(1).max(pointed.span.start)
}

/// The entry that stands on a line, its continuation lines included.
fn entry_at(known: &Known<'_>, file: FileId, number: usize) -> Option<EntryId> {
    let text = known.sources.file(file);
    let line = number.checked_sub(1)?;
    known
        .diary
        .entries
        .iter()
        .find(|e| {
            let (first, last) = (e.loc.span.start as usize, (e.loc.span.end as usize).saturating_sub(1));
            e.loc.file == file && text.line_of(first) <= line && line <= text.line_of(last.max(first))
        })
        .map(|e| e.id)
}
