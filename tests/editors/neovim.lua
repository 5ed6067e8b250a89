-- One composer's minute in Neovim, headless: the misspelled chord is marked, hovered and respelled; white space is set in
-- order; settings reach the server.
-- Run by the `run` script beside this file, in a folder of its own that holds two-bars.abc; RECTE is the program.

local CHORD, RESPELLED = '[E_AB]', '[E^GB]'
local TITLE = 'Respell as E major: E G♯ B'
local PATIENCE = 20000

local function fail(message)
  io.stderr:write(message .. '\n')
  vim.cmd('cquit 1')
end

local function until_true(what, look)
  if not vim.wait(PATIENCE, look, 50) then
    error('waited ' .. PATIENCE / 1000 .. ' s for ' .. (type(what) == 'function' and what() or what), 0)
  end
end

local function same(seen, wanted, what)
  if seen ~= wanted then
    error(what .. ': saw ' .. vim.inspect(seen) .. ', wanted ' .. vim.inspect(wanted), 0)
  end
end

local function findings()
  return vim.tbl_filter(function(d)
    return d.source == 'recte'
  end, vim.diagnostic.get(0))
end

local function severity_becomes(severity)
  until_true('a finding of severity ' .. severity, function()
    local all = findings()
    return #all == 1 and all[1].severity == severity
  end)
end

local function text()
  return table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n')
end

--- The text of the floating window that the editor's own hover opens.
local function hover()
  vim.lsp.buf.hover()
  local shown
  until_true('the hover window', function()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= '' then
        shown = vim.api.nvim_buf_get_lines(vim.api.nvim_win_get_buf(window), 0, -1, false)
        vim.api.nvim_win_close(window, true)
        return true
      end
    end
  end)
  return table.concat(shown, '\n')
end

--- Opens the editor's own menu of actions and takes the one with our title.
local function quick_fix()
  local offered
  vim.ui.select = function(items, options, choose)
    offered = {}
    for index, item in ipairs(items) do
      local label = options.format_item(item)
      table.insert(offered, label)
      if vim.startswith(label, TITLE) then
        choose(item, index)
        return
      end
    end
  end
  vim.lsp.buf.code_action()
  until_true(function()
    return 'the respelled chord; offered: ' .. vim.inspect(offered)
  end, function()
    return text():find(RESPELLED, 1, true) ~= nil
  end)
end

--- The editor's own formatting, under the name it has in this version.
local function format()
  if vim.lsp.buf.format then
    vim.lsp.buf.format({ timeout_ms = PATIENCE })
  else
    vim.lsp.buf.formatting_sync(nil, PATIENCE)
  end
end

local function session()
  local recte = require('recte')
  recte.setup({ cmd = { vim.env.RECTE, 'serve' }, settings = { rules = { ['chord-spelling'] = 'error' } } })
  vim.cmd('edit two-bars.abc')
  same(vim.bo.filetype, 'abc', 'the file type')
  local before = text()

  severity_becomes(vim.diagnostic.severity.ERROR)
  recte.configure({ rules = { ['chord-spelling'] = 'off' } })
  until_true('no finding while the rule is off', function()
    return #findings() == 0
  end)
  recte.configure({ rules = { ['chord-spelling'] = 'warning' } })
  severity_becomes(vim.diagnostic.severity.WARN)
  local finding = findings()[1]
  same(finding.message:gsub('E major %w+', 'E major chord'), 'E, A flat, B is an E major chord; players expect G sharp.', 'the message')

  local start = before:find(CHORD, 1, true)
  local line = select(2, before:sub(1, start):gsub('\n', ''))
  same(finding.lnum, line, 'the line of the finding')
  vim.api.nvim_win_set_cursor(0, { line + 1, finding.col + 1 })
  local shown = hover()
  if not shown:match('^%**E major') then
    error('the hover does not begin with the chord: ' .. shown, 0)
  end

  quick_fix()
  same(text(), before:sub(1, start - 1) .. RESPELLED .. before:sub(start + #CHORD), 'the text after the quick fix')
  until_true('the finding to go', function()
    return #findings() == 0
  end)

  local last = vim.api.nvim_buf_line_count(0)
  local music = vim.api.nvim_buf_get_lines(0, last - 1, last, false)[1]
  vim.api.nvim_buf_set_lines(0, last - 1, last, false, { (music:gsub(' ', '   ')) .. '  ' })
  format()
  same(vim.api.nvim_buf_get_lines(0, last - 1, last, false)[1], music, 'the line after formatting')
  same(#(vim.lsp.get_clients or vim.lsp.get_active_clients)(), 1, 'the number of servers')
end

local fine, problem = pcall(session)
if not fine then
  fail(tostring(problem))
else
  vim.cmd('qall!')
end
