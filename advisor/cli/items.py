"""Items by what people type: a kind of part by its name or label, a place as in a case, or a tag."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from itertools import permutations
from typing import Protocol

import click

from advisor.faults import nearest
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.words import short_label

_LIKE = 3
"""How many words are offered for one that is not known."""


class AnItem(Protocol):
    """Whatever is told of one item: its verdict, or its sizes."""

    @property
    def part(self) -> str: ...  # noqa: D102  # the kind of part
    @property
    def label(self) -> str: ...  # noqa: D102  # the kind in words
    @property
    def place(self) -> str: ...  # noqa: D102  # as it is written in a case
    @property
    def tag(self) -> str: ...  # noqa: D102  # of an item whose place is not known


def items_named(text: str, every: Sequence[AnItem], rules: RuleSet) -> list[int]:
    """The indices of the items that `text` means: a part, and after it a place or a tag; or a tag alone.

    A part is named as in a case (``main_shell``), by its label, or by any words of the label that no other
    part has. A place is written as in a case: ``3 lower``, ``1 to 3 lower, 5``, ``3`` for every item there;
    its words may come in any order. Case does not count. Raises `click.UsageError` where nothing is meant, or
    more than one part, with what there is.
    """
    labels = {item.part: item.label for item in every}
    words = text.split()
    tagged = _tagged(words, list(enumerate(every)))
    if tagged and not _exactly(words[0], labels):
        return tagged
    unclear: list[str] = []
    # The longest name first, so that a place is never taken for a piece of one.
    for count in range(len(words), 0, -1):
        kinds = _kinds(" ".join(words[:count]), labels)
        if len(kinds) == 1:
            return _at(kinds[0], " ".join(words[count:]), every)
        unclear = unclear or kinds
    if unclear:
        raise _unclear(text.strip(), unclear, labels)
    raise _no_part(text.strip(), list(labels), rules)


def kind_named(text: str, labels: Mapping[str, str], rules: RuleSet) -> str:
    """The kind of part that is meant, of those in `labels`; as `items_named`, without a place."""
    kinds = _kinds(text, labels)
    if not kinds:
        raise _no_part(text.strip(), list(labels), rules)
    if len(kinds) > 1:
        raise _unclear(text.strip(), kinds, labels)
    return kinds[0]


def _unclear(text: str, kinds: Sequence[str], labels: Mapping[str, str]) -> click.UsageError:
    told = [f"{short_label(labels[kind])} ({kind})" for kind in kinds[:6]]
    more = f" and {len(kinds) - 6} more" if len(kinds) > 6 else ""
    return click.UsageError(f"{text} may be {', '.join(told)}{more}; write more of its name")


def _no_part(text: str, kinds: Sequence[str], rules: RuleSet) -> click.UsageError:
    typed = _flat(text).replace(" ", "_")
    told = [f"this engine has no part {text or 'without a name'}"]
    words = typed.split("_")
    # What follows a name may be a place.
    begun = ("_".join(words[:count]) for count in range(len(words), 0, -1))
    if close := next(filter(None, (nearest(each, kinds) for each in begun)), ""):
        told.append(f'did you mean "{close}"?')
    else:
        if like := _like(typed, kinds):
            told.append(f"nearest to it: {', '.join(like)}")
        judged = [kind for kind in kinds if kind in rules.judged_kinds]
        if judged:
            told.append(f"the rules judge {', '.join(judged)}")
        told.append("`advisor start` lists every part of an engine sheet, with its places")
    return click.UsageError("; ".join(told))


def _like(typed: str, kinds: Sequence[str]) -> list[str]:
    """Kinds that hold the word typed or one of its words, or are spelt somewhat like it."""
    words = [each for each in typed.split("_") if len(each) > 2]
    holding = [kind for kind in kinds if any(word in kind for word in words)]
    spelt = difflib.get_close_matches(typed, kinds, n=_LIKE, cutoff=0.45)
    return list(dict.fromkeys([*holding, *spelt]))[:_LIKE]


def _flat(text: str) -> str:
    """A name as it is compared: small letters, and no signs between its words."""
    return " ".join(text.casefold().replace("_", " ").replace("-", " ").split())


def _exactly(text: str, labels: Mapping[str, str]) -> list[str]:
    """The kinds whose name or label `text` is."""
    typed = _flat(text)
    by_name = [kind for kind in labels if _flat(kind) == typed]
    return by_name or [
        kind for kind, label in labels.items() if typed in (_flat(label), _flat(short_label(label)))
    ]


def _kinds(text: str, labels: Mapping[str, str]) -> list[str]:
    """The kinds that `text` may mean; what is said exactly goes before what is only begun."""
    typed = f" {_flat(text)}"
    return _exactly(text, labels) or [
        kind for kind, label in labels.items() if typed in f" {_flat(label)}" or typed in f" {_flat(kind)}"
    ]


def _tagged(words: Sequence[str], items: Sequence[tuple[int, AnItem]]) -> list[int]:
    """The items with the tag that the words are, with or without ``unknown`` and ``tag`` before it."""
    for leading in ((), ("tag",), ("unknown",), ("unknown", "tag")):
        if tuple(words[: len(leading)]) == leading and words[len(leading) :]:
            tag = _flat(" ".join(words[len(leading) :]))
            found = [index for index, item in items if item.tag and _flat(item.tag) == tag]
            if found:
                return found
    return []


def _at(kind: str, text: str, every: Sequence[AnItem]) -> list[int]:
    """The items of a kind at the places, or with the tag, in `text`."""
    items = [(index, each) for index, each in enumerate(every) if each.part == kind]
    if text in ("", "all"):
        return [index for index, _ in items]
    if tagged := _tagged(text.split(), items):
        return tagged
    chosen: list[int] = []
    for piece in text.split(","):
        words = piece.casefold().split()
        found = [index for index, item in items if _stands(item, words)] or [
            index
            for index, item in items
            if any(_stands(item, list(other)) for other in _other_orders(words))
        ]
        if not found:
            raise _no_place(kind, piece.strip() or text, items)
        chosen += [index for index in found if index not in chosen]
    return chosen


def _no_place(kind: str, text: str, items: Sequence[tuple[int, AnItem]]) -> click.UsageError:
    label = short_label(items[0][1].label)
    places = list(dict.fromkeys(item.place for _, item in items if item.place))
    tags = list(dict.fromkeys(item.tag for _, item in items if item.tag))
    close = nearest(" ".join(text.split()), places + tags)
    there = f"its places are {', '.join(places)}" if places else f"there is one {label}: leave the place out"
    if tags:
        there += f"; its tags are {', '.join(tags)}"
    meant = f'did you mean "{close}"? ' if close else ""
    return click.UsageError(f"{label} ({kind}) has no place {text}; {meant}{there}.")


def _other_orders(words: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """The words of a place in every order; a range keeps its own, and no place has many words."""
    if len(words) <= 4 and "to" not in words:
        yield from permutations(words)
    elif "to" in words and 1 <= words.index("to") < len(words) - 1:
        at = words.index("to")
        span, rest = tuple(words[at - 1 : at + 2]), (*words[: at - 1], *words[at + 2 :])
        yield (*span, *rest)
        yield (*rest, *span)


def _stands(item: AnItem, words: list[str]) -> bool:
    """Whether an item stands at a place: each word or range, in order, fits a word of the item's place."""
    wanted: list[tuple[str, str]] = []
    index = 0
    while index < len(words):
        last = index + 2 if words[index + 1 : index + 2] == ["to"] and index + 2 < len(words) else index
        wanted.append((words[index], words[last]))
        index = last + 1
    waiting = iter(item.place.casefold().split())
    return bool(wanted) and all(any(_between(word, *ends) for word in waiting) for ends in wanted)


def _between(word: str, first: str, last: str) -> bool:
    if first == last:
        return word == first
    numbers = [each for each in (word, first, last) if each.isascii() and each.isdigit()]
    return len(numbers) == 3 and int(first) <= int(word) <= int(last)
