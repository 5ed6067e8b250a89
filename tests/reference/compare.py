"""Compares `recte notes` with music21's reading, tune by tune, over target/corpus/native.

    compare.py RECTE_BINARY [--sample N]

Prints a table by folder and what is not as it should be. The exit code is 1 if a tune gives no
note list, if a tune differs that judged.csv does not judge as it differs now, if a row of it is
stale, or if too few tunes agree or are judged to be read rightly. See README.md.
"""

import argparse
import csv
import hashlib
import json
import sys
import time
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest
from pathlib import Path

import corpus
import reading
from recte import notes_of

WANTED = Fraction(995, 1000)
TABLE = Path(__file__).with_name("judged.csv")
UNJUDGED = corpus.TARGET / "unjudged.csv"
COLUMNS = ["folder", "file", "reference", "right", "bar", "typed", "why", "fingerprint"]
RIGHT = ["recte", "music21", "neither", "undecidable"]
COUNTS = ["tunes", "read", "agree", "agree incl. onset", "judged right", "left"]


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


def fingerprint(ours: list[list], reaches: dict[str, list[list]]) -> str:
    """What both read, in short: another deviation of either has another fingerprint."""
    both = [without_onsets(ours), [without_onsets(theirs) for theirs in reaches.values()]]
    return hashlib.sha256(json.dumps(both).encode()).hexdigest()[:12]


@dataclass
class Verdict:
    """How one tune compares."""

    place: tuple[str, str, str]
    listed: bool = True
    agrees: bool = False
    onsets: bool = False
    reach: str = ""
    difference: str = ""
    fingerprint: str = ""
    right: str = ""


def compare_tune(tunes: list[dict] | str, path: Path, ordinal: int, theirs: dict) -> Verdict:
    """Sets one of music21's tunes beside ours."""
    folder = path.relative_to(corpus.NATIVE).parent.as_posix()
    place = (folder, path.name, theirs["reference"])
    if isinstance(tunes, str):
        return Verdict(place, listed=False, difference=tunes)
    tune = pick(tunes, ordinal, theirs["reference"])
    if tune is None or not tune["voices"]:
        return Verdict(place, listed=False, difference="no note list")
    if "error" in theirs:
        return Verdict(place, difference=theirs["error"])
    ours, reaches = our_voices(tune), theirs["reaches"]
    reach, onsets = judge(ours, reaches)
    if reach is not None:
        return Verdict(place, agrees=True, onsets=onsets, reach=reach)
    reach = longest_agreement(ours, reaches)
    difference = first_difference(ours, reaches[reach])
    return Verdict(place, difference=difference, fingerprint=fingerprint(ours, reaches))


def compare(binary: Path, theirs: dict[Path, dict[int, dict]]) -> list[Verdict]:
    """A verdict on each tune."""
    with ThreadPoolExecutor(reading.PROCESSES) as pool:
        ours = dict(zip(theirs, pool.map(lambda path: notes_of(binary, path), theirs)))
    return [
        compare_tune(ours[path], path, ordinal, tune)
        for path, tunes in theirs.items()
        for ordinal, tune in tunes.items()
    ]


def judged() -> dict[tuple[str, str, str], dict]:
    """The rows of the judged list, by folder, file and reference."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        if row["right"] not in RIGHT or not row["typed"] or "[" not in row["why"]:
            sys.exit(f"{TABLE.name}: who is right, what is typed and the section are wanted in {row}")
    return {(row["folder"], row["file"], row["reference"]): row for row in rows}


def apply_list(verdicts: list[Verdict], rows: dict, whole: bool) -> tuple[list[Verdict], list]:
    """Marks what is judged; gives back what is not, and the rows that no longer say anything."""
    unjudged, used = [], set()
    for verdict in verdicts:
        row = rows.get(verdict.place)
        if verdict.agrees or not verdict.fingerprint or row is None:
            continue
        used.add(verdict.place)
        if row["fingerprint"] == verdict.fingerprint:
            verdict.right = row["right"]
    unjudged = [v for v in verdicts if v.fingerprint and not v.right]
    compared = {verdict.place for verdict in verdicts}
    stale = [place for place in rows if place not in used and (whole or place in compared)]
    return unjudged, stale


def write_unjudged(unjudged: list[Verdict]) -> None:
    """Rows to judge: who is right, where and why are left to be written."""
    with UNJUDGED.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows([*v.place, "", "", "", v.difference, v.fingerprint] for v in unjudged)


def count(verdicts: list[Verdict]) -> dict[str, dict]:
    """The counts of each folder."""
    folders: dict[str, dict] = {}
    for verdict in verdicts:
        counts = folders.setdefault(verdict.place[0], dict.fromkeys(COUNTS, 0))
        counts["tunes"] += 1
        counts["read"] += verdict.agrees or bool(verdict.fingerprint)
        counts["agree"] += verdict.agrees
        counts["agree incl. onset"] += verdict.onsets
        counts["judged right"] += verdict.right == "recte"
        counts["left"] += bool(verdict.fingerprint) and verdict.right != "recte"
    return folders


def print_table(folders: dict[str, dict]) -> dict:
    """Prints the counts and gives back their sum."""
    total = {column: sum(counts[column] for counts in folders.values()) for column in COUNTS}
    print(f"{'folder':<22}" + "".join(f"{column:>20}" for column in COUNTS))
    for folder, counts in [*sorted(folders.items()), ("all", total)]:
        print(f"{folder:<22}" + "".join(f"{counts[column]:>20}" for column in COUNTS))
    return total


def print_tally(title: str, words: list[str]) -> None:
    print(f"{title}: " + ", ".join(f"{word} {n}" for word, n in Counter(words).most_common()) + ".")


def print_places(title: str, places: list[tuple], shown: int = 20) -> bool:
    """Prints what is wrong, if anything; says whether something is."""
    if places:
        print(f"{title} ({len(places)}):")
        print("".join(f"  {' '.join(place)}\n" for place in places[:shown]), end="")
    return bool(places)


def main() -> int:
    parser = argparse.ArgumentParser(description="recte's notes against music21's")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--sample", type=int, metavar="N", help="N tunes only")
    arguments = parser.parse_args()
    start = time.monotonic()
    verdicts = compare(arguments.recte.resolve(), reading.readings(arguments.sample))
    if not verdicts:
        print("No tune to compare: run tests/reference/corpus.py first.")
        return 1
    unjudged, stale = apply_list(verdicts, judged(), arguments.sample is None)
    write_unjudged(unjudged)
    total = print_table(count(verdicts))
    print_tally("Reach of accidentals where they agree", [v.reach for v in verdicts if v.agrees])
    print_tally("Right where they differ", [v.right or "unjudged" for v in verdicts if v.fingerprint])
    unlisted = [(*v.place, v.difference) for v in verdicts if not v.listed]
    wrong = print_places("No note list", unlisted)
    wrong |= print_places(f"Not judged; rows in {UNJUDGED}", [(*v.place, v.difference) for v in unjudged])
    wrong |= print_places(f"Stale rows of {TABLE.name}", stale)
    share = Fraction(total["agree"], total["read"])
    after = Fraction(total["agree"] + total["judged right"], total["read"])
    print(
        f"{total['tunes'] - len(unlisted)} of {total['tunes']} tunes give a note list; music21 reads"
        f" {total['read']}. Agreement in pitch and duration: {float(share):.2%}; with the tunes"
        f" judged to be read rightly {float(after):.2%} (wanted {float(WANTED):.1%}),"
        f" {time.monotonic() - start:.0f} s."
    )
    return 1 if wrong or after < WANTED else 0


if __name__ == "__main__":
    sys.exit(main())
