"""Typed numbers: which are read, which are refused, and what the refusal says.

A point is always a decimal mark. A comma is a decimal mark too, unless it could as well separate
thousands: `25,4` and `0,038` are read, `1,500` is refused. Marks between thousands, a space among
them, are never read, and neither is exponent form. A fraction may stand alone (`1/16`), after a whole
number (`3 1/2`, and `3-1/2` as it is written in the trade), or as one character (`3½`).
"""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal
from typing import Final, NamedTuple

from advisor.units.fault import UnitFault, quoted

MAX_TEXT: Final = 64
"""Longest text read, in characters."""
MAX_DIGITS: Final = 20
"""Most digits in one number, zeros counted."""

VULGAR: Final = {
    "¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅐": (1, 7), "⅑": (1, 9), "⅒": (1, 10),
    "⅓": (1, 3), "⅔": (2, 3), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5), "⅘": (4, 5),
    "⅙": (1, 6), "⅚": (5, 6), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
}  # fmt: skip

# The spaces that word processors and keyboards put between a number and its unit: no-break, figure,
# thin, hair and narrow no-break space, and the tab.
_SPACES: Final = str.maketrans(dict.fromkeys("\u00a0\u2007\u2009\u200a\u202f\t", " "))
_SLASH: Final = "[/\u2044]"
_NUMERAL: Final = re.compile(
    "([+\\-\u2212]?)(?:"
    f"(?:([0-9]+)(?: *|-))?([{''.join(VULGAR)}])"
    f"|(?:([0-9]+)(?: +|-))?([0-9]+){_SLASH}([0-9]+)"
    "|([0-9]*)(?:([.,])([0-9]+))?)"
)
_EXPONENT: Final = re.compile("[eE][+\\-\u2212]?[0-9]")
_SIGNS: Final = "+-\u2212"
_ONE_MARK: Final = "one decimal mark at most and no mark between thousands"


class Numeral(NamedTuple):
    """The number `top`/`bottom` that a text began with, how it was written, and the text left after it."""

    top: Decimal
    bottom: int
    written: str
    rest: str


def tidy(text: str) -> str:
    """`text` with every accepted space made plain and none at either end; refuses one too long or empty."""
    if len(text) > MAX_TEXT:
        raise UnitFault(
            "too-long",
            f"{quoted(text, 20)} has {len(text)} characters",
            f"at most {MAX_TEXT}",
            "write one number and one unit",
        )
    plain = (text if text.isascii() else text.translate(_SPACES)).replace("\t", " ").strip(" ")
    if not plain.isprintable() and (
        hidden := next((ch for ch in plain if unicodedata.category(ch) == "Cf"), "")
    ):
        raise UnitFault(
            "invisible-character",
            f"{quoted(plain)} holds the invisible character U+{ord(hidden):04X} "
            f"({unicodedata.name(hidden).lower()})",
            "a number and its unit, as they are seen",
            "type it anew; such characters come with copied text",
        )
    if not plain:
        raise UnitFault("empty-quantity", "nothing is written here", "a number, then its unit or currency")
    return plain


def read_numeral(text: str) -> Numeral:
    """The number at the start of a `tidy` text; raises `UnitFault` for one that is not read."""
    if "±" in text or "+/-" in text or "+-" in text:
        raise UnitFault(
            "tolerance-sign",
            f"{quoted(text)} holds a tolerance",
            "one size",
            "write the size you read; the instrument's error goes under limit_of_error, "
            "and the ends of a limit are two sizes",
        )
    if not text.isascii() and any(ch.isdecimal() and not ch.isascii() for ch in text):
        raise UnitFault(
            "foreign-digits",
            f"{quoted(text)} has digits other than 0 to 9",
            "the digits 0 to 9",
            "type them anew",
        )
    match = _NUMERAL.match(text)
    if match is None or match.end() == len(match[1]):
        raise _no_number(text)
    written, rest = match[0], text[match.end() :].lstrip(" ")
    _refuse_broken(written, rest, gap=text.startswith(" ", match.end()))
    if len(written) > MAX_DIGITS and sum(map(str.isdigit, written)) > MAX_DIGITS:
        raise UnitFault(
            "too-many-digits",
            f"{quoted(written, 24)} has more digits than are read",
            f"at most {MAX_DIGITS} digits",
            "round it to what was measured",
        )
    sign, before_vulgar, vulgar, before_slash, top, bottom, units, mark, places = match.groups()
    minus = "" if sign in ("", "+") else "-"
    if vulgar:
        over, under = VULGAR[vulgar]
        return Numeral(Decimal(f"{minus}{int(before_vulgar or 0) * under + over}"), under, written, rest)
    if top:
        over, under = int(top), int(bottom)
        _refuse_fraction(before_slash, over, under, written)
        return Numeral(Decimal(f"{minus}{int(before_slash or 0) * under + over}"), under, written, rest)
    if mark == "," and len(places) == 3 and 1 <= len(units) <= 3 and units.strip("0"):
        after = f" {rest}" if rest and rest.isprintable() else ""
        raise UnitFault(
            "ambiguous-comma",
            f"the comma in {quoted(written)} may mark thousands or decimals",
            "a comma that can be only a decimal mark, or a point",
            f"write {sign}{units}{places}{after} or {sign}{units}.{places}{after}",
        )
    return Numeral(Decimal(f"{minus}{units or 0}{'.' if places else ''}{places or ''}"), 1, written, rest)


def _no_number(text: str) -> UnitFault:
    if text[0] in _SIGNS and text[1:].lstrip(" ")[:1].isdigit():
        return UnitFault(
            "bad-number",
            f"the sign in {quoted(text)} stands apart",
            "the sign next to its number",
            "close the gap",
        )
    if text[0] == "\u2013":
        return UnitFault(
            "bad-number", f"{quoted(text)} begins with a dash", "a minus sign", "type - before the number"
        )
    return UnitFault(
        "no-number",
        f"{quoted(text)} does not begin with a number",
        "the number first, then its unit or currency",
        "begin with the number, in figures",
    )


def _refuse_broken(written: str, rest: str, *, gap: bool) -> None:
    """Refuses a number that goes on after where it should have ended."""
    if not rest:
        return
    head, whole = rest[0], f"{written}{' ' if gap else ''}{rest}"
    if gap and (head in VULGAR or head.isdecimal()):
        raise UnitFault(
            "space-in-number",
            f"a space breaks the number in {quoted(whole)}",
            "a number without spaces, or a whole number and a fraction",
            "write one number, such as 1200, 1.2 or 3 1/2",
        )
    if head in VULGAR or head in "/\u2044":
        raise UnitFault(
            "bad-fraction",
            f"{quoted(whole)} is not a fraction that is read",
            "a fraction such as 1/16, 3 1/2 or 3½",
            "write it so, or as a decimal",
        )
    if head in ".,":
        if rest[1:2].isdecimal():
            raise UnitFault(
                "mixed-marks",
                f"the number in {quoted(whole)} has several marks",
                _ONE_MARK,
                "keep only the decimal mark",
            )
        raise UnitFault(
            "bad-number",
            f"no digit follows the '{head}' in {quoted(whole)}",
            "a digit after a decimal mark",
            "add the digit or drop the mark",
        )
    if not gap and _EXPONENT.match(rest):
        raise UnitFault(
            "exponent", f"{quoted(whole)} is in exponent form", "plain digits", "write the number out"
        )
    if head in _SIGNS or head == "\u2013":
        if rest[1:].lstrip(" ")[:1].isdecimal() or rest[1:].lstrip(" ")[:1] in (".", *VULGAR):
            raise UnitFault(
                "several-numbers",
                f"{quoted(whole)} holds two numbers",
                "one number and its unit",
                "write the ends of a range as two sizes",
            )
        raise UnitFault(
            "bad-number",
            f"'{head}' stands after the number in {quoted(whole)}",
            "the unit right after the number",
            f"leave out the '{head}'",
        )


def _refuse_fraction(whole: str | None, over: int, under: int, written: str) -> None:
    if under == 0:
        raise UnitFault(
            "bad-fraction", f"{quoted(written)} divides by zero", "a fraction", "mend the lower figure"
        )
    if whole is not None and over >= under:
        raise UnitFault(
            "bad-fraction",
            f"the fraction in {quoted(written)} is not below one",
            "a whole number and a fraction below one",
            "write it so, or as a decimal",
        )
