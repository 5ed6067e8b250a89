# Starts `recte serve` for ABC files through kak-lsp and hands it the settings; everything musical is the server's.
# Source this file after kak-lsp's own commands.

declare-option -docstring 'the program to start, as "recte serve"' str recte_path recte
declare-option -docstring 'settings for the server: TOML lines with the keys of recte.toml' str recte_settings

define-command -hidden recte-set-server %{
    set-option buffer lsp_servers "
        [recte]
        command = '%opt{recte_path}'
        args = ['serve']
        root_globs = ['recte.toml', '.git', '.hg']
        settings_section = 'recte'
        [recte.settings.recte]
%opt{recte_settings}
    "
}

define-command recte-configure -params 1 -docstring '
recte-configure <toml>: replace the settings, and tell the server of this buffer' %{
    set-option global recte_settings %arg{1}
    recte-set-server
}

hook -group recte global BufCreate .+\.abc %{
    set-option buffer filetype abc
}

hook -group recte global BufSetOption filetype=abc recte-set-server

hook -group recte global WinSetOption filetype=abc lsp-enable-window
