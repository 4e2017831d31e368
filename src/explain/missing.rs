//! The answer to `why --not SENTENCE`, in words: which rule comes nearest, and what it lacks.
//!
//! Comes in: what the search of [`super::whynot`] found. Goes out: [`WhyNotSo`]s. It searches nothing.

use std::sync::Arc;

use super::{Known, asked, say, steps, whynot};
use crate::{
    measure::value::Value,
    model::{
        explanation::{Attempt, Ground, Step, WhyNotSo},
        outcome::RowRef,
        program::{Atom, Comparison, Demand, Expr, Meaning, Rule, Term},
        proof::Tuple,
        sentence::{Origin, SentenceId},
        whynot as found,
    },
};

/// How many rules are shown for one sentence.
const RULES: usize = 3;

/// Why what was typed does not hold: one answer for each sentence it may mean, the nearest first.
///
/// # Errors
/// Says in words why what was typed is no sentence.
pub fn not_so(known: &Known<'_>, typed: &str) -> Result<Vec<WhyNotSo>, String> {
    let atoms = asked::find(known, typed)?;
    let mut answers: Vec<found::WhyNot> =
        atoms.iter().map(|atom| whynot::why_not(known.model, atom)).collect();
    // What holds after all comes first, then the rule with the fewest lines missing.
    answers.sort_by_key(|a| (a.holds.is_empty(), a.attempts.first().map_or(usize::MAX, |t| t.left)));
    // The rules of one page ask the same question: they are one answer.
    let mut out: Vec<WhyNotSo> = Vec::new();
    for next in answers.iter().map(|a| answer(known, a)) {
        match out.iter_mut().find(|a| a.asked == next.asked) {
            Some(same) => {
                same.holds.extend(next.holds);
                same.near.extend(next.near.into_iter().take(1));
                same.attempts.extend(next.attempts);
                same.near.dedup();
            }
            None => out.push(next),
        }
    }
    for answer in &mut out {
        answer.attempts.sort_by_key(|t| t.more);
        answer.attempts.truncate(RULES);
    }
    Ok(out)
}

fn answer(known: &Known<'_>, a: &found::WhyNot) -> WhyNotSo {
    WhyNotSo {
        asked: name(known, &a.asked),
        holds: a
            .holds
            .iter()
            .filter_map(|row| known.model.proof(*row))
            .map(|p| steps::tree(known, &p))
            .collect(),
        near: {
            let mut all: Vec<String> = a.near.iter().map(|t| near(known, t)).collect();
            all.dedup();
            all
        },
        attempts: a.attempts.iter().take(RULES).filter_map(|t| attempt(known, t)).collect(),
        said_by: if a.attempts.is_empty() { said_by(known, &a.asked) } else { String::new() },
    }
}

/// A sentence as it was asked; for the head of a finding or action its code, and what it is about.
fn name(known: &Known<'_>, atom: &Atom) -> String {
    let fixed = |t: &Term| if let Term::Const(v) = t { Some(v.clone()) } else { None };
    let values: Vec<Option<Value>> = atom.terms.iter().map(fixed).collect();
    head(known, atom.sentence, &values).unwrap_or_else(|| say::pattern(known, atom))
}

/// A tuple that comes near, a head by its code like what was asked.
fn near(known: &Known<'_>, tuple: &Tuple) -> String {
    let values: Vec<Option<Value>> = tuple.values.iter().cloned().map(Some).collect();
    head(known, tuple.sentence, &values).unwrap_or_else(|| say::near_miss(known, tuple))
}

/// `untested-lot about lot tern-26` for the head of a finding or an action.
fn head(known: &Known<'_>, sentence: SentenceId, values: &[Option<Value>]) -> Option<String> {
    let rule = known.program.rules.iter().find(|r| r.head.sentence == sentence)?;
    let places = match &rule.meaning {
        Meaning::Finding { about, .. } | Meaning::Caution { about, .. } => about,
        Meaning::Action { key, .. } => key,
        Meaning::Sentence | Meaning::Answer { .. } | Meaning::Told { .. } => return None,
    };
    let about: Vec<String> =
        places.iter().filter_map(|n| values.get(*n)?.as_ref()).map(|v| say::value(known, v)).collect();
    Some(if about.is_empty() {
        rule.page.to_string()
    } else {
        format!("{} about {}", rule.page, about.join(", "))
    })
}

fn said_by(known: &Known<'_>, atom: &Atom) -> String {
    let sentence = known.program.sentences.get(atom.sentence.0 as usize);
    match sentence.map(|s| &s.origin) {
        Some(Origin::Journal) => "only an entry of the journal could say it, and none does".to_owned(),
        Some(Origin::Reckoned(name)) => format!("only the reckoning of {name} could say it, and it does not"),
        Some(Origin::Page | Origin::Head) | None => {
            "only a table of a page could say it, and none does".to_owned()
        }
    }
}

fn attempt(known: &Known<'_>, a: &found::Attempt) -> Option<Attempt> {
    let rule = known.program.rules.get(a.rule)?;
    let met = a.met.iter().map(|(line, row)| met(known, rule, *line, *row, a)).collect();
    let (fails, obstacle, near, because) = obstacle(known, rule, a);
    Some(Attempt {
        code: Arc::clone(&rule.page),
        number: rule.number,
        loc: rule.loc,
        met,
        fails,
        obstacle,
        near,
        because,
        more: a.left.saturating_sub(1),
        exhaustive: a.exhaustive,
    })
}

/// A line that is met: the sentence that meets it with its journal line, or the line filled in.
fn met(known: &Known<'_>, rule: &Rule, line: usize, row: Option<RowRef>, a: &found::Attempt) -> Step {
    if let Some(proof) = row.and_then(|row| known.model.proof(row)) {
        let mut step = steps::tree(known, &proof);
        step.below.clear();
        step.left_out = 0;
        return step;
    }
    let says = rule.body.get(line).map_or_else(String::new, |l| match &l.demand {
        Demand::No { .. } => {
            format!("nothing says that {}", denied(known, &l.demand, a).unwrap_or_default())
        }
        Demand::Gather { into, how, of, atom, .. } => {
            let name = rule.vars.get(of.0 as usize).map_or("value", |v| &**v);
            match a.bindings.get(into.0 as usize) {
                Some(Some(value)) => say::gathered(known, *how, name, value, &bound(atom, a)),
                _ => say::pattern(known, &bound(atom, a)),
            }
        }
        _ => steps::filled(known, known.sources.slice(l.loc), rule, &a.bindings),
    });
    Step { says, by: Ground::Reasoned, below: Vec::new(), left_out: 0 }
}

/// A term with the value the attempt has for it.
fn bound_term(term: &Term, a: &found::Attempt) -> Term {
    match term {
        Term::Var(v) => match a.bindings.get(v.0 as usize) {
            Some(Some(value)) => Term::Const(value.clone()),
            _ => term.clone(),
        },
        _ => term.clone(),
    }
}

/// A pattern with the values the attempt has for its variables.
fn bound(atom: &Atom, a: &found::Attempt) -> Atom {
    Atom { terms: atom.terms.iter().map(|t| bound_term(t, a)).collect(), ..atom.clone() }
}

fn bound_expr(expr: &Expr, a: &found::Attempt) -> Expr {
    let both = |x: &Expr, y: &Expr| (Box::new(bound_expr(x, a)), Box::new(bound_expr(y, a)));
    match expr {
        Expr::Term(t) => Expr::Term(bound_term(t, a)),
        Expr::Add(x, y) => {
            let (x, y) = both(x, y);
            Expr::Add(x, y)
        }
        Expr::Sub(x, y) => {
            let (x, y) = both(x, y);
            Expr::Sub(x, y)
        }
        Expr::Mul(x, y) => {
            let (x, y) = both(x, y);
            Expr::Mul(x, y)
        }
        Expr::Div(x, y) => {
            let (x, y) = both(x, y);
            Expr::Div(x, y)
        }
        Expr::Call(function, sides) => {
            Expr::Call(*function, sides.iter().map(|side| bound_expr(side, a)).collect())
        }
    }
}

/// What a `no` line of a rule denies, in words.
fn denied(known: &Known<'_>, line: &Demand, a: &found::Attempt) -> Option<String> {
    let Demand::No { atom, with } = line else { return None };
    let with: Vec<Comparison> = with
        .iter()
        .map(|c| Comparison { left: bound_expr(&c.left, a), right: bound_expr(&c.right, a), ..c.clone() })
        .collect();
    Some(say::denied(known, &bound(atom, a), &with))
}

type Lack = (String, String, Vec<String>, Option<Box<WhyNotSo>>);

fn obstacle(known: &Known<'_>, rule: &Rule, a: &found::Attempt) -> Lack {
    let close_to = |list: &[Tuple]| list.iter().map(|t| say::near_miss(known, t)).collect();
    let line = || {
        rule.body
            .get(a.line)
            .map_or_else(String::new, |l| steps::filled(known, known.sources.slice(l.loc), rule, &a.bindings))
    };
    match &a.obstacle {
        found::Obstacle::Missing { pattern, near: close, because } => {
            let because = because.as_ref().map(|b| Box::new(answer(known, b)));
            (say::pattern(known, pattern), "nothing says so".to_owned(), close_to(close), because)
        }
        found::Obstacle::InTheWay { pattern, tuple } => {
            let says = say::near_miss(known, &known.model.tuple(*tuple));
            let denied = rule.body.get(a.line).and_then(|l| denied(known, &l.demand, a));
            let denied = denied.unwrap_or_else(|| say::pattern(known, pattern));
            let wanted = format!("nothing should say that {denied}");
            (wanted, format!("but {says}"), Vec::new(), None)
        }
        found::Obstacle::Unmet { comparison, left, right } => {
            let plain = |e: &Expr| matches!(e, Expr::Term(Term::Const(_)));
            let sides = match (left, right) {
                // Values that stand in the line as they are need no saying twice.
                (Some(_), Some(_)) if plain(&comparison.left) && plain(&comparison.right) => String::new(),
                (Some(l), Some(r)) => {
                    format!("it is {} against {}", say::value(known, l), say::value(known, r))
                }
                _ => "the two sides are unlike things".to_owned(),
            };
            (say::comparison(known, comparison), sides, Vec::new(), None)
        }
        found::Obstacle::NothingGathered { pattern, near: close } => {
            let wanted = format!("anything such that {}", say::pattern(known, pattern));
            (wanted, "there is nothing to gather".to_owned(), close_to(close), None)
        }
        found::Obstacle::NotComputed { expr } => {
            let text = format!("{} puts unlike things together", say::expr(known, expr));
            (line(), text, Vec::new(), None)
        }
        found::Obstacle::AnotherValue { value, asked } => {
            let text = format!("it is {}, not {}", say::value(known, value), say::value(known, asked));
            (line(), text, Vec::new(), None)
        }
    }
}
