"""A size with its uncertainty.

What is typed is an exact decimal and stays one. What is worked out is kept to `WORKING` digits, far beyond
any limit that can be typed (20 digits), so no comparison with a limit hangs on rounding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, DivisionByZero, InvalidOperation, Overflow
from typing import Final, Literal, TypeAlias

from advisor.sheets.bench import Read
from advisor.sheets.conditions import State
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import Quantity

WORKING: Final = Context(prec=60, traps=[InvalidOperation, DivisionByZero, Overflow])
"""The context of all arithmetic in gauging; `gauge` sets it, and takes it off again."""

Growth: TypeAlias = Literal["", "up", "down"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A value and its variance, in the base unit of its quantity and that unit squared."""

    value: Decimal
    variance: Decimal
    limit_of_error: Decimal = Decimal(0)
    """Greatest error of one reading, where a bound is wanted rather than a spread."""
    may_grow: Growth = ""
    """Which way readings that are still missing can move the value."""


@dataclass(frozen=True, slots=True)
class Taken:
    """The readings of one kind on one item, with the error of the instrument."""

    values: Mapping[str, Decimal]
    """By position: the mean of the values taken there."""
    limit_of_error: Decimal
    missing: tuple[str, ...] = ()
    """Positions of a full set that were not measured."""
    rest: State = "not looked at"
    """Why they were not."""
    scattered: tuple[str, ...] = ()
    """Positions among the missing whose repeated readings lie too far apart to be of one size."""

    @property
    def variance(self) -> Decimal:
        """Variance of one reading: the instrument's limit as a rectangular spread (GUM 4.3.7)."""
        return self.limit_of_error * self.limit_of_error / 3

    def one(self, value: Decimal, growth: Growth) -> Measure:
        """A measure that rests on one reading, the extreme of the set."""
        return Measure(value, self.variance, self.limit_of_error, growth if self.missing else "")

    def difference(self, value: Decimal) -> Measure:
        """A measure that is the widest difference of two readings, taken as independent."""
        return Measure(value, 2 * self.variance, 2 * self.limit_of_error, "up" if self.missing else "")


def take(
    read: Read, kind: ReadingKind, positions: Sequence[str], instruments: Mapping[str, Instrument]
) -> Taken:
    """The readings with their instrument's error.

    A certificate's figure goes before the table. Where no instrument is named, the least exact one that
    serves for this reading is assumed, so that leaving it out never makes a part look better.
    """
    error = _error(read, kind, instruments)
    scattered = tuple(
        position for position in positions if _spread(read.values.get(position, ())) > 2 * error
    )
    values = {
        position: each[0].value if len(each) == 1 else _mean(each)
        for position, each in read.values.items()
        if position not in scattered
    }
    missing = tuple(position for position in positions if position not in values)
    return Taken(values, error, missing, read.state or "not looked at", scattered)


def _spread(values: Sequence[Quantity]) -> Decimal:
    """How far repeated readings lie apart; within twice the limit of error they may be of one size."""
    sizes = [each.value for each in values]
    return max(sizes) - min(sizes) if sizes else Decimal(0)


_FURTHEST_FROM_SIZE = Decimal("0.05")
"""Share of its size beyond which a wear is a slipped figure: no engine runs so far."""


def believable(wear: Decimal, size: Decimal, error: Decimal, tolerance: Decimal | None = None) -> bool:
    """Whether a part can have worn by `wear` from `size`.

    A new part may be off its size by its own tolerance (a thousandth of the size where none is given) and a
    reading by its error. More than both on the far side, or a wear larger than any, and the figure, or the
    size that the part is said to have had, was written down wrongly.
    """
    allowed = size / 1000 if tolerance is None else tolerance
    return -(error + allowed) <= wear <= size * _FURTHEST_FROM_SIZE


def _error(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> Decimal:
    if read.limit_of_error is not None:
        return read.limit_of_error.value
    if read.instrument is not None:
        return instruments[read.instrument].limit.value
    sizes = [each for values in read.values.values() for each in values]
    usual = [instruments[name] for name in kind.instruments]
    fitting = [each for each in usual if all(each.spans(size) for size in sizes)]
    return max((each.limit.value for each in fitting or usual), default=Decimal(0))


def _mean(values: Sequence[Quantity]) -> Decimal:
    return sum((each.value for each in values), Decimal(0)) / len(values)
