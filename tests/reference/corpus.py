"""Lays out the test half of music21's corpus under target/corpus.

A file belongs to the test half when the SHA-1 of its stem is odd. The other half is never opened.

- target/corpus/native/FOLDER/FILE.abc  byte-for-byte copies
- target/corpus/native.json             folder, file and number of tunes of each, and what is left
                                        out of the joined file
- target/corpus/native-all.abc          all files in one, blank lines between
- target/corpus/scores/FOLDER/FILE      copies of the MusicXML scores, and FILE.krn.musicxml for each
                                        kern score, as music21 writes it; of the 671 masses in kern one in ten,
                                        all with RECTE_ALL_SCORES=1 (music21 takes half an hour for them)
- target/corpus/scores.json             what each of these was made from
"""

import hashlib
import importlib.util
import json
import multiprocessing
import os
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TARGET = ROOT / "target" / "corpus"
NATIVE = TARGET / "native"
SCORES = TARGET / "scores"
PROCESSES = 2
MUSICXML = (".mxl", ".xml", ".musicxml")

REFERENCE_LINE = re.compile(rb"^X:", re.MULTILINE)
# What would change the files joined after it: a version line, a character set, fields or
# directives above the first tune, a block of text that may not be closed.
HEADER_LINE = re.compile(rb"^(?:[A-Za-z]:|%%|%abc)", re.MULTILINE)
CHARSET = re.compile(rb"abc-charset|^%%begintext", re.MULTILINE)


def odd(stem: str) -> bool:
    """Whether a file with this stem belongs to the test half."""
    return int(hashlib.sha1(stem.encode()).hexdigest(), 16) % 2 == 1


def laid_out(path: Path) -> bool:
    """Whether a score of the test half is laid out by default: of one long row of masses a tenth will do."""
    if not odd(path.stem):
        return False
    kern_mass = path.suffix == ".krn" and "palestrina" in path.parts
    drawn = int(hashlib.sha1(path.stem.encode()).hexdigest(), 16) // 2 % 10 == 0
    return drawn or not kern_mass or os.environ.get("RECTE_ALL_SCORES") == "1"


def source() -> Path:
    """The folder music21 keeps its corpus in, found without importing music21."""
    spec = importlib.util.find_spec("music21")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("music21 is not installed here: run tests/reference/setup first")
    return Path(spec.submodule_search_locations[0]) / "corpus"


def native_files() -> list[Path]:
    """Every file laid out, in a fixed order."""
    return sorted(NATIVE.rglob("*.abc"))


def tune_count(content: bytes) -> int:
    """Tunes in a file: its lines that start with X:."""
    return len(REFERENCE_LINE.findall(content))


def changes_neighbours(content: bytes) -> bool:
    """Whether a file, joined to others, could change how they are read."""
    first = REFERENCE_LINE.search(content)
    head = content[: first.start()] if first else content
    return bool(HEADER_LINE.search(head) or CHARSET.search(content))


def lay_out() -> dict:
    """Copies the files, removes strays, writes the list and the joined file; returns the list."""
    origin = source()
    listed, joined, left_out, kept = [], [], [], set()
    for path in sorted(origin.rglob("*.abc")):
        if not odd(path.stem):
            continue
        place = path.relative_to(origin)
        content = path.read_bytes()
        copy = NATIVE / place
        copy.parent.mkdir(parents=True, exist_ok=True)
        if not copy.exists() or copy.read_bytes() != content:
            copy.write_bytes(content)
        kept.add(copy)
        listed.append(
            {"folder": place.parent.as_posix(), "file": place.name, "tunes": tune_count(content)}
        )
        if changes_neighbours(content):
            left_out.append(place.as_posix())
        else:
            joined.append(content.rstrip(b"\r\n"))
    for stray in set(native_files()) - kept:
        stray.unlink()
    (TARGET / "native-all.abc").write_bytes(b"\n\n".join(joined) + b"\n")
    result = {
        "files": listed,
        "tunes": sum(row["tunes"] for row in listed),
        "left out of native-all.abc": left_out,
    }
    (TARGET / "native.json").write_text(json.dumps(result, indent=1) + "\n", encoding="utf-8")
    return result


def score_files() -> list[Path]:
    """Every score laid out, in a fixed order."""
    return sorted(path for path in SCORES.rglob("*") if path.suffix in MUSICXML)


def _convert(work: tuple[str, str]) -> str:
    """Writes a kern score as MusicXML; empty, or why music21 could not."""
    from music21 import converter

    source_path, target = Path(work[0]), Path(work[1])
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_suffix(".part.xml")
    try:
        converter.parse(source_path, forceSource=True).write("musicxml", fp=part)
    except Exception as problem:  # whatever music21 raises is its answer
        return f"{type(problem).__name__}: {problem}"
    part.rename(target)
    return ""


def lay_out_scores() -> dict:
    """Copies the MusicXML scores, has the kern scores converted; what is current is kept."""
    origin = source()
    listing = TARGET / "scores.json"
    known = json.loads(listing.read_text(encoding="utf-8")) if listing.exists() else {}
    made: dict[str, dict] = {}
    work = []
    for path in sorted(origin.rglob("*")):
        if path.suffix not in (*MUSICXML, ".krn") or not laid_out(path):
            continue
        place = path.relative_to(origin).as_posix()
        content = path.read_bytes()
        digest = hashlib.sha256(content).hexdigest()
        place += ".musicxml" if path.suffix == ".krn" else ""
        copy = SCORES / place
        made[place] = {"source": digest}
        if known.get(place, {}).get("source") == digest and (copy.exists() or known[place].get("error")):
            made[place] = known[place]
        elif path.suffix == ".krn":
            work.append((str(path), str(copy)))
        else:
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(content)
    with multiprocessing.Pool(PROCESSES) as pool:
        for (_, copy), error in zip(work, pool.imap(_convert, work)):
            if error:
                made[Path(copy).relative_to(SCORES).as_posix()]["error"] = error
    for stray in set(score_files()) - {SCORES / place for place in made}:
        stray.unlink()
    listing.write_text(json.dumps(made, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    return made


def main() -> None:
    result = lay_out()
    left_out = result["left out of native-all.abc"]
    print(
        f"{len(result['files'])} files, {result['tunes']} tunes laid out under target/corpus/native; "
        f"{len(left_out)} left out of native-all.abc"
    )
    scores = lay_out_scores()
    failed = sum("error" in score for score in scores.values())
    print(f"{len(scores)} scores laid out under target/corpus/scores; {failed} kern scores music21 could not write")


if __name__ == "__main__":
    main()
