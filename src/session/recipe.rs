//! A recipe told: the journal understood, what was asked added to its facts, and the rules of the recipe run.
//!
//! Comes in: a session, and words as typed. Goes out: what the recipe tells, or why the words could not be read.
//! The check of the journal knows nothing of it, and nothing is written.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError},
};

use chrono::NaiveDate;

use super::{Compiled, Session, upto};
use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        source::Sources,
    },
    explain,
    infer::{self, Prepared},
    model::{
        explanation::{Recipe, RecipeNote},
        page::{Page, PageKind},
        program::{Meaning, Program, Rule},
    },
    understand::{
        asking, clauses, diary,
        rulebook::{ask, common, resting},
        sentences::Book,
    },
};

/// What is only hinted at elsewhere, but is a fault in a line that is offered to be pasted.
const TROUBLES: [&str; 4] = ["unread-words", "unknown-word", "read-as-prose", "unknown-name"];

impl Compiled {
    /// The program with the rules of recipes, which a check leaves out.
    pub(super) fn with_recipes(&self) -> Program {
        let mut whole = self.prepared.program().as_ref().clone();
        whole.rules.extend(self.recipes.iter().cloned());
        whole.rules.sort_by(|a, b| (&a.page, a.number).cmp(&(&b.page, b.number)));
        whole
    }

    /// What a recipe's own rules rest on, ready to run. Where the rules of recipes are among the others, as when
    /// one of them is tried without a line, that is what is there.
    fn recipe(&self, code: &Arc<str>) -> Arc<Prepared> {
        if self.recipes.is_empty() {
            return Arc::clone(&self.prepared);
        }
        let mut ready = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let prepared = ready.entry(Arc::clone(code)).or_insert_with(|| {
            let whole = self.with_recipes();
            let told = |r: &&Rule| r.page == *code && matches!(r.meaning, Meaning::Told { .. });
            let roots = whole.rules.iter().filter(told).map(|r| r.head.sentence).collect();
            let always = common(&self.frames, &Book::of(&whole.sentences));
            Arc::new(Prepared::new(resting(&whole, roots, &always)))
        });
        Arc::clone(prepared)
    }
}

/// Recipes made ready to run, by their codes, once they were asked for.
pub(super) type Ready = Arc<Mutex<BTreeMap<Arc<str>, Arc<Prepared>>>>;

impl Session {
    /// What a recipe tells when it is asked for in `words`, as the journal reads on `today`; with the texts its
    /// places lie in.
    ///
    /// # Errors
    /// Says in words what was asked that no recipe reads.
    pub fn recipe(
        &mut self,
        words: &str,
        today: NaiveDate,
        as_of: Option<NaiveDate>,
    ) -> Result<(Recipe, Sources), String> {
        let sources = Sources::new(self.rulebook.iter().chain(self.texts.values()).cloned().collect());
        let compiled = self.compile(&sources);
        self.parse_journals(&sources, &compiled.frames);
        let earlier = as_of.map(|last| upto::upto(&self.journals, last));
        let journals = earlier.as_deref().unwrap_or(&self.journals);
        let read = clauses::read(journals, &compiled.frames, compiled.vocabulary.clone());
        let system = read.system;
        let cx = diary::Context {
            frames: &compiled.frames,
            program: compiled.prepared.program(),
            sources: &sources,
            today,
            as_of,
            system,
        };
        let (mut diary, _) = diary::settle(read.entries, &cx);
        let asked = asking::read(
            words,
            &asking::Context {
                pages: &compiled.pages,
                program: compiled.prepared.program(),
                vocabulary: &compiled.vocabulary,
                diary: &diary,
                system,
            },
        )?;
        diary.facts.extend(asked.facts);
        let prepared = compiled.recipe(&asked.page);
        let (model, _) = infer::run(&prepared, &diary.facts);
        let known = explain::Known {
            program: prepared.program(),
            model: &model,
            diary: &diary,
            pages: &compiled.pages,
            sources: &sources,
            today,
        };
        let recipe = explain::recipe::told(&known, &asked.page, words);
        Ok((recipe, sources))
    }

    /// What of a journal's text cannot be read, each in words with its line.
    pub(super) fn unread(&mut self, path: &str, today: NaiveDate) -> Vec<String> {
        let sources = Sources::new(self.rulebook.iter().chain(self.texts.values()).cloned().collect());
        let Some(file) = sources.find(path) else { return Vec::new() };
        let compiled = self.compile(&sources);
        self.parse_journals(&sources, &compiled.frames);
        let mut said: Vec<Diagnostic> =
            self.journals.iter().flat_map(|j| j.diagnostics.iter().cloned()).collect();
        let read = clauses::read(&self.journals, &compiled.frames, compiled.vocabulary.clone());
        said.extend(read.diagnostics);
        let cx = diary::Context {
            frames: &compiled.frames,
            program: compiled.prepared.program(),
            sources: &sources,
            today,
            as_of: None,
            system: read.system,
        };
        let (diary, unsettled) = diary::settle(read.entries, &cx);
        said.extend(unsettled);
        let here = |d: &&Diagnostic| d.primary.as_ref().is_some_and(|l| l.loc.file == file);
        let mut all: Vec<String> = said
            .iter()
            .filter(here)
            .filter(|d| d.severity <= Severity::Error || TROUBLES.contains(&&*d.code))
            .map(|d| {
                let at = d.primary.as_ref().map_or("", |l| sources.slice(l.loc));
                format!("`{at}`: {} ({})", d.message, d.code)
            })
            .collect();
        let text = &sources.file(file).text;
        let items = text.lines().filter(|l| l.starts_with("- ")).count();
        let entries = diary.entries.iter().filter(|e| e.loc.file == file).count();
        if entries < items && all.is_empty() {
            all.push(format!("of {items} lines {entries} are entries"));
        }
        all
    }

    /// Every recipe: what it is for, and how it is asked for.
    pub fn recipes(&mut self) -> Vec<RecipeNote> {
        let sources = Sources::new(self.rulebook.iter().chain(self.texts.values()).cloned().collect());
        let pages: Arc<[Page]> = self.compile(&sources).pages;
        let recipes = pages.iter().filter(|p| p.kind == PageKind::Recipe);
        recipes
            .map(|page| {
                let ways =
                    page.asks.iter().filter_map(|line| Some(asking::shown(&ask(&page.code, line).ok()?)));
                let is_for =
                    page.sections.iter().find(|s| s.heading.text.eq_ignore_ascii_case("What it is for"));
                RecipeNote {
                    code: page.code.to_string(),
                    is_for: is_for.map(|s| s.prose.text.to_string()).unwrap_or_default(),
                    ways: ways.collect(),
                }
            })
            .collect()
    }
}
