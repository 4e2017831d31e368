//! The files of this package, for tests that read its source and its pages.

use std::{
    fs,
    path::{Path, PathBuf},
};

/// Every file below a folder whose name ends so, sorted.
pub fn files(under: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut todo = vec![under.to_path_buf()];
    while let Some(folder) = todo.pop() {
        for entry in fs::read_dir(&folder).expect("a folder of this package") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                todo.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// The folder of this package.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}
