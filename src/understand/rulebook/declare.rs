//! All sentences that may be said: the journal's, the pages', the reckoners'.
//!
//! Comes in: frames, pages and the registry. Goes out: the book of sentences and the reckoners in use, with
//! a fault for each declaration that cannot stand. It does not look at rules or tables.

use std::{collections::BTreeSet, sync::Arc};

use rustc_hash::FxHashMap;

use super::{
    AMBIGUOUS, Lines, RECKONER, UNREAD, fault, lines,
    shapes::{Item, Said, Tag},
    types,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        name::nearest,
        span::{FileId, Loc, Span},
    },
    measure::value::BlankType,
    model::{
        frame::Frames,
        page::{Page, Passage},
        program::{Reckoner, ReckonerUse},
        sentence::{Blank, Origin, Part, Sentence, SentenceId},
    },
    understand::sentences::Book,
};

/// What may be said.
#[derive(Debug, Clone, Default)]
pub(super) struct Declared {
    pub(super) book: Arc<Book>,
    /// The frames (by number) that say a journal sentence.
    pub(super) verbs: FxHashMap<SentenceId, Vec<usize>>,
    /// Sentences said from outside for every run, which nothing else may say.
    pub(super) given: Vec<SentenceId>,
    /// Sentences the understanding of the journal says of its names, beside pages.
    pub(super) common: Vec<SentenceId>,
    pub(super) reckoners: Vec<ReckonerUse>,
}

/// Words that begin another kind of head than a sentence.
const HEAD_WORDS: [&str; 11] =
    ["alarm", "warn", "hint", "caution", "answer", "do", "refuse", "sum", "step", "note", "write"];

/// The word that what was asked for begins with, before the words of the ask.
pub const ASKED: &str = "asked";

/// Collects every declaration. Those of built-in pages whose place was taken (`replaced`) stay, so that other
/// pages can be read.
pub(super) fn all(
    pages: &[&Page],
    replaced: &[&Page],
    frames: &Frames,
    registry: &[Reckoner],
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) -> Declared {
    let mut all = Declared::default();
    let book = Arc::make_mut(&mut all.book);
    for line in &frames.common {
        if let Some(id) = add(book, line, Origin::Page, lines, faults) {
            all.common.push(id);
            if line.text.starts_with("today ") {
                all.given.push(id);
            }
        }
    }
    for (n, frame) in frames.frames.iter().enumerate() {
        for line in &frame.sentences {
            if let Some(id) = add(book, line, Origin::Journal, lines, faults) {
                all.verbs.entry(id).or_default().push(n);
            }
        }
    }
    let mut used: Vec<(&Reckoner, Loc)> = Vec::new();
    for page in pages {
        of_page(page, registry, &mut all, &mut used, lines, faults);
    }
    for page in replaced {
        // What its successor declares otherwise is the successor's to say; there is no fault in the old page.
        declared(page, registry, Arc::make_mut(&mut all.book), &mut used, lines, &mut Vec::new());
    }
    used.sort_by_key(|(r, _)| r.name);
    let book = Arc::make_mut(&mut all.book);
    all.reckoners = used.into_iter().filter_map(|(r, loc)| resolve(book, r, loc, lines, faults)).collect();
    all
}

impl Declared {
    /// What may be said when these pages stand beside those of before; `None` where they call on a reckoner, which
    /// is resolved for all pages together.
    pub(super) fn with(
        &self,
        pages: &[&Page],
        registry: &[Reckoner],
        lines: &Lines,
        faults: &mut Vec<Diagnostic>,
    ) -> Option<Self> {
        let mut all = Self { book: Arc::new(Book::after(Arc::clone(&self.book))), ..self.clone() };
        let mut used = Vec::new();
        for page in pages {
            of_page(page, registry, &mut all, &mut used, lines, faults);
        }
        used.is_empty().then_some(all)
    }
}

/// The declarations of one page, the ways to ask it, and the reckoners it calls on.
fn of_page<'r>(
    page: &Page,
    registry: &'r [Reckoner],
    all: &mut Declared,
    used: &mut Vec<(&'r Reckoner, Loc)>,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) {
    let book = Arc::make_mut(&mut all.book);
    declared(page, registry, book, used, lines, faults);
    let asks = page.asks.iter().filter_map(|line| asked(book, page, line, lines, faults));
    let asks: Vec<SentenceId> = asks.collect();
    all.common.extend(&asks);
    all.given.extend(asks);
}

/// The declarations of one page, and the reckoners it calls on.
fn declared<'r>(
    page: &Page,
    registry: &'r [Reckoner],
    book: &mut Book,
    used: &mut Vec<(&'r Reckoner, Loc)>,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) {
    let mut unknown: Vec<&Arc<str>> = Vec::new();
    for d in &page.declarations {
        match &d.reckoned_by {
            None => {
                add(book, &d.line, Origin::Page, lines, faults);
            }
            Some(name) => match registry.iter().find(|r| *r.name == **name) {
                None if unknown.contains(&name) => {}
                None => {
                    unknown.push(name);
                    faults.push(no_reckoner(name, registry, d.line.loc));
                }
                Some(reckoner) => {
                    reckoned(book, reckoner, &d.line, lines, faults);
                    if !used.iter().any(|(r, _)| r.name == reckoner.name) {
                        used.push((reckoner, d.line.loc));
                    }
                }
            },
        }
    }
}

/// The sentence a way of asking says when it is asked.
fn asked(
    book: &mut Book,
    page: &Page,
    line: &Passage,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) -> Option<SentenceId> {
    match ask(&page.code, line, lines) {
        Ok(sentence) => insert(book, sentence, line.loc, faults),
        Err(said) => {
            faults.push(said);
            None
        }
    }
}

/// What stands before the words of an ask: what is asked belongs to its page, so that two recipes may take the
/// same words.
pub fn asked_of(page: &str) -> [String; 4] {
    [ASKED.to_owned(), "of".to_owned(), page.to_owned(), ":".to_owned()]
}

/// A line of an `ask` fence of a page as a sentence.
///
/// # Errors
/// Says what cannot stand in a way of asking.
pub fn ask(page: &str, line: &Passage, lines: &Lines) -> Result<Sentence, Diagnostic> {
    let read = lines.declaration(line)?;
    let (said, tags) = &*read;
    if let Some(tag) = tags.first() {
        return Err(fault(UNREAD, tag.loc, format!("`({})` says nothing of a way of asking.", tag.it)));
    }
    let first = said.it.first().map(|item| &item.it);
    let clauses = said.it.iter().skip(1).find(|item| item.it == Item::Word("with".to_owned()));
    if let (true, Some(item)) = (first != Some(&Item::Word("with".to_owned())), clauses) {
        let message = "What may be said beside stands on a line of its own that begins with `with`.";
        return Err(fault(UNREAD, item.loc, message));
    }
    let (words, blanks) = pattern(said)?;
    let lead = asked_of(page).into_iter().map(|word| Part::Word(word.into()));
    let parts = lead.chain(words).collect();
    Ok(Sentence { parts, blanks: blanks.into(), origin: Origin::Page, only_one: None, loc: line.loc })
}

/// The sentence a line declares, if the book has it.
pub(super) fn known(book: &Book, line: &Passage, lines: &Lines) -> Option<SentenceId> {
    book.same_words(&lines.sentence(line).ok()?.parts)
}

/// The sentences of a program that belong to no verb.
pub fn common(frames: &Frames, book: &Book, lines: &Lines) -> BTreeSet<SentenceId> {
    frames.common.iter().filter_map(|line| known(book, line, lines)).collect()
}

/// Adds one declaration; gives its sentence also where it was declared before in the same way.
fn add(
    book: &mut Book,
    line: &Passage,
    origin: Origin,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) -> Option<SentenceId> {
    match lines.sentence(line) {
        Ok(read) => insert(book, Sentence { origin, ..Sentence::clone(&read) }, line.loc, faults),
        Err(said) => {
            faults.push(said);
            None
        }
    }
}

/// Adds a sentence, or gives the one declared before in the same way.
fn insert(book: &mut Book, sentence: Sentence, loc: Loc, faults: &mut Vec<Diagnostic>) -> Option<SentenceId> {
    if let Some(id) = book.same_words(&sentence.parts) {
        let old = book.get(id)?;
        let types = |s: &Sentence| s.blanks.iter().map(|b| b.takes).collect::<Vec<_>>();
        if types(old) == types(&sentence) && old.origin == sentence.origin {
            return Some(id);
        }
        let message = if types(old) != types(&sentence) {
            format!("This sentence is declared in two ways: `{}` and `{}`.", typed(old), typed(&sentence))
        } else {
            match &old.origin {
                Origin::Journal => {
                    "The journal says this sentence; a page cannot declare it again.".to_owned()
                }
                Origin::Reckoned(by) => format!("The reckoner `{by}` answers this sentence already."),
                _ => "This sentence is declared already, in another sort of fence.".to_owned(),
            }
        };
        faults.push(seen(fault(AMBIGUOUS, loc, message), old.loc, "declared here before"));
        return None;
    }
    if let Some(old) = book.rival(&sentence) {
        let message = "One line could mean either of two sentences.";
        let said = fault(AMBIGUOUS, loc, message)
            .remark(RemarkKind::Note, format!("`{}`", typed(old)))
            .remark(RemarkKind::Note, format!("`{}`", typed(&sentence)));
        faults.push(seen(said, old.loc, "the other"));
        return None;
    }
    Some(book.declare(sentence))
}

/// Points at an earlier declaration, unless it stands in the program's own table.
fn seen(said: Diagnostic, loc: Loc, text: &str) -> Diagnostic {
    if loc.file == NOWHERE { said } else { said.also(loc, text) }
}

/// The file of texts that are part of the program and no source of a run.
const NOWHERE: FileId = FileId(u32::MAX);

/// A sentence with its types: `{lot} is overdue since {day:date}`.
pub(super) fn typed(sentence: &Sentence) -> String {
    sentence.filled(|n| match sentence.blanks.get(n) {
        Some(b) if b.takes == BlankType::Name => format!("{{{}}}", b.name),
        Some(b) => format!("{{{}:{}}}", b.name, types::word(b.takes)),
        None => String::new(),
    })
}

/// Reads a declared line into a sentence (its origin is set by the caller).
pub(super) fn read(line: &Passage) -> Result<Sentence, Diagnostic> {
    let (said, tags) = lines::declaration(line)?;
    if let Some(first) = said.it.first()
        && let Item::Word(w) = &first.it
    {
        if w == "no" {
            return Err(fault(
                UNREAD,
                first.loc,
                "A sentence cannot begin with `no`: that is how absence is written.",
            ));
        }
        if HEAD_WORDS.contains(&w.as_str()) {
            let message =
                format!("A sentence cannot begin with `{w}`: that is how a rule says what to show.");
            return Err(fault(UNREAD, first.loc, message));
        }
    }
    if lines::is_comparison(line) {
        let message = "This has the shape of a comparison; a rule could not tell the two apart.";
        return Err(fault(UNREAD, said.loc, message).remark(RemarkKind::Write, "{book} is kept on {shelf}"));
    }
    let (parts, blanks) = pattern(&said)?;
    let only_one = only_one(&tags, &blanks)?;
    Ok(Sentence { parts: parts.into(), blanks: blanks.into(), origin: Origin::Page, only_one, loc: line.loc })
}

fn pattern(said: &Said) -> Result<(Vec<Part>, Vec<Blank>), Diagnostic> {
    let mut parts = Vec::new();
    let mut blanks: Vec<Blank> = Vec::new();
    for item in &said.it {
        parts.push(match &item.it {
            Item::Word(w) | Item::Mark(w) => Part::Word(w.to_lowercase().into()),
            Item::Quoted(_) => {
                return Err(fault(
                    UNREAD,
                    item.loc,
                    "A declared sentence has no quoted words, only words and blanks.",
                ));
            }
            Item::Hole(inside) => {
                let blank = blank(inside, item.loc)?;
                if blanks.iter().any(|b| b.name == blank.name) {
                    let message = format!("Two blanks of one sentence are called `{}`.", blank.name);
                    return Err(fault(UNREAD, item.loc, message));
                }
                blanks.push(blank);
                Part::Blank(blanks.len() - 1)
            }
        });
    }
    let pairs = said.it.windows(2).find(
        |w| matches!((&w[0].it, &w[1].it), (Item::Word(a), Item::Word(b)) if a == "such" && b == "that"),
    );
    if let Some(w) = pairs {
        return Err(fault(UNREAD, w[0].loc, "A sentence cannot hold `such that`: that is how rules count."));
    }
    if blanks.is_empty() && parts.is_empty() || parts.iter().all(|p| matches!(p, Part::Blank(_))) {
        return Err(fault(UNREAD, said.loc, "A sentence needs words between its blanks."));
    }
    Ok((parts, blanks))
}

fn blank(inside: &str, loc: Loc) -> Result<Blank, Diagnostic> {
    let (name, takes) = match inside.split_once(':') {
        Some((name, word)) => (name.trim(), word.trim()),
        None => (inside.trim(), "name"),
    };
    if name.is_empty() {
        return Err(fault(UNREAD, loc, "A blank of a declared sentence has a name.")
            .remark(RemarkKind::Write, "{book}"));
    }
    let Some(takes) = types::named(takes) else {
        let mut said = fault(UNREAD, loc, format!("`{takes}` is no type of blank."));
        if let Some(near) = nearest(takes, types::words()) {
            said = said.remark(RemarkKind::Write, format!("{{{name}:{near}}}"));
        } else {
            let all = types::words().collect::<Vec<_>>().join(", ");
            said = said.remark(RemarkKind::Note, format!("Types are {all}."));
        }
        return Err(said);
    };
    Ok(Blank { name: name.to_lowercase().into(), takes })
}

/// `(only one {verdict})`
fn only_one(tags: &[Tag], blanks: &[Blank]) -> Result<Option<usize>, Diagnostic> {
    let mut found = None;
    for tag in tags {
        let name = tag
            .it
            .strip_prefix("only one ")
            .map(str::trim)
            .and_then(|t| t.strip_prefix('{')?.strip_suffix('}'));
        let Some(name) = name else {
            return Err(fault(
                UNREAD,
                tag.loc,
                format!("`({})` says nothing of a declared sentence.", tag.it),
            )
            .remark(RemarkKind::Write, "(only one {verdict})"));
        };
        let Some(at) = blanks.iter().position(|b| *b.name == *name) else {
            return Err(fault(UNREAD, tag.loc, format!("This sentence has no blank `{{{name}}}`.")));
        };
        found = Some(at);
    }
    Ok(found)
}

fn no_reckoner(name: &Arc<str>, registry: &[Reckoner], loc: Loc) -> Diagnostic {
    let said = fault(RECKONER, loc, format!("There is no reckoner called `{name}`."));
    match nearest(name, registry.iter().map(|r| r.name)) {
        Some(near) => said.remark(RemarkKind::Write, format!("```sentences reckon {near}")),
        None => said,
    }
}

/// A registered sentence as a passage that stands nowhere.
fn registered(text: &str) -> Passage {
    Passage { loc: Loc::new(NOWHERE, Span::new(0, text.len())), text: text.into() }
}

/// Adds a sentence a page expects of a reckoner, if the registry gives it.
fn reckoned(
    book: &mut Book,
    reckoner: &Reckoner,
    line: &Passage,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) {
    let sentence = match lines.sentence(line) {
        Ok(read) => read,
        Err(said) => {
            faults.push(said);
            return;
        }
    };
    let same = |text: &&&str| {
        lines.sentence(&registered(text)).is_ok_and(|given| {
            given.parts == sentence.parts
                && given.blanks.iter().map(|b| b.takes).eq(sentence.blanks.iter().map(|b| b.takes))
        })
    };
    if reckoner.gives.iter().any(|text| same(&text)) {
        add(book, line, Origin::Reckoned(reckoner.name.into()), lines, faults);
        return;
    }
    let mut said =
        fault(RECKONER, line.loc, format!("The reckoner `{}` gives no such sentence.", reckoner.name));
    for text in reckoner.gives {
        said = said.remark(RemarkKind::Note, format!("It gives `{text}`"));
    }
    faults.push(said);
}

/// A reckoner in use, its sentences found or, for answers no page asks for, added.
fn resolve(
    book: &mut Book,
    reckoner: &Reckoner,
    loc: Loc,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) -> Option<ReckonerUse> {
    let mut gives = Vec::new();
    for text in reckoner.gives {
        let passage = Passage { loc, text: (*text).into() };
        gives.extend(add(book, &passage, Origin::Reckoned(reckoner.name.into()), lines, faults));
    }
    let mut reads = Vec::new();
    for text in reckoner.reads {
        let found = lines.sentence(&registered(text)).ok().and_then(|s| book.same_words(&s.parts));
        match found {
            Some(id) => reads.push(id),
            None => faults.push(fault(
                RECKONER,
                loc,
                format!("The reckoner `{}` reads `{text}`, which nothing declares.", reckoner.name),
            )),
        }
    }
    // Inputs and outputs go by their place in the registry, so a reckoner with a gap cannot run.
    let whole = gives.len() == reckoner.gives.len() && reads.len() == reckoner.reads.len();
    whole.then(|| ReckonerUse { reckoner: reckoner.clone(), reads, gives })
}
