//! `completions` and `man`: what a shell and a manual reader need.
//!
//! Comes in: the shape of the command line. Goes out: text made from it on standard output.

use chrono::NaiveDate;
use clap::{Command, CommandFactory, builder::PossibleValuesParser};
use clap_complete::Shell;

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
    let words = words();
    let mut line = Line::command();
    for (path, argument, words) in &words {
        line = offering(line, path, argument, words);
    }
    clap_complete::generate(asked.shell, &mut line, "haulm", &mut text);
    let mut text = String::from_utf8_lossy(&text).into_owned();
    if asked.shell == Shell::Fish {
        // What is written for fish completes options alone.
        for (path, _, words) in words.iter().filter(|(_, argument, _)| *argument != PAGE) {
            let seen: Vec<String> = path.iter().map(|c| format!("__fish_seen_subcommand_from {c}")).collect();
            text += &format!("complete -c haulm -n \"{}\" -a \"{}\"\n", seen.join("; and "), words.join(" "));
        }
    }
    say(&text)?;
    Ok(End::Quiet)
}

/// The option that is no place among words.
const PAGE: &str = "page";

/// Words to choose from: the command, its argument, and what pages bring for it. Others may be typed as well.
fn words() -> [(&'static [&'static str], &'static str, Vec<&'static str>); 5] {
    let mut session = Session::new();
    // Words of a command line live as long as the program, which ends when they are written.
    let asked = session.recipes().into_iter().filter_map(|recipe| recipe.ways.into_iter().next());
    let recipes = asked.filter_map(|way| way.leak().split(' ').next()).collect();
    let checked = session.check(NaiveDate::default(), None);
    let codes: Vec<&str> = checked.page_notes().into_iter().map(|note| &*note.code.leak()).collect();
    let verbs = checked.frames.frames.iter().filter(|f| !f.verb.contains(' '));
    let verbs = verbs.map(|f| &*f.verb.to_string().leak()).collect();
    [
        (&["why"], "what", codes.clone()),
        (&["recipe"], "words", recipes),
        (&["words"], "word", verbs),
        (&["rules", "show"], "code", codes.clone()),
        (&["rules", "test"], PAGE, codes),
    ]
}

/// The command line with words to choose from for one argument.
fn offering(line: Command, path: &[&'static str], argument: &str, words: &[&'static str]) -> Command {
    if let [first, rest @ ..] = path {
        return line.mut_subcommand(first, |c| offering(c, rest, argument, words));
    }
    // Not `mut_arg`, which would put the argument last.
    line.mut_args(|arg| match arg.get_id() == argument {
        true => arg.value_parser(PossibleValuesParser::new(words.to_vec())),
        false => arg,
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
