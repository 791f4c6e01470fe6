"""What is wrong with somebody's input, said so that they can mend it.

Every reader in the package collects `Fault` values and raises them together as `Faults`; nothing
else crosses a module boundary for bad input. `OurFault` is the opposite: something that no input
should have been able to cause.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A place in a file: 1-based line and column, both counted in characters."""

    file: str
    line: int
    col: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.col}"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input.

    `code` names the kind of fault (kebab-case, documented in ``docs/messages.md``); `what` says
    what is wrong, `expected` what should stand there, `mend` how to put it right. Each is a phrase
    or sentence without its final full stop; `expected` and `mend` may be empty.
    """

    code: str
    what: str
    expected: str = ""
    mend: str = ""
    at: Position | None = None

    def __str__(self) -> str:
        parts = [self.what]
        if self.expected:
            parts.append(f"expected {self.expected}")
        if self.mend:
            parts.append(self.mend)
        where = f"{self.at}: " if self.at is not None else ""
        return f"{where}{'; '.join(parts)} [{self.code}]"


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about an input that is worth knowing and is not wrong: it stops nothing.

    `what` says what it is, `mend` what may be done about it; each a phrase without its full stop.
    """

    what: str
    mend: str = ""
    at: Position | None = None

    def __str__(self) -> str:
        where = f"{self.at}: " if self.at is not None else ""
        return f"{where}remark: {'; '.join(filter(None, (self.what, self.mend)))}"


class Faults(Exception):
    """All the faults found in an input, in the order of the file. Exit code 1."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class OurFault(Exception):
    """The program is wrong, not its input: exit code 3. Carries what is needed to reproduce it."""

    def __init__(self, message: str, reproduce: str = "") -> None:
        super().__init__(message)
        self.reproduce = reproduce


def nearest(word: str, valid: Iterable[str]) -> str:
    """The valid word most like `word`, or an empty string where none is close."""
    close = difflib.get_close_matches(word, list(valid), n=1, cutoff=0.6)
    return close[0] if close else ""


def joined(words: Iterable[str], last: str = "and") -> str:
    """Words in a row, as one says them: a, b and c."""
    told = list(words)
    if len(told) < 2:
        return "".join(told)
    return f"{', '.join(told[:-1])} {last} {told[-1]}"
