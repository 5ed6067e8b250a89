"""The lowest note and the transposition of every instrument of the table, beside those of music21.

    instruments.py RECTE_BINARY            writes instruments.csv beside this file; reasons stay
    instruments.py RECTE_BINARY --check    the table is as committed, and every difference has a reason

music21 gives lowest notes as they are written (music21.instrument, 10.5.1). "agree" means the same lowest
written note of professional players and the same interval of transposition; "not there" that music21 has no
such instrument, or says neither of it.
"""

import argparse
import csv
import io
import json
import subprocess
import sys
import warnings
from pathlib import Path

from music21 import environment, instrument

TABLE = Path(__file__).with_name("instruments.csv")
COLUMNS = ["row", "music21", "lowest", "music21 lowest", "transposition", "music21 transposition", "verdict", "reason"]

# Our rows by the names under which music21 knows the same instrument: a class, or a name with a key.
SAME = {
    "piccolo": "Piccolo",
    "flute": "Flute",
    "soprano-recorder": "Recorder",
    "tin-whistle": "Whistle",
    "oboe": "Oboe",
    "english-horn": "EnglishHorn",
    "clarinet-in-e-flat": "Clarinet in Eb",
    "clarinet-in-d": "Clarinet in D",
    "clarinet-in-c": "Clarinet in C",
    "clarinet-in-b-flat": "Clarinet",
    "clarinet-in-a": "Clarinet in A",
    "bass-clarinet": "BassClarinet",
    "bassoon": "Bassoon",
    "contrabassoon": "Contrabassoon",
    "soprano-saxophone": "SopranoSaxophone",
    "alto-saxophone": "AltoSaxophone",
    "tenor-saxophone": "TenorSaxophone",
    "baritone-saxophone": "BaritoneSaxophone",
    "great-highland-bagpipe": "Bagpipes",
    "horn-in-f": "Horn",
    "trumpet-in-b-flat": "Trumpet",
    "trumpet-in-c": "Trumpet in C",
    "trumpet-in-d": "Trumpet in D",
    "trombone": "Trombone",
    "bass-trombone": "BassTrombone",
    "tuba": "Tuba",
    "timpani": "Timpani",
    "glockenspiel": "Glockenspiel",
    "xylophone": "Xylophone",
    "marimba": "Marimba",
    "vibraphone": "Vibraphone",
    "tubular-bells": "TubularBells",
    "handbells": "Handbells",
    "snare-drum": "SnareDrum",
    "bass-drum": "BassDrum",
    "cymbals": "Cymbals",
    "triangle": "Triangle",
    "tambourine": "Tambourine",
    "tam-tam": "TamTam",
    "wood-block": "Woodblock",
    "tom-toms": "TomTom",
    "percussion": "Percussion",
    "harp": "Harp",
    "celesta": "Celesta",
    "piano": "Piano",
    "harpsichord": "Harpsichord",
    "organ": "PipeOrgan",
    "synthesizer": "ElectricPiano",
    "harmonium": "ReedOrgan",
    "accordion": "Accordion",
    "diatonic-harmonica": "Harmonica",
    "guitar": "AcousticGuitar",
    "electric-guitar": "ElectricGuitar",
    "bass-guitar": "ElectricBass",
    "mandolin": "Mandolin",
    "five-string-banjo": "Banjo",
    "ukulele": "Ukulele",
    "lute": "Lute",
    "soprano": "Soprano",
    "mezzo-soprano": "MezzoSoprano",
    "contralto": "Alto",
    "tenor": "Tenor",
    "baritone": "Baritone",
    "bass": "Bass",
    "voice": "Vocalist",
    "violin": "Violin",
    "viola": "Viola",
    "cello": "Violoncello",
    "double-bass": "Contrabass",
}


def theirs(name: str) -> tuple[str, str]:
    """The lowest note and the transposition ("-2/-1": semitones, letter steps) that music21 has."""
    known = instrument.fromString(name) if " " in name else getattr(instrument, name)()
    lowest = known.lowestNote.nameWithOctave.replace("-", "b") if known.lowestNote else ""
    moved = known.transposition
    if moved is None:
        return lowest, "0/0"
    steps = moved.generic.directed
    return lowest, f"{round(moved.semitones)}/{steps - 1 if steps > 0 else steps + 1}"


def rows(recte: Path, reasons: dict[str, str]) -> list[dict[str, str]]:
    said = subprocess.run([recte, "instruments", "--format", "json"], capture_output=True, check=True, cwd="/")
    found = []
    for one in json.loads(said.stdout)["instruments"]:
        name = SAME.get(one["id"], "")
        ranges = one["ranges"].get("professional")
        moved = one["transposition"]
        ours = (
            ranges["written"][0] if ranges else "",
            f"{moved['chromatic']}/{moved['diatonic']}" if moved else "0/0",
        )
        lowest, transposition = theirs(name) if name else ("", "")
        same = ours[1] == transposition and lowest in ("", ours[0])
        verdict = "agree" if same else "differ"
        # Without a lowest note, no transposition says nothing either.
        if not name or not lowest and transposition == "0/0":
            verdict = "not there"
        row = [one["id"], name, ours[0], lowest, ours[1], transposition, verdict, reasons.get(one["id"], "")]
        found.append(dict(zip(COLUMNS, row, strict=True)))
    unknown = SAME.keys() - {row["row"] for row in found}
    if unknown:
        raise SystemExit(f"The table has no row {', '.join(sorted(unknown))}.")
    return found


def written(found: list[dict[str, str]]) -> str:
    text = io.StringIO()
    table = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    table.writeheader()
    table.writerows(found)
    return text.getvalue()


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("recte", type=Path)
    parser.add_argument("--check", action="store_true")
    arguments = parser.parse_args()
    warnings.simplefilter("ignore")
    environment.Environment.warn = lambda *_arguments, **_keywords: None
    committed = TABLE.read_text(encoding="utf-8") if TABLE.exists() else ""
    before = csv.DictReader(io.StringIO(committed))
    reasons = {row["row"]: row["reason"] for row in before}
    found = rows(arguments.recte.resolve(), reasons)
    text = written(found)
    if not arguments.check:
        TABLE.write_text(text, encoding="utf-8")
    counts = {verdict: sum(row["verdict"] == verdict for row in found) for verdict in ("agree", "differ", "not there")}
    print(", ".join(f"{count} {verdict}" for verdict, count in counts.items()))
    silent = [row["row"] for row in found if row["verdict"] == "differ" and not row["reason"]]
    idle = [row["row"] for row in found if row["verdict"] != "differ" and row["reason"]]
    for name in silent:
        print(f"{name} differs from music21, and instruments.csv gives no reason.")
    for name in idle:
        print(f"{name} has a reason in instruments.csv, and no difference.")
    stale = arguments.check and text != committed
    if stale:
        print("instruments.csv is not what the comparison gives now; run instruments.py without --check.")
    return int(bool(silent or idle or stale))


if __name__ == "__main__":
    sys.exit(main())
