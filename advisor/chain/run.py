"""Running a compiled program over a world: tell the matcher, see what matches, tell what follows.

Both readings of every condition run in one session: item `i` is told as engine item `2 i` for what is
certain and `2 i + 1` for what is possible. What the matcher cannot see is worked out here between one
`tell` and the next: facts about related items, counts, and absences, which are judged level by level when
everything that could conclude the concern is done.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from advisor.chain.compile import Both, Fact, Lowered, Program, presence
from advisor.chain.evidence import extent_of, may_be, reader
from advisor.chain.network import Matcher
from advisor.chain.strata import suspected
from advisor.chain.world import World
from advisor.sheets.conditions import Absent, HasConcern, Leaf, Related

UsedFact: TypeAlias = tuple[Leaf | Absent, int]
"""A leaf that holds, and the item it holds of."""

Firings: TypeAlias = Mapping[tuple[int, int, bool], frozenset[UsedFact]]
"""By (rule, item, certain): the facts that the firing used. With False: the rule may fire."""

ANYWHERE = "anywhere"
"""The relation of an item to every other item of a kind."""


def run(program: Program, world: World, matcher: Matcher) -> Firings:
    """Every firing of `program` over `world`, in both readings.

    Raises what the matcher raises when a case is larger than it can hold.
    """
    session = matcher.start()
    try:
        board = _Board(program, world)
        board.tell_evidence()
        for level in range(len(program.absents)):
            while board.pending:
                facts, board.pending = board.pending, []
                for match in session.tell(facts):
                    board.conclude(match.production, match.item)
            board.judge_absences(level)
        while board.pending:
            facts, board.pending = board.pending, []
            for match in session.tell(facts):
                board.conclude(match.production, match.item)
        return board.firings()
    finally:
        session.close()


_NEVER = 1 << 60
"""More linked items than there can be."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """How many linked items must hold, and whether those that may not be linked count too."""

    number: int
    unsure_count: bool


class _Board:
    """What has been told and concluded so far in one run."""

    def __init__(self, program: Program, world: World) -> None:
        self._program = program
        self._world = world
        self._by_kind: dict[str, list[int]] = defaultdict(list)
        for index, item in enumerate(world.items):
            self._by_kind[item.kind].append(index)
        self.pending: list[tuple[str, int]] = []
        self._told: set[tuple[str, int]] = set()
        self._concluded: set[tuple[str, int]] = set()
        """Concerns, by name and engine item."""
        self._counted: dict[tuple[str, int], int] = defaultdict(int)
        """How far each related fact has got, by its name and engine item."""
        self._parts: dict[tuple[str, int], int] = defaultdict(int)
        """How far each count has got."""
        self._fired: list[tuple[int, int]] = []
        self._watching: dict[tuple[str, str], list[Fact]] = defaultdict(list)
        """Related facts that look at a concern, by the kind and concern looked at."""
        for fact in program.related:
            assert isinstance(fact.leaf, Related)  # the compiler's own sorting
            if isinstance(fact.leaf.leaf, HasConcern):
                self._watching[fact.leaf.kind, fact.leaf.leaf.concern].append(fact)
        self._asked_for: set[tuple[str, int]] = set()
        """Findings wanted on suspicion for which a rule asks, by name and engine item."""
        self._held_back: dict[tuple[str, int], list[Fact]] = defaultdict(list)
        """What such findings would say if asked for, by name and engine item."""
        self._askers: dict[tuple[str, str], dict[int, list[int]]] = {}
        self._numbers: dict[tuple[str, str, int], tuple[int, int]] = {}
        """How many items each is or may be linked to, and how many surely, by relation, kind and asker."""

    def tell_evidence(self) -> None:
        """Tell what is known, in both readings, of each item and of the items it is linked to."""
        for kind, indices in self._by_kind.items():
            if kind in self._program.present:
                for index in indices:
                    self._tell(presence(kind), 2 * index)
                    self._tell(presence(kind), 2 * index + 1)
            for fact in self._program.facts.get(kind, ()):
                self._read(fact, fact.leaf, kind)
        for fact in self._program.related:
            related = fact.leaf
            assert isinstance(related, Related)
            if not isinstance(related.leaf, HasConcern):
                self._read(fact, related.leaf, related.kind)

    def _read(self, fact: Fact, leaf: Leaf | Related | Absent, kind: str) -> None:
        """Tell what a leaf of `fact` says of each item of `kind`, or hold it back until it is asked for."""
        read = reader(leaf, self._world)
        finding = suspected(kind, leaf, self._program.on_suspicion)
        for index in self._by_kind[kind]:
            unseen = finding is not None and self._unseen(finding, index)
            for reading, holds in enumerate(read(self._world.items[index])):
                if holds and unseen:
                    assert finding is not None
                    self._held_back[finding, 2 * index + reading].append(fact)
                elif holds:
                    self._say(fact, index, reading)

    def _unseen(self, finding: str, index: int) -> bool:
        """Whether it is open what a finding on an item is."""
        return extent_of(self._world.items[index], finding, self._world).state is not None

    def _say(self, fact: Fact, index: int, reading: int) -> None:
        """A fact about evidence holds of an item: of that itself, or for all that are linked to it."""
        if isinstance(fact.leaf, Related):
            self._credit(fact, index, reading)
        else:
            self._tell(fact.name, 2 * index + reading)

    def conclude(self, production: int, engine_item: int) -> None:
        """Take note of a match: tell the helper fact it derives, or what the rule concludes."""
        helper = self._program.helper_of[production]
        if helper is not None:
            self._tell(helper, engine_item)
            return
        rule = self._program.rule_of[production]
        assert rule is not None
        self._fired.append((rule, engine_item))
        kind, concerns = self._program.rules[rule]
        for concern in concerns:
            if (concern, engine_item) in self._concluded:
                continue
            self._concluded.add((concern, engine_item))
            fact = self._program.concern_facts.get((kind, concern))
            if fact is not None:
                self._tell(fact.name, engine_item)
            for watcher in self._watching.get((kind, concern), ()):
                self._credit(watcher, engine_item >> 1, engine_item & 1)
        for finding in self._program.wants[rule]:
            self._asked_for.add((finding, engine_item))
            for fact in self._held_back.pop((finding, engine_item), ()):
                self._say(fact, engine_item >> 1, engine_item & 1)

    def judge_absences(self, level: int) -> None:
        """Tell each absence of this level: certain where the concern is not possible, and conversely."""
        for fact in self._program.absents[level]:
            assert isinstance(fact.leaf, Absent)
            for index in self._by_kind[fact.kind]:
                for reading in (0, 1):
                    if not self._holds(fact.leaf.of, fact.kind, index, 1 - reading):
                        self._tell(fact.name, 2 * index + reading)

    def firings(self) -> Firings:
        """Every firing with the facts that it used."""
        return {
            (rule, engine_item >> 1, not engine_item & 1): frozenset(
                self._used(self._program.lowered[rule], engine_item)
            )
            for rule, engine_item in self._fired
        }

    def _tell(self, name: str, engine_item: int) -> None:
        if (name, engine_item) in self._told:
            return
        self._told.add((name, engine_item))
        self.pending.append((name, engine_item))
        for count in self._program.counts.get(name, ()):
            self._parts[count.name, engine_item] += 1
            if self._parts[count.name, engine_item] == count.number:
                self._tell(count.name, engine_item)

    def _credit(self, fact: Fact, linked: int, reading: int) -> None:
        """The inner leaf of a related fact holds of `linked`: count it for everything linked to that."""
        related = fact.leaf
        assert isinstance(related, Related)
        unsure = self._world.unsure.get(related.relation)
        for asker in self._linked_to(related.relation, fact.kind, linked):
            wanted = self._wanted(related, asker, reading)
            if unsure and (asker, linked) in unsure and not wanted.unsure_count:
                continue
            engine_item = 2 * asker + reading
            self._counted[fact.name, engine_item] += 1
            if self._counted[fact.name, engine_item] == wanted.number:
                self._tell(fact.name, engine_item)

    def _wanted(self, related: Related, asker: int, reading: int) -> _Wanted:
        """How many linked items must hold for a related leaf to hold of `asker`, and which links count."""
        possible = reading == 1
        if related.number is not None:
            return _Wanted(related.number, unsure_count=possible)
        key = (related.relation, related.kind, asker)
        numbers = self._numbers.get(key)
        if numbers is None:
            linked = self._linked(related, asker)
            unsure = self._world.unsure.get(related.relation, frozenset())
            numbers = len(linked), sum((asker, other) not in unsure for other in linked)
            self._numbers[key] = numbers
        both, sure = numbers
        if not possible:
            # It is certain of every one only if those hold too that may not be linked at all.
            return _Wanted(both if sure else _NEVER, unsure_count=True)
        return _Wanted(sure, unsure_count=False) if sure else _Wanted(1, unsure_count=True)

    def _linked(self, related: Related, asker: int) -> list[int]:
        """The items of the related kind that `asker` is linked to, or may be."""
        if related.relation == ANYWHERE:
            return [index for index in self._by_kind[related.kind] if index != asker]
        linked = dict.fromkeys(self._world.links.get(related.relation, {}).get(asker, ()))
        return [index for index in linked if self._world.items[index].kind == related.kind]

    def _linked_to(self, relation: str, kind: str, linked: int) -> list[int]:
        """The items of `kind` that are linked to `linked` by `relation`."""
        if relation == ANYWHERE:
            return [index for index in self._by_kind[kind] if index != linked]
        askers = self._askers.get((relation, kind))
        if askers is None:
            askers = self._askers[relation, kind] = defaultdict(list)
            for asker, others in self._world.links.get(relation, {}).items():
                if self._world.items[asker].kind == kind:
                    for other in dict.fromkeys(others):
                        askers[other].append(asker)
        return askers.get(linked, [])

    def _holds(self, of: HasConcern | Related, kind: str, index: int, reading: int) -> bool:
        """Whether a concern has been concluded, of this item or of enough of the related ones."""
        if isinstance(of, HasConcern):
            return (of.concern, 2 * index + reading) in self._concluded
        assert isinstance(of.leaf, HasConcern)
        wanted = self._wanted(of, index, reading)
        unsure = self._world.unsure.get(of.relation, frozenset())
        holding = sum(
            (of.leaf.concern, 2 * each + reading) in self._concluded
            for each in self._linked(of, index)
            if wanted.unsure_count or (index, each) not in unsure
        )
        return holding >= wanted.number

    def _used(self, tree: Lowered, engine_item: int) -> list[UsedFact]:
        """The leaves that hold, in every branch that holds."""
        if isinstance(tree, bool):
            return []
        if isinstance(tree, Fact):
            return self._used_leaf(tree, engine_item)
        return [
            used
            for part in tree.parts
            if isinstance(tree, Both) or self._true(part, engine_item)
            for used in self._used(part, engine_item)
        ]

    def _used_leaf(self, fact: Fact, engine_item: int) -> list[UsedFact]:
        leaf = fact.leaf
        if not isinstance(leaf, Related):
            return [(leaf, engine_item >> 1)]
        asker, reading = engine_item >> 1, engine_item & 1
        linked = self._linked(leaf, asker)
        if leaf.number is not None and not reading:
            unsure = self._world.unsure.get(leaf.relation, frozenset())
            linked = [other for other in linked if (asker, other) not in unsure]
        return [
            (leaf.leaf, other)
            for other in linked
            if (
                (leaf.leaf.concern, 2 * other + reading) in self._concluded
                if isinstance(leaf.leaf, HasConcern)
                else self._evident(leaf.leaf, leaf.kind, other, reading)
            )
        ]

    def _evident(self, leaf: Leaf, kind: str, index: int, reading: int) -> bool:
        """Whether a leaf about evidence holds of an item, given what was asked for."""
        finding = suspected(kind, leaf, self._program.on_suspicion)
        held_back = finding is not None and self._unseen(finding, index)
        if held_back and (finding, 2 * index + reading) not in self._asked_for:
            return False
        return may_be(leaf, self._world.items[index], self._world)[reading]

    def _true(self, tree: Lowered, engine_item: int) -> bool:
        """Whether a lowered condition holds, by what has been told."""
        if isinstance(tree, bool):
            return tree
        if isinstance(tree, Fact):
            return (tree.name, engine_item) in self._told
        holding = sum(self._true(part, engine_item) for part in tree.parts)
        return holding == len(tree.parts) if isinstance(tree, Both) else holding >= tree.number
