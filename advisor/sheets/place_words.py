"""Several places in few words, as a case writes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator


def places(words: Iterable[str]) -> str:
    """Several places in few words, as a case writes them: three or more numbers in a row as ``1 to 4``.

    The order given is kept; places that differ in more than one number are listed one by one.
    """
    return ", ".join(_runs(list(dict.fromkeys(words))))


def _runs(words: list[str]) -> Iterator[str]:
    waiting = list(words)
    while waiting:
        run = [waiting[0]]
        number, rest = _numbered(waiting[0])
        if number is not None:
            while (following := _with(number + len(run), rest)) in waiting:
                run.append(following)
        if len(run) > 2:
            yield _with(f"{number} to {number + len(run) - 1}", rest) if number is not None else run[0]
            waiting = [word for word in waiting if word not in run]
        else:
            yield waiting.pop(0)


def _numbered(place: str) -> tuple[int | None, str]:
    head, _, rest = place.partition(" ")
    return (int(head), rest) if head.isascii() and head.isdigit() else (None, rest)


def _with(head: int | str, rest: str) -> str:
    return f"{head} {rest}".strip()
