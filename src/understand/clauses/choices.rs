//! What may stand where an entry lacks a word of a table, and what an entry begins.
//!
//! Comes in: what was read of an entry, and the slots it leaves empty. Goes out: the words that fill them, the
//! grower's own line with a gap, names. It says nothing itself.

use std::collections::BTreeSet;

use super::{reader::Reader, say::listed};
use crate::{
    measure::{display, value::Value},
    model::{
        entry::Filler,
        frame::{Frame, Lead, Slot, Takes},
    },
};

/// The kind of word that a slot takes, where tables alone say what there is of it, and no name will do.
pub fn of_table(slot: &Slot) -> Option<&str> {
    let named = slot.takes.iter().any(|t| matches!(t, Takes::Thing(_)));
    slot.takes.iter().filter(|_| !named).find_map(|takes| match takes {
        Takes::Word(kind) => {
            let many = matches!(&**kind, "crop" | "sign" | "material" | "substance" | "strain");
            (!many).then_some(&**kind)
        }
        _ => None,
    })
}

/// How many words of a kind are told at most; of more only the command that lists them.
const WORDS: usize = 12;

/// The words that can fill what is lacking, and the command that tells what else each is called.
pub fn choices(reader: &Reader<'_>, lacking: &[&Slot]) -> Option<String> {
    let kind = lacking.iter().find_map(|slot| of_table(slot))?;
    let words: BTreeSet<&str> = reader.lex.words.spellings(kind).map(|(_, word)| word).collect();
    let words: Vec<String> = words.into_iter().map(str::to_owned).collect();
    let quoted = if kind.contains(' ') { format!("\"{kind}\"") } else { kind.to_owned() };
    match words.len() {
        0 => None,
        1..=WORDS => {
            let all = listed(&words, "or");
            Some(format!("it may be {all}; `haulm words {quoted}` tells what else each is called"))
        }
        _ => Some(format!("`haulm words {quoted}` lists them")),
    }
}

/// The grower's own line with a gap in place of the words that are not read, where these stand for the one thing that
/// is lacking and a table says what there is.
pub fn gap_for_unread(reader: &Reader<'_>, lacking: &[&Slot]) -> Option<String> {
    let ([slot], [(from, to)]) = (lacking, reader.unread.as_slice()) else { return None };
    of_table(slot)?;
    let led = slot.leads.iter().any(|l| matches!(l, Lead::Word(w) if reader.line.is(*from, w)));
    let (whole, gap) = (reader.item.loc.span, reader.line.loc(from + usize::from(led), *to).span);
    let cut = |from: u32, to: u32| reader.line.text.get(from as usize..to as usize).unwrap_or("");
    let line = format!("{}\u{2026}{}", cut(whole.start, gap.start), cut(gap.end, whole.end));
    Some(format!("- {}", line.split_whitespace().collect::<Vec<_>>().join(" ")))
}

/// `sprayed north-1 with`: the grower's own line with a gap at its end, where it breaks off after the word that leads
/// to what is lacking.
pub fn gap_at_end(reader: &Reader<'_>, lacking: &[&Slot]) -> Option<String> {
    let last = reader.line.len().checked_sub(1)?;
    let led =
        |slot: &&&Slot| slot.leads.iter().any(|l| matches!(l, Lead::Word(w) if reader.line.is(last, w)));
    lacking.iter().find(led)?;
    let whole = reader.item.loc.span;
    let line = reader.line.text.get(whole.start as usize..whole.end as usize)?;
    Some(format!("- {} \u{2026}", line.split_whitespace().collect::<Vec<_>>().join(" ")))
}

/// The names of what an entry with these slots filled begins.
pub fn begun<'f>(frame: &Frame, filled: impl Iterator<Item = (&'f str, &'f Filler)>) -> Vec<String> {
    let begins =
        |slot: &str| frame.slot(slot).is_some_and(|s| s.takes.iter().any(|t| matches!(t, Takes::New(_))));
    let names: BTreeSet<String> = filled
        .filter_map(|(slot, filler)| match filler {
            Filler::Value(Value::Thing(thing)) if begins(slot) => Some(display::thing(thing)),
            _ => None,
        })
        .collect();
    names.into_iter().collect()
}
