//! `new`: a journal to start from.
//!
//! Comes in: a folder to make. Goes out: one journal file in it. Nothing is ever written over.

use std::{
    fs::{self, File},
    io::{self, Write},
    path::Path,
};

use super::{
    args::{Common, New},
    check::today,
    out::{End, Failure, say},
};

/// The journal a new farm starts from; `{today}` in it is the day it is begun on.
const STARTER: &str = include_str!("../../journals/starter.md");

/// The name it is written under.
const NAME: &str = "journal.md";

/// Writes the starter journal and says what to do next.
///
/// # Errors
/// When there is a journal already, or the file cannot be written.
pub fn run(common: &Common, new: &New) -> Result<End, Failure> {
    let file = new.folder.join(NAME);
    let text = STARTER.replace("{today}", &today(common).to_string());
    write_new(&new.folder, &file, &text).map_err(|e| {
        Failure::Said(match e.kind() {
            io::ErrorKind::AlreadyExists if file.exists() => {
                format!("{} is there already, and is left as it is; name another folder", file.display())
            }
            io::ErrorKind::AlreadyExists | io::ErrorKind::NotADirectory => {
                format!("{} is not a folder; name another", new.folder.display())
            }
            _ => format!("{} could not be written: {e}", file.display()),
        })
    })?;
    say(&format!(
        "{} is written. Put in your own beds and the day's entries, then:\n\n  haulm check {}\n",
        file.display(),
        new.folder.display()
    ))?;
    Ok(End::Quiet)
}

fn write_new(folder: &Path, file: &Path, text: &str) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    // Made only if it is not there, whoever else may be making it at the same time.
    File::create_new(file)?.write_all(text.as_bytes())
}
