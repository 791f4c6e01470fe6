"""Uncertainty budgets against published worked examples and two independent propagations of error."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import GTC  # type: ignore[import-untyped, unused-ignore]
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from advisor.gauging.budget import (
    Budget,
    Component,
    coverage_factor,
    normal,
    rectangular,
    repeated,
    resolution,
    triangular,
)

D = Decimal


def budget(*components: Component, value: str = "0", unit: str = "mm", name: str = "size") -> Budget:
    return Budget(name, D(value), unit, components)


def known(found: Decimal | None) -> float:
    assert found is not None
    return float(found)


END_GAUGE = budget(
    Component("standard", D(25), freedom=D(18)),
    Component("difference", D("9.7"), freedom=D("25.6")),
    # The mean difference of temperature and of expansion is nothing, and with it these two sensitivities.
    Component("temperature", D("0.41"), D(0)),
    Component("expansion of the standard", D("1.2e-6"), D(0)),
    Component("difference of expansion", D("0.58e-6"), D(-50_000_623) * D("-0.1"), D(50)),
    Component("difference of temperature", D("0.029"), D(-50_000_623) * D("11.5e-6"), D(2)),
    value="50000838",
    unit="nm",
)
"""JCGM 100 H.1, an end gauge of 50 mm: inputs partly as in the notebook GUM.H1 of the library suncal, partly
from memory."""


def test_the_end_gauge_of_the_guide() -> None:
    """Value, u 32 nm and effective freedom 16 as in suncal's test_GUMH1; four libraries give 31.71 and 16.66.

    The 93 nm for 99 % is from memory; with k(16) = 2.921 it comes to 92.6."""
    assert END_GAUGE.value == D(50_000_623) + 215
    assert round(END_GAUGE.uncertainty, 2) == D("31.71")
    assert round(known(END_GAUGE.freedom), 2) == 16.66
    stated = END_GAUGE.expanded(D("0.99"))
    assert round(stated.k, 3) == D("2.921")
    assert round(stated.uncertainty) == 93
    assert END_GAUGE.lines()[0].name == "standard"


def test_shapes_of_spread() -> None:
    """± 0.40 rectangular is 0.23 (a restatement of GUM 4.3.7); a step of 0.01 is 0.00289 (0.29 of it, GUM
    F.2.2.1 from memory, recomputed)."""
    assert round(rectangular("expansion of copper", D("0.40")).uncertainty, 4) == D("0.2309")
    assert round(resolution("display", D("0.01")).uncertainty, 5) == D("0.00289")
    assert normal("certificate", D("0.004"), D(2)).uncertainty == D("0.002")


@given(st.decimals("0.0001", "10", places=4))
def test_shapes_agree_with_each_other(width: Decimal) -> None:
    """Two rectangular spreads of half the width add up to a triangle; a step is ± half of itself."""
    half = width / 2
    both = budget(rectangular("a", half), rectangular("b", half))
    assert abs(both.uncertainty - triangular("t", width).uncertainty) < D("1e-50")
    assert resolution("r", width).uncertainty == pytest.approx(
        rectangular("r", half).uncertainty, rel=D("1e-50"), abs=D("1e-50")
    )


def test_a_difference_of_two_caliper_readings() -> None:
    """13.43 mm ± 0.15 at k = 3 from u 0.05 mm (a published worked exercise, which prints u for both together;
    0.04 and 0.03 give it)."""
    outer = budget(Component("caliper", D("0.04")), value="29.95", name="outer")
    inner = budget(Component("caliper", D("0.03")), value="16.52", name="inner")
    wall = Budget.difference(outer, inner)
    assert wall.value == D("13.43")
    assert wall.uncertainty * 3 == D("0.15")
    assert wall.name == "outer less inner"
    assert [each.name for each in wall.components] == ["outer: caliper", "inner: caliper"]


def test_effective_freedom_of_two_sources() -> None:
    """Readings 0.57 with 9 degrees of freedom and 0.25 known exactly: 12.8 (suncal test_DEGF)."""
    both = budget(Component("readings", D("0.57"), freedom=D(9)), Component("certificate", D("0.25")))
    assert round(known(both.freedom), 1) == 12.8
    assert round(both.expanded().k, 3) == D("2.179")  # 12 degrees: the fraction is cut off


def test_a_sum_of_four() -> None:
    """Four of standard uncertainty 1: 2.0, and ± 3.92 for 95 % (suncal test_montecarlo, JCGM 101 9.2).

    Of four rectangular ones, Monte Carlo says ± 3.88 there: a budget does not see the shape of the sum, and
    says a little too much, never too little."""
    normals = budget(*(normal(str(each), D(1)) for each in range(4)))
    assert normals.uncertainty == 2
    assert round(normals.expanded().uncertainty, 2) == D("3.92")
    flat = budget(*(rectangular(str(each), D(3).sqrt()) for each in range(4)))
    assert abs(flat.uncertainty - 2) < D("1e-25")  # the half-widths here have 28 digits
    assert D("3.88") < flat.expanded().uncertainty < D("3.88") * D("1.011")


def test_a_bore_gauge_set_with_the_micrometer_that_measured_the_shaft() -> None:
    """Computed here: 0.0038 and 0.0042 mm are 0.0057 apart; with 0.0029 of each from one cause, 0.0039."""

    def size(name: str, whole: str, shared: str, cause: str) -> Budget:
        own = (D(whole) ** 2 - D(shared) ** 2).sqrt()
        return budget(
            Component("micrometer", D(shared), cause=cause), Component("its own", own), name=name, value="86"
        )

    apart = Budget.difference(size("bore", "0.0038", "0.0029", ""), size("shaft", "0.0042", "0.0029", ""))
    assert round(apart.uncertainty, 4) == D("0.0057")
    shared = Budget.difference(
        size("bore", "0.0038", "0.0029", "the 75 to 100 micrometer"),
        size("shaft", "0.0042", "0.0029", "the 75 to 100 micrometer"),
        "clearance",
    )
    assert round(shared.uncertainty, 4) == D("0.0039")
    line = shared.lines()[-1]
    assert (line.name, line.contribution, line.share) == ("the 75 to 100 micrometer", D(0), D(0))
    assert [each.name for each in line.parts] == ["bore: micrometer", "shaft: micrometer"]


UNCERTAINTIES = st.decimals("0", "10", places=4)
SENSITIVITIES = st.decimals("-100", "100", places=3)
CAUSES = st.sampled_from(["", "", "micrometer", "thermometer", "setting ring"])
FREEDOM = {"micrometer": None, "thermometer": D(7), "setting ring": D("2.5")}


@st.composite
def components(draw: st.DrawFn) -> Component:
    cause = draw(CAUSES)
    freedom = FREEDOM[cause] if cause else draw(st.none() | st.decimals("1", "60", places=1))
    return Component(draw(st.sampled_from("abc")), draw(UNCERTAINTIES), draw(SENSITIVITIES), freedom, cause)


SETS = st.lists(components(), max_size=8)


def by_identity(parts: Iterable[Component], sources: dict[str, Any], quantity: Callable[..., Any]) -> Any:
    """The sum of errors in another library's quantities; a shared cause is one quantity in all its places."""
    total = quantity(1e-30, None)
    for each in parts:
        if each.cause:
            source = sources.setdefault(each.cause, quantity(1, each.freedom))
        else:
            source = quantity(1, each.freedom)
        total = total + float(each.contribution) * source
    return total


def scale_of(parts: Iterable[Component]) -> float:
    return 1e-9 + sum(abs(float(each.contribution)) for each in parts)


@given(SETS, SETS)
def test_combining_and_differences_agree_with_a_propagation_by_identity(
    first: list[Component], second: list[Component]
) -> None:
    a, b = budget(*first), budget(*second)
    sources: dict[str, Any] = {}
    x, y = (by_identity(each, sources, lambda u, _: ufloat(0, u)) for each in (first, second))
    for ours, theirs in ((a, x), (b, y), (Budget.difference(a, b), x - y)):
        assert abs(float(ours.uncertainty) - theirs.std_dev) <= 1e-7 * scale_of(first + second)


@given(SETS, SETS)
def test_effective_freedom_agrees_with_another_library(
    first: list[Component], second: list[Component]
) -> None:
    """Against GTC, which keeps degrees of freedom with each quantity and knows a shared one by identity."""

    def quantity(uncertainty: float, freedom: Decimal | None) -> Any:
        return GTC.ureal(0, uncertainty, float("inf") if freedom is None else float(freedom))

    shared: dict[str, Any] = {}
    x, y = (by_identity(each, shared, quantity) for each in (first, second))
    ours, theirs = Budget.difference(budget(*first), budget(*second)), x - y
    assert abs(float(ours.uncertainty) - GTC.uncertainty(theirs)) <= 1e-7 * scale_of(first + second)
    if float(ours.uncertainty) < 1e-6 * scale_of(first + second):
        return  # what is left of errors that cancel is rounding in binary, and its freedom means nothing
    if ours.freedom is None:
        assert GTC.dof(theirs) > 1e9
    elif ours.freedom < 10**9:
        assert float(ours.freedom) == pytest.approx(GTC.dof(theirs), rel=1e-6)


@given(SETS)
def test_variance_is_right_to_fifty_digits(parts: list[Component]) -> None:
    """Against exact fractions."""
    sums: dict[object, Fraction] = {}
    for index, each in enumerate(parts):
        key = each.cause or index
        sums[key] = sums.get(key, Fraction(0)) + Fraction(each.uncertainty) * Fraction(each.sensitivity)
    exact = sum((each * each for each in sums.values()), Fraction(0))
    ours = budget(*parts)
    assert abs(Fraction(ours.variance) - exact) <= exact / 10**50
    assert abs(Fraction(ours.uncertainty) ** 2 - exact) <= exact / 10**50


@given(UNCERTAINTIES, UNCERTAINTIES, st.decimals("0", "1", places=3))
def test_a_shared_part_is_a_correlation(one: Decimal, two: Decimal, share: Decimal) -> None:
    """u² = u1² + u2² - 2 r u1 u2 (GUM 5.2.2), where what is shared makes r u1 u2 = its square."""
    common = min(one, two) * share
    one_side, other_side = (
        budget(
            Component("common", common, cause="micrometer"),
            Component("own", (u * u - common * common).sqrt()),
        )
        for u in (one, two)
    )
    expected = one * one + two * two - 2 * common * common
    assert abs(Budget.difference(one_side, other_side).variance - expected) <= D("1e-24")


@given(SETS)
def test_lines_tell_the_whole(parts: list[Component]) -> None:
    whole = budget(*parts)
    lines = whole.lines()
    assert sorted(str(part) for line in lines for part in line.parts) == sorted(map(str, parts))
    contributions = [line.contribution for line in lines]
    assert contributions == sorted(contributions, reverse=True)
    assert abs(sum((line.share for line in lines), D(0)) - (1 if whole.variance else 0)) < D("1e-25")


@given(SETS, SETS)
def test_a_size_less_itself_is_certain_where_all_is_shared(
    first: list[Component], more: list[Component]
) -> None:
    shared = [each for each in first if each.cause]
    a = budget(*shared, value="86.012")
    assert Budget.difference(a, a).uncertainty == 0
    assert Budget.difference(a, a).value == 0
    # More independent sources never make a result more certain.
    loose = [each for each in more if not each.cause]
    assert a.plus(loose).uncertainty >= a.uncertainty
    assert a.scaled(D(-3)).variance == pytest.approx(9 * a.variance, rel=D("1e-25"))


@given(st.lists(st.decimals("85.990", "86.030", places=3), min_size=2, max_size=12))
def test_repeated_readings(readings: list[Decimal]) -> None:
    found = repeated("bore", readings)
    exact = statistics.variance([Fraction(each) for each in readings]) / len(readings)
    assert abs(Fraction(found.uncertainty) ** 2 - exact) <= exact / 10**50
    assert found.freedom == len(readings) - 1


def test_a_whole_freedom_is_not_cut_by_rounding() -> None:
    """u⁴ / (u⁴ / n) must come out as n, not as a hair less that is cut to n - 1."""
    for freedom in range(1, 120):
        single = budget(Component("readings", D(1) / 3, D("0.7"), D(freedom)))
        assert single.expanded().k == coverage_factor(D("0.95"), freedom)


@pytest.mark.parametrize(
    ("freedom", "k95", "k99"),
    [
        (1, "12.71", "63.66"), (2, "4.30", "9.92"), (5, "2.57", "4.03"), (10, "2.23", "3.17"),
        (16, "2.12", "2.92"), (50, "2.01", "2.68"), (100, "1.984", "2.626"), (None, "1.960", "2.576"),
    ],
)  # fmt: skip
def test_coverage_factors_as_tabled(freedom: int | None, k95: str, k99: str) -> None:
    """Student's t as in table G.2 of the guide; from memory."""
    for probability, tabled in (("0.95", k95), ("0.99", k99)):
        places = -int(D(tabled).as_tuple().exponent)
        assert round(coverage_factor(D(probability), freedom), places) == D(tabled)


@given(st.integers(1, 2000), st.decimals("0.5", "0.9999", places=4))
def test_coverage_factors_agree_with_another_library(freedom: int, probability: Decimal) -> None:
    theirs = GTC.reporting.k_factor(freedom, float(probability) * 100)
    assert float(coverage_factor(probability, freedom)) == pytest.approx(theirs, rel=1e-7, abs=1.5e-6)


@pytest.mark.parametrize("probability", ["0.9", "0.9999"])
def test_coverage_factors_agree_where_the_method_changes(probability: str) -> None:
    """Against GTC at every freedom up to well past 200, far out where an expansion is at its worst."""
    for freedom in range(1, 240):
        theirs = GTC.reporting.k_factor(freedom, float(probability) * 100)
        assert float(coverage_factor(D(probability), freedom)) == pytest.approx(theirs, rel=1e-7, abs=1e-6)


def test_nothing_uncertain_is_certain() -> None:
    sure = budget(value="86")
    assert sure.uncertainty == 0
    assert sure.freedom is None
    assert not sure.lines()
    assert sure.expanded().uncertainty == 0


def test_impossible_input_is_refused() -> None:
    for made in (
        lambda: Component("gauge", D(-1)),
        lambda: Component("gauge", D("NaN")),
        lambda: Component("gauge", D(1), D("Infinity")),
        lambda: Component("gauge", D(1), freedom=D("0.5")),
        lambda: rectangular("gauge", D(-1)),
        lambda: resolution("gauge", D("NaN")),
        lambda: normal("gauge", D(1), D(0)),
        lambda: repeated("gauge", [D(1)]),
        lambda: budget(value="NaN", name="gauge"),
    ):
        with pytest.raises(ValueError, match=r"^gauge: "):
            made()
    with pytest.raises(ValueError, match="in mm and shaft in in; a difference needs one unit"):
        Budget.difference(budget(), budget(unit="in", name="shaft"))
    for probability in ("0", "-1", "0.99999", "1", "NaN"):
        with pytest.raises(ValueError, match="coverage probability"):
            coverage_factor(D(probability))
    with pytest.raises(ValueError, match="1 or more, not 0"):
        coverage_factor(D("0.95"), 0)
    unlike = budget(
        Component("a", D(1), freedom=D(3), cause="ring"), Component("b", D(1), freedom=D(4), cause="ring")
    )
    with pytest.raises(ValueError, match="ring: one cause has one number of degrees of freedom"):
        unlike.expanded()
