//! `completions` and `man`: what a shell and a manual reader need.
//!
//! Comes in: the shape of the command line. Goes out: text made from it on standard output.

use clap::CommandFactory;

use super::{
    args::{Completions, Line},
    out::{End, Failure, say},
};

/// Writes the completions of a shell.
///
/// # Errors
/// When they cannot be written.
pub fn completions(asked: &Completions) -> Result<End, Failure> {
    let mut text = Vec::new();
    clap_complete::generate(asked.shell, &mut Line::command(), "haulm", &mut text);
    say(&String::from_utf8_lossy(&text))?;
    Ok(End::Quiet)
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
