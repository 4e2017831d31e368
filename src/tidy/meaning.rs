//! Whether two readings of a file mean the same, spaces and places aside.
//!
//! Comes in: a file cut up before and after. Goes out: yes or no. It looks up no name: what the pieces of
//! an entry mean depends on nothing that is compared here less than wholly.

use crate::model::journal::{BlockKind, Item, JournalFile, Piece, PieceKind};

/// Whether the blocks, days and entries of two readings are the same but for white space.
pub fn is_same(a: &JournalFile, b: &JournalFile) -> bool {
    let said = |j: &JournalFile| {
        j.diagnostics.iter().map(|d| (d.code.clone(), d.message.clone())).collect::<Vec<_>>()
    };
    let asides = |j: &JournalFile| {
        j.asides
            .iter()
            .map(|x| (j.text.get(x.loc.span.range()).map(str::to_owned), x.when))
            .collect::<Vec<_>>()
    };
    a.blocks.len() == b.blocks.len()
        && a.blocks.iter().zip(&b.blocks).all(|(x, y)| match (x.kind, y.kind) {
            (BlockKind::Prose, BlockKind::Prose) => a.text.get(x.span.range()) == b.text.get(y.span.range()),
            (BlockKind::Heading { level, .. }, BlockKind::Heading { level: other, .. }) => level == other,
            (BlockKind::Item { ticked, .. }, BlockKind::Item { ticked: other, .. }) => ticked == other,
            _ => false,
        })
        && a.system.map(|s| s.0) == b.system.map(|s| s.0)
        && a.items.len() == b.items.len()
        && a.items.iter().zip(&b.items).all(|(x, y)| same_item((a, x), (b, y)))
        && said(a) == said(b)
        && asides(a) == asides(b)
}

fn same_item((a, x): (&JournalFile, &Item), (b, y): (&JournalFile, &Item)) -> bool {
    let words =
        |text: Option<&str>| text.map(|t| t.split_whitespace().map(str::to_owned).collect::<Vec<_>>());
    let slice = |j: &JournalFile, p: &Piece| match &p.kind {
        PieceKind::Quoted(inner) => words(j.text.get(inner.range())),
        _ => words(j.text.get(p.span.range())),
    };
    let kind = |p: &Piece| match &p.kind {
        // Where the words in quotes stand is no part of what they say.
        PieceKind::Quoted(_) => PieceKind::Quoted(crate::base::span::Span::default()),
        other => other.clone(),
    };
    let remarks = |i: &Item| i.remarks.iter().map(|r| words(Some(&r.text))).collect::<Vec<_>>();
    (x.when, x.ticked, x.plan_to, x.clock, x.base_form) == (y.when, y.ticked, y.plan_to, y.clock, y.base_form)
        && x.verb == y.verb
        && x.written == y.written
        && remarks(x) == remarks(y)
        && x.pieces.len() == y.pieces.len()
        && x.pieces.iter().zip(&y.pieces).all(|(p, q)| kind(p) == kind(q) && slice(a, p) == slice(b, q))
        && joins(&x.pieces) == joins(&y.pieces)
}

/// What stands close to what: words to the word before them, and a comma to the words on both sides of it.
fn joins(pieces: &[Piece]) -> Vec<bool> {
    let is_comma = |p: &Piece| matches!(p.kind, PieceKind::Comma | PieceKind::Semicolon);
    let joined = pieces.iter().enumerate().map(|(n, piece)| {
        let next = pieces.get(n + 1);
        let before = n.checked_sub(1).and_then(|n| pieces.get(n));
        match before {
            _ if is_comma(piece) => !piece.gap && next.is_some_and(|p| !p.gap),
            Some(before) if is_comma(before) => !piece.gap && !before.gap,
            _ => !piece.gap,
        }
    });
    joined.collect()
}
