"""The same tune with less around its notes, for telling why music21's reading differs.

music21 misreads notes because of signs beside them that say nothing about pitch or duration: it
forgets a broken rhythm when a slur, a tie or a grace note stands next to the mark, loses a note
with a fermata letter, takes "E::" for a field. Each step below takes one such kind of sign out of
the text. If music21 then agrees, the sign was the reason, and the notes themselves are read alike.
"""

import re

INLINE = r"(?P<keep>\[[A-Za-z]:[^\]\n]*\])"
QUOTED = r'"[^"\n]*"'
FIELD = re.compile(r"^[A-Za-z]:|^%|^\+:")
# Field letters the body of a tune gives to notes [3].
BODY_NOTES = re.compile(r"^[A-GX-Za-gx-z]:")
CLEF = re.compile(
    r"(^K:.*?)(?:clef=\S+|\b(?:treble|alto|tenor|bass|perc)\d?)(?:[+-]8)?", re.MULTILINE
)

# In the order tried: what the reason says, and what is taken out of a line of music.
STEPS = {
    "a note before :: taken for a field": r"(?P<space>(?<=[A-Z])(?=::))",
    "quoted words cost notes": QUOTED,
    "decorations cost notes or a broken rhythm": r"![^!\s|:\[\]]+!|[HLMOPSTuv~.]",
    "grace notes cost a broken rhythm or a tuplet": r"\{[^}\n]*\}",
    "slurs or ties cost a broken rhythm": r"\((?!\d)|\)|(?<!\[\d)(?<![|:]\d)-|`",
}
CLEF_STEP = "a clef moves the sound"


def _take_out(tune: str, pattern: str) -> str:
    """The tune with the pattern gone from its lines of music; other quoted words stay whole."""
    other = "" if pattern == QUOTED else f"(?P<quoted>{QUOTED})|"
    sign = re.compile(f"{INLINE}|{other}{pattern}")

    def replace(found: re.Match) -> str:
        groups = found.groupdict()
        if groups.get("keep") or groups.get("quoted"):
            return found.group()
        return " " if groups.get("space") is not None else ""

    lines, in_body = [], False
    for line in tune.split("\n"):
        music = in_body and (BODY_NOTES.match(line) or not FIELD.match(line))
        lines.append(sign.sub(replace, line) if music else line)
        in_body = in_body or line.startswith("K:")
    return "\n".join(lines)


def variants(tune: str) -> dict[str, str]:
    """The tune with one kind of sign taken out, by reason; the last with all of them out."""
    result = {}
    everything = tune
    for reason, pattern in STEPS.items():
        result[reason] = _take_out(tune, pattern)
        everything = _take_out(everything, pattern)
    result[CLEF_STEP] = CLEF.sub(r"\1", tune)
    everything = CLEF.sub(r"\1", everything)
    result["several signs beside notes cost notes or a broken rhythm"] = everything
    return {reason: text for reason, text in result.items() if text != tune}
