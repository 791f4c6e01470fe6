"""The bench: every item of an engine, with what was seen and measured on it, told once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from advisor.sheets.case import CauseState, Risk
from advisor.sheets.conditions import State
from advisor.sheets.places import Written
from advisor.sheets.vocabulary import Metal, Moment
from advisor.units import Quantity

UNKNOWN_PLACE = "unknown"


@dataclass(frozen=True, slots=True)
class ItemKey:
    """Which item: its kind, its place (None where nobody knows it), its tag and where it comes from."""

    kind: str
    place: tuple[str, ...] | None
    tag: str = ""
    origin: str = "fitted"

    @property
    def where(self) -> str:
        """The place in words, as people type it."""
        return UNKNOWN_PLACE if self.place is None else " ".join(self.place)


@dataclass(frozen=True, slots=True)
class Seen:
    """A finding: its extent, or why there is none."""

    extent: str | None
    state: State | None
    moment: Moment
    at: Written | None = None


@dataclass(frozen=True, slots=True)
class Interval:
    """What two blades tell of a gap; the value itself is the middle, or the blade that goes."""

    half: Decimal
    """Half the step between the two."""
    open: bool = False
    """No blade was found that does not go: the gap may be any wider."""


@dataclass(frozen=True, slots=True)
class SetWith:
    """What a comparing instrument was set with."""

    instrument: str
    limit_of_error: Quantity | None = None
    tool: str = ""
    """The mark on it, where it is known which one it was."""


@dataclass(frozen=True, slots=True)
class Read:
    """The readings of one kind: by position, the values taken there; or why there are none."""

    values: Mapping[str, tuple[Quantity, ...]]
    state: State | None
    moment: Moment
    instrument: str | None = None
    limit_of_error: Quantity | None = None
    at: Written | None = None
    intervals: Mapping[str, Interval] = field(default_factory=dict)
    """By position: what blades told, where they were used."""
    tool: str = ""
    """The mark on the instrument, where it is known which one it was."""
    set_with: SetWith | None = None
    part_at: Quantity | None = None
    """Temperature of the part, where it was not that of the shop."""
    shop_at: Quantity | None = None
    """Temperature of the shop, and so of the instrument; None where nobody says."""
    metal: Metal | None = None
    """What the part is made of, where a temperature is told and anybody knows."""

    @property
    def taken_with(self) -> tuple[object, ...]:
        """What must be the same for all positions of one reading."""
        return self.instrument, self.limit_of_error, self.tool, self.set_with, self.part_at


@dataclass(frozen=True, slots=True)
class BenchItem:
    """One item and all that the case says of it."""

    key: ItemKey
    opened: bool
    findings: Mapping[str, Seen]
    readings: Mapping[str, Read]
    properties: Mapping[str, str | None]
    candidates: frozenset[tuple[str, ...]]
    """The places it may belong to: its own, or those it was mixed up from."""
    found_size: Decimal | None = None
    """Difference from new in mm of the repair size that it arrived with; None where nobody read it."""
    cleans_up: Mapping[str, Decimal] = field(default_factory=dict)
    """By operation: the size in mm at which it cleans up, where somebody has indicated it."""
    worked: Mapping[str, Decimal | None] = field(default_factory=dict)
    """By reading that work has changed: the repair size (difference from new, in mm) it was brought to, or
    None where nobody says; it governs readings taken after machining."""


@dataclass(frozen=True, slots=True)
class Bench:
    """All items of the engine, and how they belong together."""

    items: tuple[BenchItem, ...]
    links: Mapping[str, Mapping[int, tuple[int, ...]]]
    sets: Mapping[str, tuple[tuple[int, ...], ...]]
    """By set of the vocabulary: the items of each such set on this engine."""
    layout: Mapping[str, str]
    unsure: Mapping[str, frozenset[tuple[int, int]]] = field(default_factory=dict)
    """By relation: links that are only possible, since the place of one end is not known."""
    risks: Mapping[int, Risk] = field(default_factory=dict)
    """By item: who takes the risk of an answer that cannot be settled."""
    causes: Mapping[tuple[str, int], CauseState] = field(default_factory=dict)
    """By concern and item: what somebody has said became of a suspected cause."""
