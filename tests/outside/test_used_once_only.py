"""What is used once only is not put back, wherever it was used: common practice, no source."""

from __future__ import annotations

import pytest

from advisor.files import load_rules
from advisor.sheets.conditions import Origin, leaves
from advisor.sheets.rules import RuleText


def _always_new() -> list[RuleText]:
    return [rule for rule in load_rules().rules if rule.id.endswith("always-new")]


@pytest.mark.parametrize("kind", sorted({rule.for_ for rule in _always_new()}))
def test_a_second_hand_one_is_no_better_than_the_one_that_came_out(kind: str) -> None:
    every = [
        {leaf.origin for leaf in leaves(rule.condition) if isinstance(leaf, Origin)}
        for rule in _always_new()
        if rule.for_ == kind
    ]
    assert any(not origins for origins in every) or {"fitted", "second-hand"} <= set().union(*every)


def test_there_are_such_rules() -> None:
    assert len(_always_new()) > 10


def test_no_rule_is_without_a_caution() -> None:
    """On its own, on its part, on work that mends it, or on a task that it gives."""
    rules = load_rules()
    words = rules.vocabulary
    without = [
        rule.id
        for rule in rules.rules
        if not rule.cautions
        and not words.kinds[rule.for_].cautions
        and not any(words.operations[name].cautions for bar in rule.then.bar for name in bar.mend)
        and not any(words.tasks[name].cautions for name in rule.then.task)
    ]
    assert without == []
