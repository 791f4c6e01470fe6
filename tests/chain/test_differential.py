"""Three independent opinions on generated rules: the plain evaluator, durable-rules and CLIPS.

The firings of all three must be equal, and so must the facts used by the plain evaluator and by
durable-rules. 2,000 cases by default; ADVISOR_MANY_CASES=1 makes it 10,000. What the cases consist of is
printed at the end of the run (not where the tests run on several processes). The faults planted at the end
show that the comparison would notice a compiler that is wrong.
"""

from __future__ import annotations

import os
import pprint
import random
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace

import pytest
from hypothesis import HealthCheck, given, settings

from advisor.chain import durable_engine, plain, run
from advisor.chain.compile import Program, compile_rules
from advisor.chain.durable_engine import DurableMatcher
from advisor.chain.evidence import may_be
from advisor.chain.network import MAX_PATTERNS, Match, Matcher, Network, Production, Session
from advisor.chain.plain import PlainRule, evaluate, prepare
from advisor.chain.world import Item, World
from advisor.faults import OurFault
from advisor.sheets.conditions import All, Any, Condition, Found, HasProperty, Origin, Related, Stands
from tests.chain.clips_reference import ClipsReference
from tests.chain.generate import (
    ON_SUSPICION,
    SHARES,
    SUSPECTED,
    Rule,
    RuleSet,
    Shape,
    cases,
    describe,
    has_unsure_links,
    rule_set,
    shuffled,
    smaller,
    traits,
    world,
)

pytestmark = pytest.mark.differential

RULE_SETS = 1250 if os.environ.get("ADVISOR_MANY_CASES") == "1" else 250
WORLDS = 8
PER_TEST = 25
ORDINARY = Shape()
MOST_TRIES = 600
"""Cases tried to make a difference smaller before it is shown."""

Key = tuple[int, int, bool]
Rules = Sequence[Rule]


@dataclass(frozen=True, slots=True)
class Opinions:
    """What each has to say of one case."""

    plain: Mapping[Key, frozenset[object]]
    durable: Mapping[Key, frozenset[object]]
    clips: set[Key] | None

    def differences(self) -> list[str]:
        """One line for each firing or used fact on which they differ; none where all agree."""
        fires = {"plain": set(self.plain), "durable": set(self.durable)}
        if self.clips is not None:
            fires["clips"] = self.clips
        lines = []
        for rule, item, certain in sorted(set().union(*fires.values())):
            key = (rule, item, certain)
            what = f"rule {rule} on item {item}, {'certain' if certain else 'possible'}"
            voices = [name for name, keys in fires.items() if key in keys]
            if len(voices) < len(fires):
                lines.append(f"{what}: fires for {' and '.join(voices)} only")
            elif self.plain[key] != self.durable[key]:
                lines.append(
                    f"{what}: used for plain only {set(self.plain[key] - self.durable[key])},"
                    f" for durable only {set(self.durable[key] - self.plain[key])}"
                )
        return lines


def plainly(rules: Rules) -> list[PlainRule]:
    """The rules as the plain evaluator takes them."""
    return [PlainRule(rule.kind, rule.condition, rule.concerns, rule.wants) for rule in rules]


def unchanged(program: Program) -> Program:
    return program


@contextmanager
def engines(
    rules: Rules,
    layout: Mapping[str, str],
    scales: Mapping[str, tuple[str, ...]],
    *,
    clips: bool = True,
    change: Callable[[Program], Program] = unchanged,
) -> Iterator[Callable[[World], Opinions]]:
    """All engines made ready for the rules; `change` is done to the compiled program."""
    prepared = prepare(plainly(rules), ON_SUSPICION)
    program = change(compile_rules(rules, layout, ON_SUSPICION))
    with ExitStack() as stack:
        matcher = DurableMatcher(program.network)
        stack.callback(matcher.close)
        reference = stack.enter_context(ClipsReference(rules, scales, ON_SUSPICION)) if clips else None

        def ask(bench: World) -> Opinions:
            return Opinions(
                plain=evaluate(prepared, bench),
                durable=run.run(program, bench, matcher),
                clips=None if reference is None else reference.firings(bench),
            )

        yield ask


def compare(rules: Rules, bench: World, **options: object) -> list[str]:
    """The differences on one case."""
    with engines(rules, bench.layout, bench.scales, **options) as ask:  # type: ignore[arg-type]
        return ask(bench).differences()


def shown(name: str, rules: Rules, bench: World, **options: object) -> str:
    """A difference made as small as it gets, with all that is needed to look into it."""
    tries = MOST_TRIES
    smaller_found = True
    while smaller_found:
        smaller_found = False
        for fewer, less in smaller(rules, bench):
            tries -= 1
            if tries < 0:
                break
            if fewer and compare(fewer, less, **options):
                rules, bench = fewer, less
                smaller_found = True
                break
    with engines(rules, bench.layout, bench.scales, **options) as ask:  # type: ignore[arg-type]
        opinions = ask(bench)
    parts = {
        "rules": dict(enumerate(rules)),
        "world": bench,
        "plain": sorted(opinions.plain),
        "durable": sorted(opinions.durable),
        "clips": None if opinions.clips is None else sorted(opinions.clips),
    }
    lines = [f"{name}: the engines differ; made smaller:", *opinions.differences()]
    lines += [f"{part}:\n{pprint.pformat(value, width=110)}" for part, value in parts.items()]
    return "\n".join(lines)


def agree(name: str, rules: Rules, benches: Sequence[World]) -> list[Opinions]:
    """What the engines say of each world, having failed the test if they differ on any."""
    found = []
    with engines(rules, benches[0].layout, benches[0].scales) as ask:
        for number, bench in enumerate(benches):
            try:
                opinions = ask(bench)
            except Exception as error:
                error.add_note(f"{name}, world {number}")
                raise
            if opinions.differences():
                pytest.fail(shown(f"{name}, world {number}", rules, bench), pytrace=False)
            found.append(opinions)
    return found


def generated(seed: int, shape: Shape = ORDINARY, worlds: int = WORLDS) -> tuple[RuleSet, list[World]]:
    """The rule set of a seed, and some worlds for it."""
    rng = random.Random(seed)
    rules = rule_set(rng, shape)
    return rules, [world(rng, rules.words, shape) for _ in range(worlds)]


class Tally:
    """Counts what was compared, and prints it when the run ends."""

    def __init__(self) -> None:
        self.cases = 0
        self.unsure_cases = 0
        self.rules: Counter[str] = Counter()
        self.firings: Counter[str] = Counter()

    def add(self, rules: Rules, benches: Sequence[World], opinions: Sequence[Opinions]) -> None:
        traits_of = traits(rules)
        self.cases += len(opinions)
        self.unsure_cases += sum(map(has_unsure_links, benches))
        self.rules["all"] += len(rules)
        self.rules.update(trait for each in traits_of for trait in each)
        for each in opinions:
            for rule, item, certain in each.plain:
                self.firings["all"] += 1
                self.firings["certain"] += certain
                self.firings["only possible"] += not certain and (rule, item, True) not in each.plain
                self.firings.update(traits_of[rule])

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        if not self.cases:
            return
        terminalreporter.section("rules compared with CLIPS and the plain evaluator")
        terminalreporter.write_line(
            f"{self.cases} cases, {self.rules['all']} rules, {self.firings['all']} firings:"
            f" {self.firings['certain']} certain, {self.firings['only possible']} only possible"
        )
        terminalreporter.write_line(
            f"links that are only possible: {self.unsure_cases / self.cases:.0%} of the cases"
        )
        for name in SHARES:
            terminalreporter.write_line(
                f"{name}: {self.rules[name] / self.rules['all']:.0%} of the rules,"
                f" {self.firings[name] / self.firings['all']:.0%} of the firings"
            )


@pytest.fixture(scope="module")
def tally(request: pytest.FixtureRequest) -> Tally:
    found = Tally()
    request.config.pluginmanager.register(found)
    return found


@pytest.mark.parametrize("first", range(0, RULE_SETS, PER_TEST))
def test_three_opinions_are_one(first: int, tally: Tally) -> None:
    for seed in range(first, first + PER_TEST):
        rules, benches = generated(seed)
        tally.add(rules.rules, benches, agree(f"seed {seed}", rules.rules, benches))


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(cases())
def test_small_cases(case: tuple[RuleSet, World]) -> None:
    rules, bench = case
    agree("a small case", rules.rules, [bench])


def test_the_cases_cover_the_language() -> None:
    """Agreement on rules that ask little would prove little."""
    rules = [rule_set(random.Random(seed)).rules for seed in range(100)]
    size = sum(map(len, rules))
    shares = {name: sum(describe(each)[name] * len(each) for each in rules) / size for name in SHARES}
    least = {
        "absence": 0.2,
        "counting": 0.3,
        "relations": 0.5,
        "depth >= 3": 0.2,
        "missing evidence": 0.05,
        "suspicion": 0.15,
    }
    assert {name: share for name, share in shares.items() if share < least[name]} == {}
    benches = [bench for seed in range(100) for bench in generated(seed)[1]]
    assert sum(map(has_unsure_links, benches)) >= 0.25 * len(benches)


# Sizes that the cases above seldom reach.


def test_a_fact_that_every_rule_uses() -> None:
    """Past the number of rules that one copy of a fact may serve."""
    shape = Shape(rules=(130, 130), items=(4, 8))
    for seed in range(4):
        rules, benches = generated(seed, shape, 3)
        hot = Found("f0", "none", rules.words.scales["f0"][-2])
        same = [replace(rule, kind="k0", condition=All((hot, rule.condition))) for rule in rules.rules]
        agree(f"seed {seed}", same, benches)


def test_conjunctions_longer_than_the_engine_takes() -> None:
    for seed in range(6):
        rules, benches = generated(seed, Shape(rules=(4, 8), items=(4, 8)), 2)
        rng = random.Random(seed)
        long = []
        for item in benches[0].items:
            parts = [*_all_that_is_known(item, benches[0]), All((Origin(item.origin),))]
            other = rng.choice(rules.rules).condition
            long += [Rule(item.kind, All(tuple(parts)), ()), Rule(item.kind, All((*parts, other)), ())]
            assert len(parts) > MAX_PATTERNS
        found = agree(f"seed {seed}", [*long, *rules.rules], benches)
        assert {(2 * i, i, False) for i in range(len(benches[0].items))} <= found[0].plain.keys()


def _all_that_is_known(item: Item, bench: World) -> list[Condition]:
    """Conditions, at least one more than the engine takes, that are all possible of the item."""
    parts: list[Condition] = []
    for finding, extent in item.findings.items():
        if finding in SUSPECTED:
            continue
        scale = bench.scales[finding]
        parts += [
            Found(finding, scale[low], scale[high])
            for low in range(extent.lowest + 1)
            for high in range(extent.highest, len(scale))
        ]
    parts += [Stands(*dimension, standing.outcomes) for dimension, standing in item.standings.items()]
    parts += [HasProperty(name, value) for name, value in item.properties.items() if value is not None]
    for finding, scale in bench.scales.items():
        if finding in SUSPECTED:
            continue
        parts += [Found(finding, "none", scale[-1]), Found(finding, "none", None)]
    # Twice: the engine is given whatever is not a plain conjunction as a fact of its own.
    return parts + [Any((part, Origin("nowhere"))) for part in parts]


# Order must not matter.


@dataclass(frozen=True, slots=True)
class Shuffling:
    """A matcher that is told facts in another order, and tells matches in another order."""

    matcher: Matcher
    rng: random.Random

    def start(self) -> ShufflingSession:
        return ShufflingSession(self.matcher.start(), self.rng)

    def close(self) -> None:
        self.matcher.close()


@dataclass(frozen=True, slots=True)
class ShufflingSession:
    session: Session
    rng: random.Random

    def tell(self, facts: Sequence[tuple[str, int]]) -> list[Match]:
        matches = self.session.tell(self.rng.sample(facts, len(facts)))
        return self.rng.sample(matches, len(matches))

    def close(self) -> None:
        self.session.close()


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_order_does_not_matter(first: int) -> None:
    for seed in range(first, first + 20):
        rules, benches = generated(seed, worlds=2)
        rng = random.Random(seed)
        for bench in benches:
            straight = evaluate(prepare(plainly(rules.rules), ON_SUSPICION), bench)
            rule_order, item_order, moved = shuffled(rng, rules.rules, bench)
            mixed = [rules.rules[old] for old in rule_order]
            program = compile_rules(mixed, moved.layout, ON_SUSPICION)
            matcher = Shuffling(DurableMatcher(program.network), rng)
            try:
                found = run.run(program, moved, matcher)
            finally:
                matcher.close()
            plain = evaluate(prepare(plainly(mixed), ON_SUSPICION), moved)
            for firings in (found, plain):
                back = {
                    (rule_order[rule], item_order[item], certain): {(leaf, item_order[j]) for leaf, j in used}
                    for (rule, item, certain), used in firings.items()
                }
                assert back == straight, f"seed {seed}"


# Faults planted on purpose: each has to show as a difference.


def dropped_join(program: Program) -> Program:
    """One production, the first that has several facts to wait for, waits for one fewer."""
    productions = list(program.network.productions)
    for index, production in enumerate(productions):
        if len(production.patterns) > 1:
            productions[index] = Production(production.key, production.patterns[:-1])
            break
    return replace(program, network=Network(tuple(productions)))


def swapped_stages(program: Program) -> Program:
    return replace(program, absents=program.absents[::-1])


def any_taken_as_all(program: Program) -> Program:
    """The first helper that several productions derive waits for the facts of them all."""
    sources: dict[str, list[int]] = {}
    for index, helper in enumerate(program.helper_of):
        if helper is not None:
            sources.setdefault(helper, []).append(index)
    productions = list(program.network.productions)
    for indices in sources.values():
        patterns = tuple(dict.fromkeys(name for i in indices for name in productions[i].patterns))
        if len(indices) > 1 and len(patterns) <= MAX_PATTERNS:
            for index in indices:
                productions[index] = Production(productions[index].key, patterns)
            break
    return replace(program, network=Network(tuple(productions)))


def count_one_short(program: Program) -> Program:
    short = {
        part: tuple(replace(count, number=count.number - 1) for count in counts)
        for part, counts in program.counts.items()
    }
    return replace(program, counts=short)


def count_one_over(program: Program) -> Program:
    over = {
        part: tuple(replace(count, number=count.number + 1) for count in counts)
        for part, counts in program.counts.items()
    }
    return replace(program, counts=over)


def related_one_short(program: Program) -> Program:
    short = []
    for fact in program.related:
        leaf = fact.leaf
        if isinstance(leaf, Related) and leaf.number is not None and leaf.number > 1:
            fact = replace(fact, leaf=replace(leaf, number=leaf.number - 1))  # noqa: PLW2901
        short.append(fact)
    return replace(program, related=tuple(short))


def every_taken_as_some(program: Program) -> Program:
    wrong = []
    for fact in program.related:
        leaf = fact.leaf
        if isinstance(leaf, Related) and leaf.number is None:
            fact = replace(fact, leaf=replace(leaf, number=1))  # noqa: PLW2901
        wrong.append(fact)
    return replace(program, related=tuple(wrong))


def concern_not_passed_on(program: Program) -> Program:
    return replace(program, concern_facts={})


CHANGES = (
    dropped_join,
    swapped_stages,
    any_taken_as_all,
    count_one_short,
    count_one_over,
    related_one_short,
    every_taken_as_some,
    concern_not_passed_on,
)


def lost_copy(patch: pytest.MonkeyPatch) -> None:
    """The last copy of a fact that is told in several is never told."""
    plan = durable_engine._plan

    def losing(*arguments: object) -> object:
        whole = plan(*arguments)  # type: ignore[arg-type]
        left = {name: places[:-1] or places for name, places in whole.addresses.items()}
        return replace(whole, addresses=left)

    patch.setattr(durable_engine, "_USES_PER_COPY", 2)
    patch.setattr(durable_engine, "_plan", losing)


def every_holds_of_nothing(patch: pytest.MonkeyPatch) -> None:
    tell_evidence = run._Board.tell_evidence

    def telling(board: run._Board) -> None:
        tell_evidence(board)
        for fact in board._program.related:
            leaf = fact.leaf
            if isinstance(leaf, Related) and leaf.number is None:
                for index in board._by_kind[fact.kind]:
                    if not board._linked(leaf, index):
                        board._tell(fact.name, 2 * index)
                        board._tell(fact.name, 2 * index + 1)

    patch.setattr(run._Board, "tell_evidence", telling)


def readings_swapped_in_absence(patch: pytest.MonkeyPatch) -> None:
    holds = run._Board._holds
    patch.setattr(
        run._Board,
        "_holds",
        lambda board, of, kind, index, reading: holds(board, of, kind, index, 1 - reading),
    )


def readings_swapped_in_evidence(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(run, "may_be", lambda leaf, item, bench: may_be(leaf, item, bench)[::-1])
    patch.setattr(run, "reader", lambda leaf, bench: lambda item: may_be(leaf, item, bench)[::-1])


def unsure_links_taken_as_sure(patch: pytest.MonkeyPatch) -> None:
    start = run._Board.__init__
    patch.setattr(
        run._Board,
        "__init__",
        lambda board, program, bench: start(board, program, replace(bench, unsure={})),
    )


def unsure_links_left_out(patch: pytest.MonkeyPatch) -> None:
    start = run._Board.__init__

    def starting(board: run._Board, program: Program, bench: World) -> None:
        links = {
            relation: {
                i: tuple(j for j in found if (i, j) not in bench.unsure.get(relation, ()))
                for i, found in targets.items()
            }
            for relation, targets in bench.links.items()
        }
        start(board, program, replace(bench, links=links, unsure={}))

    patch.setattr(run._Board, "__init__", starting)


PATCHES = (
    lost_copy,
    every_holds_of_nothing,
    readings_swapped_in_absence,
    readings_swapped_in_evidence,
    unsure_links_taken_as_sure,
    unsure_links_left_out,
)


def caught(change: Callable[[Program], Program] = unchanged) -> tuple[int, RuleSet, World]:
    """The first case on which the comparison notices a fault; fails the test if it never does."""
    for seed in range(60):
        rules, benches = generated(seed, worlds=4)
        with engines(rules.rules, rules.words.layout, rules.words.scales, clips=False, change=change) as ask:
            for bench in benches:
                if ask(bench).differences():
                    return seed, rules, bench
    pytest.fail("the comparison did not notice the fault", pytrace=False)


@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_a_fault_in_the_compiled_program_is_noticed(change: Callable[[Program], Program]) -> None:
    _, rules, bench = caught(change)
    assert not compare(rules.rules, bench), "not the planted fault"


@pytest.mark.parametrize("plant", PATCHES, ids=lambda plant: plant.__name__)
def test_a_fault_in_running_it_is_noticed(plant: Callable[[pytest.MonkeyPatch], None]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        plant(patch)
        _, rules, bench = caught()
    assert not compare(rules.rules, bench), "not the planted fault"


def test_facts_about_different_items_brought_together_are_noticed() -> None:
    """Without its test on the item the engine joins any facts; the engine's own check sees it first."""
    plan = durable_engine._plan

    def unjoined(*arguments: object) -> object:
        whole = plan(*arguments)  # type: ignore[arg-type]
        for conditions in whole.rules.values():
            for condition in conditions:
                for tests in condition.values():
                    tests["$and"] = [test for test in tests["$and"] if "i" not in test]
        return whole

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(durable_engine, "_plan", unjoined)
        with pytest.raises(OurFault, match=r"without its facts|twice"):
            caught()


def test_a_mistake_that_both_our_engines_make_is_noticed() -> None:
    rules, benches = generated(0)
    read = plain._evidence
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plain, "_evidence", lambda leaf, bench, items: read(leaf, bench, items)[::-1])
        readings_swapped_in_evidence(patch)
        assert not any(compare(rules.rules, bench, clips=False) for bench in benches)
        assert any(compare(rules.rules, bench) for bench in benches)


def test_links_taken_as_sure_by_both_our_engines_are_noticed() -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(plain._Case, "surely_linked", plain._Case.linked)
        unsure_links_taken_as_sure(patch)
        for seed in range(20):
            rules, benches = generated(seed)
            with engines(rules.rules, rules.words.layout, rules.words.scales) as ask:
                for opinions in map(ask, benches):
                    assert not replace(opinions, clips=None).differences()
                    if opinions.differences():
                        return
    pytest.fail("CLIPS did not notice the fault", pytrace=False)


def test_a_difference_is_shown_small() -> None:
    seed, rules, bench = caught(dropped_join)
    text = shown(f"seed {seed}", rules.rules, bench, clips=False, change=dropped_join)
    assert f"seed {seed}: the engines differ" in text
    assert "fires for durable only" in text
    assert text.count("Rule(kind=") <= 3
    assert text.count("Item(kind=") <= 3
