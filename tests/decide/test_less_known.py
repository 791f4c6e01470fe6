"""To know less never makes a verdict milder, and by itself it only leaves more open."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings

from advisor.verdicts.model import Decision
from tests.decide.deciding import (
    by_item,
    changed,
    decide_data,
    demo,
    demo_data,
    demo_rules,
    mildest,
    paths,
)
from tests.decide.generate import cases

UNKNOWN = "not looked at"
OUT_OF_REACH = ("lost", "could not be judged")
Change = tuple[str, dict[str, Any]]


def less(data: dict[str, Any], states: tuple[str, ...]) -> Iterator[Change]:
    """The case with one finding, reading or single position in one of these states, each in turn.

    A line that is left out may uncover an older one, or fall under `otherwise: none`; a state never does.
    """
    for index, entry in enumerate(data["bench"]):
        for name in entry.get("findings", {}):
            for state in states:
                yield f"{entry['part']} {name}", changed(data, ("bench", index, "findings", name), state)
        for name, reading in entry.get("readings", {}).items():
            at = ("bench", index, "readings", name)
            for state in states:
                gone = {key: value for key, value in reading.items() if key != "values"} | {"value": state}
                yield f"{entry['part']} {name}", changed(data, at, gone)
                for position in reading.get("values", {}):
                    yield (
                        f"{entry['part']} {name} {position}",
                        changed(data, (*at, "values", position), state),
                    )


def less_said(data: dict[str, Any]) -> Iterator[Change]:
    """The case without one line that says how far somebody looked, or what was read off."""
    for index, entry in enumerate(data["bench"]):
        if "otherwise" in entry:
            yield f"{entry['part']} otherwise", changed(data, ("bench", index, "otherwise"), None)
        if entry.get("findings") or entry.get("readings"):
            bare = {
                key: entry[key] for key in ("part", "place", "tag", "from_among", "origin") if key in entry
            }
            yield f"{entry['part']} whole entry", changed(data, ("bench", index), bare)
    for section in ("found_sizes", "cleans_up"):
        for index in range(len(data.get(section, ()))):
            yield section, changed(data, (section, index), None)


def only_wider(before: Decision, after: Decision) -> list[str]:
    """Items of which something that was possible no longer is, although less is known."""
    now = by_item(after)
    return [
        f"{name}: {verdict.possible} before, {now[name].possible} after"
        for name, verdict in by_item(before).items()
        if not set(verdict.possible) <= set(now[name].possible)
    ]


def settled_milder(before: Decision, after: Decision) -> list[str]:
    """Items that stand milder than anything that was possible, or than they stood."""
    was = by_item(before)
    return [
        f"{name}: {was[name].possible} before, {verdict.verdict} after"
        for name, verdict in by_item(after).items()
        if verdict.verdict != "undecided" and mildest(verdict) < mildest(was[name])
    ]


@settings(max_examples=25)
@given(cases())
def test_what_nobody_looked_at_only_leaves_more_open(data: dict[str, Any]) -> None:
    before = decide_data(data)
    for what, case in (*less(data, (UNKNOWN,)), *less_said(data)):
        after = decide_data(case)
        assert only_wider(before, after) == [], what
        assert settled_milder(before, after) == [], what


@settings(max_examples=15)
@given(cases())
def test_what_can_never_be_known_settles_nothing_milder(data: dict[str, Any]) -> None:
    before = decide_data(data)
    for what, case in less(data, OUT_OF_REACH):
        assert settled_milder(before, decide_data(case)) == [], what


@settings(max_examples=8)
@given(cases())
def test_what_was_lost_was_one_way_for_the_unknown_to_turn_out(data: dict[str, Any]) -> None:
    unknown = [case for _, case in less(data, (UNKNOWN,))]
    for state in OUT_OF_REACH:
        for (what, lost), other in zip(less(data, (state,)), unknown, strict=True):
            assert only_wider(decide_data(lost), decide_data(other)) == [], what


def _demo_changes(states: tuple[str, ...]) -> list[Change]:
    return [*less(demo_data(), states)]


def _decide_demo(case: dict[str, Any]) -> Decision:
    return decide_data(case, demo_rules(), demo().sheet)


def _about_judged_parts(changes: list[Change]) -> list[Change]:
    """Without the evidence on kinds that no rule judges or asks about: it cannot show in a verdict."""
    rules = demo_rules()
    spoken = {rule.for_ for rule in rules.rules}
    return [(what, case) for what, case in changes if what.split()[0] in spoken]


def _check_demo(changes: list[Change], *, widens: bool) -> None:
    before = _decide_demo(demo_data())
    for what, case in changes:
        after = _decide_demo(case)
        assert settled_milder(before, after) == [], what
        if widens:
            assert only_wider(before, after) == [], what


def test_the_demo_with_any_one_thing_not_looked_at() -> None:
    changes = _about_judged_parts(_demo_changes((UNKNOWN,)))
    assert len(changes) > 150
    _check_demo(changes[::10], widens=True)


def test_the_demo_with_any_one_thing_out_of_reach() -> None:
    changes = _about_judged_parts(_demo_changes(("lost",)))
    _check_demo(changes[1::16], widens=False)


@pytest.mark.slow
def test_the_demo_with_everything_unknown_in_turn() -> None:
    _check_demo([*_demo_changes((UNKNOWN,)), *less_said(demo_data())], widens=True)


@pytest.mark.slow
def test_the_demo_with_everything_out_of_reach_in_turn() -> None:
    _check_demo(_demo_changes(OUT_OF_REACH), widens=False)


def test_every_line_of_the_demo_is_reached_by_these_changes() -> None:
    lines = [
        path
        for path, _ in paths(demo_data()["bench"])
        if len(path) == 3 and path[1] in ("findings", "readings")
    ]
    changes = _demo_changes((UNKNOWN,))
    single = [what for what, _ in changes if len(what.split()) > 2]
    assert len(changes) - len(single) == len(lines) > 120
