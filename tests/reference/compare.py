"""Compares `recte notes` with music21's reading, tune by tune, over target/corpus/native.

    compare.py RECTE_BINARY [--sample N]

Prints a table by folder and writes disagreements.csv beside this file (full runs only). The exit
code is 1 when fewer than 97 % of the tunes agree. See README.md for what the columns mean.
"""

import argparse
import csv
import json
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path

import corpus
import reading

WANTED = Fraction(97, 100)
TABLE = Path(__file__).with_name("disagreements.csv")
COLUMNS = ["folder", "file", "reference", "reach tried", "first difference", "reason"]
COUNTS = ["tunes", "read", "agree", "agree incl. onset", "differ"]
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


def compare_tune(tunes: list[dict] | str, ordinal: int, theirs: dict) -> tuple[str, str, str]:
    """("onset" | "agree" | "differ", reach, first difference) for one tune."""
    if isinstance(tunes, str):
        return "differ", "", tunes
    tune = pick(tunes, ordinal, theirs["reference"])
    if tune is None:
        return "differ", "", "no tune with this reference in ours"
    ours, reaches = our_voices(tune), theirs["reaches"]
    reach, onsets = judge(ours, reaches)
    if reach is not None:
        return ("onset" if onsets else "agree"), reach, ""
    reach = longest_agreement(ours, reaches)
    return "differ", reach, first_difference(ours, reaches[reach])


def known_reasons() -> dict[tuple[str, ...], str]:
    """The reasons already written down, by folder, file and reference."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {tuple(row[c] for c in COLUMNS[:3]): row["reason"] for row in csv.DictReader(file)}


def write_table(rows: list[dict[str, str]]) -> None:
    reasons = known_reasons()
    for row in rows:
        row["reason"] = reasons.get(tuple(row[c] for c in COLUMNS[:3]), "")
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def compare(binary: Path, sample: int | None) -> tuple[dict[str, dict], dict[str, int], list[dict]]:
    """Counts by folder, agreements by reach, and a row for each tune that differs."""
    theirs = reading.readings(sample)
    with ThreadPoolExecutor(reading.PROCESSES) as pool:
        ours = dict(zip(theirs, pool.map(lambda path: ask_recte(binary, path), theirs)))
    folders: dict[str, dict] = {}
    by_reach: dict[str, int] = {}
    rows = []
    for path, tunes in theirs.items():
        folder = path.relative_to(corpus.NATIVE).parent.as_posix()
        counts = folders.setdefault(folder, dict.fromkeys(COUNTS, 0))
        for ordinal, tune in tunes.items():
            counts["tunes"] += 1
            if "error" in tune:
                continue
            counts["read"] += 1
            verdict, reach, difference = compare_tune(ours[path], ordinal, tune)
            if verdict == "differ":
                counts["differ"] += 1
                place = [folder, path.name, tune["reference"], reach, difference]
                rows.append(dict(zip(COLUMNS, place)))
                continue
            counts["agree"] += 1
            counts["agree incl. onset"] += verdict == "onset"
            by_reach[reach] = by_reach.get(reach, 0) + 1
    return folders, by_reach, rows


def print_table(folders: dict[str, dict]) -> dict:
    """Prints the counts and gives back their sum."""
    total = {column: sum(counts[column] for counts in folders.values()) for column in COUNTS}
    print(f"{'folder':<22}" + "".join(f"{column:>20}" for column in COUNTS))
    for folder, counts in [*folders.items(), ("all", total)]:
        print(f"{folder:<22}" + "".join(f"{counts[column]:>20}" for column in COUNTS))
    return total


def main() -> int:
    parser = argparse.ArgumentParser(description="recte's notes against music21's")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--sample", type=int, metavar="N", help="N tunes only; writes no table")
    arguments = parser.parse_args()
    start = time.monotonic()
    folders, by_reach, rows = compare(arguments.recte.resolve(), arguments.sample)
    total = print_table(folders)
    if total["read"] == 0:
        print("No tune to compare: run tests/reference/corpus.py first.")
        return 1
    if arguments.sample is None:
        write_table(rows)
    share = Fraction(total["agree"], total["read"])
    reaches = ", ".join(f"{reach} {count}" for reach, count in sorted(by_reach.items()))
    print(f"music21 could not read {total['tunes'] - total['read']} tunes.")
    print(f"Accidental reach at which they agree: {reaches}.")
    print(
        f"Agreement in pitch and duration: {float(share):.2%} (wanted {float(WANTED):.0%}),"
        f" {time.monotonic() - start:.0f} s."
    )
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
