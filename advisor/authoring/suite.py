"""Made-up cases as test files of a rule set, and the engine sheets that they need.

The mild bench stands once at the head of a file, and each test says only what is otherwise in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import yaml

from advisor.authoring.trial import Changes, Yard
from advisor.sheets.digest import canonical

ENGINES: Final = "engines"
"""The folder beside test files in which engine sheets lie."""

MOST_IN_FILE: Final = 200
"""Tests in one file; what is over goes into another."""

_ON_ONE_LINE: Final = 96
"""Characters of a mapping that is still written on one line."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One test to be written."""

    stem: str
    """The file that it goes into, without number and ending."""
    name: str
    because: str
    yard: Yard
    changes: Changes
    expect: Sequence[Mapping[str, Any]]


class _Plain(yaml.SafeDumper):
    """Writes text as it is: a file is read as text, so `no` and `1` need no quotes."""

    yaml_implicit_resolvers: Any = {}  # noqa: RUF012  # PyYAML's own name for it

    def ignore_aliases(self, data: Any) -> bool:
        """Write a thing that stands twice out twice."""
        return True

    def represent_mapping(self, tag: str, mapping: Any, flow_style: bool | None = None) -> yaml.MappingNode:
        """Put a short mapping of plain words on one line, and any other on lines of its own."""
        flat = all(isinstance(each, str) for each in mapping.values()) and not {"format", "name"} & {*mapping}
        short = sum(len(key) + len(str(value)) + 4 for key, value in mapping.items()) <= _ON_ONE_LINE
        node: yaml.MappingNode = super().represent_mapping(tag, mapping, flow_style=flat and short)
        return node


def yaml_text(value: Any) -> str:
    """A value as YAML, short mappings on one line."""
    text: str = yaml.dump(
        value, Dumper=_Plain, sort_keys=False, allow_unicode=True, width=1_000_000, default_flow_style=None
    )
    return text


def suite(pieces: Iterable[Piece], about: str, taken: Iterable[str] = ()) -> dict[str, str]:
    """By file name, as seen from the folder of the tests: the text of test files and of engine sheets.

    `about` stands at the head of each file. Names in `taken` are not used.
    """
    grouped: dict[tuple[str, int], list[Piece]] = {}
    for piece in pieces:
        grouped.setdefault((piece.stem, id(piece.yard)), []).append(piece)
    names = set(taken)
    files: dict[str, str] = {}
    engines: dict[str, str] = {}
    for (stem, _), same in grouped.items():
        for start in range(0, len(same), MOST_IN_FILE):
            name = _free(f"{stem}.yaml", names)
            text = _file(same[start : start + MOST_IN_FILE], about, stem, engines, names, files)
            files[name] = text
    return dict(sorted(files.items()))


def _file(
    pieces: Sequence[Piece],
    about: str,
    stem: str,
    engines: dict[str, str],
    names: set[str],
    files: dict[str, str],
) -> str:
    yard = pieces[0].yard
    sheets = []
    tests = []
    for piece in pieces:
        typed = yard.typed(piece.changes)
        assert typed is not None  # it was tried before
        key = canonical(typed[0])
        if key not in engines:
            engines[key] = _free(f"{ENGINES}/{stem}.yaml", names)
            files[engines[key]] = _engine(typed[0])
        sheets.append(engines[key])
    head = max(dict.fromkeys(sheets), key=sheets.count)
    mild = yard.typed({})
    assert mild is not None  # the bench without changes
    for piece, sheet in zip(pieces, sheets, strict=True):
        test: dict[str, Any] = {"name": piece.name, "because": piece.because}
        if sheet != head:
            test["engine_sheet"] = sheet
        test["case"] = {"bench": yard.said(piece.changes)}
        test["expect"] = [dict(each) for each in piece.expect]
        tests.append(test)
    given = {key: mild[2][key] for key in ("found_sizes", "bench") if mild[2].get(key)}
    top = yaml_text({"format": "1", "about": about, "engine_sheet": head})
    mild_words = "# What is given in every test: nothing is wrong with anything."
    lines = [f"{top}\n{mild_words}\n{yaml_text({'given': given})}"]
    lines.append("tests:")
    for test in tests:
        told = yaml_text([test]).rstrip("\n")
        lines.append("\n".join(f"  {line}" if line else line for line in told.splitlines()) + "\n")
    return "\n".join(lines)


def _engine(data: Mapping[str, Any]) -> str:
    return (
        "# A small engine for made-up cases: parts cut out of an engine sheet, and few places of each.\n"
        + yaml_text(dict(data))
    )


def _free(name: str, names: set[str]) -> str:
    """`name`, or with a number where that is taken; noted as taken."""
    stem, _, ending = name.rpartition(".")
    number, free = 1, name
    while free in names:
        number += 1
        free = f"{stem}_{number}.{ending}"
    names.add(free)
    return free
