"""How finely a size was typed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.units import typed_step


@pytest.mark.parametrize(
    ("text", "step"),
    [
        ("69.990 mm", "0.001"),
        ("69.99 mm", "0.01"),
        ("70 mm", "1"),
        ("100 mm", "1"),
        ("25,4 mm", "0.1"),
        ("2.7540 in", "0.00254"),
        ("7/16 in", "1.5875"),
        ("3 1/2 in", "12.7"),
        ("3½ in", "12.7"),
        ("38 µm", "0.001"),
        ("1.5 thou", "0.00254"),
        ("0.00 mm", "0.01"),
        ("-0.25 mm", "0.01"),
    ],
)
def test_the_last_digit_tells(text: str, step: str) -> None:
    assert typed_step(text) == Decimal(step)


@pytest.mark.parametrize("text", ["0 mm", "", "nothing to 0.05 mm", "not looked at", "12", "3 furlongs"])
def test_what_has_no_step(text: str) -> None:
    assert typed_step(text) is None


@given(st.integers(1, 10**6), st.integers(0, 6))
def test_a_zero_more_is_a_tenth_of_the_step(digits: int, places: int) -> None:
    size = f"{Decimal(digits).scaleb(-places):.{places}f}"
    point = "" if places else "."
    one, other = typed_step(f"{size} mm"), typed_step(f"{size}{point}0 mm")
    assert one is not None
    assert other == one / 10
