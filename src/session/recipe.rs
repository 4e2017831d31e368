//! A recipe told: the journal understood, what was asked added to its facts, and the rules of the recipe run.
//!
//! Comes in: a session, and words as typed. Goes out: what the recipe tells, or why the words could not be read.
//! The check of the journal knows nothing of it, and nothing is written.

use std::sync::{Arc, PoisonError};

use chrono::NaiveDate;

use super::{Session, compiled::Compiled, reading::Reading};
use crate::{
    base::{
        diagnostic::{Diagnostic, Severity},
        source::Sources,
    },
    explain,
    infer::{self, Prepared},
    model::{
        explanation::{Recipe, RecipeNote},
        page::PageKind,
        program::{Meaning, Program, Rule},
    },
    understand::{
        asking::{self, Ways},
        rulebook::ask,
    },
};

/// What is only hinted at elsewhere, but is a fault in a line that is offered to be pasted.
const TROUBLES: [&str; 4] = ["unread-words", "unknown-word", "read-as-prose", "unknown-name"];

impl Compiled {
    /// The program with the rules of recipes after all others, which a check leaves out.
    pub(super) fn with_recipes(&self) -> Program {
        let mut whole = self.prepared.program().as_ref().clone();
        whole.rules.extend(self.recipes.iter().cloned());
        whole
    }

    /// The rulebook ready to run as far as a recipe's own rules rest on it. Where the rules of recipes are among
    /// the others, as when one of them is tried without a line, that is what is there.
    fn recipe(&self, code: &Arc<str>) -> Arc<Prepared> {
        if self.recipes.is_empty() {
            return Arc::clone(&self.prepared);
        }
        let mut ready = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let prepared = ready.entry(Arc::clone(code)).or_insert_with(|| {
            let whole = self.whole.get_or_init(|| self.prepared.reworked(self.with_recipes(), &[]));
            let told = |r: &&Arc<Rule>| r.page == *code && matches!(r.meaning, Meaning::Told { .. });
            let roots = self.recipes.iter().filter(told).map(|r| r.head.sentence).collect();
            Arc::new(whole.asked(&roots))
        });
        Arc::clone(prepared)
    }
}

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
        let reading = self.read(today, as_of, &mut |_| {});
        let compiled = self.compile(&reading.sources);
        let Reading { sources, system, diary, .. } = reading;
        let mut diary = Arc::unwrap_or_clone(diary);
        let asked = asking::read(
            words,
            &asking::Context {
                pages: &compiled.pages,
                ways: compiled
                    .ways
                    .get_or_init(|| Ways::of(&compiled.pages, compiled.prepared.program(), &self.lines)),
                vocabulary: &compiled.vocabulary,
                diary: &diary,
                system,
            },
        )?;
        Arc::make_mut(&mut diary.facts).extend(asked.facts.into_iter().map(Arc::new));
        explain::recipe::in_one_unit(&mut diary.units);
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
        let Reading { sources, diary, said, .. } = self.read(today, None, &mut |_| {});
        let Some(file) = sources.find(path) else { return Vec::new() };
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
        let sources = self.sources();
        let compiled = self.compile(&sources);
        let recipes = compiled.pages.iter().filter(|p| p.kind == PageKind::Recipe);
        recipes
            .map(|page| {
                let ways = page
                    .asks
                    .iter()
                    .filter_map(|line| Some(asking::shown(&ask(&page.code, line, &self.lines).ok()?)));
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
