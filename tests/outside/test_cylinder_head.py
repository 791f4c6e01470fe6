"""The rules for the cylinder head held against published figures and against the trade's chains.

Sources, by tier:

* official: US Navy NAVEDTRA 14076, chapter 3, pages 59 and 60 of the stored copy (printed page numbers
  inferred)
* trade guide: summaries of chapters 57 and 58 of an automotive textbook; Vehicle Service Pros, 1 October 2024

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

import pytest

from tests.outside.crank import asked, even, of, single
from tests.outside.head import LINES, Head, order, stands, tasks, work


def test_an_insert_is_chilled_and_its_head_warmed() -> None:
    """V18, official, p. 3-22: dry ice about 15 minutes; V19, official: boiling water about 30 minutes."""
    says = order(of(Head().found("inlet_seat", "1", seat_burning="cracked").decide(), "cylinder_head"))
    assert "boiling water for about half an hour" in says
    assert "dry ice for about a quarter of one" in says


@pytest.mark.parametrize(("gap", "verdict"), [("0.0039 in", "reuse"), ("0.0041 in", "recondition")])
def test_a_warped_head_is_milled(gap: str, verdict: str) -> None:
    """H3, trade guide, is followed; H1, official, usually replaces it. The limit is this engine's own."""
    head = of(Head().instead("cylinder_head", "all", even("head_gap", LINES, gap)).decide(), "cylinder_head")
    assert head.verdict == verdict
    assert work(head) == (["skim_head"] if verdict == "recondition" else [])


def test_a_head_that_is_off_is_checked_for_flatness_in_all_directions() -> None:
    """H8 and H5, trade guide: along, across and on the diagonals."""
    head = of(Head().without("cylinder_head", "head_gap").decide(), "cylinder_head")
    assert ("cylinder_head", "", "head_out_of_flat") in asked(head)
    partly = dict.fromkeys(LINES[:4], "0.001 in")
    inner = ", ".join(f"{name}: {value}" for name, value in partly.items())
    bench = Head().instead(
        "cylinder_head", "all", f"head_gap: {{limit_of_error: 0.00002 in, values: {{{inner}}}}}"
    )
    assert of(bench.decide(), "cylinder_head").verdict == "undecided"


def test_a_head_is_tested_for_cracks_before_money_is_spent() -> None:
    """H2 and H9, official; H6, trade guide, gives the method by the metal."""
    bench = Head().found("cylinder_head", head_crack="not looked at")
    head = of(bench.decide(), "cylinder_head")
    assert head.verdict == "undecided"
    assert ("cylinder_head", "", "head_crack") in asked(head)
    (ask,) = [each for each in head.asks if each.reading == "head_crack"]
    assert "powder on iron" in ask.says
    assert "dye on aluminium" in ask.says
    assert "between valve and injector" in ask.says


@pytest.mark.parametrize(
    ("material", "extent", "verdict", "doing"),
    [
        ("cast_iron", "hairline_between_valves", "recondition", ["stitch_crack"]),
        ("cast_iron", "into_seat_or_bolt_hole", "recondition", ["stitch_crack"]),
        ("aluminium", "hairline_between_valves", "recondition", ["weld_head"]),
        ("cast_iron", "into_water", "replace", []),
        ("aluminium", "into_water", "replace", []),
    ],
)
def test_a_cracked_head_is_mended_or_replaced(
    material: str, extent: str, verdict: str, doing: list[str]
) -> None:
    """H4, trade guide: weld, plug or replace; H1, official: replace, followed where water is reached."""
    head = of(
        Head(head_material=material).found("cylinder_head", head_crack=extent).decide(), "cylinder_head"
    )
    assert (head.verdict, work(head)) == (verdict, doing)


def test_a_crack_that_nobody_can_judge_ends_on_the_safe_side() -> None:
    """Common practice, no source."""
    decision = Head().found("cylinder_head", head_crack="could not be judged").decide()
    assert stands(decision, "cylinder_head") == ("replace", "safe side")


def test_a_skim_leads_to_recession_clearance_and_gasket() -> None:
    """Common practice, no source."""
    bench = Head().instead("cylinder_head", "all", even("head_gap", LINES, "0.006 in"))
    decision = bench.decide()
    head = of(decision, "cylinder_head")
    assert "check_after_skim" in tasks(head)
    assert "check_cam_timing_after_skim" not in tasks(head)
    assert all(word in order(head) for word in ("recession", "Piston to head", "gasket chosen after"))
    assert "measure_recession_again" in tasks(of(decision, "inlet_valve", "2"))
    thin = Head().instead(
        "cylinder_head",
        "all",
        even("head_gap", LINES, "0.006 in"),
        even("head_height", ("front", "rear"), "3.979 in"),
    )
    assert of(thin.decide(), "cylinder_head").verdict == "replace"


def test_an_overhead_cam_head_is_straightened_before_it_is_skimmed() -> None:
    """Common practice, no source."""
    made = {"valve_gear": "overhead_cam", "head_material": "aluminium"}
    line = single("head_cam_bore_line", "0.001 in")
    bench = Head(**made).measured("cylinder_head", "all", line)
    assert of(bench.decide(), "cylinder_head").verdict == "reuse"
    unmeasured = of(Head(**made).decide(), "cylinder_head")
    assert ("cylinder_head", "", "cam_bores_out_of_line") in asked(unmeasured)
    bent = Head(**made).measured("cylinder_head", "all", line)
    bent.instead("cylinder_head", "all", even("head_gap", LINES, "0.006 in"))
    head = of(bent.decide(), "cylinder_head")
    assert (head.verdict, work(head)) == ("recondition", ["straighten_head"])
    assert "check_cam_timing_after_skim" in tasks(head)
    banana = Head(**made).measured("cylinder_head", "all", single("head_cam_bore_line", "0.006 in"))
    head = of(banana.decide(), "cylinder_head")
    assert (head.verdict, work(head)) == ("recondition", ["straighten_head"])


def test_a_broken_camshaft_bore_takes_the_head_with_it() -> None:
    """Common practice, no source."""
    made = {"valve_gear": "overhead_cam", "head_material": "aluminium"}
    line = single("head_cam_bore_line", "0.001 in")
    torn = (
        Head(**made)
        .measured("cylinder_head", "all", line)
        .found("head_cam_bore", "2", head_cam_bore_marks="torn")
    )
    bore = of(torn.decide(), "head_cam_bore", "2")
    assert (bore.verdict, work(bore)) == ("recondition", ["line_bore_cam_bores"])
    broken = Head(**made).measured("cylinder_head", "all", line)
    broken.found("head_cam_bore", "2", head_cam_bore_marks="broken")
    assert of(broken.decide(), "head_cam_bore", "2").verdict == "replace"
    assert of(broken.decide(), "cylinder_head").verdict == "replace"


@pytest.mark.parametrize(("clearance", "verdict"), [("2.0045 in", "reuse"), ("2.0052 in", "recondition")])
def test_a_slack_camshaft_bore_is_line_bored(clearance: str, verdict: str) -> None:
    """Common practice, no source; the limit is 0.005 in on this engine, its journals measure 1.9998 in."""
    made = {"valve_gear": "overhead_cam", "head_material": "aluminium"}
    line = even("head_cam_bore_diameter", ("upright", "crosswise"), clearance)
    bench = Head(**made).instead("head_cam_bore", "1", line, others="2")
    bench.measured("cylinder_head", "all", single("head_cam_bore_line", "0.001 in"))
    assert of(bench.decide(), "head_cam_bore", "1").verdict == verdict


def test_an_overheated_engine_has_its_head_tested() -> None:
    """Common practice, no source: cracks, flatness, hardness of aluminium, loose guides and seats."""
    unknown = {"head_crack": "not looked at"}
    bench = Head(head_material="aluminium").found("cylinder_head", head_ran_hot="told_or_scorched")
    bench.found("cylinder_head", **unknown).found("exhaust_guide", guide_crack="not looked at")
    bench.found("exhaust_seat", seat_insert_loose="not looked at").without("cylinder_head", "head_gap")
    decision = bench.decide()
    head = of(decision, "cylinder_head")
    assert {"head_crack", "head_out_of_flat", "head_softening"} <= {name for _, _, name in asked(head)}
    assert ("exhaust_guide", "1", "guide_crack") in asked(of(decision, "exhaust_guide", "1"))
    assert ("exhaust_seat", "1", "seat_insert_loose") in asked(of(decision, "exhaust_seat", "1"))
    assert "ran_hot" in {cause.concern for cause in decision.causes}
    iron = Head().found("cylinder_head", head_ran_hot="told_or_scorched").decide()
    assert of(iron, "cylinder_head").verdict == "reuse"


@pytest.mark.parametrize(("hardness", "verdict"), [("95 HB", "reuse"), ("60 HB", "replace")])
def test_an_aluminium_head_that_ran_soft_is_replaced(hardness: str, verdict: str) -> None:
    """Common practice, no source; the limit of 80 HB is the trial engine's own."""
    bench = Head(head_material="aluminium").found("cylinder_head", head_ran_hot="coloured")
    bench.measured("cylinder_head", "all", f"head_hardness: {{limit_of_error: 1 HB, value: {hardness}}}")
    assert of(bench.decide(), "cylinder_head").verdict == verdict


@pytest.mark.parametrize(("material", "verdict"), [("cast_iron", "replace"), ("aluminium", "recondition")])
def test_a_face_eaten_back_under_the_fire_ring(material: str, verdict: str) -> None:
    """Common practice, no source; welding of aluminium by H4, trade guide."""
    bench = Head(head_material=material).found("cylinder_head", head_face_erosion="eaten_back")
    assert of(bench.decide(), "cylinder_head").verdict == verdict


@pytest.mark.parametrize("extent", ["outside", "in_chamber"])
def test_an_earlier_weld_is_suspect_until_it_is_tested(extent: str) -> None:
    """Common practice, no source: the named test clears it."""
    tested = Head().found("cylinder_head", head_earlier_weld=extent)
    assert of(tested.decide(), "cylinder_head").verdict == "reuse"
    untested = Head().found("cylinder_head", head_earlier_weld=extent, head_crack="not looked at")
    assert ("cylinder_head", "", "head_crack") in asked(of(untested.decide(), "cylinder_head"))
    soft = Head(head_material="aluminium").found("cylinder_head", head_earlier_weld=extent)
    wants = {name for _, _, name in asked(of(soft.decide(), "cylinder_head"))}
    assert wants == ({"head_softening"} if extent == "in_chamber" else set())


@pytest.mark.parametrize(
    ("finding", "extent", "verdict", "doing"),
    [
        ("injector_seat", "carbon_marked", "reuse", "dress_injector_seat"),
        ("injector_seat", "blown_or_pulled", "recondition", "restore_injector_seat"),
        ("casting_thread_damage", "rough", "reuse", "chase_threads"),
        ("casting_thread_damage", "pulled", "recondition", "insert_thread"),
        ("head_face_erosion", "stained", "reuse", "clean_head_face"),
        ("head_face_erosion", "eroded", "recondition", "skim_head"),
        ("head_hand_ground", "ground_by_hand", "recondition", "skim_head"),
        ("head_jacket_leak", "damp", "recondition", "stitch_crack"),
    ],
)
def test_what_is_found_on_a_head(finding: str, extent: str, verdict: str, doing: str) -> None:
    """Common practice, no source."""
    head = of(Head().found("cylinder_head", **{finding: extent}).decide(), "cylinder_head")
    assert head.verdict == verdict
    assert doing in tasks(head) | set(work(head))


def test_a_pressure_test_is_asked_of_a_head_with_water_in_it_only() -> None:
    """H2, official, names the test with water; that an air-cooled head has none is common practice."""
    for cooling, wanted in (("water", True), ("air", False)):
        bench = Head(cooling=cooling).found("cylinder_head", head_jacket_leak="not looked at")
        wants = asked(of(bench.decide(), "cylinder_head"))
        assert (("cylinder_head", "", "head_jacket_leak") in wants) == wanted
