"""A rule set made ready to run on one layout, and both engines run on every case.

durable-rules decides. The plain evaluator runs beside it from the definition of the language, and on any
difference between the two no verdict leaves this module.
"""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from advisor.chain.compile import Program, compile_rules
from advisor.chain.durable_engine import DurableMatcher
from advisor.chain.network import CompileLimit, EngineUnavailable, Matcher, RunLimit
from advisor.chain.plain import PlainRule, PreparedRules, evaluate, prepare
from advisor.chain.run import Firings, run
from advisor.chain.strata import CycleThroughAbsence, edges_of, levels
from advisor.chain.world import World
from advisor.faults import Fault, Faults, OurFault
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet

_KEPT = 8
"""Compiled rule sets kept, by rule set and layout; the oldest is closed."""


@dataclass(frozen=True)
class Ready:
    """One rule set on one layout."""

    program: Program
    prepared: PreparedRules
    matcher: Matcher
    lock: threading.Lock = field(default_factory=threading.Lock)
    """The engine runs one case at a time."""
    given_up: threading.Event = field(default_factory=threading.Event)
    """Set, under the lock, when the matcher is closed to make room."""

    def close(self) -> None:
        """Give up the compiled rules when the case that is running is done."""
        with self.lock:
            self.given_up.set()
            self.matcher.close()


_ready: OrderedDict[tuple[str, tuple[tuple[str, str], ...]], Ready] = OrderedDict()
_ready_lock = threading.Lock()


def plain_rules(rules: Sequence[RuleText]) -> list[PlainRule]:
    """Rules as both engines take them."""
    return [
        PlainRule(rule.for_, rule.condition, tuple(rule.then.concern), rule.then.findings_wanted)
        for rule in rules
    ]


def check_cycles(
    rules: tuple[RuleText, ...], on_suspicion: Set[tuple[str, str]] = frozenset()
) -> list[Fault]:
    """A fault that shows the circle, where a concern hangs on its own absence."""
    edges = [
        edge
        for number, rule in enumerate(plain_rules(rules))
        for edge in edges_of(number, rule.kind, rule.condition, rule.concerns, rule.wants, on_suspicion)
    ]
    try:
        levels(edges)
    except CycleThroughAbsence as cycle:
        steps = "; ".join(
            f"{edge.head[1]} on {edge.head[0]} needs {edge.body[1]} on {edge.body[0]}"
            f"{' to be absent' if edge.absent else ''} (rule {rules[edge.rule].id})"
            for edge in cycle.edges
        )
        return [
            Fault(
                "absence-cycle",
                f"a concern hangs on its own absence: {steps}",
                "no way from an absence back to itself",
                "drop the `absent` condition, or split the concern in two",
                rules[cycle.edges[0].rule].at,
            )
        ]
    return []


def chain(ruleset: RuleSet, world: World) -> Firings:
    """Every firing of the rule set over `world`, agreed by both engines.

    Raises `Faults` where the rule set or the case is more than the engine can hold safely, or where the
    engine cannot be loaded; `OurFault` where the two engines differ.
    """
    try:
        ready, decided = _run(ruleset, world)
    except (CompileLimit, RunLimit) as limit:
        raise Faults(
            [Fault("engine-limit", str(limit), "fewer rules, or a smaller case", "split it")]
        ) from limit
    except EngineUnavailable as missing:
        raise Faults([Fault("engine-missing", str(missing))]) from missing
    checked = evaluate(ready.prepared, world)
    if decided != checked:
        raise OurFault(
            "the two rule engines differ on this case, so no verdict is shown",
            reproduce=json.dumps(_difference(ruleset, decided, checked), ensure_ascii=False, indent=1),
        )
    return decided


def _run(ruleset: RuleSet, world: World) -> tuple[Ready, Firings]:
    while True:
        ready = ready_for(ruleset, world.layout)
        with ready.lock:
            # Another thread may have made room for its own rule set since.
            if not ready.given_up.is_set():
                return ready, run(ready.program, world, ready.matcher)


def ready_for(ruleset: RuleSet, layout: Mapping[str, str]) -> Ready:
    """The rule set made ready for an engine laid out as `layout`, from those kept or made anew.

    Raises what `compile_rules` and the matcher raise.
    """
    key = (ruleset.digest, tuple(sorted(layout.items())))
    with _ready_lock:
        ready = _ready.get(key)
        if ready is not None:
            _ready.move_to_end(key)
            return ready
    rules = plain_rules(ruleset.rules)
    program = compile_rules(rules, layout, ruleset.on_suspicion)
    made = Ready(program, prepare(rules, ruleset.on_suspicion), DurableMatcher(program.network))
    with _ready_lock:
        # Another thread may have made the same meanwhile.
        ready = _ready.setdefault(key, made)
        too_many = [_ready.popitem(last=False)[1] for _ in range(len(_ready) - _KEPT)]
    for each in too_many if ready is made else (*too_many, made):
        each.close()
    return ready


def _difference(ruleset: RuleSet, decided: Firings, checked: Firings) -> dict[str, object]:
    def told(firings: Firings, other: Firings) -> list[str]:
        return sorted(
            f"{ruleset.rules[rule].id} on item {item} ({'certain' if certain else 'possible'}): "
            + ", ".join(sorted(repr(fact) for fact in facts))
            for (rule, item, certain), facts in firings.items()
            if other.get((rule, item, certain)) != facts
        )

    return {
        "ruleset": {"name": ruleset.name, "version": ruleset.version, "digest": ruleset.digest},
        "only or otherwise in durable-rules": told(decided, checked),
        "only or otherwise in the plain evaluator": told(checked, decided),
    }
