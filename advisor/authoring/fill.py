"""Ready cases for what no case has shown yet, on which the conditions of a rule come to what is wanted.

Cases are built on a mild bench and tried before they are handed out; what is not found within the bounds
here is said to be not found, and never to be impossible.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, product
from typing import Final

from advisor.authoring.mcdc import DecisionTree, Vector, decides, deciding_surroundings
from advisor.authoring.traces import Tracer
from advisor.authoring.trial import TAG, Changes, Spot, Yard, together
from advisor.authoring.trial_engine import ON_AXIS, kinds_behind
from advisor.authoring.ways import EACH, WayFinder
from advisor.sheets.conditions import Absent, Related
from advisor.sheets.engine import EngineSheet
from advisor.sheets.rules import RuleText

TRIES: Final = 160
"""Cases that are tried for one wanted vector."""

SURROUNDINGS: Final = 24
"""Ways for the other conditions to stand that are gone through for one condition, the mildest first."""

MOST_SURROUNDINGS: Final = 4_096
"""Ways that are looked through to find the mildest."""


@dataclass(frozen=True, slots=True)
class Ready:
    """A case that shows one condition of a rule, true or not, deciding it."""

    rule: str
    condition: int
    true: bool
    vector: Vector
    part: str
    place: str
    tag: str
    yard: Yard
    changes: Changes


@dataclass(frozen=True, slots=True)
class NotFound:
    """Why there is no case: how many were tried."""

    tried: int


class Filler:
    """Builds cases for the rules of one rule set on cuts of one engine sheet."""

    def __init__(self, tracer: Tracer, sheet: EngineSheet) -> None:
        self._tracer = tracer
        self._ruleset = tracer.ruleset
        self._sheet = sheet
        self._yards: dict[str, tuple[Yard, WayFinder]] = {}
        self.tried = 0

    def yard(self, rule: RuleText) -> tuple[Yard, WayFinder]:
        """The bench for the rules of one kind of part."""
        kind = rule.for_
        if kind not in self._yards:
            own = [number for number, each in enumerate(self._ruleset.rules) if each.for_ == kind]
            kinds = kinds_behind(self._ruleset, kind, [self._ruleset.rules[each].condition for each in own])
            wanted = [
                related.number or 0
                for number in own
                for each in self._tracer.trees[number].conditions
                if isinstance(related := each.of if isinstance(each, Absent) else each, Related)
            ]
            yard = Yard(self._sheet, self._ruleset, kinds, max([ON_AXIS, *(each + 1 for each in wanted)]))
            self._yards[kind] = yard, WayFinder(yard)
        return self._yards[kind]

    def places(self, number: int) -> list[str]:
        """The places that a rule's kind of part has on its bench."""
        rule = self._ruleset.rules[number]
        return self.yard(rule)[0].places(rule.for_)

    def pair(
        self, number: int, index: int, seen: Mapping[Vector, str], *, masking: bool
    ) -> tuple[Ready, ...] | NotFound:
        """The cases that are missing for one condition of a rule, by unique cause or by masking."""
        before = self.tried
        tree = self._tracer.trees[number]
        known = {vector for vector in seen if None not in vector}
        if not masking:
            for with_it in self._surroundings(number, index):
                without = _turned(with_it, index)
                made = [
                    None if wanted in known else self.solve(number, index, wanted)
                    for wanted in (with_it, without)
                ]
                both = zip(made, (with_it, without), strict=True)
                if all(each is not None or wanted in known for each, wanted in both):
                    return tuple(each for each in made if each is not None)
            return NotFound(self.tried - before)
        found = []
        for value in (True, False):
            if any(vector[index] is value and decides(tree, vector, index) for vector in seen):
                continue
            ready = self._any(number, index, value)
            if ready is None:
                return NotFound(self.tried - before)
            found.append(ready)
        return tuple(found)

    def _any(self, number: int, index: int, value: bool) -> Ready | None:
        for with_it in self._surroundings(number, index):
            ready = self.solve(number, index, with_it if value else _turned(with_it, index))
            if ready is not None:
                return ready
        return None

    def _surroundings(self, number: int, index: int) -> list[Vector]:
        """Vectors in which a condition decides, those nearest to the mild bench first."""
        tree = self._tracer.trees[number]
        mild = self._mild(number)
        found = list(islice(deciding_surroundings(tree, index), MOST_SURROUNDINGS))
        found.sort(key=lambda vector: sum(one != other for one, other in zip(vector, mild, strict=True)))
        return found[:SURROUNDINGS]

    def _mild(self, number: int) -> Vector:
        """The conditions of a rule on the bench as it is without changes."""
        rule = self._ruleset.rules[number]
        yard, _ = self.yard(rule)
        nothing = (None,) * len(self._tracer.trees[number].conditions)
        places = yard.places(rule.for_)
        return self._vector(number, places[0], {}) or nothing if places else nothing

    def solve(self, number: int, index: int, wanted: Vector) -> Ready | None:
        """A case on which the conditions of a rule come to exactly `wanted`; None where none was found."""
        rule, tree = self._ruleset.rules[number], self._tracer.trees[number]
        yard, finder = self.yard(rule)
        for place in yard.places(rule.for_)[:1]:
            mild = self._vector(number, place, {})
            if mild is None:
                return None
            for easy in (True, False):
                for changes in islice(_changes(tree, finder, rule.for_, place, wanted, mild, easy), TRIES):
                    if self._vector(number, place, changes) == wanted:
                        return _ready(rule, index, wanted, place, changes, yard)
        return None

    def _vector(self, number: int, place: str, changes: Changes) -> Vector | None:
        """What the conditions of a rule come to on a case; None where there can be no such case."""
        rule = self._ruleset.rules[number]
        yard, _ = self.yard(rule)
        self.tried += 1
        laid = yard.lay(changes)
        item = None if laid is None else yard.item(laid, rule.for_, place, changes)
        if laid is None or item is None:
            return None
        traces = self._tracer.traces(laid.world, number)
        return next((each.vector for each in traces if each.item == item), None)


def _changes(
    tree: DecisionTree,
    finder: WayFinder,
    kind: str,
    place: str,
    wanted: Vector,
    mild: Vector,
    easy: bool,
) -> Iterator[Changes]:
    """Changes that may bring `wanted` about; with `easy` nothing is changed that is right already."""
    ways: list[Sequence[Changes]] = []
    for condition, want, now in zip(tree.conditions, wanted, mild, strict=True):
        assert want is not None  # what is wanted is known throughout
        own = [] if want is now and easy else list(islice(finder.ways(condition, kind, place, want), EACH))
        ways.append([{}, *own] if want is now else own)
    for chosen in product(*ways):
        whole = together(chosen)
        if whole is not None:
            yield whole


def _turned(vector: Vector, index: int) -> Vector:
    return (*vector[:index], not vector[index], *vector[index + 1 :])


def _ready(rule: RuleText, index: int, wanted: Vector, place: str, changes: Changes, yard: Yard) -> Ready:
    origin = changes.get(Spot("origin", rule.for_, place), "fitted")
    mixed_up = Spot("mixed up", rule.for_, place) in changes
    return Ready(
        rule=rule.id,
        condition=index,
        true=wanted[index] is True,
        vector=wanted,
        part=rule.for_,
        place="unknown" if mixed_up else place,
        tag=TAG if mixed_up or origin != "fitted" else "",
        yard=yard,
        changes=changes,
    )
