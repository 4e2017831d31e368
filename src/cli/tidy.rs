//! `tidy`: journals written evenly, or what would change in them.
//!
//! Comes in: where they are. Goes out: with `--check` the lines that would change and an exit status, else
//! the files themselves. A file is written only if a check of the whole farm says after it what it said
//! before, and never half: the new text is written beside it and takes its place at once.

use std::{
    collections::BTreeMap,
    fs,
    io::{self, Read, Write},
    path::{Path, PathBuf},
    sync::Arc,
};

use super::{
    args::{Common, Format, Tidy},
    check::today,
    out::{End, Failure, say, style},
};
use crate::{
    base::source::SourceKind,
    model::change::{Rewritten, applied, rewritten},
    read::Farm,
    session::Session,
    show,
};

/// A text and what it becomes.
struct Retyped {
    before: Arc<str>,
    after: String,
}

/// Tidies, or says what would change.
///
/// # Errors
/// When a file cannot be read or written, or a tidied text would read otherwise.
pub fn run(common: &Common, asked: &Tidy) -> Result<End, Failure> {
    let mut lines = Vec::new();
    let mut whole = true;
    for path in &asked.paths {
        let mut farm = Farm::at(path);
        let mut session = Session::new();
        session.set_reading(farm.read());
        for left in session.left_out() {
            whole = false;
            complain(&left.said.message);
        }
        let found = retyped(common, &mut session)?;
        if path == Path::new("-") && !asked.check {
            // What came in goes out, changed or not: an editor may pipe a text through.
            let same = session.text("-").unwrap_or_default();
            say(found.get("-").map_or(same, |t| &t.after))?;
            continue;
        }
        for (name, text) in &found {
            if !asked.check {
                let file =
                    farm.folder().map_or_else(|| PathBuf::from(&**name), |folder| folder.join(&**name));
                if let Err(why) = write(&file, &text.before, &text.after) {
                    complain(&format!("{name} could not be written and is as it was: {why}"));
                    whole = false;
                    continue;
                }
            }
            lines.extend(rewritten(name, &text.before, &text.after));
        }
    }
    let is_filter = !asked.check && asked.paths.iter().any(|p| p == Path::new("-"));
    // "Nothing to tidy" beside a file that could not be written would say that it is well.
    if !is_filter && (whole || !lines.is_empty()) {
        say(&answer(common, asked, &lines))?;
    }
    Ok(match (whole, asked.check && !lines.is_empty()) {
        (false, _) => End::Failed,
        (true, true) => End::Found,
        (true, false) => End::Quiet,
    })
}

/// What each journal of a farm becomes, for those that change.
fn retyped(common: &Common, session: &mut Session) -> Result<BTreeMap<Arc<str>, Retyped>, Failure> {
    let before = session.check(today(common), None);
    let mut found = BTreeMap::new();
    for (id, file) in before.sources.iter().filter(|(_, f)| f.kind == SourceKind::Journal && !f.built_in) {
        let changes = before.tidied(id);
        if !changes.is_empty() {
            let after = applied(&file.text, &changes);
            found.insert(Arc::clone(&file.path), Retyped { before: Arc::clone(&file.text), after });
        }
    }
    let mut tidied = session.clone();
    for (name, text) in &found {
        tidied.set_text(name, &text.after);
    }
    if before.says_the_same(&tidied.check(today(common), None)) {
        Ok(found)
    } else {
        Err(Failure::Said("a tidied line would be read otherwise than it is; nothing was written".to_owned()))
    }
}

fn answer(common: &Common, asked: &Tidy, lines: &[Rewritten]) -> String {
    match common.format {
        Format::Json => show::tidy::json(lines, !asked.check),
        Format::Short => show::tidy::short(lines),
        Format::Human if asked.check => show::tidy::would(lines, &style(common)),
        Format::Human => show::tidy::did(lines),
    }
}

/// Puts `after` in the place of `before` in a file, which keeps its permissions; a link stays a link.
fn write(path: &Path, before: &str, after: &str) -> io::Result<()> {
    let path = fs::canonicalize(path)?;
    let permissions = fs::metadata(&path)?.permissions();
    if permissions.readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is marked as not to be written to"));
    }
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut beside = tempfile::Builder::new().prefix(".haulm-").tempfile_in(folder)?;
    beside.write_all(after.as_bytes())?;
    beside.as_file().set_permissions(permissions)?;
    beside.as_file().sync_all()?;
    // Somebody may have saved it meanwhile; their text goes before ours.
    let mut now = String::new();
    fs::File::open(&path)?.read_to_string(&mut now)?;
    if now != before {
        return Err(io::Error::other("it changed meanwhile; run it again"));
    }
    beside.persist(&path).map_err(|e| e.error)?;
    Ok(())
}

/// Standard error may be closed; then there is nobody to tell.
fn complain(what: &str) {
    let _ = writeln!(io::stderr(), "haulm: {what}");
}
