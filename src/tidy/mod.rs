//! A quiet layout of what was understood: the same entries, evenly written.
//!
//! Comes in: a journal file cut up, and which of its items were understood as entries. Goes out: changes,
//! block by block. Only list markers, checkboxes, spaces and days in figures change: no word of the
//! grower's does, no line is added or taken away, and what is no entry stays byte for byte.

mod entry;
mod heading;
mod lists;
mod meaning;

use std::collections::{BTreeMap, BTreeSet};

pub use meaning::is_same;

use crate::{
    base::span::Span,
    model::{
        change::Change,
        frame::Frames,
        journal::{BlockKind, Item, JournalFile},
    },
};

/// The changes that tidy one block, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tidied {
    /// The block.
    pub block: Span,
    /// What changes in it.
    pub changes: Vec<Change>,
}

/// What would change. `understood` holds where the bodies of items begin that were read as entries; an
/// item that could not be read is left as it stands.
pub fn changes(journal: &JournalFile, frames: &Frames, understood: &BTreeSet<u32>) -> Vec<Tidied> {
    let items: BTreeMap<u32, &Item> = journal
        .items
        .iter()
        .filter(|i| understood.contains(&i.loc.span.start))
        .map(|i| (i.loc.span.start, i))
        .collect();
    let lists = lists::read(journal, |start| items.contains_key(&start));
    let mut out = Vec::new();
    for (n, block) in journal.blocks.iter().enumerate() {
        let changes = match block.kind {
            BlockKind::Heading { text, .. } => heading::changes(&journal.text, block.span, text),
            BlockKind::Item { body, ticked } => match items.get(&body.start) {
                // A carriage return without its line feed ends a line for some readers and not for others:
                // what stands around one is left to the grower.
                Some(item) if !has_lone_return(&journal.text, block.span) => {
                    let place = lists.get(&n).copied().unwrap_or_default();
                    entry::changes(&journal.text, block.span, body, ticked, item, frames, place)
                }
                _ => Vec::new(),
            },
            BlockKind::Prose => Vec::new(),
        };
        let text = &journal.text;
        let changes: Vec<Change> =
            changes.into_iter().filter(|c| text.get(c.span.range()) != Some(c.text.as_str())).collect();
        if !changes.is_empty() {
            out.push(Tidied { block: block.span, changes });
        }
    }
    out
}

fn has_lone_return(text: &str, block: Span) -> bool {
    let rest = text.get(block.start as usize..).unwrap_or("");
    let returns = text.get(block.range()).unwrap_or("").match_indices('\r');
    returns.into_iter().any(|(at, _)| rest.as_bytes().get(at + 1) != Some(&b'\n'))
}
