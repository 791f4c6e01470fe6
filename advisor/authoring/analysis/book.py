"""The rule set under analysis, and the questions that every look asks of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from advisor.authoring.analysis.domains import Domains, Want
from advisor.authoring.analysis.effects import Effect, effects_of, standing_effects
from advisor.authoring.analysis.model import NotGoneThrough
from advisor.authoring.analysis.solver import Goal, Made, Model, OutOfSteps, Solver
from advisor.faults import Position
from advisor.sheets.conditions import (
    Absent,
    All,
    Any,
    Condition,
    HasConcern,
    Leaf,
    Related,
    leaves,
)
from advisor.sheets.places import Path as Steps
from advisor.sheets.rules import ConditionText, RuleText
from advisor.sheets.ruleset import RuleSet, RuleSetFiles

STEPS = 50_000
"""Steps of the search for one question; what takes more is told as not gone through."""

STEPS_IN_ALL = 5_000_000
"""Steps for all questions together, about fifty times what 300 rules take; then the rest is given up."""


@dataclass
class Book:
    """A rule set with its files, whose names have been checked."""

    whole: RuleSet
    files: RuleSetFiles
    steps: int = field(default_factory=lambda: STEPS)
    steps_in_all: int = field(default_factory=lambda: STEPS_IN_ALL)
    given_up: dict[NotGoneThrough, None] = field(default_factory=dict)

    @cached_property
    def domains(self) -> Domains:
        """The variables of the rule set."""
        return Domains(self.whole)

    @cached_property
    def by_kind(self) -> Mapping[str, tuple[RuleText, ...]]:
        """By kind of part: the rules for it, in the order of their ids."""
        found: dict[str, list[RuleText]] = defaultdict(list)
        for rule in self.whole.rules:
            found[rule.for_].append(rule)
        return {kind: tuple(rules) for kind, rules in found.items()}

    @cached_property
    def effects(self) -> Mapping[str, tuple[Effect, ...]]:
        """By rule id: what it concludes."""
        return {rule.id: tuple(effects_of(rule)) for rule in self.whole.rules}

    @cached_property
    def always(self) -> Mapping[str, tuple[Effect, ...]]:
        """By kind: what holds for each of its items, whatever the rules say."""
        return {name: tuple(standing_effects(kind)) for name, kind in self.whole.vocabulary.kinds.items()}

    @cached_property
    def concluded(self) -> Mapping[tuple[str, str], tuple[Condition, ...]]:
        """By kind and concern: the conditions of the rules that conclude it."""
        found: dict[tuple[str, str], dict[Condition, None]] = defaultdict(dict)
        for rule in self.whole.rules:
            for concern in rule.then.concern:
                found[rule.for_, concern][rule.condition] = None
        return {key: tuple(conditions) for key, conditions in found.items()}

    @cached_property
    def conclusible(self) -> frozenset[tuple[str, str]]:
        """Kinds and concerns that a chain of rules ending in evidence may conclude."""
        known: set[tuple[str, str]] = set()
        while True:
            found = {
                key
                for key, conditions in self.concluded.items()
                if key not in known and any(_grounded(key[0], each, known) for each in conditions)
            }
            if not found:
                return frozenset(known)
            known |= found

    @cached_property
    def solver(self) -> Solver:
        """The search over what may be known."""
        return Solver(
            self.domains,
            self.concluded,
            conclusible=lambda kind, concern: (kind, concern) in self.conclusible,
            steps=self.steps,
            steps_in_all=self.steps_in_all,
        )

    @cached_property
    def conditions(self) -> int:
        """How many single conditions the rules hold."""
        return sum(len(leaves(rule.condition)) for rule in self.whole.rules)

    @cached_property
    def dead(self) -> frozenset[str]:
        """The ids of the rules that can never fire."""
        return frozenset(
            rule.id
            for rule in self.whole.rules
            if self.never(rule.for_, [(rule.condition, "certain")], rule.id, "whether it can fire")
        )

    @cached_property
    def shut(self) -> Mapping[str, tuple[Part, ...]]:
        """By id of a rule that can fire: the branches of its condition that can never be true in it."""
        return {rule.id: tuple(self._shut(rule)) for rule in self.whole.rules if rule.id not in self.dead}

    def _shut(self, rule: RuleText) -> Iterator[Part]:
        parts = parts_of(rule)
        whole = {part.steps: part.condition for part in parts}
        found: list[Part] = []
        for part in parts:
            # Only where there is a choice can one be shut and the rule still fire.
            if not part.steps or not isinstance(whole[part.steps[:-1]], Any):
                continue
            if any(part.steps[: len(other.steps)] == other.steps for other in found):
                continue
            wants: list[tuple[Condition, Want]] = [(rule.condition, "certain"), (part.condition, "certain")]
            if self.never(rule.for_, wants, rule.id, "whether each branch can be true"):
                found.append(part)
                yield part

    @cached_property
    def live(self) -> Mapping[str, Condition]:
        """By id: the condition of each rule that can fire, less the branches that are never true."""
        found: dict[str, Condition] = {}
        for rule in self.whole.rules:
            if rule.id in self.dead:
                continue
            condition = rule.condition
            for part in reversed(self.shut[rule.id]):
                condition = without(condition, part.steps)
            found[rule.id] = condition
        return found

    # ---- questions ----

    def model(
        self, kind: str, wants: Iterable[tuple[Condition, Want]], subject: str, question: str
    ) -> Model | bool | None:
        """A model of one item of a kind of which all is as wanted; None where there is none.

        True where the search was given up, which is noted.
        """
        return self.model_of([Made(kind)], [Goal(0, *each) for each in wants], subject, question)

    def model_of(
        self, items: Sequence[Made], goals: Sequence[Goal], subject: str, question: str
    ) -> Model | bool | None:
        """The same of several items."""
        try:
            return self.solver.solve(items, goals)
        except (OutOfSteps, RecursionError):
            why = f"more than {self.steps:,} steps"
            if self.solver.used_up:
                why = f"the {self.steps_in_all:,} steps for all questions are used up"
            self.given_up[NotGoneThrough(subject, question, why)] = None
            return True

    def never(self, kind: str, wants: Iterable[tuple[Condition, Want]], subject: str, question: str) -> bool:
        """Whether nothing that may be known of an item is as wanted, for certain."""
        return self.model(kind, wants, subject, question) is None

    def implies(
        self, kind: str, one: Condition, others: Sequence[Condition], subject: str, question: str
    ) -> bool:
        """Whether one of `others` holds wherever `one` does, read as certain and as possible."""
        readings: tuple[tuple[Want, Want], ...] = (("certain", "unsure"), ("possible", "ruled out"))
        return all(
            self.never(kind, [(one, holds), *((other, not_so) for other in others)], subject, question)
            for holds, not_so in readings
        )

    # ---- places in the files ----

    def declared(self, section: str, name: str) -> Position | None:
        """Where a word of the vocabulary is declared."""
        for model, document in self.files.vocabulary:
            if name in getattr(model, section):
                return document.key_position((section, name))
        return None

    def place(self, rule: RuleText, *steps: str | int) -> Position | None:
        """Where a part of a rule stands."""
        for model, document in self.files.rules:
            for index, each in enumerate(model.rules):
                if each is rule or (each.id == rule.id and each.at == rule.at):
                    path: Steps = ("rules", index, *steps)
                    return document.positions[path]
        return rule.at


@dataclass(frozen=True, slots=True)
class Part:
    """A condition inside the condition of a rule."""

    steps: tuple[int, ...]
    """The way to it: which part of the whole, which part of that, and so on."""
    text: ConditionText
    condition: Condition


def parts_of(rule: RuleText) -> list[Part]:
    """Every condition inside a rule's, the whole first, each before its own parts."""
    if rule.when is None:
        return []
    found: list[Part] = []
    todo = [Part((), rule.when, rule.when.tree)]
    while todo:
        part = todo.pop()
        found.append(part)
        inner = part.text.all or part.text.any or part.text.of or ()
        todo.extend(
            Part((*part.steps, index), text, text.tree) for index, text in reversed(list(enumerate(inner)))
        )
    return found


def without(condition: Condition, steps: Sequence[int]) -> Condition:
    """A condition with the part at `steps` left out: of the whole, one that always holds is left."""
    if not steps:
        return All(())
    assert isinstance(condition, All | Any)
    first, *rest = steps
    if rest:
        inner = without(condition.parts[first], rest)
        parts = (*condition.parts[:first], inner, *condition.parts[first + 1 :])
    else:
        parts = (*condition.parts[:first], *condition.parts[first + 1 :])
    return All(parts) if isinstance(condition, All) else Any(parts, condition.number)


def _grounded(kind: str, condition: Condition, known: set[tuple[str, str]]) -> bool:
    """Whether a condition may hold when no other concerns than those known do; all evidence may be there."""
    match condition:
        case All(parts):
            return all(_grounded(kind, part, known) for part in parts)
        case Any(parts, number):
            return sum(_grounded(kind, part, known) for part in parts) >= number
        case HasConcern(concern):
            return (kind, concern) in known
        case Related():
            return _grounded(condition.kind, condition.leaf, known)
    return True


def inner_leaf(leaf: Leaf | Related | Absent, kind: str) -> tuple[str, Leaf]:
    """The plain leaf inside a leaf, with the kind of item that it is asked of."""
    if isinstance(leaf, Absent):
        return inner_leaf(leaf.of, kind)
    if isinstance(leaf, Related):
        return leaf.kind, leaf.leaf
    return kind, leaf
