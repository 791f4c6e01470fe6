"""What came of the tests of a rule set, in lines for people and as plain values for programs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from advisor.authoring.cases import Trial, Tried
from advisor.faults import Position
from advisor.sheets.mixed_up import counted


def lines(trial: Trial, width: int, *, every: bool = False) -> Iterator[str]:
    """Each test that did not pass, with why, and then the count; with `every`, the others by name too.

    A line is broken at `width` columns, with what follows set in below it.
    """
    for each in trial.tried:
        if each.failures or each.faults:
            yield from _failed(each, width)
        elif each.unanswered:
            yield from _wrapped(
                f"NOT YET ANSWERED: {each.name} ({_at(each)}): {', '.join(each.unanswered)}", width
            )
        elif every:
            yield from _wrapped(f"passed: {each.name}", width)
    yield from _wrapped(summary(trial), width)


def summary(trial: Trial) -> str:
    """The count of a run, in one sentence."""
    ran = [each for each in trial.tried if each.name]
    broken = [each for each in trial.tried if each.faults]
    failed = [each for each in trial.tried if each.failures and not each.faults]
    waiting = [each for each in trial.tried if each.unanswered and not (each.failures or each.faults)]
    parts = [f"{sum(each.passed for each in ran)} passed"]
    if failed:
        parts.append(f"{len(failed)} failed")
    if broken:
        parts.append(f"{len(broken)} could not be tried")
    if waiting:
        parts.append(f"{len(waiting)} not yet answered")
    if trial.left_out:
        parts.append(f"{trial.left_out} left out")
    return f"{counted(len(ran), 'test')} in {trial.seconds:.1f} s: {', '.join(parts)}."


def _failed(tried: Tried, width: int) -> Iterator[str]:
    yield from _wrapped(f"FAILED: {tried.name or tried.file} ({_at(tried)})", width)
    for fault in tried.faults:
        yield from _wrapped(str(fault), width, 2)
    for failure in tried.failures:
        yield from _wrapped(f"{failure.at}: {failure.what}", width, 2)
        for line in failure.why:
            told = line.lstrip(" ")
            yield from _wrapped(told, width, 4 + len(line) - len(told))
    yield ""


def _at(tried: Tried) -> str:
    return str(tried.at) if tried.at is not None else tried.file


def _wrapped(text: str, width: int, indent: int = 0) -> Iterator[str]:
    yield from textwrap.wrap(
        text,
        max(width, 40),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


def as_values(trial: Trial) -> dict[str, Any]:
    """The whole run as plain mappings, lists and text."""
    return {
        "format": 1,
        "tests": [_values(each) for each in trial.tried],
        "passed": sum(each.passed for each in trial.tried),
        "failed": len(trial.failed),
        "unanswered": sum(
            bool(each.unanswered) and not (each.failures or each.faults) for each in trial.tried
        ),
        "left_out": trial.left_out,
    }


def _values(tried: Tried) -> dict[str, Any]:
    return {
        "file": tried.file,
        "name": tried.name,
        "at": _place(tried.at),
        "outcome": "failed"
        if tried.failures or tried.faults
        else "unanswered"
        if tried.unanswered
        else "passed",
        "failures": [
            {"at": _place(each.at), "what": each.what, "why": list(each.why)} for each in tried.failures
        ],
        "faults": [{**asdict(fault), "at": _place(fault.at)} for fault in tried.faults],
        "unanswered": list(tried.unanswered),
    }


def _place(at: Position | None) -> dict[str, Any] | None:
    return asdict(at) if at is not None else None
