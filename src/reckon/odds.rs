//! Rival causes weighed by the answers to exclusive questions.
//!
//! Comes in: causes with prior weights, pairs that can both be true, question tables, answers. Goes
//! out: the chance of each cause, each question's share in it, and which open question would settle
//! most. It holds no farming: causes and questions are numbers here.
//!
//! A *state* is one cause alone or a listed pair. An answer multiplies a state's weight by the table's
//! cell for that state; unanswered questions multiply by nothing. Questions are exclusive by
//! construction (one that shares a reason with another must be one question), which is what makes the
//! multiplication honest. Answers that rest on counted comparisons are thinned first, see [`thinned`].

/// A question's table: for every kind of cause, in how many of 100 cases each answer is seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// One row for each kind of cause, each summing to 100, no cell under 1.
    pub rows: Vec<Vec<f64>>,
}

/// A cause that may be at work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cause {
    /// Which row of every table is its own.
    pub kind: usize,
    /// What it is about (a lot, a spraying), if its kind has one cause for each.
    pub subject: Option<usize>,
    /// Prior weight; only ratios matter. Above 0.
    pub prior: f64,
}

/// An answer given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Answer {
    /// Which question.
    pub question: usize,
    /// What it is about, if the question is asked of each lot or spraying.
    pub about: Option<usize>,
    /// Which column.
    pub column: usize,
    /// Greatest ratio that so small a comparison can bear (see [`ceiling`]); `None` if nothing was counted.
    pub ceiling: Option<f64>,
}

/// What is asked: all that does not change with an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Inquiry {
    /// Rival causes.
    pub causes: Vec<Cause>,
    /// Pairs of causes (numbers into `causes`) that can both be true.
    pub pairs: Vec<(usize, usize)>,
    /// Question tables.
    pub questions: Vec<Question>,
    /// The row that stands for a cause's kind where a question is about another subject: the row of
    /// *something else*.
    pub other: usize,
}

/// The greatest odds ratio that a comparison can bear whose smallest one-sided probability is `p`:
/// 1 / (-e p ln p), and 1 where p is 1/e or more (Sellke, Bayarri and Berger, *The American
/// Statistician* 55, 2001). A ceiling, somewhat generous to middling outcomes.
pub fn ceiling(p: f64) -> f64 {
    let e = std::f64::consts::E;
    if p > 0.0 && p < 1.0 / e { 1.0 / (-e * p * p.ln()) } else { 1.0 }
}

/// A table with every cell drawn towards its column's mean by one share for the whole table, the
/// least that keeps every ratio within every column at most `most`.
pub fn thinned(rows: &[Vec<f64>], most: f64) -> Vec<Vec<f64>> {
    let columns = rows.first().map_or(0, Vec::len);
    let mean: Vec<f64> =
        (0..columns).map(|c| rows.iter().map(|r| r[c]).sum::<f64>() / count(rows.len())).collect();
    let drawn = |s: f64| -> Vec<Vec<f64>> {
        rows.iter().map(|r| r.iter().zip(&mean).map(|(cell, m)| s * cell + (1.0 - s) * m).collect()).collect()
    };
    let fits = |rows: &[Vec<f64>]| {
        (0..columns).all(|c| {
            let low = rows.iter().map(|r| r[c]).fold(f64::INFINITY, f64::min);
            let high = rows.iter().map(|r| r[c]).fold(0.0, f64::max);
            high <= most.max(1.0) * low
        })
    };
    if fits(rows) {
        return rows.to_vec();
    }
    // Halving from a share that fits (none of the table) towards one that does not (all of it).
    let (mut good, mut bad) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(good, bad);
        if fits(&drawn(middle)) { good = middle } else { bad = middle }
    }
    drawn(good)
}

/// The chance of each state, in the order causes alone, then pairs; they sum to 1.
pub fn states(inquiry: &Inquiry, answers: &[Answer]) -> Vec<f64> {
    let whole: f64 = inquiry.causes.iter().map(|c| c.prior).sum();
    let alone = (0..inquiry.causes.len()).map(|c| (inquiry.causes[c].prior, [c, c]));
    let both = inquiry.pairs.iter().map(|(a, b)| {
        // Two causes at once are a coincidence: the product of their prior chances.
        (inquiry.causes[*a].prior * inquiry.causes[*b].prior / whole, [*a, *b])
    });
    let tables: Vec<Vec<Vec<f64>>> = answers.iter().map(|a| table(inquiry, a)).collect();
    let weights: Vec<f64> = alone
        .chain(both)
        .map(|(prior, members)| {
            answers
                .iter()
                .zip(&tables)
                .fold(prior, |w, (answer, rows)| w * cell(inquiry, members, answer, rows))
        })
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| if sum > 0.0 { w / sum } else { 0.0 }).collect()
}

/// The chance of each cause: of the states it is part of. They may add to more than 1.
pub fn chances(inquiry: &Inquiry, answers: &[Answer]) -> Vec<f64> {
    of_causes(inquiry, &states(inquiry, answers))
}

/// The chance of each cause from those of the states.
pub fn of_causes(inquiry: &Inquiry, states: &[f64]) -> Vec<f64> {
    (0..inquiry.causes.len()).map(|cause| of_any(inquiry, states, |c| c == cause)).collect()
}

/// The chance, from those of the states, that any of some causes is at work.
pub fn of_any(inquiry: &Inquiry, states: &[f64], any: impl Fn(usize) -> bool) -> f64 {
    let (alone, both) = states.split_at(inquiry.causes.len().min(states.len()));
    let alone = alone.iter().enumerate().filter(|(c, _)| any(*c)).map(|(_, p)| p);
    let both = inquiry.pairs.iter().zip(both).filter(|((a, b), _)| any(*a) || any(*b)).map(|(_, p)| p);
    alone.chain(both).sum()
}

/// How much oftener an answer is seen under one cause alone than under another.
pub fn ratio(inquiry: &Inquiry, answer: &Answer, first: usize, second: usize) -> f64 {
    let rows = table(inquiry, answer);
    cell(inquiry, [first, first], answer, &rows) / cell(inquiry, [second, second], answer, &rows)
}

/// The expected fall in the chance that the leading cause is wrong, if an open question were answered.
/// `answer.column` is not looked at. Never negative but for rounding.
pub fn gain(inquiry: &Inquiry, answers: &[Answer], open: &Answer) -> f64 {
    let doubt = |chances: &[f64]| 1.0 - chances.iter().copied().fold(0.0, f64::max);
    let now = doubt(&chances(inquiry, answers));
    let after: f64 = outcomes(inquiry, answers, open).iter().map(|(p, chances)| p * doubt(chances)).sum();
    now - after
}

/// For each answer an open question may get: how likely it is, and the chance of each cause then.
pub fn outcomes(inquiry: &Inquiry, answers: &[Answer], open: &Answer) -> Vec<(f64, Vec<f64>)> {
    outcomes_from(inquiry, &states(inquiry, answers), open)
}

/// As [`outcomes`], from the chance of each state as it is now.
pub fn outcomes_from(inquiry: &Inquiry, now: &[f64], open: &Answer) -> Vec<(f64, Vec<f64>)> {
    let rows = table(inquiry, open);
    let columns = rows.first().map_or(0, Vec::len);
    (0..columns)
        .map(|column| {
            let answer = Answer { column, ..*open };
            let weights: Vec<f64> = now
                .iter()
                .enumerate()
                .map(|(s, p)| p * cell(inquiry, members(inquiry, s), &answer, &rows) / 100.0)
                .collect();
            let likely: f64 = weights.iter().sum();
            let then: Vec<f64> =
                weights.iter().map(|w| if likely > 0.0 { w / likely } else { 0.0 }).collect();
            (likely, of_causes(inquiry, &then))
        })
        .collect()
}

fn members(inquiry: &Inquiry, state: usize) -> [usize; 2] {
    let n = inquiry.causes.len();
    if state < n {
        [state, state]
    } else {
        let (a, b) = inquiry.pairs[state - n];
        [a, b]
    }
}

fn table(inquiry: &Inquiry, answer: &Answer) -> Vec<Vec<f64>> {
    let rows = &inquiry.questions[answer.question].rows;
    answer.ceiling.map_or_else(|| rows.clone(), |most| thinned(rows, most))
}

/// The cell for a state: of a pair, a question about one member's subject reads that member's row,
/// any other the mean of both.
fn cell(inquiry: &Inquiry, members: [usize; 2], answer: &Answer, rows: &[Vec<f64>]) -> f64 {
    let own = |c: usize| {
        let cause = inquiry.causes[c];
        let elsewhere = answer.about.is_some() && cause.subject.is_some() && cause.subject != answer.about;
        rows[if elsewhere { inquiry.other } else { cause.kind }][answer.column]
    };
    let [a, b] = members;
    if a == b {
        return own(a);
    }
    let meant = |c: usize| answer.about.is_some() && inquiry.causes[c].subject == answer.about;
    match (meant(a), meant(b)) {
        (true, false) => own(a),
        (false, true) => own(b),
        _ => f64::midpoint(own(a), own(b)),
    }
}

#[allow(clippy::cast_precision_loss)]
fn count(n: usize) -> f64 {
    n as f64
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// The ceilings of 3, 4 and 5 pots a side, whose least one-sided p are 1/20, 1/70 and 1/252; and
    /// p = .05, .01, .001 as Sellke, Bayarri and Berger tabulate them (2.46, 7.99, 53.3; from memory).
    #[test]
    fn few_pots_bear_little() {
        let k = |p: f64| (ceiling(p) * 100.0).round() / 100.0;
        assert_eq!([k(1.0 / 20.0), k(1.0 / 70.0), k(1.0 / 252.0)], [2.46, 6.06, 16.77]);
        assert_eq!([k(0.01), (ceiling(0.001) * 10.0).round() / 10.0], [7.99, 53.3]);
        assert_eq!([ceiling(0.5), ceiling(0.0), ceiling(1.0)], [1.0, 1.0, 1.0]);
    }

    #[test]
    fn thinning_keeps_rows_whole_and_ratios_under_the_ceiling() {
        let rows = vec![vec![90.0, 9.0, 1.0], vec![5.0, 90.0, 5.0], vec![30.0, 60.0, 10.0]];
        let thin = thinned(&rows, 2.5);
        for row in &thin {
            assert!((row.iter().sum::<f64>() - 100.0).abs() < 1e-9);
        }
        let ratio = |c: usize| {
            let column: Vec<f64> = thin.iter().map(|r| r[c]).collect();
            column.iter().copied().fold(0.0, f64::max) / column.iter().copied().fold(f64::INFINITY, f64::min)
        };
        let most = (0..3).map(ratio).fold(0.0, f64::max);
        assert!(most <= 2.5 + 1e-9 && most > 2.5 - 1e-6, "{most}");
        assert_eq!(thinned(&rows, 1000.0), rows);
    }

    fn row(columns: usize) -> impl Strategy<Value = Vec<f64>> {
        prop::collection::vec(1u32..50, columns).prop_map(move |w| {
            let left = 100.0 - count(columns);
            let sum: f64 = w.iter().map(|n| f64::from(*n)).sum();
            w.iter().map(|n| 1.0 + f64::from(*n) * left / sum).collect()
        })
    }

    fn inquiry() -> impl Strategy<Value = (Inquiry, Vec<Answer>)> {
        let questions = prop::collection::vec(prop::collection::vec(row(3), 4), 1..4);
        let causes = prop::collection::vec((0usize..3, prop::option::of(0usize..2), 1u32..100), 2..4);
        let answers = prop::collection::vec(
            (prop::option::of(0usize..3), 0usize..3, prop::option::of(1.5f64..20.0)),
            3,
        );
        (questions, causes, answers, prop::option::of(0usize..2)).prop_map(
            |(questions, causes, given, about)| {
                let questions: Vec<Question> = questions.into_iter().map(|rows| Question { rows }).collect();
                let mut causes: Vec<Cause> = causes
                    .into_iter()
                    .map(|(kind, subject, prior)| Cause { kind, subject, prior: f64::from(prior) })
                    .collect();
                causes.push(Cause { kind: 3, subject: None, prior: 10.0 });
                let answers = given
                    .into_iter()
                    .take(questions.len())
                    .enumerate()
                    .map(|(question, (a, column, ceiling))| Answer {
                        question,
                        about: a.and(about),
                        column,
                        ceiling,
                    })
                    .collect();
                (Inquiry { causes, pairs: vec![(0, 1)], questions, other: 3 }, answers)
            },
        )
    }

    /// Written apart from the code above: every state and every full set of answers is enumerated, and
    /// the chance of a state is its share of all the weight on which the answers given are what was seen.
    #[allow(clippy::needless_range_loop)] // the column is an answer, not a place in one row
    fn by_enumeration(inquiry: &Inquiry, answers: &[Answer]) -> Vec<f64> {
        let prior_sum: f64 = inquiry.causes.iter().map(|c| c.prior).sum();
        let mut all: Vec<(f64, Vec<usize>)> =
            inquiry.causes.iter().enumerate().map(|(i, c)| (c.prior, vec![i])).collect();
        for (a, b) in &inquiry.pairs {
            all.push((inquiry.causes[*a].prior * inquiry.causes[*b].prior / prior_sum, vec![*a, *b]));
        }
        let mut seen = vec![0.0; all.len()];
        for (s, (prior, members)) in all.iter().enumerate() {
            let mut combos: Vec<(f64, Vec<usize>)> = vec![(*prior, vec![])];
            for answer in answers {
                let mut rows = inquiry.questions[answer.question].rows.clone();
                if let Some(most) = answer.ceiling {
                    rows = thinned(&rows, most);
                }
                let mut next = Vec::new();
                for (weight, said) in &combos {
                    let columns = rows.iter().map(Vec::len).min().unwrap_or(0);
                    for column in 0..columns {
                        let mut cells = Vec::new();
                        for m in members {
                            let c = inquiry.causes[*m];
                            let foreign = matches!((answer.about, c.subject), (Some(x), Some(y)) if x != y);
                            cells.push((
                                answer.about.is_some() && c.subject == answer.about,
                                rows[if foreign { inquiry.other } else { c.kind }][column],
                            ));
                        }
                        let meant: Vec<f64> = cells.iter().filter(|(m, _)| *m).map(|(_, x)| *x).collect();
                        let p = if meant.len() == 1 {
                            meant[0]
                        } else {
                            cells.iter().map(|(_, x)| x).sum::<f64>() / count(cells.len())
                        };
                        let mut said = said.clone();
                        said.push(column);
                        next.push((weight * p / 100.0, said));
                    }
                }
                combos = next;
            }
            let wanted: Vec<usize> = answers.iter().map(|a| a.column).collect();
            seen[s] = combos.iter().filter(|(_, said)| *said == wanted).map(|(w, _)| w).sum();
        }
        let sum: f64 = seen.iter().sum();
        seen.iter().map(|w| w / sum).collect()
    }

    proptest! {
        #[test]
        fn the_chances_are_those_of_brute_force((inquiry, answers) in inquiry()) {
            let ours = states(&inquiry, &answers);
            for (a, b) in ours.iter().zip(by_enumeration(&inquiry, &answers)) {
                prop_assert!((a - b).abs() < 1e-9);
            }
        }

        #[test]
        fn the_order_of_answers_does_not_matter((inquiry, answers) in inquiry()) {
            let mut turned = answers.clone();
            turned.reverse();
            for (a, b) in chances(&inquiry, &answers).iter().zip(chances(&inquiry, &turned)) {
                prop_assert!((a - b).abs() < 1e-9);
            }
        }

        #[test]
        fn an_answer_that_favours_a_cause_over_every_rival_never_lowers_it((inquiry, answers) in inquiry(), column in 0usize..3) {
            let alone = Inquiry { pairs: vec![], ..inquiry };
            let Some(first) = answers.first().copied() else { return Ok(()) };
            let mut swapped = answers.clone();
            swapped[0].column = column;
            let (old, new) = (first, swapped[0]);
            let cause = 0;
            let favours = (0..alone.causes.len())
                .all(|r| ratio(&alone, &new, cause, r) >= ratio(&alone, &old, cause, r) - 1e-12);
            if favours {
                prop_assert!(chances(&alone, &swapped)[cause] >= chances(&alone, &answers)[cause] - 1e-9);
            }
        }

        #[test]
        fn an_open_question_never_adds_doubt_on_the_average((inquiry, answers) in inquiry()) {
            let Some((open, answered)) = answers.split_first() else { return Ok(()) };
            prop_assert!(gain(&inquiry, answered, open) >= -1e-9);
            let total: f64 = outcomes(&inquiry, answered, open).iter().map(|(p, _)| p).sum();
            prop_assert!((total - 1.0).abs() < 1e-9);
        }
    }
}
