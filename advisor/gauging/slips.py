"""Limits that look like a slip of the pen: inches typed for millimetres, and the like.

A discard limit that is much too loose bars nothing, so nothing else would ever show it. Three things tell.

Against the limit for reassembly, or for new: the furthest that a published pair of wear limits lies apart is
about seven times, for shells and pins of which a few micrometres are new and some hundredths are the end. An
inch for a millimetre makes it 25.4 times at least. Ten times lies clear of the one and well below the other.

Against the size: a part that comes in repair sizes is at its end after some tenths of a per cent of its
diameter, and after one per cent in the largest bores. Two per cent is beyond all of them.

Against the handbook: what a rule of thumb gives for the same part is of the right order. Five times that is
more than makers differ by, and a fifth of what an inch would make of it. (The three bounds are our own, by
common practice; no source gives them.)
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.limits import resolve
from advisor.gauging.measure import WORKING
from advisor.sheets.engine import EnginePart, EngineSheet, Limit
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Purpose
from advisor.units import show
from advisor.units.show import System

_TIMES_THE_TIGHTER: Final = Decimal(10)
_TIMES_A_THUMB: Final = Decimal(5)
_SHARE_OF_SIZE: Final = Decimal("0.02")
_WEAR: Final = ("below_size", "above_size")


@dataclass(frozen=True, slots=True)
class FarLimit:
    """A limit of an engine sheet that is looser than any of its kind."""

    part: str
    index: int
    """Which of the part's limits."""
    limit: Limit
    why: str
    """Against what, in words."""


def far_limits(sheet: EngineSheet, ruleset: RuleSet) -> Iterator[FarLimit]:
    """Every upper limit on an engine sheet that looks like a slip, in the order of the sheet."""
    with localcontext(WORKING):
        for kind, part in sheet.parts.items():
            for index, limit in enumerate(part.limits):
                why = _why(kind, part, limit, ruleset, sheet.units)
                if why:
                    yield FarLimit(kind, index, limit, why)


def _why(kind: str, part: EnginePart, limit: Limit, ruleset: RuleSet, system: System) -> str:
    most = limit.at_most
    if most is None or most.value <= 0:
        return ""
    tighter = _tighter(part, limit)
    if tighter is not None and tighter.at_most is not None:
        times = most.value / tighter.at_most.value
        if times > _TIMES_THE_TIGHTER:
            return f"{times:.0f} times the limit for {tighter.purpose} ({tighter.at_most.text})"
    formulas = ruleset.vocabulary.dimensions[limit.dimension].formulas
    for formula in formulas:
        size = part.new.get(formula.reading or "")
        resized = any(each.size == formula.reading for each in part.repair_sizes)
        if formula.operator in _WEAR and resized and size is not None:
            share = most.value / size.value
            if share > _SHARE_OF_SIZE:
                return f"{100 * share:.1f} % of the new size ({size.text})"
    if not any(
        (each.part, each.dimension, each.purpose) == (kind, limit.dimension, limit.purpose)
        for each in ruleset.limits
    ):
        return ""
    without = part.model_copy(update={"limits": [each for each in part.limits if each is not limit]})
    thumb = resolve(without, kind, limit.dimension, limit.purpose, ruleset.limits)
    if thumb is not None and thumb.rule_of_thumb and thumb.at_most:
        times = most.value / thumb.at_most
        if times > _TIMES_A_THUMB:
            quantity = ruleset.vocabulary.dimensions[limit.dimension].quantity
            return (
                f"{times:.0f} times what the handbook gives ({show(thumb.at_most, quantity, system=system)})"
            )
    return ""


def _tighter(part: EnginePart, limit: Limit) -> Limit | None:
    """The next tighter limit of the same dimension that has an upper side above nothing."""
    order: dict[Purpose, tuple[Purpose, ...]] = {
        "discard": ("reassembly", "new"),
        "reassembly": ("new",),
        "new": (),
    }
    for purpose in order[limit.purpose]:
        for each in part.limits:
            same = (each.dimension, each.purpose) == (limit.dimension, purpose)
            if same and each.at_most is not None and each.at_most.value > 0:
                return each
    return None
