"""How much work `recte report` has against `recte check` of the same score, one after the other on one thread.

    report_speed.py RECTE [SCORE.abc …]

Without scores it makes one of 24 voices and 500 bars. What counts is
processor time, so that others at work on the machine do not. Prints the ratio of the least of five runs each, and the size
of the page; nothing is judged.
"""

import resource
import subprocess
import sys
import tempfile
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


def work_of_children() -> float:
    """Processor seconds of the programs that were run and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def least(command: list[str]) -> float:
    """The least work of some runs, in processor seconds."""
    times = []
    for _ in range(ROUNDS):
        start = work_of_children()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        times.append(work_of_children() - start)
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
            check = least([recte, "check", "--jobs", "1", "--fail-on", "never", "--format", "json", score])
            report = least([recte, "report", "--jobs", "1", "-o", str(out), score])
            pages = [page for page in out.glob("*.html") if page.name != "index.html"]
            largest = max(page.stat().st_size for page in pages)
            print(f"{score}: report / check {report / check:.2f}; the largest page has {largest / 1000:.0f} kB")


if __name__ == "__main__":
    main()
