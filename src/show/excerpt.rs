//! The lines of a file that a diagnostic points at, cut and cleaned so that they fit the width.
//!
//! Comes in: one file and the labels in it, however odd their spans. Goes out: a small text of just
//! those lines with the labels moved onto it, never overlapping, never wider than asked.
//! It draws nothing; `terminal` does.

use super::layout::{char_columns, clean, columns, cut, harmless, wrap};
use crate::base::source::SourceFile;

/// A label to place: bytes in the file, words, and whether it is the line to act on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// First byte in the file.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// What is said of it; may be empty.
    pub text: String,
    /// Whether it is the primary label.
    pub primary: bool,
}

/// One row of the excerpt: a line of the file, or a part of one that is too long.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The line's number, from 1.
    pub number: usize,
    /// What is shown of it, without a line break.
    pub text: String,
    /// Labels in order: byte ranges of `text`, words broken into lines by `\n`.
    pub marks: Vec<Mark>,
}

/// How many columns a label's words should have beside their line before the line is moved left.
const COMFORT: usize = 30;
/// Columns kept before the first label of a line whose start is cut off.
const LEAD: usize = 12;

/// The rows to show for some marks of one file, in line order, `room` columns wide.
pub fn rows(file: &SourceFile, marks: &[Mark], room: usize, unicode: bool) -> Vec<Row> {
    let mut by_line: Vec<(usize, Mark)> = marks.iter().map(|m| on_one_line(file, m)).collect();
    by_line.sort_by(|a, b| {
        (a.0, a.1.start, a.1.end, !a.1.primary).cmp(&(b.0, b.1.start, b.1.end, !b.1.primary))
    });
    let mut out = Vec::new();
    let mut rest = by_line.as_slice();
    while let Some((line, _)) = rest.first() {
        let n = rest.iter().take_while(|(l, _)| l == line).count();
        let (these, others) = rest.split_at(n);
        rest = others;
        let range = file.line_range(*line);
        let shown = Shown::new(file.text.get(range.clone()).unwrap_or(""));
        let moved = these.iter().map(|(_, m)| {
            let (from, to) = (m.start - range.start, m.end - range.start);
            let (start, end) = (shown.column(from), shown.column(to));
            // A mark on nothing, before a wide character, is on the whole of it: half of one cannot be marked.
            Mark { start, end: end.max(start + shown.wide(from)), ..m.clone() }
        });
        let apart = disjoint(moved.collect());
        out.extend(windows(&shown, apart, room.max(20), unicode).into_iter().map(|(text, marks)| Row {
            number: line + 1,
            text,
            marks,
        }));
    }
    out
}

/// A mark clipped to the text and to the line it starts on, on character boundaries.
fn on_one_line(file: &SourceFile, mark: &Mark) -> (usize, Mark) {
    let text: &str = &file.text;
    let floor = |mut at: usize| {
        at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(mark.start);
    let line = file.line_of(start);
    let range = file.line_range(line);
    let start = start.clamp(range.start, range.end);
    let end = floor(mark.end).clamp(start, range.end);
    let end = start + text.get(start..end).map_or(0, |t| t.trim_end().len());
    (line, Mark { start, end, text: clean(mark.text.trim()), primary: mark.primary })
}

/// Marks of one line, in columns, made to share none: the same columns merge, an inner one is kept whole and
/// the outer one shortened. A mark on nothing wide (a combining sign, a line's end) takes the column it is at.
fn disjoint(mut marks: Vec<Mark>) -> Vec<Mark> {
    let over = |m: &Mark| m.end.max(m.start + 1);
    marks.sort_by_key(|m| (m.start, over(m)));
    let mut out: Vec<Mark> = Vec::new();
    for mut mark in marks {
        let Some(last) = out.last_mut() else {
            out.push(mark);
            continue;
        };
        let end = over(&mark);
        if (last.start, over(last)) != (mark.start, end) {
            if mark.start > last.start {
                last.end = last.end.min(mark.start);
            } else {
                mark.start = over(last);
            }
            if mark.start < end {
                out.push(mark);
                continue;
            }
        }
        last.end = last.end.max(mark.end);
        if !mark.text.is_empty() && !last.text.split(" · ").any(|t| t == mark.text) {
            last.text =
                if last.text.is_empty() { mark.text } else { format!("{} · {}", last.text, mark.text) };
        }
        last.primary |= mark.primary;
    }
    out
}

/// One line as it is shown: tabs opened, odd characters made harmless, and where each byte went.
struct Shown {
    cells: Vec<(usize, char)>,
    end: usize,
}

impl Shown {
    fn new(line: &str) -> Self {
        let mut cells = Vec::new();
        let mut column = 0;
        for (i, c) in line.char_indices() {
            if c == '\t' {
                let n = 4 - column % 4;
                cells.extend(std::iter::repeat_n((i, ' '), n));
                column += n;
            } else if let Some(c) = harmless(c) {
                cells.push((i, c));
                column += char_columns(c);
            }
        }
        Self { cells, end: line.len() }
    }

    /// The column (counted in columns shown) at which byte `at` of the line begins.
    fn column(&self, at: usize) -> usize {
        self.cells.iter().take_while(|(i, _)| *i < at.min(self.end)).map(|(_, c)| char_columns(*c)).sum()
    }

    /// The columns of the character at byte `at` if it takes more than one, else none.
    fn wide(&self, at: usize) -> usize {
        let here = self.cells.iter().find(|(i, _)| *i == at).map_or(0, |(_, c)| char_columns(*c));
        if here > 1 { here } else { 0 }
    }

    fn width(&self) -> usize {
        self.cells.iter().map(|(_, c)| char_columns(*c)).sum()
    }

    /// Columns `from..to` as text, and the columns it really starts and ends at.
    fn slice(&self, from: usize, to: usize) -> (String, usize) {
        let mut text = String::new();
        let mut column = 0;
        let mut begun = None;
        for (_, c) in &self.cells {
            let w = char_columns(*c);
            if column >= from && column + w <= to && (begun.is_some() || w > 0 || from == 0) {
                begun.get_or_insert(column);
                text.push(*c);
            }
            column += w;
        }
        (text, begun.unwrap_or(from))
    }
}

/// Cuts one line to windows of `room` columns in which every mark can be seen with its words.
/// Marks come in columns of the line and go out in bytes of the window's text.
fn windows(shown: &Shown, marks: Vec<Mark>, room: usize, unicode: bool) -> Vec<(String, Vec<Mark>)> {
    let mut groups: Vec<Vec<Mark>> = Vec::new();
    for mark in marks {
        match groups.last_mut() {
            Some(group) if fits_with(group, &mark, shown.width(), room, unicode) => group.push(mark),
            _ => groups.push(vec![mark]),
        }
    }
    groups.into_iter().map(|group| window(shown, group, room, unicode)).collect()
}

/// Where the window must start so that the last of `group` has room for its words.
fn window_start(group: &[Mark], width: usize, room: usize) -> usize {
    let first = group.iter().map(|m| m.start).min().unwrap_or(0);
    let last_end = group.iter().map(|m| m.end.max(m.start + 1)).max().unwrap_or(0);
    // A mark behind the last word takes a column of its own.
    let whole = width.max(last_end) <= room;
    let for_sight = if whole || last_end < room { 0 } else { first.saturating_sub(LEAD) };
    let for_words = group
        .iter()
        .map(|m| {
            let middle = m.start + (m.end - m.start) / 2;
            let words = columns(&m.text);
            // In a narrow box words wrap sooner, so that the line can be seen once, and not in two halves.
            let want = words.min(COMFORT.min(room / 3)) + 5;
            if words == 0 { 0 } else { (middle + want).saturating_sub(room) }
        })
        .max()
        .unwrap_or(0);
    for_sight.max(for_words)
}

/// Whether a mark can stand in the window of a group without one of them lying under the dots at either end, where
/// they would fall on one column.
fn fits_with(group: &[Mark], mark: &Mark, width: usize, room: usize, unicode: bool) -> bool {
    let dots = columns(dots(unicode));
    let mut both = group.to_vec();
    both.push(mark.clone());
    let start = window_start(&both, width, room);
    let first = both.first().map_or(0, |m| m.start);
    let end = mark.end.max(mark.start + 1);
    (start == 0 || start + dots < first) && end.saturating_sub(start) < room.saturating_sub(dots)
}

/// What stands where a line is cut off.
fn dots(unicode: bool) -> &'static str {
    if unicode { "…" } else { "..." }
}

fn window(shown: &Shown, group: Vec<Mark>, room: usize, unicode: bool) -> (String, Vec<Mark>) {
    let dots = dots(unicode);
    let start = window_start(&group, shown.width(), room);
    let lead = if start > 0 { dots } else { "" };
    let from = if start > 0 { start + columns(dots) } else { 0 };
    let whole = shown.width().saturating_sub(from) + columns(lead) <= room;
    let tail = if whole { "" } else { dots };
    let to = if whole { usize::MAX } else { from + room - columns(lead) - columns(tail) };
    let (inner, begun) = shown.slice(from, to);
    let shown_columns = columns(&inner);
    let text = format!("{lead}{inner}{tail}");
    // From a column of the line to a byte of the window's text.
    let byte = |column: usize| {
        let wanted = column.saturating_sub(begun).min(shown_columns);
        let mut used = 0;
        let inner_at = inner
            .char_indices()
            .find(|(_, c)| {
                let here = used >= wanted;
                used += char_columns(*c);
                here
            })
            .map_or(inner.len(), |(i, _)| i);
        lead.len() + inner_at
    };
    let marks = group
        .into_iter()
        .map(|m| {
            let (start, end) = (byte(m.start), byte(m.end));
            let (left, right) = (columns(&text[..start]), columns(&text[..end]));
            let middle = (left + right.max(left + 1)) / 2;
            let room_for_words = room.saturating_sub(middle + 4).max(8);
            let words = if columns(&m.text) <= room_for_words {
                cut(&m.text, room_for_words, unicode)
            } else {
                wrap(&m.text, room_for_words, room_for_words).join("\n")
            };
            Mark { start, end, text: words, primary: m.primary }
        })
        .collect();
    (text, marks)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::source::SourceKind;

    fn file(text: &str) -> SourceFile {
        SourceFile::new("spring.md", text, SourceKind::Journal, false)
    }

    fn mark(start: usize, end: usize, text: &str) -> Mark {
        Mark { start, end, text: text.into(), primary: false }
    }

    fn under(row: &Row) -> Vec<&str> {
        row.marks.iter().map(|m| &row.text[m.start..m.end]).collect()
    }

    #[test]
    fn a_label_over_several_lines_is_shown_on_its_first() {
        let rows = rows(&file("- spread\n  lot tern-26\n"), &[mark(2, 20, "here")], 70, true);
        assert_eq!(rows.len(), 1);
        assert_eq!((rows[0].number, under(&rows[0])), (1, vec!["spread"]));
    }

    #[test]
    fn a_label_inside_another_keeps_its_own_columns() {
        let rows = rows(
            &file("- spread lot tern-26 on north-1"),
            &[mark(2, 31, "all"), mark(9, 20, "lot")],
            70,
            true,
        );
        assert_eq!(under(&rows[0]), ["spread ", "lot tern-26"]);
    }

    #[test]
    fn the_same_span_twice_is_one_label_with_both_texts() {
        let rows =
            rows(&file("- turned heap main"), &[mark(2, 8, "a"), mark(2, 8, "b"), mark(2, 8, "b")], 70, true);
        assert_eq!(rows[0].marks.len(), 1);
        assert_eq!(rows[0].marks[0].text, "a · b");
    }

    #[test]
    fn labels_that_start_at_one_column_are_one_or_stand_beside_each_other() {
        let ends = |marks: &[(usize, usize)]| -> Vec<(usize, usize)> {
            let marks = marks.iter().map(|(start, end)| mark(*start, *end, "x")).collect();
            disjoint(marks).iter().map(|m| (m.start, m.end)).collect()
        };
        assert_eq!(ends(&[(5, 5), (5, 5)]), [(5, 5)]);
        assert_eq!(ends(&[(5, 5), (5, 6)]), [(5, 6)]);
        assert_eq!(ends(&[(5, 5), (5, 9)]), [(5, 5), (6, 9)]);
        assert_eq!(ends(&[(3, 5), (3, 7), (4, 6)]), [(3, 5), (5, 7)]);
    }

    #[test]
    fn a_long_line_is_cut_around_its_label() {
        let text = format!("- {} lot tern-26 {}", "word ".repeat(60), "word ".repeat(60));
        let at = text.find("lot").unwrap_or(0);
        let rows = rows(&file(&text), &[mark(at, at + 11, "never tested")], 60, true);
        assert_eq!(under(&rows[0]), ["lot tern-26"]);
        assert!(columns(&rows[0].text) <= 60, "{:?}", rows[0]);
        assert!(rows[0].text.starts_with('…') && rows[0].text.ends_with('…'));
    }

    #[test]
    fn a_label_behind_a_line_that_just_fits_has_a_column_of_its_own() {
        let text = "- spread lot tern-26 on north-1 now";
        let rows = rows(&file(text), &[mark(text.len(), text.len(), "")], text.len(), true);
        assert!(rows[0].text.starts_with('…') && columns(&rows[0].text) < text.len(), "{rows:#?}");
    }

    #[test]
    fn labels_too_far_apart_take_two_rows_of_one_line() {
        let text = format!("- lot a {} lot b", "word ".repeat(60));
        let rows =
            rows(&file(&text), &[mark(2, 7, "one"), mark(text.len() - 5, text.len(), "two")], 60, true);
        assert_eq!(rows.len(), 2);
        assert_eq!((rows[0].number, rows[1].number), (1, 1));
        assert_eq!((under(&rows[0]), under(&rows[1])), (vec!["lot a"], vec!["lot b"]));
    }

    #[test]
    fn labels_that_would_lie_under_the_dots_take_rows_of_their_own() {
        let text = format!("{}bed one {}", "a".repeat(30), "z".repeat(40));
        let marks = [mark(29, 29, "0"), mark(31, 66, "words that are rather long")];
        for row in rows(&file(&text), &marks, 35, false) {
            let starts: Vec<usize> = row.marks.iter().map(|m| m.start).collect();
            assert!(starts.is_sorted() && !starts.windows(2).any(|w| w[0] == w[1]), "{row:#?}");
        }
    }

    #[test]
    fn in_a_narrow_box_one_line_with_two_labels_is_shown_once() {
        let text = "- spread lot tern-26 on b1";
        let marks = [mark(9, 20, "no test of it was ever potted"), mark(24, 26, "14 March 2026")];
        for room in [34, 44] {
            let rows = rows(&file(text), &marks, room, true);
            assert_eq!(rows.len(), 1, "{rows:#?}");
            assert_eq!(under(&rows[0]), ["lot tern-26", "b1"]);
        }
    }

    #[test]
    fn odd_spans_never_panic_and_stay_inside_the_row() {
        let texts =
            ["", "\n", "🍅 トマト\u{301}\r\n\t- x\n", "\u{feff}## 2026-03-14", "a\u{202e}b\u{1b}[31m"];
        for text in texts {
            for start in 0..text.len() + 3 {
                for end in 0..text.len() + 5 {
                    for room in [0, 20, 33] {
                        let marks = [
                            mark(start, end, "an explanation rather longer than the room"),
                            mark(end, start, ""),
                        ];
                        for row in rows(&file(text), &marks, room, true) {
                            assert!(columns(&row.text) <= room.max(20));
                            assert_eq!(under(&row).len(), row.marks.len());
                        }
                    }
                }
            }
        }
    }
}
