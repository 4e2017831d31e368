//! The search for why a sentence does not hold.
//!
//! Comes in: a model and a sentence with some blanks filled. Goes out: how near each rule that could say
//! it comes, and what stands in the way. It makes no text and changes no model.

use std::ops::ControlFlow;

use crate::{
    measure::value::Value,
    model::{
        judge,
        lines::{self, Order},
        outcome::Model,
        program::{Atom, Demand, Rule},
        prove::NEAR_MISSES,
        solve::{self, Frame},
        whynot::{Attempt, Obstacle, WhyNot},
    },
};

/// How many missing sentences are followed, one under the other.
const DEEP: usize = 3;
/// How many tuples are looked at for one rule.
const BUDGET: usize = 100_000;

/// Why what is asked does not hold.
///
/// For each rule whose conclusion fits: the longest run of its lines, in written order, that some values
/// meet, and the first line that fails under the least such values. The rule with the fewest lines left
/// comes first, then the first by page and number. A missing sentence that rules could say is followed,
/// three deep, along the nearest rule.
pub fn why_not(model: &Model, asked: &Atom) -> WhyNot {
    search(model, asked, &mut Vec::new())
}

fn search(model: &Model, asked: &Atom, above: &mut Vec<Atom>) -> WhyNot {
    let holds = model.fitting(asked, &[]);
    let mut answer = WhyNot { asked: asked.clone(), holds, near: Vec::new(), attempts: Vec::new() };
    if !answer.holds.is_empty() {
        return answer;
    }
    answer.near = model.near(asked, &[], NEAR_MISSES);
    answer.attempts =
        model.rules_in_order().into_iter().filter_map(|number| attempt(model, number, asked)).collect();
    answer.attempts.sort_by_key(|a| a.left);
    if let Some(nearest) = answer.attempts.first_mut()
        && let Obstacle::Missing { pattern, because, .. } = &mut nearest.obstacle
        && above.len() < DEEP
        && *pattern != *asked
        && !above.contains(pattern)
        && model.rules().iter().any(|r| r.head.sentence == pattern.sentence)
    {
        above.push(asked.clone());
        *because = Some(Box::new(search(model, pattern, above)));
        above.pop();
    }
    answer
}

/// How far one rule comes; `None` if it cannot say what is asked, or was left out.
fn attempt(model: &Model, number: usize, asked: &Atom) -> Option<Attempt> {
    let rule = model.rules().get(number)?;
    let order = model.order(number)?;
    let start = solve::start(rule, asked)?;
    let mut best: Option<(usize, Frame)> = None;
    let mut budget = BUDGET;
    let flow = solve::explore(model, rule, order, start, &mut budget, &mut |met, frame| {
        // Ways come least values first, so only a longer run is better.
        if best.as_ref().is_none_or(|(longest, _)| met > *longest) {
            best = Some((met, frame.clone()));
        }
        ControlFlow::Continue(())
    });
    let (met, frame) = best?;
    let line = *order.lines.get(met)?;
    Some(Attempt {
        rule: number,
        met: order.lines.iter().take(met).map(|n| (*n, frame.rows.get(*n).copied().flatten())).collect(),
        line,
        left: order.lines.len() - met,
        obstacle: obstacle(model, rule, line, &frame)?,
        bindings: values(order, frame),
        exhaustive: flow.is_continue(),
    })
}

/// The values of the variables that lines bind.
fn values(order: &Order, frame: Frame) -> Vec<Option<Value>> {
    let bound = |n: usize| order.bound.iter().any(|v| v.0 as usize == n);
    frame.values.into_iter().enumerate().map(|(n, v)| v.filter(|_| bound(n))).collect()
}

/// What keeps a line from being met.
fn obstacle(model: &Model, rule: &Rule, line: usize, frame: &Frame) -> Option<Obstacle> {
    let of = |v| frame.value(v);
    Some(match &rule.body.get(line)?.demand {
        Demand::Holds(atom) => {
            let pattern = frame.fill_atom(atom);
            let near = model.near(&pattern, &[], NEAR_MISSES);
            Obstacle::Missing { pattern, near, because: None }
        }
        Demand::No { atom, with } => {
            let pattern = frame.fill_atom(atom);
            let tuple = *model.fitting(&pattern, &frame.fill_all(with)).first()?;
            Obstacle::InTheWay { pattern, tuple }
        }
        Demand::Compare(comparison) => Obstacle::Unmet {
            comparison: lines::fill_comparison(comparison, &|v| frame.value(v).cloned()),
            left: judge::value(&comparison.left, &of).map(std::borrow::Cow::into_owned),
            right: judge::value(&comparison.right, &of).map(std::borrow::Cow::into_owned),
        },
        Demand::Compute { into, expr } => match judge::value(expr, &of) {
            Some(value) => {
                Obstacle::AnotherValue { value: value.into_owned(), asked: frame.value(*into)?.clone() }
            }
            None => Obstacle::NotComputed { expr: lines::fill_expr(expr, &|v| frame.value(v).cloned()) },
        },
        Demand::Gather { into, atom, with, .. } => {
            match solve::gathered(model, rule.body.get(line)?, frame) {
                Some(value) => Obstacle::AnotherValue { value, asked: frame.value(*into)?.clone() },
                None => {
                    let pattern = frame.fill_atom(atom);
                    let near = model.near(&pattern, &frame.fill_all(with), NEAR_MISSES);
                    Obstacle::NothingGathered { pattern, near }
                }
            }
        }
    })
}
