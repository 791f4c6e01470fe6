"""The rules for crankshaft, bearings and rods held against published figures and against the trade's chains.

Sources, by the key under which `rulesets/engine/sources.yaml` enters them:

* Clevite, Engine Bearing Failure & Analysis Guide, CL77-3-402, p. 2 - tolerances of new and ground parts
* US Army TM 10-3930-647-14&P, P0175 - wear limits of used parts
* US Army TM 9-2815-220-24, WP 0138 00-2 and WP 0143 00-8 - bearings and rods of one engine
* US Army TM 9-2815-237-34, par. 2-10, 2-11, and TM 9-2815-225-34&P, par. 3-7 - general inspection
* US Navy NAVEDTRA 14076, 14075 and 14264A; FAA AC 43.13-1B and FAA-H-8083-32 (reposted)
* Mopar Muscle magazine 0806 - rule of thumb for oil clearance

What rests on none of them is said to be common practice, no source, beside the check.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.sheets.engine import EnginePart, Limit
from advisor.units import Quantity, read_quantity
from tests.outside.crank import (
    BORE,
    JOURNAL,
    STRIP,
    Bench,
    asked,
    because,
    even,
    fired,
    of,
    readings,
    rules,
    single,
)

INCH = Fraction(254, 10)


def _part(**new: str) -> EnginePart:
    return EnginePart(new={name: read_quantity(text) for name, text in new.items()})


def _limit(kind: str, dimension: str, purpose: str, **new: str) -> ResolvedLimit | None:
    return resolve(_part(**new), kind, dimension, purpose, rules().limits)  # type: ignore[arg-type]


def _inches(limit: ResolvedLimit | None) -> tuple[Fraction | None, Fraction | None]:
    """At least and at most of a handbook's limit, in inches, exactly."""
    assert limit is not None
    assert limit.rule_of_thumb
    return (
        None if limit.at_least is None else Fraction(limit.at_least) / INCH,
        None if limit.at_most is None else Fraction(limit.at_most) / INCH,
    )


def _inch(*printed: str | None) -> tuple[Fraction | None, ...]:
    """Figures as they are printed."""
    return tuple(None if each is None else Fraction(each) for each in printed)


# ---- limits of new and ground parts: Clevite CL77-3-402, p. 2 ----


@pytest.mark.parametrize("kind", ["main_journal", "crank_pin"])
@pytest.mark.parametrize(
    ("length", "most"),
    [
        ("0.500 in", "0.0002"),
        ("0.999 in", "0.0002"),
        ("1.001 in", "0.0004"),
        ("1.999 in", "0.0004"),
        ("2.001 in", "0.0005"),
    ],
)
def test_taper_of_a_new_journal_by_its_length(kind: str, length: str, most: str) -> None:
    assert _inches(_limit(kind, "journal_taper", "new", journal_length=length)) == _inch(None, most)


@pytest.mark.parametrize("kind", ["main_journal", "crank_pin"])
def test_roundness_and_tolerance_of_a_new_journal_by_its_diameter(kind: str) -> None:
    assert _inches(_limit(kind, "journal_out_of_round", "new", journal_diameter="5.000 in")) == _inch(
        None, "0.0005"
    )
    assert _limit(kind, "journal_out_of_round", "new", journal_diameter="5.001 in") is None
    assert _inches(_limit(kind, "journal_wear", "new", journal_diameter="1.500 in")) == _inch(None, "0.0005")
    assert _inches(_limit(kind, "journal_wear", "new", journal_diameter="1.501 in")) == _inch(None, "0.0010")
    assert _inches(_limit(kind, "journal_wear", "new", journal_diameter="10.000 in")) == _inch(None, "0.0010")


@pytest.mark.parametrize(
    ("kind", "dimension", "least", "most"),
    [
        ("crankshaft", "shaft_run_out_adjacent", None, "0.0010"),
        ("crankshaft", "shaft_run_out", None, "0.0020"),
        ("crank_pin", "pin_out_of_line", None, "0.0010"),
        ("main_bore", "housing_out_of_round", None, "0.0010"),
        ("main_bore", "bore_out_of_line_adjacent", None, "0.0010"),
        ("main_bore", "bore_out_of_line", None, "0.0020"),
        ("connecting_rod", "housing_out_of_round", None, "0.0010"),
    ],
)
def test_tolerances_that_hang_on_no_size(kind: str, dimension: str, least: str | None, most: str) -> None:
    assert _inches(_limit(kind, dimension, "new")) == _inch(least, most)


@pytest.mark.parametrize(
    ("kind", "dimension", "least", "most"),
    [
        ("main_journal", "journal_finish_ra", None, 15),
        ("crank_pin", "journal_finish_ra", None, 15),
        ("main_bore", "housing_finish_ra", 60, 90),
        ("connecting_rod", "housing_finish_ra", 60, 90),
    ],
)
def test_finish_in_microinch(kind: str, dimension: str, least: int | None, most: int) -> None:
    wanted = tuple(None if each is None else Fraction(each, 1_000_000) for each in (least, most))
    assert _inches(_limit(kind, dimension, "new")) == wanted


@pytest.mark.parametrize(
    ("shaft", "least", "most"),
    [
        ("2.000 in", "0.0030", "0.0070"),
        ("2.750 in", "0.0030", "0.0070"),
        ("2.813 in", "0.0050", "0.0090"),
        ("3.499 in", "0.0050", "0.0090"),
        ("3.501 in", "0.0070", "0.0110"),
    ],
)
def test_end_float_of_a_new_shaft_by_its_diameter(shaft: str, least: str, most: str) -> None:
    assert _inches(_limit("crankshaft", "end_play", "new", main_journal_diameter=shaft)) == _inch(least, most)


def test_no_end_float_is_made_up_where_the_printed_table_has_a_gap() -> None:
    for shaft in ("1.500 in", "2.780 in"):
        assert _limit("crankshaft", "end_play", "new", main_journal_diameter=shaft) is None


@pytest.mark.parametrize(
    ("bore", "most"),
    [("2.000 in", "0.0005"), ("3.250 in", "0.0005"), ("3.251 in", "0.0010"), ("10.000 in", "0.0010")],
)
def test_tolerance_of_a_big_end_bore_by_its_diameter(bore: str, most: str) -> None:
    assert _inches(_limit("connecting_rod", "housing_wear", "new", housing_bore=bore)) == _inch(None, most)


@pytest.mark.parametrize(
    ("width", "most"), [("0.9 in", "0.0002"), ("1.5 in", "0.0004"), ("2.1 in", "0.0005")]
)
def test_taper_of_a_big_end_bore_by_its_length(width: str, most: str) -> None:
    assert _inches(_limit("connecting_rod", "housing_taper", "new", housing_width=width)) == _inch(None, most)


def test_clearance_of_a_new_bearing_for_a_journal_of_2_375_in() -> None:
    """Stated in Mopar Muscle 0806: about 0.0024 in; 0.0005 in more for rods. The sum is computed."""
    main = _limit("main_journal", "main_clearance", "new", journal_diameter="2.375 in")
    big_end = _limit("crank_pin", "big_end_clearance", "new", journal_diameter="2.375 in")
    assert _inches(main) == _inch(None, "0.002375")
    assert _inches(big_end) == _inch(None, "0.002875")


# ---- wear limits of used parts: TM 10-3930-647-14&P ----


def _with_maker(kind: str, dimension: str, purpose: str, size: str, **limit: str) -> ResolvedLimit | None:
    sides: dict[str, Quantity] = {name: read_quantity(text) for name, text in limit.items()}
    part = EnginePart(
        new={"journal_diameter": read_quantity(size)},
        limits=[Limit(dimension=dimension, purpose="new", **sides)],
    )
    return resolve(part, kind, dimension, purpose, rules().limits)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("diameter", "most"), [("2.500 in", "0.0010"), ("2.000 in", "0.0008"), ("4.000 in", "0.0016")]
)
@pytest.mark.parametrize("kind", ["main_journal", "crank_pin"])
def test_wear_limit_of_roundness_by_diameter(kind: str, diameter: str, most: str) -> None:
    assert _inches(_limit(kind, "journal_out_of_round", "discard", journal_diameter=diameter)) == _inch(
        None, most
    )


@pytest.mark.parametrize("kind", ["main_journal", "crank_pin"])
def test_wear_limit_of_taper_is_twice_the_makers_new_one(kind: str) -> None:
    worn = _with_maker(kind, "journal_taper", "discard", "2.500 in", at_most="0.0003 in")
    assert _inches(worn) == _inch(None, "0.0006")


def test_wear_limit_of_taper_does_not_rest_on_a_bearing_makers_figure() -> None:
    """The two kinds of limit are kept apart: with no figure from the engine maker there is none for wear."""
    assert _limit("main_journal", "journal_taper", "discard", journal_length="1.5 in") is None


@pytest.mark.parametrize(
    ("kind", "dimension"), [("main_journal", "main_clearance"), ("crank_pin", "big_end_clearance")]
)
def test_wear_limit_of_clearance(kind: str, dimension: str) -> None:
    worn = _with_maker(kind, dimension, "discard", "2.000 in", at_most="0.0030 in")
    assert _inches(worn) == _inch(None, "0.0040")


def test_wear_limit_of_end_float() -> None:
    worn = _with_maker("crankshaft", "end_play", "discard", "2.500 in", at_most="0.008 in")
    assert _inches(worn) == _inch(None, "0.0130")


def test_limits_of_new_and_of_used_parts_never_cite_each_others_source() -> None:
    for limit in rules().limits:
        sources = {cite.source for cite in limit.cite}
        if "clevite_tolerances" in sources:
            assert limit.purpose == "new"
        if "tm_647_wear_limits" in sources:
            assert limit.purpose == "discard"


# ---- the whole way: an engine with nothing wrong, then one thing at a time ----


def test_a_sound_engine_is_reused_save_for_what_is_always_renewed() -> None:
    decision = Bench().decide()
    words = {(each.part, each.verdict) for each in decision.verdicts}
    renewed = {"crank_oil_seal", "bolt_lock"}  # TM 9-2815-237-34, par. 2-10 and 2-11
    assert {part for part, word in words if word == "replace"} == renewed
    assert {word for part, word in words if part not in renewed} == {"reuse"}
    assert all(of_.ground == "routine" for of_ in decision.verdicts if of_.verdict == "replace")
    assert not decision.causes


def test_a_journal_out_of_round_by_0_0011_in_is_ground() -> None:
    """TM 10-3930-647-14&P: 0.0004 in per inch; 2.500 in gives 0.0010 in (computed)."""
    oval = {**dict.fromkeys(JOURNAL, "2.4995 in"), "middle vertical": "2.4984 in"}
    bench = Bench().measured("main_journal", "2", readings("journal_diameter", oval))
    decision = bench.sound("main_journal", "1, 3", "journal_diameter").decide()
    journal = of(decision, "main_journal", "2")
    assert journal.verdict == "recondition"
    assert because(journal) == {"main-journal-out-of-round", "main-journal-tapered"}
    assert [each.operation for each in journal.operations] == ["grind_main_journals"]
    assert any(line.limit_from for reason in journal.reasons for line in reason.evidence)


def test_a_journal_out_of_round_by_0_0009_in_is_reused() -> None:
    oval = {position: "2.4995 in" if position.endswith("vertical") else "2.4986 in" for position in JOURNAL}
    bench = Bench().measured("main_journal", "2", readings("journal_diameter", oval))
    decision = bench.sound("main_journal", "1, 3", "journal_diameter").decide()
    assert of(decision, "main_journal", "2").verdict == "reuse"


@pytest.mark.parametrize(("length", "outcome"), [("0.9 in", "above"), ("1.5 in", "inside")])
def test_taper_of_0_0003_in_against_the_tolerance_of_a_new_journal(length: str, outcome: str) -> None:
    """Clevite CL77-3-402, p. 2: 0.0002 in up to 1 in long, 0.0004 in up to 2 in."""
    tapered = {position: "2.3745 in" if position.startswith("front") else "2.3742 in" for position in JOURNAL}
    bench = Bench(pin_length=length).measured("crank_pin", "1", readings("journal_diameter", tapered))
    bench.sound("crank_pin", "2", "journal_diameter")
    assert bench.outcomes("crank_pin", "1", "journal_taper", "new") == {outcome}
    assert bench.outcomes("crank_pin", "2", "journal_taper", "new") == {"inside"}


@pytest.mark.parametrize("shell", ["main_shell", "big_end_shell"])
@pytest.mark.parametrize(
    ("extent", "verdict"), [("under_five_percent", "reuse"), ("five_percent_or_more", "replace")]
)
def test_particles_on_four_and_on_six_per_cent_of_a_shell(shell: str, extent: str, verdict: str) -> None:
    """TM 9-2815-220-24, WP 0138 00-2: acceptable under 5 %, rejected from there."""
    decision = Bench().found(shell, "1 lower", embedded_debris=extent).decide()
    found = of(decision, shell, "1 lower")
    name = shell.replace("_", "-")
    assert found.verdict == verdict
    assert (f"{name}-holds-hard-particles" in because(found)) is (verdict == "replace")
    assert (f"{name}-few-particles-stay", shell, "1 lower") in fired(decision) or verdict == "replace"


@pytest.mark.parametrize("shell", ["main_shell", "big_end_shell"])
@pytest.mark.parametrize(
    ("finding", "extent", "verdict", "rule"),
    [
        ("scoring", "passes", "reuse", ""),  # fine scratches: acceptable
        ("scoring", "catches", "replace", "scored"),
        ("raised_metal", "raised", "replace", "raised-metal"),
        ("lining_damage", "minor_pits", "replace", "pitted"),
        ("lining_damage", "lifting", "replace", "failed-lining"),
        ("wiping", "metal_contact", "replace", "has-touched"),  # NAVEDTRA 14076, reposted
        ("overlay_wear", "two_thirds_even", "reuse", ""),  # D. Rushton: the normal pattern
        ("shell_ends_filed", "filed", "replace", "ends-filed"),  # High Power Media
        ("shell_size_stamp", "one_grade_apart", "reuse", ""),  # Mopar Muscle 0806: 0.0005 in of wall
        ("shell_size_stamp", "different_size", "replace", "of-another-size"),
    ],
)
def test_what_rejects_a_shell(shell: str, finding: str, extent: str, verdict: str, rule: str) -> None:
    """TM 9-2815-220-24, WP 0138 00-2, where no other source stands beside it."""
    found = of(Bench().found(shell, "2 upper", **{finding: extent}).decide(), shell, "2 upper")
    assert found.verdict == verdict
    if rule:
        assert f"{shell.replace('_', '-')}-{rule}" in because(found)


@pytest.mark.parametrize(
    "finding", ["embedded_debris", "scoring", "lining_damage", "raised_metal", "wiping", "heat_colour"]
)
def test_a_shell_in_doubt_is_replaced(finding: str) -> None:
    """TM 9-2815-220-24, WP 0138 00-2: in doubt, replace."""
    decision = Bench().found("main_shell", "2 lower", **{finding: "could not be judged"}).decide()
    shell = of(decision, "main_shell", "2 lower")
    assert (shell.verdict, shell.ground) == ("replace", "safe side")
    assert {cite.row for reason in shell.reasons for cite in reason.cites} >= {"B7"}


def test_a_shell_not_looked_at_is_asked_about_and_not_condemned() -> None:
    decision = Bench().found("main_shell", "2 lower", scoring="not looked at").decide()
    shell = of(decision, "main_shell", "2 lower")
    assert shell.verdict == "undecided"
    assert asked(shell) == {("main_shell", "2 lower", "scoring")}


def test_one_condemned_shell_takes_its_set_and_not_the_other() -> None:
    """TM 9-2815-225-34&P, par. 3-7: no single shells. The set is main or big end, so the others stay."""
    decision = Bench().found("main_shell", "2 lower", scoring="catches").decide()
    mains = [each for each in decision.verdicts if each.part == "main_shell"]
    assert {each.course.answer for each in mains} == {"replace"}
    assert {each.verdict for each in mains if each.place != "2 lower"} == {"reuse"}
    others = {each.course.answer for each in decision.verdicts if each.part == "big_end_shell"}
    assert others == {"reuse"}


def test_one_failed_bearing_condemns_every_shell() -> None:
    """TM 9-2815-237-34, par. 2-10, 2-11: one failed, replace all rod and main bearings."""
    decision = Bench().found("big_end_shell", "1 lower", lining_damage="lifting").decide()
    for each in decision.verdicts:
        if each.part in ("main_shell", "big_end_shell"):
            assert each.verdict == "replace"
            if each.place != "1 lower":
                assert because(each) == {f"{each.part.replace('_', '-')}-when-another-failed"}
                assert each.ground == "routine"


def test_bent_shaft_is_replaced() -> None:
    """AC 43.13-1B, par. 8-3; NAVEDTRA 14076; FAA-H-8083-32 of nitrided shafts."""
    bench = Bench(treatment="nitrided").measured("crankshaft", "all", single("run_out", "0.004 in"))
    shaft = of(bench.decide(), "crankshaft")
    assert shaft.verdict == "replace"
    assert because(shaft) == {"shaft-run-out-beyond-discard", "nitrided-shaft-is-not-straightened"}


def test_end_float_beyond_its_limit_condemns_the_washers_and_not_the_shaft() -> None:
    """TM 10-3930-647-14&P: high limit and 0.005 in, here 0.013 in."""
    bench = Bench().measured("crankshaft", "all", single("end_float", "0.014 in"))
    decision = bench.decide()
    for side in ("front", "rear"):
        washer = of(decision, "thrust_washer", side)
        assert washer.verdict == "replace"
        assert because(washer) == {"thrust-washer-end-float-beyond"}
    assert of(decision, "crankshaft").verdict == "reuse"
    assert [each.concern for each in decision.causes] == ["thrust_overload"]


@pytest.mark.parametrize(
    ("damage", "verdict"),
    [("none", "reuse"), ("burrs", "reuse"), ("came_loose", "replace"), ("thread_or_bent", "replace")],
)
def test_rod_bolts(damage: str, verdict: str) -> None:
    """NAVEDTRA 14076, p. 3-18: burrs only are repaired; in doubt, replace."""
    decision = Bench().found("rod_bolt", "1", bolt_damage=damage).decide()
    bolt = of(decision, "rod_bolt", "1")
    assert bolt.verdict == verdict
    assert "doubtful_fastener" in bolt.cautions
    assert [task.task for task in bolt.tasks if task.task == "file_burrs_only"] == ["file_burrs_only"] * (
        damage == "burrs"
    )


def test_a_rod_bolt_that_nobody_could_judge_is_replaced() -> None:
    """NAVEDTRA 14076, p. 3-18: rod bolts in doubt are replaced."""
    decision = Bench().found("rod_bolt", "2", bolt_damage="could not be judged").decide()
    bolt = of(decision, "rod_bolt", "2")
    assert (bolt.verdict, bolt.ground) == ("replace", "safe side")


@pytest.mark.parametrize(
    ("life", "verdict"), [("none", "reuse"), ("not_known", "replace"), ("used_up", "replace")]
)
def test_main_bolts_tightened_beyond_yield(life: str, verdict: str) -> None:
    """Galloway Engines, said of head bolts; carrying it over is common practice, no source."""
    bench = Bench(tightening="angle_beyond_yield").found("main_cap_bolt", "2", bolt_life=life)
    assert of(bench.decide(), "main_cap_bolt", "2").verdict == verdict


def test_how_often_it_was_used_does_not_matter_for_an_ordinary_bolt() -> None:
    decision = Bench().found("main_cap_bolt", "2", bolt_life="not_known").decide()
    assert of(decision, "main_cap_bolt", "2").verdict == "reuse"


# ---- chains ----


def test_chain_from_dirt_in_a_shell_to_an_undersize() -> None:
    bench = Bench(treatment="nitrided").found("main_shell", "2 lower", embedded_debris="five_percent_or_more")
    bench.without("main_journal", "journal_diameter").sound("main_journal", "1, 3", "journal_diameter")
    before = of(bench.decide(), "main_journal", "2")
    assert before.verdict == "undecided"
    assert ("main_journal", "2", "journal_wear") in asked(before)

    # 0.004 in worn: even all round it wants 0.006 in off, one-sided 0.010 in; -0.010 in serves for both.
    bench.measured("main_journal", "2", even("journal_diameter", JOURNAL, "2.496 in"))
    decision = bench.decide()
    chain = {
        ("main-shell-holds-hard-particles", "main_shell", "2 lower"),
        ("main-journal-under-hard-particles", "main_journal", "2"),
        ("main-journal-worn", "main_journal", "2"),
        ("main-journal-nitrided-and-ground", "main_journal", "2"),
        ("shaft-goes-to-the-grinder", "crankshaft", ""),
        ("oilways-after-particles", "crankshaft", ""),
        ("where-the-dirt-came-from", "crankshaft", ""),
        ("oil-pump-after-particles", "oil_pump", ""),
    }
    assert chain <= fired(decision)
    journal = of(decision, "main_journal", "2")
    assert journal.verdict == "recondition"
    assert because(journal) == {"main-journal-worn"}
    assert "nitride_again" in {task.task for task in journal.tasks}
    (grinding,) = journal.operations
    assert any("fillet" in step for step in grinding.steps)
    assert any("oil hole" in step for step in grinding.steps)
    # One size for the set, and shells of that size in all places, though the other journals are sound.
    for place in ("1", "3"):
        assert of(decision, "main_journal", place).verdict == "reuse"
        assert of(decision, "main_journal", place).course.answer == "recondition"
    sizes = {each.course.size for each in decision.verdicts if each.part in ("main_shell", "main_journal")}
    assert len(sizes) == 1
    assert {each.course.answer for each in decision.verdicts if each.part == "main_shell"} == {"replace"}
    assert [(each.concern, each.state) for each in decision.causes] == [("dirt_in_oil", "open")]


def test_an_undersize_is_a_band_where_the_worn_side_is_not_known() -> None:
    """Common practice, no source: 0.006 in worn wants -0.010 in if even, -0.020 in if all on one side."""
    bench = Bench().measured("crank_pin", "1", even("journal_diameter", JOURNAL, "2.369 in"))
    pin = of(bench.sound("crank_pin", "2", "journal_diameter").decide(), "crank_pin", "1")
    assert pin.verdict == "recondition"
    assert len(pin.operations[0].sizes) == 2
    assert pin.held


def test_a_cause_that_somebody_ruled_out_is_closed_by_name() -> None:
    bench = Bench().found("main_shell", "2 lower", embedded_debris="five_percent_or_more")
    bench.more(
        "causes:\n"
        "  - {concern: dirt_in_oil, part: crankshaft, state: found, by: A Fitter, because: torn filter}\n"
    )
    (cause,) = bench.decide().causes
    assert (cause.concern, cause.state, cause.by) == ("dirt_in_oil", "found", "A Fitter")


@pytest.mark.parametrize("colour", ["straw", "blue"])
def test_chain_from_heat_to_the_tests_that_clear_or_condemn(colour: str) -> None:
    """NAVEDTRA 14076 replaces an overheated shaft; that colour alone is only suspicion is common practice."""

    def pin(hardness: str, crack: str = "none") -> tuple[str, str, set[str]]:
        bench = Bench().found("crank_pin", "1", heat_colour=colour, hardness_test=hardness, crack_test=crack)
        decision = bench.decide()
        judged = of(decision, "crank_pin", "1")
        return judged.verdict, of(decision, "crankshaft").verdict, because(judged)

    waiting = of(
        Bench().found("crank_pin", "1", heat_colour=colour, hardness_test="not looked at").decide(),
        "crank_pin",
        "1",
    )
    assert waiting.verdict == "undecided"
    assert asked(waiting) == {("crank_pin", "1", "hardness_test")}
    assert pin("none")[:2] == ("reuse", "reuse")
    assert pin("soft") == ("replace", "replace", {"crank-pin-softened-by-heat"})
    assert pin("none", "indication") == ("replace", "replace", {"crank-pin-cracked"})


def test_a_wiped_shell_puts_its_journal_under_suspicion_without_any_colour() -> None:
    bench = Bench().found("main_shell", "3 upper", wiping="wiped_over_edge")
    bench.found("main_journal", "3", hardness_test="not looked at")
    decision = bench.decide()
    assert ("main-journal-under-a-wiped-shell", "main_journal", "3") in fired(decision)
    assert asked(of(decision, "main_journal", "3")) == {("main_journal", "3", "hardness_test")}
    assert of(decision, "main_journal", "2").verdict == "reuse"


def test_a_hardness_test_is_not_asked_for_where_nothing_was_hot() -> None:
    decision = Bench().found("main_journal", hardness_test="not looked at").decide()
    assert of(decision, "main_journal", "1").verdict == "reuse"


def test_shells_whose_place_is_lost_are_not_put_back() -> None:
    """Common practice, no source."""
    bench = Bench()
    for tag in ("A", "B"):
        bench.line(
            f"{{part: big_end_shell, place: unknown, tag: {tag}, from_among: 1, "
            "moment: strip, otherwise: none}"
        )
    lost = [each for each in bench.decide().verdicts if each.place == "unknown"]
    assert len(lost) == 2
    for each in lost:
        assert each.verdict == "replace"
        assert "big-end-shell-place-lost" in because(each)


def test_chain_from_diagonal_wear_to_a_bent_rod() -> None:
    """NAVEDTRA 14075 and 14264A, p. 3-14; the limit is TM 9-2815-220-24, WP 0143 00-8, 0.0010 in per inch."""
    bench = Bench().found("big_end_shell", "1", wear_pattern_diagonal="opposite_edges")
    bench.without("connecting_rod", "rod_bend").sound("connecting_rod", "2", "rod_bend")
    waiting = of(bench.decide(), "connecting_rod", "1")
    assert waiting.verdict == "undecided"
    assert ("connecting_rod", "1", "rod_bend_per_length") in asked(waiting)

    bench.measured("connecting_rod", "1", single("rod_bend", "0.0012 in/in", "0.00001 in/in"))
    decision = bench.decide()
    assert {
        ("big-end-shell-worn-diagonally", "big_end_shell", "1 upper"),
        ("rod-suspect-from-diagonal-wear", "connecting_rod", "1"),
        ("rod-bent", "connecting_rod", "1"),
        ("rod-bolt-from-a-failed-big-end", "rod_bolt", "1"),
    } <= fired(decision)
    rod = of(decision, "connecting_rod", "1")
    assert rod.verdict == "replace"
    assert because(rod) == {"rod-bent"}
    assert "flying_rod" in rod.cautions
    assert of(decision, "connecting_rod", "2").verdict == "reuse"


def test_diagonal_wear_with_a_straight_rod_leaves_the_rod_alone() -> None:
    decision = Bench().found("big_end_shell", "1", wear_pattern_diagonal="opposite_edges").decide()
    assert of(decision, "connecting_rod", "1").verdict == "reuse"
    assert of(decision, "big_end_shell", "1 upper").verdict == "replace"


def test_twist_from_a_feeler_over_the_distance_of_the_blocks() -> None:
    """FAA-H-8083-32, reposted: 0.006 in under the arbor, 6 in apart: 0.001 in per inch, the limit."""
    slope = read_quantity("0.001 in/in").value
    assert Fraction(slope) == Fraction(read_quantity("0.006 in").value) / Fraction(
        read_quantity("6 in").value
    ) * Fraction(read_quantity("1 mm/mm").value)
    limit = _limit("connecting_rod", "rod_twist_per_length", "discard")
    assert limit is not None
    assert limit.at_most == slope
    bench = Bench().measured("connecting_rod", "1", single("rod_twist", "0.0011 in/in", "0.00001 in/in"))
    decision = bench.sound("connecting_rod", "2", "rod_twist").decide()
    assert because(of(decision, "connecting_rod", "1")) == {"rod-twisted"}


def test_broken_lining_blames_overload_only_where_no_bent_rod_explains_it() -> None:
    """King poster: overload, geometry or clearance; NAVEDTRA 14075: a bent rod cracks opposite ends."""
    bench = Bench().found("big_end_shell", "1", lining_damage="pieces_out", crack_side="opposite_ends")
    straight = {each.concern for each in bench.decide().causes if each.certain}
    bench.measured("connecting_rod", "1", single("rod_bend", "0.0012 in/in", "0.00001 in/in"))
    bent = bench.sound("connecting_rod", "2", "rod_bend").decide()
    assert straight == {"overload"}
    assert not [each for each in bent.causes if each.concern == "overload"]
    assert ("rod-suspect-from-cracked-shells", "connecting_rod", "1") in fired(bent)


def test_edge_wear_is_told_apart_by_measuring_taper_and_line() -> None:
    """Which measurement tells: common practice, no source."""
    taper = {
        position: {"front": "2.4995 in", "middle": "2.4990 in", "rear": "2.4985 in"}[position.split()[0]]
        for position in JOURNAL
    }
    line = [single("bore_line_overall", "0.001 in"), single("bore_step_adjacent", "0.0005 in")]
    worn = Bench().found("main_shell", "2", wear_pattern_edge="one_edge")
    worn.without("main_bore", "bore_line_overall").without("main_bore", "bore_step_adjacent")

    asking = worn.decide()
    assert ("main-journal-taper-or-bore", "main_journal", "2") in fired(asking)
    bore = of(asking, "main_bore", "2")
    assert bore.verdict == "undecided"
    assert {reading for _, _, reading in asked(bore)} == {"bore_out_of_line", "bore_out_of_line_adjacent"}

    worn.measured("main_bore", "2", *line)
    worn.measured("main_journal", "2", readings("journal_diameter", taper)).sound(
        "main_journal", "1, 3", "journal_diameter"
    )
    journal_to_blame = worn.decide()
    assert of(journal_to_blame, "main_bore", "2").verdict == "reuse"
    assert because(of(journal_to_blame, "main_journal", "2")) == {"main-journal-tapered"}

    other = Bench().found("main_shell", "2", wear_pattern_edge="one_edge")
    other.measured(
        "main_bore", "2", single("bore_line_overall", "0.005 in"), single("bore_step_adjacent", "0.0005 in")
    )
    other.sound("main_bore", "1, 3", "bore_line_overall").sound("main_bore", "1, 3", "bore_step_adjacent")
    bore_to_blame = other.decide()
    assert of(bore_to_blame, "main_journal", "2").verdict == "reuse"
    judged = of(bore_to_blame, "main_bore", "2")
    assert judged.verdict == "recondition"
    assert because(judged) == {"main-bore-out-of-line"}
    assert [each.operation for each in judged.operations] == ["line_bore_mains"]


def test_chain_from_a_spun_shell_to_the_bore_that_held_it() -> None:
    """Common practice, no source, but for the shells: TM 9-2815-237-34."""
    bench = Bench().found("big_end_shell", "1", shell_turned="spun")
    bench.without("connecting_rod", "housing_bore").sound("connecting_rod", "2", "housing_bore")
    waiting = bench.decide()
    assert ("rod-bore-under-a-turned-shell", "connecting_rod", "1") in fired(waiting)
    assert {
        ("connecting_rod", "1", "housing_wear"),
        ("connecting_rod", "1", "housing_out_of_round"),
    } <= asked(of(waiting, "connecting_rod", "1"))
    assert because(of(waiting, "rod_bolt", "1")) == {"rod-bolt-from-a-failed-big-end"}
    assert {each.verdict for each in waiting.verdicts if each.part in ("main_shell", "big_end_shell")} == {
        "replace"
    }
    assert [each.concern for each in waiting.causes if each.certain] == ["oil_supply_failed"]

    bench.measured("connecting_rod", "1", even("housing_bore", BORE, "2.5190 in"))
    rod = of(bench.decide(), "connecting_rod", "1")
    assert rod.verdict == "recondition"
    assert [each.operation for each in rod.operations] == ["resize_big_end"]


@pytest.mark.parametrize(
    ("joint", "verdict"),
    [
        ("machined", "recondition"),
        ("serrated", "recondition"),
        ("fracture_split", "replace"),
        ("unknown", "undecided"),
    ],
)
def test_a_big_end_out_of_size_is_resized_unless_it_is_fracture_split(joint: str, verdict: str) -> None:
    """NAVEDTRA 14076 replaces; resizing is followed. That fracture-split rods are not is common practice."""
    bench = Bench(cap_joint=joint).measured("connecting_rod", "1", even("housing_bore", BORE, "2.5190 in"))
    rod = of(bench.sound("connecting_rod", "2", "housing_bore").decide(), "connecting_rod", "1")
    assert rod.verdict == verdict
    if verdict == "undecided":
        assert asked(rod) == {("connecting_rod", "1", "cap_joint")}


def test_chain_from_starved_bearings_to_the_oil_supply() -> None:
    """D. Rushton: streaked and smeared; NAVEDTRA 14264A, pp. 3-24, 3-25: pressure and far bearings."""
    decision = Bench().found("main_shell", "3", wiping="smeared").decide()
    assert {
        ("main-shell-starved", "main_shell", "3 upper"),
        ("why-the-oil-failed", "crankshaft", ""),
        ("oil-pump-after-starved-bearings", "oil_pump", ""),
    } <= fired(decision)
    assert "check_pump" in {task.task for task in of(decision, "oil_pump").tasks}
    assert [(each.concern, each.state) for each in decision.causes] == [("oil_supply_failed", "open")]


def test_a_slack_bearing_costs_the_shells_where_the_journal_is_inside_its_size() -> None:
    """TM 10-3930-647-14&P: 0.0035 in and 0.0005 in per inch of 2.500 in, 0.00475 in."""
    bench = Bench().measured("main_journal", "2", even("plastic_strip", STRIP, "0.0050 in"))
    decision = bench.sound("main_journal", "1, 3", "plastic_strip").decide()
    assert because(of(decision, "main_shell", "2 upper")) == {"main-shell-in-a-slack-bearing"}
    assert of(decision, "main_journal", "2").verdict == "reuse"
    assert of(decision, "main_shell", "1 upper").verdict == "reuse"


@pytest.mark.parametrize(
    ("journal", "shell", "holder", "reading"),
    [
        ("main_journal", "main_shell", "main_bore", "2.500"),
        ("crank_pin", "big_end_shell", "connecting_rod", "2.375"),
    ],
)
@pytest.mark.parametrize(("at_one_end", "verdict"), [("0.0018", "reuse"), ("0.0012", "replace")])
def test_a_bearing_is_as_tight_as_its_tightest_place(
    journal: str, shell: str, holder: str, reading: str, at_one_end: str, verdict: str
) -> None:
    """NAVEDTRA 14264A, p. 3-25: too little clearance, metal touches. The maker's play is 0.0015 to 0.0035 in.

    The other end has 0.0032 in, so the largest play alone would pass both.
    """
    size = Fraction(reading) - Fraction("0.0005")
    bore = {
        "front vertical": f"{float(size + Fraction(at_one_end)):.4f} in",
        "rear vertical": f"{float(size + Fraction('0.0032')):.4f} in",
    }
    bench = (
        Bench().measured(holder, "2", readings("bore_with_shells", bore)).without(journal, "plastic_strip")
    )
    bench.sound(journal, "1, 3" if journal == "main_journal" else "1", "plastic_strip")
    decision = bench.decide()
    for half in ("upper", "lower"):
        judged = of(decision, shell, f"2 {half}")
        assert judged.verdict == verdict
        if verdict == "replace":
            assert because(judged) == {f"{shell.replace('_', '-')}-in-a-tight-bearing"}
        assert of(decision, shell, f"1 {half}").verdict == "reuse"
    tasks = {task.task for task in of(decision, journal, "2").tasks}
    assert ("find_why_tight" in tasks) is (verdict == "replace")


def test_a_strip_tells_the_least_play_at_its_widest_and_the_largest_at_its_narrowest() -> None:
    """Common practice, no source. The maker's play is 0.0015 to 0.0035 in."""

    def shells(widest: str, narrowest: str) -> set[str]:
        strip = readings("plastic_strip", {"widest": widest, "narrowest": narrowest})
        bench = Bench().measured("main_journal", "2", strip).sound("main_journal", "1, 3", "plastic_strip")
        return because(of(bench.decide(), "main_shell", "2 lower"))

    assert shells("0.0016 in", "0.0034 in") == set()
    assert shells("0.0014 in", "0.0034 in") == {"main-shell-in-a-tight-bearing"}
    assert shells("0.0016 in", "0.0050 in") == {"main-shell-in-a-slack-bearing"}


@pytest.mark.parametrize(("end_float", "asked_why"), [("0.005 in", False), ("0.002 in", True)])
def test_a_shaft_without_end_float_is_not_closed_up(end_float: str, asked_why: bool) -> None:
    """Common practice, no source; the maker's float is 0.004 to 0.008 in."""
    decision = Bench().measured("crankshaft", "all", single("end_float", end_float)).decide()
    tasks = {task.task for task in of(decision, "crankshaft").tasks}
    assert ("find_why_no_float" in tasks) is asked_why


@pytest.mark.parametrize("kind", ["main_journal", "crank_pin"])
@pytest.mark.parametrize(
    ("finding", "extent", "verdict"),
    [
        ("scoring", "passes", "reuse"),
        ("scoring", "catches", "recondition"),
        ("journal_burrs", "gone_after_a_stone", "reuse"),
        ("journal_burrs", "stays_after_a_stone", "recondition"),
        ("fillet", "too_small", "recondition"),
    ],
)
def test_a_stone_is_reuse_and_a_grinder_is_not(kind: str, finding: str, extent: str, verdict: str) -> None:
    """NAVEDTRA 14076, 14075: oilstone and crocus cloth; AC 43.13-1B: fillets. The rest is common practice."""
    judged = of(Bench().found(kind, "2", **{finding: extent}).decide(), kind, "2")
    assert judged.verdict == verdict
    if verdict == "reuse":
        assert "dress_journal" in {task.task for task in judged.tasks}
        assert "plug_oil_holes" in judged.cautions


def test_grinding_waits_for_the_crack_test() -> None:
    """Common practice, no source."""
    bench = Bench().found("main_journal", "2", scoring="catches", crack_test="not looked at")
    journal = of(bench.decide(), "main_journal", "2")
    assert journal.verdict == "undecided"
    assert "reuse" not in journal.possible
    assert asked(journal) == {("main_journal", "2", "crack_test")}
