"""What would settle a doubt: the uncertainty it takes, and which instruments of the rule set have it.

A size is in doubt where it lies too close to a limit for its uncertainty. The same size read with a small
enough one is not. Which instrument has that is found by gauging the item anew, all else as it is: so
whatever enters an uncertainty enters here as well.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from itertools import product
from statistics import NormalDist
from typing import Final

from advisor.gauging.gauge import GaugedDimension, _Gauger, _plan_of
from advisor.gauging.limits import ResolvedLimit
from advisor.gauging.measure import WORKING, Measure
from advisor.gauging.sources import SourceRead, sources, values_of
from advisor.gauging.spread import deviate, share_of
from advisor.gauging.standing import Confidence, standing
from advisor.sheets.bench import Bench, Read
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Purpose

__all__ = ["EVEN_CHANCE", "Settling", "Use", "needed", "settling", "sources", "with_instruments"]

EVEN_CHANCE: Final = 0.5
"""A new reading is worth taking where it settles the doubt at least as often as not."""

_DOWN: Final = Context(prec=12, rounding=ROUND_FLOOR)
_HALVINGS: Final = 60


@dataclass(frozen=True, slots=True)
class Use:
    """A reading taken with an instrument: on one item, or on all that are looked at together."""

    items: tuple[int, ...]
    reading: str
    instrument: str


@dataclass(frozen=True, slots=True)
class Settling:
    """What would settle one doubt."""

    needed: Decimal
    """The largest standard uncertainty at which this very size would not be in doubt; 0 on the limit."""
    share: Decimal
    """The share that the largest rectangular source has of its variance now, by which that was reckoned."""
    ways: tuple[tuple[Use, ...], ...]
    """Each way to come below that with instruments of the rule set: one reading taken anew, or, where no
    single one suffices, several. Empty where none does."""
    again: tuple[Use, ...]
    """Where no way suffices: the most exact instruments there are, if they are better than those used."""
    chance: float
    """The probability that readings taken with `again` fall clear of the limit, from 0 to 1."""

    @property
    def worth_measuring(self) -> bool:
        """Whether measuring again is likely to settle it."""
        return bool(self.ways) or self.chance >= EVEN_CHANCE


def needed(
    value: Decimal, limit: ResolvedLimit, confidence: Confidence, share: Decimal = Decimal(0)
) -> Decimal:
    """The largest standard uncertainty at which `value` is not in doubt against a limit, rounded down.

    Distance over deviate, |value - limit| / z, for the side that decides; less where both sides of a narrow
    limit take their part of the probability. `share` is that of the largest rectangular source; see `spread`.
    """
    with localcontext(WORKING):
        margins = [
            margin
            for margin in (
                None if limit.at_most is None else limit.at_most - value,
                None if limit.at_least is None else value - limit.at_least,
            )
            if margin is not None
        ]
        outside = [margin for margin in margins if margin < 0]
        probability = 1 - confidence.outside if outside else confidence.inside
        most = _DOWN.divide(abs(min(outside or margins)), deviate(probability, share))
        if _settles(value, most, share, limit, confidence):
            return most
        least = Decimal(0)
        for _ in range(_HALVINGS):
            middle = (least + most) / 2
            least, most = (
                (middle, most) if _settles(value, middle, share, limit, confidence) else (least, middle)
            )
        return _DOWN.plus(least)


def _settles(
    value: Decimal, u: Decimal, share: Decimal, limit: ResolvedLimit, confidence: Confidence
) -> bool:
    measure = Measure(value, u * u, lead=u * u * share)
    return len(standing(measure, limit.at_least, limit.at_most, confidence)) == 1


def settling(
    bench: Bench,
    sheet: EngineSheet,
    ruleset: RuleSet,
    index: int,
    name: str,
    purpose: Purpose,
    gauged: GaugedDimension,
) -> Settling | None:
    """What would settle the doubt about one dimension of one item against its limit for a purpose.

    None where it is not in doubt: there is no size, no limit, or its standing is settled or lacks readings.
    """
    stands = gauged.standings.get(purpose)
    if gauged.measure is None or stands is None or stands.limit is None or stands.state != "in doubt":
        return None
    limit, measure = stands.limit, gauged.measure
    plan = _plan_of(sheet, ruleset)
    planned = next(each for each in plan.planned(bench.items[index].key.kind) if each.name == name)
    confidence = planned.confidence[purpose]
    share = share_of(measure)
    enough = needed(measure.value, limit, confidence, share)
    used = sources(bench, ruleset, index, name)
    choices = {source: tuple(_fitting(bench, ruleset, *source)) for source in used}

    def again(uses: Sequence[Use]) -> Measure | None:
        return _Gauger(with_instruments(bench, uses), plan).dimension(index, planned).measure

    def settles(uses: Sequence[Use]) -> bool:
        found = again(uses)
        if found is None:
            return False
        # The very size that was read, with the uncertainty that it would have.
        at_value = replace(found, value=measure.value)
        return len(standing(at_value, limit.at_least, limit.at_most, confidence)) == 1

    with localcontext(WORKING):
        ways = tuple(_ways(choices, settles)) if enough else ()
        if ways:
            return Settling(enough, share, ways, (), 1.0)
        best: tuple[Decimal, tuple[Use, ...]] | None = None
        for uses in product(*choices.values()):
            found = again(uses)
            if (
                found is not None
                and found.variance < measure.variance
                and (best is None or found.variance < best[0])
            ):
                best = found.variance, uses
        if best is None:
            return Settling(enough, share, (), (), 0.0)
        return Settling(enough, share, (), best[1], _chance(measure, best[0], limit, confidence))


def _ways(
    choices: Mapping[SourceRead, tuple[Use, ...]], settles: Callable[[Sequence[Use]], bool]
) -> Iterator[tuple[Use, ...]]:
    """Single readings that suffice when taken anew; where there are none, all of them together."""
    found = False
    for uses in choices.values():
        for use in uses:
            if settles((use,)):
                found = True
                yield (use,)
    if found or len(choices) < 2:
        return
    for together in product(*choices.values()):
        if settles(together):
            yield together


def _chance(measure: Measure, variance: Decimal, limit: ResolvedLimit, confidence: Confidence) -> float:
    """How likely a new reading settles: it falls around the old one with the spread of both."""
    spread = NormalDist(float(measure.value), float((measure.variance + variance).sqrt()))
    u = float(variance.sqrt())
    inside = NormalDist().inv_cdf(float(confidence.inside)) * u
    outside = NormalDist().inv_cdf(float(1 - confidence.outside)) * u
    low = float(limit.at_least) if limit.at_least is not None else None
    high = float(limit.at_most) if limit.at_most is not None else None
    clear = 0.0
    if high is not None:
        clear += 1 - spread.cdf(high + outside)
    if low is not None:
        clear += spread.cdf(low - outside)
    top = 1.0 if high is None else spread.cdf(high - inside)
    bottom = 0.0 if low is None else spread.cdf(low + inside)
    return clear + max(top - bottom, 0.0)


def _fitting(bench: Bench, ruleset: RuleSet, items: tuple[int, ...], reading: str) -> Iterator[Use]:
    """The instruments listed for a reading whose range holds every size that was read."""
    sizes = [each for item in items for each in values_of(bench, item, reading)]
    for name in ruleset.vocabulary.readings[reading].instruments:
        if all(map(ruleset.instruments[name].spans, sizes)):
            yield Use(items, reading, name)


def with_instruments(bench: Bench, uses: Sequence[Use]) -> Bench:
    """The bench as it were had these readings been taken with these instruments, by the table."""
    items = list(bench.items)
    for use in uses:
        for item in use.items:
            readings = dict(items[item].readings)
            if use.reading in readings:
                readings[use.reading] = _taken_with(readings[use.reading], use.instrument)
                items[item] = replace(items[item], readings=readings)
    return replace(bench, items=tuple(items))


def _taken_with(read: Read, instrument: str) -> Read:
    """The same values by another instrument: what was known of the one used is known no more.

    Nor is how many digits were typed: whoever reads it anew writes down all that the instrument shows.
    """
    values = {
        position: tuple(replace(value, text="") for value in each) for position, each in read.values.items()
    }
    return replace(
        read, values=values, instrument=instrument, limit_of_error=None, intervals={}, tool="", set_with=None
    )
