"""Readings that cannot be: no play in a running fit, more wear than a part has, several a turn off."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.gauging.trial import STANDARD, bore, dimension, gauged, item, journal, laid, verdict

D = Decimal
NO_LEAST = tuple(
    (
        f"      - {{dimension: least_main_clearance, purpose: {purpose}, at_least: {size} mm, "
        "read_at: p. 3-8}\n",
        "",
    )
    for purpose, size in (("new", "0.050"), ("reassembly", "0.045"), ("discard", "0.035"))
)
"""The demonstration's engine without a least limit for the play of its mains."""


@pytest.mark.parametrize(("size", "play"), [("69.930 mm", "-0.06"), ("69.990 mm", "0")])
def test_no_play_between_parts_that_run_has_no_standing(size: str, play: str) -> None:
    text = journal("69.990 mm") + bore(size)
    for name in ("main_clearance", "least_main_clearance"):
        found = dimension(text, "main_journal", "2", name, edits=NO_LEAST)
        assert (found.measure, found.state) == (None, "contradictory")
        assert "cannot be where one part runs in the other" in found.lacks


def test_play_is_play_however_little() -> None:
    found = dimension(journal("69.990 mm") + bore("69.991 mm"), "main_journal", "2", "main_clearance")
    assert found.measure is not None
    assert found.measure.value == D("0.001")


def test_a_missing_diameter_may_yet_give_the_largest_play_and_never_the_least() -> None:
    text = journal("69.990 mm").replace("rear horizontal: 69.990 mm", "rear horizontal: not looked at")
    text += bore("69.980 mm")
    least = dimension(text, "main_journal", "2", "least_main_clearance")
    assert "cannot be where" in least.lacks
    # It is no contradiction of its own, and shares the readings of one.
    most = dimension(text, "main_journal", "2", "main_clearance")
    assert (most.state, "cannot be where" in most.lacks) == ("contradictory", False)


def test_a_shaft_that_could_not_turn_is_never_put_back() -> None:
    text = journal("69.990 mm").replace("readings:", "otherwise: none\n    readings:") + bore("69.930 mm")
    text += "  - {part: main_shell, place: all, moment: strip, otherwise: none}\n"
    found = verdict(text, "main_shell", "2 lower", edits=NO_LEAST)
    assert found.verdict == "undecided"
    assert any("cannot be where one part runs in the other" in ask.says for ask in found.asks)
    carried = verdict(text, "main_journal", "2", edits=NO_LEAST)
    assert carried.verdict != "reuse"
    assert any("that cannot be right" in note for note in carried.notes)


def test_a_contradiction_takes_the_standing_of_all_that_rests_on_the_same_readings() -> None:
    bench = laid(journal("69.990 mm") + bore("69.930 mm") + journal("69.990 mm", "3"), STANDARD)
    found = gauged(bench)
    shaken = found.dimensions[item(bench, "main_journal", "2")]
    for name in ("journal_wear", "journal_taper", "journal_out_of_round"):
        assert (shaken[name].measure, shaken[name].state) == (None, "contradictory")
        assert {each.state for each in shaken[name].standings.values()} == {"contradictory"}
    assert found.dimensions[item(bench, "main_journal", "3")]["journal_wear"].measure is not None
    (band,) = (each for each in found.bands if each.operation == "grind_main_journals")
    assert item(bench, "main_journal", "2") in band.missing


# --- more wear than any part has --------------------------------------------------------------------------

WASHER = "  - {{part: thrust_washer, place: front, readings: {{washer_thickness: {{value: {} mm}}}}}}\n"
SHELL = "  - {{part: main_shell, place: 1 lower, readings: {{shell_wall: {{value: {} mm}}}}}}\n"


@pytest.mark.parametrize(
    ("text", "part", "place", "name", "wear"),
    [
        (WASHER.format("2.100"), "thrust_washer", "front", "washer_wear", "0.240"),
        (SHELL.format("1.860"), "main_shell", "1 lower", "shell_wear", "0.110"),
    ],
)
def test_thin_parts_wear_by_more_than_a_twentieth(
    text: str, part: str, place: str, name: str, wear: str
) -> None:
    found = dimension(text, part, place, name)
    assert found.measure is not None
    assert found.measure.value == D(wear)
    assert found.standings["discard"].outcomes == {"above"}


def test_what_no_part_wears_by_is_questioned_in_the_words_of_the_part() -> None:
    bench = laid(WASHER.format("1.200"))
    index = item(bench, "thrust_washer", "front")
    found = gauged(bench)
    assert found.dimensions[index]["washer_wear"].lacks == (
        "thickness of a thrust washer measured again: 1.140 mm less than new cannot be right for this "
        "crankshaft thrust washer"
    )
    (question,) = found.questions[index]
    assert question.says.startswith("that cannot be right")


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(
        [
            ("thrust_washer", "front", "washer_wear", WASHER, 2340, 30),
            ("main_shell", "1 lower", "shell_wear", SHELL, 1970, 6),
        ]
    ),
    st.data(),
)
def test_further_from_its_limit_a_part_never_stands_better(
    which: tuple[str, str, str, str, int, int], data: st.DataObject
) -> None:
    part, place, name, text, new, tolerance = which
    worn = sorted(data.draw(st.lists(st.integers(-tolerance, new - 1), min_size=2, max_size=2)))
    standings = []
    for wear in worn:
        found = dimension(text.format(f"{D(new - wear) / 1000:.3f}"), part, place, name)
        outcomes = found.standings["discard"].outcomes
        standings.append(0 if outcomes == {"inside"} else 1 if "inside" in outcomes else 2)
    assert standings[0] <= standings[1]


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 69_900), min_size=2, max_size=2).map(sorted))
def test_nor_does_a_diameter_that_comes_in_repair_sizes(worn: list[int]) -> None:
    standings = []
    head = "temperature: 20 °C\nfound_sizes:\n  - {part: main_journal, size: 0 mm, read_on: the shells}\n"
    for wear in worn:
        text = journal(f"{D(70_000 - wear) / 1000:.3f} mm", more="limit_of_error: 0.005 mm")
        outcomes = dimension(text, "main_journal", "2", "journal_wear", head).standings["discard"].outcomes
        standings.append(0 if outcomes == {"inside"} else 1 if "inside" in outcomes else 2)
    assert standings[0] <= standings[1]


# --- a turn of the screw ----------------------------------------------------------------------------------


@pytest.mark.parametrize("odd", [1, 2, 3])
def test_several_positions_a_turn_off_are_questioned_too(odd: int) -> None:
    sizes = ["69.488 mm"] * odd + ["69.990 mm"] * (6 - odd)
    bench = laid(journal(sizes))
    index = item(bench, "main_journal", "2")
    found = gauged(bench)
    (question,) = found.questions[index]
    assert len(question.positions) == odd
    assert ("as many others" in question.says) == (odd == 3)
    assert found.dimensions[index]["journal_wear"].state == "contradictory"


def test_two_positions_a_turn_apart_cannot_both_be_right() -> None:
    text = journal("69.990 mm").split("values:")[0] + (
        "values: {front vertical: 69.990 mm, front horizontal: 69.490 mm}}\n"
    )
    assert dimension(text, "main_journal", "2", "journal_out_of_round").state == "contradictory"


def test_read_a_second_time_they_count() -> None:
    sizes = ["[69.488 mm, 69.488 mm]"] * 2 + ["69.990 mm"] * 4
    bench = laid(journal(sizes))
    assert item(bench, "main_journal", "2") not in gauged(bench).questions


# --- the ring at two levels -------------------------------------------------------------------------------


def test_a_barrel_that_is_alike_at_both_ends_agrees_with_its_ring() -> None:
    """The ring is tried at the ends only, so the middle of the bore is none of its business."""
    levels = {"top_of_ring_travel": "100.030", "middle": "100.070", "bottom_of_ring_travel": "100.030"}
    values = ", ".join(
        f"{level} {way}: {size} mm" for level, size in levels.items() for way in ("along", "across")
    )
    text = (
        "  - part: cylinder_bore\n    place: 1\n    readings:\n"
        f"      cylinder_diameter: {{with: bore_gauge, values: {{{values}}}}}\n"
        "      ring_gap_levels: {with: feeler_gauge_fine, values: "
        "{top_of_ring_travel: 0.60 mm, bottom_of_ring_travel: 0.60 mm}}\n"
    )
    found = dimension(text, "cylinder_bore", "1", "bore_taper")
    assert found.contradictions == ()
    assert found.measure is not None
    assert found.measure.value == D("0.040")
