//! What running the pages' own examples needs of a session: another journal, another program, and
//! whether a sentence holds.
//!
//! Comes in: a session. Goes out: sessions apart from it; the session itself is left as it was. It
//! compares nothing; `rehearse` does.

use std::{collections::BTreeSet, sync::Arc};

use chrono::NaiveDate;

use super::{Checked, Session};
use crate::{
    base::{
        diagnostic::Diagnostic,
        source::{SourceKind, Sources},
    },
    infer::Prepared,
    measure::value::Value,
    model::{
        explanation::Recipe,
        journal::When,
        page::{OwnPage, Page, PageKind, Passage},
        sentence::SentenceId,
    },
    understand::{
        rulebook::{common, patterns, resting, without_line},
        sentences::Book,
    },
};

/// A rulebook with one journal at a time.
#[derive(Debug, Clone)]
pub struct Trial {
    session: Session,
    /// The sentences, indexed once for all questions.
    book: Arc<Book>,
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
        // Another journal of the same name later leaves every file its number, and the program as it is.
        session.set_text(JOURNAL, "");
        let mut trial = Trial { session, book: Arc::new(Book::default()) };
        let (_, program) = trial.compiled();
        trial.book = Arc::new(Book::of(&program.sentences));
        trial
    }
}

impl Trial {
    fn sources(&self) -> Sources {
        Sources::new(self.session.rulebook.iter().chain(self.session.texts.values()).cloned().collect())
    }

    fn compiled(&mut self) -> (Arc<[Page]>, Arc<crate::model::program::Program>) {
        let sources = self.sources();
        let compiled = self.session.compile(&sources);
        (compiled.pages, Arc::clone(compiled.prepared.program()))
    }

    /// The pages in force.
    pub fn pages(&mut self) -> Arc<[Page]> {
        self.compiled().0
    }

    /// What reading and compiling the pages had to say, and the texts its places lie in.
    pub fn faults(&mut self) -> (Vec<Diagnostic>, Sources) {
        let sources = self.sources();
        (self.session.compile(&sources).said, sources)
    }

    /// Checks a journal, with pages of its own beside the rulebook, as it reads on `today`, or on its own
    /// last day; gives nothing for a journal that has no day at all. Pages alone are checked on any day.
    pub fn check(&mut self, journal: &str, pages: &[OwnPage], today: Option<NaiveDate>) -> Option<Checked> {
        self.session.set_text(JOURNAL, journal);
        for page in pages {
            self.session.set_text(&page.path, &page.text.text);
        }
        let any = journal.is_empty().then(some_day);
        let day = today.or_else(|| self.last_day()).or(any);
        let checked = day.map(|today| self.session.check(today, None));
        for page in pages {
            self.session.remove(&page.path);
        }
        checked
    }

    /// What a recipe tells of a journal when it is asked for, on `today` or the journal's own last day, or on any
    /// day where it has none; with pages of the example's own beside the rulebook.
    ///
    /// # Errors
    /// Says in words what was asked that no recipe reads.
    pub fn recipe(
        &mut self,
        ask: &str,
        journal: &str,
        pages: &[OwnPage],
        today: Option<NaiveDate>,
    ) -> Result<Recipe, String> {
        self.session.set_text(JOURNAL, journal);
        for page in pages {
            self.session.set_text(&page.path, &page.text.text);
        }
        let day = today.or_else(|| self.last_day()).unwrap_or_else(some_day);
        let told = self.session.recipe(ask, day, None);
        for page in pages {
            self.session.remove(&page.path);
        }
        told.map(|(recipe, _)| recipe)
    }

    /// What cannot be read of lines written on one day under a journal: each with why.
    pub fn unread(&mut self, lines: &[String], journal: &str, today: Option<NaiveDate>) -> Vec<String> {
        self.session.set_text(JOURNAL, journal);
        let day = today.or_else(|| self.last_day()).unwrap_or_else(some_day);
        let mut copy = self.session.clone();
        let list: String = lines.iter().map(|line| format!("- {line}\n")).collect();
        copy.set_text(WRITTEN, &format!("## {day}\n\n{list}"));
        copy.unread(WRITTEN, day)
    }

    /// The last day the journal has a heading for.
    fn last_day(&mut self) -> Option<NaiveDate> {
        let sources = self.sources();
        let frames = self.session.compile(&sources).frames;
        self.session.parse_journals(&sources, &frames);
        let days = self.session.journals.iter().flat_map(|j| &j.items).filter_map(|item| match item.when {
            When::On(days) => Some(days.last),
            _ => None,
        });
        days.max()
    }

    /// The trial with only as much of the rulebook as this page's own findings and actions rest on, and what
    /// its examples ask for beside them.
    pub fn narrowed(&self, page: &Page) -> Trial {
        let mut narrow = self.clone();
        let Some(compiled) = narrow.session.compiled.as_mut() else { return narrow };
        if page.kind == PageKind::Recipe {
            // Its rules are among the others then, and can be left out like any.
            compiled.prepared = Arc::new(Prepared::new(compiled.with_recipes()));
            compiled.recipes = Arc::from([]);
        }
        let program = compiled.prepared.program();
        let expected = || page.examples.iter().flat_map(|e| &e.expected);
        let rules = program.rules.iter();
        let mut roots: BTreeSet<SentenceId> = rules
            .filter(|r| r.page == page.code || expected().any(|line| line.text.contains(&*r.page)))
            .map(|r| r.head.sentence)
            .collect();
        for line in expected() {
            // The line's own words before the sentence do not matter: no sentence begins with them.
            let said = line.text.split_once("says ").map_or("", |(_, said)| said);
            let said = Passage { loc: line.loc, text: said.into() };
            roots.extend(patterns(&self.book, &said).into_iter().flatten().map(|p| p.sentence));
        }
        let always = common(&compiled.frames, &self.book);
        compiled.prepared = Arc::new(Prepared::new(resting(program, roots, &always)));
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

    /// What holds of these sentences in what was checked, plans left out.
    pub fn concluded(&self, checked: &Checked, sentences: &[SentenceId]) -> Vec<(SentenceId, Vec<Value>)> {
        let model = &checked.model;
        let rows = |s: &SentenceId| {
            let s = *s;
            let rows = model.every(s).filter(|row| !model.planned(*row));
            rows.map(move |row| (s, model.values(row).cloned().collect::<Vec<_>>()))
        };
        let mut all: Vec<(SentenceId, Vec<Value>)> = sentences.iter().flat_map(rows).collect();
        all.sort();
        all
    }

    /// The trial with one line of one rule left out (`number` from 1, `line` from 0); `None` where the rule
    /// cannot stand without it.
    pub fn weakened(&self, page: &Page, number: u32, line: usize) -> Option<Trial> {
        let mut weaker = self.clone();
        let compiled = weaker.session.compiled.as_mut()?;
        let without = without_line(compiled.prepared.program(), page, number, line)?;
        compiled.prepared = Arc::new(Prepared::new(without));
        Some(weaker)
    }

    /// Whether a filled sentence holds in what was checked, plans left out.
    ///
    /// # Errors
    /// A sentence that no page declares.
    pub fn holds(&self, checked: &Checked, sentence: &Passage) -> Result<bool, Diagnostic> {
        let patterns = patterns(&self.book, sentence)?;
        Ok(patterns.iter().any(|p| {
            checked.model.every(p.sentence).any(|row| {
                !checked.model.planned(row) && p.fits(&checked.model.values(row).cloned().collect::<Vec<_>>())
            })
        }))
    }
}
