"""Lines of text on paper of some width: wrapped between words, with bold as the only ornament."""

from __future__ import annotations

import codecs
import textwrap
from dataclasses import dataclass

WIDEST = 100
"""Longer lines than this are hard to read, however wide the terminal."""

NARROWEST = 24

PLAIN_SIGNS = {
    "−": "-",
    "–": "-",
    "—": "-",
    "─": "-",
    "×": "x",
    "·": ".",
    "°": "deg ",
    "µ": "u",
    "μ": "u",
    "′": "'",
    "″": '"',
    "\u2018": "'",
    "’": "'",
    "\u201c": '"',
    "\u201d": '"',
    "…": "...",
    "½": "1/2",
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
}
"""What to write for a sign that the terminal's encoding lacks."""

PLAIN = "advisor-plain"
"""Name of the codec error handler that writes `PLAIN_SIGNS`, and a question mark for anything else."""


def _plain(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(PLAIN_SIGNS.get(char, "?") for char in lost), error.end


codecs.register_error(PLAIN, _plain)


@dataclass(frozen=True, slots=True)
class Paper:
    """How wide the paper is, in characters, and whether it takes bold."""

    width: int = 80
    bold: bool = False
    encoding: str = "utf-8"
    """What the paper takes; a sign that it lacks is written with others, and lines are broken after that."""

    def plain(self, text: str) -> str:
        """`text` in signs that the paper takes."""
        return text.encode(self.encoding, PLAIN).decode(self.encoding)

    @property
    def measure(self) -> int:
        """The length of a line."""
        return max(NARROWEST, min(self.width, WIDEST))

    def strong(self, text: str) -> str:
        """`text` in bold, where the paper takes it."""
        return f"\x1b[1m{text}\x1b[22m" if self.bold and text else text

    def wrap(self, text: str, indent: int = 0, *, mark: str = "", hang: int | None = None) -> list[str]:
        """`text` on lines after `indent` spaces; `mark` stands before the first and the others hang under it.

        No word is cut: one that is longer than the line stands on a line of its own. A deep indent is cut
        back so that there is always room to read.
        """
        indent = min(indent, max(0, self.measure - NARROWEST))
        hang = min(len(mark) if hang is None else hang, self.measure // 2)
        return textwrap.wrap(
            self.plain(mark + " ".join(text.split())),
            width=self.measure,
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + hang),
            break_long_words=False,
            break_on_hyphens=False,
        )

    def heading(self, text: str, indent: int = 0) -> list[str]:
        """A line or more in bold."""
        return [self.strong(line) for line in self.wrap(text, indent, hang=4)]

    def rule(self) -> str:
        """A ruled line across the paper."""
        return self.plain("─") * self.measure
