"""Laying a case on the items of its engine.

A case is written as people work, entry by entry; here its entries are laid on the items of the engine
sheet, later moments over earlier ones, and what an operation has voided is taken off again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from advisor.sheets.bench import UNKNOWN_PLACE, Bench, BenchItem, ItemKey, Read, Seen
from advisor.sheets.case import BenchEntry, CaseSheet, CauseState, OfItems, Risk
from advisor.sheets.draft import Draft, Lying, goes_before, latest, lying
from advisor.sheets.engine import EngineSheet
from advisor.sheets.entries import EVERY_PLACE, EntryReader
from advisor.sheets.ground import Ground, ground_of
from advisor.sheets.mixed_up import counted, misfits, some, tags
from advisor.sheets.places import Document, Positions
from advisor.sheets.places import Path as Steps
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.size_check import check_clean_up, check_repair_size
from advisor.sheets.text import in_file_order
from advisor.sheets.vocabulary import MOMENTS, NONE


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


class _Layer(EntryReader):
    _lies: Lying

    def __init__(self, ground: Ground, case: CaseSheet, document: Document) -> None:
        super().__init__(ground, document, case)
        self._case = case
        self._drafts = {key: Draft(key, frozenset((key.place or (),))) for key in ground.fitted}
        self._causes: dict[tuple[str, ItemKey], CauseState] = {}
        self._mixed_up: dict[ItemKey, Steps] = {}
        """Fitted items whose place is not known, each with its first entry."""
        self._stood_for: frozenset[ItemKey] = frozenset()
        """The items at the places that these may have come from."""
        self._risks: dict[ItemKey, Risk] = {}

    def lay(self) -> None:
        """Lay every entry of the case on the items, less what operations have voided."""
        self.known_version(self._case.vocabulary_version)
        path: Steps
        entries = self._placed()
        self._check_mixed_up()
        self._lies = lying(self._ground, self._drafts, self._stood_for)
        for index, done in enumerate(self._case.done):
            path = ("done", index)
            if self._done_to(path, done.operation, done.part):
                operation = self._vocabulary.operations[done.operation]
                brought_to = done.to_size.value if done.to_size is not None else None
                if brought_to is None and not operation.repair_size:
                    brought_to = Decimal(0)
                made = [each for each in operation.voids if each not in operation.leaves]
                for draft in self._fitted(path, done):
                    self._lies.void(draft, operation)
                    draft.worked.update(dict.fromkeys(made, brought_to))
        for path, entry, drafts in entries:
            self._lay_entry(path, entry, drafts)
        for index, found in enumerate(self._case.found_sizes):
            path = ("found_sizes", index)
            drafts = self._fitted(path, found)
            if drafts:
                sheet_part = self._ground.sheet.parts[found.part]
                check_repair_size(self, (*path, "size"), found.part, sheet_part, found.size)
            for draft in drafts:
                if draft.found_size not in (None, found.size.value):
                    self._contradicts(path, f"{draft.name} arrived with another size in an earlier entry")
                draft.found_size = found.size.value
        for index, clean in enumerate(self._case.cleans_up):
            path = ("cleans_up", index)
            if self._done_to(path, clean.operation, clean.part):
                drafts = self._fitted(path, clean)
                if drafts:
                    sheet_part = self._ground.sheet.parts[clean.part]
                    check_clean_up(self, path, clean.part, sheet_part, clean.operation, clean.size)
                for draft in drafts:
                    if draft.cleans_up.get(clean.operation, clean.size.value) != clean.size.value:
                        self._contradicts(path, f"{draft.name} cleans up at another size in an earlier entry")
                    draft.cleans_up[clean.operation] = clean.size.value
        causes = [name for name, concern in self._vocabulary.concerns.items() if concern.cause]
        for index, cause in enumerate(self._case.causes):
            path = ("causes", index)
            self.word((*path, "concern"), cause.concern, causes, "cause")
            for draft in self._fitted(path, cause):
                earlier = self._causes.setdefault((cause.concern, draft.key), cause)
                if not _agree(earlier, cause):
                    self._contradicts(path, f"{cause.concern} on {draft.name} is {earlier.state} already")
        for index, risk in enumerate(self._case.risks):
            self._is_answer(("risks", index, "answer"), risk)
            for draft in self._fitted(("risks", index), risk):
                if not _agree(self._risks.setdefault(draft.key, risk), risk):
                    self._contradicts(("risks", index), f"{draft.name} has an entry under risks already")

    def _placed(self) -> list[tuple[Steps, BenchEntry, list[Draft]]]:
        """Every entry of the bench with the items it is about."""
        return [
            (("bench", index), entry, self._drafts_of(("bench", index), entry))
            for index, entry in enumerate(self._case.bench)
            if self._known_part(("bench", index, "part"), entry.part)
        ]

    def _check_mixed_up(self) -> None:
        """Each mixed-up item came from one place, and what is known stands with it, not with the place."""
        candidates = {item: self._drafts[item].candidates for item in self._mixed_up}
        self._stood_for = frozenset(
            ItemKey(item.kind, place) for item, places in candidates.items() for place in places
        )
        for item, path in self._mixed_up.items():
            for place in sorted(candidates[item]):
                draft = self._drafts[ItemKey(item.kind, place)]
                if draft.named:
                    self.fault(
                        path,
                        "place-mixed-up",
                        f"{draft.name} has entries of its own, and this item may be the one from there",
                        "from_among with only the places that were mixed up, and no entries for those places",
                        "narrow from_among, or write the other entries with place: unknown and a tag",
                    )
                    break
        for misfit in misfits(candidates):
            kind, number, places = misfit.items[0].kind, len(misfit.items), len(misfit.places)
            named = [" ".join(place) for place in self._ground.places[kind] if place in misfit.places]
            self.fault(
                self._mixed_up[misfit.items[0]],
                "mixed-up-number",
                f"mixed-up {kind}: {counted(number, 'item')} ({tags(misfit.items)}) "
                f"from {counted(places, 'place')} ({some(named)})",
                "as many mixed-up items as places that they may have come from, each with a tag of its own",
                "write an entry for every item, findings or none, or narrow from_among"
                if number < places
                else "widen from_among, or give one item the same tag in all its entries",
            )

    def _done_to(self, path: Steps, name: str, part: str) -> bool:
        """Whether an operation is known, and done to this kind of part."""
        operations = self._vocabulary.operations
        return self.own_word((*path, "operation"), name, operations, part, "operation") and self.belongs(
            (*path, "operation"), name, operations[name].kinds, part, "operation"
        )

    def _is_answer(self, path: Steps, risk: Risk) -> None:
        kind = self._vocabulary.kinds.get(risk.part)
        if kind is not None and risk.answer not in kind.answers:
            self.fault(
                path,
                "answer-not-open",
                f"{risk.answer} is not among the answers of {risk.part}",
                ", ".join(kind.answers),
                "take the risk of one of them",
            )

    def _contradicts(self, path: Steps, what: str) -> None:
        self.fault(path, "contradicts", what, "one answer for each item", "drop one of the two")

    def _opening_agrees(self, path: Steps, draft: Draft) -> None:
        if draft.closed is not None and draft.closed == draft.seen:
            self.fault(
                path,
                "seen-unopened",
                f"{draft.name} was not opened at this moment ({draft.closed}), and yet something was seen "
                "or measured on it",
                "opened: no by itself",
                "drop one of the two, or give the later one its own moment",
            )

    def bench(self) -> Bench:
        """The bench as it lies when everything is laid."""
        lies = self._lies
        return Bench(
            items=tuple(self._finished(draft) for draft in lies.drafts),
            links=lies.links,
            sets=lies.sets,
            layout=self._ground.sheet.layout,
            unsure=lies.unsure,
            risks={lies.index_of[key]: risk for key, risk in self._risks.items()},
            causes={(concern, lies.index_of[key]): cause for (concern, key), cause in self._causes.items()},
        )

    def _finished(self, draft: Draft) -> BenchItem:
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
            draft.worked,
        )

    def _drafts_of(self, path: Steps, entry: BenchEntry) -> list[Draft]:
        if entry.place == UNKNOWN_PLACE:
            if not self._has_places((*path, "place"), entry.part):
                return []
            among = self._place_list((*path, "from_among"), entry.part, entry.from_among or EVERY_PLACE)
            key = ItemKey(entry.part, None, entry.tag, entry.origin)
            draft = self._drafts.setdefault(key, Draft(key, frozenset(among)))
            if entry.from_among:
                if draft.from_among and draft.candidates != frozenset(among):
                    self._contradicts(
                        (*path, "from_among"), f"{draft.name} was mixed up from {draft.from_among} before"
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
            drafts.append(self._drafts.setdefault(key, Draft(key, frozenset((place,)))))
        if not _every(entry.place):
            for draft in drafts:
                draft.named = True
        return drafts

    def _fitted(self, path: Steps, entry: OfItems) -> list[Draft]:
        """The fitted items that an entry of another section is about; `all` are the mixed-up ones too."""
        part = entry.part
        if not self._known_part((*path, "part"), part):
            return []
        mixed_up = [item for item in self._mixed_up if item.kind == part]
        if entry.place == UNKNOWN_PLACE:
            if not self._has_places((*path, "place"), part):
                return []
            item = ItemKey(part, None, entry.tag)
            if item not in self._mixed_up:
                self.fault(
                    (*path, "tag") if entry.tag else (*path, "place"),
                    "no-such-tag",
                    f"no mixed-up {part} on the bench is tagged {entry.tag}"
                    if entry.tag
                    else f"no mixed-up {part} on the bench is without a tag",
                    f"a tag of an entry under bench, such as {tags(mixed_up)}"
                    if mixed_up
                    else "an entry under bench with place: unknown and this tag",
                    "correct the tag, or write that entry",
                )
                return []
            return [self._drafts[item]]
        if entry.tag:
            self.fault(
                (*path, "tag"),
                "place-known",
                "a tag stands beside a place that is known",
                "place: unknown, or no tag",
            )
        items = [ItemKey(part, place) for place in self._place_list((*path, "place"), part, entry.place)]
        lost = [item for item in items if item in self._stood_for]
        if lost and not _every(entry.place):
            self.fault(
                (*path, "place"),
                "place-mixed-up",
                f"{self._drafts[lost[0]].name} was mixed up, and no item is known to be the one from there",
                f"place: unknown, with a tag such as {tags(mixed_up)}; or all",
                "name the item by its tag",
            )
        elif _every(entry.place):
            items += mixed_up
        return [self._drafts[item] for item in items if item not in self._stood_for]

    def _has_places(self, path: Steps, part: str) -> bool:
        if self._vocabulary.kinds[part].axes:
            return True
        self.fault(
            path,
            "one-place",
            f"there is one {part}, and so its place is known",
            "no place, or all",
            "leave place, tag and from_among out",
        )
        return False

    def _lay_entry(self, path: Steps, entry: BenchEntry, drafts: Sequence[Draft]) -> None:
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
                draft.closed = latest(draft.closed, entry.moment)
                self._opening_agrees((*path, "opened"), draft)
            return
        seen = dict(self._findings(path, entry))
        read = dict(self._readings(path, entry))
        for draft in drafts:
            draft.seen = latest(draft.seen, entry.moment)
            self._opening_agrees(path, draft)
            for name, finding in seen.items():
                self._keep_finding((*path, "findings", name), draft, name, finding)
            for name, reading in read.items():
                self._keep_reading((*path, "readings", name), draft, name, reading)
            if entry.otherwise is not None:
                draft.rest_none.add(entry.moment)

    def _keep_finding(self, path: Steps, draft: Draft, name: str, seen: Seen) -> None:
        if name in draft.voided and seen.moment != "after machining":
            return
        earlier = draft.findings.get(name)
        if earlier is None or goes_before(seen, earlier, seen.extent, earlier.extent):
            draft.findings[name] = seen
        elif earlier.moment == seen.moment and (earlier.extent, earlier.state) != (seen.extent, seen.state):
            self.fault(
                path,
                "contradicts",
                f"{name} on {draft.name} is {seen.extent or seen.state} here and "
                f"{earlier.extent or earlier.state} at {earlier.at}",
                "one answer for each moment",
                "look again, and keep what is there",
            )

    def _keep_reading(self, path: Steps, draft: Draft, name: str, read: Read) -> None:
        if name in draft.voided and read.moment != "after machining":
            return
        earlier = draft.readings.get(name)
        if earlier is None or goes_before(read, earlier, read.values, earlier.values):
            draft.readings[name] = read
        elif earlier.moment == read.moment:
            if not earlier.values or not read.values or earlier.values.keys() & read.values.keys():
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {draft.name} stands at {earlier.at} already",
                    "each position once for each moment",
                    "write repeated readings as a list at one position",
                )
            elif earlier.taken_with != read.taken_with:
                self.fault(
                    path,
                    "contradicts",
                    f"{name} of {draft.name} was taken with another instrument at {earlier.at}",
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


def _every(place: str) -> bool:
    """Whether a place, as written or left out, means every item of the kind."""
    return place.strip() in ("", EVERY_PLACE)


def _agree(one: CauseState | Risk, other: CauseState | Risk) -> bool:
    """Whether two entries say the same, whatever places else they say it of."""
    return one.model_dump(exclude={"place", "tag"}) == other.model_dump(exclude={"place", "tag"})
