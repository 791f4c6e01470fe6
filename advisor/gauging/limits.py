"""The limit that governs a dimension: the maker's figure, or a rule of thumb where the maker gives none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from advisor.sheets.engine import EnginePart, Limit
from advisor.sheets.rule_of_thumb import Change, HouseLimit, LimitSize, RuleOfThumb
from advisor.sheets.vocabulary import Cite, Purpose


@dataclass(frozen=True, slots=True)
class ChangedByHouse:
    """What a house did to a rule of thumb on this engine, and who decided it."""

    change: Change
    was: ResolvedLimit
    by: str
    on: str
    because: str


@dataclass(frozen=True, slots=True)
class ResolvedLimit:
    """A limit in base units, and where it comes from."""

    purpose: Purpose
    at_least: Decimal | None
    at_most: Decimal | None
    read_at: str = ""
    """Page of the maker's manual; empty for a rule of thumb."""
    cites: tuple[Cite, ...] = ()
    """Sources of a rule of thumb; empty for the maker's figure."""
    house: ChangedByHouse | None = None
    """Where house rules changed it on this engine."""
    fresh: bool = False
    """It is the limit for new, to which what work has just made is held in place of the one for discard."""

    @property
    def rule_of_thumb(self) -> bool:
        """Whether it stands in for a figure that the maker does not give."""
        return bool(self.cites)


def resolve(
    part: EnginePart, kind: str, dimension: str, purpose: Purpose, thumbs: Sequence[RuleOfThumb]
) -> ResolvedLimit | None:
    """The limit for a dimension of one kind of part on this engine; None where nobody gives one."""
    own = _own(part, dimension, purpose)
    if own is not None:
        return ResolvedLimit(purpose, _side(own, "at_least"), _side(own, "at_most"), own.read_at)
    for thumb in thumbs:
        if (thumb.part, thumb.dimension, thumb.purpose) != (kind, dimension, purpose) or not _in_band(
            thumb, part
        ):
            continue
        limit = _by_thumb(thumb, part)
        if limit is not None:
            return limit
    return None


def _by_thumb(thumb: RuleOfThumb, part: EnginePart) -> ResolvedLimit | None:
    """What a rule of thumb comes to on this engine; None where it does not serve."""
    low = _size(thumb.at_least, part, thumb.dimension, "at_least")
    high = _size(thumb.at_most, part, thumb.dimension, "at_most")
    limit = None
    if (low is not None or high is not None) and not _against_the_maker(
        part, thumb.dimension, thumb.purpose, low, high
    ):
        limit = ResolvedLimit(thumb.purpose, low, high, cites=tuple(thumb.cite))
    return _by_house(thumb, limit, part) if isinstance(thumb, HouseLimit) else limit


def _by_house(thumb: HouseLimit, limit: ResolvedLimit | None, part: EnginePart) -> ResolvedLimit | None:
    """The limit of a house against that of its base.

    Tightened it is never looser and loosened never tighter than the base's, and where the base's does not
    serve neither does: else a tightened limit might clear what was open, and a loosened one condemn it.
    """
    base = _by_thumb(thumb.instead_of, part)
    if thumb.change != "exchange":
        if base is None or limit is None:
            return base
        tighter = thumb.change == "tighten"
        low = _extreme(base.at_least, limit.at_least, larger=tighter, either=tighter)
        high = _extreme(base.at_most, limit.at_most, larger=not tighter, either=tighter)
        limit = replace(limit, at_least=low, at_most=high)
    if limit is None or base is None or (limit.at_least, limit.at_most) == (base.at_least, base.at_most):
        return limit or base
    return replace(limit, house=ChangedByHouse(thumb.change, base, thumb.by, thumb.on, thumb.why))


def _extreme(one: Decimal | None, other: Decimal | None, *, larger: bool, either: bool) -> Decimal | None:
    """The larger or smaller of two bounds; of one alone, that one (`either`) or none."""
    if one is None or other is None:
        return (one if one is not None else other) if either else None
    return max(one, other) if larger else min(one, other)


def _against_the_maker(
    part: EnginePart, dimension: str, purpose: Purpose, low: Decimal | None, high: Decimal | None
) -> bool:
    """Whether a rule of thumb would throw away what the maker lets go back together; then it is no use."""
    allowed = _own(part, dimension, "reassembly") if purpose == "discard" else None
    if allowed is None:
        return False
    most, least = _side(allowed, "at_most"), _side(allowed, "at_least")
    return (high is not None and most is not None and high < most) or (
        low is not None and least is not None and low > least
    )


def _own(part: EnginePart, dimension: str, purpose: Purpose) -> Limit | None:
    return next(
        (each for each in part.limits if (each.dimension, each.purpose) == (dimension, purpose)), None
    )


def _side(limit: Limit, side: str) -> Decimal | None:
    quantity = getattr(limit, side)
    return None if quantity is None else quantity.value


def _in_band(thumb: RuleOfThumb, part: EnginePart) -> bool:
    if thumb.band is None:
        return True
    size = part.new.get(thumb.band)
    if size is None:
        return False
    return (thumb.over is None or size > thumb.over) and (thumb.up_to is None or size <= thumb.up_to)


def _size(rule: LimitSize | None, part: EnginePart, dimension: str, side: str) -> Decimal | None:
    if rule is None:
        return None
    total = Decimal(0)
    if rule.from_ is not None:
        base = _own(part, dimension, rule.from_)
        value = None if base is None else _side(base, side)
        if value is None:
            return None
        total += value * rule.times
    if rule.plus is not None:
        total += rule.plus.value
    if rule.ratio is not None:
        size = part.new.get(rule.size or "")
        if size is None:
            return None
        total += rule.ratio * size.value
    return total
