"""Operators over a length, a face and a set of items, against published figures and independent work."""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from advisor.gauging import operators
from advisor.gauging.measure import WORKING, Measure, Taken
from advisor.sheets.vocabulary import ReadingKind
from advisor.units import read_quantity

D = Decimal


def taken(*values: str, error: str = "0.004", missing: tuple[str, ...] = ()) -> Taken:
    return Taken({f"p{index}": D(value) for index, value in enumerate(values)}, D(error), missing)


def size(measure: Measure | None) -> Decimal:
    assert measure is not None
    return measure.value


def slope(text: str) -> Decimal:
    return read_quantity(text, "slope").value


def test_twist_by_feeler_over_the_distance_of_the_blocks() -> None:
    """FAA-H-8083-32, chapter 10, read in a reprint: the feeler's thickness over the distance of the blocks;
    0.006 in over 6 in is 0.001 in per inch (the quotient is ours)."""
    gap, blocks = taken("0.1524"), taken("152.4")
    with localcontext(WORKING):
        assert size(operators.per_length(gap, blocks)) == slope("0.001 in/in")


def test_bend_by_two_heights_is_their_difference_over_the_length() -> None:
    with localcontext(WORKING):
        assert size(operators.per_length(taken("3.010", "2.980"), taken("100"))) == slope("0.3 mm/m")
    assert operators.per_length(taken("0.1"), taken("0")) is None
    assert operators.per_length(taken("0.1", missing=("p1",)), taken("100")) is None


@given(
    st.decimals("0.01", "2", places=3),
    st.decimals("20", "300", places=1),
    st.decimals("0.001", "0.05", places=3),
)
def test_errors_of_a_slope_are_those_of_the_uncertainties_package(
    gap: Decimal, length: Decimal, error: Decimal
) -> None:
    peer = ufloat(float(gap), float(error) / 3**0.5) / ufloat(float(length), 0.5 / 3**0.5) * 3000
    with localcontext(WORKING):
        measure = operators.per_length(taken(f"{gap}", error=f"{error}"), taken(f"{length}", error="0.5"))
    assert measure is not None
    assert float(measure.value) == pytest.approx(peer.nominal_value)
    assert float(measure.variance) == pytest.approx(peer.std_dev**2, rel=1e-9)


def test_compression_of_four_cylinders() -> None:
    """US Navy training manual 14264A has 30 to 50 psi, or 10 to 15 %, as the most for a diesel; the spread of
    350, 345, 340 and 290 psi is computed here: 60 psi, 17.1 % of the highest."""
    cylinders = [taken(each, error="5") for each in ("350", "345", "340", "290")]
    assert size(operators.set_spread(cylinders, whole=True)) == 60
    assert round(size(operators.set_spread_share(cylinders, whole=True)), 1) == D("17.1")
    short = [size(operators.short_of_best(each, cylinders, whole=True)) for each in cylinders]
    assert [round(each, 1) for each in short] == [0, D("1.4"), D("2.9"), D("17.1")]


@given(st.decimals("100", "400", places=0), st.decimals("100", "400", places=0))
def test_errors_of_a_share_are_those_of_the_uncertainties_package(one: Decimal, other: Decimal) -> None:
    high, low = ufloat(float(max(one, other)), 5 / 3**0.5), ufloat(float(min(one, other)), 5 / 3**0.5)
    peer = (high - low) / high * 100
    with localcontext(WORKING):
        items = [taken(f"{one}", error="5"), taken(f"{other}", error="5")]
        measure = operators.set_spread_share(items, whole=True)
    assert measure is not None
    assert float(measure.value) == pytest.approx(peer.nominal_value, abs=1e-9)
    assert float(measure.variance) == pytest.approx(peer.std_dev**2, rel=1e-9)


@given(st.lists(st.decimals("1", "99", places=2), min_size=2, max_size=8), st.integers(0, 7))
def test_a_further_item_never_narrows_a_set(values: list[Decimal], dropped: int) -> None:
    items = [taken(f"{value}") for value in values]
    less = [each for index, each in enumerate(items) if index != dropped % len(items)]
    part = operators.set_spread(less, whole=False)
    if part is not None:
        assert part.may_grow == "up"
        assert part.value <= size(operators.set_spread(items, whole=True))
    assert operators.set_spread(items[:1], whole=False) is None


def test_a_spring_off_new_either_way() -> None:
    """A US Army manual lists 43.9 lb ± 4.39, which is 10 % (ratio computed here): 39.0 lb is 11.2 % off."""
    assert round(size(operators.off_new(taken("39.0"), D("43.9"))), 1) == D("11.2")
    assert round(size(operators.off_new(taken("48.8"), D("43.9"))), 1) == D("11.2")
    assert size(operators.off_new(taken("45", "42"), D("43.9"))) == abs(D("42") - D("43.9")) * 100 / D("43.9")
    assert operators.off_new(taken("1"), D(0)) is None


FACE = ReadingKind.model_validate(
    {
        "label": "face",
        "kinds": ["face"],
        "quantity": "length",
        "sections": ["a", "b", "c"],
        "directions": ["x", "y", "z"],
        "condition": "clean",
        "how": "dial",
        "instruments": ["dial"],
        "spots": {
            f"{section} {direction}": [f"{i}", f"{j}"]
            for i, section in enumerate("abc")
            for j, direction in enumerate("xyz")
        },
    }
)


def face(heights: list[str], missing: tuple[str, ...] = ()) -> Taken:
    positions = [each for each in FACE.positions() if each not in missing]
    return Taken({p: D(h) for p, h in zip(positions, heights, strict=True)}, D("0.008"), missing)


def test_flatness_of_a_grid() -> None:
    """Analytic: z = x y on a 3 by 3 grid has 2 by both planes; a flat face with its middle 0.05 and one
    corner 0.02 proud has 0.050 between the closest planes, and 0.0533 about the least-squares plane."""
    saddle = face(["1", "0", "-1", "0", "0", "0", "-1", "0", "1"])
    assert size(operators.flatness(saddle, FACE)) == size(operators.flatness_least_squares(saddle, FACE)) == 2
    proud = face(["0", "0", "0", "0", "0.05", "0", "0", "0", "0.02"])
    assert size(operators.flatness(proud, FACE)) == D("0.05")
    assert round(size(operators.flatness_least_squares(proud, FACE)), 5) == D("0.05333")


@given(st.lists(st.decimals("-1", "1", places=2), min_size=9, max_size=9), st.sampled_from(FACE.positions()))
def test_a_spot_that_was_left_out_only_hides(heights: list[Decimal], dropped: str) -> None:
    """And zero, tilt and the scale of the grid do not matter."""
    whole = face([f"{each}" for each in heights])
    part = Taken({p: h for p, h in whole.values.items() if p != dropped}, D("0.008"), (dropped,))
    full = size(operators.flatness(whole, FACE))
    less = operators.flatness(part, FACE)
    assert less is not None
    assert (less.value <= full, less.may_grow) == (True, "up")
    assert operators.flatness_least_squares(part, FACE) is None
    tilted = Taken({p: h + 3 + 2 * FACE.spots[p][0] for p, h in whole.values.items()}, D("0.008"))
    wide = FACE.model_copy(update={"spots": {p: [x * 7, y * 3] for p, (x, y) in FACE.spots.items()}})
    assert size(operators.flatness(tilted, wide)) == pytest.approx(full)


def test_spots_on_one_line_tell_no_flatness() -> None:
    line = Taken({"a x": D(0), "a y": D(1), "a z": D(0)}, D("0.008"))
    assert operators.flatness(line, FACE) is None


def test_taper_of_the_mean_diameter() -> None:
    """Computed here: sections of mean 86.03, 86.02 and 86.01; the widest single direction has 0.04."""
    grid = FACE.model_copy(update={"directions": ["x", "y"]})
    values = {"a x": "86.05", "a y": "86.01", "b x": "86.02", "b y": "86.02", "c x": "86.01", "c y": "86.01"}
    bore = Taken({p: D(v) for p, v in values.items()}, D("0.004"))
    assert size(operators.mean_taper(bore, grid)) == D("0.02")
    assert size(operators.taper(bore, grid)) == D("0.04")
    assert operators.mean_taper(Taken(bore.values, D("0.004"), ("c z",)), grid) is None


def test_a_gap_that_swallows_every_blade_is_at_least_that_wide() -> None:
    wide = Taken({"": D("1.0")}, D("0.01"), unbounded=("",))
    measure = operators.largest(wide)
    assert measure is not None
    assert measure.value == 1
    assert measure.may_grow == "up"
    assert operators.smallest(wide) is operators.spread(wide) is operators.below_size(wide, D(1)) is None
