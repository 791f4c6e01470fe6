"""Reuse, recondition or replace: a second opinion on every part of an engine that is apart on the bench.

    import advisor
    rules = advisor.load_rules()
    decision = advisor.decide_file("case.yaml", rules)

`decide` itself is pure: it takes a case, an engine sheet and a rule set as values.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from advisor import _version

if TYPE_CHECKING:
    from advisor.faults import Fault, Faults, OurFault
    from advisor.files import LoadedCase, decide_file, load_case, load_rules
    from advisor.pipeline import decide
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
    "LoadedCase",
    "OurFault",
    "RuleSet",
    "Verdict",
    "__version__",
    "decide",
    "decide_file",
    "load_case",
    "load_rules",
]

_FROM = {
    "CaseSheet": "advisor.sheets.case",
    "Decision": "advisor.verdicts.model",
    "EngineSheet": "advisor.sheets.engine",
    "Fault": "advisor.faults",
    "Faults": "advisor.faults",
    "LoadedCase": "advisor.files",
    "OurFault": "advisor.faults",
    "RuleSet": "advisor.sheets.ruleset",
    "Verdict": "advisor.verdicts.model",
    "decide": "advisor.pipeline",
    "decide_file": "advisor.files",
    "load_case": "advisor.files",
    "load_rules": "advisor.files",
}


def __getattr__(name: str) -> object:
    """Import a public name when it is first used, so that what does not need the whole need not load it."""
    if name not in _FROM:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(_FROM[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """The public names."""
    return sorted({*globals(), *__all__})
