"""Sizes at a temperature against a published determination and two independent propagations of error."""

from __future__ import annotations

from decimal import Decimal, localcontext
from typing import Any

import GTC  # type: ignore[import-untyped, unused-ignore]
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from advisor.gauging.budget import Budget, Component
from advisor.gauging.press import material
from advisor.gauging.thermal import (
    Expansion,
    Temperature,
    brought_to,
    clearance,
    expansion_from_sizes,
    expansion_of,
    read_by,
    size_at,
)

D = Decimal

IRON, STEEL, ALUMINIUM = (
    expansion_of(material(each)) for each in ("grey iron", "steel", "aluminium 356")
)  # fmt: skip


def size(
    value: str | Decimal, uncertainty: str | Decimal = "0", name: str = "size", cause: str = ""
) -> Budget:
    return Budget(name, D(value), "mm", (Component("gauge", D(uncertainty), cause=cause),))


def test_an_iron_bore_in_a_warm_shop() -> None:
    """Computed here: 86 mm at 35 °C reads 14.7 µm more than at 20 °C, by Callister's expansion."""
    warm = size_at(D(86), IRON.per_kelvin, D(35))
    assert round((warm - 86) * 1000, 1) == D("14.7")
    at_reference = brought_to(size(warm), Temperature(D(35)), IRON)
    assert abs(at_reference.value - 86) < D("1e-50")


def test_an_aluminium_piston_in_an_iron_bore() -> None:
    """Computed here, a check of sign: measured at 28 °C, there is 6.9 µm more clearance at 20 °C."""
    found = clearance(size("86.05"), size("86.00"), IRON, ALUMINIUM, Temperature(D(28)), Temperature(D(28)))
    assert D("6.9") < (found.value - D("0.05")) * 1000 < D("7.0")
    # And the other way round: running hot, the piston takes the clearance up.
    hot = clearance(
        size("86.05"), size("86.00"), IRON, ALUMINIUM, Temperature(D(20)), Temperature(D(20)),
        hole_to=Temperature(D(100)), shaft_to=Temperature(D(180)),
    )  # fmt: skip
    assert hot.value < 0


def test_expansion_from_two_sizes() -> None:
    """NIST TN 1900, example E13: 1.7266e-5 with u 1.76e-6 (suncal test_NIST6, where 0.05 with 3 degrees of
    freedom is a standard uncertainty); Monte Carlo 1.74e-6. Kelvins there, so 273.15 less here."""
    found = expansion_from_sizes(
        size("1.4999", "0.0001"),
        size("1.5021", "0.0002"),
        Temperature(D("288.15") - D("273.15"), D("0.02")),
        Temperature(D("373.10") - D("273.15"), D("0.05"), freedom=D(3)),
    )
    assert round(found.value * 10**5, 4) == D("1.7266")
    assert round(found.uncertainty * 10**6, 2) == D("1.76")
    assert found.unit == "1/K"


def test_a_tenth_either_way() -> None:
    """Half-width over √3 of the tabled value (GUM 4.3.7)."""
    assert abs(IRON.uncertainty - D("1.14e-6") / D(3).sqrt()) < D("1e-30")
    assert expansion_of(material("steel"), D(0)).uncertainty == 0


SIZES = st.decimals("1", "200", places=3)
SMALL = st.decimals("0.0001", "0.02", places=4)
CELSIUS = st.decimals("-30", "250", places=1)
KELVINS = st.decimals("0.1", "5", places=1)
PER_KELVIN = st.decimals("5", "30", places=1).map(lambda each: each.scaleb(-6))
EXPANSIONS = st.builds(
    lambda per, share: Expansion(per, per * share), PER_KELVIN, st.decimals("0.01", "0.1", places=2)
)
TEMPERATURES = st.builds(Temperature, CELSIUS, KELVINS)


@given(SIZES, PER_KELVIN, CELSIUS, CELSIUS)
def test_there_and_back(length: Decimal, per_kelvin: Decimal, one: Decimal, other: Decimal) -> None:
    moved = size_at(length, per_kelvin, one, other)
    assert abs(size_at(moved, per_kelvin, other, one) - length) < D("1e-50")
    assert (moved > length) == (one > other)
    # The plain rule, expansion times size times rise, differs by no more than the square of the small part.
    plain = length * (1 + per_kelvin * (one - other))
    assert abs(moved - plain) <= length * (per_kelvin * 400) ** 2


@given(
    SIZES, SIZES, SMALL, SMALL, SMALL, EXPANSIONS, EXPANSIONS, st.lists(TEMPERATURES, min_size=4, max_size=4)
)
def test_a_clearance_agrees_with_a_propagation_by_derivatives(
    bore: Decimal,
    pin: Decimal,
    u_bore: Decimal,
    u_pin: Decimal,
    u_shared: Decimal,
    outer: Expansion,
    inner: Expansion,
    at: list[Temperature],
) -> None:
    """Against uncertainties, which takes the derivatives itself, with a micrometer and a room shared."""
    micrometer = Component("micrometer", u_shared, cause="micrometer")
    room, hole_to, _, shaft_to = at
    room = Temperature(room.celsius, room.uncertainty, "room")
    found = clearance(
        size(bore, u_bore, "bore").plus([micrometer]), size(pin, u_pin, "pin").plus([micrometer]),
        outer, inner, room, room, hole_to=hole_to, shaft_to=shaft_to,
    )  # fmt: skip

    def variable(value: Decimal, uncertainty: Decimal) -> Any:
        return ufloat(float(value), float(uncertainty))

    shared, t0 = variable(D(0), u_shared), variable(room.celsius - 20, room.uncertainty)

    def grown(length: Decimal, u: Decimal, metal: Expansion, to: Temperature) -> Any:
        alpha = variable(metal.per_kelvin, metal.uncertainty)
        t1 = variable(to.celsius - 20, to.uncertainty)
        return (variable(length, u) + shared) * (1 + alpha * t1) / (1 + alpha * t0)

    theirs = grown(bore, u_bore, outer, hole_to) - grown(pin, u_pin, inner, shaft_to)
    assert float(found.value) == pytest.approx(theirs.nominal_value, rel=1e-9, abs=1e-9)
    assert float(found.uncertainty) == pytest.approx(theirs.std_dev, rel=1e-8)


@given(SIZES, SMALL, SMALL, EXPANSIONS, TEMPERATURES, CELSIUS, st.integers(1, 30), st.integers(1, 30))
def test_freedom_agrees_with_another_library(
    length: Decimal,
    u_length: Decimal,
    u_more: Decimal,
    metal: Expansion,
    measured: Temperature,
    to: Decimal,
    readings: int,
    temperatures: int,
) -> None:
    """Against GTC: degrees of freedom of the readings and of the temperature come through."""
    measured = Temperature(measured.celsius, measured.uncertainty, freedom=D(temperatures))
    taken = Budget(
        "size",
        length,
        "mm",
        (Component("readings", u_length, freedom=D(readings)), Component("gauge", u_more)),
    )
    found = brought_to(taken, measured, metal, Temperature(to))
    alpha = GTC.ureal(float(metal.per_kelvin), float(metal.uncertainty))
    l0 = GTC.ureal(float(length), float(u_length), readings) + GTC.ureal(0, float(u_more))
    t0 = GTC.ureal(float(measured.celsius) - 20, float(measured.uncertainty), temperatures)
    theirs = l0 * (1 + alpha * (float(to) - 20)) / (1 + alpha * t0)
    assert float(found.value) == pytest.approx(GTC.value(theirs), rel=1e-12)
    assert float(found.uncertainty) == pytest.approx(GTC.uncertainty(theirs), rel=1e-9)
    assert found.freedom is not None
    assert float(found.freedom) == pytest.approx(GTC.dof(theirs), rel=1e-7)


@given(
    SIZES,
    SIZES,
    SMALL,
    SMALL,
    st.lists(TEMPERATURES, min_size=2, max_size=2, unique_by=lambda each: each.celsius),
)
def test_an_expansion_agrees_with_a_propagation_by_derivatives(
    cold: Decimal, warm: Decimal, u_cold: Decimal, u_warm: Decimal, at: list[Temperature]
) -> None:
    found = expansion_from_sizes(size(cold, u_cold), size(warm, u_warm), *at)
    l0, l1 = ufloat(float(cold), float(u_cold)), ufloat(float(warm), float(u_warm))
    t0, t1 = (ufloat(float(each.celsius), float(each.uncertainty)) for each in at)
    theirs = (l1 - l0) / (l0 * (t1 - t0))
    assert float(found.value) == pytest.approx(theirs.nominal_value, rel=1e-9, abs=1e-12)
    assert float(found.uncertainty) == pytest.approx(theirs.std_dev, rel=1e-7)


@given(SIZES, EXPANSIONS, TEMPERATURES, TEMPERATURES)
def test_sensitivities_are_what_a_small_change_does(
    length: Decimal, metal: Expansion, measured: Temperature, to: Temperature
) -> None:
    """Sign and size of each, by a change in the 20th decimal."""
    found = brought_to(size(length, "0.002"), measured, metal, to)
    little = D("1e-20")
    with localcontext(prec=60):
        moved = (
            size_at(length + little, metal.per_kelvin, to.celsius, measured.celsius),
            size_at(length, metal.per_kelvin + little, to.celsius, measured.celsius),
            size_at(length, metal.per_kelvin, to.celsius, measured.celsius + little),
            size_at(length, metal.per_kelvin, to.celsius + little, measured.celsius),
        )
        for component, each in zip(found.components, moved, strict=True):
            slope = (each - found.value) / little
            assert abs(component.sensitivity - slope) < D("1e-12"), component.name


@given(SIZES, EXPANSIONS, TEMPERATURES)
def test_a_gauge_of_the_same_metal_and_as_warm_reads_the_size_at_20(
    length: Decimal, metal: Expansion, shop: Temperature
) -> None:
    """Both grow alike: neither the expansion nor the temperature of the shop matters any more."""
    one_bar = Expansion(metal.per_kelvin, metal.uncertainty, "bar")
    shop = Temperature(shop.celsius, shop.uncertainty, "shop")
    true = read_by(size(length), shop, one_bar)
    found = brought_to(true, shop, one_bar)
    assert abs(found.value - length) < D("1e-50")
    assert found.uncertainty < D("1e-50")
    assert (true.value > length) == (shop.celsius > 20)


def test_one_thermometer_counts_less_than_two() -> None:
    """Bore and piston of one metal: an error of one thermometer moves both alike and nearly cancels."""

    def found(cause: str) -> Decimal:
        at = Temperature(D(28), D(2), cause)
        return clearance(size("86.05"), size("86.00"), IRON, IRON, at, at).uncertainty

    assert found("shop thermometer") < found("")
    expected = D("0.05") * IRON.per_kelvin * 2
    only = clearance(
        size("86.05"), size("86.00"), Expansion(IRON.per_kelvin, D(0)), Expansion(IRON.per_kelvin, D(0)),
        Temperature(D(28), D(2), "shop"), Temperature(D(28), D(2), "shop"),
    )  # fmt: skip
    assert only.uncertainty == pytest.approx(expected, rel=D("0.001"))


def test_what_is_known_exactly_leaves_no_line() -> None:
    found = brought_to(size("86", "0.002"), Temperature(D(28)), IRON)
    assert [each.name for each in found.components] == ["gauge", "expansion of the part"]
    assert [each.unit for each in found.components] == ["", "1/K"]
    assert STEEL.per_kelvin < ALUMINIUM.per_kelvin


def test_impossible_input_is_refused() -> None:
    for wrong, says in (
        (lambda: Temperature(D(-300)), "no temperature of -300 °C"),
        (lambda: Temperature(D("NaN")), "no temperature of NaN °C"),
        (lambda: Temperature(D(20), D(-1)), "uncertainty of a temperature cannot be -1 K"),
        (lambda: Expansion(D(0), D(0)), "expansion must be above nothing"),
        (lambda: Expansion(D("11e-6"), D(-1)), "uncertainty of an expansion cannot be -1"),
        (lambda: expansion_of(material("steel"), D(-1)), "right within -1 of itself"),
        (lambda: size_at(D(-86), D("11e-6"), D(28)), "a size cannot be -86 mm"),
        (lambda: size_at(D(86), D("11e-6"), D(-274)), "no temperature of -274 °C"),
        (
            lambda: expansion_from_sizes(size("1"), size("2"), Temperature(D(20)), Temperature(D(20))),
            "two temperatures that are alike",
        ),
        (
            lambda: expansion_from_sizes(size("0"), size("2"), Temperature(D(20)), Temperature(D(30))),
            "size above nothing",
        ),
        (
            lambda: expansion_from_sizes(
                size("1"), Budget("bar", D(1), "in", ()), Temperature(D(20)), Temperature(D(30))
            ),
            "one unit is needed",
        ),
    ):
        with pytest.raises(ValueError, match=says):
            wrong()
