"""What work makes worthless, limits that only the engine maker gives, and skin, joints and bolts.

Common practice, no source, where none is named beside a check.
"""

from __future__ import annotations

import pytest

from advisor.verdicts.model import Verdict
from tests.outside.crank import BORE, JOURNAL, STRIP, Bench, asked, because, even, of, rules, single

GROUND_MAINS = "done:\n  - {operation: grind_main_journals, part: main_journal}\n"
GROUND_MAINS_TO = "done:\n  - {operation: grind_main_journals, part: main_journal, to_size: -0.010 in}\n"
NEW_BOLTS = "done:\n  - {operation: renew_rod_bolts, part: connecting_rod}\n"


def test_a_crack_test_before_grinding_is_void_after_it() -> None:
    journal = of(Bench().more(GROUND_MAINS).decide(), "main_journal", "2")
    assert journal.verdict == "undecided"
    assert {"crack_test", "journal_wear", "journal_out_of_round"} <= {name for _, _, name in asked(journal)}
    shaft = of(Bench().more(GROUND_MAINS).decide(), "crankshaft")
    assert {"crack_test", "shaft_run_out"} <= {name for _, _, name in asked(shaft)}


def _scored_and_ground(done: str, size: str) -> Verdict:
    """The verdict on a journal that was scored, then ground, and measures `size` all over."""
    bench = Bench().found("main_journal", "2", scoring="catches").more(done)
    assert of(bench.decide(), "main_journal", "2").verdict == "undecided"
    bench.line("{part: main_journal, moment: after machining, otherwise: none}")
    sizes = even("journal_diameter", JOURNAL, size)
    strip = even("plastic_strip", STRIP, "0.0025 in")
    bench.line(f"{{part: main_journal, place: all, moment: after machining, readings: {{{sizes}, {strip}}}}}")
    return of(bench.decide(), "main_journal", "2")


def test_a_score_that_was_ground_out_no_longer_condemns() -> None:
    """New and found at 2.500 in, ground to the first undersize, 2.490 in."""
    assert _scored_and_ground(GROUND_MAINS_TO, "2.4895 in").verdict == "reuse"


def test_a_ground_journal_is_held_against_the_size_that_it_was_brought_to() -> None:
    """Against the size it was found at, 2.4895 in would be 0.0105 in of wear."""
    unsaid = _scored_and_ground(GROUND_MAINS, "2.4895 in")
    assert unsaid.verdict == "undecided"
    assert ("main_journal", "2", "journal_wear") in asked(unsaid)
    standard = _scored_and_ground(GROUND_MAINS_TO, "2.4995 in")
    assert standard.verdict == "undecided"
    assert ("main_journal", "2", "journal_wear") in asked(standard)


def test_the_bore_of_a_big_end_is_measured_again_with_new_bolts() -> None:
    bench = Bench().more(NEW_BOLTS)
    waiting = of(bench.decide(), "connecting_rod", "1")
    assert waiting.verdict == "undecided"
    assert {"housing_wear", "housing_out_of_round"} <= {name for _, _, name in asked(waiting)}
    size = even("housing_bore", BORE, "2.5172 in")
    bench.line(f"{{part: connecting_rod, place: all, moment: after machining, readings: {{{size}}}}}")
    assert of(bench.decide(), "connecting_rod", "1").verdict == "reuse"


@pytest.mark.parametrize(
    ("operation", "linked", "voided"),
    [
        ("bore_oversize", "piston_ring_set", "ring_gap"),
        ("hone_liner", "piston_ring_set", "ring_gap"),
        ("skim_deck", "piston", "piston_protrusion"),
        ("skim_deck", "wet_liner", "liner_protrusion"),
        ("line_bore_mains", "piston", "piston_protrusion"),
        ("line_bore_mains", "timing_gear", "gear_backlash"),
        ("resize_big_end", "piston", "piston_protrusion"),
        ("cut_seat", "exhaust_valve", "valve_recession"),
        ("skim_head", "inlet_valve", "valve_recession"),
        ("skim_head", "injector", "nozzle_stand_out"),
        ("recut_counterbore", "wet_liner", "liner_protrusion"),
        ("grind_main_journals", "main_bore", "bore_with_shells"),
        ("grind_thrust_faces", "crankshaft", "end_float"),
        ("ream_inlet_guide_for_oversize_stem", "inlet_seat", "seat_runout"),
    ],
)
def test_work_voids_what_it_touches_on_other_parts(operation: str, linked: str, voided: str) -> None:
    """Each names a relation by which the part worked on is linked to the other, and a reading of that."""
    vocabulary = rules().vocabulary
    work = vocabulary.operations[operation]
    touched = [each for each in work.voids_linked if each.kind == linked and voided in each.voids]
    assert touched
    assert linked in vocabulary.readings[voided].kinds
    for each in touched:
        assert any(
            link.of in work.kinds and link.to == linked for link in vocabulary.relations[each.relation].links
        )


def test_every_word_that_work_voids_belongs_to_a_part_it_touches() -> None:
    """A word of another kind would void nothing. Block and head share operations, so one kind is enough."""
    vocabulary = rules().vocabulary
    for name, work in vocabulary.operations.items():
        groups = [(set(work.kinds), work.voids)] + [({each.kind}, each.voids) for each in work.voids_linked]
        for kinds, words in groups:
            for word in words:
                entry = vocabulary.readings.get(word) or vocabulary.findings[word]
                assert kinds & set(entry.kinds), (name, word)
        for each in work.voids_linked:
            links = vocabulary.relations[each.relation].links
            assert any(link.of in work.kinds and link.to == each.kind for link in links), (
                name,
                each.relation,
            )


@pytest.mark.parametrize(
    ("part", "dimension", "reading", "place", "limit", "rule", "verdict"),
    [
        (
            "crankshaft",
            "shaft_run_out_adjacent",
            single("run_out_adjacent", "0.003 in"),
            "",
            "0.0015 in",
            "shaft-run-out-between-neighbours",
            "replace",
        ),
        (
            "crankshaft",
            "flange_face_run_out",
            single("flange_run_out", "0.006 in"),
            "",
            "0.002 in",
            "flange-runs-out",
            "recondition",
        ),
        (
            "crank_pin",
            "pin_out_of_line",
            single("pin_parallelism", "0.003 in"),
            "1",
            "0.0015 in",
            "crank-pin-out-of-line",
            "recondition",
        ),
        (
            "main_bore",
            "housing_taper",
            even("housing_bore", BORE, "2.6822 in").replace("rear vertical: 2.6822", "rear vertical: 2.6833"),
            "2",
            "0.0005 in",
            "main-bore-out-of-size",
            "recondition",
        ),
    ],
)
def test_some_dimensions_are_judged_only_by_the_engine_makers_limit(
    part: str, dimension: str, reading: str, place: str, limit: str, rule: str, verdict: str
) -> None:
    def judged(**made: str) -> tuple[str, set[str]]:
        bench = Bench(**made).measured(part, place or "all", reading)
        if part == "main_bore":
            bench.sound("main_bore", "1, 3", "housing_bore")
        if made and part == "crank_pin":
            bench.line(
                f"{{part: crank_pin, place: 2, readings: {{{single('pin_parallelism', '0.0002 in')}}}}}"
            )
        each = of(bench.decide(), part, place)
        return each.verdict, because(each)

    given = f"{{dimension: {dimension}, purpose: discard, at_most: {limit}}}"
    assert judged(part=part, limit=given) == (verdict, {rule})
    assert judged()[0] == "reuse"


def test_bores_out_of_line_are_bored_though_their_shells_show_nothing() -> None:
    bench = Bench().measured("main_bore", "2", single("bore_line_overall", "0.006 in"))
    bore = of(bench.sound("main_bore", "1, 3", "bore_line_overall").decide(), "main_bore", "2")
    assert (bore.verdict, because(bore)) == ("recondition", {"main-bore-out-of-line"})


@pytest.mark.parametrize("part", ["rod_bolt", "main_cap_bolt"])
def test_no_figure_from_memory_passes_a_bolt(part: str) -> None:
    """Rod bolts in doubt are replaced: NAVEDTRA 14076, p. 3-18. The maker's length is asked for."""
    bolt = of(Bench(part=part).decide(), part, "1")
    assert bolt.verdict == "undecided"
    assert asked(bolt) == {(part, "1", "bolt_stretch")}


def test_no_limit_rests_on_memory_alone() -> None:
    for limit in rules().limits:
        assert any(cite.source != "common_practice" for cite in limit.cite), (limit.part, limit.dimension)


@pytest.mark.parametrize(
    ("treatment", "ground", "soft", "pin", "shaft"),
    [
        ("none", "further", "not looked at", "reuse", "reuse"),
        ("nitrided", "none", "not looked at", "reuse", "reuse"),
        ("nitrided", "one_step", "not looked at", "undecided", "undecided"),
        ("nitrided", "one_step", "none", "reuse", "reuse"),
        ("nitrided", "one_step", "soft", "recondition", "reuse"),
        ("induction_hardened", "one_step", "not looked at", "reuse", "reuse"),
        ("induction_hardened", "further", "none", "reuse", "reuse"),
        ("induction_hardened", "further", "soft", "replace", "replace"),
    ],
)
def test_skin_that_was_ground_through(treatment: str, ground: str, soft: str, pin: str, shaft: str) -> None:
    """AC 43.13-1B, par. 8-3, for nitrided shafts."""
    bench = Bench(treatment=treatment).found("crank_pin", "1", ground_before=ground, hardness_test=soft)
    decision = bench.decide()
    assert of(decision, "crank_pin", "1").verdict == pin
    if shaft != "undecided":
        assert of(decision, "crankshaft").verdict == shaft


@pytest.mark.parametrize(
    ("joint", "cap", "verdict"),
    [
        ("machined", "unmarked", "recondition"),
        ("machined", "mixed", "recondition"),
        ("fracture_split", "unmarked", "reuse"),
        ("fracture_split", "mixed", "replace"),
    ],
)
def test_caps_that_lost_their_rods(joint: str, cap: str, verdict: str) -> None:
    """NAVEDTRA 14264A, p. 3-14: caps are never mixed. A fracture face shows its own cap."""
    decision = Bench(cap_joint=joint).found("connecting_rod", "1", rod_cap=cap).decide()
    rod = of(decision, "connecting_rod", "1")
    assert rod.verdict == verdict
    assert ("try_by_the_grain" in {task.task for task in rod.tasks}) is (verdict == "reuse")
    assert of(decision, "rod_bolt", "1").verdict == "reuse"


def test_a_bent_rod_leaves_a_cause_to_be_found() -> None:
    bench = Bench().measured("connecting_rod", "1", single("rod_bend", "0.0012 in/in", "0.00001 in/in"))
    decision = bench.sound("connecting_rod", "2", "rod_bend").decide()
    assert [(each.concern, each.state) for each in decision.causes] == [("rod_struck", "open")]
    assert "match_weights" in {task.task for task in of(decision, "crankshaft").tasks}
    assert "measure_bore_with_new_bolts" in {task.task for task in of(decision, "connecting_rod", "2").tasks}


def test_journals_that_are_ground_are_not_dressed_first() -> None:
    bench = Bench().found("main_journal", "1", scoring="passes").found("main_journal", "2", scoring="catches")
    decision = bench.decide()
    assert {task.task for task in of(decision, "main_journal", "1").tasks} == {"dry_fit_clearance"}
    alone = Bench().found("main_journal", "1", scoring="passes").decide()
    assert {task.task for task in of(alone, "main_journal", "1").tasks} == {"dress_journal"}


@pytest.mark.parametrize(
    ("finding", "extent", "verdict"),
    [
        ("cap_crack", "in_cap", "recondition"),
        ("cap_crack", "in_web", "replace"),
        ("main_cap_place", "unmarked", "recondition"),
        ("cap_looseness", "loose", "recondition"),
    ],
)
def test_main_bores(finding: str, extent: str, verdict: str) -> None:
    decision = Bench().found("main_bore", "2", **{finding: extent}).decide()
    assert of(decision, "main_bore", "2").verdict == verdict
    assert of(decision, "main_bore", "1").verdict == "reuse"


@pytest.mark.parametrize(
    ("finding", "extent", "verdict"),
    [
        ("nose_wear", "fretted", "reuse"),
        ("nose_wear", "stepped", "recondition"),
        ("flange_fretting", "stained", "reuse"),
        ("flange_fretting", "fretted", "recondition"),
        ("spigot_bore_wear", "loose", "recondition"),
        ("magnetism", "attracts", "reuse"),
        ("undersize_marks_differ", "differ", "reuse"),
    ],
)
def test_nose_flange_spigot_and_marks(finding: str, extent: str, verdict: str) -> None:
    assert of(Bench().found("crankshaft", **{finding: extent}).decide(), "crankshaft").verdict == verdict


CURES = (
    "resized",
    "reground",
    "ground to",
    "ground true",
    "lapped",
    "nitrided again",
    "bored together again",
    "bored in line",
    "cut true",
    "made tight",
    "is renewed",
    "runs again",
    "brings",
)
"""Words of a cure. Whether there is one hangs on sizes and on other faults."""


def test_a_reason_says_what_is_wrong_and_not_what_would_mend_it() -> None:
    """A reason stands under a part that is replaced as well, where the work it names cannot be done."""
    for rule in rules().rules:
        if rule.then.bar and any(bar.mend for bar in rule.then.bar):
            promised = [word for word in CURES if f" {word}" in rule.because.lower()]
            assert not promised, (rule.id, promised)
