//! A rule page cut into its parts: headings, fences, tables, examples.
//!
//! Comes in: the text of one Markdown page and its path. Goes out: a [`Page`] whose rules and sentences
//! are still text, and a diagnostic for each part that is missing or misshapen. It does not read the
//! sentences themselves, nor any other page.

mod blocks;
mod examples;
mod fences;
mod front;
mod tables;

use std::sync::Arc;

use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::{FileId, Loc, Span},
    },
    model::page::{Page, PageKind, Passage, Section},
};
use blocks::{Block, Text};

/// The code of every fault in the shape of a page.
const SHAPE: &str = "page-out-of-shape";

/// The code of a page nothing can be read of.
const UNREAD: &str = "unread-page";

/// The headings a page with a code must have, beside its title.
const HEADINGS: [&str; 8] = [
    "What it notices",
    "Why it matters",
    "Rules",
    "What to do",
    examples::MUST_FIRE,
    examples::MUST_STAY_SILENT,
    "Limits",
    "Sources",
];

/// The headings a recipe must have.
const RECIPE_HEADINGS: [&str; 6] =
    ["What it is for", "How to ask", "Rules", examples::MUST_WORK, "Limits", "Sources"];

/// The headings among them that a page of tables has no use for.
const TELLING: [&str; 5] =
    ["What it notices", "Why it matters", "What to do", examples::MUST_FIRE, examples::MUST_STAY_SILENT];

/// Reads one page. `path` decides what kind of page it is and names a page of tables.
///
/// Gives no page only for a text without a title and for one with a fence left open, which swallows the rest;
/// a page with other faults still gives all that could be read.
pub fn parse(file: FileId, path: &str, text: &str) -> (Option<Page>, Vec<Diagnostic>) {
    let mut reading = Reading { file, text, faults: Vec::new() };
    let blocks = blocks::cut(text);
    let page = reading.page(path, &blocks);
    (page, reading.faults)
}

/// One page under the eye: the text, and what was found wrong with it.
struct Reading<'a> {
    file: FileId,
    text: &'a str,
    faults: Vec<Diagnostic>,
}

impl Reading<'_> {
    fn loc(&self, span: Span) -> Loc {
        Loc::new(self.file, span)
    }

    fn passage(&self, text: &Text) -> Passage {
        Passage { loc: self.loc(text.span), text: text.text.as_str().into() }
    }

    /// The passage a span covers, as it stands.
    fn slice(&self, span: Span) -> Passage {
        Passage { loc: self.loc(span), text: self.text.get(span.range()).unwrap_or("").into() }
    }

    fn fault(&mut self, span: Span, message: impl Into<String>, write: &str) {
        let mut said = Diagnostic::new(SHAPE, Severity::Error, message).at(self.loc(span), "");
        if !write.is_empty() {
            said = said.remark(RemarkKind::Write, write);
        }
        self.faults.push(said);
    }

    fn page(&mut self, path: &str, blocks: &[Block]) -> Option<Page> {
        let title = blocks.iter().enumerate().find_map(|(n, b)| match b {
            Block::Heading { level: 1, text } => Some((n, text)),
            _ => None,
        });
        let Some((first, title)) = title else {
            let end = self.text.lines().next().map_or(0, str::len);
            let said = "This page has no title, so nothing on it is read.";
            self.faults.push(
                Diagnostic::new(UNREAD, Severity::Error, said)
                    .at(self.loc(Span::new(0, end)), "")
                    .remark(RemarkKind::Write, "# the-code"),
            );
            return None;
        };
        // What follows an open fence is swallowed by it: to speak of anything else would be to guess.
        if self.left_open(blocks) {
            return None;
        }
        let front = self.front(blocks, first);
        let kind = front::kind(path, front.severity.is_some() || self.means_to_say(blocks));
        let code = self.code(kind, title, path);
        let mut page = Page {
            file: self.file,
            path: path.into(),
            built_in: false,
            kind,
            code,
            severity: front.severity,
            title: self.passage(title),
            sections: Vec::new(),
            declarations: Vec::new(),
            asks: Vec::new(),
            rules: Vec::new(),
            tables: Vec::new(),
            examples: Vec::new(),
            folds: front.folds,
        };
        self.sections(blocks, &mut page);
        self.fences(blocks, &mut page);
        self.tables(blocks, &mut page);
        self.examples(blocks, &mut page);
        let has_fence =
            blocks.iter().any(|b| matches!(b, Block::Fence(f) if f.info.split(' ').next() == Some("rule")));
        self.whole(&page, front.severity_missing_at, has_fence);
        Some(page)
    }

    /// Whether a page has what only a page with a code has: its headings, or a rule that tells something.
    fn means_to_say(&self, blocks: &[Block]) -> bool {
        blocks.iter().any(|block| match block {
            Block::Heading { level: 2, text } => {
                TELLING.iter().any(|heading| text.text.eq_ignore_ascii_case(heading))
            }
            Block::Fence(fence) => fence.info == "rule" && fence.lines.iter().any(|l| fences::tells(&l.text)),
            _ => false,
        })
    }

    /// Sections: each second-level heading with the prose under it.
    fn sections(&mut self, blocks: &[Block], page: &mut Page) {
        let mut at: Option<(Passage, Vec<Span>)> = None;
        for block in blocks {
            match block {
                Block::Heading { level: 2, text } => {
                    let next = (self.passage(text), Vec::new());
                    self.close(at.replace(next), page);
                }
                Block::Heading { level: 1, .. } => self.close(at.take(), page),
                Block::Heading { text, .. } => push(&mut at, text.span),
                Block::Prose { span, .. } | Block::Table { span, .. } => push(&mut at, *span),
                Block::Fence(f) if !fences::is_read(&f.info) => push(&mut at, f.span),
                Block::Fence(_) => {}
            }
        }
        self.close(at, page);
    }

    fn close(&self, at: Option<(Passage, Vec<Span>)>, page: &mut Page) {
        let Some((heading, spans)) = at else { return };
        let loc = spans.iter().copied().reduce(Span::cover).unwrap_or(heading.loc.span);
        let text: Vec<String> =
            spans.iter().map(|s| self.text.get(s.range()).unwrap_or("").trim().to_owned()).collect();
        let prose = Passage { loc: self.loc(loc), text: text.join("\n\n").into() };
        page.sections.push(Section { heading, prose });
    }

    /// Names all missing headings at once.
    fn headings(&mut self, page: &Page, needed: &[&str]) {
        let reading = page.kind == PageKind::Reading;
        let missing: Vec<&&str> =
            needed.iter().filter(|h| section(page, h).is_none() && !(reading && **h == "Rules")).collect();
        if missing.is_empty() {
            return;
        }
        let names = missing.iter().map(|h| format!("“{h}”")).collect::<Vec<_>>().join(", ");
        let what = if missing.len() == 1 { "the heading" } else { "the headings" };
        let mut said =
            Diagnostic::new(SHAPE, Severity::Error, format!("`{}` lacks {what} {names}.", page.code))
                .at(page.title.loc, "");
        for heading in missing {
            said = said.remark(RemarkKind::Write, format!("## {heading}"));
        }
        self.faults.push(said);
    }

    /// A page of tables without any: a rule page barely begun, most often.
    fn says_nothing(&mut self, page: &Page) {
        let message = "Nothing on this page is read: it has no rule, no table and no sentences.";
        self.faults.push(
            Diagnostic::new(SHAPE, Severity::Error, message)
                .at(page.title.loc, "")
                .remark(RemarkKind::Write, "Severity: warn")
                .remark(
                    RemarkKind::Note,
                    "A rule page says how pressing it is under its title, and has the headings that \
                     `haulm rules show page-out-of-shape` shows; a page of tables has a line \
                     `Each row says:` above a table.",
                ),
        );
    }

    /// Says what a page of its kind lacks.
    fn whole(&mut self, page: &Page, severity_missing_at: Option<Span>, has_fence: bool) {
        let title = page.title.loc.span;
        let needed: &[&str] = match page.kind {
            PageKind::Rule | PageKind::Reading => &HEADINGS,
            PageKind::Recipe => &RECIPE_HEADINGS,
            PageKind::Tables | PageKind::Cause => &[],
        };
        let recipe = page.kind == PageKind::Recipe;
        if recipe && page.asks.iter().all(|ask| ask.text.starts_with("with ")) {
            self.fault(title, format!("Nothing says how `{}` is asked for.", page.code), "```ask");
        }
        if let (false, Some(ask)) = (recipe, page.asks.first()) {
            let span = ask.loc.span;
            self.fault(span, "Only a recipe is asked for: its page stands in a folder `recipes`.", "");
        }
        let severity_missing_at = severity_missing_at.filter(|_| !recipe);
        if let (false, Some(span)) = (needed.is_empty(), severity_missing_at) {
            let message = format!("`{}` does not say how pressing it is.", page.code);
            self.fault(span, message, "Severity: warn");
        }
        self.headings(page, needed);
        if page.kind == PageKind::Tables && self.faults.is_empty() && says_nothing(page) {
            self.says_nothing(page);
        }
        if page.kind == PageKind::Reading && !page.rules.is_empty() {
            let span = page.rules.first().map_or(title, |r| r.loc.span);
            let message = format!(
                "`{}` is said by the reading of journals and pages, so its page can hold no rules.",
                page.code
            );
            self.fault(span, message, "");
        }
        if matches!(page.kind, PageKind::Rule | PageKind::Recipe) && page.rules.is_empty() && !has_fence {
            self.fault(title, format!("`{}` has no rule.", page.code), "```rule");
        }
        if recipe {
            let works = section(page, examples::MUST_WORK);
            if let (Some(at), false) = (works, page.examples.iter().any(|e| e.must_fire)) {
                let message = format!("`{}` has no example under “{}”.", page.code, examples::MUST_WORK);
                self.fault(at.heading.loc.span, message, "### the name of the example");
            }
        } else if !needed.is_empty() {
            for (fire, heading) in [(true, examples::MUST_FIRE), (false, examples::MUST_STAY_SILENT)] {
                if !page.examples.iter().any(|e| e.must_fire == fire) {
                    let at = section(page, heading);
                    if at.is_none() {
                        continue;
                    }
                    // What is said of pages shows in no journal: words must do there.
                    if page.kind == PageKind::Reading && at.is_some_and(|s| !s.prose.text.is_empty()) {
                        continue;
                    }
                    let span = at.map_or(title, |s| s.heading.loc.span);
                    let message = format!("`{}` has no example under “{heading}”.", page.code);
                    self.fault(span, message, "### the name of the example");
                }
            }
        }
    }
}

fn says_nothing(page: &Page) -> bool {
    page.declarations.is_empty() && page.rules.is_empty() && page.tables.is_empty()
}

fn section<'a>(page: &'a Page, heading: &str) -> Option<&'a Section> {
    page.sections.iter().find(|s| s.heading.text.trim().eq_ignore_ascii_case(heading))
}

fn push(at: &mut Option<(Passage, Vec<Span>)>, span: Span) {
    if let Some((_, spans)) = at {
        spans.push(span);
    }
}

/// The code a table page goes by: its file's stem.
fn stem(path: &str) -> Arc<str> {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.strip_suffix(".md").unwrap_or(name).into()
}

#[cfg(test)]
mod tests;
