"""What must not show in a decision: the order of lines, files and keys, and the unit of what is written."""

from __future__ import annotations

import functools
import json
import shutil
import tempfile
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor._resources import rulesets_dir
from advisor.files import load_rules
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import load, parse
from advisor.units import UnitFault, read_quantity
from tests.decide import small
from tests.decide.deciding import (
    bare,
    by_item,
    decide_data,
    demo,
    demo_data,
    demo_rules,
    plain,
    possible,
    small_rules,
)
from tests.decide.generate import case, cases

KEEPS_ITS_ORDER = ("extents",)
"""Mappings of the rule language whose order says something."""

_random = st.randoms(use_true_random=True)


def mixed(node: Any, rng: Random, lists: tuple[str, ...] = (), key: str = "") -> Any:
    """The same data with the keys of every mapping, and the lists named, in another order."""
    if isinstance(node, dict):
        keys = list(node)
        if key not in KEEPS_ITS_ORDER:
            rng.shuffle(keys)
        return {each: mixed(node[each], rng, lists, each) for each in keys}
    if isinstance(node, list):
        told = [mixed(each, rng, lists) for each in node]
        if key in lists:
            rng.shuffle(told)
        return told
    return node


CASE_LISTS = ("bench", "found_sizes", "cleans_up", "done", "causes", "risks")
SHEET_LISTS = ("limits", "repair_sizes", "links", "pairs", "steps")
RULE_LISTS = ("rules", "limits", "vocabulary")


def sheet_data() -> dict[str, Any]:
    """The engine sheet of the demo as plain data."""
    data: dict[str, Any] = plain(load(Path(demo().document.file).parent / demo().case.engine_sheet).data)
    return data


@settings(max_examples=60)
@given(cases(), _random)
def test_the_order_of_a_case_does_not_show(data: dict[str, Any], rng: Random) -> None:
    one, other = decide_data(data), decide_data(mixed(data, rng, CASE_LISTS))
    assert bare(one) == bare(other)
    assert one.case_digest == other.case_digest


@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_the_demo_does_not_show(seed: int) -> None:
    rng = Random(seed)
    sheet = EngineSheet.model_validate(mixed(sheet_data(), rng, SHEET_LISTS))
    one = decide_data(demo_data(), demo_rules(), demo().sheet)
    other = decide_data(mixed(demo_data(), rng, CASE_LISTS), demo_rules(), sheet)
    assert bare(one) == bare(other)
    assert [(v.part, v.place, v.tag) for v in one.verdicts] == [
        (v.part, v.place, v.tag) for v in other.verdicts
    ]
    assert (one.case_digest, one.sheet_digest) == (other.case_digest, other.sheet_digest)


def _mixed_rules(folder: Path, rng: Random) -> RuleSet:
    """The rule set in `folder`, rewritten there with every order that says nothing changed."""
    for path in sorted(folder.rglob("*.yaml")):
        data = mixed(plain(load(path).data), rng, RULE_LISTS)
        path.write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
    return load_rules(folder)


@pytest.fixture(scope="module")
def mixed_rules(tmp_path_factory: pytest.TempPathFactory) -> RuleSet:
    folder = tmp_path_factory.mktemp("mixed") / "engine"
    shutil.copytree(rulesets_dir() / "engine", folder)
    return _mixed_rules(folder, Random(1))


def test_the_order_of_rules_vocabulary_files_and_keys_does_not_show(mixed_rules: RuleSet) -> None:
    assert list(mixed_rules.vocabulary.kinds) != list(demo_rules().vocabulary.kinds)
    one = decide_data(demo_data(), demo_rules(), demo().sheet)
    other = decide_data(demo_data(), mixed_rules, demo().sheet)
    assert bare(one) == bare(other)


@settings(max_examples=60)
@given(cases())
def test_the_order_of_the_small_rule_set_does_not_show(data: dict[str, Any]) -> None:
    rules = _small_mixed()
    assert bare(decide_data(data)) == bare(decide_data(data, rules, small.engine(rules)))


@functools.cache
def _small_mixed() -> RuleSet:
    with tempfile.TemporaryDirectory() as folder:
        small.ruleset(Path(folder))
        return _mixed_rules(Path(folder), Random(7))


def in_unit(node: Any, unit: str) -> Any:
    """The same data with every length written in `unit`, exactly.

    Most lengths in mm have no end in inches, so each is first made smaller by 1 part in 128: 64 mm becomes
    2.5 in and 63.5 mm, which are one and the same size.
    """
    if isinstance(node, dict):
        return {
            key: each if key in ("note", "history") else in_unit(each, unit) for key, each in node.items()
        }
    if isinstance(node, list):
        return [in_unit(each, unit) for each in node]
    try:
        quantity = read_quantity(node)
    except UnitFault:
        return node
    if quantity.dimension != "length":
        return node
    inches = quantity.value / Decimal("25.6")
    size = inches if unit == "in" else inches * Decimal("25.4")
    # As finely typed in either unit: how many digits there are is a statement too.
    return f"{size:.12f} {unit}"


@settings(max_examples=60)
@given(cases())
def test_inches_and_millimetres_give_the_same_verdicts(data: dict[str, Any]) -> None:
    rig = plain(parse(small.ENGINE, "engine.yaml").data)
    one, other = (
        decide_data(in_unit(data, unit), sheet=EngineSheet.model_validate(in_unit(rig, unit)))
        for unit in ("mm", "in")
    )
    assert bare(one) == bare(other)


def test_inches_and_millimetres_give_the_same_verdicts_on_the_demo() -> None:
    twins = {
        unit: decide_data(
            in_unit(demo_data(), unit),
            demo_rules(),
            EngineSheet.model_validate(in_unit(sheet_data(), unit)),
        )
        for unit in ("mm", "in")
    }
    assert bare(twins["mm"]) == bare(twins["in"])
    settled = [verdict for verdict in twins["in"].verdicts if verdict.verdict != "undecided"]
    assert len(settled) > 40, "the twins are to be a real case"


def test_twins_differ_in_what_is_written() -> None:
    assert in_unit("64 mm", "in") == "2.500000000000 in"
    assert in_unit("64 mm", "mm") == "63.500000000000 mm"
    assert read_quantity("2.5 in").value == read_quantity("63.50 mm").value
    assert in_unit("82 N·m", "in") == "82 N·m"
    assert in_unit("many", "in") == "many"


def with_rules(rules: RuleSet, extra: str) -> RuleSet:
    """The rule set with more rules, given as YAML."""
    text = small.RULES.rstrip("\n") + "\n" + extra
    with tempfile.TemporaryDirectory() as folder:
        return small.ruleset(Path(folder), rules=text)


_WHEN = {
    "shaft": ("{finding: crack, is: none}", "{some: {has: shaft_journal}, finding: heat, at_least: straw}"),
    "shaft_journal": (
        "{finding: heat, at_least: straw}",
        "{dimension: wear, against: discard, standing: inside}",
        "{some: {carries: half_shell}, concern: dirty_oil}",
    ),
    "half_shell": ("{finding: particles, at_least: few}", "{absent: {concern: dirty_oil}}"),
}
_THEN = {
    "shaft": ("bar: {answers: [reuse, recondition]}", "bar: {answers: reuse, mend: straighten}"),
    "shaft_journal": ("bar: {answers: reuse, mend: grind}", "bar: {answers: [recondition]}"),
    "half_shell": ("bar: {answers: reuse}",),
}
_REQUIRE = {
    "shaft": "require: {finding: debris, before: [reuse, recondition], because: b, safe_side: replace}",
    "shaft_journal": "require: {finding: scoring, before: reuse, because: b}",
    "half_shell": "require: {dimension: play, before: reuse, because: b, safe_side: replace}",
}
EXTRA = [
    (kind, when, then)
    for kind, conditions in _WHEN.items()
    for when in conditions
    for then in (*_THEN[kind], _REQUIRE[kind])
]


@pytest.mark.parametrize(("kind", "when", "then"), EXTRA)
def test_another_rule_that_bars_or_asks_never_makes_a_verdict_milder(kind: str, when: str, then: str) -> None:
    extra = f"""
  - id: another-rule
    for: {kind}
    when: {when}
    then: {{{then}}}
    because: a trial
    cite: [{{source: made_up}}]
    examples: {{fires: [{{}}], holds: [{{}}]}}
"""
    more = with_rules(small_rules(), extra)
    sheet = small.engine(more)
    changed_something = False
    for seed in range(60):
        data = case(Random(seed))
        one, other = decide_data(data), decide_data(data, more, sheet)
        was = by_item(one)
        for name, verdict in by_item(other).items():
            before, after = was[name].possible, verdict.possible
            order = ("reuse", "recondition", "replace")
            assert order.index(after[0]) >= order.index(before[0]), (seed, name, before, after)
            if verdict.verdict != "undecided":
                assert order.index(after[-1]) >= order.index(before[0])
        changed_something = changed_something or possible(one) != possible(other)
    assert changed_something, "the rule never mattered, so nothing was tried"


def test_a_case_made_in_code_needs_no_file() -> None:
    loaded = demo()
    made = CaseSheet.model_validate(demo_data())
    assert made == loaded.case
