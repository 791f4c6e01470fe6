"""Sizes for cases that are made up: from base units to what one would type, and back."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.units import DIMENSIONS, Quantity, read_quantity

_UNIT: Final = re.compile(r"[^\d\s.,/½¼¾+\-−–].*$")
_PLACES: Final = Decimal("0.000001")
"""Places that a made-up size is rounded to, in the unit that it is typed in."""
_FEWEST: Final = Decimal("0.0001")


@dataclass(frozen=True, slots=True)
class Scale:
    """A unit that sizes are typed in: base units = number × `factor` + `offset`."""

    unit: str
    factor: Decimal
    offset: Decimal

    def text(self, value: Decimal) -> str:
        """A size in base units, as it is typed: to six places of the unit, and to four at least.

        The last digit that is typed says how closely somebody read; a made-up size must not be in doubt
        for that.
        """
        with localcontext() as context:
            context.prec = 40
            number = ((value - self.offset) / self.factor).quantize(_PLACES).normalize()
            number = min(number, number.quantize(_FEWEST), key=lambda each: int(each.as_tuple().exponent))
        return f"{number:f} {self.unit}"

    def value(self, text: str) -> Decimal:
        """What was typed, in base units."""
        return read_quantity(text).value


def scale_of(like: Quantity | None, dimension: str) -> Scale:
    """The unit that `like` was typed in, or else the first that is offered for the dimension."""
    found = _UNIT.search(like.text) if like is not None and like.dimension == dimension else None
    unit = found[0].strip() if found is not None else DIMENSIONS[dimension].offer[0]
    zero, one = (read_quantity(f"{number} {unit}", dimension).value for number in (0, 1))
    return Scale(unit, one - zero, zero)


def last_place(quantity: Quantity) -> Decimal:
    """One in the last place of a size as it was typed, in base units: 0.001 mm for 0.060 mm."""
    scale = scale_of(quantity, quantity.dimension)
    digits = quantity.text.replace(",", ".").split(scale.unit)[0].strip()
    places = len(digits.partition(".")[2]) if re.fullmatch(r"[+\-−]?\d+\.?\d*", digits) else 3
    return scale.factor.scaleb(-places)
