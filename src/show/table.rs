//! Tables of a page, told for reading.
//!
//! Comes in: the lines of a Markdown table. Goes out: its rows in columns where they fit, else one block for
//! each row, each cell behind the head of its column. It leaves out empty cells and judges nothing.

use std::fmt::Write as _;

use super::{
    layout::{Style, columns, pad},
    lines,
    markup::Marked,
    paint::{Ink, paint},
};

/// Columns between two cells.
const GAP: usize = 2;

/// The rows of a table behind so many spaces.
pub fn rows(indent: usize, written: &[&str], style: &Style) -> String {
    let mut rows = written.iter().map(|line| cells(line)).filter(|row| !is_rule(row));
    let Some(heads) = rows.next() else { return String::new() };
    let rows: Vec<Vec<&str>> = rows.collect();
    let widths: Vec<usize> = (0..heads.len())
        .map(|n| {
            let cells = rows.iter().chain([&heads]).filter_map(|row| row.get(n));
            cells.map(|cell| columns(&plain(cell))).max().unwrap_or(0)
        })
        .collect();
    let whole = indent + widths.iter().sum::<usize>() + GAP * heads.len().saturating_sub(1);
    if whole <= style.columns() {
        aligned(indent, &heads, &rows, &widths, style)
    } else {
        blocks(indent, &heads, &rows, style)
    }
}

/// One line for each row.
fn aligned(indent: usize, heads: &[&str], rows: &[Vec<&str>], widths: &[usize], style: &Style) -> String {
    let line = |row: &[&str]| {
        let cells =
            row.iter().zip(widths).map(|(cell, width)| pad(&lines::words(&plain(cell), style), *width));
        format!("{}{}", " ".repeat(indent), cells.collect::<Vec<_>>().join("  ")).trim_end().to_owned()
    };
    let mut out = String::new();
    let _ = writeln!(out, "{}", paint(&line(heads), Ink::Quiet, style.colour));
    for row in rows {
        let _ = writeln!(out, "{}", line(row));
    }
    out
}

/// One block for each row: its first cell, and below it every other cell behind its head.
fn blocks(indent: usize, heads: &[&str], rows: &[Vec<&str>], style: &Style) -> String {
    let space = " ".repeat(indent);
    let widest = heads.iter().skip(1).map(|head| columns(head)).max().unwrap_or(0);
    let mut out = String::new();
    for (n, row) in rows.iter().enumerate() {
        if n > 0 {
            out.push('\n');
        }
        out.push_str(&lines::marked(&space, row.first().copied().unwrap_or_default(), style));
        for (head, cell) in heads.iter().zip(row).skip(1).filter(|(_, cell)| !cell.is_empty()) {
            let lead = format!("{space}  {}  ", pad(head, widest));
            out.push_str(&lines::marked(&lead, cell, style));
        }
    }
    out
}

/// The words of a cell without marks of stress, which columns leave out.
fn plain(cell: &str) -> String {
    Marked::read(cell).text
}

/// The cells of a row.
fn cells(line: &str) -> Vec<&str> {
    let bare = line.trim();
    let bare = bare.strip_prefix('|').unwrap_or(bare);
    let bare = bare.strip_suffix('|').unwrap_or(bare);
    bare.split('|').map(str::trim).collect()
}

/// Whether a row is the line under the heads.
fn is_rule(row: &[&str]) -> bool {
    row.iter().all(|cell| cell.contains('-') && cell.chars().all(|c| matches!(c, '-' | ':')))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn narrow(width: usize) -> Style {
        Style { width, ..Style::plain() }
    }

    #[test]
    fn a_narrow_table_stands_in_columns() {
        let table = ["| crop | also |", "|---|---|", "| bean | haricot |", "| pea | |"];
        assert_eq!(rows(2, &table, &narrow(40)), "  crop  also\n  bean  haricot\n  pea\n");
    }

    #[test]
    fn a_wide_one_is_told_row_by_row_without_its_empty_cells() {
        let table = [
            "| way | for | risk |",
            "|---|---|---|",
            "| waiting | it costs nothing but years of it | |",
            "| carbon | | dust |",
        ];
        assert_eq!(
            rows(2, &table, &narrow(40)),
            "  waiting\n    for   it costs nothing but years of\n          it\n\n  carbon\n    risk  dust\n"
        );
    }

    #[test]
    fn a_row_shorter_or_longer_than_its_heads_loses_no_sense() {
        assert_eq!(
            rows(0, &["| a | b |", "|---|---|", "| x |", "| y | z | w |"], &narrow(40)),
            "a  b\nx\ny  z\n"
        );
        assert_eq!(rows(0, &[], &narrow(40)), "");
    }
}
