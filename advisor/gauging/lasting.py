"""How long what is measured on the bench will last: wear since new, to the hours at which it meets discard.

Only where the whole engine has run the same known hours as the part: a part from elsewhere, one that
arrived with a repair size and one that was machined since have hours of their own, and nobody knows them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.forecast import Forecast, Reading, since_new
from advisor.gauging.gauge import GaugedDimension
from advisor.gauging.measure import WORKING
from advisor.gauging.sources import sources
from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Dimension, Operator

FROM_NEW: Final[frozenset[Operator]] = frozenset(("below_size", "above_size", "short_of_new"))
"""Operators that count from the new size, so that a new part has nothing."""

GROWING: Final[frozenset[Operator]] = frozenset(("clearance",))
"""Operators of a play that a new part has already, and that wear adds to."""

_SECONDS: Final = 3600


@dataclass(frozen=True, slots=True)
class Running:
    """How long the engine has run, and how much longer it is wanted to, in hours."""

    hours: Decimal
    wanted: Decimal

    @classmethod
    def of(cls, run: Decimal | None, wanted: Decimal | None) -> Running | None:
        """From seconds; None where either is not known, or where nothing was run or is wanted."""
        if not run or not wanted:
            return None
        return cls(run / _SECONDS, wanted / _SECONDS)


@dataclass(frozen=True, slots=True)
class Lasting:
    """A forecast for one dimension, and where wear was taken to begin."""

    dimension: str
    when_new: Decimal
    """The value taken for a new part: the middle of its tolerance, in base units."""
    forecast: Forecast
    """Its wear counts from `when_new`."""


def lasting(
    bench: Bench, ruleset: RuleSet, index: int, gauged: Mapping[str, GaugedDimension], running: Running
) -> Iterator[Lasting]:
    """A forecast for every dimension of an item that measures wear since new and has a discard limit."""
    item = bench.items[index]
    vocabulary = ruleset.vocabulary
    if item.key.origin != "fitted" or not item.opened:
        return
    confidence = vocabulary.consequences[vocabulary.kinds[item.key.kind].consequence].inside
    for name, each in gauged.items():
        began = _when_new(vocabulary.dimensions[name], each)
        if began is None or not _since_new(bench, ruleset, index, name):
            continue
        start, u_start = began
        measure, limit = each.measure, each.standings["discard"].limit
        assert measure is not None  # `_when_new` saw to both
        assert limit is not None
        assert limit.at_most is not None
        if limit.at_most <= max(start, measure.value) or not measure.variance:
            # What is at its limit already needs no forecast.
            continue
        with localcontext(WORKING):
            now = Reading(running.hours, measure.value - start, measure.variance.sqrt())
            left = since_new(now, limit.at_most - start, running.wanted, u_start, confidence)
        yield Lasting(name, start, left)


def _when_new(dimension: Dimension, gauged: GaugedDimension) -> tuple[Decimal, Decimal] | None:
    """What a new part measures, with its standard uncertainty: anywhere in its tolerance alike (GUM 4.3.7).

    None where the dimension is no wear, is not measured whole, has no upper discard limit, or is a play
    whose size when new nobody gives.
    """
    operators = {formula.operator for formula in dimension.formulas}
    discard, new = gauged.standings["discard"].limit, gauged.standings["new"].limit
    if gauged.measure is None or gauged.measure.may_grow or discard is None or discard.at_most is None:
        return None
    high = None if new is None else new.at_most
    low = None if new is None else new.at_least
    if operators & FROM_NEW:
        # Without a tolerance the nominal size is taken, which is what wear counts from.
        high, low = high or Decimal(0), low or Decimal(0)
    elif not operators & GROWING or high is None or low is None:
        return None
    with localcontext(WORKING):
        return (high + low) / 2, (high - low) / 2 / Decimal(3).sqrt()


def _since_new(bench: Bench, ruleset: RuleSet, index: int, name: str) -> bool:
    """Whether everything that was read for it has run since the engine was new."""
    used = sources(bench, ruleset, index, name)
    return bool(used) and all(
        bench.items[item].key.origin == "fitted"
        and not bench.items[item].found_size
        and bench.items[item].readings[reading].moment != "after machining"
        for items, reading in used
        for item in items
    )
