//! Rival causes of one outbreak, from what pages and diary say to a ranking with its reasons.
//!
//! Comes in: statements (see [`said`]): causes with their rows and weights, questions, who is under
//! suspicion, answers. Goes out: for each outbreak a [`Ranking`]: the chance of each suspect, each
//! answered question with its ratio between the first two, and what answering an open one would do. It
//! knows no cause and no question by name; the weighing itself is `super::odds`.

pub mod said;
pub mod words;

use std::{
    borrow::Cow,
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::odds::{self, Answer, Cause, Inquiry, Question};
use crate::measure::value::Value;
use said::{Book, Matter};

/// A cause under suspicion.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// The cause's name.
    pub cause: Arc<str>,
    /// The lot or spraying it is about.
    pub subject: Option<Value>,
    /// Its chance, 0 to 1, alone or with another.
    pub chance: f64,
    /// How much of that is together with one listed before it; what is left adds up to 1 over all suspects.
    pub together: f64,
    /// From where to where [`Suspect::chance`] goes if any one answer is left out; the chance itself where
    /// that was not asked for.
    pub range: (f64, f64),
    /// Its weight before anything was answered.
    pub weight: f64,
    /// Statements that make it a suspect.
    pub by: Vec<usize>,
}

/// A question that was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The question.
    pub question: Arc<str>,
    /// The lot or spraying it is about.
    pub about: Option<Value>,
    /// The answers that count. Of several, each may be the true one and the others strays, so together
    /// they count as often as any of them is seen.
    pub answers: Vec<Arc<str>>,
    /// The most that so small a comparison can say, for one that was counted.
    pub ceiling: Option<f64>,
    /// Its size, so many against so many.
    pub size: Option<(u32, u32)>,
    /// What it rests on, where pages name that: each of several tests that together make one answer.
    pub rests: BTreeSet<Value>,
    /// How much oftener it is answered so under the first suspect than under [`Asked::against`].
    pub ratio: f64,
    /// The second suspect, or for a question about another's lot or spraying that one (a number into
    /// [`Ranking::suspects`]).
    pub against: usize,
    /// Where that ratio is one: the likeliest suspect that the answer does set apart from the first (a number into
    /// [`Ranking::suspects`]), and how much oftener it is answered so under the first than under that one.
    pub apart: Option<(usize, f64)>,
    /// Statements that answer it, and those that say what it rests on.
    pub by: Vec<usize>,
}

impl Asked {
    /// How far the answer tells the first suspect from the one it is shown against, 1 or more.
    pub fn telling(&self) -> f64 {
        let ratio = self.apart.map_or(self.ratio, |(_, ratio)| ratio);
        ratio.max(1.0 / ratio)
    }
}

/// What an open question's answer would lead to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The answer.
    pub answer: Arc<str>,
    /// How likely it is to come.
    pub likely: f64,
    /// Which suspect would lead then (a number into [`Ranking::suspects`]).
    pub leads: usize,
    /// With what chance.
    pub chance: f64,
}

/// A question nobody has answered, or nobody plainly.
#[derive(Debug, Clone, PartialEq)]
pub struct Open {
    /// The question.
    pub question: Arc<str>,
    /// The lot or spraying it is about.
    pub about: Option<Value>,
    /// The answer it has, if that leaves it open.
    pub given: Option<Arc<str>>,
    /// By how much answering it may be expected to lower the chance that the first suspect is wrong.
    pub gain: f64,
    /// What each answer would lead to, the likeliest first.
    pub outcomes: Vec<Outcome>,
}

/// A cause that several suspects are of.
#[derive(Debug, Clone, PartialEq)]
pub struct Shared {
    /// The cause's name.
    pub cause: Arc<str>,
    /// How many suspects are of it.
    pub suspects: usize,
    /// The chance that one or more of them is at work, 0 to 1.
    pub chance: f64,
    /// As [`Suspect::range`].
    pub range: (f64, f64),
}

/// The suspects of one outbreak.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranking {
    /// The outbreak.
    pub outbreak: Value,
    /// The likeliest first.
    pub suspects: Vec<Suspect>,
    /// Causes that more than one of them is of, the likeliest first.
    pub shared: Vec<Shared>,
    /// The answered questions, by name.
    pub asked: Vec<Asked>,
    /// The open questions, and those whose answer leaves them open, the most telling first, then the quickest and the cheapest.
    pub open: Vec<Open>,
    /// How strongly all answers together speak for the first suspect against the second.
    pub support: f64,
}

/// Ranks the suspects of every outbreak, in the order of the outbreaks.
pub fn rankings(book: &Book) -> Vec<Ranking> {
    ranked(book, false)
}

/// The same, with how far each answer moves each chance, which takes a weighing more for every answer.
pub fn rankings_with_ranges(book: &Book) -> Vec<Ranking> {
    ranked(book, true)
}

fn ranked(book: &Book, ranges: bool) -> Vec<Ranking> {
    let tables = Tables::of(book);
    let ranking = |(outbreak, matter)| ranking(book, &tables, outbreak, matter, ranges);
    book.matters.iter().filter_map(ranking).collect()
}

/// The columns of a question and its rows.
type Table<'b> = (Vec<&'b Arc<str>>, Vec<Vec<f64>>);

/// The question tables, each with its columns named.
struct Tables<'b> {
    /// The causes, by the row they have in every table.
    causes: Vec<&'b Arc<str>>,
    /// Which row stands for what is not listed.
    other: usize,
    /// Columns and rows of each question.
    questions: BTreeMap<&'b Arc<str>, Table<'b>>,
}

impl<'b> Tables<'b> {
    /// A cause whose row of a question is not whole takes the row of what is not listed; a question
    /// without that row is not asked.
    fn of(book: &'b Book) -> Self {
        let causes: Vec<&Arc<str>> = book.causes.keys().collect();
        let other = causes.iter().position(|c| book.causes.get(*c).is_some_and(|c| c.other));
        let mut questions = BTreeMap::new();
        for (question, rows) in &book.rows {
            let columns: Vec<&Arc<str>> =
                rows.values().flat_map(BTreeMap::keys).collect::<BTreeSet<_>>().into_iter().collect();
            let row = |cause: &Arc<str>| -> Option<Vec<f64>> {
                let cells = rows.get(cause)?;
                let row: Vec<f64> = columns.iter().filter_map(|c| cells.get(*c).copied()).collect();
                (row.len() == columns.len() && whole(&row)).then_some(row)
            };
            let Some(stand_in) = other.and_then(|o| causes.get(o)).and_then(|c| row(c)) else { continue };
            let rows = causes.iter().map(|c| row(c).unwrap_or_else(|| stand_in.clone())).collect();
            questions.insert(question, (columns, rows));
        }
        Self { causes, other: other.unwrap_or(0), questions }
    }
}

/// Whether a row adds up to 100 with no cell under 1.
pub fn whole(row: &[f64]) -> bool {
    (row.iter().sum::<f64>() - 100.0).abs() < 0.01 && row.iter().all(|n| *n >= 1.0)
}

fn ranking(
    book: &Book,
    tables: &Tables<'_>,
    outbreak: &Value,
    matter: &Matter,
    ranges: bool,
) -> Option<Ranking> {
    let row_of = |cause: &Arc<str>| tables.causes.iter().position(|c| *c == cause);
    // Subjects by number. A cause whose source nobody knows gets one that no question is about.
    let subjects: Vec<&Value> = matter
        .suspects
        .keys()
        .filter_map(|(_, s)| s.as_ref())
        .chain(matter.answers.keys().filter_map(|(_, s)| s.as_ref()))
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    let number = |subject: &Value| subjects.iter().position(|s| *s == subject);
    let mut suspects = Vec::new();
    let mut causes = Vec::new();
    for ((cause, subject), (weight, by)) in &matter.suspects {
        let (Some(kind), true) = (row_of(cause), *weight > 0.0) else { continue };
        let nobody = book.causes.get(cause).and_then(|c| c.each.as_ref()).map(|_| subjects.len());
        let numbered = subject.as_ref().map_or(nobody, &number);
        causes.push(Cause { kind, subject: numbered, prior: *weight });
        suspects.push(Suspect {
            cause: cause.clone(),
            subject: subject.clone(),
            chance: 0.0,
            together: 0.0,
            range: (0.0, 0.0),
            weight: *weight,
            by: by.clone(),
        });
    }
    if suspects.is_empty() {
        return None;
    }
    let pairs = pairs(book, &suspects);
    let mut inquiry = Inquiry { causes, pairs, questions: Vec::new(), other: tables.other };
    let (mut answers, mut asked) = (Vec::new(), Vec::new());
    for ((question, about), (given, by)) in &matter.answers {
        let Some((columns, rows)) = tables.questions.get(question) else { continue };
        let possible = book.questions.get(question).map_or_else(|| given.clone(), |q| q.possible(given));
        let vague = possible.is_disjoint(given);
        let seen: Vec<bool> = columns.iter().map(|c| possible.contains(*c)).collect();
        if !seen.contains(&true) {
            continue;
        }
        let ceiling = matter.ceiling(book, question, about.as_ref());
        let rows = ceiling.map_or_else(|| rows.clone(), |most| odds::thinned(rows, most));
        // One column is left: how often any of them is seen.
        let any = |row: &Vec<f64>| row.iter().zip(&seen).filter(|(_, seen)| **seen).map(|(n, _)| n).sum();
        inquiry.questions.push(Question { rows: rows.iter().map(|row| vec![any(row)]).collect() });
        let rests = matter.rests.get(&((*question).clone(), about.clone()));
        let number_about = about.as_ref().and_then(&number);
        answers.push(Answer {
            question: inquiry.questions.len() - 1,
            about: number_about,
            column: 0,
            ceiling: None,
        });
        asked.push(Asked {
            question: (*question).clone(),
            about: about.clone(),
            answers: given.iter().filter(|a| vague || possible.contains(*a)).cloned().collect(),
            ceiling,
            size: ceiling.and_then(|_| matter.size(question, about.as_ref())),
            rests: rests.map(|(on, _)| on.clone()).unwrap_or_default(),
            ratio: 1.0,
            against: 1,
            apart: None,
            by: by.iter().chain(rests.into_iter().flat_map(|(_, by)| by)).copied().collect(),
        });
    }
    let states = odds::states(&inquiry, &answers);
    let chances = odds::of_causes(&inquiry, &states);
    // The likeliest first; equals by name, so that the order does not depend on rounding.
    let mut order: Vec<usize> = (0..suspects.len()).collect();
    let of = |n: &usize| chances.get(*n).copied().unwrap_or(0.0);
    order.sort_by(|a, b| of(b).total_cmp(&of(a)).then(a.cmp(b)));
    let together = together(&inquiry, &states, &order);
    let without = if ranges { without_one(&inquiry, &answers) } else { Vec::new() };
    let shared = shared(&inquiry, &states, &without, &suspects);
    for (n, ((suspect, chance), together)) in suspects.iter_mut().zip(&chances).zip(together).enumerate() {
        let moved = without.iter().map(|states| odds::of_any(&inquiry, states, |c| c == n));
        suspect.chance = *chance;
        suspect.together = together;
        suspect.range = around(*chance, moved);
    }
    let mut support = 1.0;
    if let [first, second, ..] = order[..] {
        for (asked, answer) in asked.iter_mut().zip(&answers) {
            support *= odds::ratio(&inquiry, answer, first, second);
            // What is asked of a third one's lot says nothing between the first two.
            let of = |n: &usize| {
                asked.about.is_some() && suspects.get(*n).is_some_and(|s| s.subject == asked.about)
            };
            let other = if of(&first) { None } else { order.iter().position(of) };
            asked.against = other.unwrap_or(1);
            let rival = order.get(asked.against).copied().unwrap_or(second);
            asked.ratio = odds::ratio(&inquiry, answer, first, rival);
            if words::even(asked.ratio) {
                let ratios = order.iter().map(|n| odds::ratio(&inquiry, answer, first, *n)).enumerate();
                asked.apart = apart(&ratios.collect::<Vec<_>>());
            }
        }
    }
    let given = Given { answers: &answers, asked: &asked, states: &states };
    let open = open(book, tables, matter, &mut inquiry, &given, &subjects, &order);
    let suspects = order.iter().filter_map(|n| suspects.get(*n).cloned()).collect();
    Some(Ranking { outbreak: outbreak.clone(), suspects, shared, asked, open, support })
}

/// By how much an answer must part two suspects to say something of it, if there is any that it parts so much.
const PARTS: f64 = 1.5;

/// Of suspects in their order with how much oftener an answer is seen under the first: the first that it parts well
/// from it, or else at all.
fn apart(ratios: &[(usize, f64)]) -> Option<(usize, f64)> {
    let well = |(_, r): &&(usize, f64)| r.max(1.0 / r) >= PARTS;
    let at_all = |(_, r): &&(usize, f64)| !words::even(*r);
    ratios.iter().find(well).or_else(|| ratios.iter().find(at_all)).copied()
}

/// How likely each suspect is to be at work together with one that stands before it.
fn together(inquiry: &Inquiry, states: &[f64], order: &[usize]) -> Vec<f64> {
    let place = |cause: usize| order.iter().position(|n| *n == cause).unwrap_or(order.len());
    let (alone, both) = states.split_at(inquiry.causes.len().min(states.len()));
    let mut together = vec![0.0; alone.len()];
    for ((a, b), p) in inquiry.pairs.iter().zip(both) {
        let later = if place(*a) <= place(*b) { *b } else { *a };
        if let Some(together) = together.get_mut(later) {
            *together += p;
        }
    }
    together
}

/// The chances of the states with each answer left out in turn.
fn without_one(inquiry: &Inquiry, answers: &[Answer]) -> Vec<Vec<f64>> {
    let without = |left: usize| {
        let others = answers.iter().enumerate().filter(|(n, _)| *n != left).map(|(_, a)| *a);
        odds::states(inquiry, &others.collect::<Vec<_>>())
    };
    (0..answers.len()).map(without).collect()
}

/// From where to where a chance goes.
fn around(chance: f64, moved: impl Iterator<Item = f64>) -> (f64, f64) {
    moved.fold((chance, chance), |(least, most), p| (least.min(p), most.max(p)))
}

/// What the suspects of one cause come to together, for each cause of which there are several.
fn shared(inquiry: &Inquiry, states: &[f64], without: &[Vec<f64>], suspects: &[Suspect]) -> Vec<Shared> {
    let mut of: BTreeMap<&Arc<str>, BTreeSet<usize>> = BTreeMap::new();
    for (n, suspect) in suspects.iter().enumerate() {
        of.entry(&suspect.cause).or_default().insert(n);
    }
    let several = of.into_iter().filter(|(_, all)| all.len() > 1);
    let mut shared: Vec<Shared> = several
        .map(|(cause, all)| {
            let any = |states: &[f64]| odds::of_any(inquiry, states, |c| all.contains(&c));
            let (chance, moved) = (any(states), without.iter().map(|states| any(states)));
            Shared { cause: cause.clone(), suspects: all.len(), chance, range: around(chance, moved) }
        })
        .collect();
    shared.sort_by(|a, b| b.chance.total_cmp(&a.chance).then_with(|| a.cause.cmp(&b.cause)));
    shared
}

/// Suspects that can both be at work.
fn pairs(book: &Book, suspects: &[Suspect]) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (a, x) in suspects.iter().enumerate() {
        for (b, y) in suspects.iter().enumerate().skip(a + 1) {
            let both = |x: &Suspect, y: &Suspect| book.pairs.contains(&(x.cause.clone(), y.cause.clone()));
            if both(x, y) || both(y, x) {
                pairs.push((a, b));
            }
        }
    }
    pairs
}

/// What has been answered, and what follows.
struct Given<'a> {
    answers: &'a [Answer],
    /// The questions of `answers`, in the same order.
    asked: &'a [Asked],
    /// The chance of each state.
    states: &'a [f64],
}

impl Given<'_> {
    /// The chance of each state without the answer to one question.
    fn without(&self, inquiry: &Inquiry, question: &Arc<str>, about: Option<&Value>) -> Vec<f64> {
        let this = |a: &Asked| a.question == *question && a.about.as_ref() == about;
        let others = self.answers.iter().zip(self.asked).filter(|(_, asked)| !this(asked));
        odds::states(inquiry, &others.map(|(answer, _)| *answer).collect::<Vec<_>>())
    }
}

/// Every question that has no answer, or none that is plain, and was not looked into, asked of the outbreak or of
/// each subject of its kind.
///
/// A plainer answer takes the place of the one that left the question open: it is weighed from what is known
/// without that one, and only what that one leaves open can come of it. What the look settles is counted from the
/// mean of what it may come to, which for an open question is what is known now.
fn open(
    book: &Book,
    tables: &Tables<'_>,
    matter: &Matter,
    inquiry: &mut Inquiry,
    given: &Given<'_>,
    subjects: &[&Value],
    order: &[usize],
) -> Vec<Open> {
    let doubt = |chances: &[f64]| 1.0 - chances.iter().copied().fold(0.0, f64::max);
    let place = |cause: usize| order.iter().position(|n| *n == cause).unwrap_or(0);
    let mut open = Vec::new();
    for (question, (columns, rows)) in &tables.questions {
        let told = book.questions.get(*question);
        let abouts: Vec<Option<Value>> = match told.and_then(|q| q.each.as_ref()) {
            None => vec![None],
            Some(kind) => {
                let of_kind = |c: &Arc<str>| book.causes.get(c).and_then(|c| c.each.as_ref()) == Some(kind);
                let found = matter.suspects.keys().filter(|(c, _)| of_kind(c));
                found.filter_map(|(_, s)| s.clone()).collect::<BTreeSet<_>>().into_iter().map(Some).collect()
            }
        };
        let rows =
            told.and_then(|q| q.planned).map_or_else(|| rows.clone(), |most| odds::thinned(rows, most));
        inquiry.questions.push(Question { rows });
        for about in abouts {
            let of = ((*question).clone(), about.clone());
            if matter.looked.contains(&of) {
                continue;
            }
            // What can come of it, and from where it is weighed.
            let (can_be, states, answered) = match matter.answers.get(&of) {
                None => (None, Cow::Borrowed(given.states), None),
                Some((answers, _)) => {
                    let Some(can_be) = told.and_then(|q| q.left_open(answers, columns)) else { continue };
                    let states = given.without(inquiry, question, about.as_ref());
                    (Some(can_be), Cow::Owned(states), answers.first().cloned())
                }
            };
            let number = about.as_ref().and_then(|s| subjects.iter().position(|x| *x == s));
            let answer =
                Answer { question: inquiry.questions.len() - 1, about: number, column: 0, ceiling: None };
            let mut coming: Vec<_> =
                columns.iter().zip(odds::outcomes_from(inquiry, &states, &answer)).collect();
            coming.retain(|(c, _)| can_be.as_ref().is_none_or(|can| can.contains(**c)));
            let whole: f64 = coming.iter().map(|(_, (likely, _))| likely).sum();
            let mut after = 0.0;
            let mut before = vec![0.0; inquiry.causes.len()];
            let mut outcomes = Vec::new();
            for (column, (likely, chances)) in coming {
                let likely = if whole > 0.0 { likely / whole } else { 0.0 };
                after += likely * doubt(&chances);
                before.iter_mut().zip(&chances).for_each(|(mean, then)| *mean += likely * then);
                // Of equals the one that leads now.
                let of = |c: usize| chances.get(c).copied().unwrap_or(0.0);
                let leads = order.iter().copied().fold(None::<usize>, |best, c| match best {
                    Some(b) if of(b) >= of(c) => Some(b),
                    _ => Some(c),
                });
                let Some(leads) = leads else { continue };
                outcomes.push(Outcome {
                    answer: (*column).clone(),
                    likely,
                    leads: place(leads),
                    chance: of(leads),
                });
            }
            outcomes.sort_by(|a, b| b.likely.total_cmp(&a.likely).then_with(|| a.answer.cmp(&b.answer)));
            let gain = (doubt(&before) - after).max(0.0);
            open.push(Open { question: (*question).clone(), about, given: answered, gain, outcomes });
        }
    }
    let effort = |o: &Open| {
        let question = book.questions.get(&o.question);
        question.map_or((f64::MAX, String::new()), |q| q.effort(o.given.as_ref()))
    };
    open.sort_by(|a, b| {
        // Gains that differ by less than half in a hundred are equal to a grower.
        let steps = |o: &Open| (o.gain * 200.0).round();
        let (x, y) = (effort(a), effort(b));
        steps(b)
            .total_cmp(&steps(a))
            .then(x.0.total_cmp(&y.0))
            .then(x.1.cmp(&y.1))
            .then_with(|| a.question.cmp(&b.question))
            .then_with(|| a.about.cmp(&b.about))
    });
    open
}

#[cfg(test)]
mod tests;
