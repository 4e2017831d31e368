//! Where answers are written: standard output, its width and colour, and what ends a command.
//!
//! Comes in: text. Goes out: bytes on standard output, and an exit status. It words only what went
//! wrong with the writing itself.

use std::{
    io::{self, IsTerminal, Write},
    process::ExitCode,
};

use super::args::{Colour, Common};
use crate::show::layout::Style;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    /// Nothing at or above the threshold.
    Quiet,
    /// Something is.
    Found,
    /// Something could not be understood or read.
    Failed,
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        match end {
            End::Quiet => ExitCode::SUCCESS,
            End::Found => ExitCode::from(1),
            End::Failed => ExitCode::from(2),
        }
    }
}

/// Why a command could not be carried out.
#[derive(Debug)]
pub enum Failure {
    /// In words, for standard error.
    Said(String),
    /// Nobody reads the output any more.
    Unread,
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Failure::Unread
        } else {
            Failure::Said(format!("the answer could not be written: {error}"))
        }
    }
}

/// Writes text to standard output.
///
/// # Errors
/// When it cannot be written, or nobody reads it.
pub fn say(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

/// How to draw on standard output.
pub fn style(common: &Common) -> Style {
    let terminal = io::stdout().is_terminal();
    let set = |name| std::env::var_os(name).is_some_and(|v: std::ffi::OsString| !v.is_empty());
    let dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
    let colour = match common.color {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => terminal && !dumb && !set("NO_COLOR"),
    };
    let asked = std::env::var("COLUMNS").ok().and_then(|w| w.trim().parse::<usize>().ok()).filter(|w| *w > 0);
    let seen = || terminal_size::terminal_size().map(|(w, _)| usize::from(w.0)).filter(|_| terminal);
    let width = asked.or_else(seen).unwrap_or(80).clamp(NARROWEST, WIDEST);
    Style { colour, all: common.all, unicode: !dumb, width, ..Style::plain() }
}

/// Lines longer than this are hard to read, however wide the terminal.
const WIDEST: usize = 120;

/// Pictures need this much, however narrow it is.
const NARROWEST: usize = 40;
