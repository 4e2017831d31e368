//! Which items belong to one list, and what may be done to their markers.
//!
//! Comes in: the blocks of a file. Goes out: for each item whether its whole list is entries, and whether
//! anything is nested in it. Another marker in the middle of a list would part it in two, so a list with
//! prose among its items keeps its markers.

use std::collections::BTreeMap;

use crate::model::journal::{Block, BlockKind, JournalFile};

/// Where an item stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Place {
    /// Every item of its list is an entry.
    pub among_entries: bool,
    /// Nothing is nested in it.
    pub alone: bool,
}

struct List {
    items: Vec<usize>,
    /// Where the text of its last item begins once it is tidy, in columns.
    content: usize,
    all_entries: bool,
}

/// The place of each item, by the number of its block.
pub fn read(journal: &JournalFile, is_entry: impl Fn(u32) -> bool) -> BTreeMap<usize, Place> {
    let mut open: Vec<List> = Vec::new();
    let mut found = BTreeMap::new();
    let close = |list: List, found: &mut BTreeMap<usize, Place>| {
        for item in list.items {
            found.entry(item).or_insert(Place { among_entries: false, alone: true }).among_entries =
                list.all_entries;
        }
    };
    for (n, block) in journal.blocks.iter().enumerate() {
        match block.kind {
            BlockKind::Item { body, .. } => {
                let indent = lines(&journal.text, block).next().map_or(0, indent);
                let content = content(&journal.text, block, body.start as usize);
                // Deeper than the text of an item is a list within it; less deep ends such a list.
                while open.len() > 1 && open.get(open.len() - 2).is_some_and(|outer| indent < outer.content) {
                    open.pop().into_iter().for_each(|list| close(list, &mut found));
                }
                let entry = is_entry(body.start);
                match open.last_mut() {
                    Some(list) if indent < list.content => {
                        list.items.push(n);
                        list.content = content;
                        list.all_entries &= entry;
                    }
                    outer => {
                        if let Some(last) = outer.and_then(|list| list.items.last()) {
                            found.insert(*last, Place { among_entries: false, alone: false });
                        }
                        open.push(List { items: vec![n], content, all_entries: entry });
                    }
                }
            }
            BlockKind::Prose => {
                for line in lines(&journal.text, block).filter(|line| !line.trim().is_empty()) {
                    if indent(line) == 0 {
                        open.drain(..).for_each(|list| close(list, &mut found));
                    } else if let Some(last) = open.last().and_then(|list| list.items.last()) {
                        found.insert(*last, Place { among_entries: false, alone: false });
                    }
                }
            }
            BlockKind::Heading { .. } => {
                open.drain(..).for_each(|list| close(list, &mut found));
            }
        }
    }
    open.into_iter().for_each(|list| close(list, &mut found));
    found
}

fn lines<'t>(text: &'t str, block: &Block) -> impl Iterator<Item = &'t str> {
    text.get(block.span.range()).unwrap_or("").trim_start_matches('\u{feff}').lines()
}

/// Columns of white space a line begins with, tabs to the next multiple of four.
pub fn indent(line: &str) -> usize {
    columns(line.chars().take_while(|c| c.is_whitespace()))
}

fn columns(chars: impl Iterator<Item = char>) -> usize {
    chars.fold(0, |n, c| if c == '\t' { (n / 4 + 1) * 4 } else { n + 1 })
}

/// The column where an item's text begins once its marker is tidy, whatever it is now: tidying a list then
/// leaves what is nested in what as it was.
fn content(text: &str, block: &Block, body: usize) -> usize {
    let before = text.get(block.span.start as usize..body).unwrap_or("").trim_start_matches('\u{feff}');
    let marker = before.trim_start().split(|c: char| c.is_whitespace() || c == '[').next().unwrap_or("");
    indent(before) + marker.chars().count().max(1) + 1
}
