"""The whole way from a case to its decision, as one pure function: no clock, no environment, no files."""

from __future__ import annotations

from decimal import Decimal

from advisor._version import VERSION
from advisor.chain.facts import world_of
from advisor.chain.ready import chain
from advisor.gauging import gauge
from advisor.gauging.lasting import Running
from advisor.scope.course import with_courses
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.laying import lay_out
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.units import Quantity
from advisor.verdicts.judge import Judge
from advisor.verdicts.model import FORMAT, Decision, RuleSetUsed
from advisor.verdicts.trace import causes, steps
from advisor.verdicts.words import Teller


def decide(
    case: CaseSheet, sheet: EngineSheet, rules: RuleSet, *, document: Document | None = None
) -> Decision:
    """Judge every item on the bench.

    `document` is the case as it was read, for the places in messages; leave it out for a case made in code.

    Raises `advisor.faults.Faults` where the case does not fit the engine sheet and the rule set, and
    `advisor.faults.OurFault` where the two rule engines differ.
    """
    bench = lay_out(sheet, case, rules, document)
    gauged = gauge(bench, sheet, rules, rules.consulted_kinds)
    firings = chain(rules, world_of(bench, gauged, rules))
    teller = Teller(bench, gauged, sheet, rules)
    running = Running.of(_seconds(case.hours), _seconds(case.hours_wanted))
    verdicts = Judge(bench, gauged, sheet, rules, firings, teller, running).verdicts()
    return Decision(
        format=FORMAT,
        advisor=VERSION,
        case=case.case,
        engine=sheet.engine,
        case_digest=case.digest,
        sheet_digest=sheet.digest,
        rulesets=(RuleSetUsed(rules.name, rules.version, rules.digest),),
        verdicts=with_courses(verdicts, bench, rules),
        causes=causes(bench, rules, firings),
        steps=steps(bench, rules, firings, teller),
    )


def _seconds(time: Quantity | None) -> Decimal | None:
    return None if time is None else time.value
