//! What can be typed: commands, options and their help.
//!
//! Comes in: nothing. Goes out: the shape of the command line, from which help, completions and the
//! manual page are made. It does nothing itself.

use std::path::PathBuf;

use chrono::NaiveDate;
use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::{base::diagnostic::Severity, measure::date::read_day};

/// Reads a plain-text farm journal and says what is wrong, why, and what to do next.
#[derive(Debug, Parser)]
#[command(
    name = "haulm",
    version,
    max_term_width = 100,
    after_help = "\
Examples:
  haulm new notes              start a journal in the folder notes
  haulm check notes            read it and say what needs attention
  haulm watch notes            do so again whenever it is saved
  haulm why north-1 notes      the reasons for what is said about north-1
  haulm due notes              what to do next, by date

A journal is a folder of Markdown files. A heading that starts with a date opens a day; a list item
under it that starts with a verb is an entry. `haulm words` lists the verbs.

Exit status: 0 nothing at or above the threshold, 1 something is, 2 the command could not be
understood or something could not be read."
)]
pub struct Line {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Options of every command.
    #[command(flatten)]
    pub common: Common,
}

/// Options of every command.
#[derive(Debug, Clone, Args)]
pub struct Common {
    /// Read the journal as on this day, such as 2026-04-04 [default: the day it is]
    #[arg(long, global = true, value_name = "DATE", value_parser = date)]
    pub today: Option<NaiveDate>,
    /// Leave out entries after this day, to see what was known then; it is read as on that day
    #[arg(long, global = true, value_name = "DATE", value_parser = date)]
    pub as_of: Option<NaiveDate>,
    /// How to write the answer
    #[arg(long, global = true, value_enum, default_value_t = Format::Human)]
    pub format: Format,
    /// When to use colour; NO_COLOR switches it off where this is `auto`
    #[arg(long, global = true, value_enum, value_name = "WHEN", default_value_t = Colour::Auto)]
    pub color: Colour,
    /// Show everything: what another finding explains, what is allowed, and long lists whole
    #[arg(long, global = true)]
    pub all: bool,
    /// The least pressing kind of finding that makes the exit status 1
    #[arg(long, global = true, value_enum, value_name = "KIND", default_value_t = Threshold::Warn)]
    pub threshold: Threshold,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Read a journal and say what needs attention
    #[command(after_help = "\
Examples:
  haulm check
  haulm check notes/spring.md --today 2026-04-04
  haulm check --format short --threshold alarm
  cat spring.md | haulm check -

Exit status: 0 nothing at or above the threshold, 1 something is, 2 something could not be read.")]
    Check(Where),
    /// Check again whenever the journal is saved, and say what is new and what went away
    #[command(after_help = "\
Examples:
  haulm watch
  haulm watch notes --poll

It ends with Ctrl-C. New files, new folders and the farm's own rules are followed as well.")]
    Watch(Watch),
    /// Write the entries of a journal evenly: markers, boxes, spaces and indents, never a word
    #[command(after_help = "\
Examples:
  haulm tidy --check           show what would change; exit status 1 if anything would
  haulm tidy                   write it
  haulm tidy - < spring.md     for an editor that pipes a text through

Only lines read as entries change, and days in figures in headings. Everything else stays byte for
byte, and so do words, quotes, remarks and free words. What a check says stays the same.")]
    Tidy(Tidy),
    /// Serve an editor: findings while you write, names, completion, corrections
    #[command(after_help = "\
An editor starts this by itself and speaks the Language Server Protocol with it over standard input
and output. Set-ups for some editors are in grammar/editors.")]
    Lsp,
    /// Show the reasons: what the journal says, which rule, step by step
    #[command(after_help = "\
Examples:
  haulm why north-1                     everything said about the bed north-1
  haulm why untested-lot                every finding with this code
  haulm why spring.md:14                what rests on this line
  haulm why north-1 --whole             the whole proof, each sentence with what it rests on
  haulm why --not \"untested-lot tern-26\"
                                        which sentence is missing for this finding, or any sentence
  haulm why --if \"read test t1: 4 of 4 pots hurt; control 0 of 4 pots hurt\"
                                        how chances would move if this were written today")]
    Why(Why),
    /// Show where a lot came from and where it went, with amounts
    #[command(after_help = "\
Examples:
  haulm trace tern-26          where it came from, and every place, heap and person it reached
  haulm trace north-1          everything that reached the bed north-1")]
    Trace(Trace),
    /// List what to do next, by date, each with its reason and its caution
    #[command(after_help = "\
Examples:
  haulm due
  haulm due notes --today 2026-04-04
  haulm due --all              with what is done and skipped")]
    Due(Where),
    /// Do the sums for a job of the day, with the steps, the cautions and the lines for the journal
    #[command(after_help = "\
Examples:
  haulm recipe                             what recipes there are, and how each is asked for
  haulm recipe bean-test tern-26 --in notes
                                           pots, mix, controls and dates for a test of that lot
  haulm recipe bean-test tern-26 --sources where each figure comes from
  haulm recipe bean-test tern-26 --why pots
                                           how a figure was worked out

What the journal knows is taken from it; nothing is written to it. Recipes are rule pages: a farm's own
stand in its folder rules/recipes.

Exit status: 0 told, 1 the recipe says what it lacks, 2 the words could not be understood.")]
    Recipe(Recipe),
    /// Look up the words of the journal: verbs with an example each, crops, signs, materials
    #[command(after_help = "\
Examples:
  haulm words                  the verbs, one example each, and the kinds of words
  haulm words spread           what an entry with this verb can say
  haulm words crop             all crops
  haulm words leaf             what a word is, and the words that hold it")]
    Words(Words),
    /// List, show and test the rule pages
    #[command(subcommand_required = true, arg_required_else_help = true)]
    Rules(Rules),
    /// Start a journal in a new folder
    #[command(after_help = "\
Example:
  haulm new notes              writes notes/journal.md; a file that is there is never written over")]
    New(New),
    /// Write the completions of a shell
    #[command(after_help = "\
Examples:
  haulm completions bash > ~/.local/share/bash-completion/completions/haulm
  haulm completions fish > ~/.config/fish/completions/haulm.fish")]
    Completions(Completions),
    /// Write the manual page
    #[command(after_help = "\
Example:
  haulm man > haulm.1")]
    Man,
}

/// Where the journal is.
#[derive(Debug, Clone, Args)]
pub struct Where {
    /// A folder of Markdown files, one file, or - for standard input
    #[arg(value_name = "PATH", default_value = ".")]
    pub path: PathBuf,
}

/// Options of `tidy`.
#[derive(Debug, Args)]
pub struct Tidy {
    /// Folders of Markdown files, files, or - for standard input to standard output
    #[arg(value_name = "PATH", default_value = ".")]
    pub paths: Vec<PathBuf>,
    /// Write nothing; show what would change, and end with exit status 1 if anything would
    #[arg(long)]
    pub check: bool,
}

/// Options of `watch`.
#[derive(Debug, Args)]
pub struct Watch {
    /// Where the journal is.
    #[command(flatten)]
    pub at: Where,
    /// Look every second instead of waiting for the system to tell of changes
    #[arg(long)]
    pub poll: bool,
}

/// Options of `why`.
#[derive(Debug, Args)]
pub struct Why {
    /// A name (north-1), a code (untested-lot) or a line (spring.md:14); with --not, the PATH
    #[arg(value_name = "NAME|CODE|LINE", required_unless_present_any = ["not", "what_if"])]
    pub what: Option<String>,
    /// A folder of Markdown files, one file, or - for standard input
    #[arg(value_name = "PATH")]
    pub path: Option<PathBuf>,
    /// The path, after a name of two words.
    #[arg(hide = true)]
    pub third: Option<PathBuf>,
    /// A sentence that does not hold, or CODE NAME: show what is missing for it
    #[arg(long, value_name = "SENTENCE")]
    pub not: Option<String>,
    /// An entry that is not in the journal: show how the chances of causes would move if it were written
    /// today; the journal is not touched
    #[arg(long = "if", id = "what_if", value_name = "ENTRY", conflicts_with_all = ["not", "whole"])]
    pub what_if: Option<String>,
    /// Show the whole proof
    #[arg(long)]
    pub whole: bool,
}

/// Options of `trace`.
#[derive(Debug, Args)]
pub struct Trace {
    /// A lot, heap, bed, material or person
    #[arg(value_name = "NAME")]
    pub name: String,
    /// Also tell what it is made up of, and what it may hold, on this day
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub on: Option<NaiveDate>,
    /// A folder of Markdown files, one file, or - for standard input
    #[arg(value_name = "PATH")]
    pub path: Option<PathBuf>,
    /// The path, after a name of two words.
    #[arg(hide = true)]
    pub third: Option<PathBuf>,
}

/// Options of `recipe`.
#[derive(Debug, Args)]
pub struct Recipe {
    /// What is asked for, in words; none lists the recipes
    #[arg(value_name = "WORDS", allow_negative_numbers = true)]
    pub words: Vec<String>,
    /// Where the journal is: a folder of Markdown files, one file, or - for standard input
    #[arg(long = "in", id = "in", value_name = "PATH", default_value = ".")]
    pub farm: PathBuf,
    /// Show where each figure comes from
    #[arg(long, conflicts_with = "why")]
    pub sources: bool,
    /// Show how a figure, or the step of a number, was worked out
    #[arg(long, value_name = "FIGURE|NUMBER")]
    pub why: Option<String>,
}

/// Options of `words`.
#[derive(Debug, Args)]
pub struct Words {
    /// A verb, a kind of word, or a word
    #[arg(value_name = "WORD")]
    pub word: Option<String>,
    /// The farm whose own rules add words
    #[command(flatten)]
    pub at: Where,
}

/// Options of `rules`.
#[derive(Debug, Args)]
pub struct Rules {
    /// What to do with them.
    #[command(subcommand)]
    pub command: RulesCommand,
}

/// What to do with the rule pages.
#[derive(Debug, Subcommand)]
pub enum RulesCommand {
    /// List the pages by code, each with what it notices
    List(Where),
    /// Show one page
    #[command(after_help = "\
Example:
  haulm rules show untested-lot")]
    Show {
        /// The code of the page
        #[arg(value_name = "CODE")]
        code: String,
        /// Where the farm is.
        #[command(flatten)]
        at: Where,
    },
    /// Run the examples of the pages: what must fire, and what must stay silent
    #[command(after_help = "\
Examples:
  haulm rules test
  haulm rules test --page untested-lot
  haulm rules test --weaken    also leave out each condition in turn: some example must notice")]
    Test {
        /// Where the farm is.
        #[command(flatten)]
        at: Where,
        /// Run the examples of one page only
        #[arg(long, value_name = "CODE")]
        page: Option<String>,
        /// Leave out each condition in turn: some example must notice
        #[arg(long)]
        weaken: bool,
    },
}

/// Options of `new`.
#[derive(Debug, Args)]
pub struct New {
    /// The folder to make
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

/// Options of `completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// How to write the answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For reading
    Human,
    /// One line for each finding, as editors take them
    Short,
    /// For programs
    Json,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// In a terminal
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// The least pressing kind of finding that counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Threshold {
    /// Only what does harm
    Alarm,
    /// And what could not be read
    Error,
    /// And what wants attention soon
    Warn,
    /// Everything
    Hint,
}

impl Threshold {
    /// Whether a finding of this severity counts.
    pub fn counts(self, severity: Severity) -> bool {
        let least = match self {
            Threshold::Alarm => Severity::Alarm,
            Threshold::Error => Severity::Error,
            Threshold::Warn => Severity::Warn,
            Threshold::Hint => Severity::Hint,
        };
        severity <= least
    }
}

/// Reads a day as typed.
fn date(text: &str) -> Result<NaiveDate, String> {
    read_day(text.trim()).map_err(|_| "write the day as year-month-day, such as 2026-04-04".to_owned())
}
