"""Adds one entry to a section of somebody's file, and changes nothing else in it.

The entry goes behind the last one of its section, set in as far as that one. The text that comes of it is
read again before it is handed out: it has to say what the file said before, and the new entry, and no more.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from advisor.faults import Fault, Faults
from advisor.sheets.places import Block, Document, Items, Node
from advisor.sheets.text import parse

_OUTSIDE = re.compile(r"\s*|#.*")
"""A line that belongs to what follows it: an empty one, or a remark that is not set in."""


def added(text: str, file: str, section: str, entry: Sequence[str], *, item: bool = False) -> str:
    """`text` with an entry at the end of a top-level section, which is begun where it is not there yet.

    The lines of `entry` are set in from its own beginning. `item` makes it one of a list; without it, its
    first key is a new key of a mapping. Raises `Faults` where `text` is no sound file, or where the entry
    cannot be put in without changing what stands there.
    """
    document = parse(text, file)
    lines = text.split("\n")
    end = "\r" if lines[0].endswith("\r") else ""
    given = entry if not item else [f"- {entry[0]}", *(f"  {line}" if line else "" for line in entry[1:])]
    for place, indent, head in _places(document, lines, section):
        body = [" " * indent + line if line else "" for line in given]
        new = _put(lines, place, [*head, *body], end)
        if _says_only(new, document, section, item):
            return new
    at = document.key_position((section,))
    raise Faults(
        [
            Fault(
                "no-place-for-entry",
                f"no entry can be added to {section} without changing what stands there",
                f"{section}: with one entry to a line below it, none of it in braces or brackets",
                "write it so, or add these lines by hand: " + " / ".join(line.strip() for line in given),
                at,
            )
        ]
    )


def with_file(text: str, file: str, section: str, name: str) -> str:
    """A manifest with one more file in the list `section`. Raises `Faults` as `added` does."""
    document = parse(text, file)
    root = document.data
    items = root.get(section) if isinstance(root, Block) else None
    if isinstance(items, Items) and items and isinstance(items[-1], str):
        line, column = items.spots[-1]
        lines = text.split("\n")
        here, last = lines[line - 1], items[-1]
        if here[column - 1 :].startswith(last) and not here[: column - 1].rstrip().endswith("-"):
            cut = column - 1 + len(last)
            lines[line - 1] = f"{here[:cut]}, {name}{here[cut:]}"
            new = "\n".join(lines)
            if _says_only(new, document, section, True):
                return new
    return added(text, file, section, [name], item=True)


def _places(document: Document, lines: list[str], section: str) -> Iterator[tuple[int, int, list[str]]]:
    """Where the entry may go: how many lines stand before it, how far it is set in, and what comes first."""
    root = document.data
    if not isinstance(root, Block) or root.braces:
        return
    last = len(lines)
    if section not in root:
        yield _before(lines, last), 2, ["", f"{section}:"]
        return
    node = root[section]
    key_line, value = root.spots[section][0][0], root.spots[section][1]
    following = min((spot[0][0] for spot in root.spots.values() if spot[0][0] > key_line), default=last + 1)
    if not node and not isinstance(node, str):
        here = lines[value[0] - 1]
        empty = here[value[1] - 1 : value[1] + 1]
        if empty in ("{}", "[]") and value[0] == key_line:
            lines[value[0] - 1] = (here[: value[1] - 1] + here[value[1] + 1 :]).rstrip()
            yield key_line, 2, []
        return
    indent = _indent(node, lines)
    if indent is not None:
        yield _before(lines, following - 1), indent, [""]
        yield following - 1, indent, []


def _indent(node: Node, lines: list[str]) -> int | None:
    """How far the entries of a block are set in; None for one in braces or brackets."""
    if isinstance(node, Block):
        return None if node.braces else node.spots[next(iter(node))][0][1] - 1
    if isinstance(node, Items):
        line, column = node.spots[0]
        before = lines[line - 1][: column - 1]
        return len(before) - len(before.lstrip()) if before.strip() == "-" else None
    return None


def _before(lines: list[str], number: int) -> int:
    """Of the first `number` lines, how many there are up to the last that is no part of what follows."""
    ends = number == len(lines)
    while number and (not lines[number - 1].strip() if ends else _OUTSIDE.fullmatch(lines[number - 1])):
        number -= 1
    return number


def _put(lines: list[str], place: int, body: list[str], end: str) -> str:
    rest = lines[place:] or [""]
    before = lines[:place]
    if before and not before[-1].endswith(end):  # the last line of a file may have no end
        before[-1] += end
    return "\n".join([*before, *(line + end for line in body), *rest])


def _says_only(new: str, document: Document, section: str, item: bool) -> bool:
    """Whether `new` says what `document` does, and one entry more at the end of a section."""
    try:
        data = parse(new, document.file).data
    except Faults:
        return False
    old = document.data
    if not isinstance(data, Block) or not isinstance(old, Block):
        return False
    if {key: value for key, value in data.items() if key != section} != {
        key: value for key, value in old.items() if key != section
    }:
        return False
    now, before = data.get(section), old.get(section)
    if item:
        items = list(before) if isinstance(before, list) else []
        return isinstance(now, list) and len(now) == len(items) + 1 and now[:-1] == items
    entries = dict(before) if isinstance(before, dict) else {}
    return (
        isinstance(now, dict)
        and len(now) == len(entries) + 1
        and {key: now[key] for key in entries if key in now} == entries
    )
