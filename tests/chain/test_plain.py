"""The plain evaluator against tables worked by hand, and against other ways of reaching the same answer."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.chain.plain import Firings, PlainRule, evaluate, prepare
from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import (
    OUTCOMES,
    STATES,
    Absent,
    All,
    Any,
    Condition,
    EvidenceIs,
    Found,
    HasConcern,
    HasProperty,
    LayoutIs,
    Leaf,
    Origin,
    Outcome,
    PlaceUnknown,
    Related,
    Stands,
    State,
)

SCALES = {"f": ("none", "light", "heavy"), "g": ("none", "light", "heavy")}
LAYOUT = {"fuel": "diesel"}
CERTAIN, POSSIBLE, NEITHER = "certain", "possible only", "neither"


def world_of(*items: Item, **links: dict[int, tuple[int, ...]]) -> World:
    return World(items, links, SCALES, LAYOUT)


def run(rules: Sequence[PlainRule], world: World) -> Firings:
    return evaluate(prepare(rules), world)


def reading(firings: Firings, rule: int, item: int) -> str:
    possible, certain = (rule, item, False) in firings, (rule, item, True) in firings
    assert possible or not certain
    return CERTAIN if certain else POSSIBLE if possible else NEITHER


def read(condition: Condition, world: World, *others: PlainRule) -> str:
    """How the condition reads of item 0."""
    return reading(run([PlainRule(world.items[0].kind, condition, ()), *others], world), 0, 0)


def extent(lowest: int, highest: int) -> Item:
    return Item("k", {"f": Extent(lowest, highest, None if lowest == highest else "could not be judged")})


# The table of docs/rule-language.md, row by row.


@pytest.mark.parametrize(
    ("item", "lowest", "highest", "expected"),
    [
        (extent(0, 0), "light", None, NEITHER),
        (extent(1, 1), "light", None, CERTAIN),
        (extent(2, 2), "light", None, CERTAIN),
        (extent(0, 1), "light", None, POSSIBLE),
        (extent(1, 2), "light", None, CERTAIN),
        (Item("k"), "light", None, POSSIBLE),
        (Item("k"), "none", None, CERTAIN),  # every extent there is lies between them
        (extent(1, 2), "none", "light", POSSIBLE),
        (extent(2, 2), "none", "light", NEITHER),
        (extent(0, 0), "none", "none", CERTAIN),
        (extent(0, 2), "light", "light", POSSIBLE),
        (extent(1, 1), "light", "light", CERTAIN),
        (extent(0, 2), "heavy", "light", NEITHER),  # nothing lies between these two
    ],
)
def test_finding(item: Item, lowest: str, highest: str | None, expected: str) -> None:
    assert read(Found("f", lowest, highest), world_of(item)) == expected


@pytest.mark.parametrize(
    ("outcomes", "asked", "expected"),
    [
        ({"inside"}, {"inside"}, CERTAIN),
        ({"inside"}, {"above", "below"}, NEITHER),
        ({"above"}, {"above", "below"}, CERTAIN),
        ({"above", "below"}, {"above", "below"}, CERTAIN),
        ({"inside", "above"}, {"above", "below"}, POSSIBLE),
        ({"inside", "above"}, {"below"}, NEITHER),
        (set(OUTCOMES), {"inside"}, POSSIBLE),
        (None, {"above", "below"}, POSSIBLE),
        (None, set(OUTCOMES), CERTAIN),
    ],
)
def test_standing(outcomes: set[Outcome] | None, asked: set[Outcome], expected: str) -> None:
    standings = {} if outcomes is None else {("d", "discard"): Standing(frozenset(outcomes), "in doubt")}
    world = world_of(Item("k", standings=standings))
    assert read(Stands("d", "discard", frozenset(asked)), world) == expected


def test_a_standing_is_read_against_the_limit_named() -> None:
    world = world_of(Item("k", standings={("d", "new"): Standing(frozenset({"above"}))}))
    assert read(Stands("d", "new", frozenset({"above"})), world) == CERTAIN
    assert read(Stands("d", "discard", frozenset({"above"})), world) == POSSIBLE


@pytest.mark.parametrize(
    ("properties", "expected"),
    [({"p": "a"}, CERTAIN), ({"p": "b"}, NEITHER), ({"p": None}, POSSIBLE), ({}, POSSIBLE)],
)
def test_property(properties: dict[str, str | None], expected: str) -> None:
    assert read(HasProperty("p", "a"), world_of(Item("k", properties=properties))) == expected


def test_place_origin_and_layout_are_as_they_are() -> None:
    world = world_of(Item("k", place_unknown=True, origin="new"))
    for condition in (PlaceUnknown(), Origin("new"), LayoutIs("fuel", "diesel")):
        assert read(condition, world) == CERTAIN
    for condition in (Origin("fitted"), LayoutIs("fuel", "petrol"), LayoutIs("cooling", "water")):
        assert read(condition, world) == NEITHER
    assert read(PlaceUnknown(), world_of(Item("k"))) == NEITHER


@pytest.mark.parametrize(
    ("missing", "asked", "expected"),
    [
        (None, "lost", NEITHER),
        (None, "not looked at", NEITHER),
        ("lost", "lost", CERTAIN),
        ("lost", "in doubt", NEITHER),
        ("lost", "not looked at", NEITHER),
        ("could not be judged", "could not be judged", CERTAIN),
        ("in doubt", "in doubt", CERTAIN),
        ("contradictory", "contradictory", CERTAIN),
        ("contradictory", "in doubt", NEITHER),
        ("not looked at", "not looked at", POSSIBLE),  # it can always be mended by looking
        ("not looked at", "lost", POSSIBLE),
        ("not looked at", "not opened", POSSIBLE),
        ("not opened", "not opened", CERTAIN),
        ("not opened", "lost", POSSIBLE),
        ("not opened", "not looked at", POSSIBLE),
    ],
)
def test_evidence(missing: State | None, asked: State, expected: str) -> None:
    finding = world_of(Item("k", {"f": Extent(0, 1, missing)}))
    assert read(EvidenceIs("f", "discard", asked), finding) == expected
    dimension = world_of(Item("k", standings={("d", "new"): Standing(frozenset({"inside"}), missing)}))
    assert read(EvidenceIs("d", "new", asked), dimension) == expected


@pytest.mark.parametrize("name", ["f", "d"])
def test_evidence_that_is_left_out_was_not_looked_at(name: str) -> None:
    assert {read(EvidenceIs(name, "new", state), world_of(Item("k"))) for state in STATES} == {POSSIBLE}


YES, NO, MAYBE = Extent(2, 2), Extent(0, 0), Extent(0, 2, "not looked at")
EXTENTS = {CERTAIN: YES, NEITHER: NO, POSSIBLE: MAYBE}
ON_F, ON_G = Found("f", "light", None), Found("g", "light", None)
ORDER = [NEITHER, POSSIBLE, CERTAIN]


@pytest.mark.parametrize(("first", "second"), list(itertools.product(ORDER, repeat=2)))
def test_all_and_any_follow_the_strong_tables(first: str, second: str) -> None:
    """`all` is the lesser and `any` the greater: S. C. Kleene's strong tables (1952; cited from memory)."""
    world = world_of(Item("k", {"f": EXTENTS[first], "g": EXTENTS[second]}))
    lesser, greater = sorted((first, second), key=ORDER.index)
    assert read(All((ON_F, ON_G)), world) == lesser
    assert read(Any((ON_F, ON_G)), world) == greater
    assert read(Any((ON_F, ON_G), 2), world) == lesser


@pytest.mark.parametrize("state", ORDER)
def test_concern_and_its_absence(state: str) -> None:
    """The strong table of negation, through one rule and through two."""
    world = world_of(Item("k", {"f": EXTENTS[state]}))
    first = PlainRule("k", ON_F, ("c",))
    second = PlainRule("k", Absent(HasConcern("c")), ("d",))
    turned = ORDER[2 - ORDER.index(state)]
    assert read(HasConcern("c"), world, first) == state
    assert read(Absent(HasConcern("c")), world, first) == turned
    assert read(HasConcern("d"), world, first, second) == turned
    assert read(Absent(HasConcern("d")), world, first, second) == state


def test_empty_lists_and_counts() -> None:
    world = world_of(Item("k", {"f": YES, "g": MAYBE}))
    assert read(All(()), world) == CERTAIN
    assert read(Any(()), world) == NEITHER
    parts = (ON_F, ON_G, Found("f", "none", "none"))
    assert [read(Any(parts, number), world) for number in (1, 2, 3)] == [CERTAIN, POSSIBLE, NEITHER]
    assert read(Any((ON_F, ON_F), 2), world) == CERTAIN


@pytest.mark.parametrize(
    ("there", "one", "two", "every"),
    [
        ([], NEITHER, NEITHER, NEITHER),
        ([NO], NEITHER, NEITHER, NEITHER),
        ([MAYBE], POSSIBLE, NEITHER, POSSIBLE),
        ([YES], CERTAIN, NEITHER, CERTAIN),
        ([YES, NO], CERTAIN, NEITHER, NEITHER),
        ([YES, MAYBE], CERTAIN, POSSIBLE, POSSIBLE),
        ([YES, YES], CERTAIN, CERTAIN, CERTAIN),
        ([MAYBE, MAYBE, NO], POSSIBLE, POSSIBLE, NEITHER),
    ],
)
def test_related(there: list[Extent], one: str, two: str, every: str) -> None:
    others = [Item("m", {"f": found}) for found in there]
    # Two items that do not count: one of another kind that is linked, one of the kind that is not.
    stray = [Item("n", {"f": YES}), Item("m", {"f": YES})]
    linked = tuple(range(1, len(there) + 2))
    world = world_of(Item("k"), *others, *stray, near={0: linked})
    for number, expected in ((1, one), (2, two), (None, every)):
        assert read(Related("near", "m", number, ON_F), world) == expected
    assert read(Related("far", "m", 1, ON_F), world) == NEITHER


LIKELY, UNLIKELY = (YES, False), (NO, False)
"""Items that only may be linked: one of which the leaf would hold, and one of which it would not."""


@pytest.mark.parametrize(
    ("there", "one", "two", "every"),
    [
        ([LIKELY], POSSIBLE, NEITHER, POSSIBLE),
        ([UNLIKELY], NEITHER, NEITHER, NEITHER),
        ([(MAYBE, False)], POSSIBLE, NEITHER, POSSIBLE),
        ([(YES, True), LIKELY], CERTAIN, POSSIBLE, CERTAIN),
        ([(YES, True), UNLIKELY], CERTAIN, NEITHER, POSSIBLE),  # it may be the only one there is
        ([(YES, True), (MAYBE, False)], CERTAIN, POSSIBLE, POSSIBLE),
        ([(MAYBE, True), LIKELY], POSSIBLE, POSSIBLE, POSSIBLE),
        ([(MAYBE, True), UNLIKELY], POSSIBLE, NEITHER, POSSIBLE),
        ([(NO, True), LIKELY], POSSIBLE, NEITHER, NEITHER),
        ([(YES, True), (NO, True), LIKELY], CERTAIN, POSSIBLE, NEITHER),
        ([(YES, True), (YES, True), LIKELY], CERTAIN, CERTAIN, CERTAIN),
        ([LIKELY, LIKELY], POSSIBLE, POSSIBLE, POSSIBLE),
        ([LIKELY, UNLIKELY], POSSIBLE, NEITHER, POSSIBLE),
        ([UNLIKELY, UNLIKELY], NEITHER, NEITHER, NEITHER),
    ],
)
def test_related_by_links_that_are_only_possible(
    there: list[tuple[Extent, bool]], one: str, two: str, every: str
) -> None:
    """Each item there with whether it is surely linked."""
    others = [Item("m", {"f": found}) for found, _ in there]
    # A sure link to an item of another kind makes no difference, nor does a link the other way about.
    linked = tuple(range(1, len(there) + 2))
    links = {0: linked} | dict.fromkeys(linked, (0,))
    unsure = frozenset((0, index) for index, (_, sure) in enumerate(there, 1) if not sure)
    world = replace(world_of(Item("k"), *others, Item("n", {"f": YES}), near=links), unsure={"near": unsure})
    for number, expected in ((1, one), (2, two), (None, every)):
        related = Related("near", "m", number, ON_F)
        assert read(related, world) == expected
        assert read(Absent(related), world) == ORDER[2 - ORDER.index(expected)]


def test_a_link_is_unsure_by_its_relation_and_its_direction() -> None:
    world = world_of(Item("k", {"f": YES}), Item("k", {"f": YES}), near={0: (1,), 1: (0,)}, far={0: (1,)})
    world = replace(world, unsure={"near": frozenset({(0, 1)}), "anywhere": frozenset({(0, 1)})})
    relations = ("near", "far", "anywhere")
    firings = run([PlainRule("k", Related(each, "k", 1, ON_F), ()) for each in relations], world)
    assert [reading(firings, rule, 0) for rule in range(3)] == [POSSIBLE, CERTAIN, CERTAIN]
    assert [reading(firings, rule, 1) for rule in range(3)] == [CERTAIN, NEITHER, CERTAIN]


def test_a_link_told_twice_is_one_item_and_links_have_a_direction() -> None:
    world = world_of(Item("k", {"f": YES}), Item("k", {"f": YES}), near={0: (1, 1)})
    firings = run([PlainRule("k", Related("near", "k", number, ON_F), ()) for number in (1, 2)], world)
    assert {key[:2] for key in firings} == {(0, 0)}


def test_anywhere_is_every_item_of_the_kind_but_itself() -> None:
    world = world_of(Item("k", {"f": YES}), Item("k", {"f": NO}), Item("m", {"f": YES}))
    firings = run([PlainRule("k", Related("anywhere", "k", 1, ON_F), ())], world)
    assert firings == dict.fromkeys([(0, 1, False), (0, 1, True)], frozenset({(ON_F, 0)}))


def test_absence_of_a_related_concern() -> None:
    rules = (PlainRule("m", ON_F, ("c",)),)
    none_there = Absent(Related("near", "m", 1, HasConcern("c")))
    fewer_than_two = Absent(Related("near", "m", 2, HasConcern("c")))
    for there, expected, under_two in (
        ([], CERTAIN, CERTAIN),
        ([NO, NO], CERTAIN, CERTAIN),
        ([MAYBE, NO], POSSIBLE, CERTAIN),
        ([YES, MAYBE], NEITHER, POSSIBLE),
        ([YES, YES], NEITHER, NEITHER),
    ):
        others = [Item("m", {"f": found}) for found in there]
        world = world_of(Item("k"), *others, near={0: tuple(range(1, len(there) + 1))})
        assert read(none_there, world, *rules) == expected
        assert read(fewer_than_two, world, *rules) == under_two


def test_absence_of_what_no_rule_concludes() -> None:
    """The language has it of concerns only; the values can hold it of any leaf about related items."""
    none_there = Absent(Related("near", "m", 1, ON_F))
    for found, expected in ((YES, NEITHER), (MAYBE, POSSIBLE), (NO, CERTAIN)):
        assert read(none_there, world_of(Item("k"), Item("m", {"f": found}), near={0: (1,)})) == expected


def test_a_rule_is_tried_on_its_kind_only_and_a_concern_is_about_one_item() -> None:
    world = world_of(Item("k", {"f": YES}), Item("k", {"f": NO}), Item("m", {"f": YES}))
    rules = [
        PlainRule("k", ON_F, ("c",)),
        PlainRule("k", HasConcern("c"), ()),
        PlainRule("m", HasConcern("c"), ()),
    ]
    assert {key[:2] for key in run(rules, world)} == {(0, 0), (1, 0)}


# Concerns: the least ones.


def test_concerns_that_lean_on_each_other_only_do_not_stand() -> None:
    circle = [PlainRule("k", HasConcern("c"), ("d",)), PlainRule("k", HasConcern("d"), ("c",))]
    absent = PlainRule("k", Absent(HasConcern("c")), ())
    grounded = PlainRule("k", ON_F, ("d",))
    for state in ORDER:
        world = world_of(Item("k", {"f": EXTENTS[state]}))
        assert {key[:2] for key in run([*circle, absent], world)} == {(2, 0)}
        firings = run([*circle, absent, grounded], world)
        assert [reading(firings, rule, 0) for rule in (0, 1, 3)] == [state] * 3
        assert reading(firings, 2, 0) == ORDER[2 - ORDER.index(state)]


def test_a_circle_that_fell_away_with_an_absence_does_not_hold_itself_up() -> None:
    """What an absence gave to a circle at first must go when the absence turns out not to be."""
    rules = [
        PlainRule("k", All(()), ("a",)),
        PlainRule("k", Absent(HasConcern("a")), ("b",)),
        PlainRule("k", Any((HasConcern("b"), HasConcern("d"))), ("c",)),
        PlainRule("k", HasConcern("c"), ("d",)),
    ]
    assert {key[:2] for key in run(rules, world_of(Item("k")))} == {(0, 0)}


def test_a_long_chain_of_absences_settles_one_after_another() -> None:
    rules = [PlainRule("k", Absent(HasConcern(f"c{n}")), (f"c{n + 1}",)) for n in range(30)]
    firings = run(rules, world_of(Item("k")))
    assert firings.keys() == {(n, 0, certain) for n in range(0, 30, 2) for certain in (True, False)}


def test_long_chains_and_deep_nesting() -> None:
    chain = [PlainRule("k", HasConcern(f"c{n}"), (f"c{n + 1}",)) for n in reversed(range(3000))]
    deep: Condition = HasConcern("c3000")
    for level in range(80):
        deep = All((deep,)) if level % 2 else Any((deep, ON_G))
    rules = [*chain, PlainRule("k", ON_F, ("c0",)), PlainRule("k", deep, ())]
    world = world_of(Item("k", {"f": YES, "g": NO}))
    firings = run(rules, world)
    assert len(firings) == 2 * 3002
    assert firings[3001, 0, True] == {(HasConcern("c3000"), 0)}


@st.composite
def graphs(draw: st.DrawFn) -> dict[int, tuple[int, ...]]:
    size = draw(st.integers(1, 7))
    moves = st.frozensets(st.integers(0, size - 1), max_size=3)
    return {position: tuple(draw(moves)) for position in range(size)}


@given(graphs())
def test_won_lost_and_drawn_positions(moves: dict[int, tuple[int, ...]]) -> None:
    """The standard example of the well-founded semantics, against retrograde analysis of the game.

    Who cannot move has lost. A position is won for certain exactly if it is won, and possibly won exactly
    if it is not lost. (A. Van Gelder, K. A. Ross, J. S. Schlipf, "The well-founded semantics for general
    logic programs", Journal of the ACM 38, 1991; cited from memory.) The rule set is one that the language
    refuses, for `won` hangs on its own absence: it tries the fixpoint where every position can matter.
    """
    value: dict[int, str] = {}
    while True:
        lost = {p for p in moves if all(value.get(there) == CERTAIN for there in moves[p])}
        won = {p for p in moves if any(value.get(there) == NEITHER for there in moves[p])}
        found = dict.fromkeys(lost, NEITHER) | dict.fromkeys(won, CERTAIN)
        if found == value:
            break
        value = found
    rules = [
        PlainRule("position", Related("to", "position", 1, HasConcern("not_won")), ("won",)),
        PlainRule("position", Absent(HasConcern("won")), ("not_won",)),
    ]
    firings = run(rules, World(tuple(Item("position") for _ in moves), {"to": moves}, {}, {}))
    assert {p: reading(firings, 0, p) for p in moves} == {p: value.get(p, POSSIBLE) for p in moves}


# The facts used.


def test_facts_of_nested_branches() -> None:
    world = world_of(Item("k", {"f": YES, "g": MAYBE}, origin="new"))
    new, fitted = Origin("new"), Origin("fitted")
    condition = All((Any((All((ON_F, new)), All((new, fitted)), ON_G)), LayoutIs("fuel", "diesel")))
    firings = run([PlainRule("k", condition, ())], world)
    assert firings[0, 0, True] == {(ON_F, 0), (new, 0)}
    assert firings[0, 0, False] == {(ON_F, 0), (new, 0), (ON_G, 0)}


def test_facts_of_related_items_and_absences() -> None:
    items = [Item("k"), Item("m", {"f": YES}), Item("m", {"f": MAYBE}), Item("m", {"f": NO})]
    absent = Absent(Related("near", "m", 1, HasConcern("c")))
    on_diesel = LayoutIs("fuel", "diesel")
    condition = All((Related("near", "m", 1, ON_F), absent, Related("near", "m", 1, on_diesel)))
    firings = run([PlainRule("k", condition, ())], world_of(*items, near={0: (1, 2, 3)}))
    assert firings[0, 0, True] == {(ON_F, 1), (absent, 0)}
    assert firings[0, 0, False] == {(ON_F, 1), (ON_F, 2), (absent, 0)}


def test_facts_of_items_that_only_may_be_linked() -> None:
    items = [Item("k"), Item("m", {"f": YES}), Item("m", {"f": YES}), Item("m", {"f": MAYBE})]
    world = replace(world_of(*items, near={0: (1, 2, 3)}), unsure={"near": frozenset({(0, 2), (0, 3)})})
    one, every = Related("near", "m", 1, ON_F), Related("near", "m", None, ON_F)
    firings = run([PlainRule("k", one, ()), PlainRule("k", every, ())], world)
    assert firings[0, 0, True] == {(ON_F, 1)}
    assert firings[0, 0, False] == firings[1, 0, False] == {(ON_F, 1), (ON_F, 2), (ON_F, 3)}
    assert (1, 0, True) not in firings
    known = replace(world, items=(*items[:3], Item("m", {"f": YES})))
    assert run([PlainRule("k", every, ())], known)[0, 0, True] == {(ON_F, 1), (ON_F, 2), (ON_F, 3)}


def test_a_concern_that_comes_later_is_among_the_facts() -> None:
    """A rule that one branch made fire has the other branch too, once a later rule has concluded it."""
    rules = [PlainRule("k", Any((ON_F, HasConcern("c"))), ("d",)), PlainRule("k", HasConcern("d"), ("c",))]
    firings = run(rules, world_of(Item("k", {"f": YES})))
    assert firings[0, 0, True] == {(ON_F, 0), (HasConcern("c"), 0)}


# Generated rule sets. Concerns have a level; an absence looks at lower levels only.


@st.composite
def leaves(draw: st.DrawFn, level: int, evidence: bool) -> Leaf:
    choice = draw(st.integers(0, 9 if evidence else 8))
    if choice <= 2:
        extents = st.sampled_from(SCALES["f"])
        return Found(draw(st.sampled_from("fg")), draw(extents), draw(st.none() | extents))
    if choice == 3:
        return Stands("d", "discard", draw(st.frozensets(st.sampled_from(OUTCOMES), min_size=1)))
    if choice == 4:
        return HasProperty("p", draw(st.sampled_from("ab")))
    if choice == 5:
        plain: list[Leaf] = [PlaceUnknown(), Origin("fitted"), LayoutIs("fuel", "diesel")]
        return draw(st.sampled_from(plain))
    if choice == 9:
        return EvidenceIs(draw(st.sampled_from(["f", "d"])), "discard", draw(st.sampled_from(STATES)))
    return HasConcern(draw(st.sampled_from("abc"[: level + 1])))


@st.composite
def conditions(draw: st.DrawFn, level: int, absence: bool, evidence: bool, depth: int = 0) -> Condition:
    choice = draw(st.integers(0, 11))
    if choice >= 8 and depth < 3:
        below = conditions(level, absence, evidence, depth + 1)
        parts = tuple(draw(st.lists(below, max_size=3)))
        return All(parts) if choice >= 10 else Any(parts, draw(st.integers(1, 3)))
    relation, kind = draw(st.sampled_from(["near", "anywhere"])), draw(st.sampled_from("km"))
    if choice <= 1:
        return Related(relation, kind, draw(st.sampled_from([1, 2, None])), draw(leaves(level, evidence)))
    if choice <= 4 and absence and level:
        concern = HasConcern(draw(st.sampled_from("abc"[:level])))
        return Absent(Related(relation, kind, 1, concern) if draw(st.booleans()) else concern)
    return draw(leaves(level, evidence))


@st.composite
def rule_sets(draw: st.DrawFn, absence: bool = True, evidence: bool = True) -> list[PlainRule]:
    rules = []
    for _ in range(draw(st.integers(4, 9))):
        level = draw(st.integers(0, 2))
        concerns = draw(st.sampled_from([(), ("abc"[level],), ("abc"[level],)]))
        condition = draw(conditions(level, absence, evidence))
        rules.append(PlainRule(draw(st.sampled_from("km")), condition, concerns))
    return rules


@st.composite
def items(draw: st.DrawFn, loose: set[str]) -> Item:
    """An item of which all is known but the findings f and g, the dimension d and the property p if loose."""
    findings, standings = {}, {}
    for name in "fg":
        low = draw(st.integers(0, 1 if name in loose else 2))
        high = draw(st.integers(low + 1, 2)) if name in loose else low
        if name not in loose or draw(st.booleans()):
            findings[name] = Extent(low, high, None if low == high else draw(st.sampled_from(STATES[:4])))
    most = 3 if "d" in loose else 1
    outcomes = draw(st.frozensets(st.sampled_from(OUTCOMES), min_size=min(most, 2), max_size=most))
    if "d" not in loose or draw(st.booleans()):
        state = None if len(outcomes) == 1 else draw(st.sampled_from(STATES))
        standings["d", "discard"] = Standing(outcomes, state)
    made = draw(st.none() if "p" in loose else st.sampled_from("ab"))
    place_unknown, origin = draw(st.booleans()), draw(st.sampled_from(["fitted", "new"]))
    return Item(draw(st.sampled_from("km")), findings, standings, {"p": made}, place_unknown, origin)


@st.composite
def worlds(draw: st.DrawFn, most_loose: int = 16, most_unsure: int = 12) -> World:
    """Two to four items, with so much at most that is not known of them, and of how they are linked."""
    number = draw(st.integers(2, 4))
    indexes = st.integers(0, number - 1)
    aspects = st.tuples(indexes, st.sampled_from("fgdp"))
    loose = draw(st.frozensets(aspects, min_size=min(most_loose, 4 * number) // 2, max_size=most_loose))
    there = [draw(items({name for one, name in loose if one == index})) for index in range(number)]
    near = {index: tuple(draw(st.frozensets(indexes)) - {index}) for index in range(number)}
    pairs = [(one, two) for one, twos in near.items() for two in twos]
    some = st.frozensets(st.sampled_from(pairs), max_size=most_unsure) if pairs else st.just(frozenset())
    return replace(world_of(*there, near=near), unsure={"near": draw(some)})


@settings(max_examples=60)
@given(rule_sets(), worlds())
def test_what_is_certain_is_possible_and_uses_no_more(rules: list[PlainRule], world: World) -> None:
    firings = run(rules, world)
    for (rule, item, certain), facts in firings.items():
        assert world.items[item].kind == rules[rule].kind
        if certain:
            assert facts <= firings[rule, item, False]


@st.composite
def less_known(draw: st.DrawFn, world: World) -> World:
    """The same world with any intervals and outcomes wider, properties not given and links not sure."""
    there = []
    for item in world.items:
        findings: dict[str, Extent] = {}
        for name, known in item.findings.items():
            low, high = draw(st.integers(0, known.lowest)), draw(st.integers(known.highest, 2))
            same = (low, high) == (known.lowest, known.highest)
            findings[name] = known if same else Extent(low, high, "not looked at")
        standings = {}
        for key, held in item.standings.items():
            outcomes = held.outcomes | draw(st.frozensets(st.sampled_from(OUTCOMES)))
            standings[key] = held if outcomes == held.outcomes else Standing(outcomes, "not looked at")
        properties = {} if draw(st.booleans()) else item.properties
        there.append(replace(item, findings=findings, standings=standings, properties=properties))
    indexes = st.integers(0, len(there) - 1)
    near = {one: set(twos) for one, twos in world.links["near"].items()}
    unsure = set(world.unsure["near"])
    for one, two in draw(st.frozensets(st.tuples(indexes, indexes))):
        if one != two:
            near[one].add(two)
            unsure.add((one, two))
    links = {one: tuple(twos) for one, twos in near.items()}
    return replace(world, items=tuple(there), links={"near": links}, unsure={"near": frozenset(unsure)})


@pytest.mark.parametrize("absence", [False, True])
@given(data=st.data())
def test_knowing_less_makes_nothing_certain_and_nothing_impossible(
    absence: bool, data: st.DataObject
) -> None:
    rules, known = data.draw(rule_sets(absence)), data.draw(worlds())
    before, after = run(rules, known), run(rules, data.draw(less_known(known)))
    assert {key for key in after if key[2]} <= {key for key in before if key[2]}
    assert {key for key in before if not key[2]} <= {key for key in after if not key[2]}


@settings(max_examples=60)
@given(rule_sets(), worlds(), st.randoms(use_true_random=False))
def test_the_order_of_rules_and_items_does_not_matter(
    rules: list[PlainRule], world: World, random: Random
) -> None:
    order, places = list(range(len(rules))), list(range(len(world.items)))
    random.shuffle(order)
    random.shuffle(places)
    new = {old: index for index, old in enumerate(places)}
    near = {new[one]: tuple(new[two] for two in twos) for one, twos in world.links["near"].items()}
    unsure = frozenset((new[one], new[two]) for one, two in world.unsure["near"])
    moved = replace(
        world,
        items=tuple(world.items[old] for old in places),
        links={"near": near},
        unsure={"near": unsure},
    )
    expected = {
        (order.index(rule), new[item], certain): {(leaf, new[about]) for leaf, about in facts}
        for (rule, item, certain), facts in run(rules, world).items()
    }
    assert run([rules[old] for old in order], moved) == expected


@settings(max_examples=60)
@given(rule_sets(), worlds())
def test_the_facts_used_are_the_leaves_that_hold(rules: list[PlainRule], world: World) -> None:
    """Each leaf is tried in a rule of its own, and the facts of the whole are put together from those."""
    probes: dict[tuple[str, Condition], int] = {}

    def probe(kind: str, condition: Condition) -> None:
        if isinstance(condition, All | Any):
            for part in condition.parts:
                probe(kind, part)
        elif isinstance(condition, Related):
            probe(condition.kind, condition.leaf)
        else:
            probes.setdefault((kind, condition), len(rules) + len(probes))

    for rule in rules:
        probe(rule.kind, rule.condition)
    firings = run([*rules, *(PlainRule(kind, leaf, ()) for kind, leaf in probes)], world)

    def used(condition: Condition, item: int, certain: bool) -> frozenset[object] | None:
        """The facts used, or None if the condition does not hold."""
        kind = world.items[item].kind
        if isinstance(condition, All | Any):
            branches = [used(part, item, certain) for part in condition.parts]
            holding = [facts for facts in branches if facts is not None]
            needed = len(branches) if isinstance(condition, All) else condition.number
            return frozenset[object]().union(*holding) if len(holding) >= needed else None
        if isinstance(condition, Related):
            anywhere = set(range(len(world.items))) - {item}
            linked = anywhere if condition.relation == "anywhere" else world.links["near"][item]
            there = {other for other in linked if world.items[other].kind == condition.kind}
            unsure = frozenset() if condition.relation == "anywhere" else world.unsure["near"]
            sure = {other for other in there if (item, other) not in unsure}
            holds = {
                other: facts for other in there if (facts := used(condition.leaf, other, certain)) is not None
            }
            if condition.number is not None:
                counted = holds.keys() & (sure if certain else there)
                enough = len(counted) >= condition.number
            else:
                counted = set(holds)
                wanted = there if certain else sure
                enough = wanted <= counted and bool(sure if certain else counted)
            return frozenset[object]().union(*[holds[other] for other in counted]) if enough else None
        if (probes[kind, condition], item, certain) not in firings:
            return None
        return frozenset() if isinstance(condition, LayoutIs) else frozenset({(condition, item)})

    for index, rule in enumerate(rules):
        for item, one in enumerate(world.items):
            for certain in (False, True):
                facts = used(rule.condition, item, certain) if one.kind == rule.kind else None
                assert firings.get((index, item, certain)) == facts


# Every way that the unknown may turn out.


def completions(world: World) -> Iterator[World]:
    """Every world in which all is known that may turn out to be this one."""
    ways: list[list[Item]] = []
    for item in world.items:
        findings = [item.findings.get(name, Extent(0, 2)) for name in "fg"]
        extents = itertools.product(*[range(found.lowest, found.highest + 1) for found in findings])
        outcomes = item.standings.get(("d", "discard"), Standing(frozenset(OUTCOMES))).outcomes
        made = item.properties.get("p")
        # "else" is a value that no rule names.
        values = ["a", "b", "else"] if made is None else [made]
        ways.append(
            [
                replace(
                    item,
                    findings={"f": Extent(f, f), "g": Extent(g, g)},
                    standings={("d", "discard"): Standing(frozenset({outcome}))},
                    properties={"p": value},
                )
                for (f, g), outcome, value in itertools.product(extents, sorted(outcomes), values)
            ]
        )
    for unsure in itertools.product((True, False), repeat=len(world.unsure["near"])):
        gone = {pair for pair, holds in zip(world.unsure["near"], unsure, strict=True) if not holds}
        near = {
            one: tuple(two for two in twos if (one, two) not in gone)
            for one, twos in world.links["near"].items()
        }
        for there in itertools.product(*ways):
            yield replace(world, items=there, links={"near": near}, unsure={})


def true_of(condition: Condition, item: int, world: World, concerns: set[tuple[str, int]]) -> bool:
    """Whether the condition is true where everything is known: two values and no readings."""
    one = world.items[item]
    match condition:
        case All(parts):
            return all(true_of(part, item, world, concerns) for part in parts)
        case Any(parts, number):
            return sum(true_of(part, item, world, concerns) for part in parts) >= number
        case Absent(of):
            return not true_of(of, item, world, concerns)
        case Related(relation, kind, number, leaf):
            linked = range(len(world.items)) if relation == "anywhere" else world.links[relation][item]
            there = [other for other in linked if other != item and world.items[other].kind == kind]
            truths = [true_of(leaf, other, world, concerns) for other in there]
            return bool(truths) and (all(truths) if number is None else sum(truths) >= number)
        case HasConcern(concern):
            return (concern, item) in concerns
        case Found(finding, lowest, highest):
            scale = world.scales[finding]
            name = scale[one.findings[finding].lowest]
            return name in scale[scale.index(lowest) : scale.index(highest or "heavy") + 1]
        case Stands(dimension, purpose, outcomes):
            return one.standings[dimension, purpose].outcomes <= outcomes
        case HasProperty(name, value):
            return one.properties[name] == value
        case PlaceUnknown():
            return one.place_unknown
        case Origin(origin):
            return one.origin == origin
        case LayoutIs(key, value):
            return world.layout[key] == value
        case _:
            raise AssertionError(condition)


def fired(rules: Sequence[PlainRule], world: World) -> set[tuple[int, int]]:
    """Level by level, each until nothing more follows."""
    concerns: set[tuple[str, int]] = set()

    def firing() -> set[tuple[int, int]]:
        return {
            (index, item)
            for index, rule in enumerate(rules)
            for item, one in enumerate(world.items)
            if one.kind == rule.kind and true_of(rule.condition, item, world, concerns)
        }

    for level in "abc":
        while new := {(level, item) for rule, item in firing() if level in rules[rule].concerns} - concerns:
            concerns |= new
    return firing()


@settings(max_examples=120)
@given(rule_sets(evidence=False), worlds(most_loose=3, most_unsure=3))
def test_against_every_way_the_unknown_may_turn_out(rules: list[PlainRule], world: World) -> None:
    """What is certain fires in all of them, and what fires in one of them is possible.

    The other direction need not hold: two conditions may be possible each, and never together.
    """
    firings = run(rules, world)
    certain = {key[:2] for key in firings if key[2]}
    possible = {key[:2] for key in firings if not key[2]}
    for completed in completions(world):
        there = fired(rules, completed)
        assert certain <= there <= possible
        # Where everything is known the two readings are one.
        assert run(rules, completed).keys() == {(*key, both) for key in there for both in (True, False)}


@settings(max_examples=60)
@given(
    st.sampled_from([1, 2, 3, None]),
    leaves(0, evidence=False).filter(lambda leaf: not isinstance(leaf, HasConcern)),
    worlds(most_loose=2, most_unsure=5),
)
def test_a_related_condition_against_every_way_the_unknown_may_turn_out(
    number: int | None, leaf: Leaf, world: World
) -> None:
    """By itself it is certain exactly if it is true in all of them, and possible exactly if in one of them.

    The linked items and the links to them turn out as they do apart from each other, so nothing is lost.
    """
    related = Related("near", "m", number, leaf)
    rules = [PlainRule("k", related, ()), PlainRule("k", Absent(related), ())]
    firings = run(rules, world)
    there = [fired(rules, completed) for completed in completions(world)]
    everywhere, somewhere = set.intersection(*there), set.union(*there)
    assert {key[:2] for key in firings if key[2]} == everywhere
    assert {key[:2] for key in firings if not key[2]} == somewhere
