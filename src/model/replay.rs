//! Proofs checked step by step, without the engine that found them.
//!
//! Comes in: a program, the journal's facts, a model and a proof. Goes out: that every step is right, or
//! the first one that is not. It looks facts up in the facts as given, and for what must be absent or
//! complete it reads every tuple of a sentence one after the other: no index, no plan and no order of
//! inference is used. It does not ask whether a proof is the shallowest.

use std::{borrow::Borrow, collections::BTreeMap, fmt, sync::Arc};

use rustc_hash::{FxHashMap, FxHashSet};

use super::{
    gather, judge, lines,
    outcome::Model,
    program::{
        Atom, Comparison, Demand, Fact, FactSource, Given, Program, Reckoned, Rule, Status, Term, VarId,
    },
    proof::{By, Premise, Proof, Tuple},
    sentence::{Origin, SentenceId},
};
use crate::measure::value::{EntryId, Value};

/// A step of a proof that is not right.
#[derive(Debug, Clone, PartialEq)]
pub struct ReplayFault {
    /// What the step was to show.
    pub tuple: Tuple,
    /// The line of the rule, from 0, where the fault is in one line.
    pub line: Option<usize>,
    /// What is wrong.
    pub why: Fault,
}

/// What can be wrong with a step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Fault {
    /// Nobody said it, or not there.
    NotSaid,
    /// The program has no such rule or reckoner.
    NoSuchRule,
    /// The rule's conclusion, filled in, is another.
    AnotherConclusion,
    /// Variables have values that no line of the rule binds, or lack one.
    WrongBindings,
    /// The premise is of another kind than the line, or they are not as many.
    WrongKind,
    /// The premise does not fit its line.
    DoesNotFit,
    /// A tuple fits that is said to be absent.
    NotAbsent(Box<Tuple>),
    /// A near miss is none.
    NotNear(Box<Tuple>),
    /// The members gathered are not all, or not only, those that fit.
    OtherMembers,
    /// The value gathered, computed or compared is another.
    AnotherValue,
    /// The comparison does not hold.
    DoesNotHold,
    /// The reckoner, asked again, does not answer this from these witnesses.
    NotReckoned,
}

impl fmt::Display for ReplayFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let what = match &self.why {
            Fault::NotSaid => "nobody said it",
            Fault::NoSuchRule => "there is no such rule",
            Fault::AnotherConclusion => "the rule concludes something else",
            Fault::WrongBindings => "its variables are not those the rule binds",
            Fault::WrongKind => "the premises are not of the rule's kinds",
            Fault::DoesNotFit => "the premise does not fit",
            Fault::NotAbsent(_) => "what is said to be absent is there",
            Fault::NotNear(_) => "a near miss is none",
            Fault::OtherMembers => "other facts are to be gathered",
            Fault::AnotherValue => "the value is another",
            Fault::DoesNotHold => "the comparison does not hold",
            Fault::NotReckoned => "it is reckoned otherwise",
        };
        match self.line {
            Some(line) => write!(f, "line {}: {what}", line + 1),
            None => f.write_str(what),
        }
    }
}

impl std::error::Error for ReplayFault {}

/// Checks every step of a proof.
///
/// # Errors
/// The first step that is not right.
pub fn replay(
    program: &Program,
    facts: &[impl Borrow<Fact>],
    model: &Model,
    proof: &Proof,
) -> Result<(), ReplayFault> {
    replay_all(program, facts, model, [proof])
}

/// Checks every step of many proofs, shared parts once.
///
/// # Errors
/// The first step that is not right.
pub fn replay_all<'a>(
    program: &'a Program,
    facts: &'a [impl Borrow<Fact>],
    model: &'a Model,
    proofs: impl IntoIterator<Item = &'a Proof>,
) -> Result<(), ReplayFault> {
    let mut desk = Desk {
        program,
        model,
        facts: program.facts.iter().map(|f| &**f).chain(facts.iter().map(Borrow::borrow)).collect(),
        answers: FxHashMap::default(),
    };
    let mut seen: FxHashSet<*const Proof> = FxHashSet::default();
    let mut todo: Vec<&Proof> = proofs.into_iter().collect();
    while let Some(proof) = todo.pop() {
        if !seen.insert(std::ptr::from_ref(proof)) {
            continue;
        }
        let fault = |(line, why)| ReplayFault { tuple: proof.tuple.clone(), line, why };
        todo.extend(desk.step(proof).map_err(fault)?.into_iter().map(Arc::as_ref));
    }
    Ok(())
}

/// One step's fault: in which line, and what.
type Wrong = (Option<usize>, Fault);

/// An answer of a reckoner: for which sentence, what, and the tuples it rests on.
type Answer = (SentenceId, Reckoned, Vec<Tuple>);

/// What lies on the desk while checking.
struct Desk<'a> {
    program: &'a Program,
    model: &'a Model,
    facts: FxHashSet<&'a Fact>,
    /// What each reckoner answers, with its witnesses as tuples.
    answers: FxHashMap<&'static str, Vec<Answer>>,
}

impl<'a> Desk<'a> {
    /// Checks one step and gives the proofs it rests on.
    fn step<'p>(&mut self, proof: &'p Proof) -> Result<Vec<&'p Arc<Proof>>, Wrong> {
        let tuple = &proof.tuple;
        match &proof.by {
            By::Said(source) => {
                let entry = match source {
                    FactSource::Entry(e) if self.is_journal(tuple.sentence) => Some(*e),
                    _ => None,
                };
                let said = [tuple.planned, true].into_iter().any(|planned| {
                    self.facts.contains(&Fact {
                        sentence: tuple.sentence,
                        values: tuple.values.clone(),
                        planned,
                        source: source.clone(),
                    }) && (planned == tuple.planned || !self.is_journal(tuple.sentence))
                });
                if said && entry == tuple.entry { Ok(Vec::new()) } else { Err((None, Fault::NotSaid)) }
            }
            By::Rule { rule, bindings, premises } => {
                let rule = self.program.rules.get(*rule).ok_or((None, Fault::NoSuchRule))?;
                self.by_rule(tuple, rule, bindings, premises)
            }
            By::Reckoned { reckoner, witnesses, numbers } => {
                let rested: Vec<&Tuple> = witnesses.iter().map(|w| &w.tuple).collect();
                let right = self.answers_of(reckoner).iter().any(|(sentence, answer, on)| {
                    *sentence == tuple.sentence
                        && answer.values == tuple.values
                        && answer.numbers == *numbers
                        && on.iter().eq(rested.iter().copied())
                });
                if right { Ok(witnesses.iter().collect()) } else { Err((None, Fault::NotReckoned)) }
            }
        }
    }

    fn by_rule<'p>(
        &self,
        tuple: &Tuple,
        rule: &Rule,
        bindings: &[Option<Value>],
        premises: &'p [Premise],
    ) -> Result<Vec<&'p Arc<Proof>>, Wrong> {
        let of = |v: VarId| bindings.get(v.0 as usize).and_then(Option::as_ref);
        let bound = lines::bound_by(&rule.body);
        let as_bound = bindings
            .iter()
            .enumerate()
            .all(|(n, v)| v.is_some() == bound.contains(&VarId(u32::try_from(n).unwrap_or(u32::MAX))));
        if bindings.len() != rule.vars.len() || !as_bound {
            return Err((None, Fault::WrongBindings));
        }
        let concluded = rule.head.terms.iter().map(|t| match t {
            Term::Var(v) => of(*v),
            Term::Const(c) => Some(c),
            Term::Any => None,
        });
        let same = rule.head.sentence == tuple.sentence
            && concluded.eq(tuple.values.iter().map(Some))
            && tuple.entry.is_none()
            && !tuple.planned;
        if !same {
            return Err((None, Fault::AnotherConclusion));
        }
        if premises.len() != rule.body.len() {
            return Err((None, Fault::WrongKind));
        }
        let mut rests_on = Vec::new();
        for (n, (line, premise)) in rule.body.iter().zip(premises).enumerate() {
            self.line(&line.demand, premise, bindings, &mut rests_on).map_err(|why| (Some(n), why))?;
        }
        Ok(rests_on)
    }

    fn line<'p>(
        &self,
        demand: &Demand,
        premise: &'p Premise,
        bindings: &[Option<Value>],
        rests_on: &mut Vec<&'p Arc<Proof>>,
    ) -> Result<(), Fault> {
        let of = |v: VarId| bindings.get(v.0 as usize).and_then(Option::as_ref);
        let owned = |v: VarId| of(v).cloned();
        let check = |right: bool, fault: Fault| if right { Ok(()) } else { Err(fault) };
        match (demand, premise) {
            (Demand::Holds(atom), Premise::Holds(proof)) => {
                rests_on.push(proof);
                let pattern = lines::fill_atom(atom, &owned);
                let whole = pattern.terms.iter().all(|t| !matches!(t, Term::Var(_)));
                check(whole && self.fits(&pattern, &[], &proof.tuple), Fault::DoesNotFit)
            }
            (Demand::No { atom, with }, Premise::Absent { pattern, with: given, near }) => {
                self.same_pattern(atom, with, pattern, Some(given), &owned)?;
                for row in self.model.every(pattern.sentence) {
                    let tuple = self.model.tuple(row);
                    if self.fits(pattern, given, &tuple) {
                        return Err(Fault::NotAbsent(Box::new(tuple)));
                    }
                }
                let is_near = |t: &Tuple| self.model.find(t).is_some() && self.comes_near(pattern, t);
                match near.iter().find(|t| !is_near(t)) {
                    Some(tuple) => Err(Fault::NotNear(Box::new(tuple.clone()))),
                    None => Ok(()),
                }
            }
            (
                Demand::Gather { into, how, of: gathered, atom, with },
                Premise::Gathered { pattern, value, members },
            ) => {
                self.same_pattern(atom, with, pattern, None, &owned)?;
                let with: Vec<Comparison> = with.iter().map(|c| lines::fill_comparison(c, &owned)).collect();
                let rows = self.model.every(pattern.sentence).map(|row| self.model.tuple(row));
                let mut fitting: Vec<Tuple> = rows.filter(|t| self.fits(pattern, &with, t)).collect();
                let mut shown: Vec<&Tuple> = members.iter().map(|m| &m.tuple).collect();
                fitting.sort();
                shown.sort();
                check(fitting.iter().eq(shown), Fault::OtherMembers)?;
                let values: Vec<Value> = fitting
                    .iter()
                    .filter_map(|t| owned(*gathered).or_else(|| fillings(pattern, t)?.remove(gathered)))
                    .collect();
                let nothing = gather::total_of_nothing(
                    self.program.sentences.get(atom.sentence.0 as usize),
                    atom,
                    *gathered,
                );
                let again = gather::gather(*how, &values, nothing);
                rests_on.extend(members);
                check(again.as_ref() == Some(value) && of(*into) == Some(value), Fault::AnotherValue)
            }
            (Demand::Compute { into, expr }, Premise::Computed { value }) => {
                let again = judge::value(expr, &of);
                check(again.as_deref() == Some(value) && of(*into) == Some(value), Fault::AnotherValue)
            }
            (Demand::Compare(comparison), Premise::Compared { left, right }) => {
                let sides = (judge::value(&comparison.left, &of), judge::value(&comparison.right, &of));
                check(
                    sides.0.as_deref() == Some(left) && sides.1.as_deref() == Some(right),
                    Fault::AnotherValue,
                )?;
                check(judge::holds(comparison, &of), Fault::DoesNotHold)
            }
            _ => Err(Fault::WrongKind),
        }
    }

    fn same_pattern(
        &self,
        atom: &Atom,
        with: &[Comparison],
        pattern: &Atom,
        given: Option<&[Comparison]>,
        owned: &impl Fn(VarId) -> Option<Value>,
    ) -> Result<(), Fault> {
        let filled = lines::fill_atom(atom, owned);
        let with: Vec<Comparison> = with.iter().map(|c| lines::fill_comparison(c, owned)).collect();
        let same = filled == *pattern && given.is_none_or(|g| *g == with);
        if same { Ok(()) } else { Err(Fault::DoesNotFit) }
    }

    /// Whether a tuple fits a pattern and its comparisons.
    fn fits(&self, pattern: &Atom, with: &[Comparison], tuple: &Tuple) -> bool {
        let status = match pattern.status {
            _ if !self.is_journal(tuple.sentence) => true,
            Status::Done => !tuple.planned,
            Status::Planned => tuple.planned,
            Status::Either => true,
        };
        status
            && pattern.sentence == tuple.sentence
            && fillings(pattern, tuple)
                .is_some_and(|locals| with.iter().all(|c| judge::holds(c, &|v| locals.get(&v))))
    }

    /// Whether a tuple differs from a pattern in one fixed blank at most, its being planned counted in.
    fn comes_near(&self, pattern: &Atom, tuple: &Tuple) -> bool {
        let entry = tuple.entry.map(Value::Entry);
        let places = pattern.terms.iter().zip(tuple.values.iter().map(Some));
        let apart = places
            .chain([(&pattern.entry, entry.as_ref())])
            .filter(|(term, value)| matches!(term, Term::Const(c) if Some(c) != *value))
            .count();
        let status = match pattern.status {
            Status::Done => tuple.planned,
            Status::Planned => !tuple.planned,
            Status::Either => false,
        };
        let status = status && self.is_journal(tuple.sentence);
        pattern.sentence == tuple.sentence && apart + usize::from(status) <= 1
    }

    fn is_journal(&self, sentence: SentenceId) -> bool {
        self.program.sentences.get(sentence.0 as usize).is_some_and(|s| s.origin == Origin::Journal)
    }

    /// What a reckoner answers when it is asked again.
    fn answers_of(&mut self, name: &'static str) -> &[Answer] {
        let (program, model) = (self.program, self.model);
        self.answers.entry(name).or_insert_with(|| {
            let mut answers = Vec::new();
            for reckoner in program.reckoners.iter().filter(|r| r.reckoner.name == name) {
                let tuples: Vec<(usize, Tuple)> = reckoner
                    .reads
                    .iter()
                    .enumerate()
                    .flat_map(|(n, s)| model.rows(*s).into_iter().map(move |row| (n, model.tuple(row))))
                    .collect();
                let given: Vec<Given<'_>> = tuples
                    .iter()
                    .map(|(input, t)| Given {
                        input: *input,
                        values: &t.values,
                        entry: t.entry,
                        planned: t.planned,
                    })
                    .collect();
                for answer in (reckoner.reckoner.run)(&given) {
                    let Some(sentence) = reckoner.gives.get(answer.output) else { continue };
                    let on = answer.witnesses.iter().filter_map(|n| tuples.get(*n));
                    let on = on.map(|(_, t)| t.clone()).collect();
                    answers.push((*sentence, answer, on));
                }
            }
            answers
        })
    }
}

/// What a tuple puts in a pattern's variables; `None` if it does not fit.
fn fillings(pattern: &Atom, tuple: &Tuple) -> Option<BTreeMap<VarId, Value>> {
    let mut locals: BTreeMap<VarId, Value> = BTreeMap::new();
    let entry = tuple.entry.map(|e: EntryId| Value::Entry(e));
    let places = pattern.terms.iter().zip(tuple.values.iter().map(Some));
    if pattern.terms.len() != tuple.values.len() {
        return None;
    }
    for (term, value) in places.chain([(&pattern.entry, entry.as_ref())]) {
        let fits = match (term, value) {
            (Term::Any, _) => true,
            (Term::Const(c), Some(value)) => c == value,
            (Term::Var(v), Some(value)) => {
                let first = locals.entry(*v).or_insert_with(|| value.clone());
                first == value
            }
            (_, None) => false,
        };
        if !fits {
            return None;
        }
    }
    Some(locals)
}
