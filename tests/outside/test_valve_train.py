"""The rules for camshaft, followers, push rods and rockers held against published figures and chains.

Sources, by tier:

* official: US Navy NAVEDTRA 14264A, chapter 3, p. 3-18; NAVEDTRA 14076, chapter 3, page 64 of the stored
  copy (its printed page number is inferred); US Army TM 1-1500-204-23-1
* official reprint: a military engine course, read in part
* rule of thumb: US Army TM 10-3930-647-14&P, P0175 - wear limits of used parts
* special engine: US Army TM 9-2815-220-24, WP 0149 00 - camshaft of one engine

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

import pytest

from tests.outside.crank import asked, because, even, fired, of, readings, single
from tests.outside.head import FOUR, GRIND_CAM, SOUND, Head, stands, tasks, work

OTHERS = "2, exhaust"

# ---- wear limits: TM 10-3930-647-14&P, rule of thumb (K1 to K3) ----


@pytest.mark.parametrize(("size", "verdict"), [("1.9986 in", "reuse"), ("1.9984 in", "replace")])
def test_a_cam_journal_wears_half_a_thousandth_per_inch_below_its_low_limit(size: str, verdict: str) -> None:
    """K1: new 2.0000 in and 0.0005 in of tolerance; low limit 1.9995, less 0.0010 is 1.9985 (computed)."""
    bench = Head().instead("cam_journal", "1", even("cam_journal_diameter", FOUR, size), others="2")
    decision = bench.decide()
    assert of(decision, "cam_journal", "1").verdict == verdict
    # Journal and shaft are one piece.
    assert of(decision, "camshaft").verdict == verdict


@pytest.mark.parametrize(("size", "verdict"), [("2.0039 in", "reuse"), ("2.0042 in", "replace")])
def test_a_cam_bush_wears_half_a_thousandth_per_inch_above_its_high_limit(size: str, verdict: str) -> None:
    """K2: new 2.0020 in and 0.0010 of tolerance; with 0.001001 more it may reach 2.004001 in (computed)."""
    bench = Head().instead("cam_bearing_bush", "1", even("cam_bush_diameter", FOUR, size), others="2")
    assert of(bench.decide(), "cam_bearing_bush", "1").verdict == verdict


@pytest.mark.parametrize(("float_", "verdict"), [("0.0158 in", "reuse"), ("0.0162 in", "replace")])
def test_a_camshaft_floats_ten_thousandths_beyond_its_high_limit(float_: str, verdict: str) -> None:
    """K3: high limit 0.006 in and 0.010 more. That the thrust plate yields is common practice, no source."""
    bench = Head().instead("camshaft", "all", single("cam_end_float", float_))
    assert of(bench.decide(), "cam_thrust_plate").verdict == verdict


# ---- the camshaft of one engine: TM 9-2815-220-24, WP 0149 00, special engine (K4 to K7) ----


@pytest.mark.parametrize(("least", "verdict"), [("1.9981 in", "reuse"), ("1.9978 in", "replace")])
def test_a_cam_journal_is_round_within_two_thousandths(least: str, verdict: str) -> None:
    """K7: limit 0.0020 in. The maker here allows the wear, so that roundness alone decides."""
    values = {name: "1.9999 in" if "upright" in name else least for name in FOUR}
    bench = Head(cam_wear="0.004 in").instead(
        "cam_journal", "1", readings("cam_journal_diameter", values), others="2"
    )
    journal = of(bench.decide(), "cam_journal", "1")
    assert journal.verdict == verdict
    assert because(journal) == ({"cam-journal-out-of-round"} if verdict == "replace" else because(journal))


@pytest.mark.parametrize(("least", "verdict"), [("1.9890 in", "reuse"), ("1.9886 in", "recondition")])
def test_a_cam_journal_just_ground_is_round_within_one_thousandth(least: str, verdict: str) -> None:
    """K7: new 0.0010 in. Ground to 0.010 in under, 1.9900 in; used, it would be inside with either."""
    bench = Head(cam_wear="0.004 in", undersize="-0.010 in, -0.020 in")
    bench.done(f"{{operation: {GRIND_CAM}, part: cam_journal, to_size: -0.010 in}}")
    for part in ("cam_journal", "camshaft"):
        bench.line(f"{{part: {part}, moment: after machining, otherwise: none}}")
    bench.measured("camshaft", "all", single("camshaft_runout", "0.001 in"), moment="after machining")
    bench.measured(
        "cam_journal", "2", even("cam_journal_diameter", FOUR, "1.9898 in"), moment="after machining"
    )
    values = {name: "1.9898 in" if "upright" in name else least for name in FOUR}
    bench.measured("cam_journal", "1", readings("cam_journal_diameter", values), moment="after machining")
    journal = of(bench.decide(), "cam_journal", "1")
    assert journal.verdict == verdict
    assert ("cam-journal-out-of-round" in because(journal)) == (verdict == "recondition")


def test_a_scored_cam_journal_is_ground_where_undersizes_are_listed() -> None:
    """K4 replaces it; grinding is common practice, no source."""
    bench = Head(undersize="-0.010 in").found("cam_journal", "1", cam_journal_scoring="catches")
    journal = of(bench.decide(), "cam_journal", "1")
    assert (journal.verdict, work(journal)) == ("recondition", [GRIND_CAM])


@pytest.mark.parametrize(
    ("part", "finding", "extent", "verdict"),
    [
        ("cam_journal", "cam_journal_scoring", "light", "reuse"),
        ("cam_journal", "cam_journal_scoring", "catches", "replace"),
        ("cam_lobe", "lobe_scuffing", "light", "reuse"),
        ("cam_lobe", "lobe_scuffing", "worn_flat", "replace"),
    ],
)
def test_badly_scored_is_replaced_and_lightly_scored_is_dressed(
    part: str, finding: str, extent: str, verdict: str
) -> None:
    """K4 and K5. The manual calls dressing a repair; size and form stay, so it is reuse with a task."""
    place = "1" if part == "cam_journal" else "1 inlet"
    decision = Head().found(part, place, **{finding: extent}).decide()
    item = of(decision, part, place)
    assert item.verdict == verdict
    assert ("dress_cam" in tasks(item)) == (extent == "light")
    assert of(decision, "camshaft").verdict == verdict


def test_a_pitted_lobe_is_ground_anew_where_a_specialist_can() -> None:
    """K5; that only a specialist grinds below the pits is common practice, no source."""
    lobe = of(Head().found("cam_lobe", "1 inlet", lobe_scuffing="pitted").decide(), "cam_lobe", "1 inlet")
    assert (lobe.verdict, work(lobe)) == ("recondition", ["regrind_lobes"])


@pytest.mark.parametrize(
    ("finding", "extent"),
    [("camshaft_crack", "line"), ("camshaft_thread", "pulled")],
)
def test_a_cracked_camshaft_or_one_with_stripped_threads_is_replaced(finding: str, extent: str) -> None:
    """K6."""
    assert stands(Head().found("camshaft", **{finding: extent}).decide(), "camshaft") == (
        "replace",
        "condemned",
    )


# ---- bushes: NAVEDTRA 14264A p. 3-18, official (K8) ----


@pytest.mark.parametrize(
    ("finding", "extent"), [("cam_bush_wear_marks", "wiped"), ("cam_bush_moved", "covered")]
)
def test_a_damaged_cam_bush_condemns_itself_and_the_others_are_a_judgement(finding: str, extent: str) -> None:
    """Common practice, no source; K8, official, renews all at a complete overhaul, and is named."""
    decision = Head().found("cam_bearing_bush", "1", **{finding: extent}).decide()
    assert stands(decision, "cam_bearing_bush", "1") == ("replace", "condemned")
    other = of(decision, "cam_bearing_bush", "2")
    assert other.verdict == "reuse"
    (told,) = [task for task in other.tasks if task.task == "judge_other_cam_bushes"]
    assert "judgement" in told.says
    assert "complete overhaul renews all" in told.says
    assert other.course.answer == "reuse"


# ---- rockers: NAVEDTRA 14076 p. 64 and TM 1-1500-204-23-1, official (K9 to K11, K15) ----


@pytest.mark.parametrize(("bore", "verdict"), [("0.7546 in", "reuse"), ("0.7550 in", "recondition")])
def test_a_rocker_with_a_worn_bush_is_rebushed(bore: str, verdict: str) -> None:
    """K9. The limit of 0.005 in is the trial engine's own; its shaft measures 0.7498 in."""
    line = single("rocker_bore_diameter", bore)
    bench = Head().instead("rocker_arm", "1 inlet", line, others=OTHERS)
    rocker = of(bench.decide(), "rocker_arm", "1 inlet")
    assert (rocker.verdict, work(rocker)) == (verdict, ["rebush_rocker"] if verdict == "recondition" else [])


@pytest.mark.parametrize(
    ("finding", "extent", "verdict", "doing"),
    [
        ("adjusting_thread", "slack", "replace", []),
        ("adjusting_thread", "worn_ball", "recondition", ["renew_adjusting_screw"]),
        ("rocker_crack", "line", "replace", []),
        ("rocker_pad", "hollow", "recondition", ["dress_rocker_pad"]),
        ("rocker_pad", "step", "replace", []),
        ("rocker_crack", "could not be judged", "replace", []),
    ],
)
def test_what_is_found_on_a_rocker(finding: str, extent: str, verdict: str, doing: list[str]) -> None:
    """K10 for the thread, K11 for the fittings, K15 for the crack; the pad is common practice, no source."""
    rocker = of(Head().found("rocker_arm", "1 inlet", **{finding: extent}).decide(), "rocker_arm", "1 inlet")
    assert (rocker.verdict, work(rocker)) == (verdict, doing)


# ---- push rods and tappets: a military engine course, official reprint (K12 to K14), and K11 ----


@pytest.mark.parametrize(
    ("finding", "extent", "verdict"),
    [
        ("push_rod_bent", "bent", "replace"),
        ("push_rod_ends", "nicked", "reuse"),
        ("push_rod_ends", "worn", "replace"),
        ("push_rod_bent", "lost", "replace"),
    ],
)
def test_what_is_found_on_a_push_rod(finding: str, extent: str, verdict: str) -> None:
    """K12 bent, K13 nicked ends stoned, K11 worn fittings; the safe side is common practice, no source."""
    rod = of(Head().found("push_rod", "1 inlet", **{finding: extent}).decide(), "push_rod", "1 inlet")
    assert rod.verdict == verdict
    assert ("stone_push_rod_end" in tasks(rod)) == (extent == "nicked")


@pytest.mark.parametrize("extent", ["flat", "hollow_or_pitted"])
def test_a_worn_tappet_is_replaced(extent: str) -> None:
    """K14."""
    decision = Head().found("follower", "1 inlet", follower_face=extent).decide()
    assert stands(decision, "follower", "1 inlet") == ("replace", "condemned")
    assert of(decision, "follower", "2 inlet").verdict == "reuse"


# ---- chains and facts of the trade: common practice, no source ----


def test_a_worn_lobe_takes_its_follower_and_a_new_camshaft_all_of_them() -> None:
    bench = Head().instead("cam_lobe", "1 inlet", single("lobe_lift", "0.285 in"), others=OTHERS)
    decision = bench.decide()
    assert of(decision, "cam_lobe", "1 inlet").verdict == "replace"
    assert of(decision, "camshaft").verdict == "replace"
    own = of(decision, "follower", "1 inlet")
    assert (own.verdict, own.ground) == ("replace", "condemned")
    assert "follower-of-a-spent-lobe" in because(own)
    assert stands(decision, "follower", "2 exhaust") == ("replace", "routine")


def test_roller_followers_stay_with_a_new_camshaft() -> None:
    decision = Head(follower="roller").found("camshaft", camshaft_crack="line").decide()
    assert of(decision, "follower", "1 inlet").verdict == "reuse"


def test_a_bad_follower_has_its_lobe_measured() -> None:
    bench = Head().found("follower", "1 inlet", follower_turned="straight").without("cam_lobe", "lobe_lift")
    decision = bench.decide()
    assert of(decision, "follower", "1 inlet").verdict == "replace"
    assert ("cam-lobe-under-a-bad-follower", "cam_lobe", "1 inlet") in fired(decision)
    assert ("cam-lobe-under-a-bad-follower", "cam_lobe", "2 inlet") not in fired(decision)
    assert ("cam_lobe", "1 inlet", "lobe_lift_lost") in asked(of(decision, "cam_lobe", "1 inlet"))
    assert "follower_not_turning" in {cause.concern for cause in decision.causes}


def test_a_clearance_that_has_grown_points_to_the_lobe() -> None:
    bench = Head().instead("rocker_arm", "1 exhaust", single("valve_lash", "0.030 in"), others="2, inlet")
    decision = bench.without("cam_lobe", "lobe_lift").decide()
    assert "ask_why_lash_changed" in tasks(of(decision, "rocker_arm", "1 exhaust"))
    assert ("cam-lobe-under-a-wide-clearance", "cam_lobe", "1 exhaust") in fired(decision)
    assert ("cam-lobe-under-a-wide-clearance", "cam_lobe", "1 inlet") not in fired(decision)


def test_a_clearance_that_has_closed_points_to_the_valve() -> None:
    bench = Head().instead("rocker_arm", "1 exhaust", single("valve_lash", "0.002 in"), others="2, inlet")
    decision = bench.found("exhaust_valve", valve_stretched="not looked at").decide()
    assert ("exhaust-valve-tight-clearance-found", "exhaust_valve", "1") in fired(decision)
    assert ("exhaust_valve", "1", "valve_stretched") in asked(of(decision, "exhaust_valve", "1"))


def test_a_bent_push_rod_leads_to_rocker_valve_piston_and_timing() -> None:
    bench = Head().found("push_rod", "1 exhaust", push_rod_bent="bent")
    bench.found("rocker_arm", rocker_crack="not looked at").without("exhaust_valve", "valve_face_runout")
    decision = bench.decide()
    assert of(decision, "push_rod", "1 exhaust").verdict == "replace"
    assert ("rocker_arm", "1 exhaust", "rocker_crack") in asked(of(decision, "rocker_arm", "1 exhaust"))
    valve = of(decision, "exhaust_valve", "1")
    assert ("exhaust_valve", "1", "valve_face_out_of_true") in asked(valve)
    assert ("exhaust-valve-may-have-touched", "exhaust_valve", "1") in fired(decision)
    assert "look_for_valve_marks" in tasks(of(decision, "piston", "1"))
    assert "look_for_valve_marks" not in tasks(of(decision, "piston", "2"))
    assert "check_timing_before_start" in tasks(of(decision, "camshaft"))
    causes = {cause.concern for cause in decision.causes}
    assert {"valve_train_overloaded", "timing_in_question"} <= causes


def test_a_shut_oil_hole_has_the_rockers_measured() -> None:
    bench = Head().found("rocker_shaft", rocker_oil_hole_blocked="blocked")
    decision = bench.without("rocker_arm", "rocker_bore_diameter").decide()
    shaft = of(decision, "rocker_shaft")
    assert (shaft.verdict, "clear_rocker_oil_holes" in tasks(shaft)) == ("reuse", True)
    assert ("rocker_arm", "1 inlet", "rocker_clearance") in asked(of(decision, "rocker_arm", "1 inlet"))
    assert "cam_starved" in {cause.concern for cause in decision.causes}


@pytest.mark.parametrize(
    ("made", "finding", "extent", "verdict"),
    [
        ("roller", "follower_roller", "drags", "reuse"),
        ("roller", "follower_roller", "rough_or_slack", "replace"),
        ("hydraulic", "follower_leak_down", "soft", "replace"),
        ("hydraulic", "follower_leak_down", "stuck", "replace"),
        ("flat_face", "follower_face", "could not be judged", "replace"),
        ("flat_face", "follower_turned", "lost", "replace"),
        ("roller", "follower_face", "flat", "reuse"),
    ],
)
def test_what_is_found_on_a_follower(made: str, finding: str, extent: str, verdict: str) -> None:
    follower = of(
        Head(follower=made).found("follower", "1 inlet", **{finding: extent}).decide(), "follower", "1 inlet"
    )
    assert follower.verdict == verdict


@pytest.mark.parametrize(
    ("extent", "verdict", "doing"),
    [
        ("light", "reuse", []),
        ("torn", "recondition", ["sleeve_follower_bore"]),
        ("broken_out", "replace", []),
    ],
)
def test_what_is_found_on_a_follower_bore(extent: str, verdict: str, doing: list[str]) -> None:
    """No oversize follower is listed for this engine, so a sleeve is the way that is left."""
    bore = of(
        Head().found("follower_bore", "1 inlet", follower_bore_marks=extent).decide(),
        "follower_bore",
        "1 inlet",
    )
    assert (bore.verdict, work(bore)) == (verdict, doing)


@pytest.mark.parametrize(
    ("part", "finding", "extent", "verdict"),
    [
        ("rocker_shaft", "rocker_shaft_step", "felt", "reuse"),
        ("rocker_shaft", "rocker_shaft_step", "caught", "replace"),
        ("rocker_shaft", "rocker_shaft_step", "could not be judged", "replace"),
        ("cam_thrust_plate", "thrust_plate_wear", "track", "reuse"),
        ("cam_thrust_plate", "thrust_plate_wear", "grooved", "replace"),
        ("camshaft", "cam_drive_wear", "polished_hollow", "reuse"),
        ("camshaft", "cam_drive_wear", "worn", "replace"),
        ("camshaft", "cam_decompressor", "sticks", "reuse"),
        ("camshaft", "cam_decompressor", "broken", "replace"),
        ("camshaft", "camshaft_crack", "could not be judged", "replace"),
    ],
)
def test_what_is_found_on_shafts_and_plate(part: str, finding: str, extent: str, verdict: str) -> None:
    assert of(Head().found(part, **{finding: extent}).decide(), part).verdict == verdict


def test_a_bent_camshaft_is_replaced() -> None:
    """The limit of 0.002 in is the trial engine's own."""
    for run_out, verdict in (("0.0019 in", "reuse"), ("0.0021 in", "replace")):
        bench = Head().instead("camshaft", "all", single("camshaft_runout", run_out))
        assert of(bench.decide(), "camshaft").verdict == verdict


def test_what_is_mixed_up_is_not_put_back() -> None:
    """Running-in partners go back to their own places or not at all."""
    for part, verdict in (("follower", "replace"), ("push_rod", "replace"), ("rocker_arm", "recondition")):
        bench = Head()
        taken = ", ".join(each for each in SOUND.get(part, []) if not each.startswith("valve_lash"))
        rest = f", readings: {{{taken}}}" if taken else ""
        for tag in ("A", "B"):
            bench.line(
                f"{{part: {part}, place: unknown, tag: {tag}, from_among: '1 inlet, 2 inlet', moment: strip, "
                f"otherwise: none{rest}}}"
            )
        lost = [each for each in bench.decide().verdicts if each.part == part and each.tag]
        assert [each.verdict for each in lost] == [verdict, verdict], part
