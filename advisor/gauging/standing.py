"""Where a measured size stands against a limit: inside, outside, or in doubt."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from statistics import NormalDist

from advisor.gauging.measure import Measure
from advisor.sheets.conditions import Outcome


@dataclass(frozen=True, slots=True)
class Confidence:
    """How sure one must be: the probability of lying inside at which a size counts as inside (`inside`),
    and the one at or below which it counts as outside (`outside`).

    `guarded` False compares the value alone, for a limit that holds a margin of its own.
    """

    inside: Decimal = Decimal("0.95")
    outside: Decimal = Decimal("0.05")
    guarded: bool = True


@lru_cache(maxsize=64)
def z_value(probability: Decimal) -> Fraction:
    """The one-sided normal deviate of a probability, to six decimals: 1.644854 for 0.95."""
    return Fraction(round(Decimal(NormalDist().inv_cdf(float(probability))), 6))


def standing(
    measure: Measure, at_least: Fraction | None, at_most: Fraction | None, confidence: Confidence
) -> frozenset[Outcome]:
    """The outcomes that are still possible for `measure` against a limit, at least one.

    Each side is judged by itself, by distance over uncertainty, in exact arithmetic: the distance squared
    against z² times the variance, so no root is taken and no float compared.
    """
    possible: set[Outcome] = {"inside"}
    sides: list[tuple[Outcome, Fraction | None]] = [
        ("above", None if at_most is None else at_most - measure.value),
        ("below", None if at_least is None else measure.value - at_least),
    ]
    for outcome, margin in sides:
        if margin is None:
            continue
        if not confidence.guarded:
            if margin < 0:
                return frozenset((outcome,))
            continue
        squared = margin * margin
        if margin < 0 and squared >= z_value(1 - confidence.outside) ** 2 * measure.variance:
            return frozenset((outcome,))
        if margin < 0 or squared < z_value(confidence.inside) ** 2 * measure.variance:
            possible.add(outcome)
    return frozenset(possible)
