//! Cuts Markdown into headings, list items and everything else, line by line.
//!
//! Comes in: the text of a journal file. Goes out: blocks that cover it without a gap, and the lines that are
//! prose by their layout alone. It reads no day and no entry; code, block quotes and comments are prose
//! whatever stands in them.

use crate::{
    base::span::Span,
    model::journal::{Block, BlockKind},
};

/// Why a line that is laid out much like a list item is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// It stands in a fence of code, which begins there and is never closed.
    Fenced(Span),
    /// Four spaces or more, or a tab, stand before it, which make code of it.
    Indented,
    /// No space stands after its marker.
    Unspaced,
}

/// A line that is no list item because of how it is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passed {
    /// Its text, list marker and checkbox left out.
    pub body: Span,
    /// Why.
    pub layout: Layout,
}

/// The blocks of a text, in order, and the lines among its prose that were perhaps meant as list items.
pub fn cut(text: &str) -> (Vec<Block>, Vec<Passed>) {
    let mut cutter = Cutter { blocks: Vec::new(), item_open: false, listing: false };
    let mut passed: Vec<Passed> = Vec::new();
    let mut fence: Option<(char, usize)> = None;
    let mut fenced: Vec<Passed> = Vec::new();
    let mut opened = Span::new(0, 0);
    let mut inside = Inside::Text;
    let mut offset = 0;
    let mut first = true;
    for raw in text.split_inclusive('\n') {
        let start = offset;
        offset += raw.len();
        let span = Span::new(start, offset);
        let mark = if first && raw.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
        let line = raw[mark..].trim_end();
        let shown = line.trim_start();
        let at = start + mark + (line.len() - shown.len());
        let indent = columns(&line[..line.len() - shown.len()]);
        if std::mem::take(&mut first) && line == "---" {
            inside = Inside::Front;
            cutter.prose(span);
            continue;
        }
        match inside {
            Inside::Front => {
                if line == "---" || line == "..." {
                    inside = Inside::Text;
                }
                cutter.prose(span);
                continue;
            }
            Inside::Comment => {
                if shown.contains("-->") {
                    inside = Inside::Text;
                }
                cutter.prose(span);
                continue;
            }
            Inside::Text => {}
        }
        let pass = |width: usize, layout| Passed { body: Span::new(at + width, at + shown.len()), layout };
        if let Some((c, n)) = fence {
            fenced.extend(marker(shown).map(|found| pass(found.width, Layout::Fenced(opened))));
            let run = shown.chars().take_while(|x| *x == c).count();
            if run >= n && shown[run * c.len_utf8()..].trim().is_empty() {
                fence = None;
                fenced.clear();
            }
            cutter.prose(span);
        } else if let Some(marks) = fence_opening(shown) {
            fence = Some(marks);
            opened = Span::new(at, at + shown.len());
            cutter.prose(span);
        } else if shown.starts_with("<!--") {
            if !shown.contains("-->") {
                inside = Inside::Comment;
            }
            cutter.prose(span);
        } else if shown.is_empty() {
            cutter.blank(span);
        } else if let Some((level, text)) = heading(shown, indent) {
            cutter.heading(span, level, Span::new(at + text.start, at + text.end));
        } else if let Some(level) = underline(shown) {
            cutter.underlined(span, level, text);
        } else if let Some(found) = marker(shown).filter(|_| indent < 4 || cutter.listing) {
            cutter.item(span, Span::new(at + found.width, at + shown.len()), found.ticked);
        } else {
            let unspaced = || unspaced(shown).filter(|_| indent < 4);
            match marker(shown) {
                Some(found) => passed.push(pass(found.width, Layout::Indented)),
                None => passed.extend(unspaced().map(|width| pass(width, Layout::Unspaced))),
            }
            cutter.other(span, indent, at + shown.len());
        }
    }
    // What stands between two fences was surely set so.
    passed.append(&mut fenced);
    (cutter.blocks, passed)
}

enum Inside {
    Text,
    Front,
    Comment,
}

struct Cutter {
    blocks: Vec<Block>,
    /// The last block is an item that an indented line continues.
    item_open: bool,
    /// A list has begun since the last unindented prose, so deep indents are lists within it, not code.
    listing: bool,
}

impl Cutter {
    fn prose(&mut self, span: Span) {
        self.item_open = false;
        match self.blocks.last_mut() {
            Some(Block { span: last, kind: BlockKind::Prose }) => *last = last.cover(span),
            _ => self.blocks.push(Block { span, kind: BlockKind::Prose }),
        }
    }

    fn blank(&mut self, span: Span) {
        self.item_open = false;
        // A new block, so that an underline never takes a paragraph above the blank line for a heading.
        self.blocks.push(Block { span, kind: BlockKind::Prose });
    }

    fn heading(&mut self, span: Span, level: u8, text: Span) {
        self.item_open = false;
        self.listing = false;
        self.blocks.push(Block { span, kind: BlockKind::Heading { level, text } });
    }

    /// A line of `===` or `---`: makes the single line of prose above it a heading.
    fn underlined(&mut self, span: Span, level: u8, source: &str) {
        if let Some(Block { span: above, kind: kind @ BlockKind::Prose }) = self.blocks.last_mut() {
            let raw = source.get(above.range()).unwrap_or("");
            let line = raw.trim();
            if !self.item_open
                && !line.is_empty()
                && !line.contains('\n')
                && !line.starts_with(['>', '|', '<'])
            {
                let start = above.start as usize + (raw.len() - raw.trim_start().len());
                *kind = BlockKind::Heading { level, text: Span::new(start, start + line.len()) };
                *above = above.cover(span);
                self.listing = false;
                return;
            }
        }
        self.prose(span);
    }

    fn item(&mut self, span: Span, body: Span, ticked: Option<bool>) {
        self.item_open = true;
        self.listing = true;
        self.blocks.push(Block { span, kind: BlockKind::Item { body, ticked } });
    }

    /// A line of text: it continues an item if it is indented, else it is prose.
    fn other(&mut self, span: Span, indent: usize, end: usize) {
        if self.item_open
            && indent > 0
            && let Some(Block { span: whole, kind: BlockKind::Item { body, .. } }) = self.blocks.last_mut()
        {
            *whole = whole.cover(span);
            *body = Span::new(body.start as usize, end);
            return;
        }
        if indent == 0 {
            self.listing = false;
        }
        self.prose(span);
    }
}

/// Columns of leading white space, tabs to the next multiple of four.
fn columns(space: &str) -> usize {
    space.chars().fold(0, |n, c| if c == '\t' { (n / 4 + 1) * 4 } else { n + 1 })
}

fn fence_opening(line: &str) -> Option<(char, usize)> {
    let c = line.chars().next().filter(|c| matches!(c, '`' | '~'))?;
    let n = line.chars().take_while(|x| *x == c).count();
    (n >= 3 && !(c == '`' && line[n..].contains('`'))).then_some((c, n))
}

/// `## text`, with or without the space that Markdown asks for where a digit follows.
fn heading(line: &str, indent: usize) -> Option<(u8, std::ops::Range<usize>)> {
    if indent > 3 {
        return None;
    }
    let level = line.bytes().take_while(|b| *b == b'#').count();
    let rest = line.get(level..)?;
    if !(1..=6).contains(&level)
        || !(rest.is_empty()
            || rest.starts_with([' ', '\t', '\u{a0}'])
            || rest.starts_with(|c: char| c.is_ascii_digit()))
    {
        return None;
    }
    let closed = rest.trim_end_matches('#');
    let rest = if closed.len() < rest.len() && (closed.is_empty() || closed.ends_with([' ', '\t'])) {
        closed
    } else {
        rest
    };
    let text = rest.trim();
    let start = level + (rest.len() - rest.trim_start().len());
    Some((u8::try_from(level).unwrap_or(6), start..start + text.len()))
}

fn underline(line: &str) -> Option<u8> {
    if line.bytes().all(|b| b == b'=') {
        Some(1)
    } else if line.len() >= 2 && line.bytes().all(|b| b == b'-') {
        Some(2)
    } else {
        None
    }
}

struct Marker {
    width: usize,
    ticked: Option<bool>,
}

/// `-`, `*`, `+`, `•`, a dash that looks like one, `1.` or `1)`, then white space, then perhaps a checkbox.
fn marker(line: &str) -> Option<Marker> {
    let first = line.chars().next()?;
    let mark = if matches!(first, '-' | '*' | '+' | '•' | '\u{2010}'..='\u{2015}' | '\u{2212}') {
        first.len_utf8()
    } else {
        let digits = line.bytes().take_while(u8::is_ascii_digit).count();
        if !(1..=9).contains(&digits) || !line[digits..].starts_with(['.', ')']) {
            return checkbox(line).map(|(width, ticked)| Marker { width, ticked: Some(ticked) });
        }
        digits + 1
    };
    let rest = &line[mark..];
    let gap = rest.len() - rest.trim_start().len();
    if gap == 0 {
        return None;
    }
    let body = mark + gap;
    Some(match checkbox(&line[body..]) {
        Some((width, ticked)) => Marker { width: body + width, ticked: Some(ticked) },
        None => Marker { width: body, ticked: None },
    })
}

/// The bytes of a marker with a word right behind it (`-spread`), unless it is emphasis (`*spread*`).
fn unspaced(line: &str) -> Option<usize> {
    let mark = line
        .chars()
        .next()
        .filter(|c| matches!(c, '-' | '*' | '+' | '•' | '\u{2010}'..='\u{2015}' | '\u{2212}'))?;
    let rest = line.get(mark.len_utf8()..)?;
    let emphasis = mark == '*' && rest.contains(mark);
    (rest.starts_with(char::is_alphabetic) && !emphasis).then_some(mark.len_utf8())
}

/// `[ ]`, `[x]` or `[]` and the white space after it, which a word right behind it does without.
fn checkbox(text: &str) -> Option<(usize, bool)> {
    let inner = text.strip_prefix('[')?;
    let close = inner.find(']').filter(|n| *n <= 4)?;
    let ticked = match inner[..close].trim() {
        "" => false,
        "x" | "X" | "✓" | "✔" => true,
        _ => return None,
    };
    let rest = &inner[close + 1..];
    let gap = rest.len() - rest.trim_start().len();
    (gap > 0 || rest.starts_with(char::is_alphanumeric)).then_some((close + 2 + gap, ticked))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str) -> Vec<String> {
        cut(text)
            .0
            .iter()
            .map(|b| match b.kind {
                BlockKind::Heading { level, text: t } => format!("h{level} {}", &text[t.range()]),
                BlockKind::Item { body, ticked } => format!("item {ticked:?} {:?}", &text[body.range()]),
                BlockKind::Prose => format!("prose {:?}", &text[b.span.range()]),
            })
            .collect()
    }

    #[test]
    fn headings_items_and_prose_are_told_apart() {
        let text = "\u{feff}# Spring\r\n\r\n## 2026-03-14 ##\r\nLorry came.\r\n- spread a\r\n  on b\r\n* two\n1. three\n- [ ] four\n- [x] five\n+ six\n\tseven\nprose\n";
        insta::assert_snapshot!(shown(text).join("\n"));
    }

    #[test]
    fn code_quotes_comments_and_front_matter_are_prose() {
        let text = "---\n- spread a\n---\n```\n- spread a\n```\n> - spread a\n<!--\n- spread a\n-->\n\n    - spread a\n~~~\n- spread b\n";
        assert!(cut(text).0.iter().all(|b| b.kind == BlockKind::Prose), "{:?}", shown(text));
    }

    #[test]
    fn an_underlined_line_is_a_heading_and_a_rule_after_a_list_is_not() {
        assert_eq!(shown("2026-03-14\n-----\n"), ["h2 2026-03-14"]);
        assert_eq!(shown("- a\n---\n"), ["item None \"a\"", "prose \"---\\n\""]);
        assert_eq!(shown("##2026-03-14\n"), ["h2 2026-03-14"]);
        assert_eq!(shown("#tag\n"), ["prose \"#tag\\n\""]);
    }

    #[test]
    fn a_box_needs_no_space_before_a_word_and_a_link_is_no_box() {
        assert_eq!(shown("- [ ]spread a\n"), ["item Some(false) \"spread a\""]);
        assert_eq!(shown("[x]spread a\n"), ["item Some(true) \"spread a\""]);
        assert_eq!(shown("- [x](photo.jpg)\n"), ["item None \"[x](photo.jpg)\""]);
    }

    #[test]
    fn lines_that_only_their_layout_makes_prose_are_handed_on() {
        let passed = |text: &str| -> Vec<(String, Layout)> {
            cut(text).1.iter().map(|p| (text[p.body.range()].to_owned(), p.layout)).collect()
        };
        let text = "Prose.\n\n    - spread a\n```\n- spread b\n```\n-spread c\n  *spread* d\n--\n-5 C\n~~~\n- [ ] spread e\nspread f\n";
        let expected = [
            ("spread a".to_owned(), Layout::Indented),
            ("spread c".to_owned(), Layout::Unspaced),
            ("spread e".to_owned(), Layout::Fenced(Span::new(73, 76))),
        ];
        assert_eq!(passed(text), expected);
        assert_eq!(passed("> - spread a\n<!--\n- spread b\n-->\n- c\n    - d\n"), []);
    }

    #[test]
    fn a_blank_line_ends_an_item() {
        assert_eq!(shown("- a\n\n  b\n"), ["item None \"a\"", "prose \"\\n  b\\n\""]);
    }
}
