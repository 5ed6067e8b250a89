"""What the program under test says, for the comparisons."""

import json
import subprocess
from pathlib import Path

SECONDS_PER_FILE = 120
# Semitones of the natural notes above C.
NATURALS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def notes_of(binary: Path, path: Path) -> list[dict] | str:
    """The tunes `recte notes` finds in one file or folder, or what went wrong."""
    return tunes_of(binary, "notes", path)


def tunes_of(binary: Path, listing: str, path: Path) -> list[dict] | str:
    """The tunes that `recte notes` or `recte chords` lists for one file or folder, or what went wrong."""
    command = [str(binary), listing, "--format", "json", str(path)]
    try:
        run = subprocess.run(command, capture_output=True, timeout=SECONDS_PER_FILE, check=False)
        if run.returncode != 0:
            said = run.stderr.decode("utf-8", "replace").strip()[:200]
            return f"recte ended with {run.returncode}: {said}"
        return json.loads(run.stdout)["tunes"]
    except (OSError, ValueError, KeyError, subprocess.TimeoutExpired) as problem:
        return f"{type(problem).__name__}: {problem}"
