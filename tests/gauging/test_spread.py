"""The spread of an error against scipy: a rectangle, a normal, and the two together."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from advisor.gauging.measure import Measure, Part, Term, measure_of
from advisor.gauging.spread import coverage, deviate, share_of, tail
from advisor.gauging.standing import Confidence, standing

D = Decimal
SHARES = ["0", "0.1", "0.333333", "0.5", "0.9", "0.999", "1"]


def held(x: float, share: float) -> float:
    """The probability of an error below x, by integrating the normal part over the rectangle."""
    if share == 0:
        return float(stats.norm.cdf(x))
    half = math.sqrt(3 * share)
    if share == 1:
        return float(stats.uniform(-half, 2 * half).cdf(x))
    normal = stats.norm(scale=math.sqrt(1 - share))
    found, _ = integrate.quad(lambda at: normal.cdf(x - at) / (2 * half), -half, half, limit=200)
    return float(found)


@pytest.mark.parametrize("share", SHARES)
@pytest.mark.parametrize("probability", ["0.9", "0.95", "0.975", "0.99", "0.999"])
def test_a_deviate_holds_its_probability(share: str, probability: str) -> None:
    assert held(float(deviate(D(probability), D(share))), float(share)) == pytest.approx(
        float(probability), abs=2e-6
    )


@given(st.sampled_from(SHARES), st.integers(-400, 400))
def test_a_tail_is_what_is_not_held(share: str, hundredths: int) -> None:
    x = D(hundredths) / 100
    assert float(tail(x, D(share))) == pytest.approx(1 - held(float(x), float(share)), abs=1e-9)


def test_the_usual_factors() -> None:
    """GUM G.2.3 (number from memory): 1.65 for a rectangle and 1.96 for a normal spread, at 95 %."""
    assert coverage(D(1)) == D("1.645448")
    assert coverage(D(0)) == D("1.959964")
    assert D("1.65") < coverage(D("0.5")) < D("1.97")


@given(st.integers(1, 60), st.lists(st.integers(1, 60), max_size=6))
def test_nothing_is_told_beyond_what_the_readings_can_err(first: int, others: list[int]) -> None:
    """A few rectangles: what stands after ± is never more than their half-widths come to."""
    parts = tuple(Part(str(i), D(each) ** 2 / 3, D(each)) for i, each in enumerate([first, *others]))
    found = measure_of(D(0), [Term(parts, D(1))])
    wide = coverage(share_of(found)) * found.variance.sqrt()
    assert wide <= found.limit_of_error * D("1.0000001")


@given(st.integers(1, 3000), st.integers(1, 3000), st.integers(0, 3000), st.integers(0, 3000))
def test_a_worse_instrument_never_makes_it_surer(limit: int, off: int, rest: int, more: int) -> None:
    """Whatever shape the error has: a wider rectangle leaves no fewer outcomes."""

    def outcomes(half: int) -> frozenset[str]:
        parts = (Part("limit", D(half) ** 2 / 3, D(half)), Part("rest", D(rest) ** 2, D(0), freedom=5))
        return frozenset(standing(measure_of(D(off), [Term(parts, D(1))]), None, D(0), Confidence()))

    assert outcomes(limit) <= outcomes(limit + more)


def test_a_single_rectangle_that_keeps_its_limit_altogether_is_inside() -> None:
    """3 µm from the limit, and no reading errs by more than 2.9: by a normal spread, 0.999 were not had."""
    sure = Confidence(D("0.999"), D("0.001"))
    parts = (Part("limit", D("2.9") ** 2 / 3, D("2.9")),)
    found = measure_of(D(0), [Term(parts, D(1))])
    assert standing(found, None, D(3), sure) == {"inside"}
    assert standing(Measure(D(0), found.variance), None, D(3), sure) == {"inside", "above"}
