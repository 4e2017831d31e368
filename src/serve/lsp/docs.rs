//! The texts an editor holds, and the farms they belong to.
//!
//! Comes in: names of files and folders. Goes out: which farm a file is part of, and under what name. A
//! file outside every open folder is a farm by itself, as `check FILE` reads it.

use std::path::{Path, PathBuf};

use crate::read::Farm;

/// A text an editor holds.
#[derive(Debug, Clone)]
pub struct Doc {
    /// The editor's count of its changes.
    pub version: i32,
    /// The text.
    pub text: String,
    /// The farms it is part of with its name there; the first is the one that answers for it.
    pub farms: Vec<(u32, String)>,
}

/// Where a farm is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Root {
    /// A folder the editor has open.
    Folder(PathBuf),
    /// One file outside all of those; the folder its name is relative to.
    File(PathBuf),
    /// A text that is on no disk.
    Nowhere,
}

impl Root {
    /// The folder that names of files are relative to.
    pub fn folder(&self) -> Option<&Path> {
        match self {
            Root::Folder(folder) | Root::File(folder) => Some(folder),
            Root::Nowhere => None,
        }
    }

    /// A file's name in an open folder; `None` if reading the folder passes that file over.
    pub fn name_of(&self, path: &Path) -> Option<String> {
        let Root::Folder(folder) = self else { return None };
        let name = relative(path, folder)?;
        let parts_are_plain = name.split('/').all(|part| !part.starts_with('.'));
        let (stem, end) = name.rsplit('/').next()?.rsplit_once('.')?;
        (parts_are_plain && !stem.is_empty() && end.eq_ignore_ascii_case("md")).then_some(name)
    }
}

/// The farm of a file that stands alone: where it is, and the file's name there.
pub fn alone(path: &Path) -> Option<(Farm, Root, String)> {
    let farm = Farm::at(path);
    let folder = farm.folder()?.to_owned();
    let name = relative(path, &folder)?;
    Some((farm, Root::File(folder), name))
}

/// A path within a folder, `/` between its parts.
fn relative(path: &Path, folder: &Path) -> Option<String> {
    let parts: Option<Vec<&str>> = path.strip_prefix(folder).ok()?.iter().map(|p| p.to_str()).collect();
    parts.map(|p| p.join("/")).filter(|name| !name.is_empty())
}
