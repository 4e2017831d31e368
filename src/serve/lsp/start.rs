//! What the server offers.
//!
//! Comes in: what the client can do. Goes out: the answer to `initialize`, and what is asked of the
//! client once it is ready.

use serde_json::{Value, json};

use super::{client::Client, colours, commands};

/// The answer to `initialize`.
pub fn offer(client: &Client) -> Value {
    json!({
        "serverInfo": { "name": "haulm", "version": env!("CARGO_PKG_VERSION") },
        "capabilities": {
            "positionEncoding": client.encoding.kind(),
            "textDocumentSync": { "openClose": true, "change": 2, "save": { "includeText": false } },
            "diagnosticProvider": {
                "identifier": "haulm",
                "interFileDependencies": true,
                "workspaceDiagnostics": true,
            },
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
            "codeActionProvider": { "codeActionKinds": ["quickfix", "source.haulm.why", "source.haulm.page"] },
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
    })
}

/// What the client is asked to tell: Markdown files that change on the disk.
pub fn watched_files() -> Value {
    json!({ "registrations": [{
        "id": "files",
        "method": "workspace/didChangeWatchedFiles",
        "registerOptions": { "watchers": [{ "globPattern": "**/*.md" }, { "globPattern": "**/*.MD" }] },
    }] })
}
