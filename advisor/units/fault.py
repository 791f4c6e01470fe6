"""What is wrong with a typed quantity or sum of money, before its place in the file is known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from advisor.faults import Fault, Position

CODES: Final[Mapping[str, str]] = {
    "after-unit": "something follows the unit",
    "ambiguous-comma": "a comma that may be a decimal mark or a thousands mark",
    "ambiguous-unit": "a unit that means different sizes to different people",
    "bad-fraction": "a fraction that is not well formed, or whose size is not an exact decimal",
    "bad-number": "a number that is not well formed",
    "below-absolute-zero": "a temperature below absolute zero",
    "count-not-whole": "a count that is not a whole number from zero up",
    "empty-quantity": "nothing but spaces",
    "exponent": "a number in exponent form",
    "foreign-digits": "digits other than 0 to 9",
    "inexact-unit": "a unit whose size is not an exact decimal of the base unit",
    "invisible-character": "a character that is not shown, such as one that came with copied text",
    "mixed-marks": "more than one decimal or thousands mark in a number",
    "no-currency": "a sum of money without its currency",
    "no-number": "a quantity that does not begin with a number",
    "no-unit": "a number without its unit",
    "several-numbers": "two numbers where one belongs",
    "space-in-number": "a number broken by a space",
    "too-long": "a quantity of more characters than are read",
    "too-many-digits": "a number of more digits than are read",
    "too-many-places": "more decimal places than the currency has",
    "tolerance-sign": "a tolerance where one size belongs",
    "unknown-currency": "a currency that is not in ISO 4217",
    "unknown-unit": "a unit that is not known here",
    "wrong-dimension": "a unit of another kind of quantity than the one expected",
}
"""Every `UnitFault.code`, with what it stands for."""


class UnitFault(ValueError):
    """A refusal to read some text as a quantity or as money.

    `code` is a key of `CODES`; `what`, `expected` and `mend` are the phrases of `advisor.faults.Fault`.
    """

    def __init__(self, code: str, what: str, expected: str = "", mend: str = "") -> None:
        super().__init__(code, what, expected, mend)
        self.code = code
        self.what = what
        self.expected = expected
        self.mend = mend

    def __str__(self) -> str:
        return str(self.at(None))

    def at(self, position: Position | None) -> Fault:
        """The same refusal as a `Fault` at a place in a file."""
        return Fault(self.code, self.what, self.expected, self.mend, position)


def quoted(text: str, limit: int = 40) -> str:
    """`text` in single quotes, cut to `limit` characters, with nothing in it that a terminal would obey."""
    cut = text if len(text) <= limit else text[:limit] + "…"
    safe = (
        cut
        if cut.isprintable()
        else "".join(ch if ch.isprintable() else ch.encode("unicode_escape").decode("ascii") for ch in cut)
    )
    return f"'{safe}'"
