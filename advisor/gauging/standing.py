"""Where a measured size stands against a limit: inside, outside, or in doubt."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
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
def z_squared(probability: Decimal) -> Decimal:
    """The square of the one-sided normal deviate, taken to six decimals: 1.644854² for 0.95."""
    return round(Decimal(NormalDist().inv_cdf(float(probability))), 6) ** 2


_ABOVE: frozenset[Outcome] = frozenset(("above",))
_BELOW: frozenset[Outcome] = frozenset(("below",))
_NOT_OUTSIDE: dict[tuple[bool, bool], frozenset[Outcome]] = {
    (False, False): frozenset(("inside",)),
    (True, False): frozenset(("inside", "above")),
    (False, True): frozenset(("inside", "below")),
    (True, True): frozenset(("inside", "above", "below")),
}
"""By whether it is in doubt above, and whether below."""


def standing(
    measure: Measure, at_least: Decimal | None, at_most: Decimal | None, confidence: Confidence
) -> frozenset[Outcome]:
    """The outcomes that are still possible for `measure` against a limit, at least one.

    Each side is judged by itself, by distance over uncertainty: the distance squared against z² times the
    variance, so no root is taken and no float is compared.
    """
    above = at_most is not None and _outside(at_most - measure.value, measure.variance, confidence)
    if above is True:
        return _ABOVE
    below = at_least is not None and _outside(measure.value - at_least, measure.variance, confidence)
    if below is True:
        return _BELOW
    return _NOT_OUTSIDE[above is None, below is None]


def _outside(margin: Decimal, variance: Decimal, confidence: Confidence) -> bool | None:
    """Whether a size lies outside one side of a limit; None where that is in doubt."""
    if margin < 0:
        sure = not confidence.guarded or _beyond(margin, variance, 1 - confidence.outside)
        return True if sure else None
    sure = not confidence.guarded or _beyond(margin, variance, confidence.inside)
    return False if sure else None


def _beyond(margin: Decimal, variance: Decimal, probability: Decimal) -> bool:
    return margin * margin >= z_squared(probability) * variance
