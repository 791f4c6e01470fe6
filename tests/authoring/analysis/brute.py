"""Small random rule sets, and every bench to try them on, for the plain evaluator to go through."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from advisor.authoring.analysis.book import Book
from advisor.chain.plain import Firings, PlainRule, evaluate, prepare
from advisor.chain.world import Extent, Item, Standing, World
from advisor.sheets.conditions import OUTCOMES, Condition, HasProperty, State
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles
from advisor.sheets.vocabulary import VocabularyFile

KIND: Final = "journal"
OTHER: Final = "shell"

_ASKED_FOR: Final = "crack is asked for"
"""A property by which a bench says so; no rule of the sets made here asks for evidence."""

_FINDING: Final = {"label": "x", "look": "x"}
VOCABULARY: Final = VocabularyFile.model_validate(
    {
        "format": "1",
        "layout": {"fuel": {"label": "fuel", "values": ["diesel", "petrol"]}},
        "axes": {
            "journal": {"label": "journal"},
            "half": {"label": "half", "values": ["upper", "lower"]},
        },
        "consequences": {"grave": {"label": "x", "inside": "0.95", "outside": "0.05"}},
        "kinds": {
            KIND: {
                "label": "x",
                "assembly": "x",
                "axes": ["journal"],
                "answers": ["reuse", "recondition", "replace"],
                "consequence": "grave",
                "properties": {"skin": ["hard", "soft"]},
            },
            OTHER: {
                "label": "x",
                "assembly": "x",
                "axes": ["journal", "half"],
                "answers": ["reuse", "replace"],
                "consequence": "grave",
            },
        },
        "relations": {"carries": {"label": "x", "links": [{"of": KIND, "to": OTHER, "by": ["journal"]}]}},
        "findings": {
            "heat": {**_FINDING, "kinds": [KIND], "extents": {"none": "x", "straw": "x", "blue": "x"}},
            "crack": {
                **_FINDING,
                "kinds": [KIND],
                "wanted": "on suspicion",
                "extents": {"none": "x", "line": "x"},
            },
            "scoring": {**_FINDING, "kinds": [OTHER], "extents": {"none": "x", "deep": "x"}},
        },
        "dimensions": {"wear": {"label": "x", "kinds": [KIND], "quantity": "length", "formulas": []}},
        "operations": {
            "grind": {"label": "x", "kinds": [KIND], "done_by": "x", "because": "x"},
            "plate": {"label": "x", "kinds": [KIND], "done_by": "x", "because": "x"},
        },
        "tasks": {"polish": {"label": "x"}, "oil": {"label": "x"}},
        "concerns": {name: {"label": "x"} for name in ("low", "high", "dirt")},
    }
)
SCALES: Final = {name: tuple(each.extents) for name, each in VOCABULARY.findings.items()}
LAYOUTS: Final = ({"fuel": "diesel"}, {"fuel": "petrol"})
_MISSING: Final[tuple[State, ...]] = ("not looked at", "lost", "not opened")
_UNSETTLED: Final[tuple[State, ...]] = ("not looked at", "in doubt", "not opened")


def rules(rng: random.Random, number: int) -> tuple[RuleText, ...]:
    """Some rules about the two kinds; a concern may hang on the absence of a lower one only."""
    made = [_rule(rng, OTHER, "shell", "dirt")]
    for index in range(number):
        level = rng.randrange(3)
        made.append(_rule(rng, KIND, f"rule-{index}", ("", "low", "high")[level], level))
    return tuple(sorted(made, key=lambda rule: rule.id))


def _rule(rng: random.Random, kind: str, name: str, concern: str, level: int = 0) -> RuleText:
    when = {"finding": "scoring", "at_least": "deep"} if kind == OTHER else _condition(rng, level, 3)
    seen = "evidence" not in repr(when)
    then: dict[str, Any] = {}
    if concern and seen:
        then["concern"] = concern
    if seen and rng.random() < 0.7:
        then["bar"] = rng.choice(
            (
                {"answers": "reuse"},
                {"answers": "reuse", "mend": rng.choice(("grind", "plate", ["grind", "plate"]))},
                {"answers": ["reuse", "recondition"]},
                {"answers": "reuse", "ground": "routine"},
            )
        )
    if not then or rng.random() < 0.3:
        then["task"] = rng.choice(("polish", "oil"))
    said = {"because": "x", "cite": [{"source": "x"}], "examples": {"fires": [{}], "holds": [{}]}}
    return RuleText.model_validate({"id": name, "for": kind, "when": when, "then": then, **said})


def _condition(rng: random.Random, level: int, depth: int) -> dict[str, Any]:
    if depth > 1 and rng.random() < 0.6:
        parts = [_condition(rng, level, depth - 1) for _ in range(rng.randint(1, 3))]
        head = rng.choice(("all", "all", "any", "of"))
        return {"count": str(rng.randint(1, len(parts))), "of": parts} if head == "of" else {head: parts}
    return _leaf(rng, level)


def _leaf(rng: random.Random, level: int) -> dict[str, Any]:
    linked = rng.choice(
        (
            {"some": {"carries": OTHER}},
            {"some": {"carries": OTHER, "at_least": rng.choice("23")}},
            {"every": {"carries": OTHER}},
        )
    )
    lower = rng.choice(("low", "high")[: max(level, 1)])
    return rng.choice(
        (
            {"finding": "heat", "at_least": rng.choice(("straw", "blue"))},
            {"finding": "heat", "is": rng.choice(("none", "straw", "blue"))},
            {"finding": "heat", "at_most": "straw"},
            {"finding": "crack", "is": rng.choice(("none", "line"))},
            {"dimension": "wear", "against": "discard", "standing": rng.choice((*OUTCOMES, "outside"))},
            {"property": "skin", "is": rng.choice(("hard", "soft"))},
            {"place": "unknown"},
            {"layout": "fuel", "is": rng.choice(("diesel", "petrol"))},
            {"evidence": "heat", "is": rng.choice(("lost", "not opened"))},
            {"evidence": "wear", "against": "discard", "is": "in doubt"},
            {"finding": "scoring", "is": rng.choice(("none", "deep")), **linked},
            {"concern": "dirt", **linked},
            {"absent": {"concern": "dirt", **({"some": {"carries": OTHER}})}},
            # Positive conditions may go in a circle; absences go down a level.
            {"concern": rng.choice(("low", "high")[: max(level, 1)])},
            {"absent": {"concern": "low"}} if level == 2 else {"concern": lower},
        )
    )


def book(made: Sequence[RuleText]) -> Book:
    """The rules as a rule set to be analysed; nothing of it was written in a file."""
    whole = RuleSet("x", "1.0.0", "x", VOCABULARY, tuple(made), (), {}, {}, {})
    return Book(whole, RuleSetFiles(None, (), (), None, None, None))  # type: ignore[arg-type]


@dataclass(frozen=True)
class Bench:
    """Every state of one item of `KIND` with up to two linked ones of `OTHER`, side by side in one world."""

    world: World
    roots: tuple[int, ...]
    """The items of `KIND`."""
    known: tuple[Mapping[str, str], ...]
    """By root: what it was made from, by variable; a state where something is missing."""


def benches(made: Sequence[RuleText]) -> Iterator[Bench]:
    """One bench for each layout; what no rule asks for stays as it is."""
    asked = repr([rule.when for rule in made if rule.for_ == KIND])
    return _benches(tuple(word in asked for word in _ASKED), "fuel" in asked)


_ASKED: Final = ("'heat'", "'crack'", "'wear'", "'skin'", "place='unknown'", "carries")


def _benches(asked: tuple[bool, ...], layouts: bool) -> Iterator[Bench]:
    items: list[Item] = []
    links: dict[int, tuple[int, ...]] = {}
    roots, known = [], []
    shells = [{"scoring": extent} for extent in _extents("scoring", ("not looked at",))]
    linked = [(), *itertools.combinations(range(len(shells)), 1)]
    linked += list(itertools.combinations_with_replacement(range(len(shells)), 2))
    states: list[Sequence[Any]] = [
        _extents("heat", _MISSING),
        # With whether it is asked for, which makes a difference only where nobody looked.
        [(each, each.state is not None) for each in _extents("crack", ("not looked at",))]
        + [(_extents("crack", ("not looked at",))[-1], False)],
        _standings(),
        ("hard", "soft", None),
        (False, True),
        linked,
    ]
    varied = [every if wanted else every[:1] for every, wanted in zip(states, asked, strict=True)]
    for heat, (crack, asked_for), wear, skin, lost, others in itertools.product(*varied):
        root = len(items)
        roots.append(root)
        told = {
            "heat": _said("heat", heat),
            "crack": _said("crack", crack),
            "wear": wear.state or "".join(wear.outcomes),
        }
        known.append({**told, "skin": str(skin), "place": str(lost), "linked": str(others)})
        items.append(
            Item(
                KIND,
                {"heat": heat, "crack": crack},
                {("wear", "discard"): wear},
                {"skin": skin, _ASKED_FOR: "yes" if asked_for else "no"},
                lost,
            )
        )
        links[root] = tuple(range(root + 1, root + 1 + len(others)))
        items += [Item(OTHER, {"scoring": shells[each]["scoring"]}) for each in others]
    for layout in LAYOUTS if layouts else LAYOUTS[:1]:
        yield Bench(World(tuple(items), {"carries": links}, SCALES, layout), tuple(roots), tuple(known))


def _extents(finding: str, missing: Sequence[State]) -> list[Extent]:
    last = len(SCALES[finding]) - 1
    settled = [Extent(at, at) for at in range(last + 1)]
    return settled + [Extent(0, last, state) for state in missing]


def _standings() -> list[Standing]:
    settled = [Standing(frozenset((outcome,))) for outcome in OUTCOMES]
    return settled + [Standing(frozenset(OUTCOMES), state) for state in _UNSETTLED]


def _said(finding: str, extent: Extent) -> str:
    return extent.state or SCALES[finding][extent.lowest]


def fire(world: World, made: Sequence[RuleText], *more: tuple[str, Condition]) -> Firings:
    """Every firing of the rules, and of more conditions on a kind numbered after them."""
    plain = [PlainRule(rule.for_, rule.condition, tuple(rule.then.concern)) for rule in made]
    plain += [PlainRule(kind, each, ()) for kind, each in more]
    asking = PlainRule(KIND, HasProperty(_ASKED_FOR, "yes"), (), ("crack",))
    firings = evaluate(prepare([*plain, asking], {(KIND, "crack")}), world)
    return {key: facts for key, facts in firings.items() if key[0] < len(plain)}
