"""From rules to a network of plain conjunctions, and the notes that `run` needs to feed it.

The engine sees facts that are a name about one item, and nothing else. Everything in the language that is
not a conjunction is taken out here: layout is folded away, alternatives and counts become helper facts,
related items and absences become facts of the item itself that `run` tells when they are due.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Protocol, TypeAlias

from advisor.chain.network import MAX_PATTERNS, Network, Production
from advisor.chain.strata import Edge, Node, edges_of, levels
from advisor.sheets.conditions import Absent, All, Any, Condition, HasConcern, LayoutIs, Leaf, Related


class RuleLike(Protocol):
    """What the compiler needs of a rule."""

    @property
    def kind(self) -> str:
        """The kind of part that the rule is for."""
        ...

    @property
    def condition(self) -> Condition:
        """The rule's condition."""
        ...

    @property
    def concerns(self) -> tuple[str, ...]:
        """The concerns that it concludes."""
        ...

    @property
    def wants(self) -> tuple[str, ...]:
        """The findings that it asks for as evidence."""
        ...


@dataclass(frozen=True, slots=True)
class Fact:
    """A leaf as the engine sees it: the name of a fact about an item of `kind`."""

    name: str
    kind: str
    leaf: Leaf | Related | Absent


@dataclass(frozen=True, slots=True)
class Count:
    """`name` is told of an item once `number` of `parts` are told of it."""

    name: str
    parts: tuple[str, ...]
    number: int


@dataclass(frozen=True, slots=True)
class Both:
    """A lowered condition: every part."""

    parts: tuple[Lowered, ...]


@dataclass(frozen=True, slots=True)
class Either:
    """A lowered condition: at least `number` of the parts."""

    parts: tuple[Lowered, ...]
    number: int


Lowered: TypeAlias = Fact | Both | Either | bool
"""A condition of one kind with its layout folded: what a firing used is read off it."""


@dataclass(frozen=True, slots=True)
class Program:
    """Rules made ready to run, for one layout."""

    network: Network
    rule_of: tuple[int | None, ...]
    """By production: the rule that it fires, or None."""
    helper_of: tuple[str | None, ...]
    """By production: the helper fact that it derives, or None."""
    rules: tuple[tuple[str, tuple[str, ...]], ...]
    """By rule: its kind and the concerns that it concludes."""
    wants: tuple[tuple[str, ...], ...]
    """By rule: the findings wanted on suspicion that it asks for."""
    on_suspicion: frozenset[tuple[str, str]]
    """By kind and name: the findings that count only where they were seen or a rule asks for them."""
    lowered: tuple[Lowered, ...]
    """By rule: its condition, for reading off what a firing used."""
    present: frozenset[str]
    """Kinds with a rule that always fires; `presence(kind)` is told of each of their items."""
    facts: Mapping[str, tuple[Fact, ...]]
    """By kind: facts about the item's own evidence."""
    concern_facts: Mapping[Node, Fact]
    """By kind and concern: the fact told when that concern is concluded."""
    related: tuple[Fact, ...]
    """Facts about related items; each leaf is a `Related`."""
    counts: Mapping[str, tuple[Count, ...]]
    """By part: the counts that it counts towards."""
    absents: tuple[tuple[Fact, ...], ...]
    """By level: the absences to judge when everything up to that level is concluded."""


def presence(kind: str) -> str:
    """The fact that an item of this kind lies on the bench."""
    return f"{kind}|"


def compile_rules(
    rules: Sequence[RuleLike],
    layout: Mapping[str, str],
    on_suspicion: Set[tuple[str, str]] = frozenset(),
) -> Program:
    """Compile `rules` for an engine laid out as `layout`.

    `on_suspicion` holds, as (kind, finding), the findings that count only where they were seen or a rule asks
    for them. Raises `advisor.chain.strata.CycleThroughAbsence`; the engine's own limits are checked by the
    matcher.
    """
    edges: list[Edge] = []
    for number, rule in enumerate(rules):
        edges += edges_of(number, rule.kind, rule.condition, rule.concerns, rule.wants, on_suspicion)
    return _Compiler(layout, levels(edges)).program(rules, frozenset(on_suspicion))


class _Compiler:
    """The tables that grow while rules are lowered one after another."""

    def __init__(self, layout: Mapping[str, str], level: Mapping[Node, int]) -> None:
        self._layout = layout
        self._level = level
        self._facts: dict[tuple[str, Leaf | Related | Absent], Fact] = {}
        self._helpers: dict[tuple[str, Lowered], str] = {}
        self._counts: list[Count] = []
        self._productions: list[Production] = []
        self._rule_of: list[int | None] = []
        self._helper_of: list[str | None] = []

    def program(self, rules: Sequence[RuleLike], on_suspicion: frozenset[tuple[str, str]]) -> Program:
        lowered = [self._lower(rule.kind, rule.condition) for rule in rules]
        present = set()
        for number, (rule, tree) in enumerate(zip(rules, lowered, strict=True)):
            names = self._conjunction(rule.kind, tree)
            if names is None:
                continue
            if not names:
                names = (presence(rule.kind),)
                present.add(rule.kind)
            self._add(f"rule {number}", rule.kind, names, rule=number)
        facts: dict[str, list[Fact]] = {}
        concern_facts: dict[Node, Fact] = {}
        related: list[Fact] = []
        absents: list[list[Fact]] = [[] for _ in range(max(self._level.values(), default=0) + 1)]
        for fact in self._facts.values():
            match fact.leaf:
                case HasConcern(concern):
                    concern_facts[fact.kind, concern] = fact
                case Related():
                    related.append(fact)
                case Absent(of):
                    absents[self._level.get(_node(fact.kind, of), 0)].append(fact)
                case _:
                    facts.setdefault(fact.kind, []).append(fact)
        counts: dict[str, list[Count]] = {}
        for count in self._counts:
            for part in count.parts:
                counts.setdefault(part, []).append(count)
        return Program(
            network=Network(tuple(self._productions)),
            rule_of=tuple(self._rule_of),
            helper_of=tuple(self._helper_of),
            rules=tuple((rule.kind, tuple(rule.concerns)) for rule in rules),
            wants=tuple(
                tuple(name for name in rule.wants if (rule.kind, name) in on_suspicion) for rule in rules
            ),
            on_suspicion=on_suspicion,
            lowered=tuple(lowered),
            present=frozenset(present),
            facts={kind: tuple(each) for kind, each in facts.items()},
            concern_facts=concern_facts,
            related=tuple(related),
            counts={part: tuple(each) for part, each in counts.items()},
            absents=tuple(tuple(each) for each in absents),
        )

    def _lower(self, kind: str, condition: Condition) -> Lowered:
        match condition:
            case All(parts):
                return Both(tuple(self._lower(kind, part) for part in parts))
            case Any(parts, number):
                return Either(tuple(self._lower(kind, part) for part in parts), number)
            case LayoutIs(key, value):
                return self._layout.get(key) == value
        fact = self._facts.get((kind, condition))
        if fact is None:
            fact = Fact(f"{kind}|{len(self._facts)} {condition!r}"[:400], kind, condition)
            self._facts[kind, condition] = fact
        return fact

    def _conjunction(self, kind: str, tree: Lowered) -> tuple[str, ...] | None:
        """Facts that hold together exactly when `tree` does; None where it never can."""
        if isinstance(tree, bool):
            return () if tree else None
        if isinstance(tree, Fact):
            return (tree.name,)
        if isinstance(tree, Both):
            names: dict[str, None] = {}
            for part in tree.parts:
                inner = self._conjunction(kind, part)
                if inner is None:
                    return None
                names.update(dict.fromkeys(inner))
            return tuple(names)
        return self._alternatives(kind, tree)

    def _alternatives(self, kind: str, tree: Either) -> tuple[str, ...] | None:
        branches = [self._conjunction(kind, part) for part in tree.parts]
        wanted = tree.number - sum(branch == () for branch in branches)
        open_branches = [branch for branch in branches if branch]
        if wanted <= 0:
            return ()
        if wanted > len(open_branches):
            return None
        if wanted == len(open_branches):
            return tuple(dict.fromkeys(name for branch in open_branches for name in branch))
        helper = self._helpers.get((kind, tree))
        if helper is None:
            helper = self._helpers[kind, tree] = f"{kind}|either {len(self._helpers)}"
            if wanted == 1:
                for branch in dict.fromkeys(open_branches):
                    self._add(f"{helper} by {len(self._productions)}", kind, branch, helper=helper)
            else:
                parts = []
                for number, branch in enumerate(open_branches):
                    # Two branches that are the same fact still count as two, so each has a name of its own.
                    part = f"{helper} part {number}"
                    self._add(part, kind, branch, helper=part)
                    parts.append(part)
                self._counts.append(Count(helper, tuple(parts), wanted))
        return (helper,)

    def _add(
        self,
        key: str,
        kind: str,
        names: tuple[str, ...],
        *,
        rule: int | None = None,
        helper: str | None = None,
    ) -> None:
        """Add a production, cutting a conjunction that is too long for the engine into helpers first."""
        while len(names) > MAX_PATTERNS:
            shorter = []
            for start in range(0, len(names), MAX_PATTERNS):
                chunk = names[start : start + MAX_PATTERNS]
                if len(chunk) == 1:
                    shorter.append(chunk[0])
                    continue
                part = f"{kind}|together {len(self._productions)}"
                self._add(part, kind, chunk, helper=part)
                shorter.append(part)
            names = tuple(shorter)
        self._productions.append(Production(key, names))
        self._rule_of.append(rule)
        self._helper_of.append(helper)


def _node(kind: str, of: HasConcern | Related) -> Node:
    """The concern whose absence is meant."""
    if isinstance(of, HasConcern):
        return kind, of.concern
    assert isinstance(of.leaf, HasConcern)  # held by the rule models
    return of.kind, of.leaf.concern
