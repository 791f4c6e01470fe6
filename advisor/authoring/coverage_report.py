"""A coverage in lines for people and as plain values for programs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from advisor.authoring.coverage import ConditionCover, Coverage, RuleCover
from advisor.authoring.mcdc import Vector
from advisor.sheets.mixed_up import counted


def lines(coverage: Coverage, width: int, *, every: bool = False) -> Iterator[str]:
    """What is not shown, rule by rule, and the sum; with `every`, what is shown too, and by which cases."""
    for rule in coverage.rules:
        told = [each for each in rule.conditions if every or each.state == "not shown"]
        if not told and not (every and not rule.conditions):
            continue
        yield from _wrapped(rule.rule, width)
        if rule.at:
            yield from _wrapped(f"{rule.part}, {rule.at}", width, 2)
        yield from _wrapped(rule.because, width, 2)
        if not rule.conditions:
            yield from _wrapped("It has no condition, and fires on every one.", width, 2)
        for each in told:
            yield from _condition(each, width)
        yield ""
    yield from _summary(coverage, width)


def _condition(each: ConditionCover, width: int) -> Iterator[str]:
    yield from _wrapped(f"{each.state.upper()}: {each.says}", width, 4)
    if each.state == "not shown":
        yield from _wrapped(lacking(each), width, 8)
    if each.why:
        yield from _wrapped(f"{each.why[0].upper()}{each.why[1:]}.", width, 8)
    if each.pair is not None:
        yield from _wrapped(f"By {each.pair.form}.", width, 8)
        yield from _wrapped(f"True, and the rule fires: {each.where[0]}", width, 8)
        yield from _wrapped(f"False, and it cannot: {each.where[1]}", width, 8)
    for word, name in zip(("Would show it true", "Would show it not true"), each.ready, strict=False):
        yield from _wrapped(f"{word}: {name}", width, 8)


def lacking(each: ConditionCover) -> str:
    """What no case has shown of a condition."""
    if not each.seen_true and not each.seen_false:
        return "No case looks at it."
    if not each.seen_true:
        return "Never seen true."
    if not each.seen_false:
        return "Never seen false."
    return "Seen true and false, but in no two cases between which it alone decided."


def _summary(coverage: Coverage, width: int) -> Iterator[str]:
    shown, argued, missing = (coverage.count(state) for state in ("shown", "argued", "not shown"))
    by_masking = sum(
        each.pair is not None and each.pair.form == "masking"
        for rule in coverage.rules
        for each in rule.conditions
    )
    looked = f"{counted(coverage.examples, 'example')} and {counted(coverage.cases, 'case')}"
    yield from _wrapped(
        f"Analysed: {counted(coverage.conditions, 'condition')} in {counted(len(coverage.rules), 'rule')} of "
        f"{coverage.name} {coverage.version}, over {looked}.",
        width,
    )
    masked = f" ({by_masking} by masking)" if by_masking else ""
    yield from _wrapped(
        f"{shown} shown{masked}, {argued} argued, {missing} not shown: {share(coverage)}.", width
    )
    unfired = [rule.rule for rule in coverage.rules if not rule.fired and not rule.conditions]
    if missing and not coverage.built_on:
        yield from _wrapped(
            "No cases were built for what is missing: name an engine sheet with --engine, or a case.",
            width,
        )
    elif missing and coverage.ready:
        yield from _wrapped(
            f"{counted(len(coverage.ready), 'ready case')} would show {_of(coverage)}; "
            "--write DIR writes them as tests.",
            width,
        )
    if unfired:
        yield from _wrapped(f"Rules without conditions, which need no showing: {len(unfired)}.", width)


def _of(coverage: Coverage) -> str:
    number = sum(bool(each.ready) for rule in coverage.rules for each in rule.conditions)
    missing = coverage.count("not shown")
    return ("it" if missing == 1 else "all of them") if number == missing else f"{number} of the {missing}"


def share(coverage: Coverage) -> str:
    """The share that is shown or argued, never rounded up to the whole."""
    percent = int(coverage.percent * 10) / 10
    return f"{percent:.1f} %"


def as_values(coverage: Coverage) -> dict[str, Any]:
    """The whole as plain mappings, lists and text."""
    return {
        "format": 1,
        "ruleset": {"name": coverage.name, "version": coverage.version},
        "examples": coverage.examples,
        "cases": coverage.cases,
        "conditions": coverage.conditions,
        "shown": coverage.count("shown"),
        "argued": coverage.count("argued"),
        "not_shown": coverage.count("not shown"),
        "percent": share(coverage).removesuffix(" %"),
        "rules": [_rule(each) for each in coverage.rules],
    }


def _rule(rule: RuleCover) -> dict[str, Any]:
    return {
        "rule": rule.rule,
        "part": rule.part,
        "at": rule.at,
        "fired": rule.fired,
        "held": rule.held,
        "conditions": [
            {
                "says": each.says,
                "state": each.state,
                "form": each.pair.form if each.pair is not None else "",
                "true": {"case": each.where[0], "conditions": _words(each.pair.true)} if each.pair else None,
                "false": {"case": each.where[1], "conditions": _words(each.pair.false)}
                if each.pair
                else None,
                "seen_true": each.seen_true,
                "seen_false": each.seen_false,
                "why": each.why,
                "ready": list(each.ready),
            }
            for each in rule.conditions
        ],
    }


def _words(vector: Vector) -> list[str]:
    return [{True: "true", False: "false", None: "unknown"}[each] for each in vector]


def _wrapped(text: str, width: int, indent: int = 0) -> Iterator[str]:
    yield from textwrap.wrap(
        text,
        max(width, 40),
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )
