"""Conditions in plain language: nothing of them is lost, and no two that differ are told alike."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from pydantic import TypeAdapter

import advisor
from advisor.explain.example_words import example
from advisor.explain.wording import Said, clause, conclusions, condition, wanted
from advisor.sheets.conditions import Absent, Found, Leaf, Related, leaves
from advisor.sheets.rules import Conclusion, ConditionText
from advisor.sheets.ruleset import RuleSet
from advisor.sheets.vocabulary import Evidence

RULESETS = ("engine", "gearbox")


@cache
def rules(name: str) -> RuleSet:
    return advisor.load_rules(Path(__file__).resolve().parents[2] / "rulesets" / name)


def said(text: dict[str, object], name: str = "gearbox") -> str:
    tree = TypeAdapter(ConditionText).validate_python(text).tree
    return condition(tree, rules(name).vocabulary).line()


GRATED = "teeth that were grated at each change of speed"
SCORED = "the nail catches, it has run blue, or there is a step where the ring ended"
CONE = "a cone that no ring grips any more"
SMEARED = "metal of the ring lies on it and comes off with crocus cloth"
FROSTED = "dull grey patches like frosted glass; the nail feels nothing (micropitting)"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ({"all": []}, "always"),
        ({"finding": "cone_surface", "at_least": "scored"}, f"state of the cone: scored ({SCORED})"),
        (
            {"finding": "cone_surface", "at_least": "smeared"},
            f"state of the cone: smeared or further ({SMEARED})",
        ),
        (
            {"finding": "cone_surface", "is": "smeared"},
            f"state of the cone: just smeared ({SMEARED})",
        ),
        ({"finding": "cone_surface", "is": "none"}, "state of the cone: looked for, and not there"),
        ({"finding": "cone_surface", "at_least": "none"}, "state of the cone: looked for"),
        (
            {"finding": "ring_grip", "at_most": "none"},
            "trial whether the ring grips: looked for, and not there",
        ),
        (
            {"finding": "flank_damage", "at_most": "frosted"},
            f"damage to the flanks of the teeth: no further than frosted ({FROSTED})",
        ),
        (
            {"finding": "flank_damage", "at_least": "frosted", "at_most": "light_pits"},
            f"damage to the flanks of the teeth: from frosted to light pits ({FROSTED})",
        ),
        (
            {"dimension": "ring_gap", "against": "discard", "standing": "below"},
            "gap between ring and gear below the limit for discard",
        ),
        (
            {"dimension": "ring_gap", "against": "new", "standing": "outside"},
            "gap between ring and gear outside the limit for new",
        ),
        ({"concern": "grated"}, "another rule tells of " + GRATED),
        ({"property": "lining", "is": "lined"}, "lining: lined"),
        ({"place": "unknown"}, "nobody knows its place any more"),
        ({"origin": "second-hand"}, "it is second-hand"),
        ({"evidence": "ring_grip", "is": "lost"}, "trial whether the ring grips: lost"),
        (
            {"evidence": "ring_gap", "against": "new", "is": "in doubt"},
            "gap between ring and gear, against the limit for new: in doubt",
        ),
        (
            {"concern": "grated", "some": {"locks_on": "loose_gear"}},
            "on a loose gear that it locks on: another rule tells of " + GRATED,
        ),
        (
            {"concern": "grated", "some": {"anywhere": "loose_gear", "at_least": "2"}},
            "on at least 2 times a loose gear anywhere: another rule tells of " + GRATED,
        ),
        (
            {"origin": "fitted", "every": {"anywhere": "radial_seal"}},
            "on every shaft oil seal anywhere: it was fitted when the work began",
        ),
        (
            {"absent": {"concern": "came_apart"}},
            "nothing points to something that broke out of it and went through the oil",
        ),
        (
            {"absent": {"concern": "cone_spoilt", "some": {"brakes_on": "loose_gear"}}},
            "nothing points to a cone that no ring grips any more on any loose gear that it brakes on",
        ),
        (
            {"all": [{"place": "unknown"}, {"any": [{"origin": "new"}, {"origin": "delivered"}]}]},
            "all of these (nobody knows its place any more; any of these (it is new; it is delivered))",
        ),
        (
            {"count": "2", "of": [{"place": "unknown"}, {"origin": "new"}, {"origin": "delivered"}]},
            "at least 2 of these (nobody knows its place any more; it is new; it is delivered)",
        ),
        ({"any": [{"place": "unknown"}]}, "nobody knows its place any more"),
    ],
    ids=str,
)  # fmt: skip
def test_a_condition_is_told_in_words(text: dict[str, object], words: str) -> None:
    assert said(text) == words


def test_the_layout_is_told_by_its_label() -> None:
    assert said({"layout": "valve_gear", "is": "overhead_cam"}, "engine") == "valve gear: overhead cam"


def _leaves(said: Said) -> Iterator[str]:
    if not said.parts:
        yield said.text
    for part in said.parts:
        yield from _leaves(part)


@pytest.mark.parametrize("name", RULESETS)
def test_nothing_of_a_condition_is_left_out(name: str) -> None:
    vocabulary = rules(name).vocabulary
    for rule in rules(name).rules:
        told = list(_leaves(condition(rule.condition, vocabulary)))
        assert told == [clause(leaf, vocabulary) for leaf in leaves(rule.condition)] or told == ["always"], (
            rule.id
        )


def _open(leaf: Leaf | Related | Absent, ruleset: RuleSet) -> Leaf | Related | Absent:
    """A leaf, in which the last extent of a finding as the upper end says no more than none at all."""
    if isinstance(leaf, Related):
        inner = _open(leaf.leaf, ruleset)
        assert not isinstance(inner, Related | Absent)
        return replace(leaf, leaf=inner)
    if (
        isinstance(leaf, Found)
        and leaf.highest == list(ruleset.vocabulary.findings[leaf.finding].extents)[-1]
    ):
        return replace(leaf, highest=None)
    return leaf


@pytest.mark.parametrize("name", RULESETS)
def test_what_differs_is_told_otherwise(name: str) -> None:
    """On one kind of part; two kinds may have findings of their own that people call by one name."""
    told: dict[tuple[str, str], set[Leaf | Related | Absent]] = defaultdict(set)
    for rule in rules(name).rules:
        for leaf in leaves(rule.condition):
            told[rule.for_, clause(leaf, rules(name).vocabulary)].add(_open(leaf, rules(name)))
    assert {words: alike for words, alike in told.items() if len(alike) > 1} == {}


@pytest.mark.parametrize("name", RULESETS)
def test_no_bare_word_of_the_vocabulary_is_shown_to_people(name: str) -> None:
    vocabulary = rules(name).vocabulary
    for rule in rules(name).rules:
        shown = [condition(rule.condition, vocabulary).line(), *conclusions(rule.then, vocabulary)]
        shown += [example(each, vocabulary) for each in (*rule.examples.fires, *rule.examples.holds)]
        assert [text for text in shown if re.search(r"[a-z]_[a-z]", text)] == [], rule.id


@pytest.mark.parametrize(
    ("then", "words"),
    [
        ({"bar": {"answers": "reuse"}}, "Reuse is ruled out."),
        ({"bar": {"answers": ["reuse", "recondition"]}}, "Reuse and recondition are ruled out."),
        ({"bar": {"answers": "reuse", "ground": "routine"}}, "Reuse is ruled out, as a matter of course."),
        (
            {"bar": {"answers": "reuse", "mend": ["face_case", "weld_case"]}},
            "Reuse is ruled out. What takes the reason away: face the joint of the case true; or have the "
            "crack in the case welded or stitched, and tried for leaks.",
        ),
        ({"concern": ["grated", "cone_spoilt"]},
         f"Told to other rules: {GRATED}; {CONE}."),
        (
            {"concern": ["clutch_drags"]},
            "A cause to be found, ruled out or accepted by name: a clutch that drags, or changes of speed "
            "without it.",
        ),
        ({"task": ["grade_circlip"]},
         "To do, with one that is replaced too: Choose the thickness of the new circlip by the float "
         "measured with everything else fitted; order it after that."),
        ({"task": ["dress_shaft"]},
         "To do: Take burrs and light scores off with a fine stone or crocus cloth, in the running "
         "direction, and wash."),
        (
            {"require": {"dimension": "washer_wear", "before": "reuse", "safe_side": "replace",
                         "because": "So"}},
            "Wanted before reuse: wear of the thrust washer. So. Where it can never be had: replace.",
        ),
    ],
    ids=str,
)  # fmt: skip
def test_what_follows_is_told_in_sentences(then: dict[str, object], words: str) -> None:
    told = conclusions(TypeAdapter(Conclusion).validate_python(then), rules("gearbox").vocabulary)
    assert " ".join(told) == words


def test_evidence_on_a_finding_is_told_by_its_label() -> None:
    evidence = TypeAdapter(Evidence).validate_python(
        {"finding": "ring_grip", "before": ["reuse", "recondition"], "because": "It tells."}
    )
    words = "Wanted before reuse or recondition: trial whether the ring grips. It tells."
    assert wanted(evidence, rules("gearbox").vocabulary) == words


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({}, "nothing was found, and every size is inside its limits"),
        ({"cone_surface": "scored", "dog_teeth": "none"},
         "state of the cone: scored; wear of the dog teeth: looked for, and not there"),
        ({"ring_gap": ["below discard", "in doubt new"]},
         "gap between ring and gear below the limit for discard; gap between ring and gear too close "
         "to the limit for new to tell"),
        ({"concerns": ["grated"], "made": {"lining": "lined"}, "origin": "new", "place": "unknown"},
         f"another rule tells of {GRATED}; lining: lined; it is new; nobody knows its place any more"),
        ({"missing": {"ring_grip": "lost"}}, "trial whether the ring grips: lost"),
        ({"related": {"brakes_on": "loose_gear", "cone_surface": "smeared", "origin": "new"}},
         "on a loose gear that it brakes on: state of the cone: smeared and it is new"),
        ({"related": [{"anywhere": "gearbox_case"}]}, "on a gearbox case anywhere: nothing was found"),
    ],
    ids=str,
)  # fmt: skip
def test_an_example_is_told_in_words(entry: dict[str, object], words: str) -> None:
    assert example(entry, rules("gearbox").vocabulary) == words
