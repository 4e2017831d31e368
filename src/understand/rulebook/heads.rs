//! What a rule concludes: a sentence, a finding, an action, an answer or a caution.
//!
//! Comes in: a head as written and the rule's body so far. Goes out: the head as an atom, what it
//! means to a reader, and the variables it needs bound. It does not check that they are.

use std::sync::Arc;

use super::{
    UNBOUND, UNREAD, atoms,
    atoms::Fill,
    fault,
    rule::Draft,
    shapes::{Head, Item, Said, Spot, Sum},
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind, Severity},
        span::Loc,
    },
    measure::value::{BlankType, Value},
    model::{
        page::{PageKind, Passage},
        program::{Atom, Demand, Meaning, Rule, Status, Term, TextPart, Until, VarId},
        sentence::{Blank, Origin, Part, Sentence, SentenceId},
    },
};

/// A head compiled.
pub(super) struct Concluded {
    pub(super) atom: Atom,
    pub(super) meaning: Meaning,
    /// Variables the body must bind, with where the head uses them.
    pub(super) uses: Vec<(VarId, Loc)>,
}

pub(super) fn concluded(
    draft: &mut Draft<'_>,
    head: &Head,
    passage: &Passage,
) -> Result<Concluded, Diagnostic> {
    let here_allowed = matches!(head, Head::Finding(..) | Head::Action { .. });
    match draft.here {
        Some((_, loc)) if !here_allowed => {
            return Err(fault(UNREAD, loc, "Only findings and actions point at a line with `(here)`."));
        }
        // A line that could not be read may have been the one marked.
        None if matches!(head, Head::Finding(..)) && draft.faults.is_empty() => {
            return Err(fault(
                UNREAD,
                passage.loc,
                "No line of this rule is marked `(here)`: where should the finding point?",
            )
            .remark(RemarkKind::Write, "if   {book} was lent to {person} on {day}  (here)"));
        }
        _ => {}
    }
    let mut terms = Terms { all: Vec::new() };
    match head {
        Head::Said(said) => sentence(draft, said),
        Head::Finding(severity, about, text) => {
            let about = terms.subjects(draft, about)?;
            let text = terms.text(draft, text, &about)?;
            let here = terms.here(draft);
            let severity = match severity.it.as_str() {
                "alarm" => Severity::Alarm,
                "warn" => Severity::Warn,
                _ => Severity::Hint,
            };
            let shown = terms.shown(severity.word(), &about, &text);
            Ok(terms.finish(draft, shown, passage, Meaning::Finding { severity, about, text, here }))
        }
        Head::Caution(about, text) => {
            let about = terms.subjects(draft, about)?;
            let text = terms.text(draft, text, &about)?;
            let shown = terms.shown("caution", &about, &text);
            Ok(terms.finish(draft, shown, passage, Meaning::Caution { about, text }))
        }
        Head::Answer { question, outbreak, about, answer } => {
            answered(draft, terms, question, outbreak, about.as_ref(), answer, passage)
        }
        Head::Told { part, label, text } => {
            let label = label.as_ref().map(|label| terms.told(draft, label)).transpose()?;
            let label = label.unwrap_or_default();
            let text = terms.told(draft, text)?;
            let mut shown = vec![Part::Word(part.word().into())];
            shown.extend(parts(&label));
            shown.push(Part::Word(":".into()));
            shown.extend(parts(&text));
            Ok(terms.finish(draft, shown, passage, Meaning::Told { part: *part, label, text }))
        }
        Head::Action { deed, since, by, until } => {
            action(draft, terms, deed, since, by, until.as_ref(), passage)
        }
    }
}

/// What a page of this kind cannot conclude.
pub(super) fn misplaced(rule: &Rule, kind: PageKind) -> Option<Diagnostic> {
    let message = match (&rule.meaning, kind == PageKind::Recipe) {
        (Meaning::Sentence, _) | (Meaning::Told { .. }, true) => return None,
        (Meaning::Told { part, .. }, false) => {
            format!("Only a recipe tells a {}; this page is none.", part.word())
        }
        (_, true) => "A recipe tells something only when it is asked for: it finds nothing and asks for \
                      nothing by itself."
            .to_owned(),
        (_, false) => return None,
    };
    Some(fault(UNREAD, rule.loc, message))
}

/// An answer. Where pages declare how answers are said, it is that sentence, and rules and reckoners read
/// it like any other; else it is only shown.
fn answered(
    draft: &mut Draft<'_>,
    mut terms: Terms,
    question: &Spot<String>,
    outbreak: &Spot<String>,
    about: Option<&Spot<String>>,
    answer: &Spot<String>,
    passage: &Passage,
) -> Result<Concluded, Diagnostic> {
    let outbreak_term = terms.hole(draft, outbreak)?;
    let about_term = about.map(|a| terms.hole(draft, a)).transpose()?;
    let words: (Arc<str>, Arc<str>) = (question.it.as_str().into(), answer.it.as_str().into());
    let Some(declared) = draft.book.same_words(&answers(about.is_some())) else {
        let mut shown = vec![
            Part::Word(format!("answer “{}” in outbreak", question.it).into()),
            Part::Blank(outbreak_term),
        ];
        if let Some(about) = about_term {
            shown.extend([Part::Word("about".into()), Part::Blank(about)]);
        }
        shown.extend([Part::Word(":".into()), Part::Word(answer.it.as_str().into())]);
        let meaning = Meaning::Answer {
            question: words.0,
            outbreak: outbreak_term,
            about: about_term,
            answer: words.1,
        };
        return Ok(terms.finish(draft, shown, passage, meaning));
    };
    let var = |n: usize| terms.all.get(n).map_or(Term::Any, |(id, _)| Term::Var(*id));
    let mut filled = vec![var(outbreak_term), Term::Const(Value::Word(words.0.clone()))];
    filled.extend(about_term.map(var));
    filled.push(Term::Const(Value::Word(words.1.clone())));
    let atom = Atom { sentence: declared, terms: filled, entry: Term::Any, status: Status::Done };
    let meaning =
        Meaning::Answer { question: words.0, outbreak: 0, about: about_term.map(|_| 2), answer: words.1 };
    Ok(Concluded { atom, meaning, uses: terms.all })
}

/// The words by which pages declare how answers are said.
pub(super) fn answers(about: bool) -> Vec<Part> {
    let word = |w: &str| Part::Word(w.into());
    let mut parts = vec![word("in"), Part::Blank(0), word(","), Part::Blank(1)];
    if about {
        parts.extend([word("about"), Part::Blank(2)]);
    }
    parts.extend([word("is"), word("answered"), Part::Blank(if about { 3 } else { 2 })]);
    parts
}

/// A plain conclusion.
fn sentence(draft: &mut Draft<'_>, said: &Said) -> Result<Concluded, Diagnostic> {
    let matched = atoms::matched(draft.book, said)?;
    let Some(declared) = draft.book.get(matched.sentence) else {
        return Err(fault(UNREAD, said.loc, "This conclusion has no sentence."));
    };
    let pattern = declared.pattern();
    match &declared.origin {
        Origin::Page if !pattern.starts_with("today ") => {}
        Origin::Reckoned(by) => {
            return Err(fault(
                UNREAD,
                said.loc,
                format!("`{pattern}` is answered by the reckoner `{by}`; no rule can conclude it."),
            ));
        }
        _ => {
            return Err(fault(
                UNREAD,
                said.loc,
                format!("`{pattern}` is said by the journal; no rule can conclude it."),
            )
            .remark(RemarkKind::Note, "Declare a sentence of the page's own for what the rule concludes."));
        }
    }
    let atom = atoms::atom(draft.book, &matched, &mut draft.vars, &mut draft.faults);
    let mut uses = Vec::new();
    for (term, fill) in atom.terms.iter().zip(&matched.fills) {
        match term {
            Term::Var(id) => uses.push((*id, fill.loc)),
            Term::Any => {
                return Err(fault(
                    UNBOUND,
                    fill.loc,
                    "A conclusion says what stands in every blank; `{}` cannot.",
                ));
            }
            Term::Const(_) => {}
        }
    }
    Ok(Concluded { atom, meaning: Meaning::Sentence, uses })
}

fn action(
    draft: &mut Draft<'_>,
    mut terms: Terms,
    deed: &Said,
    since: &Sum,
    by: &Sum,
    until: Option<&Said>,
    passage: &Passage,
) -> Result<Concluded, Diagnostic> {
    let mut words: Vec<TextPart> = Vec::new();
    let mut key = Vec::new();
    let mut chunk = String::new();
    for item in &deed.it {
        match &item.it {
            Item::Mark(m) => chunk.push_str(m),
            Item::Word(w) | Item::Quoted(w) => {
                space(&mut chunk, &words);
                chunk.push_str(w);
            }
            Item::Hole(h) => {
                space(&mut chunk, &words);
                if !chunk.is_empty() {
                    words.push(TextPart::Words(std::mem::take(&mut chunk).into()));
                }
                let n = terms.hole(draft, &Spot { it: h.clone(), loc: item.loc })?;
                if !key.contains(&n) {
                    key.push(n);
                }
                words.push(TextPart::Term(n));
            }
        }
    }
    if !chunk.is_empty() {
        words.push(TextPart::Words(chunk.into()));
    }
    let mut shown = vec![Part::Word("do".into())];
    shown.extend(parts(&words));
    let since_var = draft.day(since, "since")?;
    let since = terms.push(since_var, since.loc());
    let by_var = draft.day(by, "by")?;
    let by = terms.push(by_var, by.loc());
    shown.extend([
        Part::Word("since".into()),
        Part::Blank(since),
        Part::Word(",".into()),
        Part::Word("by".into()),
        Part::Blank(by),
    ]);
    let until = until.map(|said| closes(draft, &terms, &key, said)).transpose()?;
    let here = terms.here(draft);
    let meaning = Meaning::Action { words, key, since, by, until, here };
    Ok(terms.finish(draft, shown, passage, meaning))
}

fn space(chunk: &mut String, before: &[TextPart]) {
    if !chunk.is_empty() || matches!(before.last(), Some(TextPart::Term(_) | TextPart::Every(_))) {
        chunk.push(' ');
    }
}

/// The sentence that closes an action: about the same things, with one day left open.
fn closes(draft: &mut Draft<'_>, terms: &Terms, key: &[usize], said: &Said) -> Result<Until, Diagnostic> {
    let matched = atoms::matched(draft.book, said)?;
    let blanks: Vec<BlankType> = draft
        .book
        .get(matched.sentence)
        .map(|s| s.blanks.iter().map(|b| b.takes).collect())
        .unwrap_or_default();
    let mut days = Vec::new();
    let mut all = Vec::new();
    for (n, (fill, takes)) in matched.fills.iter().zip(&blanks).enumerate() {
        all.push(match &fill.it {
            Fill::Const(v) => Term::Const(v.clone()),
            Fill::Any => {
                if *takes == BlankType::Date {
                    days.push(n);
                }
                Term::Any
            }
            Fill::Hole(inside) => {
                let name = atoms::variable(inside, fill.loc)?;
                let id = draft.vars.named(&name, fill.loc);
                draft.faults.extend(draft.vars.learn(id, *takes, fill.loc));
                match terms.find(id).filter(|n| key.contains(n)) {
                    Some(n) => Term::Var(VarId(u32::try_from(n).unwrap_or(u32::MAX))),
                    None => {
                        let message = format!("`until` can speak of what the action's words name; `{{{name}}}` is not among them.");
                        return Err(fault(UNBOUND, fill.loc, message)
                            .remark(RemarkKind::Note, "Write `{}` where it may be any."));
                    }
                }
            }
        });
    }
    let [free_day] = days[..] else {
        let message = if days.is_empty() {
            "`until` needs one day left open: the day that closes the action. Write `{}` for it."
        } else {
            "`until` leaves more than one day open; which of them closes the action?"
        };
        return Err(
            fault(UNREAD, said.loc, message).remark(RemarkKind::Write, "until {book} came back on {}")
        );
    };
    let atom = Atom { sentence: matched.sentence, terms: all, entry: Term::Any, status: Status::Done };
    Ok(Until { atom, free_day })
}

/// The head's terms in their order.
struct Terms {
    all: Vec<(VarId, Loc)>,
}

impl Terms {
    fn find(&self, id: VarId) -> Option<usize> {
        self.all.iter().position(|(v, _)| *v == id)
    }

    fn push(&mut self, id: VarId, loc: Loc) -> usize {
        self.all.push((id, loc));
        self.all.len() - 1
    }

    /// The term of a named blank, new if it is not among the terms.
    fn hole(&mut self, draft: &mut Draft<'_>, hole: &Spot<String>) -> Result<usize, Diagnostic> {
        let name = atoms::variable(&hole.it, hole.loc)?;
        let id = draft.vars.named(&name, hole.loc);
        Ok(self.find(id).unwrap_or_else(|| self.push(id, hole.loc)))
    }

    fn subjects(&mut self, draft: &mut Draft<'_>, about: &[Spot<String>]) -> Result<Vec<usize>, Diagnostic> {
        about.iter().map(|hole| self.hole(draft, hole)).collect()
    }

    /// A message with its blanks: about-blanks and `{every x}`.
    fn text(
        &mut self,
        draft: &mut Draft<'_>,
        text: &Spot<String>,
        about: &[usize],
    ) -> Result<Vec<TextPart>, Diagnostic> {
        woven(text, "message", |inside| {
            if let Some(name) = inside.strip_prefix("every ") {
                let n = self.hole(draft, &Spot { it: name.trim().to_owned(), loc: text.loc })?;
                return Ok(TextPart::Every(n));
            }
            let name = atoms::variable(inside, text.loc)?;
            let n = draft.vars.find(&name).and_then(|id| self.find(id)).filter(|n| about.contains(n));
            n.map(TextPart::Term).ok_or_else(|| {
                let message =
                    format!("A message speaks of what it is about; `{{{inside}}}` is not among that.");
                fault(UNREAD, text.loc, message).remark(RemarkKind::Write, format!("{{every {inside}}}"))
            })
        })
    }

    /// A text of a recipe: any blank of the rule, `{every x}`, and `{new KIND}`.
    fn told(&mut self, draft: &mut Draft<'_>, text: &Spot<String>) -> Result<Vec<TextPart>, Diagnostic> {
        let hole = |name: &str| Spot { it: name.trim().to_owned(), loc: text.loc };
        woven(text, "text", |inside| {
            Ok(match inside.split_once(' ') {
                Some(("every", name)) => TextPart::Every(self.hole(draft, &hole(name))?),
                Some(("new", kind)) => TextPart::New(kind.trim().into()),
                _ => TextPart::Term(self.hole(draft, &hole(inside))?),
            })
        })
    }

    /// The entry of the line marked `(here)`.
    fn here(&mut self, draft: &mut Draft<'_>) -> Option<usize> {
        let (n, loc) = draft.here?;
        let Some(Demand::Holds(atom)) = draft.lines.get(n).map(|l| &l.demand) else { return None };
        let id = match atom.entry {
            Term::Var(id) => id,
            _ => draft.vars.hidden("entry", BlankType::Entry, loc),
        };
        if let Some(Demand::Holds(atom)) = draft.lines.get_mut(n).map(|l| &mut l.demand) {
            atom.entry = Term::Var(id);
        }
        Some(self.push(id, loc))
    }

    /// How the head reads as a sentence: `warn about {lot}: …`
    fn shown(&self, word: &str, about: &[usize], text: &[TextPart]) -> Vec<Part> {
        let mut shown = vec![Part::Word(format!("{word} about").into())];
        for (n, term) in about.iter().enumerate() {
            if n > 0 {
                shown.push(Part::Word("and".into()));
            }
            shown.push(Part::Blank(*term));
        }
        shown.push(Part::Word(":".into()));
        shown.extend(parts(text));
        shown
    }

    /// Makes the head's own sentence, which gets its number when it is put in a book.
    fn finish(
        self,
        draft: &mut Draft<'_>,
        parts: Vec<Part>,
        passage: &Passage,
        meaning: Meaning,
    ) -> Concluded {
        let blanks = self.all.iter().map(|(id, _)| Blank {
            name: draft.vars.name(*id),
            takes: draft.vars.takes(*id).unwrap_or(BlankType::Name),
        });
        let sentence = Sentence {
            parts: parts.into(),
            blanks: blanks.collect(),
            origin: Origin::Head,
            only_one: None,
            loc: passage.loc,
        };
        draft.own = Some(sentence);
        let atom = Atom {
            sentence: SentenceId(u32::MAX),
            terms: self.all.iter().map(|(id, _)| Term::Var(*id)).collect(),
            entry: Term::Any,
            status: Status::Done,
        };
        Concluded { atom, meaning, uses: self.all }
    }
}

/// Text as parts of a sentence.
fn parts(text: &[TextPart]) -> Vec<Part> {
    text.iter()
        .filter_map(|part| match part {
            TextPart::Words(w) => Some(w.trim()).filter(|w| !w.is_empty()).map(|w| Part::Word(w.into())),
            TextPart::Term(n) | TextPart::Every(n) => Some(Part::Blank(*n)),
            TextPart::New(kind) => Some(Part::Word(format!("a new {kind}").into())),
        })
        .collect()
}

/// A text cut at its braces: the words as they stand, and what `blank` makes of the inside of each brace.
fn woven(
    text: &Spot<String>,
    called: &str,
    mut blank: impl FnMut(&str) -> Result<TextPart, Diagnostic>,
) -> Result<Vec<TextPart>, Diagnostic> {
    let mut parts = Vec::new();
    let mut rest = text.it.as_str();
    while let Some((words, after)) = rest.split_once('{') {
        if !words.is_empty() {
            parts.push(TextPart::Words(words.into()));
        }
        let Some((inside, after)) = after.split_once('}') else {
            return Err(fault(UNREAD, text.loc, format!("A `{{` in this {called} is never closed.")));
        };
        parts.push(blank(inside.trim())?);
        rest = after;
    }
    if !rest.is_empty() {
        parts.push(TextPart::Words(rest.into()));
    }
    Ok(parts)
}
