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
const READ: [&str; 5] = ["sentences", "rule", "journal", "page", "expect"];

/// Whether a fence with these words after its marks is read by the program.
pub(super) fn is_read(info: &str) -> bool {
    info.split(' ').next().is_some_and(|w| READ.contains(&w))
}

impl Reading<'_> {
    /// Collects declarations and rules of all fences.
    pub(super) fn fences(&mut self, blocks: &[Block], page: &mut Page) {
        for block in blocks {
            let Block::Fence(fence) = block else { continue };
            let mut words = fence.info.split(' ');
            let first = words.next().unwrap_or("");
            let rest: Vec<&str> = words.collect();
            if READ.contains(&first) && !fence.closed {
                let at = Span::new(fence.span.start as usize, fence.span.start as usize + 3);
                self.fault(at, format!("This `{first}` fence is never closed."), "```");
            }
            match first {
                "sentences" => self.declarations(fence, &rest, page),
                "rule" => self.rules(fence, page),
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
