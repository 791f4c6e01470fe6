"""The closed catalogue of dimension formulas.

Each operator takes the readings it needs and gives a `Measure`, or None where they do not suffice. Sizes
of external parts (journals, pins) and of holes are told apart by the operator, never guessed. Where
positions are missing the measure says which way it may still grow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from advisor.gauging.measure import Growth, Measure, Taken
from advisor.sheets.vocabulary import ReadingKind


def largest(taken: Taken) -> Measure | None:
    """The largest value at any position."""
    return taken.one(max(taken.values.values()), "up") if taken.values else None


def smallest(taken: Taken) -> Measure | None:
    """The smallest value at any position."""
    return taken.one(min(taken.values.values()), "down") if taken.values else None


def mean(taken: Taken) -> Measure | None:
    """The mean of all positions; nothing where some are missing."""
    values = taken.values.values()
    return taken.one(sum(values, Decimal(0)) / len(values), "") if values and not taken.missing else None


def out_of_round(taken: Taken, kind: ReadingKind) -> Measure | None:
    """Two-point: the largest difference between directions in one section, as a difference of diameters.

    Blind to odd lobes and to any direction that was not measured; it is not roundness.
    """
    return _widest(taken, _grid(taken, kind).values())


def taper(taken: Taken, kind: ReadingKind) -> Measure | None:
    """The largest difference along the part in one direction, as a difference of diameters.

    With sections in between it finds a waist or a barrel as well.
    """
    columns: dict[str, list[Decimal]] = defaultdict(list)
    for section in _grid(taken, kind).values():
        for direction, each in section.items():
            columns[direction].append(each)
    return _widest(taken, (dict(enumerate(each)) for each in columns.values()))


def below_size(taken: Taken, size: Decimal) -> Measure | None:
    """How far the smallest value lies below the size that the part had: wear of a shaft."""
    return taken.one(size - min(taken.values.values()), "up") if taken.values else None


def above_size(taken: Taken, size: Decimal) -> Measure | None:
    """How far the largest value lies above the size that the part had: wear of a hole."""
    return taken.one(max(taken.values.values()) - size, "up") if taken.values else None


def clearance(outer: Taken, inner: Taken) -> Measure | None:
    """The largest play: largest hole less smallest shaft."""
    if not outer.values or not inner.values:
        return None
    return _difference(outer, inner, max(outer.values.values()) - min(inner.values.values()), "up")


def least_clearance(outer: Taken, inner: Taken) -> Measure | None:
    """The smallest play: smallest hole less largest shaft; below nothing it is an interference."""
    if not outer.values or not inner.values:
        return None
    return _difference(outer, inner, min(outer.values.values()) - max(inner.values.values()), "down")


def short_of_new(taken: Taken, new: Decimal) -> Measure | None:
    """By what share (in %) the smallest value falls short of new."""
    if not taken.values or new == 0:
        return None
    scale = Decimal(100) / new
    short = (new - min(taken.values.values())) * scale
    return Measure(
        short, taken.variance * scale**2, taken.limit_of_error * abs(scale), "up" if taken.missing else ""
    )


def _difference(outer: Taken, inner: Taken, play: Decimal, growth: Growth) -> Measure:
    return Measure(
        play,
        outer.variance + inner.variance,
        outer.limit_of_error + inner.limit_of_error,
        growth if outer.missing or inner.missing else "",
    )


def _grid(taken: Taken, kind: ReadingKind) -> dict[str, dict[str, Decimal]]:
    """Values by section and direction."""
    grid: dict[str, dict[str, Decimal]] = defaultdict(dict)
    for section in kind.sections or [""]:
        for direction in kind.directions or [""]:
            position = " ".join(filter(None, (section, direction)))
            if position in taken.values:
                grid[section][direction] = taken.values[position]
    return grid


def _widest(taken: Taken, lines: Iterable[dict[str, Decimal] | dict[int, Decimal]]) -> Measure | None:
    """The widest spread of any line that has two values or more."""
    spreads = [max(line.values()) - min(line.values()) for line in lines if len(line) > 1]
    return taken.difference(max(spreads)) if spreads else None
