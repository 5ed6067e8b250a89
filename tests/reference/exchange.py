"""Reads back what `recte export` writes, tune by tune: the schema's word on the MusicXML, music21's
reading of it beside `recte notes`, and music21's reading of the MIDI file beside its own reading of the
MusicXML with repeats played out.

    exchange.py RECTE_BINARY [--sample N]     all native tunes, or N of them; always all of tests/scores

Full runs write exchange-differences.csv beside this file. The exit code is 1 when a document fails the
schema, or a difference is not among those listed there. README.md says what is compared.
"""

import argparse
import copy
import csv
import json
import multiprocessing
import subprocess
import sys
import tempfile
import time
import warnings
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import corpus
import reading
import schema

from music21 import articulations, chord, converter, environment, harmony, instrument, note, repeat, stream

ROOT = corpus.ROOT
SCORES = ROOT / "tests" / "scores"
SOUNDS = ROOT / "server" / "exchange" / "data" / "general-midi.csv"
TABLE = Path(__file__).with_name("exchange-differences.csv")
COLUMNS = ["folder", "file", "reference", "what", "difference", "reason"]
TICKS = 10080
SECONDS = 120

_checker = None
_recte = None


@dataclass
class Result:
    """What was found of one tune: faults of the schema, differences of the notes and of the sound."""

    place: tuple[str, str, str]
    faults: list[str]
    notes: str | None = None
    sound: str | None = None


def prepare(recte: Path) -> None:
    global _checker, _recte
    _checker, _recte = schema.schema(), recte
    warnings.simplefilter("ignore")
    environment.Environment.warn = lambda *_arguments, **_keywords: None


def run(arguments: list[str], text: str) -> subprocess.CompletedProcess:
    command = [str(_recte), *arguments]
    return subprocess.run(
        command, input=text.encode(), capture_output=True, timeout=SECONDS, check=False
    )


# What Recte understands


def joined(entries: list[tuple]) -> list[tuple]:
    """Rows (onset, end, pitch, goes on from a tie) with tied ones made one."""
    rows: list[list] = []
    for onset, end, pitch, continues in sorted(entries):
        held = None
        if continues:
            held = next((r for r in reversed(rows) if r[2] == pitch and r[1] == onset), None)
        if held is None:
            rows.append([onset, end, pitch])
        else:
            held[1] = end
    return sorted(map(tuple, rows))


def our_voices(tune: dict) -> list[tuple[str, list, list]]:
    """(name, sounding rows, grace pitches) of each voice that has notes."""
    voices = []
    for voice in tune["voices"]:
        rows, grace = [], []
        for item in voice["notes"]:
            if item["grace"]:
                grace.append(item["pitch"])
                continue
            onset = Fraction(item["onset"])
            rows.append((onset, onset + Fraction(item["duration"]), item["pitch"], item["tied"]))
        voices.append((voice["name"] or voice["id"], joined(rows), sorted(grace)))
    return voices


# What music21 reads


def name_of(pitch) -> str:
    return pitch.nameWithOctave.replace("-", "b")


def whole_notes(quarters: object) -> Fraction:
    return Fraction(quarters).limit_denominator(1 << 20) / 4


def sounding(part: stream.Part) -> tuple[dict[str, list], list]:
    """Rows by voice number, and grace pitches, of a part."""
    rows: dict[str, list] = {}
    grace = []
    for measure in part.getElementsByClass(stream.Measure):
        inner = [("1", measure), *((str(v.id), v) for v in measure.voices)]
        for number, voice in inner:
            for element in voice.notes:
                if isinstance(element, harmony.Harmony):
                    continue
                several = isinstance(element, chord.Chord)
                members = element.notes if several else [element]
                onset = whole_notes(measure.offset + element.offset)
                end = onset + whole_notes(element.duration.quarterLength)
                for member in members:
                    unpitched = isinstance(member, note.Unpitched)
                    name = member.displayName if unpitched else name_of(member.pitch)
                    if element.duration.isGrace:
                        grace.append(name)
                        continue
                    tie = member.tie or (None if several else element.tie)
                    continues = tie is not None and tie.type in ("stop", "continue")
                    rows.setdefault(number, []).append((onset, end, name, continues))
    return {number: joined(found) for number, found in rows.items()}, sorted(grace)


def printed_names(document: bytes) -> list[list[str]]:
    """The voices of each part, as the part list names them."""
    tree = schema.etree.fromstring(document)
    return [part.findtext("part-name").split(", ") for part in tree.iter("score-part")]


def first_difference(ours: list, theirs: list) -> str:
    mine, other = Counter(ours), Counter(theirs)
    only, extra = sorted((mine - other).elements()), sorted((other - mine).elements())

    def told(rows: list) -> str:
        return "nothing" if not rows else " ".join(str(part) for part in rows[0])

    return f"ours {told(only)}, music21 {told(extra)} ({len(only)} and {len(extra)} rows)"


def compare_notes(tune: dict, document: bytes, score: stream.Score) -> str | None:
    """How music21's reading differs from ours; None when it does not."""
    ours = our_voices(tune)
    parts = list(score.parts)
    names = printed_names(document)
    if len(parts) != len(names):
        return f"{len(names)} parts written, {len(parts)} read"
    for part, together in zip(parts, names):
        mine = []
        for name in together:
            place = next((n for n, voice in enumerate(ours) if voice[0] == name), None)
            if place is None:
                return f"no voice {name}"
            mine.append(ours.pop(place))
        rows, grace = sounding(part)
        if sorted(sum((voice[2] for voice in mine), [])) != grace:
            return f"grace notes: ours {len(sum((v[2] for v in mine), []))}, music21 {len(grace)}"
        numbers = sorted(rows, key=int)
        if len(numbers) == len(together) > 1:
            pairs = [(voice[1], rows[number]) for voice, number in zip(mine, numbers)]
        else:
            pairs = [(sorted(sum((v[1] for v in mine), [])), sorted(sum(rows.values(), [])))]
        for left, right in pairs:
            if left != right:
                return first_difference(left, right)
    return None


# What sounds


def struck(score: stream.Stream) -> dict[tuple[int, int], tuple[int, bool]]:
    """What sounds: (onset in ticks, key) to its end, and whether a sign shortens it. Ties are joined; of one key
    struck twice at once the longer stays, and a key that is struck again is let go before."""
    entries, short = [], set()
    for part in score.parts if isinstance(score, stream.Score) else [score]:
        for element in part.flatten().notes:
            if isinstance(element, harmony.Harmony) or element.duration.isGrace:
                continue
            onset, end = (ticks(element.offset + extra) for extra in (0, element.duration.quarterLength))
            signs = {type(sign) for sign in element.articulations}
            members = element.notes if isinstance(element, chord.Chord) else [element]
            for member in members:
                if isinstance(member, note.Unpitched):
                    continue
                tie = member.tie or element.tie
                continues = tie is not None and tie.type in ("stop", "continue")
                entries.append((onset, end, member.pitch.midi, continues))
                if signs & {articulations.Staccato, articulations.Staccatissimo}:
                    short.add((onset, member.pitch.midi))
    longest: dict[tuple[int, int], int] = {}
    for onset, end, key in joined(entries):
        longest[onset, key] = max(end, longest.get((onset, key), 0))
    rows, again = {}, {}
    for onset, key in sorted(longest, reverse=True):
        end = longest[onset, key]
        rows[onset, key] = (min(end, again.get(key, end)), (onset, key) in short)
        again[key] = onset
    return rows


def ticks(quarters: object) -> int:
    return round(Fraction(quarters).limit_denominator(1 << 20) * TICKS)


AL_FINE = {repeat.DaCapo: repeat.DaCapoAlFine, repeat.DalSegno: repeat.DalSegnoAlFine}
AL_CODA = {repeat.DaCapo: repeat.DaCapoAlCoda, repeat.DalSegno: repeat.DalSegnoAlCoda}


def say_in_full(score: stream.Score) -> None:
    """Players end at a Fine, and leave for a Coda, after a bare D.C. as well; music21 wants it said."""
    signs = list(score.recurse().getElementsByClass(repeat.RepeatExpression))
    codas = sum(isinstance(sign, repeat.Coda) for sign in signs)
    full = AL_CODA if codas > 1 else {}
    if any(isinstance(sign, repeat.Fine) for sign in signs):
        full = AL_FINE
    for sign in signs:
        if type(sign) in full:
            sign.activeSite.replace(sign, full[type(sign)]())


def share_returns(score: stream.Score) -> None:
    """D.C., Fine and the like stand in one part and hold for all; music21 plays each part by its own."""
    columns = zip(*(part.getElementsByClass(stream.Measure) for part in score.parts))
    for measures in columns:
        signs = [sign for m in measures for sign in m.getElementsByClass(repeat.RepeatExpression)]
        for measure in measures:
            own = {type(sign) for sign in measure.getElementsByClass(repeat.RepeatExpression)}
            for sign in signs:
                if type(sign) not in own:
                    measure.insert(sign.offset, copy.deepcopy(sign))


def compare_sound(score: stream.Score, midi: Path, graces: int) -> str | None:
    """How the MIDI file differs from the MusicXML played out; None when it does not."""
    say_in_full(score)
    share_returns(score)
    try:
        expanded = score.expandRepeats()
    except Exception as problem:  # music21 gives up on repeats that do not match
        return f"not played out: {type(problem).__name__}"
    wanted = struck(expanded)
    found = struck(converter.parse(str(midi), format="midi", forceSource=True, quantizePost=False))
    missing, more = sorted(wanted.keys() - found.keys()), sorted(found.keys() - wanted.keys())
    if graces and missing and missing[0][0] == 0:
        missing.pop(0)  # a grace note at the very beginning takes its time from its note
    if missing or (more and not graces):
        tick, key = (missing or more)[0]
        return (
            f"{len(missing)} of {len(wanted)} sounds missing, {len(more)} more;"
            f" first at tick {tick}, key {key}"
        )
    # Graces cut the note before them short, and voices that share a key let it go for each other.
    if graces or len(score.parts) > 1:
        return None
    for place, (end, short) in sorted(wanted.items()):
        if not short and found[place][0] != end:
            return f"the sound at tick {place[0]}, key {place[1]} ends at {found[place][0]}, not {end}"
    return None


def examine(work: tuple[tuple[str, str, str], str]) -> Result:
    place, text = work
    with tempfile.TemporaryDirectory() as folder:
        out, midi = Path(folder, "out.musicxml"), Path(folder, "out.mid")
        options = ["--tune", place[2]] if place[0] == "tests/scores" else []
        found = run(["notes", "--format", "json", "-"], text)
        tunes = json.loads(found.stdout)["tunes"]
        tune = tunes[0] if not options else next(t for t in tunes if t["reference"] == place[2])
        written = run(["export", "-", "-o", str(out), *options], text)
        if written.returncode != 0:
            return Result(place, [], "nothing written: " + written.stderr.decode().strip())
        document = out.read_bytes()
        result = Result(place, schema.faults(_checker, document))
        try:
            score = converter.parse(str(out), format="musicxml", forceSource=True)
            if any(part.getInstrument().transposition for part in score.parts):
                score = score.toSoundingPitch()
            result.notes = compare_notes(tune, document, score)
        except Exception as problem:  # whatever music21 raises is its answer
            result.notes = f"music21: {type(problem).__name__}: {problem}"
            return result
        run(["export", "-", "-o", str(midi), *options], text)
        graces = sum(item["grace"] for voice in tune["voices"] for item in voice["notes"])
        try:
            result.sound = compare_sound(score, midi, graces)
        except Exception as problem:
            result.sound = f"music21: {type(problem).__name__}: {problem}"
    return result


# All of them


def composed() -> list[tuple[tuple[str, str, str], str]]:
    """Every tune of tests/scores."""
    work = []
    for path in sorted(SCORES.glob("*.abc")):
        text = path.read_text(encoding="utf-8")
        for tune in reading.split_tunes(text):
            work.append((("tests/scores", path.name, reading.reference_of(tune)), text))
    return work


def native(sample: int | None) -> list[tuple[tuple[str, str, str], str]]:
    """The native tunes, or a sample that is the same every time."""
    texts = {path: reading.tunes_of(path) for path in corpus.native_files()}
    places = [(path, ordinal) for path in texts for ordinal in range(len(texts[path]))]
    chosen = sorted(reading._chosen(places, sample))
    work = []
    for path, ordinal in chosen:
        tune = texts[path][ordinal]
        folder = path.relative_to(corpus.NATIVE).parent.as_posix()
        work.append(((folder, path.name, reading.reference_of(tune)), tune))
    return work


def known() -> dict[tuple[str, ...], str]:
    """The reasons of the differences listed, by place and what differs."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {tuple(row[c] for c in COLUMNS[:4]): row["reason"] for row in csv.DictReader(file)}


def sounds_agree() -> list[str]:
    """Rows of the table of sounds whose number music21 gives to another instrument."""
    wrong = []
    with SOUNDS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["sound"].startswith("Lead"):
                continue  # no instrument of an orchestra
            theirs = instrument.instrumentFromMidiProgram(int(row["program"]) - 1)
            named = f"{theirs.instrumentName} {type(theirs).__name__}".lower()
            words = [word.lower()[:4] for word in row["sound"].replace("Bag pipe", "Bagpipe").split()]
            if not any(word in named for word in words):
                wrong.append(f"{row['instrument']}: {row['sound']}, music21 {theirs.instrumentName}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description="what recte export writes, read back")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--sample", type=int, metavar="N", help="N native tunes; writes no table")
    arguments = parser.parse_args()
    start = time.monotonic()
    recte = arguments.recte.resolve()
    schema.lay_out()
    work = composed() + native(arguments.sample)
    with multiprocessing.Pool(reading.PROCESSES, prepare, (recte,)) as pool:
        results = list(pool.imap(examine, work, chunksize=8))
    reasons = known()
    rows, new = [], []
    for result in results:
        for what, difference in (("notes", result.notes), ("sound", result.sound)):
            if difference is not None:
                reason = reasons.get((*result.place, what), "")
                rows.append([*result.place, what, difference, reason])
                if not reason:
                    new.append(rows[-1])
    if arguments.sample is None:
        with TABLE.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(COLUMNS)
            writer.writerows(rows)
    faulty = [result for result in results if result.faults]
    wrong = sounds_agree()
    for result in faulty[:20]:
        print("schema:", *result.place, result.faults[0])
    for row in new[:40]:
        print("differs:", *row[:5])
    for line in wrong:
        print("sound:", line)
    notes = sum(result.notes is None for result in results)
    sound = sum(result.sound is None and not (result.notes or "").startswith("music21") for result in results)
    print(
        f"{len(results)} tunes written; {len(results) - len(faulty)} pass the schema; music21 reads"
        f" {notes} with the same notes and {sound} with the same sound;"
        f" {len(new)} differences are not listed; {time.monotonic() - start:.0f} s."
    )
    return 1 if faulty or new or wrong or not results else 0


if __name__ == "__main__":
    sys.exit(main())
