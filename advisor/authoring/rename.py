"""Moves a case or an engine sheet to the present words of its rule set, and changes nothing else in the file.

Each word is exchanged where it stands, by its place in the text, so comments, order, quotes and line ends
stay as they were typed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.faults import Fault, Position
from advisor.sheets.places import Block, Document, Items, Path

KEY, VALUE, WORDS = "key", "value", "words"
"""Where a word of the vocabulary stands: it is a key, a whole value, or one of several in a value or key."""

_ANY = "*"

_CASE: Mapping[tuple[str, ...], str] = {
    ("bench", "part"): VALUE,
    ("bench", "place"): WORDS,
    ("bench", "from_among"): WORDS,
    ("bench", "findings", _ANY): VALUE,
    ("bench", "readings", _ANY, "with"): VALUE,
    **{
        (section, key): how
        for section in ("found_sizes", "cleans_up", "done", "causes")
        for key, how in (("part", VALUE), ("place", WORDS), ("operation", VALUE), ("concern", VALUE))
    },
}
_CASE_KEYS: Mapping[tuple[str, ...], str] = {
    ("bench", "findings"): KEY,
    ("bench", "readings"): KEY,
    ("bench", "readings", _ANY, "values"): WORDS,
}
_SHEET: Mapping[tuple[str, ...], str] = {
    ("ruleset",): VALUE,
    ("layout", _ANY): VALUE,
    ("parts", _ANY, "made", _ANY): VALUE,
    ("parts", _ANY, "limits", "dimension"): VALUE,
    ("parts", _ANY, "repair_sizes", "operation"): VALUE,
    ("parts", _ANY, "repair_sizes", "size"): VALUE,
    ("links", "relation"): VALUE,
    ("links", "of"): VALUE,
    ("links", "to"): VALUE,
    ("links", "pairs", "of"): WORDS,
    ("links", "pairs", "to"): WORDS,
}
_SHEET_KEYS: Mapping[tuple[str, ...], str] = {
    ("layout",): KEY,
    ("axes",): KEY,
    ("parts",): KEY,
    ("parts", _ANY, "made"): KEY,
    ("parts", _ANY, "new"): KEY,
    ("parts", _ANY, "price", "operation"): KEY,
}

TABLES = {"case": (_CASE, _CASE_KEYS), "engine sheet": (_SHEET, _SHEET_KEYS)}
"""By kind of file: the values, and the mappings whose keys, are words of the vocabulary."""


@dataclass(frozen=True, slots=True)
class Change:
    """One word exchanged for another."""

    old: str
    new: str
    at: Position


@dataclass(frozen=True, slots=True)
class Renamed:
    """The new text, and what was changed in it. `by_hand` holds what could not be changed safely."""

    text: str
    changes: tuple[Change, ...]
    by_hand: tuple[Fault, ...]


def present_words(renamed: Mapping[str, str]) -> dict[str, str]:
    """Each old word with the one in use now: a chain of renames is followed to its end.

    Words that only lead round in a circle have no present one and are left out.
    """
    found = {}
    for old in renamed:
        new, seen = renamed[old], {old}
        while new in renamed and new not in seen:
            seen.add(new)
            new = renamed[new]
        if new not in seen:
            found[old] = new
    return found


def rename(text: str, document: Document, kind: str, renamed: Mapping[str, str]) -> Renamed:
    """`text` with every old word of the rename table exchanged; `document` is the same text as parsed.

    `kind` is a key of `TABLES`. Words in free text (notes, history, names of people) are left alone.
    """
    words = present_words(renamed)
    values, keys = TABLES[kind]
    starts = [0, *(match.end() for match in re.finditer("\r\n|\n", text))]
    edits: list[tuple[int, str, Change]] = []
    by_hand: list[Fault] = []
    for whole, (line, col), how in _words(document.data, (), values, keys):
        for old, new in words.items():
            if (old != whole) if how != WORDS else (old not in re.split(r"[\s,]+", whole)):
                continue
            start = starts[line - 1] + col - 1
            at = Position(document.file, line, col)
            offsets = _found(text, start, whole, old)
            if offsets is None:
                by_hand.append(
                    Fault("rename-by-hand", f"{old} is now {new}", "", "change it here by hand", at)
                )
            else:
                edits += [(offset, old, Change(old, new, at)) for offset in offsets]
    for offset, old, change in sorted(edits, key=lambda edit: edit[0], reverse=True):
        text = text[:offset] + change.new + text[offset + len(old) :]
    return Renamed(
        text, tuple(change for _, _, change in sorted(edits, key=lambda edit: edit[0])), tuple(by_hand)
    )


def _words(
    node: object, path: Path, values: Mapping[tuple[str, ...], str], keys: Mapping[tuple[str, ...], str]
) -> Iterator[tuple[str, tuple[int, int], str]]:
    """Every key and value that holds words of the vocabulary, with its place and how it holds them."""
    if isinstance(node, Block):
        how = _lookup(path, keys)
        for key, value in node.items():
            if how is not None:
                yield key, node.spots[key][0], how
            below = (*path, key)
            whole = _lookup(below, values)
            if isinstance(value, str) and whole is not None:
                yield value, node.spots[key][1], whole
            yield from _words(value, below, values, keys)
    elif isinstance(node, Items):
        for index, value in enumerate(node):
            yield from _words(value, (*path, index), values, keys)


def _lookup(path: Path, table: Mapping[tuple[str, ...], str]) -> str | None:
    names = tuple(step for step in path if isinstance(step, str))
    for pattern, how in table.items():
        if len(pattern) == len(names) and all(
            want in (_ANY, name) for want, name in zip(pattern, names, strict=True)
        ):
            return how
    return None


def _found(text: str, start: int, whole: str, old: str) -> list[int] | None:
    """Where `old` stands in the scalar that begins at `start`; None where the scalar is not typed plainly."""
    if text[start : start + 1] in ('"', "'"):
        start += 1
    if text[start : start + len(whole)] != whole:
        return None
    pattern = rf"(?<![^\s,]){re.escape(old)}(?![^\s,])"
    return [start + match.start() for match in re.finditer(pattern, whole)]
