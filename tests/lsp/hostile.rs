//! Clients that behave badly: the server neither falls over nor hangs, and ends when they do.

use std::{
    io::{Read, Write},
    process::{Command, Stdio},
};

use haulm::serve::lsp::Ended;
use serde_json::{Value, json};

use crate::talk::Talk;

fn hover(talk: &Talk, name: &str, line: u32) -> Value {
    json!({ "textDocument": { "uri": talk.uri(name) }, "position": { "line": line, "character": 0 } })
}

#[test]
fn a_client_that_hangs_up_ends_the_server() {
    let mut talk = Talk::new();
    talk.write("a.md", "## 2026-03-14\n- bed north-1\n");
    talk.start(json!({}));
    assert_eq!(talk.hang_up(), Ended::Well);
    assert_eq!(Talk::new().hang_up(), Ended::Well);
}

#[test]
fn an_exit_without_a_shutdown_ends_it_at_once() {
    let mut talk = Talk::new();
    talk.start(json!({}));
    talk.note("exit", Value::Null);
    assert_eq!(talk.ended(), Ended::Suddenly);
}

#[test]
fn after_a_shutdown_nothing_is_answered_any_more() {
    let mut talk = Talk::new();
    talk.start(json!({}));
    talk.settled();
    talk.ask("shutdown", Value::Null);
    let (answer, _) = talk.ask("textDocument/hover", hover(&talk, "a.md", 0));
    assert_eq!(answer["error"]["code"], -32600);
    talk.note("exit", Value::Null);
    assert_eq!(talk.ended(), Ended::Well);
}

#[test]
fn every_question_gets_one_answer_whether_or_not_it_is_cancelled() {
    let mut talk = Talk::new();
    talk.write("a.md", "## 2026-03-14\n- bed north-1\n");
    talk.start(json!({}));
    let mut asked = Vec::new();
    for n in 0..40 {
        let params = hover(&talk, "a.md", n);
        asked.push(talk.begin("textDocument/hover", params));
        if n % 2 == 0 {
            talk.note("$/cancelRequest", json!({ "id": asked.last() }));
        }
    }
    let said = talk.settled();
    let mut answered: Vec<_> = said
        .into_iter()
        .filter_map(|m| match m {
            lsp_server::Message::Response(r) => Some(r.id),
            _ => None,
        })
        .collect();
    answered.sort();
    asked.sort();
    assert_eq!(answered, asked);
    talk.end();
}

#[test]
fn messages_out_of_order_and_places_past_the_end_do_no_harm() {
    let mut talk = Talk::new();
    talk.write("a.md", "## 2026-03-14\n- bed north-1\n");
    let uri = talk.uri("a.md");
    let changed = |version: i32, range: Value, text: &str| {
        json!({ "textDocument": { "uri": uri, "version": version },
                "contentChanges": [{ "range": range, "text": text }] })
    };
    let far = json!({ "line": 4_000_000_000_u32, "character": 4_000_000_000_u32 });
    let span = |from: &Value, to: &Value| json!({ "start": from, "end": to });
    // Told before anything was agreed: nobody listens.
    talk.note("textDocument/didChange", changed(1, span(&far, &far), "- bed\n"));
    talk.note("initialized", json!({}));
    talk.start(json!({}));
    talk.note("textDocument/didClose", json!({ "textDocument": { "uri": uri } }));
    talk.note("textDocument/didChange", changed(9, span(&far, &far), "- bed\n"));
    talk.send(lsp_server::Response::new_ok(77.into(), json!("an answer to nothing")));
    let item = json!({ "uri": uri, "languageId": "markdown", "version": 5, "text": "## 2026-03-14\n" });
    talk.note("textDocument/didOpen", json!({ "textDocument": item }));
    talk.note(
        "textDocument/didChange",
        changed(6, span(&far, &json!({ "line": 0, "character": 13 })), "\n- bed"),
    );
    talk.note("textDocument/didChange", changed(3, span(&far, &far), "\n"));
    talk.note("textDocument/didSave", json!({ "textDocument": { "uri": talk.uri("b.md") } }));
    let methods = [
        "codeAction",
        "codeLens",
        "completion",
        "definition",
        "documentHighlight",
        "documentSymbol",
        "foldingRange",
        "formatting",
        "hover",
        "inlayHint",
        "prepareRename",
        "rangeFormatting",
        "references",
        "rename",
        "selectionRange",
        "semanticTokens/full",
    ];
    for name in ["a.md", "never-heard-of.md"] {
        for method in methods {
            let params = json!({ "textDocument": { "uri": talk.uri(name) }, "position": far, "positions": [far],
                                 "range": span(&far, &json!({ "line": 0, "character": 0 })), "newName": "",
                                 "context": {}, "options": {} });
            let (answer, _) = talk.ask(&format!("textDocument/{method}"), params);
            let refused = answer.get("error").map(|e| e["code"].clone());
            let may_refuse = matches!(method, "prepareRename" | "rename");
            assert!(refused.is_none() || may_refuse && refused == Some(json!(-32803)), "{method}: {answer}");
        }
    }
    for arguments in [json!([]), json!([null, 3]), json!([["x"], "lot x", "y"]), json!({})] {
        let (answer, _) = talk
            .ask("workspace/executeCommand", json!({ "command": "haulm.examples", "arguments": arguments }));
        assert!(answer.is_string() || answer.get("error").is_some(), "{answer}");
    }
    // What was typed last stands, whatever its number.
    let params = json!({ "textDocument": { "uri": uri }, "options": {} });
    let (edits, _) = talk.ask("textDocument/formatting", params);
    assert_eq!(edits, json!([]));
    let (symbols, _) = talk.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": uri } }));
    assert_eq!(symbols[0]["name"], "2026-03-14");
    talk.end();
}

#[test]
fn a_huge_edit_is_one_edit() {
    let mut talk = Talk::new();
    talk.start(json!({}));
    let long = "- watered north-1 🍅\n".repeat(200_000);
    let uri = talk.uri("a.md");
    let item = json!({ "uri": uri, "languageId": "markdown", "version": 1, "text": "" });
    talk.note("textDocument/didOpen", json!({ "textDocument": item }));
    let change = |text: &str| json!({ "textDocument": { "uri": uri, "version": 2 }, "contentChanges": [{ "text": text }] });
    talk.note("textDocument/didChange", change(&long));
    talk.note("textDocument/didChange", change("## 2026-03-14\n- bed\n"));
    let said = talk.settled();
    let last = said.into_iter().rev().find_map(|m| match m {
        lsp_server::Message::Notification(note) => Some(note.params),
        _ => None,
    });
    assert_eq!(last.expect("diagnostics")["diagnostics"][0]["code"], "incomplete-entry");
    talk.end();
}

/// The program over its own standard input and output.
fn run(input: &[u8]) -> (Option<i32>, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_haulm"))
        .arg("lsp")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the program starts");
    // It may end before it has read everything.
    let _ = child.stdin.take().expect("its input").write_all(input);
    let mut out = String::new();
    child.stdout.take().expect("its output").read_to_string(&mut out).expect("text");
    (child.wait().expect("it ends").code(), out)
}

fn framed(message: &Value) -> Vec<u8> {
    let text = message.to_string();
    format!("Content-Length: {}\r\n\r\n{text}", text.len()).into_bytes()
}

#[test]
fn what_is_not_the_protocol_ends_the_program_with_trouble_and_no_noise() {
    for input in ["hello\r\n\r\n", "Content-Length: 5\r\n\r\n{{{{{", "Content-Length: x\r\n\r\n{}"] {
        let (code, out) = run(input.as_bytes());
        assert_eq!((code, out.as_str()), (Some(2), ""), "{input:?}");
    }
}

#[test]
fn the_program_ends_with_its_input_or_when_told_and_says_which() {
    assert_eq!(run(b""), (Some(0), String::new()));
    let initialize = framed(&json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize", "params": {} }));
    let (code, out) = run(&initialize);
    assert_eq!(code, Some(0));
    assert!(out.contains("\"serverInfo\""), "{out}");
    let exit = framed(&json!({ "jsonrpc": "2.0", "method": "exit" }));
    assert_eq!(run(&[initialize.clone(), exit.clone()].concat()).0, Some(1));
    let shutdown = framed(&json!({ "jsonrpc": "2.0", "id": 2, "method": "shutdown" }));
    assert_eq!(run(&[initialize, shutdown, exit].concat()).0, Some(0));
}
