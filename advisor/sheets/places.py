"""What a file says and where: the tree of text read from it, with the place of every key and value.

Places are kept as plain (line, column) pairs, 1-based and in characters, and become a `Position` only
when one is asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import PurePath
from typing import Any, TypeAlias, Union

from advisor.faults import Position

Path: TypeAlias = tuple[str | int, ...]
Spot: TypeAlias = tuple[int, int]
Node: TypeAlias = Union[str, "Block", "Items"]


class Block(dict[str, Node]):
    """A mapping as typed, with its own place and the places (line, column) of its keys and values.

    `braces` tells one that was typed as ``{key: value, ...}``.
    """

    __slots__ = ("braces", "file", "spot", "spots")

    def __init__(self, file: str, spot: Spot, *, braces: bool = False) -> None:
        super().__init__()
        self.file = file
        self.spot = spot
        self.braces = braces
        self.spots: dict[str, tuple[Spot, Spot]] = {}

    def __reduce__(self) -> tuple[Any, ...]:
        return _remade_block, (self.file, self.spot, self.spots, dict(self), self.braces)

    @property
    def at(self) -> Position:
        """Where the first key, or the opening brace, stands."""
        return Position(self.file, *self.spot)


class Items(list[Node]):
    """A list as typed, with the places (line, column) of its values."""

    __slots__ = ("spots",)

    def __init__(self) -> None:
        super().__init__()
        self.spots: list[Spot] = []

    def __reduce__(self) -> tuple[Any, ...]:
        return _remade_items, (self.spots, list(self))


def _remade_block(
    file: str, spot: Spot, spots: dict[str, tuple[Spot, Spot]], values: dict[str, Node], braces: bool = False
) -> Block:
    block = Block(file, spot, braces=braces)
    block.spots = spots
    block.update(values)
    return block


def _remade_items(spots: list[Spot], values: list[Node]) -> Items:
    items = Items()
    items.spots = spots
    items.extend(values)
    return items


@dataclass(frozen=True, slots=True)
class Positions(Mapping[Path, Position]):
    """Where the value at each path stands. An unknown path gives its nearest known ancestor."""

    file: str
    data: object
    root: Spot = (1, 1)

    def _find(self, path: Path) -> tuple[Spot, Spot, bool]:
        """The places of the key and of the value at `path`, and whether all of the path is known."""
        node, key, value = self.data, self.root, self.root
        for step in path:
            if isinstance(node, Block) and isinstance(step, str) and step in node.spots:
                key, value = node.spots[step]
                node = node[step]
            elif isinstance(node, Items) and isinstance(step, int) and 0 <= step < len(node.spots):
                key = value = node.spots[step]
                node = node[step]
            else:
                return value, value, False
        return key, value, True

    def __getitem__(self, path: Path) -> Position:
        return Position(self.file, *self._find(path)[1])

    def key(self, path: Path) -> Position:
        """Where the last key of `path` stands: for a list item, or an unknown path, as for its value."""
        return Position(self.file, *self._find(path)[0])

    def __contains__(self, path: object) -> bool:
        return isinstance(path, tuple) and self._find(path)[2]

    def __iter__(self) -> Iterator[Path]:
        waiting: list[tuple[Path, object]] = [((), self.data)]
        while waiting:
            path, node = waiting.pop()
            yield path
            if isinstance(node, Block):
                waiting.extend(((*path, key), node[key]) for key in reversed(node.spots))
            elif isinstance(node, Items):
                waiting.extend(((*path, index), node[index]) for index in reversed(range(len(node.spots))))

    def __len__(self) -> int:
        return sum(1 for _ in self)


@dataclass(frozen=True, slots=True)
class Written:
    """Where something was written; the place is looked up only when it is shown.

    It is told by the file's own name, so that a decision does not change with the folder it is made from.
    """

    positions: Positions
    path: Path

    def __str__(self) -> str:
        at = self.positions[self.path]
        return f"{PurePath(at.file).name}:{at.line}:{at.col}"


@dataclass(frozen=True, slots=True)
class Document:
    """One file as read: nested `Block`, `Items` and text, and where each of them stands."""

    file: str
    data: object
    positions: Positions

    def key_position(self, path: Path) -> Position:
        """Where the last key of `path` stands; an unknown path gives its nearest known ancestor."""
        return self.positions.key(path)
