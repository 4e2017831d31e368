//! What running the pages' own examples needs of a session: another journal, another program, and
//! whether a sentence holds.
//!
//! Comes in: a session. Goes out: sessions apart from it; the session itself is left as it was. It
//! compares nothing; `rehearse` does.

use std::{
    collections::BTreeSet,
    iter,
    sync::{Arc, OnceLock},
};

use chrono::NaiveDate;

use super::{Checked, Guests, Session, reading::Reading};
use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        name::fold,
        source::{SourceFile, SourceKind, Sources},
        span::FileId,
    },
    infer::Prepared,
    measure::value::Value,
    model::{
        explanation::Recipe,
        frame::Frames,
        journal::When,
        page::{OwnPage, Page, PageKind, Passage},
        program::{Meaning, Program, Rule, TextPart},
        sentence::SentenceId,
    },
    parse,
    read::kind_of,
    understand::{
        rulebook::{Lines, common, patterns, resting, without_line},
        sentences::Book,
    },
};

/// A rulebook with one journal at a time.
#[derive(Debug, Clone)]
pub struct Trial {
    session: Session,
    sentences: Sentences,
}

/// The sentences of a rulebook, indexed once for all questions.
#[derive(Debug, Clone)]
pub struct Sentences {
    of: Arc<Program>,
    book: Arc<OnceLock<Book>>,
    lines: Arc<Lines>,
}

/// The day for what happens on no day.
fn some_day() -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, 1).unwrap_or_default()
}

/// The path a trial's journal goes by.
const JOURNAL: &str = "example.md";

/// The path of lines that are tried beside it.
const WRITTEN: &str = "written.md";

impl Session {
    /// The rulebook of this session, a farm's own pages included, without its journals.
    pub fn trial(&self) -> Trial {
        let mut session = self.clone();
        session.texts.retain(|_, file| file.kind == SourceKind::RulePage);
        session.journals.clear();
        session.left_out.clear();
        // Other journals of the same names later leave every file its number, and the program as it is.
        session.set_text(JOURNAL, "");
        session.set_text(WRITTEN, "");
        let sources = session.sources();
        let compiled = session.compile(&sources);
        let sentences = Sentences::of(&compiled.prepared, &session);
        Trial { session, sentences }
    }
}

impl Trial {
    /// The pages in force.
    pub fn pages(&mut self) -> Arc<[Arc<Page>]> {
        let sources = self.session.sources();
        Arc::clone(&self.session.compile(&sources).pages)
    }

    /// What reading and compiling the pages had to say, and the texts its places lie in.
    pub fn faults(&mut self) -> (Vec<Diagnostic>, Sources) {
        let sources = self.session.sources();
        (self.session.compile(&sources).said.clone(), sources)
    }

    /// The sentences of the rulebook.
    pub fn sentences(&self) -> &Sentences {
        &self.sentences
    }

    /// The session with a journal, and with pages beside its rulebook. They take the place of built-in ones and
    /// of the farm's own alike, whatever path these lie under.
    fn with(&self, journal: &str, pages: &[OwnPage]) -> Session {
        let mut session = self.session.clone();
        session.set_text(JOURNAL, journal);
        let own: Vec<&SourceFile> =
            session.texts.values().filter(|file| file.kind == SourceKind::RulePage).collect();
        let mut guests = Guests::default();
        for page in pages {
            let (read, _) = parse::page::parse(FileId(u32::MAX), &page.path, &page.text.text);
            let coded = |page: &Page| page.kind != PageKind::Tables;
            let code = read.filter(|read| coded(read)).map(|read| read.code);
            let old = self.session.compiled.iter().flat_map(|c| c.pages.iter()).filter(|p| !p.built_in);
            let old = old.filter(|old| coded(old) && Some(&old.code) == code.as_ref()).map(|old| &old.path);
            let same = own.iter().map(|file| &file.path).filter(|path| **path == page.path);
            guests.instead_of.extend(old.chain(same).cloned());
            guests.pages.retain(|guest| guest.path != page.path);
            let (path, text) = (Arc::clone(&page.path), Arc::clone(&page.text.text));
            guests.pages.push(SourceFile::new(path, text, kind_of(&page.path), false));
        }
        session.guests = guests;
        session
    }

    /// Reads and checks a journal, with pages of its own beside the rulebook, as it reads on `today`, or on its
    /// own last day; gives nothing for a journal that has no day at all. Pages alone are checked on any day.
    pub fn play(&self, journal: &str, pages: &[OwnPage], today: Option<NaiveDate>) -> Option<Played> {
        let mut session = self.with(journal, pages);
        let any = journal.is_empty().then(some_day);
        let today = today.or_else(|| session.last_day()).or(any)?;
        let reading = session.read(today, None, &mut |_| {});
        let own = || Sentences::of(&reading.prepared, &session);
        let sentences = if pages.is_empty() { self.sentences.clone() } else { own() };
        let checked = reading.checked();
        Some(Played { reading, checked, sentences })
    }

    /// What a recipe tells of a journal when it is asked for, on `today` or the journal's own last day, or on any
    /// day where it has none; with pages of the example's own beside the rulebook.
    ///
    /// # Errors
    /// Says in words what was asked that no recipe reads.
    pub fn recipe(
        &self,
        ask: &str,
        journal: &str,
        pages: &[OwnPage],
        today: Option<NaiveDate>,
    ) -> Result<Recipe, String> {
        let mut session = self.with(journal, pages);
        let day = today.or_else(|| session.last_day()).unwrap_or_else(some_day);
        session.recipe(ask, day, None).map(|(recipe, _)| recipe)
    }

    /// What cannot be read of lines written on one day under a journal: each with why. Dots stand for a
    /// number that the grower is to put there.
    pub fn unread(&self, lines: &[String], journal: &str, today: Option<NaiveDate>) -> Vec<String> {
        let mut session = self.with(journal, &[]);
        let day = today.or_else(|| session.last_day()).unwrap_or_else(some_day);
        let list: String = lines.iter().map(|line| format!("- {}\n", line.replace('…', "1"))).collect();
        session.set_text(WRITTEN, &format!("## {day}\n\n{list}"));
        session.unread(WRITTEN, day)
    }

    /// The trial with only as much of the rulebook as this page's own findings and actions rest on, and what
    /// its examples ask for beside them.
    pub fn narrowed(&self, page: &Page) -> Trial {
        let mut narrow = self.clone();
        if let Some(compiled) = narrow.session.compiled.as_mut().map(Arc::make_mut) {
            if page.kind == PageKind::Recipe {
                // Its rules are among the others then, and can be left out like any.
                compiled.prepared = Arc::new(Prepared::new(compiled.with_recipes()));
                compiled.recipes = Arc::from([]);
            }
            compiled.rulebook = None;
            let program = compiled.prepared.program();
            compiled.prepared = narrowed(program, page, &compiled.frames, &self.sentences);
        }
        narrow
    }

    /// The sentences that rules of this page conclude and reckoners read: the answers and weights that pages
    /// of questions are for, who say nothing to a grower themselves.
    pub fn handed_on(&self, page: &Page) -> Vec<SentenceId> {
        let Some(compiled) = self.session.compiled.as_ref() else { return Vec::new() };
        let program = compiled.prepared.program();
        let read: BTreeSet<SentenceId> = program.reckoners.iter().flat_map(|r| &r.reads).copied().collect();
        let concluded = program.rules.iter().filter(|r| r.page == page.code).map(|r| r.head.sentence);
        concluded.filter(|s| read.contains(s)).collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// The trial with the rulebook run only as far as what this page concludes, what its examples ask for by
    /// code or sentence, and what would make a journal unreadable rest on it.
    pub fn asking(&self, page: &Page) -> Trial {
        let mut asking = self.clone();
        if let Some(compiled) = asking.session.compiled.as_mut().map(Arc::make_mut) {
            let program = compiled.prepared.program();
            let mut roots = roots(program, page, &self.sentences);
            let error =
                |r: &&Arc<Rule>| matches!(r.meaning, Meaning::Finding { severity: Severity::Error, .. });
            roots.extend(program.rules.iter().filter(error).map(|r| r.head.sentence));
            let only_one = (0..).zip(program.sentences.iter()).filter(|(_, s)| s.only_one.is_some());
            roots.extend(only_one.map(|(n, _)| SentenceId(n)));
            compiled.rulebook = None;
            compiled.prepared = Arc::new(compiled.prepared.asked(&roots));
        }
        asking
    }

    /// The trial with one line of one rule left out (`number` from 1, `line` from 0); `None` where the rule
    /// cannot stand without it.
    pub fn weakened(&self, page: &Page, number: u32, line: usize) -> Option<Trial> {
        let mut weaker = self.clone();
        let compiled = Arc::make_mut(weaker.session.compiled.as_mut()?);
        compiled.rulebook = None;
        compiled.prepared = weakened(&compiled.prepared, page, number, line, &self.sentences.lines)?;
        Some(weaker)
    }

    /// The rulebook, ready to run.
    pub fn prepared(&self) -> Option<&Arc<Prepared>> {
        self.session.compiled.as_ref().map(|c| &c.prepared)
    }
}

impl Session {
    /// The last day the journal has a heading for.
    fn last_day(&mut self) -> Option<NaiveDate> {
        let sources = self.sources();
        let frames = Arc::clone(&self.compile(&sources).frames);
        self.parse_journals(&sources, &frames);
        let days = self.journals.iter().flat_map(|j| &j.items).filter_map(|item| match item.when {
            When::On(days) => Some(days.last),
            _ => None,
        });
        days.max()
    }
}

/// A journal of a trial, read and checked.
#[derive(Debug)]
pub struct Played {
    reading: Reading,
    checked: Checked,
    sentences: Sentences,
}

impl Played {
    /// What the check found.
    pub fn checked(&self) -> &Checked {
        &self.checked
    }

    /// The sentences it was read with.
    pub fn sentences(&self) -> &Sentences {
        &self.sentences
    }

    /// The same, checked by only as much of the rulebook as [`Trial::narrowed`] keeps.
    #[must_use]
    pub fn narrowed(mut self, page: &Page) -> Self {
        let Reading { prepared, frames, .. } = &self.reading;
        self.reading.prepared = narrowed(prepared.program(), page, frames, &self.sentences);
        self.checked = self.reading.checked();
        self
    }

    /// The rulebook it was checked by with one line of one rule left out, as in [`Trial::weakened`].
    pub fn weakened(&self, page: &Page, number: u32, line: usize) -> Option<Arc<Prepared>> {
        weakened(&self.reading.prepared, page, number, line, &self.sentences.lines)
    }

    /// What holds of these sentences, plans left out.
    pub fn concluded(&self, sentences: &[SentenceId]) -> Vec<(SentenceId, Vec<Value>)> {
        let model = &self.checked.model;
        let rows = |s: &SentenceId| {
            let s = *s;
            let rows = model.every(s).filter(|row| !model.planned(*row));
            rows.map(move |row| (s, model.values(row).cloned().collect::<Vec<_>>()))
        };
        let mut all: Vec<(SentenceId, Vec<Value>)> = sentences.iter().flat_map(rows).collect();
        all.sort();
        all
    }

    /// The same journal checked by a rulebook that was weakened.
    #[must_use]
    pub fn by(&self, weaker: &Arc<Prepared>) -> Self {
        let reading = Reading { prepared: Arc::clone(weaker), ..self.reading.clone() };
        let checked = reading.rechecked(&self.checked.model);
        Self { reading, checked, sentences: self.sentences.clone() }
    }
}

impl Sentences {
    fn of(prepared: &Prepared, session: &Session) -> Self {
        Self { of: Arc::clone(prepared.program()), book: Arc::default(), lines: Arc::clone(&session.lines) }
    }

    fn book(&self) -> &Book {
        self.book.get_or_init(|| Book::of(&self.of.sentences))
    }

    /// Whether a filled sentence holds in what was checked with these sentences, plans left out.
    ///
    /// # Errors
    /// A sentence that no page declares.
    pub fn hold(&self, checked: &Checked, sentence: &Passage) -> Result<bool, Diagnostic> {
        let model = &checked.model;
        let patterns = patterns(self.book(), sentence, &self.lines)?;
        Ok(patterns.iter().any(|p| {
            let mut done = model.every(p.sentence).filter(|row| !model.planned(*row));
            done.any(|row| p.fits(&model.values(row).cloned().collect::<Vec<_>>()))
        }))
    }
}

/// What a page concludes, and what its examples ask for by code, by sentence or by the words of an action.
fn roots(program: &Program, page: &Page, sentences: &Sentences) -> BTreeSet<SentenceId> {
    let (book, lines) = (sentences.book(), &sentences.lines);
    let expected = || page.examples.iter().flat_map(|e| &e.expected);
    let codes: BTreeSet<&str> = expected().flat_map(|line| line.text.split_whitespace()).collect();
    let folded: Vec<String> = expected().map(|line| fold(&line.text)).collect();
    let words: BTreeSet<&str> = folded.iter().flat_map(|line| line.split_whitespace()).collect();
    let asked = |rule: &Rule| match &rule.meaning {
        // An action that begins with another word is another one.
        Meaning::Action { words: said, .. } => match said.first() {
            Some(TextPart::Words(said)) => {
                fold(said).split_whitespace().next().is_none_or(|word| words.contains(word))
            }
            _ => true,
        },
        _ => false,
    };
    let rules = program.rules.iter();
    let mut roots: BTreeSet<SentenceId> = rules
        .filter(|r| r.page == page.code || codes.contains(&*r.page) || asked(r))
        .flat_map(|r| iter::once(r.head.sentence).chain(r.closing()))
        .collect();
    for line in expected() {
        // The line's own words before the sentence do not matter: no sentence begins with them.
        let said = line.text.split_once("says ").map_or("", |(_, said)| said);
        let said = Passage { loc: line.loc, text: said.into() };
        roots.extend(patterns(book, &said, lines).into_iter().flatten().map(|p| p.sentence));
    }
    roots
}

/// As much of a program as a page's own findings and actions rest on, and what its examples ask for.
fn narrowed(program: &Program, page: &Page, frames: &Frames, sentences: &Sentences) -> Arc<Prepared> {
    let always = common(frames, sentences.book(), &sentences.lines);
    Arc::new(Prepared::new(resting(program, roots(program, page, sentences), &always)))
}

fn weakened(
    prepared: &Prepared,
    page: &Page,
    number: u32,
    line: usize,
    lines: &Lines,
) -> Option<Arc<Prepared>> {
    let without = without_line(prepared.program(), page, number, line, lines)?;
    Some(Arc::new(prepared.reworked(without, &[])))
}
