"""A made-up engine on a made-up bench, on which nothing is wrong but what is changed on purpose.

A change is one word in one place: an extent, a reading, what a part is made of. Changes that agree can be put
together; what comes of them is an engine sheet and a case as one would type them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal, NamedTuple, TypeAlias

from advisor.authoring.trial_engine import MADE_UP, cut_out
from advisor.authoring.trial_mild import Mild, Reading
from advisor.chain.facts import world_of
from advisor.chain.world import World
from advisor.faults import Faults
from advisor.gauging import Gauged, gauge
from advisor.sheets.bench import Bench, ItemKey
from advisor.sheets.case import CaseSheet
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import Ground, ground_of
from advisor.sheets.laying import lay_out
from advisor.sheets.place_words import places as in_few_words
from advisor.sheets.ruleset import RuleSet
from advisor.units import read_quantity

What: TypeAlias = Literal[
    "finding", "reading", "unread", "made", "layout", "limit", "origin", "mixed up", "closed"
]


class Spot(NamedTuple):
    """One word of a case or an engine sheet that can be changed.

    `name` is the finding, reading, property, layout key or dimension; `more` is the position of a reading,
    or purpose and side of a limit.
    """

    what: What
    kind: str = ""
    place: str = ""
    name: str = ""
    more: str = ""


Changes: TypeAlias = Mapping[Spot, str]
"""What stands at each spot in place of the mild word."""

TAG = "A"
_OTHER_TAG = "B"


def together(parts: Iterable[Changes]) -> Changes | None:
    """All changes put together; None where two of them contradict."""
    found: dict[Spot, str] = {}
    for part in parts:
        for spot, word in part.items():
            if found.setdefault(spot, word) != word:
                return None
    return found


@dataclass(frozen=True)
class Laid:
    """A made-up case laid on its engine, and gauged."""

    engine: dict[str, Any]
    case: dict[str, Any]
    sheet: EngineSheet
    bench: Bench
    gauged: Gauged
    world: World


@dataclass
class Yard:
    """A small engine of one rule set: `kinds` cut out of `sheet`."""

    sheet: EngineSheet
    ruleset: RuleSet
    kinds: Collection[str]
    on_axis: int = 3
    _sheets: dict[frozenset[tuple[Spot, str]], tuple[dict[str, Any], EngineSheet]] = field(
        default_factory=dict
    )

    @cached_property
    def engine(self) -> dict[str, Any]:
        """The engine sheet without any change."""
        return cut_out(self.sheet, self.ruleset, self.kinds, self.on_axis)

    @cached_property
    def cut(self) -> EngineSheet:
        """The same as a sheet."""
        return EngineSheet.model_validate(self.engine)

    @cached_property
    def mild(self) -> Mild:
        """Readings on which nothing is wrong."""
        return Mild(self.cut, self.ruleset, self.kinds)

    @cached_property
    def ground(self) -> Ground:
        """The places and links of the engine."""
        return ground_of(self.cut, self.ruleset)

    def places(self, kind: str) -> list[str]:
        """The places of a kind as they are typed."""
        return [" ".join(place) for place in self.ground.places.get(kind, [])]

    def linked(self, kind: str, place: str, relation: str, other: str) -> list[str]:
        """The places of the `other` kind to which an item is linked."""
        if relation == "anywhere":
            return [each for each in self.places(other) if (other, each) != (kind, place)]
        fitted = self.ground.fitted
        index = self.ground.index_of[ItemKey(kind, tuple(place.split()))]
        linked = self.ground.links.get(relation, {}).get(index, ())
        return [fitted[each].where for each in linked if fitted[each].kind == other]

    def lay(self, changes: Changes) -> Laid | None:
        """The case with these changes; None where no such case can be."""
        built = self.typed(changes)
        if built is None:
            return None
        engine, sheet, case = built
        try:
            bench = lay_out(sheet, CaseSheet.model_validate(case), self.ruleset)
        except (Faults, ValueError):
            return None
        gauged = gauge(bench, sheet, self.ruleset, self.ruleset.consulted_kinds)
        return Laid(engine, case, sheet, bench, gauged, world_of(bench, gauged, self.ruleset))

    def item(self, laid: Laid, kind: str, place: str, changes: Changes) -> int | None:
        """Which item of a bench stands for the one at a place: itself, or the one laid beside it."""
        origin = changes.get(Spot("origin", kind, place))
        key = ItemKey(kind, tuple(place.split()))
        if origin is not None:
            key = ItemKey(kind, tuple(place.split()), TAG, origin)
        elif Spot("mixed up", kind, place) in changes:
            key = ItemKey(kind, None, TAG)
        return next((index for index, each in enumerate(laid.bench.items) if each.key == key), None)

    def typed(self, changes: Changes) -> tuple[dict[str, Any], EngineSheet, dict[str, Any]] | None:
        """Engine sheet and case as they are typed, and the sheet read; None where no such thing can be."""
        of_sheet = frozenset(each for each in changes.items() if each[0].what in ("made", "layout", "limit"))
        if of_sheet not in self._sheets:
            data = _changed(self.engine, dict(of_sheet))
            try:
                self._sheets[of_sheet] = data, EngineSheet.model_validate(data)
            except ValueError:
                return None
        data, sheet = self._sheets[of_sheet]
        bench: list[dict[str, Any]] = []
        for kind in self.kinds:
            if self.places(kind):
                entries = self._entries(kind, changes)
                if entries is None:
                    return None
                bench += entries
        case: dict[str, Any] = {"format": "1", "case": "made up", "engine_sheet": "engine.yaml"}
        sized = [kind for kind in self.kinds if self.cut.parts[kind].repair_sizes]
        if sized:
            case["found_sizes"] = [{"part": kind, "size": "0 mm", "read_on": "its stamp"} for kind in sized]
        return data, sheet, {**case, "bench": bench}

    def said(self, changes: Changes) -> list[dict[str, Any]]:
        """The entries that say what is changed, to be laid over those of the mild bench."""
        found: list[dict[str, Any]] = []
        for kind in self.kinds:
            every = self.places(kind)
            here = {spot: word for spot, word in changes.items() if spot.kind == kind}
            apart = [spot.place for spot in here if spot.what in ("mixed up", "origin")]
            alike: dict[str, tuple[dict[str, Any], list[str]]] = {}
            for place in every:
                for entry in () if place in apart else self._said_of(kind, place, here):
                    alike.setdefault(repr(entry), (entry, []))[1].append(place)
            for entry, where in alike.values():
                found.append({"part": kind, **_among(where, every, say=True), **entry})
            if apart:
                whole = self._entries(kind, here) or []
                found += [entry for entry in whole if "tag" in entry]
        return found

    def _said_of(self, kind: str, place: str, here: Changes) -> list[dict[str, Any]]:
        """What is said of one fitted item because of changes."""
        if Spot("closed", kind, place) in here:
            return [{"opened": "no"}]
        entries: list[dict[str, Any]] = []
        found = {spot.name: word for spot, word in here.items() if _is(spot, "finding", place)}
        if found:
            entries.append({"moment": "strip", "findings": found})
        changed = {spot.name for spot in here if spot.what in ("reading", "unread") and spot.place == place}
        for entry in self._read(kind, place, here):
            readings = {name: read for name, read in entry["readings"].items() if name in changed}
            if readings:
                entries.append({**entry, "readings": readings})
        return entries

    def _entries(self, kind: str, changes: Changes) -> list[dict[str, Any]] | None:
        """What the case says of every item of a kind; None where the changes cannot be."""
        every = self.places(kind)
        here = {spot: word for spot, word in changes.items() if spot.kind == kind}
        closed = [spot.place for spot in here if spot.what == "closed"]
        mixed = [spot.place for spot in here if spot.what == "mixed up"]
        others = {spot.place: word for spot, word in here.items() if spot.what == "origin"}
        if len(mixed) > 1 or (mixed and len(every) < 2) or {*closed} & {*mixed, *others}:
            return None
        beside = next((place for place in every if place not in mixed), "") if mixed else ""
        known = [place for place in every if place not in (*mixed, beside) or not mixed]
        opened = [place for place in known if place not in closed]
        entries: list[dict[str, Any]] = [
            {"part": kind, **_at(place, every), "opened": "no"} for place in closed
        ]
        if opened:
            entries.append({"part": kind, **_among(opened, every), **_SEEN})
        for place in every:
            found = {spot.name: word for spot, word in here.items() if _is(spot, "finding", place)}
            if found and place in opened and place not in others:
                entries.append({"part": kind, **_at(place, every), "moment": "strip", "findings": found})
        entries += self._readings(kind, opened, here, others)
        for place in [*mixed, *([beside] if mixed else []), *others]:
            own = place in mixed or place in others
            name: dict[str, Any] = {"part": kind}
            if place in others:
                name |= {**_at(place, every), "tag": TAG, "origin": others[place]}
            else:
                among = ", ".join([*mixed, beside])
                name |= {"place": "unknown", "tag": TAG if own else _OTHER_TAG, "from_among": among}
            found = {spot.name: word for spot, word in here.items() if own and _is(spot, "finding", place)}
            entry = {**name, **_SEEN}
            entries.append({**entry, "findings": found} if found else entry)
            entries += [{**name, **each} for each in self._read(kind, place, here if own else {})]
        return entries

    def _readings(
        self, kind: str, places: list[str], here: Changes, others: Mapping[str, str]
    ) -> list[dict[str, Any]]:
        """The readings of fitted items, those that read alike told together."""
        every = self.places(kind)
        alike: dict[str, tuple[dict[str, Any], list[str]]] = {}
        for place in places:
            for entry in self._read(kind, place, {} if place in others else here):
                alike.setdefault(repr(entry), (entry, []))[1].append(place)
        return [{"part": kind, **_among(where, every, say=True), **entry} for entry, where in alike.values()]

    def _read(self, kind: str, place: str, here: Changes) -> list[dict[str, Any]]:
        """What is measured on one item, by the moment at which it is."""
        by_moment: dict[str, dict[str, Any]] = {}
        names = [name for of, name in self.mild.values if of == kind]
        changed = [spot.name for spot in here if spot.what in ("reading", "unread") and spot.place == place]
        for name in dict.fromkeys([*names, *changed]):
            reading = self.ruleset.vocabulary.readings[name]
            state = here.get(Spot("unread", kind, place, name))
            taken: dict[str, Any] = {}
            for position in reading.positions():
                word = here.get(Spot("reading", kind, place, name, position)) or state
                taken[position] = word or self.text((kind, name))
            instrument = self.instrument((kind, name))
            entry: dict[str, Any] = {"with": instrument} if instrument and state is None else {}
            entry |= {"value": taken[""]} if "" in taken else {"values": taken}
            by_moment.setdefault(reading.moment, {})[name] = entry
        return [{"moment": moment, "readings": found} for moment, found in by_moment.items()]

    def text(self, reading: Reading) -> str:
        """The mild size of a reading, as it is typed."""
        value = self.mild.values.get(reading)
        scale = self.mild.scale(reading)
        if value is None:
            new = self.mild.new_size(reading)
            value = new.value if new is not None else 10 * scale.factor + scale.offset
        return scale.text(value)

    def instrument(self, reading: Reading) -> str:
        """The most exact of the instruments that serve for a reading of this size; empty where none does."""
        known = self.ruleset.instruments
        kind = self.ruleset.vocabulary.readings[reading[1]]
        size = read_quantity(self.text(reading))
        fitting = [
            name
            for name in kind.instruments
            if known[name].measures == kind.quantity and known[name].spans(size)
        ]
        return min(fitting, key=lambda name: (known[name].limit.value, name), default="")


_SEEN: dict[str, str] = {"moment": "strip", "otherwise": "none"}


def _is(spot: Spot, what: What, place: str) -> bool:
    return spot.what == what and spot.place == place


def _at(place: str, every: list[str]) -> dict[str, str]:
    return {"place": place} if len(every) > 1 else {}


def _among(places: list[str], every: list[str], *, say: bool = False) -> dict[str, str]:
    if len(every) < 2:
        return {}
    if places == every:
        return {"place": "all"} if say else {}
    return {"place": in_few_words(places)}


def _changed(engine: dict[str, Any], changes: Changes) -> dict[str, Any]:
    """An engine sheet with changes of what it is made of, of its layout and of its limits."""
    parts = {kind: dict(part) for kind, part in engine["parts"].items()}
    layout = dict(engine["layout"])
    for spot, word in sorted(changes.items()):
        if spot.what == "layout":
            layout[spot.name] = word
        elif spot.what == "made":
            parts[spot.kind]["made"] = {**parts[spot.kind].get("made", {}), spot.name: word}
        else:
            purpose, side = spot.more.split()
            limits = [dict(each) for each in parts[spot.kind].get("limits", ())]
            own = [each for each in limits if (each["dimension"], each["purpose"]) == (spot.name, purpose)]
            if own:
                own[0][side] = word
            else:
                limits.append({"dimension": spot.name, "purpose": purpose, side: word, "read_at": MADE_UP})
            parts[spot.kind]["limits"] = limits
    return {**engine, "layout": layout, "parts": parts}
