//! What the server is started with, and for which files.
//!
//! Comes in: settings and the folders that are open. Goes out: plain options for a language client. It
//! touches neither editor nor disk.

const path = require("node:path");

/// A path as settings name it: from home, from the folder that is open, or whole.
function resolved(name, folder, home) {
    if (name === "~" || name.startsWith("~/")) return path.join(home, name.slice(1));
    return path.isAbsolute(name) || !folder ? name : path.join(folder, name);
}

/// The folders that are farms: those named, else all that are open.
function journals(settings, folders, home) {
    const named = settings.journals ?? [];
    const found = named.length === 0 ? folders : named.map((name) => resolved(name, folders[0], home));
    return found.map((folder) => folder.replace(/[\\/]+$/, "")).filter((folder) => folder !== "");
}

/// How the program is started.
function server(settings) {
    const [command, ...args] = settings.command?.length ? settings.command : ["haulm", "lsp"];
    return { command, args };
}

/// Which files it is asked about: Markdown within the farms, or any Markdown where no folder is open.
function selector(farms) {
    const all = [{ scheme: "file", language: "markdown" }];
    if (farms.length === 0) return [...all, { scheme: "untitled", language: "markdown" }];
    // A folder's name is meant as it stands, whatever signs are in it.
    const plain = (farm) => farm.replaceAll("\\", "/").replace(/[[{}*?]/g, "[$&]");
    return farms.map((farm) => ({ ...all[0], pattern: `${plain(farm)}/**/*` }));
}

/// The pages that came with the program have no file; links to them are given this scheme.
const PAGES = "haulm-page";

/// What the server is told of this client beside its capabilities.
const said = { pages: PAGES, shows: true };

module.exports = { PAGES, journals, resolved, said, selector, server };
