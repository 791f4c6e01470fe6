"""Matching a network with durable-rules: the only module that imports it.

durable-rules 2.0.28 is sound only within a narrow subset of what it accepts, and outside it tends to drop
facts, or the process, without an error. So each fact is three short strings: a bucket `k`, a token `f` that
stands for its name, and an item `i`. A pattern tests the bucket, then the token, and joins on the item last.
No absence, number or alternative ever reaches the engine, and its callbacks only take notes.

Every fact that is asserted answers some pattern, so the engine never has one that it "cannot handle"; it
therefore needs no catch-all rule. What a tell leaves behind is checked: that its last fact was read (the
engine ends a batch early without an error), that no error was swallowed, that each match is new and all
its facts were told; and, when the session closes, that the engine holds as many facts as it was given.
"""

from __future__ import annotations

import functools
import math
import platform
import signal
import threading
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from types import FrameType
from typing import Any

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

MAX_PRODUCTIONS = 40_000
"""Most productions in one network."""

MAX_STORED_FACTS = 100_000
"""Most facts, copies included, in one rule set of a session: decimal ids below this have distinct hashes."""

MAX_MATCHES = 1_000_000
"""Matches a session returns before it refuses to go on, unless told otherwise."""

# The engine takes 4,096 rules; a firing looks through all the rules of its set, so fewer are also faster.
_RULES_PER_SET = 1_000
# It keeps at most 64 tests of one fact pending, and each pattern joined on that fact is one.
_USES_PER_COPY = 50
# At 512 tests under one parent it loops for ever.
_CHILDREN_PER_TEST = 400

_SID = "1"
_ROUND = "round"


@dataclass(frozen=True, slots=True)
class _Address:
    """Where one copy of a fact goes: which rule set, and the bucket and token it has there."""

    ruleset: int
    bucket: str
    token: str


@dataclass(frozen=True, slots=True)
class _Plan:
    """One durable rule set: the conditions of each production, by its index in the network, and its facts."""

    rules: dict[int, list[dict[str, Any]]]
    addresses: dict[str, list[_Address]]


@dataclass(frozen=True, slots=True)
class _Engine:
    """What is used of durable-rules: its host, without timers, and how to free a compiled rule set."""

    host: Callable[[], Any]
    delete_ruleset: Callable[[int], None]


class _Notes:
    """What callbacks leave behind for the session that is running; one per matcher."""

    __slots__ = ("budget", "error", "matches", "rounds")

    def __init__(self) -> None:
        self.reset(0)

    def reset(self, budget: int) -> None:
        self.matches: list[tuple[int, str]] = []
        self.rounds = 0
        self.budget = budget
        self.error: BaseException | None = None


class DurableMatcher:
    """A network compiled for durable-rules.

    One session at a time: `start` raises `RuntimeError` while another session is open, in this thread or
    any other. Different matchers may be used by different threads at once. Close a matcher, or its
    compiled rules stay in memory until the process ends.

    Raises `CompileLimit` for a network over `MAX_PRODUCTIONS`, or a production over `MAX_PATTERNS`, and
    `EngineUnavailable` if durable-rules cannot be loaded. `budget` is the most matches that a session may
    return.
    """

    def __init__(self, network: Network, *, budget: int = MAX_MATCHES) -> None:
        _check_limits(network)
        engine = _load_engine()
        self._delete_ruleset = engine.delete_ruleset
        self._budget = budget
        self._productions = network.productions
        self._notes = _Notes()
        self._lock = threading.Lock()
        self._session: DurableSession | None = None
        self._closed = False
        self._host = engine.host()
        self._addresses: dict[str, list[_Address]] = {}
        try:
            for number, first in enumerate(range(0, len(network.productions), _RULES_PER_SET - 1)):
                self._register(_plan(network.productions, number, first, first + _RULES_PER_SET - 1), number)
        except BaseException:
            self._drop_rulesets()
            raise

    def start(self) -> DurableSession:
        """As `Matcher.start`. Raises `RuntimeError` if closed, or while another session is open."""
        with self._lock:
            if self._closed:
                raise RuntimeError("this matcher is closed")
            if self._session is not None:
                raise RuntimeError("this matcher has a session open; close that one first")
            self._notes.reset(self._budget)
            self._session = DurableSession(
                self._host, self._notes, self._productions, self._addresses, self._end
            )
            return self._session

    def close(self) -> None:
        """As `Matcher.close`."""
        session = self._session
        try:
            if session is not None:
                session.close()
        finally:
            with self._lock:
                self._closed = True
                self._drop_rulesets()

    def _end(self) -> None:
        with self._lock:
            self._session = None

    def _register(self, plan: _Plan, number: int) -> None:
        definition: dict[str, dict[str, Any]] = {
            _ROUND: {"all": [{"p0_": {"k": _ROUND}}], "run": _round_callback(self._notes)}
        }
        for index, conditions in plan.rules.items():
            definition[f"r{index}"] = {"all": conditions, "run": _match_callback(self._notes, index)}
        self._host.register_rulesets({_ruleset_name(number): definition})
        for name, addresses in plan.addresses.items():
            self._addresses.setdefault(name, []).extend(addresses)

    def _drop_rulesets(self) -> None:
        # The host has no way to do this; what is left in its directory would be used after it is freed.
        rulesets = list(self._host._ruleset_list)
        self._host._ruleset_list.clear()
        self._host._ruleset_directory.clear()
        for ruleset in rulesets:
            self._delete_ruleset(ruleset._handle)


class DurableSession:
    """One case told to a `DurableMatcher`; made by its `start`.

    After any error, an interrupt included, only `close` is of use: what the engine still had to report
    is lost.
    """

    def __init__(
        self,
        host: Any,
        notes: _Notes,
        productions: tuple[Production, ...],
        addresses: dict[str, list[_Address]],
        end: Callable[[], None],
    ) -> None:
        self._host = host
        self._notes = notes
        self._productions = productions
        self._addresses = addresses
        self._end = end
        self._told: set[tuple[str, int]] = set()
        self._items: list[int] = []
        self._item_texts: dict[int, str] = {}
        self._stored: dict[int, int] = {}  # rule set -> facts asserted, for the rule sets begun
        self._seen: set[Match] = set()
        self._broken = False
        self._closed = False

    def tell(self, facts: Sequence[tuple[str, int]]) -> list[Match]:
        """As `Session.tell`. Raises `RunLimit` over `MAX_STORED_FACTS` or the budget of matches."""
        if self._closed:
            raise RuntimeError("this session is closed")
        if self._broken:
            raise RuntimeError("this session stopped at an error; close it and start another")
        try:
            batches = self._encode(facts)
            with _interrupts_noted(self._notes):
                for number, batch in batches.items():
                    self._assert(number, batch)
            self._raise_noted()
            return self._collect()
        except BaseException:
            self._broken = True
            raise

    def close(self) -> None:
        """As `Session.close`. Raises `OurFault` if the engine holds other than the facts it was given."""
        if self._closed:
            return
        self._notes.error = None
        try:
            with _interrupts_noted(self._notes):
                self._closed = True
                try:
                    if not self._broken:
                        self._check_stored()
                finally:
                    self._forget()
            self._raise_noted()
        finally:
            if self._closed:
                self._end()

    def _encode(self, facts: Sequence[tuple[str, int]]) -> dict[int, list[dict[str, str]]]:
        batches: dict[int, list[dict[str, str]]] = {}
        for fact in facts:
            name, item = fact
            addresses = self._addresses.get(name)
            if addresses is None or fact in self._told:
                continue
            self._told.add(fact)
            text = self._item_texts.get(item)
            if text is None:
                text = self._item_texts[item] = str(len(self._items))
                self._items.append(item)
            for address in addresses:
                batch = batches.setdefault(address.ruleset, [])
                number = self._stored.get(address.ruleset, 1) + len(batch)
                batch.append(
                    {"sid": _SID, "id": str(number), "k": address.bucket, "f": address.token, "i": text}
                )
        for ruleset, batch in batches.items():
            if self._stored.get(ruleset, 1) + len(batch) + 1 > MAX_STORED_FACTS:
                raise RunLimit(
                    f"this case has more facts than the rule engine can hold ({MAX_STORED_FACTS:,}); "
                    "split the case, or use fewer rules that share one fact"
                )
        return batches

    def _assert(self, number: int, batch: list[dict[str, str]]) -> None:
        ruleset = _ruleset_name(number)
        notes = self._notes
        if number not in self._stored:
            self._stored[number] = 0
            self._call(ruleset, [_round_fact(0)])
            self._stored[number] = 1
        rounds = notes.rounds
        batch.append(_round_fact(self._stored[number] + len(batch)))
        self._call(ruleset, batch)
        if notes.error is not None:
            raise notes.error
        if notes.rounds != rounds + 1:
            raise OurFault("the rule engine did not read all the facts it was told")
        swallowed = self._host.get_state(ruleset, _SID).get("exception")
        if swallowed is not None:
            raise OurFault(f"the rule engine swallowed an error: {swallowed}")
        self._stored[number] += len(batch)

    def _call(self, ruleset: str, batch: list[dict[str, str]]) -> None:
        try:
            self._host.assert_facts(ruleset, batch)
        except Exception as error:
            if self._notes.error is not None:
                raise self._notes.error from error
            raise OurFault(f"the rule engine refused a fact: {getattr(error, 'message', error)}") from error

    def _raise_noted(self) -> None:
        if self._notes.error is not None:
            raise self._notes.error

    def _collect(self) -> list[Match]:
        found = sorted(Match(production, self._items[int(text)]) for production, text in self._notes.matches)
        self._notes.matches.clear()
        self._notes.budget -= len(found)
        for match in found:
            if match in self._seen:
                raise OurFault(f"the rule engine reported twice: {self._describe(match)}")
            self._seen.add(match)
            names = self._productions[match.production].patterns
            if any((name, match.item) not in self._told for name in names):
                raise OurFault(f"the rule engine reported without its facts: {self._describe(match)}")
        return found

    def _describe(self, match: Match) -> str:
        return f"production {self._productions[match.production].key!r} about item {match.item}"

    def _check_stored(self) -> None:
        for number, stored in self._stored.items():
            held = len(self._host.get_facts(_ruleset_name(number), _SID))
            if held != stored:
                raise OurFault(f"the rule engine was given {stored} facts and holds {held}")

    def _forget(self) -> None:
        for number, stored in self._stored.items():
            ruleset = _ruleset_name(number)
            if not stored:
                # Begun, but something struck before the first firing was seen, and deleting the state of a
                # case in which no rule has fired crashes the process.
                self._call(ruleset, [_round_fact(1)])
            self._host.delete_state(ruleset, _SID)
        self._stored.clear()


def _check_limits(network: Network) -> None:
    if len(network.productions) > MAX_PRODUCTIONS:
        raise CompileLimit(
            f"the rules come to {len(network.productions):,} productions; "
            f"the rule engine takes at most {MAX_PRODUCTIONS:,}"
        )
    for production in network.productions:
        if len(production.patterns) > MAX_PATTERNS:
            raise CompileLimit(
                f"production {production.key!r} has {len(production.patterns)} patterns; "
                f"the rule engine takes at most {MAX_PATTERNS} in one"
            )


def _plan(productions: tuple[Production, ...], ruleset: int, first: int, stop: int) -> _Plan:
    """Lay out the productions from `first` up to `stop` as one rule set.

    A fact that many productions use is told in several copies, each used by a few of them. The rarest fact
    of a production goes first: it makes the fewest partial matches.
    """
    chosen = range(first, min(stop, len(productions)))
    uses = Counter(name for index in chosen for name in productions[index].patterns)
    copies = {name: math.ceil(count / _USES_PER_COPY) for name, count in uses.items()}
    # Tests under one parent are tried one by one, so as many buckets as tokens in each is quickest.
    width = math.isqrt(sum(copies.values())) + 1
    if width + 1 > _CHILDREN_PER_TEST:
        raise CompileLimit("the rules use more different facts than the rule engine can tell apart")
    addresses: dict[str, list[_Address]] = {}
    token = 0
    for name, count in copies.items():
        places = addresses[name] = []
        for _ in range(count):
            places.append(_Address(ruleset, f"b{token // width}", f"t{token}"))
            token += 1

    rules: dict[int, list[dict[str, Any]]] = {}
    used: Counter[str] = Counter()
    for index in chosen:
        ordered = sorted(productions[index].patterns, key=lambda name: (uses[name], name))
        conditions: list[dict[str, Any]] = []
        for position, name in enumerate(ordered):
            address = addresses[name][used[name] // _USES_PER_COPY]
            used[name] += 1
            tests: list[dict[str, Any]] = [{"k": address.bucket}, {"f": address.token}]
            if position:
                tests.append({"i": {"p0_": "i"}})
            conditions.append({f"p{position}_": {"$and": tests}})
        rules[index] = conditions
    return _Plan(rules, addresses)


def _match_callback(notes: _Notes, production: int) -> Callable[[Any], None]:
    # The engine swallows whatever a callback raises, so nothing may leave it; marking the closure as
    # completed makes the engine stop at this firing.
    def run(c: Any) -> None:
        try:
            if notes.error is None:
                if len(notes.matches) >= notes.budget:
                    raise RunLimit("this case causes more matches than one session may have")
                notes.matches.append((production, c._m["p0_"]["i"]))
        except BaseException as error:
            notes.error = error
        if notes.error is not None:
            c._completed = True

    return run


def _round_callback(notes: _Notes) -> Callable[[Any], None]:
    def run(c: Any) -> None:
        notes.rounds += 1

    return run


@contextmanager
def _interrupts_noted(notes: _Notes) -> Iterator[None]:
    """Let Ctrl-C stop the engine between two firings; raised inside the engine it would be swallowed."""
    previous = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or not callable(previous):
        yield
        return

    def note(signum: int, frame: FrameType | None) -> None:
        try:
            previous(signum, frame)
        except BaseException as error:
            notes.error = error

    signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, previous)


@functools.cache
def _load_engine() -> _Engine:
    try:
        from durable import engine
    except ImportError as error:
        raise EngineUnavailable(
            "the rule engine, durable-rules, cannot be loaded on Python "
            f"{platform.python_version()}: {error}; it needs Python 3.11 or 3.12"
        ) from error

    # The engine gives up on a callback that seems to have run for ten seconds, which a clock put right
    # in the middle of a run looks like: every firing still waiting would be lost.
    engine._unix_now = lambda: 0.0
    # The stock host starts timer threads that run callbacks, and walk states already deleted.
    quiet_host = type("QuietHost", (engine.Host,), {"_run": lambda host: None})
    return _Engine(quiet_host, engine.durable_rules_engine.delete_ruleset)


def _ruleset_name(number: int) -> str:
    return f"network{number}"


def _round_fact(number: int) -> dict[str, str]:
    return {"sid": _SID, "id": str(number), "k": _ROUND}
