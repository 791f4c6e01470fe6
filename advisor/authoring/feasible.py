"""Which conditions of a rule hang together, so that no two cases can differ in one of them alone.

Conditions that look at the same thing (one finding, one dimension against one limit, one property) share a
variable; every value that it may take is gone through. What a rule concludes, and what different variables
may do to one another, is taken as free: so what is called impossible here is impossible, and what is called
possible may still turn out not to be.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from itertools import combinations_with_replacement, product
from typing import Final, TypeAlias

from advisor.authoring.mcdc import DecisionTree, decides
from advisor.sheets.conditions import (
    OUTCOMES,
    STATES,
    Absent,
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
from advisor.sheets.vocabulary import VocabularyFile

MOST: Final = 1 << 16
"""Combinations gone through for one rule; a rule with more is taken as one whose conditions are free."""

Values: TypeAlias = tuple[bool | None, ...]
Asked: TypeAlias = Leaf | Related | Absent

_ORIGINS: Final = ("fitted", "new", "second-hand", "delivered")


def unique_cause_possible(
    tree: DecisionTree, vocabulary: VocabularyFile, kind: str, index: int
) -> bool | None:
    """Whether two cases may differ in the condition at `index` alone and so in the outcome.

    False is proved; None means that there were more than `MOST` combinations, and nobody knows.
    """
    groups = _groups(tree.conditions, kind)
    joint = [_joint(group, tree.conditions, vocabulary, kind) for group in groups]
    size = 1
    for each in joint:
        size *= max(1, len(each))
    if size > MOST:
        return None
    possible = set()
    for chosen in product(*joint):
        vector: list[bool | None] = [None] * len(tree.conditions)
        for group, values in zip(groups, chosen, strict=True):
            for position, value in zip(group, values, strict=True):
                vector[position] = value
        possible.add(tuple(vector))
    return any(
        vector[index] is True
        and (*vector[:index], False, *vector[index + 1 :]) in possible
        and decides(tree, vector, index)
        for vector in possible
    )


def can_be(tree: DecisionTree, vocabulary: VocabularyFile, kind: str, index: int) -> frozenset[bool]:
    """The truths that the condition at `index` may take at all, by itself."""
    joint = _joint((0,), (tree.conditions[index],), vocabulary, kind)
    return frozenset(value for (value,) in joint if value is not None)


def _groups(conditions: Sequence[Asked], kind: str) -> list[tuple[int, ...]]:
    found: dict[Hashable, list[int]] = {}
    for index, each in enumerate(conditions):
        found.setdefault(_variable(each, kind), []).append(index)
    return [tuple(group) for group in found.values()]


def _variable(asked: Asked, kind: str) -> Hashable:
    """What a condition looks at; conditions with the same may hang together."""
    match asked:
        case Absent(of):
            return _variable(of, kind)
        case Related(relation, other, number, leaf):
            if isinstance(leaf, HasConcern) or number != 1:
                return "related", relation, other, number, leaf
            return "related", relation, other, _variable(leaf, other)
        case Found(name, _, _):
            return "evidence", name, ""
        case EvidenceIs(name, purpose, _):
            return "evidence", name, purpose
        case Stands(name, purpose, _):
            return "evidence", name, purpose
        case HasConcern():
            return "concern", asked.concern
        case HasProperty(name, _):
            return "property", name
        case LayoutIs(key, _):
            return "layout", key
        case _:
            return type(asked).__name__


def _joint(
    group: Sequence[int], conditions: Sequence[Asked], vocabulary: VocabularyFile, kind: str
) -> list[Values]:
    """The truths that the conditions of one group may take together; only where all are known."""
    asked = [conditions[index] for index in group]
    first = asked[0].of if isinstance(asked[0], Absent) else asked[0]
    if isinstance(first, Related):
        if isinstance(first.leaf, HasConcern) or first.number != 1:
            return _signed(asked)
        single = _single([each.leaf for each in asked if isinstance(each, Related)], vocabulary, first.kind)
        found: Iterable[Values] = (
            tuple(_some(column) for column in zip(*rows, strict=True))
            for rows in combinations_with_replacement(single, len(asked))
        )
    elif isinstance(first, HasConcern):
        return _signed(asked)
    else:
        found = _single([each for each in asked if not isinstance(each, Absent | Related)], vocabulary, kind)
    return sorted({values for values in found if None not in values})


def _signed(asked: Sequence[Asked]) -> list[Values]:
    """One thing that is free to be or not to be, asked for as it is and as absent."""
    return [tuple(there != isinstance(each, Absent) for each in asked) for there in (False, True)]


def _some(column: Sequence[bool | None]) -> bool | None:
    return True if True in column else None if None in column else False


def _single(leaves: Sequence[Leaf], vocabulary: VocabularyFile, kind: str) -> list[Values]:
    """The truths of leaves about one variable of one item, for each value of it."""
    match leaves[0]:
        case Found(name, _, _) | Stands(name, _, _) | EvidenceIs(name, _, _):
            settled: list[tuple[State | None, frozenset[str]]]
            whole = list(vocabulary.findings[name].extents) if name in vocabulary.findings else list(OUTCOMES)
            settled = [(None, frozenset((value,))) for value in whole]
            settled += [(state, frozenset(whole)) for state in STATES]
            return [
                tuple(_evidence(leaf, state, values, whole) for leaf in leaves) for state, values in settled
            ]
        case HasProperty(name, _):
            values = vocabulary.kinds[kind].properties.get(name, [])
            return [
                tuple(isinstance(leaf, HasProperty) and leaf.value == value for leaf in leaves)
                for value in values
            ]
        case LayoutIs(key, _):
            return [
                tuple(isinstance(leaf, LayoutIs) and leaf.value == value for leaf in leaves)
                for value in vocabulary.layout[key].values
            ]
        case Origin():
            return [
                tuple(isinstance(leaf, Origin) and leaf.origin == value for leaf in leaves)
                for value in _ORIGINS
            ]
        case PlaceUnknown():
            return [(value,) * len(leaves) for value in (False, True)]
        case _:
            raise TypeError(f"{leaves[0]!r} is not about evidence")


def _evidence(leaf: Leaf, state: State | None, values: frozenset[str], whole: Sequence[str]) -> bool | None:
    if isinstance(leaf, EvidenceIs):
        if leaf.state == state != "not looked at":
            return True
        # What nobody has looked at may still turn out to be missing in any way.
        return None if state in ("not looked at", "not opened") else False
    if isinstance(leaf, Found):
        top = len(whole) - 1 if leaf.highest is None else whole.index(leaf.highest)
        wanted = frozenset(whole[whole.index(leaf.lowest) : top + 1])
    elif isinstance(leaf, Stands):
        wanted = frozenset(leaf.outcomes)
    else:
        raise TypeError(f"{leaf!r} is not about evidence")
    return True if values <= wanted else False if values.isdisjoint(wanted) else None
