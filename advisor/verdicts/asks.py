"""What to look at next: the evidence that an answer still hangs on, found by following what is open."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.chain.run import Firings, UsedFact
from advisor.gauging import FOUND_SIZE, Gauged
from advisor.sheets.bench import Bench, Read
from advisor.sheets.conditions import Absent, EvidenceIs, Found, HasConcern, HasProperty, Related, Stands
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Purpose
from advisor.verdicts.doubts import Doubter, asked_again
from advisor.verdicts.model import Ask, Doubt


class Asker:
    """Follows firings that are possible but not certain down to what nobody has looked at."""

    def __init__(
        self,
        bench: Bench,
        gauged: Gauged,
        sheet: EngineSheet,
        ruleset: RuleSet,
        firings: Firings,
        doubter: Doubter,
    ) -> None:
        self._bench = bench
        self._gauged = gauged
        self._sheet = sheet
        self._ruleset = ruleset
        self._firings = firings
        self._doubter = doubter
        self._concluding: dict[tuple[str, int], list[int]] = {}
        """Rules that may conclude a concern about an item and do not for certain."""
        for rule, item, certain in firings:
            if not certain and (rule, item, True) not in firings:
                for concern in ruleset.rules[rule].then.concern:
                    self._concluding.setdefault((concern, item), []).append(rule)

    def under(self, rule: int, item: int, because: str) -> Iterator[Ask | Doubt]:
        """Asks that could settle whether a rule fires on an item, and sizes too close to a limit to tell."""
        seen: set[tuple[int, int]] = set()
        waiting = [(rule, item)]
        while waiting:
            here = waiting.pop()
            if here in seen:
                continue
            seen.add(here)
            for fact in self._firings.get((*here, False), frozenset()):
                yield from self._fact(fact, rule, because)
                waiting += self._below(fact)

    def _below(self, fact: UsedFact) -> list[tuple[int, int]]:
        """The rules whose firing would settle a concern or its absence."""
        leaf, item = fact
        if isinstance(leaf, HasConcern):
            return [(rule, item) for rule in self._concluding.get((leaf.concern, item), ())]
        if isinstance(leaf, Absent):
            if isinstance(leaf.of, HasConcern):
                return [(rule, item) for rule in self._concluding.get((leaf.of.concern, item), ())]
            return [
                (rule, other)
                for other in self._related(leaf.of, item)
                for rule in self._concluding.get((_concern(leaf.of), other), ())
            ]
        return []

    def _related(self, of: Related, item: int) -> list[int]:
        if of.relation == "anywhere":
            others = range(len(self._bench.items))
        else:
            others = self._bench.links.get(of.relation, {}).get(item, ())  # type: ignore[assignment]
        return [other for other in others if other != item and self._bench.items[other].key.kind == of.kind]

    def _fact(self, fact: UsedFact, rule: int, because: str) -> Iterator[Ask | Doubt]:
        leaf, item = fact
        rule_id = self._ruleset.rules[rule].id
        match leaf:
            case Found(finding=name):
                yield from self.finding(name, item, because, rule_id)
            case Stands(dimension, purpose, _):
                yield from self.dimension(dimension, _purpose(purpose), item, because, rule_id)
            case EvidenceIs(name, purpose, _) if name in self._ruleset.vocabulary.findings:
                yield from self.finding(name, item, because, rule_id)
            case EvidenceIs(name, purpose, _):
                yield from self.dimension(name, _purpose(purpose), item, because, rule_id)
            case HasProperty(name, _):
                if self._bench.items[item].properties.get(name) is None:
                    key = self._bench.items[item].key
                    label = name.replace("_", " ")
                    says = f"what it is made of or treated with ({label}): see the maker's manual"
                    yield Ask(name, "limit", key.kind, key.where, says, because, rule_id, tag=key.tag)

    def finding(self, name: str, item: int, because: str, rule: str) -> Iterator[Ask]:
        """Ask for a finding, unless it is settled."""
        bench_item = self._bench.items[item]
        seen = bench_item.findings.get(name)
        if seen is not None and seen.extent is not None:
            return
        finding = self._ruleset.vocabulary.findings[name]
        key = bench_item.key
        if seen is not None and seen.state in ("lost", "could not be judged"):
            return
        yield Ask(
            name,
            "finding",
            key.kind,
            key.where,
            f"{finding.label}: {finding.look}",
            because,
            rule,
            tag=key.tag,
        )

    def dimension(
        self, name: str, purpose: Purpose | None, item: int, because: str, rule: str
    ) -> Iterator[Ask | Doubt]:
        """Ask for a dimension (against the limit for `purpose`), unless it is settled.

        Where it is in doubt, that is told, and it is asked for again only where measuring is likely to tell.
        """
        bench_item = self._bench.items[item]
        key = bench_item.key
        dimension = self._ruleset.vocabulary.dimensions[name]
        gauged = self._gauged.dimensions[item][name]
        if gauged.state in ("lost", "could not be judged"):
            return
        standing = gauged.standings.get(purpose) if purpose is not None else None
        if gauged.measure is None or gauged.lacks:
            if gauged.lacks == FOUND_SIZE:
                yield Ask(
                    "found_size", "found size", key.kind, key.where, _FOUND_SIZE, because, rule, tag=key.tag
                )
                return
            lacks = f" ({gauged.lacks})" if gauged.lacks else ""
            says = f"{dimension.label}{lacks}"
            yield Ask(
                name,
                "dimension",
                key.kind,
                key.where,
                says,
                because,
                rule,
                self._instruments(name, key.kind),
                key.tag,
            )
        elif standing is not None and standing.limit is None:
            says = f"a limit for {dimension.label} ({purpose}): the maker's manual"
            yield Ask(name, "limit", key.kind, key.where, says, because, rule, tag=key.tag)
        elif purpose is not None:
            doubt = self._doubter.doubt(item, name, purpose)
            if doubt is not None:
                yield doubt
                if doubt.settled_by_measuring:
                    yield asked_again(doubt, because, rule)

    def size(
        self, item: int, reading: str, because: str, work: str, *, measure: bool = True
    ) -> Iterator[Ask]:
        """Ask for what is missing to find an item's repair size: the one it has, and its measure."""
        bench_item = self._bench.items[item]
        key = bench_item.key
        read = bench_item.readings.get(reading)
        if read is not None and read.state in ("lost", "could not be judged"):
            yield self.worn_side(item, because, work)
            return
        if bench_item.found_size is None:
            yield Ask("found_size", "found size", key.kind, key.where, _FOUND_SIZE, because, tag=key.tag)
        whole = read is not None and self._complete(read, reading)
        if not measure or (whole and bench_item.found_size is None):
            return
        kind = self._ruleset.vocabulary.readings[reading]
        labels = self._labels(self._fitting(reading, key.kind))
        says = f"{kind.label}, at every position: one size must serve the whole set"
        if whole:
            says = f"{kind.label} again, at every position: what was read cannot be right"
        yield Ask(reading, "dimension", key.kind, key.where, says, because, instruments=labels, tag=key.tag)

    def reading(self, item: int, name: str, because: str) -> Iterator[Ask]:
        """Ask for a reading that work hangs on, unless it can no longer be had."""
        bench_item = self._bench.items[item]
        read = bench_item.readings.get(name)
        if read is not None and read.state in ("lost", "could not be judged"):
            return
        key, kind = bench_item.key, self._ruleset.vocabulary.readings[name]
        labels = tuple(self._ruleset.instruments[each].label for each in kind.instruments)
        says = f"{kind.label}, at every position: {kind.how}"
        yield Ask(name, "dimension", key.kind, key.where, says, because, instruments=labels, tag=key.tag)

    def _complete(self, read: Read, reading: str) -> bool:
        return all(place in read.values for place in self._ruleset.vocabulary.readings[reading].positions())

    def worn_side(self, item: int, because: str, work: str) -> Ask:
        """Ask for the size at which an item cleans up, which only the machine can show."""
        key = self._bench.items[item].key
        says = f"on which side it is worn: have it set up in the machine and indicated (to {work})"
        return Ask("worn_side", "worn side", key.kind, key.where, says, because, tag=key.tag)

    def _instruments(self, dimension: str, kind: str) -> tuple[str, ...]:
        """The labels of instruments for the readings behind a dimension, on this kind or on related ones."""
        formula = self._ruleset.vocabulary.dimensions[dimension].formulas[0]
        read = [(formula.reading, kind)] if formula.reading is not None else []
        read += [
            (source.reading, next(iter(source.on.values()), kind))
            for source in (formula.outer, formula.inner)
            if source
        ]
        return self._labels(name for reading, of in read for name in self._fitting(reading, of))

    def _fitting(self, reading: str, kind: str) -> list[str]:
        """The usual instruments for a reading that can measure a new part, where its size is known."""
        usual = self._ruleset.vocabulary.readings[reading].instruments
        part = self._sheet.parts.get(kind)
        new = part.new.get(reading) if part is not None else None
        if new is None:
            return usual
        return [name for name in usual if self._ruleset.instruments[name].spans(new)] or usual

    def _labels(self, names: Iterable[str]) -> tuple[str, ...]:
        return tuple(self._ruleset.instruments[name].label for name in dict.fromkeys(names))


_FOUND_SIZE = "the repair size it arrived with: read the stamp on it, or on what was fitted to it"


def distinct(asks: Iterable[Ask]) -> tuple[Ask, ...]:
    """Each thing to look at once, with the first reason given, in a fixed order."""
    first: dict[tuple[str, str, str, str, str], Ask] = {}
    for ask in asks:
        key = (ask.kind, ask.reading, ask.part, ask.place, ask.tag)
        if key not in first or (ask.rule, ask.because) < (first[key].rule, first[key].because):
            first[key] = ask
    return tuple(first[key] for key in sorted(first))


def _purpose(purpose: str) -> Purpose:
    return purpose  # type: ignore[return-value]  # the rule models hold it to the three purposes


def _concern(of: Related) -> str:
    assert isinstance(of.leaf, HasConcern)
    return of.leaf.concern
