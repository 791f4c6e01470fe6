"""What an engine sheet alone lays out: the places of its parts, and how the fitted ones belong together.

It is worked out once for a sheet and a rule set and kept, since every case of that engine starts from it.
"""

from __future__ import annotations

import itertools
from collections import OrderedDict, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from advisor.sheets.bench import ItemKey
from advisor.sheets.checker import IN_SET
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import treatments
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Link, Metal

Place: TypeAlias = tuple[str, ...]
Links: TypeAlias = Mapping[str, Mapping[int, tuple[int, ...]]]
Unsure: TypeAlias = Mapping[str, frozenset[tuple[int, int]]]
Sets: TypeAlias = Mapping[str, tuple[tuple[int, ...], ...]]

MATERIAL = "material"
"""The property of a kind that says what it is made of."""

_KEPT = 16
_grounds: OrderedDict[tuple[str, str], Ground] = OrderedDict()


@dataclass(frozen=True)
class Ground:
    """The static part of a bench. Its tables are read only."""

    sheet: EngineSheet
    ruleset: RuleSet

    @cached_property
    def values(self) -> Mapping[str, list[str]]:
        """By axis: the words or numbers on it."""
        return {
            name: axis.values or [str(number) for number in range(1, self.sheet.axes.get(name, 0) + 1)]
            for name, axis in self.ruleset.vocabulary.axes.items()
        }

    @cached_property
    def places(self) -> Mapping[str, list[Place]]:
        """By kind on the sheet: its places, in order."""
        kinds = self.ruleset.vocabulary.kinds
        return {
            kind: list(itertools.product(*(self.values[axis] for axis in kinds[kind].axes)))
            for kind in kinds
            if kind in self.sheet.parts
        }

    @cached_property
    def fitted(self) -> tuple[ItemKey, ...]:
        """Every item that is fitted to this engine, in the order of the vocabulary."""
        return tuple(ItemKey(kind, place) for kind, places in self.places.items() for place in places)

    @cached_property
    def order(self) -> Mapping[str, int]:
        """By kind: where it stands in the vocabulary."""
        return {kind: number for number, kind in enumerate(self.ruleset.vocabulary.kinds)}

    @cached_property
    def findings(self) -> Mapping[str, tuple[str, ...]]:
        """By kind: the findings there are on it."""
        found: dict[str, list[str]] = defaultdict(list)
        for name, finding in self.ruleset.vocabulary.findings.items():
            for kind in finding.kinds:
                found[kind].append(name)
        return {kind: tuple(names) for kind, names in found.items()}

    @cached_property
    def positions(self) -> Mapping[str, list[str]]:
        """By reading: the positions of a full set."""
        return {name: reading.positions() for name, reading in self.ruleset.vocabulary.readings.items()}

    @cached_property
    def properties(self) -> Mapping[str, Mapping[str, str | None]]:
        """By kind on the sheet: what the sheet says it is made of or treated with."""
        kinds = self.ruleset.vocabulary.kinds
        return {kind: treatments(self.sheet.parts[kind], kinds[kind].properties) for kind in self.places}

    def metal(self, kind: str) -> Metal | None:
        """What a kind on the sheet is made of, as far as it is known and its expansion too.

        As the sheet says of it, or of what it is cut from; else as the vocabulary takes it to be.
        """
        vocabulary = self.ruleset.vocabulary
        each = vocabulary.kinds[kind]
        for holder in (kind, each.material_of):
            part = self.sheet.parts.get(holder or "")
            word = None if part is None else part.made.get(MATERIAL)
            if word in vocabulary.materials:
                return vocabulary.materials[word].metal
        return None if each.material is None else vocabulary.materials[each.material].metal

    @cached_property
    def known_places(self) -> dict[tuple[str, str], list[Place]]:
        """Texts for places that were read before, by kind and text."""
        return {}

    @cached_property
    def links(self) -> Links:
        """By relation: the fitted items that each fitted item is linked to."""
        return linked_items(self, [(key, frozenset((key.place or (),))) for key in self.fitted])[0]

    @cached_property
    def sets(self) -> Sets:
        """By set: the fitted items of each."""
        return set_items(self, self.fitted)

    def with_others(self, items: Sequence[tuple[ItemKey, frozenset[Place]]]) -> tuple[Links, Sets, Unsure]:
        """Links and sets of a bench that holds more items than the fitted ones, or fewer, and unsure links.

        Links between fitted items are taken over; only those that touch another item are worked out.
        """
        known = {key: index for index, key in enumerate(self.fitted)}
        moved = {known[key]: index for index, (key, _) in enumerate(items) if key in known}
        links: dict[str, dict[int, tuple[int, ...]]] = {
            name: {
                moved[one]: tuple([moved[other] for other in others if other in moved])
                for one, others in each.items()
                if one in moved
            }
            for name, each in self.links.items()
        }
        special = [index for index, (key, _) in enumerate(items) if key not in known]
        extra, unsure = linked_items(self, items, special)
        for name, each in extra.items():
            kept = links.setdefault(name, {})
            for one, others in each.items():
                kept[one] = tuple(dict.fromkeys((*kept.get(one, ()), *others)))
        return links, set_items(self, [key for key, _ in items]), unsure


def ground_of(sheet: EngineSheet, ruleset: RuleSet) -> Ground:
    """The ground for a sheet and a rule set, from those kept or made anew."""
    key = (sheet.digest, ruleset.digest)
    ground = _grounds.get(key)
    if ground is None:
        ground = Ground(sheet, ruleset)
        _grounds[key] = ground
        while len(_grounds) > _KEPT:
            _grounds.popitem(last=False)
    return ground


def group_of(key: ItemKey) -> tuple[str, str]:
    """Items belong together inside one engine; a second-hand part on the bench is no part of it yet."""
    return key.origin, "" if key.origin == "fitted" else key.tag


def set_items(ground: Ground, keys: Sequence[ItemKey]) -> Sets:
    """By set of the vocabulary: the items of each such set, as indices into `keys`."""
    vocabulary = ground.ruleset.vocabulary
    by_kind: dict[str, list[int]] = defaultdict(list)
    for index, key in enumerate(keys):
        by_kind[key.kind].append(index)
    sets: dict[str, tuple[tuple[int, ...], ...]] = {}
    for name, each in vocabulary.sets.items():
        groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
        for kind in each.kinds:
            axes = vocabulary.kinds[kind].axes
            shared = [axes.index(axis) if axis in axes else None for axis in each.by]
            for index in by_kind.get(kind, ()):
                place = keys[index].place
                at = [place[axis] if place and axis is not None else "" for axis in shared]
                groups[(*at, group_of(keys[index]))].append(index)
        sets[name] = tuple(tuple(group) for group in groups.values())
    return sets


def linked_items(
    ground: Ground, items: Sequence[tuple[ItemKey, frozenset[Place]]], touching: Sequence[int] | None = None
) -> tuple[Links, Unsure]:
    """By relation: what each item is linked to, or may be where its place is not known; and which may only.

    `items` holds the places that each may belong to. With `touching`, only links that have one of these at
    either end are told.
    """
    by_kind: dict[str, list[int]] = defaultdict(list)
    asked: dict[str, list[int]] = defaultdict(list)
    for index, (key, _) in enumerate(items):
        by_kind[key.kind].append(index)
    for index in range(len(items)) if touching is None else touching:
        asked[items[index][0].kind].append(index)
    # Each link with whether it is sure.
    found: dict[str, dict[int, dict[int, bool]]] = defaultdict(lambda: defaultdict(dict))
    for name, relation in ground.ruleset.vocabulary.relations.items():
        for link in relation.links:
            forth = itertools.product(asked.get(link.of, ()), by_kind.get(link.to, ()))
            back = itertools.product(by_kind.get(link.of, ()), asked.get(link.to, ()))
            pairs = _listed(ground, name, link)
            for one, other in itertools.chain(forth, back if touching is not None else ()):
                if one == other or group_of(items[one][0]) != group_of(items[other][0]):
                    continue
                agree = [_agree(ground, a, b, link, pairs) for a in items[one][1] for b in items[other][1]]
                if any(agree):
                    linked = found[name][one]
                    linked[other] = linked.get(other, False) or all(agree)
    for set_name, groups in set_items(ground, [key for key, _ in items]).items():
        each = ground.ruleset.vocabulary.sets[set_name]
        if asked.keys().isdisjoint(each.kinds):
            continue
        for group in groups:
            for one in group:
                found[IN_SET][one].update((other, True) for other in group if other != one)
        if each.by:
            _mixed_in_sets(items, [index for kind in each.kinds for index in by_kind[kind]], found[IN_SET])
    links = {name: {one: tuple(others) for one, others in each.items()} for name, each in found.items()}
    unsure = {
        name: frozenset(
            (one, other) for one, others in each.items() for other, sure in others.items() if not sure
        )
        for name, each in found.items()
    }
    return links, {name: pairs for name, pairs in unsure.items() if pairs}


def _mixed_in_sets(
    items: Sequence[tuple[ItemKey, frozenset[Place]]],
    members: Sequence[int],
    found: dict[int, dict[int, bool]],
) -> None:
    """A part that was mixed up may belong to any of the sets that are told apart by place."""
    mixed = [index for index in members if items[index][0].place is None]
    for one, other in itertools.product(mixed, members):
        if one != other and group_of(items[one][0]) == group_of(items[other][0]):
            found[one][other] = found[other][one] = False


def _agree(
    ground: Ground, one: Place, other: Place, link: Link, pairs: frozenset[tuple[str, str]] | None
) -> bool:
    """Whether a link holds between two places."""
    if pairs is not None:
        return (" ".join(one), " ".join(other)) in pairs
    kinds = ground.ruleset.vocabulary.kinds
    axes, others = kinds[link.of].axes, kinds[link.to].axes
    if any(one[axes.index(axis)] != other[others.index(axis)] for axis in link.by):
        return False
    if link.next_to is None:
        return True
    values = ground.values[link.next_to]
    here = values.index(one[axes.index(link.next_to)])
    return abs(here - values.index(other[others.index(link.next_to)])) == 1


def _listed(ground: Ground, relation: str, link: Link) -> frozenset[tuple[str, str]] | None:
    """The pairs that the engine sheet lists for a link that takes them from there."""
    if not link.listed:
        return None
    return frozenset(
        (pair.of, pair.to)
        for each in ground.sheet.links
        if (each.relation, each.of, each.to) == (relation, link.of, link.to)
        for pair in each.pairs
    )
