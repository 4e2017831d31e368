//! What the client can do, as far as the answers depend on it.
//!
//! Comes in: the parameters of `initialize`. Goes out: plain yes and no, and the folders it has open.

use std::path::PathBuf;

use lsp_types::PositionEncodingKind;
use serde_json::Value;

use super::{place::Encoding, uri};

/// The client.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Client {
    /// What columns count.
    pub encoding: Encoding,
    /// It asks for the diagnostics of what it shows, and again when told to.
    pub pulls: bool,
    /// It can be asked to tell of files that change on the disk.
    pub watches: bool,
    /// It shows the progress of long work.
    pub progress: bool,
    /// It lets what it inserts have places to fill.
    pub snippets: bool,
    /// It draws the marks of Markdown beside what it offers to complete.
    pub marks: bool,
    /// It asks for hints again when told to.
    pub refreshes_hints: bool,
    /// It nests symbols.
    pub nests_symbols: bool,
    /// The scheme under which it can show the pages that came with the program.
    pub pages: Option<String>,
    /// It shows by itself what a command answers.
    pub shows: bool,
}

impl Client {
    /// The client that says this of itself.
    pub fn of(params: &Value) -> Self {
        let can = |path: &str| params.pointer(&format!("/capabilities{path}"));
        let yes = |path: &str| can(path).and_then(Value::as_bool).unwrap_or(false);
        let offer: Option<Vec<PositionEncodingKind>> =
            can("/general/positionEncodings").and_then(|v| serde_json::from_value(v.clone()).ok());
        Self {
            encoding: Encoding::of_offer(offer.as_deref()),
            pulls: can("/textDocument/diagnostic").is_some_and(Value::is_object)
                // Helix says the second, after a slip in a library of the protocol's types.
                && (yes("/workspace/diagnostics/refreshSupport") || yes("/workspace/diagnostic/refreshSupport")),
            watches: yes("/workspace/didChangeWatchedFiles/dynamicRegistration"),
            progress: yes("/window/workDoneProgress"),
            snippets: yes("/textDocument/completion/completionItem/snippetSupport"),
            marks: can("/textDocument/completion/completionItem/documentationFormat")
                .and_then(Value::as_array)
                .is_some_and(|formats| formats.iter().any(|f| f == "markdown")),
            refreshes_hints: yes("/workspace/inlayHint/refreshSupport"),
            pages: params.pointer("/initializationOptions/pages").and_then(Value::as_str).map(str::to_owned),
            shows: params.pointer("/initializationOptions/shows").and_then(Value::as_bool).unwrap_or(false),
            nests_symbols: yes("/textDocument/documentSymbol/hierarchicalDocumentSymbolSupport"),
        }
    }
}

/// The folders open at the start, by whichever of the protocol's ways they are told.
pub fn folders(params: &Value) -> Vec<PathBuf> {
    let many = params.get("workspaceFolders").and_then(Value::as_array);
    let named = many.into_iter().flatten().filter_map(|f| f.get("uri")?.as_str()).filter_map(uri::path);
    let mut folders: Vec<PathBuf> = named.collect();
    if folders.is_empty() {
        let root = params.get("rootUri").and_then(Value::as_str).and_then(uri::path);
        let path = || params.get("rootPath").and_then(Value::as_str).map(PathBuf::from);
        folders.extend(root.or_else(path));
    }
    folders
}
