"""Where a measured size stands against a limit: inside, outside, or in doubt.

One side of a limit is judged by distance over uncertainty: the distance squared against z² times the
variance, so no root is taken and no float is compared. How many uncertainties it takes hangs on how the error
is spread, which `spread` tells. Where a limit has two sides, a size is inside if

    P = F((upper - y) / u) - F((lower - y) / u)

is high enough, by the same spread F. Two squared comparisons settle that nearly always: it is not, where one
side alone takes too much, and it is, where neither takes half of what may be lost. Only between these are the
two tails summed, as a series in decimals that is right to `_SETTLED` digits, on every machine alike; whatever
is equal to that many digits counts as not enough.

A size is outside where it is beyond one side with the probability wanted for that. That the tolerance is
narrow against the uncertainty never makes it outside: a worse instrument must not condemn a part.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.measure import WORKING, Measure
from advisor.gauging.spread import share_of, square, tail
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
    above = at_most is not None and _outside(at_most - measure.value, measure, confidence)
    if above is True:
        return _ABOVE
    below = at_least is not None and _outside(measure.value - at_least, measure, confidence)
    if below is True:
        return _BELOW
    if at_most is None or at_least is None or not confidence.guarded:
        return _NOT_OUTSIDE[above is None, below is None]
    # Two sides that share what may be lost: half of it each.
    half = (1 + confidence.inside) / 2
    doubts = tuple(
        margin < 0 or not _beyond(margin, measure, half)
        for margin in (at_most - measure.value, measure.value - at_least)
    )
    if doubts != (False, False) and above is False and below is False:
        lost = probability_outside(measure, at_least, at_most)
        if round(lost, _SETTLED) < 1 - confidence.inside:
            return _NOT_OUTSIDE[False, False]
    return _NOT_OUTSIDE[doubts[0], doubts[1]]


def probability_inside(measure: Measure, at_least: Decimal | None, at_most: Decimal | None) -> Decimal:
    """The probability that the true size lies inside a limit, 0 to 1, by its spread.

    A side that is not limited takes nothing.
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
        return sum((tail(margin / u, share_of(measure)) for margin in margins), Decimal(0))


_SETTLED: Final = 20
"""Decimals to which the sum of two tails is trusted."""

_FARTHEST: Final = Decimal("1.1")
"""Square of the share by which the deviate of any shape may lie off those of the two it lies between."""


def _outside(margin: Decimal, measure: Measure, confidence: Confidence) -> bool | None:
    """Whether a size lies outside one side of a limit; None where that is in doubt."""
    if margin < 0:
        sure = not confidence.guarded or _beyond(margin, measure, 1 - confidence.outside)
        return True if sure else None
    sure = not confidence.guarded or _beyond(margin, measure, confidence.inside)
    return False if sure else None


def _beyond(margin: Decimal, measure: Measure, probability: Decimal) -> bool:
    apart, variance = margin * margin, measure.variance
    if not measure.lead:
        return apart >= square(probability) * variance
    # Nearly always the two plain shapes settle it, and the one between need not be worked out.
    plain = square(probability) * variance, square(probability, _RECTANGLE) * variance
    if apart >= max(plain) * _FARTHEST:
        return True
    if apart * _FARTHEST < min(plain):
        return False
    return apart >= square(probability, share_of(measure)) * variance


_RECTANGLE: Final = Decimal(1)
