"""Reuse, recondition or replace: a second opinion on every part of an engine that is apart on the bench.

    import advisor
    rules = advisor.load_rules()
    decision = advisor.decide_file("case.yaml", rules)

`decide` itself is pure: it takes a case, an engine sheet and a rule set as values.
"""

from __future__ import annotations

from advisor import _version
from advisor.decide import decide
from advisor.faults import Fault, Faults, OurFault
from advisor.files import decide_file, load_case, load_rules
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import Decision, Verdict

__version__ = _version.VERSION

__all__ = [
    "CaseSheet",
    "Decision",
    "EngineSheet",
    "Fault",
    "Faults",
    "OurFault",
    "RuleSet",
    "Verdict",
    "__version__",
    "decide",
    "decide_file",
    "load_case",
    "load_rules",
]
