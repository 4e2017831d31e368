//! `completions` and `man`: what a shell and a manual reader need.
//!
//! Comes in: the shape of the command line. Goes out: text made from it on standard output.

use chrono::NaiveDate;
use clap::{Command, CommandFactory, builder::PossibleValuesParser};

use super::{
    args::{Completions, Line},
    out::{End, Failure, say},
};
use crate::session::Session;

/// Writes the completions of a shell, with the codes, recipes and verbs of the pages that came with the program.
///
/// # Errors
/// When they cannot be written.
pub fn completions(asked: &Completions) -> Result<End, Failure> {
    let mut text = Vec::new();
    clap_complete::generate(asked.shell, &mut with_words(Line::command()), "haulm", &mut text);
    say(&String::from_utf8_lossy(&text))?;
    Ok(End::Quiet)
}

/// The command line with words to choose from where pages bring them. Others may be typed as well.
fn with_words(line: Command) -> Command {
    type Words = Vec<&'static str>;
    let mut session = Session::new();
    // Words of a command line live as long as the program, which ends when they are written.
    let asked = session.recipes().into_iter().filter_map(|recipe| recipe.ways.into_iter().next());
    let recipes: Words = asked.filter_map(|way| way.leak().split(' ').next()).collect();
    let checked = session.check(NaiveDate::default(), None);
    let codes: Words = checked.page_notes().into_iter().map(|note| &*note.code.leak()).collect();
    let verbs: Words = checked.frames.frames.iter().map(|f| &*f.verb.to_string().leak()).collect();
    let offer = |command: Command, argument: &str, words: &Words| {
        // Not `mut_arg`, which would put the argument last.
        command.mut_args(|arg| match arg.get_id() == argument {
            true => arg.value_parser(PossibleValuesParser::new(words.clone())),
            false => arg,
        })
    };
    line.mut_subcommand("why", |c| offer(c, "what", &codes))
        .mut_subcommand("recipe", |c| offer(c, "words", &recipes))
        .mut_subcommand("words", |c| offer(c, "word", &verbs))
        .mut_subcommand("rules", |rules| {
            rules
                .mut_subcommand("show", |c| offer(c, "code", &codes))
                .mut_subcommand("test", |c| offer(c, "page", &codes))
        })
}

/// Writes the manual page: the program, then each command.
///
/// # Errors
/// When it cannot be written.
pub fn manual() -> Result<End, Failure> {
    let mut text = Vec::new();
    let mut command = Line::command();
    command.build();
    let page = clap_mangen::Man::new(command.clone());
    page.render(&mut text)?;
    for part in command.get_subcommands().filter(|c| c.get_name() != "help") {
        clap_mangen::Man::new(part.clone()).render(&mut text)?;
    }
    say(&String::from_utf8_lossy(&text))?;
    Ok(End::Quiet)
}
