"""What can be done on an item, before any rule is asked: walls, sleeves, needs, and the words of a sheet."""

from __future__ import annotations

from decimal import Decimal

import pytest

from advisor._resources import demo_dir
from advisor.gauging.repair import complete
from advisor.sheets.bench import BenchItem
from tests.gauging.work_rig import PISTON_TWO, figure, item, walls, work_faults, workshop

ALL = {"two": "9 mm", "three": "9 mm", "four": "9 mm"}


def test_what_no_sheet_speaks_of_can_be_done() -> None:
    shop = workshop()
    assert shop.facts(item(shop, "cylinder_block"), "stitch_crack").feasible is True


def test_work_to_listed_sizes_without_a_list_cannot() -> None:
    shop = workshop()
    assert shop.feasible(item(shop, "inlet_guide", "1"), "ream_inlet_guide_for_oversize_stem") is False


def test_grinding_takes_its_answer_from_the_repair_sizes() -> None:
    shop = workshop()
    journal = item(shop, "main_journal", "3")
    band = shop.band(journal, "grind_main_journals")
    assert band is not None
    assert shop.feasible(journal, "grind_main_journals") is band.possible


# Sleeved to 104 mm, less 0.05 to 0.08 mm, from a bore of 100.000 mm as new: 1.96 to 1.975 mm come off each
# side, less what is worn off already (0.060 mm and the gauge's error on cylinder 1). 3.0 mm must be left.
@pytest.mark.parametrize(
    ("wall", "feasible"), [("5.1 mm", True), ("5.0 mm", None), ("4.9 mm", None), ("4.7 mm", False)]
)
def test_a_sleeve_wants_its_wall(wall: str, feasible: bool | None) -> None:
    shop = workshop((), (walls(one=wall),))
    bore = item(shop, "cylinder_bore", "1")
    facts = shop.facts(bore, "sleeve_bore")
    assert facts.feasible is feasible
    left = figure(facts, "wall_left")
    hole = complete(shop.bench.items[bore], "cylinder_diameter", shop.ruleset)
    assert hole is not None
    measured, gauge = Decimal(wall.split(maxsplit=1)[0]), hole.limit_of_error
    # Iron by a scale of steel, in a shop that is 20 °C to a kelvin, is a ten-thousandth of a mm off at most.
    near = Decimal("0.0002")
    assert abs(left.low - (measured - Decimal("0.1") - Decimal("3.95") / 2)) < near
    most = measured + Decimal("0.1") - (Decimal("3.92") / 2 - Decimal("0.060") - gauge)
    assert abs(left.high - most) < near
    assert bool(facts.against) is (feasible is False)


def test_a_wall_that_nobody_measured_is_asked_for() -> None:
    shop = workshop()
    bore = item(shop, "cylinder_bore", "1")
    facts = shop.facts(bore, "sleeve_bore")
    assert facts.feasible is None
    assert [(each.item, each.name) for each in facts.lacks] == [(bore, "bore_wall")]


def test_the_sleeve_is_a_way_for_one_of_a_set_where_no_listed_size_serves() -> None:
    """Cylinder 3 is worn too far for the last oversize; the others are standard and stay so."""
    far = (("top_of_ring_travel across: 100.152 mm", "top_of_ring_travel across: 101.052 mm"),)
    shop = workshop((), (*far, walls(one="9 mm", **ALL)))
    third, first = item(shop, "cylinder_bore", "3"), item(shop, "cylinder_bore", "1")
    assert shop.feasible(third, "bore_oversize") is False
    facts = shop.facts(third, "sleeve_bore")
    assert facts.feasible is True
    assert (
        "it comes back to the size that the others of its set have, so they may stay as they are"
        in facts.says
    )
    assert shop.facts(first, "sleeve_bore").says == facts.says


@pytest.mark.parametrize(
    ("sizes", "says"),
    [
        ("0.50 mm", "the others of its set have another size: bring all to one"),
        ("", "the size of the others of its set is not known: read it before this one is finished"),
    ],
)
def test_a_sleeve_says_when_the_others_are_not_standard(sizes: str, says: str) -> None:
    old = "  - {part: cylinder_bore, size: 0 mm,"
    one = "  - {part: cylinder_bore, place: '3', size: 0 mm, read_on: its crown}\n"
    rest = f"  - {{part: cylinder_bore, place: '1, 2, 4', size: {sizes}, read_on: crowns}}\n" if sizes else ""
    cut = (old, f"{one}{rest}  - {{part: thrust_washer, size: 0 mm,")
    shop = workshop((), (cut, walls(three="9 mm")))
    assert says in shop.facts(item(shop, "cylinder_bore", "3"), "sleeve_bore").says


def test_measured_walls_bound_the_stress_where_they_are_thinner_than_the_drawing() -> None:
    thick, thin = (workshop((), (walls(one=wall),)) for wall in ("9 mm", "5.3 mm"))
    tension = [
        figure(shop.facts(item(shop, "cylinder_bore", "1"), "sleeve_bore"), "hoop_outer").high
        for shop in (thick, thin)
    ]
    assert tension[1] > tension[0]


@pytest.mark.parametrize(("wall", "possible"), [("9 mm", True), ("4.3 mm", None), ("3.9 mm", False)])
def test_an_oversize_wants_its_wall(wall: str, possible: bool | None) -> None:
    """0.50 mm takes 0.25 mm off each side, and 4.0 mm must be left."""
    shop = workshop((), (walls(one=wall, **ALL),))
    band = shop.band(item(shop, "cylinder_bore", "1"), "bore_oversize")
    assert band is not None
    assert band.possible is possible
    first = item(shop, "cylinder_bore", "1")
    assert band.walls == ((first,) if possible is None else ())
    assert [each.name for each in shop.facts(first, "bore_oversize").lacks] == ["bore_wall"] * len(band.walls)


@pytest.mark.parametrize(
    ("margin", "feasible"), [("1.2 mm", True), ("0.6 mm", False), ("could not be measured", None)]
)
def test_a_need_must_stand_inside_its_limit(margin: str, feasible: bool | None) -> None:
    """A valve is refaced only while its margin is inside the limit for discard, 0.8 mm."""
    shop = workshop()
    valve = item(shop, "inlet_valve", "1")
    assert shop.feasible(valve, "reface_valve") is True
    entry = (
        "\nbench:\n",
        "\nbench:\n  - {part: inlet_valve, place: '1', moment: after machining, "
        f"readings: {{valve_margin_height: {{with: caliper, value: {margin}}}}}}}\n",
    )
    done = ("\ndone:\n", "\ndone:\n  - {operation: reface_valve, part: inlet_valve, place: '1'}\n")
    facts = workshop((), (entry, done)).facts(valve, "reface_valve")
    assert facts.feasible is feasible
    assert [each.name for each in facts.lacks] == (["valve_margin"] if feasible is None else [])
    assert bool(facts.against) is (feasible is False)


def test_an_answer_is_the_same_each_time() -> None:
    shop = workshop((), (PISTON_TWO,))
    head = item(shop, "cylinder_head")
    assert shop.facts(head, "skim_head") is shop.facts(head, "skim_head")
    assert isinstance(shop.bench.items[head], BenchItem)


def test_lines_of_an_order_are_in_the_sheet_s_units() -> None:
    shop = workshop((("units: mm", "units: inch"),))
    lines = shop.facts(item(shop, "exhaust_seat", "1"), "renew_seat_insert").lines(shop.sheet.units)
    assert "housing bore 1.4961 in to 1.4970 in" in lines
    mm = workshop()
    lines = mm.facts(item(mm, "exhaust_seat", "1"), "renew_seat_insert").lines(mm.sheet.units)
    assert "housing bore 38.000 mm to 38.025 mm" in lines


def test_the_demonstration_has_no_fault() -> None:
    assert work_faults(()) == []


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("      reface_valve:\n        needs", "      skim_deck:\n        needs", "not-of-this-kind"),
        ("      reface_valve:\n        needs", "      reface_valv:\n        needs", "unknown-word"),
        ("needs: {valve_margin: discard}", "needs: {valve_margin: reassembly}", "size-missing"),
        ("needs: {valve_margin: discard}", "needs: {head_softening: discard}", "not-of-this-kind"),
        ("wall: {reading: bore_wall, least: 3", "wall: {reading: bore_hall, least: 3", "unknown-word"),
        ("bore_wall, least: 3.0 mm", "bore_wall, least: 0 mm", "repair-stock"),
        ("wall: {reading: bore_wall, least: 3", "wall: {reading: head_gap, least: 3", "not-of-this-kind"),
        ("opens_out: cylinder_diameter", "opens_out: cylinder_depth", "unknown-word"),
        ("flatness: deck_out_of_flat", "flatness: block_softening", "not-of-this-kind"),
        ("thickness: deck_height_left", "thickness: deck_out_of_flat", "size-missing"),
        ("sinks: [valve_sunk]", "sinks: [spring_force]", "unit-dimension"),
        ("protrusion: {reading: piston_protrusion, part: piston}",
         "protrusion: {reading: piston_protrusion, part: pistons}", "unknown-word"),
        ("protrusion: {reading: piston_protrusion,", "protrusion: {reading: head_gap,", "not-of-this-kind"),
        ("run_out: {reading: run_out, on: {part_of: crankshaft}}",
         "run_out: {reading: run_out, on: {part_of: cylinder_block}}", "relation-links-nothing"),
        ("run_out: {reading: run_out, on: {part_of: crankshaft}}", "run_out: {reading: run_out}",
         "not-of-this-kind"),
        ("        stock: 0.080 mm\n", "        stock: 0.080 mm\n        grades: [0.50 mm]\n", "repair-steps"),
    ],
)  # fmt: skip
def test_words_that_do_not_fit_are_told(old: str, new: str, code: str) -> None:
    assert code in {each.code for each in work_faults(((old, new),))}


def test_a_skim_wants_the_geometry() -> None:
    whole = (demo_dir() / "marsh_pump" / "engine.yaml").read_text("utf-8")
    start = whole.index("geometry:\n")
    block = whole[start : whole.index("\nparts:", start) + 1]
    assert [each.code for each in work_faults(((block, ""),))] == ["size-missing", "size-missing"]
