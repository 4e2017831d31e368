-- Neovim 0.7 or newer. Put this in a file of your own and load it from init.lua, or copy it there.
-- Where your journals are: each folder is one farm, with all its Markdown files.
local journals = vim.g.haulm_journals or { "~/notes" }
local command = vim.g.haulm_command or { "haulm", "lsp" }

local function journal_of(buffer)
    local name = vim.loop.fs_realpath(vim.api.nvim_buf_get_name(buffer)) or vim.api.nvim_buf_get_name(buffer)
    for _, folder in ipairs(journals) do
        local real = vim.loop.fs_realpath(vim.fn.expand(folder))
        if real and name:sub(1, #real + 1) == real .. "/" then return real end
    end
end

local clients = {}

vim.api.nvim_create_autocmd({ "BufReadPost", "BufNewFile" }, {
    pattern = "*.md",
    callback = function(args)
        local root = journal_of(args.buf)
        if not root then return end
        local config = { name = "haulm", cmd = command, root_dir = root }
        if vim.lsp.start then
            vim.lsp.start(config, { bufnr = args.buf })
        else
            -- Neovim 0.7 starts and attaches in two steps.
            if not clients[root] or not vim.lsp.get_client_by_id(clients[root]) then
                clients[root] = vim.lsp.start_client(config)
            end
            vim.lsp.buf_attach_client(args.buf, clients[root])
        end
    end,
})
