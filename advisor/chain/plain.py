"""The plain evaluator: what a rule set says of a case, written down from the definition of the language.

It is held against docs/rule-language.md, "What a condition means", and shares nothing with the compiler
that it checks. A condition means a set of items, those of which it holds; so `all` is an intersection,
`any` a union and `absent` a complement. Every set is there twice, as certain and as possible.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from typing import TypeAlias, assert_never

from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import (
    OUTCOMES,
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
    State,
)

Fact: TypeAlias = tuple[Leaf | Absent, int]
"""A leaf that holds, or a concern that is absent, and the item it is about."""

Firings: TypeAlias = Mapping[tuple[int, int, bool], frozenset[Fact]]
"""By rule, item and whether it is certain: the facts used. What is certain is there as possible as well."""

Items: TypeAlias = frozenset[int]

_Evidence: TypeAlias = Found | Stands | HasProperty | PlaceUnknown | Origin | EvidenceIs | LayoutIs
"""The leaves that are read off the case."""

_COMPOUND = (All, Any, HasConcern, Related, Absent)
"""The conditions that hang on others: a concern hangs on those of the rules that conclude it."""

_NONE: Items = frozenset()
_NO_FACTS: frozenset[Fact] = frozenset()
_NOT_LOOKED_AT: State = "not looked at"
_NO_STANDING = Standing(frozenset(OUTCOMES), _NOT_LOOKED_AT)


@dataclass(frozen=True, slots=True)
class PlainRule:
    """What the evaluator needs of a rule; `kind` is the kind of item it is tried on."""

    kind: str
    condition: Condition
    concerns: tuple[str, ...]
    wants: tuple[str, ...] = ()
    """The findings that it asks for as evidence."""


@dataclass(frozen=True, slots=True)
class _Node:
    """A condition asked of the items of one kind.

    `parts` are the nodes it hangs on: its own parts, the leaf of a related condition, what is absent, for
    a concern the conditions of the rules that conclude it for this kind, and for a finding that is wanted
    on suspicion the conditions of the rules that ask for it.
    """

    kind: str
    condition: Condition
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PreparedRules:
    """A rule set made ready by `prepare`; holds nothing of any case."""

    nodes: tuple[_Node, ...]
    """Each condition after its parts, and equal conditions on one kind once."""
    roots: tuple[int, ...]
    """By rule: the node of its condition."""
    steady: tuple[int, ...]
    """The nodes that hang on no rule, in the order of `nodes`."""
    moving: tuple[int, ...]
    """The other nodes; those that a node hangs on come before it as far as circles allow."""
    revised: tuple[int, ...]
    """The moving nodes that hang on an absence, however indirectly, in the same order."""
    denied: tuple[int, ...]
    """The nodes whose absence is asked for."""
    hanging: tuple[tuple[int, ...], ...]
    """By node: the nodes that hang on it within one reading."""


@dataclass(frozen=True, slots=True)
class _Case:
    """What an evaluation reads of a world, and which items are linked."""

    world: World
    kinds: Mapping[str, Items]
    links: dict[tuple[str, str, str], dict[int, Items]] = field(default_factory=dict)
    sure_links: dict[tuple[str, str, str], dict[int, Items]] = field(default_factory=dict)

    def seen(self, kind: str, finding: str) -> Items:
        """The items of `kind` on which somebody looked for the finding and could tell."""
        items = self.kinds.get(kind, _NONE)
        return frozenset(
            item for item in items if _state(self.world.items[item], finding, "", self.world) is None
        )

    def linked(self, kind: str, relation: str, other: str) -> dict[int, Items]:
        """By item of `kind`: the items of kind `other` to which the relation links it, or may."""
        found = self.links.get((kind, relation, other))
        if found is None:
            items, others = self.kinds.get(kind, _NONE), self.kinds.get(other, _NONE)
            if relation == "anywhere":
                found = {item: others - {item} for item in items}
            else:
                links = self.world.links.get(relation, {})
                found = {item: others.intersection(links.get(item, ())) for item in items}
            self.links[kind, relation, other] = found
        return found

    def surely_linked(self, kind: str, relation: str, other: str) -> dict[int, Items]:
        """The same without the items to which the relation only may link it."""
        found = self.sure_links.get((kind, relation, other))
        if found is None:
            found = self.linked(kind, relation, other)
            unsure = self.world.unsure.get(relation) if relation != "anywhere" else None
            if unsure:
                found = {
                    item: frozenset(there for there in linked if (item, there) not in unsure)
                    for item, linked in found.items()
                }
            self.sure_links[kind, relation, other] = found
        return found


def prepare(rules: Sequence[PlainRule], on_suspicion: Set[tuple[str, str]] = frozenset()) -> PreparedRules:
    """Break the conditions of a rule set down into nodes, once for all cases.

    `on_suspicion` holds, as (kind, finding), the findings that count only where they were seen or a rule asks
    for them.

    A condition may be nested a few hundred levels deep (`RecursionError` beyond); chains of rules may have
    any length.
    """
    numbers: dict[tuple[str, Condition], int] = {}
    nodes: list[_Node] = []
    moves: list[bool] = []

    def suspected(kind: str, condition: Condition) -> str | None:
        """The finding that a condition reads, if that is wanted on suspicion."""
        if isinstance(condition, Found) and (kind, condition.finding) in on_suspicion:
            return condition.finding
        if isinstance(condition, EvidenceIs) and (kind, condition.name) in on_suspicion:
            return condition.name
        return None

    def number(kind: str, condition: Condition) -> int:
        known = numbers.get((kind, condition))
        if known is not None:
            return known
        match condition:
            case All(parts) | Any(parts):
                below = tuple(number(kind, part) for part in parts)
            case Related():
                below = (number(condition.kind, condition.leaf),)
            case Absent(of):
                below = (number(kind, of),)
            case _:
                below = ()
        nodes.append(_Node(kind, condition, below))
        hangs_on_rules = isinstance(condition, HasConcern) or suspected(kind, condition) is not None
        moves.append(hangs_on_rules or any(moves[part] for part in below))
        numbers[kind, condition] = len(nodes) - 1
        return len(nodes) - 1

    roots = tuple(number(rule.kind, rule.condition) for rule in rules)
    concluding: dict[tuple[str, str], dict[int, None]] = {}
    for rule, root in zip(rules, roots, strict=True):
        for concern in rule.concerns:
            concluding.setdefault((rule.kind, concern), {})[root] = None
    asking: dict[tuple[str, str], dict[int, None]] = {}
    for rule, root in zip(rules, roots, strict=True):
        for finding in rule.wants:
            asking.setdefault((rule.kind, finding), {})[root] = None
    for index, node in enumerate(nodes):
        if isinstance(node.condition, HasConcern):
            parts = tuple(concluding.get((node.kind, node.condition.concern), ()))
            nodes[index] = _Node(node.kind, node.condition, parts)
        elif (wanted := suspected(node.kind, node.condition)) is not None:
            nodes[index] = _Node(node.kind, node.condition, tuple(asking.get((node.kind, wanted), ())))
    absences = [index for index, node in enumerate(nodes) if isinstance(node.condition, Absent)]
    hanging: list[list[int]] = [[] for _ in nodes]
    for index, node in enumerate(nodes):
        for part in node.parts if not isinstance(node.condition, Absent) else ():
            hanging[part].append(index)
    revised = _above(absences, hanging)
    moving = [index for index in _parts_first(nodes) if moves[index]]
    return PreparedRules(
        nodes=tuple(nodes),
        roots=roots,
        steady=tuple(index for index, moved in enumerate(moves) if not moved),
        moving=tuple(moving),
        revised=tuple(index for index in moving if index in revised),
        denied=tuple({nodes[index].parts[0]: None for index in absences}),
        hanging=tuple(map(tuple, hanging)),
    )


def _above(start: Sequence[int], hanging: Sequence[Sequence[int]]) -> set[int]:
    """The nodes given and all that hang on them, however indirectly."""
    found, todo = set(start), list(start)
    while todo:
        more = set(hanging[todo.pop()]) - found
        found |= more
        todo.extend(more)
    return found


def _parts_first(nodes: Sequence[_Node]) -> Iterator[int]:
    """Every node, after those it hangs on unless they hang on it.

    Chains of rules may be longer than Python's stack is deep, so the walk keeps a stack of its own.
    """
    seen: set[int] = set()
    for start in range(len(nodes)):
        stack = [(start, iter(nodes[start].parts))] if start not in seen else []
        seen.add(start)
        while stack:
            index, parts = stack[-1]
            part = next((part for part in parts if part not in seen), None)
            if part is None:
                stack.pop()
                yield index
            else:
                seen.add(part)
                stack.append((part, iter(nodes[part].parts)))


def evaluate(prepared: PreparedRules, world: World) -> Firings:
    """Every firing of the rules on the items of `world`, with the facts it uses.

    Raises `KeyError` for a finding that has no scale and `ValueError` for an extent that is not on its
    scale. The concerns are the least ones that agree with the rules; absence is settled by the alternating
    fixpoint, which needs no order among the rules: the certain concerns are worked out with absences judged
    by the possible ones and the other way about, until both stand still. (A. Van Gelder, "The alternating
    fixpoint of logic programs with negation", Journal of Computer and System Sciences 47, 1993; cited from
    memory.) Where no concern hangs on its own absence this is the meaning that the language defines.
    """
    kinds: dict[str, set[int]] = {}
    for index, item in enumerate(world.items):
        kinds.setdefault(item.kind, set()).add(index)
    case = _Case(world, {kind: frozenset(items) for kind, items in kinds.items()})
    possible = [_NONE] * len(prepared.nodes)
    certain = [_NONE] * len(prepared.nodes)
    for index in prepared.steady:
        node = prepared.nodes[index]
        if isinstance(node.condition, _COMPOUND):
            possible[index] = _compound(node, case, False, possible, certain)
            certain[index] = _compound(node, case, True, certain, possible)
        else:
            possible[index], certain[index] = _evidence(
                node.condition, world, case.kinds.get(node.kind, _NONE)
            )
    unsettled = prepared.moving
    while unsettled:
        before = [(possible[index], certain[index]) for index in prepared.denied]
        _settle(prepared, unsettled, case, False, possible, certain)
        _settle(prepared, unsettled, case, True, certain, possible)
        still = before == [(possible[index], certain[index]) for index in prepared.denied]
        unsettled = () if still else prepared.revised
    facts: dict[tuple[int, int], frozenset[Fact]] = {}
    return _firings(prepared, case, possible, False, facts) | _firings(prepared, case, certain, True, facts)


def _settle(
    prepared: PreparedRules,
    indexes: Sequence[int],
    case: _Case,
    as_certain: bool,
    reading: list[Items],
    other: Sequence[Items],
) -> None:
    """Work out the nodes of these indexes in one reading, from nothing, with the other reading as it is."""
    for index in indexes:
        reading[index] = _NONE
    stale = set(indexes)
    while stale:
        for index in indexes:
            if index in stale:
                stale.remove(index)
                found = _compound(prepared.nodes[index], case, as_certain, reading, other)
                if found != reading[index]:
                    reading[index] = found
                    stale.update(prepared.hanging[index])


def _compound(
    node: _Node, case: _Case, as_certain: bool, reading: Sequence[Items], other: Sequence[Items]
) -> Items:
    """The items of the node's kind of which its condition holds in one reading, given its parts in both."""
    items = case.kinds.get(node.kind, _NONE)
    match node.condition:
        case All():
            return items.intersection(*[reading[part] for part in node.parts])
        case Any(number=1) | HasConcern():
            return _NONE.union(*[reading[part] for part in node.parts])
        case Any(number=number):
            times = Counter(item for part in node.parts for item in reading[part])
            return frozenset(item for item in items if times[item] >= number)
        case Related(relation, kind, number):
            there = reading[node.parts[0]]
            linked = case.linked(node.kind, relation, kind)
            surely = case.surely_linked(node.kind, relation, kind)
            if number is not None:
                counted = surely if as_certain else linked
                return frozenset(item for item in items if len(counted[item] & there) >= number)
            if as_certain:
                return frozenset(item for item in items if surely[item] and linked[item] <= there)
            return frozenset(
                item for item in items if surely[item] <= there and not there.isdisjoint(linked[item])
            )
        case Absent():
            return items - other[node.parts[0]]
        case Found() | EvidenceIs():
            name = node.condition.finding if isinstance(node.condition, Found) else node.condition.name
            seen = case.seen(node.kind, name)
            asked_for = _NONE.union(*[reading[part] for part in node.parts])
            possible, certain = _evidence(node.condition, case.world, items)
            return (certain if as_certain else possible) & (seen | asked_for)
        case _:
            raise TypeError(f"hangs on nothing: {node.condition}")


def _evidence(leaf: _Evidence, world: World, items: Items) -> tuple[Items, Items]:
    """The items of a kind of which the leaf is possible, and those of which it is certain."""
    here = [(index, world.items[index]) for index in items]
    match leaf:
        case Found(finding, lowest, highest):
            scale = world.scales[finding]
            low = scale.index(lowest)
            high = len(scale) - 1 if highest is None else scale.index(highest)
            whole = Extent(0, len(scale) - 1, _NOT_LOOKED_AT)
            extents = [(index, item.findings.get(finding, whole)) for index, item in here]
            possible = [
                index for index, e in extents if low <= high and low <= e.highest and e.lowest <= high
            ]
            certain = [index for index, e in extents if low <= e.lowest and e.highest <= high]
        case Stands(dimension, purpose, outcomes):
            key = (dimension, purpose)
            standings = [(index, item.standings.get(key, _NO_STANDING).outcomes) for index, item in here]
            possible = [index for index, standing in standings if standing & outcomes]
            certain = [index for index, standing in standings if standing <= outcomes]
        case HasProperty(name, value):
            values = [(index, item.properties.get(name)) for index, item in here]
            possible = [index for index, known in values if known is None or known == value]
            certain = [index for index, known in values if known == value]
        case EvidenceIs(name, purpose, state):
            states = [(index, _state(item, name, purpose, world)) for index, item in here]
            open_ends = (state, _NOT_LOOKED_AT, "not opened")
            possible = [index for index, missing in states if missing in open_ends]
            certain = [index for index, missing in states if missing == state != _NOT_LOOKED_AT]
        case PlaceUnknown():
            possible = certain = [index for index, item in here if item.place_unknown]
        case Origin(origin):
            possible = certain = [index for index, item in here if item.origin == origin]
        case LayoutIs(name, value):
            possible = certain = list(items) if world.layout.get(name) == value else []
        case _:
            assert_never(leaf)
    return frozenset(possible), frozenset(certain)


def _state(item: Item, name: str, purpose: str, world: World) -> State | None:
    """In which way evidence is missing: of a finding if the name has a scale, of a dimension otherwise."""
    known = item.findings.get(name) if name in world.scales else item.standings.get((name, purpose))
    return _NOT_LOOKED_AT if known is None else known.state


def _firings(
    prepared: PreparedRules,
    case: _Case,
    reading: Sequence[Items],
    certain: bool,
    known: dict[tuple[int, int], frozenset[Fact]],
) -> dict[tuple[int, int, bool], frozenset[Fact]]:
    """Every rule on every item of which its condition holds in this reading.

    `known` keeps the facts of single leaves, by node and item, from one reading to the next.
    """
    nodes = prepared.nodes

    def used(index: int, item: int) -> frozenset[Fact]:
        """The leaves that hold, in every branch that holds, of a condition that holds of the item."""
        facts = known.get((index, item))
        if facts is not None:
            return facts
        node = nodes[index]
        condition = node.condition
        if isinstance(condition, (All, Any)):
            return _NO_FACTS.union(*[used(part, item) for part in node.parts if item in reading[part]])
        if isinstance(condition, Related):
            leaf = node.parts[0]
            # An item that only may be linked makes `at least n` no more certain, but `every` less so.
            counted = case.surely_linked if certain and condition.number is not None else case.linked
            linked = counted(node.kind, condition.relation, condition.kind)[item]
            return _NO_FACTS.union(*[used(leaf, there) for there in linked & reading[leaf]])
        facts = _NO_FACTS if isinstance(condition, LayoutIs) else frozenset(((condition, item),))
        known[index, item] = facts
        return facts

    return {
        (rule, item, certain): used(root, item)
        for rule, root in enumerate(prepared.roots)
        for item in reading[root]
    }
