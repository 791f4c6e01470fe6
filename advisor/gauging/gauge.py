"""Every dimension of every item, with its standing against each limit: all that rules need of numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from advisor.gauging import operators
from advisor.gauging.limits import ResolvedLimit, resolve
from advisor.gauging.measure import Measure, Taken, take
from advisor.gauging.repair import RepairBand, repair_bands
from advisor.gauging.standing import Confidence, standing
from advisor.sheets.bench import Bench, BenchItem
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
    """What is missing to work it out, in words."""


@dataclass(frozen=True, slots=True)
class Gauged:
    """All dimensions of a bench, by item and name, and the repair sizes of its sets."""

    dimensions: tuple[Mapping[str, GaugedDimension], ...]
    bands: tuple[RepairBand, ...]


def gauge(bench: Bench, sheet: EngineSheet, ruleset: RuleSet) -> Gauged:
    """Work out every dimension that the vocabulary knows for every item on the bench."""
    by_kind: dict[str, list[tuple[str, Dimension]]] = {}
    for name, dimension in ruleset.vocabulary.dimensions.items():
        for kind in dimension.kinds:
            by_kind.setdefault(kind, []).append((name, dimension))
    gauger = _Gauger(bench, sheet, ruleset)
    dimensions = tuple(
        {name: gauger.dimension(index, name, dimension) for name, dimension in by_kind.get(item.key.kind, ())}
        for index, item in enumerate(bench.items)
    )
    return Gauged(dimensions, tuple(repair_bands(bench, sheet, ruleset)))


class _Gauger:
    """Limits and readings already looked up, by what they hang on."""

    def __init__(self, bench: Bench, sheet: EngineSheet, ruleset: RuleSet) -> None:
        self._bench = bench
        self._sheet = sheet
        self._ruleset = ruleset
        self._limits: dict[tuple[str, str], dict[Purpose, ResolvedLimit | None]] = {}
        self._taken: dict[tuple[int, str], Taken | None] = {}
        self._confidence: dict[tuple[str, bool], Confidence] = {}

    def dimension(self, index: int, name: str, dimension: Dimension) -> GaugedDimension:
        item = self._bench.items[index]
        measure: Measure | None = None
        state: State | None = None
        lacks = ""
        for formula in dimension.formulas:
            measure, why, missing = self._work_out(index, formula)
            if measure is not None:
                state, lacks = None, missing
                break
            # The first way of working it out says what is missing, unless a later one was tried and failed.
            if state is None or (state == "not looked at" and why != "not looked at"):
                state, lacks = why, missing
        standings = {
            purpose: self._stand(item, measure, state, limit, purpose)
            for purpose, limit in self._limits_of(item.key.kind, name).items()
        }
        return GaugedDimension(measure, state, standings, lacks)

    def _work_out(self, index: int, formula: Formula) -> tuple[Measure | None, State, str]:
        item = self._bench.items[index]
        if formula.reading is None:
            assert formula.outer is not None  # the model holds that one of the two ways is given
            assert formula.inner is not None
            return self._clearance(index, formula)
        taken, state = self._readings(index, formula.reading)
        label = self._ruleset.vocabulary.readings[formula.reading].label
        if taken is None:
            return None, state, label
        kind = self._ruleset.vocabulary.readings[formula.reading]
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
            case "short_of_new":
                new = self._new(item, formula.reading)
                if new is None:
                    return None, "not looked at", f"the new {label} on the engine sheet"
                measure = operators.short_of_new(taken, new)
            case _:
                return self._wear(index, formula, taken, label)
        return measure, state, self._missing(index, formula.reading)

    def _wear(
        self, index: int, formula: Formula, taken: Taken, label: str
    ) -> tuple[Measure | None, State, str]:
        """Distance from the size that the part had: new, or the repair size that it arrived with."""
        assert formula.reading is not None
        item = self._bench.items[index]
        new = self._new(item, formula.reading)
        if new is None:
            return None, "not looked at", f"the new {label} on the engine sheet"
        if item.found_size is None and self._comes_in_repair_sizes(item, formula.reading):
            return None, "not looked at", FOUND_SIZE
        size = new + Fraction(item.found_size or 0)
        operator = operators.below_size if formula.operator == "below_size" else operators.above_size
        return operator(taken, size), "not looked at", self._missing(index, formula.reading)

    def _clearance(self, index: int, formula: Formula) -> tuple[Measure | None, State, str]:
        assert formula.outer is not None
        assert formula.inner is not None
        outer, outer_state, outer_label = self._source(index, formula.outer)
        inner, inner_state, inner_label = self._source(index, formula.inner)
        if outer is None or inner is None:
            lacking = [
                label for taken, label in ((outer, outer_label), (inner, inner_label)) if taken is None
            ]
            return None, inner_state if outer is not None else outer_state, " and ".join(lacking)
        operator = operators.clearance if formula.operator == "clearance" else operators.least_clearance
        return operator(outer, inner), "not looked at", ""

    def _source(self, index: int, source: Source) -> tuple[Taken | None, State, str]:
        label = self._ruleset.vocabulary.readings[source.reading].label
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
            return None, (read.state if read is not None and read.state is not None else "not looked at")
        key = (index, reading)
        if key not in self._taken:
            self._taken[key] = take(
                read, self._ruleset.vocabulary.readings[reading], self._ruleset.instruments
            )
        return self._taken[key], "not looked at"

    def _missing(self, index: int, reading: str) -> str:
        """The positions of a reading that nobody has taken, in words."""
        kind = self._ruleset.vocabulary.readings[reading]
        values = self._bench.items[index].readings[reading].values
        lacking = [position for position in kind.positions() if position not in values]
        return f"{kind.label} at {', '.join(lacking)}" if lacking else ""

    def _new(self, item: BenchItem, size: str) -> Fraction | None:
        quantity = self._sheet.parts[item.key.kind].new.get(size)
        return None if quantity is None else Fraction(quantity.value)

    def _comes_in_repair_sizes(self, item: BenchItem, size: str) -> bool:
        return any(each.size == size for each in self._sheet.parts[item.key.kind].repair_sizes)

    def _limits_of(self, kind: str, dimension: str) -> dict[Purpose, ResolvedLimit | None]:
        key = (kind, dimension)
        if key not in self._limits:
            part = self._sheet.parts[kind]
            self._limits[key] = {
                purpose: resolve(part, kind, dimension, purpose, self._ruleset.limits) for purpose in PURPOSES
            }
        return self._limits[key]

    def _stand(
        self,
        item: BenchItem,
        measure: Measure | None,
        state: State | None,
        limit: ResolvedLimit | None,
        purpose: Purpose,
    ) -> LimitStanding:
        if limit is None:
            return LimitStanding(None, frozenset(OUTCOMES), state or "not looked at")
        if measure is None:
            possible: set[Outcome] = {"inside"}
            if limit.at_most is not None:
                possible.add("above")
            if limit.at_least is not None:
                possible.add("below")
            return LimitStanding(limit, frozenset(possible), state or "not looked at")
        outcomes = standing(measure, limit.at_least, limit.at_most, self._sure(item.key.kind, purpose))
        if not measure.may_grow:
            return LimitStanding(limit, outcomes, None if len(outcomes) == 1 else "in doubt")
        outcomes = _grown(outcomes, measure.may_grow, limit)
        return LimitStanding(limit, outcomes, None if len(outcomes) == 1 else "not looked at")

    def _sure(self, kind: str, purpose: Purpose) -> Confidence:
        vocabulary = self._ruleset.vocabulary
        consequence = vocabulary.kinds[kind].consequence
        guarded = purpose != "discard" or vocabulary.consequences[consequence].guard_discard
        key = (consequence, guarded)
        if key not in self._confidence:
            each = vocabulary.consequences[consequence]
            self._confidence[key] = Confidence(each.inside, each.outside, guarded)
        return self._confidence[key]


def _grown(outcomes: frozenset[Outcome], growth: str, limit: ResolvedLimit) -> frozenset[Outcome]:
    """The outcomes that are possible once readings that are still missing have moved the value on."""
    order: list[Outcome] = ["inside"]
    if limit.at_least is not None:
        order.insert(0, "below")
    if limit.at_most is not None:
        order.append("above")
    if growth == "down":
        order.reverse()
    return frozenset(order[min(order.index(each) for each in outcomes) :])
