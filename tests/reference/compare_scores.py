"""Compares imported scores with music21's reading of them, note for note, over target/corpus/scores.

    compare_scores.py RECTE_BINARY [--sample N]

Every score is imported and its text read back (`recte notes SCORE`). Prints a table by folder and
writes score-disagreements.csv beside this file (full runs only). The exit code is 1 when fewer than
98 % of the scores are the same, or one differs without a reason there. See README.md for what is compared.
"""

import argparse
import csv
import sys
import time
import zipfile
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import corpus
import score_reading
from recte import NATURALS, notes_of

WANTED = Fraction(98, 100)
TABLE = Path(__file__).with_name("score-disagreements.csv")
COLUMNS = ["folder", "file", "first difference", "reason"]
MOST_STAVES = 4


def tune_of(binary: Path, path: Path) -> dict | str:
    """The tune `recte notes` finds in the imported score, or what went wrong."""
    tunes = notes_of(binary, path)
    if isinstance(tunes, str):
        return tunes
    return tunes[0] if len(tunes) == 1 else f"{len(tunes)} tunes in the text"


def freeze(notes: list, graces: list) -> tuple:
    """A stream in a form that can be compared and counted."""
    entries = (tuple([*map(Fraction, entry[:2]), tuple(sorted(entry[2]))]) for entry in notes)
    return tuple(sorted(entries)), tuple(sorted(graces))


def join(streams: tuple) -> tuple:
    """Several streams as one."""
    notes, graces = zip(*streams)
    return tuple(sorted(sum(notes, ()))), tuple(sorted(sum(graces, ())))


def our_streams(tune: dict) -> dict[int, list[tuple[int, tuple]]]:
    """For each bar the number of each voice that sounds there and its stream; layers count one by one."""
    bars: dict[int, list] = {}
    for number, voice in enumerate(tune["voices"]):
        layers: dict[tuple[int, int], tuple[list, list]] = {}
        for item in voice["notes"]:
            notes, graces = layers.setdefault((item["barIndex"], item["layer"]), ([], []))
            if item["grace"]:
                graces.append(item["pitch"])
            elif notes and notes[-1][0] == item["offset"]:
                notes[-1][2].append(item["pitch"])
            else:
                notes.append([item["offset"], item["duration"], [item["pitch"]]])
        for (bar, _), (notes, graces) in layers.items():
            bars.setdefault(bar, []).append((number, freeze(notes, graces)))
    return bars


def same_streams(ours: list[tuple], theirs: list[tuple[tuple, tuple]]) -> bool:
    """Whether the streams are the same but for their names. One of ours may be several of theirs on
    different staves: a voice that moves between staves is one voice to us."""
    left = Counter(stream for _, stream in theirs)
    own = Counter(ours)
    common = left & own
    left -= common
    own -= common
    if not left and not own:
        return True
    rest = [(staff, stream) for staff, stream in theirs if stream in left]
    for ours_left in own.elements():
        for size in range(2, MOST_STAVES + 1):
            found = next(
                (
                    group
                    for group in combinations(rest, size)
                    if len({staff for staff, _ in group}) == size
                    and join(tuple(stream for _, stream in group)) == ours_left
                ),
                None,
            )
            if found:
                for one in found:
                    rest.remove(one)
                break
        else:
            return False
    return not rest


def describe(streams: list) -> str:
    texts = []
    for notes, graces in streams:
        shown = [f"{onset}:{duration} {'+'.join(pitches)}" for onset, duration, pitches in notes]
        texts.append(" ".join(shown) + (f" graces {' '.join(graces)}" if graces else ""))
    return " / ".join(texts)[:160]


def as_written(voice: dict, semitones: int) -> None:
    """Where a part transposes, its pitches as the file has them: the name as written, in the octave
    that the sound and the transposition give."""
    for item in voice["notes"] if semitones else []:
        name = item["written"].rstrip("-0123456789")
        alter = name.count("#") - name[1:].count("b")
        natural = item["midi"] - semitones - alter - NATURALS[name[0]]
        item["pitch"] = f"{name}{natural // 12 - 1}"


def transposes(path: Path) -> bool:
    """Whether the file says of any part that it transposes; music21 also knows it of instruments by name."""
    if path.suffix != ".mxl":
        return b"<transpose" in path.read_bytes()
    with zipfile.ZipFile(path) as archive:
        return any(b"<transpose" in archive.read(name) for name in archive.namelist())


def compare(tune: dict | str, reading: dict, transposed: bool) -> str:
    """The first difference; empty if there is none."""
    if isinstance(tune, str):
        return tune
    parts = reading["parts"]
    mine = parts_of(tune, len(parts))
    for number, voice in enumerate(tune["voices"]):
        if transposed:
            as_written(voice, parts[mine[number] if mine else 0]["transpose"])
    ours = our_streams(tune)
    measures = max((len(part["measures"]) for part in parts), default=0)
    for bar in range(measures):
        theirs: dict[int, list] = {}
        for number, part in enumerate(parts):
            for one in part["measures"][bar] if bar < len(part["measures"]) else []:
                key = number if mine else 0
                streams = theirs.setdefault(key, [])
                streams.append(((number, one["staff"]), freeze(one["notes"], one["graces"])))
        own: dict[int, list] = {}
        for voice, stream in ours.get(bar, []):
            own.setdefault(mine[voice] if mine else 0, []).append(stream)
        for key in {*theirs, *own}:
            left, right = own.get(key, []), theirs.get(key, [])
            if not same_streams(left, right):
                extra = Counter(left) - Counter(stream for _, stream in right)
                lacking = Counter(stream for _, stream in right) - Counter(left)
                return (
                    f"part {key + 1}, measure {bar + 1}: ours {describe(list(extra.elements()))};"
                    f" music21 {describe(list(lacking.elements()))}"
                )
    beyond = [bar for bar in ours if bar >= measures]
    return f"{len(beyond)} bars more than music21 has" if beyond else ""


def parts_of(tune: dict, count: int) -> list[int] | None:
    """The part each of our voices belongs to: the first voice of a part carries its name. None where
    parts have no names."""
    parts, part = [], -1
    for voice in tune["voices"]:
        part += bool(voice["name"])
        parts.append(part)
    if count == 1:
        return [0] * len(parts)
    return parts if part + 1 == count and parts[0] == 0 else None


def known_rows() -> dict[tuple[str, str], dict[str, str]]:
    """The rows already written down, by folder and file."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {(row["folder"], row["file"]): row for row in csv.DictReader(file)}


def only_in_full(folder: str, file: str) -> bool:
    """Whether this is a score of the test half that is not laid out by default."""
    origin = corpus.source() / folder / file.removesuffix(".musicxml")
    return origin.exists() and corpus.odd(origin.stem) and not corpus.laid_out(origin)


def place(path: Path) -> tuple[str, str]:
    return path.relative_to(corpus.SCORES).parent.as_posix(), path.name


def print_table(verdicts: dict[Path, str]) -> None:
    """Scores and those that are the same, by folder."""
    print(f"{'folder':<22}{'scores':>10}{'the same':>10}")
    folders = Counter(place(path)[0] for path in verdicts)
    same = Counter(place(path)[0] for path, difference in verdicts.items() if not difference)
    for folder, count in sorted(folders.items()):
        print(f"{folder:<22}{count:>10}{same[folder]:>10}")
    print(f"{'all':<22}{len(verdicts):>10}{same.total():>10}")


def write_table(verdicts: dict[Path, str]) -> int:
    """One row for each score that differs; a reason already written down stays, and so do the rows of scores
    that are not laid out this time. How many rows have no reason."""
    known = known_rows()
    rows = {at: row for at, row in known.items() if only_in_full(*at)}
    for path, difference in verdicts.items():
        at = place(path)
        if difference:
            reason = known[at]["reason"] if at in known else ""
            rows[at] = dict(zip(COLUMNS, [*at, difference, reason]))
        else:
            rows.pop(at, None)
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows[at] for at in sorted(rows))
    return sum(not row["reason"] for row in rows.values())


def main() -> int:
    parser = argparse.ArgumentParser(description="imported scores against music21's reading")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--sample", type=int, metavar="N", help="N scores only; writes no table")
    arguments = parser.parse_args()
    start = time.monotonic()
    theirs = score_reading.readings(arguments.sample)
    read = {path: reading for path, reading in theirs.items() if "error" not in reading}
    binary = arguments.recte.resolve()
    with ThreadPoolExecutor(corpus.PROCESSES) as pool:
        ours = dict(zip(read, pool.map(lambda path: tune_of(binary, path), read)))
    verdicts = {path: compare(ours[path], reading, transposes(path)) for path, reading in read.items()}
    if not verdicts:
        print("No score to compare: run tests/reference/corpus.py first.")
        return 1
    print_table(verdicts)
    unexplained = write_table(verdicts) if arguments.sample is None else 0
    if unexplained:
        print(f"{unexplained} scores differ without a reason in {TABLE.name}.")
    print(f"music21 could not read {len(theirs) - len(read)} scores.")
    share = Fraction(sum(not difference for difference in verdicts.values()), len(verdicts))
    seconds = time.monotonic() - start
    print(f"The same, note for note: {float(share):.2%} (wanted {float(WANTED):.0%}), {seconds:.0f} s.")
    return 0 if share >= WANTED and not unexplained else 1


if __name__ == "__main__":
    sys.exit(main())
