#!/usr/bin/env python3
"""One composer's minute in Helix: the misspelled chord is marked, hovered and respelled; settings reach the server.

Run by the `run` script beside this file, in a folder of its own that holds two-bars.abc; RECTE is the program, the first
argument is editors/helix/languages.toml and the rest the command that starts Helix. It is driven as in a terminal: keys
in, the screen out.
"""

import os
import sys
import time

import pexpect
import pyte

CHORD, RESPELLED = "[E_AB]", "[E^GB]"
TITLE = "Respell as E major: E G♯ B"
FINDING = "players expect G sharp."
PATIENCE = 20  # seconds
ROWS, COLUMNS = 30, 120


class Helix:
    """A running editor."""

    def __init__(self, command, config):
        folder = os.path.join(os.environ["XDG_CONFIG_HOME"], "helix")
        os.makedirs(folder, exist_ok=True)
        with open(os.path.join(folder, "languages.toml"), "w", encoding="utf-8") as file:
            file.write(config)
        self.screen = pyte.Screen(COLUMNS, ROWS)
        self.stream = pyte.Stream(self.screen)
        self.child = pexpect.spawn(command[0], [*command[1:], "two-bars.abc"], dimensions=(ROWS, COLUMNS),
                                   encoding="utf-8", env={**os.environ, "TERM": "xterm-256color"})

    def read(self, seconds=0.1):
        """Lets the editor draw for a while and gives the screen's rows."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                self.stream.feed(self.child.read_nonblocking(65536, timeout=0.05))
            except pexpect.TIMEOUT:
                pass
        return self.screen.display

    def sees(self, text):
        """Whether some row of the screen shows the text."""
        return any(text in row for row in self.read())

    def until(self, what, look):
        """Waits until `look` gives something true, and gives it back."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if seen := look():
                return seen
        sys.exit(f"waited {PATIENCE} s for {what}; the screen:\n" + "\n".join(self.read()))

    def keys(self, keys):
        """Types keys, apart from those before: Escape and a key at once would mean Alt."""
        self.read()
        self.child.send(keys)

    def quit(self):
        """Leaves the editor without saving, and sees that it goes."""
        self.keys("\x1b")
        self.keys(":q!\r")
        self.child.expect(pexpect.EOF, timeout=PATIENCE)
        self.child.close()


def hover(helix):
    """Opens the hover and gives the rows it adds."""
    helix.keys("\x1b")
    before = set(helix.read(0.5))
    helix.keys(" k")
    rows = helix.until("the hover", lambda: [row for row in helix.read(0.5) if row not in before])
    return "\n".join(row.strip(" │┌┐└┘─~") for row in rows)


def switched_off(command, config, chord_line):
    """With the rule off in the settings nothing is found, though the server answers."""
    helix = Helix(command, config + '\n[language-server.recte.config]\nrules.chord-spelling = "off"\n')
    helix.until("the score", lambda: helix.sees(CHORD))
    helix.keys(f"{chord_line}ggl")
    helix.until("the hover", lambda: hover(helix).startswith("E major"))
    assert not helix.sees(FINDING), "the settings did not reach the server"
    helix.quit()


def session(command, config, chord_line, before):
    helix = Helix(command, config)
    helix.until("the score", lambda: helix.sees(CHORD))
    helix.keys(f"{chord_line}ggl")
    helix.until("the finding", lambda: helix.sees(FINDING))
    helix.until("the hover with the chord", lambda: hover(helix).startswith("E major"))
    helix.keys("\x1b")
    helix.keys(" a")
    helix.until("the menu of actions", lambda: helix.sees(TITLE))
    helix.keys("\r")
    helix.until("the respelled chord", lambda: helix.sees(RESPELLED))
    helix.until("the finding to go", lambda: not helix.sees(FINDING))
    with open("two-bars.abc", encoding="utf-8") as score:
        assert score.read() == before, "the file was written before it was saved"
    helix.keys("\x1b")
    helix.keys(":w\r")
    helix.until("the file to be saved", lambda: helix.sees("written"))
    with open("two-bars.abc", encoding="utf-8") as score:
        after = score.read()
    assert after == before.replace(CHORD, RESPELLED), after
    helix.quit()


def main():
    with open("two-bars.abc", encoding="utf-8") as score:
        before = score.read()
    with open(sys.argv[1], encoding="utf-8") as file:
        config = file.read().replace('command = "recte"', f'command = "{os.environ["RECTE"]}"')
    chord_line = before[: before.index(CHORD)].count("\n") + 1
    switched_off(sys.argv[2:], config, chord_line)
    session(sys.argv[2:], config, chord_line, before)


main()
