//! `causes`: from answers and tables to the chance of each cause, and what would settle it.
//!
//! Comes in: causes, questions, suspects and answers. Goes out: chances, ratios, and how much doubt an
//! open question would take. The weighing is done in `reckon::rivals`.

use crate::{
    measure::{
        number::Range,
        unit::Dimension,
        value::{Quantity, Value},
    },
    model::program::{Given, Reckoned},
    reckon::rivals::{Ranking, rankings, said, words},
};

/// The sentences read, as declared.
pub const READS: &[&str] = said::READS;

/// The sentences given, as declared.
pub const GIVES: &[&str] = &[
    "{cause} has a chance of {p:share} in {outbreak}",
    "{cause} of {subject} has a chance of {p:share} in {outbreak}",
    "the chance of {cause} of {subject} in {outbreak} is about {words:text}",
    "asking {question:text} would take {x:share} of the doubt from {outbreak}",
    "asking {question:text} about {subject} would take {x:share} of the doubt from {outbreak}",
    "{question:text} speaks {r:number} to 1 for {cause} against {rival} in {outbreak}",
    "{cause} leads in {outbreak}",
    "the chance of {cause} in {outbreak} is about {words:text}",
];

/// Runs it.
pub fn run(given: &[Given<'_>]) -> Vec<Reckoned> {
    // Most journals have nothing to explain; the tables need not be gone through for those.
    if !given.iter().any(|g| said::accuses(g.input)) {
        return Vec::new();
    }
    let book = said::Book::of(given.iter().map(|g| (g.input, g.values)));
    rankings(&book).iter().flat_map(tell).collect()
}

fn tell(ranking: &Ranking) -> Vec<Reckoned> {
    let outbreak = &ranking.outbreak;
    let answers: Vec<usize> = ranking.asked.iter().flat_map(|a| a.by.iter().copied()).collect();
    let mut out = Vec::new();
    for s in &ranking.suspects {
        let cause = Value::word(s.cause.clone());
        let witnesses: Vec<usize> = s.by.iter().chain(&answers).copied().collect();
        let numbers = vec![("weight before any answer".to_owned(), Value::number(s.weight))];
        let mut say = |output: usize, values: Vec<Value>| {
            out.push(Reckoned { output, values, witnesses: witnesses.clone(), numbers: numbers.clone() });
        };
        match &s.subject {
            None => {
                say(0, vec![cause.clone(), share(s.chance), outbreak.clone()]);
                say(7, vec![cause, outbreak.clone(), Value::word(words::chance(s.chance))]);
            }
            Some(subject) => {
                say(1, vec![cause.clone(), subject.clone(), share(s.chance), outbreak.clone()]);
                say(2, vec![cause, subject.clone(), outbreak.clone(), Value::word(words::chance(s.chance))]);
            }
        }
    }
    for open in &ranking.open {
        let question = Value::word(open.question.clone());
        let (output, mut values) = match &open.about {
            None => (3, vec![question]),
            Some(about) => (4, vec![question, about.clone()]),
        };
        values.extend([share(open.gain), outbreak.clone()]);
        out.push(Reckoned { output, values, witnesses: answers.clone(), numbers: Vec::new() });
    }
    if let Some(first) = ranking.suspects.first() {
        let witnesses = first.by.iter().chain(&answers).copied().collect();
        let values = vec![Value::word(first.cause.clone()), outbreak.clone()];
        out.push(Reckoned { output: 6, values, witnesses, numbers: Vec::new() });
    }
    if let [first, second, ..] = ranking.suspects.as_slice() {
        for asked in &ranking.asked {
            let values = vec![
                Value::word(asked.question.clone()),
                Value::number(asked.ratio),
                Value::word(first.cause.clone()),
                Value::word(second.cause.clone()),
                outbreak.clone(),
            ];
            out.push(Reckoned { output: 5, values, witnesses: asked.by.clone(), numbers: Vec::new() });
        }
    }
    out
}

/// A chance as a share, to a hundredth of a per cent.
fn share(p: f64) -> Value {
    Value::Quantity(Quantity {
        size: Range::exact((p * 10_000.0).round() / 10_000.0),
        dimension: Dimension::Share,
    })
}
