-- Neovim (0.7 or newer) as a client: what it shows is compared with what `check` says, byte for byte.
-- Run headless in a copy of a farm: nvim --headless -u NONE -c "luafile neovim.lua"
local haulm, today = vim.env.HAULM, vim.env.HAULM_TODAY
local farm = vim.loop.fs_realpath(vim.loop.cwd())
local published = {}

local function fail(said)
    io.stdout:write("neovim: FAILED: " .. said .. "\n")
    vim.cmd("cquit 1")
end

local function read(name)
    local file = assert(io.open(farm .. "/" .. name, "rb"))
    local text = file:read("*a")
    file:close()
    return text
end

local function lines(text)
    local starts, found = {}, {}
    local at = 1
    while true do
        local stop = text:find("\n", at, true)
        table.insert(starts, at - 1)
        table.insert(found, text:sub(at, (stop or #text + 1) - 1))
        if not stop then return starts, found end
        at = stop + 1
    end
end

-- Findings of `check` as "file start end code message".
local function checked()
    local out = vim.fn.system({ haulm, "check", farm, "--today", today, "--format", "json" })
    local found = {}
    for _, f in ipairs(vim.fn.json_decode(out).findings) do
        if type(f.at) == "table" then
            table.insert(found, table.concat({ f.at.file, f.at.start.offset, f.at["end"].offset, f.code, f.message }, " "))
        end
    end
    table.sort(found)
    return found
end

-- What the server published, in the same form; columns are UTF-16 here.
local function shown()
    local found = {}
    for uri, list in pairs(published) do
        local name = vim.uri_to_fname(uri):sub(#farm + 2)
        if #list > 0 then
            local starts, text = lines(read(name))
            local function offset(p)
                return starts[p.line + 1] + vim.str_byteindex(text[p.line + 1], p.character, true)
            end
            for _, d in ipairs(list) do
                local first = d.message:gsub("\n.*", ""):gsub("^alarm: ", "")
                local from, to = offset(d.range.start), offset(d.range["end"])
                table.insert(found, table.concat({ name, from, to, d.code, first }, " "))
            end
        end
    end
    table.sort(found)
    return found
end

local function agrees(when)
    local due = checked()
    local now
    local ok = vim.wait(60000, function()
        local read_well, list = pcall(shown)
        now = list
        return read_well and table.concat(list, "\n") == table.concat(due, "\n")
    end, 50)
    if not ok then
        local missing = {}
        for n = 1, math.max(#due, #now) do
            if due[n] ~= now[n] then
                table.insert(missing, "check: " .. tostring(due[n]) .. "\nshown: " .. tostring(now[n]))
                break
            end
        end
        fail(when .. ": " .. #due .. " findings of check, " .. #now .. " shown\n" .. table.concat(missing, "\n"))
    end
    io.stdout:write("neovim: " .. when .. ": " .. #due .. " findings, the same as check\n")
end

local function run()
    vim.lsp.handlers["textDocument/publishDiagnostics"] = function(err, result, ctx, config)
        published[result.uri] = result.diagnostics
        vim.lsp.diagnostic.on_publish_diagnostics(err, result, ctx, config)
    end
    -- The set-up that growers are given.
    vim.g.haulm_journals = { farm }
    vim.g.haulm_command = { haulm, "lsp", "--today", today }
    dofile(vim.env.HAULM_EDITORS .. "/neovim.lua")
    vim.cmd("edit " .. farm .. "/2026-spring.md")
    local id
    if not vim.wait(60000, function()
        id = next(vim.lsp.buf_get_clients(0))
        return id ~= nil
    end, 20) then fail("the set-up started no server") end
    agrees("opened")

    local function ask(method, params)
        local all = vim.lsp.buf_request_sync(0, method, params, 60000)
        local answer = all and all[id]
        if not answer or answer.err or answer.error then
            fail(method .. ": " .. vim.inspect(answer))
        end
        return answer.result
    end
    local function cursor(pattern, columns)
        vim.fn.cursor(1, 1)
        if vim.fn.search(pattern) == 0 then fail("nothing like " .. pattern) end
        vim.fn.cursor(vim.fn.line("."), vim.fn.col(".") + columns)
        return vim.lsp.util.make_position_params(0, "utf-16")
    end

    vim.fn.append(vim.fn.line("$"), { "", "## 2026-04-30", "- noticed cuped leaves on tomato in east-1 🍅", "- spread lot zz-9 on east-1" })
    vim.cmd("silent write")
    agrees("edited and saved")

    local hover = ask("textDocument/hover", cursor("- sowed 60", 3))
    if not hover.contents.value:find("sowed", 1, true) then fail("hover: " .. vim.inspect(hover)) end

    local params = cursor("cuped", 2)
    local range = { start = params.position, ["end"] = params.position }
    local actions = ask("textDocument/codeAction",
        { textDocument = params.textDocument, range = range, context = { diagnostics = {} } })
    local fix
    for _, action in ipairs(actions) do
        if action.kind == "quickfix" and action.isPreferred then fix = fix or action end
    end
    if not fix then fail("no correction among " .. vim.inspect(actions)) end
    vim.lsp.util.apply_workspace_edit(fix.edit, "utf-16")
    if vim.fn.search("cupped leaves on tomato in east-1 🍅") == 0 then fail("not corrected") end
    vim.cmd("silent write")
    agrees("corrected")

    local rename = cursor("lot own-26", 5)
    rename.newName = "potting-26"
    vim.lsp.util.apply_workspace_edit(ask("textDocument/rename", rename), "utf-16")
    vim.cmd("silent wall")
    agrees("renamed")
    local left = vim.fn.search("^- .*lot own-26", "n")
    if left ~= 0 then fail("a line still says own-26: " .. vim.fn.getline(left)) end

    local client = vim.lsp.get_client_by_id(id)
    client.stop()
    if not vim.wait(10000, function() return client.is_stopped() end, 20) then fail("the server did not end") end
    io.stdout:write("neovim: ended well\n")
end

local ok, err = pcall(run)
if not ok then fail(tostring(err)) end
vim.cmd("qa!")
