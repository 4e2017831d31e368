//! Tables of facts: every row says its sentences.
//!
//! Comes in: tables as text and the book of sentences. Goes out: facts, and a fault for each sentence,
//! column or cell that cannot be meant. A bad cell costs its fact only.

use std::sync::Arc;

use super::{
    Lines, MISFIT, UNREAD,
    atoms::{self, Fill, Matched},
    declare::{Declared, typed},
    fault, figure, lines,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        name::nearest,
        span::Loc,
    },
    measure::{
        unit::Dimension,
        value::{BlankType, Value},
    },
    model::{
        page::{Page, Passage, TableText},
        program::{Fact, FactSource},
        sentence::{Origin, Sentence},
    },
};

/// Columns that are for readers only.
const FOR_READERS: [&str; 6] = ["source", "sources", "note", "notes", "why", "remark"];

/// What stands in one blank of a row's sentence.
enum Cell {
    /// The cell of this column, whole or item by item.
    Column(usize, bool),
    Constant(Value),
}

/// All facts of all tables of pages, in a fixed order.
pub(super) fn facts(
    pages: &[&Page],
    declared: &Declared,
    lines: &Lines,
    faults: &mut Vec<Diagnostic>,
) -> Vec<Arc<Fact>> {
    let mut facts = Vec::new();
    for page in pages {
        for table in &page.tables {
            self::table(table, declared, lines, &mut facts, faults);
        }
    }
    facts.sort();
    facts.dedup_by(|b, a| same(a, b));
    facts.into_iter().map(Arc::new).collect()
}

/// Facts of earlier pages and of later ones, in order.
pub(super) fn together(earlier: &[Arc<Fact>], later: &[Arc<Fact>]) -> Vec<Arc<Fact>> {
    let mut all = Vec::with_capacity(earlier.len() + later.len());
    let mut rest = earlier;
    for fact in later {
        let (before, after) = rest.split_at(rest.partition_point(|f| f < fact));
        all.extend_from_slice(before);
        rest = after;
        if !all.last().is_some_and(|last| same(last, fact)) {
            all.push(Arc::clone(fact));
        }
        if let Some((_, others)) = rest.split_first().filter(|(next, _)| same(fact, next)) {
            rest = others;
        }
    }
    all.extend_from_slice(rest);
    all
}

/// The same fact in two rows is one fact, of the first row.
fn same(a: &Fact, b: &Fact) -> bool {
    a.sentence == b.sentence && a.values == b.values
}

fn table(
    table: &TableText,
    declared: &Declared,
    lines: &Lines,
    facts: &mut Vec<Fact>,
    faults: &mut Vec<Diagnostic>,
) {
    let mut used = vec![false; table.columns.len()];
    for says in &table.says {
        let (sentence, cells) = match sentence(says, &table.columns, declared, lines, &mut used) {
            Ok(found) => found,
            Err(said) => {
                faults.push(said);
                // Whether the columns are used cannot be told now.
                used.fill(true);
                continue;
            }
        };
        let Some(shape) = declared.book.get(sentence.sentence) else { continue };
        for row in &table.rows {
            for values in filled(row, shape, &cells, faults) {
                let source = FactSource::Page(whole(row).unwrap_or(says.loc));
                facts.push(Fact { sentence: sentence.sentence, values, planned: false, source });
            }
        }
    }
    for (column, used) in table.columns.iter().zip(used) {
        if !used && !FOR_READERS.contains(&&*column.text) {
            let message = format!("No sentence of this table uses the column `{}`.", column.text);
            faults.push(fault(UNREAD, column.loc, message).remark(
                RemarkKind::Note,
                "Columns called source, note or why are for readers and need no sentence.",
            ));
        }
    }
}

/// The sentence a row says, with what stands in each blank.
fn sentence(
    says: &Passage,
    columns: &[Passage],
    declared: &Declared,
    lines: &Lines,
    used: &mut [bool],
) -> Result<(Matched, Vec<Cell>), Diagnostic> {
    let read = lines.declaration(says)?;
    let matched = atoms::matched(&declared.book, lines::untagged(&read)?)?;
    sayable(&matched, declared, says.loc)?;
    let mut cells = Vec::new();
    for fill in &matched.fills {
        cells.push(match &fill.it {
            Fill::Const(v) => Cell::Constant(v.clone()),
            Fill::Any => {
                return Err(fault(UNREAD, fill.loc, "A table says what stands in every blank; `{}` cannot."));
            }
            Fill::Hole(inside) => {
                let whole = columns.iter().position(|c| *c.text == **inside);
                let items = || {
                    let name = inside.strip_prefix("each ")?;
                    columns.iter().position(|c| *c.text == *name)
                };
                let found =
                    whole.map(|c| Cell::Column(c, false)).or_else(|| items().map(|c| Cell::Column(c, true)));
                match found {
                    Some(cell) => {
                        if let Cell::Column(c, _) = &cell
                            && let Some(used) = used.get_mut(*c)
                        {
                            *used = true;
                        }
                        cell
                    }
                    None => {
                        let name = inside.strip_prefix("each ").unwrap_or(inside);
                        let mut said = fault(UNREAD, fill.loc, format!("The table has no column `{name}`."));
                        if let Some(near) = nearest(name, columns.iter().map(|c| &*c.text)) {
                            said = said.remark(RemarkKind::Write, format!("{{{near}}}"));
                        }
                        return Err(said);
                    }
                }
            }
        });
    }
    Ok((matched, cells))
}

/// Whether a table may say this sentence at all.
fn sayable(matched: &Matched, declared: &Declared, loc: Loc) -> Result<(), Diagnostic> {
    let Some(sentence) = declared.book.get(matched.sentence) else { return Ok(()) };
    let how = match &sentence.origin {
        Origin::Journal => "said by the journal".to_owned(),
        Origin::Reckoned(by) => format!("answered by the reckoner `{by}`"),
        _ if declared.given.contains(&matched.sentence) => "given".to_owned(),
        _ => return Ok(()),
    };
    Err(fault(UNREAD, loc, format!("`{}` is {how}; a table cannot say it.", sentence.pattern())))
}

/// The values of every fact a row says with one sentence: none if a cell is empty or unreadable, several
/// where a cell lists items.
fn filled(
    row: &[Passage],
    shape: &Sentence,
    cells: &[Cell],
    faults: &mut Vec<Diagnostic>,
) -> Vec<Vec<Value>> {
    let mut all: Vec<Vec<Value>> = vec![Vec::with_capacity(cells.len())];
    for (cell, blank) in cells.iter().zip(&*shape.blanks) {
        let mut values = match cell {
            Cell::Constant(v) => vec![v.clone()],
            Cell::Column(n, items) => match row.get(*n) {
                Some(text) => read(text, *items, blank.takes, shape, faults),
                None => Vec::new(),
            },
        };
        // Most cells hold one item.
        if let ([start], [_]) = (&mut all[..], &values[..]) {
            start.append(&mut values);
            continue;
        }
        let longer = |start: &Vec<Value>, v: &Value| start.iter().chain([v]).cloned().collect();
        all = all.iter().flat_map(|start| values.iter().map(move |v| longer(start, v))).collect();
    }
    all
}

fn read(
    cell: &Passage,
    items: bool,
    takes: BlankType,
    shape: &Sentence,
    faults: &mut Vec<Diagnostic>,
) -> Vec<Value> {
    let pieces: Vec<&str> = if items { cell.text.split(',').collect() } else { vec![&cell.text] };
    let mut values = Vec::new();
    for piece in pieces.into_iter().map(str::trim).filter(|p| !p.is_empty()) {
        match figure::constant(piece, takes).and_then(|value| possible(piece, value)) {
            Ok(value) => values.push(value),
            Err(message) => faults.push(
                fault(MISFIT, cell.loc, message)
                    .remark(RemarkKind::Note, format!("The row says `{}`.", typed(shape))),
            ),
        }
    }
    values
}

/// A figure that can be: no amount is less than nothing, and nothing weighs nothing.
fn possible(text: &str, value: Value) -> Result<Value, String> {
    let Value::Quantity(q) = &value else { return Ok(value) };
    let degrees = matches!(q.dimension, Dimension::Temperature | Dimension::TemperatureDifference);
    if !degrees && q.size.low() < 0.0 {
        return Err(format!("`{text}` is less than nothing."));
    }
    if q.dimension == Dimension::Density && q.size.low() <= 0.0 {
        return Err(format!("`{text}` is nothing at all: whatever there is weighs something."));
    }
    Ok(value)
}

/// The place of a whole row.
fn whole(row: &[Passage]) -> Option<Loc> {
    row.iter().map(|c| c.loc).reduce(|a, b| Loc::new(a.file, a.span.cover(b.span)))
}
