"""How long a wearing part lasts: from wear that was measured to the hours at which a limit is met.

Wear is taken to go on as it went: by a rate that was measured on this part, never by a wear coefficient
from a handbook, which spans six orders of magnitude. Sizes are exact decimals in mm, times in hours; only
deviates and probabilities are floats. Wear in a limit counts from the same nominal size as wear measured.

The hours at which a limit is met are a quotient of two uncertain sizes, so their bounds are Fieller's
(E. Fieller, J. R. Stat. Soc. B 16, 1954, from memory): unequal, and open above where the wear hardly
stands out from its uncertainty. Every bound is one-sided at the confidence asked for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal, localcontext
from itertools import pairwise
from statistics import NormalDist
from typing import Final, Literal, TypeAlias

from advisor.gauging.measure import WORKING

Outcome: TypeAlias = Literal["lasts", "does not last", "cannot be told"]

USUAL: Final = Decimal("0.95")
NOTHING: Final = Decimal(0)


@dataclass(frozen=True, slots=True)
class Reading:
    """Wear found at a running time: hours and mm, with standard uncertainties of both.

    Raises ValueError for hours or uncertainties below 0.
    """

    hours: Decimal
    wear: Decimal
    u: Decimal
    u_hours: Decimal = NOTHING

    def __post_init__(self) -> None:
        _finite(self.hours, self.wear, self.u, self.u_hours)
        if min(self.hours, self.u, self.u_hours) < 0:
            raise ValueError("running hours and uncertainties are not below 0")


@dataclass(frozen=True, slots=True)
class Band:
    """The wear to expect in mm, with a one-sided bound on either side."""

    low: Decimal
    point: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a limit will be met, in hours from the last reading, and whether the part lasts as wanted."""

    rate: Decimal
    """In mm/h; 0 where wear does not grow from reading to reading."""
    remaining: Decimal | None
    """Hours to the limit at that rate, 0 where it is passed; None where wear does not grow."""
    least: Decimal
    """Hours that are reached with the confidence asked for."""
    most: Decimal | None
    """Hours that are not exceeded with that confidence; None where the readings set no end."""
    wanted: Decimal
    wear_then: Band
    """The wear to expect after the hours wanted; the further ahead, the wider."""
    probability: float
    """Of lasting the hours wanted, from 0 to 1."""
    outcome: Outcome
    beyond_observed: bool
    """Whether the hours wanted are more than those over which wear was watched."""
    words: str

    @property
    def look_again(self) -> Decimal:
        """When to measure again, in hours: at half the remaining life, or at `least` where that is sooner.

        Half the remaining life is API 570's rule for piping, read in a digest at weldfabworld.com; that a
        wide band shortens it is our own.
        """
        return self.least if self.remaining is None else min(self.remaining / 2, self.least)


@dataclass(frozen=True, slots=True)
class Rates:
    """Forecasts by the rate since the first reading (`long`) and since the one before the last (`short`)."""

    short: Forecast
    long: Forecast

    @property
    def governs(self) -> Forecast:
        """That with the greater rate (API 570's rule for piping, read in a digest at weldfabworld.com)."""
        return self.short if self.short.rate > self.long.rate else self.long


def since_new(
    reading: Reading,
    limit: Decimal,
    wanted: Decimal,
    u_new: Decimal = NOTHING,
    confidence: Decimal = USUAL,
) -> Forecast:
    """From one reading and the hours since new: will wear stay within `limit` mm for `wanted` more hours?

    `u_new` is the standard uncertainty of the size when new, in mm: its tolerance, where nobody measured
    it (half the width over √3). It makes the rate less certain, but not the distance to a limit of size.
    Wear while running in counts into the rate, so this rather foretells too little. A reading below 0
    counts as no wear. Raises ValueError for no hours, no uncertainty, or a limit of 0 or less.
    """
    _finite(u_new)
    if reading.hours <= 0:
        raise ValueError("hours since new are above 0")
    if u_new < 0:
        raise ValueError("an uncertainty is not below 0")
    return _from_two(Reading(NOTHING, NOTHING, u_new), reading, limit, wanted, confidence)


def by_rates(
    readings: Sequence[Reading], limit: Decimal, wanted: Decimal, confidence: Decimal = USUAL
) -> Rates:
    """From two readings or more at different hours: forecasts by the long-term and the short-term rate.

    A part that was measured when new has a reading at 0 hours. `wanted` counts from the last reading.
    Raises ValueError for fewer than two, two at the same hours, no uncertainty, or a limit of 0 or less.
    """
    if len(readings) < 2:
        raise ValueError("a rate needs readings at two running times or more")
    ordered = sorted(readings, key=lambda reading: reading.hours)
    if any(before.hours == after.hours for before, after in pairwise(ordered)):
        raise ValueError("two readings are at the same hours: give their mean")
    return Rates(
        _from_two(ordered[-2], ordered[-1], limit, wanted, confidence),
        _from_two(ordered[0], ordered[-1], limit, wanted, confidence),
    )


def _from_two(then: Reading, now: Reading, limit: Decimal, wanted: Decimal, confidence: Decimal) -> Forecast:
    """What wear w over h hours foretells with a margin m left: R hours last where h m - R w is not below 0.

    That expression is linear in every size but for the product of hours and the last size, whose variance
    is taken whole, so its sign has a normal deviate and Fieller's bounds are roots of a quadratic in R.
    """
    _check(limit, wanted, confidence)
    if now.u == 0:
        raise ValueError("wear needs an uncertainty: without one nothing can be told of its rate")
    with localcontext(WORKING):
        hours, margin = now.hours - then.hours, limit - now.wear
        grown = max(now.wear - then.wear, NOTHING)
        u_now, u_then = now.u**2, then.u**2
        u_hours = now.u_hours**2 + then.u_hours**2
        course = _Course(
            a=hours * margin,
            b=grown,
            c0=hours**2 * u_now + margin**2 * u_hours + u_hours * u_now,
            c1=2 * hours * u_now,
            c2=u_now + u_then,
        )
        deviate = Decimal(NormalDist().inv_cdf(float(confidence)))
        rate = grown / hours
        spread = (hours + wanted) ** 2 * u_now + wanted**2 * u_then + (rate * wanted) ** 2 * u_hours
        half = deviate * spread.sqrt() / hours
        point = now.wear + rate * wanted
        band = Band(point - half, point, point + half)
        probability = NormalDist().cdf(float(course.deviate(wanted)))
        return _forecast(course, rate, wanted, band, probability, deviate, hours, confidence)


# --- a straight line through several readings -----------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line by least squares: wear in mm against hours."""

    slope: Decimal
    intercept: Decimal
    u_slope: Decimal
    u_intercept: Decimal
    scatter: Decimal
    """Standard deviation of what is left over, with two fewer degrees of freedom than readings."""
    count: int
    mean_hours: Decimal
    mean_wear: Decimal
    spread: Decimal
    """Sum of squared distances from the mean hours, in h²."""


def fit_line(points: Sequence[tuple[Decimal, Decimal]]) -> Line:
    """The least-squares line through three or more (hours, wear in mm), in decimals throughout.

    Raises ValueError for fewer than three points or for points all at the same hours.
    """
    if len(points) < 3:
        raise ValueError("a line with a scatter needs three readings or more")
    _finite(*(value for point in points for value in point))
    with localcontext(WORKING):
        count = len(points)
        mean_x = sum((x for x, _ in points), NOTHING) / count
        mean_y = sum((y for _, y in points), NOTHING) / count
        spread = sum(((x - mean_x) ** 2 for x, _ in points), NOTHING)
        if spread == 0:
            raise ValueError("all readings are at the same hours: they tell no rate")
        slope = sum(((x - mean_x) * (y - mean_y) for x, y in points), NOTHING) / spread
        intercept = mean_y - slope * mean_x
        rest = sum(((y - intercept - slope * x) ** 2 for x, y in points), NOTHING)
        scatter = (rest / (count - 2)).sqrt()
        u_intercept = scatter * (Decimal(1) / count + mean_x**2 / spread).sqrt()
        u_slope = scatter / spread.sqrt()
        return Line(slope, intercept, u_slope, u_intercept, scatter, count, mean_x, mean_y, spread)


def by_line(
    readings: Sequence[Reading], limit: Decimal, wanted: Decimal, confidence: Decimal = USUAL
) -> Forecast:
    """From three readings or more over time: a straight line, and where a further reading would lie.

    Bounds are those of the prediction interval with Student's t (N. Draper, H. Smith, Applied Regression
    Analysis, from memory), turned round by Fieller to the hours at which the limit is met. Few readings
    lie on a line by luck, so the scatter is never taken as less than the largest uncertainty of a reading.
    The uncertainty of the hours is left out of account. A line that falls counts as level.

    `wanted` counts from the last reading. Raises ValueError for too few readings, no scatter and no
    uncertainty at all, or a limit of 0 or less.
    """
    _check(limit, wanted, confidence)
    line = fit_line([(reading.hours, reading.wear) for reading in readings])
    with localcontext(WORKING):
        variance = max(line.scatter, *(reading.u for reading in readings)) ** 2
        if variance == 0:
            raise ValueError("readings without scatter need an uncertainty")
        times = [reading.hours for reading in readings]
        start = max(times) - line.mean_hours
        slope = max(line.slope, NOTHING)
        course = _Course(
            a=limit - line.mean_wear - slope * start,
            b=slope,
            c0=variance * (1 + Decimal(1) / line.count + start**2 / line.spread),
            c1=2 * variance * start / line.spread,
            c2=variance / line.spread,
        )
        freedom = line.count - 2
        deviate = Decimal(student_quantile(float(confidence), freedom))
        ahead = limit - course.over(wanted)
        half = deviate * course.variance(wanted).sqrt()
        band = Band(ahead - half, ahead, ahead + half)
        probability = student_cdf(float(course.deviate(wanted)), freedom)
        watched = max(times) - min(times)
        return _forecast(course, slope, wanted, band, probability, deviate, watched, confidence)


# --- Fieller's quadratic --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Course:
    """The margin left R hours on: a - b R, of variance c0 + c1 R + c2 R². Only a may be below 0."""

    a: Decimal
    b: Decimal
    c0: Decimal
    c1: Decimal
    c2: Decimal

    def over(self, ahead: Decimal) -> Decimal:
        return self.a - self.b * ahead

    def variance(self, ahead: Decimal) -> Decimal:
        return self.c0 + self.c1 * ahead + self.c2 * ahead**2

    def deviate(self, wanted: Decimal) -> Decimal:
        """The least of margin over its uncertainty from now to then: what lasts longer lasts as long.

        Once past the limit the quotient can turn and rise, as the uncertainty outgrows the excess.
        """
        turns = self.a * self.c2 + self.b * self.c1 / 2
        turn = -(self.b * self.c0 + self.a * self.c1 / 2) / turns if turns != 0 else NOTHING
        times = [NOTHING, wanted, min(max(turn, NOTHING), wanted)]
        return min(self.over(time) / self.variance(time).sqrt() for time in times)

    def meets(self, deviate: Decimal) -> Decimal | None:
        """The first R from 0 on at which the quotient has come down to `deviate`; None if it never does."""
        if self.a <= deviate * self.c0.sqrt():
            return NOTHING
        square = deviate**2
        a, b = self.b**2 - square * self.c2, -(2 * self.a * self.b + square * self.c1)
        c = self.a**2 - square * self.c0
        if a == 0:
            roots = [-c / b] if b != 0 else []
        else:
            inner = b**2 - 4 * a * c
            if inner < 0:
                return None
            # With b never above 0 this sum loses no digits; the other root follows from the product.
            large = (-b + inner.sqrt()) / 2
            roots = [large / a] + ([c / large] if large != 0 else [])
        return min((root for root in roots if root >= 0 and self.over(root) * deviate > 0), default=None)


def _about(hours: Decimal, rounding: str) -> str:
    """Hours to two figures: a forecast from two points knows no more; a bound is rounded outward."""
    if hours < 1:
        return "0"
    return f"{Context(prec=2, rounding=rounding).plus(hours):f}"


def _forecast(
    course: _Course,
    rate: Decimal,
    wanted: Decimal,
    band: Band,
    probability: float,
    deviate: Decimal,
    watched: Decimal,
    confidence: Decimal,
) -> Forecast:
    remaining = max(course.a / course.b, NOTHING) if course.b > 0 else None
    least, most = course.meets(deviate) or NOTHING, course.meets(-deviate)
    sure = float(confidence)
    outcome: Outcome = "cannot be told"
    if probability >= sure:
        outcome = "lasts"
    elif probability <= 1 - sure:
        outcome = "does not last"
    hours = f"{wanted.normalize():f} h"
    met = (
        "No growth of wear shows"
        if remaining is None
        else f"At this rate the limit is met in about {_about(remaining, ROUND_HALF_EVEN)} h"
    )
    if course.a <= 0:
        met = "The limit is met already"
    end = "no end can be told" if most is None else f"not after {_about(most, ROUND_CEILING)} h"
    sure_of = f"{(100 * confidence).normalize():f} % each"
    words = [
        f"{outcome.capitalize()}: {hours} more with a probability of {_percent(probability)}.",
        f"{met}; not before {_about(least, ROUND_FLOOR)} h, {end} ({sure_of}).",
    ]
    if wanted > watched:
        words.append(
            f"This looks {hours} ahead on {watched.normalize():f} h that were watched: "
            "that wear goes on evenly so far is assumed, not known."
        )
    return Forecast(
        rate, remaining, least, most, wanted, band, probability, outcome, wanted > watched, " ".join(words)
    )


def _percent(probability: float) -> str:
    if probability > 0.999:
        return "over 99.9 %"
    return "under 0.1 %" if probability < 0.001 else f"{100 * probability:.1f} %"


def _check(limit: Decimal, wanted: Decimal, confidence: Decimal) -> None:
    _finite(limit, wanted, confidence)
    if limit <= 0:
        raise ValueError("a limit of wear is above 0 mm")
    if wanted < 0:
        raise ValueError("hours wanted are not below 0")
    if not Decimal("0.5") < confidence < 1:
        raise ValueError("a confidence lies between 0.5 and 1")


def _finite(*values: Decimal) -> None:
    if not all(value.is_finite() for value in values):
        raise ValueError("a size, a time or an uncertainty is not a number")


# --- Student's t, in floats -----------------------------------------------------------------------------


def student_cdf(t: float, freedom: int) -> float:
    """Probability that Student's t lies below `t`, for a whole number of degrees of freedom from 1 up.

    Abramowitz and Stegun 26.7.3 and 26.7.4 (from memory): finite sums in the angle whose tangent is
    t / √freedom.
    """
    if freedom < 1:
        raise ValueError("Student's t needs one degree of freedom or more")
    angle = math.atan(t / math.sqrt(freedom))
    cosine, sine = math.cos(angle), math.sin(angle)
    odd = freedom % 2
    term, total = (cosine, 0.0) if odd else (1.0, 0.0)
    for k in range(1 + odd, freedom, 2):
        total += term
        term *= cosine * cosine * k / (k + 1)
    within = 2 / math.pi * (angle + sine * total) if odd else sine * total
    return min(max((1 + within) / 2, 0.0), 1.0)


def student_quantile(probability: float, freedom: int) -> float:
    """The t below which Student's t lies with a probability between 0.5 and 1, by halving an interval."""
    if not 0.5 < probability < 1:
        raise ValueError("a probability for Student's t lies between 0.5 and 1")
    low, high = 0.0, 1.0
    while student_cdf(high, freedom) < probability:
        low, high = high, 2 * high
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if student_cdf(middle, freedom) < probability else (low, middle)
    return high


# --- lives on record ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Weibull:
    """A Weibull distribution of lives: shape without unit, scale in the unit of the lives; floats."""

    shape: float
    scale: float

    def reliable_life(self, reliability: float) -> float:
        """The life that a share `reliability` of parts reaches: B10 is that of 0.90.

        scale · (-ln reliability)^(1 / shape), reliawiki.com. Raises ValueError unless between 0 and 1.
        """
        if not 0 < reliability < 1:
            raise ValueError("a reliability lies between 0 and 1")
        return float(self.scale * (-math.log(reliability)) ** (1 / self.shape))


def fit_weibull(failed: Sequence[Decimal], running: Sequence[Decimal] = ()) -> Weibull:
    """The most likely Weibull distribution of lives that ended, and of parts still running when last seen.

    For a shop's own record of one kind of part. Floats inside; W. Nelson, Applied Life Data Analysis, 1982,
    from memory. With fewer than some ten failures the shape is little more than a guess. Raises ValueError
    for a life of 0 or less, or unless two lives that ended differ.
    """
    _finite(*failed, *running)
    if any(life <= 0 for life in (*failed, *running)):
        raise ValueError("a life is above 0 hours")
    if len(set(failed)) < 2:
        raise ValueError("a Weibull distribution needs two different lives that ended")
    longest = max(*failed, *running)
    logs = [math.log(float(life / longest)) for life in (*failed, *running)]
    mean = math.fsum(logs[: len(failed)]) / len(failed)

    def excess(shape: float) -> float:
        """Rises with the shape and is 0 at the most likely one; logs are at most 0, so nothing overflows."""
        powers = [math.exp(shape * each) for each in logs]
        return (
            math.fsum(p * each for p, each in zip(powers, logs, strict=True)) / math.fsum(powers)
            - mean
            - 1 / shape
        )

    low, high = 1.0, 1.0
    while excess(low) > 0:
        low /= 2
    while excess(high) < 0:
        high *= 2
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if excess(middle) < 0 else (low, middle)
    total = math.fsum(math.exp(high * each) for each in logs)
    return Weibull(high, float(longest) * (total / len(failed)) ** (1 / high))
