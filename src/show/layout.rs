//! Text fitted to a width: columns counted, lines wrapped and cut, odd characters made harmless.
//!
//! Comes in: one piece of text and a number of columns. Goes out: lines no wider than that.
//! It colours nothing and knows no diagnostics.

use unicode_width::UnicodeWidthChar;

/// How a text is to be shown; the caller decides, nothing is read from the environment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Columns to fit, at least [`NARROWEST`].
    pub width: usize,
    /// Whether to colour.
    pub colour: bool,
    /// Whether lines and arrows may be drawn in characters outside ASCII.
    pub unicode: bool,
    /// Whether to show what is folded, allowed, and the lines left out for length.
    pub all: bool,
}

impl Style {
    /// 80 columns, no colour, drawn lines, the most urgent only.
    pub fn plain() -> Self {
        Self { width: 80, colour: false, unicode: true, all: false }
    }

    /// The columns to fit, never fewer than [`NARROWEST`].
    pub fn columns(&self) -> usize {
        self.width.max(NARROWEST)
    }
}

/// Below this many columns nothing useful fits, so no layout is narrower.
pub const NARROWEST: usize = 40;

/// Columns a text takes. Where terminals disagree (joined emoji, emoji variants) the wider answer.
pub fn columns(text: &str) -> usize {
    text.chars().map(char_columns).sum()
}

/// Columns one character takes: joined emoji count apart, and the mark that turns a character into
/// an emoji counts for the column that some terminals then give it.
pub fn char_columns(c: char) -> usize {
    if c == '\u{fe0f}' { 1 } else { c.width().unwrap_or(0) }
}

/// The character to show for one that would disturb a terminal: control characters, and marks that
/// turn the direction of writing. `None` for one to leave out.
pub fn harmless(c: char) -> Option<char> {
    match c {
        '\u{feff}' => None,
        '\n' | '\r' | '\t' => Some(' '),
        '\0'..='\u{1f}' => char::from_u32(0x2400 + c as u32),
        '\u{7f}' => Some('\u{2421}'),
        '\u{80}'..='\u{9f}' | '\u{2028}' | '\u{2029}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => {
            Some('\u{fffd}')
        }
        c => Some(c),
    }
}

/// A text in one line, with odd characters made harmless and runs of spaces kept.
pub fn clean(text: &str) -> String {
    text.chars().filter_map(harmless).collect()
}

/// A text broken at spaces into lines: the first at most `first` columns, the others `rest`.
///
/// Words too long for a line are broken where they must be. Always at least one line.
pub fn wrap(text: &str, first: usize, rest: usize) -> Vec<String> {
    let (first, rest) = (first.max(1), rest.max(1));
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let word = clean(word);
        let mut word = word.as_str();
        loop {
            let room = if lines.is_empty() { first } else { rest };
            let used = if line.is_empty() { 0 } else { columns(&line) + 1 };
            if used + columns(word) <= room {
                if !line.is_empty() {
                    line.push(' ');
                }
                line.push_str(word);
                break;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
                continue;
            }
            if columns(word) <= rest && lines.is_empty() && first < rest {
                lines.push(String::new());
                continue;
            }
            let at = fitting(word, room).max(word.chars().next().map_or(0, char::len_utf8));
            let (head, tail) = word.split_at(at);
            lines.push(head.to_owned());
            word = tail;
            if word.is_empty() {
                break;
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// How many bytes of `text`, from its start, fit in `room` columns.
pub fn fitting(text: &str, room: usize) -> usize {
    let mut used = 0;
    text.char_indices()
        .find(|(_, c)| {
            used += char_columns(*c);
            used > room
        })
        .map_or(text.len(), |(i, _)| i)
}

/// A text in at most `room` columns, cut short with `…` (or `...` in plain characters) if need be.
pub fn cut(text: &str, room: usize, unicode: bool) -> String {
    let text = clean(text);
    if columns(&text) <= room {
        return text;
    }
    let mark = if unicode { "…" } else { "..." };
    let at = fitting(&text, room.saturating_sub(columns(mark)));
    format!("{}{mark}", text[..at].trim_end())
}

/// A text filled with spaces on its right to `width` columns.
pub fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(columns(text))))
}

/// Wraps `text` behind a lead (`"  next  "`): the lead on the first line, as many spaces after.
pub fn hang(lead: &str, text: &str, width: usize) -> Vec<String> {
    let indent = columns(lead);
    let room = width.saturating_sub(indent);
    let spaces = " ".repeat(indent);
    wrap(text, room, room)
        .into_iter()
        .enumerate()
        .map(|(i, line)| format!("{}{line}", if i == 0 { lead } else { &spaces }))
        .collect()
}

/// `1 bed`, `3 beds`: a count with its word.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_asked_whatever_the_letters() {
        let texts = [
            "a plain sentence that goes on for rather longer than one line will take",
            "トマトの葉が内側に巻いている north-1",
            "🍅🍅🍅🍅🍅🍅🍅🍅🍅🍅🍅🍅 ❄️❄️❄️❄️ 👩‍🌾👩‍🌾👩‍🌾",
            "cafe\u{301} crème brûlée https://example.org/a/very/long/address/without/any/spaces/at/all",
            "",
        ];
        for text in texts {
            for width in 2..30 {
                for line in wrap(text, width, width) {
                    assert!(
                        unicode_width::UnicodeWidthStr::width(line.as_str()) <= width,
                        "{line:?} in {width}"
                    );
                }
            }
        }
    }

    #[test]
    fn wrapping_loses_no_word() {
        let text = "spread lot tern-26 on north-1 and north-2, 3 in deep";
        for width in 8..60 {
            assert_eq!(wrap(text, width, width).join(" "), text);
        }
    }

    #[test]
    fn a_cut_text_says_that_it_is_cut() {
        assert_eq!(cut("north-1 and north-2", 12, true), "north-1 and…");
        assert_eq!(cut("north-1", 12, true), "north-1");
        assert_eq!(cut("north-1 and north-2", 12, false), "north-1 a...");
    }

    #[test]
    fn characters_that_steer_a_terminal_are_shown_not_obeyed() {
        assert_eq!(clean("\u{1b}[2Jlot\u{202e}x\u{feff}"), "\u{241b}[2Jlot\u{fffd}x");
    }
}
