"""How long `recte import` takes against music21's parse of the same files, as a ratio: the 50 largest scores
laid out under target/corpus/scores, one after the other, both in one run on one thread.

    import_speed.py RECTE_BINARY [--scores N]

Recte is started anew for each file and writes the text; music21 is loaded once, and its cache is not used.
The whole of each side is counted, and so is the start of Recte. Nothing is judged: a ratio is printed.
"""

import argparse
import os
import statistics
import subprocess
import time
import warnings
import zipfile
from pathlib import Path

import corpus

from music21 import converter, environment

ENDINGS = {".xml", ".mxl", ".musicxml"}


def unpacked_size(path: Path) -> int:
    """Bytes of the score itself, whether or not the file is compressed."""
    if path.suffix != ".mxl":
        return path.stat().st_size
    with zipfile.ZipFile(path) as archive:
        return sum(entry.file_size for entry in archive.infolist())


def seconds(work) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> int:
    parser = argparse.ArgumentParser(description="the time of an import against music21's parse")
    parser.add_argument("recte", type=Path, help="the built program")
    parser.add_argument("--scores", type=int, default=50, metavar="N", help="so many of the largest")
    arguments = parser.parse_args()
    warnings.simplefilter("ignore")
    environment.Environment.warn = lambda *_arguments, **_keywords: None
    scores = [path for path in corpus.SCORES.rglob("*") if path.suffix in ENDINGS]
    scores = sorted(scores, key=unpacked_size, reverse=True)[: arguments.scores]
    if not scores:
        print("No score to measure: run tests/reference/corpus.py first.")
        return 1
    binary = str(arguments.recte.resolve())
    alone = {**os.environ, "RAYON_NUM_THREADS": "1"}

    def imported(path: Path) -> None:
        command = [binary, "import", str(path)]
        subprocess.run(command, capture_output=True, env=alone, check=True)

    def parsed(path: Path) -> None:
        converter.parse(str(path), format="musicxml", forceSource=True)

    ours, theirs, ratios = 0.0, 0.0, []
    for path in scores:
        own = statistics.median(seconds(lambda: imported(path)) for _ in range(3))
        other = seconds(lambda: parsed(path))
        ours, theirs = ours + own, theirs + other
        ratios.append(other / own)
    size = sum(map(unpacked_size, scores))
    print(f"{len(scores)} scores, {size} bytes: recte {ours:.2f} s, music21 {theirs:.2f} s")
    print(
        f"music21 / recte import: {theirs / ours:.0f} in all;"
        f" of single scores {min(ratios):.0f} to {max(ratios):.0f}, median {statistics.median(ratios):.0f}"
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
