//! `recipe`: sums for the day, by a recipe of the rule pages.
//!
//! Comes in: what is asked for, in words. Goes out: what the recipe tells, or the list of recipes. It works
//! nothing out itself, and writes nothing to the journal.

use std::path::Path;

use super::{
    args::{Common, Format, Recipe},
    ask::lines,
    check::today,
    out::{End, Failure, say, style},
};
use crate::{read::Farm, session::Session, show};

/// Tells a recipe, or lists them.
///
/// # Errors
/// When no recipe reads the words, or the answer cannot be written.
pub fn run(common: &Common, asked: &Recipe) -> Result<End, Failure> {
    let mut session = Session::new();
    if asked.words.is_empty() {
        session.set_reading(Farm::pages_at(&asked.farm).read());
        return list(common, &session.recipes());
    }
    session.set_reading(Farm::at(&asked.farm).read());
    let whole = session.left_out().is_empty();
    let words = asked.words.join(" ");
    let (recipe, sources) = session.recipe(&words, today(common), common.as_of).map_err(|said| {
        let none = asked.farm == Path::new(".") && !session.has_journal();
        let hint = if none { "\n(no journal lies here: `--in DIR` names one)" } else { "" };
        Failure::Said(format!("{said}{hint}"))
    })?;
    let style = style(common).of(&asked.farm);
    say(&match (common.format, &asked.why) {
        (Format::Json, _) => lines(&show::answers::recipe(&recipe, &sources)),
        (_, Some(which)) => {
            show::recipe::worked_out(&recipe, which, &sources, &style).map_err(Failure::Said)?
        }
        _ => show::recipe::recipe(&recipe, asked.sources.then_some(&sources), &style),
    })?;
    Ok(match (whole, recipe.refused.is_empty()) {
        (false, _) => End::Failed,
        (true, false) => End::Found,
        (true, true) => End::Quiet,
    })
}

fn list(common: &Common, notes: &[crate::model::explanation::RecipeNote]) -> Result<End, Failure> {
    say(&match common.format {
        Format::Json => lines(&notes.iter().map(show::answers::recipe_note).collect::<Vec<_>>().into()),
        _ => show::recipe::list(notes, &style(common)),
    })?;
    Ok(End::Quiet)
}
