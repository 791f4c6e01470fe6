"""Every dimension of every item, with its standing against each limit: all that rules need of numbers."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from functools import cached_property

from advisor.gauging.agreement import Contradiction, contradictions
from advisor.gauging.formulas import FOUND_SIZE, Way, Workings
from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.gauging.measure import WORKING, Growth, Measure
from advisor.gauging.questions import Question, questions_of
from advisor.gauging.repair import RepairBand, repair_bands
from advisor.gauging.standing import Confidence, standing
from advisor.sheets.bench import Bench
from advisor.sheets.conditions import OUTCOMES, Outcome, State
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import PURPOSES, Dimension, Purpose
from advisor.units import show

__all__ = ["FOUND_SIZE", "Gauged", "GaugedDimension", "LimitStanding", "gauge"]


@dataclass(frozen=True, slots=True)
class LimitStanding:
    """How a dimension stands against the limit for one purpose."""

    limit: ResolvedLimit | None
    outcomes: frozenset[Outcome]
    state: State | None


@dataclass(frozen=True, slots=True)
class GaugedDimension:
    """A dimension of one item: its size where it could be worked out, and its standings."""

    measure: Measure | None
    state: State | None
    """Why there is no measure."""
    standings: Mapping[Purpose, LimitStanding]
    lacks: str = ""
    """What is missing to work it out, or to work it out fully, in words."""
    contradictions: tuple[Contradiction, ...] = ()
    """Ways to work it out that cannot all be right; then there is no measure."""


@dataclass(frozen=True, slots=True)
class Gauged:
    """All dimensions of a bench, by item and name, and the repair sizes of its sets."""

    dimensions: tuple[Mapping[str, GaugedDimension], ...]
    bands: tuple[RepairBand, ...]
    questions: Mapping[int, tuple[Question, ...]] = field(default_factory=dict)
    """By item: readings that cannot be right, or hardly, and what to do about each."""


def gauge(bench: Bench, sheet: EngineSheet, ruleset: RuleSet, kinds: Collection[str] | None = None) -> Gauged:
    """Work out every dimension that the vocabulary knows for every item on the bench, or for some kinds."""
    with localcontext(WORKING):
        gauger = _Gauger(bench, _plan_of(sheet, ruleset))
        dimensions = tuple(
            {planned.name: gauger.dimension(index, planned) for planned in gauger.plan.planned(item.key.kind)}
            if kinds is None or item.key.kind in kinds
            else {}
            for index, item in enumerate(bench.items)
        )
        asked = {
            index: found
            for index, item in enumerate(bench.items)
            if item.readings and (found := tuple(questions_of(item, sheet, ruleset)))
        }
        return Gauged(dimensions, tuple(repair_bands(bench, sheet, ruleset)), asked)


@dataclass(frozen=True)
class _Planned:
    """A dimension of one kind of part on one engine, with everything looked up that no case changes."""

    name: str
    dimension: Dimension
    limits: Mapping[Purpose, ResolvedLimit | None]
    confidence: Mapping[Purpose, Confidence]

    @property
    def tolerance(self) -> Decimal | None:
        """By how much a new part may be off its size, where a limit for new says so."""
        new = self.limits["new"]
        return None if new is None else new.at_most

    @cached_property
    def _shared(self) -> dict[tuple[Purpose, frozenset[Outcome], State | None], LimitStanding]:
        return {}

    def shared(self, purpose: Purpose, outcomes: frozenset[Outcome], state: State | None) -> LimitStanding:
        """A standing against the limit for a purpose; equal ones are one and the same."""
        key = purpose, outcomes, state
        known = self._shared.get(key)
        if known is None:
            known = self._shared[key] = LimitStanding(self.limits[purpose], outcomes, state)
        return known

    @cached_property
    def unmeasured(self) -> dict[State, dict[Purpose, LimitStanding]]:
        """By state: the standings of a dimension that could not be worked out."""
        return {}


@dataclass(frozen=True)
class _Plan:
    """What gauging needs of an engine sheet and a rule set."""

    sheet: EngineSheet
    ruleset: RuleSet

    @cached_property
    def _planned(self) -> dict[str, tuple[_Planned, ...]]:
        return {}

    @cached_property
    def positions(self) -> Mapping[str, list[str]]:
        """By reading: the positions of a full set."""
        return {name: reading.positions() for name, reading in self.ruleset.vocabulary.readings.items()}

    def planned(self, kind: str) -> tuple[_Planned, ...]:
        """The dimensions of a kind."""
        known = self._planned.get(kind)
        if known is None:
            known = self._planned[kind] = tuple(
                self._plan(kind, name, dimension)
                for name, dimension in self.ruleset.vocabulary.dimensions.items()
                if kind in dimension.kinds
            )
        return known

    def _plan(self, kind: str, name: str, dimension: Dimension) -> _Planned:
        part, vocabulary = self.sheet.parts[kind], self.ruleset.vocabulary
        each = vocabulary.consequences[vocabulary.kinds[kind].consequence]
        return _Planned(
            name,
            dimension,
            {purpose: resolve(part, kind, name, purpose, self.ruleset.limits) for purpose in PURPOSES},
            {
                # A discard limit holds a margin of its own, unless this class of part wants both.
                purpose: Confidence(each.inside, each.outside, purpose != "discard" or each.guard_discard)
                for purpose in PURPOSES
            },
        )


_KEPT = 16
_plans: OrderedDict[tuple[str, str], _Plan] = OrderedDict()


def _plan_of(sheet: EngineSheet, ruleset: RuleSet) -> _Plan:
    key = (sheet.digest, ruleset.digest)
    plan = _plans.get(key)
    if plan is None:
        plan = _plans[key] = _Plan(sheet, ruleset)
        while len(_plans) > _KEPT:
            _plans.popitem(last=False)
    return plan


class _Gauger:
    """Works out the dimensions of one bench; readings are taken once."""

    def __init__(self, bench: Bench, plan: _Plan) -> None:
        self.plan = plan
        self._workings = Workings(bench, plan.sheet, plan.ruleset, plan.positions)

    def dimension(self, index: int, planned: _Planned) -> GaugedDimension:
        """One dimension of one item, by the first formula whose readings are all there, or some of them."""
        state: State | None = None
        lacks = ""
        best: Way | None = None
        ways: list[tuple[Way, GaugedDimension]] = []
        for formula in planned.dimension.formulas:
            way = self._workings.work_out(index, formula, planned.tolerance)
            if way.measure is not None:
                fresh = self._workings.freshly_worked(index, formula)
                standings = _standings(way.measure, planned, way.state, fresh=fresh)
                gauged = GaugedDimension(way.measure, way.state if way.lacks else None, standings, way.lacks)
                ways.append((way, gauged))
                if best is None or (best.lacks and not way.lacks):
                    best = way
            # The first way of working it out says what is missing, unless a later one was tried and failed.
            elif state is None or (state == "not looked at" and way.state != "not looked at"):
                state, lacks = way.state, way.lacks
        if best is not None and best.measure is not None:
            wrong = self._contradictions(index, planned, best.measure)
            if wrong:
                state, lacks = "contradictory", "; ".join(map(self._said(planned.dimension.quantity), wrong))
                return GaugedDimension(None, state, self._open(state, planned), lacks, tuple(wrong))
            chosen = next(gauged for way, gauged in ways if way is best)
            others = (each for _, each in ways if each is not chosen and _disagree(chosen, each))
            other = next(others, None) if len(ways) > 1 else None
            return chosen if other is None else _both(chosen, other)
        state = state or "not looked at"
        return GaugedDimension(None, state, self._open(state, planned), lacks)

    def _open(self, state: State, planned: _Planned) -> Mapping[Purpose, LimitStanding]:
        standings = planned.unmeasured.get(state)
        if standings is None:
            standings = planned.unmeasured[state] = _unmeasured(state, planned)
        return standings

    def _contradictions(self, index: int, planned: _Planned, own: Measure) -> list[Contradiction]:
        if not planned.dimension.agree:
            return []
        return contradictions(planned.dimension, own, lambda formula: self._workings.work_out(index, formula))

    def _said(self, quantity: str) -> Callable[[Contradiction], str]:
        def said(each: Contradiction) -> str:
            one, other = (
                show(side.value, quantity, system=self.plan.sheet.units) for side in (each.one, each.other)
            )
            return f"both measured again: {one} by {each.one_from}, {other} by {each.other_from}"

        return said


def _disagree(one: GaugedDimension, other: GaugedDimension) -> bool:
    """Whether two ways of measuring one thing put it on different sides of a limit."""
    return any(
        each.limit is not None and each.outcomes.isdisjoint(other.standings[purpose].outcomes)
        for purpose, each in one.standings.items()
    )


def _both(one: GaugedDimension, other: GaugedDimension) -> GaugedDimension:
    """What is known where two ways of measuring disagree: whatever either of them says may be."""
    standings = {
        purpose: replace(each, outcomes=each.outcomes | other.standings[purpose].outcomes, state="in doubt")
        for purpose, each in one.standings.items()
    }
    return replace(
        one,
        state="not looked at",
        standings=standings,
        lacks="both ways of measuring it again: they disagree",
    )


def _standings(
    measure: Measure, planned: _Planned, rest: State, *, fresh: bool
) -> dict[Purpose, LimitStanding]:
    """Where a measure stands against the limit for each purpose; `rest` says why positions are missing.

    What work has just made (`fresh`) is not worn: where there is a limit for new, it is thrown back at that.
    """
    found: dict[Purpose, LimitStanding] = {}
    for purpose, limit in planned.limits.items():
        new = planned.limits["new"] if fresh and purpose == "discard" else None
        if new is not None:
            # The whole allowance for wear lies behind it, so the value alone decides.
            outcomes = standing(measure, new.at_least, new.at_most, _VALUE_ALONE)
            if measure.may_grow:
                outcomes = _grown(outcomes, measure.may_grow, new)
            found[purpose] = LimitStanding(new, outcomes, None if len(outcomes) == 1 else rest)
            continue
        if limit is None:
            found[purpose] = _NOT_JUDGED if planned.dimension.optional else _NO_LIMIT
            continue
        outcomes = standing(measure, limit.at_least, limit.at_most, planned.confidence[purpose])
        state: State = "in doubt"
        if measure.may_grow:
            outcomes, state = _grown(outcomes, measure.may_grow, limit), rest
        found[purpose] = planned.shared(purpose, outcomes, None if len(outcomes) == 1 else state)
    return found


def _unmeasured(state: State, planned: _Planned) -> dict[Purpose, LimitStanding]:
    """The standings of what could not be worked out: every outcome that the limit knows is possible."""
    found: dict[Purpose, LimitStanding] = {}
    for purpose, limit in planned.limits.items():
        if limit is None and planned.dimension.optional:
            found[purpose] = _NOT_JUDGED
            continue
        outcomes = frozenset(OUTCOMES if limit is None else _order(limit))
        found[purpose] = replace(_NO_LIMIT, limit=limit, outcomes=outcomes, state=state)
    return found


def _order(limit: ResolvedLimit) -> list[Outcome]:
    """The outcomes that a limit knows, from low to high."""
    order: list[Outcome] = ["inside"]
    if limit.at_least is not None:
        order.insert(0, "below")
    if limit.at_most is not None:
        order.append("above")
    return order


def _grown(outcomes: frozenset[Outcome], growth: Growth, limit: ResolvedLimit) -> frozenset[Outcome]:
    """The outcomes that are possible once readings that are still missing have moved the value on."""
    order = _order(limit)
    if growth == "down":
        order.reverse()
    return frozenset(order[min(order.index(each) for each in outcomes) :])


_VALUE_ALONE = Confidence(guarded=False)

_NO_LIMIT = LimitStanding(None, frozenset(OUTCOMES), "not looked at")
"""Without a limit nothing is known of where a dimension stands."""

_NOT_JUDGED = LimitStanding(None, frozenset(("inside",)), None)
"""A dimension that is judged only where somebody gives a limit."""
