//! What the extension asks of the editor, the editor and its client library played by stand-ins.

const test = require("node:test");
const assert = require("node:assert/strict");
const Module = require("node:module");
const { journals, selector, server } = require("../src/server.js");

test("named folders are the farms, else all that are open", () => {
    assert.deepEqual(journals({ journals: [] }, ["/a/", "/b"], "/home/p"), ["/a", "/b"]);
    assert.deepEqual(journals({ journals: ["~/notes", "farm", "/x"] }, ["/a"], "/home/p"), ["/home/p/notes", "/a/farm", "/x"]);
    assert.deepEqual(journals({}, [], "/home/p"), []);
});

test("only Markdown of the farms is told, and a folder's name is meant as it stands", () => {
    assert.deepEqual(selector(["/a [b]"]), [{ scheme: "file", language: "markdown", pattern: "/a [[]b]/**/*" }]);
    assert.equal(selector([]).length, 2);
});

test("the program is the one set, or haulm", () => {
    assert.deepEqual(server({ command: ["x", "lsp", "--today", "2026-01-01"] }), { command: "x", args: ["lsp", "--today", "2026-01-01"] });
    assert.deepEqual(server({}), { command: "haulm", args: ["lsp"] });
    assert.deepEqual(server({ command: [] }), { command: "haulm", args: ["lsp"] });
});

test("it starts one client, shows pages under their scheme, starts anew on command and stops", async () => {
    const clients = [];
    const providers = new Map();
    const commands = new Map();
    const shown = [];
    const told = [];
    const on = {};
    let fails = false;
    class LanguageClient {
        constructor(id, name, run, options) {
            Object.assign(this, { id, run, options, asked: [], running: false });
            clients.push(this);
        }
        async start() {
            if (fails) throw new Error("spawn haulm ENOENT");
            this.running = true;
        }
        needsStop() { return this.running; }
        async stop() { this.running = false; }
        async sendRequest(method, params) {
            this.asked.push([method, params]);
            return "# a page\n";
        }
    }
    const uri = (parts) => ({ ...parts, toString: () => `${parts.scheme}:${parts.path}` });
    const nothing = { dispose() {} };
    const vscode = {
        EventEmitter: class { event = () => nothing; fire() {} dispose() {} },
        Uri: { from: uri },
        commands: {
            registerCommand: (name, run) => (commands.set(name, run), nothing),
            executeCommand: async (...what) => told.push(what),
        },
        window: {
            showTextDocument: async (at) => shown.push(at.toString()),
            showErrorMessage: async (message, button) => (told.push(message), button),
        },
        workspace: {
            workspaceFolders: [{ uri: { scheme: "file", fsPath: "/farm" } }, { uri: { scheme: "git", fsPath: "/no" } }],
            getConfiguration: () => ({ get: (key) => (key === "command" ? ["haulm", "lsp"] : []) }),
            registerTextDocumentContentProvider: (scheme, provider) => (providers.set(scheme, provider), nothing),
            onDidCloseTextDocument: () => nothing,
            onDidChangeConfiguration: (run) => ((on.settings = run), nothing),
            onDidChangeWorkspaceFolders: (run) => ((on.folders = run), nothing),
        },
    };
    const load = Module._load;
    Module._load = (name, ...rest) =>
        name === "vscode" ? vscode : name === "vscode-languageclient/node" ? { LanguageClient } : load(name, ...rest);
    try {
        const extension = require("../src/extension.js");
        const context = { subscriptions: [] };
        await extension.activate(context);
        assert.equal(clients.length, 1);
        assert.deepEqual(clients[0].options.documentSelector.map((s) => s.pattern), ["/farm/**/*"]);
        assert.deepEqual(clients[0].options.initializationOptions, { pages: "haulm-page", shows: true });

        const page = await providers.get("haulm-page").provideTextDocumentContent(uri({ scheme: "haulm-page", path: "/rules/pages/x.md" }));
        assert.equal(page, "# a page\n");
        assert.deepEqual(clients[0].asked[0][1].arguments, [null, "rules/pages/x.md"]);

        const answer = await clients[0].options.middleware.executeCommand("haulm.why", ["f", "lot a/b"], async () => "because");
        assert.equal(answer, "because");
        assert.deepEqual(shown, ["haulm-text:/lot a b"]);
        assert.equal(providers.get("haulm-text").provideTextDocumentContent(uri({ scheme: "haulm-text", path: "/lot a b" })), "because");

        await commands.get("haulm.restart")();
        assert.deepEqual(clients.map((c) => c.running), [false, true]);
        assert.equal(await on.settings({ affectsConfiguration: (name) => name === "editor" }), false);
        await Promise.all([on.settings({ affectsConfiguration: (name) => name === "haulm" }), on.folders()]);
        assert.deepEqual(clients.map((c) => c.running), [false, false, false, true]);

        fails = true;
        await commands.get("haulm.restart")();
        await new Promise(setImmediate);
        assert.match(told[0], /^`haulm` did not start\. .*haulm\.command/);
        assert.deepEqual(told[1], ["workbench.action.openSettings", "haulm.command"]);
        fails = false;
        await commands.get("haulm.restart")();
        assert.ok(clients.at(-1).running);
        await extension.deactivate();
        assert.ok(clients.every((c) => !c.running));
    } finally {
        Module._load = load;
    }
});
