//! Positions in text: byte spans, and the file they lie in.
//!
//! Comes in: byte offsets. Goes out: values every stage hands on. It never reads the text itself.

use serde::Serialize;

/// A half-open range of bytes in one file's text, `start..end`, always on character boundaries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span from byte offsets. Offsets past 4 GiB are clamped; `read` refuses such files.
    pub fn new(start: usize, end: usize) -> Self {
        let clamp = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Self { start: clamp(start), end: clamp(end.max(start)) }
    }

    /// The span as a `usize` range, for slicing.
    pub fn range(self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }

    /// The smallest span that covers both.
    pub fn cover(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// The same span `by` bytes further on, as when a part's offsets become the file's.
    pub fn shifted(self, by: usize) -> Self {
        Self::new(self.start as usize + by, self.end as usize + by)
    }

    /// Length in bytes.
    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    /// Whether it covers no byte.
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }
}

/// Which file of a [`Sources`](super::source::Sources) a span lies in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct FileId(pub u32);

/// A span in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Loc {
    /// The file.
    pub file: FileId,
    /// The bytes within it.
    pub span: Span,
}

impl Loc {
    /// A span in a file.
    pub fn new(file: FileId, span: Span) -> Self {
        Self { file, span }
    }
}
