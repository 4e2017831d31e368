//! What the server offers.
//!
//! Comes in: what the client can do. Goes out: the answer to `initialize`, and what is asked of the
//! client once it is ready.

use serde_json::{Value, json};

use super::client::Client;

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
