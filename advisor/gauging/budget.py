"""Uncertainty budgets: what each source of error adds, and what is left when two sizes share a source.

Everything that needs no table of a distribution is decimal: standard uncertainties and their combination
are right to 50 digits. Only the coverage factor is a float inside, because Student's distribution is.

Sources: the law of propagation, JCGM 100:2008 (GUM) 5.1.2 with 5.2.2 for what is correlated; shapes of
spread, 4.3.4 to 4.3.9 and F.2.2.1; effective degrees of freedom (Welch and Satterthwaite), G.4.1. The
numbers of clauses and formulas are from memory, but for 4.3.7; what they say is checked by the tests.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from functools import lru_cache
from statistics import NormalDist
from typing import Final

from advisor.gauging.measure import WORKING

_SETTLED: Final = Context(prec=50)
"""Digits that are free of rounding; what is cut to a whole number is rounded to these first."""

NINETY_FIVE: Final = Decimal("0.95")


@dataclass(frozen=True, slots=True)
class Component:
    """One source of uncertainty in a result.

    `uncertainty` is a standard uncertainty in the source's own unit, `sensitivity` by how much the result
    moves for one of that unit; its sign counts as soon as a cause is shared.
    """

    name: str
    uncertainty: Decimal
    sensitivity: Decimal = Decimal(1)
    freedom: Decimal | None = None
    """Degrees of freedom; None where the uncertainty is taken as known exactly."""
    cause: str = ""
    """What the error comes from where other components have it too. All with one cause err together, fully
    and with the same sign; what they do not share belongs into a component of its own."""
    unit: str = ""
    """Unit of the uncertainty; empty where it is the result's own."""
    how: str = ""
    """Where the figure comes from, for people."""

    def __post_init__(self) -> None:
        if not self.uncertainty.is_finite() or self.uncertainty < 0:
            raise ValueError(f"{self.name}: an uncertainty cannot be {self.uncertainty}")
        if not self.sensitivity.is_finite():
            raise ValueError(f"{self.name}: a sensitivity cannot be {self.sensitivity}")
        if self.freedom is not None and not (self.freedom.is_finite() and self.freedom >= 1):
            raise ValueError(f"{self.name}: degrees of freedom are 1 or more, not {self.freedom}")

    @property
    def contribution(self) -> Decimal:
        """What it adds to the result, in the result's unit, with its sign."""
        with localcontext(WORKING):
            return self.uncertainty * self.sensitivity

    def scaled(self, factor: Decimal) -> Component:
        """The same source behind a result that is `factor` times as large."""
        with localcontext(WORKING):
            return replace(self, sensitivity=self.sensitivity * factor)


def rectangular(name: str, half_width: Decimal, *, cause: str = "") -> Component:
    """A spread of ± half_width, anywhere in it alike: half_width / √3 (GUM 4.3.7)."""
    return _shaped(name, half_width, 3, f"rectangular, ± {half_width}", cause)


def triangular(name: str, half_width: Decimal, *, cause: str = "") -> Component:
    """A spread of ± half_width, likeliest in its middle: half_width / √6 (GUM 4.3.9)."""
    return _shaped(name, half_width, 6, f"triangular, ± {half_width}", cause)


def resolution(name: str, step: Decimal, *, cause: str = "") -> Component:
    """The step of a display or scale: step / √12 (GUM F.2.2.1)."""
    return _shaped(name, step, 12, f"resolution, {step}", cause)


def normal(
    name: str, expanded: Decimal, k: Decimal = Decimal(1), *, freedom: Decimal | None = None, cause: str = ""
) -> Component:
    """An uncertainty stated with its coverage factor, as on a certificate: expanded / k (GUM 4.3.3).

    ValueError where k is nothing or less.
    """
    if not k.is_finite() or k <= 0:
        raise ValueError(f"{name}: a coverage factor must be above nothing, not {k}")
    with localcontext(WORKING):
        how = "standard" if k == 1 else f"normal, {expanded} at k = {k}"
        return Component(name, expanded / k, freedom=freedom, cause=cause, how=how)


def repeated(name: str, readings: Sequence[Decimal], *, cause: str = "") -> Component:
    """The mean of repeated readings: their standard deviation over √n, n - 1 degrees of freedom (GUM 4.2).

    ValueError below two readings.
    """
    count = len(readings)
    if count < 2:
        raise ValueError(f"{name}: a spread needs two readings or more, there are {count}")
    with localcontext(WORKING):
        mean = sum(readings, Decimal(0)) / count
        squares = sum(((each - mean) ** 2 for each in readings), Decimal(0))
        uncertainty = (squares / (count * (count - 1))).sqrt()
    return Component(name, uncertainty, freedom=Decimal(count - 1), cause=cause, how=f"{count} readings")


def _shaped(name: str, width: Decimal, divisor: int, how: str, cause: str) -> Component:
    if not width.is_finite() or width < 0:
        raise ValueError(f"{name}: a spread cannot be {width} wide")
    with localcontext(WORKING):
        return Component(name, width / Decimal(divisor).sqrt(), cause=cause, how=how)


@dataclass(frozen=True, slots=True)
class Line:
    """What one cause adds to a result: a component by itself, or all that share a cause."""

    name: str
    parts: tuple[Component, ...]
    contribution: Decimal
    """In the unit of the result, without sign; nothing where a shared cause cancels."""
    share: Decimal
    """Share of the result's variance, 0 to 1; the shares of a budget come to 1, or all to 0."""
    freedom: Decimal | None


@dataclass(frozen=True, slots=True)
class Expanded:
    """A result as it is stated: value ± uncertainty, in the unit of the budget."""

    value: Decimal
    uncertainty: Decimal
    k: Decimal
    freedom: Decimal | None
    """Effective degrees of freedom; None for infinitely many."""


@dataclass(frozen=True, slots=True)
class Budget:
    """A result and everything that makes it uncertain."""

    name: str
    value: Decimal
    unit: str
    """Unit of the value, and of every component's uncertainty times its sensitivity."""
    components: tuple[Component, ...]

    def __post_init__(self) -> None:
        if not self.value.is_finite():
            raise ValueError(f"{self.name}: a result cannot be {self.value}")

    @property
    def variance(self) -> Decimal:
        """Square of the combined standard uncertainty."""
        with localcontext(WORKING):
            return sum((total * total for _, _, total, _ in self._causes()), Decimal(0))

    @property
    def uncertainty(self) -> Decimal:
        """Combined standard uncertainty, in the unit of the value (GUM 5.1.2, 5.2.2)."""
        with localcontext(WORKING):
            return self.variance.sqrt()

    @property
    def freedom(self) -> Decimal | None:
        """Effective degrees of freedom (GUM G.4.1); None for infinitely many.

        Welch and Satterthwaite's formula wants independent terms, so a shared cause goes in as one term.
        ValueError where its components name different degrees of freedom.
        """
        with localcontext(WORKING):
            below = sum(
                (total**4 / freedom for _, _, total, freedom in self._causes() if freedom is not None),
                Decimal(0),
            )
            return self.variance**2 / below if below else None

    def expanded(self, probability: Decimal = NINETY_FIVE) -> Expanded:
        """The value with an interval that holds it with a probability, up to 0.9999 (GUM G.4).

        The effective degrees of freedom are cut to a whole number, which is the cautious side.
        """
        freedom = self.freedom
        whole = None if freedom is None else int(_SETTLED.plus(freedom).to_integral_value(ROUND_FLOOR))
        k = coverage_factor(probability, whole)
        with localcontext(WORKING):
            return Expanded(self.value, k * self.uncertainty, k, freedom)

    def lines(self) -> tuple[Line, ...]:
        """What each cause adds, the greatest first: the table that belongs beside the result."""
        variance = self.variance
        with localcontext(WORKING):
            lines = [
                Line(name, parts, abs(total), total * total / variance if variance else Decimal(0), freedom)
                for name, parts, total, freedom in self._causes()
            ]
        return tuple(sorted(lines, key=lambda line: line.contribution, reverse=True))

    def scaled(self, factor: Decimal) -> Budget:
        """The budget of `factor` times the value."""
        with localcontext(WORKING):
            value = self.value * factor
        return replace(self, value=value, components=tuple(each.scaled(factor) for each in self.components))

    def plus(self, components: Iterable[Component]) -> Budget:
        """The same value with more sources of uncertainty."""
        return replace(self, components=(*self.components, *components))

    @staticmethod
    def difference(a: Budget, b: Budget, name: str = "") -> Budget:
        """The value of `a` less that of `b`: what both have from one cause cancels (GUM 5.2.2).

        A bore gauge that was set with the micrometer which measured the piston has that micrometer's error
        too; name it as the cause in both, and the clearance is free of as much of it as both have.
        ValueError where the units differ.
        """
        if a.unit != b.unit:
            raise ValueError(f"{a.name} is in {a.unit} and {b.name} in {b.unit}; a difference needs one unit")
        with localcontext(WORKING):
            value = a.value - b.value
        return Budget(
            name or f"{a.name} less {b.name}",
            value,
            a.unit,
            tuple(
                replace(each.scaled(Decimal(sign)), name=f"{side.name}: {each.name}")
                for side, sign in ((a, 1), (b, -1))
                for each in side.components
            ),
        )

    def _causes(self) -> list[tuple[str, tuple[Component, ...], Decimal, Decimal | None]]:
        """Independent terms: the name, the components, their sum with signs, and degrees of freedom."""
        by_cause: dict[tuple[str, int], list[Component]] = {}
        for index, each in enumerate(self.components):
            by_cause.setdefault((each.cause, 0 if each.cause else index), []).append(each)
        causes = []
        for (cause, _), parts in by_cause.items():
            freedoms = {each.freedom for each in parts}
            if len(freedoms) > 1:
                raise ValueError(f"{cause}: one cause has one number of degrees of freedom, not several")
            total = sum((each.contribution for each in parts), Decimal(0))
            causes.append((cause or parts[0].name, tuple(parts), total, freedoms.pop()))
        return causes


@lru_cache(maxsize=64)
def coverage_factor(probability: Decimal, freedom: int | None = None) -> Decimal:
    """The k by which ± k standard uncertainties hold a value with a probability, to six decimals.

    Two-sided: of Student's t with `freedom` degrees of freedom, or of the normal distribution for None
    (GUM G.3.2, table G.2). ValueError for a probability of 0 or less or above 0.9999, or for no freedom.
    """
    if not (probability.is_finite() and 0 < probability <= _SURE):
        raise ValueError(f"a coverage probability lies above 0 and up to {_SURE}, not at {probability}")
    if freedom is not None and freedom < 1:
        raise ValueError(f"degrees of freedom are 1 or more, not {freedom}")
    z = NormalDist().inv_cdf((1 + float(probability)) / 2)
    if freedom is None:
        return round(Decimal(z), 6)
    return round(Decimal(_expansion(z, freedom) if freedom > _MANY else _t(float(probability), freedom)), 6)


_SURE: Final = Decimal("0.9999")
"""No budget is known so well that more could be claimed."""

_MANY: Final = 200
"""Degrees of freedom above which the expansion in 1/freedom is better than six decimals."""


def _t(probability: float, freedom: int) -> float:
    """Solve for t by halving: the angle atan(t / √freedom) lies between 0 and a right angle."""
    low, high = 0.0, math.pi / 2
    for _ in range(60):
        angle = (low + high) / 2
        low, high = (angle, high) if _held(angle, freedom) < probability else (low, angle)
    return math.sqrt(freedom) * math.tan((low + high) / 2)


def _held(angle: float, freedom: int) -> float:
    """Probability within ± t, as a finite series in the angle (Abramowitz and Stegun 26.7.3 and 26.7.4)."""
    cosine = math.cos(angle)
    odd = freedom % 2
    term = total = (cosine if freedom > 1 else 0.0) if odd else 1.0
    for step in range(2 + odd, freedom, 2):
        term *= cosine * cosine * (step - 1) / step
        total += term
    return 2 / math.pi * (angle + math.sin(angle) * total) if odd else math.sin(angle) * total


def _expansion(z: float, freedom: int) -> float:
    """Student's t from the normal deviate (Abramowitz and Stegun 26.7.5)."""
    terms = (
        z,
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
    )
    return sum(term / float(freedom) ** power for power, term in enumerate(terms))
