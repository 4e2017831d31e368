//! The rulebook compiled, and what of it need not be done again when a page comes or changes.
//!
//! Comes in: the texts of rule pages. Goes out: a program made ready, with the words and phrases of its tables.
//! Whatever was compiled before, what comes out means what the same pages mean compiled afresh.

use std::{
    collections::{BTreeMap, BTreeSet},
    num::NonZeroUsize,
    sync::{Arc, Mutex, OnceLock},
};

use super::{Kept, Session};
use crate::{
    base::{
        diagnostic::Diagnostic,
        hands,
        source::{SourceFile, SourceKind, Sources},
        span::FileId,
    },
    infer::Prepared,
    model::{
        frame::Frames,
        page::{Page, PageKind},
        program::{Fact, Program, Rule},
    },
    parse,
    understand::{
        asking::Ways,
        diary::Phrases,
        lexicon::Vocabulary,
        registry::registry,
        rulebook::{Rulebook, in_force},
    },
};

/// So few pages are not worth a core of their own.
const A_HANDFUL: NonZeroUsize = NonZeroUsize::MIN.saturating_add(15);

/// A page as it was last read, and from what.
#[derive(Debug, Clone)]
pub(super) struct PageRead {
    from: SourceFile,
    page: Option<Arc<Page>>,
    said: Arc<[Diagnostic]>,
}

/// The texts of a rulebook, read.
#[derive(Debug, Clone)]
struct Texts {
    /// The frame table among them.
    from: Vec<(FileId, SourceFile)>,
    frames: Arc<Frames>,
    /// Every page that could be read.
    pages: Vec<Arc<Page>>,
    /// What there was to say of reading them.
    said: Vec<Diagnostic>,
}

/// The rulebook as it was last compiled.
#[derive(Debug, Clone)]
pub(super) struct Compiled {
    /// The pages it was compiled from.
    from: Vec<(FileId, SourceFile)>,
    pub(super) frames: Arc<Frames>,
    pub(super) pages: Arc<[Arc<Page>]>,
    /// What pages can be added to; nothing once the program was cut or changed by hand.
    pub(super) rulebook: Option<Arc<Rulebook>>,
    /// Without the rules of recipes, which run only when one is asked for.
    pub(super) prepared: Arc<Prepared>,
    pub(super) recipes: Arc<[Arc<Rule>]>,
    /// The program with the rules of recipes, once one was asked for.
    pub(super) whole: Arc<OnceLock<Prepared>>,
    /// Recipes made ready to run, by their codes, once they were asked for.
    pub(super) ready: Arc<Mutex<BTreeMap<Arc<str>, Arc<Prepared>>>>,
    /// The ways of asking for recipes, once one was asked for.
    pub(super) ways: Arc<OnceLock<Ways>>,
    pub(super) phrases: Arc<Phrases>,
    pub(super) vocabulary: Arc<Vocabulary>,
    pub(super) said: Vec<Diagnostic>,
}

fn same_page((id, file): (FileId, &SourceFile), (of, was): (FileId, &SourceFile)) -> bool {
    let same = |a: &Arc<str>, b: &Arc<str>| Arc::ptr_eq(a, b) || a == b;
    id == of && file.built_in == was.built_in && same(&file.path, &was.path) && same(&file.text, &was.text)
}

impl Compiled {
    /// Whether it was compiled from some of these texts and no others; both are in the order of their files.
    fn is_part_of(&self, texts: &Texts) -> bool {
        let mut all = texts.from.iter();
        let is_there = |(id, was): &(FileId, SourceFile)| {
            all.find(|(of, _)| of == id).is_some_and(|(of, file)| same_page((*of, file), (*id, was)))
        };
        Arc::ptr_eq(&self.frames, &texts.frames) && self.from.iter().all(is_there)
    }

    /// Texts compiled, together or in addition to `base`, which was compiled from some of them. Of a rulebook
    /// compiled `before` the words are kept if they are the same.
    fn of(texts: Texts, rulebook: Rulebook, base: Option<&Self>, before: Option<&Self>) -> Self {
        let Texts { from, frames, mut said, .. } = texts;
        said.extend(rulebook.faults.iter().cloned());
        let of_recipe: BTreeSet<&str> =
            rulebook.pages.iter().filter(|p| p.kind == PageKind::Recipe).map(|p| &*p.code).collect();
        let rules = rulebook.program.rules.iter().cloned();
        let (recipes, rules): (Vec<Arc<Rule>>, Vec<Arc<Rule>>) =
            rules.partition(|r| of_recipe.contains(&*r.page));
        let program = Arc::new(Program { rules, ..Program::clone(&rulebook.program) });
        let same_words = |c: &&Self| Vocabulary::same(c.prepared.program(), &program);
        let base_words = base.filter(same_words);
        let vocabulary = base_words.or_else(|| before.filter(same_words)).map(|c| &c.vocabulary);
        let vocabulary = vocabulary.map_or_else(|| Arc::new(Vocabulary::of(&program)), Arc::clone);
        let phrases = base_words.map(|c| Arc::clone(&c.phrases));
        let prepared = match base {
            Some(base) => {
                let more = beside(&program.facts, &base.prepared.program().facts);
                base.prepared.reworked(Arc::clone(&program), &more)
            }
            None => Prepared::new(Arc::clone(&program)),
        };
        Self {
            from,
            phrases: phrases.unwrap_or_else(|| Arc::new(Phrases::find(&frames, &program))),
            frames,
            pages: rulebook.pages.as_slice().into(),
            rulebook: Some(Arc::new(rulebook)),
            prepared: Arc::new(prepared),
            recipes: recipes.into(),
            whole: Arc::default(),
            ready: Arc::default(),
            ways: Arc::default(),
            vocabulary,
            said,
        }
    }
}

/// The facts that are not among others; both are in order.
fn beside<'f>(facts: &'f [Arc<Fact>], others: &[Arc<Fact>]) -> Vec<&'f Fact> {
    let mut others = others.iter().peekable();
    let new = facts.iter().filter(|fact| others.next_if(|other| other == fact).is_none());
    new.map(|fact| &**fact).collect()
}

impl Session {
    /// The rulebook compiled, or as it was if none of its texts changed.
    pub(super) fn compile(&mut self, sources: &Sources) -> Arc<Compiled> {
        let pages = || {
            let pages = sources.iter().filter(|(_, f)| f.kind == SourceKind::RulePage);
            pages.filter(|(_, f)| f.built_in || !self.guests.instead_of.contains(&f.path))
        };
        let same = |c: &&Arc<Compiled>| {
            let mut both = pages().zip(&c.from);
            c.from.len() == pages().count() && both.all(|(page, (of, was))| same_page(page, (*of, was)))
        };
        if let Some(compiled) = self.compiled.as_ref().filter(same) {
            return Arc::clone(compiled);
        }
        let from: Vec<(FileId, SourceFile)> = pages().map(|(id, f)| (id, f.clone())).collect();
        let texts = self.read_texts(from, sources);
        let compiled = Arc::new(self.added(&texts).unwrap_or_else(|| self.whole(texts)));
        self.compiled = Some(Arc::clone(&compiled));
        self.kept = Kept::default();
        compiled
    }

    /// Texts compiled together.
    fn whole(&self, texts: Texts) -> Compiled {
        let rulebook = Rulebook::of(&texts.pages, &texts.frames, &registry(), &self.lines);
        Compiled::of(texts, rulebook, None, self.compiled.as_deref())
    }

    /// Texts compiled in addition to some that are compiled already; nothing where there are none such, or the new
    /// ones do more than add to them.
    fn added(&mut self, texts: &Texts) -> Option<Compiled> {
        let last = self.compiled.clone().filter(|c| c.is_part_of(texts));
        let base = match last {
            Some(last) => last,
            None => self.built_in(texts)?,
        };
        // Who adds pages of his own will change them.
        if base.from.iter().all(|(_, file)| file.built_in) {
            self.built_in = Some(Arc::clone(&base));
        }
        let rulebook = base.rulebook.as_ref()?.with(&texts.pages, &registry(), &self.lines)?;
        Some(Compiled::of(texts.clone(), rulebook, Some(&base), self.compiled.as_deref()))
    }

    /// The built-in pages of some texts compiled alone, if anything else was compiled before.
    fn built_in(&mut self, texts: &Texts) -> Option<Arc<Compiled>> {
        self.compiled.as_ref()?;
        let known = self.built_in.take().filter(|c| c.is_part_of(texts));
        Some(known.unwrap_or_else(|| {
            let from = texts.from.iter().filter(|(_, file)| file.built_in).cloned().collect();
            Arc::new(self.whole(self.texts_of(from, Arc::clone(&texts.frames))))
        }))
    }

    /// The texts of a rulebook, read; those that did not change as they were read before.
    fn read_texts(&mut self, from: Vec<(FileId, SourceFile)>, sources: &Sources) -> Texts {
        let frames_file = sources.find(parse::frames::PATH).unwrap_or(FileId(u32::MAX));
        let known = self.frames.take().filter(|(of, ..)| *of == frames_file);
        let (_, frames, _) = self.frames.insert(known.unwrap_or_else(|| {
            let (frames, said) = parse::frames::parse(frames_file, parse::frames::TEXT);
            (frames_file, Arc::new(frames), said)
        }));
        let frames = Arc::clone(frames);
        let new = self.read_pages(&from, frames_file);
        let texts = self.texts_of(from, frames);
        let (in_force, _) = in_force(&texts.pages);
        let new: Vec<&Arc<Page>> = in_force.iter().filter(|page| new.contains(&page.file)).collect();
        hands::each(&new, A_HANDFUL, |page| self.lines.read(page));
        texts
    }

    /// Texts of which every page is read.
    fn texts_of(&self, from: Vec<(FileId, SourceFile)>, frames: Arc<Frames>) -> Texts {
        let read = || from.iter().filter_map(|(id, _)| self.pages.get(id));
        let of_frames = self.frames.iter().flat_map(|(.., said)| said);
        let said = of_frames.chain(read().flat_map(|read| read.said.iter())).cloned().collect();
        let pages = read().filter_map(|read| read.page.clone()).collect();
        Texts { frames, pages, said, from }
    }

    /// Reads every page of the rulebook and of the farm; gives the files of those that are new or were changed.
    fn read_pages(&mut self, from: &[(FileId, SourceFile)], frames: FileId) -> BTreeSet<FileId> {
        let mut all = BTreeMap::new();
        let mut new = Vec::new();
        for (id, file) in from.iter().filter(|(id, _)| *id != frames) {
            match self.pages.get(id).filter(|read| same_page((*id, &read.from), (*id, file))) {
                Some(known) => _ = all.insert(*id, known.clone()),
                None => new.push((*id, file)),
            }
        }
        let read = hands::each(&new, A_HANDFUL, |(id, file)| {
            let (page, said) = parse::page::parse(*id, &file.path, &file.text);
            let page = page.map(|page| Arc::new(Page { built_in: file.built_in, ..page }));
            PageRead { from: SourceFile::clone(file), page, said: said.into() }
        });
        let new: Vec<FileId> = new.into_iter().map(|(id, _)| id).collect();
        all.extend(new.iter().copied().zip(read));
        self.pages = Arc::new(all);
        new.into_iter().collect()
    }
}
