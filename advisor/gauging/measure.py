"""A size with its uncertainty, and the readings that sizes are worked out from.

What is typed is an exact decimal and stays one. What is worked out is kept to `WORKING` digits, far beyond
any limit that can be typed (20 digits), so no comparison with a limit hangs on rounding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Context, Decimal, DivisionByZero, InvalidOperation, Overflow
from typing import Final, Literal, TypeAlias

from advisor.sheets.conditions import State

WORKING: Final = Context(prec=60, traps=[InvalidOperation, DivisionByZero, Overflow])
"""The context of all arithmetic in gauging; `gauge` sets it, and takes it off again."""

Growth: TypeAlias = Literal["", "up", "down"]


@dataclass(frozen=True, slots=True)
class Part:
    """One source of error of a reading, in the reading's base unit."""

    name: str
    variance: Decimal
    bound: Decimal
    """Greatest error either way, where there is a bound; half the spread of repeated readings."""
    cause: str = ""
    """What the error comes from where other readings have it too; see `budget.Component.cause`."""
    how: str = ""
    sign: int = 1
    """Which way the error goes when its cause goes up; it matters only for a shared cause."""
    freedom: int | None = None
    """Degrees of freedom; None where the uncertainty is taken as known exactly."""


@dataclass(frozen=True, slots=True)
class Term:
    """The errors of one reading in a size: by how much the size moves for one unit of each, and whose."""

    parts: tuple[Part, ...]
    sensitivity: Decimal
    whose: str = ""


@dataclass(frozen=True, slots=True)
class Measure:
    """A value and its variance, in the base unit of its quantity and that unit squared."""

    value: Decimal
    variance: Decimal
    limit_of_error: Decimal = Decimal(0)
    """Greatest error of one reading, where a bound is wanted rather than a spread."""
    may_grow: Growth = ""
    """Which way readings that are still missing can move the value."""
    terms: tuple[Term, ...] = field(default=(), compare=False, repr=False)
    """Where the variance comes from; `errors.budget_of` makes a budget of it."""
    lead: Decimal = Decimal(0)
    """What its largest rectangular source has of the variance; 0 for a spread that is normal altogether."""


_ONE: Final = Decimal(1)


@dataclass(frozen=True)
class Taken:
    """The readings of one kind on one item, with their errors.

    Errors that are alike at every position (the setting of a comparing instrument, a temperature) do not
    show in the difference of two positions; all others do, since nobody knows how they go together.
    """

    values: Mapping[str, Decimal]
    """By position: the size at 20 °C, the mean of what was read there; empty where `wrong` says why."""
    limit_of_error: Decimal
    missing: tuple[str, ...] = ()
    """Positions of a full set that were not measured."""
    rest: State = "not looked at"
    """Why they were not."""
    own: tuple[Part, ...] = ()
    """What errs afresh at every position; left out, the limit of error alone, as a rectangular spread."""
    common: tuple[Part, ...] = ()
    """What errs alike at every position."""
    special: Mapping[str, tuple[Part, ...]] = field(default_factory=dict)
    """By position: what errs there, where that is not `own`."""
    unbounded: tuple[str, ...] = ()
    """Positions at which the size may be any larger: every blade went in."""
    wrong: str = ""
    """Why these readings cannot all be right, in words."""
    whose: str = ""

    @property
    def variance(self) -> Decimal:
        """Variance of one reading that has nothing special: all its parts together (GUM 5.1.2)."""
        return sum((each.variance for each in self._usual + self.common), Decimal(0))

    @property
    def _usual(self) -> tuple[Part, ...]:
        if self.own or self.common:
            return self.own
        # GUM 4.3.7: the instrument's limit as a rectangular spread.
        error = self.limit_of_error
        return (Part("limit of error", error * error / 3, error, how=f"rectangular, ± {error}"),)

    def parts_at(self, position: str) -> tuple[Part, ...]:
        """Everything that errs in the reading at a position."""
        special = self.special.get(position)
        return (self._usual if special is None else special) + self.common

    def afresh_at(self, position: str) -> tuple[Part, ...]:
        """What errs at a position and not alike at the others."""
        special = self.special.get(position)
        parts = self._usual if special is None else special
        # One instrument's error is not the same all along its scale, so no difference is without it.
        return (
            tuple(replace(each, cause="") for each in parts) if any(each.cause for each in parts) else parts
        )

    def term(self, position: str, sensitivity: Decimal = _ONE) -> Term:
        """The errors of the reading at one position."""
        return Term(self.parts_at(position), sensitivity, self.whose)

    def one(self, position: str, growth: Growth, value: Decimal | None = None) -> Measure:
        """A measure that rests on the reading at one position, the extreme of the set."""
        return measure_of(
            self.values[position] if value is None else value,
            (self.term(position),),
            growth if self.missing or self.unbounded else "",
        )

    def difference(self, high: str, low: str, value: Decimal | None = None) -> Measure:
        """A measure that is the difference of two positions: what errs alike at both cancels."""
        return measure_of(
            self.values[high] - self.values[low] if value is None else value,
            (
                Term(self.afresh_at(high), _ONE, f"{self.whose} at {high}".strip()),
                Term(self.afresh_at(low), -_ONE, f"{self.whose} at {low}".strip()),
            ),
            "up" if self.missing else "",
        )


def measure_of(value: Decimal, terms: Sequence[Term], growth: Growth = "") -> Measure:
    """A value with the errors of the readings that it rests on, combined (GUM 5.1.2 and 5.2.2).

    Parts with one cause err together, fully, each with its sign; all others are independent. Where every
    part stands alone no root is taken, so the variance is exact to the digits of `WORKING`.
    """
    variance = bound = lead = Decimal(0)
    shared: dict[str, list[tuple[Part, Decimal]]] | None = None
    for term in terms:
        sensitivity = term.sensitivity
        square = sensitivity * sensitivity
        for part in term.parts:
            if part.cause:
                if shared is None:
                    shared = {}
                shared.setdefault(part.cause, []).append((part, sensitivity * part.sign))
            else:
                own = part.variance * square
                variance += own
                bound += part.bound * abs(sensitivity)
                if own > lead and part.freedom is None:
                    lead = own
    for together in () if shared is None else shared.values():
        first = together[0][0]
        if all(part.variance == first.variance for part, _ in together):
            weight = sum((each for _, each in together), Decimal(0))
            own = first.variance * weight * weight
        else:
            own = sum((part.variance.sqrt() * weight for part, weight in together), Decimal(0)) ** 2
        variance += own
        # What readings share is an instrument's limit or a temperature: rectangular, like its cause.
        lead = max(lead, own)
        bound += abs(sum((part.bound * weight for part, weight in together), Decimal(0)))
    return Measure(value, variance, bound, growth, tuple(terms), lead)
