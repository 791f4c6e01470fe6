"""Tolerances that no instrument of the rule set can prove, found before anybody measures anything.

Where a tolerance is so narrow against the uncertainty of the best instrument that even a size in its very
middle is in doubt, every part will be in doubt (ASME B89.7.3.1 calls for a rule for that case beforehand).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from typing import Final

from advisor.gauging.doubt import Use, needed, with_instruments
from advisor.gauging.gauge import _Gauger, _plan_of, _Planned
from advisor.gauging.limits import ResolvedLimit
from advisor.gauging.measure import WORKING, Measure
from advisor.gauging.sources import SourceRead, read_by, values_of
from advisor.gauging.spread import share_of
from advisor.gauging.standing import standing
from advisor.sheets.bench import Bench, Read
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet, Limit
from advisor.sheets.laying import lay_out
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Formula, Operator
from advisor.units import Quantity, read_quantity

NEVER_BELOW_NOTHING: Final[frozenset[Operator]] = frozenset(
    (
        *("value", "largest", "smallest", "mean", "spread", "out_of_round", "taper", "mean_taper"),
        *("flatness", "flatness_least_squares", "off_new", "set_spread", "set_spread_share"),
    )
)
"""Operators whose result cannot be negative where the quantity itself cannot."""

_DIRECT: Final[frozenset[Operator]] = frozenset(("value", "largest", "smallest", "mean"))
"""Operators that give the reading itself."""

_AT_BEST: Final = read_quantity("20 °C", "temperature")
"""How warm it is where the best is made of an instrument."""

_SIGNED: Final = frozenset(("temperature", "temperature_difference", "slope", "angle"))


@dataclass(frozen=True, slots=True)
class Unprovable:
    """A limit of an engine sheet that no listed instrument can show to be kept."""

    part: str
    index: int
    """Which of the part's limits."""
    limit: Limit
    best: Decimal
    """The least standard uncertainty that the listed instruments give, in base units."""
    needed: Decimal
    """The largest that would do."""
    share: Decimal
    """What the largest rectangular source has of the variance, for both."""
    instruments: tuple[str, ...]
    """Those that give it."""


def unprovable(sheet: EngineSheet, ruleset: RuleSet) -> Iterator[Unprovable]:
    """Every limit on an engine sheet that is held with an uncertainty, and cannot be proved with any.

    A discard limit holds a margin of its own and is looked at only for parts whose class guards it.
    """
    empty = CaseSheet.model_validate({"format": "1", "case": "none", "engine_sheet": "none"})
    bench = lay_out(sheet, empty, ruleset)
    plan = _plan_of(sheet, ruleset)
    first = {item.key.kind: index for index, item in reversed(list(enumerate(bench.items)))}
    for kind, part in sheet.parts.items():
        planned = {each.name: each for each in plan.planned(kind)}
        best: dict[str, tuple[Measure, tuple[Use, ...]] | None] = {}
        for number, limit in enumerate(part.limits):
            each = planned[limit.dimension]
            resolved, confidence = each.limits[limit.purpose], each.confidence[limit.purpose]
            middle = _middle(resolved, each) if resolved is not None and confidence.guarded else None
            if middle is None or resolved is None:
                continue
            if each.name not in best:
                best[each.name] = _best(bench, sheet, ruleset, first[kind], each, middle)
            found = best[each.name]
            if found is None:
                continue
            measure, uses = found
            at_best = replace(measure, value=middle, may_grow="")
            if standing(at_best, resolved.at_least, resolved.at_most, confidence) != frozenset(("inside",)):
                with localcontext(WORKING):
                    u = measure.variance.sqrt()
                names = tuple(dict.fromkeys(use.instrument for use in uses))
                share = share_of(measure)
                takes = needed(middle, resolved, confidence, share)
                yield Unprovable(kind, number, limit, u, takes, share, names)


def _middle(limit: ResolvedLimit, planned: _Planned) -> Decimal | None:
    """The size that is surest to lie inside; None where a size as far inside as one likes is possible."""
    if limit.at_most is None:
        return None
    if limit.at_least is not None:
        return (limit.at_most + limit.at_least) / 2
    dimension = planned.dimension
    operators = {formula.operator for formula in dimension.formulas}
    if dimension.quantity in _SIGNED or not operators <= NEVER_BELOW_NOTHING:
        return None
    return Decimal(0)


def _best(
    bench: Bench, sheet: EngineSheet, ruleset: RuleSet, index: int, planned: _Planned, middle: Decimal
) -> tuple[Measure, tuple[Use, ...]] | None:
    """The measure with the least variance that any way of working it out and any instruments give."""
    best: tuple[Measure, tuple[Use, ...]] | None = None
    plan = _plan_of(sheet, ruleset)
    for formula in planned.dimension.formulas:
        read = read_by(bench, index, formula)
        if not read:
            continue
        laid = _with_new_sizes(bench, sheet, ruleset, read, middle, formula)
        uses: list[Use] = []
        for items, reading in read:
            least = _least_limit(laid, ruleset, items[0], reading)
            if least is not None:
                uses.append(Use(items, reading, least))
        if len(uses) < len(read):
            continue
        dimension = replace(planned, dimension=planned.dimension.model_copy(update={"formulas": [formula]}))
        measure = _Gauger(with_instruments(laid, uses), plan).dimension(index, dimension).measure
        if measure is not None and (best is None or measure.variance < best[0].variance):
            best = measure, tuple(uses)
    return best


def _least_limit(bench: Bench, ruleset: RuleSet, item: int, reading: str) -> str | None:
    """The most exact of the instruments listed for a reading whose range holds its size."""
    sizes = values_of(bench, item, reading)
    fitting = [
        name
        for name in ruleset.vocabulary.readings[reading].instruments
        if all(map(ruleset.instruments[name].spans, sizes))
    ]
    return min(fitting, key=lambda name: ruleset.instruments[name].limit.value, default=None)


def _with_new_sizes(
    bench: Bench,
    sheet: EngineSheet,
    ruleset: RuleSet,
    read: list[SourceRead],
    middle: Decimal,
    formula: Formula,
) -> Bench:
    """The bench with a new part's sizes at every position of some readings, as far as the sheet gives them.

    Of a pair, the one without a size has that of its fellow; what is read directly has the size looked for.
    """
    known = [sheet.parts[bench.items[items[0]].key.kind].new.get(reading) for items, reading in read]
    given = next((each.value for each in known if each is not None), None)
    laid = list(bench.items)
    for (items, reading), new in zip(read, known, strict=True):
        kind = ruleset.vocabulary.readings[reading]
        value = new.value if new is not None else given
        if value is None:
            value = middle if formula.operator in _DIRECT else Decimal(0)
        values = dict.fromkeys(kind.positions(), (Quantity(value, kind.quantity),))
        for item in items:
            readings = {**laid[item].readings, reading: Read(values, None, "clean", shop_at=_AT_BEST)}
            laid[item] = replace(laid[item], readings=readings, found_size=Decimal(0))
    return replace(bench, items=tuple(laid))
