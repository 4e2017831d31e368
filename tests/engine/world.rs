//! Small programs written as text, for tests.
//!
//! Comes in: sentences, facts and rules as strings. Goes out: a program and facts. It is no second rule
//! language: it splits at spaces, knows only what tests need, and panics on a slip.

#![allow(clippy::panic, reason = "a slip in a test's text ends the test")]

use std::{collections::BTreeMap, sync::Arc};

use chrono::NaiveDate;
use haulm::{
    base::{
        diagnostic::Diagnostic,
        span::{FileId, Loc, Span},
    },
    infer,
    measure::{
        date::Days,
        number::Range,
        unit::Dimension,
        value::{BlankType, EntryId, Quantity, Value},
    },
    model::{
        outcome::Model,
        program::{
            Atom, Comparator, Comparison, Demand, Expr, Fact, FactSource, Gather, Line, Meaning, Program,
            Rule, Status, Term, VarId,
        },
        proof::Tuple,
        sentence::{Blank, Origin, Part, Sentence, SentenceId},
    },
};

/// A program and its journal's facts.
#[derive(Debug, Clone, Default)]
pub struct World {
    pub program: Program,
    pub facts: Vec<Fact>,
    entries: u32,
}

fn loc(at: u32) -> Loc {
    Loc::new(FileId(0), Span { start: at, end: at + 1 })
}

/// `2026-05-01`, `1.5`, `2-4` (a range), `3kg`, `2-4kg`, `2026-05-01..2026-05-03`, `5d` (days), a word.
pub fn value(text: &str) -> Value {
    if let Some((a, b)) = text.split_once("..")
        && let (Ok(a), Ok(b)) = (a.parse::<NaiveDate>(), b.parse::<NaiveDate>())
    {
        return Value::Days(Days::span(a, b));
    }
    if let Ok(day) = text.parse::<NaiveDate>() {
        return Value::Days(Days::on(day));
    }
    let (number, dimension) = match text {
        t if t.ends_with("kg") => (&t[..t.len() - 2], Some(Dimension::Mass)),
        t if t.ends_with('d') => (&t[..t.len() - 1], Some(Dimension::Duration)),
        t => (t, None),
    };
    let range = match number.split_once('-') {
        Some((a, b)) => a.parse().ok().zip(b.parse().ok()).map(|(a, b)| Range::new(a, b)),
        None => number.parse().ok().map(Range::exact),
    };
    match (range, dimension) {
        (Some(size), Some(dimension)) => Value::Quantity(Quantity { size, dimension }),
        (Some(range), None) => Value::Number(range),
        (None, _) => Value::word(text),
    }
}

impl World {
    /// A place in a text, by number.
    pub fn place(at: u32) -> Loc {
        loc(at)
    }

    /// Declares sentences of pages: `{a} is a parent of {b}`; a leading `*` makes one a journal sentence.
    pub fn says(mut self, patterns: &[&str]) -> Self {
        for pattern in patterns {
            let (origin, pattern) = match pattern.strip_prefix('*') {
                Some(rest) => (Origin::Journal, rest),
                None => (Origin::Page, *pattern),
            };
            let mut blanks = Vec::new();
            let parts = pattern
                .split(' ')
                .map(|word| match word.strip_prefix('{').and_then(|w| w.strip_suffix('}')) {
                    Some(name) => {
                        let (name, takes) = match name.split_once(':') {
                            Some((name, "mass")) => (name, BlankType::Amount(Dimension::Mass)),
                            Some((name, _)) => (name, BlankType::AnyAmount),
                            None => (name, BlankType::Name),
                        };
                        blanks.push(Blank { name: name.into(), takes });
                        Part::Blank(blanks.len() - 1)
                    }
                    None => Part::Word(word.into()),
                })
                .collect();
            let at = u32::try_from(self.program.sentences.len()).expect("few sentences");
            let sentence = Sentence { parts, blanks: blanks.into(), origin, only_one: None, loc: loc(at) };
            Arc::make_mut(&mut self.program.sentences).push(sentence);
        }
        self
    }

    /// Makes the last declared sentence one that has only one answer in a blank.
    pub fn only_one(mut self, blank: usize) -> Self {
        Arc::make_mut(&mut self.program.sentences).last_mut().expect("a sentence").only_one = Some(blank);
        self
    }

    /// Says facts: of a journal sentence each in an entry of its own; `(planned)` at the end for plans.
    pub fn given(mut self, facts: &[&str]) -> Self {
        for text in facts {
            let mut vars = Vars::default();
            let atom = self.atom(text, &mut vars);
            let values = atom
                .terms
                .iter()
                .map(|t| match t {
                    Term::Const(v) => v.clone(),
                    other => panic!("{other:?} in a fact"),
                })
                .collect();
            let planned = atom.status == Status::Planned;
            let sentence = atom.sentence;
            if self.program.sentences[sentence.0 as usize].origin == Origin::Journal {
                let source = FactSource::Entry(EntryId(self.entries));
                self.entries += 1;
                self.facts.push(Fact { sentence, values, planned, source });
            } else {
                let at = 1000 + u32::try_from(self.program.facts.len()).expect("few facts");
                let source = FactSource::Page(loc(at));
                Arc::make_mut(&mut self.program.facts).push(Arc::new(Fact {
                    sentence,
                    values,
                    planned,
                    source,
                }));
            }
        }
        self
    }

    /// A rule: `page`, its lines, its conclusion.
    pub fn rule(mut self, page: &str, body: &[&str], head: &str) -> Self {
        let mut vars = Vars::default();
        let number = 1 + self.program.rules.iter().filter(|r| &*r.page == page).count();
        let at = 100 * u32::try_from(self.program.rules.len() + 1).expect("few rules");
        let body = body
            .iter()
            .zip(at + 1..)
            .map(|(text, at)| Line { loc: loc(at), demand: self.demand(text, &mut vars) })
            .collect();
        let head = self.atom(head, &mut vars);
        self.program.rules.push(Arc::new(Rule {
            page: page.into(),
            number: u32::try_from(number).expect("few rules"),
            loc: loc(at),
            vars: vars.names,
            body,
            head,
            meaning: Meaning::Sentence,
            here: None,
        }));
        self
    }

    /// The sentence this text uses.
    pub fn atom(&self, text: &str, vars: &mut Vars) -> Atom {
        let (text, mut entry, mut status) = (text.trim(), Term::Any, Status::Done);
        let mut words: Vec<&str> = Vec::new();
        let mut rest = text;
        while let Some(at) = rest.rfind(" (") {
            let tag = rest[at + 2..].trim_end_matches(')');
            match tag {
                "planned" => status = Status::Planned,
                "done or planned" => status = Status::Either,
                tag => entry = vars.term(tag.strip_prefix("entry ").expect("a tag")),
            }
            rest = &rest[..at];
        }
        words.extend(rest.split(' '));
        let fits = |s: &Sentence| {
            s.parts.len() == words.len()
                && s.parts.iter().zip(&words).all(|(p, w)| match p {
                    Part::Word(x) => **x == **w,
                    Part::Blank(_) => true,
                })
        };
        let at =
            self.program.sentences.iter().position(fits).unwrap_or_else(|| panic!("no sentence: {text}"));
        let terms = self.program.sentences[at]
            .parts
            .iter()
            .zip(&words)
            .filter(|(p, _)| matches!(p, Part::Blank(_)))
            .map(|(_, w)| vars.term(w))
            .collect();
        Atom { sentence: SentenceId(u32::try_from(at).expect("few sentences")), terms, entry, status }
    }

    fn demand(&self, text: &str, vars: &mut Vars) -> Demand {
        let (main, with) = match text.split_once(", with ") {
            Some((main, with)) => (main, with.split(" and ").collect()),
            None => (text, Vec::new()),
        };
        let comparisons = |vars: &mut Vars| -> Vec<Comparison> {
            with.iter().map(|w| comparison(w, vars).unwrap_or_else(|| panic!("no comparison: {w}"))).collect()
        };
        if let Some(denied) = main.strip_prefix("no ") {
            let atom = self.atom(denied, vars);
            return Demand::No { atom, with: comparisons(vars) };
        }
        if let Some((left, such)) = main.split_once(" such that ") {
            let words: Vec<&str> = left.split(' ').collect();
            let how = match words[2..words.len() - 1] {
                ["how", "many", "different"] => Gather::Count,
                ["the", "total"] => Gather::Total,
                ["the", "least"] => Gather::Least,
                ["the", "greatest"] => Gather::Greatest,
                _ => panic!("gather how? {left}"),
            };
            let atom = self.atom(such, vars);
            let with = comparisons(vars);
            let (into, of) = (vars.var(words[0]), vars.var(words[words.len() - 1]));
            return Demand::Gather { into, how, of, atom, with };
        }
        if let Some((into, expr)) = main.split_once(" = ") {
            return Demand::Compute { into: vars.var(into), expr: sum(expr, vars) };
        }
        match comparison(main, vars) {
            Some(comparison) => Demand::Compare(comparison),
            None => Demand::Holds(self.atom(main, vars)),
        }
    }

    /// What follows, with diagnostics.
    pub fn run(&self) -> (Model, Vec<Diagnostic>) {
        infer::run(&infer::Prepared::new(self.program.clone()), &self.facts)
    }

    /// What follows, where no rule is refused.
    pub fn model(&self) -> Model {
        let (model, diagnostics) = self.run();
        assert_eq!(diagnostics, [], "no rule is refused");
        model
    }

    /// All that holds of the sentences a page concludes or lists that has this pattern, in words.
    pub fn all(&self, model: &Model, pattern: &str) -> Vec<String> {
        let at = self
            .program
            .sentences
            .iter()
            .position(|s| s.pattern() == pattern)
            .unwrap_or_else(|| panic!("no sentence {pattern}"));
        let id = SentenceId(u32::try_from(at).expect("few sentences"));
        model.rows(id).into_iter().map(|r| self.text(&model.tuple(r))).collect()
    }

    /// A tuple in words.
    pub fn text(&self, tuple: &Tuple) -> String {
        let words = |n: usize| match &tuple.values[n] {
            Value::Word(w) => w.to_string(),
            Value::Number(r) if r.is_exact() => r.low().to_string(),
            Value::Number(r) => format!("{}-{}", r.low(), r.high()),
            Value::Quantity(q) if q.size.is_exact() => format!("{}{:?}", q.size.low(), q.dimension),
            Value::Quantity(q) => format!("{}-{}{:?}", q.size.low(), q.size.high(), q.dimension),
            Value::Days(d) if d.first == d.last => d.first.to_string(),
            other => format!("{other:?}"),
        };
        self.program.sentences[tuple.sentence.0 as usize].filled(words)
    }

    /// The tuple a text says, without entry.
    pub fn tuple(&self, text: &str) -> Tuple {
        let atom = self.atom(text, &mut Vars::default());
        let values = atom
            .terms
            .into_iter()
            .map(|t| match t {
                Term::Const(v) => v,
                other => panic!("{other:?} in a tuple"),
            })
            .collect();
        Tuple { sentence: atom.sentence, values, entry: None, planned: false }
    }
}

/// The variables of one rule.
#[derive(Debug, Default)]
pub struct Vars {
    pub names: Vec<Arc<str>>,
    numbers: BTreeMap<String, VarId>,
}

impl Vars {
    /// The variable `{x}`.
    pub fn var(&mut self, word: &str) -> VarId {
        let name = word.trim_start_matches('{').trim_end_matches('}');
        let next = VarId(u32::try_from(self.names.len()).expect("few variables"));
        *self.numbers.entry(name.to_owned()).or_insert_with(|| {
            self.names.push(name.into());
            next
        })
    }

    fn term(&mut self, word: &str) -> Term {
        match word {
            "{}" => Term::Any,
            w if w.starts_with('{') => Term::Var(self.var(w)),
            w => Term::Const(value(w)),
        }
    }
}

fn sum(text: &str, vars: &mut Vars) -> Expr {
    let mut words = text.split(' ');
    let mut expr = Expr::Term(vars.term(words.next().expect("a term")));
    while let (Some(sign), Some(word)) = (words.next(), words.next()) {
        let right = Box::new(Expr::Term(vars.term(word)));
        let left = Box::new(expr);
        expr = match sign {
            "+" => Expr::Add(left, right),
            "-" => Expr::Sub(left, right),
            "*" => Expr::Mul(left, right),
            "/" => Expr::Div(left, right),
            _ => panic!("no sign: {sign}"),
        };
    }
    expr
}

fn comparison(text: &str, vars: &mut Vars) -> Option<Comparison> {
    let (text, may) = match text.strip_prefix("may ") {
        Some(rest) => (rest, true),
        None => (text, false),
    };
    for (sign, by) in [
        (" < ", Comparator::Less),
        (" <= ", Comparator::AtMost),
        (" > ", Comparator::More),
        (" >= ", Comparator::AtLeast),
        (" == ", Comparator::Same),
        (" != ", Comparator::Different),
    ] {
        if let Some((left, right)) = text.split_once(sign) {
            return Some(Comparison { left: sum(left, vars), by, right: sum(right, vars), may });
        }
    }
    let (left, rest) = text.split_once(" within ")?;
    let (span, right) = rest.split_once(" after ")?;
    let span = Expr::Term(vars.term(span));
    Some(Comparison {
        left: sum(left, vars),
        by: Comparator::WithinAfter(span),
        right: sum(right, vars),
        may,
    })
}
