"""What an engine sheet alone lays out: the places of its parts, and how the fitted ones belong together.

It is worked out once for a sheet and a rule set and kept, since every case of that engine starts from it.
"""

from __future__ import annotations

import itertools
from collections import OrderedDict, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from advisor.sheets.bench import ItemKey
from advisor.sheets.checker import IN_SET
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import treatments
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Link, Metal, PartSet

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
        """By kind on the sheet: its places, in order; all on its axes, unless the sheet lists them."""
        kinds = self.ruleset.vocabulary.kinds
        found: dict[str, list[Place]] = {}
        for kind in kinds:
            if kind not in self.sheet.parts:
                continue
            there = self.sheet.parts[kind].places
            every = itertools.product(*(self.values[axis] for axis in kinds[kind].axes))
            found[kind] = [place for place in every if not there or " ".join(place) in there]
        return found

    @cached_property
    def fitted(self) -> tuple[ItemKey, ...]:
        """Every item that is fitted to this engine, in the order of the vocabulary."""
        return tuple(ItemKey(kind, place) for kind, places in self.places.items() for place in places)

    @cached_property
    def index_of(self) -> Mapping[ItemKey, int]:
        """By fitted item: where it stands among them."""
        return {key: index for index, key in enumerate(self.fitted)}

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
    def partners(self) -> Mapping[tuple[str, int], Mapping[Place, frozenset[Place]]]:
        """By relation and number of its link: for each place, the places that the link holds with."""
        return {
            (name, number): _partners(self, name, link)
            for name, relation in self.ruleset.vocabulary.relations.items()
            for number, link in enumerate(relation.links)
        }

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
        known = self.index_of
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
    for index, (key, _) in enumerate(items):
        by_kind[key.kind].append(index)
    everyone = _by_place(items, range(len(items)))
    asked = everyone if touching is None else _by_place(items, touching)
    chosen = frozenset(touching or ())
    # Each link with whether it is sure.
    found: dict[str, dict[int, dict[int, bool]]] = defaultdict(lambda: defaultdict(dict))
    for name, relation in ground.ruleset.vocabulary.relations.items():
        for number, link in enumerate(relation.links):
            partners = ground.partners[name, number]
            # Items that may belong to the same places are linked alike.
            alike: dict[tuple[bool, tuple[str, str], frozenset[Place]], list[tuple[int, bool]]] = {}
            for one in by_kind.get(link.of, ()):
                key, places = items[one]
                group = group_of(key)
                others = (everyone if one in chosen else asked).get((link.to, group))
                if not others:
                    continue
                reached = alike.get((one in chosen, group, places))
                if reached is None:
                    reached = _reached(items, [partners.get(place, _NOWHERE) for place in places], others)
                    alike[one in chosen, group, places] = reached
                linked = found[name][one]
                for other, sure in reached:
                    if other != one:
                        linked[other] = linked.get(other, False) or sure
    asked_kinds = {kind for kind, _ in asked}
    for each in ground.ruleset.vocabulary.sets.values():
        if not asked_kinds.isdisjoint(each.kinds):
            _link_in_set(ground, each, items, by_kind, found[IN_SET])
    links = {
        name: {one: tuple(others) for one, others in each.items() if others} for name, each in found.items()
    }
    unsure = {
        name: frozenset(
            (one, other) for one, others in each.items() for other, sure in others.items() if not sure
        )
        for name, each in found.items()
    }
    return links, {name: pairs for name, pairs in unsure.items() if pairs}


_NOWHERE: frozenset[Place] = frozenset()


def _by_place(
    items: Sequence[tuple[ItemKey, frozenset[Place]]], indices: Iterable[int]
) -> dict[tuple[str, tuple[str, str]], dict[Place, list[int]]]:
    """By kind and group: at each place, the items of `indices` that belong there or may."""
    found: dict[tuple[str, tuple[str, str]], dict[Place, list[int]]] = {}
    for index in indices:
        key, places = items[index]
        at = found.setdefault((key.kind, group_of(key)), {})
        for place in places:
            at.setdefault(place, []).append(index)
    return found


def _reached(
    items: Sequence[tuple[ItemKey, frozenset[Place]]],
    partners: Sequence[frozenset[Place]],
    others: Mapping[Place, Sequence[int]],
) -> list[tuple[int, bool]]:
    """The items among `others` that one is linked to, and whether surely.

    `partners` holds, for each place that the one may belong to, the places linked to that.
    """
    if not partners:
        return []
    sure = frozenset.intersection(*partners)
    reached = {index for place in frozenset.union(*partners) for index in others.get(place, ())}
    return [(index, items[index][1] <= sure) for index in sorted(reached)]


def _link_in_set(
    ground: Ground,
    each: PartSet,
    items: Sequence[tuple[ItemKey, frozenset[Place]]],
    by_kind: Mapping[str, Sequence[int]],
    found: dict[int, dict[int, bool]],
) -> None:
    """Link the members of a set; a part that was mixed up may belong to several that are told by place."""
    belongs: dict[int, dict[tuple[object, ...], None]] = {}
    members: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for kind in each.kinds:
        axes = ground.ruleset.vocabulary.kinds[kind].axes
        for index in by_kind.get(kind, ()):
            key, places = items[index]
            belongs[index] = dict.fromkeys(
                (*_on(each.by, axes, place), group_of(key)) for place in sorted(places)
            )
            for one_set in belongs[index]:
                members[one_set].append(index)
    for one, sets in belongs.items():
        for one_set in sets:
            for other in members[one_set]:
                if other != one:
                    sure = len(sets) == len(belongs[other]) == 1
                    found[one][other] = found[one].get(other, False) or sure


def _on(wanted: Sequence[str], axes: Sequence[str], place: Place) -> Place:
    """What a place says on the axes wanted; nothing on those that its kind does not have."""
    return tuple([place[axes.index(axis)] if axis in axes else "" for axis in wanted])


def _partners(ground: Ground, relation: str, link: Link) -> Mapping[Place, frozenset[Place]]:
    """By place of the one kind: the places of the other that the link holds with."""
    ones, others = ground.places.get(link.of, []), ground.places.get(link.to, [])
    if link.listed:
        pairs = _listed(ground, relation, link)
        return {
            one: frozenset(other for other in others if " ".join(other) in pairs[" ".join(one)])
            for one in ones
            if " ".join(one) in pairs
        }
    kinds = ground.ruleset.vocabulary.kinds
    wanted = [*link.by, *([link.next_to] if link.next_to is not None else [])]
    at: dict[Place, set[Place]] = defaultdict(set)
    for other in others:
        at[_on(wanted, kinds[link.to].axes, other)].add(other)
    linked = {here: frozenset(places) for here, places in at.items()}
    found = {}
    for one in ones:
        here = _on(wanted, kinds[link.of].axes, one)
        if link.next_to is None:
            found[one] = linked.get(here, _NOWHERE)
            continue
        values = ground.values[link.next_to]
        number = values.index(here[-1])
        beside = [*values[max(number - 1, 0) : number], *values[number + 1 : number + 2]]
        found[one] = _NOWHERE.union(*(linked.get((*here[:-1], value), _NOWHERE) for value in beside))
    return found


def _listed(ground: Ground, relation: str, link: Link) -> Mapping[str, frozenset[str]]:
    """By place: the places that the engine sheet lists with it, for a link that takes them from there."""
    pairs: dict[str, set[str]] = defaultdict(set)
    for each in ground.sheet.links:
        if (each.relation, each.of, each.to) == (relation, link.of, link.to):
            for pair in each.pairs:
                pairs[pair.of].add(pair.to)
    return {of: frozenset(to) for of, to in pairs.items()}
