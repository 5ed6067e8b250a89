"""Lays out the test half of music21's native ABC corpus under target/corpus.

A file belongs to the test half when the SHA-1 of its stem is odd. The other half is never opened.

- target/corpus/native/FOLDER/FILE.abc  byte-for-byte copies
- target/corpus/native.json             folder, file and number of tunes of each, and what is left
                                        out of the joined file
- target/corpus/native-all.abc          all files in one, blank lines between
"""

import hashlib
import importlib.util
import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TARGET = ROOT / "target" / "corpus"
NATIVE = TARGET / "native"

REFERENCE_LINE = re.compile(rb"^X:", re.MULTILINE)
# What would change the files joined after it: a version line, a character set, fields or
# directives above the first tune, a block of text that may not be closed.
HEADER_LINE = re.compile(rb"^(?:[A-Za-z]:|%%|%abc)", re.MULTILINE)
CHARSET = re.compile(rb"abc-charset|^%%begintext", re.MULTILINE)


def odd(stem: str) -> bool:
    """Whether a file with this stem belongs to the test half."""
    return int(hashlib.sha1(stem.encode()).hexdigest(), 16) % 2 == 1


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


def main() -> None:
    result = lay_out()
    left_out = result["left out of native-all.abc"]
    print(
        f"{len(result['files'])} files, {result['tunes']} tunes laid out under target/corpus/native; "
        f"{len(left_out)} left out of native-all.abc"
    )


if __name__ == "__main__":
    main()
