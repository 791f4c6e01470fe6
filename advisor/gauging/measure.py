"""A size with its uncertainty, both exact."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, TypeAlias

from advisor.sheets.bench import Read
from advisor.sheets.ruleset_files import Instrument
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import Quantity

Growth: TypeAlias = Literal["", "up", "down"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A value and its variance, in the base unit of its quantity and that unit squared.

    Fractions, because the mean of three decimals is not always one; whatever is typed is held exactly.
    """

    value: Fraction
    variance: Fraction
    limit_of_error: Fraction = Fraction(0)
    """Greatest error of one reading, where a bound is wanted rather than a spread."""
    may_grow: Growth = ""
    """Which way readings that are still missing can move the value."""


@dataclass(frozen=True, slots=True)
class Taken:
    """The readings of one kind on one item, with the error of the instrument."""

    values: Mapping[str, Fraction]
    """By position: the mean of the values taken there."""
    limit_of_error: Fraction
    complete: bool = True
    """Whether every position of a full set was measured."""

    @property
    def variance(self) -> Fraction:
        """Variance of one reading: the instrument's limit as a rectangular spread (GUM 4.3.7)."""
        return self.limit_of_error**2 / 3

    def one(self, value: Fraction, growth: Growth) -> Measure:
        """A measure that rests on one reading, the extreme of the set."""
        return Measure(value, self.variance, self.limit_of_error, "" if self.complete else growth)

    def difference(self, value: Fraction) -> Measure:
        """A measure that is the widest difference of two readings, taken as independent."""
        return Measure(value, 2 * self.variance, 2 * self.limit_of_error, "" if self.complete else "up")


def take(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> Taken:
    """The readings with their instrument's error.

    A certificate's figure goes before the table. Where no instrument is named, the least exact one that
    serves for this reading is assumed, so that leaving it out never makes a part look better.
    """
    values = {position: _mean(each) for position, each in read.values.items()}
    return Taken(values, _error(read, kind, instruments), all(each in values for each in kind.positions()))


def _error(read: Read, kind: ReadingKind, instruments: Mapping[str, Instrument]) -> Fraction:
    if read.limit_of_error is not None:
        return Fraction(read.limit_of_error.value)
    if read.instrument is not None:
        return Fraction(instruments[read.instrument].limit.value)
    largest = max((each.value for values in read.values.values() for each in values), default=Decimal(0))
    usual = [instruments[name] for name in kind.instruments]
    fitting = [each for each in usual if each.up_to is None or largest <= each.up_to.value]
    return Fraction(max((each.limit.value for each in fitting or usual), default=Decimal(0)))


def _mean(values: Sequence[Quantity]) -> Fraction:
    return sum((Fraction(value.value) for value in values), Fraction(0)) / len(values)
