//! The rows of the question tables: each adds up to 100, with no answer held impossible.
//!
//! Comes in: facts `of 100 cases of {cause}, {n} answer {question} with {answer}`. Goes out: a fault for
//! each row that is not whole, and for each question that a cause says nothing of. It weighs nothing.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use super::{ROW, fault};
use crate::{
    base::{
        diagnostic::{Diagnostic, RemarkKind},
        span::Loc,
    },
    measure::{
        display::{self, number},
        value::Value,
    },
    model::{
        program::{Fact, FactSource, Program},
        sentence::{Part, Sentence},
    },
};

/// The words of the sentence between its blanks.
const ROW_OF: [&str; 10] = ["of", "100", "cases", "of", "{}", ",", "{}", "answer", "{}", "with"];

fn is_row(sentence: &Sentence) -> bool {
    let words = sentence.parts.iter().map(|p| match p {
        Part::Word(w) => &**w,
        Part::Blank(_) => "{}",
    });
    words.eq(ROW_OF.into_iter().chain(["{}"]))
}

/// One cell: the answer, in how many of 100 cases, and where it says so.
type Cell<'p> = (&'p Value, f64, Loc);

/// Every row that is not whole. Of the program's facts these are `new`; before they came, all rows were whole.
pub(super) fn rows(program: &Program, new: &[Arc<Fact>]) -> Vec<Diagnostic> {
    let Some(row) = program.sentences.iter().position(is_row) else { return Vec::new() };
    if !new.iter().any(|f| f.sentence.0 as usize == row) {
        return Vec::new();
    }
    let mut rows: BTreeMap<(&Value, &Value), Vec<Cell<'_>>> = BTreeMap::new();
    for fact in program.facts.iter().filter(|f| f.sentence.0 as usize == row) {
        if let ([cause, Value::Number(n), question, answer], FactSource::Page(loc)) =
            (fact.values.as_slice(), &fact.source)
        {
            rows.entry((cause, question)).or_default().push((answer, n.middle(), *loc));
        }
    }
    let mut answers: BTreeMap<&Value, BTreeSet<&Value>> = BTreeMap::new();
    for ((_, question), cells) in &rows {
        answers.entry(question).or_default().extend(cells.iter().map(|c| c.0));
    }
    let mut causes: BTreeMap<&Value, Loc> = BTreeMap::new();
    for ((cause, _), cells) in &rows {
        if let Some(first) = cells.first() {
            causes.entry(cause).or_insert(first.2);
        }
    }
    let mut faults = Vec::new();
    for (cause, at) in causes {
        for (question, answers) in &answers {
            let cells = rows.get(&(cause, *question)).map(Vec::as_slice).unwrap_or_default();
            faults.extend(of_row(cause, question, cells, answers, at));
        }
    }
    faults
}

fn of_row(
    cause: &Value,
    question: &Value,
    cells: &[Cell<'_>],
    answers: &BTreeSet<&Value>,
    at: Loc,
) -> Option<Diagnostic> {
    let shown = |v: &Value| display::value(v, &display::Units::new());
    let (cause, question) = (shown(cause), shown(question));
    let at = cells.first().map_or(at, |c| c.2);
    let lacks: Vec<String> = answers
        .iter()
        .filter(|a| !cells.iter().any(|c| c.0 == **a))
        .map(|a| format!("`{}`", shown(a)))
        .collect();
    let sum: f64 = cells.iter().map(|c| c.1).sum();
    let note = "Until it is mended, the row of what is not listed stands in for it.";
    let message = if cells.is_empty() {
        format!("`{cause}` has no row for the question `{question}`.")
    } else if !lacks.is_empty() {
        format!("The row of `{cause}` for `{question}` lacks {}, which other causes have.", lacks.join(", "))
    } else if let Some(low) = cells.iter().find(|c| c.1 < 1.0) {
        let message = format!("`{cause}` calls `{}` all but impossible: no cell goes under 1.", shown(low.0));
        return Some(fault(ROW, low.2, message).remark(RemarkKind::Note, note));
    } else if (sum - 100.0).abs() > 0.01 {
        format!("The row of `{cause}` for `{question}` adds up to {}, not to 100.", number(sum))
    } else {
        return None;
    };
    Some(fault(ROW, at, message).remark(RemarkKind::Note, note))
}
