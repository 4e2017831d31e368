//! Where text stands as editors count it: lines from 0, columns in UTF-8, UTF-16 or UTF-32 units.
//!
//! Comes in: a text, and bytes or positions in it. Goes out: the other of the two. A position past the
//! end of a line or of the text stands for that end; it never fails.

use lsp_types::{Position, PositionEncodingKind, Range};

/// What a column counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// Bytes.
    Utf8,
    /// Units of two bytes, as every client knows them.
    Utf16,
    /// Characters.
    Utf32,
}

impl Encoding {
    /// The cheapest of those offered; UTF-16 if none is offered or known.
    pub fn of_offer(offer: Option<&[PositionEncodingKind]>) -> Self {
        let offered = |kind: &PositionEncodingKind| offer.is_some_and(|o| o.contains(kind));
        if offered(&PositionEncodingKind::UTF8) {
            Encoding::Utf8
        } else if offered(&PositionEncodingKind::UTF32) && !offered(&PositionEncodingKind::UTF16) {
            Encoding::Utf32
        } else {
            Encoding::Utf16
        }
    }

    /// Its name in the protocol.
    pub fn kind(self) -> PositionEncodingKind {
        match self {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
            Encoding::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    /// How many units a character takes.
    fn units(self, c: char) -> usize {
        match self {
            Encoding::Utf8 => c.len_utf8(),
            Encoding::Utf16 => c.len_utf16(),
            Encoding::Utf32 => 1,
        }
    }

    /// How many units a text takes.
    pub fn width(self, text: &str) -> u32 {
        let units = match self {
            Encoding::Utf8 => text.len(),
            _ => text.chars().map(|c| self.units(c)).sum(),
        };
        u32::try_from(units).unwrap_or(u32::MAX)
    }
}

/// The lines of a text, by the protocol's line breaks: `\n`, `\r\n` and `\r` alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lines {
    /// First byte of each line.
    starts: Vec<usize>,
}

impl Lines {
    /// The lines of a text; a text without a line break has one.
    pub fn of(text: &str) -> Self {
        let bytes = text.as_bytes();
        let breaks = bytes.iter().enumerate().filter(|(at, b)| match b {
            b'\n' => true,
            b'\r' => bytes.get(at + 1) != Some(&b'\n'),
            _ => false,
        });
        Self { starts: std::iter::once(0).chain(breaks.map(|(at, _)| at + 1)).collect() }
    }

    /// The bytes of a line, its break left out; empty at the end of the text for a line past it.
    pub fn line(&self, text: &str, line: usize) -> std::ops::Range<usize> {
        let Some(start) = self.starts.get(line).copied() else { return text.len()..text.len() };
        let end = self.starts.get(line + 1).copied().unwrap_or(text.len());
        let whole = text.get(start..end).unwrap_or("");
        start..start + whole.trim_end_matches(['\n', '\r']).len()
    }

    /// The byte a position stands for.
    pub fn offset(&self, text: &str, at: Position, encoding: Encoding) -> usize {
        let line = self.line(text, at.line as usize);
        let mut left = at.character as usize;
        let mut offset = line.start;
        for c in text.get(line).unwrap_or("").chars() {
            let units = encoding.units(c);
            if units > left {
                break;
            }
            left -= units;
            offset += c.len_utf8();
        }
        offset
    }

    /// The position of a byte.
    pub fn position(&self, text: &str, offset: usize, encoding: Encoding) -> Position {
        let mut offset = offset.min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.starts.partition_point(|s| *s <= offset).saturating_sub(1);
        let range = self.line(text, line);
        let before = text.get(range.start..offset.min(range.end)).unwrap_or("");
        Position::new(u32::try_from(line).unwrap_or(u32::MAX), encoding.width(before))
    }

    /// The range of a span of bytes.
    pub fn range(&self, text: &str, span: std::ops::Range<usize>, encoding: Encoding) -> Range {
        Range::new(self.position(text, span.start, encoding), self.position(text, span.end, encoding))
    }
}

/// Puts `new` in place of a range of `text`, or of the whole of it. A range that runs backwards is
/// read forwards.
pub fn replace(text: &mut String, range: Option<Range>, new: &str, encoding: Encoding) {
    let Some(range) = range else {
        new.clone_into(text);
        return;
    };
    let lines = Lines::of(text);
    let a = lines.offset(text, range.start, encoding);
    let b = lines.offset(text, range.end, encoding);
    text.replace_range(a.min(b)..a.max(b), new);
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const ALL: [Encoding; 3] = [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32];

    #[test]
    fn a_column_counts_what_was_agreed() {
        let text = "ab\r\né🍅x\rz";
        let lines = Lines::of(text);
        assert_eq!(lines.line(text, 2), text.len() - 1..text.len());
        let x = text.find('x').expect("an x");
        let columns = ALL.map(|e| lines.position(text, x, e).character);
        assert_eq!(columns, [6, 3, 2]);
        assert_eq!(lines.offset(text, Position::new(1, 2), Encoding::Utf16), x - '🍅'.len_utf8());
    }

    #[test]
    fn past_the_end_is_the_end() {
        let text = "ab\ncd";
        let lines = Lines::of(text);
        for encoding in ALL {
            assert_eq!(lines.offset(text, Position::new(0, 99), encoding), 2);
            assert_eq!(lines.offset(text, Position::new(99, 0), encoding), 5);
        }
        let mut text = "abc".to_owned();
        let backwards = Range::new(Position::new(7, 7), Position::new(0, 1));
        replace(&mut text, Some(backwards), "x", Encoding::Utf16);
        assert_eq!(text, "ax");
    }

    #[test]
    fn the_cheapest_encoding_offered_is_taken() {
        use PositionEncodingKind as Kind;
        assert_eq!(Encoding::of_offer(None), Encoding::Utf16);
        assert_eq!(Encoding::of_offer(Some(&[Kind::UTF32, Kind::UTF8, Kind::UTF16])), Encoding::Utf8);
        assert_eq!(Encoding::of_offer(Some(&[Kind::UTF32])), Encoding::Utf32);
        assert_eq!(Encoding::of_offer(Some(&[Kind::new("utf-7")])), Encoding::Utf16);
    }

    proptest! {
        #[test]
        fn there_and_back_is_the_same_byte(text in "[a\né🍅\r]{0,20}") {
            let lines = Lines::of(&text);
            for (at, _) in text.char_indices() {
                for encoding in ALL {
                    let back = lines.offset(&text, lines.position(&text, at, encoding), encoding);
                    // Within a line break there is no column of its own.
                    let in_break = text[..at].ends_with('\r') && text[at..].starts_with('\n');
                    prop_assert_eq!(back, if in_break { at - 1 } else { at });
                }
            }
        }
    }
}
