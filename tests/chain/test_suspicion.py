"""Findings that are wanted on suspicion: by hand, and against the same rules written out without them."""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given, settings

from advisor.chain.plain import Firings, PlainRule, evaluate, prepare
from advisor.chain.strata import CycleThroughAbsence, edges_of, levels
from advisor.chain.world import Extent, Item, World
from advisor.sheets.conditions import (
    STATES,
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    Leaf,
    Related,
    leaves,
)
from tests.chain.generate import ON_SUSPICION, SMALL, RuleSet, cases, rule_set

SCALES = {"test": ("none", "line", "through"), "blow": ("none", "struck")}
SUSPECTED = frozenset({("gear", "test")})
CRACKED = PlainRule("gear", Found("test", "line", None), ("cracked",))
STRUCK = PlainRule("gear", Found("blow", "struck", None), (), ("test",))
LOST = PlainRule("gear", EvidenceIs("test", "", "lost"), ())


def told(test: Extent | None, blow: Extent | None, *rules: PlainRule) -> Firings:
    """What the rules say of one gear."""
    known = {name: extent for name, extent in (("test", test), ("blow", blow)) if extent is not None}
    world = World((Item("gear", known),), {}, SCALES, {})
    return evaluate(prepare(rules, SUSPECTED), world)


def readings(firings: Firings, rule: int) -> str:
    return {(True, True): "certain", (False, True): "possible", (False, False): "neither"}[
        (rule, 0, True) in firings, (rule, 0, False) in firings
    ]


@pytest.mark.parametrize(
    ("test", "blow", "expected"),
    [
        (None, Extent(0, 0), "neither"),  # nobody looked, and nothing points to it
        (None, Extent(1, 1), "possible"),  # wanted for certain: open until somebody looks
        (None, None, "possible"),  # perhaps wanted
        (Extent(0, 0), Extent(1, 1), "neither"),  # the test clears it
        (Extent(1, 1), Extent(0, 0), "certain"),  # seen, though nobody asked for it
        (Extent(2, 2), None, "certain"),
        (Extent(0, 2, "lost"), Extent(0, 0), "neither"),  # nothing came of it, and nobody asked for it
        (Extent(0, 2, "lost"), Extent(1, 1), "possible"),
        (Extent(0, 2, "not opened"), Extent(0, 0), "neither"),
        (Extent(1, 2, "could not be judged"), Extent(0, 1, "lost"), "possible"),
        (Extent(1, 2, "could not be judged"), Extent(1, 1), "certain"),
    ],
)
def test_a_test_counts_where_it_was_made_or_is_asked_for(
    test: Extent | None, blow: Extent | None, expected: str
) -> None:
    firings = told(test, blow, CRACKED, STRUCK)
    assert readings(firings, 0) == expected


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("struck", [0, 1])
def test_that_it_is_missing_counts_only_where_it_is_asked_for(state: str, struck: int) -> None:
    missing = Extent(0, 2, state)  # type: ignore[arg-type]
    firings = told(missing, Extent(struck, struck), LOST, STRUCK)
    asked = evaluate(
        prepare([LOST]), World((Item("gear", {"test": missing, "blow": Extent(0, 0)}),), {}, SCALES, {})
    )
    assert readings(firings, 0) == (readings(asked, 0) if struck else "neither")


def test_a_rule_cannot_call_for_the_test_that_it_reads() -> None:
    circle = replace(CRACKED, wants=("test",))
    assert told(None, Extent(0, 0), circle) == {}
    assert readings(told(Extent(1, 1), Extent(0, 0), circle), 0) == "certain"


def test_a_circle_through_an_absence_is_refused() -> None:
    absent = Absent(HasConcern("cracked"))
    edges = [
        *edges_of(0, "gear", CRACKED.condition, CRACKED.concerns, (), SUSPECTED),
        *edges_of(1, "gear", absent, (), ("test",), SUSPECTED),
    ]
    with pytest.raises(CycleThroughAbsence):
        levels(edges)
    assert levels(edges_of(1, "gear", absent, (), ("test",), frozenset())) == {}


# The same rules written out: what is read is asked for by a concern, which whoever looked concludes too.

_SEEN = "seen: "
_OPEN = "open: "


def written_out(rules: RuleSet, world: World) -> tuple[list[PlainRule], World]:
    """Rules and world without findings that are wanted on suspicion; the given rules come first."""
    more: dict[tuple[str, Leaf], str] = {}

    def own(kind: str, leaf: Leaf) -> Condition:
        name = leaf.finding if isinstance(leaf, Found) else leaf.name if isinstance(leaf, EvidenceIs) else ""
        return All((leaf, HasConcern(_OPEN + name))) if (kind, name) in ON_SUSPICION else leaf

    def condition(kind: str, of: Condition) -> Condition:
        match of:
            case All(parts):
                return All(tuple(condition(kind, part) for part in parts))
            case Any(parts, number):
                return Any(tuple(condition(kind, part) for part in parts), number)
            case Related(_, other, _, leaf) if not isinstance(own(other, leaf), type(leaf)):
                # Only a leaf may stand inside, so what is read there becomes a concern.
                return replace(of, leaf=HasConcern(more.setdefault((other, leaf), f"read {len(more)}")))
            case Absent() | Related():
                return of
        return own(kind, of)

    made = [
        PlainRule(
            rule.kind,
            condition(rule.kind, rule.condition),
            (*rule.concerns, *(_OPEN + name for name in rule.wants if (rule.kind, name) in ON_SUSPICION)),
        )
        for rule in rules.rules
    ]
    made += [PlainRule(kind, own(kind, leaf), (concern,)) for (kind, leaf), concern in more.items()]
    made += [
        PlainRule(kind, HasProperty(_SEEN + name, "yes"), (_OPEN + name,)) for kind, name in ON_SUSPICION
    ]

    def marked(item: Item) -> Item:
        seen: Mapping[str, str] = {
            _SEEN + name: "yes" if name in item.findings and item.findings[name].state is None else "no"
            for _, name in ON_SUSPICION
        }
        return replace(item, properties={**item.properties, **seen})

    return made, replace(world, items=tuple(map(marked, world.items)))


@settings(max_examples=200)
@given(cases())
def test_it_means_the_same_as_the_rules_written_out(case: tuple[RuleSet, World]) -> None:
    rules, world = case
    native = [PlainRule(rule.kind, rule.condition, rule.concerns, rule.wants) for rule in rules.rules]
    long, marked = written_out(rules, world)
    expected = {key for key in evaluate(prepare(long), marked) if key[0] < len(native)}
    assert set(evaluate(prepare(native, ON_SUSPICION), world)) == expected


def test_the_rules_written_out_do_hang_on_it() -> None:
    """The comparison would show nothing on cases in which no such finding is read."""
    reading = 0
    for seed in range(100):
        rules = rule_set(random.Random(seed), SMALL)
        for rule in rules.rules:
            for leaf in leaves(rule.condition):
                of, tip = (leaf.kind, leaf.leaf) if isinstance(leaf, Related) else (rule.kind, leaf)
                reading += isinstance(tip, Found) and (of, tip.finding) in ON_SUSPICION
    assert reading >= 20
