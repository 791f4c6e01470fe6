"""A second assembly, outside the engine: a two-shaft gearbox as a rule set, and nothing added to the program.

Sources, by the key under which `rulesets/gearbox/sources.yaml` enters them:

* US Army TM 5-3810-300-24&P2, pp. 4-108, 4-109 (rule of thumb) - bearings, gears, splines, thrust washers
* US Army TM 10-3930-671-24 (rule of thumb) - bearings, frosting and pitting of gears, shafts, splines
* US Army TM 9-2520-246-34 (rule of thumb) - run-out of shafts, splines, cracks of covers
* US Army TM 9-2520-272-34&P, par. 3-3, 3-8 (rule of thumb) - teeth, shafts; what is always new
* US Army TM 9-2520-270-34, p. 2-9 (rule of thumb) - castings, bearings, thrust washers
* US Army TM 9-2320-211-34-2-1, frame 4 (of one gearbox) - both gears of a pair beyond its backlash go
* ISO 15243:2017 and ISO 10825-1:2022 (official, scope only) - the words for damage to bearings and teeth

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
import yaml

from advisor.authoring.cases import files_of, run_tests
from advisor.cli import main
from tests.outside.gearbox import PLACES, ROOT, RULES, Gearbox, because, of, rules, sheet
from tests.packaging.tree import project_files

DEMO = ROOT / "cases_demo" / "peat_locomotive"

ALWAYS_NEW = {
    # TM 9-2520-272-34&P, par. 3-8: gaskets, packings, oil seals, lockstrips, tab washers and locknuts.
    "radial_seal": "gearbox-seals-always-new",
    "case_gasket": "gearbox-gaskets-always-new",
    "shaft_lock": "gearbox-locks-always-new",
    # Common practice, no source: circlips that were spread.
    "shaft_circlip": "shaft-circlips-always-new",
}


def test_a_sound_gearbox_is_reused_save_for_what_is_always_renewed() -> None:
    for each in Gearbox().decide().verdicts:
        if each.part in ALWAYS_NEW:
            assert (each.verdict, each.ground) == ("replace", "routine"), each.part
            assert because(each) == {ALWAYS_NEW[each.part]}
        else:
            assert (each.verdict, each.ground, each.asks) == ("reuse", "sound", ()), each.part


# ---- one finding at a time: the extent that stays, and the next one that does not ----

REPLACE, RECONDITION = "replace", "recondition"
TRACK, COLOURED = "bearing-track-damaged", "bearing-coloured-by-heat"

CONDEMNS = [
    # part, place, finding, extent that stays, extent that does not, verdict, rule
    # TM 5-3810-300-24&P2, p. 4-108, and TM 10-3930-671-24, A: pitted or flaked bearings are replaced.
    ("rolling_bearing", "input rear", "raceway_marks", "none", "spalled", REPLACE, TRACK),
    # TM 10-3930-671-24, A: so are discoloured ones.
    ("rolling_bearing", "input rear", "bearing_heat", "none", "coloured", REPLACE, COLOURED),
    # Both: a ring that turns freely in its bore; sleeving in its place is common practice.
    ("bearing_bore", "input rear", "bore_creep", "polished", "turned", RECONDITION, "bore-eaten-by-its-ring"),
    # TM 10-3930-671-24, B: frosting is no threat, light pits have life in them, advanced pitting is replaced.
    ("loose_gear", "2", "flank_damage", "frosted", "heavy_pits", REPLACE, "loose-gear-flanks-gone"),
    ("loose_gear", "2", "flank_damage", "light_pits", "heavy_pits", REPLACE, "loose-gear-flanks-gone"),
    ("fixed_gear", "2", "flank_damage", "light_pits", "heavy_pits", REPLACE, "fixed-gear-flanks-gone"),
    # TM 9-2520-272-34&P, par. 3-3: burrs come off with a whetstone; chipped, cracked or broken teeth condemn.
    ("loose_gear", "1", "tooth_break", "burr", "chipped", REPLACE, "loose-gear-tooth-broken"),
    ("fixed_gear", "1", "tooth_break", "burr", "chipped", REPLACE, "fixed-gear-tooth-broken"),
    # TM 5-3810-300-24&P2, p. 4-109: engaging teeth worn, tapered or shortened from clashing.
    ("loose_gear", "2", "dog_teeth", "points_blunted", "shortened", REPLACE, "dog-teeth-shortened"),
    # The same: splines into whose sides a hub has worn; TM 9-2520-272-34&P: twisted or broken.
    ("gearbox_shaft", "output", "shaft_splines", "polished", "stepped", REPLACE, "gearbox-splines-stepped"),
    # TM 10-3930-671-24, B: bent or cracked shafts.
    ("gearbox_shaft", "input", "shaft_crack", "none", "indication", REPLACE, "gearbox-shaft-cracked"),
    # TM 9-2520-272-34&P, par. 3-3: minor scoring comes off with crocus cloth, deep scores condemn.
    ("gearbox_shaft", "input", "shaft_surface", "light", "spoilt", REPLACE, "gearbox-shaft-surface-spoilt"),
    # TM 5-3810-300-24&P2, p. 4-109: scored thrust washers.
    ("gear_thrust_washer", "3", "washer_face", "light", "scored", REPLACE, "washer-scored"),
    # TM 9-2520-270-34, p. 2-9: any bearing with a fault.
    ("gear_needles", "3", "needle_marks", "none", "marked", REPLACE, "needles-marked"),
    # TM 9-2520-246-34: small cracks clear of the mounting holes are repaired; others are not.
    ("gearbox_case", "", "case_crack", "none", "in_wall", RECONDITION, "case-cracked-in-its-wall"),
    ("gearbox_case", "", "case_crack", "none", "into_hole", REPLACE, "case-cracked-into-a-hole"),
    # Common practice, no source, from here on.
    ("gearbox_case", "", "case_face", "burrs", "gouged", RECONDITION, "case-face-gouged"),
    ("gearbox_shaft", "input", "seal_groove", "felt", "catches", RECONDITION, "gearbox-seal-track-grooved"),
    ("rolling_bearing", "input rear", "raceway_marks", "none", "at_ball_pitch", REPLACE, TRACK),
    ("rolling_bearing", "input rear", "cage_damage", "none", "worn", REPLACE, "bearing-cage-worn"),
    ("rolling_bearing", "input rear", "bearing_feel", "none", "rough", REPLACE, "bearing-rough"),
    ("loose_gear", "1", "cone_surface", "smeared", "scored", REPLACE, "cone-scored"),
    ("synchroniser_ring", "2", "ring_grip", "none", "slips", REPLACE, "ring-does-not-grip"),
    ("synchroniser_ring", "2", "ring_damage", "blunted", "worn", REPLACE, "ring-worn-or-cracked"),
    ("synchroniser_sleeve", "1", "sleeve_teeth", "blunted", "rounded", REPLACE, "sleeve-teeth-rounded"),
    ("synchroniser_sleeve", "1", "sleeve_slides", "burr", "sticks", REPLACE, "sleeve-sticks-on-its-hub"),
    ("selector_fork", "2", "fork_damage", "polished", "worn_or_bent", REPLACE, "fork-bent-or-worn-through"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("part", "place", "finding", "stays", "goes", "verdict", "rule"),
    CONDEMNS,
    ids=[f"{c[6]}-{c[3]}" for c in CONDEMNS],
)
def test_a_finding_condemns_from_its_extent_on(
    part: str, place: str, finding: str, stays: str, goes: str, verdict: str, rule: str
) -> None:
    mild = of(Gearbox().found(part, place, f"{finding}: {stays}").decide(), part, place)
    assert (mild.verdict, mild.ground) == ("reuse", "sound")
    grave = of(Gearbox().found(part, place, f"{finding}: {goes}").decide(), part, place)
    assert (grave.verdict, grave.ground) == (verdict, "condemned")
    # What has flaked went through the oil, and then every bearing goes, this one too.
    assert because(grave) - {"bearing-that-ran-in-metal"} == {rule}


# ---- sizes, just inside and just outside ----

SIZES = [
    # part, place, reading, size that stays, size that does not, verdict, rule; the trial gearbox's limits
    # TM 5-3810-300-24&P2 and TM 10-3930-671-24: bearings with too much clearance.
    ("rolling_bearing", "output rear", "radial_play", "0.055 mm", "0.065 mm", "replace", "bearing-slack"),
    # TM 9-2320-211-34-2-1, frame 4: gears beyond their backlash.
    ("loose_gear", "3", "gear_backlash", "0.29 mm", "0.31 mm", "replace", "gears-worn-slack"),
    # TM 5-3810-300-24&P2, p. 4-109: thrust washers reduced in thickness.
    ("gear_thrust_washer", "1", "washer_thickness", "3.92 mm", "3.88 mm", "replace", "washer-worn-thin"),
    # TM 10-3930-671-24, A: the ring is slightly tight to slightly loose in its bore.
    ("bearing_bore", "output front", "bore_diameter", "72.030 mm", "72.050 mm", "recondition",
     "bore-too-large-for-its-ring"),
    # Common practice, no source: the gap of a ring, and the play of a fork.
    ("synchroniser_ring", "1", "ring_to_gear", "0.52 mm", "0.48 mm", "replace", "ring-worn-onto-its-cone"),
    ("selector_fork", "1", "pad_thickness", "7.48 mm", "7.42 mm", "replace", "fork-slack-in-its-groove"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("part", "place", "reading", "stays", "goes", "verdict", "rule"), SIZES, ids=[c[6] for c in SIZES]
)
def test_a_size_condemns_beyond_its_limit(
    part: str, place: str, reading: str, stays: str, goes: str, verdict: str, rule: str
) -> None:
    assert of(Gearbox().measured(part, place, reading, stays).decide(), part, place).verdict == "reuse"
    grave = of(Gearbox().measured(part, place, reading, goes).decide(), part, place)
    assert (grave.verdict, because(grave)) == (verdict, {rule})


def test_a_shaft_without_a_makers_limit_is_held_to_a_thousandth_of_an_inch() -> None:
    """TM 9-2520-246-34: misalignment between centres over 0.001 in (0.0254 mm) is cause for rejection."""
    bare = sheet(
        ("  gearbox_shaft:\n    limits: [{dimension: shaft_run_out, purpose: discard, at_most: 0.050 mm}]\n",
         "  gearbox_shaft: {}\n")
    )  # fmt: skip
    inside = of(
        Gearbox().measured("gearbox_shaft", "input", "run_out", "0.024 mm").decide(bare),
        "gearbox_shaft",
        "input",
    )
    outside = of(
        Gearbox().measured("gearbox_shaft", "input", "run_out", "0.027 mm").decide(bare),
        "gearbox_shaft",
        "input",
    )
    assert (inside.verdict, outside.verdict) == ("reuse", "replace")
    assert because(outside) == {"gearbox-shaft-bent"}
    assert any("rule of thumb" in line.limit_from for reason in outside.reasons for line in reason.evidence)
    own = of(
        Gearbox().measured("gearbox_shaft", "input", "run_out", "0.027 mm").decide(), "gearbox_shaft", "input"
    )
    assert own.verdict == "reuse", "the maker's figure governs"


def test_the_end_float_of_the_crane_gearbox_is_for_putting_together_only() -> None:
    """TM 5-3810-300-24&P2, p. 4-109: .005 to .011 in (0.127 to 0.279 mm), and no discard limit."""
    (thumb,) = [limit for limit in rules().limits if limit.dimension == "gear_end_float"]
    assert thumb.purpose == "reassembly"
    assert thumb.at_least is not None
    assert thumb.at_most is not None
    assert thumb.at_least.plus is not None
    assert thumb.at_most.plus is not None
    sizes = thumb.at_least.plus.value, thumb.at_most.plus.value
    assert sizes == (Decimal("0.127"), Decimal("0.2794"))  # in mm
    wide = of(Gearbox().measured("loose_gear", "1", "end_float", "0.32 mm").decide(), "loose_gear", "1")
    assert wide.verdict == "reuse"
    assert any("reassembly" in note for note in wide.notes)


# ---- chains from part to part ----


def test_what_flakes_off_one_bearing_takes_the_others() -> None:
    """Common practice, no source."""
    decision = Gearbox().found("rolling_bearing", "input front", "raceway_marks: spalled").decide()
    for place in PLACES["rolling_bearing"][1:]:
        other = of(decision, "rolling_bearing", place)
        assert (other.verdict, other.ground, because(other)) == (
            "replace",
            "routine",
            {"bearing-that-ran-in-metal"},
        )
    assert "flush_everything" in {task.task for task in of(decision, "gearbox_case").tasks}


def test_flakes_in_the_oil_do_the_same_where_nobody_found_their_home() -> None:
    """Common practice, no source; paste on the magnet is no debris."""
    decision = Gearbox().found("gearbox_case", "strip", "oil_debris: flakes").decide()
    assert of(decision, "rolling_bearing", "output rear").ground == "routine"
    assert [cause.concern for cause in decision.causes] == []
    pieces = Gearbox().found("gearbox_case", "strip", "oil_debris: pieces").decide()
    assert [(cause.concern, cause.state) for cause in pieces.causes] == [("something_broke", "open")]


def test_both_gears_of_a_pair_go_beyond_their_backlash() -> None:
    """TM 9-2320-211-34-2-1, frame 4: readings outside the limits, both gears are thrown away."""
    decision = Gearbox().measured("loose_gear", "2", "gear_backlash", "0.36 mm").decide()
    mate = of(decision, "fixed_gear", "2")
    assert (mate.verdict, mate.ground, because(mate)) == (
        "replace",
        "routine",
        {"fixed-gear-whose-mate-failed"},
    )
    assert of(decision, "fixed_gear", "1").verdict == "reuse"


def test_a_gear_that_floats_is_no_fault_of_the_gear() -> None:
    """TM 5-3810-300-24&P2, p. 4-109: where it is too much, check ring, washer, spacer and hub."""
    decision = Gearbox().measured("loose_gear", "3", "end_float", "0.60 mm").decide()
    gear = of(decision, "loose_gear", "3")
    assert gear.verdict == "reuse"
    assert "grade_circlip" in {task.task for task in gear.tasks}
    fired = {(step.part, step.place, step.rule) for step in decision.steps if step.certain}
    assert ("gear_thrust_washer", "3", "washer-of-a-gear-that-floats") in fired
    assert ("gear_thrust_washer", "2", "washer-of-a-gear-that-floats") not in fired


def test_slack_needles_are_told_by_the_play_of_their_gear() -> None:
    """TM 5-3810-300-24&P2, p. 4-108: bearings with excessive clearance are replaced."""
    decision = Gearbox().measured("loose_gear", "1", "gear_rock", "0.15 mm").decide()
    assert because(of(decision, "gear_needles", "1")) == {"needles-under-a-slack-gear"}
    assert of(decision, "loose_gear", "1").verdict == "reuse"


def test_the_clutch_is_blamed_only_where_ring_and_cone_are_sound() -> None:
    """Common practice, no source."""
    worn = Gearbox().found("loose_gear", "2", "dog_teeth: shortened")
    assert [(cause.concern, cause.place) for cause in worn.decide().causes] == [("clutch_drags", "2")]
    assert worn.measured("synchroniser_ring", "2", "ring_to_gear", "0.30 mm").decide().causes == ()
    cone = Gearbox().found("loose_gear", "2", "dog_teeth: shortened, cone_surface: scored").decide()
    assert cone.causes == ()
    sleeve = of(worn.decide(), "synchroniser_sleeve", "1")
    assert (sleeve.ground, because(sleeve)) == ("routine", {"sleeve-that-locked-on-worn-dog-teeth"})
    assert of(worn.decide(), "synchroniser_sleeve", "2").verdict == "reuse", (
        "it locks on the third speed only"
    )


def test_a_ring_goes_with_its_cone() -> None:
    """Common practice, no source."""
    decision = Gearbox().found("loose_gear", "3", "cone_surface: scored").decide()
    ring = of(decision, "synchroniser_ring", "3")
    assert (ring.ground, because(ring)) == ("routine", {"ring-from-a-spoilt-cone"})


def test_rings_and_sleeves_go_back_only_where_they_came_from() -> None:
    """Common practice, no source: bedded in to one partner."""
    lost = Gearbox().lost("synchroniser_ring", "1", "2")
    for tag in ("A", "B"):
        lost = lost.line(
            f'{{part: synchroniser_ring, place: unknown, tag: {tag}, from_among: "1, 2", otherwise: none}}'
        )
    decision = lost.decide()
    assert because(of(decision, "synchroniser_ring", "unknown", "A")) == {"ring-whose-place-is-lost"}
    assert of(decision, "synchroniser_ring", "3").verdict == "reuse"


def test_a_bore_cannot_be_renewed_by_itself() -> None:
    """Common practice, no source: a crack in a bore ends the case."""
    decision = Gearbox().found("bearing_bore", "output rear", "case_crack: in_wall").decide()
    assert of(decision, "bearing_bore", "output rear").verdict == "replace"
    assert of(decision, "gearbox_case").verdict == "replace"


@pytest.mark.parametrize(("part", "place"), [(part, places[0]) for part, places in PLACES.items()])
def test_nothing_is_reused_that_nobody_looked_at(part: str, place: str) -> None:
    decision = Gearbox().lost(part, place).decide()
    assert of(decision, part, place).verdict == "undecided"


# ---- the trial of breadth itself ----


def test_the_rule_set_is_tried_by_its_own_tests_and_the_demo_case() -> None:
    for paths in (files_of(RULES), [DEMO / "expected.yaml"]):
        trial = run_tests(rules(), paths)
        assert trial.tried
        assert [each.name for each in trial.tried if not each.passed] == []


def test_every_part_of_the_demo_has_a_verdict_or_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["decide", str(DEMO / "case.yaml"), "--rules", str(RULES), "--brief"]) == 0
    shown = capsys.readouterr().out
    assert "SYNCHRONISERS AND SELECTORS" in shown
    assert "NOT JUDGED" not in shown
    assert "1 undecided" in re.sub(r"\s+", " ", shown)


def test_no_error_or_remark_is_left(capsys: pytest.CaptureFixture[str]) -> None:
    assert (
        main(["check", str(RULES), str(DEMO / "engine.yaml"), str(DEMO / "case.yaml"), "--rules", str(RULES)])
        == 0
    )
    assert main(["rules", "check", str(RULES)]) == 0
    assert "nothing found" in re.sub(r"\s+", " ", capsys.readouterr().out)
    assert main(["rules", "cover", str(RULES), "--at-least", "100"]) == 0


def words() -> set[str]:
    """The names of this rule set's parts, and the words of the trade that they are made of."""
    found = {"gearbox", "synchroniser", "selector", "dog teeth", "thrust washer", "circlip"}
    for path in (RULES / "vocabulary").glob("*.yaml"):
        content = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        found |= {name for name in content.get("kinds") or () if "_" in name}
    return found


def test_the_program_knows_nothing_of_gearboxes() -> None:
    pattern = re.compile("|".join(sorted(map(re.escape, words()))), re.IGNORECASE)
    found = [
        f"{name}: {match.group()}"
        for name in project_files()
        if name.parts[0] == "advisor"
        for match in pattern.finditer(Path(ROOT / name).read_text("utf-8", errors="replace"))
    ]
    assert len(words()) > 15
    assert found == []
