"""Laying a case on the items of its engine.

A case is written as people work, entry by entry; here its entries are laid on the items of the engine
sheet, later moments over earlier ones, and what an operation has voided is taken off again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from advisor.sheets.bench import UNKNOWN_PLACE, Bench, BenchItem, ItemKey, Read, Seen
from advisor.sheets.case import BenchEntry, CaseSheet, CauseState, Risk
from advisor.sheets.engine import EngineSheet
from advisor.sheets.entries import EVERY_PLACE, EntryReader
from advisor.sheets.ground import Ground, Place, Unsure, ground_of
from advisor.sheets.places import Document, Positions
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.text import in_file_order
from advisor.sheets.vocabulary import MOMENTS, NONE, Moment, Operation
from advisor.units import Quantity


def lay_out(sheet: EngineSheet, case: CaseSheet, ruleset: RuleSet, document: Document | None = None) -> Bench:
    """Lay a case on the items of its engine.

    Raises `Faults`, all of them together and placed in `document` where it is given: unknown words and
    places, wrong units, evidence that contradicts itself or cannot have been seen at its moment.
    """
    layer = _Layer(ground_of(sheet, ruleset), case, document or Document("case", {}, Positions("case", {})))
    layer.lay()
    if layer.found:
        raise in_file_order(layer.found)
    return layer.bench()


@dataclass(slots=True)
class _Draft:
    """An item while the entries are being laid on it."""

    key: ItemKey
    candidates: frozenset[Place]
    closed: Moment | None = None
    """The last moment at which it was not opened."""
    seen: Moment | None = None
    """The last moment at which something was seen or measured on it."""
    named: bool = False
    """Whether an entry names its place, rather than all of the kind."""
    from_among: str = ""
    """As written, where the place is not known."""
    findings: dict[str, Seen] = field(default_factory=dict)
    readings: dict[str, Read] = field(default_factory=dict)
    rest_none: set[Moment] = field(default_factory=set)
    """Moments at which everything else was looked for and was not there."""
    voided: set[str] = field(default_factory=set)
    """Readings and findings that an operation has touched."""
    found_size: Decimal | None = None
    cleans_up: dict[str, Decimal] = field(default_factory=dict)

    @property
    def opened(self) -> bool:
        """Whether it was opened in the end; what is measured while the engine runs needs no opening."""
        return self.closed is None or (self.seen is not None and _later(self.seen, self.closed))


class _Layer(EntryReader):
    def __init__(self, ground: Ground, case: CaseSheet, document: Document) -> None:
        super().__init__(ground, document, case)
        self._case = case
        self._drafts = {key: _Draft(key, frozenset((key.place or (),))) for key in ground.fitted}
        self._causes: dict[tuple[str, ItemKey], CauseState] = {}
        self._mixed_up: dict[ItemKey, Steps] = {}
        """Fitted items whose place is not known, each with its first entry."""
        self._risks: dict[ItemKey, Risk] = {}

    def lay(self) -> None:
        """Lay every entry of the case, and then take off what operations have voided."""
        self.known_version(self._case.vocabulary_version)
        for index, entry in enumerate(self._case.bench):
            path: Steps = ("bench", index)
            if self._known_part((*path, "part"), entry.part):
                self._lay_entry(path, entry, self._drafts_of(path, entry))
        self._check_mixed_up()
        for index, found in enumerate(self._case.found_sizes):
            path = ("found_sizes", index)
            drafts = self._fitted(path, found.part, found.place)
            self._side(path, drafts, found.size, None)
            for draft in drafts:
                if draft.found_size not in (None, found.size.value):
                    self._contradicts(path, f"{_named(draft)} arrived with another size in an earlier entry")
                draft.found_size = found.size.value
        operations = self._vocabulary.operations
        for index, clean in enumerate(self._case.cleans_up):
            path = ("cleans_up", index)
            if self._done_to(path, clean.operation, clean.part):
                drafts = self._fitted(path, clean.part, clean.place)
                self._side(path, drafts, clean.size, clean.operation)
                for draft in drafts:
                    if draft.cleans_up.get(clean.operation, clean.size.value) != clean.size.value:
                        self._contradicts(
                            path, f"{_named(draft)} cleans up at another size in an earlier entry"
                        )
                    draft.cleans_up[clean.operation] = clean.size.value
        for index, done in enumerate(self._case.done):
            path = ("done", index)
            if self._done_to(path, done.operation, done.part):
                for draft in self._fitted(path, done.part, done.place):
                    self._void(draft, operations[done.operation])
        causes = [name for name, concern in self._vocabulary.concerns.items() if concern.cause]
        for index, cause in enumerate(self._case.causes):
            path = ("causes", index)
            self.word((*path, "concern"), cause.concern, causes, "cause")
            for draft in self._fitted(path, cause.part, cause.place):
                earlier = self._causes.setdefault((cause.concern, draft.key), cause)
                if not _agree(earlier, cause):
                    self._contradicts(path, f"{cause.concern} on {_named(draft)} is {earlier.state} already")
        for index, risk in enumerate(self._case.risks):
            for draft in self._fitted(("risks", index), risk.part, risk.place):
                if not _agree(self._risks.setdefault(draft.key, risk), risk):
                    self._contradicts(("risks", index), f"{_named(draft)} has an entry under risks already")

    def _void(self, draft: _Draft, operation: Operation) -> None:
        """Take off what an operation has made worthless, on the item and on those linked to it."""
        _take_off(draft, operation.voids)
        ground = self._ground
        for linked in operation.voids_linked:
            here = ground.fitted.index(draft.key)
            for other in ground.links.get(linked.relation, {}).get(here, ()):
                if ground.fitted[other].kind == linked.kind:
                    _take_off(self._drafts[ground.fitted[other]], linked.voids)

    def _check_mixed_up(self) -> None:
        """Evidence cannot be of the item at a place, where nobody knows which item belonged there."""
        for item, path in self._mixed_up.items():
            for place in sorted(self._drafts[item].candidates):
                draft = self._drafts[ItemKey(item.kind, place)]
                if draft.named:
                    self.fault(
                        path,
                        "place-mixed-up",
                        f"{_named(draft)} has entries of its own, and this item may be the one from there",
                        "from_among with only the places that were mixed up, and no entries for those places",
                        "narrow from_among, or write the other entries with place: unknown and a tag",
                    )
                    break

    def _done_to(self, path: Steps, name: str, part: str) -> bool:
        """Whether an operation is known, and done to this kind of part."""
        operations = self._vocabulary.operations
        return self.word((*path, "operation"), name, operations, "operation") and self.belongs(
            (*path, "operation"), name, operations[name].kinds, part, "operation"
        )

    def _side(self, path: Steps, drafts: Sequence[_Draft], size: Quantity, operation: str | None) -> None:
        """Note a size on the side of new to which the listed repair sizes do not go.

        With an operation it is the size itself, and otherwise a difference from new.
        """
        if not drafts:
            return
        kind = drafts[0].key.kind
        part = self._ground.sheet.parts[kind]
        listed = [each for each in part.repair_sizes if operation in (None, each.operation)]
        if operation is not None and self._vocabulary.operations[operation].repair_size and not listed:
            self.fault(
                (*path, "operation"),
                "no-repair-sizes",
                f"the engine sheet lists no sizes for {operation} of {kind}",
                "an operation with repair_sizes on the engine sheet",
                "list them there, or name another operation",
            )
        for each in listed:
            new = part.new[each.size].value if operation is not None else Decimal(0)
            if (size.value - new) * each.steps[0].value < 0:
                way = "under" if each.steps[0].value < 0 else "over"
                self.fault(
                    (*path, "size"),
                    "wrong-side-of-new",
                    f"{size.text} lies on the wrong side of new: the sizes of {kind} go {way} it",
                    f"a size {way} new"
                    if operation is not None
                    else f"a difference from new, such as {each.steps[0].text}",
                    "correct the size, or its sign",
                )
                return

    def _contradicts(self, path: Steps, what: str) -> None:
        self.fault(path, "contradicts", what, "one answer for each item", "drop one of the two")

    def _opening_agrees(self, path: Steps, draft: _Draft) -> None:
        if draft.closed is not None and draft.closed == draft.seen:
            self.fault(
                path,
                "seen-unopened",
                f"{_named(draft)} was not opened at this moment ({draft.closed}), and yet something was seen "
                "or measured on it",
                "opened: no by itself",
                "drop one of the two, or give the later one its own moment",
            )

    def bench(self) -> Bench:
        """The bench as it lies when everything is laid."""
        ground = self._ground
        if len(self._drafts) == len(ground.fitted):
            drafts, links, sets = list(self._drafts.values()), ground.links, ground.sets
            unsure: Unsure = {}
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
            links, sets, unsure = ground.with_others([(draft.key, draft.candidates) for draft in drafts])
        index_of = {draft.key: index for index, draft in enumerate(drafts)}
        return Bench(
            items=tuple(self._finished(draft) for draft in drafts),
            links=links,
            sets=sets,
            layout=ground.sheet.layout,
            unsure=unsure,
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

    def _drafts_of(self, path: Steps, entry: BenchEntry) -> list[_Draft]:
        if entry.place == UNKNOWN_PLACE:
            among = self._place_list((*path, "from_among"), entry.part, entry.from_among or EVERY_PLACE)
            key = ItemKey(entry.part, None, entry.tag, entry.origin)
            draft = self._drafts.setdefault(key, _Draft(key, frozenset(among)))
            if entry.from_among:
                if draft.from_among and draft.candidates != frozenset(among):
                    self._contradicts(
                        (*path, "from_among"), f"{_named(draft)} was mixed up from {draft.from_among} before"
                    )
                draft.candidates, draft.from_among = frozenset(among), entry.from_among
            if entry.origin == "fitted":
                self._mixed_up.setdefault(key, path)
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
        if entry.place != EVERY_PLACE:
            for draft in drafts:
                draft.named = True
        return drafts

    def _fitted(self, path: Steps, part: str, place: str) -> list[_Draft]:
        if not self._known_part((*path, "part"), part):
            return []
        return [self._drafts[ItemKey(part, each)] for each in self._place_list((*path, "place"), part, place)]

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
                draft.closed = _latest(draft.closed, entry.moment)
                self._opening_agrees((*path, "opened"), draft)
            return
        seen = dict(self._findings(path, entry))
        read = dict(self._readings(path, entry))
        for draft in drafts:
            draft.seen = _latest(draft.seen, entry.moment)
            self._opening_agrees(path, draft)
            for name, finding in seen.items():
                self._keep_finding((*path, "findings", name), draft, name, finding)
            for name, reading in read.items():
                self._keep_reading((*path, "readings", name), draft, name, reading)
            if entry.otherwise is not None:
                draft.rest_none.add(entry.moment)

    def _keep_finding(self, path: Steps, draft: _Draft, name: str, seen: Seen) -> None:
        earlier = draft.findings.get(name)
        if earlier is None or _goes_before(seen, earlier, seen.extent, earlier.extent):
            draft.findings[name] = seen
        elif earlier.moment == seen.moment and (earlier.extent, earlier.state) != (seen.extent, seen.state):
            self.fault(
                path,
                "contradicts",
                f"{name} on {_named(draft)} is {seen.extent or seen.state} here and "
                f"{earlier.extent or earlier.state} at {earlier.at}",
                "one answer for each moment",
                "look again, and keep what is there",
            )

    def _keep_reading(self, path: Steps, draft: _Draft, name: str, read: Read) -> None:
        earlier = draft.readings.get(name)
        if earlier is None or _goes_before(read, earlier, read.values, earlier.values):
            draft.readings[name] = read
        elif earlier.moment == read.moment:
            if not earlier.values or not read.values or earlier.values.keys() & read.values.keys():
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {_named(draft)} stands at {earlier.at} already",
                    "each position once for each moment",
                    "write repeated readings as a list at one position",
                )
            elif earlier.taken_with != read.taken_with:
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {_named(draft)} was taken with another instrument at {earlier.at}",
                    "one instrument, and one limit of error, for all positions of a reading",
                    "name the same instrument in both, the less exact one",
                )
            else:
                values = {**earlier.values, **read.values}
                complete = len(values) == len(self._ground.positions[name])
                # What one entry could not have, another may have had; only what both lack is out of reach.
                rest = earlier.state if earlier.state == read.state else "not looked at"
                draft.readings[name] = replace(
                    earlier,
                    values=values,
                    state=None if complete else rest,
                    intervals={**earlier.intervals, **read.intervals},
                )


_NOT_OPENED = Seen(None, "not opened", "clean")


def _later(one: Moment, other: Moment) -> bool:
    return MOMENTS.index(one) > MOMENTS.index(other)


def _goes_before(new: Seen | Read, old: Seen | Read, new_known: object, old_known: object) -> bool:
    """Whether what is said now stands in place of what was said at another moment.

    The later moment does; but that nobody looked again, or could, takes nothing from what was seen before.
    """
    if new.moment == old.moment:
        return False
    if bool(new_known) != bool(old_known):
        return bool(new_known)
    return _later(new.moment, old.moment)


def _latest(one: Moment | None, other: Moment) -> Moment:
    return one if one is not None and _later(one, other) else other


def _agree(one: CauseState | Risk, other: CauseState | Risk) -> bool:
    """Whether two entries say the same, whatever places else they say it of."""
    return one.model_dump(exclude={"place"}) == other.model_dump(exclude={"place"})


def _named(draft: _Draft) -> str:
    """An item as it is told: its kind and place."""
    return f"{draft.key.kind} {draft.key.where}".strip()


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
