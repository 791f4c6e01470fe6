"""A witness as files that can be decided: a made-up engine with the parts it needs, and the case.

Every part is looked over and measured, and nothing is wrong with it but what the witness says. Sizes are
round figures and limits are set around them; nothing in them is a statement about engines.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import yaml

from advisor.authoring.analysis.domains import NOT_GIVEN
from advisor.authoring.analysis.model import Witness, WitnessItem
from advisor.sheets.checker import ANYWHERE
from advisor.sheets.conditions import OUTCOMES
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import Ground, ground_of
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import NOT_KNOWN, Formula
from advisor.units import DIMENSIONS

ENGINE_FILE: Final = "engine.yaml"
_ON_AXIS: Final = "3"
_USUAL: Final = 60
"""What everything measures, in the first unit that its quantity is typed in; new parts do as well."""

_PLAIN: Final = ("value", "largest", "smallest", "mean")
_OF_TWO: Final = ("clearance", "least_clearance")
_SPREAD: Final = ("out_of_round", "taper")


class NoCase(Exception):
    """No engine that is laid out by places has items linked as the witness wants them."""


@dataclass(frozen=True, slots=True)
class Files:
    """What is typed: the engine sheet, and the case that names it."""

    engine: Mapping[str, Any]
    case: Mapping[str, Any]


class _Plain(yaml.SafeDumper):
    """Writes a value again where it stands again: nobody reads through references."""

    def ignore_aliases(self, data: object) -> bool:
        """Nothing is told by reference."""
        return True


def typed(value: object) -> str:
    """Some of a file as YAML."""
    return _dumped(value, flow=None, width=100)


def in_line(value: object) -> str:
    """The same on one line."""
    return _dumped(value, flow=True, width=10_000).strip()


def _dumped(value: object, *, flow: bool | None, width: int) -> str:
    text: str = yaml.dump(
        value, Dumper=_Plain, sort_keys=False, allow_unicode=True, default_flow_style=flow, width=width
    )
    return text


def entries(witness: Witness, rules: RuleSet) -> list[dict[str, Any]]:
    """The entries of the bench that say what the witness is about, for an engine that has such parts."""
    found = []
    for item in witness.items:
        entry: dict[str, Any] = {"part": item.kind}
        if item.place_unknown:
            entry |= {"place": "unknown", "tag": "A"}
        if item.origin != "fitted":
            entry |= {"tag": "A", "origin": item.origin}
        found.append({**entry, **_seen(item, rules)})
    return found


def _seen(item: WitnessItem, rules: RuleSet) -> dict[str, Any]:
    """What is said of an item, but for its readings."""
    told = {name: word for name, word in item.findings.items() if word != "none"}
    seen: dict[str, Any] = {"moment": "strip", "findings": told} if told else {"moment": "strip"}
    if any(item.kind in finding.kinds for finding in rules.vocabulary.findings.values()):
        seen["otherwise"] = "none"
    return seen


def files_of(witness: Witness, rules: RuleSet, name: str) -> Files:
    """Engine sheet and case of a witness. Raises `NoCase`."""
    builder = _Builder(witness, rules)
    return Files(builder.engine, builder.case(name))


@dataclass
class _Builder:
    witness: Witness
    rules: RuleSet
    readings: dict[tuple[str, str], dict[str, int]] = field(default_factory=dict)
    """By kind and reading: the size at each position."""
    parts: dict[str, dict[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for item in self.witness.items:
            self._part(item)
        for item in self.witness.items:
            self._measured(item)

    def _part(self, item: WitnessItem) -> None:
        vocabulary = self.rules.vocabulary
        part = self.parts.setdefault(item.kind, {})
        for name, values in vocabulary.kinds[item.kind].properties.items():
            word = item.properties.get(name, values[0])
            part.setdefault("made", {}).setdefault(name, NOT_KNOWN if word == NOT_GIVEN else word)

    # ---- sizes ----

    def _measured(self, item: WitnessItem) -> None:
        """Readings and limits on which every dimension stands as wanted; inside where nothing is said."""
        vocabulary = self.rules.vocabulary
        for name, dimension in vocabulary.dimensions.items():
            if item.kind not in dimension.kinds or not dimension.formulas:
                continue
            wanted = {purpose: word for (of, purpose), word in item.standings.items() if of == name}
            formula = dimension.formulas[0]
            sources = self._sources(item.kind, formula)
            for kind, reading in sources:
                self.parts.setdefault(kind, {})
                if not set(wanted.values()) - set(OUTCOMES):
                    self._read(kind, reading)
            outcome = next((word for word in wanted.values() if word in ("above", "below")), "")
            if outcome == "above":
                self._move(item.kind, formula, sources)
            for purpose in dict.fromkeys(("discard", *wanted)):
                limit = self._limit(formula, wanted.get(purpose, "inside"))
                unit = DIMENSIONS[dimension.quantity].offer[0]
                sides = {side: f"{size} {unit}" for side, size in limit.items()}
                self.parts[item.kind].setdefault("limits", []).append(
                    {"dimension": name, "purpose": purpose, **sides, "read_at": "made up"}
                )
        self._repair_sizes(item.kind)

    def _sources(self, kind: str, formula: Formula) -> list[tuple[str, str]]:
        if formula.reading is not None:
            return [(kind, formula.reading)]
        return [
            (next(iter(source.on.values()), kind), source.reading)
            for source in (formula.outer, formula.inner)
            if source is not None
        ]

    def _read(self, kind: str, reading: str) -> None:
        declared = self.rules.vocabulary.readings[reading]
        self.readings.setdefault((kind, reading), dict.fromkeys(declared.positions(), _USUAL))
        if reading in self.rules.vocabulary.kinds[kind].sizes:
            self._new(kind, reading, _USUAL)

    def _new(self, kind: str, reading: str, size: float, *, anew: bool = False) -> None:
        unit = DIMENSIONS[self.rules.vocabulary.readings[reading].quantity].offer[0]
        new = self.parts[kind].setdefault("new", {})
        if anew or reading not in new:
            new[reading] = f"{size} {unit}"

    def _move(self, kind: str, formula: Formula, sources: Sequence[tuple[str, str]]) -> None:
        """Bring a dimension out of its limit, where no limit alone can do it."""
        of, reading = sources[0]
        if formula.operator in _PLAIN:
            return
        if formula.operator == "below_size":
            self._new(of, reading, _USUAL + 2.5, anew=True)
        elif formula.operator == "above_size":
            self._new(of, reading, _USUAL - 2.5, anew=True)
        elif formula.operator == "short_of_new":
            self._new(of, reading, 2 * _USUAL, anew=True)
        elif formula.operator in _SPREAD:
            declared = self.rules.vocabulary.readings[reading]
            words = declared.sections if formula.operator == "taper" else declared.directions
            for position in self.readings.get((of, reading), ()):
                if words[-1] in position.split():
                    self.readings[of, reading][position] = _USUAL - 1
        elif of == kind:
            self.readings[of, reading] = dict.fromkeys(self.readings[of, reading], _USUAL + 1)
        else:
            inner = sources[1]
            self.readings[inner] = dict.fromkeys(self.readings[inner], _USUAL - 1)

    def _limit(self, formula: Formula, word: str) -> dict[str, float]:
        """A limit against which the usual figures stand so."""
        if formula.operator in _PLAIN:
            return {
                "above": {"at_most": _USUAL / 2},
                "below": {"at_least": _USUAL * 3 / 2},
            }.get(word, {"at_most": _USUAL * 3 / 2})
        if formula.operator == "short_of_new":
            return {"at_most": 10}
        if word == "below":
            return {"at_least": 0.5}
        return {"at_most": 0.5 if word == "above" or formula.operator in _SPREAD else 1.8}

    def _repair_sizes(self, kind: str) -> None:
        """A listed size for all work that goes to one, so that it can be done."""
        vocabulary = self.rules.vocabulary
        part = self.parts[kind]
        if "repair_sizes" in part:
            return
        for name, operation in vocabulary.operations.items():
            lengths = [
                size for size in part.get("new", ()) if size in (*operation.voids, *vocabulary.readings)
            ]
            lengths = [size for size in lengths if vocabulary.readings[size].quantity == "length"]
            if not operation.repair_size or kind not in operation.kinds or not lengths:
                continue
            size = next((each for each in lengths if each in operation.voids), lengths[0])
            grows = any(
                formula.reading == size and formula.operator == "above_size"
                for dimension in vocabulary.dimensions.values()
                for formula in dimension.formulas
            )
            part.setdefault("repair_sizes", []).append(
                {
                    "operation": name,
                    "size": size,
                    "steps": ["5 mm" if grows else "-5 mm"],
                    "stock": "0.1 mm",
                    "read_at": "made up",
                }
            )

    # ---- engine and case ----

    @cached_property
    def engine(self) -> dict[str, Any]:
        """The engine sheet."""
        vocabulary = self.rules.vocabulary
        layout = {name: each.values[0] for name, each in vocabulary.layout.items() if each.values}
        engine: dict[str, Any] = {
            "format": "1",
            "ruleset": self.rules.name,
            "vocabulary_version": str(self.rules.vocabulary_version),
            "engine": "an engine made up for this case",
            "layout": {**layout, **self.witness.layout},
            "axes": {name: _ON_AXIS for name, axis in vocabulary.axes.items() if not axis.values},
            "parts": self.parts,
        }
        pairs = [
            {"relation": name, "of": link.of, "to": link.to, "pairs": self._pairs(link.of, link.to)}
            for name, relation in vocabulary.relations.items()
            for link in relation.links
            if link.listed and link.of in self.parts and link.to in self.parts
        ]
        return {**engine, "links": pairs} if pairs else engine

    def _pairs(self, of: str, to: str) -> list[dict[str, str]]:
        """Places of two kinds, told one after the other."""
        ones, others = self._typed_places(of), self._typed_places(to)
        return [{"of": one, "to": other} for one, other in zip(ones, others, strict=False)]

    def _typed_places(self, kind: str) -> list[str]:
        axes = self.rules.vocabulary.axes
        places = [""]
        for name in self.rules.vocabulary.kinds[kind].axes:
            values = axes[name].values or [str(number) for number in range(1, int(_ON_AXIS) + 1)]
            places = [f"{place} {value}".strip() for place in places for value in values]
        return places

    @cached_property
    def _ground(self) -> Ground:
        return ground_of(EngineSheet.model_validate(self.engine), self.rules)

    def _places(self) -> list[list[str]]:
        """By item of the witness: the places of those that it stands for. Raises `NoCase`."""
        fitted, links = self._ground.fitted, self._ground.links
        taken: set[tuple[str, str]] = set()
        found: list[list[int]] = []
        for item in self.witness.items:
            indexes = range(len(fitted))
            if item.linked_to is not None and item.relation != ANYWHERE:
                indexes = links.get(item.relation, {}).get(found[item.linked_to][0], ())  # type: ignore[assignment]
            free = [
                index
                for index in indexes
                if fitted[index].kind == item.kind and (item.kind, fitted[index].where) not in taken
            ]
            if len(free) < item.number:
                raise NoCase
            found.append(free[: item.number])
            taken |= {(item.kind, fitted[index].where) for index in free[: item.number]}
        return [[fitted[index].where for index in indexes] for indexes in found]

    def case(self, name: str) -> dict[str, Any]:
        """The case. Raises `NoCase`."""
        where = self._places()
        told: dict[str, set[str]] = {}
        bench: list[dict[str, Any]] = []
        for item, places in zip(self.witness.items, where, strict=True):
            for place in places:
                bench += self._item(item, place, told.setdefault(item.kind, set()))
        for kind in self.parts:
            rest = [place for place in self._typed_places(kind) if place not in told.get(kind, ())]
            if rest:
                everyone = WitnessItem(kind)
                at = {"place": ", ".join(rest)} if any(rest) else {}
                bench.append({"part": kind, **at, **_seen(everyone, self.rules)})
                bench += self._sizes(everyone, {"part": kind, **(at or {"place": "all"})})
        sized = [kind for kind, part in self.parts.items() if "repair_sizes" in part]
        found_sizes = [{"part": kind, "size": "0 mm", "read_on": "its stamp"} for kind in sized]
        more = {"found_sizes": found_sizes} if found_sizes else {}
        version = {"vocabulary_version": str(self.rules.vocabulary_version)}
        return {"format": "1", "case": name, "engine_sheet": ENGINE_FILE, **version, **more, "bench": bench}

    def _item(self, item: WitnessItem, place: str, told: set[str]) -> list[dict[str, Any]]:
        """What is said of one item; one whose place is not known may be from there or from another place."""
        if not item.place_unknown:
            at: dict[str, Any] = {"place": place} if place else {}
            if item.origin != "fitted":
                at |= {"tag": "A", "origin": item.origin}
            else:
                told.add(place)
            entry = {"part": item.kind, **at}
            return [{**entry, **_seen(item, self.rules)}, *self._sizes(item, entry or {"place": "all"})]
        other = next((each for each in self._typed_places(item.kind) if each not in told | {place}), None)
        if other is None:
            raise NoCase
        told |= {place, other}
        found = []
        for tag, each in (("A", item), ("B", WitnessItem(item.kind))):
            entry = {"part": item.kind, "place": "unknown", "tag": tag, "from_among": f"{place}, {other}"}
            found += [{**entry, **_seen(each, self.rules)}, *self._sizes(each, entry)]
        return found

    def _sizes(self, item: WitnessItem, entry: Mapping[str, Any]) -> list[dict[str, Any]]:
        """The readings of an item, by the moment at which they are taken."""
        vocabulary = self.rules.vocabulary
        missing = {
            reading: word
            for (name, _), word in item.standings.items()
            if word not in OUTCOMES
            for kind, reading in self._sources(item.kind, vocabulary.dimensions[name].formulas[0])
            if kind == item.kind
        }
        by_moment: dict[str, dict[str, Any]] = {}
        for (kind, name), sizes in self.readings.items():
            if kind != item.kind:
                continue
            declared = vocabulary.readings[name]
            unit = DIMENSIONS[declared.quantity].offer[0]
            typed_sizes = {at: missing.get(name, f"{size} {unit}") for at, size in sizes.items()}
            whole = {"value": typed_sizes[""]} if "" in typed_sizes else {"values": typed_sizes}
            by_moment.setdefault(declared.moment, {})[name] = whole
        at = entry if "place" in entry or not vocabulary.kinds[item.kind].axes else {**entry, "place": "all"}
        return [{**at, "moment": moment, "readings": read} for moment, read in by_moment.items()]
