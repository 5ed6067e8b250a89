"""The names of notes for `spelling.py`: taken away from texts, found by `recte respell` and by ps13s1.

Places on the line of fifths stand for names: F −1, C 0, G 1 … F sharp 6.
"""

import hashlib
import json
import re
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path

import corpus
from recte import NATURALS, notes_of

WORK = corpus.ROOT / "target" / "spelling"
FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
SHARPS = ["=C", "^C", "=D", "^D", "=E", "=F", "^F", "=G", "^G", "=A", "^A", "=B"]


# Names and texts


def fifths(name: str) -> int:
    """The place of "F#4" on the line of fifths, C = 0; its octave does not matter."""
    return FIFTHS[name[0]] + 7 * (name.count("#") - name[1:].count("b"))


def midi(name: str) -> int:
    octave = int(name.lstrip("ABCDEFG#b"))
    return 12 * (octave + 1) + NATURALS[name[0]] + name.count("#") - name[1:].count("b")


def sharp_text(key: int) -> str:
    """A white key or a sharp, as typed."""
    sign, letter = SHARPS[key % 12]
    octave = key // 12 - 1
    return sign + (letter.lower() + "'" * (octave - 5) if octave >= 5 else letter + "," * (4 - octave))


TOKEN = re.compile(r"(?:\^\^|__|[\^_=])?([A-Ga-g])([,']*)")
KEY = re.compile(r"(^|\[)K:(?!clef)[A-G][#b]?\w*", re.MULTILINE)


def forgotten(text: str, voices: list[dict], signatures: bool) -> str:
    """The text with every note typed as a white key or a sharp, and, if asked for, without any signature."""
    lines = text.split("\n")
    notes = [note for voice in voices for note in voice["notes"]]
    for note in sorted(notes, key=lambda n: (n["range"]["start"]["line"], -n["range"]["start"]["character"])):
        start, end = note["range"]["start"], note["range"]["end"]
        # The places count UTF-16 units; nothing in a score needs two of them.
        line = lines[start["line"]]
        typed = TOKEN.fullmatch(line[start["character"] : end["character"]])
        letter, octaves = typed.groups()
        octave = (5 if letter.islower() else 4) + octaves.count("'") - octaves.count(",")
        written = re.sub(r"-?\d+$", str(octave), note["written"])
        lines[start["line"]] = line[: start["character"]] + sharp_text(midi(written)) + line[end["character"] :]
    text = "\n".join(lines)
    return KEY.sub(r"\1K:none", text) if signatures else text


# Recte


def recte(binary: Path, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([binary, *arguments], capture_output=True, check=False)


def notes_in(binary: Path, folder: Path) -> dict[str, list[dict]]:
    """The voices of every text in a folder, by its place in it."""
    tunes = notes_of(binary, folder)
    if isinstance(tunes, str):
        raise SystemExit(f"{folder}: {tunes}")
    return {Path(tune["path"]).relative_to(folder).as_posix(): tune["voices"] for tune in tunes}


def sounds(voices: list[dict]) -> list[dict]:
    """Every note once, in the order of the text; what a tie leads to is no note of its own."""
    return [note for voice in voices for note in voice["notes"] if not note["tied"]]


def imported(binary: Path) -> Path:
    """The scores as texts, made anew by the program."""
    shutil.rmtree(WORK / "imported", ignore_errors=True)
    for folder in sorted({path.parent for path in corpus.score_files()}):
        target = WORK / "imported" / folder.relative_to(corpus.SCORES)
        files = [str(path) for path in corpus.score_files() if path.parent == folder]
        recte(binary, "import", *files, "-o", str(target))
    return WORK / "imported"


def respelled(binary: Path, name: str, texts: dict[str, str], truth: dict[str, list[dict]]) -> dict[str, list[dict]]:
    """The notes of texts after `recte respell --write`; those it leaves as they are, or that do not sound as the
    scores do, are left out."""
    folder = WORK / name
    shutil.rmtree(folder, ignore_errors=True)
    for piece, text in texts.items():
        path = folder / piece
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    said = recte(binary, "respell", "--write", str(folder)).stderr.decode("utf-8", "replace")
    left = [line for line in said.splitlines() if " left " in line]
    after = notes_in(binary, folder)
    done = {}
    for piece in texts:
        keys, wanted = ([n["midi"] for n in sounds(voices[piece])] for voices in (after, truth))
        if keys != wanted or any(line.startswith(f"{folder / piece}") for line in left):
            print(f"{piece}: not respelled; all its notes count as wrong")
        else:
            done[piece] = after[piece]
    return done


def struck(voices: list[dict]) -> list[tuple[float, int]]:
    """The onsets in quarters and the keys, which is all that ps13s1 is told."""
    return [(float(4 * Fraction(note["onset"])), note["midi"]) for note in sounds(voices)]


# ps13s1


def ps13s1(notes: list[tuple[float, int]]) -> list[int]:
    """The names that ps13s1 gives, as places on the line of fifths; `notes` are onsets in quarters and keys."""
    import numpy
    from partitura.musicanalysis import estimate_spelling

    fields = [("onset_beat", "f8"), ("duration_beat", "f8"), ("pitch", "i8")]
    array = numpy.array([(onset, 1.0, key) for onset, key in notes], dtype=fields)
    named = estimate_spelling(array)
    return [FIFTHS[step] + 7 * int(alter) for step, alter in zip(named["step"], named["alter"])]


def kept_ps13s1(notes: list[tuple[float, int]]) -> list[int]:
    """The same, looked up by the notes if it was worked out before."""
    digest = hashlib.sha1(json.dumps(["partitura 1.9.0", notes]).encode()).hexdigest()
    path = WORK / "ps13s1" / f"{digest}.json"
    if path.exists():
        return json.loads(path.read_text(encoding="utf-8"))
    try:
        names = ps13s1(notes)
    except Exception as problem:  # whatever it raises, its notes count as wrong
        print(f"ps13s1: {type(problem).__name__}: {problem}")
        names = []
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(names), encoding="utf-8")
    return names
