//! Examples of recipes: what is asked, and what must be told.
//!
//! Comes in: a page of a recipe with its examples. Goes out: a located reason for each line that is not told as
//! expected, and for each line for the journal that could not be read back. It runs nothing itself.

use super::{day, failed};
use crate::{
    base::diagnostic::{Diagnostic, RemarkKind},
    model::{
        explanation::Recipe,
        page::{Example, Page},
        program::Told,
    },
    session::trial::Trial,
};

/// What stands for words that do not matter in an expectation.
const GAP: char = '…';

/// The recipe of an example, told.
pub(super) fn told(trial: &Trial, example: &Example) -> Result<Recipe, Diagnostic> {
    let today = example.today.as_ref().map(day).transpose()?;
    let ask = example.ask.as_ref();
    let asked = ask.map_or("", |ask| &*ask.text);
    trial.recipe(asked, &example.journal.text, &example.pages, today).map_err(|said| {
        failed(ask.map_or(example.name.loc, |ask| ask.loc), format!("Nothing reads what is asked: {said}"))
    })
}

/// Everything a recipe tells, one line each, as expectations are written.
pub(super) fn lines(recipe: &Recipe) -> Vec<String> {
    let mut all = Vec::new();
    for (part, line) in recipe.lines() {
        // What stands beside nothing is kept among the warnings.
        all.push(match line.label.as_str() {
            "" => format!("{} {}", part.word(), line.text),
            label => format!("{} {label}: {}", part.word(), line.text),
        });
        all.extend(line.beside.iter().map(|(part, text)| format!("{} {text}", part.word())));
    }
    all
}

/// Everything in which a recipe comes out otherwise than its example says.
pub(super) fn differs(trial: &Trial, page: &Page, example: &Example) -> Vec<Diagnostic> {
    let recipe = match told(trial, example) {
        Ok(recipe) => recipe,
        Err(said) => return vec![said],
    };
    let mut all = Vec::new();
    let name = &example.name;
    if recipe.code != *page.code {
        all.push(failed(
            name.loc,
            format!("“{}” is answered by `{}`, not by this page.", name.text, recipe.code),
        ));
    }
    let told = lines(&recipe);
    if example.must_fire != recipe.refused.is_empty() {
        let message = match example.must_fire {
            true => format!("“{}” must work, but is refused.", name.text),
            false => format!("“{}” must be refused, but is not.", name.text),
        };
        all.push(with_told(failed(name.loc, message), &told));
    }
    for line in &example.expected {
        let text = line.text.trim();
        let (not, text) = match text.strip_prefix("not ") {
            Some(rest) => (true, rest.trim_start()),
            None => (false, text),
        };
        if !Told::ALL.iter().any(|part| text.split(' ').next() == Some(part.word())) {
            let said = failed(line.loc, format!("`{text}` is nothing an example of a recipe can expect."));
            all.push(said.remark(RemarkKind::Write, "step Put …"));
        } else if told.iter().any(|told| fits(text, told)) == not {
            let message = if not {
                format!("“{}” should not tell this, but does.", name.text)
            } else {
                format!("“{}” should tell this, but does not.", name.text)
            };
            let part = text.split(' ').next();
            let alike: Vec<String> =
                told.iter().filter(|told| told.split(' ').next() == part).cloned().collect();
            all.push(with_told(failed(line.loc, message), if alike.is_empty() { &told } else { &alike }));
        }
    }
    let today = example.today.as_ref().and_then(|d| day(d).ok());
    let written: Vec<String> = recipe.writes.iter().map(|line| line.text.clone()).collect();
    if example.must_fire && !written.is_empty() {
        for why in trial.unread(&written, &example.journal.text, today) {
            let message = format!("“{}” tells a line that no journal could hold: {why}", name.text);
            all.push(failed(name.loc, message));
        }
    }
    all
}

/// Whether a line is the one expected, anything standing for a gap.
fn fits(expected: &str, told: &str) -> bool {
    let plain = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (expected, told) = (plain(expected), plain(told));
    let mut pieces = expected.split(GAP).map(str::trim);
    let Some(mut rest) = pieces.next().and_then(|first| told.strip_prefix(first)) else { return false };
    let mut open = false;
    for piece in pieces {
        open = true;
        if piece.is_empty() {
            continue;
        }
        let Some(at) = rest.find(piece) else { return false };
        rest = &rest[at + piece.len()..];
        open = false;
    }
    open || rest.is_empty()
}

fn with_told(said: Diagnostic, told: &[String]) -> Diagnostic {
    if told.is_empty() {
        return said.remark(RemarkKind::Note, "Nothing is told.");
    }
    told.iter().fold(said, |said, line| said.remark(RemarkKind::Note, format!("It tells: {line}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_stands_for_any_words_and_nothing_else_does() {
        assert!(fits("step Put … on the shelf.", "step Put 4 books on the shelf."));
        assert!(fits("step Put …", "step Put 4 books on the shelf."));
        assert!(!fits("step Put", "step Put 4 books on the shelf."));
        assert!(!fits("sum books: 4 …", "sum books: 5 in all"));
        assert!(!fits("step … shelf", "step on the shelf."));
    }
}
