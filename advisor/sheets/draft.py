"""Items while the entries of a case are being laid on them, and how those that lie there belong together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from advisor.sheets.bench import ItemKey, Read, Seen
from advisor.sheets.ground import Ground, Links, Place, Sets, Unsure
from advisor.sheets.vocabulary import MOMENTS, Moment, Operation


@dataclass(slots=True)
class Draft:
    """An item while the entries are being laid on it."""

    key: ItemKey
    candidates: frozenset[Place]
    closed: Moment | None = None
    """The last moment at which it was not opened."""
    seen: Moment | None = None
    """The last moment at which something was seen or measured on it."""
    named: bool = False
    """Whether an entry names its place, rather than all of the kind."""
    from_among: str = ""
    """As written, where the place is not known."""
    findings: dict[str, Seen] = field(default_factory=dict)
    readings: dict[str, Read] = field(default_factory=dict)
    rest_none: set[Moment] = field(default_factory=set)
    """Moments at which everything else was looked for and was not there."""
    voided: set[str] = field(default_factory=set)
    """Readings and findings that an operation has touched: only what was taken after machining counts."""
    found_size: Decimal | None = None
    cleans_up: dict[str, Decimal] = field(default_factory=dict)
    worked: dict[str, Decimal | None] = field(default_factory=dict)

    @property
    def opened(self) -> bool:
        """Whether it was opened in the end; what is measured while the engine runs needs no opening."""
        return self.closed is None or (self.seen is not None and later(self.seen, self.closed))

    @property
    def name(self) -> str:
        """The item as it is told: its kind and place, or its tag where that is all there is."""
        if self.key.place is None and self.key.tag:
            return f"{self.key.kind} tagged {self.key.tag}"
        return f"{self.key.kind} {self.key.where}".strip()


@dataclass(frozen=True)
class Lying:
    """The items that lie on the bench, in its order, and how they belong together."""

    drafts: tuple[Draft, ...]
    index_of: Mapping[ItemKey, int]
    links: Links
    sets: Sets
    unsure: Unsure

    def void(self, draft: Draft, operation: Operation) -> None:
        """Note what an operation has made worthless, on the item and on those that are or may be linked."""
        draft.voided.update(operation.voids)
        here = self.index_of[draft.key]
        for linked in operation.voids_linked:
            for index in self.links.get(linked.relation, {}).get(here, ()):
                if self.drafts[index].key.kind == linked.kind:
                    self.drafts[index].voided.update(linked.voids)


def lying(ground: Ground, drafts: Mapping[ItemKey, Draft], mixed_up: frozenset[ItemKey]) -> Lying:
    """What lies on the bench of an engine: its items, less those at places whose item was mixed up.

    `mixed_up` holds the fitted items that these places would have; the mixed-up ones stand for them.
    """
    if len(drafts) == len(ground.fitted):
        return Lying(tuple(drafts.values()), ground.index_of, ground.links, ground.sets, {})
    rest = sorted(
        (draft for key, draft in drafts.items() if key not in mixed_up),
        key=lambda draft: _order(ground, draft.key),
    )
    links, sets, unsure = ground.with_others([(draft.key, draft.candidates) for draft in rest])
    index_of = {draft.key: index for index, draft in enumerate(rest)}
    return Lying(tuple(rest), index_of, links, sets, unsure)


def _order(ground: Ground, key: ItemKey) -> tuple[object, ...]:
    """Items lie in the order of the vocabulary and of their places, however the case was written."""
    axes = ground.ruleset.vocabulary.kinds[key.kind].axes
    place = [ground.values[axis].index(word) for axis, word in zip(axes, key.place or (), strict=False)]
    return ground.order[key.kind], key.origin != "fitted", key.origin, key.place is None, place, key.tag


def later(one: Moment, other: Moment) -> bool:
    """Whether a moment comes after another."""
    return MOMENTS.index(one) > MOMENTS.index(other)


def latest(one: Moment | None, other: Moment) -> Moment:
    """The later of two moments; `other` where there is only that."""
    return one if one is not None and later(one, other) else other


def goes_before(new: Seen | Read, old: Seen | Read, new_known: object, old_known: object) -> bool:
    """Whether what is said now stands in place of what was said at another moment.

    The later moment does; but that nobody looked again, or could, takes nothing from what was seen before.
    """
    if new.moment == old.moment:
        return False
    if bool(new_known) != bool(old_known):
        return bool(new_known)
    return later(new.moment, old.moment)
