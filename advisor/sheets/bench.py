"""The bench: every item of an engine, with what was seen and measured on it, told once.

A case is written as people work, entry by entry; here its entries are laid on the items of the engine
sheet, later moments over earlier ones, and what an operation has voided is taken off again.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from advisor.faults import Fault, Faults, Position
from advisor.sheets.case import NOT_THERE, BenchEntry, CaseSheet, CauseState, ReadingEntry
from advisor.sheets.conditions import State
from advisor.sheets.crosscheck import IN_SET, Checker
from advisor.sheets.engine import EngineSheet
from advisor.sheets.engine_check import treatments
from advisor.sheets.places import Document, Positions
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import MOMENTS, NONE, Link, Moment
from advisor.units import Quantity, UnitFault, read_quantity

UNKNOWN_PLACE = "unknown"


@dataclass(frozen=True, slots=True)
class ItemKey:
    """Which item: its kind, its place (None where nobody knows it), its tag and where it comes from."""

    kind: str
    place: tuple[str, ...] | None
    tag: str = ""
    origin: str = "fitted"

    @property
    def where(self) -> str:
        """The place in words, as people type it."""
        return UNKNOWN_PLACE if self.place is None else " ".join(self.place)


@dataclass(frozen=True, slots=True)
class Seen:
    """A finding: its extent, or why there is none."""

    extent: str | None
    state: State | None
    moment: Moment
    at: Position | None = None


@dataclass(frozen=True, slots=True)
class Read:
    """The readings of one kind: by position, the values taken there; or why there are none."""

    values: Mapping[str, tuple[Quantity, ...]]
    state: State | None
    moment: Moment
    instrument: str | None = None
    limit_of_error: Quantity | None = None
    at: Position | None = None


@dataclass(frozen=True, slots=True)
class BenchItem:
    """One item and all that the case says of it."""

    key: ItemKey
    opened: bool
    findings: Mapping[str, Seen]
    readings: Mapping[str, Read]
    properties: Mapping[str, str | None]
    candidates: frozenset[tuple[str, ...]]
    """The places it may belong to: its own, or those it was mixed up from."""
    found_size: Decimal | None = None
    """Difference from new in mm of the repair size that it arrived with; None where nobody read it."""
    cleans_up: Mapping[str, Decimal] = field(default_factory=dict)
    """By operation: the size in mm at which it cleans up, where somebody has indicated it."""


@dataclass(frozen=True, slots=True)
class Bench:
    """All items of the engine, and how they belong together."""

    items: tuple[BenchItem, ...]
    links: Mapping[str, Mapping[int, tuple[int, ...]]]
    sets: Mapping[str, tuple[tuple[int, ...], ...]]
    """By set of the vocabulary: the items of each such set on this engine."""
    layout: Mapping[str, str]
    causes: Mapping[tuple[str, int], CauseState] = field(default_factory=dict)
    """By concern and item: what somebody has said became of a suspected cause."""


@dataclass(slots=True)
class _Draft:
    """An item while the entries are being laid on it."""

    key: ItemKey
    candidates: frozenset[tuple[str, ...]]
    opened: bool = True
    findings: dict[str, Seen] = field(default_factory=dict)
    readings: dict[str, Read] = field(default_factory=dict)
    rest_none: set[Moment] = field(default_factory=set)
    """Moments at which everything else was looked for and was not there."""
    found_size: Decimal | None = None
    cleans_up: dict[str, Decimal] = field(default_factory=dict)


def lay_out(sheet: EngineSheet, case: CaseSheet, ruleset: RuleSet, document: Document | None = None) -> Bench:
    """Lay a case on the items of its engine.

    Raises `Faults`, all of them together and placed in `document` where it is given: unknown words and
    places, wrong units, evidence that contradicts itself or cannot have been seen at its moment.
    """
    layer = _Layer(sheet, case, ruleset, document or Document("case", {}, Positions("case", {})))
    layer.lay()
    if layer.found:
        raise Faults(layer.found)
    return layer.bench()


class _Layer(Checker):
    def __init__(self, sheet: EngineSheet, case: CaseSheet, ruleset: RuleSet, document: Document) -> None:
        super().__init__(ruleset, document)
        self._sheet = sheet
        self._case = case
        self._vocabulary = ruleset.vocabulary
        self._findings_of: dict[str, list[str]] = defaultdict(list)
        for name, finding in self._vocabulary.findings.items():
            for kind in finding.kinds:
                self._findings_of[kind].append(name)
        self._kind_order = {kind: number for number, kind in enumerate(self._vocabulary.kinds)}
        self._causes: dict[tuple[str, ItemKey], CauseState] = {}
        self._drafts: dict[ItemKey, _Draft] = {}
        for kind in sheet.parts:
            for place in self._places(kind):
                key = ItemKey(kind, place)
                self._drafts[key] = _Draft(key, frozenset((place,)))

    def lay(self) -> None:
        """Lay every entry of the case, and then take off what operations have voided."""
        for index, entry in enumerate(self._case.bench):
            path: Steps = ("bench", index)
            if self._known_part((*path, "part"), entry.part):
                for draft in self._drafts_of(path, entry):
                    self._lay_entry(path, entry, draft)
        for index, found in enumerate(self._case.found_sizes):
            path = ("found_sizes", index)
            for draft in self._fitted(path, found.part, found.place):
                draft.found_size = found.size.value
        for index, clean in enumerate(self._case.cleans_up):
            path = ("cleans_up", index)
            if self.word((*path, "operation"), clean.operation, self._vocabulary.operations, "operation"):
                for draft in self._fitted(path, clean.part, clean.place):
                    draft.cleans_up[clean.operation] = clean.size.value
        for index, done in enumerate(self._case.done):
            path = ("done", index)
            if self.word((*path, "operation"), done.operation, self._vocabulary.operations, "operation"):
                operation = self._vocabulary.operations[done.operation]
                for draft in self._fitted(path, done.part, done.place):
                    for name in operation.voids:
                        taken = draft.readings.get(name)
                        if taken is not None and taken.moment != "after machining":
                            del draft.readings[name]
        for index, cause in enumerate(self._case.causes):
            path = ("causes", index)
            causes = [name for name, concern in self._vocabulary.concerns.items() if concern.cause]
            self.word((*path, "concern"), cause.concern, causes, "cause")
            for draft in self._fitted(path, cause.part, cause.place):
                self._causes[cause.concern, draft.key] = cause

    def bench(self) -> Bench:
        """The bench as it lies when everything is laid."""
        mixed = {
            (key.kind, place)
            for key, draft in self._drafts.items()
            if key.place is None and key.origin == "fitted"
            for place in draft.candidates
        }
        # Items that were mixed up stand for the fitted ones; these have no evidence of their own.
        drafts = [
            draft
            for key, draft in self._drafts.items()
            if not (key.place is not None and key.origin == "fitted" and (key.kind, key.place) in mixed)
        ]
        items = tuple(self._finished(draft) for draft in sorted(drafts, key=self._order))
        sets = self._sets(items)
        index_of = {item.key: index for index, item in enumerate(items)}
        causes = {
            (concern, index_of[key]): cause
            for (concern, key), cause in self._causes.items()
            if key in index_of
        }
        return Bench(items, self._links(items, sets), sets, dict(self._sheet.layout), causes)

    def _order(self, draft: _Draft) -> tuple[object, ...]:
        """Items lie in the order of the vocabulary and of their places, however the case was written."""
        key = draft.key
        axes = self._vocabulary.kinds[key.kind].axes
        place = [self._values(axis).index(word) for axis, word in zip(axes, key.place or (), strict=False)]
        return (
            self._kind_order[key.kind],
            key.origin != "fitted",
            key.origin,
            key.place is None,
            place,
            key.tag,
        )

    def _finished(self, draft: _Draft) -> BenchItem:
        kind = self._vocabulary.kinds[draft.key.kind]
        findings = dict(draft.findings)
        if not draft.opened:
            findings = {name: Seen(None, "not opened", "clean") for name in self._findings_of[draft.key.kind]}
        for moment in sorted(draft.rest_none, key=MOMENTS.index, reverse=True) if draft.opened else ():
            for name in self._findings_of[draft.key.kind]:
                if name not in findings and self._could_be_seen(name, moment):
                    findings[name] = Seen(NONE, None, moment)
        return BenchItem(
            draft.key,
            draft.opened,
            findings,
            draft.readings,
            treatments(self._sheet.parts[draft.key.kind], kind.properties)
            if draft.key.origin == "fitted"
            else {},
            draft.candidates,
            draft.found_size,
            draft.cleans_up,
        )

    def _could_be_seen(self, finding: str, moment: Moment) -> bool:
        late = MOMENTS.index(moment) >= MOMENTS.index("clean")
        return not (self._vocabulary.findings[finding].destroyed_by_cleaning and late)

    def _places(self, kind: str) -> list[tuple[str, ...]]:
        return list(itertools.product(*(self._values(axis) for axis in self._vocabulary.kinds[kind].axes)))

    def _values(self, axis: str) -> list[str]:
        words = self._vocabulary.axes[axis].values
        return words or [str(number) for number in range(1, self._sheet.axes.get(axis, 0) + 1)]

    def _known_part(self, path: Steps, part: str) -> bool:
        if not self.word(path, part, self._vocabulary.kinds, "kind of part"):
            return False
        if part not in self._sheet.parts:
            self.fault(
                path,
                "part-not-on-sheet",
                f"the engine sheet has no {part}",
                "a part of this engine",
                "add it to the engine sheet, or correct the part here",
            )
            return False
        return True

    def _drafts_of(self, path: Steps, entry: BenchEntry) -> list[_Draft]:
        if entry.place == UNKNOWN_PLACE:
            among = self._place_list((*path, "from_among"), entry.part, entry.from_among or "all")
            key = ItemKey(entry.part, None, entry.tag, entry.origin)
            draft = self._drafts.get(key)
            if draft is None:
                draft = self._drafts[key] = _Draft(key, frozenset(among))
            elif entry.from_among:
                draft.candidates = frozenset(among)
            return [draft]
        if entry.from_among:
            self.fault(
                (*path, "from_among"),
                "place-known",
                "from_among stands beside a place that is known",
                "place: unknown, or no from_among",
                "",
            )
        places = self._place_list((*path, "place"), entry.part, entry.place)
        tag = "" if entry.origin == "fitted" else entry.tag
        drafts = []
        for place in places:
            key = ItemKey(entry.part, place, tag, entry.origin)
            drafts.append(self._drafts.setdefault(key, _Draft(key, frozenset((place,)))))
        return drafts

    def _fitted(self, path: Steps, part: str, place: str) -> list[_Draft]:
        if not self._known_part((*path, "part"), part):
            return []
        return [self._drafts[ItemKey(part, each)] for each in self._place_list((*path, "place"), part, place)]

    def _place_list(self, path: Steps, part: str, text: str) -> list[tuple[str, ...]]:
        """The places that a text such as ``1 to 3 lower, 5`` means."""
        every = self._places(part)
        if text.strip() == "all":
            return every
        axes = [self._values(axis) for axis in self._vocabulary.kinds[part].axes]
        chosen: list[tuple[str, ...]] = []
        for piece in text.split(","):
            wanted = self._wanted(piece.split(), axes)
            if wanted is None:
                shown = ", ".join(" ".join(place) for place in every[:6] if place)
                self.fault(
                    path,
                    "unknown-place",
                    f"{piece.strip() or 'nothing'} is no place of {part} on this engine",
                    f"such as {shown}" if shown else f"all: there is one {part}",
                    "write a range as 1 to 4, several places with commas, and leave words out for every item there",
                )
                continue
            chosen += [
                place
                for place in every
                if all(word in allowed for word, allowed in zip(place, wanted, strict=True))
                and place not in chosen
            ]
        return chosen

    @staticmethod
    def _wanted(words: Sequence[str], axes: Sequence[list[str]]) -> list[list[str]] | None:
        """For each axis the values that the words allow; None where a word is no value of any."""
        wanted: list[list[str]] = [list(values) for values in axes]
        position = 0
        index = 0
        while index < len(words):
            while position < len(axes) and words[index] not in axes[position]:
                position += 1
            if position == len(axes):
                return None
            values = axes[position]
            start = end = values.index(words[index])
            if index + 2 < len(words) and words[index + 1] == "to" and words[index + 2] in values:
                end = values.index(words[index + 2])
                index += 2
            if end < start:
                return None
            wanted[position] = values[start : end + 1]
            position += 1
            index += 1
        return wanted if words else None

    def _lay_entry(self, path: Steps, entry: BenchEntry, draft: _Draft) -> None:
        if entry.opened == "no":
            if entry.findings or entry.readings or entry.otherwise:
                self.fault(
                    (*path, "opened"),
                    "seen-unopened",
                    f"{entry.part} was not opened, and yet something was seen or measured on it",
                    "opened: no by itself",
                    "drop one of the two",
                )
            draft.opened = False
            return
        draft.opened = True
        for name, word in entry.findings.items():
            if self.finding((*path, "findings", name), name, entry.part):
                self._lay_finding((*path, "findings", name), entry, draft, name, word)
        if entry.otherwise is not None:
            draft.rest_none.add(entry.moment)
        for name, reading in entry.readings.items():
            self._lay_reading((*path, "readings", name), entry, draft, name, reading)

    @staticmethod
    def _earlier(one: Moment, other: Moment) -> bool:
        return MOMENTS.index(one) < MOMENTS.index(other)

    def _lay_finding(self, path: Steps, entry: BenchEntry, draft: _Draft, name: str, word: str) -> None:
        finding = self._vocabulary.findings[name]
        state = _state(word)
        if state is None and not self.word(path, word, [*finding.extents, *NOT_THERE], f"extent of {name}"):
            return
        if state is None and not self._could_be_seen(name, entry.moment):
            self.fault(
                path,
                "too-late-to-see",
                f"{name} cannot be seen any more once the part is clean",
                "an entry of moment: strip (or running)",
                "if it was washed before anyone looked, write lost",
            )
            return
        seen = Seen(None if state else word, state, entry.moment, self.document.positions[path])
        earlier = draft.findings.get(name)
        if earlier is not None and earlier.moment == entry.moment and earlier != seen:
            if (earlier.extent, earlier.state) != (seen.extent, seen.state):
                self.fault(
                    path,
                    "contradicts",
                    f"{name} on {entry.part} {draft.key.where} is {word} here and "
                    f"{earlier.extent or earlier.state} at {earlier.at}",
                    "one answer for each moment",
                    "look again, and keep what is there",
                )
        elif earlier is None or not self._earlier(entry.moment, earlier.moment):
            draft.findings[name] = seen

    def _lay_reading(
        self, path: Steps, entry: BenchEntry, draft: _Draft, name: str, reading: ReadingEntry
    ) -> None:
        if not self.word(path, name, self._vocabulary.readings, "reading"):
            return
        kind = self._vocabulary.readings[name]
        if not self._belongs(path, name, kind.kinds, entry.part, "reading"):
            return
        if reading.with_ is not None:
            self.word((*path, "with"), reading.with_, self.whole.instruments, "instrument")
        if reading.limit_of_error is not None and reading.limit_of_error.dimension != kind.quantity:
            self.fault(
                (*path, "limit_of_error"),
                "unit-dimension",
                f"{reading.limit_of_error.text} is a {reading.limit_of_error.dimension.replace('_', ' ')}",
                f"a {kind.quantity.replace('_', ' ')}",
                "correct the unit",
            )
        if (reading.value is None) == (not reading.values):
            self.fault(
                path,
                "reading-shape",
                f"reading {name} has " + ("no value" if reading.value is None else "a value and values too"),
                "value for a single one, or values by position",
                "",
            )
            return
        positions = kind.positions()
        taken: dict[str, tuple[Quantity, ...]] = {}
        states: list[State] = []
        if reading.value is not None:
            if positions != [""]:
                single = _state(reading.value) if isinstance(reading.value, str) else None
                if single is None:
                    self.fault(
                        (*path, "value"),
                        "reading-position",
                        f"reading {name} is taken at several positions",
                        f"values, with {', '.join(positions)}",
                        "write values: with a line for each position",
                    )
                    return
            self._take((*path, "value"), "", reading.value, kind.quantity, taken, states)
        for position, value in reading.values.items():
            if self.word((*path, "values", position), position, positions, f"position of {name}"):
                self._take((*path, "values", position), position, value, kind.quantity, taken, states)
        read = Read(
            taken,
            None if taken else (states[0] if states else "not looked at"),
            entry.moment,
            reading.with_,
            reading.limit_of_error,
            self.document.positions[path],
        )
        self._keep(path, entry, draft, name, read)

    def _keep(self, path: Steps, entry: BenchEntry, draft: _Draft, name: str, read: Read) -> None:
        earlier = draft.readings.get(name)
        if earlier is not None and earlier.moment == read.moment:
            both = set(earlier.values) & set(read.values)
            if both or not earlier.values or not read.values:
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {entry.part} {draft.key.where} stands at {earlier.at} already",
                    "each position once for each moment",
                    "write repeated readings as a list at one position",
                )
                return
            read = Read(
                {**earlier.values, **read.values},
                None,
                read.moment,
                read.instrument or earlier.instrument,
                read.limit_of_error or earlier.limit_of_error,
                earlier.at,
            )
        elif earlier is not None and self._earlier(read.moment, earlier.moment):
            return
        draft.readings[name] = read

    def _take(
        self,
        path: Steps,
        position: str,
        value: str | list[str],
        quantity: str,
        taken: dict[str, tuple[Quantity, ...]],
        states: list[State],
    ) -> None:
        if isinstance(value, str):
            state = _state(value)
            if state is not None:
                states.append(state)
                return
        sizes = []
        for text in [value] if isinstance(value, str) else value:
            try:
                sizes.append(read_quantity(text, quantity))
            except UnitFault as fault:
                self.found.append(
                    Fault(fault.code, fault.what, fault.expected, fault.mend, self.document.positions[path])
                )
        if sizes:
            taken[position] = tuple(sizes)

    def _sets(self, items: Sequence[BenchItem]) -> dict[str, tuple[tuple[int, ...], ...]]:
        sets: dict[str, tuple[tuple[int, ...], ...]] = {}
        for name, each in self._vocabulary.sets.items():
            groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
            for index, item in enumerate(items):
                if item.key.kind in each.kinds:
                    axes = self._vocabulary.kinds[item.key.kind].axes
                    place = item.key.place
                    shared = tuple(
                        place[axes.index(axis)] if place is not None and axis in axes else ""
                        for axis in each.by
                    )
                    groups[(*shared, _group(item.key))].append(index)
            sets[name] = tuple(tuple(group) for group in groups.values())
        return sets

    def _links(
        self, items: Sequence[BenchItem], sets: Mapping[str, tuple[tuple[int, ...], ...]]
    ) -> dict[str, dict[int, tuple[int, ...]]]:
        by_kind: dict[str, list[int]] = defaultdict(list)
        for index, item in enumerate(items):
            by_kind[item.key.kind].append(index)
        found: dict[str, dict[int, list[int]]] = defaultdict(lambda: defaultdict(list))
        for name, relation in self._vocabulary.relations.items():
            for link in relation.links:
                pairs = self._listed(name, link)
                for one in by_kind.get(link.of, ()):
                    for other in by_kind.get(link.to, ()):
                        known = found[name][one]
                        if (
                            one != other
                            and other not in known
                            and self._linked(items[one], items[other], link, pairs)
                        ):
                            known.append(other)
        for groups in sets.values():
            for group in groups:
                for one in group:
                    known = found[IN_SET][one]
                    known += [other for other in group if other != one and other not in known]
        return {name: {one: tuple(others) for one, others in each.items()} for name, each in found.items()}

    def _listed(self, relation: str, link: Link) -> frozenset[tuple[str, str]] | None:
        if not link.listed:
            return None
        return frozenset(
            (pair.of, pair.to)
            for each in self._sheet.links
            if each.relation == relation and each.of == link.of and each.to == link.to
            for pair in each.pairs
        )

    def _linked(
        self, one: BenchItem, other: BenchItem, link: Link, pairs: frozenset[tuple[str, str]] | None
    ) -> bool:
        """Whether a link holds, or may hold where a place is not known."""
        if _group(one.key) != _group(other.key):
            return False
        if pairs is not None:
            return any((" ".join(a), " ".join(b)) in pairs for a in one.candidates for b in other.candidates)
        return any(self._agree(a, b, link) for a in one.candidates for b in other.candidates)

    def _agree(self, one: tuple[str, ...], other: tuple[str, ...], link: Link) -> bool:
        axes, others = self._vocabulary.kinds[link.of].axes, self._vocabulary.kinds[link.to].axes
        if any(one[axes.index(axis)] != other[others.index(axis)] for axis in link.by):
            return False
        if link.next_to is None:
            return True
        values = self._values(link.next_to)
        here = values.index(one[axes.index(link.next_to)])
        there = values.index(other[others.index(link.next_to)])
        return abs(here - there) == 1


def _group(key: ItemKey) -> tuple[str, str]:
    """Items belong together inside one engine; a second-hand part on the bench is no part of it yet."""
    return key.origin, "" if key.origin == "fitted" else key.tag


def _state(word: str) -> State | None:
    """The state that a word in place of an extent or a value means; None for an extent or a value."""
    states: dict[str, State] = {
        "not looked at": "not looked at",
        "could not be judged": "could not be judged",
        "could not be measured": "could not be judged",
        "lost": "lost",
    }
    return states.get(word)
