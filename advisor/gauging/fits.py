"""Limits of size by the ISO code system, for the fits that an engine shop meets.

The table holds holes H6, H7 and H8 and shafts f7, g6, g7, h6, k6, m6, n6, p6, r6 and s6, over 3 and up to
and including 315 mm; anything else is refused by name. The tables count and not the formulas behind them,
because the standard rounds in ways that a formula does not give again.

Source: ISO 286-1:2010 and ISO 286-2:2010 (system and tables), met through tables that quote them. The
corrections of ISO 286-2:1988/Cor.1:2006 touch A13, E8, R10 and f9, none of which is kept here.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import Final, Literal, TypeAlias

from advisor.gauging.measure import WORKING

Character: TypeAlias = Literal["clearance", "transition", "interference"]
"""The three characters of fit (ISO 286-1): always play, either, always an interference or exactly none."""

OVER: Final = Decimal(3)
"""Nominal sizes start above this, in mm."""

_MAIN: Final = (6, 10, 18, 30, 50, 80, 120, 180, 250, 315)
"""Upper ends of the main ranges of nominal size, in mm; a range takes in its upper end, not its lower."""

_MIDDLE: Final = (6, 10, 18, 30, 50, 65, 80, 100, 120, 140, 160, 180, 200, 225, 250, 280, 315)
"""Upper ends of the ranges by which r and s go, in mm."""

_GRADES: Final = MappingProxyType(
    {
        6: (8, 9, 11, 13, 16, 19, 22, 25, 29, 32),
        7: (12, 15, 18, 21, 25, 30, 35, 40, 46, 52),
        8: (18, 22, 27, 33, 39, 46, 54, 63, 72, 81),
    }
)
"""Width of the tolerance by grade and main range, in µm."""

_UPPER: Final = MappingProxyType(
    {
        "f": (-10, -13, -16, -20, -25, -30, -36, -43, -50, -56),
        "g": (-4, -5, -6, -7, -9, -10, -12, -14, -15, -17),
        "h": (0,) * 10,
    }
)
"""Shafts whose fundamental deviation is the upper one, by main range, in µm."""

_LOWER: Final = MappingProxyType(
    {
        "k": (1, 1, 1, 2, 2, 2, 3, 3, 4, 4),
        "m": (4, 6, 7, 8, 9, 11, 13, 15, 17, 20),
        "n": (8, 10, 12, 15, 17, 20, 23, 27, 31, 34),
        "p": (12, 15, 18, 22, 26, 32, 37, 43, 50, 56),
        "r": (15, 19, 23, 28, 34, 41, 43, 51, 54, 63, 65, 68, 77, 80, 84, 94, 98),
        "s": (19, 23, 28, 35, 43, 53, 59, 71, 79, 92, 100, 108, 122, 130, 140, 158, 170),
    }
)
"""Shafts whose fundamental deviation is the lower one, in µm: by main range, r and s by the middle ones."""

HOLES: Final = ("H6", "H7", "H8")
SHAFTS: Final = ("f7", "g6", "g7", "h6", "k6", "m6", "n6", "p6", "r6", "s6")


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the largest size that a tolerance class allows, both in mm."""

    least: Decimal
    most: Decimal

    def holds(self, size: Decimal) -> bool:
        """Whether a size in mm lies within, its ends included; the size is taken as exact."""
        return self.least <= size <= self.most


@dataclass(frozen=True, slots=True)
class Fit:
    """A hole and a shaft of one nominal size; every figure is exact and in mm."""

    nominal: Decimal
    hole: str
    shaft: str
    hole_limits: Limits
    shaft_limits: Limits

    @property
    def least_clearance(self) -> Decimal:
        """The smallest hole on the largest shaft; below nothing it is the largest interference."""
        with localcontext(WORKING):
            return self.hole_limits.least - self.shaft_limits.most

    @property
    def most_clearance(self) -> Decimal:
        """The largest hole on the smallest shaft; below nothing it is the least interference."""
        with localcontext(WORKING):
            return self.hole_limits.most - self.shaft_limits.least

    @property
    def least_interference(self) -> Decimal:
        """The least interference; below nothing it is the largest clearance."""
        with localcontext(WORKING):
            return self.shaft_limits.least - self.hole_limits.most

    @property
    def most_interference(self) -> Decimal:
        """The largest interference; below nothing it is the least clearance."""
        with localcontext(WORKING):
            return self.shaft_limits.most - self.hole_limits.least

    @property
    def character(self) -> Character:
        """Whether such parts always have play, always have an interference, or may have either."""
        if self.least_clearance >= 0:
            return "clearance"
        return "interference" if self.most_clearance <= 0 else "transition"


def fit(nominal: Decimal, hole: str, shaft: str) -> Fit:
    """The fit of two tolerance classes at a nominal size in mm, such as 20 mm with H7 and s6.

    Raises ValueError, which says what the table holds, for a class or a nominal size that it lacks.
    """
    return Fit(nominal, hole, shaft, hole_limits(nominal, hole), shaft_limits(nominal, shaft))


def hole_limits(nominal: Decimal, hole: str) -> Limits:
    """The limits of a hole in mm; ValueError for a class or a nominal size that the table lacks."""
    if hole not in HOLES:
        raise ValueError(f"the table has no hole {hole!r}; it has {', '.join(HOLES)}")
    _check(nominal)
    return _limits(nominal, 0, _of(_GRADES[int(hole[1:])], nominal))


def shaft_limits(nominal: Decimal, shaft: str) -> Limits:
    """The limits of a shaft in mm; ValueError for a class or a nominal size that the table lacks."""
    if shaft not in SHAFTS:
        raise ValueError(f"the table has no shaft {shaft!r}; it has {', '.join(SHAFTS)}")
    _check(nominal)
    letter, width = shaft[0], _of(_GRADES[int(shaft[1:])], nominal)
    if letter in _UPPER:
        upper = _of(_UPPER[letter], nominal)
        return _limits(nominal, upper - width, upper)
    lower = _of(_LOWER[letter], nominal)
    return _limits(nominal, lower, lower + width)


def _check(nominal: Decimal) -> None:
    if not nominal.is_finite() or not OVER < nominal <= _MAIN[-1]:
        raise ValueError(f"the table runs over {OVER} and up to {_MAIN[-1]} mm; {nominal} mm is outside it")


def _of(row: Sequence[int], nominal: Decimal) -> int:
    """The figure of a row at a nominal size, by the ranges that the row is long for."""
    ranges = _MAIN if len(row) == len(_MAIN) else _MIDDLE
    return row[bisect_left(ranges, nominal)]


def _limits(nominal: Decimal, lower: int, upper: int) -> Limits:
    with localcontext(WORKING):
        return Limits(nominal + Decimal(lower).scaleb(-3), nominal + Decimal(upper).scaleb(-3))
