"""Parts that were mixed up: every one is still there, and no other fares better for it."""

from __future__ import annotations

from itertools import chain
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.verdicts.model import Verdict
from tests.decide.deciding import (
    ItemName,
    by_item,
    decide_data,
    decide_text,
    demo,
    demo_data,
    demo_rules,
    mildest,
    on,
)
from tests.decide.generate import SHELLS, cases

PLACES = {"half_shell": SHELLS, "shaft_journal": ("1", "2", "3")}


def mixed_up(data: dict[str, Any], part: str, places: list[str]) -> dict[str, Any]:
    """The case with the items from these places in one basket, each with its own evidence."""

    def entry(each: dict[str, Any], section: str) -> dict[str, Any]:
        if each["part"] != part or each.get("place") not in places:
            return each
        lost = {**each, "place": "unknown", "tag": f"from {each['place']}"}
        return {**lost, "from_among": ", ".join(places)} if section == "bench" else lost

    case = {
        section: [entry(each, section) for each in value] if isinstance(value, list) else value
        for section, value in data.items()
    }
    spoken = {each["tag"] for each in case["bench"] if each["part"] == part and "tag" in each}
    case["bench"] += [
        {"part": part, "place": "unknown", "tag": f"from {place}", "from_among": ", ".join(places)}
        for place in places
        if f"from {place}" not in spoken
    ]
    return case


def under_old_names(verdicts: dict[ItemName, Verdict]) -> dict[ItemName, Verdict]:
    """Verdicts with the mixed-up items under the places that they came from."""
    return {
        ItemName(name.part, name.tag.removeprefix("from "), "", name.origin)
        if name.tag.startswith("from ")
        else name: verdict
        for name, verdict in verdicts.items()
    }


def milder(was: dict[ItemName, Verdict], now: dict[ItemName, Verdict]) -> list[str]:
    """Items that are settled milder than anything that was possible before."""
    return [
        f"{name}: {was[name].possible} before, {verdict.verdict} after"
        for name, verdict in now.items()
        if verdict.verdict != "undecided" and mildest(verdict) < mildest(was[name])
    ]


@settings(max_examples=150)
@given(cases(), st.randoms(use_true_random=True))
def test_mixing_parts_up_settles_nothing_milder_and_loses_none(data: dict[str, Any], rng: Random) -> None:
    # Places under `from_among` have no entries of their own: only what still lies in its place is mixed up.
    free = {
        part: [place for place in places if any(_is_there(each, part, place) for each in data["bench"])]
        for part, places in PLACES.items()
    }
    part = rng.choice([part for part, places in free.items() if places])
    places = rng.sample(free[part], rng.randint(1, len(free[part])))
    before = by_item(decide_data(data))
    after = under_old_names(by_item(decide_data(mixed_up(data, part, places))))
    assert after.keys() == before.keys()
    assert milder(before, after) == [], (part, places)


def _is_there(entry: dict[str, Any], part: str, place: str) -> bool:
    return bool(entry["part"] == part and entry["place"] == place)


@pytest.mark.parametrize(
    "part", ["big_end_shell", "main_shell", "connecting_rod", "crank_pin", "main_journal"]
)
def test_mixing_up_parts_of_the_demo(part: str) -> None:
    data, rules, sheet = demo_data(), demo_rules(), demo().sheet
    before = by_item(decide_data(data, rules, sheet))
    apart = [name.place for name in before if name.part == part and name.place != "unknown"]
    spread = _one_entry_a_place(data, part, apart)
    assert by_item(decide_data(spread, rules, sheet)).keys() == before.keys()
    for number in (2, len(apart)):
        after = by_item(decide_data(mixed_up(spread, part, apart[:number]), rules, sheet))
        now = under_old_names(after)
        assert now.keys() == before.keys()
        assert milder(before, now) == [], apart[:number]


def _one_entry_a_place(data: dict[str, Any], part: str, places: list[str]) -> dict[str, Any]:
    """The case with every entry on a kind written out, place by place."""

    def spread(each: dict[str, Any]) -> list[dict[str, Any]]:
        if each.get("part") != part or each.get("place") == "unknown":
            return [each]
        wanted = each.get("place", "all")
        return [{**each, "place": place} for place in places if wanted == "all" or _in(place, wanted)]

    return {
        section: list(chain.from_iterable(map(spread, value))) if isinstance(value, list) else value
        for section, value in data.items()
    }


def _in(place: str, wanted: str) -> bool:
    """Whether a place is one of those meant; the demo has numbers, words, ranges of numbers and commas."""
    for piece in wanted.split(","):
        words, number = piece.split(), place.split(maxsplit=1)[0]
        if "to" in words:
            at = words.index("to")
            if not int(words[at - 1]) <= int(number) <= int(words[at + 1]):
                continue
            words = [*words[: at - 1], *words[at + 2 :]]
        if set(words) <= set(place.split()):
            return True
    return False


def test_a_risk_is_taken_for_one_of_the_mixed_up_parts() -> None:
    text = """
done:
  - {operation: grind, part: shaft_journal, place: unknown, tag: B}
bench:
  - {part: shaft_journal, place: unknown, tag: A, from_among: 1 to 2, readings: {diameter: {value: lost}}}
  - {part: shaft_journal, place: unknown, tag: B, from_among: 1 to 2, readings: {diameter: {value: lost}}}
  - {part: half_shell, findings: {particles: many}, otherwise: none}
"""
    cleans_up = "cleans_up:\n  - {part: shaft_journal, operation: grind, size: 59.8 mm, by: the grinder}\n"
    risk = (
        "risks:\n  - {part: shaft_journal, place: unknown, tag: A, answer: reuse, by: Ann, because: need}\n"
    )
    decision = decide_text(cleans_up + risk + text)
    taken, open_still = (on(decision, "shaft_journal", "unknown", tag=tag).course for tag in "AB")
    assert (taken.answer, taken.ground) == ("reuse", "risk taken by name")
    assert open_still.answer == "undecided"
