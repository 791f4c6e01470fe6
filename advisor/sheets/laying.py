"""Laying a case on the items of its engine.

A case is written as people work, entry by entry; here its entries are laid on the items of the engine
sheet, later moments over earlier ones, and what an operation has voided is taken off again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from advisor.faults import Faults
from advisor.sheets.bench import UNKNOWN_PLACE, Bench, BenchItem, ItemKey, Read, Seen
from advisor.sheets.case import NOT_THERE, BenchEntry, CaseSheet, CauseState, ReadingEntry, Risk, Value
from advisor.sheets.conditions import State
from advisor.sheets.crosscheck import ERROR_OF, Checker
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import Ground, Place, ground_of
from advisor.sheets.places import Document, Positions, Written
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import MOMENTS, NONE, Moment, Operation, ReadingKind
from advisor.units import DIMENSIONS, Quantity


def lay_out(sheet: EngineSheet, case: CaseSheet, ruleset: RuleSet, document: Document | None = None) -> Bench:
    """Lay a case on the items of its engine.

    Raises `Faults`, all of them together and placed in `document` where it is given: unknown words and
    places, wrong units, evidence that contradicts itself or cannot have been seen at its moment.
    """
    layer = _Layer(ground_of(sheet, ruleset), case, document or Document("case", {}, Positions("case", {})))
    layer.lay()
    if layer.found:
        raise Faults(layer.found)
    return layer.bench()


@dataclass(slots=True)
class _Draft:
    """An item while the entries are being laid on it."""

    key: ItemKey
    candidates: frozenset[Place]
    opened: bool = True
    findings: dict[str, Seen] = field(default_factory=dict)
    readings: dict[str, Read] = field(default_factory=dict)
    rest_none: set[Moment] = field(default_factory=set)
    """Moments at which everything else was looked for and was not there."""
    voided: set[str] = field(default_factory=set)
    """Readings and findings that an operation has touched."""
    found_size: Decimal | None = None
    cleans_up: dict[str, Decimal] = field(default_factory=dict)


class _Layer(Checker):
    def __init__(self, ground: Ground, case: CaseSheet, document: Document) -> None:
        super().__init__(ground.ruleset, document)
        self._ground = ground
        self._case = case
        self._vocabulary = ground.ruleset.vocabulary
        self._drafts = {key: _Draft(key, frozenset((key.place or (),))) for key in ground.fitted}
        self._causes: dict[tuple[str, ItemKey], CauseState] = {}
        self._risks: dict[ItemKey, Risk] = {}

    def lay(self) -> None:
        """Lay every entry of the case, and then take off what operations have voided."""
        for index, entry in enumerate(self._case.bench):
            path: Steps = ("bench", index)
            if self._known_part((*path, "part"), entry.part):
                self._lay_entry(path, entry, self._drafts_of(path, entry))
        for index, found in enumerate(self._case.found_sizes):
            for draft in self._fitted(("found_sizes", index), found.part, found.place):
                draft.found_size = found.size.value
        operations = self._vocabulary.operations
        for index, clean in enumerate(self._case.cleans_up):
            path = ("cleans_up", index)
            if self.word((*path, "operation"), clean.operation, operations, "operation"):
                for draft in self._fitted(path, clean.part, clean.place):
                    draft.cleans_up[clean.operation] = clean.size.value
        for index, done in enumerate(self._case.done):
            path = ("done", index)
            if self.word((*path, "operation"), done.operation, operations, "operation"):
                for draft in self._fitted(path, done.part, done.place):
                    self._void(draft, operations[done.operation])
        causes = [name for name, concern in self._vocabulary.concerns.items() if concern.cause]
        for index, cause in enumerate(self._case.causes):
            path = ("causes", index)
            self.word((*path, "concern"), cause.concern, causes, "cause")
            for draft in self._fitted(path, cause.part, cause.place):
                self._causes[cause.concern, draft.key] = cause
        for index, risk in enumerate(self._case.risks):
            for draft in self._fitted(("risks", index), risk.part, risk.place):
                self._risks[draft.key] = risk

    def _void(self, draft: _Draft, operation: Operation) -> None:
        """Take off what an operation has made worthless, on the item and on those linked to it."""
        _take_off(draft, operation.voids)
        ground = self._ground
        for linked in operation.voids_linked:
            here = ground.fitted.index(draft.key)
            for other in ground.links.get(linked.relation, {}).get(here, ()):
                if ground.fitted[other].kind == linked.kind:
                    _take_off(self._drafts[ground.fitted[other]], linked.voids)

    def bench(self) -> Bench:
        """The bench as it lies when everything is laid."""
        ground = self._ground
        if len(self._drafts) == len(ground.fitted):
            drafts, links, sets = list(self._drafts.values()), ground.links, ground.sets
        else:
            # Items that were mixed up stand for the fitted ones; these have no evidence of their own.
            mixed = {
                ItemKey(key.kind, place)
                for key, draft in self._drafts.items()
                if key.place is None and key.origin == "fitted"
                for place in draft.candidates
            }
            drafts = sorted(
                (draft for key, draft in self._drafts.items() if key not in mixed),
                key=lambda draft: self._order(draft.key),
            )
            links, sets = ground.with_others([(draft.key, draft.candidates) for draft in drafts])
        index_of = {draft.key: index for index, draft in enumerate(drafts)}
        return Bench(
            items=tuple(self._finished(draft) for draft in drafts),
            links=links,
            sets=sets,
            layout=ground.sheet.layout,
            risks={index_of[key]: risk for key, risk in self._risks.items() if key in index_of},
            causes={
                (concern, index_of[key]): cause
                for (concern, key), cause in self._causes.items()
                if key in index_of
            },
        )

    def _order(self, key: ItemKey) -> tuple[object, ...]:
        """Items lie in the order of the vocabulary and of their places, however the case was written."""
        axes = self._vocabulary.kinds[key.kind].axes
        place = [
            self._ground.values[axis].index(word) for axis, word in zip(axes, key.place or (), strict=False)
        ]
        return (
            self._ground.order[key.kind],
            key.origin != "fitted",
            key.origin,
            key.place is None,
            place,
            key.tag,
        )

    def _finished(self, draft: _Draft) -> BenchItem:
        kind = draft.key.kind
        findings = draft.findings
        if not draft.opened:
            findings = dict.fromkeys(self._ground.findings.get(kind, ()), _NOT_OPENED)
        elif draft.rest_none:
            for moment in sorted(draft.rest_none, key=MOMENTS.index, reverse=True):
                none = Seen(NONE, None, moment)
                for name in self._ground.findings.get(kind, ()):
                    if name in draft.voided and moment != "after machining":
                        continue
                    if name not in findings and self._could_be_seen(name, moment):
                        findings[name] = none
        return BenchItem(
            draft.key,
            draft.opened,
            findings,
            draft.readings,
            self._ground.properties[kind] if draft.key.origin == "fitted" else {},
            draft.candidates,
            draft.found_size,
            draft.cleans_up,
        )

    def _could_be_seen(self, finding: str, moment: Moment) -> bool:
        return moment in _BEFORE_CLEANING or not self._vocabulary.findings[finding].destroyed_by_cleaning

    def _known_part(self, path: Steps, part: str) -> bool:
        if not self.word(path, part, self._vocabulary.kinds, "kind of part"):
            return False
        if part not in self._ground.places:
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
            draft = self._drafts.setdefault(key, _Draft(key, frozenset(among)))
            if entry.from_among:
                draft.candidates = frozenset(among)
            return [draft]
        if entry.from_among:
            self.fault(
                (*path, "from_among"),
                "place-known",
                "from_among stands beside a place that is known",
                "place: unknown, or no from_among",
            )
        drafts = []
        for place in self._place_list((*path, "place"), entry.part, entry.place):
            key = ItemKey(entry.part, place, "" if entry.origin == "fitted" else entry.tag, entry.origin)
            drafts.append(self._drafts.setdefault(key, _Draft(key, frozenset((place,)))))
        return drafts

    def _fitted(self, path: Steps, part: str, place: str) -> list[_Draft]:
        if not self._known_part((*path, "part"), part):
            return []
        return [self._drafts[ItemKey(part, each)] for each in self._place_list((*path, "place"), part, place)]

    def _place_list(self, path: Steps, part: str, text: str) -> list[Place]:
        """The places that a text such as ``1 to 3 lower, 5`` means."""
        known = self._ground.known_places.get((part, text))
        if known is not None:
            return known
        every = self._ground.places[part]
        chosen: dict[Place, None] = {}
        if text.strip() == "all":
            chosen = dict.fromkeys(every)
        else:
            axes = [self._ground.values[axis] for axis in self._vocabulary.kinds[part].axes]
            for piece in text.split(","):
                wanted = _wanted(piece.split(), axes)
                if wanted is None:
                    self._unknown_place(path, part, piece)
                    continue
                for place in every:
                    if all(word in allowed for word, allowed in zip(place, wanted, strict=True)):
                        chosen[place] = None
        places = list(chosen)
        if places and len(self._ground.known_places) < _KNOWN_PLACES:
            self._ground.known_places[part, text] = places
        return places

    def _unknown_place(self, path: Steps, part: str, piece: str) -> None:
        shown = ", ".join(" ".join(place) for place in self._ground.places[part][:6] if place)
        self.fault(
            path,
            "unknown-place",
            f"{piece.strip() or 'nothing'} is no place of {part} on this engine",
            f"such as {shown}" if shown else f"all: there is one {part}",
            "write a range as 1 to 4, several places with commas, fewer words for all items there",
        )

    def _lay_entry(self, path: Steps, entry: BenchEntry, drafts: Sequence[_Draft]) -> None:
        if entry.opened == "no":
            if entry.findings or entry.readings or entry.otherwise:
                self.fault(
                    (*path, "opened"),
                    "seen-unopened",
                    f"{entry.part} was not opened, and yet something was seen or measured on it",
                    "opened: no by itself",
                    "drop one of the two",
                )
            for draft in drafts:
                draft.opened = False
            return
        seen = dict(self._findings(path, entry))
        read = dict(self._readings(path, entry))
        for draft in drafts:
            draft.opened = True
            for name, finding in seen.items():
                self._keep_finding((*path, "findings", name), draft, name, finding)
            for name, reading in read.items():
                self._keep_reading((*path, "readings", name), draft, name, reading)
            if entry.otherwise is not None:
                draft.rest_none.add(entry.moment)

    def _findings(self, path: Steps, entry: BenchEntry) -> Iterator[tuple[str, Seen]]:
        """The findings of an entry that are well said."""
        for name, word in entry.findings.items():
            at = (*path, "findings", name)
            if not self.finding(at, name, entry.part):
                continue
            extents = self._vocabulary.findings[name].extents
            state = NOT_THERE.get(word)
            if state is None and not self.word(at, word, [*extents, *NOT_THERE], f"extent of {name}"):
                continue
            if state is None and not self._could_be_seen(name, entry.moment):
                self.fault(
                    at,
                    "too-late-to-see",
                    f"{name} cannot be seen any more once the part is clean",
                    "an entry of moment: strip (or running)",
                    "if it was washed before anyone looked, write lost",
                )
                continue
            yield (
                name,
                Seen(None if state else word, state, entry.moment, Written(self.document.positions, at)),
            )

    def _keep_finding(self, path: Steps, draft: _Draft, name: str, seen: Seen) -> None:
        earlier = draft.findings.get(name)
        if earlier is None or _later(seen.moment, earlier.moment):
            draft.findings[name] = seen
        elif earlier.moment == seen.moment and (earlier.extent, earlier.state) != (seen.extent, seen.state):
            self.fault(
                path,
                "contradicts",
                f"{name} on {draft.key.kind} {draft.key.where} is {seen.extent or seen.state} here and "
                f"{earlier.extent or earlier.state} at {earlier.at}",
                "one answer for each moment",
                "look again, and keep what is there",
            )

    def _readings(self, path: Steps, entry: BenchEntry) -> Iterator[tuple[str, Read]]:
        """The readings of an entry that are well said."""
        for name, reading in entry.readings.items():
            at = (*path, "readings", name)
            if not self.word(at, name, self._vocabulary.readings, "reading"):
                continue
            kind = self._vocabulary.readings[name]
            if not self.belongs(at, name, kind.kinds, entry.part, "reading"):
                continue
            if reading.with_ is not None:
                self.word((*at, "with"), reading.with_, self.whole.instruments, "instrument")
            error = reading.limit_of_error
            wanted = ERROR_OF.get(kind.quantity, kind.quantity)
            if error is not None and error.dimension != wanted:
                self.fault(
                    (*at, "limit_of_error"),
                    "unit-dimension",
                    f"{error.text} is {DIMENSIONS[error.dimension].noun}",
                    DIMENSIONS[wanted].noun,
                    "correct the unit",
                )
            taken = self._values(at, name, kind, reading)
            if taken is not None:
                values, state = taken
                written = Written(self.document.positions, at)
                yield (
                    name,
                    Read(
                        values,
                        None if values else state,
                        entry.moment,
                        reading.with_,
                        error,
                        written,
                    ),
                )

    def _values(
        self, path: Steps, name: str, kind: ReadingKind, reading: ReadingEntry
    ) -> tuple[dict[str, tuple[Quantity, ...]], State] | None:
        """The values of a reading by position, and the state it is in if there are none."""
        if (reading.value is None) == (not reading.values):
            self.fault(
                path,
                "reading-shape",
                f"reading {name} has " + ("no value" if reading.value is None else "a value and values too"),
                "value for a single one, or values by position",
            )
            return None
        positions = self._ground.positions[name]
        taken: dict[str, tuple[Quantity, ...]] = {}
        if reading.value is not None:
            if reading.value.state is not None:
                return taken, reading.value.state
            if positions != [""]:
                self.fault(
                    (*path, "value"),
                    "reading-position",
                    f"reading {name} is taken at several positions",
                    f"values, with {', '.join(positions)}",
                    "write values: with a line for each position",
                )
                return None
            self._take((*path, "value"), "", reading.value, kind.quantity, taken)
            return taken, "not looked at"
        state: State = "not looked at"
        for position, value in reading.values.items():
            at = (*path, "values", position)
            if position not in positions:
                self.word(at, position, positions, f"position of {name}")
            elif value.state is not None:
                state = value.state
            else:
                self._take(at, position, value, kind.quantity, taken)
        return taken, state

    def _take(
        self, path: Steps, position: str, value: Value, quantity: str, taken: dict[str, tuple[Quantity, ...]]
    ) -> None:
        for each in value.taken:
            if each.dimension != quantity:
                self.fault(
                    path,
                    "unit-dimension",
                    f"{each.text} is {DIMENSIONS[each.dimension].noun}",
                    f"{DIMENSIONS[quantity].noun}, in {', '.join(DIMENSIONS[quantity].offer)}",
                    "correct the unit",
                )
                return
        taken[position] = value.taken

    def _keep_reading(self, path: Steps, draft: _Draft, name: str, read: Read) -> None:
        earlier = draft.readings.get(name)
        if earlier is None or _later(read.moment, earlier.moment):
            draft.readings[name] = read
        elif earlier.moment == read.moment:
            if not earlier.values or not read.values or earlier.values.keys() & read.values.keys():
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {draft.key.kind} {draft.key.where} stands at {earlier.at} already",
                    "each position once for each moment",
                    "write repeated readings as a list at one position",
                )
            else:
                draft.readings[name] = replace(
                    earlier,
                    values={**earlier.values, **read.values},
                    instrument=earlier.instrument or read.instrument,
                    limit_of_error=earlier.limit_of_error or read.limit_of_error,
                )


_BEFORE_CLEANING = MOMENTS[: MOMENTS.index("clean")]

_KNOWN_PLACES = 4096
"""Place texts kept for one engine."""

_NOT_OPENED = Seen(None, "not opened", "clean")


def _later(one: Moment, other: Moment) -> bool:
    return MOMENTS.index(one) > MOMENTS.index(other)


def _take_off(draft: _Draft, names: Sequence[str]) -> None:
    """Take off readings and findings that an operation has touched, unless taken after machining."""
    draft.voided.update(names)
    for name in names:
        taken = draft.readings.get(name)
        if taken is not None and taken.moment != "after machining":
            del draft.readings[name]
        seen = draft.findings.get(name)
        if seen is not None and seen.moment != "after machining":
            del draft.findings[name]


def _wanted(words: Sequence[str], axes: Sequence[list[str]]) -> list[list[str]] | None:
    """For each axis the values that the words allow; None where a word is no value of any."""
    wanted: list[list[str]] = list(axes)
    position = index = 0
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
