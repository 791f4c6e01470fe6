"""Tells what a file is by its keys, and says so where another kind of file was wanted."""

from __future__ import annotations

from typing import Final

from advisor.faults import Fault, Faults
from advisor.sheets.base import Sheet
from advisor.sheets.case import CaseSheet
from advisor.sheets.case_tests import CaseTestFile
from advisor.sheets.engine import EngineSheet
from advisor.sheets.house_file import HouseFile
from advisor.sheets.places import Document
from advisor.sheets.rules import RuleFile
from advisor.sheets.ruleset_files import Bibliography, CautionFile, InstrumentFile, Manifest
from advisor.sheets.vocabulary import VocabularyFile

CASE: Final = "case"
ENGINE: Final = "engine sheet"
RULE_SET: Final = "rule set"
HOUSE_RULES: Final = "house rules"
TESTS: Final = "tests"

MODELS: tuple[tuple[str, type[Sheet]], ...] = (
    (CASE, CaseSheet),
    (ENGINE, EngineSheet),
    (RULE_SET, Manifest),
    (HOUSE_RULES, HouseFile),
    ("vocabulary", VocabularyFile),
    ("rules", RuleFile),
    ("bibliography", Bibliography),
    ("cautions", CautionFile),
    ("instruments", InstrumentFile),
    (TESTS, CaseTestFile),
)

CALLED: Final = {
    CASE: "a case",
    ENGINE: "an engine sheet",
    RULE_SET: "the manifest of a rule set",
    HOUSE_RULES: "the house rules of a shop",
    "vocabulary": "a vocabulary file of a rule set",
    "rules": "a rule file of a rule set",
    "bibliography": "the bibliography of a rule set",
    "cautions": "the cautions of a rule set",
    "instruments": "the instruments of a rule set",
    TESTS: "a file of tests of a rule set",
}

_MEND: Final = {
    CASE: "give the file of the case; it names its engine sheet under engine_sheet:",
    ENGINE: "give the file of the engine sheet",
    TESTS: "name a file of tests; the cases and engine sheets that they need lie in a folder below",
}


def kind_of(document: Document) -> str:
    """What a file is, by its keys: the kind whose keys it has the most of, and lacks the fewest of.

    Empty where it has no key of any.
    """
    keys = set(document.data) if isinstance(document.data, dict) else set()
    best, most = "", (0, 0)
    for name, model in MODELS:
        fields = {field.alias or key: field.is_required() for key, field in model.model_fields.items()}
        has = len(keys & (fields.keys() - {"format"}))
        lacks = sum(required and key not in keys for key, required in fields.items())
        if has and (best == "" or (has, -lacks) > most):
            best, most = name, (has, -lacks)
    return best


def refuse_other(document: Document, wanted: str) -> None:
    """Raise `Faults` with a single fault where a file plainly is of another kind than `wanted`.

    It is asked of a file that has not the shape wanted: a list of all that it lacks would say less.
    """
    kind = kind_of(document)
    if kind not in ("", wanted):
        raise Faults(
            [
                Fault(
                    "other-file",
                    f"this file is {CALLED[kind]}",
                    CALLED[wanted],
                    _MEND[wanted],
                    document.positions[()],
                )
            ]
        )
