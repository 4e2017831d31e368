//! Cuts what stands after an entry's verb into pieces, by the grammar of `grammar/journal.pest`.
//!
//! Comes in: the text of one entry. Goes out: pieces with their places in the file, and remarks. It
//! knows no units, names or clauses.

use pest::{Parser, iterators::Pair};
use pest_derive::Parser;

use crate::{
    base::span::{FileId, Loc, Span},
    measure::{
        date::{DayFault, Days, read_day},
        number::{self, Range},
    },
    model::{
        journal::{Piece, PieceKind},
        page::Passage,
    },
};

#[derive(Parser)]
#[grammar = "../grammar/journal.pest"]
struct EntryParser;

/// The pieces and the remarks of `text`, which stands at byte `offset` of its file.
pub fn pieces(file: FileId, text: &str, offset: usize) -> (Vec<Piece>, Vec<Passage>) {
    let mut pieces = Vec::new();
    let mut remarks = Vec::new();
    // The grammar takes any text; should it ever not, the entry is empty and its need is reported.
    let Ok(parsed) = EntryParser::parse(Rule::entry, text) else { return (pieces, remarks) };
    let mut end = 0;
    for pair in parsed.flat_map(Pair::into_inner) {
        let (from, to) = (pair.as_span().start(), pair.as_span().end());
        let gap = from > end || from == 0;
        end = to;
        let (mut span, mut kind) = (from..to, PieceKind::Word);
        let slice = pair.as_str();
        match pair.as_rule() {
            Rule::remark => {
                let loc = Loc::new(file, Span::new(offset + from, offset + to));
                remarks.push(Passage { loc, text: slice.trim_matches(['(', ')']).trim().into() });
                continue;
            }
            Rule::quoted => {
                let inner =
                    pair.into_inner().next().map_or(from..to, |p| p.as_span().start()..p.as_span().end());
                kind = PieceKind::Quoted(Span::new(offset + inner.start, offset + inner.end));
            }
            Rule::unclosed => kind = PieceKind::Unclosed,
            Rule::day | Rule::slashed_day => {
                kind = match read_day(slice) {
                    Ok(day) => PieceKind::Day(Days::on(day)),
                    Err(fault) => PieceKind::BadDay(fault),
                };
            }
            Rule::month => {
                let month = slice.get(..4).zip(slice.get(slice.len() - 2..));
                let days = month.and_then(|(y, m)| Days::month(y.parse().ok()?, m.parse().ok()?));
                kind = days.map_or(PieceKind::BadDay(DayFault::NoSuchDay), PieceKind::Day);
            }
            Rule::pair => {
                let mut sides = pair.into_inner().map(|p| p.as_str().parse::<f64>().unwrap_or(0.0));
                let (a, b) = (sides.next().unwrap_or(0.0), sides.next().unwrap_or(0.0));
                kind = PieceKind::Pair(Range::exact(a), Range::exact(b));
            }
            Rule::number => {
                kind = number::read(slice)
                    .filter(|(_, len)| *len == slice.len())
                    .map_or(PieceKind::BadNumber, |(range, _)| PieceKind::Number(range));
            }
            Rule::comma => kind = PieceKind::Comma,
            Rule::semicolon => kind = PieceKind::Semicolon,
            Rule::colon => kind = PieceKind::Colon,
            Rule::word => match trimmed(slice, gap) {
                Some(kept) => span = from + kept.start..from + kept.end,
                None => continue,
            },
            Rule::sign | Rule::mark => {}
            // A stray sign and the end of the text say nothing.
            _ => continue,
        }
        pieces.push(Piece { span: Span::new(offset + span.start, offset + span.end), kind, gap });
    }
    (pieces, remarks)
}

/// A word without the stops at its end, and without a dash that joins it to the number before it
/// (`5-gal`). Signs that no clause reads, such as emoji alone, are none.
fn trimmed(word: &str, gap: bool) -> Option<std::ops::Range<usize>> {
    let end = word.trim_end_matches(['.', '!', '?', '\u{2026}']).len();
    let kept = &word[..end];
    let start =
        if gap { 0 } else { kept.len() - kept.trim_start_matches(['-', '\u{2010}', '\u{2011}']).len() };
    let kept = &kept[start..];
    let says = kept.chars().any(|c| c.is_alphanumeric() || c == '%' || c == '°')
        || matches!(kept, "-" | "\u{2013}" | "\u{2014}" | "+" | "/");
    says.then_some(start..end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn shown(text: &str) -> String {
        let (pieces, remarks) = pieces(FileId(0), text, 0);
        let mut out: Vec<String> = pieces
            .iter()
            .map(|p| {
                let slice = &text[p.span.range()];
                let glued = if p.gap { "" } else { "+" };
                let range = |r: &Range| {
                    if r.is_exact() { format!("{}", r.low()) } else { format!("{}..{}", r.low(), r.high()) }
                };
                match &p.kind {
                    PieceKind::Word => format!("{glued}{slice}"),
                    PieceKind::Quoted(inner) => format!("quoted {}", &text[inner.range()]),
                    PieceKind::Unclosed => format!("unclosed {slice}"),
                    PieceKind::Number(r) => format!("{glued}#{}", range(r)),
                    PieceKind::Pair(a, b) => format!("{}:{}", range(a), range(b)),
                    PieceKind::Day(d) => format!("day {} {}", d.first, d.last),
                    PieceKind::BadDay(f) => format!("bad {f:?}"),
                    PieceKind::BadNumber => format!("no number {slice}"),
                    PieceKind::Comma => ",".into(),
                    PieceKind::Semicolon => ";".into(),
                    PieceKind::Colon => ":".into(),
                }
            })
            .collect();
        out.extend(remarks.iter().map(|r| format!("remark {}", r.text)));
        out.join(" | ")
    }

    #[test]
    fn entries_are_cut_into_pieces() {
        let lines = [
            " lot tern-26 on north-1 and north-2, 3 in deep",
            " 5-6 yd3 compost from Hobb & Daughter, £40",
            " 8 5-gal buckets, 2 1/2 lb, 1,200 l, 2½ kg, 12mm, 3\" deep, 30' x 4'",
            " batch b3: 10:20 150 F, 10:35 161°F; 2:1 with x",
            " -1 C, \u{2212}2 C, 10\u{2013}12 pots, beds 1-6",
            " tomato \"Black Krim\" and \u{201c}Sun Gold\u{201d} and 'Leek X'",
            " tomato \"Black Krim in north-1",
            " since 2026-05-30, 2026-02-30, 3/4/26, 2026-05",
            " lot a (the wet one) on north-1 🍅.",
            " Barry's lot\u{a0}x\tat *once*",
            "",
        ];
        let read: Vec<String> = lines.iter().map(|l| format!("{l}\n    {}", shown(l))).collect();
        insta::assert_snapshot!(read.join("\n"));
    }

    proptest! {
        #[test]
        fn pieces_lie_in_order_on_character_boundaries(text in "\\PC*") {
            let (pieces, _) = pieces(FileId(0), &text, 0);
            let mut end = 0;
            for piece in pieces {
                let span = piece.span.range();
                prop_assert!(span.start >= end && span.end > span.start);
                prop_assert!(text.get(span.clone()).is_some());
                end = span.end;
            }
        }
    }
}
