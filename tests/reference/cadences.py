"""Cadences at fermatas against analyses by hand: `recte chords` over the chorales that `harmony.py` has analyses of.

    cadences.py RECTE_BINARY

At each fermata of the soprano the last two roots of the analysis, in its own key, say which cadence it is (perfect and
imperfect are told apart by the score alone, so both count as authentic). Printed are key and kind by hand and by recte, and
how many agree; it fails if less than seven in ten do.
"""

import sys
from fractions import Fraction
from pathlib import Path

from harmony import QUARTERS, analyses, bars, by_hand, fifths
from recte import tunes_of

WANTED = 0.7


def fermatas(score: Path) -> list[tuple[int, Fraction, Fraction]]:
    """Measure, offset and length in quarters of the soprano's notes with a fermata."""
    from music21 import converter, expressions

    part = converter.parse(score).parts[0]
    found = []
    for measure in part.getElementsByClass("Measure"):
        for note in measure.recurse().notesAndRests:
            if any(isinstance(one, expressions.Fermata) for one in note.expressions):
                found.append((measure.number, Fraction(note.offset), Fraction(note.quarterLength)))
    return found


def kind(rows: list[dict]) -> str:
    """The cadence of the last rows of an analysis."""
    goal = rows[-1]
    letter, mode = goal["key"].split(" ")
    tonic = fifths(letter)
    root, third = goal["root"] - tonic, goal["kind"][0]
    before = next((row for row in reversed(rows[:-1]) if row["root"] != goal["root"]), None)
    if before is None:
        return "none"
    came, came_third = before["root"] - goal["root"], before["kind"][0]
    diminished = before["kind"][1] == -6
    if (came == 1 and came_third == 4 or came == 5 and diminished) and not (root == 1 and third == 4):
        return "authentic"
    if root == 1 and third == 4 and goal["bass"] == goal["root"]:
        fourth = before["root"] - tonic == -1 and came_third == -3
        return "Phrygian half" if mode == "minor" and fourth and before["bass"] != before["root"] else "half"
    if root == 0 and came == -1:
        return "plagal"
    if before["root"] - tonic == 1 and root in (3, -4):
        return "deceptive"
    return "none"


def compared(binary: Path, analysis: Path, score: Path) -> tuple[int, int]:
    """How many fermatas agree, and of how many."""
    places = bars(tunes_of(binary, "notes", score)[0])
    ours = tunes_of(binary, "chords", score)[0]["harmonies"]
    rows = by_hand(analysis)
    for row in rows:
        start, length = places.get(row["bar"], (Fraction(-1), Fraction(0)))
        offset = row["offset"]
        if row["bar"] == 0 and offset >= length:  # counted from the full bar that the pickup ends
            offset -= max(places.get(1, (0, offset))[1] - length, 0)
        row["at"] = start + offset
    same = count = 0
    for bar, offset, length in fermatas(score):
        end = places[bar][0] + offset + length
        hand = kind([row for row in rows if 0 <= row["at"] < end][-4:])
        reached = [one for one in ours if QUARTERS * Fraction(one["onset"]) < end]
        named = next((one["cadence"] for one in reversed(reached[-2:]) if one["cadence"]), None) or "none"
        named = named.replace("imperfect ", "").replace("perfect ", "")
        count += 1
        same += named == hand
        key = next((row["key"] for row in reversed(rows) if 0 <= row["at"] < end), "")
        print(f"{score.stem} bar {bar}: by hand {hand} in {key}; recte {named}, {reached[-1]['degree']} in {reached[-1]['key']}")
    return same, count


def main() -> int:
    pairs = [pair for pair in analyses().items() if pair[1].parent.name == "bach"]
    results = [compared(Path(sys.argv[1]), *pair) for pair in pairs]
    same, count = (sum(column) for column in zip(*results))
    print(f"{same} of {count} fermatas have the cadence that the analysis has")
    return int(same < count * WANTED)


if __name__ == "__main__":
    sys.exit(main())
