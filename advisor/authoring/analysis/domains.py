"""What rules may ask of an item, as variables with few values each; a set of values is a bit mask.

A finding has its extents and the ways in which it may be missing; a standing has its outcomes and the same
ways. While a finding is missing, no condition on its extent is certain and each is possible; but where one
that is wanted on suspicion is neither seen nor asked for, none is possible. What a rule set fixes is fixed
here too: a kind without axes always has a known place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal, TypeAlias

from advisor.sheets.conditions import (
    OUTCOMES,
    STATES,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Leaf,
    Origin,
    PlaceUnknown,
    Stands,
)
from advisor.sheets.ruleset import RuleSet

Want: TypeAlias = Literal["certain", "ruled out", "possible", "unsure"]
"""How a condition is to come out: certain; not even possible; possible (certain or open); not certain."""

OPPOSITE: Final[dict[Want, Want]] = {
    "certain": "ruled out",
    "ruled out": "certain",
    "possible": "unsure",
    "unsure": "possible",
}
"""What is wanted of the inside of an absence."""

DENIED: Final[dict[Want, Want]] = {
    "certain": "unsure",
    "unsure": "certain",
    "possible": "ruled out",
    "ruled out": "possible",
}
"""What is wanted where the want does not come true."""

HOLDS: Final = ("certain", "possible")
"""Wants that a condition holds, in one of its two readings."""

Key: TypeAlias = tuple[str, ...]
"""A variable: ``("finding", F)``, ``("standing", D, P)``, ``("property", P)``, ``("place",)``,
``("origin",)``, or ``("layout", L)`` for the whole engine."""

ORIGINS: Final = ("fitted", "new", "second-hand", "delivered")

NOT_WANTED: Final = "not wanted"
"""A finding that is wanted on suspicion, where nobody saw it and nothing asks for it."""

NOT_GIVEN: Final = ""
"""A property that the engine sheet does not say."""


@dataclass(frozen=True)
class Domains:
    """The variables of a rule set."""

    rules: RuleSet

    @cached_property
    def _values(self) -> dict[tuple[str, Key], tuple[str, ...]]:
        return {}

    @cached_property
    def _masks(self) -> dict[tuple[str, Leaf, Want], tuple[Key, int]]:
        return {}

    def values(self, kind: str, key: Key) -> tuple[str, ...]:
        """The values of a variable, those taken first where nothing is wanted of it in front."""
        known = self._values.get((kind, key))
        if known is None:
            known = self._values[kind, key] = self._values_of(kind, key)
        return known

    def _values_of(self, kind: str, key: Key) -> tuple[str, ...]:
        vocabulary = self.rules.vocabulary
        match key:
            case ("finding", name):
                # A doubt is about a size; what is seen is either judged or not.
                states = tuple(state for state in STATES if state != "in doubt")
                unwanted = (NOT_WANTED,) if (kind, name) in self.rules.on_suspicion else ()
                return (*vocabulary.findings[name].extents, *states, *unwanted)
            case ("standing", _, _):
                return (*OUTCOMES, *STATES)
            case ("property", name):
                return (*vocabulary.kinds[kind].properties[name], NOT_GIVEN)
            case ("place",):
                return ("known", "unknown") if vocabulary.kinds[kind].axes else ("known",)
            case ("origin",):
                return ORIGINS
            case ("layout", name):
                return tuple(vocabulary.layout[name].values)
        raise ValueError(key)

    def every(self, kind: str, key: Key) -> int:
        """The mask of all values."""
        return (1 << len(self.values(kind, key))) - 1

    def named(self, kind: str, key: Key, mask: int) -> tuple[str, ...]:
        """The values in a mask."""
        return tuple(value for bit, value in enumerate(self.values(kind, key)) if mask >> bit & 1)

    def allowed(self, kind: str, leaf: Leaf, want: Want) -> tuple[Key, int]:
        """The variable that a leaf about evidence asks of an item, and the values that fulfil the want."""
        known = self._masks.get((kind, leaf, want))
        if known is None:
            key, certain, possible = self._asked(kind, leaf)
            every = self.every(kind, key)
            mask = {
                "certain": certain,
                "possible": possible,
                "ruled out": every & ~possible,
                "unsure": every & ~certain,
            }[want]
            known = self._masks[kind, leaf, want] = key, mask
        return known

    def _asked(self, kind: str, leaf: Leaf) -> tuple[Key, int, int]:
        """The variable, the values of which the leaf is certain, and those of which it is possible."""
        match leaf:
            case Found(name, lowest, highest):
                key: Key = ("finding", name)
                extents = list(self.rules.vocabulary.findings[name].extents)
                last = len(extents) - 1 if highest is None else extents.index(highest)
                certain = self._mask(kind, key, set(extents[extents.index(lowest) : last + 1]))
                missing = self._mask(kind, key, set(STATES))
                return key, certain, certain | (missing if certain else 0)
            case Stands(name, purpose, outcomes):
                key = ("standing", name, purpose)
                certain = self._mask(kind, key, set(outcomes))
                return key, certain, certain | self._mask(kind, key, set(STATES))
            case EvidenceIs(name, purpose, state):
                found = name in self.rules.vocabulary.findings
                key = ("finding", name) if found else ("standing", name, purpose)
                # That nobody looked is never certain by the definition; but it is what such a rule is for.
                certain = self._mask(kind, key, {state})
                return key, certain, certain | self._mask(kind, key, {"not looked at", "not opened"})
            case HasProperty(name, value):
                key = ("property", name)
                certain = self._mask(kind, key, {value})
                return key, certain, certain | self._mask(kind, key, {NOT_GIVEN})
            case PlaceUnknown():
                mask = self._mask(kind, ("place",), {"unknown"})
                return ("place",), mask, mask
            case Origin(origin):
                mask = self._mask(kind, ("origin",), {origin})
                return ("origin",), mask, mask
            case LayoutIs(name, value):
                key = ("layout", name)
                mask = self._mask(kind, key, {value})
                return key, mask, mask
            case HasConcern():
                raise ValueError("a concern is no evidence: it hangs on the rules that conclude it")

    def _mask(self, kind: str, key: Key, wanted: set[str]) -> int:
        return sum(1 << bit for bit, value in enumerate(self.values(kind, key)) if value in wanted)

    @cached_property
    def _most(self) -> dict[tuple[str, str, str], int | None]:
        return {}

    def most_linked(self, kind: str, relation: str, other: str) -> int | None:
        """The most items of a kind that a declared relation can link one item to; None for no bound."""
        key = kind, relation, other
        if key not in self._most:
            self._most[key] = self._most_linked(*key)
        return self._most[key]

    def _most_linked(self, kind: str, relation: str, other: str) -> int | None:
        vocabulary = self.rules.vocabulary
        links = [
            link
            for link in getattr(vocabulary.relations.get(relation), "links", ())
            if link.of == kind and link.to == other
        ]
        if not links or any(link.listed for link in links):
            return None
        most = 0
        for link in links:
            size = 1 if link.next_to is None else 2
            for axis in vocabulary.kinds[other].axes:
                if axis in link.by or axis == link.next_to:
                    continue
                words = vocabulary.axes[axis].values
                if not words:
                    return None
                size *= len(words)
            most += size
        return most
