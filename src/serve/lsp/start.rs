//! What the server offers.
//!
//! Comes in: what the client can do. Goes out: the answer to `initialize`, and what is asked of the
//! client once it is ready.

use serde_json::{Value, json};

use super::{client::Client, colours, commands};

/// The answer to `initialize`.
pub fn offer(client: &Client) -> Value {
    let mut offer = json!({
        "serverInfo": { "name": "haulm", "version": env!("CARGO_PKG_VERSION") },
        "capabilities": {
            "positionEncoding": client.encoding.kind(),
            "textDocumentSync": { "openClose": true, "change": 2, "save": { "includeText": false } },
            "hoverProvider": true,
            "definitionProvider": true,
            "referencesProvider": true,
            "documentHighlightProvider": true,
            "renameProvider": { "prepareProvider": true },
            "documentSymbolProvider": true,
            "workspaceSymbolProvider": true,
            "foldingRangeProvider": true,
            "documentFormattingProvider": true,
            "documentRangeFormattingProvider": true,
            "completionProvider": { "triggerCharacters": [" ", "#"] },
            "codeActionProvider": { "codeActionKinds": ["quickfix", "haulm.why", "haulm.page", "haulm.allow"] },
            "executeCommandProvider": { "commands": commands::ALL },
            "codeLensProvider": { "resolveProvider": false },
            "inlayHintProvider": true,
            "selectionRangeProvider": true,
            "semanticTokensProvider": {
                "legend": { "tokenTypes": colours::KINDS, "tokenModifiers": colours::ASIDES },
                "full": true,
            },
            "workspace": { "workspaceFolders": { "supported": true, "changeNotifications": true } },
        },
    });
    // Whoever cannot be told to ask again is told of everything, and whoever asks, of files that are not open:
    // both at once would show each finding twice.
    if client.pulls {
        offer["capabilities"]["diagnosticProvider"] =
            json!({ "identifier": "haulm", "interFileDependencies": true, "workspaceDiagnostics": false });
    }
    offer
}

/// What the client is asked to tell: Markdown files that change on the disk.
pub fn watched_files() -> Value {
    json!({ "registrations": [{
        "id": "files",
        "method": "workspace/didChangeWatchedFiles",
        "registerOptions": { "watchers": [{ "globPattern": "**/*.md" }, { "globPattern": "**/*.MD" }] },
    }] })
}
