"""Conditions as they are written, and the closed values that both rule engines take them as."""

from __future__ import annotations

from decimal import Decimal

import pytest

from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Origin,
    PlaceUnknown,
    Related,
    Stands,
    leaves,
)
from advisor.sheets.rule_of_thumb import LimitSize, RuleOfThumb
from advisor.sheets.rules import ConditionText, RuleText
from advisor.sheets.text import parse
from advisor.sheets.validate import validate
from advisor.units import read_quantity


def condition(text: str) -> Condition:
    return validate(ConditionText, parse(text, "rules.yaml")).tree


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("{finding: scoring, at_least: light}", Found("scoring", "light", None)),
        ("{finding: scoring, at_most: light}", Found("scoring", "none", "light")),
        ("{finding: scoring, at_least: light, at_most: deep}", Found("scoring", "light", "deep")),
        ("{finding: scoring, is: none}", Found("scoring", "none", "none")),
        (
            "{dimension: wear, against: discard, standing: outside}",
            Stands("wear", "discard", frozenset(("above", "below"))),
        ),
        (
            "{dimension: wear, against: new, standing: inside}",
            Stands("wear", "new", frozenset(("inside",))),
        ),
        ("{concern: suspect}", HasConcern("suspect")),
        ("{property: treatment, is: nitrided}", HasProperty("treatment", "nitrided")),
        ("{place: unknown}", PlaceUnknown()),
        ("{origin: second-hand}", Origin("second-hand")),
        ("{layout: fuel, is: diesel}", LayoutIs("fuel", "diesel")),
        ("{evidence: crack, is: lost}", EvidenceIs("crack", "discard", "lost")),
        ("{evidence: wear, against: new, is: in doubt}", EvidenceIs("wear", "new", "in doubt")),
        (
            "{some: {has: journal}, finding: heat, is: blue}",
            Related("has", "journal", 1, Found("heat", "blue", "blue")),
        ),
        (
            "{some: {has: journal, at_least: '3'}, concern: hot}",
            Related("has", "journal", 3, HasConcern("hot")),
        ),
        ("{every: {has: journal}, place: unknown}", Related("has", "journal", None, PlaceUnknown())),
        ("{absent: {concern: suspect}}", Absent(HasConcern("suspect"))),
        (
            "{absent: {some: {has: journal}, concern: hot}}",
            Absent(Related("has", "journal", 1, HasConcern("hot"))),
        ),
        ("{all: []}", All(())),
        ("{any: [{place: unknown}, {concern: hot}]}", Any((PlaceUnknown(), HasConcern("hot")))),
        (
            "{count: '2', of: [{place: unknown}, {concern: hot}]}",
            Any((PlaceUnknown(), HasConcern("hot")), 2),
        ),
    ],
)
def test_a_condition_as_written_is_one_closed_value(text: str, tree: Condition) -> None:
    assert condition(text) == tree


def test_leaves_stand_from_left_to_right() -> None:
    nested = condition("{all: [{any: [{concern: a}, {all: [{concern: b}]}]}, {absent: {concern: c}}]}")
    assert leaves(nested) == [HasConcern("a"), HasConcern("b"), Absent(HasConcern("c"))]


RULE = """
id: lever-worn
for: lever
then: {bar: {answers: reuse}, concern: hot}
because: it is so
cite: [{source: made_up, at: p. 3}]
examples: {fires: [{}], holds: [{}]}
"""


def test_one_word_stands_for_a_list_of_one_and_no_condition_for_always() -> None:
    rule = validate(RuleText, parse(RULE, "rules.yaml"))
    assert rule.condition == All(())
    assert [bar.answers for bar in rule.then.bar] == [["reuse"]]
    assert rule.then.concern == ["hot"]
    assert (rule.cite[0].source, rule.cite[0].where) == ("made_up", "p. 3")
    assert rule.at is not None
    assert (rule.at.line, rule.at.col) == (2, 1)


def test_a_rule_of_thumb_holds_exact_sizes_and_writes_them_as_typed() -> None:
    text = """
part: journal
dimension: taper
purpose: discard
at_most: {from: new, times: "1.15", plus: 1/16 in, ratio: "-0.0005", size: diameter}
band: diameter
over: 2 in
up_to: 101.6 mm
cite: [{source: made_up}]
because: it is so
"""
    thumb = validate(RuleOfThumb, parse(text, "rules.yaml"))
    assert thumb.at_most is not None
    assert (thumb.at_most.times, thumb.at_most.ratio) == (Decimal("1.15"), Decimal("-0.0005"))
    assert thumb.at_most.plus == read_quantity("1.5875 mm")
    assert thumb.up_to == read_quantity("4 in")
    written = thumb.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    assert written["at_most"]["plus"] == "1/16 in"
    assert RuleOfThumb.model_validate(written) == thumb


def test_times_is_one_where_nothing_is_said() -> None:
    assert LimitSize.model_validate({"from": "new"}).times == 1
