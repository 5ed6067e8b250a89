"""music21's reading of the scores under target/corpus/scores, kept in target/corpus/score-readings.

A score's reading is a list of parts. A part is one <part> of the file, its staves together; it holds
its measures in order, each a list of streams: {"staff", "notes", "graces"}. A stream is what music21
takes for one voice of one staff in that measure. Its notes are [onset, duration, [pitches]]: whole
notes as exact fractions ("3/8"), onsets from the beginning of the measure, pitches as the file has
them, like "F#4"; its graces are pitches. Chords are one entry, tied notes each their own; rests and
chord symbols are left out, repeats are not played out. "transpose" says how many semitones lie
between the file's pitches and the sound at the part's beginning.

    score_reading.py [--sample N]     reads what is not yet kept and prints how many scores there are
"""

import argparse
import hashlib
import json
import multiprocessing
import re
import time
from fractions import Fraction
from pathlib import Path

import corpus

import music21
from music21 import chord, converter, environment, harmony, instrument, note, stream

READINGS = corpus.TARGET / "score-readings"


def _quiet(_self, *_arguments, **_keywords) -> None:
    pass


def prepare() -> None:
    """music21's warnings are not wanted here."""
    environment.Environment.warn = _quiet


def _whole_notes(quarters: object) -> str:
    return str(Fraction(quarters).limit_denominator(1 << 20) / 4)


def _names(element: note.GeneralNote) -> list[str]:
    if isinstance(element, note.Unpitched):
        return [element.displayName.replace("-", "b")]
    if isinstance(element, (chord.ChordBase,)) and not isinstance(element, chord.Chord):
        return sorted(one.displayName.replace("-", "b") for one in element.notes)
    return sorted(pitch.nameWithOctave.replace("-", "b") for pitch in element.pitches)


def _stream(container: stream.Stream, staff: int) -> dict:
    """The notes directly in a measure or a voice."""
    notes, graces = [], []
    begin = container.offset if isinstance(container, stream.Voice) else 0
    for element in container.getElementsByClass(note.GeneralNote):
        if isinstance(element, (note.Rest, harmony.ChordSymbol)):
            continue
        if element.duration.isGrace:
            graces += _names(element)
            continue
        onset = _whole_notes(begin + element.offset)
        duration = _whole_notes(element.duration.quarterLength)
        notes.append([onset, duration, _names(element)])
    notes.sort(key=lambda entry: Fraction(entry[0]))
    return {"staff": staff, "notes": notes, "graces": sorted(graces)}


def _measure(measure: stream.Measure, staff: int) -> list[dict]:
    containers = [measure, *measure.voices]
    streams = [_stream(container, staff) for container in containers]
    return [one for one in streams if one["notes"] or one["graces"]]


def read_score(path: Path) -> dict:
    """{"parts": […]} or {"error": …}."""
    parts: dict[str, dict] = {}
    try:
        score = converter.parse(path, forceSource=True)
        for number, part in enumerate(score.parts):
            found = re.fullmatch(r"(.*)-Staff(\d+)", str(part.id))
            name, staff = (found[1], int(found[2])) if found else (f"{number} {part.id}", 1)
            measures = [_measure(one, staff) for one in part.getElementsByClass(stream.Measure)]
            known = parts.setdefault(name, {"measures": [], "transpose": 0})
            for one in part.recurse().getElementsByClass(instrument.Instrument):
                if one.transposition is not None and not known["transpose"]:
                    known["transpose"] = int(one.transposition.semitones)
            for index, streams in enumerate(measures):
                if index == len(known["measures"]):
                    known["measures"].append([])
                known["measures"][index] += streams
    except Exception as problem:  # whatever music21 raises is its answer
        return {"error": f"{type(problem).__name__}: {problem}"}
    return {"parts": list(parts.values())}


def _key(path: Path) -> str:
    """What a kept reading depends on: music21's version, this file and the source."""
    digest = hashlib.sha256(Path(__file__).read_bytes())
    digest.update(path.read_bytes())
    return f"{music21.__version__} {digest.hexdigest()}"


def _place(path: Path) -> Path:
    place = READINGS / path.relative_to(corpus.SCORES)
    return place.with_name(place.name + ".json")


def _kept(path: Path) -> dict | None:
    try:
        stored = json.loads(_place(path).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return stored["reading"] if stored.get("key") == _key(path) else None


def _read_and_keep(path: Path) -> dict:
    reading = read_score(path)
    place = _place(path)
    place.parent.mkdir(parents=True, exist_ok=True)
    text = json.dumps({"key": _key(path), "reading": reading})
    place.write_text(text, encoding="utf-8")
    return reading


def readings(sample: int | None = None) -> dict[Path, dict]:
    """Readings by file: all, or the N whose name hashes lowest, the same ones every time."""

    def rank(path: Path) -> str:
        return hashlib.sha256(path.relative_to(corpus.SCORES).as_posix().encode()).hexdigest()

    paths = sorted(corpus.score_files(), key=rank)[:sample]
    found = {path: _kept(path) for path in paths}
    missing = [path for path in paths if found[path] is None]
    if missing:
        with multiprocessing.Pool(corpus.PROCESSES, initializer=prepare, maxtasksperchild=50) as pool:
            found |= dict(zip(missing, pool.imap(_read_and_keep, missing)))
    return dict(sorted(found.items()))


def main() -> None:
    parser = argparse.ArgumentParser(description="music21's reading of the scores")
    parser.add_argument("--sample", type=int, metavar="N", help="N scores only")
    arguments = parser.parse_args()
    start = time.monotonic()
    found = readings(arguments.sample)
    errors = sum("error" in reading for reading in found.values())
    print(f"{len(found)} scores, {errors} music21 could not read, {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
