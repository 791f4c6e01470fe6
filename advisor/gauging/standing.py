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


_SURE: dict[str, frozenset[Outcome]] = {
    "inside": frozenset(("inside",)),
    "above": frozenset(("above",)),
    "below": frozenset(("below",)),
}


def standing(
    measure: Measure, at_least: Decimal | None, at_most: Decimal | None, confidence: Confidence
) -> frozenset[Outcome]:
    """The outcomes that are still possible for `measure` against a limit, at least one.

    Each side is judged by itself, by distance over uncertainty: the distance squared against z² times the
    variance, so no root is taken and no float is compared.
    """
    possible: set[Outcome] = set()
    sides: tuple[tuple[Outcome, Decimal | None], ...] = (("above", at_most), ("below", at_least))
    for outcome, limit in sides:
        if limit is None:
            continue
        margin = limit - measure.value if outcome == "above" else measure.value - limit
        if margin < 0:
            if not confidence.guarded or _beyond(margin, measure.variance, 1 - confidence.outside):
                return _SURE[outcome]
            possible.add(outcome)
        elif confidence.guarded and not _beyond(margin, measure.variance, confidence.inside):
            possible.add(outcome)
    return frozenset(("inside", *possible)) if possible else _SURE["inside"]


def _beyond(margin: Decimal, variance: Decimal, probability: Decimal) -> bool:
    return margin * margin >= z_squared(probability) * variance
