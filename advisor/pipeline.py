"""The whole way from a case to its decision, as one pure function: no clock, no environment, no files."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from advisor._version import VERSION
from advisor.chain.facts import world_of
from advisor.chain.ready import chain
from advisor.chain.run import Firings
from advisor.chain.world import World
from advisor.gauging import Gauged, gauge
from advisor.gauging.lasting import Running
from advisor.scope.course import with_courses
from advisor.sheets.bench import Bench
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


@dataclass(frozen=True, slots=True)
class Workings:
    """A decision with what it was made from, for whoever asks why a rule did not fire."""

    bench: Bench
    gauged: Gauged
    world: World
    firings: Firings
    teller: Teller
    decision: Decision


def decide(
    case: CaseSheet, sheet: EngineSheet, rules: RuleSet, *, document: Document | None = None
) -> Decision:
    """Judge every item on the bench.

    `document` is the case as it was read, for the places in messages; leave it out for a case made in code.

    Raises `advisor.faults.Faults` where the case does not fit the engine sheet and the rule set, and
    `advisor.faults.OurFault` where the two rule engines differ.
    """
    return work_out(case, sheet, rules, document=document).decision


def work_out(
    case: CaseSheet, sheet: EngineSheet, rules: RuleSet, *, document: Document | None = None
) -> Workings:
    """`decide`, with everything on the way to the decision. Raises what `decide` raises."""
    bench = lay_out(sheet, case, rules, document)
    gauged = gauge(bench, sheet, rules, rules.consulted_kinds)
    world = world_of(bench, gauged, rules)
    firings = chain(rules, world)
    teller = Teller(bench, gauged, sheet, rules)
    running = Running.of(_seconds(case.hours), _seconds(case.hours_wanted))
    verdicts = Judge(bench, gauged, sheet, rules, firings, teller, running).verdicts()
    decision = Decision(
        format=FORMAT,
        advisor=VERSION,
        case=case.case,
        engine=sheet.engine,
        case_digest=case.digest,
        sheet_digest=sheet.digest,
        rulesets=(RuleSetUsed(rules.name, rules.version, rules.digest, rules.house),),
        verdicts=with_courses(verdicts, bench, rules),
        causes=causes(bench, rules, firings),
        steps=steps(bench, rules, firings, teller),
    )
    return Workings(bench, gauged, world, firings, teller, decision)


def _seconds(time: Quantity | None) -> Decimal | None:
    return None if time is None else time.value
