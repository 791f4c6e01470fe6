"""Joints of an engine sheet against published press fits, and their figures worked out a second time."""

from __future__ import annotations

import math
from decimal import Decimal
from itertools import product
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.gauging import fits
from advisor.gauging.figures import CELSIUS, MEGAPASCAL, WorkFacts
from advisor.gauging.joints import housing, interference, joint_facts
from advisor.gauging.press import MATERIALS
from advisor.sheets.vocabulary import Metal
from advisor.sheets.work import LARGEST_FIT, Joint, PressFit
from tests.gauging.work_rig import figure

ELASTIC = {
    "grey iron": (100e3, 0.211, 11.4e-6),
    "steel": (207e3, 0.292, 11.5e-6),
    "aluminium 356": (72.4e3, 0.33, 21.5e-6),
    "bronze": (100e3, 0.34, 18.0e-6),
}
"""Modulus in MPa, Poisson's ratio, expansion in 1/K, typed in a second time."""


def joint(**more: str | dict[str, str]) -> Joint:
    written: dict[str, object] = {
        "diameter": "36 mm",
        "inner": "steel",
        "outer": "aluminium 356",
        "thinnest_wall": "7 mm",
    }
    return Joint.model_validate(written | more)


def wanted(least: str, most: str) -> dict[str, str]:
    return {"at_least": least, "at_most": most}


def shown(facts: WorkFacts, name: str) -> tuple[float, float]:
    """A figure in mm, MPa, °C or K."""
    found = figure(facts, name)
    scale = {"length": Decimal(1), "pressure": MEGAPASCAL}.get(found.quantity, CELSIUS)
    return float(found.low / scale), float(found.high / scale)


def test_a_joint_takes_the_metals_of_the_calculator() -> None:
    assert set(get_args(Metal)) == MATERIALS.keys()


def test_every_fit_that_may_be_written_is_in_the_table_and_always_tight() -> None:
    over, up_to = LARGEST_FIT
    assert over == fits.OVER
    for name, nominal in product(
        get_args(PressFit), ("3.001", "30", "30.001", "50", "80", "118", "250", "315")
    ):
        hole, _, shaft = name.partition("/")
        fit = fits.fit(Decimal(nominal), hole, shaft)
        assert fit.character == "interference"
    with pytest.raises(ValueError, match="outside it"):
        fits.fit(up_to + 1, "H7", "s6")


def test_pressures_of_a_published_fit() -> None:
    """40 mm H7/s6 in a hub of 80 mm, steel in steel: 34.9 and 114.5 MPa (Shigley, 8th ed., solution to 3-64;
    the hub's size is inferred from its answers)."""
    loose_end = joint(diameter="40 mm", outer="steel", thinnest_wall="20 mm", fit="H7/s6")
    facts = joint_facts(loose_end)
    assert shown(facts, "housing_bore") == (40.0, 40.025)
    assert shown(facts, "interference") == pytest.approx((0.018, 0.059))
    assert shown(facts, "pressure")[0] == pytest.approx(34.9, abs=0.05)
    # At the tight end the same hub has 114.5 MPa, and (80² + 40²) / (80² - 40²) times that around its hole.
    assert shown(facts, "hoop_outer")[1] == pytest.approx(114.5 * 5 / 3, abs=0.1)


def test_the_housing_for_a_seat_of_20_mm() -> None:
    """20 H7/s6: hole 20.000 to 20.021, interference 0.014 to 0.048 mm (Bhandari, example 3.2)."""
    facts = joint_facts(joint(diameter="20 mm", fit="H7/s6"))
    assert shown(facts, "housing_bore") == (20.0, 20.021)
    assert shown(facts, "interference") == pytest.approx((0.014, 0.048))


def test_a_steel_seat_in_an_aluminium_head() -> None:
    """Seat 36/30 with 0.080 mm in a ring of 50 mm, worked out by hand with the moduli above, no published
    source: the outer ring gives 3.4828 / 72 400, the seat 5.2535 / 207 000, so 0.08 / 36 over their sum is
    30.2 MPa, and 3796 / 1204 times that 95.3 MPa. To drop in with 0.05 mm to spare the head is warmed by
    0.13 / 36 / 21.5e-6 = 168 K."""
    facts = joint_facts(joint(bore="30 mm", play="0.05 mm", interference=wanted("0.08 mm", "0.08 mm")))
    assert shown(facts, "pressure")[0] == pytest.approx(30.24, abs=0.01)
    assert shown(facts, "hoop_outer")[1] == pytest.approx(95.34, abs=0.03)
    assert shown(facts, "heat_by")[0] == pytest.approx(168, abs=0.5)
    assert shown(facts, "heat_to")[0] == pytest.approx(188, abs=0.5)


SIZES = st.integers(10_000, 200_000)


@given(
    SIZES,
    st.integers(40, 95),
    st.integers(1_000, 20_000),
    st.integers(0, 60),
    st.integers(0, 60),
    st.sampled_from(sorted(ELASTIC)),
    st.sampled_from(sorted(ELASTIC)),
)
@settings(max_examples=60)
def test_every_figure_is_what_other_arithmetic_gives(
    outside: int, inside: int, wall: int, least: int, more: int, inner: str, outer: str
) -> None:
    """Stiffness of two rings by Lamé's constants, in floats, with nothing of the calculators."""
    d, bore = outside / 1000, outside / 1000 * inside / 100
    low, high = least / 1000, (least + more) / 1000
    facts = joint_facts(
        joint(
            diameter=f"{Decimal(outside) / 1000:f} mm",
            bore=f"{Decimal(outside) * inside / 100_000:f} mm",
            thinnest_wall=f"{Decimal(wall) / 1000:f} mm",
            inner=inner,
            outer=outer,
            interference=wanted(f"{Decimal(least) / 1000:f} mm", f"{Decimal(least + more) / 1000:f} mm"),
            play="0.040 mm",
        )
    )
    modulus_in, poisson_in, alpha_in = ELASTIC[inner]
    modulus_out, poisson_out, alpha_out = ELASTIC[outer]
    r, ri = d / 2, bore / 2

    def solve(by: float, ro: float) -> tuple[float, float, float]:
        ratio_out = 1.0 if math.isinf(ro) else (ro**2 + r**2) / (ro**2 - r**2)
        ratio_in = (r**2 + ri**2) / (r**2 - ri**2)
        soft = r * ((ratio_out + poisson_out) / modulus_out + (ratio_in - poisson_in) / modulus_in)
        p = by / 2 / soft
        return p, p * ratio_out, 2 * p * r**2 / (r**2 - ri**2) * bore / modulus_in

    thin = r + wall / 1000
    assert shown(facts, "housing_bore") == pytest.approx((d - high, d - low))
    assert shown(facts, "pressure") == pytest.approx(
        (solve(low, thin)[0], solve(high, math.inf)[0]), rel=1e-9
    )
    assert shown(facts, "hoop_outer") == pytest.approx(
        (solve(low, math.inf)[1], solve(high, thin)[1]), rel=1e-9
    )
    closes = solve(low, thin)[2], solve(high, math.inf)[2]
    assert shown(facts, "bore_closes") == pytest.approx(closes, rel=1e-9)
    assert shown(facts, "bore_after") == pytest.approx((bore - closes[1], bore - closes[0]), rel=1e-9)
    assert shown(facts, "heat_by")[0] == pytest.approx((high + 0.04) / d / alpha_out, rel=1e-9)
    assert alpha_in > 0


def test_a_chilled_inset_wants_less_heat() -> None:
    """Steel of 36 mm at -75 °C is 36 x 11.5e-6 x 95 = 0.0393 mm smaller, so the head wants that less."""
    warm = joint(play="0.03 mm", interference=wanted("0.05 mm", "0.08 mm"))
    cold = joint(play="0.03 mm", interference=wanted("0.05 mm", "0.08 mm"), chill_to="-75 °C")
    by_warm, by_cold = (shown(joint_facts(each), "heat_by")[0] for each in (warm, cold))
    assert by_warm == pytest.approx(0.11 / 36 / 21.5e-6, rel=1e-9)
    assert by_warm - by_cold == pytest.approx(11.5e-6 * 95 / 21.5e-6, rel=1e-9)


@pytest.mark.parametrize(("heat_to", "feasible"), [("163 °C", True), ("162 °C", False)])
def test_what_the_outer_part_may_have_of_heat_decides(heat_to: str, feasible: bool) -> None:
    """0.110 mm in 36 mm of aluminium want 142.1 K: 162.1 °C."""
    facts = joint_facts(joint(play="0.03 mm", interference=wanted("0.05 mm", "0.08 mm"), heat_to=heat_to))
    assert facts.feasible is feasible
    assert bool(facts.against) is not feasible


@pytest.mark.parametrize(("strength", "feasible"), [("96 MPa", True), ("60 MPa", None), ("25 MPa", False)])
def test_strength_is_held_against_both_bounds(strength: str, feasible: bool | None) -> None:
    """The ring above has 95.3 MPa at its thinnest wall; a wall without end has the pressure alone, 0.08 / 36
    over 1.33 / 72 400 + 5.2535 / 207 000 = 50.7 MPa."""
    facts = joint_facts(joint(bore="30 mm", interference=wanted("0.08 mm", "0.08 mm"), strength=strength))
    assert facts.feasible is feasible
    assert bool(facts.says) is (feasible is None)


def test_pressed_in_cold_has_no_heat() -> None:
    facts = joint_facts(joint(interference=wanted("0.02 mm", "0.04 mm")))
    assert {each.name for each in facts.figures} == {"housing_bore", "interference", "pressure", "hoop_outer"}
    assert facts.feasible is True


def test_cold_alone_is_offered_only_where_nothing_says_how_it_is_done() -> None:
    free = joint_facts(joint(play="0.01 mm", interference=wanted("0.02 mm", "0.03 mm")))
    assert shown(free, "chill_to")[0] == pytest.approx(20 - 0.04 / 36 / 11.5e-6, rel=1e-9)
    deep = joint_facts(joint(play="0.10 mm", interference=wanted("0.05 mm", "0.08 mm")))
    assert "chill_to" not in {each.name for each in deep.figures}


def test_a_finished_bore_must_be_left_to_cut() -> None:
    small = joint(bore="30 mm", finish="29.8 mm", interference=wanted("0.08 mm", "0.08 mm"))
    facts = joint_facts(small)
    assert facts.feasible is False
    assert shown(facts, "left_to_cut")[1] < 0


def test_the_bounds_of_a_joint_are_in_order() -> None:
    each = joint(fit="H7/p6", diameter="118 mm")
    assert housing(each)[0] < housing(each)[1]
    assert interference(each) == (Decimal("0.002"), Decimal("0.059"))
