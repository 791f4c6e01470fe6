"""A decision on record: self-contained, canonical, and never rewritten."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.schema import as_json
from advisor.sheets.case import CaseSheet
from advisor.sheets.digest import canonical, dump
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Decision

RECORD_FORMAT = 1
"""Version of the record's own shape."""


def record(
    decision: Decision, case: CaseSheet, sheet: EngineSheet, rules: RuleSet, versions: Mapping[str, str]
) -> dict[str, Any]:
    """Everything that a decision was made from, and the decision, as plain JSON values.

    `versions` names the software that decided. The digests in the decision can be worked out again from
    the inputs here.
    """
    return {
        "format": RECORD_FORMAT,
        "what": "decision record",
        "versions": dict(versions),
        "inputs": {"case": dump(case), "engine_sheet": dump(sheet), "ruleset": rules.record()},
        "decision": as_json(decision, rules),
    }


def record_bytes(value: Mapping[str, Any]) -> bytes:
    """A record as it is written: canonical JSON in UTF-8 with a line end."""
    return (canonical(value) + "\n").encode()
