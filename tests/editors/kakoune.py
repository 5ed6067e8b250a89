#!/usr/bin/env python3
"""One composer's minute in Kakoune: the misspelled chord is marked, hovered and respelled; settings reach the server.

Run by the `run` script beside this file, in a folder of its own that holds two-bars.abc and is HOME; RECTE is the program, kak-lsp is
on PATH, and the first argument is editors/kakoune/recte.kak. Kakoune is driven through its own JSON interface.
"""

import json
import os
import re
import subprocess
import sys
import threading
import time

CHORD, RESPELLED = "[E_AB]", "[E^GB]"
TITLE = "Respell as E major: E G♯ B"
PATIENCE = 20  # seconds
SESSION = f"recte-test-{os.getpid()}"


def until(what, look):
    """Waits until `look` gives something true, and gives it back."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if seen := look():
            return seen
        time.sleep(0.05)
    sys.exit(f"waited {PATIENCE} s for {what}")


def plain(lines):
    """The text of lines of styled atoms."""
    return "\n".join("".join(atom["contents"] for atom in line) for line in lines)


class Kakoune:
    """A running editor: keys and commands in, what it shows out."""

    def __init__(self):
        self.shown = {}
        self.process = subprocess.Popen(
            ["kak", "-ui", "json", "-s", SESSION, "two-bars.abc"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        threading.Thread(target=self._listen, daemon=True).start()
        self._send("resize", [40, 120])
        until("the editor to draw", lambda: "draw" in self.shown)

    def _listen(self):
        for line in self.process.stdout:
            message = json.loads(line)
            self.shown[message["method"]] = message["params"]

    def _send(self, method, params):
        self.process.stdin.write(json.dumps({"jsonrpc": "2.0", "method": method, "params": params}) + "\n")
        self.process.stdin.flush()

    def keys(self, *keys):
        """Types keys, in Kakoune's notation."""
        self._send("keys", list(keys))

    def command(self, command):
        """Runs a command as the client."""
        subprocess.run(["kak", "-p", SESSION], input=f"evaluate-commands -client client0 {command}", text=True, check=True)

    def value(self, expansion):
        """What an expansion gives."""
        answer = os.path.join(os.environ["HOME"], "answer")
        self.command(f"%[ echo -to-file {answer} -- %[<]{expansion}%[>] ]")
        text = until(expansion, lambda: os.path.exists(answer) and re.fullmatch(r"< ?(.*?) ?>\s*", open(answer).read(), re.S))
        os.remove(answer)
        return text[1]

    def count(self, severity):
        """How many findings of a severity the editor counts."""
        return int(self.value(f"%opt[lsp_diagnostic_{severity}_count]"))


def session(kak, before):
    until("the first finding, as an error", lambda: kak.count("error") == 1)
    kak.command("""%[ recte-configure 'rules.chord-spelling = "off"' ]""")
    until("no finding while the rule is off", lambda: kak.count("error") == 0)
    assert kak.count("warning") == 0
    kak.command("""%[ recte-configure 'rules.chord-spelling = "warning"' ]""")
    until("the finding as a warning", lambda: kak.count("warning") == 1)

    line, column = before[: before.index(CHORD)].count("\n") + 1, 2
    kak.command(f"%[ select {line}.{column},{line}.{column} ]")
    kak.command("%[ lsp-hover ]")
    hover = plain(until("the hover", lambda: kak.shown.get("info_show"))[1])
    assert re.search(r"\bHover\W+E major\b", hover), f"the hover does not begin with the chord: {hover}"
    words = " ".join(hover.split())
    assert re.search(r"E, A flat, B is an E major \w+; players expect G sharp\.", words), hover

    kak.command("%[ lsp-code-actions quickfix ]")
    until("the menu of actions", lambda: kak.shown.get("menu_show"))
    kak.keys(*TITLE.split()[0])  # typing narrows the menu
    until(f"{TITLE!r} first in the menu", lambda: plain(kak.shown["menu_show"][0]).splitlines()[0].strip() == TITLE)
    kak.keys("<ret>")
    until("the finding to go", lambda: kak.count("warning") == 0)
    with open("two-bars.abc", encoding="utf-8") as score:
        assert score.read() == before, "the file was written before it was saved"
    kak.command("%[ write ]")
    after = until("the saved file", lambda: (text := open("two-bars.abc", encoding="utf-8").read()) != before and text)
    assert after == before.replace(CHORD, RESPELLED), after


def main():
    with open("two-bars.abc", encoding="utf-8") as score:
        before = score.read()
    os.makedirs(os.environ["XDG_CONFIG_HOME"] + "/kak")
    with open(os.environ["XDG_CONFIG_HOME"] + "/kak/kakrc", "w", encoding="utf-8") as rc:
        rc.write(f"""
            evaluate-commands %sh{{kak-lsp}}
            source '{sys.argv[1]}'
            set-option global recte_path '{os.environ["RECTE"]}'
            set-option global recte_settings 'rules.chord-spelling = "error"'
        """)
    kak = Kakoune()
    try:
        session(kak, before)
    finally:
        kak.command("%[ try lsp-exit; kill! ]")
        kak.process.wait(10)


main()
