"""Where a measured size stands against a limit: inside, outside, or in doubt.

One side of a limit is judged by distance over uncertainty: the distance squared against z² times the
variance, so no root is taken and no float is compared. Where a limit has two sides, a size is inside if

    P = Phi((upper - y) / u) - Phi((lower - y) / u)

is high enough. Two squared comparisons settle that nearly always: it is not, where one side alone takes too
much, and it is, where neither takes half of what may be lost. Only between these are the two tails summed,
as a series in decimals that is right to `_SETTLED` digits, on every machine alike; whatever is equal to that
many digits counts as not enough.

A size is outside where it is beyond one side with the probability wanted for that. That the tolerance is
narrow against the uncertainty never makes it outside: a worse instrument must not condemn a part.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import lru_cache
from statistics import NormalDist
from typing import Final

from advisor.gauging.measure import WORKING, Measure
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
    """The outcomes that are still possible for `measure` against a limit, at least one."""
    above = at_most is not None and _outside(at_most - measure.value, measure.variance, confidence)
    if above is True:
        return _ABOVE
    below = at_least is not None and _outside(measure.value - at_least, measure.variance, confidence)
    if below is True:
        return _BELOW
    if at_most is None or at_least is None or not confidence.guarded:
        return _NOT_OUTSIDE[above is None, below is None]
    # Two sides that share what may be lost: half of it each.
    half = (1 + confidence.inside) / 2
    doubts = tuple(
        margin < 0 or not _beyond(margin, measure.variance, half)
        for margin in (at_most - measure.value, measure.value - at_least)
    )
    if doubts != (False, False) and above is False and below is False:
        lost = probability_outside(measure, at_least, at_most)
        if round(lost, _SETTLED) < 1 - confidence.inside:
            return _NOT_OUTSIDE[False, False]
    return _NOT_OUTSIDE[doubts[0], doubts[1]]


def probability_inside(measure: Measure, at_least: Decimal | None, at_most: Decimal | None) -> Decimal:
    """The probability that the true size lies inside a limit, 0 to 1, by a normal spread.

    P = Phi((upper - y) / u) - Phi((lower - y) / u); a side that is not limited takes nothing.
    """
    with localcontext(WORKING):
        return 1 - probability_outside(measure, at_least, at_most)


def probability_outside(measure: Measure, at_least: Decimal | None, at_most: Decimal | None) -> Decimal:
    """The probability that the true size lies outside a limit, on either side: both tails together."""
    with localcontext(WORKING):
        u = measure.variance.sqrt()
        margins = [
            margin
            for margin in (
                None if at_most is None else at_most - measure.value,
                None if at_least is None else measure.value - at_least,
            )
            if margin is not None
        ]
        if not u:
            return Decimal(1) if any(margin < 0 for margin in margins) else Decimal(0)
        return sum((_tail(margin / u) for margin in margins), Decimal(0))


_SETTLED: Final = 20
"""Decimals to which the sum of two tails is trusted."""

_FAR: Final = 11
"""Deviate beyond which a tail is nothing: 2e-28, less than the last decimal that counts."""

_LEAST_TERM: Final = Decimal("1e-45")
_ROOT_TWO_PI: Final = Decimal("2.50662827463100050241576528481104525300698674060993831662992357634229")


def _tail(deviate: Decimal) -> Decimal:
    """The share of a normal spread above `deviate`: 1 - Phi.

    By Phi(t) = 1/2 + phi(t) (t + t³/3 + t⁵/(3·5) + ...), whose terms are all of one sign (Abramowitz and
    Stegun 26.2.11, number from memory).
    """
    if abs(deviate) > _FAR:
        return Decimal(0) if deviate > 0 else Decimal(1)
    square = deviate * deviate
    term = total = deviate
    odd = 1
    while abs(term) > _LEAST_TERM:
        odd += 2
        term = term * square / odd
        total += term
    return Decimal("0.5") - total * (-square / 2).exp() / _ROOT_TWO_PI


def _outside(margin: Decimal, variance: Decimal, confidence: Confidence) -> bool | None:
    """Whether a size lies outside one side of a limit; None where that is in doubt."""
    if margin < 0:
        sure = not confidence.guarded or _beyond(margin, variance, 1 - confidence.outside)
        return True if sure else None
    sure = not confidence.guarded or _beyond(margin, variance, confidence.inside)
    return False if sure else None


def _beyond(margin: Decimal, variance: Decimal, probability: Decimal) -> bool:
    return margin * margin >= z_squared(probability) * variance
