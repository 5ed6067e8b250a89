"""Harmonies against analyses by hand: `recte chords` over the scores of the test half that music21's corpus has analyses of.

    harmony.py RECTE_BINARY [--check]

The analyses are those in RomanText (`*.rntxt`) whose file stem has an odd SHA-1, and whose score belongs to the test
half too: chorales by A. Jones and D. Tymoczko, madrigals by D. Tymoczko. Each moment counts by how long it lasts. Without
--check the table is written to harmony.md; with it the table must come out as it stands there. See README.md.
"""

import argparse
import re
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from pathlib import Path

import corpus
from recte import tunes_of

TABLE = Path(__file__).with_name("harmony.md")
# A member may be one of these, in fifths from the root; the first that is there counts.
THIRDS, SIXTHS, SEVENTHS = (4, -3), (1, -6, 8), (-2, 5, -9)
KINDS = {
    "major triad": (4, 1, None),
    "minor triad": (-3, 1, None),
    "diminished triad": (-3, -6, None),
    "augmented triad": (4, 8, None),
    "dominant seventh": (4, 1, -2),
    "minor seventh": (-3, 1, -2),
    "major seventh": (4, 1, 5),
    "half-diminished seventh": (-3, -6, -2),
    "diminished seventh": (-3, -6, -9),
}
STEP = Fraction(1, 8)  # of a quarter note: what is compared at once
WANTED = {"root": 85, "quality": 80, "key": 80, "all": 60}
QUARTERS = 4


def fifths(name: str) -> int:
    """The place of a name on the line of fifths, C being 0."""
    signs = name[1:]
    return "FCGDAEB".index(name[0]) - 1 + 7 * (signs.count("#") - signs.count("-") - signs.count("b"))


def kind(root: int, names: list[int]) -> tuple:
    """Third, fifth and seventh of a chord; None for what it does not have."""
    intervals = {name - root for name in names}
    return tuple(next((x for x in choices if x in intervals), None) for choices in (THIRDS, SIXTHS, SEVENTHS))


def analyses() -> dict[Path, Path]:
    """The analyses of the test half, and the score of each."""
    origin = corpus.source()
    found = {}
    for path in sorted(origin.rglob("*.rntxt")):
        if not corpus.odd(path.stem):
            continue
        bwv = re.search(r"^BWV:\s*(\S+)", path.read_text(), re.MULTILINE)
        stem = f"bwv{bwv[1]}" if bwv else path.stem
        folder = "bach" if bwv else path.parent.name
        scores = [score for score in (corpus.SCORES / folder).glob(f"{stem}.*") if corpus.odd(stem)]
        if scores:
            found[path] = scores[0]
    return found


def by_hand(path: Path) -> list[dict]:
    """The harmonies of an analysis: bar, offset and length in quarters, key, root, members and bass."""
    from music21 import converter, roman

    rows = []
    for measure in converter.parse(path, format="romantext").recurse().getElementsByClass("Measure"):
        for figure in measure.getElementsByClass(roman.RomanNumeral):
            root = fifths(figure.root().name)
            rows.append(
                {
                    "bar": measure.number,
                    "offset": Fraction(figure.offset),
                    "length": Fraction(figure.quarterLength),
                    "key": f"{figure.key.tonic.name.replace('-', 'b')} {figure.key.mode}",
                    "root": root,
                    "kind": kind(root, [fifths(pitch.name) for pitch in figure.pitches]),
                    "bass": fifths(figure.bass().name),
                }
            )
    return rows


def bars(tune: dict) -> dict[int, tuple[Fraction, Fraction]]:
    """Where each bar begins and how long it is, in quarters, numbered as a reader counts: one divided by a repeat counts once."""
    found: dict[int, tuple[Fraction, Fraction]] = {}
    for voice in tune["voices"]:
        for note in voice["notes"]:
            start = Fraction(note["onset"]) - Fraction(note["offset"])
            end = Fraction(note["onset"]) + Fraction(note["duration"])
            old = found.get(note["barIndex"], (start, start))
            found[note["barIndex"]] = (start, max(old[1], end))
    spans = [(QUARTERS * start, QUARTERS * (end - start)) for _, (start, end) in sorted(found.items())]
    full = Counter(length for _, length in spans).most_common(1)[0][0]
    numbered, number, at = {}, 0 if spans[0][1] < full else 1, 0
    while at < len(spans):
        numbered[number] = spans[at]
        divided = 0 < at < len(spans) - 1 and spans[at][1] + spans[at + 1][1] == full
        at += 2 if divided else 1
        number += 1
    return numbered


def compared(binary: Path, analysis: Path, score: Path) -> tuple[str, Counter]:
    """How long each thing is right in a score, in quarters."""
    tune = tunes_of(binary, "notes", score)[0]
    ours = tunes_of(binary, "chords", score)[0]["harmonies"]
    starts = [QUARTERS * Fraction(harmony["onset"]) for harmony in ours]
    places = bars(tune)
    right: Counter = Counter()
    for row in by_hand(analysis):
        right["length"] += row["length"]
        if row["bar"] not in places:
            continue
        start, length = places[row["bar"]]
        offset = row["offset"]
        if row["bar"] == 0 and offset >= length:  # counted from the full bar that the pickup ends
            offset -= max(places.get(1, (0, offset))[1] - length, 0)
        at, number = start + offset, 0
        while at < start + offset + row["length"]:
            share = min(STEP, start + offset + row["length"] - at)
            while number + 1 < len(ours) and starts[number + 1] <= at:
                number += 1
            judge(row, ours[number], share, right)
            at += share
    return f"{score.parent.name}/{score.stem}", right


def judge(row: dict, harmony: dict, share: Fraction, right: Counter) -> None:
    """Adds a moment to what is right."""
    if harmony["root"] is None:
        return
    root = fifths(harmony["root"])
    ours, theirs = KINDS.get(harmony["quality"], (0, 0, 0)), row["kind"]
    # Where the analysis leaves a third or a fifth out, any will do.
    same = all(b is None or a == b for a, b in zip(ours[:2], theirs[:2])) and ours[2] == theirs[2]
    facts = {
        "root": root == row["root"],
        "quality": same,
        "key": harmony["key"] == row["key"],
        "bass": fifths(harmony["bass"]) == row["bass"],
    }
    facts["all"] = all(facts.values())
    for name, true in facts.items():
        right[name] += share * true


def table(results: list[tuple[str, Counter]]) -> str:
    """The table as it is committed."""
    names = ["root", "quality", "key", "bass", "all"]
    total: Counter = Counter()
    for _, right in results:
        total.update(right)
    rows = [
        "# Harmonies against analyses by hand",
        "",
        "Written by `tests/reference/harmony.py`; `README.md` says how. Per cent of the time that each is right; `all` is",
        "root, quality, key and bass together.",
        "",
        "| score | quarters | " + " | ".join(names) + " |",
        "| --- | ---: |" + " ---: |" * len(names),
    ]
    wanted = ["wanted", ""] + [f"{WANTED[name]}" if name in WANTED else "" for name in names]
    for name, right in [("**together**", total), *results]:
        shares = [f"{float(100 * right[fact] / right['length']):.1f}" for fact in names]
        rows.append("| " + " | ".join([name, f"{float(right['length']):g}", *shares]) + " |")
        if name == "**together**":
            rows.append("| " + " | ".join(wanted) + " |")
    return "\n".join(rows) + "\n"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("binary", type=Path)
    parser.add_argument("--check", action="store_true")
    arguments = parser.parse_args()
    with ThreadPoolExecutor(corpus.PROCESSES) as pool:
        jobs = [pool.submit(compared, arguments.binary, *pair) for pair in analyses().items()]
        text = table([job.result() for job in jobs])
    print("\n".join(text.splitlines()[5:9]))
    if not arguments.check:
        TABLE.write_text(text)
    elif TABLE.read_text() != text:
        changed = set(text.splitlines()) - set(TABLE.read_text().splitlines())
        print("harmony.md does not say this any more; run harmony.py without --check:", *sorted(changed), sep="\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
