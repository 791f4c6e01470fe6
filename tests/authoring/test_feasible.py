"""What is called impossible is impossible: held against every world of one item, decided by the evaluator."""

from __future__ import annotations

from itertools import product

import pytest

from advisor.authoring.feasible import can_be, unique_cause_possible
from advisor.authoring.mcdc import decides, tree_of
from advisor.chain.plain import PlainRule, evaluate, prepare
from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import (
    OUTCOMES,
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    Origin,
    Outcome,
    Related,
    Stands,
)
from tests.decide.deciding import small_rules

DEEP = Found("scoring", "deep", None)
LIGHT = Found("scoring", "light", None)
ONLY_LIGHT = Found("scoring", "light", "light")
HOT = Found("heat", "straw", None)


def stands(*outcomes: Outcome) -> Stands:
    return Stands("wear", "discard", frozenset(outcomes))


CONDITIONS: list[tuple[str, Condition]] = [
    ("shaft_journal", All((LIGHT, DEEP))),
    ("shaft_journal", Any((LIGHT, DEEP))),
    ("shaft_journal", Any((ONLY_LIGHT, DEEP))),
    ("shaft_journal", All((HOT, Any((ONLY_LIGHT, DEEP))))),
    ("shaft_journal", Any((All((LIGHT, HOT)), DEEP))),
    ("shaft_journal", Any((stands("above"), stands("above", "below")))),
    ("shaft_journal", Any((stands("above"), stands("below")))),
    ("shaft_journal", All((stands("inside"), stands("above"), HOT))),
    ("shaft_journal", Any((LIGHT, DEEP, HOT), 2)),
    ("shaft", Any((HasProperty("treatment", "none"), HasProperty("treatment", "nitrided")))),
    ("shaft", All((HasProperty("treatment", "nitrided"), Found("crack", "line", None)))),
    ("half_shell", Any((Origin("fitted"), Origin("new")))),
    ("shaft_journal", Any((LIGHT, EvidenceIs("heat", "discard", "lost")))),
]


def worlds(kind: str) -> list[World]:
    """Every world of one item of a kind in which everything is known, or one thing is missing."""
    rules = small_rules()
    vocabulary = rules.vocabulary
    scales = {name: tuple(each.extents) for name, each in vocabulary.findings.items()}
    findings = [name for name, each in vocabulary.findings.items() if kind in each.kinds]
    extents = [
        [*(Extent(at, at) for at in range(len(scales[name]))), Extent(0, len(scales[name]) - 1, "lost")]
        for name in findings
    ]
    standings = (
        [Standing(frozenset((each,))) for each in OUTCOMES]
        if kind == "shaft_journal"
        else [Standing(frozenset(OUTCOMES))]
    )
    treatments = vocabulary.kinds[kind].properties.get("treatment", [""])
    return [
        World(
            (
                Item(
                    kind,
                    dict(zip(findings, chosen, strict=True)),
                    {("wear", "discard"): stand},
                    {"treatment": treatment},
                    origin=origin,
                ),
            ),
            {},
            scales,
            {},
        )
        for chosen in product(*extents)
        for stand in standings
        for treatment in treatments
        for origin in ("fitted", "new", "second-hand", "delivered")
    ]


@pytest.mark.parametrize(("kind", "condition"), CONDITIONS, ids=lambda each: str(each)[:60])
def test_it_agrees_with_every_world_there_is(kind: str, condition: Condition) -> None:
    tree = tree_of(condition)
    prepared = prepare([PlainRule(kind, each, ()) for each in tree.conditions])
    vectors = set()
    for world in worlds(kind):
        firings = evaluate(prepared, world)
        vectors.add(
            tuple(
                True if (index, 0, True) in firings else None if (index, 0, False) in firings else False
                for index in range(len(tree.conditions))
            )
        )
    for index in range(len(tree.conditions)):
        there_is = any(
            None not in vector
            and vector[index]
            and (*vector[:index], False, *vector[index + 1 :]) in vectors
            and decides(tree, vector, index)
            for vector in vectors
        )
        assert unique_cause_possible(tree, small_rules().vocabulary, kind, index) is there_is


def test_concerns_hang_together_with_their_own_absence_only() -> None:
    vocabulary = small_rules().vocabulary
    dirty, hot = HasConcern("dirty_oil"), HasConcern("overheated")
    assert unique_cause_possible(tree_of(All((dirty, hot))), vocabulary, "shaft", 0) is True
    assert unique_cause_possible(tree_of(All((dirty, Absent(dirty)))), vocabulary, "shaft", 0) is False
    some = Related("carries", "half_shell", 1, DEEP)
    other = Related("carries", "half_shell", 1, LIGHT)
    assert unique_cause_possible(tree_of(Any((some, other))), vocabulary, "shaft_journal", 0) is False
    assert unique_cause_possible(tree_of(Any((some, other))), vocabulary, "shaft_journal", 1) is True


def test_some_of_several_may_differ_where_one_item_could_not() -> None:
    """Two shells may be scored lightly and deeply at once, which one shell cannot."""
    vocabulary = small_rules().vocabulary
    light = Related("carries", "half_shell", 1, ONLY_LIGHT)
    deep = Related("carries", "half_shell", 1, DEEP)
    assert unique_cause_possible(tree_of(All((light, deep))), vocabulary, "shaft_journal", 0) is True
    assert unique_cause_possible(tree_of(All((ONLY_LIGHT, DEEP))), vocabulary, "shaft_journal", 0) is False


def test_a_constant_condition_is_told() -> None:
    vocabulary = small_rules().vocabulary
    always = tree_of(All((Found("scoring", "none", None),)))
    assert can_be(always, vocabulary, "shaft_journal", 0) == {True}
    never = tree_of(All((EvidenceIs("heat", "discard", "not looked at"),)))
    assert can_be(never, vocabulary, "shaft_journal", 0) == {False}
    assert can_be(tree_of(DEEP), vocabulary, "shaft_journal", 0) == {True, False}


def test_too_many_combinations_are_not_gone_through() -> None:
    vocabulary = small_rules().vocabulary
    many = tree_of(All(tuple(HasConcern(f"concern_{number}") for number in range(17))))
    assert unique_cause_possible(many, vocabulary, "shaft", 0) is None
