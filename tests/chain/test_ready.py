"""Compiled rule sets are kept and given up; threads that share them decide as one alone would."""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from advisor.chain import ready
from advisor.chain.ready import chain, ready_for
from advisor.chain.world import Item, World
from advisor.sheets.ruleset import RuleSet
from tests.decide.deciding import demo_rules, small_rules

LAYOUT = {"fuel": "diesel"}


@pytest.fixture(autouse=True)
def _none_kept() -> None:
    while ready._ready:
        ready._ready.popitem()[1].close()


def editions(number: int) -> list[RuleSet]:
    """The small rule set in so many versions, each with a digest of its own."""
    return [replace(small_rules(), version=f"1.0.{edition}") for edition in range(number)]


def world() -> World:
    return World(
        items=tuple(Item(kind) for kind in ("gasket", "shaft", "half_shell")),
        links={},
        scales={name: tuple(f.extents) for name, f in small_rules().vocabulary.findings.items()},
        layout=LAYOUT,
    )


def test_a_rule_set_is_compiled_once_for_a_layout() -> None:
    first = ready_for(small_rules(), LAYOUT)
    assert ready_for(small_rules(), dict(LAYOUT)) is first
    assert ready_for(small_rules(), {"fuel": "petrol"}) is not first


def test_the_one_not_used_for_longest_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ready, "_KEPT", 2)
    one, other, third = editions(3)
    first, second = ready_for(one, LAYOUT), ready_for(other, LAYOUT)
    ready_for(one, LAYOUT)
    ready_for(third, LAYOUT)
    assert second.given_up.is_set()
    assert not first.given_up.is_set()
    with pytest.raises(RuntimeError, match="closed"):
        second.matcher.start()


def test_threads_that_push_each_other_out_decide_as_one_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ready, "_KEPT", 1)
    rulesets = editions(3)
    alone = chain(rulesets[0], world())
    assert alone
    with ThreadPoolExecutor(6) as threads:
        found = list(threads.map(lambda turn: chain(rulesets[turn % 3], world()), range(120)))
    assert all(each == alone for each in found)
    assert len(ready._ready) == 1


def test_threads_that_compile_the_same_at_once_share_one() -> None:
    together = threading.Barrier(4)

    def get() -> ready.Ready:
        together.wait()
        return ready_for(demo_rules(), {})

    with ThreadPoolExecutor(4) as threads:
        found = [each.result() for each in [threads.submit(get) for _ in range(4)]]
    assert len({id(each) for each in found}) == 1
    assert not found[0].given_up.is_set()


def test_the_cases_of_one_rule_set_leave_nothing_behind_for_the_next() -> None:
    empty = World((), {}, world().scales, LAYOUT)
    first = chain(small_rules(), world())
    assert chain(small_rules(), empty) == {}
    assert chain(small_rules(), world()) == first
