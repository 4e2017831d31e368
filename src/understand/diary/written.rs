//! The units a farm writes, counted, and the ones that mean two things.
//!
//! Comes in: the entries' texts. Goes out: for each dimension the units written, most first, for display; and
//! one diagnostic if gallon, quart, pint or ton is used while the farm does not say which it keeps.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::{Loc, Span},
    },
    measure::{
        display::Units,
        number,
        unit::{self, Dimension, Meant, Unit},
    },
    model::entry::Entry,
};

use super::Context;

/// The units that some entries write, counted.
#[derive(Debug, Clone, Default)]
pub struct Counted {
    counts: BTreeMap<(Dimension, Unit), usize>,
    /// The first that means two things: where, the word, and which two.
    unsettled: Option<(Loc, String, Unit, Unit)>,
}

/// Counts the units of entries.
pub fn counted(entries: &[Entry], cx: &Context<'_>) -> Counted {
    let mut out = Counted::default();
    for e in entries {
        for (at, meant, len) in in_text(cx.text(e.loc)) {
            match meant.settle(cx.system) {
                Some(u) => {
                    if let Some(d) = u.dimension() {
                        *out.counts.entry((d, u)).or_default() += 1;
                    }
                }
                None => {
                    let Meant::Either { us, imperial } = meant else { continue };
                    let start = e.loc.span.start as usize + at;
                    let loc = Loc::new(e.loc.file, Span::new(start, start + len));
                    out.unsettled.get_or_insert_with(|| (loc, cx.text(loc).to_owned(), us, imperial));
                }
            }
        }
    }
    out
}

/// The units written for each dimension, the one written most first; equals by the alphabet. Areas of
/// which none is written go by the unit of lengths. What was counted is in the order of files.
pub fn units(all: &[Arc<Counted>], said: &mut Vec<Diagnostic>) -> Units {
    let mut counts: BTreeMap<(Dimension, Unit), usize> = BTreeMap::new();
    for (unit, n) in all.iter().flat_map(|c| &c.counts) {
        *counts.entry(*unit).or_default() += n;
    }
    let unsettled = all.iter().find_map(|c| c.unsettled.as_ref());
    if let Some((loc, word, us, imperial)) = unsettled {
        let in_us = us.quantity(number::Range::exact(1.0));
        let in_imperial = imperial.quantity(number::Range::exact(1.0));
        let gap = match (in_us, in_imperial) {
            (Some(a), Some(b)) if a.size.low() > 0.0 => {
                format!(", which is {:.0} % more", (b.size.low() / a.size.low() - 1.0) * 100.0)
            }
            _ => String::new(),
        };
        said.push(
            Diagnostic::new(
                "unsettled-measure",
                Severity::Hint,
                format!("`{word}` may be US or imperial{gap}; until the farm says which, the amount is open"),
            )
            .at(*loc, "which?")
            .remark(RemarkKind::Write, "- farm: imperial")
            .remark(RemarkKind::Write, "- farm: US"),
        );
    }
    let mut ordered: Vec<(Dimension, std::cmp::Reverse<usize>, Unit)> =
        counts.into_iter().map(|((d, u), n)| (d, std::cmp::Reverse(n), u)).collect();
    ordered.sort();
    let mut units = Units::new();
    for (d, _, u) in ordered {
        units.entry(d).or_default().push(u);
    }
    // Beds are written as 30 ft x 4 ft, never as an area.
    if units.get(&Dimension::Length).is_some_and(|l| l.iter().any(|u| matches!(u.0, "ft" | "yd"))) {
        units.entry(Dimension::Area).or_insert_with(|| vec![Unit("ft2")]);
    }
    units
}

/// Every number followed by a unit: where the unit stands, what it means, how long it is.
fn in_text(text: &str) -> Vec<(usize, Meant, usize)> {
    let mut out = Vec::new();
    let mut at = 0;
    let mut inside_word = false;
    while let Some(c) = text.get(at..).and_then(|t| t.chars().next()) {
        let rest = text.get(at..).unwrap_or("");
        if c.is_ascii_digit()
            && !inside_word
            && let Some((_, len)) = number::read(rest).filter(|(_, len)| *len > 0)
        {
            at += len;
            let after = text.get(at..).unwrap_or("");
            let gap = after.len() - after.trim_start_matches(is_gap).len();
            if let Some((meant, len)) = text.get(at + gap..).and_then(unit::read) {
                out.push((at + gap, meant, len));
                at += gap + len;
            }
            inside_word = false;
            continue;
        }
        // `east-1 in the tunnel` holds no inch.
        inside_word = c.is_alphanumeric() || inside_word && c == '-';
        at += c.len_utf8();
    }
    out
}

/// What may stand between a number and its unit on one line.
fn is_gap(c: char) -> bool {
    c == '-' || c.is_whitespace() && !matches!(c, '\n' | '\r')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_found_after_their_numbers_only() {
        let found: Vec<usize> =
            in_text("received 6 yd3 of b3 in 8 5-gal buckets, 3 in deep").into_iter().map(|f| f.0).collect();
        assert_eq!(found, [11, 28, 43]);
        assert!(in_text("bed glass-1 in glass lean-to").is_empty(), "a name's number has no unit");
    }
}
