"""How long `recte report` takes against `recte check` of the same score, one after the other on one thread.

    report_speed.py RECTE [SCORE.abc …]

Without scores it makes one of 24 voices and 500 bars. Prints the ratio of the shortest of five runs each, and the size of the
page. No test: a ratio of two times taken in one run.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 5
VOICES, BARS = 24, 500
NOTES = ["C2", "D", "E/F/", "^F", "G", "A", "_B", "c2"]


def large() -> str:
    """A score of many voices in which no two bars of a line are alike."""
    lines = ["X:1", "T:Large", "M:4/4", "L:1/8", "Q:1/4=96", "K:C"]
    lines += [f'V:{voice} name="Part {voice}"' for voice in range(VOICES)]
    for line in range(BARS // 4):
        for voice in range(VOICES):
            bars = []
            for bar in range(4):
                places = [line * 31 + voice * 7 + bar * 3 + at * at for at in range(6)]
                bars.append(" ".join([NOTES[place % 8] for place in places] + ["z"]))
            lines.append(f"[V:{voice}]{'|'.join(bars)}|")
    return "\n".join(lines) + "\n"


def shortest(command: list[str]) -> float:
    """The shortest of some runs, in seconds."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    recte, *scores = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        if not scores:
            made = Path(folder) / "large.abc"
            made.write_text(large(), encoding="utf-8")
            scores = [str(made)]
        for score in scores:
            out = Path(folder) / "out"
            check = shortest([recte, "check", "--jobs", "1", "--fail-on", "never", "--format", "json", score])
            report = shortest([recte, "report", "--jobs", "1", "-o", str(out), score])
            pages = [page for page in out.glob("*.html") if page.name != "index.html"]
            largest = max(page.stat().st_size for page in pages)
            print(f"{score}: report / check {report / check:.2f}; the largest page has {largest / 1000:.0f} kB")


if __name__ == "__main__":
    main()
