"""The work that reconditions an item: to what size, what to look at first, and why it cannot be done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from advisor.gauging import RepairBand
from advisor.gauging.figures import Lack
from advisor.gauging.work import Workshop
from advisor.sheets.engine import RepairSizes
from advisor.sheets.vocabulary import Purpose
from advisor.verdicts.answers import Barred, remedies
from advisor.verdicts.model import Ask, OperationToDo, Reason
from advisor.verdicts.words import Teller, plain


class Worker:
    """Knows the work that can be done on the items of one case."""

    def __init__(self, workshop: Workshop, teller: Teller) -> None:
        self._workshop = workshop
        self._bench = workshop.bench
        self._sheet = workshop.sheet
        self._operations = workshop.ruleset.vocabulary.operations
        self._teller = teller

    def band(self, index: int, operation: str) -> RepairBand | None:
        """The repair sizes that an operation would come to; None where the sheet lists none."""
        return self._workshop.band(index, operation)

    def feasible(self, index: int, operation: str) -> bool | None:
        """Whether an operation can be done on an item; None where that hangs on what is not known."""
        return self._workshop.feasible(index, operation)

    def lacks(self, index: int, operation: str) -> tuple[Lack, ...]:
        """What an operation hangs on, and nobody has measured, or not closely enough."""
        return self._workshop.facts(index, operation).lacks

    def why_open(
        self, index: int, bars: Sequence[Barred], feasible: Mapping[str, bool | None]
    ) -> Iterator[str]:
        """For work that the bars name, where nobody can tell whether it can be done: what that hangs on."""
        names = dict.fromkeys(name for bar in bars if "reuse" in bar.answers for name in bar.mend)
        for name in names:
            if feasible.get(name, True) is not None:
                continue
            facts = self._workshop.facts(index, name)
            hangs = [*facts.why_open(self._sheet.units), *(self._lacking(each) for each in facts.lacks)]
            if hangs:
                yield f"whether it can be done ({self._operations[name].label}) hangs on: {'; '.join(hangs)}"

    def _lacking(self, lack: Lack) -> str:
        vocabulary = self._workshop.ruleset.vocabulary
        declared = vocabulary.dimensions if lack.name in vocabulary.dimensions else vocabulary.readings
        key = self._bench.items[lack.item].key
        return f"{declared[lack.name].label} of {plain(key.kind)} {key.where}".rstrip()

    def purpose(self, lack: Lack, operation: str) -> Purpose | None:
        """The limit that what is lacking is held against before the work; None where it is a size alone."""
        work = self._sheet.parts[self._bench.items[lack.item].key.kind].work.get(operation)
        return None if work is None else work.needs.get(lack.name)

    def to_do(
        self, index: int, bars: Sequence[Barred], feasible: Mapping[str, bool | None]
    ) -> tuple[OperationToDo, ...]:
        """The work that takes every bar on reuse away, in the order in which the vocabulary declares it."""
        chosen = remedies(bars, feasible)
        return tuple(self._operation(index, name) for name in self._operations if name in chosen)

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
            self._workshop.facts(index, name).lines(self._sheet.units),
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
                yield Reason("", self._cannot(index, name), (), (), "", "work")
        usable = [name for name in named if feasible.get(name, True) is not False]
        if usable and any(all(name not in usable for name in bar.mend) for bar in against):
            labels = ", ".join(self._operations[name].label for name in usable)
            yield Reason(
                "", f"No work takes all of it away. This alone would not: {labels}.", (), (), "", "work"
            )

    def _cannot(self, index: int, name: str) -> str:
        """Why an operation cannot be done: what stands against it, or that no repair size serves."""
        against = self._workshop.facts(index, name).against
        if not against:
            return self._no_size(index, name)
        return f"Not possible: {self._operations[name].label}, {'; '.join(against)}."

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
            if band.run_outs:
                shafts = ", ".join(
                    f"{plain(self._bench.items[each].key.kind)} {self._bench.items[each].key.where}".strip()
                    for each in band.run_outs
                )
                yield (
                    f"size not settled: the run-out of {shafts} is not measured, and "
                    "the same cut takes it out"
                )
            if band.missing:
                places = ", ".join(self._bench.items[each].key.where for each in band.missing)
                yield f"size not settled: the set also holds {places}, not measured or of unknown repair size"


def look_before(ask: Ask, because: str, own: tuple[str, str, str]) -> str:
    """What to look at before an item (kind, place, tag) goes away: the same visit should mend it."""
    here = (ask.part, ask.place, ask.tag) == own
    where = "" if here else f"{plain(ask.part)} {ask.place}".strip() + ", "
    return f"before it goes to the machine shop, look at: {where}{ask.says} ({because.rstrip('.')})"
