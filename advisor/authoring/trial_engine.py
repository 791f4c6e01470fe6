"""A small engine for made-up cases: the parts that a rule can look at, cut out of an engine sheet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any, Final

from advisor.sheets.conditions import Absent, Condition, HasConcern, Leaf, Related, leaves
from advisor.sheets.digest import dump
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.units import DIMENSIONS

ON_AXIS: Final = 3
"""Places that are left on each numbered axis: one to look at, one beside it, and one that is neither."""

_LEFT_OUT: Final = ("price", "number", "note", "quantity")

WEAR: Final = ("below_size", "above_size", "short_of_new")
"""Operators that reckon from the size of a new part."""

_SIZE: Final = "40"
"""A made-up size of a new part: in the middle of what common instruments measure."""

MADE_UP: Final = "made up for these cases"


def inner(asked: Leaf | Related | Absent, kind: str) -> tuple[str, Leaf]:
    """The plain leaf inside a condition, and the kind of part that it is asked of."""
    if isinstance(asked, Absent):
        return inner(asked.of, kind)
    return (asked.kind, asked.leaf) if isinstance(asked, Related) else (kind, asked)


def asked_concerns(condition: Condition, kind: str) -> Iterator[tuple[str, str]]:
    """The concerns that a condition looks at, each with the kind of part that it is about."""
    for each in leaves(condition):
        other, leaf = inner(each, kind)
        if isinstance(leaf, HasConcern):
            yield other, leaf.concern


def kinds_behind(ruleset: RuleSet, kind: str, conditions: Collection[Condition]) -> list[str]:
    """The kinds of part on which it hangs whether conditions hold of a part, in the order of the vocabulary.

    With every kind come those that its dimensions are measured against, and whatever may conclude a concern
    that is asked for.
    """
    concluding: dict[tuple[str, str], list[Condition]] = {}
    for rule in ruleset.rules:
        for name in rule.then.concern:
            concluding.setdefault((rule.for_, name), []).append(rule.condition)
    measured: dict[str, set[str]] = {}
    for dimension in ruleset.vocabulary.dimensions.values():
        for formula in dimension.formulas:
            for source in (formula.outer, formula.inner):
                for other in source.on.values() if source is not None else ():
                    for one in dimension.kinds:
                        measured.setdefault(one, set()).add(other)
    found = {kind}
    told: set[tuple[str, str]] = set()
    todo = [(kind, condition) for condition in conditions]
    while todo:
        at, condition = todo.pop()
        found |= {inner(each, at)[0] for each in leaves(condition)}
        for concern in asked_concerns(condition, at):
            if concern not in told:
                told.add(concern)
                todo += [(concern[0], each) for each in concluding.get(concern, ())]
    for one in list(found):
        found |= measured.get(one, set())
    return [each for each in ruleset.vocabulary.kinds if each in found]


def cut_out(
    sheet: EngineSheet, ruleset: RuleSet, kinds: Collection[str], on_axis: int = ON_AXIS
) -> dict[str, Any]:
    """An engine sheet, as plain data, with these kinds of part alone and few places of each.

    A kind that `sheet` does not have is added, and sizes of a new part that wear is reckoned from are made up
    where it has none.
    """
    vocabulary = ruleset.vocabulary
    data = dump(sheet)
    parts = {
        kind: {key: value for key, value in data["parts"].get(kind, {}).items() if key not in _LEFT_OUT}
        for kind in kinds
    }
    for part in parts.values():
        if "work" in part:
            part["work"] = _without_skims(part["work"])
    for kind in kinds:
        given = parts[kind].get("new", {})
        missing = [name for name in _worn(ruleset, kind) if name not in given]
        if missing:
            units = {name: _unit(vocabulary.readings[name].quantity) for name in missing}
            parts[kind]["new"] = {**given, **{name: f"{_SIZE} {unit}" for name, unit in units.items()}}
    numbered = {name for name, axis in vocabulary.axes.items() if not axis.values}
    wanted = {axis for kind in kinds for axis in vocabulary.kinds[kind].axes if axis in numbered}
    axes = {
        axis: str(min(int(data["axes"].get(axis, on_axis)), on_axis))
        for axis in [*data["axes"], *sorted(wanted - set(data["axes"]))]
    }
    links = [
        {**each, "pairs": pairs}
        for each in data.get("links", ())
        if each["of"] in kinds and each["to"] in kinds
        if (pairs := [pair for pair in each["pairs"] if _there(pair, each, ruleset, axes)])
    ]
    cut = {
        "format": "1",
        "ruleset": data["ruleset"],
        "vocabulary_version": str(ruleset.vocabulary_version),
        "engine": f"a cut of the {sheet.engine}",
        "edition": f"limits of the {sheet.engine}, and others {MADE_UP}",
        "units": sheet.units,
        "layout": data["layout"],
        "axes": axes,
        "parts": parts,
    }
    return {**cut, "links": links} if links else cut


def _without_skims(work: Mapping[str, Any]) -> dict[str, Any]:
    """Work of a part, but for what hangs on the geometry of a whole cylinder."""
    kept = {name: {key: value for key, value in each.items() if key != "skim"} for name, each in work.items()}
    return {name: each for name, each in kept.items() if each}


def _unit(quantity: str) -> str:
    return DIMENSIONS[quantity].offer[0]


def _worn(ruleset: RuleSet, kind: str) -> list[str]:
    """The sizes of a new part from which some wear of this kind is reckoned."""
    vocabulary = ruleset.vocabulary
    found = {
        formula.reading: None
        for dimension in vocabulary.dimensions.values()
        if kind in dimension.kinds
        for formula in dimension.formulas
        if formula.operator in WEAR and formula.reading in vocabulary.kinds[kind].sizes
    }
    return list(found)


def _there(
    pair: Mapping[str, str], link: Mapping[str, Any], ruleset: RuleSet, axes: Mapping[str, str]
) -> bool:
    """Whether both places of a listed pair are left."""

    def left(kind: str, place: str) -> bool:
        words = place.split()
        named = ruleset.vocabulary.kinds[kind].axes
        return len(words) == len(named) and all(
            axis not in axes or (word.isdigit() and int(word) <= int(axes[axis]))
            for axis, word in zip(named, words, strict=True)
        )

    return left(link["of"], pair["of"]) and left(link["to"], pair["to"])
