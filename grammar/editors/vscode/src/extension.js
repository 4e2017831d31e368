//! The extension: starts the server for the farms that are open, and shows the texts it answers with.
//!
//! Comes in: the editor. Goes out: a language client, a command that starts it anew, and pages that came
//! with the program as texts that can be read. It checks nothing and changes no file by itself.

const os = require("node:os");
const vscode = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");
const { PAGES, journals, said, selector, server } = require("./server.js");

const TEXTS = "haulm-text";

let client;
/// Texts given by commands, by name, for as long as they are open.
const texts = new Map();

function settings() {
    const all = vscode.workspace.getConfiguration("haulm");
    return { command: all.get("command"), journals: all.get("journals") };
}

async function show(title, text) {
    const uri = vscode.Uri.from({ scheme: TEXTS, path: `/${title.replaceAll("/", " ")}` });
    texts.set(uri.toString(), text);
    changed.fire(uri);
    await vscode.window.showTextDocument(uri, { preview: true, preserveFocus: true });
}

const changed = new vscode.EventEmitter();

async function start() {
    const folders = (vscode.workspace.workspaceFolders ?? []).filter((f) => f.uri.scheme === "file").map((f) => f.uri.fsPath);
    const farms = journals(settings(), folders, os.homedir());
    client = new LanguageClient("haulm", "haulm", server(settings()), {
        documentSelector: selector(farms),
        initializationOptions: said,
        middleware: {
            // What a command answers is a text to read.
            executeCommand: async (command, args, next) => {
                const answer = await next(command, args);
                if (typeof answer === "string") await show(String(args?.[1] ?? command), answer);
                return answer;
            },
        },
    });
    const starting = client;
    // What the library says of a program that is not there is for programmers: it goes to the log alone.
    starting.error = (said, data) => LanguageClient.prototype.error.call(starting, said, data, false);
    try {
        await starting.start();
    } catch {
        client = undefined;
        // Not waited for: it stands until somebody answers it. Why it failed is in the log.
        trouble();
    } finally {
        delete starting.error;
    }
}

/// Says in plain words what to do if the program does not start.
async function trouble() {
    const { command } = server(settings());
    const set = "Open settings";
    const answer = await vscode.window.showErrorMessage(
        `\`${command}\` did not start. Is it installed? The setting haulm.command says where it is.`,
        set,
    );
    if (answer === set) await vscode.commands.executeCommand("workbench.action.openSettings", "haulm.command");
}

async function stop() {
    const old = client;
    client = undefined;
    if (old?.needsStop()) await old.stop();
}

/// One after the other, however fast settings change.
let restarted = Promise.resolve();
function restart() {
    restarted = restarted.then(stop).then(start);
    return restarted;
}

async function activate(context) {
    context.subscriptions.push(
        changed,
        vscode.workspace.registerTextDocumentContentProvider(TEXTS, {
            onDidChange: changed.event,
            provideTextDocumentContent: (uri) => texts.get(uri.toString()) ?? "",
        }),
        vscode.workspace.registerTextDocumentContentProvider(PAGES, {
            provideTextDocumentContent: (uri) => {
                const page = uri.path.replace(/^\//, "");
                return client?.sendRequest("workspace/executeCommand", { command: "haulm.page", arguments: [null, page] });
            },
        }),
        vscode.workspace.onDidCloseTextDocument((text) => texts.delete(text.uri.toString())),
        vscode.commands.registerCommand("haulm.restart", restart),
        vscode.workspace.onDidChangeConfiguration((change) => change.affectsConfiguration("haulm") && restart()),
        // Which files are a farm's hangs on the folders that are open.
        vscode.workspace.onDidChangeWorkspaceFolders(restart),
    );
    await restart();
}

module.exports = { activate, deactivate: stop };
