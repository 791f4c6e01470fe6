"""The reference pages name every key that people may write, and every word that is fixed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from advisor.files import load_rules
from advisor.sheets.base import AT
from advisor.sheets.case import NOT_THERE, CaseSheet
from advisor.sheets.case_tests import CaseTestFile
from advisor.sheets.conditions import STATES
from advisor.sheets.engine import EngineSheet
from advisor.sheets.house_file import HouseFile
from advisor.sheets.rules import RuleFile, RuleText
from advisor.sheets.ruleset_files import Bibliography, CautionFile, InstrumentFile, Manifest
from advisor.sheets.vocabulary import ANSWERS, MOMENTS, OPERATORS, PURPOSES, VocabularyFile
from tests.docs.source import ROOT

SHEETS = "case-and-engine-sheet.md"
FILES = "rule-set-files.md"
TESTS = "rule-tests.md"
HOUSE_RULES = "house-rules.md"
LANGUAGE = "rule-language.md"


def models(annotation: Any) -> Iterator[type[BaseModel]]:
    """Every model in a type, however deep it stands in lists and alternatives."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from models(inner)


def keys(model: type[BaseModel], seen: frozenset[type[BaseModel]] = frozenset()) -> set[str]:
    """Every key that may be written in a file of this model, and in what stands inside it."""
    if model in seen:
        return set()
    found: set[str] = set()
    for name, field in model.model_fields.items():
        if field.validation_alias == AT:
            continue
        found.add(field.alias or name)
        for inner in models(field.annotation):
            found |= keys(inner, seen | {model})
    return found


def coded(page: str) -> set[str]:
    """Every word that a page sets as code, or writes in a block."""
    text = (ROOT / "docs" / page).read_text("utf-8")
    return {
        word
        for code in re.findall(r"```.*?```|`[^`]+`", text, re.DOTALL)
        for word in re.findall(r"\w+", code)
    }


@pytest.mark.parametrize(
    ("page", "model"),
    [
        (SHEETS, CaseSheet),
        (SHEETS, EngineSheet),
        (FILES, Manifest),
        (HOUSE_RULES, HouseFile),
        (FILES, Bibliography),
        (FILES, CautionFile),
        (FILES, InstrumentFile),
    ],
)
def test_every_key_is_told(page: str, model: type[BaseModel]) -> None:
    headings = set(re.findall(r"^#+ (\w+)$", (ROOT / "docs" / page).read_text("utf-8"), re.MULTILINE))
    assert keys(model) - coded(page) - {each.lower() for each in headings} == set()


def test_every_key_of_the_vocabulary_is_told() -> None:
    text = (ROOT / "docs" / FILES).read_text("utf-8")
    told = coded(FILES) | set(re.findall(r"^### (\w+)$", text, re.MULTILINE))
    assert keys(VocabularyFile) - told == set()


def test_every_key_of_a_rule_is_told() -> None:
    assert keys(RuleText) - coded(LANGUAGE) - coded(FILES) == set()
    assert keys(RuleFile) - coded(LANGUAGE) - coded(FILES) == set()


def test_every_key_of_a_test_is_told() -> None:
    headings = set(re.findall(r"^#+ (\w+)$", (ROOT / "docs" / SHEETS).read_text("utf-8"), re.MULTILINE))
    assert keys(CaseTestFile) - coded(TESTS) - coded(SHEETS) - headings == set()


def test_every_operator_is_told() -> None:
    assert set(OPERATORS) <= coded(FILES)


def test_every_word_for_what_is_missing_is_told() -> None:
    text = (ROOT / "docs" / SHEETS).read_text("utf-8")
    assert [word for word in NOT_THERE if f"`{word}`" not in text] == []
    language = (ROOT / "docs" / LANGUAGE).read_text("utf-8")
    assert [word for word in STATES if f"`{word}`" not in language] == []


def test_moments_purposes_and_answers_are_told() -> None:
    text = (ROOT / "docs" / SHEETS).read_text("utf-8")
    assert [word for word in (*MOMENTS, *PURPOSES, *ANSWERS) if f"`{word}`" not in text] == []


def test_the_keys_are_really_found() -> None:
    found = keys(CaseSheet)
    assert {"with", "from_among", "limit_of_error", "read_on"} <= found
    assert "at" not in found - keys(RuleText)


def test_the_readme_says_which_kinds_are_judged() -> None:
    rules = load_rules()
    kinds = rules.vocabulary.kinds
    assert rules.judged_kinds == kinds.keys()
    limits = (ROOT / "README.md").read_text("utf-8").partition("## What it does not do yet")[2]
    told = " ".join(limits.split()).partition(f"It judges all {len(kinds)} kinds of part")[2]
    named = {name.strip() for name in told.partition(":")[2].partition(".")[0].split(",")}
    assert named == {kind.assembly for kind in kinds.values()}
