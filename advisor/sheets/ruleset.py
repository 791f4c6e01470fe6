"""A rule set: read from its folder, its files merged, every name in it checked against the others."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from advisor.faults import Fault, Faults, Position
from advisor.sheets.base import Sheet
from advisor.sheets.conditions import Absent, Related, leaves
from advisor.sheets.digest import canonical, dump
from advisor.sheets.house_record import HouseChange, HouseLayer, layer_record, read_layer
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rule_of_thumb import RuleOfThumb, read_limit
from advisor.sheets.rules import RuleFile, RuleText
from advisor.sheets.ruleset_files import (
    Acceptance,
    Bibliography,
    BibliographyEntry,
    Caution,
    CautionFile,
    Instrument,
    InstrumentFile,
    Manifest,
)
from advisor.sheets.text import load
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import ANSWERS, Relation, VocabularyFile

M = TypeVar("M", bound=Sheet)

MANIFEST = "ruleset.yaml"
"""The file that makes a folder a rule set."""

HOUSE = "house.yaml"
"""The file that makes a folder a layer of house rules over a rule set."""


@dataclass(frozen=True)
class RuleSet:
    """Everything that is needed to judge a case, resolved into one whole.

    Two rule sets with the same `digest` judge every case alike.
    """

    name: str
    version: str
    title: str
    vocabulary: VocabularyFile
    rules: tuple[RuleText, ...]
    limits: tuple[RuleOfThumb, ...]
    sources: Mapping[str, BibliographyEntry]
    cautions: Mapping[str, Caution]
    instruments: Mapping[str, Instrument]
    vocabulary_version: int = 1
    written: Mapping[str, str] = field(default_factory=dict, compare=False)
    """By rule: the file, line and column where it is written. No part of what the rule set says."""
    house: tuple[HouseLayer, ...] = ()
    """The house rules that are in it, the lowest layer first."""

    @cached_property
    def digest(self) -> str:
        """SHA-256 over the canonical JSON of the whole, in hex."""
        return hashlib.sha256(canonical(self.record()).encode()).hexdigest()

    def record(self) -> dict[str, Any]:
        """The whole as plain JSON values, for a decision record; `of_record` reads it back.

        Canonical JSON sorts keys, so the one mapping whose order means something, the extents of a
        finding, is told as a list of pairs.
        """
        vocabulary = dump(self.vocabulary)
        for finding in vocabulary.get("findings", {}).values():
            finding["extents"] = [list(pair) for pair in finding["extents"].items()]
        house = {"house": [layer_record(layer) for layer in self.house]} if self.house else {}
        return house | {
            "name": self.name,
            "version": self.version,
            "title": self.title,
            "vocabulary_version": str(self.vocabulary_version),
            "vocabulary": vocabulary,
            "rules": [dump(rule) for rule in self.rules],
            "limits": [dump(limit) for limit in self.limits],
            "sources": {key: dump(entry) for key, entry in self.sources.items()},
            "cautions": {key: dump(entry) for key, entry in self.cautions.items()},
            "instruments": {key: dump(entry) for key, entry in self.instruments.items()},
        }

    @cached_property
    def order(self) -> dict[str, list[str]]:
        """By section: its words in the order in which they were declared and are shown."""
        sections = {
            name: getattr(self.vocabulary, name) for name in VocabularyFile.model_fields if name != "format"
        }
        sections |= {"sources": self.sources, "cautions": self.cautions, "instruments": self.instruments}
        return {name: list(words) for name, words in sections.items()}

    @classmethod
    def of_record(cls, record: Mapping[str, Any], order: Mapping[str, Sequence[str]]) -> RuleSet:
        """The rule set that `record` was made from, its words shown in `order`.

        Raises `pydantic.ValidationError`, or `LookupError` and `TypeError`, for what is no such record.
        """

        def told(sections: Mapping[str, Any], name: str) -> dict[str, Any]:
            declared, words = sections.get(name, {}), order.get(name, ())
            rest = [word for word in declared if word not in words]
            return {word: declared[word] for word in (*words, *rest)}

        vocabulary: dict[str, Any] = dict(record["vocabulary"])
        vocabulary |= {name: told(vocabulary, name) for name in order if name in VocabularyFile.model_fields}
        vocabulary.setdefault("findings", {})
        for name, finding in vocabulary["findings"].items():
            vocabulary["findings"][name] = {**finding, "extents": dict(finding["extents"])}
        return cls(
            name=record["name"],
            version=record["version"],
            title=record["title"],
            vocabulary_version=int(record["vocabulary_version"]),
            vocabulary=VocabularyFile.model_validate(vocabulary),
            rules=tuple(RuleText.model_validate(rule) for rule in record["rules"]),
            limits=tuple(read_limit(limit) for limit in record["limits"]),
            sources={
                key: BibliographyEntry.model_validate(each) for key, each in told(record, "sources").items()
            },
            cautions={key: Caution.model_validate(each) for key, each in told(record, "cautions").items()},
            instruments={
                key: Instrument.model_validate(each) for key, each in told(record, "instruments").items()
            },
            house=tuple(read_layer(layer) for layer in record.get("house", ())),
        )

    @cached_property
    def house_rules(self) -> Mapping[str, HouseChange]:
        """By rule: what a house decided about it, where it added it or follows another source in it."""
        return {
            change.subject: change
            for layer in self.house
            for change in layer.changes
            if change.kind in ("rules added", "alternative followed")
        }

    @cached_property
    def consulted_kinds(self) -> frozenset[str]:
        """Kinds of part that some rule looks at, its own or a related one, or that ask for evidence.

        Nothing hangs on the others.
        """
        related = {
            leaf.kind
            for rule in self.rules
            for each in leaves(rule.condition)
            if isinstance(leaf := each.of if isinstance(each, Absent) else each, Related)
        }
        asking = {name for name, kind in self.vocabulary.kinds.items() if kind.evidence}
        return frozenset(related | asking | {rule.for_ for rule in self.rules})

    @cached_property
    def on_suspicion(self) -> frozenset[tuple[str, str]]:
        """By kind and name: findings that count only where they were seen or a rule asks for them.

        What a kind itself asks for is always asked for.
        """
        return frozenset(
            (kind, name)
            for name, finding in self.vocabulary.findings.items()
            if finding.wanted == "on suspicion"
            for kind in finding.kinds
            if kind in self.vocabulary.kinds
            and all(each.finding != name for each in self.vocabulary.kinds[kind].evidence)
        )

    @cached_property
    def judged_kinds(self) -> frozenset[str]:
        """Kinds of part that some rule can bar from their mildest answer.

        The others are not judged at all: that nothing bars a part of which no rule knows anything bad is
        no reason to put it back.
        """
        mildest = {name: min(kind.answers, key=ANSWERS.index) for name, kind in self.vocabulary.kinds.items()}
        return frozenset(
            rule.for_
            for rule in self.rules
            if any(mildest.get(rule.for_) in bar.answers for bar in rule.then.bar)
        )


@dataclass(frozen=True)
class RuleSetFiles:
    """The files of a rule set as read, each with its document, for checks that name a place."""

    manifest: tuple[Manifest, Document]
    vocabulary: tuple[tuple[VocabularyFile, Document], ...]
    rules: tuple[tuple[RuleFile, Document], ...]
    sources: tuple[Bibliography, Document]
    cautions: tuple[CautionFile, Document]
    instruments: tuple[InstrumentFile, Document]
    more_sources: tuple[tuple[Bibliography, Document], ...] = ()
    """What house rules add to the sources; likewise for cautions and instruments."""
    more_cautions: tuple[tuple[CautionFile, Document], ...] = ()
    more_instruments: tuple[tuple[InstrumentFile, Document], ...] = ()
    rule_names: tuple[str, ...] = ()
    """For each file of rules: its name after that of its rule set."""
    layers: tuple[HouseLayer, ...] = ()
    base: RuleSetFiles | None = None
    """Where these are a base with house rules over it: the base by itself."""
    house_files: frozenset[str] = frozenset()
    """The files that the house rules themselves are written in."""
    accepted: tuple[tuple[Acceptance, Position], ...] = ()
    """Findings that house rules let stand, and where they say so."""
    written: Mapping[str, str] = field(default_factory=dict)
    """By layer and change: where house rules are written."""


def is_ruleset(folder: Path) -> bool:
    """Whether a folder holds a rule set, or house rules over one."""
    try:
        return (folder / MANIFEST).is_file() or (folder / HOUSE).is_file()
    except (OSError, ValueError):
        return False


def is_house(folder: Path) -> bool:
    """Whether a folder holds house rules. Raises `Faults` where it is a rule set of its own too."""
    if not (folder / HOUSE).is_file():
        return False
    if (folder / MANIFEST).is_file():
        raise Faults(
            [
                Fault(
                    "house-and-rule-set",
                    f"this folder holds a {MANIFEST} too, so nobody can tell which of the two is meant",
                    f"{HOUSE} or {MANIFEST}, each in a folder of its own",
                    "move the house rules into a folder beside that of their base",
                    Position(str(folder / HOUSE), 1, 1),
                )
            ]
        )
    return True


def read_files(folder: Path) -> RuleSetFiles:
    """Read and shape every file of the rule set in `folder`, or of a base with the house rules in it.

    Raises `Faults`, those of all files together.
    """
    if is_house(folder):
        # Few rule sets have house rules, and the models of those take a while to import.
        from advisor.sheets.house import read_house

        return read_house(folder)
    manifest, document = read_sheet(Manifest, folder / MANIFEST)
    faults: list[Fault] = []

    def one(model: type[M], name: str, *path: str | int) -> tuple[M, Document] | None:
        return read_named(model, folder, name, document, path, faults)

    vocabulary = [one(VocabularyFile, name, "vocabulary", i) for i, name in enumerate(manifest.vocabulary)]
    rules = [one(RuleFile, name, "rules", i) for i, name in enumerate(manifest.rules)]
    sources = one(Bibliography, manifest.sources, "sources")
    cautions = one(CautionFile, manifest.cautions, "cautions")
    instruments = one(InstrumentFile, manifest.instruments, "instruments")
    if faults or sources is None or cautions is None or instruments is None:
        raise Faults(faults)
    return RuleSetFiles(
        (manifest, document),
        tuple(each for each in vocabulary if each is not None),
        tuple(each for each in rules if each is not None),
        sources,
        cautions,
        instruments,
        rule_names=tuple(f"{manifest.name}/{name}" for name in manifest.rules),
    )


def read_named(
    model: type[M], folder: Path, name: str, document: Document, path: Steps, faults: list[Fault]
) -> tuple[M, Document] | None:
    """A file that `document` names at `path`; None, and its faults noted, where it cannot be taken."""
    here = document.positions[path]
    if not inside(folder, name):
        faults.append(
            Fault(
                "file-outside",
                f"{name} lies outside the rule set's folder",
                "a file name in this folder or below it",
                "move the file into the folder",
                here,
            )
        )
        return None
    try:
        return read_sheet(model, folder / name)
    except Faults as found:
        # A file that is not there is told where it is named.
        faults.extend(fault if fault.at is not None else replace(fault, at=here) for fault in found.faults)
        return None


def inside(folder: Path, name: str) -> bool:
    """Whether a file name stays in `folder`, by its spelling and by where links on the way lead."""
    path = Path(name)
    if not name.strip() or path.is_absolute() or ".." in path.parts or "\\" in name:
        return False
    try:
        return (folder / path).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):
        # Links in a circle, or no file name at all: nothing can be read there, and whoever tries will say so.
        return True


def merge(files: RuleSetFiles) -> tuple[RuleSet, list[Fault]]:
    """One whole out of the files, and a fault for every name that stands in two of them."""
    merged: dict[str, dict[str, Any]] = {name: {} for name in VocabularyFile.model_fields if name != "format"}
    faults: list[Fault] = []
    for model, document in files.vocabulary:
        for section, entries in merged.items():
            for key, entry in getattr(model, section).items():
                if key not in entries:
                    entries[key] = entry
                elif isinstance(entry, Relation) and isinstance(entries[key], Relation):
                    # Each assembly adds its own links to a relation that all share.
                    links = [*entries[key].links, *entry.links]
                    whole = entries[key].whole or entry.whole
                    entries[key] = entries[key].model_copy(update={"links": links, "whole": whole})
                else:
                    faults.append(_twice(section, key, entries[key], document))
    more: dict[str, dict[str, Any]] = {"sources": {}, "cautions": {}, "instruments": {}}
    for section, held in more.items():
        for each, document in (getattr(files, section), *getattr(files, f"more_{section}")):
            for key, entry in getattr(each, section).items():
                if key in held:
                    faults.append(_twice(section, key, held[key], document))
                else:
                    held[key] = entry
    manifest = files.manifest[0]
    whole = RuleSet(
        name=manifest.name,
        version=manifest.version,
        title=manifest.title,
        vocabulary=VocabularyFile.model_construct(None, format="1", **merged),
        # By id, so that the order of lines and files changes nothing.
        rules=tuple(
            sorted((rule for model, _ in files.rules for rule in model.rules), key=lambda rule: rule.id)
        ),
        limits=tuple(limit for model, _ in files.rules for limit in model.limits),
        sources=more["sources"],
        cautions=more["cautions"],
        instruments=more["instruments"],
        vocabulary_version=manifest.vocabulary_version,
        written={
            rule.id: f"{name}:{rule.at.line}:{rule.at.col}"
            for name, (model, _) in zip(files.rule_names, files.rules, strict=True)
            for rule in model.rules
            if rule.at is not None
        }
        | dict(files.written),
        house=files.layers,
    )
    return whole, faults


def _twice(section: str, key: str, other: Any, document: Document) -> Fault:
    return Fault(
        "name-twice",
        f"{key} stands in {section} already",
        "each name once in all vocabulary files"
        if section in VocabularyFile.model_fields
        else f"each name once among the {section}, those of the base included",
        f"see {other.at or 'the other file'}; rename or drop one",
        document.key_position((section, key)),
    )


def rule_positions(files: RuleSetFiles) -> Iterator[tuple[RuleText, Document, int]]:
    """Every rule with its document and its index in that file."""
    for model, document in files.rules:
        for index, rule in enumerate(model.rules):
            yield rule, document, index


def read_sheet(model: type[M], path: Path) -> tuple[M, Document]:
    """A file as a model, with its document. Raises `Faults`."""
    document = load(path)
    return validate(model, document), document


def concerns_of(rules: Sequence[RuleText]) -> frozenset[str]:
    """Every concern that some rule concludes."""
    return frozenset(concern for rule in rules for concern in rule.then.concern)
