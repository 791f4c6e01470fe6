"""Lines of text on paper of some width: wrapped between words, with bold as the only ornament."""

from __future__ import annotations

import codecs
import textwrap
from collections.abc import Iterable, Iterator
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
            mark + " ".join(text.split()),
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
        return "─" * self.measure


def joined(words: Iterable[str], last: str = "and") -> str:
    """Words in a row, as one says them: a, b and c."""
    told = list(words)
    if len(told) < 2:
        return "".join(told)
    return f"{', '.join(told[:-1])} {last} {told[-1]}"


def places(words: Iterable[str]) -> str:
    """Several places in few words, as a case writes them: three or more numbers in a row as ``1 to 4``.

    The order given is kept; places that differ in more than one number are listed one by one.
    """
    return ", ".join(_runs(list(dict.fromkeys(words))))


def _runs(words: list[str]) -> Iterator[str]:
    waiting = list(words)
    while waiting:
        run = [waiting[0]]
        number, rest = _numbered(waiting[0])
        if number is not None:
            while (following := _with(number + len(run), rest)) in waiting:
                run.append(following)
        if len(run) > 2:
            yield _with(f"{number} to {number + len(run) - 1}", rest) if number is not None else run[0]
            waiting = [word for word in waiting if word not in run]
        else:
            yield waiting.pop(0)


def _numbered(place: str) -> tuple[int | None, str]:
    head, _, rest = place.partition(" ")
    return (int(head), rest) if head.isascii() and head.isdigit() else (None, rest)


def _with(head: int | str, rest: str) -> str:
    return f"{head} {rest}".strip()
