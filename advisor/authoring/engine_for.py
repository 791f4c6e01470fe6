"""The engine sheet on which made-up cases are built, where nobody names one."""

from __future__ import annotations

from pathlib import Path

from advisor.authoring.cases import FOLDER, Trier, read_tests
from advisor.faults import Fault, Faults
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import load_engine
from advisor.sheets.ruleset import RuleSet


def engine_for(folder: Path, ruleset: RuleSet, named: Path | None) -> EngineSheet:
    """The engine sheet in `named`, or the one of the first test of the rule set in `folder`.

    Raises `Faults` where there is neither, or where the sheet has faults.
    """
    if named is not None:
        return load_engine(named, ruleset)
    for path in sorted((folder / FOLDER).glob("*.yaml")):
        return Trier(ruleset).prepare(read_tests(path), 0).sheet
    raise Faults(
        [
            Fault(
                "no-engine-sheet",
                f"the rule set in {folder} has no test that would name an engine sheet",
                "an engine sheet, with the limits that are to be probed",
                "name one with --engine",
            )
        ]
    )
