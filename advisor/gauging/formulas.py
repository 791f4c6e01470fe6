"""Formulas worked out on one bench: the readings that each wants, from this item or from others."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Final, NamedTuple

from advisor.gauging import operators
from advisor.gauging.measure import Measure, Taken
from advisor.gauging.readings import believable, take
from advisor.sheets.bench import Bench
from advisor.sheets.conditions import State
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import group_of
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import OVER_A_SET, Formula, Operator, ReadingKind, Source
from advisor.units import show

FOUND_SIZE: Final = "the repair size it arrived with"
"""What is lacking where nobody read the size that a set arrived with."""


class Way(NamedTuple):
    """What a formula came to: a measure, or why there is none, and what is missing in words."""

    measure: Measure | None
    state: State
    lacks: str
    too_much: Measure | None = None
    """More wear than any part survives: no measure to go by, and yet none that lets the part back."""


_PLAIN: Final[Mapping[Operator, Callable[[Taken], Measure | None]]] = {
    "value": operators.largest,
    "largest": operators.largest,
    "smallest": operators.smallest,
    "mean": operators.mean,
    "spread": operators.spread,
}
"""Operators of the readings of one item alone."""

_PLACED: Final[Mapping[Operator, Callable[[Taken, ReadingKind], Measure | None]]] = {
    "out_of_round": operators.out_of_round,
    "taper": operators.taper,
    "mean_taper": operators.mean_taper,
    "flatness": operators.flatness,
    "flatness_least_squares": operators.flatness_least_squares,
}
"""Operators that ask where each position lies."""

_AGAINST_SIZE: Final[Mapping[Operator, Callable[[Taken, Decimal], Measure | None]]] = {
    "below_size": operators.below_size,
    "above_size": operators.above_size,
    "short_of_new": operators.short_of_new,
    "off_new": operators.off_new,
}

_SHARES_OF_NEW: Final[tuple[Operator, ...]] = ("short_of_new", "off_new")
"""Operators that look at the new size whatever repair size the part arrived with."""


class Workings:
    """The formulas of one bench; readings are taken once."""

    def __init__(
        self, bench: Bench, sheet: EngineSheet, ruleset: RuleSet, positions: Mapping[str, list[str]]
    ) -> None:
        self.bench = bench
        self._sheet = sheet
        self._vocabulary = ruleset.vocabulary
        self._instruments = ruleset.instruments
        self._positions = positions
        self._taken: dict[tuple[int, str], Taken] = {}
        self._over_sets: dict[tuple[str, str, tuple[int, ...]], Way] = {}
        self._groups: dict[tuple[str, str], dict[int, tuple[int, ...]]] = {}

    def work_out(self, index: int, formula: Formula, tolerance: Decimal | None = None) -> Way:
        """What a formula comes to on one item; a new part may be off its size by `tolerance`, in mm."""
        if formula.reading is None:
            return self._clearance(index, formula)
        if formula.operator in OVER_A_SET:
            return self._over_a_set(index, formula, formula.reading)
        kind = self._vocabulary.readings[formula.reading]
        taken, state, lacks = self.readings(index, formula.reading)
        if taken is None:
            return Way(None, state, lacks)
        if formula.sections:
            taken = _at(taken, kind, formula.sections)
        operator = formula.operator
        if operator in _AGAINST_SIZE:
            return self._against_size(index, formula, taken, kind.label, tolerance)
        if operator == "per_length":
            return self._per_length(index, formula, taken)
        measure = _PLAIN[operator](taken) if operator in _PLAIN else _PLACED[operator](taken, kind)
        return Way(measure, taken.rest, _missing(taken, measure))

    def readings(self, index: int, reading: str) -> tuple[Taken | None, State, str]:
        """The readings of one kind on an item; or None, why, and what is wanted."""
        item = self.bench.items[index]
        label = self._vocabulary.readings[reading].label
        if not item.opened:
            return None, "not opened", label
        read = item.readings.get(reading)
        if read is None or not read.values:
            state = read.state if read is not None and read.state is not None else "not looked at"
            return None, state, label
        taken = self._taken.get((index, reading))
        if taken is None:
            kind = self._vocabulary.readings[reading]
            taken = take(read, kind, self._positions[reading], self._instruments)
            self._taken[index, reading] = taken
        if taken.wrong:
            return None, "contradictory", f"{label} measured again: {taken.wrong}"
        return taken, "not looked at", ""

    def freshly_worked(self, index: int, formula: Formula) -> bool:
        """Whether a formula reads what work has just made: such a size is held to the limit for new."""
        if formula.reading is None:
            return False
        item = self.bench.items[index]
        read = item.readings.get(formula.reading)
        return read is not None and read.moment == "after machining" and formula.reading in item.worked

    def _against_size(
        self, index: int, formula: Formula, taken: Taken, label: str, tolerance: Decimal | None
    ) -> Way:
        """Distance from the size it had: new, or the repair size that it arrived with or was brought to."""
        assert formula.reading is not None
        item = self.bench.items[index]
        part = self._sheet.parts[item.key.kind]
        quantity = part.new.get(formula.reading)
        if quantity is None:
            return Way(None, "not looked at", f"the new {label} on the engine sheet")
        size = quantity.value
        if formula.operator not in _SHARES_OF_NEW:
            fresh = self.freshly_worked(index, formula)
            had = item.worked[formula.reading] if fresh else item.found_size
            if fresh and had is None:
                return Way(None, "not looked at", "the repair size it was brought to")
            if had is None and any(each.size == formula.reading for each in part.repair_sizes):
                return Way(None, "not looked at", FOUND_SIZE)
            size += had or Decimal(0)
        measure = _AGAINST_SIZE[formula.operator](taken, size)
        if measure is None or formula.operator in _SHARES_OF_NEW:
            return Way(measure, taken.rest, _missing(taken, measure))
        resized = any(each.size == formula.reading for each in part.repair_sizes)
        if believable(measure.value, size, measure.limit_of_error, tolerance, resized=resized):
            return Way(measure, taken.rest, _missing(taken, measure))
        too_much = measure if measure.value > 0 else None
        if resized:
            lacks = f"{label} and {FOUND_SIZE} checked: one of the two cannot be right"
        else:
            named = self._vocabulary.kinds[item.key.kind].label.partition(" (")[0]
            off = show(abs(measure.value), "length", system=self._sheet.units)
            way = "less" if (measure.value > 0) == (formula.operator == "below_size") else "more"
            lacks = f"{label} measured again: {off} {way} than new cannot be right for this {named}"
        return Way(None, "not looked at", lacks, too_much)

    def _per_length(self, index: int, formula: Formula, taken: Taken) -> Way:
        assert formula.over is not None
        over, state, lacks = self.readings(index, formula.over)
        if over is None:
            return Way(None, state, lacks)
        measure = operators.per_length(taken, over)
        return Way(measure, taken.rest, _missing(taken, measure) or _missing(over, measure))

    def _clearance(self, index: int, formula: Formula) -> Way:
        assert formula.outer is not None  # the model holds that one of the two ways is given
        assert formula.inner is not None
        outer, outer_state, outer_lacks = self._source(index, formula.outer)
        inner, inner_state, inner_lacks = self._source(index, formula.inner)
        if outer is None or inner is None:
            lacking = " and ".join(
                lacks for taken, lacks in ((outer, outer_lacks), (inner, inner_lacks)) if taken is None
            )
            return Way(None, inner_state if outer is not None else outer_state, lacking)
        operator = operators.clearance if formula.operator == "clearance" else operators.least_clearance
        measure = operator(outer, inner)
        missing = [_missing(outer, measure), _missing(inner, measure)]
        rests = {each.rest for each in (outer, inner) if each.missing}
        rest: State = rests.pop() if len(rests) == 1 else "not looked at"
        return Way(measure, rest, " and ".join(filter(None, missing)))

    def _source(self, index: int, source: Source) -> tuple[Taken | None, State, str]:
        if not source.on:
            return self.readings(index, source.reading)
        relation, kind = next(iter(source.on.items()))
        linked = [
            other
            for other in self.bench.links.get(relation, {}).get(index, ())
            if self.bench.items[other].key.kind == kind
        ]
        if len(linked) != 1:
            label = self._vocabulary.readings[source.reading].label
            return None, "not looked at", f"the place it belongs to, for its {label}"
        return self.readings(linked[0], source.reading)

    def _over_a_set(self, index: int, formula: Formula, reading: str) -> Way:
        """What several like items come to together; the same for each, but for how short one of them is."""
        group = self._group(index, formula.among)
        if formula.operator != "short_of_best":
            key = (formula.operator, reading, group)
            way = self._over_sets.get(key)
            if way is None:
                way = self._over_sets[key] = self._over_group(formula, reading, group)
            return way
        own, state, lacks = self.readings(index, reading)
        if own is None:
            return Way(None, state, lacks)
        return self._over_group(formula, reading, group, own)

    def _over_group(
        self, formula: Formula, reading: str, group: tuple[int, ...], own: Taken | None = None
    ) -> Way:
        found: list[Taken] = []
        missing: list[str] = []
        states: set[State] = set()
        for other in group:
            taken, why, what = self.readings(other, reading)
            if taken is not None:
                found.append(taken)
            elif why == "contradictory":
                # One that is wrong may be the largest or the smallest: nothing is known of the spread.
                return Way(None, why, f"{what}, on {self._named(other)}")
            else:
                states.add(why)
            if taken is None or taken.missing:
                missing.append(self._named(other))
        whole = not missing
        measure: Measure | None
        if own is not None:
            measure = operators.short_of_best(own, found, whole=whole)
        elif formula.operator == "set_spread":
            measure = operators.set_spread(found, whole=whole)
        else:
            measure = operators.set_spread_share(found, whole=whole)
        label = self._vocabulary.readings[reading].label
        wanted = f"{label} of {', '.join(missing)}" if missing else ""
        if measure is None and not wanted:
            wanted = f"{label} of two items or more"
        state: State = states.pop() if len(states) == 1 else "not looked at"
        return Way(measure, state, wanted)

    def _group(self, index: int, among: str | None) -> tuple[int, ...]:
        """The like items that one is looked at together with, itself among them."""
        kind = self.bench.items[index].key.kind
        groups = self._groups.get((kind, among or ""))
        if groups is None:
            groups = self._groups[kind, among or ""] = {}
            together: dict[tuple[str, str], list[int]] = {}
            for other, item in enumerate(self.bench.items):
                if item.key.kind == kind:
                    together.setdefault(group_of(item.key), []).append(other)
            for each in together.values() if among is None else self.bench.sets.get(among, ()):
                like = tuple(other for other in each if self.bench.items[other].key.kind == kind)
                groups.update(dict.fromkeys(like, like))
        return groups.get(index, (index,))

    def _named(self, index: int) -> str:
        key = self.bench.items[index].key
        label = self._vocabulary.kinds[key.kind].label
        return f"{label} {key.where}".strip()


def _at(taken: Taken, kind: ReadingKind, sections: Sequence[str]) -> Taken:
    """The readings of some sections alone."""
    wanted = {position for section, _, position in kind.cells if section in sections}
    return replace(
        taken,
        values={position: value for position, value in taken.values.items() if position in wanted},
        missing=tuple(position for position in taken.missing if position in wanted),
        unbounded=tuple(position for position in taken.unbounded if position in wanted),
    )


def _missing(taken: Taken, measure: Measure | None) -> str:
    """The positions of a reading that nobody has taken, or could not tell, in words."""
    if taken.missing:
        return f"{taken.whose} at {', '.join(taken.missing)}"
    if taken.unbounded and (measure is None or measure.may_grow):
        at = ", ".join(filter(None, taken.unbounded))
        return f"{taken.whose}{' at ' + at if at else ''}, with a blade that does not go in"
    return ""
