"""Compares `recte notes` with music21's reading, tune by tune, over target/corpus/native.

    compare.py RECTE_BINARY [--sample N] [--explained-counts]

Prints a table by folder and writes disagreements.csv beside this file (full runs only). The exit
code is 1 when fewer than 97 % of the tunes agree. See README.md for what the columns mean.
"""

import argparse
import csv
import json
import multiprocessing
import subprocess
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path

import corpus
import plain
import reading

WANTED = Fraction(97, 100)
TABLE = Path(__file__).with_name("disagreements.csv")
COLUMNS = ["folder", "file", "reference", "reach tried", "first difference", "reason"]
COUNTS = ["tunes", "read", "agree", "agree incl. onset", "differ", "explained"]
SECONDS_PER_FILE = 120


def ask_recte(binary: Path, path: Path) -> list[dict] | str:
    """The tunes `recte notes` finds in one file, or what went wrong."""
    command = [str(binary), "notes", "--format", "json", str(path)]
    try:
        run = subprocess.run(command, capture_output=True, timeout=SECONDS_PER_FILE, check=False)
        if run.returncode != 0:
            said = run.stderr.decode("utf-8", "replace").strip()[:200]
            return f"recte ended with {run.returncode}: {said}"
        return json.loads(run.stdout)["tunes"]
    except (OSError, ValueError, KeyError, subprocess.TimeoutExpired) as problem:
        return f"{type(problem).__name__}: {problem}"


def voice_notes(voice: dict) -> list[tuple[Fraction, Fraction, list[str]]]:
    """The sounding entries of one of our voices: neighbours on one onset are one chord."""
    entries: list[tuple[Fraction, Fraction, list[str]]] = []
    for item in voice["notes"]:
        if item["grace"]:
            continue
        onset = Fraction(item["onset"])
        if entries and entries[-1][0] == onset:
            entries[-1][2].append(item["pitch"])
        else:
            entries.append((onset, Fraction(item["duration"]), [item["pitch"]]))
    return [(onset, duration, sorted(pitches)) for onset, duration, pitches in entries]


def our_voices(tune: dict) -> list[list]:
    """One of our tunes in the shape of a reading."""
    return reading.voices_from_first_note([voice_notes(voice) for voice in tune["voices"]])


def without_onsets(voices: list[list]) -> list[list]:
    return [[entry[1:] for entry in voice] for voice in voices]


def describe(entry: list | None) -> str:
    return "nothing" if entry is None else f"{entry[1]} {'+'.join(entry[2])}"


def first_difference(ours: list[list], theirs: list[list]) -> str:
    """Where the first voice that differs does so, in duration or pitch."""
    for number, (left, right) in enumerate(zip_longest(ours, theirs, fillvalue=[]), start=1):
        for place, (one, other) in enumerate(zip_longest(left, right), start=1):
            if one is None or other is None or one[1:] != other[1:]:
                return (
                    f"voice {number} note {place}: ours {describe(one)}, music21 {describe(other)}"
                    f" ({len(left)} and {len(right)} notes)"
                )
    return ""


def judge(ours: list[list], reaches: dict[str, list[list]]) -> tuple[str | None, bool]:
    """The first reach at which durations and pitches agree, and whether onsets do as well."""
    agreed = None
    for reach, theirs in reaches.items():
        if ours == theirs:
            return reach, True
        if agreed is None and without_onsets(ours) == without_onsets(theirs):
            agreed = reach
    return agreed, False


def longest_agreement(ours: list[list], reaches: dict[str, list[list]]) -> str:
    """The reach under which most notes agree before the first difference."""

    def agreeing(reach: str) -> int:
        count = 0
        for left, right in zip(ours, reaches[reach]):
            for one, other in zip(left, right):
                if one[1:] != other[1:]:
                    return count
                count += 1
        return count

    return max(reaches, key=agreeing)


def pick(tunes: list[dict], ordinal: int, reference: str) -> dict | None:
    """Our tune for one of music21's: at the same place, else the one with that reference."""
    if ordinal < len(tunes):
        here = tunes[ordinal]
        if reading.plain_reference(here["reference"]) == reference:
            return here
    same = [t for t in tunes if reading.plain_reference(t["reference"]) == reference]
    return same[0] if len(same) == 1 else None


def explain(tune: str, ours: list[list]) -> str:
    """Which signs beside the notes have to go for music21 to agree; empty when none help."""
    for reason, text in plain.variants(tune).items():
        theirs = reading.read_tune(text)
        if judge(ours, theirs.get("reaches", {}))[0] is not None:
            return f"music21: {reason}"
    return ""


@dataclass
class Verdict:
    """How one tune compares."""

    place: tuple[Path, int, str]
    agrees: bool = False
    onsets: bool = False
    reach: str = ""
    difference: str = ""
    ours: list[list] = field(default_factory=list)


def compare_tune(tunes: list[dict] | str, place: tuple[Path, int, str], reaches: dict) -> Verdict:
    """Sets one of music21's tunes beside ours."""
    if isinstance(tunes, str):
        return Verdict(place, difference=tunes)
    tune = pick(tunes, place[1], place[2])
    if tune is None:
        return Verdict(place, difference="no tune with this reference in ours")
    ours = our_voices(tune)
    reach, onsets = judge(ours, reaches)
    if reach is not None:
        return Verdict(place, True, onsets, reach)
    reach = longest_agreement(ours, reaches)
    difference = first_difference(ours, reaches[reach])
    return Verdict(place, reach=reach, difference=difference, ours=ours)


def known_reasons() -> dict[tuple[str, ...], str]:
    """The reasons already written down, by folder, file and reference."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {tuple(row[c] for c in COLUMNS[:3]): row["reason"] for row in csv.DictReader(file)}


def write_table(differing: list[Verdict], reasons: dict[tuple, str]) -> None:
    """One row for each tune that differs; a reason already written down stays."""
    known = known_reasons()
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        for verdict in differing:
            path, _, reference = verdict.place
            place = (folder_of(path), path.name, reference)
            reason = known.get(place) or reasons[verdict.place]
            writer.writerow([*place, verdict.reach, verdict.difference, reason])


def folder_of(path: Path) -> str:
    return path.relative_to(corpus.NATIVE).parent.as_posix()


def compare(binary: Path, theirs: dict[Path, dict[int, dict]]) -> list[Verdict]:
    """A verdict on each tune music21 could read."""
    with ThreadPoolExecutor(reading.PROCESSES) as pool:
        ours = dict(zip(theirs, pool.map(lambda path: ask_recte(binary, path), theirs)))
    return [
        compare_tune(ours[path], (path, ordinal, tune["reference"]), tune["reaches"])
        for path, tunes in theirs.items()
        for ordinal, tune in tunes.items()
        if "error" not in tune
    ]


def explanations(differing: list[Verdict]) -> dict[tuple, str]:
    """Why music21 differs, where taking signs out of the text shows it."""
    texts = {path: reading.tunes_of(path) for path in {v.place[0] for v in differing}}
    work = [(texts[v.place[0]][v.place[1]], v.ours) for v in differing]
    with multiprocessing.Pool(reading.PROCESSES, initializer=reading.prepare) as pool:
        return dict(zip((v.place for v in differing), pool.starmap(explain, work, chunksize=8)))


def count(theirs: dict, verdicts: list[Verdict], reasons: dict[tuple, str]) -> dict[str, dict]:
    """The counts of each folder."""
    folders: dict[str, dict] = {}
    for path, tunes in theirs.items():
        folders.setdefault(folder_of(path), dict.fromkeys(COUNTS, 0))["tunes"] += len(tunes)
    for verdict in verdicts:
        counts = folders[folder_of(verdict.place[0])]
        counts["read"] += 1
        counts["agree"] += verdict.agrees
        counts["agree incl. onset"] += verdict.onsets
        counts["differ"] += not verdict.agrees
        counts["explained"] += bool(reasons.get(verdict.place))
    return folders


def print_table(folders: dict[str, dict]) -> dict:
    """Prints the counts and gives back their sum."""
    total = {column: sum(counts[column] for counts in folders.values()) for column in COUNTS}
    print(f"{'folder':<22}" + "".join(f"{column:>20}" for column in COUNTS))
    for folder, counts in [*folders.items(), ("all", total)]:
        print(f"{folder:<22}" + "".join(f"{counts[column]:>20}" for column in COUNTS))
    return total


def print_tally(title: str, words: list[str]) -> None:
    print(f"{title}: " + ", ".join(f"{word} {n}" for word, n in Counter(words).most_common()) + ".")


def main() -> int:
    parser = argparse.ArgumentParser(description="recte's notes against music21's")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--sample", type=int, metavar="N", help="N tunes only; writes no table")
    parser.add_argument(
        "--explained-counts",
        action="store_true",
        help="ask the 97 %% of agreeing and explained tunes together",
    )
    arguments = parser.parse_args()
    start = time.monotonic()
    theirs = reading.readings(arguments.sample)
    verdicts = compare(arguments.recte.resolve(), theirs)
    differing = [verdict for verdict in verdicts if not verdict.agrees]
    reasons = explanations(differing)
    total = print_table(count(theirs, verdicts, reasons))
    if not verdicts:
        print("No tune to compare: run tests/reference/corpus.py first.")
        return 1
    if arguments.sample is None:
        write_table(differing, reasons)
    print(f"music21 could not read {total['tunes'] - total['read']} tunes.")
    print_tally("Reach of accidentals where they agree", [v.reach for v in verdicts if v.agrees])
    print_tally("Signs that make music21 differ", [reasons[v.place] or "no such sign" for v in differing])
    share = Fraction(total["agree"], total["read"])
    explained = Fraction(total["agree"] + total["explained"], total["read"])
    print(
        f"Agreement in pitch and duration: {float(share):.2%}; with the explained tunes"
        f" {float(explained):.2%} (wanted {float(WANTED):.0%}), {time.monotonic() - start:.0f} s."
    )
    return 0 if (explained if arguments.explained_counts else share) >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
