"""However large or twisted a rule set is, its analysis ends, and says what it gave up."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.authoring.analysis.book import Book
from advisor.authoring.analysis.reach import unreachable
from advisor.authoring.analysis.weight import weightless
from advisor.sheets.rules import RuleText
from tests.authoring.analysis.brute import KIND, OTHER, book

_SAID: dict[str, Any] = {
    "because": "x",
    "cite": [{"source": "x"}],
    "examples": {"fires": [{}], "holds": [{}]},
}


def rule(name: str, when: object, kind: str = KIND, **then: object) -> RuleText:
    concluded = then or {"bar": {"answers": "reuse"}}
    return RuleText.model_validate({"id": name, "for": kind, "when": when, "then": concluded, **_SAID})


def pigeons(number: int) -> dict[str, Any]:
    """More parts to be true than there are ways, told so that only trying all of them shows it."""
    ways = [{"finding": "heat", "is": extent} for extent in ("none", "straw", "blue")]
    linked = [
        {"finding": "scoring", "is": extent, "every": {"carries": OTHER}} for extent in ("none", "deep")
    ]
    return {"all": [{"any": [*ways, *linked]} for _ in range(number)] + [{"finding": "crack", "is": "none"}]}


def looked_through(under: Book) -> Book:
    for look in (unreachable, weightless):
        list(look(under))
    return under


def test_deep_nesting_is_no_trouble() -> None:
    when: dict[str, Any] = {"finding": "heat", "at_least": "blue"}
    for depth in range(40):
        when = {("all", "any")[depth % 2]: [when, {"finding": "crack", "is": "line"}]}
    under = looked_through(book([rule("deep", when)]))
    assert not under.dead


def test_many_rules_of_one_kind_are_gone_through() -> None:
    """Every rule shuts the same answer, so each is held against all the others."""
    extents = [{"finding": "heat", "is": extent} for extent in ("none", "straw", "blue")]
    made = [
        rule(f"r{number}", {"all": [extents[number % 3], {"layout": "fuel", "is": "diesel"}]})
        for number in range(200)
    ]
    under = book(made)
    told = [each.code for each in weightless(under)]
    assert told.count("rule-duplicate") == 197
    assert not under.given_up


def test_what_takes_too_many_steps_is_given_up_and_named() -> None:
    under = book([rule("hard", pigeons(30)), rule("easy", {"finding": "heat", "at_least": "blue"})])
    under.steps = 200
    looked_through(under)
    assert {each.subject for each in under.given_up} == {"hard"}
    assert {each.why for each in under.given_up} == {"more than 200 steps"}


def test_all_questions_together_have_a_limit_too() -> None:
    under = book([rule(f"r{number}", pigeons(6 + number), task=["polish"]) for number in range(8)])
    under.steps_in_all = 300
    looked_through(under)
    assert any(each.why == "the 300 steps for all questions are used up" for each in under.given_up)
    # Nothing is claimed of what was not gone through.
    assert under.dead == frozenset()
    assert [each for each in weightless(under) if each.code == "condition-without-effect"] == []


@pytest.mark.parametrize("concern", ["low", "high"])
def test_concerns_in_a_circle_end(concern: str) -> None:
    other = {"low": "high", "high": "low"}[concern]
    made = [
        rule("one", {"concern": other}, concern=[concern]),
        rule(
            "two", {"any": [{"concern": concern}, {"finding": "heat", "at_least": "blue"}]}, concern=[other]
        ),
    ]
    under = looked_through(book(made))
    assert not under.dead
    assert not under.given_up
