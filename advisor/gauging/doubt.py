"""What would settle a doubt: the uncertainty it takes, and which instruments of the rule set have it.

A size is in doubt where it lies too close to a limit for its uncertainty. The same size read with a small
enough one is not. Which instrument has that is found by gauging the item anew, all else as it is: so
whatever enters an uncertainty enters here as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Context, Decimal, localcontext
from itertools import product
from statistics import NormalDist
from typing import Final, Protocol, TypeAlias

from advisor.gauging.gauge import GaugedDimension, _Gauger, _plan_of
from advisor.gauging.limits import ResolvedLimit
from advisor.gauging.measure import WORKING, Measure
from advisor.gauging.standing import Confidence, standing
from advisor.sheets.bench import Bench, Read
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import OVER_A_SET, Formula, Purpose

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


def needed(value: Decimal, limit: ResolvedLimit, confidence: Confidence) -> Decimal:
    """The largest standard uncertainty at which `value` is not in doubt against a limit, rounded down.

    Distance over deviate, |value - limit| / z, for the side that decides; less where both sides of a narrow
    limit take their part of the probability.
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
        deviate = Decimal(round(NormalDist().inv_cdf(float(probability)), 6))
        most = _DOWN.divide(abs(min(outside or margins)), deviate)
        if _settles(value, most, limit, confidence):
            return most
        least = Decimal(0)
        for _ in range(_HALVINGS):
            middle = (least + most) / 2
            least, most = (middle, most) if _settles(value, middle, limit, confidence) else (least, middle)
        return _DOWN.plus(least)


def _settles(value: Decimal, u: Decimal, limit: ResolvedLimit, confidence: Confidence) -> bool:
    return len(standing(Measure(value, u * u), limit.at_least, limit.at_most, confidence)) == 1


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
    enough = needed(measure.value, limit, confidence)
    used = sources(bench, ruleset, index, name)
    choices = {source: tuple(_fitting(bench, ruleset, *source)) for source in used}

    def variance(uses: Sequence[Use]) -> Decimal | None:
        again = _Gauger(with_instruments(bench, uses), plan).dimension(index, planned)
        return None if again.measure is None else again.measure.variance

    with localcontext(WORKING):
        ways = tuple(_ways(choices, variance, enough * enough))
        if ways:
            return Settling(enough, ways, (), 1.0)
        best: tuple[Decimal, tuple[Use, ...]] | None = None
        for uses in product(*choices.values()):
            found = variance(uses)
            if found is not None and found < measure.variance and (best is None or found < best[0]):
                best = found, uses
        if best is None:
            return Settling(enough, (), (), 0.0)
        return Settling(enough, (), best[1], _chance(measure, best[0], limit, confidence))


class _Variance(Protocol):
    """The variance of the size, had some readings been taken with these instruments."""

    def __call__(self, uses: Sequence[Use], /) -> Decimal | None: ...


def _ways(
    choices: Mapping[SourceRead, tuple[Use, ...]], variance: _Variance, most: Decimal
) -> Iterator[tuple[Use, ...]]:
    """Single readings that suffice when taken anew; where there are none, all of them together."""
    if not most:
        return
    found = False
    for uses in choices.values():
        for use in uses:
            got = variance((use,))
            if got is not None and got <= most:
                found = True
                yield (use,)
    if found or len(choices) < 2:
        return
    for together in product(*choices.values()):
        got = variance(together)
        if got is not None and got <= most:
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


SourceRead: TypeAlias = tuple[tuple[int, ...], str]
"""The items on which a reading is taken, and the reading."""


def sources(bench: Bench, ruleset: RuleSet, index: int, name: str) -> list[SourceRead]:
    """What a dimension was worked out from: the readings of the first formula for which all are there."""
    for formula in ruleset.vocabulary.dimensions[name].formulas:
        found = [
            (tuple(item for item in items if _values(bench, item, reading)), reading)
            for items, reading in read_by(bench, index, formula)
        ]
        if found and all(items for items, _ in found):
            return found
    return []


def read_by(bench: Bench, index: int, formula: Formula) -> list[SourceRead]:
    """The items and readings that a formula wants; empty where a related item is not there or not one."""
    if formula.reading is not None:
        found: list[SourceRead] = [(_looked_at(bench, index, formula), formula.reading)]
        return [*found, ((index,), formula.over)] if formula.over is not None else found
    found = []
    for source in (formula.outer, formula.inner):
        assert source is not None  # the model holds that both are given
        where = index
        for relation, kind in source.on.items():
            linked = [
                other
                for other in bench.links.get(relation, {}).get(index, ())
                if bench.items[other].key.kind == kind
            ]
            if len(linked) != 1:
                return []
            where = linked[0]
        found.append(((where,), source.reading))
    return found


def _looked_at(bench: Bench, index: int, formula: Formula) -> tuple[int, ...]:
    """The item, or the like items of its set where the formula looks at those together."""
    if formula.operator not in OVER_A_SET:
        return (index,)
    kind = bench.items[index].key.kind
    among: Iterable[int] = range(len(bench.items))
    if formula.among is not None:
        groups = bench.sets.get(formula.among, ())
        among = next((group for group in groups if index in group), (index,))
    return tuple(other for other in among if bench.items[other].key.kind == kind)


def _values(bench: Bench, item: int, reading: str) -> list[Decimal]:
    read = bench.items[item].readings.get(reading)
    return [] if read is None else [each.value for values in read.values.values() for each in values]


def _fitting(bench: Bench, ruleset: RuleSet, items: tuple[int, ...], reading: str) -> Iterator[Use]:
    """The instruments listed for a reading that reach as far as the size that was read."""
    largest = max(value for item in items for value in _values(bench, item, reading))
    for name in ruleset.vocabulary.readings[reading].instruments:
        instrument = ruleset.instruments[name]
        if instrument.up_to is None or largest <= instrument.up_to.value:
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
    """The same values by another instrument: what was known of the one used is known no more."""
    return replace(read, instrument=instrument, limit_of_error=None, intervals={}, tool="", set_with=None)
