//! A farm on the disk: what its path names, and what has been read of it so far.
//!
//! Comes in: a path as typed. Goes out: all texts of the farm, opening again only what may have
//! changed. It watches nothing; `serve` does.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs, io,
    path::{Component, Path, PathBuf},
    sync::Arc,
    time::{Duration, SystemTime},
};

use super::{
    file::{text_of_file, text_of_stream},
    walk::{Found, RULES, Walk, kind_of, walk},
};
use crate::base::{
    diagnostic::{Diagnostic, Severity},
    source::{SourceFile, SourceKind},
};

/// A file's stamp is trusted only once its last change lies this far back: a disk may keep times to the
/// second or two, so a later save could carry the same one.
const STAMP_SETTLES: Duration = Duration::from_secs(3);

/// A farm, and what was last read of it.
#[derive(Debug)]
pub struct Farm {
    place: Place,
    /// Whether only rule pages are opened.
    pages_only: bool,
    kept: BTreeMap<PathBuf, Kept>,
}

#[derive(Debug)]
enum Place {
    /// A folder: every Markdown file under it.
    Folder(PathBuf),
    /// One file of `folder`, and the rule pages beside it.
    File { folder: PathBuf, file: Found },
    /// Standard input, read once.
    Stdin(Option<Result<SourceFile, String>>),
}

#[derive(Debug)]
struct Kept {
    stamp: Option<Stamp>,
    text: Result<SourceFile, String>,
}

/// What a disk says of a file without opening it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stamp {
    len: u64,
    changed: SystemTime,
    identity: (u64, i64, i64),
}

/// A file or folder that could not be read.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// Its name, as a file's text is named.
    pub path: Arc<str>,
    /// What is said of it, with the reason.
    pub said: Diagnostic,
}

/// The texts of a farm at one moment.
#[derive(Debug, Default)]
pub struct Reading {
    /// Journals and the farm's own rule pages.
    pub files: Vec<SourceFile>,
    /// One for each file or folder that was left out, with the reason.
    pub left_out: Vec<LeftOut>,
    /// The folders whose changes can change this reading.
    pub folders: BTreeSet<PathBuf>,
}

impl Farm {
    /// The farm a path names: a folder, a file, or `-` for standard input.
    pub fn at(path: &Path) -> Self {
        let place = if path == Path::new("-") {
            Place::Stdin(None)
        } else if path.is_dir() {
            Place::Folder(path.to_owned())
        } else {
            single_file(path)
        };
        Self { place, pages_only: false, kept: BTreeMap::new() }
    }

    /// The rule pages of the farm a path names; no journal is opened. Standard input has none.
    pub fn pages_at(path: &Path) -> Self {
        let farm = Self::at(path);
        let place = match farm.place {
            Place::Stdin(_) => Place::Stdin(Some(Ok(SourceFile::new("-", "", SourceKind::Journal, false)))),
            place => place,
        };
        Self { place, pages_only: true, ..farm }
    }

    /// The folder to watch; none for standard input.
    pub fn folder(&self) -> Option<&Path> {
        match &self.place {
            Place::Folder(folder) | Place::File { folder, .. } => Some(folder),
            Place::Stdin(_) => None,
        }
    }

    /// Reads the farm as it stands, opening only files whose size, time or identity on the disk differ
    /// from the last reading, and those changed so lately that these could be the same by chance.
    pub fn read(&mut self) -> Reading {
        if let Place::Stdin(kept) = &mut self.place {
            let text = kept.get_or_insert_with(|| {
                text_of_stream(io::stdin().lock())
                    .map(|t| SourceFile::new("-", t, SourceKind::Journal, false))
            });
            let mut reading = Reading::default();
            match text {
                Ok(file) => reading.files.push(file.clone()),
                Err(why) => reading.left_out.push(left_out("standard input", why)),
            }
            return reading;
        }
        let walk = self.walk();
        let mut reading = Reading { folders: walk.folders, ..Reading::default() };
        reading.left_out.extend(walk.left_out.iter().map(|(shown, why)| left_out(shown, why)));
        let mut kept = BTreeMap::new();
        for found in walk.files {
            let stamp = Stamp::of(&found.path);
            let text = match self.kept.remove(&found.path) {
                Some(Kept { stamp: before @ Some(_), text }) if before == stamp => text,
                _ => text_of_file(&found.path)
                    .map(|t| SourceFile::new(found.shown.as_str(), t, found.kind, false)),
            };
            match &text {
                Ok(file) => reading.files.push(file.clone()),
                Err(why) => reading.left_out.push(left_out(&found.shown, why)),
            }
            kept.insert(found.path, Kept { stamp, text });
        }
        self.kept = kept;
        reading.left_out.sort_by(|a, b| a.path.cmp(&b.path));
        reading
    }

    fn walk(&self) -> Walk {
        let mut walk = self.walk_all();
        if self.pages_only {
            walk.files.retain(|found| found.kind == SourceKind::RulePage || !found.path.exists());
        }
        walk
    }

    fn walk_all(&self) -> Walk {
        match &self.place {
            Place::Folder(folder) => walk(folder, ""),
            Place::File { folder, file } => {
                let rules = folder.join(RULES);
                let mut found = if rules.is_dir() { walk(&rules, RULES) } else { Walk::default() };
                found.folders.insert(folder.clone());
                if !found.files.iter().any(|f| f.path == file.path) {
                    found.files.push(file.clone());
                }
                found
            }
            Place::Stdin(_) => Walk::default(),
        }
    }
}

/// A file named by itself. Its folder is the farm; a page named within a `rules` folder belongs to the
/// farm that folder stands in.
fn single_file(path: &Path) -> Place {
    let parts: Vec<Component<'_>> = path.components().collect();
    let parents = parts.len().saturating_sub(1);
    let root = parts.iter().take(parents).rposition(|p| p.as_os_str() == RULES).unwrap_or(parents);
    let mut folder: PathBuf = parts.iter().take(root).collect();
    if folder.as_os_str().is_empty() {
        folder = PathBuf::from(".");
    }
    let shown: Vec<_> = parts.iter().skip(root).map(|p| p.as_os_str().to_string_lossy()).collect();
    let shown = shown.join("/");
    let kind = kind_of(&shown);
    // Joined to the folder so that it is spelt as a walk of the folder spells it.
    let path = if parents == 0 { path.to_owned() } else { folder.join(&shown) };
    Place::File { folder, file: Found { path, shown, kind } }
}

impl Stamp {
    /// The stamp of a file, if it can be trusted to change with the next save.
    fn of(path: &Path) -> Option<Self> {
        let about = fs::metadata(path).ok()?;
        let changed = about.modified().ok()?;
        let settled = SystemTime::now().duration_since(changed).is_ok_and(|age| age > STAMP_SETTLES);
        settled.then(|| Self { len: about.len(), changed, identity: identity(&about) })
    }
}

#[cfg(unix)]
fn identity(about: &fs::Metadata) -> (u64, i64, i64) {
    use std::os::unix::fs::MetadataExt;
    (about.ino(), about.ctime(), about.ctime_nsec())
}

#[cfg(not(unix))]
fn identity(_: &fs::Metadata) -> (u64, i64, i64) {
    (0, 0, 0)
}

fn left_out(shown: &str, why: &str) -> LeftOut {
    let said = Diagnostic::new("unread-file", Severity::Error, format!("`{shown}` was left out: {why}."));
    LeftOut { path: shown.into(), said }
}
