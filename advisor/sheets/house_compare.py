"""Which of two limits is the tighter, and which of two readings of a rule the harsher; limits in words."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Literal, TypeAlias

from advisor.sheets.rule_of_thumb import LimitSize, RuleOfThumb
from advisor.sheets.rules import RuleText
from advisor.units import Quantity

Verb: TypeAlias = Literal["tighten", "loosen", "exchange", "none"]


def direction(new: RuleOfThumb, old: RuleOfThumb) -> Verb:
    """What changing `old` into `new` does on any engine: `exchange` where that hangs on the engine.

    Limits that follow from another are compared as if that other were not below nothing.
    """
    ways = {_looser(new.at_most, old.at_most)}
    low = _looser(new.at_least, old.at_least)
    ways.add(low if low is None or _only_one(new.at_least, old.at_least) else -low)
    if None in ways or {-1, 1} <= ways:
        return "exchange"
    return "loosen" if 1 in ways else "tighten" if -1 in ways else "none"


def _only_one(new: LimitSize | None, old: LimitSize | None) -> bool:
    return (new is None) != (old is None)


def _looser(new: LimitSize | None, old: LimitSize | None) -> int | None:
    """1 where `new` is larger or is not there, -1 where it is smaller or new, None where nobody can tell."""
    if new is None or old is None:
        return 0 if new is old else 1 if new is None else -1
    if new.from_ != old.from_ and None not in (new.from_, old.from_):
        return None
    if new.size != old.size and None not in (new.size, old.size):
        return None
    if new.plus is not None and old.plus is not None and new.plus.dimension != old.plus.dimension:
        return None
    signs = {(one > other) - (one < other) for one, other in zip(_terms(new), _terms(old), strict=True)}
    if {-1, 1} <= signs:
        return None
    return next(iter(signs - {0}), 0)


def _terms(size: LimitSize) -> Iterator[Decimal]:
    yield size.times if size.from_ is not None else Decimal(0)
    yield size.plus.value if size.plus is not None else Decimal(0)
    yield size.ratio if size.ratio is not None else Decimal(0)


def limit_words(limit: RuleOfThumb) -> str:
    """Both sides of a limit in words: ``at most 2 times the limit for new``."""
    sides = (("at least", limit.at_least), ("at most", limit.at_most))
    return " and ".join(f"{says} {size_words(size)}" for says, size in sides if size is not None)


def size_words(size: LimitSize) -> str:
    """How a limit follows, in words."""
    told = []
    if size.from_ is not None:
        times = "" if size.times == 1 else f"{_figure(size.times)} times "
        told.append(f"{times}the limit for {size.from_}")
    if size.plus is not None:
        told.append(size.plus.text)
    if size.ratio is not None:
        told.append(f"{_figure(size.ratio)} of the {(size.size or '').replace('_', ' ')}")
    return " and ".join(told)


def _figure(value: Decimal) -> str:
    return f"{value:f}".rstrip("0").rstrip(".") if "." in f"{value:f}" else f"{value:f}"


def band_words(over: Quantity | None, up_to: Quantity | None) -> str:
    """The bounds of a band in words; empty where there are none."""
    low = f"over {over.text}" if over is not None else ""
    return " and ".join(filter(None, (low, f"up to {up_to.text}" if up_to is not None else "")))


def at_least_as_harsh(new: RuleText, old: RuleText) -> bool:
    """Whether one reading of a rule surely gives no milder verdict than another; only where that is plain."""
    if new.when != old.when or set(new.then.concern) != set(old.then.concern):
        return False
    barred = {answer for bar in new.then.bar if not bar.mend for answer in bar.answers}
    return all(
        any(
            set(bar.answers) <= set(each.answers) and set(each.mend) <= set(bar.mend) for each in new.then.bar
        )
        for bar in old.then.bar
    ) and all(evidence in new.then.require or set(evidence.before) <= barred for evidence in old.then.require)
