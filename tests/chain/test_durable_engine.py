"""The real rule engine against a matcher of a dozen lines that cannot be wrong.

durable-rules hangs or crashes where it is used beyond its limits, so whatever goes near them runs in a
process of its own: this file called with the name of a scenario.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.chain import durable_engine
from advisor.chain.durable_engine import MAX_PRODUCTIONS, MAX_STORED_FACTS, DurableMatcher
from advisor.chain.network import (
    MAX_PATTERNS,
    CompileLimit,
    EngineUnavailable,
    Match,
    Network,
    Production,
    RunLimit,
)
from advisor.faults import OurFault

ROOT = Path(__file__).resolve().parents[2]

Facts = Sequence[tuple[str, int]]


def brute_force(network: Network, facts: Iterable[tuple[str, int]]) -> list[Match]:
    """Every match that the facts make, sorted."""
    told: dict[int, set[str]] = defaultdict(set)
    for name, item in facts:
        told[item].add(name)
    return sorted(
        Match(index, item)
        for index, production in enumerate(network.productions)
        for item, names in told.items()
        if names.issuperset(production.patterns)
    )


def network_of(patterns: Iterable[Sequence[str]]) -> Network:
    return Network(tuple(Production(f"p{index}", tuple(names)) for index, names in enumerate(patterns)))


def run_case(matcher: DurableMatcher, batches: Iterable[Facts]) -> list[list[Match]]:
    with closing(matcher.start()) as session:
        return [session.tell(batch) for batch in batches]


def assert_agrees(network: Network, facts: Facts, batches: int = 1) -> None:
    """The engine and brute force find the same, told in this order and in a shuffled one."""
    expected = brute_force(network, facts)
    assert expected, "the example matches nothing"
    shuffled = list(facts)
    random.Random(7).shuffle(shuffled)
    with closing(DurableMatcher(network)) as matcher:
        for told in (facts, shuffled):
            found = run_case(matcher, [told[start::batches] for start in range(batches)])
            assert sorted(match for part in found for match in part) == expected


# Generated cases.

NAMES = [f'{index}|finding "krümelig" ≥ 5 %\\{{}}' for index in range(30)]


def names_in(mask: int) -> list[str]:
    return [name for index, name in enumerate(NAMES) if mask >> index & 1]


masks = st.integers(1, 2**30 - 1)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Network, list[Facts]]:
    long = st.lists(st.sampled_from(NAMES), min_size=1, max_size=15, unique=True)
    short = st.lists(st.sampled_from(NAMES), min_size=1, max_size=3, unique=True)
    network = network_of(draw(st.lists(st.one_of(short, short, long), min_size=1, max_size=60)))
    facts: list[tuple[str, int]] = []
    for item in draw(st.lists(st.integers(-3, 10**9), max_size=4)):
        # Whole productions as well as scattered names, or a long one would never match.
        whole = draw(st.lists(st.sampled_from(network.productions), max_size=4))
        facts += [(name, item) for production in whole for name in production.patterns]
        facts += [(name, item) for name in names_in(draw(masks) & draw(masks))]
        facts.append(("no production uses this", item))
    facts = draw(st.permutations(facts))
    cuts = sorted(draw(st.lists(st.integers(0, len(facts)), max_size=5)))
    edges = [0, *cuts, len(facts)]
    return network, [facts[start:stop] for start, stop in pairwise(edges)]


@pytest.mark.differential
@settings(max_examples=150)
@given(cases())
def test_each_tell_returns_exactly_the_matches_it_completes(case: tuple[Network, list[Facts]]) -> None:
    network, batches = case
    with closing(DurableMatcher(network)) as matcher:
        found = run_case(matcher, batches)
        told: list[tuple[str, int]] = []
        for batch, matches in zip(batches, found, strict=True):
            before = set(brute_force(network, told))
            told += batch
            assert matches == [match for match in brute_force(network, told) if match not in before]
        # The order and the batches of the first session left nothing behind, and made no difference.
        at_once = run_case(matcher, [told[::-1]])[0]
        assert at_once == sorted(match for matches in found for match in matches)


# Small promises.


def small_matcher(**options: Any) -> DurableMatcher:
    return DurableMatcher(network_of([["a", "b"], ["b"], ["a", "b", "c"]]), **options)


def test_a_fact_told_again_or_used_by_nothing_is_ignored() -> None:
    with closing(small_matcher()) as matcher:
        batches: list[Facts] = [[("a", 1), ("a", 1), ("z", 1)], [("b", 1)], [("b", 1), ("a", 1)], [("b", 2)]]
        found = run_case(matcher, batches)
    assert found == [[], [Match(0, 1), Match(1, 1)], [], [Match(1, 2)]]


def test_sessions_without_facts_or_without_matches() -> None:
    with closing(small_matcher()) as matcher:
        for _ in range(50):
            assert run_case(matcher, []) == []
            assert run_case(matcher, [[], [("z", 1)]]) == [[], []]
            assert run_case(matcher, [[("a", 1)], [("c", 1), ("b", 2)]]) == [[], [Match(1, 2)]]
    with closing(DurableMatcher(Network(()))) as empty:
        assert run_case(empty, [[("a", 1)]]) == [[]]


def test_one_session_at_a_time_and_none_after_closing() -> None:
    matcher = small_matcher()
    session = matcher.start()
    with pytest.raises(RuntimeError, match="close that one first"):
        matcher.start()
    session.tell([("b", 1)])
    matcher.close()
    matcher.close()
    session.close()
    with pytest.raises(RuntimeError, match="closed"):
        session.tell([("b", 2)])
    with pytest.raises(RuntimeError, match="closed"):
        matcher.start()


def test_malformed_networks_are_refused() -> None:
    with pytest.raises(ValueError, match="no patterns"):
        Production("p", ())
    with pytest.raises(ValueError, match="twice"):
        Production("p", ("a", "a"))
    with pytest.raises(ValueError, match="the key 'p'"):
        Network((Production("p", ("a",)), Production("p", ("b",))))


def test_limits_of_compiling() -> None:
    names = [f"n{index}" for index in range(MAX_PATTERNS + 1)]
    with pytest.raises(CompileLimit, match="'p0' has 16 patterns; the rule engine takes at most 15"):
        DurableMatcher(network_of([names]))
    with pytest.raises(CompileLimit, match="40,001 productions"):
        DurableMatcher(network_of([["a"]] * (MAX_PRODUCTIONS + 1)))


def test_a_case_with_too_many_facts_is_refused_before_any_is_told() -> None:
    with closing(small_matcher()) as matcher:
        with closing(matcher.start()) as session:
            with pytest.raises(RunLimit, match="more facts than the rule engine can hold"):
                session.tell([("c", item) for item in range(MAX_STORED_FACTS)])
            with pytest.raises(RuntimeError, match="stopped at an error"):
                session.tell([("b", 1)])
        assert run_case(matcher, [[("b", 1)]]) == [[Match(1, 1)]]


def test_a_case_with_too_many_matches_is_refused() -> None:
    facts = [("b", item) for item in range(60)]
    with closing(small_matcher(budget=100)) as matcher:
        for _ in range(3):
            with closing(matcher.start()) as session:
                assert len(session.tell(facts)) == 60
                # The budget is one for the whole session, and the next session has its own.
                with pytest.raises(RunLimit, match="more matches"):
                    session.tell([("b", item + 60) for item in range(60)])
        with closing(matcher.start()) as session:
            assert len(session.tell([("b", item) for item in range(100)])) == 100


def test_an_engine_that_cannot_be_loaded_is_said_plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "durable", None)
    durable_engine._load_engine.cache_clear()
    with pytest.raises(EngineUnavailable, match=r"cannot be loaded on Python .* 3\.11 or 3\.12"):
        small_matcher()
    durable_engine._load_engine.cache_clear()


def test_the_engine_is_not_loaded_before_it_is_needed() -> None:
    script = (
        "import sys, advisor.chain.network, advisor.chain.durable_engine\n"
        "sys.exit(sum(name.startswith('durable') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=False).returncode == 0


# What the engine would hide.


def test_an_error_in_a_callback_reaches_the_caller() -> None:
    class Full(list[tuple[int, str]]):
        def append(self, _: tuple[int, str]) -> None:
            raise ZeroDivisionError("planted")

    with closing(small_matcher()) as matcher:
        with closing(matcher.start()) as session:
            matcher._notes.matches = Full()
            with pytest.raises(ZeroDivisionError, match="planted"):
                session.tell([("a", 1), ("b", 1)])
        assert run_case(matcher, [[("b", 1)]]) == [[Match(1, 1)]]


def test_a_batch_that_the_engine_stops_reading_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    with closing(small_matcher()) as matcher:
        assert_facts = matcher._host.assert_facts

        def spoil(ruleset: str, batch: list[dict[str, Any]]) -> Any:
            # The engine's reader cannot read this number, and forgets the rest of the batch without an error.
            return assert_facts(ruleset, [*batch[:1], {"sid": "1", "id": "900", "v": 1e-05}, *batch[1:]])

        with closing(matcher.start()) as session:
            session.tell([("a", 1)])
            monkeypatch.setattr(matcher._host, "assert_facts", spoil)
            with pytest.raises(OurFault, match="did not read all"):
                session.tell([("a", 2), ("b", 2)])
            monkeypatch.undo()
        assert run_case(matcher, [[("b", 1)]]) == [[Match(1, 1)]]


def test_a_fact_that_the_engine_lost_is_noticed_on_closing() -> None:
    with closing(small_matcher()) as matcher:
        session = matcher.start()
        session.tell([("a", 1), ("c", 1)])
        (kept,) = [fact for fact in matcher._host.get_facts("network0", "1") if fact["id"] == "1"]
        matcher._host.retract_fact("network0", kept)
        with pytest.raises(OurFault, match="was given 4 facts and holds 3"):
            session.close()
        assert run_case(matcher, [[("b", 1)]]) == [[Match(1, 1)]]


@pytest.mark.parametrize("match", [(0, "0"), (1, "0")], ids=["without its facts", "twice"])
def test_a_match_that_cannot_be_is_noticed(match: tuple[int, str]) -> None:
    with closing(small_matcher()) as matcher, closing(matcher.start()) as session:
        session.tell([("b", 5)])
        matcher._notes.matches.append(match)
        with pytest.raises(OurFault, match="about item 5"):
            session.tell([("b", 6)])


def test_a_jumping_wall_clock_loses_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    hours = iter(range(10**6))

    class Jumping(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return datetime(2030, 1, 1) + timedelta(hours=next(hours))

    with closing(small_matcher()) as matcher:
        from durable import engine

        monkeypatch.setattr(engine, "datetime", SimpleNamespace(datetime=Jumping))
        monkeypatch.setattr(time, "time", lambda: 3600.0 * next(hours))
        found = run_case(matcher, [[(name, item) for item in range(100)] for name in "ba"])
    assert [len(matches) for matches in found] == [100, 100]


def test_two_threads_with_a_matcher_each() -> None:
    wrong: list[object] = []

    def work(seed: int) -> None:
        try:
            chance = random.Random(seed)
            names = [f"{seed} {index}" for index in range(12)]
            network = network_of([chance.sample(names, chance.randint(1, 3)) for _ in range(80)])
            for _ in range(3):
                with closing(DurableMatcher(network)) as matcher:
                    for _ in range(10):
                        facts = [(name, item) for item in range(4) for name in chance.sample(names, 8)]
                        found = run_case(matcher, [facts[:9], facts[9:]])
                        if sorted(found[0] + found[1]) != brute_force(network, facts):
                            wrong.append(seed)
        except BaseException as error:
            wrong.append(error)

    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)
    try:
        threads = [threading.Thread(target=work, args=(seed,)) for seed in (1, 2)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    finally:
        sys.setswitchinterval(interval)
    assert wrong == []


# Scenarios, each in a process of its own.


def many_productions() -> None:
    chance = random.Random(3)
    for count in (2_500, 10_000):
        names = [f"n{index}" for index in range(count)]
        network = network_of([chance.sample(names, chance.randint(1, 3)) for _ in range(count)])
        facts = [(name, item) for item in (4, 5) for name in chance.sample(names, count // 10)]
        assert_agrees(network, facts, batches=3)


def many_names() -> None:
    names = [f"n{index}" for index in range(600)]
    assert_agrees(network_of([[name] for name in names]), [(name, 1) for name in names])
    assert_agrees(network_of(pairwise(names)), [(name, item) for name in names for item in (1, 2)])


def many_items() -> None:
    items = list(range(0, 400_000, 1_000))
    facts = [(name, item) for name in "abc" for item in items if (item // 1_000 + ord(name)) % 5]
    assert_agrees(network_of(["abc"]), facts, batches=3)


def one_fact_in_many_productions() -> None:
    for count in (400, 1_200):
        own = [f"own {index}" for index in range(count)]
        facts = [(name, item) for item in (1, 2) for name in ("hot", "warm", "mild", *own[::3])]
        layouts: list[Callable[[str], Sequence[str]]] = [
            lambda _: ["hot"],
            # Equally common, so that they stand first, second and third in every production.
            lambda _: ["hot", "warm", "mild"],
            lambda name: ["hot", name],
            lambda name: [name, "warm", "hot"],
            lambda name: [name, f"{name} too", "hot"],
        ]
        for layout in layouts:
            told = facts + [(f"{name} too", 2) for name in own[::2]]
            assert_agrees(network_of(layout(name) for name in own), told, batches=2)


def shared_fact_with_own_facts() -> None:
    network = network_of(["shared", *(f"{index} {part}" for part in range(3))] for index in range(300))
    facts = [(name, 1) for production in network.productions[::2] for name in production.patterns]
    facts += [(f"{index} {index % 3}", 2) for index in range(300)]
    assert_agrees(network, facts, batches=4)


def longest_conjunctions() -> None:
    names = [f"n{index}" for index in range(40)]
    chance = random.Random(5)
    network = network_of([chance.sample(names, MAX_PATTERNS) for _ in range(200)])
    whole = [(name, 1) for name in names]
    partly = [(name, 2) for name in network.productions[9].patterns]
    almost = [(name, 3) for name in network.productions[9].patterns[1:]]
    assert_agrees(network, whole + partly + almost, batches=3)


def peak_megabytes() -> float:
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)


def many_sessions() -> None:
    network = network_of([[f"n{index}", f"n{(index * 7 + 1) % 40}"] for index in range(40)])
    facts = [(f"n{index}", item) for index in range(0, 40, 2) for item in (1, 2)]
    facts += [(f"n{index}", 1) for index in range(1, 40, 2)]
    expected = brute_force(network, facts)
    with closing(DurableMatcher(network)) as matcher:
        warm = 0.0
        for count in range(2_000):
            told = facts if count % 2 else facts[:20]
            found = run_case(matcher, [told])[0]
            assert found == (expected if count % 2 else brute_force(network, told))
            if count == 200:
                warm = peak_megabytes()
        assert peak_megabytes() - warm < 4


def many_matchers() -> None:
    warm = 0.0
    for count in range(200):
        network = network_of([[f"n{index}", f"n{index + 1} {count}"] for index in range(100)])
        with closing(DurableMatcher(network)) as matcher:
            facts = [(name, 1) for production in network.productions[:5] for name in production.patterns]
            assert len(run_case(matcher, [facts])[0]) == 5
            if count % 2:
                matcher.start().tell(facts)  # left open
        if count == 40:
            warm = peak_megabytes()
    assert peak_megabytes() - warm < 8


def ctrl_c() -> None:
    network = network_of([["a", f"n{index}"] for index in range(100)])
    facts = [(name, item) for item in range(20) for name in ("a", *(f"n{index}" for index in range(100)))]
    few = [("a", 1), ("n5", 1), ("n6", 2)]
    chance = random.Random(11)
    caught = 0
    with closing(DurableMatcher(network)) as matcher:
        for _ in range(15):
            session = matcher.start()
            stop = threading.Timer(chance.uniform(0.001, 0.03), os.kill, (os.getpid(), signal.SIGINT))
            try:
                stop.start()
                session.tell(facts)
                while True:
                    time.sleep(1)
            except KeyboardInterrupt:
                caught += 1
            stop.join()
            session.close()
            assert run_case(matcher, [few]) == [[Match(5, 1)]]
    assert caught == 15
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler

    # A handler that raises nothing interrupts nothing.
    rung: list[int] = []
    signal.signal(signal.SIGINT, lambda signum, frame: rung.append(signum))
    with closing(DurableMatcher(network)) as matcher:
        stop = threading.Timer(0.01, os.kill, (os.getpid(), signal.SIGINT))
        stop.start()
        assert run_case(matcher, [facts])[0] == brute_force(network, facts)
        stop.join()
    assert len(rung) == 1


def interrupted_elsewhere() -> None:
    """An exception from another signal may strike anywhere in the engine: it is never taken for a result."""

    def ring(signum: int, frame: object) -> None:
        raise TimeoutError("rung")

    signal.signal(signal.SIGALRM, ring)
    network = network_of([["a", f"n{index}"] for index in range(100)])
    facts = [(name, item) for item in range(10) for name in ("a", *(f"n{index}" for index in range(100)))]
    expected = brute_force(network, facts)
    chance = random.Random(12)
    stopped = 0
    with closing(DurableMatcher(network)) as matcher:
        for _ in range(30):
            session = matcher.start()
            try:
                signal.setitimer(signal.ITIMER_REAL, chance.uniform(0.001, 0.02))
                found = session.tell(facts)
                signal.setitimer(signal.ITIMER_REAL, 0)
                assert found == expected
            except (TimeoutError, OurFault):
                stopped += 1
            signal.setitimer(signal.ITIMER_REAL, 0)
            session.close()
            assert run_case(matcher, [facts[:50]])[0] == brute_force(network, facts[:50])
    assert stopped > 10


def interrupted_at_the_first_fact() -> None:
    """Deleting a case in which no rule has fired yet would crash the process."""
    network = network_of([["a"], ["a", "b"]])
    with closing(DurableMatcher(network)) as matcher:
        host = matcher._host
        assert_facts = host.assert_facts

        def stop_before(ruleset: str, batch: list[dict[str, str]]) -> None:
            host.assert_facts = assert_facts
            raise TimeoutError

        def stop_before_firing(ruleset: str, batch: list[dict[str, str]]) -> None:
            host.assert_facts = assert_facts
            host.get_ruleset(ruleset).assert_facts(batch)
            raise TimeoutError

        for stop in [stop_before, stop_before_firing] * 20:
            with closing(matcher.start()) as session:
                host.assert_facts = stop
                with pytest.raises(OurFault):
                    session.tell([("a", 1)])
            assert run_case(matcher, [[("a", 1), ("b", 1)]])[0] == brute_force(network, [("a", 1), ("b", 1)])


SCENARIOS: dict[str, Callable[[], None]] = {
    scenario.__name__: scenario
    for scenario in (
        many_productions,
        many_names,
        many_items,
        one_fact_in_many_productions,
        shared_fact_with_own_facts,
        longest_conjunctions,
        many_sessions,
        many_matchers,
        ctrl_c,
        interrupted_elsewhere,
        interrupted_at_the_first_fact,
    )
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_in_a_process_of_its_own(name: str) -> None:
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    if name in {"ctrl_c", "interrupted_elsewhere", "interrupted_at_the_first_fact", "many_matchers"}:
        # Fill freed memory, so that a use of it by the engine shows (glibc; no effect elsewhere).
        environment["MALLOC_PERTURB_"] = "165"
    done = subprocess.run(
        [sys.executable, __file__, name],
        env=environment, cwd=ROOT, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"exit {done.returncode}\n{done.stdout}\n{done.stderr}"


if __name__ == "__main__":
    SCENARIOS[sys.argv[1]]()
