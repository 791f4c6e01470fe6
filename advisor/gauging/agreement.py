"""Two ways to know one thing, held against each other.

They differ by more than they may where the distance is above twice its own standard uncertainty: the
normalised error E = |a - b| / U exceeds 1 (ISO/IEC 17043 and ISO 13528 name it so; both from memory). Then
neither counts, and both are reported; a mean of them would be a third wrong figure.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from advisor.gauging.formulas import Way
from advisor.gauging.measure import Measure, Term, measure_of
from advisor.sheets.vocabulary import Agreement, Dimension, Formula

COVERAGE: Final = Decimal(2)
"""By how many standard uncertainties two ways may differ."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two ways to know one thing that cannot both be right."""

    one: Measure
    other: Measure
    """Multiplied by what makes it the same thing."""
    one_from: str
    """The readings that it rests on, in words."""
    other_from: str
    least: Measure | None
    """The other may lie anywhere from this to `one`; None where it must equal it."""
    because: str

    @property
    def apart(self) -> Decimal:
        """How far the other lies from where it may lie."""
        if self.least is not None and self.other.value < self.least.value:
            return self.least.value - self.other.value
        return abs(self.other.value - self.one.value)


def contradictions(
    dimension: Dimension, own: Measure, work_out: Callable[[Formula], Way]
) -> list[Contradiction]:
    """What contradicts a dimension that was worked out.

    A measure that readings still missing may move is held against nothing.
    """
    found = []
    for agreement in dimension.agree:
        one = own if agreement.one is None else work_out(agreement.one).measure
        other = work_out(agreement.other).measure
        least = None if agreement.least is None else work_out(agreement.least).measure
        if one is None or other is None or one.may_grow or other.may_grow:
            continue
        if agreement.least is not None and (least is None or least.may_grow):
            continue
        contradiction = _held(agreement, one, other, least)
        if contradiction is not None:
            found.append(contradiction)
    return found


def _held(agreement: Agreement, one: Measure, other: Measure, least: Measure | None) -> Contradiction | None:
    times = agreement.times
    scaled = measure_of(
        other.value * times,
        [Term(term.parts, term.sensitivity * times, term.whose) for term in other.terms],
    )
    sides = [differ(scaled, one)]
    if least is not None:
        sides = [side for side, beyond in (
            (differ(scaled, one), scaled.value > one.value),
            (differ(least, scaled), scaled.value < least.value),
        ) if beyond]  # fmt: skip
    if not any(sides):
        return None
    return Contradiction(one, scaled, named(one), named(scaled), least, agreement.because)


def differ(one: Measure, other: Measure) -> bool:
    """Whether two sizes lie further apart than twice the standard uncertainty of their distance."""
    apart = measure_of(
        one.value - other.value,
        [*one.terms, *(Term(term.parts, -term.sensitivity, term.whose) for term in other.terms)],
    )
    return apart.value * apart.value > COVERAGE * COVERAGE * apart.variance


def named(measure: Measure) -> str:
    """The readings that a size rests on, in words."""
    return " and ".join(dict.fromkeys(term.whose for term in measure.terms))
