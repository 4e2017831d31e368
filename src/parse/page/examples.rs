//! The examples of a page: journals that must fire or must stay silent, recipes that must work or must
//! refuse, and what is expected of them.
//!
//! Comes in: the blocks under those headings. Goes out: named examples with their
//! journal, day and expectations as text. It does not run them; `rehearse` does.

use super::{Block, Reading, Text, blocks::Fence};
use crate::{
    base::span::Span,
    model::page::{Example, OwnPage, Page, PageKind, Passage},
};

/// A line that names an example.
const NAME: &str = "### what the example shows";

pub(super) const MUST_FIRE: &str = "Must fire";
pub(super) const MUST_STAY_SILENT: &str = "Must stay silent";
pub(super) const MUST_WORK: &str = "Must work";
pub(super) const MUST_REFUSE: &str = "Must refuse";

impl Reading<'_> {
    /// Collects the examples.
    pub(super) fn examples(&mut self, blocks: &[Block], page: &mut Page) {
        let mut under: Option<bool> = None;
        let mut name: Option<Passage> = None;
        for block in blocks {
            match block {
                Block::Heading { level: 1 | 2, text } => {
                    self.unused(name.take());
                    let is = |heading: &str| text.text.eq_ignore_ascii_case(heading);
                    under = if is(MUST_FIRE) || is(MUST_WORK) {
                        Some(true)
                    } else if is(MUST_STAY_SILENT) || is(MUST_REFUSE) {
                        Some(false)
                    } else {
                        None
                    };
                }
                Block::Heading { text, .. } if under.is_some() => {
                    self.unused(name.take());
                    name = Some(self.passage(text));
                }
                Block::Fence(fence) => self.example_fence(fence, under, &mut name, page),
                _ => {}
            }
        }
        self.unused(name);
        self.unlike(page);
    }

    fn example_fence(
        &mut self,
        fence: &Fence,
        under: Option<bool>,
        name: &mut Option<Passage>,
        page: &mut Page,
    ) {
        match (fence.info.as_str(), under) {
            (info, Some(must_fire)) if info == "page" || info.starts_with("page ") => {
                self.own_page(fence, info, must_fire, name, page);
            }
            ("journal", Some(must_fire)) => {
                let (today, ask, journal) = self.journal(fence);
                // A journal may follow the pages it is read with.
                if name.is_none()
                    && let Some(last) = page.examples.last_mut()
                    && !last.pages.is_empty()
                    && last.journal.text.is_empty()
                {
                    (last.today, last.ask, last.journal) = (today, ask, journal);
                    return;
                }
                let name = name.take().unwrap_or_else(|| {
                    self.fault(fence.span, "An example has a name above it.", NAME);
                    let text = format!("example {}", page.examples.len() + 1);
                    Passage { loc: self.loc(fence.span), text: text.into() }
                });
                let (pages, expected) = (Vec::new(), Vec::new());
                page.examples.push(Example { name, must_fire, ask, journal, pages, today, expected });
            }
            ("expect", Some(_)) => {
                let lines: Vec<Passage> = fence
                    .lines
                    .iter()
                    .filter(|l| !l.text.trim().is_empty())
                    .map(|l| self.slice(tight(l)))
                    .collect();
                match page.examples.last_mut() {
                    Some(example) if name.is_none() => example.expected.extend(lines),
                    _ => self.fault(
                        fence.span,
                        "What is expected stands after the journal it is expected of.",
                        "```journal",
                    ),
                }
            }
            ("journal" | "expect", None) => self.fault(
                fence.span,
                format!("An example stands under “{MUST_FIRE}” or “{MUST_STAY_SILENT}”."),
                "",
            ),
            _ => {}
        }
    }

    /// A page that an example brings along: of a new example, or of the one begun.
    fn own_page(
        &mut self,
        fence: &Fence,
        info: &str,
        must_fire: bool,
        name: &mut Option<Passage>,
        page: &mut Page,
    ) {
        let path = info.strip_prefix("page").unwrap_or("").trim();
        if path.is_empty() {
            self.fault(fence.span, "A page of an example has a path.", "````page rules/tables/own.md");
            return;
        }
        let text = self.whole_text(fence, &fence.lines);
        if let Some(name) = name.take() {
            let journal = Passage { loc: text.loc, text: "".into() };
            let (pages, expected) = (Vec::new(), Vec::new());
            page.examples.push(Example { name, must_fire, ask: None, journal, pages, today: None, expected });
        }
        match page.examples.last_mut() {
            Some(example) => example.pages.push(OwnPage { path: path.into(), text }),
            None => self.fault(fence.span, "An example has a name above it.", NAME),
        }
    }

    /// The day the journal is read on and what is asked of it, if its first lines say so, and the journal
    /// without those lines.
    fn journal(&self, fence: &Fence) -> (Option<Passage>, Option<Passage>, Passage) {
        let mut lines: &[Text] = &fence.lines;
        let (mut today, mut ask) = (None, None);
        while let Some((first, rest)) = lines.split_first() {
            let text = first.text.trim();
            let (said, value) = if let Some(day) = text.strip_prefix("today:") {
                (&mut today, day.trim())
            } else if let Some(words) = text.strip_prefix("ask:") {
                (&mut ask, words.trim())
            } else {
                break;
            };
            let end = first.span.start as usize + first.text.trim_end().len();
            let span = Span::new(end - value.len(), end);
            *said = Some(Passage { loc: self.loc(span), text: value.into() });
            lines = rest;
        }
        (today, ask, self.whole_text(fence, lines))
    }

    /// Lines of a fence as one text.
    fn whole_text(&self, fence: &Fence, lines: &[Text]) -> Passage {
        let span = lines.iter().map(|l| l.span).reduce(Span::cover).unwrap_or(fence.span);
        let text: String = lines.iter().flat_map(|l| [l.text.as_str(), "\n"]).collect();
        Passage { loc: self.loc(span), text: text.into() }
    }

    fn unused(&mut self, name: Option<Passage>) {
        if let Some(name) = name {
            let message = format!("The example “{}” has no journal.", name.text);
            self.fault(name.loc.span, message, "```journal");
        }
    }

    /// Expectations where they are due, and names that can tell examples apart.
    fn unlike(&mut self, page: &Page) {
        for (n, example) in page.examples.iter().enumerate() {
            let name = &example.name;
            let recipe = page.kind == PageKind::Recipe;
            if (example.must_fire || recipe) && example.expected.is_empty() {
                let must = if recipe { "is asked" } else { "must fire" };
                let message = format!("“{}” {must}, but nothing is expected of it.", name.text);
                self.fault(name.loc.span, message, "```expect");
            }
            match &example.ask {
                None if recipe => {
                    let message = format!("“{}” does not say what is asked.", name.text);
                    self.fault(name.loc.span, message, "ask: shelves 4 books");
                }
                Some(ask) if !recipe => {
                    let message = "Only an example of a recipe asks for something.";
                    self.fault(ask.loc.span, message, "");
                }
                _ => {}
            }
            if page.examples.iter().take(n).any(|e| e.name.text == name.text) {
                let message = format!("Two examples of this page are called “{}”.", name.text);
                self.fault(name.loc.span, message, "");
            }
        }
    }
}

/// The span of a line without the white space at its ends.
fn tight(line: &Text) -> Span {
    let start = line.span.start as usize + (line.text.len() - line.text.trim_start().len());
    Span::new(start, start + line.text.trim().len())
}
