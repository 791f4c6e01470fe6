"""Bores, liners, pistons, rings and pins held against published figures and the trade's chains.

Sources, by the key under which `rulesets/engine/sources.yaml` enters them:

* US Army TM 10-3930-647-14&P, P0175 - wear limits of used parts (rule of thumb)
* US Navy NAVEDTRA 14264A, ch. 3 - cylinders, sleeves, compression (official)
* US Navy NAVEDTRA 14076, pp. 3-4 to 3-6 and 3-15 - liners, rings (official)
* FAA-H-8083-32, ch. 10, reposted - measuring cylinders (official reprint)
* Hastings Piston Rings, Oversize cylinders - ring gaps (trade guide)
* Greg's Engine, Cylinder sleeve; Underhood Service - press of dry sleeves (trade guides)
* Engine Builder, May 2004; L. Carley; a school textbook's chapter 57; Overdrive, 2014 (trade guides)

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.sheets.engine import EnginePart
from advisor.units import read_quantity
from advisor.verdicts.model import Decision, Verdict
from tests.outside.bores import BOSS, BUSH, CYLINDER, FOUR, PIN, Bench, even, readings, single
from tests.outside.crank import asked, because, fired, of, rules
from tests.outside.test_handbook_table import _rows

INCH = Fraction(254, 10)


def _limit(kind: str, dimension: str, purpose: str, **new: str) -> ResolvedLimit | None:
    part = EnginePart(new={name: read_quantity(text) for name, text in new.items()})
    return resolve(part, kind, dimension, purpose, rules().limits)  # type: ignore[arg-type]


def _inches(limit: ResolvedLimit | None, side: str) -> Fraction:
    assert limit is not None
    assert limit.rule_of_thumb
    value = getattr(limit, side)
    assert value is not None
    return Fraction(value) / INCH


def _tasks(verdict: Verdict) -> set[str]:
    return {task.task for task in verdict.tasks}


def _work(verdict: Verdict) -> list[str]:
    return [each.operation for each in verdict.operations]


def _levels(top: str, middle: str, bottom: str, across: str = "") -> str:
    """Six readings of a bore; `across` is the reading across at the top, where it differs."""
    values = dict(zip(CYLINDER, (top, across or top, middle, middle, bottom, bottom), strict=True))
    return readings("cylinder_diameter", values)


def _new_rings(decision: Decision) -> Verdict:
    return next(each for each in decision.verdicts if (each.part, each.origin) == ("piston_ring_set", "new"))


def _bench_with_new_rings(gap: str, **findings: str) -> Bench:
    told = ", ".join(f"{name}: {extent}" for name, extent in findings.items())
    ring_gap = readings("ring_gap", dict.fromkeys(("top", "second", "oil"), gap))
    side = readings("ring_side_gap", dict.fromkeys(("top", "second"), "0.003 in"))
    return Bench().line(
        "{part: piston_ring_set, place: 1, origin: new, moment: clean, "
        f"findings: {{{told}}}, otherwise: none, readings: {{{ring_gap}, {side}}}}}"
    )


def test_the_tables_of_bores_pistons_and_compression_are_complete() -> None:
    """The published facts were numbered Y1 to Y28 (no Y19, Y21 to Y23), P1 to P16 and T1 to T11."""
    wanted = {f"Y{n}" for n in (*range(1, 19), 20, *range(24, 29))}
    wanted |= {f"P{n}" for n in range(1, 17)} | {f"T{n}" for n in range(1, 12)} | {"H6", "H7"}
    assert wanted <= _rows().keys()


# ---- wear limits: US Army TM 10-3930-647-14&P (rule of thumb) ----


@pytest.mark.parametrize("kind", ["cylinder_bore", "wet_liner"])
@pytest.mark.parametrize(
    ("bore", "most"), [("3.000 in", "0.003"), ("4.000 in", "0.004"), ("5.500 in", "0.0055")]
)
def test_wear_of_a_bore_by_its_diameter(kind: str, bore: str, most: str) -> None:
    assert _inches(_limit(kind, "bore_wear", "discard", cylinder_diameter=bore), "at_most") == Fraction(most)


@pytest.mark.parametrize("kind", ["cylinder_bore", "wet_liner"])
def test_taper_of_a_bore_by_the_piston_travel(kind: str) -> None:
    limit = _limit(kind, "bore_taper", "discard", cylinder_diameter="4.000 in", piston_travel="4.500 in")
    assert _inches(limit, "at_most") == Fraction("0.00225")
    assert _limit(kind, "bore_taper", "discard", cylinder_diameter="4.000 in") is None


@pytest.mark.parametrize(
    ("kind", "dimension", "size", "new", "most"),
    [
        ("piston", "piston_wear", "piston_diameter", "4.000 in", "0.002"),
        ("piston", "pin_bore_wear", "pin_bore_diameter", "1.250 in", "0.000625"),
        ("small_end_bush", "small_end_wear", "small_end_diameter", "1.250 in", "0.000625"),
        ("piston_pin", "piston_pin_wear", "piston_pin_diameter", "1.250 in", "0.001"),
        ("piston_pin", "piston_pin_wear", "piston_pin_diameter", "2.000 in", "0.001"),
    ],
)
def test_wear_of_pistons_pins_and_bushes(kind: str, dimension: str, size: str, new: str, most: str) -> None:
    assert _inches(_limit(kind, dimension, "discard", **{size: new}), "at_most") == Fraction(most)


@pytest.mark.parametrize(("size", "verdict"), [("4.0037 in", "reuse"), ("4.0043 in", "recondition")])
def test_a_bore_of_four_inches_may_wear_by_four_thousandths(size: str, verdict: str) -> None:
    """0.001 in per inch: 0.004 in (Y2); beyond it the bore is cut and gets larger pistons (Y27)."""
    found = of(
        Bench().measured("cylinder_bore", "1", even("cylinder_diameter", CYLINDER, size)).decide(),
        "cylinder_bore",
        "1",
    )
    assert found.verdict == verdict
    assert ("bore-worn" in because(found)) == (verdict == "recondition")


@pytest.mark.parametrize(("top", "verdict"), [("4.0020 in", "reuse"), ("4.0032 in", "recondition")])
def test_taper_is_what_the_top_has_over_the_bottom(top: str, verdict: str) -> None:
    """Bottom 4.0003 in; half a thousandth per inch of 4.5 in is 0.00225 in (Y3, Y5); cut oversize (Y26)."""
    bench = Bench().measured("cylinder_bore", "1", _levels(top, "4.0010 in", "4.0003 in"))
    found = of(bench.decide(), "cylinder_bore", "1")
    assert found.verdict == verdict
    if verdict == "recondition":
        assert "bore-tapered" in because(found)
        assert _work(found) == ["bore_oversize"]


def test_a_worn_piston_a_worn_boss_a_worn_pin_and_a_worn_bush() -> None:
    """P10: 0.0005 in per inch; P12: the same; P11: 0.001 in. Each with its neighbour just inside."""
    inside = (
        Bench()
        .measured("piston", "1", single("piston_diameter", "3.993600 in"))
        .measured("piston", "1", even("pin_bore_diameter", BOSS, "1.250500 in"))
        .measured("piston_pin", "1", even("piston_pin_diameter", PIN, "1.249000 in"))
        .decide()
    )
    assert of(inside, "piston", "1").verdict == "reuse"
    assert of(inside, "piston_pin", "1").verdict == "reuse"
    for reading, rule in (
        (single("piston_diameter", "3.992200 in"), "piston-worn"),
        (even("pin_bore_diameter", BOSS, "1.250800 in"), "piston-pin-bore-worn"),
    ):
        assert rule in because(of(Bench().measured("piston", "1", reading).decide(), "piston", "1"))
    pin = Bench().measured("piston_pin", "1", even("piston_pin_diameter", PIN, "1.248600 in")).decide()
    assert "pin-worn" in because(of(pin, "piston_pin", "1"))
    bush = Bench().measured("small_end_bush", "1", even("small_end_diameter", BUSH, "1.251300 in")).decide()
    assert "small-end-bush-worn-in-itself" in because(of(bush, "small_end_bush", "1"))
    sound = Bench().measured("small_end_bush", "1", even("small_end_diameter", BUSH, "1.251000 in")).decide()
    assert of(sound, "small_end_bush", "1").verdict == "reuse"


@pytest.mark.parametrize(("extent", "verdict"), [("light", "reuse"), ("smeared", "recondition")])
def test_a_rod_whose_bush_is_spent_gets_a_new_one(extent: str, verdict: str) -> None:
    """NAVEDTRA 14076 p. 3-18 (R16): a new bush may need reaming, and alignment is checked again."""
    decision = Bench().found("small_end_bush", "1", moment="clean", small_end_scoring=extent).decide()
    rod = of(decision, "connecting_rod", "1")
    assert rod.verdict == verdict
    assert (_work(rod) == ["renew_small_end_bush"]) == (verdict == "recondition")
    assert of(decision, "small_end_bush", "1").verdict == ("replace" if verdict == "recondition" else "reuse")


def test_rings_that_were_disturbed_are_renewed_and_new_ones_serve() -> None:
    """P13, carried over to all that were fitted: renewed as a matter of course."""
    decision = _bench_with_new_rings("0.018 in").decide()
    assert of(decision, "piston_ring_set", "2").ground == "routine"
    assert because(of(decision, "piston_ring_set", "2")) == {"rings-always-new"}
    assert _new_rings(decision).verdict == "reuse"


# ---- measuring: FAA-H-8083-32 reposted, NAVEDTRA 14076 p. 3-5, NAVEDTRA 14264A pp. 3-4 and 3-12 ----


def test_a_bore_read_in_one_direction_only_is_not_cleared() -> None:
    """Two places at right angles in each level (Y4)."""
    along = {position: "4.0005 in" for position in CYLINDER if position.endswith("along")}
    found = of(
        Bench().measured("cylinder_bore", "1", readings("cylinder_diameter", along)).decide(),
        "cylinder_bore",
        "1",
    )
    assert found.verdict == "undecided"
    assert ("cylinder_bore", "1", "bore_out_of_round") in asked(found)


def test_a_liner_is_read_at_three_levels() -> None:
    """Top of the ring travel, middle and bottom (Y7): without the top it is not cleared."""
    low = {position: "4.0005 in" for position in CYLINDER if not position.startswith("top")}
    bench = Bench(liners="wet").measured("wet_liner", "1", readings("cylinder_diameter", low))
    found = of(bench.decide(), "wet_liner", "1")
    assert found.verdict == "undecided"
    assert ("wet_liner", "1", "bore_wear") in asked(found)


def test_a_skirt_that_nobody_measured_is_asked_for_and_one_that_cannot_be_is_replaced() -> None:
    """Across the thrust axis (P15); the safe side is to replace (common practice, no source)."""
    bare = Bench().measured("piston", "1", "piston_diameter: {value: not looked at}")
    assert ("piston", "1", "piston_wear") in asked(of(bare.decide(), "piston", "1"))
    lost = Bench().measured("piston", "1", "piston_diameter: {value: could not be measured}")
    assert of(lost.decide(), "piston", "1").verdict == "replace"


@pytest.mark.parametrize("kind", ["cylinder_bore", "wet_liner"])
def test_a_new_cylinder_is_round_within_half_a_thousandth(kind: str) -> None:
    """Y1, for new ones; a freshly bored cylinder is held to it."""
    assert _inches(_limit(kind, "bore_out_of_round", "new"), "at_most") == Fraction("0.0005")


def test_a_bore_that_comes_back_oval_goes_back_to_the_shop() -> None:
    """Bored to 0.020 in over and 0.001 in oval: beyond Y1, though far inside what a used one may be."""
    done = "done:\n  - {operation: bore_oversize, part: cylinder_bore, place: 1, to_size: 0.020 in}\n"
    for across, verdict in (("4.0202 in", "reuse"), ("4.0212 in", "recondition")):
        values = {position: across if position.endswith("across") else "4.0201 in" for position in CYLINDER}
        bench = Bench().found("cylinder_bore", "1", bore_scoring="catches")
        bench.line(
            "{part: cylinder_bore, place: 1, moment: after machining, otherwise: none, "
            f"readings: {{{readings('cylinder_diameter', values)}}}}}"
        )
        found = of(bench.more(done).decide(), "cylinder_bore", "1")
        assert found.verdict == verdict, across
        assert ("bore-out-of-round" in because(found)) == (verdict == "recondition")


@pytest.mark.parametrize("extent", ["slight", "steep"])
def test_a_ridge_is_cut_before_new_rings(extent: str) -> None:
    """Y6."""
    found = of(Bench().found("cylinder_bore", "1", bore_ridge=extent).decide(), "cylinder_bore", "1")
    assert (found.verdict, "remove_ridge" in _tasks(found)) == ("reuse", True)
    wet = Bench(liners="wet").found("wet_liner", "1", bore_ridge=extent).decide()
    assert "remove_ridge" in _tasks(of(wet, "wet_liner", "1"))


# ---- liners: NAVEDTRA 14076 and 14264A ----


def test_a_wet_liner_beyond_its_limits_is_replaced_and_not_bored() -> None:
    """Y8, Y9: worn, tapered; Y10: out of round."""
    for line, rule in (
        (even("cylinder_diameter", CYLINDER, "4.0043 in"), "wet-liner-worn"),
        (_levels("4.0032 in", "4.0010 in", "4.0003 in"), "wet-liner-tapered"),
        (_levels("4.0002 in", "4.0002 in", "4.0002 in", across="4.0036 in"), "wet-liner-distorted"),
    ):
        found = of(Bench(liners="wet").measured("wet_liner", "1", line).decide(), "wet_liner", "1")
        assert (found.verdict, found.ground) == ("replace", "condemned")
        assert rule in because(found)


@pytest.mark.parametrize("extent", ["line", "through"])
def test_a_cracked_liner_is_only_replaced_and_a_cracked_bore_is_sleeved(extent: str) -> None:
    """Y10, Y11 of liners. That a bore in the block gets a sleeve is common practice, no source."""
    wet = of(Bench(liners="wet").found("wet_liner", "1", bore_crack=extent).decide(), "wet_liner", "1")
    assert wet.verdict == "replace"
    bore = of(Bench().found("cylinder_bore", "1", bore_crack=extent).decide(), "cylinder_bore", "1")
    assert (bore.verdict, _work(bore)) == ("recondition", ["sleeve_bore"])


def test_a_scored_liner_goes_and_a_shallow_mark_is_stoned() -> None:
    """Y11 against the Navy page of Y7, told apart by the fingernail."""
    light = of(Bench(liners="wet").found("wet_liner", "1", bore_scoring="light").decide(), "wet_liner", "1")
    assert (light.verdict, "stone_liner" in _tasks(light)) == ("reuse", True)
    deep = of(Bench(liners="wet").found("wet_liner", "1", bore_scoring="catches").decide(), "wet_liner", "1")
    assert deep.verdict == "replace"


def test_clearance_from_a_spent_bore_is_not_laid_to_the_piston() -> None:
    """Y12: clearance comes mainly from the liner. Bore of 4.0046 in and clearance are both beyond."""
    bench = Bench().measured("cylinder_bore", "1", even("cylinder_diameter", CYLINDER, "4.0046 in"))
    bench.measured("piston", "1", single("piston_diameter", "3.9932 in"))
    assert bench.outcomes("piston", "1", "piston_clearance", "discard") == {"above"}
    decision = bench.decide()
    assert of(decision, "cylinder_bore", "1").verdict == "recondition"
    assert "piston-too-slack" not in because(of(decision, "piston", "1"))


def test_where_each_passes_and_the_clearance_does_not_the_piston_yields() -> None:
    """The cheaper of the two (common practice, no source). The maker allows 0.0100 in here."""
    bench = Bench(clearance="0.0100 in").measured(
        "cylinder_bore", "1", even("cylinder_diameter", CYLINDER, "4.0036 in")
    )
    decision = bench.measured("piston", "1", single("piston_diameter", "3.9932 in")).decide()
    assert of(decision, "cylinder_bore", "1").verdict == "reuse"
    assert because(of(decision, "piston", "1")) == {"piston-too-slack"}


# ---- sleeves ----


@pytest.mark.parametrize(
    ("bore", "press"),
    [
        ("2.000 in", "-0.003"),
        ("4.000 in", "-0.003"),
        ("5.125 in", "-0.003"),
        ("5.126 in", "-0.004"),
        ("6.500 in", "-0.004"),
        ("6.501 in", "-0.005"),
        ("8.500 in", "-0.005"),
    ],
)
def test_press_of_a_dry_sleeve_by_its_bore(bore: str, press: str) -> None:
    """Greg's Engine (Y14, Y15, Y16)."""
    limit = _limit("cylinder_bore", "sleeve_press", "new", cylinder_diameter=bore)
    assert _inches(limit, "at_least") == Fraction(press)


def test_no_press_is_made_up_beyond_the_printed_table() -> None:
    for bore in ("1.900 in", "8.600 in"):
        assert _limit("cylinder_bore", "sleeve_press", "new", cylinder_diameter=bore) is None


@pytest.mark.parametrize(
    ("cylinder", "house", "outside", "stopped"),
    [
        ("4.0000 in", "4.1250 in", "4.1276 in", False),
        ("4.0000 in", "4.1250 in", "4.1284 in", True),
        ("5.7500 in", "5.8750 in", "5.8784 in", False),
        ("5.7500 in", "5.8750 in", "5.8794 in", True),
        ("7.0000 in", "7.1250 in", "7.1294 in", False),
        ("7.0000 in", "7.1250 in", "7.1304 in", True),
    ],
)
def test_a_sleeve_with_too_much_press_is_not_pressed_in(
    cylinder: str, house: str, outside: str, stopped: bool
) -> None:
    """W16 and its fellows: 4 in bore, at most 0.003 in; 5.75 in, 0.004 in; 7 in, 0.005 in."""
    spots = [f"{section} {way}" for section in ("top", "middle", "bottom") for way in ("along", "across")]
    bench = Bench(cylinder=cylinder)
    bench.measured(
        "cylinder_bore",
        "1",
        readings("sleeve_housing_diameter", dict.fromkeys(spots, house)),
        readings("sleeve_outside_diameter", dict.fromkeys(spots, outside)),
    )
    firings = fired(bench.decide())
    assert (("sleeve-of-wrong-press", "cylinder_bore", "1") in firings) == stopped


def test_pistons_in_standard_size_only_the_block_is_bored_for_liners() -> None:
    """Common practice, no source; a dry sleeve restores standard by NAVEDTRA 14264A p. 3-5 (Y13, Y28)."""
    worn = even("cylinder_diameter", CYLINDER, "4.0060 in")
    listed = of(Bench().measured("cylinder_bore", "1", worn).decide(), "cylinder_bore", "1")
    assert _work(listed) == ["bore_oversize"]
    none = of(Bench(oversizes=False).measured("cylinder_bore", "1", worn).decide(), "cylinder_bore", "1")
    assert (none.verdict, _work(none)) == ("recondition", ["sleeve_bore"])
    beyond = even("cylinder_diameter", CYLINDER, "4.0500 in")
    last = of(Bench().measured("cylinder_bore", "1", beyond).decide(), "cylinder_bore", "1")
    assert _work(last) == ["sleeve_bore"]
    sleeve = rules().vocabulary.operations["sleeve_bore"]
    assert any("size of the piston" in step for step in sleeve.steps)
    assert any("gaps of its rings" in check for check in sleeve.checks)


def test_dry_liners_are_renewed_and_not_bored() -> None:
    """NAVEDTRA 14076 p. 3-5 (Y8): liners beyond their limits are replaced, oversizes or not."""
    bench = Bench(liners="dry").measured(
        "cylinder_bore", "1", even("cylinder_diameter", CYLINDER, "4.0060 in")
    )
    assert _work(of(bench.decide(), "cylinder_bore", "1")) == ["sleeve_bore"]


def test_a_new_piston_that_is_not_its_stamp_goes_back() -> None:
    """Common practice, no source: the stamp on the crown, not the box."""
    sizes = single("piston_diameter", "3.9950 in") + ", " + even("pin_bore_diameter", BOSS, "1.2500 in")
    for marks, verdict in (("none", "reuse"), ("differ", "replace")):
        bench = Bench().line(
            "{part: piston, place: 1, origin: new, moment: clean, "
            f"findings: {{piston_size_marks: {marks}}}, otherwise: none, readings: {{{sizes}}}}}"
        )
        found = next(
            each for each in bench.decide().verdicts if (each.part, each.origin) == ("piston", "new")
        )
        assert found.verdict == verdict


def test_a_sleeve_in_aluminium_is_asked_of_its_maker() -> None:
    """Y17, Y18: two suppliers differ."""
    for block, wanted in (("aluminium", True), ("cast_iron", False)):
        found = Bench(block=block).found("cylinder_bore", "1", bore_crack="line").decide()
        assert ("press_for_aluminium" in _tasks(of(found, "cylinder_bore", "1"))) == wanted


def test_a_plated_bore_is_plated_anew_and_never_bored() -> None:
    """Common practice, no source."""
    found = of(
        Bench(surface="plated").found("cylinder_bore", "1", bore_scoring="catches").decide(),
        "cylinder_bore",
        "1",
    )
    assert _work(found) == ["replate_bore"]
    assert "deglaze_bore" not in _tasks(found)


@pytest.mark.parametrize(
    ("facing", "task"),
    [
        ("plain_iron", "hone_for_hard_or_iron_rings"),
        ("chromium", "hone_for_hard_or_iron_rings"),
        ("molybdenum", "hone_for_moly_rings"),
    ],
)
def test_grit_goes_by_the_face_of_the_rings(facing: str, task: str) -> None:
    """Engine Builder, May 2004: #220 for plain iron and chrome (Y24), #280 for molybdenum (Y25)."""
    tasks = _tasks(of(Bench(facing=facing).decide(), "cylinder_bore", "1"))
    assert tasks & {"hone_for_hard_or_iron_rings", "hone_for_moly_rings"} == {task}
    grit = {"hone_for_hard_or_iron_rings": "#220", "hone_for_moly_rings": "#280"}[task]
    assert grit in rules().vocabulary.tasks[task].label


def test_a_liner_that_stands_too_low_has_its_counterbore_cut_and_shimmed() -> None:
    """Overdrive, 2014 (Y20): too low, and the head gasket fails."""
    for height, verdict in (("0.0015 in", "reuse"), ("0.0005 in", "recondition")):
        bench = Bench(liners="wet").measured("wet_liner", "1", even("liner_protrusion", FOUR, height))
        decision = bench.decide()
        assert of(decision, "liner_counterbore", "1").verdict == verdict
        assert of(decision, "wet_liner", "1").verdict == "reuse"


# ---- ring gaps: Hastings; NAVEDTRA 14076 p. 3-15 ----


def test_least_and_widest_gap_by_the_bore() -> None:
    """P1: 0.0035 in per inch; P2, W1: 0.014 in for 4 in; P3: 0.008 in per inch."""
    for purpose in ("new", "reassembly"):
        limit = _limit("piston_ring_set", "least_ring_end_gap", purpose, ring_bore="4.000 in")
        assert _inches(limit, "at_least") == Fraction("0.014")
    widest = _limit("piston_ring_set", "ring_end_gap", "discard", ring_bore="4.000 in")
    assert _inches(widest, "at_most") == Fraction("0.032")


@pytest.mark.parametrize(("gap", "filed"), [("0.0145 in", False), ("0.0135 in", True)])
def test_a_gap_below_the_least_is_filed(gap: str, filed: bool) -> None:
    """W1 with P6."""
    found = _new_rings(_bench_with_new_rings(gap).decide())
    assert (found.verdict, "file_ring_ends" in _tasks(found)) == ("reuse", filed)
    assert "gap_rings" in _tasks(found)


@pytest.mark.parametrize(("gap", "verdict"), [("0.0310 in", "reuse"), ("0.0340 in", "replace")])
def test_a_gap_too_wide_comes_from_the_bore(gap: str, verdict: str) -> None:
    """W2: 0.034 in in a 4 in bore is over 0.032 in; larger rings (P7), these are replaced (P9)."""
    found = _new_rings(_bench_with_new_rings(gap).decide())
    assert found.verdict == verdict
    assert ("rings-gap-too-wide" in because(found)) == (verdict == "replace")


def test_where_a_gap_is_measured() -> None:
    """P4: below the ring travel; P5: near the top and near the bottom. Said to whoever fits new rings."""
    says = rules().vocabulary.tasks["gap_rings"].label
    assert "bottom" in says
    assert "top" in says
    reading = rules().vocabulary.readings["ring_gap"]
    assert "below the ring travel" in reading.condition


def test_three_rings_to_a_piston() -> None:
    """Common practice, no source: two compression rings and one oil ring; a set that lacks one goes back."""
    assert rules().vocabulary.readings["ring_gap"].sections == ["top", "second", "oil"]
    assert _new_rings(_bench_with_new_rings("0.018 in").decide()).verdict == "reuse"
    found = _new_rings(_bench_with_new_rings("0.018 in", ring_set_complete="wrong").decide())
    assert found.verdict == "replace"


def test_shoulders_in_the_grooves_cost_the_piston() -> None:
    """P8. An old ring proves a groove good, never bad (common practice, no source)."""
    assert (
        of(Bench().found("piston", "1", ring_groove_step="step").decide(), "piston", "1").verdict == "replace"
    )
    wide = readings("ring_side_gap", dict.fromkeys(("top", "second"), "0.007 in"))
    doubtful = Bench().measured("piston_ring_set", "1", wide)
    assert ("piston", "1", "groove_clearance") in asked(of(doubtful.decide(), "piston", "1"))
    for gap, verdict in (("0.005 in", "reuse"), ("0.007 in", "replace")):
        new = readings("groove_gap_new_ring", dict.fromkeys(("top", "second"), gap))
        bench = Bench().measured("piston_ring_set", "1", wide).measured("piston", "1", new)
        assert of(bench.decide(), "piston", "1").verdict == verdict


# ---- compression: NAVEDTRA 14264A p. 3-29 ----


def _pressures(bench: Bench, *values: str) -> Bench:
    for place, value in enumerate(values, 1):
        bench.line(
            f"{{part: cylinder_bore, place: {place}, moment: running, "
            f"readings: {{compression_pressure: {{limit_of_error: 1 psi, value: {value}}}}}}}"
        )
    return bench


@pytest.mark.parametrize(("low", "short"), [("305 psi", False), ("290 psi", True)])
def test_a_cylinder_short_of_the_best_by_more_than_fifteen_percent(low: str, short: bool) -> None:
    """W12: 290 of 350 psi is 17 % short (T5); petrol has the same share (T3)."""
    bench = _pressures(Bench(), "350 psi", low)
    outcomes = bench.outcomes("cylinder_bore", "2", "compression_short", "discard")
    assert outcomes == frozenset(("above",) if short else ("inside",))
    firings = fired(bench.found("piston_ring_set", "2", rings_stuck="stuck").decide())
    assert (("compression-lost-past-the-rings", "cylinder_bore", "2") in firings) == short


def test_the_wet_test_tells_rings_from_valves() -> None:
    """T7, T8: oil raises the reading, rings or bore; T9: it changes nothing, valves or gasket."""
    for extent, rule in (
        ("rises", "compression-lost-past-the-rings"),
        ("none", "compression-lost-above-the-piston"),
    ):
        bench = _pressures(Bench(fuel="petrol"), "150 psi", "110 psi")
        bench.found("cylinder_bore", "2", moment="running", wet_test_rises=extent)
        found = {
            each for each, part, place in fired(bench.decide()) if (part, place) == ("cylinder_bore", "2")
        }
        both = {"compression-lost-past-the-rings", "compression-lost-above-the-piston"}
        assert found & both == {rule}


# ---- the trade's chains: common practice, no source, where no row is named ----


def test_a_skirt_scored_rough_is_done_and_takes_rings_pin_and_clips_with_it() -> None:
    decision = Bench().found("piston", "1", piston_scuffing="torn").decide()
    assert (of(decision, "piston", "1").verdict, of(decision, "piston", "1").ground) == (
        "replace",
        "condemned",
    )
    for kind, rule in (
        ("piston_ring_set", "rings-go-with-a-scored-piston"),
        ("piston_pin", "pin-goes-with-a-scored-piston"),
        ("pin_circlip", "clips-go-with-a-scored-piston"),
    ):
        assert of(decision, kind, "1").verdict == "replace"
        assert rule in because(of(decision, kind, "1"))
        assert rule not in because(of(decision, kind, "2"))
    polished = Bench().found("piston", "1", piston_scuffing="polished").decide()
    assert of(polished, "piston", "1").verdict == "reuse"
    assert of(polished, "piston_pin", "1").verdict == "reuse"


def test_a_scored_skirt_leads_to_bore_rod_jet_and_injector() -> None:
    bench = Bench().found("piston", "1", piston_scuffing="torn")
    bench.found("piston_cooling_jet", "1", moment="clean", jet_blocked="not looked at")
    decision = bench.decide()
    firings = fired(decision)
    assert ("bore-behind-a-scored-skirt", "cylinder_bore", "1") in firings
    assert ("rod-under-a-low-piston", "connecting_rod", "1") in firings
    assert ("injector-of-a-scored-piston", "injector", "1") in firings
    assert ("cooling-jet-under-a-scored-piston", "piston_cooling_jet", "1") in firings
    assert "wipe_off_aluminium" in _tasks(of(decision, "cylinder_bore", "1"))
    assert not any(place == "2" and "scored" in rule for rule, _, place in firings)


def test_what_seized_where_tells_why() -> None:
    for extent, concern in (
        ("one_face", "skirt_ran_dry"),
        ("beside_the_pin", "piston_ran_hot"),
        ("both_faces", "piston_ran_hot"),
    ):
        decision = Bench().found("piston", "1", seizure_marks=extent).decide()
        assert of(decision, "piston", "1").verdict == "replace"
        assert concern in {each.concern for each in decision.causes if each.part == "piston"}


def test_a_spent_bore_holds_the_pistons_until_all_bores_are_measured() -> None:
    """Liner or oversize, then the fit of the new piston, then rings and gaps."""
    decision = Bench().found("cylinder_bore", "1", bore_scoring="drops_in").decide()
    firings = fired(decision)
    assert ("piston-waits-for-its-bore", "piston", "1") in firings
    assert ("rings-wait-for-their-bore", "piston_ring_set", "1") in firings
    wet = Bench(liners="wet").found("wet_liner", "1", liner_cavitation="deep").decide()
    assert of(wet, "wet_liner", "1").verdict == "replace"
    assert ("piston-waits-for-its-bore", "piston", "1") in fired(wet)
    assert ("rings-wait-for-their-bore", "piston_ring_set", "1") in fired(wet)


def test_fuel_that_washed_a_bore_leads_back_to_its_injector() -> None:
    decision = Bench().found("piston", "1", crown_washed="wet_or_washed").decide()
    assert ("bore-washed-by-fuel", "cylinder_bore", "1") in fired(decision)
    assert ("injector-of-a-scored-piston", "injector", "1") in fired(decision)
    assert "fuel_washed_bore" in {each.concern for each in decision.causes}


def test_a_piston_that_stands_low_puts_its_rod_under_suspicion() -> None:
    tilt = readings("piston_protrusion", {"front": "0.004 in", "rear": "0.010 in"})
    decision = Bench().measured("piston", "1", tilt).decide()
    assert ("rod-under-a-low-piston", "connecting_rod", "1") in fired(decision)
    assert ("rod-under-a-low-piston", "connecting_rod", "2") not in fired(decision)


def test_running_partners_whose_place_is_lost_are_not_put_back() -> None:
    for kind, rule in (
        ("piston", "piston-place-lost"),
        ("piston_ring_set", "rings-place-lost"),
        ("piston_pin", "pin-place-lost"),
    ):
        bench = Bench().line(
            f"{{part: {kind}, place: unknown, tag: shelf, origin: second-hand, otherwise: none}}"
        )
        found = next(each for each in bench.decide().verdicts if each.tag == "shelf")
        assert found.verdict == "replace"
        assert rule in because(found)


@pytest.mark.parametrize(
    ("extent", "verdict"), [("none", "reuse"), ("straw", "replace"), ("blue", "replace")]
)
def test_a_pin_that_shows_heat_has_lost_its_skin(extent: str, verdict: str) -> None:
    decision = Bench().found("piston_pin", "1", moment="clean", piston_pin_heat=extent).decide()
    assert of(decision, "piston_pin", "1").verdict == verdict


@pytest.mark.parametrize(
    ("part", "finding", "mildest", "below"),
    [
        ("piston", "piston_crack", "bowl_rim_hairline", "none"),
        ("piston", "crown_damage", "eroded", "touched"),
        ("piston", "circlip_groove_damage", "opened", "burred"),
        ("piston", "pin_push_fit", "rocks", "none"),
        ("piston", "skirt_wear_aslant", "clear", "slight"),
        ("piston_pin", "piston_pin_scoring", "step", "light"),
        ("piston_pin", "piston_pin_crack", "line", "none"),
    ],
)
def test_the_mildest_extent_that_condemns(part: str, finding: str, mildest: str, below: str) -> None:
    """Common practice, no source."""
    for extent, verdict in ((mildest, "replace"), (below, "reuse")):
        decision = Bench().found(part, "1", moment="clean", **{finding: extent}).decide()
        assert of(decision, part, "1").verdict == verdict, extent


@pytest.mark.parametrize(
    ("finding", "mildest", "below"),
    [
        ("bore_scoring", "catches", "light"),
        ("bore_rust", "pits", "stain"),
        ("sleeve_loose", "moved", "none"),
        ("plating_damage", "worn_through", "none"),
    ],
)
def test_the_mildest_extent_that_sends_a_bore_to_the_shop(finding: str, mildest: str, below: str) -> None:
    """Common practice, no source."""
    for extent, verdict in ((mildest, "recondition"), (below, "reuse")):
        decision = Bench().found("cylinder_bore", "1", moment="clean", **{finding: extent}).decide()
        assert of(decision, "cylinder_bore", "1").verdict == verdict, extent


@pytest.mark.parametrize(
    ("finding", "mildest", "below"),
    [
        ("liner_cavitation", "deep", "pinholes"),
        ("liner_land_damage", "damaged", "marks"),
    ],
)
def test_the_mildest_extent_that_condemns_a_liner(finding: str, mildest: str, below: str) -> None:
    """Common practice, no source."""
    for extent, verdict in ((mildest, "replace"), (below, "reuse")):
        decision = Bench(liners="wet").found("wet_liner", "1", moment="clean", **{finding: extent}).decide()
        assert of(decision, "wet_liner", "1").verdict == verdict, extent


def test_a_counterbore_cracked_or_cut_too_deep_costs_the_block() -> None:
    """Common practice, no source: it is cut from the block, so the block goes with it."""
    for bench in (
        Bench(liners="wet").found("liner_counterbore", "1", moment="clean", counterbore_crack="line"),
        Bench(liners="wet").measured("liner_counterbore", "1", even("counterbore_depth", FOUR, "0.425 in")),
    ):
        decision = bench.decide()
        assert of(decision, "liner_counterbore", "1").verdict == "replace"
        assert of(decision, "cylinder_block").verdict == "replace"
    worn = Bench(liners="wet").found("liner_counterbore", "1", moment="clean", counterbore_fretting="broken")
    assert of(worn.decide(), "liner_counterbore", "1").verdict == "recondition"


def test_liner_seals_are_never_put_back() -> None:
    """TM 9-2815-237-34, par. 2-10, 2-11 (U1): oil seals are always replaced."""
    decision = Bench(liners="wet").decide()
    assert of(decision, "liner_seal", "1").ground == "routine"
    leaked = Bench(liners="wet").found("liner_seal", "1", liner_seal_state="leaked").decide()
    assert of(leaked, "liner_seal", "1").ground == "condemned"
    assert "coolant_in_oil" in {each.concern for each in leaked.causes}
