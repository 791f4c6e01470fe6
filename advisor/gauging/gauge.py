"""Every dimension of every item, with its standing against each limit: all that rules need of numbers."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from functools import cached_property

from advisor.gauging.agreement import Contradiction, contradictions, named
from advisor.gauging.formulas import FOUND_SIZE, Way, Workings
from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.gauging.measure import WORKING, Growth, Measure
from advisor.gauging.questions import CANNOT_BE_RIGHT, Question, questions_of
from advisor.gauging.repair import RepairBand, repair_bands
from advisor.gauging.sources import read_by, values_of, without
from advisor.gauging.standing import Confidence, standing
from advisor.gauging.ways import combined, conflicts
from advisor.sheets.bench import Bench
from advisor.sheets.conditions import OUTCOMES, Outcome, State
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import PURPOSES, Dimension, Formula, Purpose
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
    impossible: Measure | None = None
    """More wear than any part survives, which cannot be right; then there is no measure."""


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
        if gauger.distrusted:
            dimensions = tuple(
                {
                    planned.name: gauger.shaken(index, planned, each[planned.name])
                    for planned in gauger.plan.planned(bench.items[index].key.kind)
                    if planned.name in each
                }
                for index, each in enumerate(dimensions)
            )
        asked = {
            index: found
            for index, item in enumerate(bench.items)
            if item.readings
            and (
                found := (
                    *questions_of(item, sheet, ruleset),
                    *impossible(dimensions[index], ruleset),
                )
            )
        }
        trusted = without(bench, gauger.distrusted)
        return Gauged(dimensions, tuple(repair_bands(trusted, sheet, ruleset)), asked)


def impossible(dimensions: Mapping[str, GaugedDimension], ruleset: RuleSet) -> Iterator[Question]:
    """Questions about sizes that no part of its kind can have, and plays that no running part has."""
    for name, each in dimensions.items():
        dimension = ruleset.vocabulary.dimensions[name]
        alone = each.state == "contradictory" and not each.contradictions and dimension.must_be is not None
        if each.impossible is not None or (alone and CANNOT_BE in each.lacks):
            yield Question(name, (), f"{CANNOT_BE_RIGHT}: {dimension.label}", f"wanted: {each.lacks}")


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
    def _equal(self) -> tuple[Formula, ...]:
        return tuple(each for each in self.dimension.formulas if self.dimension.equal_way(each))

    def equal_way(self, formula: Formula) -> bool:
        """Whether a formula is a way of its own to this size; one of `dimension.formulas`."""
        return any(each is formula for each in self._equal)

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


CANNOT_BE = "cannot be"

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
        self.distrusted: set[tuple[int, str]] = set()
        """Readings, by item, that some dimension shows to contradict one another."""

    def dimension(self, index: int, planned: _Planned) -> GaugedDimension:
        """One dimension of one item, by the first formula whose readings are all there, or some of them.

        Where several have all of theirs, by all of them together.
        """
        state: State | None = None
        lacks = ""
        best: Way | None = None
        ways: list[tuple[Formula, Way]] = []
        too_much: Measure | None = None
        for formula in planned.dimension.formulas:
            way = self._workings.work_out(index, formula, planned.tolerance)
            if way.measure is not None:
                ways.append((formula, way))
                if best is None or (best.lacks and not way.lacks):
                    best = way
            # The first way of working it out says what is missing, unless a later one was tried and failed.
            elif state is None or (state == "not looked at" and way.state != "not looked at"):
                state, lacks, too_much = way.state, way.lacks, way.too_much
        if best is None or best.measure is None:
            state = state or "not looked at"
            standings = self._open(state, planned)
            if too_much is not None:
                standings = _beyond(standings, too_much)
            return GaugedDimension(None, state, standings, lacks, impossible=too_much)
        measure = best.measure
        fresh = any(self._workings.freshly_worked(index, formula) for formula, way in ways if way is best)
        wrong: list[Contradiction] = []
        if len(ways) > 1:
            equal = [
                (formula, way.measure, way.lacks)
                for formula, way in ways
                if way.measure is not None and planned.equal_way(formula)
            ]
            wrong = conflicts([each for _, each, _ in equal])
            whole = [(formula, each) for formula, each, lacks in equal if not lacks]
            if len(whole) > 1 and not best.lacks:
                measure = combined(whole)
        wrong += self._contradictions(index, planned, measure)
        if wrong:
            lacks = "; ".join(map(self._said(planned.dimension.quantity), wrong))
            return self._contradictory(index, planned, lacks, tuple(wrong))
        if planned.dimension.must_be is not None and measure.value <= 0 and measure.may_grow != "up":
            return self._contradictory(index, planned, self._no_play(planned.dimension, measure))
        standings = _standings(measure, planned, best.state, fresh=fresh)
        return GaugedDimension(measure, best.state if best.lacks else None, standings, best.lacks)

    def _contradictory(
        self, index: int, planned: _Planned, lacks: str, wrong: tuple[Contradiction, ...] = ()
    ) -> GaugedDimension:
        """A dimension whose readings cannot all be right, and so no other that rests on them."""
        formulas = [
            *planned.dimension.formulas,
            *(each.other for each in planned.dimension.agree),
        ]
        self.distrusted.update(
            (item, reading)
            for formula in formulas
            for items, reading in read_by(self._workings.bench, index, formula)
            for item in items
            if values_of(self._workings.bench, item, reading)
        )
        return GaugedDimension(None, "contradictory", self._open("contradictory", planned), lacks, wrong)

    def _no_play(self, dimension: Dimension, measure: Measure) -> str:
        size = show(measure.value, dimension.quantity, system=self.plan.sheet.units)
        return (
            f"{named(measure)} measured again, and what was fitted looked at: "
            f"a play of {size} {CANNOT_BE} where one part runs in the other"
        )

    def shaken(self, index: int, planned: _Planned, gauged: GaugedDimension) -> GaugedDimension:
        """A dimension without its standing where it rests on readings that contradict others."""
        if gauged.state == "contradictory" or (gauged.measure is None and gauged.impossible is None):
            return gauged
        bench = self._workings.bench
        for formula in planned.dimension.formulas:
            for items, reading in read_by(bench, index, formula):
                if any((item, reading) in self.distrusted for item in items):
                    label = self.plan.ruleset.vocabulary.readings[reading].label
                    lacks = f"{label} measured again: it contradicts another reading"
                    standings = self._open("contradictory", planned)
                    return GaugedDimension(None, "contradictory", standings, lacks)
        return gauged

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


def _beyond(standings: Mapping[Purpose, LimitStanding], wear: Measure) -> dict[Purpose, LimitStanding]:
    """The standings of more wear than any part survives: no reading of it lets the part go back as it is.

    Either it is as bad as it was read, or it is not the part or the reading that it is taken for. So a part
    that is worn further never stands better than one that is worn less.
    """
    return {
        purpose: replace(each, outcomes=_ABOVE, state=None)
        if each.limit is not None and each.limit.at_most is not None and wear.value > each.limit.at_most
        else each
        for purpose, each in standings.items()
    }


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
            held = replace(new, fresh=True)
            found[purpose] = LimitStanding(held, outcomes, None if len(outcomes) == 1 else rest)
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


_ABOVE: frozenset[Outcome] = frozenset(("above",))
_VALUE_ALONE = Confidence(guarded=False)

_NO_LIMIT = LimitStanding(None, frozenset(OUTCOMES), "not looked at")
"""Without a limit nothing is known of where a dimension stands."""

_NOT_JUDGED = LimitStanding(None, frozenset(("inside",)), None)
"""A dimension that is judged only where somebody gives a limit."""
