//! The real program, started as the extension starts it, and spoken to with the protocol of the same library.
//!
//! Needs the program: `HAULM` names it, else it is looked for where the system looks for programs.

const test = require("node:test");
const assert = require("node:assert/strict");
const { execFileSync, spawn } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const { pathToFileURL } = require("node:url");
const { createProtocolConnection, StreamMessageReader, StreamMessageWriter } = require("vscode-languageserver-protocol/node");
const { said, server } = require("../src/server.js");

const HAULM = process.env.HAULM ?? "haulm";
const TODAY = "2026-04-10";
const TEXT = `## The place
- bed north-1, 30 ft x 4 ft

## 2026-03-14
*  received 6 yd3 compost as lot tern-26 from Tern Quay Soils
* noticed cuped leaves 🍅 on tomato  in north-1
`;

/// A farm in a temporary folder, and a server that has been told of it.
async function started(t) {
    const farm = fs.mkdtempSync(path.join(os.tmpdir(), "haulm-"));
    fs.writeFileSync(path.join(farm, "spring.md"), TEXT);
    const { command, args } = server({ command: [HAULM, "lsp", "--today", TODAY] });
    const program = spawn(command, args, { stdio: ["pipe", "pipe", "inherit"] });
    const ended = new Promise((done) => program.on("exit", done));
    const connection = createProtocolConnection(
        new StreamMessageReader(program.stdout),
        new StreamMessageWriter(program.stdin),
    );
    t.after(() => fs.rmSync(farm, { recursive: true }));
    const published = new Map();
    let wake = () => {};
    connection.onNotification("textDocument/publishDiagnostics", (p) => {
        published.set(p.uri, p);
        wake();
    });
    const noise = [];
    connection.onNotification("window/showMessage", (p) => noise.push(p));
    connection.listen();
    const uri = pathToFileURL(path.join(farm, "spring.md")).href;
    const offer = await connection.sendRequest("initialize", {
        processId: process.pid,
        rootUri: pathToFileURL(farm).href,
        capabilities: { general: { positionEncodings: ["utf-16"] } },
        initializationOptions: said,
    });
    await connection.sendNotification("initialized", {});
    const shown = async (version) => {
        while (published.get(uri)?.version !== version) await new Promise((done) => (wake = done));
        return published.get(uri).diagnostics;
    };
    return { connection, ended, farm, noise, offer, shown, uri };
}

function applied(text, edits) {
    const lines = text.split("\n");
    const offset = (p) => lines.slice(0, p.line).reduce((n, l) => n + l.length + 1, 0) + p.character;
    return edits.toReversed().reduce((all, e) => all.slice(0, offset(e.range.start)) + e.newText + all.slice(offset(e.range.end)), text);
}

test("what is shown is what check says, and a tidied text is what tidy writes", async (t) => {
    const { connection, ended, farm, noise, offer, shown, uri } = await started(t);
    assert.equal(offer.capabilities.positionEncoding, "utf-16");
    connection.sendNotification("textDocument/didOpen", {
        textDocument: { uri, languageId: "markdown", version: 1, text: TEXT },
    });
    const diagnostics = await shown(1);
    const check = (...more) => {
        try {
            return execFileSync(HAULM, [...more, farm, "--today", TODAY, "--format", "json"], { encoding: "utf8" });
        } catch (ended) {
            return ended.stdout;
        }
    };
    const due = JSON.parse(check("check")).findings.map((f) => `${f.at.start.line} ${f.code} ${f.message}`);
    const seen = diagnostics.map((d) => `${d.range.start.line + 1} ${d.code} ${d.message.split("\n")[0]}`);
    assert.deepEqual(seen.sort(), due.sort());
    assert.ok(due.length >= 2, due.join("\n"));

    const edits = await connection.sendRequest("textDocument/formatting", {
        textDocument: { uri },
        options: { tabSize: 4, insertSpaces: true },
    });
    const tidy = applied(TEXT, edits);
    check("tidy");
    assert.equal(tidy, fs.readFileSync(path.join(farm, "spring.md"), "utf8"));
    assert.ok(tidy.includes("- noticed cuped leaves 🍅 on tomato in north-1\n"), tidy);

    connection.sendNotification("textDocument/didChange", {
        textDocument: { uri, version: 2 },
        contentChanges: [{ text: tidy.replace("cuped", "cupped") }],
    });
    const after = await shown(2);
    assert.ok(!after.some((d) => d.code === "unknown-word"));

    const slip = diagnostics.find((d) => d.code === "unknown-word");
    const link = new URL(slip.codeDescription.href);
    assert.equal(link.protocol, "haulm-page:");
    const page = await connection.sendRequest("workspace/executeCommand", {
        command: "haulm.page",
        arguments: [null, link.pathname.slice(1)],
    });
    assert.match(page, /^# unknown-word\n/);
    assert.deepEqual(noise, [], "what a command answers is shown once");

    await connection.sendRequest("shutdown");
    await connection.sendNotification("exit");
    assert.equal(await ended, 0);
});
