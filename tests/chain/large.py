"""Large rule sets and cases, each with what must fire, worked out without any of the program's engines.

`python -m tests.chain.large NAME` runs one and prints what came of it as JSON: how many firings, or the
message with which it was refused. Run so by the tests, since what these guard against is a process that
hangs or dies.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from typing import Any, TypeAlias

from advisor.chain.ready import chain
from advisor.chain.world import Extent, Item, World
from advisor.faults import Faults
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import VocabularyFile

SCALE = ("none", "little", "much")
Expected: TypeAlias = set[tuple[str, int]]
Scenario: TypeAlias = tuple[list[dict[str, Any]], list[dict[str, int]], Expected]
"""Rules as written; for each item the extent of each finding, as an index of SCALE; and what fires."""


def rule(number: int, when: object, **then: object) -> dict[str, Any]:
    """A rule about the one kind of part there is."""
    return {
        "id": f"rule-{number}",
        "for": "part",
        "when": when,
        "then": then or {"bar": {"answers": ["reuse"]}},
        "because": "a trial",
        "cite": [{"source": "made_up"}],
        "examples": {"fires": [{}], "holds": [{}]},
    }


def found(number: int, extent: str = "much") -> dict[str, str]:
    """The condition that a finding has an extent or more."""
    return {"finding": f"finding_{number}", "at_least": extent}


def many_rules() -> Scenario:
    """2,500 rules, no two alike, over 60 items."""
    # Three findings in each, so that the rules share their facts in many ways.
    picks = [(number % 50, (number * 7 + number // 50) % 50, number % 2 + 1) for number in range(2500)]
    rules = [
        rule(number, {"all": [found(one, SCALE[least]), found(other, SCALE[least])]})
        for number, (one, other, least) in enumerate(picks)
    ]
    items = [{f"finding_{f}": (i + f) % 3 for f in range(50)} for i in range(60)]
    fires = {
        (f"rule-{number}", i)
        for number, (one, other, least) in enumerate(picks)
        for i in range(60)
        if (i + one) % 3 >= least and (i + other) % 3 >= least
    }
    return rules, items, fires


def related_400() -> Scenario:
    """One rule that counts over 400 other items."""
    items = [{"finding_0": 2 if i % 2 else 0} for i in range(401)]
    rules = [
        rule(0, {**found(0), "some": {"anywhere": "part", "at_least": "200"}}),
        rule(1, {**found(0), "some": {"anywhere": "part", "at_least": "201"}}),
    ]
    # 200 items have it; one of these has only 199 others.
    return rules, items, {("rule-0", i) for i in range(401) if i % 2 == 0}


def every_400() -> Scenario:
    """One rule that wants it of every one of 400 other items, and one item that has it not."""
    items = [{"finding_0": 0 if i == 17 else 2} for i in range(401)]
    return [rule(0, {**found(0), "every": {"anywhere": "part"}})], items, {("rule-0", 17)}


def any_400() -> Scenario:
    """One rule with 400 alternatives."""
    items: list[dict[str, int]] = [{}, {"finding_0": 2}, {"finding_399": 2}, {"finding_200": 1}]
    items = [{f"finding_{f}": item.get(f"finding_{f}", 0) for f in range(400)} for item in items]
    return [rule(0, {"any": [found(f) for f in range(400)]})], items, {("rule-0", 1), ("rule-0", 2)}


def all_40() -> Scenario:
    """One rule with 40 conditions at once."""
    items = [{f"finding_{f}": 0 if f == missing else 2 for f in range(40)} for missing in (-1, 0, 14, 15, 39)]
    return [rule(0, {"all": [found(f) for f in range(40)]})], items, {("rule-0", 0)}


def all_400() -> Scenario:
    """One rule with 400 conditions at once."""
    items = [{f"finding_{f}": 0 if f == missing else 2 for f in range(400)} for missing in (-1, 0, 399)]
    return [rule(0, {"all": [found(f) for f in range(400)]})], items, {("rule-0", 0)}


def shared_fact() -> Scenario:
    """One fact that 400 rules look at."""
    items = [{"finding_0": 2, "finding_1": i % 3} for i in range(20)]
    rules = [rule(n, {"all": [found(0), found(1, SCALE[1 + n % 2])]}) for n in range(400)]
    return rules, items, {(f"rule-{n}", i) for n in range(400) for i in range(20) if i % 3 >= 1 + n % 2}


def shared_concern() -> Scenario:
    """One concern that 300 rules conclude and 300 others look at, 100 of these on related items."""
    rules = [rule(n, found(n % 30), concern="worry") for n in range(300)]
    rules += [rule(300 + n, {"all": [{"concern": "worry"}, found(n % 30)]}) for n in range(200)]
    rules += [rule(500 + n, {"concern": "worry", "some": {"anywhere": "part"}}) for n in range(100)]
    items = [{f"finding_{f}": 2 if f == i else 0 for f in range(30)} for i in range(12)]
    items.append({f"finding_{f}": 0 for f in range(30)})
    fires = {(f"rule-{n}", n % 30) for n in range(500) if n % 30 < 12 and n < 300}
    fires |= {(f"rule-{300 + n}", n % 30) for n in range(200) if n % 30 < 12}
    fires |= {(f"rule-{500 + n}", i) for n in range(100) for i in range(13)}
    return rules, items, fires


def chain_300() -> Scenario:
    """300 concerns, each concluded from the one before."""
    rules = [rule(0, found(0), concern="worry_0")]
    rules += [rule(n, {"concern": f"worry_{n - 1}"}, concern=f"worry_{n}") for n in range(1, 300)]
    return rules, [{"finding_0": 2}, {"finding_0": 1}], {(f"rule-{n}", 0) for n in range(300)}


def nested(depth: int) -> Scenario:
    """`all` and `any` by turns, one inside the other, with a finding at each level."""
    when: Any = found(depth)
    for level in range(depth - 1, -1, -1):
        when = {"all" if level % 2 else "any": [found(level), when]}
    items = [{f"finding_{f}": 2 * ((i >> f % 7) & 1) for f in range(depth + 1)} for i in range(128)]

    def holds(item: dict[str, int]) -> bool:
        held = item[f"finding_{depth}"] == 2
        for level in range(depth - 1, -1, -1):
            here = item[f"finding_{level}"] == 2
            held = (here and held) if level % 2 else (here or held)
        return held

    return [rule(0, when)], items, {("rule-0", i) for i, item in enumerate(items) if holds(item)}


def count_20_of_40() -> Scenario:
    """One rule that wants half of 40, and one that wants one more than half of a list with repeats."""
    rules = [rule(0, {"count": "20", "of": [found(f) for f in range(40)]})]
    rules.append(rule(1, {"count": "21", "of": [found(f % 20) for f in range(40)]}))
    items = [{f"finding_{f}": 2 if f < i else 0 for f in range(40)} for i in range(41)]
    fires = {("rule-0", i) for i in range(20, 41)}
    # Each of the first 20 stands twice in the list, so 11 of them make 22.
    return rules, items, fires | {("rule-1", i) for i in range(11, 41)}


SCENARIOS: dict[str, Callable[[], Scenario]] = {
    "many_rules": many_rules,
    "related_400": related_400,
    "every_400": every_400,
    "any_400": any_400,
    "all_40": all_40,
    "all_400": all_400,
    "shared_fact": shared_fact,
    "shared_concern": shared_concern,
    "chain_300": chain_300,
    "nested_40": lambda: nested(40),
    "nested_200": lambda: nested(200),
    "count_20_of_40": count_20_of_40,
}


def outcome(name: str) -> dict[str, Any]:
    """What comes of a scenario: `fires` and whether that is right, or `refused` with the message."""
    rules, items, expected = SCENARIOS[name]()
    try:
        ruleset = RuleSet(
            name="large",
            version="1.0.0",
            title="large",
            vocabulary=VocabularyFile(format="1"),
            rules=tuple(RuleText.model_validate(each) for each in rules),
            limits=(),
            sources={},
            cautions={},
            instruments={},
        )
        firings = chain(ruleset, world_of(items))
    except Faults as faults:
        return {"refused": str(faults)}
    certain = {(ruleset.rules[number].id, item) for number, item, sure in firings if sure}
    # Everything is known of these items, so what is possible is certain.
    possible = {(ruleset.rules[number].id, item) for number, item, sure in firings if not sure}
    return {"fires": len(certain), "right": certain == possible == expected}


def world_of(items: list[dict[str, int]]) -> World:
    """Items of one kind, with everything known of them."""
    findings = {name for item in items for name in item}
    return World(
        items=tuple(
            Item(kind="part", findings={name: Extent(value, value) for name, value in item.items()})
            for item in items
        ),
        links={},
        scales=dict.fromkeys(findings, SCALE),
        layout={},
    )


if __name__ == "__main__":
    sys.stdout.write(json.dumps(outcome(sys.argv[1])))
