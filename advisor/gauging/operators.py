"""The closed catalogue of dimension formulas.

Each operator takes the readings it needs and gives a `Measure`, or None where they do not suffice. Sizes
of external parts (journals, pins) and of holes are told apart by the operator, never guessed. Where
positions are missing the measure says which way it may still grow.

Where every blade went in, the size is at least the thickest: operators that only grow with it say so, and
all others give nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Final

from advisor.gauging.form import Flatness, Spot
from advisor.gauging.form import flatness as flatness_of
from advisor.gauging.measure import Growth, Measure, Taken, Term, measure_of
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import read_quantity

_LEVEL: Final = read_quantity("1 mm/mm", "slope").value
"""A length per equal length, in the base unit of a slope."""

_HUNDRED: Final = Decimal(100)
_FEWEST_SPOTS: Final = 4


def largest(taken: Taken) -> Measure | None:
    """The largest value at any position."""
    return taken.one(_highest(taken), "up") if taken.values else None


def smallest(taken: Taken) -> Measure | None:
    """The smallest value at any position."""
    return taken.one(_lowest(taken), "down") if taken.values and not taken.unbounded else None


def mean(taken: Taken) -> Measure | None:
    """The mean of all positions; nothing where some are missing.

    An instrument's own error is common to all of them, so the mean is taken to be no better than the worst.
    """
    if not taken.values or taken.missing or taken.unbounded:
        return None
    values = taken.values
    worst = max(values, key=lambda position: sum(part.variance for part in taken.parts_at(position)))
    return taken.one(worst, "", sum(values.values(), Decimal(0)) / len(values))


def spread(taken: Taken) -> Measure | None:
    """The largest less the smallest value of all positions."""
    if len(taken.values) < 2 or taken.unbounded:
        return None
    return taken.difference(_highest(taken), _lowest(taken))


def out_of_round(taken: Taken, kind: ReadingKind) -> Measure | None:
    """Two-point: the largest difference between directions in one section, as a difference of diameters.

    Blind to odd lobes and to any direction that was not measured; it is not roundness.
    """
    return _widest(taken, _grid(taken, kind).values())


def taper(taken: Taken, kind: ReadingKind) -> Measure | None:
    """The largest difference along the part in one direction, as a difference of diameters.

    With sections in between it finds a waist or a barrel as well.
    """
    columns: dict[str, list[str]] = defaultdict(list)
    for section in _grid(taken, kind).values():
        for direction, position in section.items():
            columns[direction].append(position)
    return _widest(taken, (dict(enumerate(each)) for each in columns.values()))


def mean_taper(taken: Taken, kind: ReadingKind) -> Measure | None:
    """The largest difference along the part between the means of all directions in a section.

    What a ring gap or a tape round the part tells. Nothing where a position is missing.
    """
    if taken.missing or taken.unbounded:
        return None
    sections = list(_grid(taken, kind).values())
    if len(sections) < 2:
        return None
    means = [
        sum((taken.values[each] for each in section.values()), Decimal(0)) / len(section)
        for section in sections
    ]
    high, low = (pick(range(len(means)), key=means.__getitem__) for pick in (max, min))
    ends = [max(sections[index].values(), key=lambda each: _variance(taken, each)) for index in (high, low)]
    return taken.difference(ends[0], ends[1], means[high] - means[low])


def flatness(taken: Taken, kind: ReadingKind) -> Measure | None:
    """The least distance of two parallel planes that hold every height (minimum zone).

    Heights count, not where zero was set. A further spot can only widen it. Its error is that of a
    difference of two heights at most, since either plane rests on weights that come to one.
    """
    return _flat(taken, kind, lambda found: found.minimum_zone)


def flatness_least_squares(taken: Taken, kind: ReadingKind) -> Measure | None:
    """The spread of the heights about their least-squares plane; nothing where a spot is missing."""
    return None if taken.missing else _flat(taken, kind, lambda found: found.least_squares)


def below_size(taken: Taken, size: Decimal) -> Measure | None:
    """How far the smallest value lies below the size that the part had: wear of a shaft."""
    if not taken.values or taken.unbounded:
        return None
    low = _lowest(taken)
    return measure_of(
        size - taken.values[low], (taken.term(low, Decimal(-1)),), "up" if taken.missing else ""
    )


def above_size(taken: Taken, size: Decimal) -> Measure | None:
    """How far the largest value lies above the size that the part had: wear of a hole."""
    if not taken.values:
        return None
    high = _highest(taken)
    return taken.one(high, "up", taken.values[high] - size)


def short_of_new(taken: Taken, new: Decimal) -> Measure | None:
    """By what share (in %) the smallest value falls short of new."""
    if not taken.values or new == 0 or taken.unbounded:
        return None
    low = _lowest(taken)
    short = (new - taken.values[low]) * _HUNDRED / new
    return measure_of(short, (taken.term(low, -_HUNDRED / new),), "up" if taken.missing else "")


def off_new(taken: Taken, new: Decimal) -> Measure | None:
    """By what share (in %) the value that is furthest from new is off it, more or less."""
    if not taken.values or new == 0 or taken.unbounded:
        return None
    furthest = max(taken.values, key=lambda position: abs(taken.values[position] - new))
    off = (taken.values[furthest] - new) * _HUNDRED / new
    scale = _HUNDRED / new if off >= 0 else -_HUNDRED / new
    return measure_of(abs(off), (taken.term(furthest, scale),), "up" if taken.missing else "")


def per_length(taken: Taken, over: Taken) -> Measure | None:
    """A gap, or the difference of two heights, divided by the length that it was taken over: a slope.

    Bend and twist of a rod (US Federal Aviation Administration, FAA-H-8083-32, chapter 10: the feeler's
    thickness over the distance of the blocks).
    """
    if not taken.values or not over.values or taken.unbounded or over.unbounded or over.missing:
        return None
    if taken.missing:
        return None
    gap = taken.one(_highest(taken), "") if len(taken.values) == 1 else spread(taken)
    length = over.values[_lowest(over)]
    if gap is None or length <= 0:
        return None
    scale = _LEVEL / length
    terms = [Term(term.parts, term.sensitivity * scale, term.whose) for term in gap.terms]
    terms.append(over.term(_lowest(over), -gap.value * scale / length))
    return measure_of(gap.value * _LEVEL / length, terms)


def clearance(outer: Taken, inner: Taken) -> Measure | None:
    """The largest play: largest hole less smallest shaft."""
    if not outer.values or not inner.values or inner.unbounded:
        return None
    return _play(outer, _highest(outer), inner, _lowest(inner), "up")


def least_clearance(outer: Taken, inner: Taken) -> Measure | None:
    """The smallest play: smallest hole less largest shaft; below nothing it is an interference."""
    if not outer.values or not inner.values or outer.unbounded or inner.unbounded:
        return None
    return _play(outer, _lowest(outer), inner, _highest(inner), "down")


def set_spread(items: Sequence[Taken], *, whole: bool) -> Measure | None:
    """The largest less the smallest value of all like items; `whole` False where some were not measured."""
    ends = _ends(items)
    if ends is None:
        return None
    (high, most), (low, least) = ends
    return measure_of(
        high.values[most] - low.values[least],
        (_apart(high, most, Decimal(1)), _apart(low, least, Decimal(-1))),
        "" if whole else "up",
    )


def set_spread_share(items: Sequence[Taken], *, whole: bool) -> Measure | None:
    """The largest less the smallest value of all like items, as a share (in %) of the largest."""
    ends = _ends(items)
    if ends is None:
        return None
    (high, most), (low, least) = ends
    return _share_below(low, least, high, most, "" if whole else "up")


def short_of_best(own: Taken, items: Sequence[Taken], *, whole: bool) -> Measure | None:
    """By what share (in %) an item's smallest value falls short of the largest of all like items."""
    ends = _ends(items)
    if ends is None or not own.values or own.unbounded:
        return None
    high, most = ends[0]
    return _share_below(own, _lowest(own), high, most, "" if whole and not own.missing else "up")


# --- shared work ------------------------------------------------------------------------------------------


def _highest(taken: Taken) -> str:
    return max(taken.values, key=taken.values.__getitem__)


def _lowest(taken: Taken) -> str:
    return min(taken.values, key=taken.values.__getitem__)


def _variance(taken: Taken, position: str) -> Decimal:
    return sum((part.variance for part in taken.afresh_at(position)), Decimal(0))


def _play(outer: Taken, hole: str, inner: Taken, shaft: str, growth: Growth) -> Measure:
    return measure_of(
        outer.values[hole] - inner.values[shaft],
        (outer.term(hole), inner.term(shaft, Decimal(-1))),
        growth if outer.missing or inner.missing or outer.unbounded else "",
    )


def _apart(taken: Taken, position: str, sensitivity: Decimal) -> Term:
    """The errors of one item among others; one instrument does not err alike at different sizes."""
    return Term(taken.afresh_at(position) + taken.common, sensitivity, taken.whose)


def _share_below(low: Taken, least: str, high: Taken, most: str, growth: Growth) -> Measure | None:
    top, bottom = high.values[most], low.values[least]
    if top <= 0:
        return None
    scale = _HUNDRED / top
    if low is high and least == most:
        return measure_of(Decimal(0), (), growth)
    return measure_of(
        (top - bottom) * _HUNDRED / top,
        (_apart(high, most, scale * bottom / top), _apart(low, least, -scale)),
        growth,
    )


def _ends(items: Sequence[Taken]) -> tuple[tuple[Taken, str], tuple[Taken, str]] | None:
    """The largest and the smallest value of several items, each with its item and position."""
    measured = [each for each in items if each.values]
    if len(measured) < 2 or any(each.unbounded for each in measured):
        return None
    high = max(measured, key=lambda each: max(each.values.values()))
    # Of items alike, two different ones: each has its own error.
    low = min(reversed(measured), key=lambda each: min(each.values.values()))
    return (high, _highest(high)), (low, _lowest(low))


def _flat(taken: Taken, kind: ReadingKind, pick: Callable[[Flatness], Decimal]) -> Measure | None:
    if len(taken.values) < _FEWEST_SPOTS or taken.unbounded:
        return None
    places = [kind.spots[position] for position in taken.values]
    spots = [Spot(x, y, height) for (x, y), height in zip(places, taken.values.values(), strict=True)]
    try:
        found = flatness_of(spots)
    except ValueError:  # the spots that were measured lie on one line
        return None
    positions = list(taken.values)
    ends = [positions[index] for index in found.touching]
    worst = max(ends, key=lambda each: _variance(taken, each))
    return taken.difference(worst, worst, pick(found))


def _grid(taken: Taken, kind: ReadingKind) -> dict[str, dict[str, str]]:
    """Positions that were measured, by section and direction."""
    grid: dict[str, dict[str, str]] = defaultdict(dict)
    for section, direction, position in kind.cells:
        if position in taken.values:
            grid[section][direction] = position
    return grid


def _widest(taken: Taken, lines: Iterable[Mapping[str, str] | Mapping[int, str]]) -> Measure | None:
    """The widest spread of any line that has two values or more."""
    if taken.unbounded:
        return None
    values = taken.values
    widest: tuple[Decimal, str, str] | None = None
    for line in lines:
        if len(line) > 1:
            high = max(line.values(), key=values.__getitem__)
            low = min(line.values(), key=values.__getitem__)
            apart = values[high] - values[low]
            if widest is None or apart > widest[0]:
                widest = apart, high, low
    return None if widest is None else taken.difference(widest[1], widest[2])
