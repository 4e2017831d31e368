//! The rulebook that came with the program.
//!
//! Comes in: nothing; the pages are embedded when the program is built. Goes out: their texts.

use crate::base::source::{SourceFile, SourceKind};

/// `(path, text)` of each page under `rules/`, in the order of their paths.
static PAGES: &[(&str, &str)] = &include!(concat!(env!("OUT_DIR"), "/rulebook.rs"));

/// The built-in rule pages, in the order of their paths.
pub fn built_in_pages() -> Vec<SourceFile> {
    PAGES.iter().map(|(path, text)| SourceFile::new(*path, *text, SourceKind::RulePage, true)).collect()
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::read::walk::walk;

    #[test]
    fn the_embedded_rulebook_is_the_one_in_the_folder() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
        let mut on_disk: Vec<(String, String)> = walk(&folder, "rules")
            .files
            .into_iter()
            .map(|found| (found.shown, std::fs::read_to_string(found.path).unwrap_or_default()))
            .collect();
        on_disk.sort();
        let embedded: Vec<(String, String)> =
            built_in_pages().iter().map(|p| (p.path.to_string(), p.text.to_string())).collect();
        assert!(!embedded.is_empty());
        assert!(embedded == on_disk, "the embedded rulebook is stale: build again");
    }
}
