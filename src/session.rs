//! The one composer: texts in, everything one check finds out.
//!
//! Comes in: texts set, changed and removed one by one, and the day to read them on. Goes out: a
//! [`Checked`]. It touches neither disk nor clock, and whatever the edits were, a check gives what a
//! fresh session with the same texts gives: of the last check only that is kept which comes out the same.

mod compiled;
mod entry;
mod layout;
mod reading;
mod recipe;
mod said;
pub mod trial;
mod upto;
mod what_if;

use std::{collections::BTreeMap, sync::Arc};

use chrono::NaiveDate;
use compiled::{Compiled, PageRead};

use crate::{
    base::{
        diagnostic::Diagnostic,
        source::{SourceFile, SourceKind, Sources},
        span::FileId,
    },
    explain::{self, subject::Subject},
    infer::{self, Prepared},
    measure::{date::Days, value::Value},
    model::{
        content::Sourced,
        diary::Diary,
        explanation::{PageNote, PhraseBook, Trace, Why, WhyNotSo},
        frame::Frames,
        journal::JournalFile,
        outcome::Model,
        page::Page,
        program::{Fact, FactSource, Program},
        report::Report,
    },
    parse, read,
    understand::{clauses, diary, lexicon, rulebook::Lines},
};

/// The stages of a check, in order, for whoever times them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// Rule pages to a program; at once where none of them changed.
    Rulebook,
    /// Journals to entries still to be understood.
    Parse,
    /// Entries to facts.
    Understand,
    /// Facts to a model.
    Infer,
    /// A model to a report.
    Explain,
}

impl Stage {
    /// All stages in order.
    pub const ALL: [Stage; 5] =
        [Stage::Rulebook, Stage::Parse, Stage::Understand, Stage::Infer, Stage::Explain];

    /// The stage's name.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Rulebook => "rulebook",
            Stage::Parse => "parse",
            Stage::Understand => "understand",
            Stage::Infer => "infer",
            Stage::Explain => "explain",
        }
    }
}

/// The texts of a farm and of the rulebook, and what of their reading can be kept.
#[derive(Debug, Clone)]
pub struct Session {
    rulebook: Sources,
    texts: BTreeMap<Arc<str>, SourceFile>,
    /// Pages that stand after all others, and those of the farm's own that are not read for it.
    guests: Guests,
    left_out: Vec<read::LeftOut>,
    frames: Option<(FileId, Arc<Frames>, Vec<Diagnostic>)>,
    pages: Arc<BTreeMap<FileId, PageRead>>,
    /// The lines of pages, read by the grammar.
    lines: Arc<Lines>,
    compiled: Option<Arc<Compiled>>,
    /// The built-in pages compiled alone, to add a farm's own to, once these have changed.
    built_in: Option<Arc<Compiled>>,
    journals: Vec<JournalFile>,
    kept: Kept,
}

/// What the last check found on the way, for the next one.
#[derive(Debug, Clone, Default)]
struct Kept {
    clauses: clauses::Kept,
    diary: diary::Kept,
    inferred: infer::Kept,
}

/// Pages that are tried beside a farm's, which keep their numbers: what was read of them is not read again.
#[derive(Debug, Clone, Default)]
struct Guests {
    pages: Vec<SourceFile>,
    /// The paths of the farm's own pages whose place they take.
    instead_of: Vec<Arc<str>>,
}

/// Everything one check found.
#[derive(Debug)]
pub struct Checked {
    /// The day the journal was read on.
    pub today: NaiveDate,
    /// Every text, the built-in pages included.
    pub sources: Sources,
    /// What an entry may say.
    pub frames: Arc<Frames>,
    /// The rule pages in force.
    pub pages: Arc<[Arc<Page>]>,
    /// The pages compiled: sentences, rules, facts of tables.
    pub program: Arc<Program>,
    /// The journal, understood.
    pub diary: Arc<Diary>,
    /// What holds, and why.
    pub model: Arc<Model>,
    /// What is said to the grower.
    pub report: Report,
    /// The program made ready, for asking again.
    prepared: Arc<Prepared>,
}

impl Checked {
    /// The reasons for what is said about a name, a code or a line such as `spring.md:14`.
    ///
    /// # Errors
    /// Says in words why it means nothing known.
    pub fn why(&self, what: &str) -> Result<Why, String> {
        let known = self.known();
        let subject = explain::subject::find_told(&known, what, &self.report)?;
        Ok(explain::why::why(&known, &subject, &self.report))
    }

    /// What is missing for a sentence, or for a finding written `CODE NAME`, to hold.
    ///
    /// # Errors
    /// Says in words why what was typed is no sentence.
    pub fn why_not(&self, typed: &str) -> Result<Vec<WhyNotSo>, String> {
        explain::missing::not_so(&self.known(), typed)
    }

    /// Where a named thing came from and where it went.
    ///
    /// # Errors
    /// Says in words why it means nothing known, or nothing that moves.
    pub fn trace(&self, name: &str) -> Result<Trace, String> {
        let known = self.known();
        match explain::subject::find(&known, name)? {
            Subject::Value(value) => Ok(explain::trace::trace(&known, &value)),
            Subject::Code(_) | Subject::Entry(_) | Subject::Line(_) => {
                Err(format!("`{name}` is not a thing that can be followed; ask `haulm why {name}`"))
            }
        }
    }

    /// The same, with what the thing is made up of and may hold on a day. The day may be past or to come; what is
    /// known today counts either way.
    ///
    /// # Errors
    /// As [`Checked::trace`].
    pub fn trace_on(&self, name: &str, day: NaiveDate) -> Result<Trace, String> {
        let trace = self.trace(name)?;
        let known = self.known();
        let Subject::Value(value) = explain::subject::find(&known, name)? else { return Ok(trace) };
        let Some(sentence) = explain::content::sentence(&known, explain::content::ASKS) else {
            return Ok(trace);
        };
        // Asking is one more fact; the model is run again with it, the journal stays as it is.
        let asks = Fact {
            sentence,
            values: vec![value.clone(), Value::Days(Days::on(day))],
            planned: false,
            source: FactSource::Given,
        };
        let facts: Vec<Arc<Fact>> = self.diary.facts.iter().cloned().chain([Arc::new(asks)]).collect();
        let (model, _) = infer::run(&self.prepared, &facts);
        let known = explain::Known { model: &model, ..known };
        Ok(Trace { content: Some(explain::content::content(&known, &value, day)), ..trace })
    }

    /// How much of each source is in each place, in words.
    pub fn shares(&self) -> BTreeMap<(Value, Value), String> {
        explain::shares::all(&self.known())
    }

    /// What the pages say of a word of theirs, whatever the journal says.
    pub fn told_of(&self, word: &str) -> Vec<Sourced> {
        let known = self.known();
        match explain::subject::find(&known, word) {
            Ok(Subject::Value(value @ Value::Word(_))) => explain::words::general(&known, &value),
            _ => Vec::new(),
        }
    }

    /// The phrase book; with `about`, only what mentions it.
    pub fn words(&self, about: Option<&str>) -> PhraseBook {
        explain::phrases::book(&self.frames, &self.program, about)
    }

    /// The verb or word of the phrase book that a word is a slip for.
    pub fn near_word(&self, about: &str) -> Option<String> {
        explain::phrases::near(&self.frames, &self.program, about)
    }

    /// All pages that have a code.
    pub fn page_notes(&self) -> Vec<PageNote> {
        explain::pages::notes(&self.known())
    }

    /// The page of a code.
    pub fn page_note(&self, code: &str) -> Option<PageNote> {
        explain::pages::note(&self.known(), code)
    }

    /// A file cut into blocks, days and items, as a journal is cut.
    pub fn cut(&self, file: FileId) -> JournalFile {
        parse::journal::parse(file, &self.sources.file(file).text, &self.frames)
    }

    /// Whether a thing of `kind` suits what a slot of a frame takes (`LOT`, `PLACE`, `bed`).
    pub fn suits(&self, takes: &str, kind: &str) -> bool {
        lexicon::kinds::suits(takes, kind)
    }

    /// All of it, as explanations draw on it.
    fn known(&self) -> explain::Known<'_> {
        explain::Known {
            program: &self.program,
            model: &self.model,
            diary: &self.diary,
            pages: &self.pages,
            sources: &self.sources,
            today: self.today,
        }
    }
}

impl Default for Session {
    fn default() -> Self {
        Self::new()
    }
}

impl Session {
    /// Whether a word is a kind of thing, as stands before a name: `bed`, `lot`.
    pub fn is_kind(word: &str) -> bool {
        lexicon::kinds::kind_word(word).is_some()
    }

    /// A session with the built-in rulebook and no journal.
    pub fn new() -> Self {
        Self::with_rulebook(read::built_in_pages())
    }

    /// A session with another rulebook than the built-in one.
    pub fn with_rulebook(mut pages: Vec<SourceFile>) -> Self {
        // The frame table stands among the sources so that its sentences can be pointed at.
        pages.push(SourceFile::new(parse::frames::PATH, parse::frames::TEXT, SourceKind::RulePage, true));
        Self {
            rulebook: Sources::shared(pages),
            texts: BTreeMap::new(),
            guests: Guests::default(),
            left_out: Vec::new(),
            frames: None,
            pages: Arc::default(),
            lines: Arc::default(),
            compiled: None,
            built_in: None,
            journals: Vec::new(),
            kept: Kept::default(),
        }
    }

    /// Sets the text of a file, new or known. True if that changed anything.
    pub fn set_text(&mut self, path: &str, text: &str) -> bool {
        let known = self.texts.get(path).is_some_and(|known| *known.text == *text);
        !known && self.set(SourceFile::new(path, text, read::kind_of(path), false))
    }

    /// Sets a file, new or known. True if that changed anything. What has a text is no longer left out,
    /// whatever the disk said of it.
    pub fn set(&mut self, file: SourceFile) -> bool {
        self.left_out.retain(|left| left.path != file.path);
        let known = self.texts.get(&file.path);
        let same = known.is_some_and(|known| known.text == file.text && known.kind == file.kind);
        if !same {
            self.texts.insert(file.path.clone(), file);
        }
        !same
    }

    /// Forgets a file. True if it was known.
    pub fn remove(&mut self, path: &str) -> bool {
        self.texts.remove(path).is_some()
    }

    /// Sets all files at once, as a reading of the disk found them, and forgets any other. Gives the
    /// paths that changed, came or went, in order.
    pub fn set_reading(&mut self, reading: read::Reading) -> Vec<Arc<str>> {
        self.left_out = reading.left_out;
        let mut changed = Vec::new();
        let mut gone = std::mem::take(&mut self.texts);
        for file in reading.files {
            let path = file.path.clone();
            if let Some(known) = gone.remove(&path) {
                self.texts.insert(path.clone(), known);
            }
            if self.set(file) {
                changed.push(path);
            }
        }
        changed.extend(gone.into_keys());
        changed.sort();
        changed
    }

    /// What was left out of the last reading, one diagnostic for each.
    pub fn left_out(&self) -> &[read::LeftOut] {
        &self.left_out
    }

    /// The text of a file, as last set.
    pub fn text(&self, path: &str) -> Option<&str> {
        self.texts.get(path).map(|file| &*file.text)
    }

    /// Whether any journal is among the texts.
    pub fn has_journal(&self) -> bool {
        self.texts.values().any(|f| f.kind == SourceKind::Journal)
    }

    /// Checks the journal as it reads on `today`. With `as_of`, entries after that day are left out.
    pub fn check(&mut self, today: NaiveDate, as_of: Option<NaiveDate>) -> Checked {
        self.check_observed(today, as_of, &mut |_| {})
    }

    /// As [`Session::check`], telling `done` as each stage ends.
    pub fn check_observed(
        &mut self,
        today: NaiveDate,
        as_of: Option<NaiveDate>,
        done: &mut dyn FnMut(Stage),
    ) -> Checked {
        let read = self.read(today, as_of, done);
        let inferred = self.kept.inferred.run(&read.prepared, &read.diary.facts);
        done(Stage::Infer);
        let checked = read.explained(inferred);
        done(Stage::Explain);
        checked
    }

    /// Reads the journal on a day, and concludes nothing yet.
    fn read(
        &mut self,
        today: NaiveDate,
        as_of: Option<NaiveDate>,
        done: &mut dyn FnMut(Stage),
    ) -> reading::Reading {
        let sources = self.sources();
        let mut said: Vec<Diagnostic> = self.left_out.iter().map(|l| l.said.clone()).collect();

        let rulebook = self.compile(&sources);
        said.extend(rulebook.said.iter().cloned());
        let Compiled { frames, pages, prepared, phrases, vocabulary, .. } = &*rulebook;
        let (frames, pages, prepared) = (Arc::clone(frames), Arc::clone(pages), Arc::clone(prepared));
        done(Stage::Rulebook);

        self.parse_journals(&sources, &frames);
        let earlier = as_of.map(|last| upto::upto(&self.journals, last));
        let journals = earlier.as_deref().unwrap_or(&self.journals);
        said.extend(journals.iter().flat_map(|j| j.diagnostics.iter().cloned()));
        done(Stage::Parse);

        // As of an earlier day the same texts read otherwise, so nothing is kept of it.
        let mut apart = Kept::default();
        let kept = if as_of.is_some() { &mut apart } else { &mut self.kept };
        let read = kept.clauses.read(journals, &frames, Arc::clone(vocabulary));
        said.extend(read.diagnostics);
        let system = read.system;
        let cx = diary::Context { frames: &frames, phrases, sources: &sources, today, as_of, system };
        let (diary, unsettled) = kept.diary.settle(&read.files, &cx);
        said.extend(unsettled);
        diary::begun_unread(&mut said, &sources);
        done(Stage::Understand);
        reading::Reading { today, sources, frames, pages, prepared, system, diary, said }
    }

    /// Every text, in order.
    fn sources(&self) -> Sources {
        let own = self.texts.values().cloned().collect();
        self.rulebook.clone().and(own).and(self.guests.pages.clone())
    }

    /// Every journal, parsed, those with an unchanged text from before.
    fn parse_journals(&mut self, sources: &Sources, frames: &Frames) {
        let kept = std::mem::take(&mut self.journals);
        let mut kept: BTreeMap<FileId, JournalFile> = kept.into_iter().map(|j| (j.file, j)).collect();
        let journals = sources.iter().filter(|(_, f)| f.kind == SourceKind::Journal);
        self.journals = journals
            .map(|(id, file)| match kept.remove(&id) {
                Some(parsed) if parsed.text == file.text => parsed,
                _ => parse::journal::parse(id, &file.text, frames),
            })
            .collect();
    }
}
