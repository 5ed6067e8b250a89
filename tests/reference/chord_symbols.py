"""Chord symbols against the notes: analyses by hand, typed as chord symbols over the scores that they are of.

    chord_symbols.py RECTE_BINARY [--show N]

Each chord of the analyses that `harmony.py` compares with is typed over the note that begins with it, in the first
voice that has one. The rule chord-symbol should hardly speak: what an analyst hears is no mistake. Then one symbol in
twenty is typed a whole step too high, and counted again: how many of those does it find? Fails where it speaks of more
than one symbol in twenty, or finds fewer than half of the wrong ones. --show prints remarks; those in chord-symbols-read.tsv were read one by one.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from fractions import Fraction
from pathlib import Path

import harmony
from recte import tunes_of

IMPORTED = Path(__file__).parents[2] / "target" / "imported"
SUFFIXES = {
    "major triad": "",
    "minor triad": "m",
    "diminished triad": "dim",
    "augmented triad": "+",
    "dominant seventh": "7",
    "minor seventh": "m7",
    "major seventh": "maj7",
    "half-diminished seventh": "m7b5",
    "diminished seventh": "dim7",
}
ONE_IN = 20
MOST, LEAST = 0.05, 0.5


def name(fifths: int) -> str:
    """The name of a place on the line of fifths."""
    signs = (fifths + 1) // 7
    return "FCGDAEB"[(fifths + 1) % 7] + ("#" * signs if signs > 0 else "b" * -signs)


def symbol(row: dict, step: int = 0) -> str | None:
    """The symbol of a chord by hand, a step on the line of fifths away; None where there is none."""
    kind = next((kind for kind, members in harmony.KINDS.items() if members == row["kind"]), None)
    return None if kind is None else name(row["root"] + step) + SUFFIXES[kind]


def places(tune: dict) -> dict[Fraction, tuple[int, int]]:
    """For each onset, in quarters, where the first voice that begins a note there has it."""
    found: dict[Fraction, tuple[int, int]] = {}
    for voice in tune["voices"]:
        for note in voice["notes"]:
            start = note["range"]["start"]
            if not note["grace"]:
                found.setdefault(harmony.QUARTERS * Fraction(note["onset"]), (start["line"], start["character"]))
    return found


def typed(binary: Path, analysis: Path, score: Path, wrong: bool) -> tuple[str, int, set[tuple[int, int]]]:
    """The text with its symbols, how many there are, and where the wrong ones stand."""
    tune = tunes_of(binary, "notes", score)[0]
    bars, where = harmony.bars(tune), places(tune)
    lines = score.read_text().split("\n")
    inserted, seen = [], set()
    for row in harmony.by_hand(analysis):
        if row["bar"] not in bars or symbol(row) is None:
            continue
        start, length = bars[row["bar"]]
        offset = row["offset"]
        if row["bar"] == 0 and offset >= length:
            offset -= max(bars.get(1, (0, offset))[1] - length, 0)
        place = where.get(start + offset)
        if place is None or place in seen or lines[place[0]][: place[1]].endswith("["):
            continue
        seen.add(place)
        spoiled = wrong and len(seen) % ONE_IN == 0
        inserted.append((place, symbol(row, 2 if spoiled else 0), spoiled))
    bad = set()
    for (line, column), text, spoiled in sorted(inserted, reverse=True):
        lines[line] = f'{lines[line][:column]}"{text}"{lines[line][column:]}'
        if spoiled:
            bad.add((line, column))
    # Symbols typed earlier in a line have moved the later ones.
    moved = {
        (line, column + sum(len(text) + 2 for (l, c), text, _ in inserted if l == line and c < column))
        for line, column in bad
    }
    return "\n".join(lines), len(inserted), moved


def remarks(binary: Path, folder: Path) -> dict[str, list[dict]]:
    """What the rule says of each file in a folder."""
    run = [binary, "check", folder, "--rule", "chord-symbol", "--format", "json", "--fail-on", "never"]
    output = json.loads(subprocess.run(run, check=True, capture_output=True, text=True).stdout)
    return {Path(score["path"]).name: [one for one in score["diagnostics"] if one["rule"] == "chord-symbol"] for score in output["files"]}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("recte", type=Path)
    parser.add_argument("--show", type=int, default=0)
    args = parser.parse_args()
    pairs = []
    for analysis, score in harmony.analyses().items():
        own = IMPORTED / score.parent.name / f"{score.stem}.abc"
        if own.exists():
            pairs.append((analysis, own))
    results = {}
    for wrong in (False, True):
        with tempfile.TemporaryDirectory() as folder:
            symbols, bad = 0, {}
            for number, (analysis, score) in enumerate(pairs):
                text, count, spoiled = typed(args.recte, analysis, score, wrong)
                file = Path(folder) / f"{number:03}-{score.name}"
                file.write_text(text)
                symbols, bad[file.name] = symbols + count, spoiled
            said = remarks(args.recte, Path(folder))
            starts = {file: {(one["range"]["start"]["line"], one["range"]["start"]["character"]) for one in all_} for file, all_ in said.items()}
            found = sum(len(bad[file] & starts[file]) for file in bad)
            results[wrong] = (symbols, sum(map(len, said.values())), sum(map(len, bad.values())), found)
            shown = [(file, one) for file, all_ in said.items() for one in all_] if not wrong else []
            for file, one in shown[:: max(1, len(shown) // args.show)] if args.show else []:
                print(file, "bar", one["bar"], "beat", one.get("beat"), one["message"])
    symbols, spoken, _, _ = results[False]
    _, _, wrong, found = results[True]
    print(f"{len(pairs)} scores, {symbols} symbols by hand: {spoken} remarks ({100 * spoken / symbols:.1f} in a hundred symbols)")
    print(f"{wrong} symbols typed a whole step too high: {found} found ({100 * found / wrong:.0f} in a hundred)")
    return int(spoken > MOST * symbols or found < LEAST * wrong)


if __name__ == "__main__":
    sys.exit(main())
