//! Build script: lists the rule pages that are embedded in the program.
//!
//! Comes in: the `rules/` folder beside `Cargo.toml`. Goes out: `rulebook.rs` in cargo's output folder,
//! one `(path, text)` pair for each page. It does not read the pages; the compiler embeds them.

use std::{
    env, fs, io,
    path::{Path, PathBuf},
};

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    println!("cargo::rerun-if-changed=src/read/build.rs");
    println!("cargo::rerun-if-changed=rules");

    let mut pages = Vec::new();
    collect(&root.join("rules"), &mut pages)?;
    let mut named: Vec<(String, &Path)> = pages
        .iter()
        .filter_map(|page| {
            page.strip_prefix(&root).ok().map(|p| (p.to_string_lossy().replace('\\', "/"), page))
        })
        .map(|(name, page)| (name, page.as_path()))
        .collect();
    named.sort();

    let mut listing = String::from("[\n");
    for (name, page) in named {
        listing.push_str(&format!("    ({name:?}, include_str!({:?})),\n", page.to_string_lossy()));
    }
    listing.push_str("]\n");
    fs::write(out.join("rulebook.rs"), listing)
}

/// Every Markdown file under `folder`; a missing folder has none.
fn collect(folder: &Path, pages: &mut Vec<PathBuf>) -> io::Result<()> {
    if !folder.is_dir() {
        return Ok(());
    }
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, pages)?;
        } else if path.extension().is_some_and(|e| e == "md") {
            pages.push(path);
        }
    }
    Ok(())
}
