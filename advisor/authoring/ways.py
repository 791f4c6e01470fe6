"""Ways to bring a condition about: what has to be seen, measured or told so that it is true, or is not.

A way is a set of changes on a mild bench. Whether it really does so is never taken on trust: whoever asks
tries it, in order, until one does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, islice, product
from typing import Final

from advisor.authoring.trial import Changes, Spot, Yard, together
from advisor.authoring.trial_points import standing_at
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
    leaves,
)
from advisor.sheets.rules import RuleText

DEPTH: Final = 6
"""Rules that may stand behind one another where a concern has to be brought about."""

EACH: Final = 12
"""Ways that are kept of one condition where several are put together."""

Ways = Iterator[Changes]


class WayFinder:
    """Ways on one yard."""

    def __init__(self, yard: Yard) -> None:
        self._yard = yard
        self._scales = {name: list(each.extents) for name, each in yard.ruleset.vocabulary.findings.items()}
        self._concluding: dict[tuple[str, str], list[RuleText]] = {}
        for rule in yard.ruleset.rules:
            for concern in rule.then.concern:
                self._concluding.setdefault((rule.for_, concern), []).append(rule)
        for rules in self._concluding.values():
            # The plainest first: one that looks at the item itself, and at little.
            rules.sort(key=lambda rule: (_hangs(rule.condition), len(leaves(rule.condition)), rule.id))

    def ways(self, condition: Condition, kind: str, place: str, want: bool, depth: int = DEPTH) -> Ways:
        """Ways in which a condition is `want` of the item of this kind at this place."""
        match condition:
            case All(parts):
                number = len(parts) if want else 1
                yield from self._of(parts, number, kind, place, want, depth)
            case Any(parts, number):
                needed = number if want else len(parts) - number + 1
                yield from self._of(parts, needed, kind, place, want, depth)
            case Absent(of):
                yield from self.ways(of, kind, place, not want, depth)
            case Related():
                yield from self._related(condition, kind, place, want, depth)
            case HasConcern(concern):
                yield from self._concern(concern, kind, place, want, depth)
            case _:
                yield from self._evidence(condition, kind, place, want)

    def _of(
        self, parts: Sequence[Condition], number: int, kind: str, place: str, want: bool, depth: int
    ) -> Ways:
        """Ways in which at least `number` of the parts are `want`."""
        for chosen in combinations(parts, number):
            yield from combined([(part, kind, place) for part in chosen], self, want, depth)

    def _related(self, related: Related, kind: str, place: str, want: bool, depth: int) -> Ways:
        linked = self._yard.linked(kind, place, related.relation, related.kind)
        if want:
            number = len(linked) if related.number is None else related.number
            groups = list(combinations(linked, number)) if 0 < number <= len(linked) else []
        elif related.number is None:
            groups = [(each,) for each in linked]
        else:
            keep = len(linked) - related.number + 1
            groups = [tuple(linked[:keep])] if keep > 0 else [()]
        for group in groups:
            yield from combined([(related.leaf, related.kind, there) for there in group], self, want, depth)

    def _concern(self, concern: str, kind: str, place: str, want: bool, depth: int) -> Ways:
        if depth <= 0:
            return
        rules = self._concluding.get((kind, concern), [])
        if want:
            for rule in rules:
                yield from islice(self.ways(rule.condition, kind, place, True, depth - 1), EACH)
            return
        yield from combined([(rule.condition, kind, place) for rule in rules], self, False, depth - 1)

    def _evidence(self, leaf: Leaf, kind: str, place: str, want: bool) -> Ways:
        match leaf:
            case Found(finding, lowest, highest):
                scale = self._scales[finding]
                top = len(scale) - 1 if highest is None else scale.index(highest)
                inside = range(scale.index(lowest), top + 1)
                for index, extent in enumerate(scale):
                    if (index in inside) is want:
                        yield {} if index == 0 else {Spot("finding", kind, place, finding): extent}
            case Stands(dimension, purpose, outcomes):
                for outcome in OUTCOMES:
                    if (outcome in outcomes) is want:
                        yield from standing_at(self._yard, kind, place, dimension, purpose, outcome)  # type: ignore[arg-type]
            case HasProperty(name, value):
                for each in self._yard.ruleset.vocabulary.kinds[kind].properties.get(name, []):
                    if (each == value) is want:
                        yield {Spot("made", kind, "", name): each}
            case LayoutIs(key, value):
                for each in self._yard.ruleset.vocabulary.layout[key].values:
                    if (each == value) is want:
                        yield {Spot("layout", name=key): each}
            case PlaceUnknown():
                yield {Spot("mixed up", kind, place): "yes"} if want else {}
            case Origin(origin):
                for each in ("fitted", "new", "second-hand", "delivered"):
                    if (each == origin) is want:
                        yield {} if each == "fitted" else {Spot("origin", kind, place): each}
            case EvidenceIs():
                yield from self._missing(leaf, kind, place) if want else iter(({},))
            case _:
                raise TypeError(f"{leaf!r} is not about evidence")

    def _missing(self, leaf: EvidenceIs, kind: str, place: str) -> Ways:
        if leaf.state == "not opened":
            yield {Spot("closed", kind, place): "yes"}
        elif leaf.name in self._scales:
            yield {Spot("finding", kind, place, leaf.name): leaf.state}
        elif leaf.state == "in doubt":
            yield from self._in_doubt(leaf, kind, place)
        else:
            dimension = self._yard.ruleset.vocabulary.dimensions[leaf.name]
            formula = self._yard.mild.first_formula(kind, dimension)
            for of, name in self._yard.mild.sources(kind, formula) if formula is not None else ():
                if of == kind:
                    yield {Spot("unread", kind, place, name): leaf.state}

    def _in_doubt(self, leaf: EvidenceIs, kind: str, place: str) -> Ways:
        from advisor.authoring.trial_points import edges, sized

        for edge in edges(self._yard, kind, leaf.name):
            if edge.purpose == leaf.purpose:
                yield from sized(self._yard, kind, place, leaf.name, edge.size)


def combined(asked: Sequence[tuple[Condition, str, str]], finder: WayFinder, want: bool, depth: int) -> Ways:
    """Every way put together of one way of each condition, of the item of its kind at its place.

    Ways that contradict one another are left out.
    """
    kept = [list(islice(finder.ways(*each, want, depth), EACH)) for each in asked]
    for chosen in product(*kept):
        whole = together(chosen)
        if whole is not None:
            yield whole


def _hangs(condition: Condition) -> bool:
    return any(isinstance(leaf, HasConcern | Related | Absent) for leaf in leaves(condition))
