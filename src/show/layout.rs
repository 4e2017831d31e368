//! Text fitted to a width: columns counted, lines wrapped and cut, odd characters made harmless.
//!
//! Comes in: one piece of text and a number of columns. Goes out: lines no wider than that.
//! It colours nothing and knows no diagnostics.

use std::path::Path;

use unicode_width::UnicodeWidthChar;

/// How a text is to be shown; the caller decides, nothing is read from the environment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Style {
    /// Columns to fit, at least [`NARROWEST`].
    pub width: usize,
    /// Whether to colour.
    pub colour: bool,
    /// Whether lines and arrows may be drawn in characters outside ASCII.
    pub unicode: bool,
    /// Whether to show what is folded, allowed, and the lines left out for length.
    pub all: bool,
    /// Where the journal lies, as it was typed and as a shell takes it, for commands to copy; empty where it
    /// is the folder one stands in.
    pub farm: String,
}

impl Style {
    /// 80 columns, no colour, drawn lines, the most urgent only.
    pub fn plain() -> Self {
        Self { width: 80, colour: false, unicode: true, all: false, farm: String::new() }
    }

    /// For a journal that lies there, as it was typed.
    pub fn of(mut self, path: &Path) -> Self {
        let typed = path.to_string_lossy();
        self.farm = match &*typed {
            "" | "." | "-" => String::new(),
            path if path.starts_with('-') => quoted(&format!("./{path}")),
            path => quoted(path),
        };
        self
    }

    /// A command to copy (`why bed north-1 --whole`), as a shell takes it and with the journal named, in one
    /// piece that no line breaks unless it must.
    pub fn command(&self, words: &str) -> String {
        let (verb, rest) = words.split_once(' ').unwrap_or((words, ""));
        let (name, options) = match rest.split_once(" --") {
            Some((name, options)) => (name, format!("--{options}")),
            None if rest.starts_with("--") => ("", rest.to_owned()),
            None => (rest, String::new()),
        };
        let farm = match verb {
            "why" | "trace" if rest.is_empty() => "",
            "check" | "due" | "rules" | "why" | "trace" => &*self.farm,
            "recipe" if !rest.is_empty() && !self.farm.is_empty() => &*format!("--in {}", self.farm),
            _ => "",
        };
        let name = match verb {
            "why" | "trace" if !name.is_empty() => quoted(name.trim_matches('"')),
            _ => name.to_owned(),
        };
        let parts = ["haulm", verb, &name, farm, &options];
        let whole = parts.into_iter().filter(|p| !p.is_empty()).collect::<Vec<_>>().join(" ");
        whole.replace(' ', JOINED)
    }

    /// A text in which commands between backticks name the journal.
    pub fn commands(&self, text: &str) -> String {
        let mut out = String::new();
        let mut rest = text;
        while let Some((before, (words, after))) =
            rest.split_once(COMMAND).and_then(|(b, r)| Some((b, r.split_once('`')?)))
        {
            out.push_str(before);
            out.push_str(&format!("`{}`", self.command(words)));
            rest = after;
        }
        out + rest
    }

    /// The columns to fit, never fewer than [`NARROWEST`].
    pub fn columns(&self) -> usize {
        self.width.max(NARROWEST)
    }
}

/// How a command begins in a text.
const COMMAND: &str = "`haulm ";

/// A space at which no line is broken while what it joins fits on one.
const JOINED: &str = "\u{1f}";

/// A word or a name as a shell takes it.
pub fn quoted(name: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_.:/~".contains(c);
    if !name.is_empty() && name.chars().all(plain) {
        return name.to_owned();
    }
    let steers = |c: char| matches!(c, '"' | '$' | '`');
    let safe = clean(name).chars().fold(String::new(), |mut out, c| {
        if steers(c) {
            out.push('\\');
        }
        out.push(c);
        out
    });
    format!("\"{safe}\"")
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
        // A hyphen for where a line may be broken: terminals and tables of widths disagree on its column.
        '\u{feff}' | '\u{ad}' => None,
        '\n' | '\r' | '\t' | '\u{1f}' => Some(' '),
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
    let pieces = text.split_whitespace().flat_map(|word| {
        let fits = columns(&clean(word)) <= rest;
        word.split(move |c| !fits && JOINED.contains(c))
    });
    for word in pieces {
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
    fn a_command_names_the_journal_and_is_what_a_shell_takes() {
        let here = Style::plain().of(Path::new("."));
        let there = Style::plain().of(Path::new("my notes/farm"));
        assert_eq!(clean(&here.command("due")), "haulm due");
        assert_eq!(clean(&there.command("due")), "haulm due \"my notes/farm\"");
        let recipe = clean(&there.command("recipe repair"));
        assert_eq!(recipe, "haulm recipe repair --in \"my notes/farm\"");
        let why = clean(&there.command("why bed north-1 --whole"));
        assert_eq!(why, "haulm why \"bed north-1\" \"my notes/farm\" --whole");
        assert_eq!(
            clean(&there.commands("ask `haulm why` or `haulm words`")),
            "ask `haulm why` or `haulm words`"
        );
        assert_eq!(clean(&Style::plain().of(Path::new("-")).commands("see `haulm due`")), "see `haulm due`");
    }

    #[test]
    fn a_command_is_not_broken_where_a_line_holds_it() {
        let style = Style::plain().of(Path::new("journals/farm"));
        let text = format!("look at this → {}", style.command("due"));
        assert_eq!(wrap(&text, 24, 24), ["look at this →", "haulm due journals/farm"]);
        assert_eq!(wrap(&text, 20, 20), ["look at this → haulm", "due journals/farm"]);
    }

    #[test]
    fn characters_that_steer_a_terminal_are_shown_not_obeyed() {
        assert_eq!(clean("\u{1b}[2Jlot\u{202e}x\u{feff}"), "\u{241b}[2Jlot\u{fffd}x");
        assert_eq!(clean("wa\u{ad}ter"), "water");
    }
}
