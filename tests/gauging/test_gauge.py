"""The whole way from typed readings to standings: units, missing positions, and play between two parts."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.gauging.rig import (
    FIRST_JOURNAL,
    FIRST_SHELL,
    OPERATORS,
    POSITIONS,
    bore,
    gauged,
    journal,
    limits,
    mm,
    outcomes,
    sheet,
)

MICROMETRES = st.integers(59_900, 60_060)
ENGINE = sheet(limits())


@given(st.lists(st.integers(23_582, 23_645), min_size=4, max_size=4), st.integers(23_590, 23_640))
@settings(max_examples=40)
def test_inches_and_millimetres_stand_alike_to_the_last_digit(readings: list[int], most: int) -> None:
    """Sizes in ten-thousandths of an inch, typed once in inches and once in mm (1 in = 25.4 mm exactly)."""
    in_inches = [f"{Decimal(each) / 10_000:.4f} in" for each in readings]
    in_mm = [f"{Decimal(each) * Decimal('25.4') / 10_000:f} mm" for each in readings]
    limit = Decimal(most) / 10_000
    found = [
        outcomes(
            gauged(
                [journal(1, dict(zip(POSITIONS, texts, strict=True)), error)],
                sheet(f"      - {{dimension: biggest, purpose: reassembly, at_most: {typed}}}\n"),
            ),
            FIRST_JOURNAL,
        )
        for texts, error, typed in (
            (in_inches, "0.0002 in", f"{limit:f} in"),
            (in_mm, "0.00508 mm", f"{limit * Decimal('25.4'):f} mm"),
        )
    ]
    assert found[0] == found[1]


@given(
    st.lists(MICROMETRES, min_size=4, max_size=4),
    st.sets(st.sampled_from(POSITIONS), min_size=1, max_size=3),
)
@settings(max_examples=60)
def test_a_missing_position_only_widens(readings: list[int], dropped: set[str]) -> None:
    full = dict(zip(POSITIONS, map(mm, readings), strict=True))
    less = {position: text for position, text in full.items() if position not in dropped}
    whole, part = (outcomes(gauged([journal(1, values)], ENGINE), FIRST_JOURNAL) for values in (full, less))
    for dimension in OPERATORS:
        assert whole[dimension] <= part[dimension], dimension


@given(
    st.lists(MICROMETRES, min_size=4, max_size=4),
    st.integers(59_980, 60_140),
    st.sets(st.sampled_from(POSITIONS), max_size=3),
)
@settings(max_examples=40)
def test_play_with_a_missing_position_only_widens(readings: list[int], hole: int, dropped: set[str]) -> None:
    full = dict(zip(POSITIONS, map(mm, readings), strict=True))
    less = {position: text for position, text in full.items() if position not in dropped}
    shell = bore("1 upper", mm(hole))
    whole, part, without = (
        gauged(entries, ENGINE)
        for entries in ([journal(1, full), shell], [journal(1, less), shell], [journal(1, full)])
    )
    for dimension, purpose in (("play", "discard"), ("least_play", "reassembly")):
        found = [
            each.dimensions[FIRST_SHELL][dimension].standings[purpose].outcomes  # type: ignore[index]
            for each in (whole, part, without)
        ]
        assert found[0] <= found[1] <= found[2], dimension


def test_what_is_missing_is_named() -> None:
    less = {"front x": "59.99 mm", "rear y": "59.98 mm"}
    worn = gauged([journal(1, less)], ENGINE).dimensions[FIRST_JOURNAL]
    assert worn["biggest"].lacks == "diameter at front y, rear x"
    assert worn["biggest"].measure is not None
    assert worn["middle"].measure is None


def test_play_needs_both_parts_and_says_which_is_missing() -> None:
    full = dict.fromkeys(POSITIONS, "59.96 mm")
    shell = gauged([bore("1 upper", "60.05 mm")], ENGINE).dimensions[FIRST_SHELL]["play"]
    assert (shell.measure, shell.state, shell.lacks) == (None, "not looked at", "diameter")
    shell = gauged([journal(1, full)], ENGINE).dimensions[FIRST_SHELL]["play"]
    assert (shell.measure, shell.lacks) == (None, "fitted bore")


@pytest.mark.parametrize(
    ("word", "state"),
    [
        ("lost", "lost"),
        ("could not be measured", "could not be judged"),
        ("could not be judged", "could not be judged"),
        ("not looked at", "not looked at"),
    ],
)
def test_why_there_is_no_reading_is_kept(word: str, state: str) -> None:
    entry = f"  - {{part: shaft_journal, place: '1', readings: {{diameter: {{value: {word}}}}}}}\n"
    assert gauged([entry], ENGINE).dimensions[FIRST_JOURNAL]["oval"].state == state


def test_what_was_not_opened_has_no_size() -> None:
    entry = "  - {part: shaft_journal, place: '1', opened: no}\n"
    found = gauged([entry], ENGINE).dimensions[FIRST_JOURNAL]["oval"]
    assert (found.measure, found.state) == (None, "not opened")


def test_wear_is_counted_from_the_repair_size_that_it_arrived_with() -> None:
    values = dict.fromkeys(POSITIONS, "59.72 mm")
    unknown = gauged([journal(1, values)], ENGINE).dimensions[FIRST_JOURNAL]["lost"]
    assert (unknown.measure, unknown.lacks) == (None, "the repair size it arrived with")
    arrived = "found_sizes: [{part: shaft_journal, size: -0.25 mm, read_on: the web}]\n"
    known = gauged([journal(1, values)], ENGINE, arrived).dimensions[FIRST_JOURNAL]["lost"]
    assert known.measure is not None
    assert known.measure.value == Decimal("0.03")


def test_a_discard_limit_holds_its_own_margin_unless_the_class_wants_both() -> None:
    """The shells are of a class that compares the value alone, the journals of one that is guarded."""
    shell = gauged([journal(1, dict.fromkeys(POSITIONS, "59.930 mm")), bore("1 upper", "60.050 mm")], ENGINE)
    assert shell.dimensions[FIRST_SHELL]["play"].standings["discard"].outcomes == {"inside"}
    arrived = "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]\n"
    worn = gauged([journal(1, dict.fromkeys(POSITIONS, "59.950 mm"))], ENGINE, arrived)
    assert worn.dimensions[FIRST_JOURNAL]["lost"].standings["discard"].outcomes == {
        "inside",
        "above",
        "below",
    }
    assert worn.dimensions[FIRST_JOURNAL]["wear"].standings["discard"].outcomes == {"inside", "above"}
