//! The names a declaration begins with: `bed north-1`, `beds n-1, n-2 and n-3`, `bed m-1 to m-4`.
//!
//! Comes in: a line and the kind word before it. Goes out: its names and where they stand. What
//! follows them, a size or a room, is read as clauses.

use super::{kinds::kind_word, line::Line};
use crate::{base::name::fold, measure::unit::Dimension, model::journal::PieceKind};

/// The most places one declared range may name.
const MOST_IN_A_RANGE: i64 = 200;

/// Words that lead a clause elsewhere and may begin the name of a place.
const FIRST_WORDS: &[&str] =
    &["at", "between", "by", "deep", "limit", "long", "made", "mixed", "over", "so", "wide", "wind"];

/// The names of a declaration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Declared {
    /// Each name with the pieces it stands at.
    pub names: Vec<(String, usize, usize)>,
    /// The piece after them.
    pub next: usize,
}

/// The names that stand after the kind word `written`; `None` where none does.
pub fn declared(line: &Line<'_>, written: &str) -> Option<Declared> {
    let many = is_plural(written);
    let mut names: Vec<(String, usize, usize)> = Vec::new();
    let (mut at, mut next) = (0, 0);
    while let Some(end) = end_of(line, at, true) {
        let name = line.slice(at, end);
        if let Some((first, ..)) = names.first()
            && !many
            && !alike(first, &name)
        {
            break;
        }
        next = end;
        match line.kind(at) {
            // `beds 1-6`
            Some(PieceKind::Number(range)) if many && end == at + 1 && !range.is_exact() => {
                let numbers = numbers(range.low(), range.high());
                names.extend(numbers.into_iter().flatten().map(|n| (n.to_string(), at, end)));
            }
            _ => match up_to(line, &name, end) {
                Some((range, after)) => {
                    names.extend(range.into_iter().map(|n| (n, at, after)));
                    next = after;
                }
                None => names.push((name, at, end)),
            },
        }
        at = next;
        while line.joins(at) {
            at += 1;
        }
        if at == next {
            break;
        }
    }
    // One place may be called by two words: `person Ash & Bole`.
    if names.len() == 1
        && !many
        && let Some(end) = end_of(line, 0, false).filter(|end| *end > next)
    {
        return Some(Declared { names: vec![(line.slice(0, end), 0, end)], next: end });
    }
    (!names.is_empty()).then_some(Declared { names, next })
}

/// Whether a kind word names several: `beds`, but not `animals`, which has no singular here.
pub fn is_plural(written: &str) -> bool {
    kind_word(written).is_some_and(|(kind, many)| many && kind != written)
}

/// Whether several places are declared here, rather than talked of (`beds look dry`): two names or
/// more, all with a number in them or with a size after them.
pub fn declares_several(line: &Line<'_>, written: &str) -> bool {
    let Some(found) = declared(line, written) else { return false };
    let numbered = |name: &str| name.chars().any(|c| c.is_ascii_digit());
    let sized = (found.next..line.len()).any(|n| {
        matches!(line.kind(n), Some(PieceKind::Number(_)))
            && line
                .unit_at(n + 1)
                .and_then(|(unit, _)| unit.settle(None))
                .is_some_and(|unit| matches!(unit.dimension(), Some(Dimension::Length | Dimension::Area)))
    });
    found.names.len() > 1 && (sized || found.names.iter().all(|(name, ..)| numbered(name)))
}

/// The end of one name: a size after it is no part of it.
fn end_of(line: &Line<'_>, from: usize, splits: bool) -> Option<usize> {
    let number = |n: usize| matches!(line.kind(n), Some(PieceKind::Number(_)));
    let sized = |n: usize| number(n) && (line.is_unit(n + 1) || matches!(line.word(n + 1), "x" | "\u{d7}"));
    if sized(from) {
        return None;
    }
    let first = FIRST_WORDS.contains(&line.word(from)) && !line.joins(from + 1) && from + 1 < line.len();
    let end = match line.name_end(from, line.len(), splits) {
        None if first => line.name_end(from + 1, line.len(), splits)?,
        end => end?,
    };
    // `Crow Piece north of far`: where it lies is no part of it.
    let lies = |n: usize| line.marks(n).portion && line.is(n + 1, "of");
    Some((from + 1..end).find(|n| number(*n) && line.is_unit(n + 1) || lies(*n)).unwrap_or(end))
}

/// `n-1 to n-4`, `n-1 to 4`: the names between, and the piece after them.
fn up_to(line: &Line<'_>, first: &str, at: usize) -> Option<(Vec<String>, usize)> {
    if !line.is(at, "to") {
        return None;
    }
    let (stem, low) = split_number(first)?;
    let (high, next) = match line.kind(at + 1)? {
        PieceKind::Number(n) if n.is_exact() && !line.is_unit(at + 2) => (n.high(), at + 2),
        _ => {
            let end = end_of(line, at + 1, true)?;
            let last = line.slice(at + 1, end);
            let (other, high) = split_number(&last)?;
            if fold(stem) != fold(other) {
                return None;
            }
            (high as f64, end)
        }
    };
    let all = numbers(low as f64, high)?.map(|n| format!("{stem}{n}")).collect();
    Some((all, next))
}

/// Whether two names differ by their number alone.
fn alike(a: &str, b: &str) -> bool {
    matches!((split_number(a), split_number(b)), (Some((a, _)), Some((b, _))) if fold(a) == fold(b))
}

fn split_number(name: &str) -> Option<(&str, i64)> {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    Some((stem, name.get(stem.len()..)?.parse().ok()?))
}

fn numbers(low: f64, high: f64) -> Option<std::ops::RangeInclusive<i64>> {
    let fits = low.fract() == 0.0
        && high.fract() == 0.0
        && (0.0..1e9).contains(&low)
        && high > low
        && high - low <= MOST_IN_A_RANGE as f64;
    fits.then_some(low as i64..=high as i64)
}
