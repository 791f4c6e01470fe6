"""Parts that were mixed up: each came from one place, and no place had two of them."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from advisor.sheets.bench import ItemKey
from advisor.sheets.ground import Place

_SHOWN: Final = 6
"""Words listed in a message."""


@dataclass(frozen=True)
class Misfit:
    """Mixed-up items of one kind that cannot have filled the places they came from, one each."""

    items: tuple[ItemKey, ...]
    places: frozenset[Place]


def misfits(candidates: Mapping[ItemKey, frozenset[Place]]) -> list[Misfit]:
    """Mixed-up items, each with the places it may have come from, that are more or fewer than these places.

    Items whose places overlap, directly or by way of others, are counted together. Where the number is right
    and still there is no way to put one item at each place, the misfit holds items that would have to share.
    """
    return [misfit for group in _groups(candidates) if (misfit := _misfit(group, candidates)) is not None]


def _groups(candidates: Mapping[ItemKey, frozenset[Place]]) -> list[Misfit]:
    """Items of one kind whose places overlap, with all these places."""
    groups: list[Misfit] = []
    for item, places in candidates.items():
        apart, items, union = [], [item], places
        for group in groups:
            if group.items[0].kind == item.kind and not group.places.isdisjoint(places):
                items[:0] = group.items
                union |= group.places
            else:
                apart.append(group)
        groups = [*apart, Misfit(tuple(items), union)]
    return groups


def _misfit(group: Misfit, candidates: Mapping[ItemKey, frozenset[Place]]) -> Misfit | None:
    if len(group.items) != len(group.places):
        return group
    holder: dict[Place, ItemKey] = {}
    for item in group.items:
        tried = _seat(item, candidates, holder)
        if tried:
            return Misfit((*(holder[place] for place in tried), item), frozenset(tried))
    return None


def _seat(
    item: ItemKey, candidates: Mapping[ItemKey, frozenset[Place]], holder: dict[Place, ItemKey]
) -> list[Place]:
    """Give an item a place of its own in `holder`, others moving to another of theirs where they must.

    Nothing is returned then; otherwise the places that it and those in its way have among them, all taken.
    (Augmenting paths, as usual for a matching in a graph of two sides.)
    """
    before = {holding: place for place, holding in holder.items()}
    wanted_by: dict[Place, ItemKey] = {}
    waiting = deque([item])
    while waiting:
        one = waiting.popleft()
        for place in sorted(candidates[one] - wanted_by.keys()):
            wanted_by[place] = one
            if place in holder:
                waiting.append(holder[place])
                continue
            free: Place | None = place
            while free is not None:
                holder[free] = wanted_by[free]
                free = before.get(wanted_by[free])
            return []
    return list(wanted_by)


def counted(number: int, noun: str) -> str:
    """How many there are of something, for a message."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def tags(items: Sequence[ItemKey]) -> str:
    """The tags of mixed-up items, for a message."""
    return some([item.tag or "without a tag" for item in items])


def some(words: Sequence[str]) -> str:
    """The first of these words, and how many more there are."""
    return ", ".join(words[:_SHOWN]) + (f" and {len(words) - _SHOWN} more" if len(words) > _SHOWN else "")
