"""What the conditions of every rule came to on a decided case: the traces that coverage is read off.

The truth of a condition is worked out by the plain evaluator, as if each condition were a rule of its own.
That the rule then comes out as its conditions say is checked on every trace.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from advisor.authoring.examples import ExampleWorld
from advisor.authoring.mcdc import DecisionTree, Truth, Vector, outcome, tree_of
from advisor.chain.plain import PlainRule, evaluate, prepare
from advisor.chain.ready import plain_rules
from advisor.chain.world import World
from advisor.faults import OurFault
from advisor.sheets.conditions import Condition
from advisor.sheets.rules import RuleText
from advisor.sheets.ruleset import RuleSet


@dataclass(frozen=True, slots=True)
class Trace:
    """One rule tried on one item."""

    rule: int
    item: int
    vector: Vector


class Tracer:
    """Traces the rules of one rule set, or some of them."""

    def __init__(self, ruleset: RuleSet) -> None:
        self.ruleset = ruleset
        self.trees: tuple[DecisionTree, ...] = tuple(tree_of(rule.condition) for rule in ruleset.rules)
        rules = plain_rules(ruleset.rules)
        self._leaf: dict[tuple[str, Condition], int] = {}
        for rule, tree in zip(ruleset.rules, self.trees, strict=True):
            for each in tree.conditions:
                if (rule.for_, each) not in self._leaf:
                    self._leaf[rule.for_, each] = len(rules)
                    rules.append(PlainRule(rule.for_, each, ()))
        self._prepared = prepare(rules, ruleset.on_suspicion)

    def traces(self, world: World, only: int | None = None) -> Iterator[Trace]:
        """Every rule on every item of its kind, or one rule; rules without a condition are left out."""
        firings = evaluate(self._prepared, world)
        by_kind: dict[str, list[int]] = {}
        for index, each in enumerate(world.items):
            by_kind.setdefault(each.kind, []).append(index)
        numbers = range(len(self.ruleset.rules)) if only is None else (only,)
        for number in numbers:
            rule, tree = self.ruleset.rules[number], self.trees[number]
            leaves = [self._leaf[rule.for_, leaf] for leaf in tree.conditions]
            for item in by_kind.get(rule.for_, ()) if leaves else ():
                vector = tuple(_truth(firings, leaf, item) for leaf in leaves)
                _agree(rule, tree, vector, _truth(firings, number, item))
                yield Trace(number, item, vector)

    def of_example(self, example: ExampleWorld) -> Vector:
        """The conditions of a rule on one of its own examples."""
        tree = tree_of(example.rule.condition)
        rules = [PlainRule(example.rule.for_, each, ()) for each in tree.conditions]
        whole = PlainRule(example.rule.for_, example.rule.condition, ())
        firings = evaluate(prepare([*rules, whole, *example.given]), example.world)
        vector = tuple(_truth(firings, leaf, 0) for leaf in range(len(rules)))
        _agree(example.rule, tree, vector, _truth(firings, len(rules), 0))
        return vector


def _truth(firings: Mapping[tuple[int, int, bool], object], rule: int, item: int) -> Truth:
    if (rule, item, True) in firings:
        return True
    return None if (rule, item, False) in firings else False


def _agree(rule: RuleText, tree: DecisionTree, vector: Vector, fired: Truth) -> None:
    if outcome(tree.root, vector) is not fired:
        raise OurFault(f"the conditions of rule {rule.id} do not add up to what the rule did")


@dataclass
class SeenVectors:
    """By rule: every way in which its conditions were seen, with the first place where they were."""

    by_rule: dict[int, dict[Vector, str]] = field(default_factory=dict)
    traces: int = 0

    def add(self, rule: int, vector: Vector, where: str) -> None:
        """Note a trace."""
        self.traces += 1
        self.by_rule.setdefault(rule, {}).setdefault(vector, where)

    def of(self, rule: int) -> Mapping[Vector, str]:
        """What was seen of one rule."""
        return self.by_rule.get(rule, {})
