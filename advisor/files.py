"""Rule sets, engine sheets and cases from files: the only way in for what people have written."""

from __future__ import annotations

from dataclasses import dataclass
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
    """The rule set in `folder`, or the one that comes with the program.

    Raises `Faults` with everything wrong in any of its files, a circle through an absence among them.
    """
    path = Path(folder) if folder is not None else rulesets_dir() / BASE
    kept = rulecache.fetch(path)
    if kept is not None:
        return kept
    # Only a rule set that is read anew has to be checked, and the checks take a while to import.
    from advisor.sheets.crosscheck import load_ruleset

    ruleset = load_ruleset(path)
    faults = check_cycles(ruleset.rules)
    if faults:
        raise Faults(faults)
    rulecache.keep(path, ruleset)
    return ruleset


def load_case(path: str | Path, rules: RuleSet) -> LoadedCase:
    """A case and its engine sheet, which lies in the case's folder or below it. Raises `Faults`."""
    document = load(path)
    case = validate(CaseSheet, document)
    if not inside(case.engine_sheet):
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
    return LoadedCase(case, load_engine(Path(path).parent / case.engine_sheet, rules), document)


def decide_file(path: str | Path, rules: RuleSet | None = None) -> Decision:
    """Load a case from a file and decide it. Raises `Faults` and `OurFault`."""
    rules = rules if rules is not None else load_rules()
    loaded = load_case(path, rules)
    return decide(loaded.case, loaded.sheet, rules, document=loaded.document)
