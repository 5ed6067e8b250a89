"""music21's reading of the tunes under target/corpus/native, kept in target/corpus/readings.

A tune's reading holds one list per part, each entry [onset, duration, [pitches]]: whole notes as
exact fractions ("3/8"), onsets from the first note of the tune, sounding pitches like "F#4".
Chords are one entry, tied notes each their own; rests, grace notes and chord symbols are left out,
repeats are not played out.

The standard lets a file say how far an accidental reaches in its bar (section 11.3); music21 lets
it reach the note alone when the text has no version line. That reading is kept as "default", and
those with the reach "octave" and "pitch" beside it where they differ.

Three of music21's steps are switched off. Its re-barring of bars that are too full cuts a note in
two tied ones, which the text does not say; beaming and the choice of a clef change no note and
take four fifths of the time.

    reading.py [--sample N]     reads what is not yet kept and prints how many tunes there are
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
from music21 import abcFormat, chord, clef, environment, harmony, note, stream
from music21.abcFormat import translate

READINGS = corpus.TARGET / "readings"
REACHES = ("default", "octave", "pitch")
PROCESSES = 2

_warnings: list[str] = []


def _collect_warning(_self, message, *_args, **_keywords) -> None:
    _warnings.append(" ".join(map(str, message)) if isinstance(message, list) else str(message))


def prepare() -> None:
    """Switches off what the module text names, and gathers music21's warnings."""
    translate.reBar = lambda part, **_keywords: part
    stream.Part.makeBeams = lambda self, *_arguments, **_keywords: self
    clef.bestClef = lambda *_arguments, **_keywords: clef.TrebleClef()
    environment.Environment.warn = _collect_warning


def split_tunes(text: str) -> list[str]:
    """The tunes of a file, each from its X: line on, with what stands above the first one."""
    head, *tunes = re.split(r"^(?=X:)", text, flags=re.MULTILINE)
    return [head + tune for tune in tunes]


def tunes_of(path: Path) -> list[str]:
    """The tunes of a file under target/corpus/native."""
    return split_tunes(path.read_text(encoding="utf-8"))


def reference_of(tune: str) -> str:
    """The reference number as typed, without leading zeros."""
    found = re.search(r"^X:[ \t]*([^\n%]*)", tune, re.MULTILINE)
    return plain_reference(found.group(1)) if found else ""


def plain_reference(typed: object) -> str:
    """A reference number as text: trimmed, no leading zeros."""
    text = str(typed).strip()
    return str(int(text)) if text.isdigit() else text


def _whole_notes(quarters: object) -> Fraction:
    return Fraction(quarters).limit_denominator(1 << 20) / 4


def _part_notes(part: stream.Part) -> list[tuple[Fraction, Fraction, list[str]]]:
    """The sounding entries of one part in order, onsets from the start of the part."""
    entries = []
    for element in part.flatten().notes:
        if isinstance(element, harmony.ChordSymbol) or element.duration.isGrace:
            continue
        if not isinstance(element, (note.Note, chord.Chord)):
            continue
        pitches = [pitch.nameWithOctave.replace("-", "b") for pitch in element.pitches]
        onset = _whole_notes(element.offset)
        entries.append((onset, _whole_notes(element.duration.quarterLength), sorted(pitches)))
    return entries


def voices_from_first_note(voices: list[list]) -> list[list]:
    """Silent voices dropped, onsets counted from the first note of the tune, written as text."""
    sounding = [voice for voice in voices if voice]
    start = min((entry[0] for voice in sounding for entry in voice), default=Fraction(0))
    return [[[str(on - start), str(dur), names] for on, dur, names in voice] for voice in sounding]


def _tokens(tune: str, reach: str) -> abcFormat.ABCHandler:
    """The tune taken apart, as ABCHandler.process begins it."""
    handler = abcFormat.ABCHandler()
    if reach != "default":
        handler._accidentalPropagation = lambda: reach
    handler.parseHeaderForVersionInformation(tune[:100])
    handler.tokenize(tune)
    return handler


def _carried(handler: abcFormat.ABCHandler) -> list[str]:
    """The accidental each note takes over from an earlier one of its bar."""
    notes = (token for token in handler.tokens if isinstance(token, abcFormat.ABCNote))
    return [token.carriedAccidental for token in notes]


def read_tune(tune: str) -> dict:
    """music21's reading: {"reaches": {reach: voices}, "warnings": […]} or {"error": …}."""
    _warnings.clear()
    result: dict = {"reference": reference_of(tune), "reaches": {}}
    seen = []
    try:
        for reach in REACHES:
            handler = _tokens(tune, reach)
            carried = _carried(handler)
            if carried in seen:
                continue
            seen.append(carried)
            handler.tokenProcess()
            score = translate.abcToStreamScore(handler)
            voices = voices_from_first_note([_part_notes(part) for part in score.parts])
            result["reaches"][reach] = voices
    except Exception as problem:  # whatever music21 raises is its answer
        return {"reference": result["reference"], "error": f"{type(problem).__name__}: {problem}"}
    if _warnings:
        result["warnings"] = sorted(set(_warnings))
    return result


def _key(content: bytes) -> str:
    """What a kept reading depends on: music21's version, this file and the source."""
    digest = hashlib.sha256(Path(__file__).read_bytes())
    digest.update(content)
    return f"{music21.__version__} {digest.hexdigest()}"


def _place(path: Path) -> Path:
    return READINGS / path.relative_to(corpus.NATIVE).with_suffix(".json")


def _kept(path: Path, key: str) -> list[dict] | None:
    try:
        stored = json.loads(_place(path).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return stored["tunes"] if stored.get("key") == key else None


def _keep(path: Path, key: str, tunes: list[dict]) -> None:
    place = _place(path)
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(json.dumps({"key": key, "tunes": tunes}), encoding="utf-8")


def _chosen(tunes: list[tuple[Path, int]], sample: int | None) -> set[tuple[Path, int]]:
    """All tunes, or the N whose name hashes lowest: the same ones every time."""
    if sample is None:
        return set(tunes)

    def rank(tune: tuple[Path, int]) -> str:
        path, ordinal = tune
        return hashlib.sha256(f"{path.relative_to(corpus.NATIVE)}#{ordinal}".encode()).hexdigest()

    return set(sorted(tunes, key=rank)[:sample])


def readings(sample: int | None = None) -> dict[Path, dict[int, dict]]:
    """Readings by file and ordinal (from 0); only those of the sample when one is asked for."""
    texts, keys, found = {}, {}, {}
    for path in corpus.native_files():
        keys[path] = _key(path.read_bytes())
        texts[path] = tunes_of(path)
    chosen = _chosen([(path, n) for path in texts for n in range(len(texts[path]))], sample)
    for path in {path for path, _ in chosen}:
        stored = _kept(path, keys[path])
        if stored is not None:
            found |= {(path, n): tune for n, tune in enumerate(stored) if (path, n) in chosen}
    missing = sorted(chosen - set(found))
    if missing:
        with multiprocessing.Pool(PROCESSES, initializer=prepare) as pool:
            work = (texts[path][ordinal] for path, ordinal in missing)
            found |= dict(zip(missing, pool.imap(read_tune, work, chunksize=32)))
    result: dict[Path, dict[int, dict]] = {}
    for (path, ordinal), tune in sorted(found.items(), key=lambda item: item[0]):
        result.setdefault(path, {})[ordinal] = tune
    for path in {path for path, _ in missing}:
        if len(result[path]) == len(texts[path]):
            _keep(path, keys[path], list(result[path].values()))
    return result


def main() -> None:
    parser = argparse.ArgumentParser(description="music21's reading of the native ABC files")
    parser.add_argument("--sample", "--limit", type=int, metavar="N", help="N tunes only")
    arguments = parser.parse_args()
    start = time.monotonic()
    tunes = [tune for file in readings(arguments.sample).values() for tune in file.values()]
    errors = sum("error" in tune for tune in tunes)
    print(f"{len(tunes)} tunes, {errors} music21 could not read, {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
