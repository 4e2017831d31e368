//! One check as the editor sees it: files by their names, places by lines and columns.
//!
//! Comes in: a check, and which files the editor holds. Goes out: the same places in the editor's terms
//! and back. A built-in page has a name only for an editor that asks the server for its text.

use std::{
    cell::{OnceCell, RefCell},
    collections::BTreeMap,
    path::PathBuf,
    rc::Rc,
    sync::Arc,
};

use lsp_types::{Location, Position, Range, Uri};

use super::{
    place::{Encoding, Lines},
    uri,
};
use crate::{
    base::{
        source::SourceKind,
        span::{FileId, Loc},
    },
    measure::value::Value,
    session::Checked,
};

/// A check, in the editor's terms.
#[derive(Debug)]
pub struct Round {
    /// What was found.
    pub checked: Checked,
    /// What columns count.
    pub encoding: Encoding,
    /// The farm's folder, if it has one.
    folder: Option<PathBuf>,
    /// Names of files as the editor itself spells them.
    open: BTreeMap<Arc<str>, Uri>,
    /// The scheme under which the editor can show built-in pages.
    pages: Option<String>,
    lines: RefCell<BTreeMap<FileId, Rc<Lines>>>,
    uris: RefCell<BTreeMap<FileId, Option<Uri>>>,
    shares: OnceCell<Rc<BTreeMap<(Value, Value), String>>>,
}

impl Round {
    /// A check of the farm in `folder`, where the editor holds the files `open`.
    pub fn new(
        checked: Checked,
        encoding: Encoding,
        folder: Option<PathBuf>,
        open: BTreeMap<Arc<str>, Uri>,
        pages: Option<String>,
    ) -> Self {
        let (lines, uris, shares) = (RefCell::default(), RefCell::default(), OnceCell::new());
        Self { checked, encoding, folder, open, pages, lines, uris, shares }
    }

    /// The editor's name of a file; none for a built-in page.
    pub fn uri(&self, file: FileId) -> Option<Uri> {
        self.uris.borrow_mut().entry(file).or_insert_with(|| self.named(file)).clone()
    }

    fn named(&self, file: FileId) -> Option<Uri> {
        let file = self.checked.sources.file(file);
        if file.built_in {
            return None;
        }
        let known = self.open.get(&file.path).cloned();
        known.or_else(|| uri::of(&self.folder.as_ref()?.join(&*file.path)))
    }

    /// The farm's own files, journals first.
    pub fn files(&self) -> impl Iterator<Item = FileId> {
        self.checked.sources.iter().filter(|(_, f)| !f.built_in).map(|(id, _)| id)
    }

    /// Whether a file is a journal.
    pub fn is_journal(&self, file: FileId) -> bool {
        self.checked.sources.file(file).kind == SourceKind::Journal
    }

    /// The text of a file.
    pub fn text(&self, file: FileId) -> &str {
        &self.checked.sources.file(file).text
    }

    /// The lines of a file.
    pub fn lines(&self, file: FileId) -> Rc<Lines> {
        Rc::clone(self.lines.borrow_mut().entry(file).or_insert_with(|| Rc::new(Lines::of(self.text(file)))))
    }

    /// How much of each source is in each place, in words.
    pub fn shares(&self) -> Rc<BTreeMap<(Value, Value), String>> {
        Rc::clone(self.shares.get_or_init(|| Rc::new(self.checked.shares())))
    }

    /// The byte a position stands for.
    pub fn offset(&self, file: FileId, at: Position) -> u32 {
        let offset = self.lines(file).offset(self.text(file), at, self.encoding);
        u32::try_from(offset).unwrap_or(u32::MAX)
    }

    /// The range a place covers.
    pub fn range(&self, loc: Loc) -> Range {
        self.lines(loc.file).range(self.text(loc.file), loc.span.range(), self.encoding)
    }

    /// A name under which the editor can show a file: its own, or for a built-in page one that it asks
    /// the server about, if it is an editor that does.
    pub fn shown(&self, file: FileId) -> Option<Uri> {
        let built_in = || {
            let path = &self.checked.sources.file(file).path;
            format!("{}:/{path}", self.pages.as_ref()?).parse().ok()
        };
        self.uri(file).or_else(built_in)
    }

    /// A place an editor can go to.
    pub fn location(&self, loc: Loc) -> Option<Location> {
        Some(Location::new(self.shown(loc.file)?, self.range(loc)))
    }
}
