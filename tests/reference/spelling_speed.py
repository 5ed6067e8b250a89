"""How fast names are found: the speller beside ps13s1, and its growth with the length of a score.

Times are told as ratios of one run. Growth is counted in instructions, by perf where the machine has counters for
them, else by valgrind; where there is neither, it is said that nothing was counted.
"""

import json
import re
import shutil
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import corpus
from spelling_names import imported, notes_in, ps13s1, sounds, struck

WANTED = 200  # times as fast as ps13s1
LENGTHS = [1, 2, 4, 8]
STRAIGHT = 0.10  # so far the growth may be off a straight line
LONGEST = 8000  # notes; valgrind takes a while


def bench() -> Path:
    """The built benchmark."""
    command = ["cargo", "bench", "--quiet", "-p", "recte-assist", "--bench", "spelling", "--no-run"]
    command += ["--message-format=json"]
    run = subprocess.run(command, cwd=corpus.ROOT, stdout=subprocess.PIPE, check=True)
    built = (json.loads(line) for line in run.stdout.splitlines() if line.startswith(b"{"))
    return next(Path(one["executable"]) for one in built if one.get("executable"))


def speller(built: Path, folder: Path) -> float:
    """Seconds a note, on one thread, reading not counted, in the fastest of a few rounds."""
    run = subprocess.run([built, str(folder)], stdout=subprocess.PIPE, check=True, text=True)
    print("the speller:", run.stdout.strip())
    return int(re.search(r"(\d+) ns a note", run.stdout)[1]) / 1e9


def reference(pieces: list[list[dict]]) -> float:
    """Seconds a note of ps13s1, in this process, in the faster of two rounds."""
    ps13s1([(0.0, 60)])  # what is only loaded once
    notes = sum(len(sounds(voices)) for voices in pieces)
    rounds = []
    for _ in range(2):
        start = time.process_time()
        for voices in pieces:
            ps13s1(struck(voices))
        rounds.append(time.process_time() - start)
    each = min(rounds) / notes
    print(f"ps13s1: {len(pieces)} texts, {notes} notes, {each * 1e9:.0f} ns a note")
    return each


def instructions(command: list[str]) -> int | None:
    """Instructions that a command takes; None where this machine cannot count them."""
    if shutil.which("perf"):
        counting = ["perf", "stat", "-x", ",", "-e", "instructions:u", *command]
        run = subprocess.run(counting, capture_output=True, text=True, check=False)
        found = re.search(r"^(\d+),[^,]*,instructions:u", run.stderr, re.MULTILINE)
        if run.returncode == 0 and found:
            return int(found[1])
    if shutil.which("valgrind"):
        counting = ["valgrind", "--tool=cachegrind", "--cache-sim=no", "--cachegrind-out-file=/dev/null"]
        run = subprocess.run([*counting, *command], capture_output=True, text=True, check=False)
        found = re.search(r"I\s+refs:\s+([\d,]+)", run.stderr)
        if run.returncode == 0 and found:
            return int(found[1].replace(",", ""))
    return None


def growth(built: Path, text: Path) -> list[int] | None:
    """Instructions of the speller alone for the score so many times over."""
    counts = []
    for times in LENGTHS:
        once = [str(built), "once", str(times), str(text)]
        read, spelled = instructions(once), instructions([*once, "spell"])
        if read is None or spelled is None:
            return None
        counts.append(spelled - read)
    return counts


def off_line(counts: list[int]) -> float:
    """How far the worst count is off the straight line that fits them best, as a part of the line's value."""
    mean_x, mean_y = sum(LENGTHS) / len(LENGTHS), sum(counts) / len(counts)
    slope = sum((x - mean_x) * (y - mean_y) for x, y in zip(LENGTHS, counts))
    slope /= sum((x - mean_x) ** 2 for x in LENGTHS)
    line = [mean_y + slope * (x - mean_x) for x in LENGTHS]
    return max(abs(count - value) / value for count, value in zip(counts, line))


def main(recte: Path, drawn: Callable[[str], bool]) -> int:
    folder = imported(recte)
    pieces = notes_in(recte, folder)
    built = bench()
    ours = speller(built, folder)
    theirs = reference([voices for piece, voices in pieces.items() if drawn(piece)])
    print(f"ps13s1 / the speller: {theirs / ours:.0f} (wanted {WANTED})")
    lengths = {piece: len(sounds(voices)) for piece, voices in pieces.items()}
    # One signature all through, so that the music can follow itself.
    steady = [piece for piece in lengths if not re.search(r"\[K:[A-G]", (folder / piece).read_text("utf-8"))]
    long = max((piece for piece in steady if lengths[piece] <= LONGEST), key=lengths.get)
    counts = growth(built, folder / long)
    if counts is None:
        print("GROWTH WAS NOT COUNTED: neither perf nor valgrind counts instructions on this machine.")
        return 0 if theirs >= WANTED * ours else 1
    print(f"{long}, {lengths[long]} notes, {', '.join(map(str, LENGTHS))} times over:")
    print("instructions of the speller:", ", ".join(f"{count:,}" for count in counts))
    off = off_line(counts)
    print(f"off a straight line by {off:.1%} at most (wanted {STRAIGHT:.0%})")
    return 0 if theirs >= WANTED * ours and off <= STRAIGHT else 1
