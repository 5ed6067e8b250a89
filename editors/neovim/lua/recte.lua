-- Starts `recte serve` for ABC files and hands it the settings; everything musical is the server's.
-- Works from Neovim 0.7 on.

local M = {}

local clients = {} -- root folder -> client, where Neovim has no vim.lsp.start (before 0.8)

--- The folder of the nearest recte.toml, else of the repository, else of the file.
local function root_of(file)
  local folder = vim.fn.fnamemodify(file, ':p:h')
  local path = vim.fn.escape(folder, ' ,') .. ';'
  local config = vim.fn.findfile('recte.toml', path)
  if config ~= '' then
    return vim.fn.fnamemodify(config, ':p:h')
  end
  local repository = vim.fn.finddir('.git', path)
  if repository ~= '' then
    return vim.fn.fnamemodify(repository, ':p:h:h')
  end
  return folder
end

--- Settings as a JSON object, also when there are none.
local function object(settings)
  return settings and next(settings) and settings or vim.empty_dict()
end

local function send_settings(client, settings)
  client.config.settings = { recte = settings }
  local params = { settings = client.config.settings }
  if vim.fn.has('nvim-0.11') == 1 then
    client:notify('workspace/didChangeConfiguration', params)
  else
    client.notify('workspace/didChangeConfiguration', params)
  end
end

local function attach(buffer, cmd, settings)
  local root = root_of(vim.api.nvim_buf_get_name(buffer))
  local config = {
    name = 'recte',
    cmd = cmd,
    root_dir = root,
    init_options = settings,
    settings = { recte = settings },
  }
  if vim.lsp.start then
    vim.lsp.start(config, { bufnr = buffer })
    return
  end
  local client = clients[root]
  if not (client and vim.lsp.get_client_by_id(client)) then
    client = vim.lsp.start_client(config)
    clients[root] = client
  end
  if client then
    vim.lsp.buf_attach_client(buffer, client)
  end
end

--- Starts the server for every ABC file that is opened from now on.
---@param options table|nil `cmd`: the command, default { 'recte', 'serve' }; `settings`: the keys of recte.toml
function M.setup(options)
  options = options or {}
  M.cmd = options.cmd or { 'recte', 'serve' }
  M.settings = object(options.settings)
  vim.api.nvim_create_autocmd('FileType', {
    group = vim.api.nvim_create_augroup('recte', {}),
    pattern = 'abc',
    callback = function(event)
      attach(event.buf, M.cmd, M.settings)
    end,
  })
end

--- Replaces the settings, and tells the servers that are running.
---@param settings table the keys of recte.toml
function M.configure(settings)
  M.settings = object(settings)
  for _, client in pairs((vim.lsp.get_clients or vim.lsp.get_active_clients)()) do
    if client.name == 'recte' then
      send_settings(client, M.settings)
    end
  end
end

return M
