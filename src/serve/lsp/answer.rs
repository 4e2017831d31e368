//! Which request is answered by what.
//!
//! Comes in: a request's name and parameters, and the check it asks about. Goes out: the answer, or what
//! is wrong with the request. What an answer holds is other files' business.

use std::hash::{DefaultHasher, Hash, Hasher};

use lsp_server::ErrorCode;
use lsp_types::{Diagnostic, Position, Range};
use serde::{Deserialize, de::DeserializeOwned};
use serde_json::{Value, json};

use super::{
    client::Client, colours, commands, complete, hints, hover, layout, lens, mend, names, outline, page,
    phrasing, round::Round,
};
use crate::base::span::FileId;

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
const KNOWN: &[&str] = &[
    "textDocument/codeAction",
    "textDocument/codeLens",
    "textDocument/completion",
    "textDocument/definition",
    "textDocument/diagnostic",
    "textDocument/documentHighlight",
    "textDocument/documentSymbol",
    "textDocument/foldingRange",
    "textDocument/formatting",
    "textDocument/hover",
    "textDocument/inlayHint",
    "textDocument/prepareRename",
    "textDocument/rangeFormatting",
    "textDocument/references",
    "textDocument/rename",
    "textDocument/selectionRange",
    "textDocument/semanticTokens/full",
    "workspace/diagnostic",
    "workspace/executeCommand",
    "workspace/symbol",
];

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
    client: &Client,
    method: &str,
    params: Value,
    at: Option<&At<'_>>,
    rounds: &[&Round],
) -> Result<Value, Fault> {
    match method {
        "workspace/symbol" => {
            #[derive(Deserialize)]
            struct Asked {
                query: String,
            }
            let asked: Asked = read(params)?;
            return Ok(outline::things(rounds, &asked.query));
        }
        "workspace/executeCommand" => return commands::run(params, rounds),
        _ => {}
    }
    let Some(at) = at else {
        return Err(Fault { code: ErrorCode::InvalidParams, said: "no file is named".to_owned() });
    };
    let Some(file) = at.round.checked.sources.find(&at.name) else { return Ok(nothing(method)) };
    about(client, method, params, at, file)
}

/// Answers about a file.
fn about(client: &Client, method: &str, params: Value, at: &At<'_>, file: FileId) -> Result<Value, Fault> {
    #[derive(Deserialize)]
    struct Placed {
        position: Position,
    }
    #[derive(Deserialize)]
    struct Ranged {
        range: Range,
    }
    let round = at.round;
    let place = |params: &Value| -> Result<u32, Fault> {
        Ok(round.offset(file, read::<Placed>(params.clone())?.position))
    };
    Ok(match method {
        "textDocument/codeLens" => lens::lenses(round, file),
        "textDocument/hover" if !round.is_journal(file) => json!(page::hover(round, file, place(&params)?)),
        "textDocument/definition" if !round.is_journal(file) => {
            json!(page::definition(round, file, place(&params)?))
        }
        "textDocument/references" if !round.is_journal(file) => {
            json!(page::references(round, file, place(&params)?))
        }
        "textDocument/hover" => json!(hover::hover(round, file, place(&params)?)),
        "textDocument/definition" => json!(names::definition(round, file, place(&params)?)),
        "textDocument/references" => {
            let declared = params.pointer("/context/includeDeclaration").and_then(Value::as_bool);
            json!(names::references(round, file, place(&params)?, declared.unwrap_or(true)))
        }
        "textDocument/documentHighlight" => json!(names::highlights(round, file, place(&params)?)),
        "textDocument/prepareRename" => names::can_rename(round, file, place(&params)?)?,
        "textDocument/rename" => {
            #[derive(Deserialize)]
            #[serde(rename_all = "camelCase")]
            struct Asked {
                new_name: String,
            }
            let asked: Asked = read(params.clone())?;
            names::rename(round, file, place(&params)?, &asked.new_name)?
        }
        "textDocument/documentSymbol" => outline::symbols(round, file, client.nests_symbols),
        "textDocument/foldingRange" => outline::folds(round, file),
        "textDocument/completion" => {
            let position = read::<Placed>(params)?.position;
            let text = at.held.unwrap_or_else(|| round.text(file));
            if round.is_journal(file) {
                complete::complete(client, round, text, position)
            } else {
                phrasing::complete(client, round, &at.name, text, position)
            }
        }
        "textDocument/codeAction" => {
            let only: Option<Vec<String>> =
                params.pointer("/context/only").and_then(|v| serde_json::from_value(v.clone()).ok());
            mend::mends(round, file, read::<Ranged>(params)?.range, only.as_deref())
        }
        "textDocument/formatting" => layout::tidied(round, file, None),
        "textDocument/rangeFormatting" => layout::tidied(round, file, Some(read::<Ranged>(params)?.range)),
        "textDocument/inlayHint" => hints::hints(round, file, read::<Ranged>(params)?.range),
        "textDocument/semanticTokens/full" => colours::tokens(round, file),
        "textDocument/selectionRange" => {
            #[derive(Deserialize)]
            struct Asked {
                positions: Vec<Position>,
            }
            colours::selections(round, file, &read::<Asked>(params)?.positions)
        }
        _ => Value::Null,
    })
}

/// Reads parameters.
///
/// # Errors
/// Says what is unclear.
pub fn read<T: DeserializeOwned>(params: Value) -> Result<T, Fault> {
    serde_json::from_value(params).map_err(|e| Fault {
        code: ErrorCode::InvalidParams,
        said: format!("the parameters are unclear: {e}"),
    })
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
