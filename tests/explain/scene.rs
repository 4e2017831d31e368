//! A lending library with a diary, pages and findings: a world to explain that grows nothing.
//!
//! Comes in: a diary whose items are sentences of the world, and rules as strings. Goes out: everything
//! an explanation may draw on. It reads no real journal language; the stages before have their own tests.

use std::{fmt::Write as _, sync::Arc};

use chrono::NaiveDate;
use haulm::{
    base::{
        diagnostic::Severity,
        source::{SourceFile, SourceKind, Sources},
        span::{FileId, Loc, Span},
    },
    explain::Known,
    measure::{
        date::Days,
        value::{EntryId, Thing, Value},
    },
    model::{
        diary::{Allow, Closing, Diary, KnownThing},
        entry::{Entry, Filled, Filler, Group, Standing},
        outcome::Model,
        page::{Page, PageKind, Passage, Section},
        program::{Atom, Meaning, Status, Term, TextPart, Until, VarId},
        sentence::Origin,
    },
};

use crate::world::{Vars, World};

/// The world, its diary and its pages.
pub struct Scene {
    world: World,
    pages: Vec<Arc<Page>>,
    page_text: String,
    journal: String,
    things: Vec<(&'static str, &'static str)>,
}

/// A scene run on a day.
pub struct Run {
    pub world: World,
    pub model: Model,
    pub diary: Diary,
    pub pages: Vec<Arc<Page>>,
    pub sources: Sources,
    pub today: NaiveDate,
}

impl Run {
    pub fn known(&self) -> Known<'_> {
        Known {
            program: &self.world.program,
            model: &self.model,
            diary: &self.diary,
            pages: &self.pages,
            sources: &self.sources,
            today: self.today,
        }
    }
}

pub fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

impl Scene {
    /// A scene with sentences and named things.
    pub fn new(sentences: &[&str], things: &[(&'static str, &'static str)]) -> Self {
        Self {
            world: World::default().says(sentences),
            pages: Vec::new(),
            page_text: String::new(),
            journal: String::new(),
            things: things.to_vec(),
        }
    }

    /// A page with its severity and what it folds.
    pub fn page(mut self, code: &str, severity: Severity, folds: &str) -> Self {
        let passage = |text: &str| Passage { loc: Loc::new(FileId(0), Span::default()), text: text.into() };
        self.pages.push(Arc::new(Page {
            file: FileId(0),
            path: format!("rules/pages/{code}.md").into(),
            built_in: true,
            kind: PageKind::Rule,
            code: code.into(),
            severity: Some(severity),
            title: passage(code),
            asks: Vec::new(),
            sections: vec![
                Section {
                    heading: passage("What it notices"),
                    prose: passage("A book that somebody\nkeeps. Or a shelf."),
                },
                Section {
                    heading: passage("Why it matters"),
                    prose: passage("Others wait for it. They are patient."),
                },
            ],
            declarations: Vec::new(),
            rules: Vec::new(),
            tables: Vec::new(),
            examples: Vec::new(),
            folds: if folds.is_empty() { Vec::new() } else { vec![passage(folds)] },
        }));
        self
    }

    /// A plain rule.
    pub fn rule(mut self, page: &str, body: &[&str], head: &str) -> Self {
        self.world = self.world.rule(page, body, head);
        self.place(body, head);
        self
    }

    /// A finding: the about-variable, the `(here)` variable, the text with `{x}` and `{every x}`.
    pub fn finding(
        self,
        page: &str,
        severity: Severity,
        body: &[&str],
        about: &str,
        here: &str,
        text: &str,
    ) -> Self {
        let names = names(&format!("{{{about}}} {text} {{{here}}}"));
        let head_text = format!("then {} about {{{about}}}: \"{text}\"", severity.word());
        self.head(page, body, &names, &head_text, |at| Meaning::Finding {
            severity,
            about: vec![at(about)],
            text: parts(text, at),
            here: Some(at(here)),
        })
    }

    /// An action: `words`, `since` and `by` variables, and the sentence that closes it with `{}` for its day.
    pub fn action(
        self,
        page: &str,
        body: &[&str],
        words: &str,
        since: &str,
        by: &str,
        until: Option<&str>,
    ) -> Self {
        let names = names(&format!("{words} {{{since}}} {{{by}}}"));
        let mut vars = Vars::default();
        let until_atom = until.map(|u| self.world.atom(u, &mut vars));
        let head_text = format!("then do {words} since {{{since}}}, by {{{by}}}");
        self.head(page, body, &names, &head_text, |at| Meaning::Action {
            words: parts(words, at),
            key: crate::scene::names(words).iter().map(|n| at(n)).collect(),
            since: at(since),
            by: at(by),
            until: until_atom.map(|atom: Atom| {
                let free_day = atom.terms.iter().rposition(|t| *t == Term::Any).expect("a free day");
                let terms = atom
                    .terms
                    .into_iter()
                    .map(|t| match t {
                        Term::Var(v) => {
                            Term::Var(VarId(u32::try_from(at(&vars.names[v.0 as usize])).expect("small")))
                        }
                        other => other,
                    })
                    .collect();
                let atom = Atom { sentence: atom.sentence, terms, entry: Term::Any, status: Status::Done };
                Until { atom, free_day }
            }),
            here: None,
        })
    }

    /// A caution about a variable.
    pub fn caution(self, page: &str, body: &[&str], about: &str, text: &str) -> Self {
        let names = names(&format!("{{{about}}} {text}"));
        let head_text = format!("then caution about {{{about}}}: \"{text}\"");
        self.head(page, body, &names, &head_text, |at| Meaning::Caution {
            about: vec![at(about)],
            text: parts(text, at),
        })
    }

    fn head(
        mut self,
        page: &str,
        body: &[&str],
        names: &[String],
        head_text: &str,
        meaning: impl FnOnce(&dyn Fn(&str) -> usize) -> Meaning,
    ) -> Self {
        let n = self.world.program.rules.len();
        let blanks: String = names.iter().map(|n| format!(" {{{n}}}")).collect();
        let pattern = format!("head{n}{blanks}");
        self.world = self.world.says(&[&pattern]);
        Arc::make_mut(&mut self.world.program.sentences).last_mut().expect("declared").origin = Origin::Head;
        self.world = self.world.rule(page, body, &pattern);
        let at = |name: &str| names.iter().position(|n| n == name).expect("a head variable");
        Arc::make_mut(self.world.program.rules.last_mut().expect("a rule")).meaning = meaning(&at);
        self.place(body, head_text);
        self
    }

    /// Writes the last rule into the page's text and points it there.
    fn place(&mut self, body: &[&str], head: &str) {
        let rule = Arc::make_mut(self.world.program.rules.last_mut().expect("a rule"));
        let start = self.page_text.len();
        for (n, line) in body.iter().enumerate() {
            let _ = write!(self.page_text, "{}", if n == 0 { "if   " } else { "and  " });
            let at = self.page_text.len();
            // The test language's signs, in the words a page would use.
            let words = line.replace(" > ", " is more than ").replace(" = ", " is ");
            let _ = writeln!(self.page_text, "{words}");
            rule.body[n].loc = Loc::new(FileId(0), Span::new(at, at + words.len()));
        }
        let _ = writeln!(self.page_text, "{head}\n");
        rule.loc = Loc::new(FileId(0), Span::new(start, self.page_text.len() - 2));
    }

    /// Facts of tables.
    pub fn given(mut self, facts: &[&str]) -> Self {
        self.world = self.world.given(facts);
        self
    }

    /// The diary: `## DATE` headings, items that are sentences without their day, `[ ]` for plans,
    /// `allow CODE on THING until DATE: reason`, `done|skipped WORDS: reason`.
    pub fn diary(mut self, text: &str) -> Self {
        self.journal = text.to_owned();
        self
    }

    pub fn on(mut self, today: &str) -> Run {
        let sources = Sources::new(vec![
            SourceFile::new("rules/library.md", self.page_text.clone(), SourceKind::RulePage, true),
            SourceFile::new("loans.md", self.journal.clone(), SourceKind::Journal, false),
        ]);
        let file = FileId(1);
        let mut diary = Diary::default();
        let mut heading = day(today);
        let mut offset = 0;
        for line in self.journal.clone().split_inclusive('\n') {
            let start = offset;
            offset += line.len();
            if let Some(date) = line.trim_end().strip_prefix("## ") {
                heading = day(date);
                continue;
            }
            let Some(item) = line.trim_end().strip_prefix("- ") else { continue };
            let planned = item.starts_with("[ ] ");
            let words = item.strip_prefix("[ ] ").unwrap_or(item);
            let at = start + 2 + (item.len() - words.len());
            let loc = Loc::new(file, Span::new(at, at + words.len()));
            self.entry(&mut diary, words, loc, heading, planned);
        }
        let facts = std::mem::take(&mut self.world.facts);
        self.world.facts = facts
            .into_iter()
            .map(|mut f| {
                f.values = f.values.into_iter().map(|v| self.thing(v)).collect();
                f
            })
            .collect();
        diary.facts = Arc::new(self.world.facts.iter().cloned().map(Arc::new).collect());
        for fact in Arc::make_mut(&mut self.world.program.facts) {
            let fact = Arc::make_mut(fact);
            fact.values = fact.values.clone().into_iter().map(|v| thing(&self.things, v)).collect();
        }
        for (kind, name) in &self.things {
            let thing = Thing { kind: (*kind).into(), name: (*name).into() };
            let began = diary.entries.iter().find_map(|e| {
                let found =
                    e.groups[0].slots.iter().find(|f| f.filler == Filler::Value(Value::Thing(thing.clone())));
                found.map(|f| (f.loc, e.id))
            });
            diary.things.push(KnownThing { thing, began, mentions: began.into_iter().collect() });
        }
        let model = self.world.model();
        Run { world: self.world, model, diary, pages: self.pages, sources, today: day(today) }
    }

    fn entry(&mut self, diary: &mut Diary, words: &str, loc: Loc, heading: NaiveDate, planned: bool) {
        let id = EntryId(u32::try_from(diary.entries.len()).expect("few entries"));
        let (verb, rest) = words.split_once(' ').expect("a verb and more");
        let start = loc.span.start as usize;
        let after = |n: usize| Loc::new(loc.file, Span::new(start + n, loc.span.end as usize));
        let mut slots = Vec::new();
        match verb {
            "allow" => {
                let (line, reason) = rest.split_once(": ").map_or((rest, None), |(l, r)| (l, Some(r)));
                let (line, until) =
                    line.split_once(" until ").map_or((line, None), |(l, d)| (l, Some(day(d))));
                let (code, about) = line.split_once(" on ").map_or((line, None), |(c, t)| (c, Some(t)));
                diary.allows.push(Allow {
                    entry: id,
                    code: code.into(),
                    about: about.map(str::to_owned),
                    until,
                    reason: reason.map(Arc::from),
                });
            }
            "done" | "skipped" => {
                let (line, reason) = rest.split_once(": ").map_or((rest, None), |(l, r)| (l, Some(r)));
                let at = after(verb.len() + 1);
                diary.closings.push(Closing {
                    entry: id,
                    day: heading,
                    skipped: verb == "skipped",
                    words: line.into(),
                    words_loc: Loc::new(
                        at.file,
                        Span::new(at.span.start as usize, at.span.start as usize + line.len()),
                    ),
                    reason: reason.map(Arc::from),
                });
            }
            _ => {
                let sentence = format!("{words} on {heading}{}", if planned { " (planned)" } else { "" });
                self.world = std::mem::take(&mut self.world).given(&[&sentence]);
                let fact = self.world.facts.last_mut().expect("a fact");
                fact.source = haulm::model::program::FactSource::Entry(id);
                let mut at = 0;
                for word in words.split(' ') {
                    let span = Span::new(start + at, start + at + word.len());
                    at += word.len() + 1;
                    let value = thing(&self.things, Value::word(word));
                    if fact.values.contains(&Value::word(word)) {
                        let slot = format!("slot{}", slots.len());
                        slots.push(Filled {
                            slot: slot.into(),
                            filler: Filler::Value(value),
                            loc: Loc::new(loc.file, span),
                        });
                    }
                }
            }
        }
        let standing = if planned {
            Standing::Planned { only_if_clean: None, by_date_only: false }
        } else {
            Standing::Done
        };
        diary.entries.push(Entry {
            id,
            loc,
            verb: verb.into(),
            verb_loc: Loc::new(loc.file, Span::new(start, start + verb.len())),
            days: Some(Days::on(heading)),
            clock: None,
            standing,
            groups: Arc::new(vec![Group { slots }]),
            words: None,
            ticked: planned.then_some(false),
        });
    }

    fn thing(&self, value: Value) -> Value {
        thing(&self.things, value)
    }
}

/// A word as the thing it names, if it names one.
fn thing(things: &[(&str, &str)], value: Value) -> Value {
    match &value {
        Value::Word(w) => match things.iter().find(|(_, name)| *name == &**w) {
            Some((kind, name)) => Value::thing(*kind, *name),
            None => value,
        },
        _ => value,
    }
}

/// The variables of a text, each once, in order.
fn names(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for part in text.split('{').skip(1) {
        let name = part.split('}').next().expect("a brace");
        let name = name.strip_prefix("every ").unwrap_or(name).to_owned();
        if !out.contains(&name) {
            out.push(name);
        }
    }
    out
}

fn parts(text: &str, at: &dyn Fn(&str) -> usize) -> Vec<TextPart> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, after) = after.split_once('}').expect("a brace");
        if !before.is_empty() {
            out.push(TextPart::Words(before.into()));
        }
        out.push(match name.strip_prefix("every ") {
            Some(name) => TextPart::Every(at(name)),
            None => TextPart::Term(at(name)),
        });
        rest = after;
    }
    if !rest.is_empty() {
        out.push(TextPart::Words(rest.into()));
    }
    out
}
