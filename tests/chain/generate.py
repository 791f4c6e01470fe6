"""Random rule sets and worlds for holding one engine against another.

Everything follows from the `random.Random` that is handed in, so a seed names a case. `cases` makes such
cases for hypothesis. Absence is stratified by construction: each concern has a level, and a rule that
concludes it asks for the absence of lower concerns only, and for the presence of none that is higher. A
finding that is wanted on suspicion has a level too, in the same way.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from hypothesis import strategies as st

from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import (
    OUTCOMES,
    STATES,
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
    Outcome,
    PlaceUnknown,
    Related,
    Stands,
    leaves,
)

SCALE = ("none", "slight", "light", "heavy", "severe")
PURPOSES = ("new", "reassembly", "discard")
ORIGINS = ("fitted", "new", "second-hand", "delivered")
SUSPECTED = ("s0", "s1")
"""The findings that are wanted on suspicion."""
ON_SUSPICION = frozenset((kind, finding) for kind in ("k0", "k1") for finding in SUSPECTED)
"""On other kinds they are as any finding."""
_Key = TypeVar("_Key")
_Value = TypeVar("_Value")
_Outcomes = frozenset[Outcome]

_SETTLED_OUTCOMES: tuple[_Outcomes, ...] = tuple(frozenset((outcome,)) for outcome in OUTCOMES)
_OUTSIDE: _Outcomes = frozenset(("above", "below"))
_ASKED_OUTCOMES: tuple[_Outcomes, ...] = (
    *_SETTLED_OUTCOMES,
    *(_OUTSIDE,) * 3,
    frozenset(("inside", "above")),
)
_OPEN_OUTCOMES: tuple[_Outcomes, ...] = (
    frozenset(OUTCOMES),
    frozenset(("inside", "above")),
    frozenset(("inside", "below")),
    frozenset(("above", "below")),
)


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule as the engines see it."""

    kind: str
    condition: Condition
    concerns: tuple[str, ...]
    wants: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shape:
    """How large a case may be; each pair is the least and the most."""

    rules: tuple[int, int] = (3, 40)
    items: tuple[int, int] = (3, 25)
    depth: int = 4
    """Most levels of nesting, a leaf being one."""


SMALL = Shape(rules=(1, 6), items=(1, 5), depth=3)


@dataclass(frozen=True, slots=True)
class Words:
    """What the rules of a set may speak of."""

    kinds: tuple[str, ...]
    scales: Mapping[str, tuple[str, ...]]
    dimensions: tuple[tuple[str, str], ...]
    """With the purpose of the limit."""
    properties: Mapping[str, tuple[str, ...]]
    relations: tuple[str, ...]
    levels: Mapping[str, int]
    """By concern."""
    homes: Mapping[str, str]
    """By concern: the kind that it is mostly about."""
    layout: Mapping[str, str]
    asked: Mapping[str, int]
    """By finding that is wanted on suspicion: its level."""


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Rules and what they speak of."""

    words: Words
    rules: tuple[Rule, ...]


def words(rng: random.Random) -> Words:
    """A vocabulary of 2-4 kinds, 3-8 findings, up to 6 dimensions against a limit and 3-10 concerns."""
    dimensions = [(f"d{i}", purpose) for i in range(3) for purpose in PURPOSES]
    concerns = [f"c{i}" for i in range(rng.randint(3, 10))]
    level = 0
    levels = {}
    for concern in concerns:
        levels[concern] = level
        level += rng.random() < 0.4
    kinds = tuple(f"k{i}" for i in range(rng.randint(2, 4)))
    return Words(
        kinds=kinds,
        scales={
            name: SCALE[: rng.randint(2, len(SCALE))]
            for name in (*(f"f{i}" for i in range(rng.randint(3, 8))), *SUSPECTED)
        },
        dimensions=tuple(sorted(rng.sample(dimensions, rng.randint(2, 6)))),
        properties={f"p{i}": ("v0", "v1", "v2")[: rng.randint(2, 3)] for i in range(rng.randint(1, 3))},
        relations=tuple(f"r{i}" for i in range(rng.randint(1, 3))),
        levels=levels,
        homes={concern: rng.choice(kinds) for concern in concerns},
        layout={f"l{i}": rng.choice(("yes", "no")) for i in range(2)},
        asked={finding: rng.randint(0, level) for finding in SUSPECTED},
    )


def rule_set(rng: random.Random, shape: Shape = Shape()) -> RuleSet:
    """Rules over a fresh vocabulary; a concern often hangs on the one before it, so that chains are long."""
    vocabulary = words(rng)
    writer = _Writer(rng, vocabulary, shape)
    return RuleSet(vocabulary, tuple(writer.rule() for _ in range(rng.randint(*shape.rules))))


@dataclass(slots=True)
class _Writer:
    rng: random.Random
    words: Words
    shape: Shape
    written: list[Leaf | Related | Absent] = field(default_factory=list)
    """Leaves of the rule at hand, to be repeated now and then."""
    kind: str = ""
    level: int = 0
    evidence: bool = False

    def rule(self) -> Rule:
        rng = self.rng
        names = list(self.words.levels)
        concerns = tuple(rng.sample(names, rng.choices((0, 1, 2), (2.5, 6, 1.5))[0]))
        self.written.clear()
        # Missing evidence may lead to a requirement or a task only, so to no concern.
        self.evidence = not concerns
        top = max(self.words.levels.values()) + 1
        self.level = min((self.words.levels[concern] for concern in concerns), default=top)
        # Seldom where that keeps the rule from looking at what it might look at otherwise.
        wants = tuple(
            name
            for name, level in self.words.asked.items()
            if rng.random() < (0.25 if level >= self.level else 0.02)
        )
        self.level = min((self.level, *(self.words.asked[finding] for finding in wants)))
        first = min((names.index(concern) for concern in concerns), default=len(names))
        first = min(first, sum(level <= self.level for level in self.words.levels.values()))
        at_home = concerns and rng.random() < 0.85
        self.kind = self.words.homes[names[first]] if at_home else rng.choice(self.words.kinds)
        depth = rng.randint(1, self.shape.depth)
        if first and depth > 1 and rng.random() < 0.85:
            before = self.before(names[rng.randrange(max(0, first - 2), first)])
            return Rule(self.kind, All((before, self.condition(depth - 1))), concerns, wants)
        return Rule(self.kind, self.condition(depth), concerns, wants)

    def before(self, concern: str) -> Leaf | Related:
        """Asks for a concern where it is most likely to be."""
        home = self.words.homes[concern]
        if home == self.kind and self.rng.random() < 0.7:
            return HasConcern(concern)
        relation = "anywhere" if self.rng.random() < 0.4 else self.rng.choice(self.words.relations)
        return Related(relation, home, self.rng.choice((1, 1, 1, 2)), HasConcern(concern))

    def condition(self, depth: int) -> Condition:
        rng = self.rng
        if depth <= 1 or rng.random() < 0.15:
            return self.leaf()
        if rng.random() < 0.02:
            return rng.choice((All(()), Any(())))
        parts = tuple(self.condition(depth - 1) for _ in range(rng.choices((1, 2, 3, 4), (1, 5, 3, 1))[0]))
        form = rng.random()
        if form < 0.45:
            return All(parts)
        if form < 0.75:
            return Any(parts)
        return Any(parts, rng.randint(min(2, len(parts)), len(parts)))

    def leaf(self) -> Leaf | Related | Absent:
        rng = self.rng
        if self.written and rng.random() < 0.08:
            return rng.choice(self.written)
        form = rng.random()
        leaf: Leaf | Related | Absent
        if form < 0.26:
            relation, kind = self.link()
            leaf = Related(relation, kind, rng.choices((1, 2, 3, None), (4, 2, 1, 3))[0], self.own(kind))
        elif form < 0.45:
            leaf = self.absent() or self.own(self.kind)
        elif form < 0.49:
            key = rng.choice(tuple(self.words.layout))
            # A rule whose layout does not fit can never fire, so not too many of these.
            leaf = LayoutIs(
                key, self.words.layout[key] if rng.random() < 0.7 else rng.choice(("yes", "no", "other"))
            )
        elif self.evidence and form < 0.64:
            leaf = self.missing()
        else:
            leaf = self.own(self.kind)
        self.written.append(leaf)
        return leaf

    def link(self) -> tuple[str, str]:
        relation = "anywhere" if self.rng.random() < 0.25 else self.rng.choice(self.words.relations)
        return relation, self.rng.choice(self.words.kinds)

    def own(self, kind: str) -> Leaf:
        rng = self.rng
        form = rng.random()
        if form < 0.47 and (concern := self.concern(kind, self.level)):
            return HasConcern(concern)
        if form < 0.75:
            finding = rng.choice(self.findings())
            scale = self.words.scales[finding]
            # Never an empty range: the language refuses one.
            lowest = rng.randrange(len(scale))
            highest = rng.randrange(lowest, len(scale))
            return Found(finding, scale[lowest], None if rng.random() < 0.5 else scale[highest])
        if form < 0.88:
            return Stands(*rng.choice(self.words.dimensions), rng.choice(_ASKED_OUTCOMES))
        if form < 0.94:
            name = rng.choice(tuple(self.words.properties))
            return HasProperty(name, rng.choice(self.words.properties[name]))
        return PlaceUnknown() if rng.random() < 0.5 else Origin(rng.choice(ORIGINS[:2]))

    def findings(self) -> list[str]:
        """The findings that the rule at hand may look at; one wanted on suspicion as often as five others."""
        open_ = [name for name in self.words.scales if name not in SUSPECTED]
        return open_ + [name for name in SUSPECTED if self.words.asked[name] <= self.level] * 5

    def absent(self) -> Absent | None:
        rng = self.rng
        related = rng.random() < 0.4
        relation, kind = self.link() if related else ("", self.kind)
        concern = self.concern(kind, self.level - 1)
        if concern is None:
            return None
        if not related:
            return Absent(HasConcern(concern))
        return Absent(Related(relation, kind, rng.choices((1, 2, 3), (4, 2, 1))[0], HasConcern(concern)))

    def concern(self, kind: str, top: int) -> str | None:
        """A concern of a level up to `top`, mostly one that items of the kind may well have."""
        rng = self.rng
        levels, homes = self.words.levels, self.words.homes
        found = [concern for concern, level in levels.items() if level <= top]
        at_home = [concern for concern in found if homes[concern] == kind]
        if at_home and rng.random() < 0.8:
            return rng.choice(at_home)
        return rng.choice(found) if found else None

    def missing(self) -> EvidenceIs:
        rng = self.rng
        if rng.random() < 0.5:
            return EvidenceIs(rng.choice(self.findings()), "discard", rng.choice(STATES))
        return EvidenceIs(*rng.choice(self.words.dimensions), rng.choice(STATES))


def world(rng: random.Random, words: Words, shape: Shape = Shape()) -> World:
    """Items of the kinds that `words` has; how much is known of them differs much from world to world."""
    count = rng.randint(*shape.items)
    known = rng.choice((0.95, 0.8, 0.5, 0.2))
    links = _links(rng, words, count)
    return World(
        items=tuple(_item(rng, words, known) for _ in range(count)),
        links=links,
        scales=words.scales,
        layout=words.layout,
        unsure=_unsure(rng, links) if rng.random() < 0.4 else {},
    )


def _item(rng: random.Random, words: Words, known: float) -> Item:
    findings = {}
    for finding, scale in words.scales.items():
        extent = _extent(rng, len(scale), known)
        if extent is not None:
            findings[finding] = extent
    standings = {}
    for dimension in words.dimensions:
        standing = _standing(rng, known)
        if standing is not None:
            standings[dimension] = standing
    properties = {
        name: rng.choice(values) if rng.random() < known else None
        for name, values in words.properties.items()
        if rng.random() < 0.9
    }
    return Item(
        kind=rng.choice(words.kinds),
        findings=findings,
        standings=standings,
        properties=properties,
        place_unknown=rng.random() < 0.4,
        origin=rng.choice(ORIGINS[:2] if rng.random() < 0.8 else ORIGINS),
    )


def _extent(rng: random.Random, length: int, known: float) -> Extent | None:
    if rng.random() < known:
        settled = rng.randrange(length)
        return Extent(settled, settled)
    if rng.random() < 0.35:
        return None
    state = rng.choice(STATES)
    if state in ("not looked at", "not opened"):
        return Extent(0, length - 1, state)
    lowest = rng.randrange(length)
    return Extent(lowest, rng.randint(lowest, length - 1), state)


def _standing(rng: random.Random, known: float) -> Standing | None:
    if rng.random() < known:
        return Standing(rng.choice(_SETTLED_OUTCOMES))
    if rng.random() < 0.35:
        return None
    state = rng.choice(STATES)
    if state in ("not looked at", "not opened"):
        return Standing(frozenset(OUTCOMES), state)
    return Standing(rng.choice(_OPEN_OUTCOMES), state)


def _links(rng: random.Random, words: Words, count: int) -> dict[str, dict[int, tuple[int, ...]]]:
    links: dict[str, dict[int, tuple[int, ...]]] = {}
    for relation in words.relations:
        share = rng.choice((0.0, 0.1, 0.25, 0.6))
        targets = {i: tuple(j for j in range(count) if j != i and rng.random() < share) for i in range(count)}
        # An item without links may be left out or have an empty entry; the two mean the same.
        links[relation] = {i: found for i, found in targets.items() if found or rng.random() < 0.5}
    return links


def _unsure(
    rng: random.Random, links: Mapping[str, Mapping[int, tuple[int, ...]]]
) -> dict[str, frozenset[tuple[int, int]]]:
    unsure = {}
    for relation, targets in links.items():
        share = rng.choice((0.0, 0.2, 0.5, 0.5, 1.0))
        pairs = [(i, j) for i, found in targets.items() for j in found]
        unsure[relation] = frozenset(pair for pair in pairs if rng.random() < share)
    # As with links: to be left out and to be empty mean the same.
    return {relation: pairs for relation, pairs in unsure.items() if pairs or rng.random() < 0.5}


@st.composite
def cases(draw: st.DrawFn, shape: Shape = SMALL) -> tuple[RuleSet, World]:
    """A rule set and a world for hypothesis.

    Hypothesis chooses the seed only: choices that it made itself lean to the first of everything, and
    four cases in five fire nothing. `smaller` is there to shrink with.
    """
    rng = draw(st.randoms(use_true_random=True))
    rules = rule_set(rng, shape)
    return rules, world(rng, rules.words, shape)


def shuffled(rng: random.Random, rules: Sequence[Rule], bench: World) -> tuple[list[int], list[int], World]:
    """Another order for the same case.

    Gives the order of the rules and that of the items, each as the old index at each new place, and the
    world with its items, links and mappings in that order.
    """
    order = rng.sample(range(len(bench.items)), len(bench.items))
    place = {old: new for new, old in enumerate(order)}
    items = tuple(
        Item(
            kind=item.kind,
            findings=_mixed(rng, item.findings),
            standings=_mixed(rng, item.standings),
            properties=_mixed(rng, item.properties),
            place_unknown=item.place_unknown,
            origin=item.origin,
        )
        for item in (bench.items[old] for old in order)
    )
    links = {
        relation: _mixed(
            rng,
            {
                place[i]: tuple(rng.sample([place[j] for j in found], len(found)))
                for i, found in targets.items()
            },
        )
        for relation, targets in _mixed(rng, bench.links).items()
    }
    unsure = {
        relation: frozenset((place[i], place[j]) for i, j in pairs)
        for relation, pairs in _mixed(rng, bench.unsure).items()
    }
    moved = World(
        items=items,
        links=links,
        scales=_mixed(rng, bench.scales),
        layout=_mixed(rng, bench.layout),
        unsure=unsure,
    )
    return rng.sample(range(len(rules)), len(rules)), order, moved


def _mixed(rng: random.Random, mapping: Mapping[_Key, _Value]) -> dict[_Key, _Value]:
    return dict(rng.sample(list(mapping.items()), len(mapping)))


SHARES = ("absence", "counting", "relations", "depth >= 3", "missing evidence", "suspicion")


def traits(rules: Sequence[Rule]) -> list[frozenset[str]]:
    """Which of `SHARES` each rule has."""
    depth = chain_depths(rules)
    found = []
    for index, rule in enumerate(rules):
        tips = leaves(rule.condition)
        has = {
            "absence": any(isinstance(leaf, Absent) for leaf in tips),
            "counting": any(node.number > 1 for node in _choices(rule.condition))
            or any((link.number or 0) > 1 for link in _related(tips)),
            "relations": any(True for _ in _related(tips)),
            "depth >= 3": depth[index] >= 3,
            "missing evidence": any(isinstance(leaf, EvidenceIs) for leaf in tips),
            "suspicion": any(
                pair in ON_SUSPICION for leaf in tips for pair in _findings_read(rule.kind, leaf)
            ),
        }
        found.append(frozenset(name for name, holds in has.items() if holds))
    return found


def describe(rules: Sequence[Rule]) -> dict[str, float]:
    """The share of the rules that has each of `SHARES`, from 0 to 1."""
    found = traits(rules)
    return {name: sum(name in each for each in found) / max(1, len(found)) for name in SHARES}


def has_unsure_links(bench: World) -> bool:
    """Whether some link of the world is only possible."""
    return any(bench.unsure.values())


def chain_depths(rules: Sequence[Rule]) -> list[int]:
    """How many rules have to fire one after another before each can, itself counted.

    Every concern that a rule mentions is taken as needed, and the shortest way to it. A rule whose
    concerns hang on each other in a ring, with no way in, has 0.
    """
    asked = [_concerns(rule) for rule in rules]
    concluded = {(rule.kind, concern) for rule in rules for concern in rule.concerns}
    reached = {concern for wanted in asked for concern in wanted} - concluded
    depths = [0] * len(rules)
    for depth in range(1, len(rules) + 1):
        ready = [i for i, wanted in enumerate(asked) if not depths[i] and wanted <= reached]
        if not ready:
            break
        for index in ready:
            depths[index] = depth
        reached |= {(rules[index].kind, concern) for index in ready for concern in rules[index].concerns}
    return depths


def smaller(rules: Sequence[Rule], bench: World) -> Iterator[tuple[list[Rule], World]]:
    """Every case one step simpler: a rule, an item or a link fewer, less known, or a condition less deep.

    A link that is sure counts as simpler than one that is only possible.
    """
    for index in range(len(rules)):
        yield [*rules[:index], *rules[index + 1 :]], bench
    for index in range(len(bench.items)):
        yield list(rules), _without(bench, index)
    for index, rule in enumerate(rules):
        simpler = [replace(rule, condition=condition) for condition in _simpler(rule.condition)]
        simpler += [replace(rule, concerns=(c,)) for c in rule.concerns if len(rule.concerns) > 1]
        if rule.wants:
            simpler.append(replace(rule, wants=()))
        for each in simpler:
            yield [*rules[:index], each, *rules[index + 1 :]], bench
    for index, item in enumerate(bench.items):
        for less in (
            replace(item, findings={}),
            replace(item, standings={}),
            replace(item, properties={}),
        ):
            if less != item:
                items = (*bench.items[:index], less, *bench.items[index + 1 :])
                yield list(rules), replace(bench, items=items)
    for relation, targets in bench.links.items():
        for source, linked in targets.items():
            for target in linked:
                left = tuple(other for other in linked if other != target)
                sure = _made_sure(bench, relation, (source, target))
                yield list(rules), replace(sure, links={**bench.links, relation: {**targets, source: left}})
    for relation, pairs in bench.unsure.items():
        for pair in sorted(pairs):
            yield list(rules), _made_sure(bench, relation, pair)


def _made_sure(bench: World, relation: str, pair: tuple[int, int]) -> World:
    """The world with this link sure, as all are that it does not name as only possible."""
    if pair not in bench.unsure.get(relation, ()):
        return bench
    return replace(bench, unsure={**bench.unsure, relation: bench.unsure[relation] - {pair}})


def _without(bench: World, gone: int) -> World:
    def moved(index: int) -> int:
        return index - (index > gone)

    return replace(
        bench,
        items=bench.items[:gone] + bench.items[gone + 1 :],
        links={
            relation: {
                moved(item): tuple(moved(target) for target in linked if target != gone)
                for item, linked in targets.items()
                if item != gone
            }
            for relation, targets in bench.links.items()
        },
        unsure={
            relation: frozenset((moved(i), moved(j)) for i, j in pairs if gone not in (i, j))
            for relation, pairs in bench.unsure.items()
        },
    )


def _simpler(condition: Condition) -> Iterator[Condition]:
    if not isinstance(condition, All | Any):
        return
    yield from condition.parts
    for index, part in enumerate(condition.parts):
        before, after = condition.parts[:index], condition.parts[index + 1 :]
        if isinstance(condition, All) or len(condition.parts) > condition.number:
            yield replace(condition, parts=before + after)
        for simpler in _simpler(part):
            yield replace(condition, parts=(*before, simpler, *after))


def _findings_read(kind: str, leaf: Leaf | Related | Absent) -> Iterator[tuple[str, str]]:
    """The finding that a leaf looks at, with the kind of item it looks at it on."""
    if isinstance(leaf, Related):
        yield from _findings_read(leaf.kind, leaf.leaf)
    elif isinstance(leaf, Found):
        yield kind, leaf.finding
    elif isinstance(leaf, EvidenceIs):
        yield kind, leaf.name


def _related(tips: Sequence[Leaf | Related | Absent]) -> Iterator[Related]:
    for leaf in tips:
        of = leaf.of if isinstance(leaf, Absent) else leaf
        if isinstance(of, Related):
            yield of


def _choices(condition: Condition) -> Iterator[Any]:
    if isinstance(condition, All | Any):
        if isinstance(condition, Any):
            yield condition
        for part in condition.parts:
            yield from _choices(part)


def _concerns(rule: Rule) -> set[tuple[str, str]]:
    """The concerns that a rule mentions, each with the kind of item it would be about."""
    found = set()
    for leaf in leaves(rule.condition):
        of = leaf.of if isinstance(leaf, Absent) else leaf
        kind, own = (of.kind, of.leaf) if isinstance(of, Related) else (rule.kind, of)
        if isinstance(own, HasConcern):
            found.add((kind, own.concern))
    return found
