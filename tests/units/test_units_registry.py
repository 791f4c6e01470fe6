"""The one Pint registry: there and back exactly, and not imported before it is asked for."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.units import DIMENSIONS, UNITS, Quantity, UnitFault, from_pint, read_quantity, registry, to_pint


def test_importing_units_imports_no_pint() -> None:
    program = (
        "import sys, advisor.units as u; u.show_both(u.read_quantity('1 in').value, 'length');"
        "print('pint' in sys.modules); u.registry(); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "True"]


def test_there_is_one_registry() -> None:
    assert registry() is registry()


@given(st.decimals(min_value=-2000, max_value=10**9, places=9), st.sampled_from(sorted(DIMENSIONS)))
def test_there_and_back(value: Decimal, dimension: str) -> None:
    quantity = Quantity(value, dimension)
    assert from_pint(to_pint(quantity)) == quantity


@pytest.mark.parametrize("symbol", sorted(set(UNITS) - {"mm/mm", "in/in"}))
def test_every_unit_comes_over_from_pint_as_it_is_read(symbol: str) -> None:
    there = registry().Quantity(Decimal(7), UNITS[symbol].pint)
    assert from_pint(there) == read_quantity(f"7 {symbol}")


def test_pint_reckons_with_what_it_is_given() -> None:
    torque = to_pint(read_quantity("100 N")) * to_pint(read_quantity("250 mm"))
    assert from_pint(torque.to("newton * meter")) == read_quantity("25 N·m")
    warm, cold = to_pint(read_quantity("212 °F")), to_pint(read_quantity("32 °F"))
    assert from_pint(warm - cold) == read_quantity("100 K")


def test_what_is_not_ours_or_not_decimal_is_refused() -> None:
    made = registry()
    for unit in ("joule", "dimensionless", "radian", "hertz"):
        with pytest.raises(UnitFault):
            from_pint(made.Quantity(Decimal(1), unit))
    with pytest.raises(ValueError, match="must be a decimal, not float"):
        from_pint(made.Quantity(0.1, "millimeter"))
    with pytest.raises(ValueError, match="finite"):
        from_pint(made.Quantity(Decimal("NaN"), "millimeter"))
