"""How much work `recte import` has with scores against music21's parse of the same files, as a ratio: the 50
largest laid out under target/corpus/scores, in one run, on one thread.

    import_speed.py RECTE_BINARY [--scores N]

Each side is started once and reads one file after another; Recte also writes the texts, and its start is
counted, music21's is not. What counts is processor time, so that others at work on the machine do not. Of Recte
the median of three runs is taken. Nothing is judged: a ratio is printed.
"""

import argparse
import os
import resource
import statistics
import subprocess
import tempfile
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


def work_of_children() -> float:
    """Processor seconds of the programs that were run and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def imported(recte: Path, scores: list[Path]) -> float:
    """Processor seconds of one `recte import` of all scores on one thread."""
    with tempfile.TemporaryDirectory() as folder:
        # Scores of one name would be written to one place.
        links = [Path(folder, f"{number}{path.suffix}") for number, path in enumerate(scores)]
        for link, path in zip(links, scores):
            link.symlink_to(path.resolve())
        start = work_of_children()
        command = [str(recte), "import", *map(str, links), "-o", str(Path(folder, "out"))]
        alone = {**os.environ, "RAYON_NUM_THREADS": "1"}
        subprocess.run(command, capture_output=True, env=alone, check=True)
        return work_of_children() - start


def parsed(path: Path) -> float:
    """Processor seconds of music21's parse; its cache is not used."""
    start = time.process_time()
    converter.parse(str(path), format="musicxml", forceSource=True)
    return time.process_time() - start


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
    recte = arguments.recte.resolve()
    ours = statistics.median(imported(recte, scores) for _ in range(3))
    theirs = sum(map(parsed, scores))
    size = sum(map(unpacked_size, scores))
    print(f"{len(scores)} scores, {size / 1e6:.0f} MB: recte {ours:.2f} s, music21 {theirs:.2f} s")
    print(f"music21 / recte import: {theirs / ours:.0f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
