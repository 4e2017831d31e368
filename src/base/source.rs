//! The texts of one run: journal files and rule pages, with their line starts.
//!
//! Comes in: text already read. Goes out: texts by [`FileId`], and line/column of any byte.
//! It never touches the disk; `read` does.

use std::sync::Arc;

use super::span::{FileId, Loc};

/// What a file is read as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SourceKind {
    /// A diary file of the grower's.
    Journal,
    /// A rule page: built in, or a farm's own.
    RulePage,
}

/// One text with its name and line starts.
#[derive(Debug, Clone)]
pub struct SourceFile {
    /// The path shown to people, relative to the farm's folder, with `/` between parts.
    pub path: Arc<str>,
    /// The whole text as it stands in the file (a leading byte-order mark included).
    pub text: Arc<str>,
    /// What it is read as.
    pub kind: SourceKind,
    /// Whether it came with the program rather than from the farm.
    pub built_in: bool,
    line_starts: Arc<[u32]>,
}

impl SourceFile {
    /// Indexes a text.
    pub fn new(
        path: impl Into<Arc<str>>,
        text: impl Into<Arc<str>>,
        kind: SourceKind,
        built_in: bool,
    ) -> Self {
        let text: Arc<str> = text.into();
        let mut starts = vec![0u32];
        starts.extend(
            text.bytes()
                .enumerate()
                .filter(|(_, b)| *b == b'\n')
                .map(|(i, _)| u32::try_from(i + 1).unwrap_or(u32::MAX)),
        );
        Self { path: path.into(), text, kind, built_in, line_starts: starts.into() }
    }

    /// The 0-based line that holds byte `offset`.
    pub fn line_of(&self, offset: usize) -> usize {
        let offset = u32::try_from(offset).unwrap_or(u32::MAX);
        self.line_starts.partition_point(|s| *s <= offset).saturating_sub(1)
    }

    /// The byte range of 0-based `line`, its line break left out; empty past the end.
    pub fn line_range(&self, line: usize) -> std::ops::Range<usize> {
        let Some(start) = self.line_starts.get(line) else {
            return self.text.len()..self.text.len();
        };
        let start = *start as usize;
        let end = self.line_starts.get(line + 1).map_or(self.text.len(), |e| *e as usize - 1);
        let end =
            if end > start && self.text.as_bytes().get(end - 1) == Some(&b'\r') { end - 1 } else { end };
        start..end.max(start)
    }

    /// 1-based line, and 1-based column counted in Unicode scalar values, of a byte.
    pub fn line_column(&self, offset: usize) -> (usize, usize) {
        let line = self.line_of(offset);
        let start = self.line_range(line).start;
        let upto = floor_boundary(&self.text, offset.max(start));
        (line + 1, self.text[start..upto].chars().count() + 1)
    }
}

/// The nearest character boundary at or before `offset`.
fn floor_boundary(text: &str, offset: usize) -> usize {
    let mut at = offset.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Every text of one run, in the order of their paths (built-in pages first).
#[derive(Debug, Clone, Default)]
pub struct Sources {
    /// The texts that several runs have in common.
    shared: Arc<[SourceFile]>,
    /// Those that come after them.
    own: Vec<SourceFile>,
}

impl Sources {
    /// Takes texts in any order and sorts them, so that no later stage depends on it.
    pub fn new(files: Vec<SourceFile>) -> Self {
        Self { shared: Arc::from([]), own: sorted(files) }
    }

    /// Texts that several runs have in common, each of which is to have more [`Sources::and`] these.
    pub fn shared(files: Vec<SourceFile>) -> Self {
        Self { shared: sorted(files).into(), own: Vec::new() }
    }

    /// These texts, which keep their ids, and after them more, sorted among themselves.
    #[must_use]
    pub fn and(mut self, more: Vec<SourceFile>) -> Self {
        self.own.extend(sorted(more));
        self
    }

    /// The file an id stands for.
    ///
    /// Ids are handed out by this value only, so a miss is a bug; an empty file is returned then.
    pub fn file(&self, id: FileId) -> &SourceFile {
        static EMPTY: std::sync::OnceLock<SourceFile> = std::sync::OnceLock::new();
        let at = id.0 as usize;
        let file = self.shared.get(at).or_else(|| self.own.get(at.checked_sub(self.shared.len())?));
        file.unwrap_or_else(|| EMPTY.get_or_init(|| SourceFile::new("", "", SourceKind::Journal, false)))
    }

    /// All files with their ids, in order.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        self.shared
            .iter()
            .chain(&self.own)
            .enumerate()
            .map(|(i, f)| (FileId(u32::try_from(i).unwrap_or(u32::MAX)), f))
    }

    /// The id of the file shown under `path`.
    pub fn find(&self, path: &str) -> Option<FileId> {
        self.iter().find(|(_, f)| &*f.path == path).map(|(id, _)| id)
    }

    /// The text a location covers; empty when the location does not fit the file.
    pub fn slice(&self, loc: Loc) -> &str {
        self.file(loc.file).text.get(loc.span.range()).unwrap_or("")
    }

    /// `path:line` of a location, as people read it.
    pub fn place(&self, loc: Loc) -> String {
        let file = self.file(loc.file);
        format!("{}:{}", file.path, file.line_of(loc.span.start as usize) + 1)
    }
}

fn sorted(mut files: Vec<SourceFile>) -> Vec<SourceFile> {
    files.sort_by(|a, b| (!a.built_in, a.kind, &a.path).cmp(&(!b.built_in, b.kind, &b.path)));
    files
}
