"""Modified condition/decision coverage of one rule: which of its conditions were seen to decide it.

The measure is that of ECSS-Q-ST-80C Rev.1: every decision has been seen true and false, and every condition
has been shown to affect the outcome by itself, by varying it while all others are held. Here a decision is
the condition of a rule, tried on one item, and its conditions are the leaves of that tree, each where it
stands. Two cases that differ in nothing but the one condition are a pair by *unique cause*. Where no such
two cases can exist, since conditions hang together, a pair by *masking* serves: in each of its two cases
turning the one condition over, all else as it is, would turn the outcome over. (The term is cited from
memory of NASA/TM-2001-210876, whose text could not be opened.)

A condition is true where it is certain, false where it is not possible, and otherwise unknown. What is
unknown shows nothing: a pair by unique cause has no unknown condition in it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal, TypeAlias

from advisor.sheets.conditions import Absent, All, Any, Condition, Leaf, Related

Truth: TypeAlias = bool | None
"""True, false, or None for unknown."""

Vector: TypeAlias = tuple[Truth, ...]
"""The truth of each condition of a decision, in the order in which they are written."""

Form: TypeAlias = Literal["unique cause", "masking"]


@dataclass(frozen=True, slots=True)
class Gate:
    """At least `number` of `parts` hold; a part is another gate, or the index of a condition."""

    parts: tuple[Node, ...]
    number: int


Node: TypeAlias = Gate | int


@dataclass(frozen=True, slots=True)
class DecisionTree:
    """The condition of a rule: a tree over its conditions."""

    root: Node
    conditions: tuple[Leaf | Related | Absent, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two cases that show a condition to decide: with it true the rule fires, with it false it cannot."""

    true: Vector
    false: Vector
    form: Form


def tree_of(condition: Condition) -> DecisionTree:
    """The tree of a rule's condition; a condition that is written twice counts twice."""
    found: list[Leaf | Related | Absent] = []

    def node(each: Condition) -> Node:
        if isinstance(each, All):
            return Gate(tuple(node(part) for part in each.parts), len(each.parts))
        if isinstance(each, Any):
            return Gate(tuple(node(part) for part in each.parts), each.number)
        found.append(each)
        return len(found) - 1

    root = node(condition)
    return DecisionTree(root, tuple(found))


def outcome(node: Node, vector: Vector) -> Truth:
    """Whether a tree holds; None where that hangs on what is unknown."""
    if isinstance(node, int):
        return vector[node]
    values = [outcome(part, vector) for part in node.parts]
    if values.count(True) >= node.number:
        return True
    return False if len(values) - values.count(False) < node.number else None


def decides(tree: DecisionTree, vector: Vector, index: int) -> bool:
    """Whether turning one condition over, all else as it is, turns the outcome over."""
    with_it, without = (
        outcome(tree.root, (*vector[:index], value, *vector[index + 1 :])) for value in (True, False)
    )
    return with_it is True and without is False


def unique_cause(tree: DecisionTree, vectors: Collection[Vector], index: int) -> Pair | None:
    """Two of `vectors` that are known throughout, differ in one condition only, and in the outcome."""
    known = {vector for vector in vectors if None not in vector}
    for vector in sorted(known, key=repr):
        if not vector[index]:
            continue
        other = (*vector[:index], False, *vector[index + 1 :])
        if other in known and decides(tree, vector, index):
            return Pair(vector, other, "unique cause")
    return None


def masking(tree: DecisionTree, vectors: Collection[Vector], index: int) -> Pair | None:
    """One of `vectors` with the condition true and one with it false, in each of which it decides."""
    deciding = [vector for vector in sorted(vectors, key=repr) if decides(tree, vector, index)]
    with_it = next((vector for vector in deciding if vector[index] is True), None)
    without = next((vector for vector in deciding if vector[index] is False), None)
    return None if with_it is None or without is None else Pair(with_it, without, "masking")


def deciding_surroundings(tree: DecisionTree, index: int) -> Iterator[Vector]:
    """Every full vector, with the condition true, in which it decides.

    They are found on the way from the condition to the root, so their number is that of the answers and not
    that of all vectors.
    """
    for vector in _with(tree, tree.root, index):
        yield tuple(vector[position] for position in range(len(tree.conditions)))


def _with(tree: DecisionTree, node: Node, index: int) -> Iterator[dict[int, bool]]:
    """Truths for the conditions below `node` in which the one at `index` decides `node` and is true."""
    if isinstance(node, int):
        yield {node: True}
        return
    below = next(each for each in node.parts if index in _below(each))
    others = [each for each in node.parts if each is not below]
    for inner in _with(tree, below, index):
        for values in product((False, True), repeat=len(others)):
            # The others must leave it to this one: one short of what is wanted.
            if sum(values) != node.number - 1:
                continue
            ways = [list(_valued(other, value)) for other, value in zip(others, values, strict=True)]
            for chosen in product(*ways):
                merged = dict(inner)
                for each in chosen:
                    merged.update(each)
                yield merged


def _valued(node: Node, value: bool) -> Iterator[dict[int, bool]]:
    """Truths for the conditions below `node` that give it `value`."""
    indices = sorted(_below(node))
    for values in product((False, True), repeat=len(indices)):
        truths = dict(zip(indices, values, strict=True))
        if _plain(node, truths) is value:
            yield truths


def _plain(node: Node, truths: dict[int, bool]) -> bool:
    if isinstance(node, int):
        return truths[node]
    return sum(_plain(part, truths) for part in node.parts) >= node.number


def _below(node: Node) -> frozenset[int]:
    if isinstance(node, int):
        return frozenset((node,))
    return frozenset().union(*(_below(part) for part in node.parts))
