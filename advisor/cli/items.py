"""Items by what people type: a kind of part, and a place as in a case."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import click

from advisor.faults import nearest


class AnItem(Protocol):
    """Whatever is told of one item: a verdict, or its sizes."""

    @property
    def part(self) -> str: ...  # noqa: D102  # the kind of part
    @property
    def place(self) -> str: ...  # noqa: D102  # as it is written in a case


def kind_named(word: str, items: Sequence[AnItem]) -> str:
    """The kind of part on this engine that is meant.

    Raises `click.UsageError` where there is none, with the nearest there is.
    """
    kinds = list(dict.fromkeys(item.part for item in items))
    typed = word.strip().lower().replace(" ", "_").replace("-", "_")
    if typed in kinds:
        return typed
    close = nearest(typed, kinds)
    meant = f'did you mean "{close}"?' if close else f"it has {', '.join(kinds)}."
    raise click.UsageError(f"this engine has no part {word}; {meant}")


def items_at(part: str, words: Sequence[str], every: Sequence[AnItem]) -> list[int]:
    """The indices of the items of kind `part` at the place typed; on all, where none is.

    A place is written as in a case: ``3 lower``, ``1 to 3 lower, 5``, ``3`` for every item there.
    Raises `click.UsageError` where no such item is, with the places that there are.
    """
    kind = kind_named(part, every)
    items = [(index, each) for index, each in enumerate(every) if each.part == kind]
    text = " ".join(words).strip()
    if text in ("", "all"):
        return [index for index, _ in items]
    chosen: list[int] = []
    for piece in text.split(","):
        found = [index for index, item in items if _stands(item, piece.split())]
        if not found:
            places = list(dict.fromkeys(item.place for _, item in items if item.place))
            close = nearest(" ".join(piece.split()), places)
            there = (
                f"its places are {', '.join(places)}."
                if places
                else f"there is one {kind}: leave the place out."
            )
            meant = f'did you mean "{close}"? ' if close else ""
            raise click.UsageError(f"{kind} has no place {piece.strip() or text}; {meant}{there}")
        chosen += [index for index in found if index not in chosen]
    return chosen


def _stands(item: AnItem, words: list[str]) -> bool:
    """Whether an item stands at a place: each word or range, in order, fits a word of the item's place."""
    wanted: list[tuple[str, str]] = []
    index = 0
    while index < len(words):
        last = index + 2 if words[index + 1 : index + 2] == ["to"] and index + 2 < len(words) else index
        wanted.append((words[index], words[last]))
        index = last + 1
    waiting = iter(item.place.split())
    return bool(wanted) and all(any(_between(word, *ends) for word in waiting) for ends in wanted)


def _between(word: str, first: str, last: str) -> bool:
    if first == last:
        return word == first
    numbers = [each for each in (word, first, last) if each.isascii() and each.isdigit()]
    return len(numbers) == 3 and int(first) <= int(word) <= int(last)
