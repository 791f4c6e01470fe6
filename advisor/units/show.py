"""Writing a size for people, in metric or inch units. Rounding happens here and nowhere before."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Final, Literal

from advisor.units.quantity import held
from advisor.units.table import UNITS

System = Literal["mm", "inch"]

# By dimension and system: the units to show in, each with the least size, in base units, that it is used
# for; the last one serves for all that is smaller.
_CHOICE: Final[Mapping[str, Mapping[System, tuple[tuple[int, str], ...]]]] = {
    "length": {"mm": ((0, "mm"),), "inch": ((0, "in"),)},
    "pressure": {"mm": ((0, "bar"),), "inch": ((0, "psi"),)},
    "temperature": {"mm": ((0, "°C"),), "inch": ((0, "°F"),)},
    "temperature_difference": {"mm": ((0, "K"),), "inch": ((0, "°F difference"),)},
    "torque": {"mm": ((0, "N·m"),), "inch": ((0, "lbf·ft"),)},
    "force": {"mm": ((0, "N"),), "inch": ((0, "lbf"),)},
    "mass": {"mm": ((1000, "kg"), (0, "g")), "inch": ((454, "lb"), (0, "oz"))},
    "time": {"mm": ((3600, "h"), (60, "min"), (0, "s")), "inch": ((3600, "h"), (60, "min"), (0, "s"))},
    "angle": {"mm": ((0, "°"),), "inch": ((0, "°"),)},
    "volume": {"mm": ((1_000_000, "l"), (0, "cm³")), "inch": ((0, "in³"),)},
    "share": {"mm": ((0, "%"),), "inch": ((0, "%"),)},
    "rotational_speed": {"mm": ((0, "rpm"),), "inch": ((0, "rpm"),)},
    "hardness_hrc": {"mm": ((0, "HRC"),), "inch": ((0, "HRC"),)},
    "hardness_hb": {"mm": ((0, "HB"),), "inch": ((0, "HB"),)},
    "hardness_hv": {"mm": ((0, "HV"),), "inch": ((0, "HV"),)},
    "slope": {"mm": ((0, "mm/m"),), "inch": ((0, "in/ft"),)},
    "count": {"mm": ((0, "pieces"),), "inch": ((0, "pieces"),)},
}
# The places of these stand even where they are zeros: a column of sizes in mm or inches lines up.
_FULL_PLACES: Final = frozenset(("mm", "in"))
_FINE_MM: Final = Decimal("0.1")


def show(value: Decimal, dimension: str, unit: str | None = None, *, system: System = "mm") -> str:
    """`value`, in base units of `dimension`, written in `unit` (a symbol) or the usual unit of `system`.

    Rounded half to even, for display only: lengths to 0.001 mm (0.0001 mm below 0.1 mm) or 0.0001 in,
    other units to the places in `advisor.units.table`. A size that is not zero is never shown as zero: it
    gets the places for two figures. What is written can be read again by `read_quantity`.
    Raises `ValueError` for an unknown dimension, a unit of another one or a value that `Quantity` would not
    hold.
    """
    if dimension not in _CHOICE:
        raise ValueError(f"no dimension is called {dimension!r}")
    held(value)
    if unit is None:
        choice = _CHOICE[dimension][system]
        symbol = next((name for least, name in choice if value.copy_abs() >= least), choice[-1][1])
    else:
        symbol = unit
    known = UNITS.get(symbol)
    if known is None or known.dimension != dimension:
        raise ValueError(f"{symbol!r} is not the symbol of a unit for {dimension}")
    top, bottom = _ratio(value, known.offset, known.factor)
    places = known.places
    if symbol == "mm" and value.copy_abs() < _FINE_MM:
        places += 1
    scaled = _half_even(top * 10**places, bottom)
    if scaled == 0 and top:
        while abs(top) * 10**places < 10 * bottom:
            places += 1
        scaled = _half_even(top * 10**places, bottom)
    return _spaced(_digits(scaled, places, known.places if symbol in _FULL_PLACES else 0), symbol)


def show_both(value: Decimal, dimension: str, *, system: System = "mm") -> str:
    """`value` in the usual unit of `system`, then the other system's in brackets: `0.038 mm (0.0015 in)`.

    Once only where both systems write it alike. Raises as `show` does.
    """
    other: System = "inch" if system == "mm" else "mm"
    first, second = show(value, dimension, system=system), show(value, dimension, system=other)
    return first if first == second else f"{first} ({second})"


def _ratio(value: Decimal, offset: Decimal, factor: Decimal) -> tuple[int, int]:
    """(value - offset) / factor as whole numbers, the lower one positive."""
    (top, bottom), (off_top, off_bottom) = value.as_integer_ratio(), offset.as_integer_ratio()
    up, down = factor.as_integer_ratio()
    return (top * off_bottom - off_top * bottom) * down, bottom * off_bottom * up


def _half_even(top: int, bottom: int) -> int:
    """top/bottom to the nearest whole number, a half to the even one; exact, whatever the size."""
    whole, left = divmod(top, bottom)
    return whole + (2 * left > bottom or (2 * left == bottom and whole % 2 == 1))


def _digits(scaled: int, places: int, keep: int) -> str:
    """`scaled` * 10**-`places` in plain digits, without zeros at the end beyond `keep` places."""
    figures = str(abs(scaled)).rjust(places + 1, "0")
    whole, decimals = (figures[:-places], figures[-places:]) if places else (figures, "")
    decimals = decimals[:keep] + decimals[keep:].rstrip("0")
    return f"{'-' if scaled < 0 else ''}{whole}{'.' if decimals else ''}{decimals}"


def _spaced(number: str, symbol: str) -> str:
    if symbol == "°":
        return f"{number}°"
    if symbol == "pieces" and number == "1":
        return "1 piece"
    return f"{number} {symbol}"
