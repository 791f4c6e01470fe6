"""The work that reconditions an item: to what size, what to look at first, and why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from advisor.gauging import Gauged, RepairBand
from advisor.sheets.bench import Bench
from advisor.sheets.engine import EngineSheet, RepairSizes
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.answers import Barred, remedies
from advisor.verdicts.model import Ask, OperationToDo, Reason
from advisor.verdicts.words import Teller, plain


class Worker:
    """Knows the work that can be done on the items of one case."""

    def __init__(
        self, bench: Bench, gauged: Gauged, sheet: EngineSheet, ruleset: RuleSet, teller: Teller
    ) -> None:
        self._bench = bench
        self._sheet = sheet
        self._operations = ruleset.vocabulary.operations
        self._readings = ruleset.vocabulary.readings
        self._teller = teller
        self._bands: dict[tuple[int, str], RepairBand] = {
            (item, band.operation): band for band in gauged.bands for item in band.items
        }

    def band(self, index: int, operation: str) -> RepairBand | None:
        """The repair sizes that an operation would come to; None where the sheet lists none."""
        return self._bands.get((index, operation))

    def feasible(self, index: int, operation: str) -> bool | None:
        """Whether an operation can be done on an item; None where that hangs on what is not known."""
        if not self._operations[operation].repair_size:
            return True
        band = self.band(index, operation)
        return band.possible if band is not None else False

    def to_do(
        self, index: int, bars: Sequence[Barred], feasible: Mapping[str, bool | None]
    ) -> tuple[OperationToDo, ...]:
        """The work that takes every bar on reuse away."""
        return tuple(self._operation(index, name) for name in remedies(bars, feasible))

    def _operation(self, index: int, name: str) -> OperationToDo:
        operation = self._operations[name]
        band = self.band(index, name)
        sizes = tuple(self._teller.size(step, "length") for step in band.steps) if band is not None else ()
        return OperationToDo(
            name,
            operation.label,
            operation.done_by,
            sizes,
            tuple(operation.steps),
            tuple(operation.checks),
            operation.because,
            self._teller.cites(operation.cite),
        )

    def why_not(
        self, index: int, bars: Sequence[Barred], feasible: Mapping[str, bool | None]
    ) -> Iterator[Reason]:
        """Why the work that the bars name is no way out; nothing where recondition is ruled out outright."""
        certain = [bar for bar in bars if bar.certain]
        if any("recondition" in bar.answers for bar in certain):
            return
        against = [bar for bar in certain if "reuse" in bar.answers]
        named = dict.fromkeys(name for bar in against for name in bar.mend)
        for name in named:
            if feasible.get(name, True) is False:
                yield Reason("", self._no_size(index, name), (), (), "", "work")
        usable = [name for name in named if feasible.get(name, True) is not False]
        if usable and any(all(name not in usable for name in bar.mend) for bar in against):
            labels = ", ".join(self._operations[name].label for name in usable)
            yield Reason(
                "", f"No work takes all of it away. This alone would not: {labels}.", (), (), "", "work"
            )

    def _no_size(self, index: int, name: str) -> str:
        """No repair size serves: what is there, what must come off, and the last size listed."""
        says = f"Not possible: {self._operations[name].label}."
        band = self.band(index, name)
        part = self._sheet.parts[self._bench.items[index].key.kind]
        sizes = next((each for each in part.repair_sizes if each.operation == name), None)
        if band is None or sizes is None:
            return f"{says} The engine sheet lists no repair size for it."
        new = part.new[sizes.size].value
        step = max((each.value for each in sizes.steps), key=abs)
        last = f"the last listed size is {self._size(new + step)} ({self._size(step)})"
        if sizes.furthest is not None and abs(sizes.furthest.value - new) < abs(step):
            last += f", and nothing may go beyond {self._size(sizes.furthest.value)}"
        worst = self._worst(band, sizes, under=step < 0)
        return f"{says} No listed size cleans it up: {worst}{last}."

    def _worst(self, band: RepairBand, sizes: RepairSizes, *, under: bool) -> str:
        """The item of the set that lies furthest from new, and what must come off it; empty if not known."""
        found: list[tuple[Decimal, int, bool]] = []
        for index in (each for each in band.items if each not in band.missing):
            item = self._bench.items[index]
            if band.operation in item.cleans_up:
                found.append((item.cleans_up[band.operation], index, True))
            elif (read := item.readings.get(band.reading)) is not None:
                found += [(each.value, index, False) for taken in read.values.values() for each in taken]
        if not found:
            return ""
        value, index, indicated = (min if under else max)(found)
        key = self._bench.items[index].key
        where = f"{plain(key.kind)} {key.where}".strip()
        if indicated:
            return f"{where} would have to come to {self._size(value)}; "
        stock = self._size(sizes.stock.value)
        return f"{where} measures {self._size(value)} at worst, and {stock} must come off to clean it up; "

    def _size(self, value: Decimal) -> str:
        return self._teller.size(value, "length")

    def held(self, index: int, operations: Sequence[OperationToDo]) -> Iterator[str]:
        """Sizes that are still open although the work is settled."""
        for operation in operations:
            band = self.band(index, operation.operation)
            if band is None:
                continue
            if len(operation.sizes) > 1:
                yield (
                    f"size between {operation.sizes[0]} and {operation.sizes[-1]} until the machine shop "
                    "has set it up and shown on which side it is worn; order nothing to that size before"
                )
            if band.missing:
                places = ", ".join(self._bench.items[each].key.where for each in band.missing)
                yield f"size not settled: the set also holds {places}, not measured or of unknown repair size"


def look_before(ask: Ask, because: str, own: tuple[str, str, str]) -> str:
    """What to look at before an item (kind, place, tag) goes away: the same visit should mend it."""
    here = (ask.part, ask.place, ask.tag) == own
    where = "" if here else f"{plain(ask.part)} {ask.place}".strip() + ", "
    return f"before it goes to the machine shop, look at: {where}{ask.says} ({because.rstrip('.')})"
