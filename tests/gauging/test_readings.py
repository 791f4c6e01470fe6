"""Readings combined: repeated ones, two blades, and those that cannot all be right."""

from __future__ import annotations

from decimal import Decimal, localcontext
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.gauging import Gauged, gauge
from advisor.gauging.measure import WORKING, Taken
from advisor.gauging.readings import take
from advisor.sheets.bench import Interval, Read
from advisor.sheets.conditions import OUTCOMES
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset_files import Instrument
from advisor.units import read_quantity
from advisor.verdicts.model import Verdict
from tests.decide import small
from tests.decide.deciding import decide_text, on
from tests.gauging.test_errors import rules
from tests.gauging.test_operators import GRID

D = Decimal

_TABLE: dict[str, dict[str, Any]] = {
    "gauge": {"limit": "0.010 mm", "repeatability": "0.006 mm", "turns": ["0.50 mm", "0.025 in"]},
    "short_gauge": {"limit": "0.004 mm", "up_to": "50 mm"},
    "blades": {"limit": "0.025 mm", "blade": "0.005 mm"},
}
INSTRUMENTS = {
    name: Instrument.model_validate({"label": name, "cite": [{"source": "made_up"}], **more})
    for name, more in _TABLE.items()
}


def taken(values: dict[str, tuple[str, ...]], instrument: str = "gauge", **more: Any) -> Taken:
    read = Read(
        {position: tuple(map(read_quantity, each)) for position, each in values.items()},
        None,
        "clean",
        instrument,
        **more,
    )
    with localcontext(WORKING):
        return take(read, GRID, GRID.positions(), INSTRUMENTS)


def parts(of: Taken, position: str = "top x") -> dict[str, Decimal]:
    return {part.name: part.variance for part in of.parts_at(position)}


def test_repeatability_of_a_mean_is_that_of_one_over_the_number() -> None:
    """GUM 4.2.3: the variance of a mean of n is that of one over n; the instrument is known for 6 µm."""
    once, twice = taken({"top x": ("60 mm",)}), taken({"top x": ("60.001 mm", "60.002 mm")})
    assert parts(once)["repeatability"] == D("0.006") ** 2 / 12
    assert parts(twice)["repeatability, mean of 2"] == D("0.006") ** 2 / 24
    assert twice.values == {"top x": D("60.0015")}


def test_a_wider_scatter_than_the_instruments_counts_in_its_place() -> None:
    """By hand: 60.000, 60.006 and 60.012 have a variance of 36 µm² with two degrees of freedom."""
    found = taken({"top x": ("60.000 mm", "60.006 mm", "60.012 mm"), "top y": ("60.000 mm",)})
    (mean,) = (part for part in found.parts_at("top x") if "mean of 3" in part.name)
    assert (mean.variance, mean.freedom) == (D("0.000036") / 3, 2)
    assert parts(found, "top y")["repeatability"] == D("0.000036")


@given(st.lists(st.integers(-9, 9), min_size=2, max_size=5))
def test_repeating_never_makes_a_reading_worse_than_its_worst(offsets: list[int]) -> None:
    values = tuple(f"{60 + D(each) / 1000} mm" for each in offsets)
    found = taken({"top x": values})
    mean = sum(map(D, offsets), D(0)) / len(offsets)
    seen = sum(((D(each) - mean) ** 2 for each in offsets), D(0)) / (len(offsets) - 1)
    worst = max(D("0.006") ** 2 / 12, seen / 10**6)
    repeat = next(value for name, value in parts(found).items() if name.startswith("repeatability"))
    assert repeat <= worst / len(offsets) + D("1e-30")


def test_two_readings_of_one_spot_that_cannot_both_be_right() -> None:
    """10 µm either way and 6 µm of scatter: readings up to 26 µm apart are possible, and no further."""
    assert taken({"top x": ("60.000 mm", "60.026 mm")}).wrong == ""
    found = taken({"top x": ("60.000 mm", "60.027 mm"), "top y": ("60.000 mm",)})
    assert found.wrong == "at top x, 60.000 mm and 60.027 mm cannot both be right"
    assert found.values == {}


def test_two_blades_bracket() -> None:
    """GUM 4.3.7: anywhere between the blades alike, and either blade 5 µm off."""
    found = taken(
        {"top x": ("0.075 mm",), "top y": ("0.08 mm",)}, "blades", intervals={"top x": Interval(D("0.025"))}
    )
    assert {name: round(each * 10**6, 9) for name, each in parts(found).items()} == {
        "step between two blades": round(D(625) / 3, 9),
        "thickness of a blade": round(D(25) / 3, 9),
    }
    assert {name: round(each * 10**6, 9) for name, each in parts(found, "top y").items()} == {
        "limit of error": round(D(625) / 3, 9)
    }


ROUND = dict.fromkeys(("front x", "front y", "rear x", "rear y"), "59.990 mm")


def on_the_bench(values: dict[str, str], more: str = "") -> Gauged:
    typed = ", ".join(f"{place}: {value}" for place, value in values.items())
    text = (
        f"{more}\nbench:\n  - {{part: shaft_journal, place: 1, readings: {{diameter: "
        f"{{with: micrometer, values: {{{typed}}}}}}}}}\n"
    )
    rule_set = rules()
    sheet = small.engine(rule_set)
    case, document = small.case(text)
    return gauge(lay_out(sheet, case, rule_set, document), sheet, rule_set)


JOURNAL = 1
ARRIVED = "found_sizes: [{part: shaft_journal, size: 0 mm, read_on: the web}]"


def test_readings_that_contradict_one_another_have_no_standing() -> None:
    found = on_the_bench({**ROUND, "rear x": "[59.990 mm, 59.960 mm]"}, ARRIVED).dimensions[JOURNAL]["wear"]
    assert (found.measure, found.state) == (None, "contradictory")
    assert found.lacks == "diameter measured again: at rear x, 59.960 mm and 59.990 mm cannot both be right"
    assert all(each.state == "contradictory" for each in found.standings.values() if each.limit is not None)
    limited = [each for each in found.standings.values() if each.limit is not None]
    assert limited
    assert all({"inside", "above"} <= each.outcomes <= set(OUTCOMES) for each in limited)


@pytest.mark.parametrize(
    ("value", "turn"), [("59.491 mm", "0.50 mm"), ("60.490 mm", "0.50 mm"), ("59.36 mm", "0.025 in")]
)
def test_one_position_a_turn_off_is_questioned_and_does_not_count(value: str, turn: str) -> None:
    found = on_the_bench({**ROUND, "front y": value}, ARRIVED)
    (question,) = found.questions[JOURNAL]
    assert (question.reading, question.positions, question.stamp) == ("diameter", ("front y",), False)
    assert question.says.startswith("that cannot be right")
    assert turn in question.says
    assert found.dimensions[JOURNAL]["wear"].state == "contradictory"


def test_a_position_that_was_read_twice_stands() -> None:
    found = on_the_bench({**ROUND, "front y": "[59.491 mm, 59.491 mm]"}, ARRIVED)
    assert found.questions == {}
    measure = found.dimensions[JOURNAL]["wear"].measure
    assert measure is not None
    assert measure.value == pytest.approx(D("0.509"))


@pytest.mark.parametrize("value", ["59.970 mm", "59.700 mm", "59.200 mm"])
def test_wear_that_is_no_turn_is_not_questioned(value: str) -> None:
    assert on_the_bench({**ROUND, "front y": value}, ARRIVED).questions == {}


def test_a_whole_journal_a_turn_under_its_size_asks_for_the_stamp() -> None:
    """0.50 mm under is a listed size of this engine: it may have been ground, or misread."""
    found = on_the_bench(dict.fromkeys(ROUND, "59.480 mm"), ARRIVED)
    (question,) = found.questions[JOURNAL]
    assert question.stamp
    assert "-0.50 mm is a repair size too" in question.says
    assert found.dimensions[JOURNAL]["wear"].measure is not None
    ground = "found_sizes: [{part: shaft_journal, size: -0.50 mm, read_on: the web}]"
    assert on_the_bench(dict.fromkeys(ROUND, "59.480 mm"), ground).questions == {}
    over = on_the_bench(dict.fromkeys(ROUND, "60.500 mm"), ARRIVED).questions[JOURNAL]
    assert [each.stamp for each in over] == [False]


def test_a_contradiction_is_asked_about_and_settles_nothing() -> None:
    """The whole way: of two readings of one spot that cannot both be right, either alone would settle it."""

    def verdict(value: str) -> Verdict:
        typed = ", ".join(f"{place}: {value}" for place in ROUND)
        text = f"""{ARRIVED}
bench:
  - part: shaft_journal
    place: 1
    findings: {{heat: none, scoring: none}}
    readings: {{diameter: {{with: micrometer, values: {{{typed}}}}}}}
"""
        return on(decide_text(text), "shaft_journal", "1")

    assert verdict("59.990 mm").verdict == "reuse"
    assert "reuse" not in verdict("59.900 mm").possible
    both = verdict("[59.990 mm, 59.900 mm]")
    assert both.verdict == "undecided"
    assert {"reuse", *verdict("59.900 mm").possible} <= set(both.possible)
    (ask,) = (each for each in both.asks if each.reading == "wear")
    assert "cannot both be right" in ask.says
