"""A rule set: read from its folder, its files merged, every name in it checked against the others."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

from advisor.faults import Fault, Faults
from advisor.sheets.base import Sheet
from advisor.sheets.conditions import Absent, Related, leaves
from advisor.sheets.digest import canonical, dump
from advisor.sheets.places import Document
from advisor.sheets.rule_of_thumb import RuleOfThumb
from advisor.sheets.rules import RuleFile, RuleText
from advisor.sheets.ruleset_files import (
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
        return {
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
            limits=tuple(RuleOfThumb.model_validate(limit) for limit in record["limits"]),
            sources={
                key: BibliographyEntry.model_validate(each) for key, each in told(record, "sources").items()
            },
            cautions={key: Caution.model_validate(each) for key, each in told(record, "cautions").items()},
            instruments={
                key: Instrument.model_validate(each) for key, each in told(record, "instruments").items()
            },
        )

    @cached_property
    def consulted_kinds(self) -> frozenset[str]:
        """Kinds of part that some rule looks at, its own or a related one; nothing hangs on the others."""
        related = {
            leaf.kind
            for rule in self.rules
            for each in leaves(rule.condition)
            if isinstance(leaf := each.of if isinstance(each, Absent) else each, Related)
        }
        return frozenset(related | {rule.for_ for rule in self.rules})

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


def read_files(folder: Path) -> RuleSetFiles:
    """Read and shape every file that the manifest names. Raises `Faults`, all files together."""
    manifest, document = _read(Manifest, folder / MANIFEST)
    faults: list[Fault] = []

    def one(model: type[M], name: str, *path: str | int) -> tuple[M, Document] | None:
        if not inside(folder, name):
            faults.append(
                Fault(
                    "file-outside",
                    f"{name} lies outside the rule set's folder",
                    "a file name in this folder or below it",
                    "move the file into the folder",
                    document.positions[path],
                )
            )
            return None
        try:
            return _read(model, folder / name)
        except Faults as found:
            # A file that is not there is told where it is named.
            here = document.positions[path]
            faults.extend(
                fault if fault.at is not None else replace(fault, at=here) for fault in found.faults
            )
            return None

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
    )


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
                    faults.append(
                        Fault(
                            "name-twice",
                            f"{key} stands in {section} already",
                            "each name once in all vocabulary files",
                            f"see {entries[key].at or 'the other file'}; rename or drop one",
                            document.key_position((section, key)),
                        )
                    )
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
        sources=files.sources[0].sources,
        cautions=files.cautions[0].cautions,
        instruments=files.instruments[0].instruments,
        vocabulary_version=manifest.vocabulary_version,
        written={
            rule.id: f"{manifest.name}/{name}:{rule.at.line}:{rule.at.col}"
            for name, (model, _) in zip(manifest.rules, files.rules, strict=False)
            for rule in model.rules
            if rule.at is not None
        },
    )
    return whole, faults


def rule_positions(files: RuleSetFiles) -> Iterator[tuple[RuleText, Document, int]]:
    """Every rule with its document and its index in that file."""
    for model, document in files.rules:
        for index, rule in enumerate(model.rules):
            yield rule, document, index


def _read(model: type[M], path: Path) -> tuple[M, Document]:
    document = load(path)
    return validate(model, document), document


def concerns_of(rules: Sequence[RuleText]) -> frozenset[str]:
    """Every concern that some rule concludes."""
    return frozenset(concern for rule in rules for concern in rule.then.concern)
