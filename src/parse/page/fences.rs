//! `sentences` and `rule` fences cut into lines and rules.
//!
//! Comes in: fenced blocks. Goes out: declarations and rules as passages, continuation lines joined.
//! It does not read a sentence; `understand` does.

use std::sync::Arc;

use super::{Block, Reading, Text, blocks::Fence};
use crate::{
    base::{name::nearest, span::Span},
    model::page::{Declaration, Page, Passage, RuleText},
};

/// The fences that mean something, by their first word.
const READ: [&str; 6] = ["sentences", "rule", "ask", "journal", "page", "expect"];

/// Whether a fence with these words after its marks is read by the program.
pub(super) fn is_read(info: &str) -> bool {
    info.split(' ').next().is_some_and(|w| READ.contains(&w))
}

/// Whether a line of a rule has something shown or asked for, as only a page with a code may.
pub(super) fn tells(line: &str) -> bool {
    let mut words = line.split_whitespace();
    words.next() == Some("then")
        && words.next().is_some_and(|w| matches!(w, "alarm" | "warn" | "hint" | "do" | "caution"))
}

impl Reading<'_> {
    /// Whether a fence is left open, which is said here.
    pub(super) fn left_open(&mut self, blocks: &[Block]) -> bool {
        let open = blocks.iter().find_map(|b| match b {
            Block::Fence(fence) if is_read(&fence.info) && self.swallows(fence) => Some(fence),
            _ => None,
        });
        let Some(fence) = open else { return false };
        let start = fence.span.start as usize;
        let marks = self.text.get(start..).unwrap_or("");
        let marks = marks.len() - marks.trim_start_matches(['`', '~']).len();
        let first = fence.info.split(' ').next().unwrap_or("");
        let message = format!("This `{first}` fence is never closed, so nothing on this page is read.");
        let close = self.text.get(start..start + marks).unwrap_or("").to_owned();
        self.fault(Span::new(start, start + marks.max(1)), message, &close);
        true
    }

    /// Collects declarations and rules of all fences.
    pub(super) fn fences(&mut self, blocks: &[Block], page: &mut Page) {
        for block in blocks {
            let Block::Fence(fence) = block else { continue };
            let mut words = fence.info.split(' ');
            let first = words.next().unwrap_or("");
            let rest: Vec<&str> = words.collect();
            match first {
                "sentences" => self.declarations(fence, &rest, page),
                "rule" => self.rules(fence, page),
                "ask" => page.asks.extend(self.joined(fence)),
                "journal" | "page" | "expect" | "" => {}
                other => {
                    // A fence in another language is for people, unless it is a slip of the finger.
                    if let Some(near) = nearest(other, READ.into_iter().chain(["rules", "sentence"])) {
                        let near = match near {
                            "rules" => "rule",
                            "sentence" => "sentences",
                            n => n,
                        };
                        self.fault(
                            fence.span,
                            format!("A fence marked `{other}` is not read. Did you mean `{near}`?"),
                            &format!("```{near}"),
                        );
                    }
                }
            }
        }
    }

    /// Whether a fence runs on past where it was meant to end: to the end of the page, or over the opening of
    /// another, whose closing then closed it.
    fn swallows(&self, fence: &Fence) -> bool {
        let whole = self.text.get(fence.span.range()).unwrap_or("");
        let marks = whole.len() - whole.trim_start_matches(['`', '~']).len();
        let opener = whole.get(..marks).unwrap_or("");
        let ends = matches!(first_word(&fence.info), "sentences" | "rule" | "ask");
        let over = |line: &Text| {
            let text = line.text.trim_start();
            (!opener.is_empty() && text.starts_with(opener)) || (ends && text.starts_with("## "))
        };
        !fence.closed || fence.lines.iter().any(over)
    }

    fn declarations(&mut self, fence: &Fence, rest: &[&str], page: &mut Page) {
        let reckoned_by: Option<Arc<str>> = match rest {
            [] => None,
            ["reckon", name @ ..] if !name.is_empty() => Some(name.join(" ").into()),
            _ => {
                self.fault(
                    fence.span,
                    format!("A fence of sentences can be marked `reckon NAME`, not `{}`.", rest.join(" ")),
                    "```sentences",
                );
                None
            }
        };
        for line in self.joined(fence) {
            page.declarations.push(Declaration { line, reckoned_by: reckoned_by.clone() });
        }
    }

    /// The fence's lines, each with its indented continuation; empty lines left out.
    fn joined(&self, fence: &Fence) -> Vec<Passage> {
        let mut all: Vec<Span> = Vec::new();
        let mut open = false;
        for line in &fence.lines {
            let words = line.text.trim();
            if words.is_empty() {
                open = false;
                continue;
            }
            let span = tight(line);
            match all.last_mut() {
                Some(last) if open && line.text.starts_with([' ', '\t']) => *last = last.cover(span),
                _ => all.push(span),
            }
            open = true;
        }
        all.into_iter().map(|span| self.slice(span)).collect()
    }

    fn rules(&mut self, fence: &Fence, page: &mut Page) {
        let mut lines: Vec<Passage> = Vec::new();
        for line in self.joined(fence) {
            match first_word(&line.text).to_owned().as_str() {
                "if" => {
                    self.unfinished(&mut lines);
                    lines.push(line);
                }
                word @ ("and" | "then") => {
                    if lines.is_empty() {
                        self.fault(
                            line.loc.span,
                            format!("A rule begins with `if`; this line begins with `{word}`."),
                            "if   …",
                        );
                        continue;
                    }
                    lines.push(line);
                    if word == "then" {
                        let lines = std::mem::take(&mut lines);
                        let spans = lines.iter().map(|l| l.loc.span).reduce(Span::cover);
                        let loc = self.loc(spans.unwrap_or_default());
                        if lines.iter().all(|l| matches!(first_word(&l.text), "if" | "and" | "then")) {
                            page.rules.push(RuleText { loc, lines });
                        }
                    }
                }
                word => {
                    let message = format!(
                        "A line of a rule begins with `if`, `and` or `then`; this one begins with `{word}`. A line that goes on is indented."
                    );
                    self.fault(line.loc.span, message, "and  …");
                    // Kept, so that the rule is known to be faulty and is not taken without this line.
                    if !lines.is_empty() {
                        lines.push(line);
                    }
                }
            }
        }
        self.unfinished(&mut lines);
        if fence.lines.iter().all(|l| l.text.trim().is_empty()) {
            self.fault(fence.span, "This `rule` fence is empty.", "if   …");
        }
    }

    fn unfinished(&mut self, lines: &mut Vec<Passage>) {
        if let Some(span) = lines.iter().map(|l| l.loc.span).reduce(Span::cover) {
            self.fault(span, "This rule has no `then`: nothing follows from it.", "then …");
        }
        lines.clear();
    }
}

fn first_word(text: &str) -> &str {
    text.split_whitespace().next().unwrap_or("")
}

/// The span of a line without the white space at its ends.
fn tight(line: &Text) -> Span {
    let start = line.span.start as usize + (line.text.len() - line.text.trim_start().len());
    Span::new(start, start + line.text.trim().len())
}
