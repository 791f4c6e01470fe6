"""Every unit's size against Pint's own definitions, worked out in fractions so that nothing rounds."""

import functools
import re
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pint
import pytest

from advisor.units import DIMENSIONS, UNITS, Unit, read_quantity
from advisor.units.table import AMBIGUOUS, INEXACT, PLAIN, SPELLINGS, _rows, plain_spelling

BASE_IN_PINT = {
    "length": "millimeter",
    "pressure": "newton / inch ** 2",
    "torque": "newton * meter",
    "force": "newton",
    "mass": "gram",
    "time": "second",
    "angle": "arcsecond",
    "volume": "millimeter ** 3",
    "share": "percent",
    "rotational_speed": "revolutions_per_minute",
    "count": "count",
}
HARDNESS = {"hardness_hrc", "hardness_hb", "hardness_hv"}
OWN_SCALE = {"temperature", "temperature_difference", "slope", *HARDNESS}


@functools.cache
def fractions() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry(non_int_type=Fraction)


def units(*dimensions: str) -> list[Unit]:
    return [unit for unit in UNITS.values() if unit.dimension in dimensions]


@pytest.mark.parametrize("unit", units(*BASE_IN_PINT), ids=lambda unit: unit.symbol)
def test_size_is_pints_size_exactly(unit: Unit) -> None:
    one = fractions().Quantity(Fraction(1), unit.pint)
    # Angles and speeds hold π on both sides, which Pint's fractions carry as one rational and cancel.
    assert one.to(BASE_IN_PINT[unit.dimension]).magnitude == Fraction(unit.factor)
    assert unit.offset == 0


@pytest.mark.parametrize("unit", units("slope"), ids=lambda unit: unit.symbol)
def test_slope_is_pints_ratio_in_thirds_of_a_thousandth(unit: Unit) -> None:
    ratio = fractions().Quantity(Fraction(1), unit.pint).to("dimensionless").magnitude
    assert ratio * 3000 == Fraction(unit.factor)


@pytest.mark.parametrize("number", [-40, 0, 32, 100, 212])
@pytest.mark.parametrize("unit", units("temperature"), ids=lambda unit: unit.symbol)
def test_temperature_is_pints_in_ninths_above_the_freezing_point(unit: Unit, number: int) -> None:
    kelvin = fractions().Quantity(Fraction(number), unit.pint).to("kelvin").magnitude
    ours = read_quantity(f"{number} {unit.symbol}").value
    assert Fraction(ours) == (kelvin - Fraction("273.15")) * 9


@pytest.mark.parametrize("unit", units("temperature_difference"), ids=lambda unit: unit.symbol)
def test_difference_of_temperature_is_pints(unit: Unit) -> None:
    kelvin = fractions().Quantity(Fraction(1), unit.pint).to("kelvin").magnitude
    assert kelvin * 9 == Fraction(unit.factor)


def test_hardness_scales_are_never_converted() -> None:
    # Pint has no hardness. Each scale has one unit, its own (ISO 6506, 6507 and 6508: from memory).
    for dimension in HARDNESS:
        (unit,) = units(dimension)
        assert unit.factor == 1
        assert unit.offset == 0


def test_every_dimension_is_proved_and_can_offer_units_of_its_own() -> None:
    assert set(DIMENSIONS) == set(BASE_IN_PINT) | OWN_SCALE
    for name, dimension in DIMENSIONS.items():
        assert all(UNITS[symbol].dimension == name for symbol in dimension.offer)


# NIST Special Publication 811, appendix B.8 (the exact values of its table, from memory).
@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("1 in", "25.4 mm"),
        ("1 ft", "0.3048 m"),
        ("1 µin", "0.0254 µm"),
        ("1 lb", "0.45359237 kg"),
        ("1 lbf", "4.4482216152605 N"),
        ("1 kgf", "9.80665 N"),
        ("1 lbf·ft", "1.3558179483314004 N·m"),
        ("1 kgf·m", "9.80665 N·m"),
        ("1 kgf/cm²", "98066.5 Pa"),
        ("1 bar", "100 kPa"),
        ("1 mmHg", "133.322387415 Pa"),
        ("1 in³", "16.387064 cm³"),
        ("1 l", "1000 cm³"),
        ("212 °F", "100 °C"),
        ("-40 °F", "-40 °C"),
        ("9 °F difference", "5 K"),
    ],
)
def test_handbook_values(text: str, metric: str) -> None:
    assert read_quantity(text) == read_quantity(metric)


def test_psi_in_pascals_agrees_with_the_rounded_handbook_value() -> None:
    # NIST SP 811 B.8 gives 6.894 757 E+03 Pa for the psi (from memory); the exact figure does not terminate.
    pascals = Fraction(UNITS["psi"].factor) / Fraction(UNITS["Pa"].factor)
    assert abs(pascals - Fraction("6894.757")) < Fraction("0.0005")


def test_no_two_units_share_a_spelling() -> None:
    seen: dict[str, str] = {}
    for unit, spellings in _rows():
        for spelling in spellings:
            assert seen.setdefault(plain_spelling(spelling), unit.symbol) == unit.symbol, spelling
    refused = {plain_spelling(text) for text in (*AMBIGUOUS, *INEXACT)}
    assert not refused & set(PLAIN)


@pytest.mark.parametrize("spelling", SPELLINGS)
def test_every_spelling_reads_as_its_unit(spelling: str) -> None:
    unit = SPELLINGS[spelling]
    quantity = read_quantity(f"7 {spelling}")
    assert quantity.dimension == unit.dimension
    assert quantity.value == 7 * unit.factor + unit.offset
    assert read_quantity(f" 7  {spelling} ", unit.dimension) == quantity


def test_factors_are_plain_finite_decimals() -> None:
    for unit in UNITS.values():
        assert isinstance(unit.factor, Decimal)
        assert unit.factor > 0
        assert re.fullmatch(r"[0-9.]+", str(unit.factor))
