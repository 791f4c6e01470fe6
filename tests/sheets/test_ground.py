"""What an engine sheet lays out by itself: places, links and sets, against the same asked item by item."""

from __future__ import annotations

from functools import cache
from itertools import product
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from hypothesis import given
from hypothesis import strategies as st

from advisor.sheets.bench import ItemKey
from advisor.sheets.engine import EngineSheet
from advisor.sheets.ground import Ground, Place, ground_of, group_of
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Link
from tests.decide import small

MORE = """
  rocker: {label: rocker, assembly: top, axes: [journal], answers: [reuse, replace], consequence: mild}
"""
RELATIONS = """
  beside: {label: beside, links: [{of: shaft_journal, to: shaft_journal, next_to: journal}]}
  touches: {label: touches, links: [{of: half_shell, to: half_shell, next_to: journal}]}
  pushes: {label: pushes, links: [{of: rocker, to: half_shell, listed: "true"}]}
"""
SETS = """
  pairs: {label: pairs, kinds: [half_shell, shaft_journal], by: [journal], because: they run together}
"""
LINKS = """
links:
  - relation: pushes
    of: rocker
    to: half_shell
    pairs: [{of: '1', to: 3 upper}, {of: '1', to: 2 lower}, {of: '2', to: 1 upper}]
"""


@cache
def rules() -> RuleSet:
    text = small.VOCABULARY
    for section, more in (("kinds", MORE), ("relations", RELATIONS), ("sets", SETS)):
        text = text.replace(f"\n{section}:\n", f"\n{section}:{more}", 1)
    with TemporaryDirectory() as folder:
        return small.ruleset(Path(folder), vocabulary=text)


def sheet(text: str = small.ENGINE + "  rocker: {}\n" + LINKS) -> EngineSheet:
    return small.engine(rules(), text)


def ground() -> Ground:
    return ground_of(sheet(), rules())


def linked(of: Ground, relation: str) -> set[tuple[str, str]]:
    """The pairs of a relation, each item as its kind and place."""
    names = [f"{key.kind} {key.where}".strip() for key in of.fitted]
    return {(names[one], names[other]) for one, others in of.links[relation].items() for other in others}


def test_places_are_every_pair_of_number_and_word() -> None:
    assert [" ".join(place) for place in ground().places["half_shell"]] == [
        "1 upper", "1 lower", "2 upper", "2 lower", "3 upper", "3 lower",
    ]  # fmt: skip
    assert ground().places["shaft"] == [()]


def test_links_by_a_shared_axis_to_the_whole_and_side_by_side() -> None:
    of = ground()
    assert linked(of, "runs_on") == {
        (f"half_shell {number} {half}", f"shaft_journal {number}")
        for number in "123"
        for half in ("upper", "lower")
    }
    assert linked(of, "has") == {("shaft", f"shaft_journal {number}") for number in "123"}
    assert linked(of, "beside") == {
        (f"shaft_journal {one}", f"shaft_journal {other}") for one, other in ("12", "21", "23", "32")
    }
    assert ("half_shell 1 upper", "half_shell 2 lower") in linked(of, "touches")
    assert ("half_shell 1 upper", "half_shell 1 lower") not in linked(of, "touches")


def test_links_that_the_engine_sheet_lists() -> None:
    assert linked(ground(), "pushes") == {
        ("rocker 1", "half_shell 3 upper"),
        ("rocker 1", "half_shell 2 lower"),
        ("rocker 2", "half_shell 1 upper"),
    }


def test_sets_of_the_whole_engine_and_one_for_each_number() -> None:
    of = ground()

    def names(name: str) -> list[set[str]]:
        return [{f"{of.fitted[each].kind} {of.fitted[each].where}" for each in one} for one in of.sets[name]]

    assert names("journals") == [{"shaft_journal 1", "shaft_journal 2", "shaft_journal 3"}]
    assert len(names("shells")) == 1
    assert names("pairs") == [
        {f"half_shell {number} upper", f"half_shell {number} lower", f"shaft_journal {number}"}
        for number in "123"
    ]
    assert linked(of, "in_set") >= {
        ("shaft_journal 1", "shaft_journal 3"),
        ("half_shell 2 upper", "shaft_journal 2"),
    }


def test_one_ground_is_kept_for_equal_sheets() -> None:
    turned = sheet(
        small.ENGINE.replace("  gasket: {}\n  lever: {}\n", "  lever: {}\n  gasket: {}\n")
        + "  rocker: {}\n"
        + LINKS
    )
    assert ground_of(turned, rules()) is ground()
    other = sheet(small.ENGINE.replace("journal: 3", "journal: 2") + "  rocker: {}\n")
    assert ground_of(other, rules()) is not ground()


def test_what_the_sheet_says_of_treatment_and_what_nobody_knows() -> None:
    assert ground().properties["shaft"] == {"treatment": "nitrided"}
    for text in ("unknown", ""):
        made = f"{{made: {{treatment: {text}}}}}" if text else "{}"
        engine = sheet(small.ENGINE.replace("{made: {treatment: nitrided}}", made) + "  rocker: {}\n")
        assert ground_of(engine, rules()).properties["shaft"] == {"treatment": None}


def holds(of: Ground, relation: str, link: Link, one: Place, other: Place) -> bool:
    """Whether a link holds between two places, asked of just these two."""
    if link.listed:
        return any(
            (pair.of, pair.to) == (" ".join(one), " ".join(other))
            for each in of.sheet.links
            if (each.relation, each.of, each.to) == (relation, link.of, link.to)
            for pair in each.pairs
        )
    kinds = of.ruleset.vocabulary.kinds
    here = dict(zip(kinds[link.of].axes, one, strict=True))
    there = dict(zip(kinds[link.to].axes, other, strict=True))
    if any(here[axis] != there[axis] for axis in link.by):
        return False
    if link.next_to is None:
        return True
    values = of.values[link.next_to]
    return abs(values.index(here[link.next_to]) - values.index(there[link.next_to])) == 1


def by_products(
    of: Ground, items: list[tuple[ItemKey, frozenset[Place]]]
) -> dict[tuple[str, int, int], bool]:
    """Every link of every two items, and whether it is sure: by trying every two of their places."""
    found: dict[tuple[str, int, int], bool] = {}
    vocabulary = of.ruleset.vocabulary
    for (one, (key, places)), (other, (to, elsewhere)) in product(enumerate(items), repeat=2):
        if one == other or group_of(key) != group_of(to):
            continue
        for name, relation in vocabulary.relations.items():
            for link in relation.links:
                if (link.of, link.to) == (key.kind, to.kind):
                    hold = [holds(of, name, link, a, b) for a, b in product(places, elsewhere)]
                    if any(hold):
                        found[name, one, other] = found.get((name, one, other), False) or all(hold)
        for each in vocabulary.sets.values():
            if key.kind in each.kinds and to.kind in each.kinds:
                axes, others = vocabulary.kinds[key.kind].axes, vocabulary.kinds[to.kind].axes
                same = [
                    all(a[axes.index(axis)] == b[others.index(axis)] for axis in each.by)
                    for a, b in product(places, elsewhere)
                ]
                if any(same):
                    at = ("in_set", one, other)
                    found[at] = found.get(at, False) or all(same)
    return found


@given(st.randoms(use_true_random=True))
def test_links_of_mixed_up_parts_against_every_two_places(rng: Random) -> None:
    of = ground()
    mixed: list[tuple[ItemKey, frozenset[Place]]] = []
    gone: set[ItemKey] = set()
    for kind in ("half_shell", "shaft_journal", "rocker"):
        places = rng.sample(of.places[kind], rng.randint(0, len(of.places[kind])))
        gone |= {ItemKey(kind, place) for place in places}
        for number in range(len(places)):
            among = frozenset(rng.sample(places, rng.randint(1, len(places))))
            mixed.append((ItemKey(kind, None, f"tag {number}"), among))
    shelf = [
        (ItemKey("half_shell", place, "shelf", "second-hand"), frozenset((place,)))
        for place in rng.sample(of.places["half_shell"], 2)
    ]
    items = [(key, frozenset((key.place or (),))) for key in of.fitted if key not in gone] + mixed + shelf
    links, _, unsure = of.with_others(items)
    told = {
        (name, one, other): (one, other) not in unsure.get(name, ())
        for name, each in links.items()
        for one, others in each.items()
        for other in others
    }
    assert told == by_products(of, items)
