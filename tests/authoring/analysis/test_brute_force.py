"""What is claimed of small random rule sets, held against the plain evaluator on every bench there is.

Both ways: what is claimed is so, and what is so is claimed. Every bench means every state of one item, with
none, one or two linked to it; the solver was given no other variables to think of.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator, Sequence

import pytest

from advisor.authoring.analysis.book import Book, parts_of
from advisor.authoring.analysis.effects import Effect, covered
from advisor.authoring.analysis.milder import milder_when_worse
from advisor.authoring.analysis.weight import idle_parts, weightless
from advisor.chain.plain import Firings
from advisor.sheets.conditions import Any
from advisor.sheets.rules import RuleText
from advisor.sheets.vocabulary import ANSWERS, Answer
from advisor.verdicts.answers import Barred, open_answers
from tests.authoring.analysis.brute import KIND, VOCABULARY, benches, book, fire, rules

FEW = 10
MANY = 300
SEEDS = [seed if seed < FEW else pytest.param(seed, marks=pytest.mark.slow) for seed in range(MANY)]

CLAIMED = ("rule-without-effect", "bar-without-effect", "condition-without-effect", "milder-when-worse")


def drawn(seed: int) -> tuple[tuple[RuleText, ...], Book]:
    rng = random.Random(seed)
    made = rules(rng, rng.randint(2, 5))
    return made, book(made)


def fires(firings: Firings, rule: int, roots: Sequence[int]) -> set[int]:
    return {item for item in roots if (rule, item, True) in firings}


@pytest.mark.parametrize("seed", SEEDS)
def test_what_never_fires_never_fires_and_nothing_else(seed: int) -> None:
    made, under = drawn(seed)
    alive = set()
    for bench in benches(made):
        firings = fire(bench.world, made)
        alive |= {made[rule].id for rule, _, certain in firings if certain}
    own = {rule.id for rule in made if rule.for_ == KIND}
    assert under.dead & own == own - alive


@pytest.mark.parametrize("seed", SEEDS)
def test_shut_branches_are_shut_and_no_others(seed: int) -> None:
    made, under = drawn(seed)
    for rule in made:
        if rule.for_ != KIND or rule.id in under.dead:
            continue
        parts = parts_of(rule)
        whole = {part.steps: part.condition for part in parts}
        branches = [part for part in parts if part.steps and isinstance(whole[part.steps[:-1]], Any)]
        seen: set[int] = set()
        number = next(index for index, each in enumerate(made) if each.id == rule.id)
        for bench in benches(made):
            firings = fire(bench.world, made, *((KIND, part.condition) for part in branches))
            here = fires(firings, number, bench.roots)
            seen |= {
                index
                for index in range(len(branches))
                if here & fires(firings, len(made) + index, bench.roots)
            }
        shut = {part.steps for part in under.shut[rule.id]}
        for index, part in enumerate(branches):
            if not any(len(steps) < len(part.steps) and part.steps[: len(steps)] == steps for steps in shut):
                assert (index not in seen) == (part.steps in shut), (seed, rule.id, part.steps)


def effects_at(
    under: Book, made: Sequence[RuleText], firings: Firings, item: int, certain: bool, left_out: set[str]
) -> Iterator[Effect]:
    for number, rule in enumerate(made):
        if rule.id not in left_out and rule.for_ == KIND and (number, item, certain) in firings:
            yield from under.effects[rule.id]


@pytest.mark.parametrize("seed", SEEDS)
def test_idle_rules_add_nothing_and_all_others_add_something(seed: int) -> None:
    made, under = drawn(seed)
    idle = {
        each.subject for each in weightless(under) if each.code in ("rule-duplicate", "rule-without-effect")
    }
    adding: set[str] = set()
    for bench in benches(made):
        firings = fire(bench.world, made)
        for item in bench.roots:
            for certain in (True, False):
                rest = list(effects_at(under, made, firings, item, certain, idle))
                for number, rule in enumerate(made):
                    if rule.for_ != KIND or (number, item, certain) not in firings:
                        continue
                    if rule.id in idle:
                        assert all(covered(each, rest) for each in under.effects[rule.id]), (seed, rule.id)
                    elif rule.id not in adding:
                        by = list(effects_at(under, made, firings, item, certain, idle | {rule.id}))
                        if not all(covered(each, by) for each in under.effects[rule.id]):
                            adding.add(rule.id)
    # What never fires is told as that.
    assert {rule.id for rule in made if rule.for_ == KIND} - idle - adding <= under.dead


@pytest.mark.parametrize("seed", SEEDS)
def test_conditions_that_never_matter_can_go(seed: int) -> None:
    made, under = drawn(seed)
    for number, rule in enumerate(made):
        if rule.for_ != KIND or rule.id in under.dead:
            continue
        others = [each for each in made if each.for_ == KIND and each.id not in under.dead | {rule.id}]
        for idle in idle_parts(under, KIND, rule, others):
            for bench in benches(made):
                extra = ((KIND, idle.before), (KIND, idle.after))
                firings = fire(bench.world, made, *extra)
                for item in bench.roots:
                    for certain in (True, False):
                        before = (len(made), item, certain) in firings
                        after = (len(made) + 1, item, certain) in firings
                        if before != after:
                            assert idle.by, (seed, rule.id, idle.part.steps)
                            rest = list(effects_at(under, made, firings, item, certain, {rule.id}))
                            assert all(covered(each, rest) for each in under.effects[rule.id])
        assert number >= 0


def verdict(made: Sequence[RuleText], firings: Firings, item: int) -> Answer | None:
    bars = [
        Barred(frozenset(bar.answers), tuple(bar.mend), (number, item, True) in firings)
        for number, rule in enumerate(made)
        if rule.for_ == KIND and (number, item, False) in firings
        for bar in rule.then.bar
    ]
    return open_answers(VOCABULARY.kinds[KIND].answers, bars, [], {}).verdict


def steps(known: dict[str, str]) -> Iterator[tuple[str, dict[str, str]]]:
    """Each state that is one step worse, with what the finding calls the step."""
    for name in ("heat", "crack"):
        scale = list(VOCABULARY.findings[name].extents)
        if known[name] in scale[:-1]:
            worse = scale[scale.index(known[name]) + 1]
            yield f"{KIND}: {name} {known[name]} to {name} {worse}", {**known, name: worse}
    if known["wear"] == "inside":
        for worse in ("above", "below"):
            yield f"{KIND}: wear inside discard to wear {worse} discard", {**known, "wear": worse}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_verdict_that_gets_milder_is_told_and_no_other(seed: int) -> None:
    made, under = drawn(seed)
    told = {each.subject for each in milder_when_worse(under)}
    there: set[str] = set()
    for bench in benches(made):
        firings = fire(bench.world, made)
        at = {
            tuple(sorted(known.items())): item for item, known in zip(bench.roots, bench.known, strict=True)
        }
        for item, known in zip(bench.roots, bench.known, strict=True):
            one = verdict(made, firings, item)
            for step, worse in steps(dict(known)):
                there_too = at.get(tuple(sorted(worse.items())))
                # What no rule asks for was not varied, and changes nothing.
                other = None if there_too is None else verdict(made, firings, there_too)
                if one and other and ANSWERS.index(other) < ANSWERS.index(one):
                    there.add(step)
    assert told == there


def test_each_claim_is_made_often() -> None:
    """Otherwise the tests above would hold for an analysis that claims nothing."""
    made: Counter[str] = Counter()
    for seed in range(MANY):
        rules_drawn, under = drawn(seed)
        made["dead"] += bool(under.dead)
        made["shut"] += any(under.shut.values())
        made.update({each.code for each in (*weightless(under), *milder_when_worse(under))})
        assert not under.given_up
        assert len(rules_drawn) > 2
    assert min(made[what] for what in (*CLAIMED, "dead", "shut")) >= 10, made
