//! The command line: what was typed, carried out.
//!
//! Comes in: arguments. Goes out: an answer on standard output, trouble on standard error, an exit status.
//! It knows no farming and keeps nothing between runs.

mod args;
mod ask;
mod check;
mod lsp;
mod new;
mod out;
mod recipe;
mod rules;
mod shell;
mod tidy;
mod watch;

use std::{io::Write, process::ExitCode};

use clap::Parser;

use args::{Command, Line};
use out::{End, Failure};

/// Carries out what was typed.
pub fn main() -> ExitCode {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(told) => {
            // Help and version come this way as well, and go to standard output. If nobody reads them,
            // there is nobody to tell.
            let _ = told.print();
            return if told.use_stderr() { End::Failed.into() } else { End::Quiet.into() };
        }
    };
    match carry_out(&line) {
        Ok(end) => end.into(),
        Err(Failure::Unread) => End::Quiet.into(),
        Err(Failure::Said(why)) => {
            // Standard error may be closed; then there is nobody to tell.
            let _ = writeln!(std::io::stderr(), "haulm: {why}");
            End::Failed.into()
        }
    }
}

fn carry_out(line: &Line) -> Result<End, Failure> {
    let common = &line.common;
    match &line.command {
        Command::Check(at) => check::run(common, at),
        Command::Watch(asked) => watch::run(common, asked),
        Command::Tidy(asked) => tidy::run(common, asked),
        Command::Lsp => lsp::run(common),
        Command::Why(asked) => ask::why(common, asked),
        Command::Trace(asked) => ask::trace(common, asked),
        Command::Due(at) => ask::due(common, at),
        Command::Recipe(asked) => recipe::run(common, asked),
        Command::Words(asked) => ask::words(common, asked),
        Command::Rules(asked) => rules::run(common, &asked.command),
        Command::New(asked) => new::run(common, asked),
        Command::Completions(asked) => shell::completions(asked),
        Command::Man => shell::manual(),
    }
}
