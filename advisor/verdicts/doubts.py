"""Doubts in words: a size too close to its limit, what it would take to tell, and who has that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from advisor.gauging import Gauged
from advisor.gauging.doubt import Settling, Use, settling
from advisor.gauging.sources import sources
from advisor.sheets.bench import Bench
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Answer, Purpose
from advisor.verdicts.model import Ask, Doubt, WithInstrument
from advisor.verdicts.words import Teller, plain

SAFE_SIDE = "the safe side is to {}"


class Doubter:
    """Tells what would settle the doubts about one case."""

    def __init__(
        self, bench: Bench, gauged: Gauged, sheet: EngineSheet, ruleset: RuleSet, teller: Teller
    ) -> None:
        self._bench = bench
        self._gauged = gauged
        self._sheet = sheet
        self._ruleset = ruleset
        self._teller = teller
        self._known: dict[tuple[int, str, Purpose], Doubt | None] = {}

    def doubt(self, item: int, name: str, purpose: Purpose) -> Doubt | None:
        """The doubt about a dimension of an item against its limit for a purpose; None where none is."""
        key = (item, name, purpose)
        if key not in self._known:
            gauged = self._gauged.dimensions[item][name]
            found = settling(self._bench, self._sheet, self._ruleset, item, name, purpose, gauged)
            self._known[key] = None if found is None else self._told(item, name, purpose, found)
        return self._known[key]

    def _told(self, item: int, name: str, purpose: Purpose, found: Settling) -> Doubt:
        dimension = self._ruleset.vocabulary.dimensions[name]
        gauged = self._gauged.dimensions[item][name]
        limit = gauged.standings[purpose].limit
        assert gauged.measure is not None  # a doubt has both
        assert limit is not None
        key = self._bench.items[item].key
        alone = len(sources(self._bench, self._ruleset, item, name)) < 2
        doubt = Doubt(
            dimension=name,
            purpose=purpose,
            part=key.kind,
            place=key.where,
            tag=key.tag,
            label=dimension.label,
            value=self._teller.size(gauged.measure.value, dimension.quantity),
            limit=self._teller.limit(limit, dimension.quantity),
            uncertainty=self._teller.uncertainty(gauged.measure, dimension.quantity),
            needed=self._teller.spread(found.needed, dimension.quantity, at_most=True, share=found.share),
            ways=tuple(tuple(self._use(use, item, alone) for use in way) for way in found.ways),
            again=tuple(self._use(use, item, alone) for use in found.again),
            chance=round(100 * found.chance),
            safe_side="",
            settled_by_measuring=found.worth_measuring,
            says="",
        )
        return replace(doubt, says=_says(doubt))

    def _use(self, use: Use, own: int, alone: bool) -> WithInstrument:
        key = self._bench.items[use.items[0]].key
        label = self._ruleset.instruments[use.instrument].label
        says = label
        if not alone:
            where = "" if use.items[0] == own else f" of {plain(key.kind)} {key.where}".rstrip()
            says = f"{label} for {self._ruleset.vocabulary.readings[use.reading].label}{where}"
        if len(use.items) > 1:
            says = f"{label} on all {len(use.items)}"
        return WithInstrument(
            use.reading, key.kind, key.where if len(use.items) == 1 else "all", use.instrument, says
        )


def _says(doubt: Doubt) -> str:
    """The doubt and what it takes, after its label, as a sentence without its full stop."""
    has = f"± {doubt.uncertainty}" if doubt.uncertainty else "no stated uncertainty"
    head = (
        f"{doubt.value} ({has} at 95 %) is too close to the limit for {doubt.purpose} ({doubt.limit}) to tell"
    )
    takes = f"it takes ± {doubt.needed} or better" if doubt.needed else "it lies on the limit itself"
    if doubt.ways:
        return f"{head}; {takes}"
    if doubt.settled_by_measuring:
        sure = f"{takes}, which no listed instrument has" if doubt.needed else takes
        return (
            f"{head}; {sure}, but a new reading with the most exact ones falls clear of the limit in about "
            f"{doubt.chance} of 100 cases"
        )
    return f"{head}, and no listed instrument can: {takes}"


def asked_again(doubt: Doubt, because: str, rule: str) -> Ask:
    """The ask to measure again, with what comes so far."""
    return Ask(
        doubt.dimension,
        "dimension",
        doubt.part,
        doubt.place,
        f"{doubt.label} again, more exactly and with every digit that shows: {doubt.says}",
        because,
        rule,
        instruments(doubt),
        doubt.tag,
    )


def instruments(doubt: Doubt) -> tuple[str, ...]:
    """What to measure again with, each way once."""
    ways = doubt.ways or ((doubt.again,) if doubt.again else ())
    return tuple(dict.fromkeys(" and ".join(use.says for use in way) for way in ways))


def on_the_safe_side(doubt: Doubt, answer: Answer) -> Doubt:
    """The same doubt with the answer that stands if the size is taken to lie beyond its limit."""
    if doubt.settled_by_measuring:
        return replace(doubt, safe_side=answer)
    return replace(doubt, safe_side=answer, says=f"{doubt.says}; {SAFE_SIDE.format(answer)}")


def distinct_doubts(found: Iterable[Doubt]) -> tuple[Doubt, ...]:
    """Each doubt once, with the first safe side given, in a fixed order."""
    first: dict[tuple[str, str, str, str, str], Doubt] = {}
    for doubt in found:
        key = (doubt.part, doubt.place, doubt.tag, doubt.dimension, doubt.purpose)
        if key not in first or doubt.safe_side < first[key].safe_side:
            first[key] = doubt
    return tuple(first[key] for key in sorted(first))


def notes(doubts: Sequence[Doubt], part: str, place: str, tag: str) -> Iterator[str]:
    """What no instrument can tell, said as a note on the item whose answer hangs on it."""
    for doubt in doubts:
        if doubt.settled_by_measuring:
            continue
        own = (doubt.part, doubt.place, doubt.tag) == (part, place, tag)
        says = f"{doubt.label}: {doubt.says}"
        yield says if own else f"{plain(doubt.part)} {doubt.place}: {says}"
