//! Which request is answered by what.
//!
//! Comes in: a request's name and parameters, and the check it asks about. Goes out: the answer, or what
//! is wrong with the request. What an answer holds is other files' business.

use std::hash::{DefaultHasher, Hash, Hasher};

use lsp_server::ErrorCode;
use lsp_types::Diagnostic;
use serde_json::{Value, json};

use super::{client::Client, round::Round};

/// Why there is no answer.
#[derive(Debug)]
pub struct Fault {
    /// The protocol's number for it.
    pub code: ErrorCode,
    /// In words.
    pub said: String,
}

/// The file a request is about.
pub struct At<'a> {
    /// The check of its farm.
    pub round: &'a Round,
    /// Its name there.
    pub name: String,
    /// Its text as the editor holds it, which an answer that may be old is to be read against.
    pub held: Option<&'a str>,
}

/// Requests that are answered.
const KNOWN: &[&str] = &["textDocument/diagnostic", "workspace/diagnostic"];

/// Whether a request is answered at all.
pub fn knows(method: &str) -> bool {
    KNOWN.contains(&method)
}

/// Whether the last check will do although the text has changed since.
pub fn may_be_old(method: &str) -> bool {
    method == "textDocument/completion"
}

/// The answer about a file that nobody knows.
pub fn nothing(method: &str) -> Value {
    match method {
        "textDocument/diagnostic" => report(&[], None),
        _ => Value::Null,
    }
}

/// Answers.
///
/// # Errors
/// If the parameters cannot be read, or ask for what cannot be.
pub fn answer(
    _client: &Client,
    method: &str,
    _params: Value,
    _at: Option<&At<'_>>,
    _rounds: &[&Round],
) -> Result<Value, Fault> {
    let said = format!("`{method}` is not offered");
    Err(Fault { code: ErrorCode::MethodNotFound, said })
}

/// Diagnostics as a client that asks for them gets them: whole, or that they are what they were.
pub fn report(list: &[Diagnostic], before: Option<&str>) -> Value {
    let mut hasher = DefaultHasher::new();
    json!(list).to_string().hash(&mut hasher);
    let id = format!("{:x}", hasher.finish());
    if before == Some(&id) {
        json!({ "kind": "unchanged", "resultId": id })
    } else {
        json!({ "kind": "full", "resultId": id, "items": list })
    }
}
