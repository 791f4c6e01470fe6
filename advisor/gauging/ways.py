"""Several ways to measure one size: combined where they agree, reported where they cannot all be right.

What agrees is weighed by its variance, the better way the more (the weighted mean; its variance is that of
the sum, so errors that the ways share are not halved). Ways that rest on one reading, or on one marked
instrument, are not independent: of those the most exact one counts alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import combinations

from advisor.gauging.agreement import Contradiction, differ, named
from advisor.gauging.errors import SHOP
from advisor.gauging.measure import Measure, Term, measure_of
from advisor.sheets.vocabulary import Formula

BECAUSE = "Both measure the same thing."


def conflicts(ways: Sequence[Measure]) -> list[Contradiction]:
    """Pairs of ways that lie further apart than their uncertainties allow.

    One that readings still missing may move is held only against what lies on the side that it leaves.
    """
    found = []
    for one, other in combinations(ways, 2):
        if _may_meet(one, other) or _may_meet(other, one) or not differ(one, other):
            continue
        found.append(Contradiction(one, other, named(one), named(other), None, BECAUSE))
    return found


def _may_meet(moving: Measure, still: Measure) -> bool:
    """Whether what is still missing may move one size to the other."""
    return (moving.may_grow == "up" and moving.value < still.value) or (
        moving.may_grow == "down" and moving.value > still.value
    )


def combined(ways: Sequence[tuple[Formula, Measure]]) -> Measure:
    """The size by all of the ways, each of which has all its readings; they agree."""
    best = min((measure for _, measure in ways), key=lambda each: each.variance)
    if len(ways) == 1 or not best.variance or not _independent(ways):
        return best
    weights = [1 / measure.variance for _, measure in ways]
    total = sum(weights, Decimal(0))
    value = Decimal(0)
    terms: list[Term] = []
    for (_, measure), weight in zip(ways, weights, strict=True):
        share = weight / total
        value += measure.value * share
        terms += [Term(each.parts, each.sensitivity * share, each.whose) for each in measure.terms]
    return measure_of(value, terms)


def _independent(ways: Sequence[tuple[Formula, Measure]]) -> bool:
    for (one, here), (other, there) in combinations(ways, 2):
        if _causes(here) & _causes(there) or _readings(one) & _readings(other):
            return False
    return True


def _causes(measure: Measure) -> set[str]:
    """Instruments whose error may be in another size too; the temperature of the shop is in nearly all."""
    return {part.cause for term in measure.terms for part in term.parts if part.cause} - {SHOP}


def _readings(formula: Formula) -> set[str]:
    sources = [each.reading for each in (formula.outer, formula.inner) if each is not None]
    return {name for name in (formula.reading, formula.over, *sources) if name}
