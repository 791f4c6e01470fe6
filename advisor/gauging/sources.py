"""What a dimension rests on: the readings behind it, on which items they were taken."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import TypeAlias

from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import OVER_A_SET, Formula
from advisor.units import Quantity

SourceRead: TypeAlias = tuple[tuple[int, ...], str]
"""The items on which a reading is taken, and the reading."""


def sources(bench: Bench, ruleset: RuleSet, index: int, name: str) -> list[SourceRead]:
    """What a dimension was worked out from: the readings of the first formula for which all are there.

    Where several formulas have every position, the readings of all of them: their sizes are combined.
    """
    dimension = ruleset.vocabulary.dimensions[name]
    first: list[SourceRead] = []
    whole: list[SourceRead] = []
    for formula in dimension.formulas:
        found = [
            (tuple(item for item in items if values_of(bench, item, reading)), reading)
            for items, reading in read_by(bench, index, formula)
        ]
        if not found or not all(items for items, _ in found):
            continue
        first = first or found
        if dimension.equal_way(formula) and all(
            _whole(bench, ruleset, item, reading) for items, reading in found for item in items
        ):
            whole += found
    return list(dict.fromkeys(whole)) or first


def _whole(bench: Bench, ruleset: RuleSet, item: int, reading: str) -> bool:
    return bench.items[item].readings[reading].values.keys() >= set(
        ruleset.vocabulary.readings[reading].positions()
    )


def read_by(bench: Bench, index: int, formula: Formula) -> list[SourceRead]:
    """The items and readings that a formula wants; empty where a related item is not there or not one."""
    if formula.reading is not None:
        found: list[SourceRead] = [(_looked_at(bench, index, formula), formula.reading)]
        return [*found, ((index,), formula.over)] if formula.over is not None else found
    found = []
    for source in (formula.outer, formula.inner):
        assert source is not None  # the model holds that both are given
        where = index
        for relation, kind in source.on.items():
            linked = [
                other
                for other in bench.links.get(relation, {}).get(index, ())
                if bench.items[other].key.kind == kind
            ]
            if len(linked) != 1:
                return []
            where = linked[0]
        found.append(((where,), source.reading))
    return found


def _looked_at(bench: Bench, index: int, formula: Formula) -> tuple[int, ...]:
    """The item, or the like items of its set where the formula looks at those together."""
    if formula.operator not in OVER_A_SET:
        return (index,)
    kind = bench.items[index].key.kind
    among: Iterable[int] = range(len(bench.items))
    if formula.among is not None:
        groups = bench.sets.get(formula.among, ())
        among = next((group for group in groups if index in group), (index,))
    return tuple(other for other in among if bench.items[other].key.kind == kind)


def values_of(bench: Bench, item: int, reading: str) -> list[Quantity]:
    """Everything that was read of one kind on one item."""
    read = bench.items[item].readings.get(reading)
    return [] if read is None else [each for values in read.values.values() for each in values]


def without(bench: Bench, readings: Collection[tuple[int, str]]) -> Bench:
    """The bench as if some readings, by item, had not been taken."""
    if not readings:
        return bench
    items = list(bench.items)
    for item, reading in readings:
        read = {**items[item].readings}
        read.pop(reading, None)
        items[item] = replace(items[item], readings=read)
    return replace(bench, items=tuple(items))
