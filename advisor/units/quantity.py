"""An exact size of one dimension, held in that dimension's base unit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Context, Decimal, DivisionByZero, Inexact, InvalidOperation, Overflow
from typing import Final, NamedTuple

EXACT: Final = Context(prec=200, traps=[Inexact, InvalidOperation, DivisionByZero, Overflow])
"""The context of all arithmetic here: it raises `decimal.Inexact` where it would have to round.

200 digits hold any sum or product of what the reader lets in, which has at most `MAX_DIGITS` digits.
"""

MAX_EXPONENT: Final = 150
"""Sizes from 10**-150 to 10**150 base units are held: room for all work, none for a denial of service."""


class Dimension(NamedTuple):
    """A kind of quantity: its name with an article, its base unit in words, and the units to offer."""

    noun: str
    base: str
    offer: tuple[str, ...]


# A base unit is one in which every accepted unit is a terminating decimal. That is why a pressure is
# kept in N/in² (both the psi and the pascal terminate), a temperature in ninths of a kelvin (the degree
# Fahrenheit is 5/9 K) and a slope in thirds of a mm/m (the inch per foot is 250/3 mm/m).
DIMENSIONS: Final[Mapping[str, Dimension]] = {
    "length": Dimension("a length", "mm", ("mm", "µm", "in", "thou")),
    "pressure": Dimension("a pressure", "N/in²", ("bar", "kPa", "MPa", "psi")),
    "temperature": Dimension("a temperature", "ninths of a kelvin above 0 °C", ("°C", "°F")),
    "temperature_difference": Dimension(
        "a difference of temperature", "ninths of a kelvin", ("K", "°C difference", "°F difference")
    ),
    "torque": Dimension("a torque", "N·m", ("N·m", "lbf·ft", "lbf·in")),
    "force": Dimension("a force", "N", ("N", "kN", "lbf", "kgf")),
    "mass": Dimension("a mass", "g", ("g", "kg", "oz", "lb")),
    "time": Dimension("a time", "s", ("s", "min", "h", "days")),
    "angle": Dimension("an angle", "arcsec", ("°", "arcmin", "arcsec")),
    "volume": Dimension("a volume", "mm³", ("cm³", "l", "mm³", "in³")),
    "share": Dimension("a share", "%", ("%",)),
    "rotational_speed": Dimension("a rotational speed", "rpm", ("rpm",)),
    "hardness_hrc": Dimension("a Rockwell C hardness", "HRC", ("HRC",)),
    "hardness_hb": Dimension("a Brinell hardness", "HB", ("HB",)),
    "hardness_hv": Dimension("a Vickers hardness", "HV", ("HV",)),
    "slope": Dimension("a length per length", "thirds of a mm/m", ("mm/m", "mm/mm", "in/in", "in/ft")),
    "count": Dimension("a count", "piece", ("pieces",)),
}

_AFTER_SUM: Final[Mapping[tuple[str, str], str]] = {
    ("temperature", "temperature_difference"): "temperature",
    ("temperature_difference", "temperature"): "temperature",
}
_AFTER_DIFFERENCE: Final[Mapping[tuple[str, str], str]] = {
    ("temperature", "temperature"): "temperature_difference",
    ("temperature", "temperature_difference"): "temperature",
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact size.

    `value` is in the base unit of `dimension` (a key of `DIMENSIONS`); `text` is what was typed, and
    empty for a size that was worked out. Two quantities are equal, and hash alike, when value and
    dimension are equal: 25.4 mm and 1 in are the same length (`value` may differ in zeros at its end).
    Ordering works inside one dimension and raises `TypeError` across two. So do `+` and `-`, save that
    temperatures behave as temperatures: one taken from another leaves a difference, and two cannot be
    added.

    Raises `ValueError` for a value that is not finite or beyond `MAX_EXPONENT`, or an unknown dimension;
    arithmetic raises `decimal.Inexact` rather than round.
    """

    value: Decimal
    dimension: str
    text: str = field(default="", compare=False)

    def __post_init__(self) -> None:
        if self.dimension not in DIMENSIONS:
            raise ValueError(f"no dimension is called {self.dimension!r}")
        held(self.value)

    def __add__(self, other: object) -> Quantity:
        if not isinstance(other, Quantity):
            return NotImplemented
        pair = (self.dimension, other.dimension)
        if pair[0] == pair[1] and pair[0] != "temperature":
            return Quantity(EXACT.add(self.value, other.value), self.dimension)
        if pair in _AFTER_SUM:
            return Quantity(EXACT.add(self.value, other.value), _AFTER_SUM[pair])
        raise TypeError(f"cannot add {self._noun()} and {other._noun()}")

    def __sub__(self, other: object) -> Quantity:
        if not isinstance(other, Quantity):
            return NotImplemented
        pair = (self.dimension, other.dimension)
        if pair in _AFTER_DIFFERENCE:
            return Quantity(EXACT.subtract(self.value, other.value), _AFTER_DIFFERENCE[pair])
        if pair[0] == pair[1]:
            return Quantity(EXACT.subtract(self.value, other.value), self.dimension)
        raise TypeError(f"cannot take {other._noun()} from {self._noun()}")

    def __lt__(self, other: object) -> bool:
        return self._comparable(other).value > self.value if isinstance(other, Quantity) else NotImplemented

    def __le__(self, other: object) -> bool:
        return self._comparable(other).value >= self.value if isinstance(other, Quantity) else NotImplemented

    def __gt__(self, other: object) -> bool:
        return self._comparable(other).value < self.value if isinstance(other, Quantity) else NotImplemented

    def __ge__(self, other: object) -> bool:
        return self._comparable(other).value <= self.value if isinstance(other, Quantity) else NotImplemented

    def _comparable(self, other: Quantity) -> Quantity:
        if other.dimension != self.dimension:
            raise TypeError(f"cannot compare {self._noun()} with {other._noun()}")
        return other

    def _noun(self) -> str:
        return DIMENSIONS[self.dimension].noun


def held(value: Decimal) -> Decimal:
    """`value` itself; `ValueError` where it is not finite or beyond 10**±`MAX_EXPONENT`."""
    if not value.is_finite():
        raise ValueError(f"a size must be finite, not {value}")
    if value and not -MAX_EXPONENT <= value.adjusted() <= MAX_EXPONENT:
        raise ValueError(f"a size must lie within 10**±{MAX_EXPONENT}, not {value}")
    return value
