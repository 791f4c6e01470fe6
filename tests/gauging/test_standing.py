"""Standings against limits: published figures, the zones of a guarded limit, and what must never happen.

Sources, read at second hand and reproduced: Sandia National Laboratories, Suncal (the manual on false
accept risk, and its test_risk.py); a guide to compliance at pihin.eu, which cites EURACHEM/CITAC 2007.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from advisor.gauging.measure import Measure
from advisor.gauging.spread import deviate
from advisor.gauging.standing import (
    Confidence,
    probability_inside,
    probability_outside,
    standing,
)
from advisor.sheets.conditions import Outcome

D = Decimal
USUAL = Confidence()


def stands(
    value: str, u: str, low: str | None, high: str | None, sure: Confidence = USUAL
) -> frozenset[Outcome]:
    """The outcomes of a value with standard uncertainty u against a limit."""
    return standing(
        Measure(D(value), D(u) ** 2), None if low is None else D(low), None if high is None else D(high), sure
    )


@pytest.mark.parametrize(
    ("value", "u", "low", "high", "beyond"),
    [
        ("9.8", "0.1", "9", "10", "0.02275"),  # Suncal manual 6: upper 0.02275, lower 6e-16
        ("10", "0.4", "9", "11", "0.01242"),  # Suncal test_risk.py, test_cpk: 0.01242, each side 0.00621
    ],
)
def test_probability_of_lying_beyond_a_limit(value: str, u: str, low: str, high: str, beyond: str) -> None:
    """The published probability is where a size passes from certain to in doubt."""
    step = D("0.00001")
    within = 1 - D(beyond)
    assert stands(value, u, low, high, Confidence(within - step)) == {"inside"}
    assert "above" in stands(value, u, low, high, Confidence(within + step))


def test_probability_of_a_size_beyond_its_limit() -> None:
    """Suncal test_risk.py: mean 12, standard deviation 0.4, limits 9 and 11: P(out) 0.99379."""
    within = 1 - D("0.99379")
    assert stands("12", "0.4", "9", "11", Confidence(outside=within + D("0.00001"))) == {"above"}
    assert stands("12", "0.4", "9", "11", Confidence(outside=within - D("0.00001"))) == {"inside", "above"}


@pytest.mark.parametrize(("sure", "factor"), [("0.95", "1.645"), ("0.99", "2.33")])
def test_guard_band_factors(sure: str, factor: str) -> None:
    """pihin.eu/compliance, citing EURACHEM/CITAC 2007: 1.64(5) u for 95 %, 2.33 u for 99 %, one-sided."""
    assert abs(deviate(D(sure)) - D(factor)) < D("0.005")


@pytest.mark.parametrize(
    ("value", "u", "outcomes"),
    [
        ("86.040", "0.003", {"inside"}),
        ("86.0450", "0.003", {"inside"}),
        ("86.0451", "0.003", {"inside", "above"}),
        ("86.046", "0.003", {"inside", "above"}),
        ("86.046", "0.0024", {"inside"}),
        ("86.046", "0.0025", {"inside", "above"}),
        ("86.050", "0.003", {"inside", "above"}),
        ("86.050", "0.000001", {"inside", "above"}),
        ("86.053", "0.003", {"inside", "above"}),
        ("86.053", "0.0018", {"above"}),
        ("86.053", "0.0019", {"inside", "above"}),
        ("86.0549", "0.003", {"inside", "above"}),
        ("86.0550", "0.003", {"above"}),
        ("86.056", "0.003", {"above"}),
    ],
)
def test_three_zones_of_an_upper_limit(value: str, u: str, outcomes: set[str]) -> None:
    """Computed here: limit 86.050, 95 % for either answer, so 1.645 u on both sides of the limit."""
    assert stands(value, u, None, "86.050") == outcomes


def test_what_lies_exactly_on_an_edge_counts_as_settled() -> None:
    """One-sided normal deviate of 95 %: 1.644854, to six decimals."""
    assert stands("-1.644854", "1", None, "0") == {"inside"}
    assert stands("1.644854", "1", None, "0") == {"above"}
    assert stands("86.050", "0", None, "86.050") == {"inside"}


def test_a_tolerance_narrower_than_the_instrument_can_tell() -> None:
    """Computed here: 0.008 wide and u 0.003: dead centre only 0.8176 are inside; with u 0.0015, 0.9923."""
    assert stands("59.988", "0.003", "59.984", "59.992") == {"inside", "above", "below"}
    assert stands("59.988", "0.0015", "59.984", "59.992") == {"inside"}


def test_a_limit_with_its_own_margin_compares_the_value_alone() -> None:
    bare = Confidence(guarded=False)
    assert stands("86.050", "0.1", None, "86.050", bare) == {"inside"}
    assert stands("86.0501", "0.1", None, "86.050", bare) == {"above"}
    assert stands("85.9", "0.1", "86", None, bare) == {"below"}


VALUES = st.decimals("-10", "10", places=4)
SPREADS = st.decimals("0", "1", places=4)
ASIDE = st.decimals("0", "10", places=4)
SURE = st.builds(
    Confidence,
    st.decimals("0.51", "0.999", places=3),
    st.decimals("0.001", "0.49", places=3),
    st.booleans(),
)
Sides = tuple[Decimal | None, Decimal | None]


def sides(one: Decimal, other: Decimal, given: str) -> Sides:
    low, high = sorted((one, other))
    return low if "low" in given else None, high if "high" in given else None


LIMIT = st.builds(sides, VALUES, VALUES, st.sampled_from(["", "low", "high", "low and high"]))


def of(value: Decimal, u: Decimal, limit: Sides, sure: Confidence) -> frozenset[Outcome]:
    return standing(Measure(value, u * u), *limit, sure)


@given(VALUES, SPREADS, LIMIT, SURE)
def test_some_outcome_is_always_possible_and_only_one_that_the_limit_knows(
    value: Decimal, u: Decimal, limit: Sides, sure: Confidence
) -> None:
    found = of(value, u, limit, sure)
    known = {word for word, side in zip(("below", "above"), limit, strict=True) if side is not None}
    assert found
    assert found <= known | {"inside"}


@given(VALUES, SPREADS, LIMIT, SURE, VALUES)
def test_moving_value_and_limits_together_changes_nothing(
    value: Decimal, u: Decimal, limit: Sides, sure: Confidence, by: Decimal
) -> None:
    low, high = (None if side is None else side + by for side in limit)
    assert of(value + by, u, (low, high), sure) == of(value, u, limit, sure)


@given(VALUES, SPREADS, LIMIT, SURE)
def test_above_and_below_are_alike(value: Decimal, u: Decimal, limit: Sides, sure: Confidence) -> None:
    mirror = {"inside": "inside", "above": "below", "below": "above"}
    low, high = (None if side is None else -side for side in limit)
    assert {mirror[each] for each in of(value, u, limit, sure)} == of(-value, u, (high, low), sure)


@given(VALUES, SPREADS, LIMIT, SURE, SPREADS)
def test_a_better_instrument_only_narrows(
    value: Decimal, u: Decimal, limit: Sides, sure: Confidence, better: Decimal
) -> None:
    assert of(value, min(u, better), limit, sure) <= of(value, max(u, better), limit, sure)


@given(VALUES, SPREADS, VALUES, SURE, ASIDE)
def test_moving_away_on_the_safe_side_never_worsens(
    value: Decimal, u: Decimal, most: Decimal, sure: Confidence, by: Decimal
) -> None:
    nearer, further = of(value, u, (None, most), sure), of(value - by, u, (None, most), sure)
    assert "inside" in further or "inside" not in nearer
    assert "above" in nearer or "above" not in further


@given(VALUES, SPREADS, LIMIT, SURE, ASIDE)
def test_a_wider_limit_never_worsens(
    value: Decimal, u: Decimal, limit: Sides, sure: Confidence, by: Decimal
) -> None:
    low, high = limit
    wider = (None if low is None else low - by, None if high is None else high + by)
    assert "inside" in of(value, u, wider, sure) or "inside" not in of(value, u, limit, sure)
    assert of(value, u, wider, sure) <= of(value, u, limit, sure) | {"inside"}


# --- limits with two sides -------------------------------------------------------------------------------


@pytest.mark.parametrize(("u", "inside", "stands_as"), [
    ("0.003", "0.8176", {"inside", "above", "below"}),
    ("0.0015", "0.9923", {"inside"}),
])  # fmt: skip
def test_in_the_very_middle_of_a_narrow_tolerance(u: str, inside: str, stands_as: set[Outcome]) -> None:
    """Computed here: 59.988 between 59.984 and 59.992; each side by itself would pass 1.33 u as doubt, but
    with u = 0.0022 each passes (1.82 u) while both together lose 6.9 %."""
    measure = Measure(D("59.988"), D(u) ** 2)
    assert round(probability_inside(measure, D("59.984"), D("59.992")), 4) == D(inside)
    assert stands("59.988", u, "59.984", "59.992") == stands_as
    assert stands("59.988", "0.0022", "59.984", "59.992") == {"inside", "above", "below"}
    assert stands("59.988", "0.0022", "59.984", None) == {"inside"}
    assert stands("59.988", "0.0022", None, "59.992") == {"inside"}


@pytest.mark.parametrize(("value", "u", "low", "high", "outside"), [
    ("9.8", "0.1", "9", "10", "0.02275"),
    ("10", "0.4", "9", "11", "0.01242"),
    ("12", "0.4", "9", "11", "0.99379"),
])  # fmt: skip
def test_published_probabilities(value: str, u: str, low: str, high: str, outside: str) -> None:
    """Suncal, API manual 6 and test_risk.py (read at second hand, reproduced)."""
    lost = probability_outside(Measure(D(value), D(u) ** 2), D(low), D(high))
    assert abs(lost - D(outside)) < D("0.000005")


MARGINS = st.decimals("-8", "8", places=3)


@given(MARGINS, MARGINS, st.decimals("0.01", "5", places=2))
def test_tails_are_those_of_scipy(low: Decimal, high: Decimal, u: Decimal) -> None:
    lost = probability_outside(Measure(D(0), u * u), min(low, high), max(low, high))
    peer = norm.sf(float(max(low, high) / u)) + norm.cdf(float(min(low, high) / u))
    assert float(lost) == pytest.approx(peer, abs=1e-12, rel=1e-9)


@given(MARGINS, st.decimals("0.1", "6", places=2), st.decimals("0.01", "4", places=2), st.integers(1, 99))
def test_a_better_instrument_only_narrows_a_doubt(
    value: Decimal, half: Decimal, u: Decimal, better: int
) -> None:
    low, high = -half, half
    coarse = standing(Measure(value, u * u), low, high, USUAL)
    fine = standing(Measure(value, (u * better / 100) ** 2), low, high, USUAL)
    assert fine <= coarse


@given(MARGINS, st.decimals("0.1", "6", places=2), st.decimals("0.01", "4", places=2), st.integers(0, 99))
def test_nearer_the_middle_is_never_worse(value: Decimal, half: Decimal, u: Decimal, share: int) -> None:
    """And both sides are treated alike."""
    far = standing(Measure(value, u * u), -half, half, USUAL)
    near = standing(Measure(value * share / 100, u * u), -half, half, USUAL)
    assert ("inside" in near) or ("inside" not in far)
    assert near == {"inside"} or far != {"inside"}
    mirrored = standing(Measure(-value, u * u), -half, half, USUAL)
    swap: dict[Outcome, Outcome] = {"inside": "inside", "above": "below", "below": "above"}
    assert mirrored == {swap[each] for each in far}


@given(MARGINS, st.decimals("0.1", "6", places=2), st.decimals("0.01", "4", places=2))
def test_two_sides_against_the_probability_itself(value: Decimal, half: Decimal, u: Decimal) -> None:
    inside = norm.cdf(float((half - value) / u)) - norm.cdf(float((-half - value) / u))
    found = standing(Measure(value, u * u), -half, half, USUAL)
    if abs(inside - 0.95) > 1e-6:
        assert (found == {"inside"}) == (inside > 0.95)


@given(MARGINS, st.decimals("0.1", "6", places=2), st.decimals("0.01", "4", places=2))
def test_a_far_second_side_changes_nothing(value: Decimal, margin: Decimal, u: Decimal) -> None:
    one = standing(Measure(value, u * u), None, margin, USUAL)
    assert standing(Measure(value, u * u), D(-1000), margin, USUAL) == one
