"""The conditions of the rule language, as a closed set of frozen values.

`advisor.sheets.rules` reads them from YAML; the compiler and the plain evaluator each give them
their meaning. Every leaf is about one item. See docs/rule-language.md for the definition.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

State = Literal["not looked at", "could not be judged", "lost", "not opened", "in doubt", "contradictory"]
"""Why evidence is not there.

`in doubt` is measured, but neither inside nor outside; `contradictory` is measured in ways that cannot
all be right.
"""

STATES: tuple[State, ...] = (
    "not looked at",
    "could not be judged",
    "lost",
    "not opened",
    "in doubt",
    "contradictory",
)

Outcome = Literal["inside", "above", "below"]
"""Where a dimension stands against a limit."""

OUTCOMES: tuple[Outcome, ...] = ("inside", "above", "below")


@dataclass(frozen=True, slots=True)
class Found:
    """The finding's extent lies between `lowest` and `highest` (both included) on its own scale."""

    finding: str
    lowest: str
    highest: str | None


@dataclass(frozen=True, slots=True)
class Stands:
    """The dimension's standing against the limit for `purpose` is one of `outcomes`."""

    dimension: str
    purpose: str
    outcomes: frozenset[Outcome]


@dataclass(frozen=True, slots=True)
class HasConcern:
    """A rule has concluded this concern about the item."""

    concern: str


@dataclass(frozen=True, slots=True)
class HasProperty:
    """The engine sheet says so of this part (treatment, material)."""

    property: str
    value: str


@dataclass(frozen=True, slots=True)
class PlaceUnknown:
    """Where the item came from in the engine is no longer known."""


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the item comes from: fitted, new, second-hand or delivered."""

    origin: str


@dataclass(frozen=True, slots=True)
class EvidenceIs:
    """The evidence of this name (a finding, or a dimension against `purpose`) is missing in this way."""

    name: str
    purpose: str
    state: State


@dataclass(frozen=True, slots=True)
class LayoutIs:
    """The engine is laid out so. Folded away before anything runs."""

    key: str
    value: str


Leaf: TypeAlias = Found | Stands | HasConcern | HasProperty | PlaceUnknown | Origin | EvidenceIs | LayoutIs


@dataclass(frozen=True, slots=True)
class Related:
    """The leaf holds of related items: of at least `number` of them, or of every one.

    `number` None means every one, and there must be at least one. `relation` "anywhere" means all
    items of the kind.
    """

    relation: str
    kind: str
    number: int | None
    leaf: Leaf


@dataclass(frozen=True, slots=True)
class Absent:
    """No rule can conclude it: the concern (on this item, or on related ones) is not there."""

    of: HasConcern | Related


@dataclass(frozen=True, slots=True)
class All:
    """Every part holds. An empty one always holds."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Any:
    """At least `number` of the parts hold (1 for a plain `any`)."""

    parts: tuple[Condition, ...]
    number: int = 1


Condition: TypeAlias = All | Any | Leaf | Related | Absent


def leaves(condition: Condition) -> list[Leaf | Related | Absent]:
    """Every leaf of the tree, left to right; `Related` and `Absent` count as leaves."""
    if isinstance(condition, All | Any):
        return [leaf for part in condition.parts for leaf in leaves(part)]
    return [condition]
