"""What the rules are run over: the items on the bench, what is known of each, and how they belong together.

A `World` is built from a case by `advisor.chain.facts` and read by both engines. What is not
known is held as the set of what may still be: an interval of extents, a set of outcomes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.sheets.conditions import Outcome, State


@dataclass(frozen=True, slots=True)
class Extent:
    """Which extents of a finding are still possible, as indices on its own scale (0 is none).

    `state` says why it is not settled; it is None exactly when one extent is left because somebody
    looked.
    """

    lowest: int
    highest: int
    state: State | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Which outcomes of a dimension against one limit are still possible.

    `state` is None exactly when one outcome is left because it was measured.
    """

    outcomes: frozenset[Outcome]
    state: State | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """One item: what is known of it. Findings and standings that are left out were not looked at."""

    kind: str
    findings: Mapping[str, Extent] = field(default_factory=dict)
    standings: Mapping[tuple[str, str], Standing] = field(default_factory=dict)
    """By dimension and purpose of the limit."""
    properties: Mapping[str, str | None] = field(default_factory=dict)
    """By property; None where the engine sheet does not say."""
    place_unknown: bool = False
    origin: str = "fitted"


@dataclass(frozen=True, slots=True)
class World:
    """All items of a case."""

    items: tuple[Item, ...]
    links: Mapping[str, Mapping[int, tuple[int, ...]]]
    """By relation: the items that each item (by index) is linked to or may be, of any kind."""
    scales: Mapping[str, tuple[str, ...]]
    """By finding: its extents in order, `none` first."""
    layout: Mapping[str, str]
    unsure: Mapping[str, frozenset[tuple[int, int]]] = field(default_factory=dict)
    """By relation: the links, as (item, linked item), that are only possible; all others are sure."""
