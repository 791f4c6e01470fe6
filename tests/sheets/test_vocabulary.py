"""The vocabulary's own models, and every word of the small rule set misspelt in turn."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.faults import Faults
from advisor.sheets.base import FaultError
from advisor.sheets.crosscheck import load_ruleset
from advisor.sheets.vocabulary import OPERATORS, Evidence, Formula, ReadingKind
from tests.decide import small


def reading(**more: list[str]) -> ReadingKind:
    return ReadingKind.model_validate(
        {"label": "x", "kinds": ["lever"], "quantity": "length", "condition": "dry", "how": "flat", **more}
    )


@pytest.mark.parametrize(
    ("lists", "positions"),
    [
        ({}, [""]),
        ({"sections": ["top", "foot"]}, ["top", "foot"]),
        ({"directions": ["x", "y"]}, ["x", "y"]),
        ({"sections": ["top", "foot"], "directions": ["x", "y"]}, ["top x", "top y", "foot x", "foot y"]),
    ],
)
def test_positions_of_a_full_set_of_readings(lists: dict[str, list[str]], positions: list[str]) -> None:
    assert reading(**lists).positions() == positions


@pytest.mark.parametrize("operator", OPERATORS)
def test_each_operator_takes_its_own_parameters_and_no_others(operator: str) -> None:
    pair = {"outer": {"reading": "bore"}, "inner": {"reading": "pin"}}
    single = {"reading": "bore"}
    right, wrong = (pair, single) if "clearance" in operator else (single, pair)
    if operator == "per_length":
        right, wrong = {**single, "over": "span"}, single
    assert Formula.model_validate({"operator": operator, **right}).operator == operator
    for given in (wrong, {**single, **pair}, {}):
        with pytest.raises(ValueError, match="does not have the parameters it needs"):
            Formula.model_validate({"operator": operator, **given})


def test_evidence_names_its_subject() -> None:
    for subject in ("finding", "dimension"):
        evidence = Evidence.model_validate({subject: "wear", "before": "reuse", "because": "x"})
        assert (evidence.subject, evidence.before) == ("wear", ["reuse"])


def test_a_fault_of_a_model_says_where_below_its_value_it_is() -> None:
    error = FaultError("some-code", "it is wrong", where=("steps", 2))
    assert (error.at(None).code, error.where) == ("some-code", ("steps", 2))


USES = [
    ("consequence: grave", "consequence: gravve"),
    ("axes: [journal, half]", "axes: [journal, hall]"),
    ("{finding: crack, before", "{finding: crak, before"),
    ("cautions: [heavy]", "cautions: [heavvy]"),
    (
        "{of: half_shell, to: shaft_journal, by: [journal]}",
        "{of: half_shel, to: shaft_journal, by: [journal]}",
    ),
    (
        "{of: shaft_journal, to: half_shell, by: [journal]}",
        "{of: shaft_journal, to: half_shell, by: [jurnal]}",
    ),
    ("kinds: [half_shell], whole", "kinds: [half_shall], whole"),
    ("kinds: [half_shell, shaft_journal]", "kinds: [half_shell, shaft_jurnal]"),
    ("quantity: length\n    sections", "quantity: lenght\n    sections"),
    ("instruments: [micrometer, exact", "instruments: [micrometr, exact"),
    ("{operator: below_size, reading: diameter}", "{operator: below_size, reading: diametre}"),
    ("{reading: diameter, on: {runs_on: shaft_journal}}", "{reading: diameter, on: {run_on: shaft_journal}}"),
    ("{reading: diameter, on: {runs_on: shaft_journal}}", "{reading: diameter, on: {runs_on: shaft_jurnal}}"),
    ("voids: [diameter]", "voids: [diametre]"),
    ("renews: {carries: half_shell}", "renews: {carris: half_shell}"),
    ("renews: {carries: half_shell}", "renews: {carries: half_shel}"),
    ("cautions: [sparks]", "cautions: [spark]"),
]


@pytest.mark.parametrize(("word", "misspelt"), USES, ids=[use[1] for use in USES])
def test_a_misspelt_word_is_refused_with_the_word_that_was_meant(
    tmp_path: Path, word: str, misspelt: str
) -> None:
    assert small.VOCABULARY.count(word) >= 1
    vocabulary = small.VOCABULARY.replace(word, misspelt, 1)
    with pytest.raises(Faults) as raised:
        small.ruleset(tmp_path, vocabulary=vocabulary)
    (line,) = [
        number
        for number, (one, other) in enumerate(
            zip(small.VOCABULARY.splitlines(), vocabulary.splitlines(), strict=True), start=1
        )
        if one != other
    ]
    told = [fault for fault in raised.value.faults if fault.at is not None and fault.at.line == line]
    assert [fault.code for fault in told] == ["unknown-word"]
    assert "did you mean" in told[0].mend


RULE_USES = [
    ("for: gasket", "for: gaskt"),
    ("{finding: particles, at_least: many}", "{finding: particle, at_least: many}"),
    ("{finding: particles, at_least: many}", "{finding: particles, at_least: manny}"),
    ("concern: dirty_oil\n    because: many", "concern: dirt_oil\n    because: many"),
    ("{dimension: play, against", "{dimension: plai, against"),
    ("{some: {carries: half_shell}, concern", "{some: {carry: half_shell}, concern"),
    ("{some: {carries: half_shell}, concern", "{some: {carries: half_shel}, concern"),
    ("require: {dimension: wear", "require: {dimension: ware"),
    ("mend: grind", "mend: grin"),
    ("task: polish", "task: polis"),
    ("{layout: fuel, is: diesel}", "{layout: fuell, is: diesel}"),
    ("{layout: fuel, is: diesel}", "{layout: fuel, is: disel}"),
]


@pytest.mark.parametrize(("word", "misspelt"), RULE_USES, ids=[use[1] for use in RULE_USES])
def test_a_misspelt_word_of_a_rule_is_refused_with_the_word_that_was_meant(
    tmp_path: Path, word: str, misspelt: str
) -> None:
    assert small.RULES.count(word) >= 1
    with pytest.raises(Faults) as raised:
        small.ruleset(tmp_path, rules=small.RULES.replace(word, misspelt, 1))
    first = [fault for fault in raised.value.faults if fault.code == "unknown-word"]
    assert len(first) == 1
    assert "did you mean" in first[0].mend


def test_the_small_rule_set_itself_is_sound(tmp_path: Path) -> None:
    small.ruleset(tmp_path)
    assert load_ruleset(tmp_path).rules
