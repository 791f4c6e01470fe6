"""Levels of concerns: what looks at the absence of a concern stands above all that can conclude it.

That evidence wanted on suspicion is asked for counts as a concern here: what reads such a finding hangs on
the rules that ask for it. A concern that hangs on its own absence, however indirectly, has no level;
`CycleThroughAbsence` carries the circle so that it can be shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from typing import TypeAlias

from advisor.sheets.conditions import (
    Absent,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    Leaf,
    Related,
    leaves,
)

Node: TypeAlias = tuple[str, str]
"""A concern of a kind of part: (kind, concern)."""

ASKED_FOR = "asked for: "
"""Before the name of a finding: the node of its being asked for. No concern has a name like it."""


@dataclass(frozen=True, slots=True)
class Edge:
    """A rule that concludes `head` looks at `body`; `absent` when it looks for its absence."""

    head: Node
    body: Node
    absent: bool
    rule: int


class CycleThroughAbsence(Exception):
    """`edges` lead from a concern back to itself, and at least one of them is an absence."""

    def __init__(self, edges: tuple[Edge, ...]) -> None:
        self.edges = edges
        path = " -> ".join(f"{edge.head[1]} on {edge.head[0]}" for edge in edges)
        super().__init__(f"{path} -> {edges[0].head[1]} on {edges[0].head[0]}")


def suspected(kind: str, leaf: Leaf | Related | Absent, on_suspicion: Set[tuple[str, str]]) -> str | None:
    """The finding that a leaf about an item of `kind` reads, if it counts only where asked for or seen."""
    match leaf:
        case Found(finding=name) | EvidenceIs(name=name) if (kind, name) in on_suspicion:
            return name
    return None


def edges_of(
    rule: int,
    kind: str,
    condition: Condition,
    concerns: Iterable[str],
    wants: Iterable[str] = (),
    on_suspicion: Set[tuple[str, str]] = frozenset(),
) -> list[Edge]:
    """What each concern of a rule hangs on, and each finding wanted on suspicion that it asks for."""
    bodies: list[tuple[Node, bool]] = []
    for leaf in leaves(condition):
        inner, absent = (leaf.of, True) if isinstance(leaf, Absent) else (leaf, False)
        of, tip = (inner.kind, inner.leaf) if isinstance(inner, Related) else (kind, inner)
        finding = suspected(of, tip, on_suspicion)
        if isinstance(tip, HasConcern):
            bodies.append(((of, tip.concern), absent))
        elif finding is not None:
            bodies.append(((of, ASKED_FOR + finding), absent))
    heads = [*concerns, *(ASKED_FOR + finding for finding in wants if (kind, finding) in on_suspicion)]
    return [Edge((kind, head), body, absent, rule) for head in heads for body, absent in bodies]


def levels(edges: Iterable[Edge]) -> Mapping[Node, int]:
    """The level of every concern that some edge touches, counted from 0.

    Raises `CycleThroughAbsence`.
    """
    outgoing: dict[Node, list[Edge]] = {}
    for edge in edges:
        outgoing.setdefault(edge.head, []).append(edge)
        outgoing.setdefault(edge.body, [])
    component = _components(outgoing)
    for node, out in outgoing.items():
        for edge in out:
            if edge.absent and component[node] == component[edge.body]:
                raise CycleThroughAbsence((edge, *_way_back(edge.body, edge.head, outgoing, component)))
    level: dict[Node, int] = {}
    # Components are numbered so that whatever a concern hangs on comes before it.
    members: dict[int, list[Node]] = {}
    for node, number in component.items():
        members.setdefault(number, []).append(node)
    for number in sorted(members):
        height = 0
        for node in members[number]:
            for edge in outgoing[node]:
                if component[edge.body] != number:
                    height = max(height, level[edge.body] + edge.absent)
        for node in members[number]:
            level[node] = height
    return level


def _components(outgoing: Mapping[Node, list[Edge]]) -> dict[Node, int]:
    """Strongly connected components after Tarjan, without recursion; numbered bodies first."""
    index: dict[Node, int] = {}
    low: dict[Node, int] = {}
    component: dict[Node, int] = {}
    stack: list[Node] = []
    component_sizes: list[int] = []
    for root in outgoing:
        if root in index:
            continue
        work: list[tuple[Node, int]] = [(root, 0)]
        while work:
            node, position = work.pop()
            if position == 0:
                index[node] = low[node] = len(index)
                stack.append(node)
            else:
                low[node] = min(low[node], low[outgoing[node][position - 1].body])
            for position in range(position, len(outgoing[node])):  # noqa: B020
                body = outgoing[node][position].body
                if body not in index:
                    work += [(node, position + 1), (body, 0)]
                    break
                if body not in component:
                    low[node] = min(low[node], index[body])
            else:
                if low[node] == index[node]:
                    number = len(component_sizes)
                    component_sizes.append(0)
                    while True:
                        member = stack.pop()
                        component[member] = number
                        if member == node:
                            break
    return component


def _way_back(
    start: Node, end: Node, outgoing: Mapping[Node, list[Edge]], component: Mapping[Node, int]
) -> tuple[Edge, ...]:
    """The shortest way from `start` to `end` inside their component."""
    if start == end:
        return ()
    reached: dict[Node, Edge] = {}
    frontier = [start]
    while frontier:
        following: list[Node] = []
        for node in frontier:
            for edge in outgoing[node]:
                body = edge.body
                if component[body] != component[start] or body in reached or body == start:
                    continue
                reached[body] = edge
                if body == end:
                    way = []
                    while body != start:
                        way.append(reached[body])
                        body = reached[body].head
                    return tuple(reversed(way))
                following.append(body)
        frontier = following
    return ()
