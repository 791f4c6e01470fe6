"""The facts of one run, and rule engines that match them without anything of ours around them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import clips
from durable import engine as durable

from advisor.chain.compile import Program
from advisor.chain.network import Match, Matcher, Network, Session
from advisor.chain.run import run
from advisor.chain.world import World

Batches = list[list[tuple[str, int]]]
"""The facts told, call by call: facts that follow from a match can only be told after it."""


def told(program: Program, world: World, matcher: Matcher) -> tuple[Batches, int]:
    """The facts that a run of `program` over `world` tells, and how many matches they give."""
    recorder = _Recorder(matcher)
    run(program, world, recorder)
    return recorder.batches, recorder.matches


class _Recorder:
    """A matcher that keeps what it passes on."""

    def __init__(self, matcher: Matcher) -> None:
        self._matcher = matcher
        self.batches: Batches = []
        self.matches = 0

    def start(self) -> _RecordedSession:
        return _RecordedSession(self, self._matcher.start())

    def close(self) -> None:
        self._matcher.close()


class _RecordedSession:
    def __init__(self, recorder: _Recorder, session: Session) -> None:
        self._recorder = recorder
        self._session = session

    def tell(self, facts: Sequence[tuple[str, int]]) -> list[Match]:
        self._recorder.batches.append(list(facts))
        found = self._session.tell(facts)
        self._recorder.matches += len(found)
        return found

    def close(self) -> None:
        self._session.close()


class _QuietHost(durable.Host):  # type: ignore[misc]  # no type information
    """The engine's host without its timer threads, which this needs as little as the program does."""

    def _run(self) -> None:
        pass


class RawDurable:
    """durable-rules used as its manual shows: facts with a name and an item, joined on the item.

    It checks nothing of what comes back. That is safe for the network of this benchmark, which stays well
    inside what the engine can hold; `run` gives the number of matches, to be held against the real run.
    """

    def __init__(self, network: Network) -> None:
        self._host = _QuietHost()
        self._matches: list[tuple[int, Any]] = []
        self._wanted = {name for production in network.productions for name in production.patterns}
        definition = {
            f"r{index}": {
                "all": [
                    {"c0": {"f": production.patterns[0]}},
                    *(
                        {f"c{place}": {"$and": [{"f": name}, {"i": {"c0": "i"}}]}}
                        for place, name in enumerate(production.patterns[1:], start=1)
                    ),
                ],
                "run": self._note(index),
            }
            for index, production in enumerate(network.productions)
        }
        self._host.register_rulesets({"raw": definition})

    def _note(self, index: int) -> Callable[[Any], None]:
        def note(c: Any) -> None:
            self._matches.append((index, c.c0.i))

        return note

    def run(self, batches: Batches) -> int:
        """Tell every batch and forget the case; the number of matches."""
        self._matches.clear()
        for batch in batches:
            facts = [{"sid": "1", "f": name, "i": item} for name, item in batch if name in self._wanted]
            if facts:
                self._host.assert_facts("raw", facts)
        self._host.delete_state("raw", "1")
        return len(self._matches)


class RawClips:
    """CLIPS on the same network: a production is a rule over facts with a name and an item."""

    def __init__(self, network: Network) -> None:
        self._environment = clips.Environment()
        self._matches: list[tuple[int, int]] = []
        self._environment.define_function(self._note, name="note")
        self._environment.build("(deftemplate fact (slot f) (slot i))")
        self._template = self._environment.find_template("fact")
        names = sorted({name for production in network.productions for name in production.patterns})
        self._symbols = {name: clips.Symbol(f"n{number}") for number, name in enumerate(names)}
        for index, production in enumerate(network.productions):
            patterns = " ".join(f"(fact (f {self._symbols[name]}) (i ?i))" for name in production.patterns)
            self._environment.build(f"(defrule r{index} {patterns} => (note {index} ?i))")

    def _note(self, index: int, item: int) -> None:
        self._matches.append((index, item))

    def run(self, batches: Batches) -> int:
        """Tell every batch and forget the case; the number of matches."""
        self._matches.clear()
        for batch in batches:
            for name, item in batch:
                symbol = self._symbols.get(name)
                if symbol is not None:
                    self._template.assert_fact(f=symbol, i=item)
            self._environment.run()
        self._environment.reset()
        return len(self._matches)
