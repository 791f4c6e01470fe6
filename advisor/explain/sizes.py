"""What gauging made of a case, told item by item: each size with its uncertainty, limits and repair sizes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from typing import Final

from advisor.gauging import GaugedDimension, LimitStanding, RepairBand, gauge
from advisor.gauging.doubt import sources
from advisor.gauging.errors import budget_of
from advisor.gauging.lasting import Running
from advisor.gauging.measure import WORKING, Measure
from advisor.sheets.bench import Bench
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.laying import lay_out
from advisor.sheets.places import Document
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import PURPOSES, Purpose
from advisor.verdicts.doubts import Doubter
from advisor.verdicts.model import Doubt, QuestionedReading, WearForecast
from advisor.verdicts.wear import forecasts
from advisor.verdicts.words import Teller, difference_of

_TWO_FIGURES: Final = Context(prec=2)
_NOTHING: Final = Decimal("1e-9")
"""A share of a variance that is none."""
_HALF_A_PERCENT: Final = Decimal("0.005")
"""Below it, a share is told as under 1 %."""

NOT_NAMED: Final = "instrument not named: the least exact that serves is assumed"


@dataclass(frozen=True, slots=True)
class LimitSize:
    """A dimension against the limit for one purpose; sizes in words, in both systems of units."""

    purpose: Purpose
    limit: str
    standing: str
    """inside, above, below, in doubt, or why it cannot be told."""
    margin: str
    limit_from: str
    doubt: Doubt | None


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """A reading that a dimension rests on."""

    reading: str
    label: str
    places: tuple[str, ...]
    """The items it was taken on."""
    instrument: str


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """What one source of error has in an uncertainty."""

    name: str
    uncertainty: str
    """Its standard uncertainty in the size; empty where a cause that both sides share cancels."""
    share: str
    """Its share of the variance."""
    how: str
    """Where the figure comes from, for a length, in mm."""


@dataclass(frozen=True, slots=True)
class Contradicting:
    """Two ways to know one thing that cannot both be right."""

    one: str
    one_from: str
    other: str
    other_from: str
    apart: str
    """How far they lie apart, beyond what may lie between them."""
    because: str


@dataclass(frozen=True, slots=True)
class DimensionSize:
    """One dimension of an item."""

    dimension: str
    label: str
    size: str
    """Empty where there is none; `state` says why."""
    uncertainty: str
    """What stands after ± at 95 %."""
    may_grow: str
    """Which way readings that are missing may move it: up, down, or empty."""
    state: str
    lacks: str
    contradictions: tuple[Contradicting, ...]
    """Ways to work it out that cannot all be right; then there is no size."""
    readings: tuple[ReadingTaken, ...]
    limits: tuple[LimitSize, ...]
    forecast: WearForecast | None
    budget: tuple[BudgetLine, ...]
    """The greatest first."""
    note: str


@dataclass(frozen=True, slots=True)
class RepairSize:
    """What an operation to a listed size would come to for the set that an item belongs to."""

    operation: str
    says: str
    sizes: tuple[str, ...]
    """From the one that suffices for even wear to the one that is needed if all of it is on one side."""
    needs: tuple[str, ...]
    """How far from new the set must go: with even wear, and with wear on one side."""
    walls: tuple[str, ...]
    """Places of which nobody can say whether the wall stands it."""
    feasible: bool | None
    label: str
    places: tuple[str, ...]
    """The set that one size must serve."""
    decided_by: str
    """The place that decides the size; empty where nothing is measured."""
    missing: tuple[str, ...]
    """Places that are not measured, or whose found size is not known."""


@dataclass(frozen=True, slots=True)
class ItemSizes:
    """Everything that gauging made of one item."""

    part: str
    place: str
    tag: str
    origin: str
    label: str
    assembly: str
    opened: bool
    found_size: str
    """The repair size that it arrived with; empty where nobody read it."""
    standard: bool
    """Whether that is the standard size."""
    dimensions: tuple[DimensionSize, ...]
    questions: tuple[QuestionedReading, ...]
    repair_sizes: tuple[RepairSize, ...]

    @property
    def measured(self) -> tuple[DimensionSize, ...]:
        """The dimensions that have a size, or something to be said of theirs."""
        return tuple(each for each in self.dimensions if each.size or each.contradictions)


def sizes(
    case: CaseSheet,
    sheet: EngineSheet,
    rules: RuleSet,
    *,
    document: Document | None = None,
    both: bool = True,
) -> tuple[ItemSizes, ...]:
    """Gauge every item on the bench, and tell what came of it. Raises `Faults` as `decide` does.

    `both` tells sizes in both systems of units, the engine sheet's own first.
    """
    bench = lay_out(sheet, case, rules, document)
    return _Sizer(case, bench, sheet, rules, both=both).items()


class _Sizer:
    def __init__(
        self, case: CaseSheet, bench: Bench, sheet: EngineSheet, rules: RuleSet, *, both: bool
    ) -> None:
        self._bench = bench
        self._rules = rules
        self._sheet = sheet
        self._gauged = gauge(bench, sheet, rules)
        self._teller = Teller(bench, self._gauged, sheet, rules, both=both)
        self._doubter = Doubter(bench, self._gauged, sheet, rules, self._teller)
        hours, wanted = case.hours, case.hours_wanted
        self._running = Running.of(hours.value if hours else None, wanted.value if wanted else None)

    def items(self) -> tuple[ItemSizes, ...]:
        with localcontext(WORKING):
            return tuple(self._item(index) for index in range(len(self._bench.items)))

    def _item(self, index: int) -> ItemSizes:
        item = self._bench.items[index]
        key, kind = item.key, self._rules.vocabulary.kinds[item.key.kind]
        gauged = self._gauged.dimensions[index]
        lasts: dict[str, WearForecast] = {}
        if self._running is not None:
            told = forecasts(self._bench, self._rules, self._teller, index, gauged, self._running)
            lasts = {each.dimension: each for each in told}
        return ItemSizes(
            part=key.kind,
            place=key.where,
            tag=key.tag,
            origin=key.origin,
            label=kind.label,
            assembly=kind.assembly,
            opened=item.opened,
            found_size="" if item.found_size is None else self._teller.size(item.found_size, "length"),
            standard=item.found_size is not None and not item.found_size,
            dimensions=tuple(
                self._dimension(index, name, each, lasts.get(name)) for name, each in gauged.items()
            ),
            questions=tuple(
                QuestionedReading(each.reading, each.positions, each.says, each.do, each.stamp)
                for each in self._gauged.questions.get(index, ())
            ),
            repair_sizes=tuple(self._band(band) for band in self._gauged.bands if index in band.items),
        )

    def _dimension(
        self, index: int, name: str, gauged: GaugedDimension, forecast: WearForecast | None
    ) -> DimensionSize:
        dimension = self._rules.vocabulary.dimensions[name]
        measure = gauged.measure
        return DimensionSize(
            dimension=name,
            label=dimension.label,
            size="" if measure is None else self._teller.size(measure.value, dimension.quantity),
            uncertainty="" if measure is None else self._teller.uncertainty(measure, dimension.quantity),
            may_grow="" if measure is None else measure.may_grow,
            state=gauged.state or "",
            lacks=gauged.lacks,
            contradictions=tuple(
                Contradicting(
                    self._teller.size(each.one.value, dimension.quantity),
                    each.one_from,
                    self._teller.size(each.other.value, dimension.quantity),
                    each.other_from,
                    self._teller.size(each.apart, difference_of(dimension.quantity)),
                    each.because,
                )
                for each in gauged.contradictions
            ),
            readings=tuple(self._readings(index, name)) if measure is not None else (),
            limits=tuple(
                self._limit(index, name, purpose, gauged, gauged.standings[purpose])
                for purpose in PURPOSES
                if gauged.standings[purpose].limit is not None
            ),
            forecast=forecast,
            budget=() if measure is None else tuple(self._budget(measure, dimension.quantity)),
            note=dimension.note,
        )

    def _budget(self, measure: Measure, quantity: str) -> Iterator[BudgetLine]:
        for line in budget_of(measure, "", "").lines():
            # What is left where a shared cause cancels is rounding of a root, not a spread.
            left = line.share >= _NOTHING
            shown = self._teller.size(_TWO_FIGURES.plus(line.contribution), difference_of(quantity))
            # Spreads are told in base units, which nobody types but for a length.
            how = dict.fromkeys(part.how for part in line.parts if part.how and quantity == "length")
            yield BudgetLine(
                line.name,
                shown if left else "",
                f"{100 * line.share:.0f} %" if line.share >= _HALF_A_PERCENT or not left else "under 1 %",
                "; ".join(how),
            )

    def _readings(self, index: int, name: str) -> Iterator[ReadingTaken]:
        for items, reading in sources(self._bench, self._rules, index, name):
            read = self._bench.items[items[0]].readings[reading]
            instrument = NOT_NAMED
            if read.instrument is not None:
                instrument = self._rules.instruments[read.instrument].label
            if read.limit_of_error is not None:
                told = f"by its certificate to {read.limit_of_error.text}"
                instrument = told if read.instrument is None else f"{instrument}, {told}"
            yield ReadingTaken(
                reading,
                self._rules.vocabulary.readings[reading].label,
                tuple(self._name(each) for each in items if each != index),
                instrument,
            )

    def _name(self, index: int) -> str:
        key = self._bench.items[index].key
        return f"{self._rules.vocabulary.kinds[key.kind].label} {key.where}".rstrip()

    def _limit(
        self, index: int, name: str, purpose: Purpose, gauged: GaugedDimension, stands: LimitStanding
    ) -> LimitSize:
        quantity = self._rules.vocabulary.dimensions[name].quantity
        limit = stands.limit
        assert limit is not None  # told only where there is one
        if len(stands.outcomes) == 1:
            (standing,) = stands.outcomes
        else:
            standing = stands.state or "in doubt"  # type: ignore[assignment]
        measured = gauged.measure is not None
        return LimitSize(
            purpose=purpose,
            limit=self._teller.limit(limit, quantity),
            standing=standing,
            margin=self._teller.margin(gauged, limit, quantity) if measured else "",
            limit_from=self._teller.limit_from(limit),
            doubt=self._doubter.doubt(index, name, purpose),
        )

    def _band(self, band: RepairBand) -> RepairSize:
        return RepairSize(
            operation=band.operation,
            says=self._rules.vocabulary.operations[band.operation].label,
            sizes=tuple(self._teller.size(step, "length") for step in band.steps),
            needs=()
            if band.needs is None
            else tuple(self._teller.size(each, "length") for each in band.needs),
            walls=tuple(self._bench.items[each].key.where for each in band.walls),
            feasible=band.possible,
            label=self._rules.vocabulary.kinds[band.kind].label,
            places=tuple(self._bench.items[each].key.where for each in band.items),
            decided_by="" if band.worst is None else self._bench.items[band.worst].key.where,
            missing=tuple(self._bench.items[each].key.where for each in band.missing),
        )
