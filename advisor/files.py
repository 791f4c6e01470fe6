"""Rule sets, engine sheets and cases from files: the only way in for what people have written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from advisor import rulecache
from advisor._resources import rulesets_dir
from advisor.chain.ready import check_cycles
from advisor.faults import Fault, Faults
from advisor.pipeline import decide
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import load_engine
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet, inside
from advisor.sheets.text import load
from advisor.sheets.validate import validate
from advisor.verdicts.model import Decision

BASE = "engine"
"""The rule set that comes with the program."""


@dataclass(frozen=True)
class LoadedCase:
    """A case with the engine sheet that it names."""

    case: CaseSheet
    sheet: EngineSheet
    document: Document


def load_rules(folder: str | Path | None = None) -> RuleSet:
    """The rule set in `folder`, or the one of that name that comes with the program; left out, the engine's.

    Raises `Faults` with everything wrong in any of its files, a circle through an absence among them.
    """
    path = _where(folder)
    place = rulecache.place_of(path)
    kept = rulecache.fetch(place)
    if kept is not None:
        return kept
    # Only a rule set that is read anew has to be checked, and the checks take a while to import.
    from advisor.sheets.crosscheck import load_ruleset

    ruleset = load_ruleset(path)
    faults = check_cycles(ruleset.rules, ruleset.on_suspicion)
    if faults:
        raise Faults(faults)
    # What was changed while it was being read is not kept under the name of what stood there before.
    if rulecache.place_of(path) == place:
        rulecache.keep(place, ruleset)
    return ruleset


def _where(folder: str | Path | None) -> Path:
    """A folder goes before a rule set of its name that comes with the program."""
    path = Path(BASE if folder is None else folder)
    if folder is None or (not path.exists() and len(path.parts) == 1):
        shipped = rulesets_dir() / path
        if shipped.is_dir():
            return shipped
    return path


def load_case(path: str | Path, rules: RuleSet) -> LoadedCase:
    """A case and its engine sheet, which lies in the case's folder or below it. Raises `Faults`."""
    document = load(path)
    try:
        case = validate(CaseSheet, document)
    except Faults:
        # Only a file with faults is asked what it is: the answer takes the models of every kind of file.
        from advisor.sheets.filekind import CASE, refuse_other

        refuse_other(document, CASE)
        raise
    folder = Path(path).parent
    if not inside(folder, case.engine_sheet):
        raise Faults(
            [
                Fault(
                    "file-outside",
                    f"the engine sheet {case.engine_sheet} lies outside the case's folder",
                    "a file name in that folder or below it",
                    "copy the sheet beside the case",
                    document.positions[("engine_sheet",)],
                )
            ]
        )
    try:
        sheet = load_engine(folder / case.engine_sheet, rules)
    except Faults as faults:
        # A sheet that cannot be opened is told where it is named.
        here = document.positions[("engine_sheet",)]
        raise Faults(
            fault if fault.at is not None else replace(fault, at=here) for fault in faults.faults
        ) from None
    return LoadedCase(case, sheet, document)


def decide_file(path: str | Path, rules: RuleSet | None = None) -> Decision:
    """Load a case from a file and decide it. Raises `Faults` and `OurFault`."""
    rules = rules if rules is not None else load_rules()
    loaded = load_case(path, rules)
    return decide(loaded.case, loaded.sheet, rules, document=loaded.document)
