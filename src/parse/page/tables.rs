//! Tables of facts: a paragraph `Each row says: "…"` with the table after it.
//!
//! Comes in: paragraphs and tables in written order. Goes out: the sentences each row says, the columns
//! and the cells, still as text. It does not read what a cell holds.

use super::{Block, Reading};
use crate::{
    base::span::Span,
    model::page::{Page, Passage, TableText},
};

const LEAD: &str = "Each row says:";

impl Reading<'_> {
    /// Collects the tables that say something; other tables are for people.
    pub(super) fn tables(&mut self, blocks: &[Block], page: &mut Page) {
        for (n, block) in blocks.iter().enumerate() {
            let Block::Prose { span, paragraph: true } = block else { continue };
            let whole = self.text.get(span.range()).unwrap_or("").to_owned();
            if !whole.trim_start().to_lowercase().starts_with("each row says") {
                continue;
            }
            let says = self.quoted(&whole, *span);
            if says.is_empty() {
                self.fault(
                    *span,
                    "After “Each row says:” stand the sentences a row says, each in quotes.",
                    "Each row says: \"{word} is a material\"",
                );
                continue;
            }
            let Some(Block::Table { columns, rows, .. }) = blocks.get(n + 1) else {
                let message = if whole.lines().any(|l| l.trim_start().starts_with('|')) {
                    "Between “Each row says:” and its table belongs an empty line."
                } else {
                    "No table follows this “Each row says:”."
                };
                self.fault(*span, message, "");
                continue;
            };
            let columns: Vec<Passage> = columns
                .iter()
                .map(|c| {
                    let p = self.passage(c);
                    Passage { text: p.text.to_lowercase().into(), ..p }
                })
                .collect();
            let rows = rows.iter().map(|r| r.iter().map(|c| self.passage(c)).collect()).collect();
            page.tables.push(TableText { says, columns, rows });
        }
    }

    /// The stretches in double quotes, straight or curly.
    fn quoted(&mut self, text: &str, span: Span) -> Vec<Passage> {
        let is_quote = |c: char| matches!(c, '"' | '\u{201c}' | '\u{201d}');
        let base = span.start as usize;
        let mut open: Option<usize> = None;
        let mut all = Vec::new();
        for (at, c) in text.char_indices() {
            if !is_quote(c) {
                continue;
            }
            match open.take() {
                None => open = Some(at + c.len_utf8()),
                Some(from) => all.push(self.slice(Span::new(base + from, base + at))),
            }
        }
        if let Some(from) = open {
            let span = Span::new(base + from.saturating_sub(1), base + text.trim_end().len());
            self.fault(span, "This quotation is never closed.", &format!("{LEAD} \"…\""));
        }
        all
    }
}
