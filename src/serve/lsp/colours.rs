//! What each part of an entry is, for an editor to colour; and what to select around a place.
//!
//! Comes in: a check. Goes out: tokens in the protocol's numbers, or nested ranges. It chooses no colour.

use lsp_types::Position;
use serde_json::{Value, json};

use super::{at, round::Round};
use crate::{
    base::span::{FileId, Loc, Span},
    measure::value::Value as Filled,
    model::entry::{Entry, Filler},
};

/// The kinds of token, by their numbers.
pub const KINDS: &[&str] = &["keyword", "variable", "type", "number", "string", "event"];
/// What may be said of a token besides, by bits.
pub const ASIDES: &[&str] = &["declaration", "deprecated"];

const VERB: u32 = 0;
const NAME: u32 = 1;
const WORD: u32 = 2;
const AMOUNT: u32 = 3;
const DAY: u32 = 5;
const BEGINS: u32 = 1;
const WITHDRAWN: u32 = 2;

/// The tokens of a file, each counted from the one before.
pub fn tokens(round: &Round, file: FileId) -> Value {
    let mut found: Vec<(Span, u32, u32)> = Vec::new();
    for entry in round.checked.diary.entries.iter().filter(|e| e.loc.file == file) {
        let aside = if matches!(entry.standing, crate::model::entry::Standing::Withdrawn { .. }) {
            WITHDRAWN
        } else {
            0
        };
        found.push((entry.verb_loc.span, VERB, aside));
        for filled in entry.groups.iter().flat_map(|g| &g.slots).filter(|f| f.loc.file == file) {
            if let Some(kind) = kind(&filled.filler) {
                found.push((filled.loc.span, kind, aside));
            }
        }
    }
    for known in &round.checked.diary.things {
        let began = known.began.map(|(loc, _)| loc).filter(|loc| loc.file == file);
        if let Some(token) = began.and_then(|loc| found.iter_mut().find(|(s, ..)| *s == loc.span)) {
            token.2 |= BEGINS;
        }
    }
    // Where one token lies within another, the inner one is meant.
    found.sort_by_key(|(span, kind, _)| (span.start, span.end, *kind));
    found.dedup_by_key(|(span, ..)| *span);
    let lines = round.lines(file);
    let text = round.text(file);
    let mut data: Vec<u32> = Vec::new();
    let mut before = Position::default();
    let mut reached = 0;
    for (span, kind, aside) in found {
        let start = lines.position(text, span.start as usize, round.encoding);
        let end = lines.position(text, span.end as usize, round.encoding);
        if span.start < reached || start.line != end.line || span.is_empty() {
            continue;
        }
        reached = span.end;
        let lines_on = start.line - before.line;
        let columns = if lines_on == 0 { start.character - before.character } else { start.character };
        data.extend([lines_on, columns, end.character - start.character, kind, aside]);
        before = start;
    }
    json!({ "data": data })
}

fn kind(filler: &Filler) -> Option<u32> {
    Some(match filler {
        Filler::Value(Filled::Thing(_)) | Filler::Part(_) => NAME,
        Filler::Value(Filled::Word(_)) => WORD,
        Filler::Value(Filled::Days(_) | Filled::Clock(_)) => DAY,
        Filler::Value(Filled::Number(_) | Filled::Quantity(_))
        | Filler::Containers { .. }
        | Filler::CountOf { .. }
        | Filler::OfAll { .. }
        | Filler::Ratio(..)
        | Filler::Size(_)
        | Filler::Level { .. }
        | Filler::Reading { .. } => AMOUNT,
        _ => return None,
    })
}

/// For each position: what stands there, its entry, the whole text.
pub fn selections(round: &Round, file: FileId, positions: &[Position]) -> Value {
    let whole = Loc::new(file, Span::new(0, round.text(file).len()));
    let one = |position: &Position| {
        let offset = round.offset(file, *position);
        let mut around = vec![whole];
        if let Some(entry) = at::entry(round, file, offset) {
            around.push(entry.loc);
            around.extend(within(entry, file, offset));
        }
        around.iter().fold(Value::Null, |parent, loc| {
            let range = round.range(*loc);
            if parent.is_null() {
                json!({ "range": range })
            } else {
                json!({ "range": range, "parent": parent })
            }
        })
    };
    json!(positions.iter().map(one).collect::<Vec<_>>())
}

/// The smallest part of an entry at a byte.
fn within(entry: &Entry, file: FileId, offset: u32) -> Option<Loc> {
    let slots = entry.groups.iter().flat_map(|g| &g.slots).map(|f| f.loc).chain([entry.verb_loc]);
    let inner = slots.filter(|loc| at::holds(*loc, file, offset)).min_by_key(|loc| loc.span.len())?;
    let is_inside = entry.loc.span.start <= inner.span.start && inner.span.end <= entry.loc.span.end;
    (is_inside && inner != entry.loc).then_some(inner)
}
