"""A Python client that speaks as several editors do; what it is told is compared with what `check` says."""

import asyncio
import json
import os
import pathlib
import shutil
import subprocess
import tempfile

import pytest
import pytest_lsp
from lsprotocol import types as T
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities

HAULM = os.environ["HAULM"]
TODAY = os.environ["HAULM_TODAY"]
NAME = "2026-spring.md"
SEVERITY = {"alarm": 1, "error": 1, "warn": 2, "hint": 3}


@pytest_lsp.fixture(
    config=ClientServerConfig(server_command=[HAULM, "lsp", "--today", TODAY]),
    params=["neovim", "visual_studio_code", "emacs"],
)
async def client(request, lsp_client: LanguageClient):
    farm = pathlib.Path(tempfile.mkdtemp(dir=os.environ["HAULM_SCRATCH"])) / "my farm"
    shutil.copytree(os.environ["HAULM_FARM"], farm)
    lsp_client.farm = farm
    for asked in ("client/registerCapability", "workspace/inlayHint/refresh"):
        lsp_client.feature(asked)(lambda *_: None)
    capabilities = client_capabilities(request.param)
    said = await lsp_client.initialize_session(
        T.InitializeParams(capabilities=capabilities, root_uri=farm.as_uri())
    )
    lsp_client.encoding = said.capabilities.position_encoding or "utf-16"
    workspace = capabilities.workspace and capabilities.workspace.diagnostics
    lsp_client.pulls = bool(
        capabilities.text_document.diagnostic and workspace and workspace.refresh_support
    )
    yield
    await lsp_client.shutdown_session()


def column(client, line, character):
    """A column of the protocol as one that counts characters."""
    encoded = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[client.encoding]
    unit = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[client.encoding]
    return len(line.encode(encoded)[: character * unit].decode(encoded))


def units(client, text):
    encoded = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[client.encoding]
    unit = {"utf-8": 1, "utf-16": 2, "utf-32": 4}[client.encoding]
    return len(text.encode(encoded)) // unit


def checked(client):
    """The findings of `check` on the files as they stand on the disk."""
    command = [HAULM, "check", str(client.farm), "--today", TODAY, "--format", "json"]
    out = subprocess.run(command, capture_output=True, text=True).stdout
    found = []
    for f in json.loads(out)["findings"]:
        if f["at"]:
            ends = [(f["at"][end]["line"] - 1, f["at"][end]["column"] - 1) for end in ("start", "end")]
            found.append((f["at"]["file"], *ends, SEVERITY[f["severity"]], f["code"], f["message"]))
    return sorted(found)


async def shown(client, text):
    """What the server says, of files pushed and of the one asked about."""
    lists = {uri: list(found) for uri, found in client.diagnostics.items()}
    open_uri = (client.farm / NAME).as_uri()
    if client.pulls:
        report = await client.text_document_diagnostic_async(
            T.DocumentDiagnosticParams(T.TextDocumentIdentifier(open_uri))
        )
        lists[open_uri] = list(report.items)
    found = []
    for uri, diagnostics in lists.items():
        name = next((p.name for p in client.farm.iterdir() if p.as_uri() == uri), None)
        lines = (text if name == NAME else (client.farm / name).read_text()).split("\n")
        for d in diagnostics:
            ends = [(p.line, column(client, lines[p.line], p.character)) for p in (d.range.start, d.range.end)]
            message = d.message.split("\n")[0].removeprefix("alarm: ")
            found.append((name, *ends, int(d.severity), d.code, message))
    return sorted(found)


async def agrees(client, text):
    due = checked(client)
    assert due
    for _ in range(600):
        now = await shown(client, text)
        if now == due:
            return
        await asyncio.sleep(0.05)
    assert now == due


@pytest.mark.asyncio
async def test_what_is_shown_is_what_check_says(client: LanguageClient):
    path = client.farm / NAME
    uri = path.as_uri()
    this = T.TextDocumentIdentifier(uri)
    text = path.read_text()

    def place(needle, further=0):
        at = text.index(needle) + further
        line = text.count("\n", 0, at)
        before = text[text.rfind("\n", 0, at) + 1 : at]
        return T.Position(line, units(client, before))

    client.text_document_did_open(
        T.DidOpenTextDocumentParams(T.TextDocumentItem(uri, "markdown", 1, text))
    )
    await agrees(client, text)

    added = "\n## 2026-04-30\n- noticed cuped leaves on tomato in east-1 🍅: 🍅\n- spread lot zz-9 on east-1\n"
    end = T.Position(text.count("\n"), 0)
    change = T.TextDocumentContentChangePartial(range=T.Range(end, end), text=added)
    client.text_document_did_change(
        T.DidChangeTextDocumentParams(T.VersionedTextDocumentIdentifier(version=2, uri=uri), [change])
    )
    text += added
    path.write_text(text)
    client.text_document_did_save(T.DidSaveTextDocumentParams(this))
    await agrees(client, text)

    hover = await client.text_document_hover_async(T.HoverParams(this, place("sowed 60", 2)))
    assert "sowed" in hover.contents.value

    here = place("cuped", 2)
    actions = await client.text_document_code_action_async(
        T.CodeActionParams(this, T.Range(here, here), T.CodeActionContext([]))
    )
    fix = next(a for a in actions if a.is_preferred)
    [edit] = fix.edit.changes[uri]
    start, stop = place("cuped leaves"), place("cuped leaves", len("cuped leaves"))
    assert (edit.range, edit.new_text) == (T.Range(start, stop), "cupped leaves")
    text = text.replace("cuped leaves", "cupped leaves")
    change = T.TextDocumentContentChangePartial(range=edit.range, text=edit.new_text)
    client.text_document_did_change(
        T.DidChangeTextDocumentParams(T.VersionedTextDocumentIdentifier(version=3, uri=uri), [change])
    )
    path.write_text(text)
    await agrees(client, text)

    renamed = await client.text_document_rename_async(
        T.RenameParams(this, place("lot own-26", 5), "potting-26")
    )
    assert renamed.changes
    for changed, edits in renamed.changes.items():
        file = next(p for p in client.farm.iterdir() if p.as_uri() == changed)
        lines = file.read_text().split("\n")
        for edit in sorted(edits, key=lambda e: (e.range.start.line, e.range.start.character), reverse=True):
            line = lines[edit.range.start.line]
            a = column(client, line, edit.range.start.character)
            b = column(client, line, edit.range.end.character)
            assert line[a:b].lower().replace(" ", "-") == "own-26"
            lines[edit.range.start.line] = line[:a] + edit.new_text + line[b:]
        file.write_text("\n".join(lines))
    text = path.read_text()
    client.text_document_did_change(
        T.DidChangeTextDocumentParams(
            T.VersionedTextDocumentIdentifier(version=4, uri=uri),
            [T.TextDocumentContentChangeWholeDocument(text=text)],
        )
    )
    client.workspace_did_change_watched_files(T.DidChangeWatchedFilesParams([]))
    await agrees(client, text)
    assert "lot own-26" not in text
