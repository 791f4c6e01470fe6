"""Why a rule did not fire on an item: what of its condition is not certain there, and what was found.

A concern that is lacking is followed to the rule that came nearest to concluding it, so that the last line
told is something that somebody saw, measured, or left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from advisor.authoring.examples import leaf_words
from advisor.chain.evidence import may_be
from advisor.chain.run import ANYWHERE
from advisor.pipeline import Workings
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Leaf,
    Origin,
    PlaceUnknown,
    Related,
    Stands,
)
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet

_DEEPEST: Final = 4
"""Concerns followed one behind the other."""

_LOOKED_AT: Final = 40
"""Items of another kind that are compared to find the one on which a rule came nearest to firing."""


@dataclass(frozen=True, slots=True)
class Lack:
    """A part of a condition that is not certain: what was wanted, what was found, where that is written."""

    item: str
    wanted: str
    found: str
    at: str = ""
    depth: int = 0
    """How many concerns lie between it and the rule that was asked about."""

    def __str__(self) -> str:
        where = f" ({self.at})" if self.at else ""
        return f"wanted {self.wanted}, found {self.found}{where}"


@dataclass(frozen=True, slots=True)
class Unmet:
    """Why one rule did not fire on one item."""

    rule: str
    item: str
    may_fire: bool
    lacks: tuple[Lack, ...]


class Asker:
    """Asks the workings of one decision why rules did not fire."""

    def __init__(self, rules: RuleSet, workings: Workings) -> None:
        self._rules = rules
        self._w = workings
        self._numbers = {rule.id: number for number, rule in enumerate(rules.rules)}

    def rule(self, rule_id: str) -> RuleText:
        """The rule of that id. Raises `KeyError`."""
        return self._rules.rules[self._numbers[rule_id]]

    def fired(self, rule_id: str, item: int, *, certain: bool = True) -> bool:
        """Whether a rule fires on an item for certain, or at least may."""
        return (self._numbers[rule_id], item, certain) in self._w.firings

    def name(self, item: int) -> str:
        """An item as it is written in a case."""
        key = self._w.bench.items[item].key
        return " ".join(filter(None, (key.kind, key.where, key.tag)))

    def unmet(self, rule_id: str, item: int) -> Unmet:
        """Why the rule did not fire for certain on an item of its kind."""
        lacks = tuple(self._lacks(self.rule(rule_id).condition, item, 0))
        return Unmet(rule_id, self.name(item), self.fired(rule_id, item, certain=False), lacks)

    def nearest(self, rule_id: str) -> Unmet | None:
        """The same on the item on which it came nearest; None where there is none of its kind."""
        kind = self.rule(rule_id).for_
        items = [index for index, each in enumerate(self._w.bench.items) if each.key.kind == kind]
        told = [self.unmet(rule_id, item) for item in items[:_LOOKED_AT]]
        return min(told, key=lambda each: (not each.may_fire, len(each.lacks)), default=None)

    def _lacks(self, condition: Condition, item: int, depth: int) -> Iterator[Lack]:
        """What is not certain of a condition on an item, down to its leaves."""
        if isinstance(condition, All):
            for part in condition.parts:
                yield from self._lacks(part, item, depth)
        elif isinstance(condition, Any):
            lacking = [list(self._lacks(part, item, depth)) for part in condition.parts]
            if sum(not each for each in lacking) < condition.number:
                for each in lacking:
                    yield from each
        elif not self._certain(condition, item):
            yield from self._lack(condition, item, depth)

    def _certain(self, leaf: Leaf | Related | Absent, item: int) -> bool:
        return self._reading(leaf, item)[0]

    def _reading(self, leaf: Leaf | Related | Absent, item: int) -> tuple[bool, bool]:
        """Whether a leaf is certain of an item, and whether it is possible."""
        match leaf:
            case HasConcern(concern):
                return self._concluded(concern, item, True), self._concluded(concern, item, False)
            case LayoutIs(key, value):
                holds = self._w.world.layout.get(key) == value
                return holds, holds
            case Absent(of):
                certain, possible = self._reading(of, item)
                return not possible, not certain
            case Related(_, _, number, inner):
                linked, sure = self._linked(leaf, item)
                certain_of = [each for each in linked if self._reading(inner, each)[0]]
                possible_of = [each for each in linked if self._reading(inner, each)[1]]
                if number is not None:
                    return len(set(certain_of) & sure) >= number, len(possible_of) >= number
                return (
                    bool(sure) and len(certain_of) == len(linked),
                    bool(possible_of) and sure <= set(possible_of),
                )
        return may_be(leaf, self._w.world.items[item], self._w.world)

    def _concluded(self, concern: str, item: int, certain: bool) -> bool:
        return any(
            (number, item, certain) in self._w.firings and concern in rule.then.concern
            for number, rule in enumerate(self._rules.rules)
        )

    def _linked(self, related: Related, item: int) -> tuple[list[int], set[int]]:
        """The items a related condition looks at, and those of them that are surely linked."""
        world = self._w.world
        if related.relation == ANYWHERE:
            here = [i for i, each in enumerate(world.items) if each.kind == related.kind and i != item]
            return here, set(here)
        linked = dict.fromkeys(world.links.get(related.relation, {}).get(item, ()))
        here = [each for each in linked if world.items[each].kind == related.kind]
        unsure = world.unsure.get(related.relation, frozenset())
        return here, {each for each in here if (item, each) not in unsure}

    def _lack(self, leaf: Leaf | Related | Absent, item: int, depth: int) -> Iterator[Lack]:
        name, wanted = self.name(item), leaf_words(leaf)
        match leaf:
            case HasConcern(concern):
                yield from self._no_concern(concern, item, wanted, depth)
            case Absent(of):
                how = "it is there" if self._reading(of, item)[0] else "it may be there"
                yield Lack(name, wanted, how, depth=depth)
            case Related():
                yield from self._no_related(leaf, item, wanted, depth)
            case _:
                found, at = self._found(leaf, item)
                yield Lack(name, wanted, found, at, depth)

    def _no_concern(self, concern: str, item: int, wanted: str, depth: int) -> Iterator[Lack]:
        """That a concern was not concluded, and what kept the rule from it that came nearest."""
        kind = self._w.bench.items[item].key.kind
        concluding = [r for r in self._rules.rules if r.for_ == kind and concern in r.then.concern]
        named = ", ".join(rule.id for rule in concluding) or "no rule at all"
        yield Lack(self.name(item), wanted, f"none; it is concluded by {named}", depth=depth)
        if depth < _DEEPEST:
            below = [list(self._lacks(rule.condition, item, depth + 1)) for rule in concluding]
            yield from min(below, key=len, default=[])

    def _no_related(self, leaf: Related, item: int, wanted: str, depth: int) -> Iterator[Lack]:
        linked, sure = self._linked(leaf, item)
        if not linked:
            yield Lack(self.name(item), wanted, f"no {leaf.kind} that it is linked to", depth=depth)
            return
        holding = [each for each in linked if self._reading(leaf.leaf, each)[0]]
        found = f"{len(holding)} of {len(linked)}"
        if len(sure) < len(linked):
            found += f", and {len(linked) - len(sure)} of them only may belong to it"
        yield Lack(self.name(item), wanted, found, depth=depth)
        others = [each for each in linked if each not in holding][:_LOOKED_AT]
        if others and depth < _DEEPEST:
            told = [list(self._lack(leaf.leaf, each, depth + 1)) for each in others]
            # Of several, the one about which something was written down is the one that was meant.
            yield from min(told, key=lambda lacks: (not any(lack.at for lack in lacks), len(lacks)))

    def _found(self, leaf: Leaf, item: int) -> tuple[str, str]:
        """What is known in place of what a leaf wants, and where the case says so."""
        teller = self._w.teller
        key = self._w.bench.items[item].key
        match leaf:
            case Found(finding):
                seen = self._w.bench.items[item].findings.get(finding)
                if seen is None:
                    return "nothing: it was not looked at", ""
                at = str(seen.at) if seen.at is not None else ""
                return (seen.extent or seen.state or "nothing"), at
            case Stands():
                line = teller.line(leaf, item, certain=True)
                read = self._w.bench.items[item].readings
                return line.says, next((str(each.at) for each in read.values() if each.at), "")
            case HasProperty(name, _):
                given = self._w.world.items[item].properties.get(name)
                return given or "nothing: the engine sheet does not say", ""
            case PlaceUnknown():
                return f"its place is known: {key.where or 'there is only one'}", ""
            case Origin():
                return key.origin, ""
            case EvidenceIs(name, _, _):
                line = teller.evidence(name, item, certain=True)
                return line.says, line.at
            case LayoutIs(name, _):
                return self._w.world.layout.get(name, "nothing"), ""
            case HasConcern(concern):
                return f"no {concern}", ""
