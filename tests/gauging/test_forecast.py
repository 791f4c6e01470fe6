"""Forecasts of wear: certified and published figures, scipy as an oracle, and Monte Carlo."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from advisor.gauging.forecast import (
    Forecast,
    Reading,
    Weibull,
    by_line,
    by_rates,
    fit_line,
    fit_weibull,
    since_new,
    student_cdf,
    student_quantile,
)

D = Decimal


def found(hours: str, wear: str, u: str, u_hours: str = "0") -> Reading:
    return Reading(D(hours), D(wear), D(u), D(u_hours))


WORN = found("3000", "0.030", "0.004")


# --- from one reading -----------------------------------------------------------------------------------


def test_a_worked_case() -> None:
    """Computed here: 0.030 ± 0.004 mm in 3000 h, limit 0.050 mm: 2000 h, but 1100 h at 5 %."""
    forecast = since_new(WORN, D("0.050"), D(1000))
    assert forecast.rate == D("0.00001")
    assert forecast.remaining == 2000
    assert forecast.least == pytest.approx(D(1100), abs=D(1))
    # By hand: (60 - 0.03 R) = -1.644854 × 0.004 (3000 + R).
    assert forecast.most == pytest.approx(D("3404.6"), abs=D("0.1"))
    assert forecast.outcome == "lasts"
    assert forecast.look_again == 1000
    assert forecast.words == (
        "Lasts: 1000 h more with a probability of 97.0 %. At this rate the limit is met in about 2000 h; "
        "not before 1100 h, not after 3500 h (95 % each)."
    )


@pytest.mark.parametrize(
    ("wanted", "outcome"), [("1100", "lasts"), ("1101", "cannot be told"), ("3404", "cannot be told"),
                            ("3405", "does not last")],
)  # fmt: skip
def test_three_outcomes(wanted: str, outcome: str) -> None:
    assert since_new(WORN, D("0.050"), D(wanted)).outcome == outcome


def test_a_rate_that_is_published() -> None:
    """Inspection sheet after API 570 (scribd.com/document/387358665): 7.8 to 3.24 mm in 15 years, 0.304 mm/y.

    Its remaining life of 8.441 years above 0.37 mm is wrong: it divides by 0.34 instead of its own 0.304,
    which gives 9.44. Years stand for hours here.
    """
    wear, limit = D("7.8") - D("3.24"), D("7.8") - D("0.37")
    forecast = since_new(Reading(D(15), wear, D("0.1")), limit, D(5))
    assert forecast.rate == D("0.304")
    assert forecast.remaining is not None
    assert round(forecast.remaining, 2) == D("9.44")


def test_a_long_look_ahead_says_so_and_its_band_widens() -> None:
    near, far = (since_new(WORN, D("0.050"), D(hours)) for hours in (3000, 3001))
    assert not near.beyond_observed
    assert far.beyond_observed
    assert "ahead on 3000 h that were watched" in far.words
    widths = [
        band.high - band.low
        for band in (since_new(WORN, D(1), D(hours)).wear_then for hours in (0, 1000, 3000, 9000))
    ]
    assert widths == sorted(widths)
    assert widths[3] == pytest.approx(4 * widths[0], rel=D("1e-9"))


def test_no_wear_still_sets_a_least_life_and_no_end() -> None:
    """By hand: 3000 × 0.05 = 1.644854 × 0.004 (3000 + R)."""
    for wear in ("0", "-0.002"):
        forecast = since_new(found("3000", wear, "0.004"), D("0.050"), D(1000))
        assert forecast.rate == 0
        assert forecast.remaining is forecast.most is None
        assert forecast.look_again == forecast.least
        assert "No growth of wear shows" in forecast.words
        assert "no end can be told" in forecast.words
    assert since_new(found("3000", "0", "0.004"), D("0.050"), D(1000)).least == pytest.approx(
        D(3000) * D("0.05") / (D("1.6448536") * D("0.004")) - 3000, rel=D("1e-6")
    )


def test_a_limit_that_is_passed() -> None:
    forecast = since_new(found("3000", "0.060", "0.004"), D("0.050"), D(10))
    assert forecast.outcome == "does not last"
    assert forecast.remaining == forecast.least == forecast.most == forecast.look_again == 0
    assert "met already" in forecast.words
    # More hours never make it likelier that it lasts, though the band grows wider than the excess.
    hardly = found("100", "0.051", "0.004")
    chances = [since_new(hardly, D("0.050"), D(hours)).probability for hours in (0, 100, 1000, 10000)]
    assert chances == sorted(chances, reverse=True)


@given(
    st.integers(5, 60), st.integers(1, 12), st.integers(0, 10), st.integers(0, 200), st.integers(1, 90),
    st.integers(0, 6000), st.integers(0, 2**32 - 1),
)  # fmt: skip
@settings(max_examples=40)
def test_probability_against_monte_carlo(
    wear: int, u: int, u_new: int, u_hours: int, margin: int, wanted: int, seed: int
) -> None:
    """Draws of the new size, the size now and the hours: how often the limit lies beyond the hours wanted."""
    count, hours = 40_000, 3000
    draw = np.random.default_rng(seed)
    now = draw.normal(wear, u, count)
    new = draw.normal(0, u_new, count)
    watched = draw.normal(hours, u_hours, count)
    rate = (now - new) / watched
    lasting = float(np.mean(now + rate * wanted <= wear + margin))
    reading = Reading(D(hours), D(wear) / 1000, D(u) / 1000, D(u_hours))
    forecast = since_new(reading, D(wear + margin) / 1000, D(wanted), D(u_new) / 1000)
    # Four standard errors, and a hundredth for the product of hours and wear, which is not quite normal.
    slack = 4 * math.sqrt(max(lasting * (1 - lasting), 1e-4) / count) + 0.01
    assert forecast.probability == pytest.approx(lasting, abs=slack)


READINGS = st.builds(
    Reading,
    st.integers(100, 9000).map(D),
    st.integers(-5, 80).map(lambda each: D(each).scaleb(-3)),
    st.integers(1, 20).map(lambda each: D(each).scaleb(-3)),
    st.integers(0, 300).map(D),
)
LIMIT = st.integers(1, 100).map(lambda each: D(each).scaleb(-3))
HOURS = st.integers(0, 20000).map(D)
U_NEW = st.integers(0, 15).map(lambda each: D(each).scaleb(-3))


def held_together(forecast: Forecast, confidence: Decimal) -> None:
    """Bounds, probability and outcome say one thing."""
    assert forecast.least >= 0
    if forecast.remaining is not None:
        assert forecast.least <= forecast.remaining
        assert forecast.most is None or forecast.remaining <= forecast.most
        assert forecast.look_again <= forecast.remaining
    sure = float(confidence)
    if abs(forecast.probability - sure) > 1e-9:
        assert (forecast.outcome == "lasts") == (forecast.probability > sure)
    if abs(forecast.probability - (1 - sure)) > 1e-9:
        assert (forecast.outcome == "does not last") == (forecast.probability < 1 - sure)
    if forecast.outcome == "lasts":
        assert forecast.wanted <= forecast.least + D("1e-6")
    elif forecast.wanted > 0:
        assert forecast.wanted >= forecast.least - D("1e-6")
    if forecast.outcome == "does not last":
        assert forecast.most is not None
        assert forecast.wanted >= forecast.most - D("1e-6")
    elif forecast.most is not None:
        assert forecast.wanted <= forecast.most + D("1e-6")
    assert forecast.wear_then.low <= forecast.wear_then.point <= forecast.wear_then.high


@given(READINGS, LIMIT, HOURS, U_NEW, st.sampled_from(["0.8", "0.95", "0.99"]))
def test_bounds_and_outcome_agree(
    reading: Reading, limit: Decimal, wanted: Decimal, u_new: Decimal, sure: str
) -> None:
    held_together(since_new(reading, limit, wanted, u_new, D(sure)), D(sure))


@given(READINGS, LIMIT, HOURS, U_NEW)
def test_bounds_are_fiellers(reading: Reading, limit: Decimal, wanted: Decimal, u_new: Decimal) -> None:
    """At a bound, hours times margin less R times wear is one deviate from 0; its variance by moments."""
    worn = replace(reading, wear=max(reading.wear, D(0)))
    forecast = since_new(worn, limit, wanted, u_new)
    z = NormalDist().inv_cdf(0.95)
    hours, wear, margin = float(worn.hours), float(worn.wear), float(limit - worn.wear)
    u_hours, u, u_then = float(worn.u_hours), float(worn.u), float(u_new)
    product = (hours**2 + u_hours**2) * (margin**2 + u**2) - (hours * margin) ** 2
    for bound in (forecast.least, forecast.most):
        if not bound:
            continue
        r = float(bound)
        variance = product + r * r * (u * u + u_then * u_then) + 2 * r * hours * u * u
        assert (hours * margin - r * wear) ** 2 == pytest.approx(z * z * variance, rel=1e-9)


def test_a_wide_band_calls_for_an_early_look() -> None:
    doubtful = since_new(found("3000", "0.030", "0.008"), D("0.050"), D(100))
    assert doubtful.remaining == 2000
    assert doubtful.look_again == doubtful.least < 1000


@given(READINGS, LIMIT, HOURS, U_NEW, st.integers(1, 1000).map(D))
def test_more_hours_less_limit_or_more_doubt_never_help(
    reading: Reading, limit: Decimal, wanted: Decimal, u_new: Decimal, more: Decimal
) -> None:
    base = since_new(reading, limit, wanted, u_new)
    assert since_new(reading, limit, wanted + more, u_new).probability <= base.probability + 1e-12
    assert since_new(reading, limit + more / 10000, wanted, u_new).least >= base.least
    assert since_new(reading, limit, wanted, u_new + more / 10000).least <= base.least
    assert since_new(replace(reading, u=reading.u + more / 10000), limit, wanted, u_new).least <= base.least


# --- by two rates ---------------------------------------------------------------------------------------


def test_the_greater_rate_governs() -> None:
    """API 570's rule for piping, after a digest at weldfabworld.com: the greater of the two rates."""
    faster = [found("0", "0", "0.002"), found("2000", "0.010", "0.002"), found("3000", "0.030", "0.002")]
    both = by_rates(faster, D("0.050"), D(500))
    assert (both.short.rate, both.long.rate) == (D("0.00002"), D("0.00001"))
    assert both.governs is both.short
    assert both.governs.remaining == 1000
    slower = [found("0", "0", "0.002"), found("2000", "0.025", "0.002"), found("3000", "0.030", "0.002")]
    both = by_rates(list(reversed(slower)), D("0.050"), D(500))
    assert both.governs is both.long
    assert both.governs.remaining == 2000
    assert both.governs.look_again <= 1000


@given(READINGS, LIMIT, HOURS, U_NEW)
def test_a_new_part_that_was_measured_is_a_reading_at_no_hours(
    reading: Reading, limit: Decimal, wanted: Decimal, u_new: Decimal
) -> None:
    both = by_rates([Reading(D(0), D(0), u_new), reading], limit, wanted)
    assert both.short == both.long == since_new(reading, limit, wanted, u_new)


# --- by a line ------------------------------------------------------------------------------------------

NORRIS = [
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1),
    (666.3, 668.5), (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3),
    (0.6, 0.1), (775.5, 778.1), (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8),
    (556.0, 557.7), (228.1, 228.3), (995.8, 998.0), (887.6, 888.8), (120.2, 119.6), (0.3, 0.3),
    (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0), (999.0, 998.5), (779.0, 778.9),
    (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2), (0.5, 0.2),
]  # fmt: skip


def test_a_line_to_every_certified_digit() -> None:
    """NIST StRD, Norris: itl.nist.gov/div898/strd/lls/data/Norris.shtml, read in scipy's own tests."""
    line = fit_line([(D(repr(x)), D(repr(y))) for x, y in NORRIS])
    assert line.count == 36
    assert float(line.slope) == pytest.approx(1.00211681802045, rel=1e-14)
    assert float(line.u_slope) == pytest.approx(0.429796848199937e-3, rel=1e-14)
    assert float(line.intercept) == pytest.approx(-0.262323073774029, rel=1e-14)
    assert float(line.u_intercept) == pytest.approx(0.232818234301152, rel=1e-14)
    assert float(line.scatter) == pytest.approx(0.884796396144373, rel=1e-14)


LINES = st.lists(
    st.builds(
        Reading,
        st.integers(0, 90).map(lambda each: D(each) * 100),
        st.integers(0, 60).map(lambda each: D(each).scaleb(-3)),
        st.integers(1, 5).map(lambda each: D(each).scaleb(-3)),
    ),
    min_size=3,
    max_size=12,
    unique_by=lambda reading: reading.hours,
)


@given(LINES)
def test_a_line_against_scipy(readings: list[Reading]) -> None:
    line = fit_line([(reading.hours, reading.wear) for reading in readings])
    other = stats.linregress(
        [float(each.hours) for each in readings], [float(each.wear) for each in readings]
    )
    assert float(line.slope) == pytest.approx(float(other.slope), abs=1e-12)
    assert float(line.intercept) == pytest.approx(float(other.intercept), abs=1e-9)
    assert float(line.u_slope) == pytest.approx(float(other.stderr), abs=1e-9)
    assert float(line.u_intercept) == pytest.approx(float(other.intercept_stderr), abs=1e-7)


@given(LINES, LIMIT, HOURS, st.sampled_from(["0.8", "0.95", "0.99"]))
def test_a_line_holds_together_and_its_bounds_are_the_prediction_interval(
    readings: list[Reading], limit: Decimal, wanted: Decimal, sure: str
) -> None:
    forecast = by_line(readings, limit, wanted, D(sure))
    held_together(forecast, D(sure))
    x = np.array([float(each.hours) for each in readings])
    y = np.array([float(each.wear) for each in readings])
    slope = max(float(stats.linregress(x, y).slope), 0.0)
    scatter = math.sqrt(float(np.sum((y - np.poly1d(np.polyfit(x, y, 1))(x)) ** 2)) / (len(x) - 2))
    scatter = max(scatter, *(float(each.u) for each in readings))
    deviate = float(stats.t.ppf(float(sure), len(x) - 2))

    def half(hours: float) -> float:
        away = (hours - x.mean()) ** 2 / float(np.sum((x - x.mean()) ** 2))
        return deviate * scatter * math.sqrt(1 + 1 / len(x) + away)

    def level(hours: float) -> float:
        return float(y.mean()) + slope * (hours - float(x.mean()))

    then = float(x.max()) + float(wanted)
    assert float(forecast.wear_then.point) == pytest.approx(level(then), abs=1e-8)
    assert float(forecast.wear_then.high) == pytest.approx(level(then) + half(then), rel=1e-6)
    if forecast.least > 0:
        met = float(x.max()) + float(forecast.least)
        assert level(met) + half(met) == pytest.approx(float(limit), rel=1e-6)
    if forecast.most:
        met = float(x.max()) + float(forecast.most)
        assert level(met) - half(met) == pytest.approx(float(limit), rel=1e-6)


def test_readings_on_a_line_by_luck_keep_their_uncertainty() -> None:
    lucky = [
        found("1000", "0.010", "0.004"),
        found("2000", "0.020", "0.004"),
        found("3000", "0.030", "0.004"),
    ]
    forecast = by_line(lucky, D("0.050"), D(100))
    assert forecast.remaining == 2000
    assert forecast.least == 0  # t for one degree of freedom is 6.3
    assert forecast.outcome == "cannot be told"


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=3)
def test_a_further_reading_falls_below_the_bound_as_often_as_said(seed: int) -> None:
    draw = np.random.default_rng(seed)
    times = [500, 1000, 2000, 2500, 3000]
    below = 0
    for _ in range(600):
        wear = [0.00001 * time + float(draw.normal(0, 0.003)) for time in times]
        readings = [
            Reading(D(time), D(repr(each)), D("0.0001")) for time, each in zip(times, wear, strict=True)
        ]
        high = by_line(readings, D(1), D(1500)).wear_then.high
        below += 0.045 + float(draw.normal(0, 0.003)) <= float(high)
    assert below / 600 == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / 600))


# --- Student's t ----------------------------------------------------------------------------------------


@given(st.floats(-60, 60), st.integers(1, 60))
def test_student_against_scipy(t: float, freedom: int) -> None:
    assert student_cdf(t, freedom) == pytest.approx(float(stats.t.cdf(t, freedom)), abs=1e-13)


@given(st.floats(0.51, 0.9999), st.integers(1, 60))
def test_student_quantiles_against_scipy(probability: float, freedom: int) -> None:
    assert student_quantile(probability, freedom) == pytest.approx(
        float(stats.t.ppf(probability, freedom)), rel=1e-9
    )


# --- lives on record ------------------------------------------------------------------------------------

FAN_FAILED = [450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750]
FAN_RUNNING = {
    460: 1, 1560: 1, 1660: 1, 1850: 5, 2030: 3, 2200: 1, 3000: 4, 3200: 1, 3750: 2, 4150: 4, 4300: 4,
    4850: 4, 5000: 3, 6100: 3, 6300: 1, 6450: 2, 6700: 1, 7450: 1, 7800: 2, 8100: 2, 8200: 1, 8500: 3,
    8750: 2, 9400: 1, 9900: 1, 10100: 3, 11500: 1,
}  # fmt: skip


def test_lives_of_fans_most_still_running() -> None:
    """W. Nelson, Applied Life Data Analysis (1982) p. 318, as in SAS/QC's example of PROC RELIABILITY.

    Seventy fans, twelve failed; in thousands of hours shape 1.0584, scale 26.2968 and B10 3.137, from
    memory and reproduced by scipy.
    """
    running = [hours for hours, count in FAN_RUNNING.items() for _ in range(count)]
    assert (len(FAN_FAILED), len(running)) == (12, 58)
    fit = fit_weibull([D(each) / 1000 for each in FAN_FAILED], [D(each) / 1000 for each in running])
    assert fit.shape == pytest.approx(1.0584, abs=5e-5)
    assert fit.scale == pytest.approx(26.2968, abs=5e-5)
    assert fit.reliable_life(0.90) == pytest.approx(3.137, abs=5e-4)


def test_the_life_that_a_share_reaches() -> None:
    """reliawiki.com, reliable life; figures computed here for shape 2, scale 1000: B10 324.59, B50 832.55."""
    assert Weibull(2, 1000).reliable_life(0.90) == pytest.approx(324.59, abs=0.005)
    assert Weibull(2, 1000).reliable_life(0.50) == pytest.approx(832.55, abs=0.005)


def test_six_lives() -> None:
    """A common example, from memory and reproduced by scipy: shape 1.933, scale 73.526 h."""
    fit = fit_weibull([D(each) for each in (16, 34, 53, 75, 93, 120)])
    assert fit.shape == pytest.approx(1.933, abs=5e-4)
    assert fit.scale == pytest.approx(73.526, abs=5e-4)


@given(
    st.lists(st.integers(50, 9000), min_size=3, max_size=12, unique=True),
    st.lists(st.integers(50, 9000), max_size=12),
)
@settings(max_examples=25)
def test_weibull_is_the_most_likely_by_scipys_density(failed: list[int], running: list[int]) -> None:
    fit = fit_weibull([D(each) for each in failed], [D(each) for each in running])

    def likelihood(shape: float, scale: float) -> float:
        ended = stats.weibull_min.logpdf(np.array(failed, dtype=float), shape, scale=scale)
        going = stats.weibull_min.logsf(np.array(running, dtype=float), shape, scale=scale)
        return float(np.sum(ended) + np.sum(going))

    best = likelihood(fit.shape, fit.scale)
    for a in (0.98, 1.0, 1.02):
        for b in (0.98, 1.0, 1.02):
            assert likelihood(fit.shape * a, fit.scale * b) <= best + 1e-9


# --- impossible input -----------------------------------------------------------------------------------


def test_impossible_readings_and_wishes() -> None:
    with pytest.raises(ValueError, match="not below 0"):
        found("-1", "0.01", "0.001")
    with pytest.raises(ValueError, match="not a number"):
        found("1", "NaN", "0.001")
    with pytest.raises(ValueError, match="hours since new"):
        since_new(found("0", "0.01", "0.001"), D(1), D(1))
    with pytest.raises(ValueError, match="needs an uncertainty"):
        since_new(found("10", "0.01", "0"), D(1), D(1))
    with pytest.raises(ValueError, match="uncertainty is not below 0"):
        since_new(WORN, D(1), D(1), D(-1))
    with pytest.raises(ValueError, match="limit of wear"):
        since_new(WORN, D(0), D(1))
    with pytest.raises(ValueError, match="hours wanted"):
        since_new(WORN, D(1), D(-1))
    for sure in ("0.5", "1"):
        with pytest.raises(ValueError, match=r"between 0\.5 and 1"):
            since_new(WORN, D(1), D(1), confidence=D(sure))


def test_impossible_series() -> None:
    with pytest.raises(ValueError, match="two running times"):
        by_rates([WORN], D(1), D(1))
    with pytest.raises(ValueError, match="same hours"):
        by_rates([WORN, WORN], D(1), D(1))
    with pytest.raises(ValueError, match="three readings"):
        by_line([WORN, found("1", "0", "0.1")], D(1), D(1))
    with pytest.raises(ValueError, match="same hours"):
        by_line([WORN, WORN, WORN], D(1), D(1))
    with pytest.raises(ValueError, match="without scatter"):
        by_line([found(hours, "0.01", "0") for hours in ("1", "2", "3")], D(1), D(1))


def test_impossible_lives() -> None:
    with pytest.raises(ValueError, match="above 0 hours"):
        fit_weibull([D(1), D(0)])
    with pytest.raises(ValueError, match="two different lives"):
        fit_weibull([D(1), D(1)], [D(3)])
    with pytest.raises(ValueError, match="between 0 and 1"):
        Weibull(1, 1).reliable_life(1)
    with pytest.raises(ValueError, match="one degree"):
        student_cdf(0, 0)
    with pytest.raises(ValueError, match=r"between 0\.5 and 1"):
        student_quantile(0.4, 3)
