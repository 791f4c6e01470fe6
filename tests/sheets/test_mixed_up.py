"""Mixed-up items fit the places that they came from where, and only where, they can be put there one each."""

from __future__ import annotations

from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from advisor.sheets.bench import ItemKey
from advisor.sheets.mixed_up import misfits

PLACES = ("1", "2", "3", "4")
some_places = st.frozensets(st.sampled_from(PLACES), min_size=1)


def items(choices: list[frozenset[str]], kind: str = "shell") -> dict[ItemKey, frozenset[tuple[str, ...]]]:
    return {
        ItemKey(kind, None, f"tag {number}"): frozenset((place,) for place in places)
        for number, places in enumerate(choices)
    }


@given(st.lists(some_places, max_size=5))
def test_against_every_way_to_put_them_back(choices: list[frozenset[str]]) -> None:
    places = sorted(frozenset().union(*choices))
    fit = any(
        all(place in among for place, among in zip(order, choices, strict=True))
        for order in permutations(places, len(choices))
        if len(places) == len(choices)
    )
    assert (misfits(items(choices)) == []) is fit


@given(st.lists(some_places, max_size=6))
def test_a_misfit_counts_items_that_have_no_place_beside_these(choices: list[frozenset[str]]) -> None:
    candidates = items(choices)
    for misfit in misfits(candidates):
        assert len(misfit.items) != len(misfit.places)
        assert frozenset().union(*(candidates[item] for item in misfit.items)) == misfit.places


def test_kinds_are_counted_apart() -> None:
    both = [frozenset("12"), frozenset("12")]
    assert misfits({**items(both), **items(both, "journal")}) == []
    assert len(misfits({**items(both[:1]), **items(both[:1], "journal")})) == 2


def test_a_hundred_of_a_hundred() -> None:
    everywhere = frozenset(map(str, range(100)))
    assert misfits(items([everywhere] * 100)) == []
    # Each next one has one place more: only one way serves, and it is found though they come in turn.
    stairs = [frozenset(map(str, range(number + 1))) for number in range(100)]
    assert misfits(items(stairs)) == misfits(items(stairs[::-1])) == []
