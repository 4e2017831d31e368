//! Which files of a folder are read, and under what names.
//!
//! Comes in: a folder. Goes out: its Markdown files with the names they are shown under, the folders it
//! went through, and what stood in the way. It opens no file.

use std::{
    collections::BTreeSet,
    fs, io,
    path::{Path, PathBuf},
};

use super::file::reason;
use crate::base::source::SourceKind;

/// The folder name under which rule pages are kept.
pub(super) const RULES: &str = "rules";

/// A file to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Found {
    /// Where it is.
    pub path: PathBuf,
    /// What it is called: relative to the farm's folder, `/` between parts.
    pub shown: String,
    /// What it is read as.
    pub kind: SourceKind,
}

/// What a walk found.
#[derive(Debug, Default)]
pub(super) struct Walk {
    /// The files.
    pub files: Vec<Found>,
    /// What was left out (its shown name), and why.
    pub left_out: Vec<(String, String)>,
    /// Every folder gone through, and for a linked file the folder its target is in.
    pub folders: BTreeSet<PathBuf>,
    seen_folders: BTreeSet<PathBuf>,
    seen_files: BTreeSet<PathBuf>,
    links: Vec<(PathBuf, String)>,
}

/// Walks `folder`; names start with `prefix` (empty for the farm's own folder).
///
/// Hidden files and folders are passed over. A folder or file that several links lead to is read once,
/// under its own name if it lies in the farm, so that no entry counts twice; a link to a folder that
/// holds the farm is passed over.
pub(super) fn walk(folder: &Path, prefix: &str) -> Walk {
    let mut walk = Walk::default();
    let top = match fs::canonicalize(folder) {
        Ok(top) => top,
        Err(e) => {
            walk.left_out.push((folder.display().to_string(), reason(&e)));
            return walk;
        }
    };
    walk.plain(folder, &top, prefix);
    // Links come after everything that lies in the farm itself, in a fixed order.
    while !walk.links.is_empty() {
        let mut links = std::mem::take(&mut walk.links);
        links.sort();
        for (link, shown) in links {
            walk.follow(&link, shown, &top);
        }
    }
    walk
}

impl Walk {
    /// Goes through a folder and the folders in it, putting links aside.
    fn plain(&mut self, folder: &Path, real: &Path, prefix: &str) {
        let mut open = vec![(folder.to_owned(), real.to_owned(), prefix.to_owned())];
        while let Some((folder, real, prefix)) = open.pop() {
            if !self.seen_folders.insert(real.clone()) {
                continue;
            }
            self.folders.insert(folder.clone());
            let entries = match fs::read_dir(&folder).and_then(|d| d.collect::<io::Result<Vec<_>>>()) {
                Ok(entries) => entries,
                Err(e) => {
                    let shown = if prefix.is_empty() { folder.display().to_string() } else { prefix };
                    self.left_out.push((shown, reason(&e)));
                    continue;
                }
            };
            for entry in entries {
                let name = entry.file_name();
                let Some(text) = name.to_str() else {
                    if is_markdown(&name.to_string_lossy()) {
                        let why = "its name is not UTF-8 text; rename it".to_owned();
                        self.left_out.push((join(&prefix, &name.to_string_lossy()), why));
                    }
                    continue;
                };
                if text.starts_with('.') {
                    continue;
                }
                let (path, shown) = (entry.path(), join(&prefix, text));
                match entry.file_type() {
                    Ok(kind) if kind.is_dir() => open.push((path, real.join(&name), shown)),
                    Ok(kind) if kind.is_symlink() => self.links.push((path, shown)),
                    Ok(_) if is_markdown(text) => self.file(path, real.join(&name), shown),
                    Ok(_) => {}
                    Err(e) => self.left_out.push((shown, reason(&e))),
                }
            }
        }
    }

    fn follow(&mut self, link: &Path, shown: String, top: &Path) {
        match fs::canonicalize(link) {
            Ok(real) if real.is_dir() => {
                if !top.starts_with(&real) {
                    self.plain(link, &real, &shown);
                }
            }
            Ok(real) if is_markdown(&shown) => {
                self.folders.extend(real.parent().map(Path::to_owned));
                self.file(link.to_owned(), real, shown);
            }
            Err(_) if is_markdown(&shown) => {
                self.left_out.push((shown, "it is a link that leads nowhere".to_owned()));
            }
            Ok(_) | Err(_) => {}
        }
    }

    fn file(&mut self, path: PathBuf, real: PathBuf, shown: String) {
        if self.seen_files.insert(real) {
            let kind = kind_of(&shown);
            self.files.push(Found { path, shown, kind });
        }
    }
}

/// A file under a folder called `rules` is a rule page, any other is a journal.
pub fn kind_of(shown: &str) -> SourceKind {
    let folder = shown.rsplit_once('/').map_or("", |(folder, _)| folder);
    if folder.split('/').any(|part| part == RULES) { SourceKind::RulePage } else { SourceKind::Journal }
}

fn is_markdown(name: &str) -> bool {
    name.rsplit_once('.').is_some_and(|(stem, end)| !stem.is_empty() && end.eq_ignore_ascii_case("md"))
}

fn join(prefix: &str, name: &str) -> String {
    if prefix.is_empty() { name.to_owned() } else { format!("{prefix}/{name}") }
}
