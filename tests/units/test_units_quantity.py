"""Equality, order and the little arithmetic that quantities have."""

import operator
from collections.abc import Callable
from decimal import Decimal, Inexact
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.units import DIMENSIONS, Quantity, read_quantity

SIZES = st.decimals(min_value=-(10**9), max_value=10**9, places=9)


def test_equal_by_size_and_dimension_whatever_was_typed() -> None:
    assert len({read_quantity("25.4 mm"), read_quantity("1 in"), read_quantity("1000 thou")}) == 1
    assert Quantity(Decimal(1), "length") != Quantity(Decimal(1), "mass")


@given(SIZES, SIZES)
def test_order_is_that_of_sizes(a: Decimal, b: Decimal) -> None:
    left, right = Quantity(a, "length"), Quantity(b, "length")
    for compare in (operator.lt, operator.le, operator.gt, operator.ge):
        assert compare(left, right) == compare(a, b)


@pytest.mark.parametrize(
    "act", [operator.lt, operator.le, operator.gt, operator.ge, operator.add, operator.sub]
)
@pytest.mark.parametrize("other", [Quantity(Decimal(1), "mass"), 1, Decimal(1), "1 mm", None])
def test_across_dimensions_nothing_works(act: Callable[[Any, Any], Any], other: object) -> None:
    with pytest.raises(TypeError):
        act(Quantity(Decimal(1), "length"), other)


@given(SIZES, SIZES, st.sampled_from(sorted(set(DIMENSIONS) - {"temperature"})))
def test_sums_undo_differences(a: Decimal, b: Decimal, dimension: str) -> None:
    left, right = Quantity(a, dimension), Quantity(b, dimension)
    assert (left - right) + right == left
    assert left + right == right + left


def test_temperatures() -> None:
    warm, cold, step = read_quantity("85 °C"), read_quantity("68 °F"), read_quantity("65 K")
    assert warm - cold == step
    assert cold + step == step + cold == warm
    assert warm - step == cold
    with pytest.raises(TypeError, match=r"^cannot add a temperature and a temperature$"):
        warm + cold
    with pytest.raises(TypeError, match=r"^cannot take a temperature from a difference of temperature$"):
        step - warm
    with pytest.raises(TypeError, match=r"^cannot compare a temperature with a difference of temperature$"):
        assert warm < step


def test_what_cannot_be_held_is_refused() -> None:
    for value in ("NaN", "Infinity", "1E+151", "1E-151"):
        with pytest.raises(ValueError, match="size must"):
            Quantity(Decimal(value), "length")
    with pytest.raises(ValueError, match="no dimension is called 'lenght'"):
        Quantity(Decimal(1), "lenght")


def test_arithmetic_raises_rather_than_round() -> None:
    with pytest.raises(Inexact):
        Quantity(Decimal("1E+150"), "length") + Quantity(Decimal("1E-150"), "length")
