//! Samples coloured as VS Code colours them, beside what each part is taken for.
//!
//! To write the snapshots anew: `HAULM_BLESS=1 npm test`.

const test = require("node:test");
const assert = require("node:assert/strict");
const fs = require("node:fs");
const path = require("node:path");
const oniguruma = require("vscode-oniguruma");
const { INITIAL, Registry, parseRawGrammar } = require("vscode-textmate");

const here = path.join(__dirname, "..");
const contributed = JSON.parse(fs.readFileSync(path.join(here, "package.json"), "utf8")).contributes.grammars;
const markdown = require.resolve("tm-grammars/grammars/markdown.json");

async function registry() {
    const wasm = fs.readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm"));
    await oniguruma.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength));
    return new Registry({
        onigLib: Promise.resolve({
            createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
            createOnigString: (text) => new oniguruma.OnigString(text),
        }),
        loadGrammar: async (scope) => {
            const own = contributed.find((g) => g.scopeName === scope);
            const file = own ? path.join(here, own.path) : scope === "text.html.markdown" ? markdown : null;
            return file && parseRawGrammar(fs.readFileSync(file, "utf8"), file);
        },
        getInjections: (scope) => contributed.filter((g) => g.injectTo?.includes(scope)).map((g) => g.scopeName),
    });
}

/// A text line by line, under each the parts that one of these grammars names.
function coloured(grammar, text) {
    let state = INITIAL;
    const out = [];
    for (const line of text.split("\n")) {
        out.push(`| ${line}`.trimEnd());
        const read = grammar.tokenizeLine(line, state);
        assert.equal(read.stoppedEarly, false);
        state = read.ruleStack;
        for (const token of read.tokens) {
            const named = token.scopes.filter((s) => s.endsWith(".haulm") && !s.startsWith("meta."));
            const part = line.slice(token.startIndex, token.endIndex);
            if (named.length > 0 && part.trim() !== "") out.push(`    ${part.trim()}  ${named.join(" ")}`);
        }
    }
    return `${out.join("\n")}\n`;
}

test("samples are coloured as written down", async () => {
    const grammar = await (await registry()).loadGrammar("text.html.markdown");
    const samples = path.join(__dirname, "samples");
    const names = fs.readdirSync(samples).filter((n) => n.endsWith(".md"));
    assert.ok(names.length >= 2);
    for (const name of names) {
        const now = coloured(grammar, fs.readFileSync(path.join(samples, name), "utf8"));
        const kept = path.join(samples, name.replace(/md$/, "colours"));
        if (process.env.HAULM_BLESS) fs.writeFileSync(kept, now);
        assert.equal(now, fs.readFileSync(kept, "utf8"), name);
    }
});
