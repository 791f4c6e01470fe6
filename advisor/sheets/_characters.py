"""Which characters a file may hold, and how text is shown in a message."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from advisor.faults import Fault, Position

# Controls but tab and line feed, a carriage return on its own, Unicode's own line ends, marks that turn
# the reading direction (what is seen would not be what is read), a byte order mark inside the text,
# code points that are no characters.
BAD_CHARACTER: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff]"
    "|\r(?!\n)"
)


def bad_character(char: str) -> str:
    """What to call a character that may not stand in a file."""
    if char == "\r":
        return "a carriage return without a line feed"
    name = unicodedata.name(char, "a control character").lower()
    return f"the invisible character U+{ord(char):04X} ({name})"


def bad_characters(text: str, file: str) -> list[Fault]:
    """One fault for each bad character, at its first place."""
    faults = []
    for char in set(text):
        pattern = "\r(?!\n)" if char == "\r" else re.escape(char)
        if not BAD_CHARACTER.match(char) or not (found := re.search(pattern, text)):
            continue
        start = found.start()
        count = text.count(char) - (text.count("\r\n") if char == "\r" else 0)
        often = f", {count:,} times in this file" if count > 1 else ""
        at = Position(file, text.count("\n", 0, start) + 1, start - text.rfind("\n", 0, start))
        faults.append(Fault("control-character", bad_character(char) + often, "plain text", "delete it", at))
    return faults


def quoted(text: str, most: int = 60) -> str:
    """`text` in double quotes for a message: cut to `most` characters, invisible ones written as escapes."""
    shown = text if len(text) <= most else text[: most - 3] + "..."
    return '"' + "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in shown) + '"'
