"""What is uncertain beside the instrument: digits typed, what set it, a shop nobody says the warmth of."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.gauging import GaugedDimension
from tests.gauging.trial import bore, dimension, faults, journal

D = Decimal
STANDARD = "temperature: 20 °C\nfound_sizes:\n  - {part: main_journal, size: 0 mm, read_on: the shells}\n"


def wear(size: str, more: str = "with: outside_micrometer") -> GaugedDimension:
    return dimension(journal(size, more=more), "main_journal", "2", "journal_wear", STANDARD)


def variance(of: GaugedDimension) -> Decimal:
    assert of.measure is not None
    return of.measure.variance


@pytest.mark.parametrize(
    ("size", "step"),
    [
        ("69.970 mm", "0.001"),  # as the micrometer shows it
        ("69.97 mm", "0.01"),
        ("69.9 mm", "0.1"),
        ("70 mm", "1"),
        ("2.754 in", "0.0254"),
        ("2 3/4 in", "6.35"),
    ],
)
def test_a_size_is_no_better_than_its_last_digit(size: str, step: str) -> None:
    """By hand, GUM 4.3.7 and F.2.2.1: the limit of 5 µm as a rectangle, and the step as the width of one."""
    found = dimension(journal(size), "main_journal", "2", "journal_wear", STANDARD)
    if found.measure is not None:
        assert float(found.measure.variance) == pytest.approx(25e-6 / 3 + float(D(step)) ** 2 / 12, rel=1e-3)


def test_seventy_millimetres_is_in_doubt_and_says_how_much() -> None:
    assert wear("70 mm").standings["discard"].outcomes == {"inside", "above"}
    assert wear("70.000 mm").standings["discard"].outcomes == {"inside"}


def test_one_position_that_was_typed_short_widens_itself_alone() -> None:
    sizes = ["69.970 mm"] * 5 + ["69.98 mm"]
    found = dimension(journal(sizes), "main_journal", "2", "journal_wear", STANDARD)
    assert variance(found) == variance(wear("69.970 mm"))
    short = journal(["69.970 mm"] * 5 + ["69.96 mm"])
    widened = dimension(short, "main_journal", "2", "journal_wear", STANDARD)
    assert variance(widened) > variance(found)


@settings(max_examples=40, deadline=None)
@given(st.integers(69_930, 70_000), st.integers(0, 4))
def test_digits_beyond_what_the_instrument_shows_add_nothing(micrometres: int, zeros: int) -> None:
    size = f"{D(micrometres) / 1000:.3f}{'0' * zeros} mm"
    assert variance(wear(size)) == variance(wear("69.970 mm"))


def test_a_swing_of_plain_nothing_is_not_taken_for_a_whole_millimetre() -> None:
    text = "  - {part: crankshaft, readings: {run_out: {with: dial_indicator, value: 0 mm}}}\n"
    found = dimension(text, "crankshaft", "", "shaft_run_out")
    assert found.standings["discard"].outcomes == {"inside"}


# --- what set it ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setter", "why"),
    [
        ("outside_micrometer_to_50_mm", "for sizes up to 50 mm"),
        ("feeler_gauge", "has no scale"),
        ("compression_gauge", "measures pressure"),
        ("bore_gauge", "set with itself"),
    ],
)
def test_what_cannot_have_set_it_is_refused(setter: str, why: str) -> None:
    (fault,) = faults(bore("70.072 mm", more=f"with: bore_gauge, set_with: {setter}"))
    assert fault.code == "setter-unfit"
    assert why in fault.what
    assert "outside_micrometer" in fault.expected


def test_a_gauge_is_not_set_with_its_own_mark() -> None:
    (fault,) = faults(bore("70.072 mm", more="with: bore_gauge, tool: B1, set_with: B1"))
    assert fault.code == "setter-unfit"


@pytest.mark.parametrize(("size", "limit"), [("40.000", "0.004"), ("74.000", "0.005"), ("120.000", "0.006")])
def test_the_usual_setter_is_the_one_for_the_size(size: str, limit: str) -> None:
    edits = (("housing_bore: 74.000 mm", f"housing_bore: {size} mm"),)
    text = (
        "  - {part: main_bore, place: 2, readings: {housing_bore: {with: bore_gauge, values: "
        + "{"
        + ", ".join(
            f"{end} {way}: {size} mm"
            for end in ("front", "rear")
            for way in ("vertical", "horizontal", "diagonal_left", "diagonal_right")
        )
        + "}}}}\n"
    )
    found = dimension(text, "main_bore", "2", "housing_wear", edits=edits)
    assert found.measure is not None
    (part,) = (
        part
        for term in found.measure.terms
        for part in term.parts
        if part.name == "limit of error of what it was set with"
    )
    assert part.bound == D(limit)


# --- a shop of which nobody says how warm it was ----------------------------------------------------------


def clearance(head: str) -> GaugedDimension:
    values = ", ".join(
        f"{level} {way}: 100.030 mm"
        for level in ("top_of_ring_travel", "middle", "bottom_of_ring_travel")
        for way in ("along", "across")
    )
    text = (
        "  - part: cylinder_bore\n    place: 1\n    readings:\n"
        f"      cylinder_diameter: {{with: bore_gauge, values: {{{values}}}}}\n"
        "  - part: piston\n    place: 1\n    readings:\n"
        "      piston_diameter: {with: outside_micrometer, value: 99.880 mm}\n"
    )
    return dimension(text, "piston", "1", "piston_clearance", head)


def test_a_temperature_that_nobody_tells_never_narrows() -> None:
    told = [variance(clearance(f"temperature: {each} °C\n")) for each in (10, 16, 20, 30)]
    assert variance(clearance("")) > max(told)


def test_between_parts_of_nearly_one_metal_it_hardly_matters() -> None:
    text = journal("69.970 mm", more="with: outside_micrometer") + bore("70.050 mm")
    untold = dimension(text, "main_journal", "2", "main_clearance", "")
    told = dimension(text, "main_journal", "2", "main_clearance", "temperature: 20 °C\n")
    assert float(variance(untold)) == pytest.approx(float(variance(told)), rel=0.05)


def test_steel_by_a_scale_of_steel_is_right_at_any_temperature() -> None:
    head = STANDARD.replace("temperature: 20 °C\n", "")
    text = journal("69.970 mm")
    untold = dimension(text, "main_journal", "2", "journal_wear", head)
    told = dimension(text, "main_journal", "2", "journal_wear", STANDARD)
    assert float(variance(untold)) == pytest.approx(float(variance(told)), rel=1e-9)
