//! Values, sentences and texts of heads as words.
//!
//! Comes in: values and patterns of the program. Goes out: what a grower reads, in the farm's units.
//! It chooses no sentences.

use std::{borrow::Cow, cmp::Ordering, collections::BTreeMap};

use super::Known;
use crate::{
    base::name::plural,
    measure::{
        date, display,
        value::{BlankType, EntryId, Thing, Value},
    },
    model::{
        entry::Standing,
        explanation::Quote,
        judge,
        program::{Atom, Comparator, Comparison, Expr, Gather, Term, TextPart},
        proof::Tuple,
        sentence::Sentence,
    },
};

/// A value in words.
pub fn value(known: &Known<'_>, value: &Value) -> String {
    match value {
        Value::Entry(id) => place(known, *id),
        other => display::value(other, &known.diary.units),
    }
}

/// `spring.md:19` for an entry.
fn place(known: &Known<'_>, id: EntryId) -> String {
    match known.diary.entries.get(id.0 as usize) {
        Some(entry) => known.sources.place(entry.loc),
        None => format!("entry {}", id.0 + 1),
    }
}

/// A sentence with a tuple's values in its blanks; a plan's says so.
pub fn tuple(known: &Known<'_>, tuple: &Tuple) -> String {
    let Some(sentence) = known.program.sentences.get(tuple.sentence.0 as usize) else {
        return String::new();
    };
    let text = sentence.filled(|n| tuple.values.get(n).map_or_else(String::new, |v| value(known, v)));
    if tuple.planned { format!("{text} (planned)") } else { text }
}

/// A sentence that holds, with the place of its line where the journal says it.
pub fn near_miss(known: &Known<'_>, near: &Tuple) -> String {
    let says = tuple(known, near);
    match near.entry {
        Some(id) => format!("{says} ({})", place(known, id)),
        None => says,
    }
}

/// A pattern as a sentence: what is fixed as it is, the rest as `any day`, `any lot`.
pub fn pattern(known: &Known<'_>, atom: &Atom) -> String {
    let Some(sentence) = known.program.sentences.get(atom.sentence.0 as usize) else {
        return String::new();
    };
    sentence.filled(|n| match atom.terms.get(n) {
        Some(Term::Const(v)) => value(known, v),
        _ => any(sentence, n),
    })
}

/// What an absence denies: a pattern with the comparisons a denied tuple would have had to meet, as in
/// `book emma came back on any day after 1 March 2026`.
pub fn denied(known: &Known<'_>, atom: &Atom, with: &[Comparison]) -> String {
    let Some(sentence) = known.program.sentences.get(atom.sentence.0 as usize) else {
        return String::new();
    };
    let mut left: Vec<&Comparison> = Vec::new();
    let mut told: Vec<(usize, String)> = Vec::new();
    for c in with {
        let blank = match &c.left {
            Expr::Term(v @ Term::Var(_)) => atom.terms.iter().position(|t| t == v),
            _ => None,
        };
        // Only the first comparison of a blank reads well behind it.
        match blank.filter(|n| !told.iter().any(|(m, _)| m == n)) {
            Some(n) if !matches!(c.by, Comparator::Same | Comparator::Different) && !c.may => {
                let words = comparison(known, c);
                told.push((n, words.strip_prefix("it is ").unwrap_or(&words).to_owned()));
            }
            _ => left.push(c),
        }
    }
    let mut text = sentence.filled(|n| match atom.terms.get(n) {
        Some(Term::Const(v)) => value(known, v),
        _ => match told.iter().find(|(m, _)| *m == n) {
            Some((_, words)) => format!("{} {words}", any(sentence, n)),
            None => any(sentence, n),
        },
    });
    for (n, c) in left.into_iter().enumerate() {
        text.push_str(if n == 0 { ", where " } else { " and " });
        text.push_str(&comparison(known, c));
    }
    text
}

fn any(sentence: &Sentence, blank: usize) -> String {
    match sentence.blanks.get(blank) {
        Some(b) if b.takes == BlankType::Date => "any day".to_owned(),
        Some(b) if matches!(&*b.name, "who" | "whom") => "anybody".to_owned(),
        Some(b) => format!("any {}", b.name.replace('_', " ")),
        None => "anything".to_owned(),
    }
}

/// A value gathered over a pattern, in words: `3 different bed such that …`.
pub fn gathered(known: &Known<'_>, how: Gather, name: &str, of: &Value, over: &Atom) -> String {
    let (value, pattern) = (value(known, of), pattern(known, over));
    let name = name.replace('_', " ");
    match how {
        Gather::Count => format!("{value} different {name} such that {pattern}"),
        Gather::Total => format!("{value} is the total {name} such that {pattern}"),
        Gather::Least => format!("{value} is the first or least {name} such that {pattern}"),
        Gather::Greatest => format!("{value} is the last or greatest {name} such that {pattern}"),
    }
}

/// A comparison in words, with variables that have no value as `it`.
pub fn comparison(known: &Known<'_>, c: &Comparison) -> String {
    let may = if c.may { "may be" } else { "is" };
    let (left, right) = (expr(known, &c.left), expr(known, &c.right));
    match &c.by {
        Comparator::Same => format!("{left} {may} {right}"),
        Comparator::Different => format!("{left} {may} not {right}"),
        Comparator::Less => {
            format!("{left} {may} {} {right}", if dated(&c.right) { "before" } else { "less than" })
        }
        Comparator::AtMost => {
            format!("{left} {may} {} {right}", if dated(&c.right) { "on or before" } else { "at most" })
        }
        Comparator::More => {
            format!("{left} {may} {} {right}", if dated(&c.right) { "after" } else { "more than" })
        }
        Comparator::AtLeast => {
            format!("{left} {may} {} {right}", if dated(&c.right) { "on or after" } else { "at least" })
        }
        Comparator::WithinAfter(e) => format!("{left} {may} within {} after {right}", expr(known, e)),
        Comparator::WithinBefore(e) => format!("{left} {may} within {} before {right}", expr(known, e)),
        Comparator::WithinOf(e) => format!("{left} {may} within {} of {right}", expr(known, e)),
        Comparator::MoreThanAfter(e) => format!("{left} {may} more than {} after {right}", expr(known, e)),
        Comparator::MoreThanBefore(e) => format!("{left} {may} more than {} before {right}", expr(known, e)),
    }
}

fn dated(e: &Expr) -> bool {
    day_of(e).is_some()
}

/// The day an expression comes to, where everything in it is known.
fn day_of(e: &Expr) -> Option<Value> {
    judge::value(e, &|_| None).filter(|v| matches!(**v, Value::Days(_))).map(Cow::into_owned)
}

/// A computation in words.
pub fn expr(known: &Known<'_>, e: &Expr) -> String {
    // A day that can be worked out is told, and not its sum.
    if let Some(day) = day_of(e) {
        return value(known, &day);
    }
    match e {
        Expr::Term(Term::Const(v)) => value(known, v),
        Expr::Term(_) => "it".to_owned(),
        Expr::Add(a, b) => format!("{} + {}", expr(known, a), expr(known, b)),
        Expr::Sub(a, b) => format!("{} - {}", expr(known, a), expr(known, b)),
        Expr::Mul(a, b) => format!("{} x {}", expr(known, a), expr(known, b)),
        Expr::Div(a, b) => format!("{} / {}", expr(known, a), expr(known, b)),
        Expr::Call(function, sides) => {
            let sides: Vec<String> = sides.iter().map(|side| expr(known, side)).collect();
            let (before, after) = function.words();
            format!("{before} {} {after}", sides.join(" and ")).trim().to_owned()
        }
    }
}

/// The text of a head. `values` are those of the head the text is taken from, `all` those of every
/// head merged with it, for `{every x}`.
pub fn text(known: &Known<'_>, parts: &[TextPart], values: &[Value], all: &[&[Value]]) -> String {
    let mut out = String::new();
    for part in parts {
        match part {
            TextPart::Words(words) => out.push_str(words),
            TextPart::Term(n) => {
                if let Some(v) = values.get(*n) {
                    out.push_str(&value(known, v));
                }
            }
            // Names are thought up for recipes only, which make their texts themselves.
            TextPart::New(kind) => out.push_str(kind),
            TextPart::Every(n) => {
                let each: Vec<&Value> = all.iter().filter_map(|values| values.get(*n)).collect();
                out.push_str(&listed(known, each));
            }
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// How many of a list are named before `and 4 more`.
const NAMED: usize = 3;

/// `bed north-1, north-2, north-3 and 4 more`: sorted, each once, the kind word said once while it
/// stays the same.
pub fn listed(known: &Known<'_>, mut values: Vec<&Value>) -> String {
    values.sort_by(|a, b| by_name(known, a, b));
    values.dedup();
    // One more is named as shortly as it is counted.
    let named = if values.len() == NAMED + 1 { NAMED + 1 } else { NAMED };
    let left = values.len().saturating_sub(named);
    let mut kind: Option<&str> = None;
    let mut items: Vec<String> = Vec::new();
    for v in values.iter().take(named) {
        items.push(match v {
            Value::Thing(Thing { kind: k, name }) if kind == Some(k) => name.to_string(),
            v => value(known, v),
        });
        kind = if let Value::Thing(t) = v { Some(&t.kind) } else { None };
    }
    if left > 0 {
        items.push(format!("{left} more"));
    }
    and(&items)
}

/// `cutting bed and beds north-1, north-2 and strip-4`: sorted, each once, all of them; the kind word is said once
/// for all that are told with it.
pub fn together(known: &Known<'_>, mut values: Vec<&Value>) -> String {
    values.sort_by(|a, b| by_name(known, a, b));
    values.dedup();
    let mut plain = Vec::new();
    let mut kinds: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for v in values {
        let told = value(known, v);
        let kind = if let Value::Thing(t) = v { &*t.kind } else { "" };
        match told.strip_prefix(kind).and_then(|name| name.strip_prefix(' ')) {
            Some(name) => kinds.entry(kind).or_default().push(name.to_owned()),
            None => plain.push(told),
        }
    }
    plain.extend(kinds.into_iter().map(|(kind, names)| match names.as_slice() {
        [one] => format!("{kind} {one}"),
        several => format!("{} {}", plural(kind), and(several)),
    }));
    and(&plain)
}

/// `a, b and c`.
fn and(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

fn by_name(known: &Known<'_>, a: &Value, b: &Value) -> Ordering {
    match (a, b) {
        (Value::Thing(x), Value::Thing(y)) => x.kind.cmp(&y.kind).then_with(|| natural(&x.name, &y.name)),
        (Value::Word(_), Value::Word(_)) => natural(&value(known, a), &value(known, b)),
        _ => a.cmp(b),
    }
}

/// Compares names as people number things: `north-2` before `north-10`.
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a, b);
    while let (Some(p), Some(q)) = (x.chars().next(), y.chars().next()) {
        let digits = |s: &str| s.len() - s.trim_start_matches(|c: char| c.is_ascii_digit()).len();
        let (n, m) = (digits(x), digits(y));
        if n > 0 && m > 0 {
            let (left, right) = (x[..n].trim_start_matches('0'), y[..m].trim_start_matches('0'));
            match left.len().cmp(&right.len()).then_with(|| left.cmp(right)) {
                Ordering::Equal => (x, y) = (&x[n..], &y[m..]),
                other => return other,
            }
        } else if p.to_lowercase().eq(q.to_lowercase()) {
            (x, y) = (&x[p.len_utf8()..], &y[q.len_utf8()..]);
        } else {
            return p.to_lowercase().cmp(q.to_lowercase());
        }
    }
    x.len().cmp(&y.len()).then_with(|| a.cmp(b))
}

/// An entry quoted with its day.
pub fn quote(known: &Known<'_>, id: EntryId) -> Option<Quote> {
    let entry = known.diary.entries.get(id.0 as usize)?;
    let text = known.sources.slice(entry.loc).split_whitespace().collect::<Vec<_>>().join(" ");
    Some(Quote { loc: entry.loc, entry: id, text, day: day(known, id) })
}

/// The day of an entry in words: `20 March 2026`, `planned for 6 June 2026`; empty if undated.
pub fn day(known: &Known<'_>, id: EntryId) -> String {
    let Some(entry) = known.diary.entries.get(id.0 as usize) else { return String::new() };
    let day = entry.days.map(date::words).unwrap_or_default();
    match &entry.standing {
        Standing::Done => day,
        Standing::Planned { .. } if day.is_empty() => "planned".to_owned(),
        Standing::Planned { .. } => format!("planned for {day}"),
        Standing::Withdrawn { .. } => format!("{day} (withdrawn)"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbered_names_sort_as_people_count() {
        let mut names = ["north-10", "north-2", "North-1", "strip", "north-02", "north"];
        names.sort_by(|a, b| natural(a, b));
        assert_eq!(names, ["north", "North-1", "north-02", "north-2", "north-10", "strip"]);
    }
}
