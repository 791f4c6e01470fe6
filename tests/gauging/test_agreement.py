"""Two ways to know one thing, on the real rule set: agreeing, or contradictory and without a standing."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.files import load_rules
from advisor.gauging import GaugedDimension, gauge
from advisor.gauging.press import MATERIALS
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine_check import load_engine
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import MaterialWord

ENGINE = Path(__file__).resolve().parents[2] / "cases_demo" / "marsh_pump" / "engine.yaml"


@pytest.fixture(scope="module")
def rules() -> RuleSet:
    return load_rules()


def of(rules: RuleSet, bench: str, part: str, place: str, name: str) -> GaugedDimension:
    sheet = load_engine(ENGINE, rules)
    document = parse(f"format: 1\ncase: a trial\nengine_sheet: engine.yaml\nbench:\n{bench}", "case.yaml")
    laid = lay_out(sheet, validate(CaseSheet, document), rules, document)
    index = next(i for i, item in enumerate(laid.items) if (item.key.kind, item.key.where) == (part, place))
    return gauge(laid, sheet, rules).dimensions[index][name]


def bearing(strip: str, bore: str = "70.062", journal: str = "69.980") -> str:
    journals = ", ".join(
        f"{a} {b}: {journal} mm" for a in ("front", "middle", "rear") for b in ("vertical", "horizontal")
    )
    return f"""
  - part: main_journal
    place: 2
    readings:
      journal_diameter: {{with: outside_micrometer, values: {{{journals}}}}}
      plastic_strip: {{values: {{widest: {strip} mm, narrowest: {strip} mm}}}}
  - part: main_bore
    place: 2
    readings:
      bore_with_shells: {{with: bore_gauge, values: {{front vertical: {bore} mm, rear vertical: {bore} mm}}}}
"""


def test_a_strip_that_agrees_is_let_be(rules: RuleSet) -> None:
    found = of(rules, bearing("0.085"), "main_journal", "2", "main_clearance")
    assert found.measure is not None
    assert found.contradictions == ()


def test_a_strip_that_does_not_takes_the_standing_from_both(rules: RuleSet) -> None:
    found = of(rules, bearing("0.140"), "main_journal", "2", "main_clearance")
    assert (found.measure, found.state) == (None, "contradictory")
    (wrong,) = found.contradictions
    assert (float(wrong.one.value), float(wrong.other.value)) == pytest.approx((0.082, 0.140))
    assert float(wrong.apart) == pytest.approx(0.058)
    assert wrong.other_from == "oil clearance by a crushed strip"
    assert {each.state for each in found.standings.values() if each.limit is not None} == {"contradictory"}
    assert "0.140 mm" in found.lacks
    assert "0.082" in found.lacks


@settings(max_examples=40, deadline=None)
@given(st.integers(30, 170))
def test_by_hand_they_contradict_beyond_twice_the_uncertainty(micrometres: int) -> None:
    """The play of 82 µm has u² = (5² + 5² + 5²) / 3 + (3² + 1²) / 12 in µm², and the strip 10² / 3."""
    u = math.sqrt(75 / 3 + 10 / 12 + 100 / 3)
    found = of(load_rules(), bearing(f"{micrometres / 1000:.3f}"), "main_journal", "2", "main_clearance")
    assert bool(found.contradictions) == (abs(micrometres - 82) > 2 * u)


def bore(gaps: tuple[str, str], top: str = "95.060") -> str:
    levels = {"top_of_ring_travel": top, "middle": "95.040", "bottom_of_ring_travel": "95.010"}
    values = ", ".join(
        f"{level} {way}: {size} mm" for level, size in levels.items() for way in ("along", "across")
    )
    return f"""
  - part: cylinder_bore
    place: 1
    readings:
      cylinder_diameter: {{with: bore_gauge, values: {{{values}}}}}
      ring_gap_levels:
        with: feeler_gauge_fine
        values:
          top_of_ring_travel: {gaps[0]}
          bottom_of_ring_travel: {gaps[1]}
"""


@pytest.mark.parametrize(
    ("gaps", "agrees"),
    [
        # pi times 0.050 mm is 0.157 mm.
        (("{goes: 0.54 mm, stops: 0.58 mm}", "{goes: 0.38 mm, stops: 0.42 mm}"), True),
        (("{goes: 0.90 mm, stops: 0.94 mm}", "{goes: 0.38 mm, stops: 0.42 mm}"), False),
        (("{goes: 0.38 mm, stops: 0.42 mm}", "{goes: 0.38 mm, stops: 0.42 mm}"), False),
    ],
)
def test_the_growth_of_a_ring_gap_is_pi_times_the_taper(
    rules: RuleSet, gaps: tuple[str, str], agrees: bool
) -> None:
    found = of(rules, bore(gaps), "cylinder_bore", "1", "bore_taper")
    assert (found.contradictions == ()) == agrees
    assert (found.measure is not None) == agrees
    assert (found.state == "contradictory") != agrees


def test_what_is_still_missing_is_held_against_nothing(rules: RuleSet) -> None:
    text = bearing("0.140").replace(", rear horizontal: 69.980 mm", "")
    found = of(rules, text, "main_journal", "2", "main_clearance")
    assert found.contradictions == ()
    # The strip is whole and the diameters are not, so the strip is what it is known by.
    assert found.measure is not None
    assert float(found.measure.value) == pytest.approx(0.140)


def test_every_metal_of_the_words_has_figures() -> None:
    metals = MaterialWord.model_fields["metal"].annotation
    assert set(getattr(metals, "__args__", ())) == set(MATERIALS)


MEASURED_BY_HAND = {
    "bore_wear", "bore_taper", "bore_out_of_round", "journal_wear", "journal_taper",
    "journal_out_of_round", "main_clearance", "big_end_clearance", "end_play", "ring_end_gap",
    "ring_side_clearance", "piston_clearance", "pin_fit_in_piston", "valve_margin", "seat_width",
    "seat_out_of_true", "pin_fit_in_rod", "stem_clearance", "valve_sunk", "spring_shortening",
    "spring_out_of_square", "spring_force", "spring_load_off", "spring_height_spread",
    "rod_bend_per_length", "rod_twist_per_length", "rod_weight_spread", "head_out_of_flat",
    "deck_out_of_flat", "shaft_run_out", "camshaft_bend", "backlash", "idler_clearance",
    "cam_oil_clearance", "liner_stand_out", "liner_stand_out_between", "rotor_end_clearance",
    "rotor_tip_clearance", "rotor_body_clearance", "compression", "compression_spread",
    "compression_spread_share", "compression_short",
}  # fmt: skip


@pytest.mark.parametrize("name", sorted(MEASURED_BY_HAND))
def test_where_to_measure_is_told_for_every_reading_behind_it(rules: RuleSet, name: str) -> None:
    vocabulary = rules.vocabulary
    for formula in vocabulary.dimensions[name].formulas:
        behind = [
            formula.reading,
            formula.over,
            *(side.reading for side in (formula.outer, formula.inner) if side),
        ]
        for reading in filter(None, behind):
            assert len(vocabulary.readings[reading].sketch.split()) >= 8, reading
