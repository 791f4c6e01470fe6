"""The rules for valves, seats and guides held against published figures and against the trade's chains.

Sources, by tier:

* official: US Navy NAVEDTRA 14264A, chapter 3, pp. 3-20 to 3-23; NAVEDTRA 14076, chapter 3, page 61 of the
  stored copy (its printed page number is inferred)
* trade guide: R&L Engines, valve seats; Engine Builder, October 2004
* rule of thumb: US Army TM 10-3930-647-14&P, P0175 - wear limits of used parts

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

import pytest

from tests.outside.crank import asked, because, even, fired, of, single
from tests.outside.head import SOUND, THREE, Head, order, stands, tasks, work

SIDES = pytest.mark.parametrize("side", ["inlet", "exhaust"])
CUT = "{operation: cut_seat, part: exhaust_seat, place: '1'}"


def test_an_engine_with_nothing_wrong_is_put_back() -> None:
    """Common practice, no source: a used part is reused with its reasons, not by default."""
    decision = Head().decide()
    for verdict in decision.verdicts:
        if verdict.part != "piston":
            assert (verdict.verdict, verdict.ground) == ("reuse", "sound"), (verdict.part, verdict.place)
            assert verdict.reasons, (verdict.part, verdict.place)


@SIDES
@pytest.mark.parametrize(("size", "verdict"), [("0.3391 in", "reuse"), ("0.3389 in", "replace")])
def test_a_stem_may_lose_a_thousandth_in_all(side: str, size: str, verdict: str) -> None:
    bench = Head().instead(f"{side}_valve", "1", even("valve_stem_diameter", THREE, size), others="2")
    valve = of(bench.decide(), f"{side}_valve", "1")
    assert valve.verdict == verdict
    assert (f"{side}-valve-stem-worn" in because(valve)) == (verdict == "replace")


@SIDES
@pytest.mark.parametrize(("size", "verdict"), [("0.3439 in", "reuse"), ("0.3441 in", "replace")])
def test_a_guide_may_gain_a_thousandth_and_a_half_in_all(side: str, size: str, verdict: str) -> None:
    bench = Head().instead(f"{side}_guide", "1", even("guide_diameter", THREE, size), others="2")
    guide = of(bench.decide(), f"{side}_guide", "1")
    assert guide.verdict == verdict
    assert (f"{side}-guide-worn" in because(guide)) == (verdict == "replace")


@SIDES
def test_a_seat_may_grow_by_15_percent(side: str) -> None:
    """1/16 in is 0.0625, with 15 % 0.0719; 3/32 in is 0.09375, with 15 % 0.1078 (products computed)."""
    inside, beyond = {"inlet": ("0.0715 in", "0.0722 in"), "exhaust": ("0.1075 in", "0.1082 in")}[side]
    for width, verdict in ((inside, "reuse"), (beyond, "recondition")):
        bench = Head().instead(f"{side}_seat", "1", single("seat_contact_width", width), others="2")
        seat = of(bench.decide(), f"{side}_seat", "1")
        assert seat.verdict == verdict, width
        assert work(seat) == (["cut_seat"] if width == beyond else [])
        assert (f"{side}-seat-width-changed" in because(seat)) == (width == beyond)


@SIDES
@pytest.mark.parametrize("extent", ["guttered", "cracked"])
def test_a_burnt_or_cracked_insert_is_replaced(side: str, extent: str) -> None:
    """V13 and V40, official; V16, trade guide. Replacing it puts work on the head that carries it."""
    decision = Head().found(f"{side}_seat", "1", seat_burning=extent).decide()
    assert stands(decision, f"{side}_seat", "1") == ("replace", "condemned")
    head = of(decision, "cylinder_head")
    assert head.verdict == "recondition"
    assert work(head) == ["renew_seat_insert"]


@SIDES
def test_a_loose_insert_is_replaced(side: str) -> None:
    """V16, trade guide; V40, official."""
    decision = Head().found(f"{side}_seat", "2", seat_insert_loose="loose").decide()
    assert stands(decision, f"{side}_seat", "2") == ("replace", "condemned")


@SIDES
def test_a_recessed_insert_is_replaced(side: str) -> None:
    """V13 and V17, official: recessed, or worn away by grinding."""
    bench = Head().instead(f"{side}_valve", "1", single("valve_recession", "0.062 in"), others="2")
    seat = of(bench.decide(), f"{side}_seat", "1")
    assert seat.verdict == "replace"
    assert f"{side}-seat-valve-sunk-insert" in because(seat)


@SIDES
def test_a_seat_in_head_metal_is_reconditioned_by_fitting_an_insert(side: str) -> None:
    """V13 asks for another seat; that head metal takes an insert is common practice, no source."""
    decision = Head(seat="in_head_metal").found(f"{side}_seat", "1", seat_burning="cracked").decide()
    seat = of(decision, f"{side}_seat", "1")
    assert (seat.verdict, work(seat)) == ("recondition", ["renew_seat_insert"])


@SIDES
@pytest.mark.parametrize("seat", ["insert", "in_head_metal"])
def test_any_other_seat_is_reconditioned(side: str, seat: str) -> None:
    """V14, official; V15, trade guide: a seat that is whole and not sunk is cut."""
    verdict = of(
        Head(seat=seat).found(f"{side}_seat", "1", seat_burning="pitted").decide(), f"{side}_seat", "1"
    )
    assert (verdict.verdict, work(verdict)) == ("recondition", ["cut_seat"])


def test_the_order_for_a_seat_gives_the_published_figures() -> None:
    """V4, V5, V8, V11, V12, V20, official (pp. 3-22, 3-23); V6, V7, V9, trade guide."""
    verdict = of(Head().found("exhaust_seat", "1", seat_print="broken").decide(), "exhaust_seat", "1")
    says = order(verdict)
    for figure in (
        "1/16 in",
        "3/32 in",
        "1/32 in",
        "15 degrees",
        "60 degrees",
        "0.002 in",
        "an eighth of a turn",
    ):
        assert figure in says, figure
    assert "middle of the valve's face" in says


@SIDES
@pytest.mark.parametrize("extent", ["off_centre", "broken"])
def test_a_contact_that_is_not_in_the_middle_of_the_face_is_cut(side: str, extent: str) -> None:
    """V8, official; V7, trade guide."""
    verdict = of(Head().found(f"{side}_seat", "1", seat_print=extent).decide(), f"{side}_seat", "1")
    assert (verdict.verdict, work(verdict)) == ("recondition", ["cut_seat"])


@pytest.mark.parametrize(("run_out", "verdict"), [("0.0018 in", "reuse"), ("0.0022 in", "recondition")])
def test_a_seat_just_cut_runs_true_within_two_thousandths(run_out: str, verdict: str) -> None:
    """V9, trade guide; for a seat that was just cut. A used one has no such limit."""
    used = Head().instead("exhaust_seat", "1", single("seat_runout", run_out), others="2")
    assert of(used.decide(), "exhaust_seat", "1").verdict == "reuse"
    bench = Head().done(CUT)
    bench.line("{part: exhaust_seat, place: '1', moment: after machining, otherwise: none}")
    bench.measured(
        "exhaust_seat", "1", single("seat_runout", run_out), single("seat_contact_width", "0.094 in"),
        moment="after machining",
    )  # fmt: skip
    bench.measured("exhaust_valve", "1", single("valve_recession", "0.041 in"), moment="after machining")
    assert of(bench.decide(), "exhaust_seat", "1").verdict == verdict


def test_the_order_for_a_valve_face_asks_for_an_interference_angle() -> None:
    """V1 and V2, official, p. 3-20: the angles are the maker's, and differ by commonly a degree."""
    says = order(
        of(Head().found("inlet_valve", "1", valve_face_burning="pitted").decide(), "inlet_valve", "1")
    )
    assert "commonly a degree of difference" in says


@SIDES
def test_a_worn_guide_that_is_pressed_in_is_replaced_and_one_in_head_metal_reconditioned(side: str) -> None:
    worn = even("guide_diameter", THREE, "0.3445 in")
    pressed = Head().instead(f"{side}_guide", "1", worn, others="2").decide()
    assert stands(pressed, f"{side}_guide", "1") == ("replace", "condemned")
    assert work(of(pressed, "cylinder_head")) == ["renew_guide"]
    integral = Head(guide="in_head_metal").instead(f"{side}_guide", "1", worn, others="2").decide()
    guide = of(integral, f"{side}_guide", "1")
    assert guide.verdict == "recondition"
    # No oversize stem is listed for this engine, so the way that is left is a bush.
    assert work(guide) == ["bush_guide"]
    assert of(integral, "cylinder_head").verdict == "reuse"


@SIDES
def test_a_valve_that_rocks_half_an_inch_open_has_its_guide_measured(side: str) -> None:
    bench = Head().found(f"{side}_guide", "1", guide_play="felt").without(f"{side}_guide", "guide_diameter")
    guide = of(bench.decide(), f"{side}_guide", "1")
    assert guide.verdict == "undecided"
    assert (f"{side}_guide", "1", "guide_wear") in asked(guide)
    assert (f"{side}-guide-rocks", f"{side}_guide", "1") in fired(bench.decide())


@SIDES
@pytest.mark.parametrize("extent", ["grooved", "guttered"])
def test_a_valve_grooved_round_its_face_is_not_put_back(side: str, extent: str) -> None:
    """Common practice, no source."""
    decision = Head().found(f"{side}_valve", "1", valve_face_burning=extent).decide()
    assert stands(decision, f"{side}_valve", "1") == ("replace", "condemned")


@SIDES
@pytest.mark.parametrize(("margin", "verdict"), [("0.0405 in", "reuse"), ("0.0395 in", "replace")])
def test_a_margin_below_the_makers_limit_is_not_put_back(side: str, margin: str, verdict: str) -> None:
    """Common practice, no source; the 0.040 in is the trial engine's own."""
    bench = Head(margin="0.040 in").instead(
        f"{side}_valve", "1", single("valve_margin_height", margin), others="2"
    )
    assert of(bench.decide(), f"{side}_valve", "1").verdict == verdict


@SIDES
@pytest.mark.parametrize(
    ("extent", "verdict"), [("a_little_thinner", "reuse"), ("clearly_thinner", "replace")]
)
def test_a_margin_clearly_thinner_than_new_is_not_put_back(side: str, extent: str, verdict: str) -> None:
    """Common practice, no source."""
    decision = Head().found(f"{side}_valve", "1", margin_beside_new=extent).decide()
    assert of(decision, f"{side}_valve", "1").verdict == verdict


@SIDES
def test_stem_wear_takes_the_guide_with_it(side: str) -> None:
    """Common practice, no source."""
    line = even("valve_stem_diameter", THREE, "0.3385 in")
    decision = Head().instead(f"{side}_valve", "1", line, others="2").decide()
    guide = of(decision, f"{side}_guide", "1")
    assert (guide.verdict, guide.ground) == ("replace", "condemned")
    assert f"{side}-guide-of-a-worn-stem" in because(guide)
    assert of(decision, f"{side}_guide", "2").verdict == "reuse"


@SIDES
def test_a_seat_that_changed_width_is_recut_with_its_fellows(side: str) -> None:
    """Common practice, no source: only those of its own row, and not those of the other valves."""
    decision = (
        Head().instead(f"{side}_seat", "1", single("seat_contact_width", "0.130 in"), others="2").decide()
    )
    other = "exhaust" if side == "inlet" else "inlet"
    assert of(decision, f"{side}_seat", "1").verdict == "recondition"
    fellow = of(decision, f"{side}_seat", "2")
    assert (fellow.verdict, fellow.ground, work(fellow)) == ("recondition", "routine", ["cut_seat"])
    assert f"{side}-seat-with-its-fellows" in because(fellow)
    assert of(decision, f"{other}_seat", "1").verdict == "reuse"


@SIDES
def test_guide_then_seat_then_valve(side: str) -> None:
    """V23, official, and V9, trade guide; that the valve comes last is common practice, no source."""
    line = even("guide_diameter", THREE, "0.3445 in")
    decision = Head().instead(f"{side}_guide", "1", line, others="2").decide()
    assert of(decision, f"{side}_guide", "1").verdict == "replace"
    seat = of(decision, f"{side}_seat", "1")
    assert (seat.verdict, work(seat)) == ("recondition", ["cut_seat"])
    assert f"{side}-seat-after-a-new-guide" in because(seat)
    valve = of(decision, f"{side}_valve", "1")
    assert {"match_valve_last", "measure_recession_again"} <= tasks(valve)
    assert "check_installed_height" in tasks(of(decision, "valve_spring", f"1 {side}"))
    assert "set_lash" in tasks(of(decision, "rocker_arm", f"1 {side}"))
    assert "match_valve_last" not in tasks(of(decision, f"{side}_valve", "2"))


@SIDES
def test_a_refaced_valve_leads_to_margin_recession_and_compression(side: str) -> None:
    """Common practice, no source."""
    decision = Head().found(f"{side}_valve", "1", valve_face_burning="pitted").decide()
    valve = of(decision, f"{side}_valve", "1")
    assert (valve.verdict, work(valve)) == ("recondition", ["reface_valve"])
    assert "Margin left" in order(valve)
    assert "measure_recession_again" in tasks(valve)
    assert "match_valve_last" in tasks(of(decision, f"{side}_seat", "1"))
    thin = Head().found(f"{side}_valve", "1", valve_face_burning="pitted")
    thin.found(f"{side}_valve", "1", margin_beside_new="clearly_thinner")
    assert of(thin.decide(), f"{side}_valve", "1").verdict == "replace"
    deep = Head().instead(f"{side}_valve", "1", single("valve_recession", "0.055 in"), others="2").decide()
    assert "reckon_compression" in tasks(of(deep, "cylinder_head"))
    assert of(deep, f"{side}_seat", "1").verdict == "reuse"


def test_a_refaced_valve_is_measured_again_on_its_seat() -> None:
    """Common practice, no source: what was measured before the work tells nothing after it."""
    bench = Head().done("{operation: reface_valve, part: exhaust_valve, place: '1'}")
    valve = of(bench.decide(), "exhaust_valve", "1")
    assert valve.verdict == "undecided"
    assert {"valve_margin", "valve_face_out_of_true"} <= {name for _, _, name in asked(valve)}
    wanted = asked(of(bench.decide(), "exhaust_seat", "1"))
    assert {("exhaust_seat", "1", "seat_print"), ("exhaust_seat", "1", "seat_width")} <= wanted
    assert ("exhaust_valve", "1", "valve_sunk") in wanted


@SIDES
def test_a_valve_brought_up_by_a_skim_has_its_seat_cut_deeper(side: str) -> None:
    """Common practice, no source."""
    bench = Head().instead(f"{side}_valve", "1", single("valve_recession", "0.008 in"), others="2")
    seat = of(bench.decide(), f"{side}_seat", "1")
    assert (seat.verdict, work(seat)) == ("recondition", ["cut_seat"])


def test_a_valve_whose_place_is_lost_has_its_face_ground() -> None:
    """Common practice, no source: it goes to another seat only with another face."""
    bench = Head()
    taken = ", ".join(SOUND["inlet_valve"])
    for tag in ("A", "B"):
        bench.line(
            f'{{part: inlet_valve, place: unknown, tag: {tag}, from_among: "1, 2", otherwise: none, '
            f"readings: {{{taken}}}}}"
        )
    lost = [each for each in bench.decide().verdicts if each.part == "inlet_valve"]
    assert {each.tag for each in lost} == {"A", "B"}
    for valve in lost:
        assert (valve.verdict, work(valve)) == ("recondition", ["reface_valve"])
        assert "inlet-valve-place-lost" in because(valve)


@SIDES
@pytest.mark.parametrize(
    ("finding", "extent", "verdict"),
    [
        ("valve_bent", "bent", "replace"),
        ("valve_stretched", "cupped", "replace"),
        ("valve_neck_damage", "step_or_pits", "replace"),
        ("valve_neck_damage", "marks", "reuse"),
        ("valve_tip_wear", "step_or_chips", "replace"),
        ("valve_tip_wear", "polished_hollow", "reuse"),
        ("valve_face_burning", "specks", "reuse"),
        ("valve_face_burning", "could not be judged", "replace"),
        ("valve_stretched", "could not be judged", "replace"),
    ],
)
def test_what_is_found_on_a_valve(side: str, finding: str, extent: str, verdict: str) -> None:
    """Common practice, no source."""
    assert (
        of(Head().found(f"{side}_valve", "1", **{finding: extent}).decide(), f"{side}_valve", "1").verdict
        == verdict
    )


def test_a_marked_stem_filled_with_sodium_is_not_run_on() -> None:
    """Common practice, no source; the caution goes with it."""
    for filling, verdict in (("solid", "reuse"), ("sodium", "replace")):
        bench = Head(filling=filling).found("exhaust_valve", "1", valve_neck_damage="marks")
        valve = of(bench.decide(), "exhaust_valve", "1")
        assert valve.verdict == verdict
        assert "sodium_valves" in valve.cautions


def test_both_inside_and_slack_together_the_guide_yields() -> None:
    """Common practice, no source: 0.0009 and 0.0013 in of wear are inside, 0.0047 of clearance is not."""
    bench = Head().instead("exhaust_valve", "1", even("valve_stem_diameter", THREE, "0.3391 in"), others="2")
    bench.instead("exhaust_guide", "1", even("guide_diameter", THREE, "0.3438 in"), others="2")
    decision = bench.decide()
    guide, valve = of(decision, "exhaust_guide", "1"), of(decision, "exhaust_valve", "1")
    assert (guide.verdict, because(guide)) == ("replace", {"exhaust-guide-slack-on-its-stem"})
    assert valve.verdict == "reuse"
    assert "measure_stem_in_new_guide" in tasks(valve)


def test_guides_and_seats_reach_the_safe_side() -> None:
    """Common practice, no source."""
    decision = Head().found("inlet_guide", "1", guide_crack="could not be judged").decide()
    assert stands(decision, "inlet_guide", "1") == ("replace", "safe side")
    decision = Head().found("inlet_seat", "1", seat_burning="could not be judged").decide()
    assert stands(decision, "inlet_seat", "1") == ("replace", "safe side")
    decision = Head().found("valve_collets", "1 inlet", collet_wear="lost").decide()
    assert stands(decision, "valve_collets", "1 inlet") == ("replace", "safe side")
