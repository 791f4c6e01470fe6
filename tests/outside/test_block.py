"""The rules for block, deck, plugs, jets and cam bores held against the trade's facts and chains.

Sources, by the key under which `rulesets/engine/sources.yaml` enters them:

* a school textbook's chapter 57 - how cracks are found, how the deck is tried (trade guide)
* US Navy NAVEDTRA 14264A, p. 3-29 - two neighbours low (official)
* FAA-H-8083-32, ch. 10, reposted - look before you clean (official reprint)

What rests on none of them is common practice, no source, and said so beside the check.
"""

from __future__ import annotations

import pytest

from advisor.verdicts.model import Verdict
from tests.outside.bores import BUSH, DECK, Bench, even, readings
from tests.outside.crank import asked, because, fired, of, rules


def _tasks(verdict: Verdict) -> set[str]:
    return {task.task for task in verdict.tasks}


def _work(verdict: Verdict) -> list[str]:
    return [each.operation for each in verdict.operations]


def _block(**findings: str) -> Verdict:
    return of(Bench().found("cylinder_block", "all", moment="clean", **findings).decide(), "cylinder_block")


# ---- cracks, leaks, repairs ----


def test_a_block_that_nobody_has_looked_at_for_cracks_is_not_cleared() -> None:
    """Textbook, ch. 57 (H6): magnetic powder on iron, dye on aluminium. Not even for work on it."""
    found = _block(block_crack="not looked at")
    assert found.verdict == "undecided"
    assert ("cylinder_block", "", "block_crack") in asked(found)
    look = rules().vocabulary.findings["block_crack"].look.lower()
    assert "magnetic powder on iron" in look
    assert "dye on aluminium" in look


@pytest.mark.parametrize(
    ("extent", "verdict"),
    [
        ("none", "reuse"),
        ("in_jacket_wall", "recondition"),
        ("into_bolt_boss", "replace"),
        ("in_web", "replace"),
    ],
)
def test_a_crack_is_stitched_where_it_carries_nothing_and_nowhere_else(extent: str, verdict: str) -> None:
    """Common practice, no source."""
    found = _block(block_crack=extent)
    assert found.verdict == verdict
    if verdict == "recondition":
        assert _work(found) == ["stitch_crack"]


@pytest.mark.parametrize("cooling", ["water", "air"])
def test_only_a_water_jacket_is_pressure_tested(cooling: str) -> None:
    """Common practice, no source."""
    bench = Bench(cooling=cooling).found("cylinder_block", "all", moment="clean", jacket_leak="not looked at")
    found = of(bench.decide(), "cylinder_block")
    assert ("water-cooled-block-is-pressure-tested" in {rule for rule, _, _ in fired(bench.decide())}) == (
        cooling == "water"
    )
    if cooling == "water":
        assert ("cylinder_block", "", "jacket_leak") in asked(found)


@pytest.mark.parametrize(
    ("finding", "mildest", "verdict", "below", "milder"),
    [
        ("jacket_leak", "damp", "recondition", "none", "reuse"),
        ("earlier_block_repair", "in_loaded_place", "replace", "in_jacket_wall", "reuse"),
        ("casting_thread_damage", "pulled", "recondition", "rough", "reuse"),
        ("core_plug_seat", "eaten", "recondition", "stained", "reuse"),
    ],
)
def test_the_mildest_extent_that_tells_on_a_block(
    finding: str, mildest: str, verdict: str, below: str, milder: str
) -> None:
    """Common practice, no source."""
    assert _block(**{finding: mildest}).verdict == verdict
    assert _block(**{finding: below}).verdict == milder


def test_frost_shows_in_wall_and_plugs_and_is_looked_for_further() -> None:
    """Common practice, no source."""
    for part, findings in (
        ("cylinder_block", {"block_crack": "in_jacket_wall"}),
        ("core_plug", {"core_plug_pushed": "pushed"}),
    ):
        decision = Bench().found(part, "all", moment="strip", **findings).decide()
        assert "frost" in {each.concern for each in decision.causes}, part
        assert "find_the_frost" in _tasks(of(decision, "cylinder_block"))


def test_core_plugs_are_renewed_as_a_matter_of_course_and_condemned_where_they_weep() -> None:
    """Common practice, no source."""
    assert of(Bench().decide(), "core_plug").ground == "routine"
    assert of(Bench().found("core_plug", core_plug_rust="scaled").decide(), "core_plug").ground == "routine"
    decision = Bench().found("core_plug", core_plug_rust="weeping").decide()
    weeping = of(decision, "core_plug")
    assert {"renew_plugs_in_cleaned_seats", "test_jacket_with_water"} <= _tasks(
        of(decision, "cylinder_block")
    )
    assert (weeping.verdict, weeping.ground) == ("replace", "condemned")
    assert "core-plug-rusted-through" in because(weeping)


@pytest.mark.parametrize(
    ("cooling", "extent", "verdict"),
    [
        ("air", "clogged", "reuse"),
        ("air", "broken_at_root", "replace"),
        ("water", "broken_at_root", "reuse"),
    ],
)
def test_fins_are_the_jacket_of_an_air_cooled_engine(cooling: str, extent: str, verdict: str) -> None:
    """Common practice, no source."""
    decision = Bench(cooling=cooling).found("cylinder_block", cooling_fins=extent).decide()
    block = of(decision, "cylinder_block")
    assert block.verdict == verdict
    assert ("clean_fins" in _tasks(block)) == (extent == "clogged")


# ---- an engine that ran hot ----


def test_an_engine_that_ran_hot_leads_to_block_bores_rings_and_seals() -> None:
    """Common practice, no source; main bores are tried with a straight edge by the textbook (H7)."""
    bench = Bench(liners="wet", block="aluminium").found(
        "cylinder_block", "all", moment="running", overheating="boiled"
    )
    decision = bench.decide()
    block = of(decision, "cylinder_block")
    assert ("cylinder_block", "", "block_softening") in asked(block)
    assert "tell_the_machinist_ran_hot" in _tasks(block)
    assert "ran_hot" in {each.concern for each in decision.causes}
    firings = fired(decision)
    assert ("main-bores-after-heat", "main_bore", "1") in firings
    assert of(decision, "piston_ring_set", "1").ground == "condemned"
    assert "rings-after-heat" in because(of(decision, "piston_ring_set", "1"))
    assert "liner-seal-after-heat" in because(of(decision, "liner_seal", "2"))


def test_an_iron_block_that_ran_hot_is_not_tested_for_hardness() -> None:
    """Common practice, no source: it is aluminium that stays soft."""
    bench = Bench().found("cylinder_block", "all", moment="running", overheating="ran_on")
    assert "aluminium-block-that-ran-hot" not in {rule for rule, _, _ in fired(bench.decide())}


@pytest.mark.parametrize(("hardness", "verdict"), [("95 HB", "reuse"), ("60 HB", "replace")])
def test_soft_aluminium_is_not_machined_hard_again(hardness: str, verdict: str) -> None:
    """Common practice, no source; the maker's figure here is 80 HB."""
    bench = Bench(block="aluminium").found("cylinder_block", "all", moment="running", overheating="boiled")
    bench.line(
        f"{{part: cylinder_block, readings: {{block_hardness: {{limit_of_error: 2 HB, value: {hardness}}}}}}}"
    )
    assert of(bench.decide(), "cylinder_block").verdict == verdict


# ---- water in the oil ----


@pytest.mark.parametrize(
    ("part", "finding", "extent"),
    [("cylinder_block", "oil_milky", "milky"), ("sump", "sump_deposit", "water")],
)
def test_water_in_the_oil_says_what_to_open(part: str, finding: str, extent: str) -> None:
    """Common practice, no source: block and head under pressure, the lining of every shell."""
    decision = Bench().found(part, "all", **{finding: extent}).decide()
    firings = fired(decision)
    assert ("water-in-the-oil", "cylinder_block", "") in firings
    assert ("head-after-water-in-the-oil", "cylinder_head", "") in firings
    assert ("main-shells-after-water-in-the-oil", "main_shell", "1 lower") in firings
    assert ("big-end-shells-after-water-in-the-oil", "big_end_shell", "2 upper") in firings
    assert "find_the_water" in _tasks(of(decision, "cylinder_block"))
    assert "coolant_in_oil" in {each.concern for each in decision.causes}


def test_beads_under_the_filler_cap_are_not_water_in_the_oil() -> None:
    """Common practice, no source: a cold engine sweats."""
    decision = Bench().found("cylinder_block", oil_milky="droplets").decide()
    assert "water-in-the-oil" not in {rule for rule, _, _ in fired(decision)}


def test_a_jacket_washed_before_anybody_looked_is_cleaned_as_if_it_had_been_bad() -> None:
    """FAA-H-8083-32, ch. 10, reposted (H12): residues tell the story, so look before you clean."""
    decision = Bench().found("cylinder_block", water_jacket_scale="lost").decide()
    assert "descale_jacket" in _tasks(of(decision, "cylinder_block"))
    crown = Bench().found("piston", "1", crown_washed="lost").decide()
    assert "find_what_washed" in _tasks(of(crown, "piston", "1"))


# ---- oil ways and jets ----


def test_a_failed_bearing_leads_to_galleries_and_cooling_jets() -> None:
    """Common practice, no source: after bearing metal every gallery and jet is suspect."""
    decision = Bench().found("main_shell", "2 lower", lining_damage="lifting").decide()
    assert "brush_galleries" in _tasks(of(decision, "cylinder_block"))
    assert "soak_jet" in _tasks(of(decision, "piston_cooling_jet", "1"))
    assert "soak_jet" not in _tasks(of(Bench().decide(), "piston_cooling_jet", "1"))


@pytest.mark.parametrize(
    ("extent", "verdict"), [("none", "reuse"), ("dirty", "reuse"), ("bent_or_blocked", "replace")]
)
def test_a_cooling_jet_is_never_bent_back(extent: str, verdict: str) -> None:
    """Common practice, no source."""
    decision = Bench().found("piston_cooling_jet", "1", moment="clean", jet_blocked=extent).decide()
    assert of(decision, "piston_cooling_jet", "1").verdict == verdict


def test_a_jet_that_cannot_be_judged_is_replaced() -> None:
    """Common practice, no source: its safe side."""
    bench = Bench().found("piston_cooling_jet", "1", moment="clean", jet_blocked="could not be judged")
    assert of(bench.decide(), "piston_cooling_jet", "1").verdict == "replace"


def test_dust_is_looked_for_where_several_bores_are_worn_out() -> None:
    """Common practice, no source: one alone has a cause of its own."""
    positions = tuple(
        f"{level} {way}"
        for level in ("top_of_ring_travel", "middle", "bottom_of_ring_travel")
        for way in ("along", "across")
    )
    worn = even("cylinder_diameter", positions, "4.0050 in")
    for place, wanted in (("all", True), ("1", False)):
        decision = Bench().measured("cylinder_bore", place, worn).decide()
        assert ("dust_past_the_air_filter" in {each.concern for each in decision.causes}) == wanted


# ---- deck ----


@pytest.mark.parametrize(("gap", "verdict"), [("0.0035 in", "reuse"), ("0.0045 in", "recondition")])
def test_a_deck_out_of_flat_is_machined(gap: str, verdict: str) -> None:
    """Straight edge and feeler: textbook, ch. 57 (H7). The maker's limit here is 0.004 in."""
    values = {**dict.fromkeys(DECK, "0.001 in"), "diagonal_one": gap}
    found = of(Bench().measured("deck_face", "all", readings("deck_gap", values)).decide(), "deck_face")
    assert found.verdict == verdict
    if verdict == "recondition":
        assert _work(found) == ["skim_deck"]


def test_a_deck_that_is_too_low_costs_the_block() -> None:
    """Common practice, no source: nothing puts metal back."""
    low = even("deck_height", ("front", "rear"), "11.975 in")
    decision = Bench().measured("deck_face", "all", low).decide()
    assert of(decision, "deck_face").verdict == "replace"
    assert of(decision, "cylinder_block").verdict == "replace"


def test_two_neighbours_low_send_to_gasket_and_deck() -> None:
    """NAVEDTRA 14264A p. 3-29 (T6). Both are held against the best; here a third stands above them."""
    bench = Bench(count="3")
    for place, value in (("1", "350 psi"), ("2", "280 psi"), ("3", "285 psi")):
        bench.line(
            f"{{part: cylinder_bore, place: {place}, moment: running, "
            f"readings: {{compression_pressure: {{limit_of_error: 1 psi, value: {value}}}}}}}"
        )
    bench.found("deck_face", "all", moment="clean", fretting_at_deck="not looked at")
    decision = bench.decide()
    firings = fired(decision)
    assert ("two-neighbours-low", "cylinder_bore", "2") in firings
    assert ("two-neighbours-low", "cylinder_bore", "1") not in firings
    assert ("deck-under-a-blown-gasket", "deck_face", "") in firings
    assert ("deck_face", "", "fretting_at_deck") in asked(of(decision, "deck_face"))


@pytest.mark.parametrize(
    ("extent", "verdict"), [("none", "reuse"), ("stained", "reuse"), ("eroded", "recondition")]
)
def test_what_the_nail_catches_in_is_cut(extent: str, verdict: str) -> None:
    """Common practice, no source."""
    decision = Bench().found("deck_face", "all", moment="clean", fretting_at_deck=extent).decide()
    assert of(decision, "deck_face").verdict == verdict


# ---- cam bores ----


@pytest.mark.parametrize(("size", "verdict"), [("2.0015 in", "reuse"), ("2.0026 in", "recondition")])
def test_a_worn_cam_bore_is_cut_for_a_larger_bush(size: str, verdict: str) -> None:
    """Common practice, no source; the maker's limit here is 0.002 in of wear."""
    decision = Bench().measured("cam_bore", "1", even("cam_bore_diameter", BUSH, size)).decide()
    assert of(decision, "cam_bore", "1").verdict == verdict


def test_a_turned_bush_puts_its_bore_under_suspicion() -> None:
    """Common practice, no source: the measurement clears or condemns it."""
    bench = Bench().found("cam_bearing_bush", "1", moment="clean", cam_bush_moved="covered")
    decision = bench.found("cam_bore", "1", moment="clean", cam_bore_marks="not looked at").decide()
    found = of(decision, "cam_bore", "1")
    assert found.verdict == "undecided"
    assert ("cam_bore", "1", "cam_bore_marks") in asked(found)
    assert of(decision, "cam_bore", "2").verdict == "reuse"
    torn = Bench().found("cam_bore", "1", moment="clean", cam_bore_marks="torn").decide()
    assert of(torn, "cam_bore", "1").verdict == "recondition"
