"""How the error of a size is spread: one rectangular source, if it is the largest, and the rest normal.

A sum of many errors is nearly normal, a single rectangular one is not: 95 % of it lie within 1.65 of its
standard uncertainties, not within 1.96, and nothing at all lies beyond 1.74 (GUM G.1.4 to G.2.3, numbers from
memory). So the largest rectangular source of a size keeps its shape, and what is left is taken as normal;
with no such source it is the normal spread, with nothing else the rectangle. Whatever is told after ±, and
every standing by probability, comes from this one spread.

The deviates are in standard uncertainties of the whole. They are worked out in floats and taken to six
decimals; tails are decimal throughout.
"""

from __future__ import annotations

import math
from decimal import ROUND_DOWN, Decimal, localcontext
from functools import lru_cache
from statistics import NormalDist
from typing import Final

from advisor.gauging.measure import WORKING, Measure

_SHARE: Final = Decimal("0.000001")
_NORMAL: Final = NormalDist()

_FAR: Final = 11
"""Deviate beyond which a normal tail is nothing: 2e-28, less than the last decimal that counts."""

_LEAST_TERM: Final = Decimal("1e-45")
_ROOT_TWO_PI: Final = Decimal("2.50662827463100050241576528481104525300698674060993831662992357634229")

_HALVINGS: Final = 60


def share_of(measure: Measure) -> Decimal:
    """The share of a measure's variance that its largest rectangular source has, 0 to 1."""
    if not measure.lead or not measure.variance:
        return Decimal(0)
    return min((measure.lead / measure.variance).quantize(_SHARE, ROUND_DOWN), Decimal(1))


@lru_cache(maxsize=4096)
def deviate(probability: Decimal, share: Decimal = Decimal(0)) -> Decimal:
    """How many standard uncertainties a size must lie on one side of a limit to keep it with a probability.

    One-sided, for a probability above 0.5; to six decimals: 1.644854 for 0.95 and share 0, 1.558846 for
    share 1.
    """
    wanted = float(probability)
    if not share:
        return round(Decimal(_NORMAL.inv_cdf(wanted)), 6)
    if share == 1:
        return round(Decimal(math.sqrt(3) * (2 * wanted - 1)), 6)
    low, high = 0.0, 8.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _held(middle, float(share)) < wanted else (low, middle)
    return round(Decimal(high), 6)


def coverage(share: Decimal = Decimal(0), probability: Decimal = Decimal("0.95")) -> Decimal:
    """The k by which ± k standard uncertainties hold a size with a probability, to six decimals."""
    return deviate((1 + probability) / 2, share)


@lru_cache(maxsize=4096)
def square(probability: Decimal, share: Decimal = Decimal(0)) -> Decimal:
    """The square of `deviate`, so that no root need be taken to compare."""
    return deviate(probability, share) ** 2


def _held(x: float, share: float) -> float:
    """The probability of an error below x."""
    half, normal = math.sqrt(3 * share), math.sqrt(1 - share)
    above, below = (x + half) / normal, (x - half) / normal
    return (_area(above) - _area(below)) * normal / (2 * half)


def _area(t: float) -> float:
    """The integral of the normal distribution from minus infinity to t."""
    return t * _NORMAL.cdf(t) + _NORMAL.pdf(t)


def tail(x: Decimal, share: Decimal = Decimal(0)) -> Decimal:
    """The probability of an error above x, in standard uncertainties."""
    with localcontext(WORKING):
        if not share:
            return _normal_tail(x)
        half = (3 * share).sqrt()
        if share == 1:
            return min(max((half - x) / (2 * half), Decimal(0)), Decimal(1))
        normal = (1 - share).sqrt()
        above, below = (x + half) / normal, (x - half) / normal
        return (_area_above(below) - _area_above(above)) * normal / (2 * half)


def _area_above(t: Decimal) -> Decimal:
    """The integral of the normal tail from t to infinity: phi(t) - t (1 - Phi(t))."""
    if t > _FAR:
        return Decimal(0)
    if t < -_FAR:
        return -t
    return (-t * t / 2).exp() / _ROOT_TWO_PI - t * _normal_tail(t)


def _normal_tail(deviate: Decimal) -> Decimal:
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
