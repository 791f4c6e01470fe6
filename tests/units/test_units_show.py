"""What is shown is right to half its last place, and can be read again."""

import decimal
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.units import DIMENSIONS, UNITS, System, read_quantity, show, show_both

SIZES = st.decimals(min_value=-2400, max_value=10**7, places=9) | st.decimals(
    min_value=-1, max_value=1, places=12
)
SYSTEMS: tuple[System, ...] = ("mm", "inch")


@pytest.mark.parametrize(
    ("typed", "metric", "inch"),
    [
        ("0.038 mm", "0.038 mm (0.0015 in)", "0.0015 in (0.038 mm)"),
        ("0.0015 in", "0.0381 mm (0.0015 in)", "0.0015 in (0.0381 mm)"),
        ("86 mm", "86.000 mm (3.3858 in)", "3.3858 in (86.000 mm)"),
        ("3 1/2 in", "88.900 mm (3.5000 in)", "3.5000 in (88.900 mm)"),
        ("-0.25 mm", "-0.250 mm (-0.0098 in)", "-0.0098 in (-0.250 mm)"),
        ("-0 mm", "0.000 mm (0.0000 in)", "0.0000 in (0.000 mm)"),
        ("0.00002 mm", "0.00002 mm (0.00000079 in)", "0.00000079 in (0.00002 mm)"),
        ("85 °C", "85 °C (185 °F)", "185 °F (85 °C)"),
        ("10 K", "10 K (18 °F difference)", "18 °F difference (10 K)"),
        ("90 N·m", "90 N·m (66.4 lbf·ft)", "66.4 lbf·ft (90 N·m)"),
        ("400 psi", "27.58 bar (400 psi)", "400 psi (27.58 bar)"),
        ("1200 h", "1200 h", "1200 h"),
        ("3 min", "3 min", "3 min"),
        ("45°", "45°", "45°"),
        ("12 %", "12 %", "12 %"),
        ("1 piece", "1 piece", "1 piece"),
        ("4 pieces", "4 pieces", "4 pieces"),
        ("1.5 kg", "1.5 kg (3.307 lb)", "3.307 lb (1.5 kg)"),
        ("0.05 mm/m", "0.05 mm/m (0.0006 in/ft)", "0.0006 in/ft (0.05 mm/m)"),
    ],
)
def test_shown_in_both_systems(typed: str, metric: str, inch: str) -> None:
    quantity = read_quantity(typed)
    assert show_both(quantity.value, quantity.dimension) == metric
    assert show_both(quantity.value, quantity.dimension, system="inch") == inch


@pytest.mark.parametrize(
    ("value", "shown"),
    [("0.1005", "0.100 mm"), ("0.1015", "0.102 mm"), ("-0.1005", "-0.100 mm"), ("0.00005", "0.00005 mm"),
     ("0.00015", "0.0002 mm"), ("0.09999", "0.100 mm"), ("0.0381", "0.0381 mm")],
)  # fmt: skip
def test_halves_go_to_the_even_figure(value: str, shown: str) -> None:
    assert show(Decimal(value), "length") == shown


def check(value: Decimal, shown: str, dimension: str, symbol: str | None) -> None:
    number, _, unit_text = shown.removesuffix("°").partition(" ")
    unit = UNITS["°" if shown.endswith("°") else {"piece": "pieces"}.get(unit_text, unit_text)]
    assert unit.dimension == dimension
    assert symbol in (None, unit.symbol)
    true = (Fraction(value) - Fraction(unit.offset)) / Fraction(unit.factor)
    places = len(number.partition(".")[2])
    assert abs(Fraction(number) - true) <= Fraction(1, 2 * 10**places)
    assert (Fraction(number) == 0) == (true == 0)
    assert number != "-0"
    if unit.symbol in ("mm", "in"):
        assert places >= unit.places


@given(SIZES, st.sampled_from(sorted(DIMENSIONS)), st.sampled_from(SYSTEMS))
def test_error_is_at_most_half_the_last_place(value: Decimal, dimension: str, system: System) -> None:
    check(value, show(value, dimension, system=system), dimension, None)


@given(SIZES, st.sampled_from(sorted(set(UNITS) - {"pieces"})))
def test_error_in_any_unit(value: Decimal, symbol: str) -> None:
    dimension = UNITS[symbol].dimension
    check(value, show(value, dimension, symbol), dimension, symbol)


@given(st.decimals(min_value=-2400, max_value=10**6, places=9), st.sampled_from(sorted(UNITS)))
def test_what_is_shown_reads_back_and_is_shown_the_same(value: Decimal, symbol: str) -> None:
    dimension = UNITS[symbol].dimension
    if dimension == "count":
        value = Decimal(int(abs(value)))
    shown = show(value, dimension, symbol)
    again = read_quantity(shown, dimension)
    assert show(again.value, dimension, symbol) == shown


def test_the_callers_decimal_context_changes_nothing() -> None:
    with decimal.localcontext(decimal.Context(prec=1, traps=[decimal.Inexact, decimal.Rounded])):
        assert show_both(Decimal("0.09994"), "length") == "0.0999 mm (0.0039 in)"


def test_what_cannot_be_shown_is_refused() -> None:
    for arguments in (
        (Decimal(1), "length", "psi"),
        (Decimal(1), "lenght", None),
        (Decimal("NaN"), "length", None),
    ):
        with pytest.raises(ValueError, match=r"symbol|dimension|finite"):
            show(*arguments)
