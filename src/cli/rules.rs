//! `rules`: the rule pages, listed, shown and tested.
//!
//! Comes in: which pages. Goes out: text on standard output, and for a test the exit status.

use super::{
    args::{Common, RulesCommand},
    check::check,
    out::{End, Failure, say, style},
};
use crate::{base::name::nearest, show};

/// Lists, shows or tests.
///
/// # Errors
/// When there is no such page, or the answer cannot be written.
pub fn run(common: &Common, asked: &RulesCommand) -> Result<End, Failure> {
    match asked {
        RulesCommand::List(at) => {
            let (checked, _) = check(common, &at.path);
            let notes = checked.page_notes();
            say(&show::rules::list(&notes, &style(common)))?;
            Ok(End::Quiet)
        }
        RulesCommand::Show { code, at } => {
            let (checked, _) = check(common, &at.path);
            let Some(note) = checked.page_note(code) else {
                let notes = checked.page_notes();
                let near = nearest(code, notes.iter().map(|n| n.code.as_str()));
                let near = near.map_or_else(
                    || "`haulm rules list` lists them".to_owned(),
                    |near| format!("did you mean `{near}`?"),
                );
                return Err(Failure::Said(format!("there is no page `{code}`; {near}")));
            };
            say(&show::rules::show(&note, &style(common)))?;
            Ok(End::Quiet)
        }
    }
}
