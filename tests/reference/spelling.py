"""Names for the sounds of published scores: `recte respell` against ps13s1, over target/corpus/scores.

    spelling.py RECTE_BINARY [--check] [--full]
    spelling.py RECTE_BINARY --speed

Every score is imported, and all that is typed of its names is taken away: each note becomes a white key or a
sharp. `recte respell --write` names the notes, `recte notes` reads them back, and what the import had counts as
right. The same once more with every signature taken away as well. ps13s1 is the method of D. Meredith, "The ps13
Pitch Spelling Algorithm", Journal of New Music Research 35(2), 2006, as the PyPI package partitura has it.

Without --check the results are written to spelling.tsv (by piece) and spelling.md (by group and composer), which
needs ps13s1 on every piece. With it they are compared with those; then ps13s1 runs on every tenth piece alone, or,
with --full or RECTE_ALL_SPELLING=1, on every one. --speed measures speed and nothing else. See README.md.
"""

import argparse
import csv
import hashlib
import math
import multiprocessing
import os
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import corpus
import spelling_speed
from spelling_names import fifths, forgotten, imported, kept_ps13s1, notes_in, respelled, sounds, struck

HERE = Path(__file__).parent
PIECES = HERE / "spelling.tsv"
SUMMARY = HERE / "spelling.md"
SAMPLE = 10  # one piece in so many for ps13s1
GROUPS = {
    "chorales": ["bach"],
    "quartets": ["haydn", "mozart", "beethoven"],
    "songs and piano": [
        "schumann_clara",
        "schumann_robert",
        "chopin",
        "joplin",
        "johnson_j_r",
        "leadSheet",
        "liliuokalani",
        "verdi",
    ],
    "early": ["palestrina", "monteverdi", "trecento", "lusitano", "corelli"],
    "atonal and exercises": ["schoenberg", "webern", "demos", "theoryExercises"],
}
# What is wanted of Recte, in per cent: of all notes, of those that need an accidental.
FLOORS = {
    "chorales": ("99.95", "99.3"),
    "quartets": ("99.3", "95"),
    "songs and piano": ("99.5", "97"),
    "early": ("99.98", "99.9"),
}
GROUP_OF = {composer: group for group, composers in GROUPS.items() for composer in composers}
# Wrong names, of all notes and of those that need an accidental: as laid out, and without signatures.
COUNTS = ["notes", "altered"] + [
    f"{system} {what}{where}"
    for where in ("", ", no signature")
    for system in ("recte", "ps13s1")
    for what in ("wrong", "altered wrong")
]
MOVED = ["recte moved", "recte altered moved", "ps13s1 moved", "ps13s1 altered moved"]
COLUMNS = ["group", "composer", "piece", *COUNTS, *MOVED]


def drawn(piece: str) -> bool:
    return int(hashlib.sha1(piece.encode()).hexdigest(), 16) // 2 % SAMPLE == 0


# Counting


def wrong(truth: list[dict], names: list[int] | None) -> tuple[int, int]:
    """How many names are wrong: of all notes, of those that need an accidental. No names: all are."""
    right = [fifths(note["pitch"]) for note in truth]
    if names is None or len(names) != len(right):
        return len(truth), sum(note["altered"] for note in truth)
    faults = [note["altered"] for note, a, b in zip(truth, right, names) if a != b]
    return len(faults), sum(faults)


def moved(truth: list[dict], names: list[int] | None) -> tuple[int, int]:
    """The same, the whole piece moved to its other names where that is better: without a signature nothing tells
    F sharp major from G flat major."""
    turns = [[name + turn for name in names] for turn in (0, 12, -12)] if names else [None]
    return min(wrong(truth, turned) for turned in turns)


def measure(binary: Path, wanted: Callable[[str], bool]) -> list[dict]:
    """One row for each piece; ps13s1 names those that are wanted."""
    folder = imported(binary)
    truth = notes_in(binary, folder)
    texts = {piece: (folder / piece).read_text(encoding="utf-8") for piece in truth}
    ours = {}
    for name, signatures in (("with", False), ("without", True)):
        stripped = {piece: forgotten(texts[piece], truth[piece], signatures) for piece in truth}
        ours[name] = respelled(binary, name, stripped, truth)
    chosen = [piece for piece in truth if wanted(piece)]
    given = [struck(truth[piece]) for piece in chosen]
    with multiprocessing.Pool(corpus.PROCESSES) as pool:
        theirs = dict(zip(chosen, pool.map(kept_ps13s1, given, chunksize=1)))
    rows = []
    for piece, voices in truth.items():
        right = sounds(voices)
        composer = piece.split("/")[0]
        row = {"group": GROUP_OF[composer], "composer": composer, "piece": piece.removesuffix(".abc")}
        row |= {"notes": len(right), "altered": sum(note["altered"] for note in right)}
        named = {key: named_by(ours[key].get(piece)) for key in ours}
        for where, key in (("", "with"), (", no signature", "without")):
            row[f"recte wrong{where}"], row[f"recte altered wrong{where}"] = wrong(right, named[key])
            if piece in theirs:  # it looks at no signature
                counts = wrong(right, theirs[piece])
                row[f"ps13s1 wrong{where}"], row[f"ps13s1 altered wrong{where}"] = counts
        row["recte moved"], row["recte altered moved"] = moved(right, named["without"])
        if piece in theirs:
            row["ps13s1 moved"], row["ps13s1 altered moved"] = moved(right, theirs[piece])
        rows.append(row)
    return sorted(rows, key=lambda row: (list(GROUPS).index(row["group"]), row["piece"]))


def named_by(voices: list[dict] | None) -> list[int] | None:
    return None if voices is None else [fifths(note["pitch"]) for note in sounds(voices)]


# Tables


def share(rows: list[dict], bad: str, of: str) -> Fraction | None:
    """The part of names that are right."""
    total = sum(row[of] for row in rows)
    return 1 - Fraction(sum(row[bad] for row in rows), total) if total else None


def shown(value: Fraction | None) -> str:
    """Per cent, never rounded up."""
    return "–" if value is None else f"{math.floor(value * 100_000) / 1000:.3f}"


def spread(rows: list[dict], bad: str, of: str) -> str:
    """The pieces from the worst on: the least, the quartiles."""
    shares = sorted(1 - Fraction(row[bad], row[of]) for row in rows if row[of])
    if not shares:
        return "–"
    at = [shares[(len(shares) - 1) * quarter // 4] for quarter in range(4)]
    return " / ".join(f"{float(value) * 100:.1f}" for value in at)


FIGURES = [
    ("all notes", "wrong", "notes"),
    ("notes that need an accidental", "altered wrong", "altered"),
]
VARIANTS = [
    ("Signatures as they stand", "{system} {bad}"),
    ("No signature", "{system} {bad}, no signature"),
    ("No signature, the whole piece by its better names", "{system} {bad}"),
]


def column(variant: int, system: str, bad: str) -> str:
    if variant == 2:
        bad = bad.replace("wrong", "moved")
    return VARIANTS[variant][1].format(system=system, bad=bad)


def lists(rows: list[dict]) -> list[tuple[str, str, list[dict]]]:
    """Each group, and each composer of a group of several: its group, what to call it, its rows."""
    found = []
    for group, composers in GROUPS.items():
        own = [row for row in rows if row["group"] == group]
        found.append((group, f"**{group}**", own))
        for composer in composers:
            found.append((group, composer, [row for row in own if row["composer"] == composer]))
    return [entry for entry in found if entry[2]]


def summary(rows: list[dict]) -> str:
    lines = [
        "# Names found for the sounds of published scores",
        "",
        "Written by `tests/reference/spelling.py`; `README.md` says how. Per cent of names that are right. The spread is",
        "over the pieces: least / lower quartile / median / upper quartile.",
    ]
    for variant, (title, _) in enumerate(VARIANTS):
        for figure, bad, of in FIGURES:
            lines += ["", f"## {title}: {figure}", ""]
            lines += ["| pieces | number | notes | Recte | ps13s1 | wanted | Recte, spread | ps13s1, spread |"]
            lines += ["| --- | ---: | ---: | ---: | ---: | --- | --- | --- |"]
            for group, name, own in lists(rows):
                ours, theirs = (column(variant, system, bad) for system in ("recte", "ps13s1"))
                floor = wanted_of(group, bad) if variant == 0 and name.startswith("*") else None
                met = share(own, ours, of)
                said = "" if floor is None else f"{floor}, {'met' if met >= Fraction(floor) / 100 else 'NOT MET'}"
                cells = [name, len(own), sum(row[of] for row in own), shown(met), shown(share(own, theirs, of))]
                cells += [said, spread(own, ours, of), spread(own, theirs, of)]
                lines.append("| " + " | ".join(map(str, cells)) + " |")
    return "\n".join(lines) + "\n"


def wanted_of(group: str, bad: str) -> str | None:
    floors = FLOORS.get(group)
    return floors and floors[bad.startswith("altered")]


def committed() -> list[dict]:
    with PIECES.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    return [{key: int(row[key]) if key in (*COUNTS, *MOVED) else row[key] for key in COLUMNS} for row in rows]


def write(rows: list[dict]) -> None:
    with PIECES.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, delimiter="\t", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    SUMMARY.write_text(summary(rows), encoding="utf-8")


# Judging


def faults_against(known: list[dict], rows: list[dict]) -> list[str]:
    """Where the results fall below the committed ones, or the committed ones are of other notes."""
    found = []
    old = {row["piece"]: row for row in known}
    if old.keys() != {row["piece"] for row in rows}:
        found.append("the committed table is of other pieces; write it anew")
    for row in rows:
        before = old.get(row["piece"], row)
        same = [column for column in row if column in ("notes", "altered") or column.startswith("ps13s1")]
        differ = [column for column in same if row[column] != before[column]]
        found += [f"{row['piece']}: {column} was {before[column]}, is {row[column]}" for column in differ]
    for group, name, own in lists(rows):
        pieces = {row["piece"] for row in own}
        before = [row for row in known if row["piece"] in pieces]
        for variant in range(len(VARIANTS)):
            for figure, bad, of in FIGURES:
                key = column(variant, "recte", bad)
                now, then = share(own, key, of), share(before, key, of)
                if now is not None and then is not None and now < then and name.startswith("*"):
                    found.append(f"{group}, {figure}: {shown(now)} %, committed are {shown(then)} % ({key})")
    return found


def faults_against_ps13s1(rows: list[dict]) -> list[str]:
    """The groups in which Recte is not ahead."""
    found = []
    for group, name, own in lists(rows):
        for figure, bad, of in FIGURES:
            keys = [column(0, system, bad) for system in ("recte", "ps13s1")]
            ours, theirs = (share(own, key, of) for key in keys)
            if name.startswith("*") and ours is not None and not ours > theirs:
                found.append(f"{group}, {figure}: Recte {shown(ours)} %, ps13s1 {shown(theirs)} %")
    return found


def floors_missed(rows: list[dict]) -> list[str]:
    found = []
    for group, floors in FLOORS.items():
        own = [row for row in rows if row["group"] == group]
        for (figure, bad, of), floor in zip(FIGURES, floors):
            met = share(own, column(0, "recte", bad), of)
            if met is not None and met < Fraction(floor) / 100:
                found.append(f"{group}, {figure}: {shown(met)} %, wanted {floor} %")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description="recte respell against ps13s1")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--check", action="store_true", help="compare with the committed tables")
    parser.add_argument("--full", action="store_true", help="ps13s1 on every piece")
    parser.add_argument("--speed", action="store_true", help="set the two beside each other in time")
    arguments = parser.parse_args()
    start = time.monotonic()
    if arguments.speed:
        return spelling_speed.main(arguments.recte.resolve(), drawn)
    full = not arguments.check or arguments.full or os.environ.get("RECTE_ALL_SPELLING") == "1"
    rows = measure(arguments.recte.resolve(), lambda piece: full or drawn(piece))
    if not rows:
        print("No score to name: run tests/reference/corpus.py first.")
        return 1
    faults = []
    if arguments.check:
        known = committed()
        faults += faults_against(known, rows)
        old = {row["piece"]: row for row in known}
        rows = [old.get(row["piece"], {}) | row for row in rows]
    else:
        write(rows)
    faults += [f"not ahead of ps13s1: {fault}" for fault in faults_against_ps13s1(rows)]
    print(summary(rows))
    for missed in floors_missed(rows):
        print("NOT MET:", missed)
    for fault in faults:
        print("fault:", fault)
    print(f"{len(rows)} pieces, {sum(row['notes'] for row in rows)} notes, {time.monotonic() - start:.0f} s.")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
