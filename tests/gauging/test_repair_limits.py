"""What repair sizes must take along: run-out, the reading's own error, grades, and the ends of the metal."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.gauging import RepairBand
from advisor.gauging.repair import enough
from tests.gauging.rig import POSITIONS, gauged, journal, mm, sheet
from tests.gauging.work_rig import Edits, item, seen, workshop

STANDARD = "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]\n"
NEW = 60_000
STEPS = (250, 500, 750, 1_000)


def band(wear: int, error: str = "0.003 mm", more: str = "", rest: str = STANDARD) -> RepairBand:
    """The band of three journals worn alike, in µm, on a sheet with more keys beside the stock of 0.05 mm."""
    engine = sheet(steps=", ".join(f"-{mm(step)}" for step in STEPS))
    engine = engine.replace("stock: 0.05 mm", f"stock: 0.05 mm{more}")
    entries = [journal(place, dict.fromkeys(POSITIONS, mm(NEW - wear)), error) for place in (1, 2, 3)]
    (found,) = gauged(entries, engine, rest).bands
    return found


@given(st.integers(0, 400), st.integers(1, 40))
@settings(max_examples=60)
def test_both_ends_carry_the_error_of_the_reading(wear: int, error: int) -> None:
    """Worn by w give or take e: at least w - e evenly, at most twice w + e on one side; never below 0."""
    found = band(wear, mm(error))
    assert found.needs == (
        Decimal(max(wear - error, 0) + 50) / 1000,
        Decimal(2 * (wear + error) + 50) / 1000,
    )


def test_a_reading_that_may_err_against_the_part_leaves_the_nearer_size() -> None:
    """0.202 mm give or take 0.003 mm, and 0.05 mm of stock: 0.249 mm may be all that is wanted."""
    assert band(202).steps[0] == Decimal("-0.25")
    assert band(204).steps[0] == Decimal("-0.50")


def mains(run_out: str, listed: bool = True) -> RepairBand:
    """The band of the demonstration's main journals with another run-out of its shaft."""
    engine: Edits = () if listed else ((" run_out: {reading: run_out, on: {part_of: crankshaft}}\n", "\n"),)
    case = (("run_out: {with: dial_indicator, value: 0.03 mm}", f"run_out: {run_out}"),)
    shop = workshop(engine, case)
    found = shop.band(item(shop, "main_journal", "1"), "grind_main_journals")
    assert found is not None
    return found


def test_the_run_out_of_the_shaft_is_taken_out_as_well() -> None:
    without = mains("{value: could not be measured}")
    bent = mains("{limit_of_error: 0.002 mm, value: 0.080 mm}")
    assert without.needs is not None
    assert bent.needs == (without.needs[0], without.needs[1] + Decimal("0.082"))
    assert mains("{limit_of_error: 0.002 mm, value: 0.080 mm}", listed=False).needs == without.needs


def test_run_out_may_ask_for_the_next_size() -> None:
    straight, bent = (mains(f"{{limit_of_error: 0.001 mm, value: {each}}}") for each in ("0 mm", "0.25 mm"))
    assert straight.steps[0] == bent.steps[0]
    assert abs(bent.steps[-1]) > abs(straight.steps[-1])


def test_an_indicated_size_has_the_run_out_in_it() -> None:
    cleans = ("\nbench:\n", "\ncleans_up: [{part: main_journal, operation: grind_main_journals, "
              "size: 69.600 mm, by: the grinder}]\n\nbench:\n")  # fmt: skip
    shop = workshop((), (cleans,))
    found = shop.band(item(shop, "main_journal", "1"), "grind_main_journals")
    assert found is not None
    assert (found.needs, found.steps) == ((Decimal("0.4"), Decimal("0.4")), (Decimal("-0.50"),))


@pytest.mark.parametrize(("wear", "first"), [(197, "-0.25"), (210, "-0.25"), (217, "-0.25"), (225, "-0.50")])
def test_grades_inside_a_size_reach_a_little_further(wear: int, first: str) -> None:
    """Shells of -0.25 mm come in grades up to 0.02 mm thicker: -0.27 mm is still that size."""
    exact = "0.000001 mm"
    assert band(wear, exact, ", grades: [0 mm, -0.02 mm]").steps[0] == Decimal(first)
    assert band(wear, exact).steps[0] == Decimal("-0.25" if wear < 200 else "-0.50")


def test_a_grade_never_goes_past_the_last_metal() -> None:
    """-0.25 mm with its grade would do for 0.26 mm, were there not 59.745 mm to keep."""
    grades = ", grades: [0 mm, -0.02 mm], furthest: "
    assert band(210, "0.000001 mm", f"{grades}59.730 mm").steps == (Decimal("-0.25"),)
    short = band(210, "0.000001 mm", f"{grades}59.745 mm")
    assert (short.steps, short.possible) == ((), False)


def test_found_sizes_of_one_set_may_differ_by_a_grade() -> None:
    """Each journal is worn from the size it had, grade and all, and one size serves the set."""
    rest = (
        "found_sizes:\n  - {part: shaft_journal, place: '1', size: 0 mm, read_on: the web}\n"
        "  - {part: shaft_journal, place: '2, 3', size: -0.010 mm, read_on: the web}\n"
    )
    found = band(30, "0.000001 mm", ", grades: [0 mm, -0.010 mm]", rest)
    assert found.steps == (Decimal("-0.25"),)
    assert found.possible is True
    assert not found.missing


def test_the_thinnest_wall_of_a_set_ends_its_sizes() -> None:
    """Of 0.50 and 1.00 mm, the second would leave cylinder 2 with 3.9 mm at best; 4.0 mm must be left."""
    entries = "".join(
        f"  - {{part: cylinder_bore, place: '{place}', readings: "
        f"{{bore_wall: {{limit_of_error: 0.01 mm, value: {wall}}}}}}}\n"
        for place, wall in ((1, "6 mm"), (2, "4.31 mm"), (3, "6 mm"), (4, "6 mm"))
    )
    worn = ("top_of_ring_travel across: 100.152 mm", "top_of_ring_travel across: 100.252 mm")
    shop = workshop((), (worn, seen(entries)))
    found = shop.band(item(shop, "cylinder_bore", "2"), "bore_oversize")
    assert found is not None
    assert found.steps == (Decimal("0.50"),)
    assert found.possible is None


@pytest.mark.parametrize(
    ("low", "high", "state"), [("4.0", "5", True), ("3.9", "4.0", None), ("3", "3.99", False)]
)
def test_enough_is_known_only_where_both_ends_agree(low: str, high: str, state: bool | None) -> None:
    assert enough(Decimal(low), Decimal(high), Decimal(4)) is state
