"""Skims of head and deck on the demonstration, its figures worked out a second time, and what they forbid."""

from __future__ import annotations

import math

import pytest

from advisor.gauging.figures import WorkFacts
from advisor.gauging.repair import complete
from advisor.gauging.work import Workshop
from tests.gauging.work_rig import PISTON_TWO, Edits, figure, item, workshop

FLAT = 0.16
"""The widest gap under the straight edge on the demonstration's head; 0.06 mm on its deck."""

STOCK = 0.02
BORE, STROKE, GASKET_BORE, OPENING = 100.0, 110.0, 102.0, 55.3
CHAMBER, CROWN = 4.0, 41.0
PROUD = 0.43
"""How far the highest piston stands above the deck."""


def head(engine: Edits = (), case: Edits = (PISTON_TWO,)) -> WorkFacts:
    shop = workshop(engine, case)
    return shop.facts(item(shop, "cylinder_head"), "skim_head")


def deck(engine: Edits = (), case: Edits = (PISTON_TWO,)) -> WorkFacts:
    shop = workshop(engine, case)
    return shop.facts(item(shop, "deck_face"), "skim_deck")


def span(facts: WorkFacts, name: str) -> tuple[float, float]:
    found = figure(facts, name)
    return float(found.low), float(found.high)


def circle(diameter: float) -> float:
    return math.pi * diameter**2 / 4


def ratio(chamber: float, gasket: float, proud: float) -> float:
    """Compression ratio from cm³ and mm, from the definition: (swept + left) / left."""
    left = chamber + CROWN + (circle(GASKET_BORE) * gasket - circle(BORE) * proud) / 1000
    swept = circle(BORE) * STROKE / 1000
    return (swept + left) / left


def error(shop: Workshop, kind: str, where: str, reading: str) -> float:
    """The greatest error of a reading on the demonstration, with whatever it is made up of."""
    taken = complete(shop.bench.items[item(shop, kind, where)], reading, shop.ruleset)
    assert taken is not None
    return float(taken.limit_of_error)


def dial(shop: Workshop) -> float:
    return error(shop, "piston", "1", "piston_protrusion")


def test_what_comes_off_the_head_and_what_is_left() -> None:
    shop = workshop()
    facts = shop.facts(item(shop, "cylinder_head"), "skim_head")
    feeler = error(shop, "cylinder_head", "", "head_gap")
    caliper = error(shop, "cylinder_head", "", "head_height")
    off = (FLAT - feeler + STOCK, FLAT + feeler + STOCK)
    assert span(facts, "comes_off") == pytest.approx(off)
    assert span(facts, "height_left") == pytest.approx((89.90 - caliper - off[1], 89.90 + caliper - off[0]))
    assert figure(facts, "height_left").kept is True


def test_the_head_changes_the_ratio_and_not_the_clearance() -> None:
    shop = workshop((), (PISTON_TWO,))
    facts = shop.facts(item(shop, "cylinder_head"), "skim_head")
    low, high = PROUD - dial(shop), PROUD + dial(shop)
    assert span(facts, "ratio_before") == pytest.approx((ratio(CHAMBER, 1.3, low), ratio(CHAMBER, 1.3, high)))
    after = [
        ratio(CHAMBER - circle(OPENING) * off / 1000, 1.3, proud)
        for off, proud in zip(span(facts, "comes_off"), (low, high), strict=True)
    ]
    assert span(facts, "ratio_after") == pytest.approx(tuple(after))
    assert span(facts, "piston_to_head") == pytest.approx((1.3 - high, 1.3 - low))
    assert facts.feasible is True
    assert "head gasket 2 notches, by the protrusion as measured" in facts.says


def test_the_deck_raises_the_pistons_and_asks_for_another_gasket() -> None:
    """0.43 mm and a cut of 0.08 mm come to 0.51 mm, too near 0.50 mm for one grade: the thicker serves."""
    shop = workshop((), (PISTON_TWO,))
    facts = shop.facts(item(shop, "deck_face"), "skim_deck")
    feeler = error(shop, "deck_face", "", "deck_gap")
    off = (0.06 - feeler + STOCK, 0.06 + feeler + STOCK)
    stands = (PROUD - dial(shop) + off[0], PROUD + dial(shop) + off[1])
    assert span(facts, "protrusion") == pytest.approx(stands)
    assert span(facts, "ratio_after") == pytest.approx(
        (ratio(CHAMBER, 1.4, stands[0]), ratio(CHAMBER, 1.4, stands[1]))
    )
    assert span(facts, "piston_to_head") == pytest.approx((1.4 - stands[1], 1.4 - stands[0]))
    assert facts.says == (
        "head gasket 3 notches or 2 notches is to be expected: order after measuring the protrusion again",
    )
    assert facts.feasible is True


def test_a_published_skim() -> None:
    """68 x 75 mm at 8 to 1, 0.25 mm off: 8.167 with the chamber as wide as the bore (worked out from Mathur
    and Sharma, example 1.1, whose 8 to 1 with 1089.5 cm³ gives a chamber of 38.91 cm³)."""
    engine = (
        ("  bore: 100.000 mm\n  stroke: 110.00 mm", "  bore: 68.000 mm\n  stroke: 75.00 mm"),
        ("  chamber_volume: 4.0 cm³", "  chamber_volume: 30.00 cm³"),
        ("  chamber_opening: 55.3 mm", "  chamber_opening: 68.000 mm"),
        ("  crown_volume: 41.0 cm³", f"  crown_volume: {8.9107 - circle(68) * (1.3 - 0.43) / 1000:.4f} cm³"),
        ("  gasket_bore: 102.0 mm", "  gasket_bore: 68.000 mm"),
        ("piston_diameter: 99.880 mm", "piston_diameter: 67.880 mm"),
    )
    shop = workshop(engine, (PISTON_TWO, ("along_left: 0.16 mm", "along_left: 0.23 mm")))
    facts = shop.facts(item(shop, "cylinder_head"), "skim_head")
    before, after = span(facts, "ratio_before"), span(facts, "ratio_after")
    assert sum(before) / 2 == pytest.approx(8.0, abs=0.001)
    assert sum(after) / 2 == pytest.approx(8.167, abs=0.002)


def test_a_piston_that_nobody_measured_leaves_the_gasket_open() -> None:
    facts = deck(case=())
    shop = workshop()
    assert facts.feasible is None
    assert [(each.item, each.name) for each in facts.lacks] == [
        (item(shop, "piston", "2"), "piston_protrusion")
    ]
    assert facts.says == ("head gasket: order after measuring the protrusion of piston 2",)
    assert {each.name for each in facts.figures} == {"comes_off", "height_left"}


@pytest.mark.parametrize(("least", "feasible"), [("319.700", True), ("319.830", None), ("319.900", False)])
def test_the_least_height_decides(least: str, feasible: bool | None) -> None:
    """319.91 mm less 0.07 to 0.09 mm leaves 319.80 to 319.86 mm, with the height's own 0.02 mm."""
    old = "{dimension: deck_height_left, purpose: discard, at_least: 319.60 mm"
    facts = deck(((old, old.replace("319.60", least)),))
    assert facts.feasible is feasible
    assert bool(facts.against) is (feasible is False)


@pytest.mark.parametrize(("least", "feasible"), [("0.850 mm", True), ("0.890 mm", None), ("0.950 mm", False)])
def test_the_least_clearance_decides(least: str, feasible: bool | None) -> None:
    """1.40 mm of gasket over 0.49 to 0.53 mm of piston."""
    facts = deck((("least_piston_to_head: 0.70 mm", f"least_piston_to_head: {least}"),))
    assert facts.feasible is feasible


@pytest.mark.parametrize(("most", "feasible"), [("18.5", True), ("17.0", False)])
def test_the_greatest_compression_decides(most: str, feasible: bool) -> None:
    facts = head((("most_compression_ratio: 18.5", f"most_compression_ratio: {most}"),))
    assert facts.feasible is feasible


def test_a_protrusion_that_no_gasket_is_for_forbids_the_deck_and_not_the_head() -> None:
    short = ((", over: 0.50 mm, up_to: 0.60 mm", ", over: 0.50 mm, up_to: 0.501 mm"),)
    proud = (
        PISTON_TWO,
        ("values: {front: 0.42 mm, rear: 0.43 mm}", "values: {front: 0.62 mm, rear: 0.63 mm}"),
    )
    assert deck(short, proud).feasible is False
    assert head(short, proud).feasible is True
    assert "the engine maker lists no head gasket for that protrusion" in head(short, proud).says


def test_valves_come_up_by_what_comes_off() -> None:
    """The valve that is least sunk has 1.10 mm; a limit that it comes up to is mended at the seat."""
    facts = head()
    found = figure(facts, "valve_sunk")
    off = span(facts, "comes_off")
    shop = workshop()
    depth = error(shop, "inlet_valve", "2", "valve_recession")
    assert float(found.low) == pytest.approx(1.10 - depth - off[1])
    high = ("purpose: reassembly, at_least: 0.70 mm", "purpose: reassembly, at_least: 0.92 mm")
    low = (
        "{dimension: valve_sunk, purpose: new, at_least: 0.80 mm",
        "{dimension: valve_sunk, purpose: new, at_least: 0.95 mm",
    )
    facts = head((high, low))
    assert facts.feasible is True
    (says,) = (each for each in facts.says if each.startswith("cut deeper at"))
    assert "inlet valve 2" in says


def test_a_head_out_of_flat_by_nobody_knows_what() -> None:
    shop = workshop(
        (), (PISTON_TWO, ("along_left: 0.16 mm, along_right", "along_left: not looked at, along_right"))
    )
    facts = shop.facts(item(shop, "cylinder_head"), "skim_head")
    assert (facts.feasible, [each.name for each in facts.lacks]) == (None, ["head_out_of_flat"])


def test_where_it_hangs_on_the_gasket_alone_the_grades_are_named() -> None:
    """Beside the largest protrusion listed, and within the error of the reading of it: nothing is missing."""
    thin = [("over: 0.50 mm, up_to: 0.60 mm", "over: 0.50 mm, up_to: 0.515 mm")]
    facts = deck(thin)
    assert (facts.feasible, facts.lacks) == (None, ())
    (why,) = [each for each in facts.why_open() if "head gaskets" in each]
    assert "1 notch (0.25 mm to 0.40 mm)" in why
    assert "3 notches (0.50 mm to 0.515 mm)" in why
