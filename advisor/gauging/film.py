"""The oil film of a plain bearing, worn against new: an aid to comparison, and no proof of anything.

COMPARISON AID ONLY. Everything here holds for a steady load, oil of one viscosity throughout, laminar
flow and a round, ungrooved bearing all the way round. A big end or a main bearing of an engine is none of
these: ISO 7902-1:2020, the standard for such sums, excludes loads that change with time. So no film worked
out here passes or fails a bearing. What serves is the comparison of two clearances, all else equal.

Floats inside, for what is tabled is known to three figures; films come out in mm, rounded to the nanometre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from typing import Final

CAUTION: Final = (
    "Comparison aid only: steady load, one viscosity, a plain round bearing. An engine's load changes all "
    "the time, which ISO 7902-1 excludes. The engine maker's clearance limits decide."
)

LEAST_RATIO, MOST_ECCENTRICITY = 0.25, 0.97
"""Where the tables end: length over diameter below, eccentricity above."""

_ECCENTRICITIES = (0.1, 0.2, 0.4, 0.6, 0.8, 0.9, MOST_ECCENTRICITY)

SOMMERFELD: Final = {
    math.inf: (0.240, 0.123, 0.0626, 0.0389, 0.0210, 0.0115, 0.00375),
    1.0: (1.33, 0.631, 0.264, 0.121, 0.0446, 0.0188, 0.00474),
    0.5: (4.31, 2.03, 0.779, 0.319, 0.0923, 0.0313, 0.00609),
    0.25: (16.2, 7.57, 2.83, 1.07, 0.261, 0.0736, 0.0101),
}
"""Sommerfeld number by length over diameter, for eccentricities 0.1, 0.2, 0.4, 0.6, 0.8, 0.9 and 0.97.

A. Raimondi and J. Boyd, Trans. ASLE 1, 1958, full bearing, from memory; 0.00375 is computed here, by finite
differences. The tests solve Reynolds' equation anew and find every value within 2 %, the last of each row
within 3.5 %.
"""


@dataclass(frozen=True, slots=True)
class Bearing:
    """A plain bearing and how it runs; sizes in mm, load in N, viscosity in Pa s, speed in 1/s.

    For the comparison aid only: the load is taken as steady, the viscosity as the same everywhere.
    Raises ValueError for anything that is not above 0, a length under a quarter of the diameter, or a
    clearance that is not small against the diameter.
    """

    diameter: Decimal
    length: Decimal
    radial_clearance: Decimal
    """Half the difference of the diameters."""
    load: Decimal
    viscosity: Decimal
    speed: Decimal

    def __post_init__(self) -> None:
        sizes = (
            self.diameter, self.length, self.radial_clearance, self.load, self.viscosity, self.speed
        )  # fmt: skip
        if not all(each.is_finite() and each > 0 for each in sizes):
            raise ValueError("sizes, load, viscosity and speed of a bearing are above 0")
        if self.radial_clearance * 50 > self.diameter:
            raise ValueError(
                f"{self.radial_clearance} mm radial clearance is too much for a bearing of {self.diameter} mm"
            )
        if self.length < self.diameter * Decimal(LEAST_RATIO):
            raise ValueError("a bearing shorter than a quarter of its diameter is beyond the tables")


@dataclass(frozen=True, slots=True)
class Film:
    """The film of a bearing under steady load; a comparison aid only, as `words` says.

    `eccentricity` (a number from 0 to 1) and `least_film` (mm) are None where the film is thinner than the
    tables reach, which is 0.03 of the radial clearance.
    """

    sommerfeld: float
    eccentricity: float | None
    least_film: Decimal | None
    words: str


@dataclass(frozen=True, slots=True)
class Thinning:
    """The film at the worn clearance against the film at the new one; a comparison aid only."""

    new: Film
    worn: Film
    share: float | None
    """Worn least film over new, a number: 0.8 is a fifth thinner. None where a film is beyond the tables."""
    words: str


def sommerfeld_number(bearing: Bearing) -> float:
    """(r / c)² µ N / P with P = load / (length · diameter): a number without unit. Comparison aid only."""
    pressure = float(bearing.load) / (float(bearing.length) * float(bearing.diameter) * 1e-6)
    ratio = float(bearing.diameter) / 2 / float(bearing.radial_clearance)
    return ratio**2 * float(bearing.viscosity) * float(bearing.speed) / pressure


def film(bearing: Bearing) -> Film:
    """Eccentricity and least film from the tables, for the comparison aid only.

    Raises nothing of its own: `Bearing` has refused what cannot be.
    """
    number = sommerfeld_number(bearing)
    thinnest = _least_film_ratio(number, float(bearing.length / bearing.diameter))
    if thinnest is None:
        share = f"{100 - 100 * MOST_ECCENTRICITY:.0f} %"
        return Film(
            number, None, None, f"The film is thinner than {share} of the radial clearance. {CAUTION}"
        )
    least = Decimal(repr(round(thinnest * float(bearing.radial_clearance), 6)))
    words = f"Least film {least * 1000:.2f} µm under a steady load. {CAUTION}"
    return Film(number, 1 - thinnest, least, words)


def thinning(bearing: Bearing, worn_radial_clearance: Decimal) -> Thinning:
    """By how much the film thins when `bearing` has worn to a radial clearance in mm; comparison aid only.

    Load, viscosity and speed stay. In truth a wider bearing also runs cooler and leaks more, so oil
    pressure falls first. Raises ValueError where the worn clearance is less than the new one, or too much.
    """
    if not worn_radial_clearance.is_finite() or worn_radial_clearance < bearing.radial_clearance:
        raise ValueError("a worn clearance is not less than the new one")
    new, worn = film(bearing), film(replace(bearing, radial_clearance=worn_radial_clearance))
    if new.least_film is None or worn.least_film is None:
        return Thinning(new, worn, None, f"A film is thinner than the tables reach. {CAUTION}")
    share = float(worn.least_film / new.least_film)
    change = f"{abs(1 - share) * 100:.0f} % {'thinner' if share < 1 else 'thicker'} than new"
    return Thinning(new, worn, share, f"Least film {change} under the same steady load. {CAUTION}")


def by_length(ratio: float, infinite: float, one: float, half: float, quarter: float) -> float:
    """A tabled quantity at any length over diameter from 1/4 up, from its values at ∞, 1, 1/2 and 1/4.

    Formula of A. Raimondi and J. Boyd, from memory, which reproduces the worked figures of Shigley's
    solution manual (12-2). Comparison aid only. Raises ValueError for a ratio below 1/4.
    """
    if not ratio >= LEAST_RATIO:
        raise ValueError("a bearing shorter than a quarter of its diameter is beyond the tables")
    if math.isinf(ratio):
        return infinite
    q = ratio
    return (
        -(1 - q) * (1 - 2 * q) * (1 - 4 * q) / 8 * infinite
        + (1 - 2 * q) * (1 - 4 * q) / 3 * one
        - (1 - q) * (1 - 4 * q) / 4 * half
        + (1 - q) * (1 - 2 * q) / 24 * quarter
    ) / q**3


def _least_film_ratio(number: float, ratio: float) -> float | None:
    """Least film over radial clearance at a Sommerfeld number; None where the table ends.

    The Sommerfeld number is interpolated between lengths at each tabled eccentricity, which solving
    Reynolds' equation shows to be right within 3.5 %; the film at one Sommerfeld number, interpolated the
    same way, misses by up to a half. Between eccentricities a monotone cubic in the logarithm serves.
    Towards no load eccentricity falls as the load does.
    """
    numbers = [by_length(ratio, *row) for row in zip(*SOMMERFELD.values(), strict=True)]
    if number >= numbers[0]:
        return 1 - _ECCENTRICITIES[0] * numbers[0] / number
    if number < numbers[-1]:
        return None
    logs = [math.log(each) for each in reversed(numbers)]
    films = [1 - each for each in reversed(_ECCENTRICITIES)]
    return monotone_cubic(logs, films, math.log(number))


def monotone_cubic(xs: Sequence[float], ys: Sequence[float], x: float) -> float:
    """The monotone piecewise cubic through points in order of x, at an x within them.

    Never rises or falls where its points do not (F. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5,
    1984, from memory). Needs three points or more. Used for the comparison aid only.
    """
    steps = [after - before for before, after in pairwise(xs)]
    rises = [(after - before) / step for (before, after), step in zip(pairwise(ys), steps, strict=True)]
    slopes = [_end_slope(steps[0], steps[1], rises[0], rises[1])]
    for (h1, h2), (d1, d2) in zip(pairwise(steps), pairwise(rises), strict=True):
        if d1 * d2 <= 0:
            slopes.append(0.0)
            continue
        w1, w2 = 2 * h2 + h1, h2 + 2 * h1
        slopes.append((w1 + w2) / (w1 / d1 + w2 / d2))
    slopes.append(_end_slope(steps[-1], steps[-2], rises[-1], rises[-2]))
    k = max(i for i in range(len(steps)) if i == 0 or xs[i] <= x)
    t = (x - xs[k]) / steps[k]
    return (
        (1 + 2 * t) * (1 - t) ** 2 * ys[k]
        + t * (1 - t) ** 2 * steps[k] * slopes[k]
        + t * t * (3 - 2 * t) * ys[k + 1]
        + t * t * (t - 1) * steps[k] * slopes[k + 1]
    )


def _end_slope(h1: float, h2: float, d1: float, d2: float) -> float:
    """Slope at an end by the parabola through three points, held back so that the curve stays monotone."""
    slope = ((2 * h1 + h2) * d1 - h1 * d2) / (h1 + h2)
    if slope * d1 <= 0:
        return 0.0
    return 3 * d1 if d1 * d2 <= 0 and abs(slope) > abs(3 * d1) else slope
