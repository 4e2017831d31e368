//! A Markdown text cut into the blocks a rule page is made of, each with its place.
//!
//! Comes in: the text of a page. Goes out: headings, paragraphs, fences and tables in written order.
//! It does not know what any of them means.

use std::ops::Range;

use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, Options, Parser, Tag, TagEnd};

use crate::base::span::Span;

/// A stretch of plain text with where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    /// Where, in the page's bytes.
    pub span: Span,
    /// The words, mark-up left out.
    pub text: String,
}

/// A block of a page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Block {
    /// A heading with its level, 1 to 6.
    Heading {
        /// 1 for `#`.
        level: usize,
        /// Its words.
        text: Text,
    },
    /// A paragraph, list, quotation or anything else that is only read by people.
    Prose {
        /// Where.
        span: Span,
        /// Whether it is a paragraph of its own, which may carry `Severity:` or `Each row says:`.
        paragraph: bool,
    },
    /// A fenced or indented block of code.
    Fence(Fence),
    /// A table.
    Table {
        /// The whole table.
        span: Span,
        /// Header cells.
        columns: Vec<Text>,
        /// Rows of cells.
        rows: Vec<Vec<Text>>,
    },
}

/// A fenced block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fence {
    /// The whole block, fence lines included.
    pub span: Span,
    /// The words after the opening fence (`sentences reckon lineage`).
    pub info: String,
    /// Its lines without their breaks, with where each stands.
    pub lines: Vec<Text>,
    /// Whether a closing fence was written.
    pub closed: bool,
}

/// Cuts a page into blocks. Byte positions are those of `text`, a byte-order mark counted.
pub fn cut(text: &str) -> Vec<Block> {
    let lead = if text.starts_with('\u{feff}') { '\u{feff}'.len_utf8() } else { 0 };
    let body = text.get(lead..).unwrap_or("");
    let mut cutter = Cutter { body, lead, blocks: Vec::new(), depth: 0, open: Vec::new() };
    for (event, range) in Parser::new_ext(body, Options::ENABLE_TABLES).into_offset_iter() {
        cutter.take(event, range);
    }
    cutter.blocks
}

/// What is being collected between a start and its end.
enum Open {
    Heading { level: usize, words: String, span: Range<usize> },
    Fence { info: String, lines: Vec<Text>, span: Range<usize>, mid_line: bool },
    Table { columns: Vec<Text>, rows: Vec<Vec<Text>>, span: Range<usize>, cell: String, row: Vec<Text> },
}

struct Cutter<'a> {
    body: &'a str,
    lead: usize,
    blocks: Vec<Block>,
    depth: usize,
    open: Vec<Open>,
}

impl Cutter<'_> {
    fn span(&self, range: &Range<usize>) -> Span {
        Span::new(range.start + self.lead, range.end + self.lead)
    }

    /// The range without white space (and table bars) at its ends.
    fn tight(&self, range: &Range<usize>) -> Range<usize> {
        let Some(slice) = self.body.get(range.clone()) else { return range.clone() };
        let edge = |c: char| c.is_whitespace() || c == '|';
        let start = range.start + (slice.len() - slice.trim_start_matches(edge).len());
        let end = start + slice.trim_matches(edge).len();
        start..end
    }

    fn take(&mut self, event: Event<'_>, range: Range<usize>) {
        match event {
            Event::Start(tag) => {
                self.start(&tag, range);
                self.depth += 1;
            }
            Event::End(end) => {
                self.depth = self.depth.saturating_sub(1);
                self.end(end, &range);
            }
            Event::Text(words) => self.words(&words, range),
            Event::Code(words) | Event::InlineHtml(words) | Event::Html(words) => self.inline(&words),
            Event::SoftBreak | Event::HardBreak => self.inline(" "),
            Event::Rule if self.depth == 0 => {
                let span = self.span(&range);
                self.blocks.push(Block::Prose { span, paragraph: false });
            }
            _ => {}
        }
    }

    fn start(&mut self, tag: &Tag<'_>, range: Range<usize>) {
        match tag {
            Tag::Heading { level, .. } => {
                self.open.push(Open::Heading { level: number(*level), words: String::new(), span: range });
            }
            Tag::CodeBlock(kind) => {
                let info = match kind {
                    CodeBlockKind::Fenced(info) => info.split_whitespace().collect::<Vec<_>>().join(" "),
                    CodeBlockKind::Indented => String::new(),
                };
                self.open.push(Open::Fence { info, lines: Vec::new(), span: range, mid_line: false });
            }
            Tag::Table(_) => self.open.push(Open::Table {
                columns: Vec::new(),
                rows: Vec::new(),
                span: range,
                cell: String::new(),
                row: Vec::new(),
            }),
            tag if self.depth == 0 => {
                let span = self.span(&range);
                self.blocks.push(Block::Prose { span, paragraph: matches!(tag, Tag::Paragraph) });
            }
            _ => {}
        }
    }

    fn words(&mut self, words: &str, range: Range<usize>) {
        let lead = self.lead;
        let Some(Open::Fence { lines, mid_line, .. }) = self.open.last_mut() else {
            return self.inline(words);
        };
        let mut at = range.start;
        for line in words.split_inclusive('\n') {
            let text = line.trim_end_matches(['\n', '\r']);
            let span = Span::new(at + lead, at + text.len() + lead);
            match lines.last_mut() {
                // A line may come in several pieces, its break last.
                Some(last) if *mid_line => {
                    last.text.push_str(text);
                    if !text.is_empty() {
                        last.span = last.span.cover(span);
                    }
                }
                _ => lines.push(Text { span, text: text.to_owned() }),
            }
            *mid_line = !line.ends_with('\n');
            at += line.len();
        }
    }

    fn inline(&mut self, words: &str) {
        if let Some(Open::Heading { words: all, .. } | Open::Table { cell: all, .. }) = self.open.last_mut() {
            all.push_str(words);
        }
    }

    fn end(&mut self, end: TagEnd, range: &Range<usize>) {
        let tight = self.tight(range);
        let cell_span = self.span(&tight);
        match end {
            TagEnd::TableCell => {
                if let Some(Open::Table { cell, row, .. }) = self.open.last_mut() {
                    let text = std::mem::take(cell).split_whitespace().collect::<Vec<_>>().join(" ");
                    row.push(Text { span: cell_span, text });
                }
            }
            TagEnd::TableHead => {
                if let Some(Open::Table { columns, row, .. }) = self.open.last_mut() {
                    *columns = std::mem::take(row);
                }
            }
            TagEnd::TableRow => {
                if let Some(Open::Table { rows, row, .. }) = self.open.last_mut() {
                    rows.push(std::mem::take(row));
                }
            }
            TagEnd::Heading(_) | TagEnd::CodeBlock | TagEnd::Table => {
                if let Some(open) = self.open.pop() {
                    let block = self.finish(open);
                    self.blocks.push(block);
                }
            }
            _ => {}
        }
    }

    fn finish(&self, open: Open) -> Block {
        match open {
            Open::Heading { level, words, span } => {
                let slice = self.body.get(span.clone()).unwrap_or("");
                let marks = slice.len() - slice.trim_start_matches(['#', ' ', '\t']).len();
                let start = span.start + marks;
                let end =
                    start + slice.get(marks..).and_then(|s| s.lines().next()).unwrap_or("").trim_end().len();
                Block::Heading {
                    level,
                    text: Text { span: self.span(&(start..end)), text: words.trim().to_owned() },
                }
            }
            Open::Fence { info, lines, span, .. } => {
                let slice = self.body.get(span.clone()).unwrap_or("");
                let last = slice.trim_end().lines().last().unwrap_or("").trim_start_matches([' ', '\t', '>']);
                let closed = slice.trim_end().lines().count() > 1
                    && (last.starts_with("```") || last.starts_with("~~~"))
                    && last.trim_matches(['`', '~', ' ']).is_empty();
                Block::Fence(Fence { span: self.span(&span), info, lines, closed })
            }
            Open::Table { columns, rows, span, .. } => Block::Table { span: self.span(&span), columns, rows },
        }
    }
}

fn number(level: HeadingLevel) -> usize {
    level as usize
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_of_a_fence_stands_where_its_span_says() {
        let text = "\u{feff}# a\r\n\r\n```rule\r\nif é is b\r\nthen c\r\n```\r\n\r\n- item\n\n  ```rule\n  if x\n  then y\n  ```\n";
        let fences: Vec<Fence> = cut(text)
            .into_iter()
            .filter_map(|b| if let Block::Fence(f) = b { Some(f) } else { None })
            .collect();
        assert_eq!(fences.len(), 2);
        for line in fences.iter().flat_map(|f| &f.lines) {
            assert_eq!(&text[line.span.range()], line.text);
        }
        assert!(fences.iter().all(|f| f.closed));
    }

    #[test]
    fn a_cell_stands_where_its_span_says() {
        let text = "| a | two words |\n|---|---|\n| *x* |  |\n| `1` | y, z |\n";
        let Some(Block::Table { columns, rows, .. }) = cut(text).into_iter().next() else {
            unreachable!("a table")
        };
        assert_eq!(columns[1].text, "two words");
        assert_eq!(&text[columns[1].span.range()], "two words");
        assert_eq!(rows[0][0].text, "x");
        assert_eq!(rows[0][1].text, "");
        assert_eq!(&text[rows[1][1].span.range()], "y, z");
    }

    #[test]
    fn a_fence_left_open_is_known_as_such() {
        let blocks = cut("```journal\n- x\n");
        assert!(matches!(&blocks[0], Block::Fence(f) if !f.closed && f.lines.len() == 1));
        let blocks = cut("```journal");
        assert!(matches!(&blocks[0], Block::Fence(f) if !f.closed));
    }
}
