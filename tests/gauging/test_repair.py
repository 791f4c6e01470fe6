"""Repair sizes against geometry: a worn circle that lies anywhere inside the new one, ground on its axis."""

from __future__ import annotations

import cmath
import math
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.gauging import RepairBand
from tests.gauging.rig import POSITIONS, gauged, journal, mm, sheet

NEW = 60_000
"""The new diameter of a journal, and all lengths here, in µm."""

STEPS = [250, 500, 750, 1_000]
STOCK = 50
ENGINE = sheet(steps=", ".join(f"-{mm(step)}" for step in STEPS), stock=mm(STOCK))
STANDARD = "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]\n"
EXACT = "0.000001 mm"


def band(diameters: dict[int, int], rest: str = STANDARD, engine: str = ENGINE) -> RepairBand:
    """The band for the three journals, of which some are measured: by place, the diameter all along."""
    entries = [journal(place, dict.fromkeys(POSITIONS, mm(size)), EXACT) for place, size in diameters.items()]
    (found,) = gauged(entries, engine, rest).bands
    return found


def to_clean_up(worn: int, offset: float, angle: float) -> float:
    """How far under new, on diameter, a journal cleans up: the worn surface is a circle, `offset` from the
    axis of the new one, and grinding on that axis must reach its nearest point."""
    centre, radius = cmath.rect(offset, angle), worn / 2
    turns = (2 * math.pi * step / 720 + angle for step in range(720))
    nearest = min(abs(centre + cmath.rect(radius, turn)) for turn in turns)
    return NEW - 2 * nearest


WEAR = st.integers(0, 400)
ANYWHERE = st.floats(0, 1)
ROUND = st.floats(0, 2 * math.pi)


@given(WEAR, ANYWHERE, ROUND)
@settings(max_examples=80)
def test_the_size_that_cleans_up_lies_in_the_band_however_the_wear_lies(
    wear: int, share: float, angle: float
) -> None:
    """Two-point diameters show the worn circle's size and not where it lies; it can lie no further out than
    the new one reaches."""
    need = to_clean_up(NEW - wear, share * wear / 2, angle) + STOCK
    found = band(dict.fromkeys((1, 2, 3), NEW - wear))
    true = next(step for step in STEPS if step >= need - 0.001)
    assert -Decimal(true) / 1000 in found.steps


@given(WEAR)
@settings(max_examples=30)
def test_both_ends_of_the_band_are_reached(wear: int) -> None:
    """Worn evenly, the first size serves; worn on one side, the last is needed."""
    steps = band(dict.fromkeys((1, 2, 3), NEW - wear)).steps
    for offset, step in ((0.0, steps[0]), (wear / 2, steps[-1])):
        need = to_clean_up(NEW - wear, offset, 0.0) + STOCK
        # A hair over: the exact limit of error of the reading is part of the last size.
        assert next(each for each in STEPS if each >= need - 0.001) <= abs(step) * 1000
    assert next(each for each in STEPS if each >= wear + STOCK) == abs(steps[0]) * 1000


@given(st.lists(WEAR, min_size=3, max_size=3))
@settings(max_examples=50)
def test_a_set_goes_no_less_far_than_any_of_its_members(wear: list[int]) -> None:
    together = band({place: NEW - each for place, each in enumerate(wear, start=1)})
    assert together.items == (1, 2, 3)
    for each in wear:
        alone = band(dict.fromkeys((1, 2, 3), NEW - each))
        assert abs(together.steps[0]) >= abs(alone.steps[0])
        assert abs(together.steps[-1]) >= abs(alone.steps[-1])
    assert together.worst == 1 + max(range(3), key=lambda place: (wear[place], place))


@given(st.lists(WEAR, min_size=3, max_size=3), st.integers(1, 3))
@settings(max_examples=30)
def test_a_member_that_nobody_measured_settles_nothing(wear: list[int], left_out: int) -> None:
    sizes = {place: NEW - each for place, each in enumerate(wear, start=1)}
    full = band(sizes)
    less = band({place: size for place, size in sizes.items() if place != left_out})
    assert (less.possible, less.missing) == (None, (left_out,))
    assert abs(less.steps[0]) <= abs(full.steps[0])


def test_an_indicated_size_closes_the_band() -> None:
    open_band = band(dict.fromkeys((1, 2, 3), NEW - 150))
    assert open_band.steps == (Decimal("-0.25"), Decimal("-0.50"))
    indicated = "cleans_up: [{part: shaft_journal, operation: grind, size: 59.690 mm, by: Ann}]\n"
    closed = band(dict.fromkeys((1, 2, 3), NEW - 150), STANDARD + indicated)
    assert closed.steps == (Decimal("-0.50"),)
    assert (closed.possible, len(closed.steps), closed.missing) == (True, 1, ())


@pytest.mark.parametrize(("wear", "possible"), [(100, True), (480, None), (960, False)])
def test_whether_a_listed_size_serves(wear: int, possible: bool | None) -> None:
    """The last size serves for wear up to half its depth wherever that lies, and up to its depth if even."""
    assert band(dict.fromkeys((1, 2, 3), NEW - wear)).possible is possible


def test_no_size_beyond_the_furthest_is_offered() -> None:
    for furthest, steps in (("59.600", ["-0.25"]), ("59.500", ["-0.25", "-0.50"])):
        short = ENGINE.replace("stock: 0.050000 mm", f"stock: 0.05 mm, furthest: {furthest} mm")
        found = band(dict.fromkeys((1, 2, 3), NEW - 150), engine=short)
        assert found.steps == tuple(map(Decimal, steps))
        assert found.possible is (True if furthest == "59.500" else None)


def test_a_set_of_unknown_found_size_is_not_judged() -> None:
    found = band(dict.fromkeys((1, 2, 3), NEW - 150), rest="")
    assert (found.steps, found.possible, found.missing) == ((), None, (1, 2, 3))
