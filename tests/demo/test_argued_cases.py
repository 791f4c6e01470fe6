"""The four demo engines: what a master expects of every part; none is left without answer or reason."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

import advisor
from advisor import Decision, RuleSet, Verdict
from advisor.authoring.cases import run_tests
from advisor.files import load_case
from advisor.pipeline import decide
from advisor.sheets.case import CaseSheet
from advisor.sheets.digest import dump

CASES = Path(__file__).resolve().parents[2] / "cases_demo"
NAMES = ("marsh_pump", "orchard_sprayer", "hill_fire_pump", "dairy_standby")


@functools.cache
def rules() -> RuleSet:
    return advisor.load_rules()


@functools.cache
def decision(name: str) -> Decision:
    return advisor.decide_file(CASES / name / "case.yaml", rules())


def decided_with(name: str, **readings: str) -> Decision:
    """The case decided anew, each of these readings taken with this value wherever it was not taken."""
    loaded = load_case(CASES / name / "case.yaml", rules())
    case = dump(loaded.case)
    taken = set()
    for entry in case["bench"]:
        for reading, read in entry.get("readings", {}).items():
            if reading in readings and read.get("value") == "not looked at":
                read["value"] = readings[reading]
                taken.add(reading)
    assert taken == readings.keys(), f"{name} waits for {taken} alone"
    return decide(CaseSheet.model_validate(case), loaded.sheet, rules())


def left_open(decided: Decision) -> set[str]:
    return {each.part for each in decided.verdicts if each.verdict == "undecided"}


def places(text: str) -> Iterator[set[str]]:
    """For each piece of a place as written, the words that an item's place must have; ranges taken apart."""
    for piece in text.split(","):
        words = piece.split()
        if "to" in words:
            at = words.index("to")
            start, end = int(words[at - 1]), int(words[at + 1])
            rest = {*words[: at - 1], *words[at + 2 :]}
            yield from ({str(number)} | rest for number in range(start, end + 1))
        else:
            yield set(words)


def is_meant(verdict: Verdict, entry: dict[str, Any]) -> bool:
    if entry["part"] != verdict.part or entry.get("tag", verdict.tag) != verdict.tag:
        return False
    if entry.get("origin", verdict.origin) != verdict.origin:
        return False
    place = str(entry.get("place", ""))
    return place in ("", "all", "unknown") or any(
        words <= set(verdict.place.split()) for words in places(place)
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_part_gets_what_a_master_expects(name: str) -> None:
    trial = run_tests(rules(), [CASES / name / "expected.yaml"])
    assert [each.name for each in trial.tried if not each.passed] == []
    assert len(trial.tried) >= 10


@pytest.mark.parametrize("name", NAMES)
def test_every_item_is_expected_to_get_something(name: str) -> None:
    read = yaml.safe_load((CASES / name / "expected.yaml").read_text(encoding="utf-8"))
    entries = [entry for test in read["tests"] for entry in test["expect"]]
    for verdict in decision(name).verdicts:
        mine = [entry for entry in entries if is_meant(verdict, entry)]
        assert any("verdict" in entry for entry in mine), f"{verdict.part} {verdict.place} is not expected"
        if verdict.ground in ("condemned", "routine"):
            carried = any("by" in entry for entry in mine)
            # A camshaft falls with its lobe, and no rule of its own says so.
            assert carried or not any(reason.rule for reason in verdict.reasons), (
                f"{verdict.part} {verdict.place}"
            )


@pytest.mark.parametrize("name", NAMES)
def test_no_item_is_without_a_verdict_or_a_reason_why_not(name: str) -> None:
    for verdict in decision(name).verdicts:
        if verdict.verdict != "undecided":
            assert verdict.reasons, f"{verdict.part} {verdict.place}: {verdict.verdict} for no reason"
        elif not verdict.opened:
            assert any("not opened" in note for note in verdict.notes), f"{verdict.part} {verdict.place}"
        else:
            assert verdict.asks or verdict.questions, (
                f"{verdict.part} {verdict.place} is open and asks for nothing"
            )


def test_only_what_stays_shut_is_not_judged() -> None:
    shut = {(name, each.part) for name in NAMES for each in decision(name).verdicts if not each.opened}
    assert shut == {("marsh_pump", "injection_pump"), ("marsh_pump", "oil_cooler")}


def test_four_grounds_and_all_answers_come_up() -> None:
    every = [each for name in NAMES for each in decision(name).verdicts]
    assert {each.verdict for each in every} == {"reuse", "recondition", "replace", "undecided"}
    assert {each.ground for each in every} >= {"sound", "condemned", "routine", "open"}


def test_the_clean_engine_asks_for_nothing() -> None:
    clean = decision("dairy_standby")
    assert left_open(clean) == set()
    assert clean.causes == ()
    worn = {each.part for each in clean.verdicts if each.ground == "condemned"}
    assert worn == {"drive_belt", "water_pump"}


@pytest.mark.parametrize(
    ("bend", "rod"),
    [("0.2 mm/m", "reuse"), ("1.9 mm/m", "replace")],
)
def test_the_seized_single_is_settled_by_its_rod(bend: str, rod: str) -> None:
    assert left_open(decision("orchard_sprayer")) == {"connecting_rod", "rod_bolt", "big_end_shell"}
    settled = decided_with("orchard_sprayer", rod_bend=bend, rod_twist="0.2 mm/m")
    found = {each.part: each.verdict for each in settled.verdicts}
    assert (found["connecting_rod"], found["rod_bolt"], found["big_end_shell"]) == (rod, rod, rod)
    assert left_open(settled) == set()


@pytest.mark.parametrize(
    ("line", "bores"),
    [("0.01 mm", "reuse"), ("0.12 mm", "recondition")],
)
def test_the_boiled_block_is_settled_by_the_line_of_its_bores(line: str, bores: str) -> None:
    assert left_open(decision("hill_fire_pump")) == {"main_bore", "cylinder_block"}
    settled = decided_with("hill_fire_pump", bore_line_overall=line, bore_step_adjacent="0.01 mm")
    found = {each.part: each.verdict for each in settled.verdicts}
    assert (found["main_bore"], found["cylinder_block"]) == (bores, "reuse")
    assert left_open(settled) == set()


def test_a_bent_aluminium_head_is_straightened_before_it_is_skimmed() -> None:
    head = next(each for each in decision("hill_fire_pump").verdicts if each.part == "cylinder_head")
    work = [each.operation for each in head.operations]
    assert work == ["straighten_head", "renew_guide", "renew_seat_insert", "skim_head"]


@pytest.mark.parametrize("part", ["cylinder_block", "cylinder_head"])
def test_an_engine_cooled_by_air_is_asked_nothing_about_water(part: str) -> None:
    water = {"jacket_leak", "head_jacket_leak", "water_jacket_scale", "core_plug_seat"}
    single = next(each for each in decision("orchard_sprayer").verdicts if each.part == part)
    assert water.isdisjoint(ask.reading for ask in single.asks)
    assert water & set(single.not_looked_at)


@pytest.mark.parametrize("name", NAMES)
def test_only_a_diesel_is_said_to_run_away(name: str) -> None:
    block = next(each for each in decision(name).verdicts if each.part == "cylinder_block")
    assert ("run_away" in block.cautions) == (name in ("marsh_pump", "dairy_standby"))
