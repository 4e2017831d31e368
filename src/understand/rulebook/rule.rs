//! One rule compiled: its lines to demands, its head to a conclusion.
//!
//! Comes in: a rule as text and the book of sentences. Goes out: a rule with every name resolved, or
//! every fault of its lines. It looks at no other rule.

use std::{borrow::Cow, collections::BTreeSet, sync::Arc};

use super::{
    Lines, UNREAD, atoms, bind, declare, exprs, fault, heads,
    shapes::{Body, Compared, Head, How, Item, Said, Spot, Sum, Tag},
    types,
    vars::Vars,
};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    measure::value::BlankType,
    model::{
        page::{Page, Passage, RuleText},
        program::{Atom, Comparison, Demand, Expr, Gather, Line, Program, Rule, Term, VarId},
        sentence::{Sentence, SentenceId},
    },
    understand::sentences::Book,
};

/// A rule under the pen.
pub(super) struct Draft<'a> {
    pub(super) book: &'a Book,
    /// The sentence of a head of its own.
    pub(super) own: Option<Sentence>,
    pub(super) vars: Vars,
    pub(super) lines: Vec<Line>,
    /// The line marked `(here)`, and where the mark stands.
    pub(super) here: Option<(usize, Loc)>,
    pub(super) faults: Vec<Diagnostic>,
    /// The code of the page.
    page: &'a str,
}

/// Whether an item is this bare word.
fn is_word(item: &Item, word: &str) -> bool {
    matches!(item, Item::Word(w) if w == word)
}

/// A rule compiled, and the sentence that it alone concludes, if it is a finding, an action, an answer or a caution.
#[derive(Debug)]
pub(super) struct Alone {
    rule: Rule,
    own: Option<Sentence>,
}

impl Alone {
    /// The rule, its own sentence added to the book.
    pub(super) fn in_book(self, book: &mut Arc<Book>) -> Rule {
        let Self { mut rule, own } = self;
        if let Some(own) = own {
            rule.head.sentence = Arc::make_mut(book).declare(own);
        }
        rule
    }
}

/// Compiles one rule, which needs no other.
pub(super) fn compile(
    book: &Book,
    page: &Arc<str>,
    number: u32,
    text: &RuleText,
    known: &Lines,
) -> Result<Alone, Vec<Diagnostic>> {
    let Some((last, body)) = text.lines.split_last() else {
        return Err(vec![fault(UNREAD, text.loc, "This rule is empty.")]);
    };
    let mut draft = Draft {
        book,
        own: None,
        vars: Vars::default(),
        lines: Vec::new(),
        here: None,
        faults: Vec::new(),
        page,
    };
    let mut read = Vec::new();
    for line in body {
        match known.body(line) {
            Ok(shape) => read.push((line, settled(draft.book, shape))),
            Err(unread) => draft.faults.push(unread.into()),
        }
    }
    draft.body(&read);
    let head = match known.head(last) {
        Ok(head) => draft.head(&head, last),
        Err(unread) => {
            draft.faults.push(unread.into());
            None
        }
    };
    let Some(heads::Concluded { atom, meaning, uses }) = head.filter(|_| draft.faults.is_empty()) else {
        return Err(draft.faults);
    };
    let faults = bind::check(&draft.lines, &uses, &draft.vars);
    if !faults.is_empty() {
        return Err(faults);
    }
    bind::part_locals(&mut draft.lines, &mut draft.vars);
    let rule = Rule {
        page: page.clone(),
        number,
        loc: text.loc,
        vars: draft.vars.names(),
        body: draft.lines,
        head: atom,
        meaning,
        here: draft.here.map(|(n, _)| n),
    };
    Ok(Alone { rule, own: draft.own })
}

/// `{x} is word` settled: the declared sentence goes before the comparison.
fn settled(book: &Book, shape: Arc<Body>) -> Arc<Body> {
    match &*shape {
        Body::Either(said, compared, tags) => Arc::new(match book.says(&said.it) {
            false => Body::Compares(compared.clone(), tags.clone()),
            true => Body::Holds(said.clone(), tags.clone()),
        }),
        _ => shape,
    }
}

impl Draft<'_> {
    /// Sentences first, so that every variable's sort is known before it is computed with; then the
    /// counts; then comparisons in written order, the first `{x} is …` of an unknown `{x}` computing it.
    fn body(&mut self, read: &[(&Passage, Arc<Body>)]) {
        let mut demands: Vec<Option<Demand>> = vec![None; read.len()];
        for (n, ((_, shape), demand)) in read.iter().zip(&mut demands).enumerate() {
            *demand = match &**shape {
                Body::Holds(said, tags) => {
                    self.atom(said, tags, Some(n)).map(|(atom, _)| Demand::Holds(atom))
                }
                Body::No(said, _, tags) => self
                    .denied(said)
                    .and_then(|()| self.atom(said, tags, None))
                    .map(|(atom, _)| Demand::No { atom, with: Vec::new() }),
                Body::Gather { into, how, of, said, tags, .. } => {
                    self.denied(said).and_then(|()| self.atom(said, tags, None)).and_then(|(atom, _)| {
                        let into = self.variable(&into.it, into.loc)?;
                        let of = self.variable(&of.it, of.loc)?;
                        Some(Demand::Gather { into, how: *how, of, atom, with: Vec::new() })
                    })
                }
                Body::Compares(..) | Body::Either(..) => None,
            };
        }
        for ((_, shape), demand) in read.iter().zip(&demands) {
            if let (Body::Gather { into, of, .. }, Some(Demand::Gather { into: id, how, of: of_id, .. })) =
                (&**shape, &demand)
            {
                self.gathers((*id, into.loc), *how, (*of_id, of.loc));
            }
        }
        let mut bound: BTreeSet<VarId> = BTreeSet::new();
        for demand in demands.iter().flatten() {
            bound.extend(bind::bound_by(demand));
        }
        for ((_, shape), demand) in read.iter().zip(&mut demands) {
            if let Body::Compares(compared, tags) = &**shape {
                *demand = self.compares(compared, tags, &mut bound);
            }
        }
        for ((_, shape), demand) in read.iter().zip(&mut demands) {
            if let (Body::No(_, conditions, _) | Body::Gather { with: conditions, .. }, Some(demand)) =
                (&**shape, demand.as_mut())
            {
                let all = self.conditions(conditions);
                if let Demand::No { with, .. } | Demand::Gather { with, .. } = demand {
                    *with = all;
                }
            }
        }
        for ((passage, _), demand) in read.iter().zip(demands) {
            self.lines.extend(demand.map(|demand| Line { loc: after_first_word(passage), demand }));
        }
    }

    fn variable(&mut self, inside: &str, loc: Loc) -> Option<VarId> {
        match atoms::variable(inside, loc) {
            Ok(name) => Some(self.vars.named(&name, loc)),
            Err(said) => {
                self.faults.push(said);
                None
            }
        }
    }

    /// Matches a sentence and reads its tags. `line` is the number of a line that may be `(here)`.
    fn atom(&mut self, said: &Said, tags: &[Tag], line: Option<usize>) -> Option<(Atom, SentenceId)> {
        let matched = match atoms::matched(self.book, &of_page(said, self.page)) {
            Ok(m) => m,
            Err(fault) => {
                self.faults.push(fault);
                return None;
            }
        };
        let mut atom = atoms::atom(self.book, &matched, &mut self.vars, &mut self.faults);
        let sentence = self.book.get(matched.sentence);
        let here = atoms::tagged(sentence, tags, &mut atom, &mut self.vars, &mut self.faults);
        match (here, line, self.here) {
            (None, ..) => {}
            (Some(loc), None, _) => self.faults.push(fault(
                UNREAD,
                loc,
                "`(here)` marks a line that holds; there is nothing to point at in what is absent or counted.",
            )),
            (Some(loc), Some(_), Some((_, first))) => self.faults.push(
                fault(UNREAD, loc, "Only one line of a rule is marked `(here)`.").also(first, "the first"),
            ),
            (Some(loc), Some(n), None) => self.here = Some((n, loc)),
        }
        Some((atom, matched.sentence))
    }

    /// Nothing for `no` within `no` or a count.
    fn denied(&mut self, said: &Said) -> Option<()> {
        if let Some(first) = said.it.first()
            && is_word(&first.it, "no")
        {
            self.faults.push(fault(UNREAD, first.loc, "No `no` within `no` or a count.").remark(
                RemarkKind::Note,
                "Let a rule of its own conclude a sentence for it first, and use that sentence here.",
            ));
            return None;
        }
        Some(())
    }

    /// What a count, total or pick gives.
    fn gathers(&mut self, into: (VarId, Loc), how: Gather, of: (VarId, Loc)) {
        let takes = self.vars.takes(of.0);
        let ok = match how {
            Gather::Count => true,
            Gather::Total => {
                matches!(takes, None | Some(BlankType::Number | BlankType::Amount(_) | BlankType::AnyAmount))
            }
            Gather::Least | Gather::Greatest => types::ordered(takes, takes),
        };
        if !ok {
            let what = takes.map_or_else(String::new, types::plain);
            let message = match how {
                Gather::Total => {
                    format!("`{{{}}}` is {what}, which cannot be added up.", self.vars.name(of.0))
                }
                _ => format!("`{{{}}}` is {what}, of which none is first or last.", self.vars.name(of.0)),
            };
            self.faults.push(fault(super::MISFIT, of.1, message));
            return;
        }
        let gives = if how == Gather::Count { Some(BlankType::Number) } else { takes };
        if let Some(gives) = gives {
            self.faults.extend(self.vars.learn(into.0, gives, into.1));
        }
    }

    fn conditions(&mut self, all: &[Compared]) -> Vec<Comparison> {
        let mut read = Vec::new();
        for c in all {
            match exprs::comparison(c, &mut self.vars) {
                Ok(c) => read.push(c),
                Err(said) => self.faults.push(said),
            }
        }
        read
    }

    /// A comparison, or the computation of a variable that nothing binds yet.
    fn compares(&mut self, c: &Compared, tags: &[Tag], bound: &mut BTreeSet<VarId>) -> Option<Demand> {
        if let Some(tag) = tags.first() {
            let message = format!("`({})` belongs to a sentence, not to a comparison.", tag.it);
            self.faults.push(fault(UNREAD, tag.loc, message));
            return None;
        }
        if let (Sum::Hole(left), How::Same, false) = (&c.left, &c.how, c.may) {
            let into = self.variable(&left.it, left.loc)?;
            if !bound.contains(&into) {
                let side = match exprs::side(&c.right, &mut self.vars) {
                    Ok(side) => side,
                    Err(said) => {
                        self.faults.push(said);
                        return None;
                    }
                };
                if let Some(takes) = side.takes {
                    self.faults.extend(self.vars.learn(into, takes, left.loc));
                }
                bound.insert(into);
                return Some(Demand::Compute { into, expr: side.expr });
            }
        }
        match exprs::comparison(c, &mut self.vars) {
            Ok(c) => Some(Demand::Compare(c)),
            Err(said) => {
                self.faults.push(said);
                None
            }
        }
    }

    fn head(&mut self, head: &Head, passage: &Passage) -> Option<heads::Concluded> {
        match heads::concluded(self, head, passage) {
            Ok(concluded) => Some(concluded),
            Err(said) => {
                self.faults.push(said);
                None
            }
        }
    }

    /// A day of an action's head: a bound variable, or one more line that computes it.
    pub(super) fn day(&mut self, sum: &Sum, name: &str) -> Result<VarId, Diagnostic> {
        let mut side = exprs::side(sum, &mut self.vars)?;
        exprs::is(&mut side, BlankType::Date)?;
        if let Expr::Term(Term::Var(id)) = side.expr {
            return Ok(id);
        }
        let into = self.vars.hidden(name, BlankType::Date, side.loc);
        self.lines.push(Line { loc: side.loc, demand: Demand::Compute { into, expr: side.expr } });
        Ok(into)
    }
}

/// What was asked is asked of the page of the rule that reads it.
fn of_page<'s>(said: &'s Said, page: &str) -> Cow<'s, Said> {
    let Some((first, rest)) = said.it.split_first().filter(|(first, _)| is_word(&first.it, declare::ASKED))
    else {
        return Cow::Borrowed(said);
    };
    let lead = declare::asked_of(page).map(|word| Spot { it: Item::Word(word), loc: first.loc });
    Cow::Owned(Spot { it: lead.into_iter().chain(rest.iter().cloned()).collect(), loc: said.loc })
}

/// Whether a line of a page can be read in one more way with the sentences of `more`.
pub(super) fn reads(page: &Page, more: &Book, known: &Lines) -> bool {
    // Looking for a word takes less time than looking up how a line was read. Words are told apart in lower case,
    // and what was asked has words before it that do not stand in the line.
    let mut tellers = more.tellers();
    tellers.push(declare::ASKED);
    let lower = |text: &str| text.bytes().all(|b| b.is_ascii() && !b.is_ascii_uppercase());
    let may = |line: &&Passage| !lower(&line.text) || tellers.iter().any(|word| line.text.contains(word));
    let says = |said: &Said| more.says(&of_page(said, &page.code).it);
    let body = |line: &Passage| {
        known.body(line).is_ok_and(|body| match &*body {
            Body::Holds(said, _)
            | Body::No(said, ..)
            | Body::Gather { said, .. }
            | Body::Either(said, ..) => says(said),
            Body::Compares(..) => false,
        })
    };
    let head = |line: &Passage| {
        known.head(line).is_ok_and(|head| match &*head {
            Head::Said(said) | Head::Action { until: Some(said), .. } => says(said),
            Head::Answer { about, .. } => more.same_words(&heads::answers(about.is_some())).is_some(),
            Head::Finding(..) | Head::Caution(..) | Head::Told { .. } | Head::Action { .. } => false,
        })
    };
    let of_rule = |text: &RuleText| {
        text.lines.split_last().is_some_and(|(last, lines)| head(last) || lines.iter().filter(may).any(body))
    };
    let row = |line: &Passage| known.declaration(line).is_ok_and(|read| more.says(&read.0.it));
    page.rules.iter().any(of_rule) || page.tables.iter().flat_map(|table| &table.says).filter(may).any(row)
}

/// Where a line's words stand, its `if` or `and` left out.
fn after_first_word(passage: &Passage) -> Loc {
    let word = passage.text.find(char::is_whitespace).unwrap_or(0);
    let rest = passage.text.get(word..).unwrap_or("");
    let start = word + (rest.len() - rest.trim_start().len());
    let mut loc = passage.loc;
    loc.span.start = loc.span.start.saturating_add(u32::try_from(start).unwrap_or(0)).min(loc.span.end);
    loc
}

/// The sentence a faulty rule would conclude, if its head can be read: nothing is said to be
/// underivable only because the rule for it is being mended.
pub(super) fn concluded(book: &Book, text: &RuleText, known: &Lines) -> Option<SentenceId> {
    match known.head(text.lines.last()?) {
        Ok(head) => match &*head {
            Head::Said(said) => atoms::matched(book, said).ok().map(|m| m.sentence),
            _ => None,
        },
        Err(_) => None,
    }
}

/// The program with one body line of one rule left out; `None` where the rule cannot stand without it.
///
/// `number` is the rule's number on its page (from 1), `line` the line's (from 0).
pub fn without_line(
    program: &Program,
    page: &Page,
    number: u32,
    line: usize,
    known: &Lines,
) -> Option<Program> {
    let text = page.rules.get(usize::try_from(number).ok()?.checked_sub(1)?)?;
    // A rule has at least one line beside its head.
    if line + 1 >= text.lines.len() || text.lines.len() <= 2 {
        return None;
    }
    let mut shorter = text.clone();
    shorter.lines.remove(line);
    let mut book = Arc::new(Book::of(&program.sentences));
    let rule = compile(&book, &page.code, number, &shorter, known).ok()?.in_book(&mut book);
    let mut weaker = program.clone();
    let place = weaker.rules.iter().position(|r| r.page == page.code && r.number == number)?;
    weaker.sentences = Arc::new(book.all());
    *weaker.rules.get_mut(place)? = Arc::new(rule);
    Some(weaker)
}
