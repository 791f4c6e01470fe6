"""What one leaf of a condition says of one item, read as certain and as possible."""

from __future__ import annotations

from collections.abc import Callable

from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import (
    OUTCOMES,
    Absent,
    EvidenceIs,
    Found,
    HasProperty,
    Leaf,
    Origin,
    PlaceUnknown,
    Related,
    Stands,
    State,
)

UNMEASURED = Standing(frozenset(OUTCOMES), "not looked at")
"""The standing of a dimension that nobody measured."""


def extent_of(item: Item, finding: str, world: World) -> Extent:
    """What is known of a finding; the whole scale where nobody looked."""
    known = item.findings.get(finding)
    return known if known is not None else Extent(0, len(world.scales[finding]) - 1, "not looked at")


def may_be(leaf: Leaf | Related | Absent, item: Item, world: World) -> tuple[bool, bool]:
    """Whether a leaf about the item's own evidence is certain, and whether it is possible.

    Raises `TypeError` for leaves that are not about evidence (concerns, related items, absences, layout).
    """
    return reader(leaf, world)(item)


def reader(leaf: Leaf | Related | Absent, world: World) -> Callable[[Item], tuple[bool, bool]]:
    """`may_be` for one leaf and many items. Raises `TypeError` as it does."""
    match leaf:
        case Found(finding, lowest, highest):
            scale = world.scales[finding]
            low = scale.index(lowest)
            high = len(scale) - 1 if highest is None else scale.index(highest)
            unseen = Extent(0, len(scale) - 1, "not looked at")

            def found(item: Item) -> tuple[bool, bool]:
                extent = item.findings.get(finding, unseen)
                certain = low <= extent.lowest and extent.highest <= high
                return certain, low <= extent.highest and extent.lowest <= high and low <= high

            return found
        case Stands(dimension, purpose, outcomes):
            key = dimension, purpose

            def stands(item: Item) -> tuple[bool, bool]:
                possible = item.standings.get(key, UNMEASURED).outcomes
                return possible <= outcomes, not possible.isdisjoint(outcomes)

            return stands
        case HasProperty(name, value):

            def has(item: Item) -> tuple[bool, bool]:
                known = item.properties.get(name)
                return known == value, known is None or known == value

            return has
        case PlaceUnknown():
            return lambda item: (item.place_unknown, item.place_unknown)
        case Origin(origin):
            return lambda item: (item.origin == origin, item.origin == origin)
        case EvidenceIs(name, purpose, state):

            def missing(item: Item) -> tuple[bool, bool]:
                actual = state_of(item, name, purpose, world)
                here = actual == state
                return here and state != "not looked at", here or actual in ("not looked at", "not opened")

            return missing
    raise TypeError(f"{leaf!r} is not about evidence")


def state_of(item: Item, name: str, purpose: str, world: World) -> State | None:
    """Why a finding, or a dimension against a purpose, is not settled; None where it is."""
    if name in world.scales:
        return extent_of(item, name, world).state
    return item.standings.get((name, purpose), UNMEASURED).state
