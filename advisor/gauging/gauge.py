"""Every dimension of every item, with its standing against each limit: all that rules need of numbers."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from functools import cached_property

from advisor.gauging import operators
from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.gauging.measure import WORKING, Growth, Measure, Taken, believable, take
from advisor.gauging.repair import RepairBand, repair_bands
from advisor.gauging.standing import Confidence, standing
from advisor.sheets.bench import Bench
from advisor.sheets.conditions import OUTCOMES, Outcome, State
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import PURPOSES, Dimension, Formula, Purpose, Source

FOUND_SIZE = "the repair size it arrived with"
"""What is lacking where nobody read the size that a set arrived with."""


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


@dataclass(frozen=True, slots=True)
class Gauged:
    """All dimensions of a bench, by item and name, and the repair sizes of its sets."""

    dimensions: tuple[Mapping[str, GaugedDimension], ...]
    bands: tuple[RepairBand, ...]


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
        return Gauged(dimensions, tuple(repair_bands(bench, sheet, ruleset)))


@dataclass(frozen=True)
class _Planned:
    """A dimension of one kind of part on one engine, with everything looked up that no case changes."""

    name: str
    dimension: Dimension
    limits: Mapping[Purpose, ResolvedLimit | None]
    confidence: Mapping[Purpose, Confidence]

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
        self._bench = bench
        self._sheet = plan.sheet
        self._vocabulary = plan.ruleset.vocabulary
        self._taken: dict[tuple[int, str], Taken] = {}

    def dimension(self, index: int, planned: _Planned) -> GaugedDimension:
        """One dimension of one item, by the first formula whose readings are there."""
        state: State | None = None
        lacks = ""
        first: GaugedDimension | None = None
        for formula in planned.dimension.formulas:
            measure, why, missing = self._work_out(index, formula, planned)
            if measure is not None:
                fresh = self._freshly_worked(index, formula)
                standings = _standings(measure, planned, why, fresh=fresh)
                gauged = GaugedDimension(measure, why if missing else None, standings, missing)
                if first is not None and _disagree(first, gauged):
                    return _both(first, gauged)
                first = first or gauged
                continue
            # The first way of working it out says what is missing, unless a later one was tried and failed.
            if state is None or (state == "not looked at" and why != "not looked at"):
                state, lacks = why, missing
        if first is not None:
            return first
        state = state or "not looked at"
        unmeasured = planned.unmeasured.get(state)
        if unmeasured is None:
            unmeasured = planned.unmeasured[state] = _unmeasured(state, planned)
        return GaugedDimension(None, state, unmeasured, lacks)

    def _freshly_worked(self, index: int, formula: Formula) -> bool:
        """Whether a formula reads what work has just made: such a size is held to the limit for new."""
        item = self._bench.items[index]
        read = item.readings.get(formula.reading or "")
        return read is not None and read.moment == "after machining" and formula.reading in item.worked

    def _work_out(self, index: int, formula: Formula, planned: _Planned) -> tuple[Measure | None, State, str]:
        if formula.reading is None:
            return self._clearance(index, formula)
        taken, state = self._readings(index, formula.reading)
        kind = self._vocabulary.readings[formula.reading]
        if taken is None:
            return None, state, kind.label
        measure: Measure | None
        match formula.operator:
            case "value" | "largest":
                measure = operators.largest(taken)
            case "smallest":
                measure = operators.smallest(taken)
            case "mean":
                measure = operators.mean(taken)
            case "out_of_round":
                measure = operators.out_of_round(taken, kind)
            case "taper":
                measure = operators.taper(taken, kind)
            case _:
                return self._against_size(index, formula, taken, kind.label, planned)
        return measure, taken.rest, _missing(taken, kind.label)

    def _against_size(
        self, index: int, formula: Formula, taken: Taken, label: str, planned: _Planned
    ) -> tuple[Measure | None, State, str]:
        """Distance from the size it had: new, or the repair size that it arrived with or was brought to."""
        assert formula.reading is not None
        item = self._bench.items[index]
        part = self._sheet.parts[item.key.kind]
        quantity = part.new.get(formula.reading)
        if quantity is None:
            return None, "not looked at", f"the new {label} on the engine sheet"
        missing = _missing(taken, label)
        if formula.operator == "short_of_new":
            return operators.short_of_new(taken, quantity.value), taken.rest, missing
        had = item.found_size
        if self._freshly_worked(index, formula):
            had = item.worked[formula.reading]
            if had is None:
                return None, "not looked at", "the repair size it was brought to"
        if had is None and any(each.size == formula.reading for each in part.repair_sizes):
            return None, "not looked at", FOUND_SIZE
        size = quantity.value + (had or Decimal(0))
        operator = operators.below_size if formula.operator == "below_size" else operators.above_size
        measure = operator(taken, size)
        new = planned.limits["new"]
        tolerance = None if new is None else new.at_most
        if measure is not None and not believable(measure.value, size, measure.limit_of_error, tolerance):
            return None, "not looked at", f"{label} and {FOUND_SIZE} checked: one of the two cannot be right"
        return measure, taken.rest, missing

    def _clearance(self, index: int, formula: Formula) -> tuple[Measure | None, State, str]:
        assert formula.outer is not None  # the model holds that one of the two ways is given
        assert formula.inner is not None
        outer, outer_state, outer_label = self._source(index, formula.outer)
        inner, inner_state, inner_label = self._source(index, formula.inner)
        if outer is None or inner is None:
            lacking = [
                label for taken, label in ((outer, outer_label), (inner, inner_label)) if taken is None
            ]
            return None, inner_state if outer is not None else outer_state, " and ".join(lacking)
        operator = operators.clearance if formula.operator == "clearance" else operators.least_clearance
        missing = [_missing(outer, outer_label), _missing(inner, inner_label)]
        rests = {each.rest for each in (outer, inner) if each.missing}
        rest: State = rests.pop() if len(rests) == 1 else "not looked at"
        return operator(outer, inner), rest, " and ".join(filter(None, missing))

    def _source(self, index: int, source: Source) -> tuple[Taken | None, State, str]:
        label = self._vocabulary.readings[source.reading].label
        if not source.on:
            return (*self._readings(index, source.reading), label)
        relation, kind = next(iter(source.on.items()))
        linked = [
            other
            for other in self._bench.links.get(relation, {}).get(index, ())
            if self._bench.items[other].key.kind == kind
        ]
        if len(linked) != 1:
            return None, "not looked at", f"the place it belongs to, for its {label}"
        return (*self._readings(linked[0], source.reading), label)

    def _readings(self, index: int, reading: str) -> tuple[Taken | None, State]:
        item = self._bench.items[index]
        if not item.opened:
            return None, "not opened"
        read = item.readings.get(reading)
        if read is None or not read.values:
            return None, read.state if read is not None and read.state is not None else "not looked at"
        taken = self._taken.get((index, reading))
        if taken is None:
            kind = self._vocabulary.readings[reading]
            taken = take(read, kind, self.plan.positions[reading], self.plan.ruleset.instruments)
            self._taken[index, reading] = taken
        return taken, "not looked at"


def _missing(taken: Taken, label: str) -> str:
    """The positions of a reading that nobody has taken, or taken soundly, in words."""
    told = f"{label} at {', '.join(filter(None, taken.missing))}" if any(taken.missing) else label
    if taken.scattered:
        return f"{told} again: repeated readings lie too far apart"
    return told if taken.missing else ""


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
