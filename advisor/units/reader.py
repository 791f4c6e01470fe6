"""Reading a typed quantity, strictly: what could be meant in two ways is refused, not guessed."""

from __future__ import annotations

import re
from decimal import Decimal, Inexact
from typing import Final

from advisor.faults import OurFault, nearest
from advisor.units.fault import UnitFault, quoted
from advisor.units.numerals import read_numeral, tidy
from advisor.units.quantity import DIMENSIONS, EXACT, Quantity
from advisor.units.table import AMBIGUOUS, INEXACT, NEAR_MISSES, PLAIN, SPELLINGS, Unit, offer, plain_spelling

ABSOLUTE_ZERO: Final = Decimal("-2458.35")
"""-273.15 °C in ninths of a kelvin (the kelvin's definition)."""

_SIMPLE: Final = re.compile(r"([+-]?[0-9]{0,9}\.?[0-9]{1,9}) ?([^0-9.,/ ].*)", re.DOTALL)
_FIRST_UNIT: Final = re.compile(r"([^\s0-9]+)(.*)", re.DOTALL)
_LIMITED: Final = frozenset(("temperature", "count"))
_EXAMPLES: Final = "a number and its unit, such as 38 µm, 1/16 in or 90 N·m"


def read_quantity(text: str, dimension: str | None = None) -> Quantity:
    """The exact size that `text` states, of the `dimension` expected (a key of `DIMENSIONS`) if one is named.

    `text` is a number (see `advisor.units.numerals` for which are read) and a unit (see
    `advisor.units.table`). Case counts: `mPa` is not `MPa`. `C` and `F` are degrees; `K` is a difference
    of temperature; `lb` is a mass and `lbf` a force. Raises `UnitFault` for anything else, and `OurFault`
    where `dimension` is none of ours.
    """
    if dimension is not None and dimension not in DIMENSIONS:
        raise OurFault(f"no dimension is called {dimension!r}")
    if simple := _SIMPLE.fullmatch(text):  # what nearly everybody types, without the checks it cannot need
        unit = SPELLINGS.get(simple[2])
        if unit is not None and (dimension is None or dimension == unit.dimension):
            number = Decimal(simple[1])
            if unit.dimension in _LIMITED:
                return _sized(number, 1, unit, text)
            return Quantity(EXACT.fma(number, unit.factor, unit.offset), unit.dimension, text)
    plain = tidy(text)
    numeral = read_numeral(plain)
    if not numeral.rest:
        raise UnitFault(
            "no-unit",
            f"{quoted(plain)} has no unit",
            _EXAMPLES if dimension is None else offer(dimension),
            "write the unit after the number",
        )
    unit = SPELLINGS.get(numeral.rest) or PLAIN.get(plain_spelling(numeral.rest))
    if unit is None:
        raise _no_such_unit(numeral.rest, dimension)
    if dimension is not None and unit.dimension != dimension:
        raise UnitFault(
            "wrong-dimension",
            f"{quoted(plain)} is {DIMENSIONS[unit.dimension].noun}",
            offer(dimension),
            NEAR_MISSES.get((unit.symbol, dimension), ""),
        )
    return _sized(numeral.top, numeral.bottom, unit, plain)


def _sized(top: Decimal, bottom: int, unit: Unit, text: str) -> Quantity:
    """`top`/`bottom` of `unit`, where that is exact: a third of an hour is, although a third is not."""
    value = EXACT.multiply(top, unit.factor)
    if bottom != 1:
        try:
            value = EXACT.divide(value, Decimal(bottom))
        except Inexact:
            raise UnitFault(
                "bad-fraction",
                f"{quoted(text)} is not an exact decimal of {DIMENSIONS[unit.dimension].base}",
                "a fraction with a lower figure such as 2, 4, 8, 16, 32 or 64",
                "write a decimal",
            ) from None
    value = EXACT.add(value, unit.offset)
    if unit.dimension == "temperature" and value < ABSOLUTE_ZERO:
        raise UnitFault(
            "below-absolute-zero",
            f"{quoted(text)} is below absolute zero",
            "-273.15 °C or more",
            "mend the number",
        )
    if unit.dimension == "count" and (value < 0 or value.as_integer_ratio()[1] != 1):
        raise UnitFault(
            "count-not-whole",
            f"{quoted(text)} is not a whole count",
            "a whole number from 0 up",
            "mend the number",
        )
    return Quantity(value, unit.dimension, text)


def _no_such_unit(typed: str, dimension: str | None) -> UnitFault:
    plain = plain_spelling(typed)
    if plain in _PLAIN_AMBIGUOUS:
        meanings, mend = _PLAIN_AMBIGUOUS[plain]
        return UnitFault(
            "ambiguous-unit", f"{quoted(typed)} may mean {meanings}", "a unit with one meaning", mend
        )
    if plain in INEXACT:
        why, mend = INEXACT[plain]
        return UnitFault("inexact-unit", why, "a unit that is exact here", mend)
    first = _FIRST_UNIT.match(typed)
    if first and first[2]:
        head = plain_spelling(first[1])
        if head in PLAIN or head in _PLAIN_AMBIGUOUS or head in INEXACT:
            return UnitFault(
                "after-unit",
                f"{quoted(first[2].strip())} follows the unit {quoted(first[1])}",
                "one number and one unit",
                "leave it out, or write the whole size in one unit",
            )
    expected = "a unit such as mm, in, °C, N·m or psi" if dimension is None else offer(dimension)
    return UnitFault(
        "unknown-unit", f"{quoted(typed)} is not a known unit", expected, _perhaps(typed, dimension)
    )


def _perhaps(typed: str, dimension: str | None) -> str:
    """A guess at the unit meant, to offer and never to use: the same letters first, then the nearest."""
    fitting = [text for text, unit in SPELLINGS.items() if dimension in (None, unit.dimension)]
    folded = plain_spelling(typed).casefold()
    symbols = dict.fromkeys(
        SPELLINGS[text].symbol for text in fitting if plain_spelling(text).casefold() == folded
    )
    guess = " or ".join(symbols) or nearest(typed, fitting)
    return f"write {guess} if that is meant" if guess else ""


_PLAIN_AMBIGUOUS: Final = {plain_spelling(text): meaning for text, meaning in AMBIGUOUS.items()}
