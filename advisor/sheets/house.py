"""House rules: a shop's own layer over a base rule set, put together with it to one resolved whole.

The whole is a set of files like any other, so that whatever checks, tests or runs a rule set does so with
house rules in it as well. What the house changed stands where the house wrote it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final, TypeVar

from advisor._resources import rulesets_dir
from advisor.faults import Fault, Faults
from advisor.sheets.base import Sheet
from advisor.sheets.checker import Checker
from advisor.sheets.conditions import Absent, HasConcern, Related, leaves
from advisor.sheets.house_changes import Edits, edits_of, key_of, rules_after
from advisor.sheets.house_compare import limit_words
from advisor.sheets.house_documents import changed_files, limits_file
from advisor.sheets.house_file import HouseFile
from advisor.sheets.house_record import BaseUsed, ChangeKind, HouseChange, HouseLayer
from advisor.sheets.places import Document
from advisor.sheets.places import Path as Steps
from advisor.sheets.rules import RuleFile, RuleText
from advisor.sheets.ruleset import (
    HOUSE,
    RuleSet,
    RuleSetFiles,
    inside,
    is_ruleset,
    merge,
    read_files,
    read_named,
    read_sheet,
)
from advisor.sheets.ruleset_files import Bibliography, CautionFile, InstrumentFile
from advisor.sheets.text import parse, read_text
from advisor.sheets.validate import validate
from advisor.sheets.vocabulary import VocabularyFile

MOST_LAYERS: Final = 4
"""House rules over house rules: a works, a branch of it, and two to spare."""

S = TypeVar("S", bound=Sheet)

_ADDED: Final[Mapping[str, type[Sheet]]] = {
    "rules": RuleFile,
    "vocabulary": VocabularyFile,
    "sources": Bibliography,
    "cautions": CautionFile,
    "instruments": InstrumentFile,
}
"""The files that a house may add, by the key that names them."""

_KINDS: Final[tuple[ChangeKind, ...]] = (
    "rule retired",
    "alternative followed",
    "limit changed",
    "probabilities changed",
    "instrument changed",
    "rules added",
    "words added",
)
"""The order in which changes are told."""


def read_house(folder: Path) -> RuleSetFiles:
    """The files of a base with the house rules of `folder` in them. Raises `Faults`."""
    house, document = read_sheet(HouseFile, folder / HOUSE)
    below = base_folder(folder, house, document)
    base_files = read_files(below)
    base, clashes = merge(base_files)
    if clashes:
        raise Faults(clashes)
    edits, faults = edits_of(house, document, base)
    added, more = _additions(folder, house, document)
    faults += more
    checker = Checker(base, document)
    _names(checker, house, base, edits, added)
    faults += checker.found
    if faults:
        raise Faults(sorted(faults, key=lambda fault: (fault.at is None, fault.at)))
    _still_wanted(checker, base, edits, added)
    if checker.found:
        raise Faults(checker.found)
    changes = [(change, document.positions[path]) for change, path in edits.changes]
    changes += [(change, document.positions[path]) for change, path in _added_changes(house, added, base)]
    changes.sort(key=lambda each: (_KINDS.index(each[0].kind), each[0].subject))
    layer = HouseLayer(
        house.house,
        house.version,
        house.title,
        BaseUsed(*_name_of(base), base.digest),
        _drift(house, base),
        tuple(change for change, _ in changes),
    )
    files = changed_files(base_files, edits)
    return replace(
        files,
        vocabulary=(*files.vocabulary, *_own(added, "vocabulary", VocabularyFile)),
        rules=(*files.rules, *_own(added, "rules", RuleFile), limits_file(document, edits)),
        rule_names=(
            *files.rule_names,
            *(f"{house.house}/{name}" for entry in house.add for name in entry.rules),
            f"{house.house}/{HOUSE}",
        ),
        more_sources=(*files.more_sources, *_own(added, "sources", Bibliography)),
        more_cautions=(*files.more_cautions, *_own(added, "cautions", CautionFile)),
        more_instruments=(*files.more_instruments, *_own(added, "instruments", InstrumentFile)),
        layers=(*files.layers, layer),
        written={
            **files.written,
            **{
                f"{house.house}/{change.key}": f"{house.house}/{HOUSE}:{at.line}:{at.col}"
                for change, at in changes
            },
        },
        house_files=frozenset((document.file, *(each.file for _, _, _, each in added))),
        base=base_files,
        accepted=(
            *files.accepted,
            *((each, document.positions["accept", index]) for index, each in enumerate(house.accept)),
        ),
    )


def base_folder(folder: Path, house: HouseFile, document: Document) -> Path:
    """The folder of the base. Raises `Faults` where there is none, or where it leads round in a circle."""
    path: Steps = ("base", "folder" if house.base.shipped is None else "shipped")
    if house.base.shipped is not None:
        found = rulesets_dir() / house.base.shipped
    else:
        typed = house.base.folder or ""
        if not typed.strip() or Path(typed).is_absolute() or "\\" in typed or "\0" in typed:
            fault = Fault(
                "house-base-folder",
                f'"{typed}" is no folder as seen from {HOUSE}',
                "a way from this file to the folder of the base, such as ../engine",
                "write it with strokes (/) and without the name of a disk",
                document.positions[path],
            )
            raise Faults([fault])
        found = _short(folder / typed)
    if not is_ruleset(found):
        shipped = house.base.shipped
        there = sorted(each.name for each in rulesets_dir().iterdir() if is_ruleset(each)) if shipped else []
        fault = Fault(
            "house-base-folder",
            f"no rule set {shipped} comes with the program"
            if shipped
            else f"there is no rule set in {house.base.folder}",
            f"one of {', '.join(there)}"
            if shipped
            else "the folder of a rule set, or of house rules over one",
            "name one that does, or give its folder"
            if shipped
            else "correct the way from this file to the base",
            document.positions[path],
        )
        raise Faults([fault])
    seen = [folder.resolve()]
    at = found
    while (at / HOUSE).is_file():
        if at.resolve() in seen or len(seen) == MOST_LAYERS:
            circle = at.resolve() in seen
            fault = Fault(
                "house-circle" if circle else "house-layers",
                "these house rules have themselves underneath"
                if circle
                else f"more than {MOST_LAYERS} layers of house rules lie over one another",
                "a base that ends in a rule set without house rules" if circle else f"at most {MOST_LAYERS}",
                "name another base" if circle else "put layers together",
                document.positions[path],
            )
            raise Faults([fault])
        seen.append(at.resolve())
        inner, _ = read_sheet(HouseFile, at / HOUSE)
        shipped = inner.base.shipped
        at = at / (inner.base.folder or "") if shipped is None else rulesets_dir() / shipped
    return found


def _short(folder: Path) -> Path:
    """A folder without the ways up and down again in its name, where that leads to the same place."""
    short = Path(os.path.normpath(folder))
    try:
        return short if short.resolve() == folder.resolve() else folder
    except (OSError, RuntimeError, ValueError):
        return folder


def named_files(house: HouseFile) -> Iterator[str]:
    """The files that a house adds, by their names in its folder."""
    for entry in house.add:
        for section in _ADDED:
            yield from getattr(entry, section)


def house_texts(folder: Path) -> tuple[dict[str, str], Path]:
    """The text of each file that the house rules in `folder` are written in, and the folder of their base.

    Raises `Faults` for what reading the house rules would refuse as well.
    """
    texts = {HOUSE: read_text(folder / HOUSE)}
    document = parse(texts[HOUSE], HOUSE)
    house = validate(HouseFile, document)
    for name in named_files(house):
        if not inside(folder, name):
            raise Faults([Fault("file-outside", f"{name} lies outside the rule set's folder")])
        texts[name] = read_text(folder / name)
    return texts, base_folder(folder, house, document)


Added = list[tuple[str, Steps, Sheet, Document]]
"""Section, place of the name in `house.yaml`, and the file."""


def _additions(folder: Path, house: HouseFile, document: Document) -> tuple[Added, list[Fault]]:
    found: Added = []
    faults: list[Fault] = []
    for section, model in _ADDED.items():
        for index, entry in enumerate(house.add):
            for number, name in enumerate(getattr(entry, section)):
                path: Steps = ("add", index, section, number)
                read = read_named(model, folder, name, document, path, faults)
                if read is not None:
                    found.append((section, path, *read))
    return found, faults


def _own(added: Added, section: str, model: type[S]) -> list[tuple[S, Document]]:
    return [(each, file) for name, _, each, file in added if name == section and isinstance(each, model)]


def _name_of(base: RuleSet) -> tuple[str, str]:
    """Name and version of a base: those of its own house rules, where it has some."""
    return (base.house[-1].name, base.house[-1].version) if base.house else (base.name, base.version)


def _drift(house: HouseFile, base: RuleSet) -> str:
    """How the base differs from the one that the house rules were written against; empty if it does not."""
    name, version = _name_of(base)
    if house.base.version not in (None, version):
        return (
            f"the base {name} is version {version} now, and the house rules were written against "
            f"version {house.base.version}"
        )
    if house.base.digest is not None and not base.digest.startswith(house.base.digest):
        return (
            f"the base {name} {version} has changed since the house rules were written: its digest was "
            f"{house.base.digest[:12]} and is {base.digest[:12]} now"
        )
    return ""


def _names(checker: Checker, house: HouseFile, base: RuleSet, edits: Edits, added: Added) -> None:
    """The name of a house is its own, and so are the ids of its rules."""
    if house.house in (base.name, *(layer.name for layer in base.house)):
        checker.fault(
            ("house",),
            "name-twice",
            f"{house.house} is the name of the base already",
            "a name of their own for the house rules",
            "rename them",
        )
    for model, document in _own(added, "rules", RuleFile):
        for index, rule in enumerate(model.rules):
            if rule.id in edits.retired:
                checker.found.append(
                    Fault(
                        "house-id-again",
                        f"{rule.id} is the name of a rule that the house retires",
                        "a name that means one thing in every record",
                        "give the house's own rule another id",
                        document.positions["rules", index, "id"],
                    )
                )


def _still_wanted(checker: Checker, base: RuleSet, edits: Edits, added: Added) -> None:
    """A concern that others look for, and that only a rule concluded which is retired or follows another."""
    rules = rules_after(base, edits)
    rules += [rule for file, _ in _own(added, "rules", RuleFile) for rule in file.rules]
    left = {(rule.for_, concern) for rule in rules for concern in rule.then.concern}
    asking = {pair: rule.id for rule in reversed(rules) for pair in _asks(rule)}
    for rule in base.rules:
        index = edits.retired.get(rule.id)
        path: Steps = ("retire", index if index is not None else 0, "rule")
        if index is None:
            if rule.id not in edits.followed:
                continue
            path = ("choose", edits.followed[rule.id][1], "follow")
        for concern in rule.then.concern:
            asker = asking.get((rule.for_, concern))
            if (rule.for_, concern) not in left and asker is not None:
                checker.fault(
                    path,
                    "house-still-wanted",
                    f"rule {asker} looks for {concern} on {rule.for_}, and nothing concludes it without "
                    f"{rule.id}",
                    "a rule that concludes it, or no rule that looks for it",
                    f"retire {asker} as well, or add a rule that concludes {concern}",
                )


def _asks(rule: RuleText) -> Iterator[tuple[str, str]]:
    """The concerns that a rule looks for, each with the kind of part that it looks on."""
    for leaf in leaves(rule.condition):
        of = leaf.of if isinstance(leaf, Absent) else leaf
        kind, inner = (of.kind, of.leaf) if isinstance(of, Related) else (rule.for_, of)
        if isinstance(inner, HasConcern):
            yield kind, inner.concern


def _added_changes(house: HouseFile, added: Added, base: RuleSet) -> Iterator[tuple[HouseChange, Steps]]:
    """What a house adds: each rule and each limit by itself, and the words of each other file together."""
    kinds = base.vocabulary.kinds
    for section, path, model, _ in added:
        entry = house.add[int(path[1])]
        signed = (entry.by, entry.on, entry.because)
        if isinstance(model, RuleFile):
            for rule in model.rules:
                yield HouseChange("rules added", rule.id, rule.for_, f"rule {rule.id} added", *signed), path
            for limit in model.limits:
                name = " ".join(key_of(limit)).strip()
                part = kinds[limit.part].label if limit.part in kinds else limit.part
                says = f"limit for {limit.purpose} of {limit.dimension} on {part} added: {limit_words(limit)}"
                yield HouseChange("rules added", name, limit.part, says, *signed), path
            continue
        names = [f"{each.replace('_', ' ')}: {', '.join(words)}" for each, words in _words(model)]
        if names:
            file = str(getattr(entry, section)[int(path[3])])
            yield HouseChange("words added", file, "", f"added: {'; '.join(names)}", *signed), path


def _words(model: Sheet) -> Iterator[tuple[str, list[str]]]:
    """The sections of a file that hold words, with those."""
    for name in type(model).model_fields:
        words = getattr(model, name)
        if isinstance(words, dict) and words:
            yield name, list(words)
