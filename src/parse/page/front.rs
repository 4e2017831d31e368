//! The front of a page: its code, how pressing it is, and what it folds.
//!
//! Comes in: the title, the lines before the first section, the path. Goes out: kind, code, severity and
//! fold phrases. It does not check that folded codes exist.

use std::sync::Arc;

use super::{Block, Reading, Text, stem};
use crate::{
    base::{diagnostic::Severity, name::nearest, span::Span},
    model::page::{PageKind, Passage},
};

/// What stands between the title and the first section.
pub(super) struct Front {
    pub(super) severity: Option<Severity>,
    /// Where to say that it is missing; `None` if a severity was written, be it a wrong one.
    pub(super) severity_missing_at: Option<Span>,
    pub(super) folds: Vec<Passage>,
}

/// What kind of page a path holds. A page outside the known folders (a farm's own) is a rule page
/// if it says how pressing it is, else a page of tables.
pub(super) fn kind(path: &str, has_severity: bool) -> PageKind {
    // Folders count from `rules` on, so that a farm may live in any folder.
    let inside = path.split_once("rules/").map_or(path, |(_, inside)| inside);
    inside
        .split('/')
        .find_map(|folder| match folder {
            "pages" => Some(PageKind::Rule),
            "reading" => Some(PageKind::Reading),
            "vocabulary" | "tables" | "questions" => Some(PageKind::Tables),
            "causes" => Some(PageKind::Cause),
            "recipes" => Some(PageKind::Recipe),
            _ => None,
        })
        .unwrap_or(if has_severity { PageKind::Rule } else { PageKind::Tables })
}

impl Reading<'_> {
    /// The page's code, by its title or, for tables, by its file.
    pub(super) fn code(&mut self, kind: PageKind, title: &Text, path: &str) -> Arc<str> {
        if kind == PageKind::Tables {
            return stem(path);
        }
        let word = title.text.trim();
        if !is_code(word) {
            let like = word
                .to_lowercase()
                .split(|c: char| !c.is_ascii_alphanumeric())
                .filter(|w| !w.is_empty())
                .collect::<Vec<_>>()
                .join("-");
            let write = if like.is_empty() { String::new() } else { format!("# {like}") };
            self.fault(
                title.span,
                "The title of a rule page is its code: lower-case words joined with hyphens.",
                &write,
            );
            return if like.is_empty() { stem(path) } else { like.as_str().into() };
        }
        word.into()
    }

    /// Reads `Severity:` and `Folds:` from the paragraphs between the title and the first section.
    pub(super) fn front(&mut self, blocks: &[Block], title: usize) -> Front {
        let title_span = match blocks.get(title) {
            Some(Block::Heading { text, .. }) => text.span,
            _ => Span::default(),
        };
        let mut front = Front { severity: None, severity_missing_at: Some(title_span), folds: Vec::new() };
        let before = blocks.iter().skip(title + 1).take_while(|b| !matches!(b, Block::Heading { .. }));
        for block in before {
            let Block::Prose { span, paragraph: true } = block else { continue };
            let whole = self.text.get(span.range()).unwrap_or("").to_owned();
            let mut at = span.start as usize;
            for line in whole.split_inclusive('\n') {
                self.front_line(line, at, &mut front);
                at += line.len();
            }
        }
        front
    }

    fn front_line(&mut self, line: &str, at: usize, front: &mut Front) {
        let Some((key, value)) = line.split_once(':') else { return };
        let from = at + key.len() + 1;
        match key.trim() {
            "Severity" => {
                front.severity_missing_at = None;
                let (word, span) = tight(value, from);
                match severity(word) {
                    Some(s) => front.severity = Some(s),
                    None => {
                        let near = nearest(word, ["alarm", "error", "warn", "hint"]).unwrap_or("warn");
                        self.fault(
                            span,
                            format!("`{word}` is no severity: alarm, warn and hint are."),
                            &format!("Severity: {near}"),
                        );
                    }
                }
            }
            "Folds" => {
                let mut start = from;
                for phrase in value.split(',') {
                    let (text, span) = tight(phrase, start);
                    start += phrase.len() + 1;
                    if !text.is_empty() {
                        front.folds.push(Passage { loc: self.loc(span), text: text.into() });
                    }
                }
            }
            _ => {}
        }
    }
}

/// A code: lower-case letters and digits, in words joined with single hyphens.
fn is_code(word: &str) -> bool {
    !word.is_empty()
        && word
            .split('-')
            .all(|w| !w.is_empty() && w.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit()))
}

fn severity(word: &str) -> Option<Severity> {
    [Severity::Alarm, Severity::Error, Severity::Warn, Severity::Hint].into_iter().find(|s| s.word() == word)
}

/// `text` without white space at its ends, and where that stands if `text` starts at `at`.
fn tight(text: &str, at: usize) -> (&str, Span) {
    let start = at + (text.len() - text.trim_start().len());
    let trimmed = text.trim();
    (trimmed, Span::new(start, start + trimmed.len()))
}
